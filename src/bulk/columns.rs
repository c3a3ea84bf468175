//! The columns of a price list, and the line that is written for each of its lines.

use super::Wants;
use crate::text::words::{list, nearest, quoted};

use super::figures::Written;
use super::record::{Bounds, Record, scan};

/// Where each known column stands.
#[derive(Debug, Clone)]
pub struct Columns {
    pub(crate) date: usize,
    pub(crate) seller: usize,
    pub(crate) price: usize,
    pub(crate) commodity: usize,
    pub(crate) dispatch: Option<usize>,
    pub(crate) currency: Option<usize>,
    pub(crate) quantity: Option<usize>,
    pub(crate) mass_g: Option<usize>,
    pub(crate) origin: Option<usize>,
    pub(crate) discount_percent: Option<usize>,
    pub(crate) consignment: Option<usize>,
    /// Fields of every line.
    pub(crate) width: usize,
    /// Columns that nothing reads and whose name is near one that is read: the two names.
    pub(crate) near: Vec<(String, &'static str)>,
}

const NEEDED: [&str; 4] = ["date", "seller", "price", "commodity"];
const OTHERS: [&str; 7] = [
    "dispatch",
    "currency",
    "quantity",
    "mass_g",
    "origin",
    "discount_percent",
    "consignment",
];

/// What is written after the columns of the list, in the destination's money.
pub(crate) const OUTPUT: [&str; 14] = [
    "goods",
    "discount",
    "freight",
    "insurance",
    "intrinsic_value",
    "customs_value",
    "duty",
    "remedy",
    "tax_at_sale",
    "tax_at_border",
    "handling",
    "card_fee",
    "landed",
    "tax_collected",
];

/// Whether a header has every column that a price list needs.
pub(crate) fn heads_a_list(header: &str) -> bool {
    let name = |field: &str| {
        field
            .trim()
            .trim_start_matches('\u{feff}')
            .trim_matches('"')
            .to_lowercase()
    };
    let names: Vec<String> = header.split(',').map(name).collect();
    NEEDED
        .iter()
        .all(|needed| names.iter().any(|name| name == needed))
}

impl Columns {
    /// The columns of a list by its header, and where the first line after it begins; the error says what is wrong with them.
    pub fn of_list(list: &[u8]) -> Result<(Columns, usize), String> {
        let mut bounds = Bounds::default();
        let header = scan(list, 0, false, &mut bounds);
        let columns = Columns::find(&Record::new(list, 0, header, &bounds))?;
        Ok((columns, header.next))
    }

    /// Finds the columns by name; the error says which is missing and what stands near it.
    pub(crate) fn find(header: &Record<'_>) -> Result<Columns, String> {
        let plain = |name: &[u8]| {
            String::from_utf8_lossy(name)
                .trim()
                .trim_start_matches('\u{feff}')
                .to_lowercase()
        };
        let names: Vec<String> = header.fields().map(plain).collect();
        let at = |name: &str| names.iter().position(|n| n == name);
        let (Some(date), Some(seller), Some(price), Some(commodity)) =
            (at("date"), at("seller"), at("price"), at("commodity"))
        else {
            return Err(missing(&names));
        };
        for name in NEEDED.iter().chain(&OTHERS).chain(&OUTPUT) {
            if names.iter().filter(|n| n == name).count() > 1 {
                return Err(format!(
                    "the column {} is there twice: remove one",
                    quoted(name)
                ));
            }
        }
        if let Some(taken) = OUTPUT.iter().find(|name| at(name).is_some()) {
            return Err(format!(
                "the result has a column {} of its own: give yours another name",
                quoted(taken)
            ));
        }
        Ok(Columns {
            near: near(&names),
            date,
            seller,
            price,
            commodity,
            dispatch: at("dispatch"),
            currency: at("currency"),
            quantity: at("quantity"),
            mass_g: at("mass_g"),
            origin: at("origin"),
            discount_percent: at("discount_percent"),
            consignment: at("consignment"),
            width: names.len(),
        })
    }
}

/// Says which needed columns a header lacks, and what stands near them.
fn missing(names: &[String]) -> String {
    let marks = [(';', "semicolons"), ('\t', "tabs")];
    if let Some((_, word)) = marks
        .iter()
        .find(|(mark, _)| names.len() == 1 && names.iter().any(|name| name.contains(*mark)))
    {
        return format!("the columns are separated by {word}: use commas, and points in amounts");
    }
    let missing: Vec<&str> = NEEDED
        .into_iter()
        .filter(|name| !names.iter().any(|own| own == name))
        .collect();
    let near = missing
        .iter()
        .find_map(|name| nearest(name, names.iter().map(String::as_str)))
        .map_or(String::new(), |near| {
            format!("; did you mean {} for it?", quoted(near))
        });
    let is = if missing.len() == 1 { "is" } else { "are" };
    format!(
        "the list needs the columns {}: {} {is} missing{near}",
        list(&NEEDED, "and"),
        list(&missing, "and")
    )
}

/// Columns that nothing reads and whose name is near one that is read and absent: the two names.
fn near(names: &[String]) -> Vec<(String, &'static str)> {
    let read = || NEEDED.into_iter().chain(OTHERS);
    let stands = |known: &str| names.iter().any(|name| name == known);
    let absent = |name: &str| {
        read()
            .filter(|known| !stands(known))
            .find(|known| nearest(name, [*known]).is_some())
    };
    names
        .iter()
        .filter(|name| !read().any(|known| known == name.as_str()))
        .filter_map(|name| Some((name.clone(), named(name).or_else(|| absent(name))?)))
        .filter(|(_, known)| !stands(known))
        .collect()
}

/// The column that another word for it means.
fn named(word: &str) -> Option<&'static str> {
    const WORDS: [(&str, &str); 12] = [
        ("qty", "quantity"),
        ("pcs", "quantity"),
        ("pieces", "quantity"),
        ("count", "quantity"),
        ("mass", "mass_g"),
        ("weight", "mass_g"),
        ("weight_g", "mass_g"),
        ("grams", "mass_g"),
        ("made_in", "origin"),
        ("country_of_origin", "origin"),
        ("ships_from", "dispatch"),
        ("parcel", "consignment"),
    ];
    WORDS
        .into_iter()
        .find(|(other, _)| *other == word)
        .map(|(_, known)| known)
}

/// The amounts of one line, in minor units of the destination's money.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct PricedLine {
    pub(super) figures: [i64; 13],
    pub(super) collected: &'static str,
    /// What is not known of it and not in its sum.
    pub(super) wants: Wants,
    /// What hangs on its digits where they stop above rows that differ, and the dearest counts.
    pub(super) hangs: Option<i64>,
}

impl PricedLine {
    /// What it lands at.
    pub(super) fn landed(&self) -> i64 {
        let [.., landed] = self.figures;
        landed
    }
}

/// Writes a line as it came, with its amounts after it.
pub(super) fn write(raw: &[u8], amounts: &PricedLine, digits: u32, out: &mut Written) {
    out.text(raw);
    out.text(b",");
    out.figures(&amounts.figures, digits);
    out.text(amounts.collected.as_bytes());
    out.text(b"\n");
}
