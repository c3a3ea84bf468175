//! `bikes.csv`: complete bikes to hold the build against.

use std::collections::BTreeMap;

use super::BookFile;
use super::read::{amount, currency, grams, sheet, unknown};
use super::seller::Seller;
use crate::text::words::{self, one_of};
use crate::text::{Cell, Columns, Problems, Spot};
use crate::units::{BASES, Basis, Currency, Date, Dec, Grams};

/// What kind of price it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum PriceKind {
    List,
    Street,
    Sale,
    Used,
}

/// The kinds of price by their words.
pub(crate) const PRICE_KINDS: [(&str, PriceKind); 4] = [
    ("list", PriceKind::List),
    ("street", PriceKind::Street),
    ("sale", PriceKind::Sale),
    ("used", PriceKind::Used),
];

impl PriceKind {
    /// Its word.
    pub(crate) fn name(self) -> &'static str {
        words::word_of(&PRICE_KINDS, self)
    }
}

/// One complete bike; what is not known is empty, and the bike is left out of comparisons with the reason.
#[derive(Debug, Clone)]
pub(crate) struct Bike {
    /// Its name.
    pub(crate) name: String,
    /// Its price.
    pub(crate) price: Option<Dec>,
    /// In what.
    pub(crate) currency: Option<Currency>,
    /// What kind of price it is.
    pub(crate) price_kind: PriceKind,
    /// Its mass.
    pub(crate) mass: Option<Grams>,
    /// How it was weighed.
    pub(crate) basis: Option<Basis>,
    /// Its size.
    pub(crate) size: String,
    /// Its class.
    pub(crate) class: String,
    /// Its season.
    pub(crate) season: String,
    /// When the price was seen.
    pub(crate) seen: Option<Date>,
    /// The seller it is imported from; none when it is bought at home.
    pub(crate) seller: Option<String>,
    /// Where it stands.
    pub(crate) at: Spot,
}

pub(super) const COLUMNS: Columns = Columns {
    needed: &["bike", "price", "mass_g"],
    optional: &[
        "currency",
        "price_kind",
        "basis",
        "size",
        "class",
        "season",
        "seen",
        "seller",
    ],
    shared: &[],
};

/// The seller that a row names, who must be known.
fn seller(
    cell: &Cell<'_>,
    sellers: &BTreeMap<String, Seller>,
    problems: &mut Problems,
) -> Option<String> {
    let name = cell.some()?;
    if !sellers.contains_key(name) {
        let expected =
            "expected a seller of `sellers.csv` or `parts.csv`, or none for a bike bought at home";
        problems.push(unknown(cell, expected, sellers.keys().map(String::as_str)));
    }
    Some(name.to_owned())
}

/// Reads `bikes.csv`.
pub(super) fn read(
    file: &BookFile,
    sellers: &BTreeMap<String, Seller>,
    problems: &mut Problems,
) -> Vec<Bike> {
    let mut found: Vec<Bike> = Vec::new();
    for at in Spot::rows(&sheet(file, &COLUMNS, problems)) {
        let name = at.cell("bike");
        if name.is_empty() {
            problems.push(name.error("expected a name"));
            continue;
        }
        if found.iter().any(|bike| bike.name == name.text()) {
            problems.push(name.error("expected another name: a bike of this name stands above"));
            continue;
        }
        let seller = seller(&at.cell("seller"), sellers, problems);
        let stated = at.cell("currency").optional(problems, currency);
        let known = stated.or_else(|| sellers.get(seller.as_deref()?)?.currency);
        let price = amount(&at.cell("price"), known, problems);
        let bike = Bike {
            name: name.text().to_owned(),
            price: price.map(|(value, _)| value),
            currency: price.map_or(known, |(_, currency)| currency),
            price_kind: at
                .cell("price_kind")
                .optional(problems, |t| one_of(&PRICE_KINDS, t))
                .unwrap_or(PriceKind::List),
            mass: mass(&at.cell("mass_g"), problems),
            basis: at.cell("basis").optional(problems, |t| one_of(&BASES, t)),
            size: at.cell("size").text().to_owned(),
            class: at.cell("class").text().to_owned(),
            season: at.cell("season").text().to_owned(),
            seen: at.cell("seen").optional(problems, Date::parse),
            seller,
            at: at.clone(),
        };
        found.extend((!problems.too_many()).then_some(bike));
    }
    found
}

/// No bike weighs less than a kilogram: such a figure is in kilograms.
pub(super) fn mass(cell: &Cell<'_>, problems: &mut Problems) -> Option<Grams> {
    let read = grams(cell, problems)?;
    if read.0 < Dec::THOUSAND {
        problems.push(cell.error("expected grams, such as `8900`: no bike is so light"));
        return None;
    }
    Some(read)
}
