//! What the tables call things, in a buyer's words: choices, traits, sums, charges, taxes and kinds of goods.
//!
//! A name that is not here reads as it is written, with blanks for its underscores.

use crate::units::Country;

/// What is chosen, by the name of the choice and its word.
const CHOICES: [(&str, &str, &str); 29] = [
    ("canadian_seller", "yes", "from a Canadian seller"),
    (
        "concession",
        "yes",
        "under a concession that the carrier named",
    ),
    ("courier", "a", "with a cheaper courier"),
    ("courier", "b", "with a courier in between"),
    ("courier", "c", "with a dearer courier"),
    ("courier", "road", "with a road parcel courier"),
    ("courier_fee", "high", "with a dearer courier"),
    ("courier_fee", "low", "with a cheaper courier"),
    ("duty_schedule", "general", "by the general tariff"),
    ("entry", "formal", "with a formal entry"),
    ("facility", "express", "through an express hub"),
    ("filing", "paper", "declared on paper"),
    ("importer", "business", "for a business"),
    ("in_transit", "yes", "on its way before the duty began"),
    ("inspected", "yes", "opened by customs"),
    ("list_clearance", "no", "cleared without the short list"),
    ("logistics_tax", "yes", "where it is taken at the door"),
    ("mail_class", "ems", "by express mail"),
    ("mail_entry", "customs", "written by customs"),
    ("pay", "app", "cleared in the application of the post"),
    ("pay", "counter", "paid at the counter"),
    ("post_duty", "per-item", "at the amount for each parcel"),
    ("post_rate", "ordinary", "at the ordinary rates"),
    ("post_service", "express", "by express mail"),
    ("private_value", "full", "taken at the full price"),
    ("repeat_import", "yes", "bought together with other parcels"),
    ("transport", "air", "by air"),
    ("transport", "sea", "by sea"),
    ("transport", "road", "by road"),
];

/// What a part is marked as, by the name of the trait and its word.
const TRAITS: [(&str, &str, &str); 4] = [
    ("s232", "yes", "marked by you as under Section 232"),
    ("s232", "no", "marked by you as outside Section 232"),
    ("s338", "yes", "marked by you as under Section 338"),
    (
        "steel_154",
        "yes",
        "marked by you as of Chinese steel or aluminium",
    ),
];

/// Sums that rows name.
const SUMS: [(&str, &str); 21] = [
    ("basic_duty", "the basic duty"),
    ("customs_value", "customs value"),
    ("dutiable_goods", "charged goods"),
    ("fee", "fees"),
    ("flat_item_duty", "the duty on small parcels"),
    ("flat_items", "3 EUR per kind of goods"),
    ("freight", "shipping"),
    ("freight.border", "shipping up to the border"),
    ("freight.inland", "shipping beyond the border"),
    ("intrinsic_value", "goods"),
    ("list", "goods before discount"),
    ("lvg_levy", "the levy on parcels by courier"),
    ("mail_levy", "the levy on mail"),
    ("post_handling_fi", "the fee of the post"),
    ("post_handling_fi_rise", "its rise"),
    ("remedy", "anti-dumping"),
    ("sale-tax", "tax at the checkout"),
    ("something_due", "duty and tax"),
    ("tax_before_fee", "tax"),
    ("tax_national", "the national tax"),
    ("tariff_duty", "ordinary duty"),
];

/// Charges that a buyer meets under a name of their own.
const CHARGES: [(&str, &str); 31] = [
    ("biosecurity", "biosecurity"),
    ("customs_value", "the way of valuing"),
    ("de_minimis", "low value"),
    ("dutiable_mail", "mail"),
    ("duty_preference", "preferential duty"),
    ("duty_simple", "simple rate"),
    ("express_waybill", "waybill"),
    ("fee_parcel_fr", "tax on small parcels"),
    ("gift_flat_duty", "flat duty"),
    ("flat_item_duty", "duty on small parcels"),
    ("flat_item_more", "duty on small parcels"),
    (
        "flat_replaces_tariff",
        "small parcels without ordinary duty",
    ),
    ("global_rate", "single rate"),
    ("handling_fee_union", "handling fee of the Union"),
    ("import_processing", "import processing"),
    ("mpf_formal", "entry"),
    ("mpf_informal", "entry"),
    ("s122", "Section 122"),
    ("s232", "Section 232 (steel, aluminium and copper)"),
    ("s301", "Section 301 (China)"),
    ("s301_brazil", "Section 301 (Brazil)"),
    ("s301_fl", "Section 301 (forced labour)"),
    ("s301_top", "Section 301 (forced labour)"),
    ("s338", "Section 338 (Canada)"),
    ("surtax_steel_154", "surtax on Chinese steel and aluminium"),
    ("surtax_steel_deriv", "surtax on goods of steel"),
    ("surtax_us_2026", "surtax on listed goods"),
    ("surtax_us_steel", "surtax on steel and aluminium"),
    ("tariff_duty", "ordinary duty"),
    ("tax_local", "local tax"),
    ("vat_kit_pt", "VAT on kits"),
];

/// Charges that go under the name of another one beside them.
const WITH: [(&str, &str); 4] = [
    ("s232_told", "s232"),
    ("s232_untold", "s232"),
    ("s301_fl_titanium", "s301_fl"),
    ("s301_top_titanium", "s301_fl"),
];

/// Kinds of goods, by their first digits in the Harmonized System.
const GOODS: [(&str, &str); 27] = [
    ("2106", "food supplements"),
    ("39", "plastics"),
    ("401150", "tyres"),
    ("401320", "inner tubes"),
    ("4202", "bags"),
    ("4203", "leather clothing"),
    ("4901", "books"),
    ("61", "knitted clothing"),
    ("62", "woven clothing"),
    ("64", "shoes"),
    ("650610", "helmets"),
    ("731511", "chains"),
    ("7318", "screws, nuts and washers"),
    ("8711", "e-bikes"),
    ("8712", "bicycles"),
    ("8714", "bicycle parts"),
    ("87149110", "frames"),
    ("87149130", "forks"),
    ("871493", "sprockets and cassettes"),
    ("87149420", "brakes"),
    ("87149490", "brake levers"),
    ("871496", "pedals and cranksets"),
    ("87149630", "cranksets"),
    ("87149910", "handlebars"),
    ("87149950", "derailleurs"),
    ("87149990", "wheels"),
    ("9506", "exercise equipment"),
];

fn found<'a>(names: &'a [(&str, &'a str)], name: &str) -> Option<&'a str> {
    names
        .iter()
        .find(|(one, _)| *one == name)
        .map(|(_, words)| *words)
}

fn chosen(names: &[(&str, &str, &str)], name: &str, word: &str) -> String {
    let words = names
        .iter()
        .find(|(one, of, _)| *one == name && *of == word)
        .map(|(.., words)| (*words).to_owned());
    words.unwrap_or_else(|| format!("with {} as {}", spaced(word), spaced(name)))
}

/// A name of the tables with blanks.
pub(crate) fn spaced(name: &str) -> String {
    name.replace('_', " ")
}

/// A choice that is made.
pub(crate) fn choice(name: &str, word: &str) -> String {
    chosen(&CHOICES, name, word)
}

/// A part marked so.
pub(crate) fn trait_of(name: &str, word: &str) -> String {
    chosen(&TRAITS, name, word)
}

/// A sum; a schedule of freight has no name in words.
pub(crate) fn sum(name: &str) -> String {
    if name.starts_with("freight:") {
        return "shipping by a table".to_owned();
    }
    found(&SUMS, name).map_or_else(|| spaced(name), str::to_owned)
}

/// A charge, by its row's id.
pub(crate) fn charge(id: &str) -> String {
    known_charge(id).map_or_else(|| spaced(id), str::to_owned)
}

/// A charge that has a name of its own.
pub(crate) fn known_charge(id: &str) -> Option<&'static str> {
    let id = found(&WITH, id).unwrap_or(id);
    CHARGES
        .iter()
        .find(|(one, _)| *one == id)
        .map(|(_, words)| *words)
}

/// A layer of rates.
pub(crate) fn layer(name: &str) -> String {
    match name {
        "countervailing" => "countervailing duty".to_owned(),
        "mfn" => "the ordinary rate of duty".to_owned(),
        "preference" => "the preferential rate of duty".to_owned(),
        "remedy" => "anti-dumping".to_owned(),
        other => known_charge(other).map_or_else(|| tax(other), str::to_owned),
    }
}

/// A tax.
pub(crate) fn tax(name: &str) -> String {
    if name == "consumption" {
        "Consumption tax".to_owned()
    } else {
        spaced(&name.to_uppercase())
    }
}

/// Goods of a row of rates: by the longest known digits with which its own begin.
pub(crate) fn goods_near(digits: &str) -> String {
    if digits == "*" {
        return "all goods".to_owned();
    }
    let known = GOODS.iter().filter(|(code, _)| digits.starts_with(code));
    let near = known.max_by_key(|(code, _)| code.len());
    near.map_or_else(|| goods(digits), |(_, words)| (*words).to_owned())
}

/// Goods by where they were made: `wheels from China`.
pub(crate) fn made_in(goods: &str, origin: &str) -> String {
    if origin == "*" {
        goods.to_owned()
    } else {
        format!("{goods} from {}", country(origin))
    }
}

/// A duty by its layer of rates, for the name of a row.
pub(crate) fn duty(layer_of: &str) -> String {
    match layer_of {
        "mfn" => "ordinary duty".to_owned(),
        "post" => "duty on parcels by post".to_owned(),
        "preference" => "preferential duty".to_owned(),
        "remedy" => "anti-dumping duty".to_owned(),
        other => layer(other),
    }
}

/// Whose law a shipped file holds, by the folder it stands in: `rates/gb/tariff.csv` holds that of the United Kingdom.
pub(crate) fn folder(path: &str) -> String {
    let mut folders = path.rsplit('/').skip(1);
    match folders.next() {
        None | Some("rates") => "all countries".to_owned(),
        Some("eu") => "European Union".to_owned(),
        Some(folder) => {
            Country::parse(folder).map_or_else(|| folder.to_owned(), |of| of.name().to_owned())
        }
    }
}

/// A country of making in a sentence.
fn country(code: &str) -> String {
    match code {
        "EU" => "the European Union".to_owned(),
        code => Country::parse(code).map_or_else(|| code.to_owned(), Country::in_words),
    }
}

/// Goods whose code begins with these digits.
pub(crate) fn goods(digits: &str) -> String {
    found(&GOODS, digits).map_or_else(|| format!("goods under {digits}"), str::to_owned)
}
