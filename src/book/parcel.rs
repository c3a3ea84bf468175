//! `parcels.csv`: what differs from the seller's row for one parcel.

use std::collections::BTreeMap;

use super::BookFile;
use super::read::{sheet, unknown};
use super::seller::Seller;
use super::terms::{CHANNELS, Channel, Freight, HandlingFee, Insurance, freight, insurance};
use crate::text::words::one_of;
use crate::text::{Columns, Problems, Spot};
use crate::units::Date;

/// One parcel that has left, or will.
#[derive(Debug, Clone)]
pub(crate) struct ParcelRow {
    /// Its seller.
    pub(crate) seller: String,
    /// Its label; empty for the seller's only one.
    pub(crate) parcel: String,
    /// The day of ordering.
    pub(crate) ordered: Option<Date>,
    /// The day of arrival.
    pub(crate) arrived: Option<Date>,
    /// How it travels.
    pub(crate) channel: Option<Channel>,
    /// What carrying costs.
    pub(crate) freight: Freight,
    /// What insuring costs.
    pub(crate) insurance: Option<Insurance>,
    /// The carrier's own fee.
    pub(crate) handling: Option<HandlingFee>,
    /// Where it stands.
    pub(crate) at: Spot,
}

pub(super) const COLUMNS: Columns = Columns {
    needed: &["seller"],
    optional: &[
        "parcel",
        "ordered",
        "arrived",
        "channel",
        "freight",
        "insurance",
        "handling",
    ],
    shared: &[],
};

/// Reads `parcels.csv`.
pub(super) fn read(
    file: &BookFile,
    sellers: &BTreeMap<String, Seller>,
    problems: &mut Problems,
) -> Vec<ParcelRow> {
    let mut found: Vec<ParcelRow> = Vec::new();
    for at in Spot::rows(&sheet(file, &COLUMNS, problems)) {
        let name = at.cell("seller");
        let Some(seller) = sellers.get(name.text()) else {
            problems.push(unknown(
                &name,
                "expected a seller of `sellers.csv` or `parts.csv`",
                sellers.keys().map(String::as_str),
            ));
            continue;
        };
        let row = ParcelRow {
            seller: seller.name.clone(),
            parcel: at.cell("parcel").text().to_owned(),
            ordered: at.cell("ordered").optional(problems, Date::parse),
            arrived: at.cell("arrived").optional(problems, Date::parse),
            channel: at
                .cell("channel")
                .optional(problems, |t| one_of(&CHANNELS, t)),
            freight: freight(Some(at.cell("freight")), seller.currency, problems),
            insurance: at
                .cell("insurance")
                .some()
                .and_then(|_| insurance(&at.cell("insurance"), seller.currency, problems)),
            handling: at.cell("handling").optional(problems, |t| {
                HandlingFee::parse(t, at.cell("handling").style())
            }),
            at: at.clone(),
        };
        if row
            .ordered
            .zip(row.arrived)
            .is_some_and(|(ordered, arrived)| arrived < ordered)
        {
            problems.push(
                at.cell("arrived")
                    .error("expected a day on or after `ordered`"),
            );
        }
        match found
            .iter()
            .find(|other| other.seller == row.seller && other.parcel == row.parcel)
        {
            Some(first) => {
                let what = format!(
                    "expected one row for each parcel: this one is at {} too",
                    first.at.place()
                );
                problems.push(at.cell("parcel").error(what));
            }
            None => found.push(row),
        }
    }
    found
}
