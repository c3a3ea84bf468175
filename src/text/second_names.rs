//! Second names: words of the trade that people type for the names of columns, settings, places and values, so that a hint
//! leads to the thing that was meant and not to a word that only looks alike.

/// A known name, and what else people call it: small letters, with `_` for every run of other signs.
const SECOND_NAMES: &[(&str, &[&str])] = &[
    // columns and settings
    (
        "mass_g",
        &[
            "weight",
            "weight_g",
            "weight_in_g",
            "weight_gram",
            "weight_grams",
            "mass",
            "mass_grams",
            "gram",
            "grams",
            "wt",
            "wt_g",
        ],
    ),
    (
        "max_mass_g",
        &["max_weight", "max_weight_g", "weight_limit", "mass_limit"],
    ),
    (
        "packed_g",
        &[
            "packed_weight",
            "packed_weight_g",
            "shipping_weight",
            "shipping_weight_g",
            "gross_weight",
        ],
    ),
    (
        "limit_kg",
        &["weight_limit", "weight_limit_kg", "max_weight_kg"],
    ),
    ("mass_kind", &["weight_kind"]),
    (
        "freight",
        &[
            "shipping",
            "shipping_cost",
            "postage",
            "carriage",
            "delivery",
            "delivery_cost",
        ],
    ),
    (
        "free_freight_over",
        &["free_shipping", "free_shipping_over", "free_delivery_over"],
    ),
    ("return_freight", &["return_shipping", "return_postage"]),
    ("quantity", &["qty", "count", "pcs", "number", "amount"]),
    ("standing", &["status", "state"]),
    ("sender", &["seller_kind", "seller_type", "kind_of_seller"]),
    ("preference", &["proof_of_origin", "origin_proof"]),
    ("evidence", &["test_report", "report", "lab_report"]),
    (
        "commodity",
        &[
            "hs",
            "hs_code",
            "hs6",
            "hts",
            "tariff_code",
            "commodity_code",
            "customs_code",
        ],
    ),
    (
        "origin",
        &["country_of_origin", "made_in", "origin_country"],
    ),
    (
        "dispatch",
        &[
            "country_of_dispatch",
            "ships_from",
            "sent_from",
            "dispatched_from",
            "shipped_from",
            "from",
        ],
    ),
    ("destination", &["country", "delivery_country", "to"]),
    (
        "handling",
        &[
            "handling_fee",
            "carrier_fee",
            "carriers_fee",
            "carrier_s_fee",
        ],
    ),
    (
        "part",
        &[
            "name",
            "item",
            "component",
            "product",
            "brand",
            "make",
            "maker",
            "manufacturer",
            "model",
        ],
    ),
    ("place", &["slot", "category", "position"]),
    (
        "seller",
        &[
            "shop", "store", "vendor", "supplier", "retailer", "merchant",
        ],
    ),
    ("price", &["cost", "unit_price", "price_tag"]),
    ("parcel", &["package", "shipment"]),
    ("transit_days", &["delivery_days", "shipping_days", "days"]),
    ("worth_per_kg", &["worth", "value_per_kg"]),
    // values of `role`, `standing`, `mass_kind`, `channel`, `sender`
    ("rival", &["other_offer", "offer", "alternative_offer"]),
    ("option", &["upgrade", "alternative", "maybe"]),
    ("to-order", &["wanted", "to_buy", "planned", "not_ordered"]),
    (
        "on-order",
        &[
            "ordered",
            "paid",
            "shipped",
            "on_the_way",
            "in_transit",
            "in_the_post",
        ],
    ),
    (
        "in-hand",
        &[
            "owned",
            "have",
            "here",
            "delivered",
            "arrived",
            "already_yours",
            "in_stock",
        ],
    ),
    ("given", &["gift", "gifted", "present", "free"]),
    ("bundled", &["included", "in_the_box", "comes_with"]),
    ("weighed", &["measured", "actual"]),
    ("claimed", &["stated", "advertised", "catalogue", "maker"]),
    ("guess", &["guessed", "estimate", "estimated"]),
    ("post", &["mail", "postal"]),
    ("courier", &["express"]),
    ("private", &["person", "private_seller"]),
    ("business", &["shop", "company"]),
    ("showroom", &["as_sold", "bare"]),
    ("ride", &["as_ridden"]),
    // values of `place`
    ("tyre", &["tyres", "tire", "tires"]),
    ("tyres", &["tire", "tires", "tyre"]),
    ("tube", &["tubes", "inner_tube", "inner_tubes"]),
    ("tubes", &["tube", "inner_tubes"]),
    ("wheels", &["wheel", "wheelset", "wheel_set"]),
    ("rear-mech", &["rear_derailleur", "rd", "derailleur"]),
    ("front-mech", &["front_derailleur", "fd"]),
    ("calipers", &["caliper", "brake_caliper", "brake_calipers"]),
    (
        "rotors",
        &[
            "rotor",
            "disc",
            "discs",
            "disk",
            "disks",
            "brake_disc",
            "brake_discs",
        ],
    ),
    ("shifters", &["shifter", "levers", "shift_levers"]),
    ("handlebar", &["bar", "bars", "handlebars"]),
    ("bar-tape", &["tape", "handlebar_tape"]),
    ("seatpost", &["seat_post", "post"]),
    ("saddle", &["seat"]),
    ("crankset", &["crank", "cranks", "chainset"]),
    ("bottom-bracket", &["bb"]),
    ("cassette", &["sprockets"]),
    ("pedals", &["pedal"]),
    ("thru-axles", &["axle", "axles", "thru_axle"]),
    ("bottle-cages", &["cage", "cages", "bottle_cage"]),
    ("mudguard", &["mudguards", "fender", "fenders"]),
    ("rack", &["carrier", "luggage_carrier", "pannier_rack"]),
    (
        "front-light",
        &["lamp", "lamps", "light", "lights", "headlight"],
    ),
    ("rear-light", &["tail_light", "taillight", "rear_lamp"]),
    ("computer", &["gps", "bike_computer", "cycle_computer"]),
    ("rear-shock", &["shock", "damper"]),
    ("bottle", &["bidon", "bidons", "bottles", "water_bottle"]),
    (
        "clothing",
        &["jersey", "shorts", "bibs", "gloves", "jacket"],
    ),
    ("spare", &["spares", "brake_pads", "brake_pad", "pads"]),
    ("tool", &["tools"]),
    ("consumable", &["consumables", "grease", "fluid", "fluids"]),
    ("service", &["labour", "labor", "shop_work", "workshop"]),
];

/// Second names that are read as the known name itself, of columns and of values in a book's own tables: they are what people look
/// for, and nothing else is called so.
const READ_TOO: [(&str, &str); 8] = [
    ("front-derailleur", "front-mech"),
    ("other-offer", "rival"),
    ("proof_of_origin", "preference"),
    ("rear-derailleur", "rear-mech"),
    ("seller_kind", "sender"),
    ("shipping", "freight"),
    ("status", "standing"),
    ("test_report", "evidence"),
];

/// The known name where this is a second name that is read as it; itself otherwise.
pub(crate) fn read_too(name: &str) -> &str {
    let known = READ_TOO.iter().find(|(second, _)| *second == name);
    known.map_or(name, |(_, known)| known)
}

/// Small letters and digits, with one `_` for every run of other signs and none at the ends: `Weight (g)` is `weight_g`.
fn plain(text: &str) -> String {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .collect();
    words.join("_")
}

/// What a second name leads to.
pub(super) enum Leads<'a> {
    /// To this known word.
    To(&'a str),
    /// To a word that is not known here: whatever looks alike was not meant.
    Elsewhere,
    /// It is no second name.
    Nowhere,
}

/// Where a typed word leads, as a second name of one of the known words.
pub(super) fn leads<'a>(typed: &str, known: &[&'a str]) -> Leads<'a> {
    let typed = plain(typed);
    let mut met = false;
    for (name, others) in SECOND_NAMES
        .iter()
        .filter(|(name, others)| others.contains(&typed.as_str()) || plain(name) == typed)
    {
        if let Some(found) = known.iter().find(|word| *word == name) {
            return Leads::To(found);
        }
        met = met || others.contains(&typed.as_str());
    }
    if met {
        Leads::Elsewhere
    } else {
        Leads::Nowhere
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_is_written_as_it_is_compared() {
        for (name, others) in SECOND_NAMES {
            assert!(!name.is_empty() && !others.is_empty(), "{name}");
            others
                .iter()
                .for_each(|other| assert_eq!(*other, plain(other), "{name}"));
        }
    }
}
