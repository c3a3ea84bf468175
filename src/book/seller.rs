//! `sellers.csv`: who sends, from where, how, and what their prices hold. Its columns may stand in `parts.csv` instead.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::BookFile;
use super::answers::Cells;
use super::read::{amount, country, currency, doubt_share, seller_of, sheet, whole, yes_no};
use super::terms::{
    CHANNELS, Channel, Freight, HandlingFee, Included, Insurance, OWN, SENDERS, Sender, freight,
    included, insurance, terms,
};
use crate::text::words::{self, one_of};
use crate::text::{Columns, Problems, Sheet, Spot};
use crate::units::{Country, Currency, Dec};

/// One seller.
#[derive(Debug, Clone)]
pub struct Seller {
    /// Its name.
    pub(crate) name: String,
    /// The country parcels leave from.
    pub(crate) dispatch: Option<Country>,
    /// What it is paid in.
    pub currency: Option<Currency>,
    /// Who it is.
    pub(crate) sender: Option<Sender>,
    /// What carrying costs.
    pub(crate) freight: Freight,
    /// Goods of at least this price travel free.
    pub(crate) free_freight_over: Option<Dec>,
    /// What insuring costs.
    pub(crate) insurance: Option<Insurance>,
    /// Whether it takes the destination's tax.
    pub(crate) collects_tax: Option<bool>,
    /// What tax its prices hold.
    pub(crate) prices_include: Included,
    /// Incoterms; empty for charges at the door.
    pub(crate) terms: String,
    /// How its parcels travel.
    pub(crate) channel: Option<Channel>,
    /// The carrier's own fee.
    pub(crate) handling: Option<HandlingFee>,
    /// The row that gives it.
    pub(crate) handling_at: Option<Spot>,
    /// Days on the way.
    pub(crate) transit_days: Option<u32>,
    /// What sending back costs, in the seller's money.
    pub(crate) return_freight: Option<Dec>,
    /// Where it was first read.
    pub(crate) at: Spot,
    /// The columns that its rows state, even where they could not be read.
    pub(crate) stated: Vec<&'static str>,
}

impl Seller {
    /// Whether the price holds all charges at the door: delivered, duty paid.
    pub(crate) fn pays_duty(&self) -> bool {
        self.terms == "DDP"
    }

    /// Whether a row states this column, even if it could not be read.
    pub(super) fn states(&self, column: &str) -> bool {
        self.stated.contains(&column)
    }
}

pub(super) const COLUMNS: Columns = Columns {
    needed: &["seller"],
    optional: &OWN,
    shared: &[],
};

/// Reads the sellers from their own table and from the rows of parts that name them; and whether a row of either was lost.
pub(super) fn read(
    file: Option<&BookFile>,
    parts: &Arc<Sheet>,
    problems: &mut Problems,
) -> (BTreeMap<String, Seller>, bool) {
    let mut found: BTreeMap<String, Cells> = BTreeMap::new();
    let mut lost = parts.lost_rows();
    if let Some(file) = file {
        let own = sheet(file, &COLUMNS, problems);
        lost = lost || own.lost_rows();
        for spot in Spot::rows(&own) {
            let name = spot.cell("seller");
            if name.is_empty() {
                problems.push(name.error("expected a name"));
            } else if found.contains_key(name.text()) {
                let first = found
                    .get(name.text())
                    .and_then(|cells| cells.first())
                    .map(|spot| spot.place().to_string())
                    .unwrap_or_default();
                problems.push(name.error(format!(
                    "expected one row for each seller: this one is at {first} too"
                )));
            } else {
                let name = name.text().to_owned();
                found.insert(
                    name,
                    Cells {
                        own: Some(spot),
                        ..Cells::default()
                    },
                );
            }
        }
    }
    for spot in Spot::rows(parts) {
        let name = seller_of(&spot);
        if let Some(name) = name {
            found.entry(name).or_default().rows.push(spot);
        }
    }
    let mut read = BTreeMap::new();
    for (name, mut cells) in found {
        cells.settle();
        let seller = words::hinting(!problems.too_many(), || one(name.clone(), &cells, problems));
        let seller = seller.filter(|_| !problems.too_many());
        read.extend(seller.map(|seller| (name, seller)));
    }
    (read, lost)
}

fn one(name: String, cells: &Cells, problems: &mut Problems) -> Option<Seller> {
    cells.disagreements(&name, problems);
    let at = cells.first()?.clone();
    let named = cells.read("currency", problems, currency);
    let currency = named.or_else(|| cells.sign_of_prices());
    let money = |column: &'static str, problems: &mut Problems| {
        amount(&cells.cell(column)?, currency, problems).map(|(value, _)| value)
    };
    let read_freight = freight(cells.cell("freight"), currency, problems);
    if let Some(cell) = cells.cell("prices_include") {
        doubt_share(&cell, problems);
    }
    Some(Seller {
        dispatch: cells.read("dispatch", problems, country),
        currency,
        sender: cells.read("sender", problems, |t| one_of(&SENDERS, t)),
        freight: read_freight,
        free_freight_over: money("free_freight_over", problems),
        insurance: cells
            .cell("insurance")
            .and_then(|c| insurance(&c, currency, problems)),
        collects_tax: cells.read("collects_tax", problems, yes_no),
        prices_include: cells
            .cell("prices_include")
            .and_then(|c| c.needed(problems, |t| included(t, c.style())))
            .unwrap_or(Included::Nothing),
        terms: cells.read("terms", problems, terms).unwrap_or_default(),
        channel: cells.read("channel", problems, |t| one_of(&CHANNELS, t)),
        handling: cells
            .cell("handling")
            .and_then(|c| c.needed(problems, |t| HandlingFee::parse(t, c.style()))),
        handling_at: cells.row_with("handling").cloned(),
        transit_days: cells.cell("transit_days").and_then(|c| {
            c.needed(problems, |t| {
                whole(t, 0, 400).map_err(|e| e.replace("number", "number of days"))
            })
        }),
        return_freight: money("return_freight", problems),
        stated: OWN
            .into_iter()
            .filter(|column| cells.cell(column).is_some())
            .collect(),
        name,
        at,
    })
}
