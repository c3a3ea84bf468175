//! The one parcel that a seller's offers would make together, before anything is chosen: its rows, its terms, and what customs sees.

use super::border::{Scenario, Wide, all_lines};
use super::bounds::NoBounds;
use super::discount::holding;
use super::jurisdiction::Jurisdiction;
use super::parcel::{Consignment, ConsignmentState, group, is_reckoned};
use super::payment::card_fee;
use super::price::{Priced, Reading, packed_masses, terms};
use crate::book::{Book, Discount, Freight, Included, Part};
use crate::rules::{AskedLine, Given, Payer, RowFilter, Sale, SaleInput, SaleLine};
use crate::tables::FreightStep;
use crate::text::Problems;
use crate::units::{Currency, Grams, Rate, SellerMoney};

/// The offers of one seller beside rows that come anyway, as if all were bought.
pub(crate) struct OfferedParcel<'a> {
    pub(super) jurisdiction: &'a Jurisdiction<'a>,
    pub(super) consignment: Consignment<'a>,
    pub(super) currency: Currency,
    /// For each line its offer; none for what comes anyway.
    pub(super) offers: Vec<Option<usize>>,
    /// The lines as the seller sells them.
    pub(super) lines: Vec<SaleLine>,
    discounts: Vec<&'a Discount>,
    /// The law's view of all lines; none where they cross no border.
    pub(super) wide: Option<Wide>,
    pub(super) customs: Rate,
    pub(super) market: Rate,
}

impl<'a> OfferedParcel<'a> {
    /// Looks at the offers; the error says why they are not looked at so.
    pub(crate) fn open(
        book: &'a Book,
        sure: &[&'a Part],
        offers: &[&'a Part],
        jurisdiction: &'a Jurisdiction<'a>,
    ) -> Result<OfferedParcel<'a>, NoBounds> {
        let rows: Vec<&Part> = sure.iter().chain(offers).copied().collect();
        if offers.is_empty() || !rows.iter().all(|row| is_reckoned(row)) {
            return Err("not every row has a price".into());
        }
        if !jurisdiction.what_if.freight.is_empty() {
            return Err("the freight is supposed to be otherwise".into());
        }
        let consignment = one_parcel(book, &rows, jurisdiction)?;
        let currency = consignment.rows.first().and_then(|row| row.currency);
        let currency = currency.unwrap_or(jurisdiction.currency());
        let (masses, guessed) = packed_masses(&consignment, jurisdiction)?;
        let mut lines = Vec::with_capacity(masses.len());
        for (row, packed) in consignment.rows.iter().zip(masses) {
            lines.push(SaleLine {
                price: jurisdiction.what_if.price_of(row, currency.digits())?,
                pieces: row.quantity,
                packed,
            });
        }
        let of_offer = |row: &&Part| offers.iter().position(|offer| std::ptr::eq(*offer, *row));
        let customs = jurisdiction.customs_rate(currency, consignment.arrival)?;
        Ok(OfferedParcel {
            offers: consignment.rows.iter().map(of_offer).collect(),
            discounts: holding(book, &consignment),
            wide: at_border(&consignment, (currency, &lines, guessed), jurisdiction)?,
            customs: customs.quote.rate,
            market: jurisdiction
                .market_rate(currency, consignment.ordered)?
                .rate,
            jurisdiction,
            currency,
            lines,
            consignment,
        })
    }

    /// The terms of the sale of all lines; what carrying costs is told for each package.
    pub(super) fn terms<'t>(&'t self, reading: Reading<'t>) -> Sale<'t> {
        let carriage = Given::Supplied(SaleInput::Carriage);
        let (reads, digits) = ((reading, self.jurisdiction), self.currency.digits());
        let (parcel, codes) = (&self.consignment, &self.discounts);
        terms(parcel, codes, carriage, reads, digits)
    }

    /// How a package is paid for, whose prices held a tax that is taken at the sale, or did not.
    pub(super) fn payer(&self, held: bool) -> Payer {
        Payer {
            paid_digits: self.currency.digits(),
            digits: self.jurisdiction.currency().digits(),
            card: card_fee(self.currency, self.jurisdiction),
            gift: false,
            held,
        }
    }

    /// Whether prices hold a tax that is taken at the sale.
    pub(super) fn holds_sale_tax(&self) -> bool {
        self.consignment.tax_to_take_out(self.jurisdiction) == Included::SaleTax
    }

    /// The steps of the schedule that the seller goes by; none where freight goes by none.
    pub(super) fn steps(&self) -> Option<Vec<&'a FreightStep>> {
        let own = &self.consignment;
        let Freight::Schedule(name) = &own.freight else {
            return None;
        };
        let (from, channel) = (own.dispatch.code(), own.channel.name());
        Some(self.jurisdiction.schedule(name, from, channel, own.ordered))
    }
}

/// The one parcel that rows are, still to be ordered and without receipts.
fn one_parcel<'a>(
    book: &'a Book,
    rows: &[&'a Part],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Consignment<'a>, NoBounds> {
    let mut problems = Problems::new();
    let mut consignments = group(book, rows, jurisdiction, &mut problems);
    let consignment = consignments.pop();
    let Some(consignment) = consignment.filter(|_| consignments.is_empty() && !problems.refuse())
    else {
        return Err("the rows are not one parcel".into());
    };
    if consignment.kind != ConsignmentState::ToOrder {
        return Err("the parcel is not to be ordered".into());
    }
    let mut receipts = book.receipts.iter();
    if receipts.any(|receipt| receipt.consignment == consignment.id) {
        return Err("the parcel has receipts".into());
    }
    Ok(consignment)
}

/// All lines put before the rules; none where they cross no border.
fn at_border(
    consignment: &Consignment<'_>,
    (currency, lines, guessed): (Currency, &[SaleLine], Vec<&str>),
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Wide>, NoBounds> {
    if jurisdiction.is_home(consignment.dispatch.code()) {
        return Ok(None);
    }
    let mut asked = Vec::with_capacity(lines.len());
    for line in lines {
        asked.push(AskedLine {
            list: line.price.times(line.pieces.into())?,
            packed: line.packed,
            ..AskedLine::default()
        });
    }
    let priced = Priced {
        currency,
        lines: asked,
        typed: SellerMoney::ZERO,
        used: Vec::new(),
        packed: Grams::ZERO,
        guessed,
        freight_unknown: false,
    };
    let wide = all_lines(consignment, &priced, jurisdiction, &supposed(jurisdiction))?;
    let wide = wide.ok_or("parts of one thing are not alike in how many there are")?;
    Ok(Some(wide))
}

/// How a parcel is looked at under what is taken to be otherwise.
fn supposed(jurisdiction: &Jurisdiction<'_>) -> Scenario {
    let what_if = &jurisdiction.what_if;
    let usual = Scenario::usual(jurisdiction);
    Scenario {
        counting: RowFilter {
            disputed: !what_if.undisputed,
            remedies: what_if.remedies || usual.counting.remedies,
        },
        ..usual
    }
}
