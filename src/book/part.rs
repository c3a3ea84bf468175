//! Reads `parts.csv` into rows; a rival takes what it leaves empty from the part's own row.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::offer::{Fault, MassKind, Part, Role, Standing};
use super::part_cells::{box_cm, commodity, fits, traits};
use super::read::{
    amount, country, currency, grams, names, own_amount, positive, seller_of, whole, yes_no,
};
use super::rival_row::{Cells, is_rival, main_rows};
use super::seller::Seller;
use super::terms::Sender;
use crate::text::second_names::read_too;
use crate::text::words::{self, one_of};
use crate::text::{Cell, Columns, Problems, Sheet, Spot};
use crate::units::Dec;

/// The columns of `parts.csv`, and those of `sellers.csv` that may stand in it.
pub(super) const COLUMNS: Columns = Columns {
    needed: &["part", "place"],
    optional: &[
        "role",
        "standing",
        "seller",
        "price",
        "currency",
        "quantity",
        "parcel",
        "paid",
        "mass_g",
        "mass_kind",
        "packed_g",
        "box_cm",
        "commodity",
        "declared_as",
        "traits",
        "origin",
        "preference",
        "comes_with",
        "needs",
        "fits",
        "resale",
        "limit_kg",
        "evidence",
        "warranty_months",
        "seen",
    ],
    shared: &super::terms::OWN,
};

pub(super) const ROLES: [(&str, Role); 3] = [
    ("build", Role::Build),
    ("option", Role::Option),
    ("rival", Role::Rival),
];
/// The words of `standing`; a part that came with a fault counts as here, as far as it is, and as paid.
const STANDINGS: [(&str, (Standing, Option<Fault>)); 7] = [
    ("to-order", (Standing::ToOrder, None)),
    ("on-order", (Standing::OnOrder, None)),
    ("in-hand", (Standing::InHand, None)),
    ("given", (Standing::Given, None)),
    ("bundled", (Standing::Bundled, None)),
    ("missing", (Standing::InHand, Some(Fault::Missing))),
    ("damaged", (Standing::InHand, Some(Fault::Damaged))),
];
const MASS_KINDS: [(&str, MassKind); 3] = [
    ("weighed", MassKind::Weighed),
    ("claimed", MassKind::Claimed),
    ("guess", MassKind::Guess),
];

impl Fault {
    /// Its word.
    pub(crate) fn name(self) -> &'static str {
        words::word_of(&STANDINGS, (Standing::InHand, Some(self)))
    }
}

impl Standing {
    /// Its word.
    pub(crate) fn name(self) -> &'static str {
        words::word_of(&STANDINGS, (self, None))
    }
}

/// Reads every row.
pub(super) fn read(
    sheet: &Arc<Sheet>,
    sellers: &BTreeMap<String, Seller>,
    problems: &mut Problems,
) -> Vec<Part> {
    if sheet.is_empty() && !problems.refuse() {
        let place = super::at_file(sheet.path());
        problems.push(
            crate::text::Diagnostic::error(
                "there are no rows below the header: expected one for each part",
            )
            .at(place),
        );
    }
    let spots: Vec<Spot> = Spot::rows(sheet).collect();
    let mains = main_rows(&spots, problems);
    let known: BTreeSet<&str> = spots.iter().map(|spot| spot.cell("part").text()).collect();
    let known: Vec<&str> = known.into_iter().collect();
    let mut parts = Vec::new();
    let mut nowhere = Nowhere::default();
    for own in &spots {
        let rival = is_rival(own);
        let main = mains
            .get(own.cell("part").text())
            .copied()
            .filter(|_| rival);
        let part = words::hinting(!problems.too_many(), || {
            one(&Cells { own, main }, sellers, &known, problems)
        });
        part.iter().for_each(|part| nowhere.meet(part, sellers));
        parts.extend(part.filter(|_| !problems.too_many()));
    }
    nowhere.say(sellers, problems);
    miss_boxes(&mut parts);
    parts
}

/// Sellers of whom nobody has said which country they send from, each with the first row that needs it.
#[derive(Default)]
struct Nowhere {
    first: BTreeMap<String, Spot>,
}

impl Nowhere {
    fn meet(&mut self, part: &Part, sellers: &BTreeMap<String, Seller>) {
        let seller = part
            .seller
            .as_ref()
            .and_then(|name| sellers.get(name))
            .filter(|_| part.standing != Standing::Bundled);
        let nowhere = |seller: &&Seller| {
            seller.dispatch.is_none() && !part.is_open() && !seller.states("dispatch")
        };
        if let Some(seller) = seller.filter(nowhere) {
            self.first
                .entry(seller.name.clone())
                .or_insert(part.at.clone());
        }
    }

    /// Says it once for each seller, or once for all where no table has the column.
    fn say(&self, sellers: &BTreeMap<String, Seller>, problems: &mut Problems) {
        let unsaid = self.first.values().all(|at| !at.has("dispatch"))
            && sellers.values().all(|seller| !seller.at.has("dispatch"));
        if let Some(at) = self
            .first
            .values()
            .min_by_key(|at| at.row().line())
            .filter(|_| unsaid && self.first.len() > 1)
        {
            let names: Vec<String> = self.first.keys().map(|name| words::quoted(name)).collect();
            let what = format!(
                "expected the country that each seller sends from, here or in `sellers.csv`: {}",
                words::few(&names)
            );
            problems.push(at.cell("dispatch").error(what));
            return;
        }
        for (name, at) in &self.first {
            let missing = at.cell("dispatch").error(format!(
                "expected the country that {} sends from",
                words::quoted(name)
            ));
            let others = sellers
                .values()
                .filter(|s| s.dispatch.is_some())
                .map(|s| s.name.as_str());
            let near = words::hinting(!problems.too_many(), || words::nearest(name, others));
            problems.push(match near {
                Some(near) => missing.help(format!("did you mean the seller `{near}`?")),
                None => missing,
            });
        }
    }
}

/// Whether a cell holds none of the words it may hold.
pub(super) fn unread<T: Copy>(cell: &Cell<'_>, words: &[(&'static str, T)]) -> bool {
    !cell.is_empty() && one_of(words, cell.text()).is_err()
}

fn one(
    cells: &Cells<'_>,
    sellers: &BTreeMap<String, Seller>,
    known: &[&str],
    problems: &mut Problems,
) -> Option<Part> {
    let own = cells.own;
    let name = own.cell("part").needed(problems, |t| {
        if t.is_empty() {
            Err("expected a name".to_owned())
        } else {
            Ok(t.to_owned())
        }
    });
    let place = cells.cell("place");
    if place.is_empty() {
        problems.push(place.error("expected a place, such as `frame`"));
    }
    let (standing, fault) = own
        .cell("standing")
        .optional(problems, |t| one_of(&STANDINGS, t))
        .unwrap_or((Standing::ToOrder, None));
    let comes_with = own.cell("comes_with").some().map(str::to_owned);
    let unsaid = own.cell("standing").is_empty() || fault.is_some();
    let standing = if comes_with.is_some() && unsaid {
        Standing::Bundled
    } else {
        standing
    };
    let (price, currency) = price(cells, sellers, problems);
    let part = Part {
        name: name?,
        places: names(place.text(), &[])
            .iter()
            .map(|name| read_too(name).to_owned())
            .collect(),
        role: role(own, fault, problems),
        standing,
        fault,
        seller: seller_of(own),
        price,
        currency,
        quantity: cells
            .cell("quantity")
            .optional(problems, |t| whole(t, 1, 100_000))
            .unwrap_or(1),
        parcel: own.cell("parcel").text().to_owned(),
        paid: own_amount(&own.cell("paid"), problems),
        mass: grams(&cells.cell("mass_g"), problems),
        mass_kind: cells
            .cell("mass_kind")
            .optional(problems, |t| one_of(&MASS_KINDS, t))
            .unwrap_or(MassKind::Claimed),
        packed: grams(&cells.cell("packed_g"), problems),
        box_cm: cells.cell("box_cm").optional(problems, box_cm),
        commodity: cells
            .cell("commodity")
            .optional(problems, commodity)
            .unwrap_or_default(),
        declared_as: cells.cell("declared_as").text().to_owned(),
        traits: cells
            .cell("traits")
            .optional(problems, traits)
            .unwrap_or_default(),
        origin: cells.cell("origin").optional(problems, country),
        preference: cells
            .cell("preference")
            .optional(problems, yes_no)
            .unwrap_or(false),
        comes_with,
        needs: names(cells.cell("needs").text(), known),
        fits: cells
            .cell("fits")
            .optional(problems, fits)
            .unwrap_or_default(),
        resale: own_amount(&cells.cell("resale"), problems),
        limit_kg: positive(&cells.cell("limit_kg"), problems),
        evidence: cells.cell("evidence").text().to_owned(),
        warranty_months: cells
            .cell("warranty_months")
            .optional(problems, |t| whole(t, 0, 1200)),
        seen: own
            .cell("seen")
            .optional(problems, crate::units::Date::parse),
        at: own.clone(),
    };
    if !unread(&own.cell("standing"), &STANDINGS) {
        agree(&part, sellers, problems);
    }
    Some(part)
}

/// What a row is: one that came with a fault is not on the bike, whatever it was to be.
fn role(own: &Spot, fault: Option<Fault>, problems: &mut Problems) -> Role {
    let cell = own.cell("role");
    let role = cell.optional(problems, |t| one_of(&ROLES, read_too(t)));
    match (role.unwrap_or(Role::Build), fault) {
        (Role::Rival, Some(_)) => {
            let what = "expected no fault: this row is another offer, and nothing of it came";
            problems.push(own.cell("standing").error(what));
            Role::Rival
        }
        (_, Some(_)) => Role::Gone,
        (role, None) => role,
    }
}

/// What lies in the box of a part that is missing is missing with it.
fn miss_boxes(parts: &mut [Part]) {
    let missing = |part: &&Part| part.fault == Some(Fault::Missing);
    let names: BTreeSet<String> = parts
        .iter()
        .filter(missing)
        .map(|part| part.name.clone())
        .collect();
    let inside = |part: &&mut Part| {
        let holder = part.comes_with.as_ref();
        part.role == Role::Build && holder.is_some_and(|holder| names.contains(holder))
    };
    for part in parts.iter_mut().filter(inside) {
        part.role = Role::Gone;
    }
}

/// The price and its currency: a rival without a price takes both from the part's own row.
fn price(
    cells: &Cells<'_>,
    sellers: &BTreeMap<String, Seller>,
    problems: &mut Problems,
) -> (Option<Dec>, Option<crate::units::Currency>) {
    let row = if cells.own.cell("price").is_empty() {
        cells.main.unwrap_or(cells.own)
    } else {
        cells.own
    };
    let seller = seller_of(row).and_then(|name| sellers.get(&name)?.currency);
    let stated = row
        .cell("currency")
        .some()
        .and_then(|text| currency(text).ok());
    if seller.is_none() && row.cell("seller").is_empty() {
        row.cell("currency").optional(problems, currency);
    }
    let known = stated.or(seller);
    match amount(&row.cell("price"), known, problems) {
        Some((value, found)) => (Some(value), found),
        None => (None, known),
    }
}

/// What the row's standing asks of its other cells.
fn agree(part: &Part, sellers: &BTreeMap<String, Seller>, problems: &mut Problems) {
    let seller = part.seller.as_ref().and_then(|name| sellers.get(name));
    let cell = |name: &'static str| part.at.cell(name);
    if part.standing == Standing::Bundled {
        if part.comes_with.is_none() {
            problems.push(
                cell("comes_with")
                    .error("expected the name of the part whose box this bundled part is in"),
            );
        }
        if part.price.is_some_and(|price| !price.is_zero()) {
            problems.push(cell("price").error(
                "expected no price: a part that comes in another's box has none of its own",
            ));
        }
    } else if part.comes_with.is_some() {
        problems
            .push(cell("standing").error("expected `bundled`: the part comes in another's box"));
    }
    if part.paid.is_some() && !matches!(part.standing, Standing::OnOrder | Standing::InHand) {
        let what = format!(
            "expected `paid` only where something is paid: this row is `{}`",
            part.standing.name()
        );
        problems.push(
            cell("paid")
                .error(what)
                .help("`on-order` when the seller is paid, `in-hand` when nothing more is to pay"),
        );
    }
    if part.standing != Standing::Bundled {
        agree_with_seller(part, seller, problems);
    }
}

/// What the row's seller asks of its cells.
fn agree_with_seller(part: &Part, seller: Option<&Seller>, problems: &mut Problems) {
    let cell = |name: &'static str| part.at.cell(name);
    if seller.is_some_and(|s| s.sender == Some(Sender::Gift)) && part.standing != Standing::Given {
        problems.push(cell("standing").error("expected `given`: what this seller sends are gifts"));
    }
    if seller.is_some_and(|s| s.sender != Some(Sender::Gift)) && part.standing == Standing::Given {
        let what = "expected no seller, or one whose `sender` is `gift`: the row is `given`";
        problems.push(cell("seller").error(what));
    }
    let known_price = part.price.is_some_and(|price| !price.is_zero());
    if part.price.is_some() && !known_price && part.standing == Standing::ToOrder {
        let what =
            "is nothing really paid for it? leave the cell empty when the price is not known";
        problems.push(cell("price").error(what).as_warning());
    }
    if part.price.is_some()
        && part.currency.is_none()
        && part.standing != Standing::Given
        && cell("currency").is_empty()
    {
        problems.push(
            cell("currency").error("expected the currency of the price, here or in `sellers.csv`"),
        );
    }
}
