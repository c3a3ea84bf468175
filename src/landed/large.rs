//! Figures too large to be meant: beyond them sums are refused, with the cell, before anything is calculated.

use std::collections::{BTreeMap, BTreeSet};

use super::jurisdiction::Jurisdiction;
use crate::book::{Book, Freight, Insurance, Worth};
use crate::text::{Cell, Diagnostic, Problems};
use crate::units::{Currency, Dec, Grams, Mode, Rate};

/// The largest amount of one cell, in the hundredth part of a minor unit of the destination's money: a hundred million pounds, ten
/// thousand million yen.
pub(super) const MONEY: i64 = 1_000_000_000_000;

/// The same for `plan`: a million pounds, a hundred million yen. Ten such cells are still within what its whole numbers hold.
pub(super) const MONEY_OF_A_PLAN: i64 = 10_000_000_000;

/// Decimals of that unit beyond the minor unit.
const FINER: u32 = 2;

/// The largest mass of one cell, in grams.
const MASS: u32 = 100_000;

/// Names every cell of a book whose figure is too large.
pub(super) fn refuse_large(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    most: i64,
    problems: &mut Problems,
) {
    let mut found = Large {
        jurisdiction,
        most,
        rates: BTreeMap::new(),
        problems,
    };
    look(book, &mut found);
    look_at_schedules(book, &mut found);
}

/// Looks at every file of a book in turn.
fn look(book: &Book, found: &mut Large<'_, '_>) {
    look_at_parts(book, found);
    look_at_sellers(book, found);
    look_at_parcels(book, found);
    let own = found.jurisdiction.currency();
    for code in &book.discounts {
        let amount = if let Worth::Amount(amount) = code.worth {
            Some(amount)
        } else {
            None
        };
        let money = taken(book, &code.seller, own);
        found.money(&code.at.cell("amount"), amount, money);
    }
    for bike in &book.bikes {
        let money = bike.currency.unwrap_or(own);
        found.money(&bike.at.cell("price"), bike.price, money);
        found.mass(&bike.at.cell("mass_g"), bike.mass);
    }
    for receipt in &book.receipts {
        found.money(
            &receipt.at.cell("amount"),
            Some(receipt.amount),
            receipt.currency,
        );
    }
    for weighing in &book.weighings {
        found.mass(&weighing.at.cell("mass_g"), Some(weighing.mass));
    }
}

/// Prices and payments of parts, and their masses; a mass that a scale gave stands in `weighings.csv`.
fn look_at_parts(book: &Book, found: &mut Large<'_, '_>) {
    let own = found.jurisdiction.currency();
    for row in &book.parts {
        // What no decimal holds any more is too large by a single piece.
        let many = Dec::from(row.quantity);
        found.money(
            &row.at.cell("price"),
            row.price.map(|price| price.times(many).unwrap_or(price)),
            row.currency.unwrap_or(own),
        );
        found.money(&row.at.cell("paid"), row.paid, own);
        found.money(&row.at.cell("resale"), row.resale, own);
        let weighed = book
            .weighings
            .iter()
            .any(|weighing| weighing.part.as_deref() == Some(row.name.as_str()));
        let all = |mass: Grams| mass.times(row.quantity).unwrap_or(mass);
        found.mass(
            &row.at.cell("mass_g"),
            row.mass.filter(|_| !weighed).map(all),
        );
        found.mass(&row.at.cell("packed_g"), row.packed.map(all));
    }
}

/// What sellers ask beside their prices.
fn look_at_sellers(book: &Book, found: &mut Large<'_, '_>) {
    let own = found.jurisdiction.currency();
    for seller in book.sellers.values() {
        let money = seller.currency.unwrap_or(own);
        found.money(&seller.at.cell("freight"), flat(&seller.freight), money);
        let insured = insured(seller.insurance);
        found.money(&seller.at.cell("insurance"), insured, money);
        let fee = seller.handling.map(|fee| fee.least);
        found.money(&seller.at.cell("handling"), fee, own);
    }
}

/// The same for single parcels.
fn look_at_parcels(book: &Book, found: &mut Large<'_, '_>) {
    let own = found.jurisdiction.currency();
    for row in &book.parcels {
        let money = taken(book, &row.seller, own);
        found.money(&row.at.cell("freight"), flat(&row.freight), money);
        let insured = insured(row.insurance);
        found.money(&row.at.cell("insurance"), insured, money);
        let fee = row.handling.map(|fee| fee.least);
        found.money(&row.at.cell("handling"), fee, own);
    }
}

/// The money that a seller takes.
fn taken(book: &Book, seller: &str, own: Currency) -> Currency {
    book.sellers
        .get(seller)
        .and_then(|seller| seller.currency)
        .unwrap_or(own)
}

/// The steps of every freight schedule that the book's sellers and parcels name: their prices stand in tables of their own.
fn look_at_schedules(book: &Book, found: &mut Large<'_, '_>) {
    let asked = book
        .sellers
        .values()
        .map(|seller| &seller.freight)
        .chain(book.parcels.iter().map(|row| &row.freight));
    let named = asked.filter_map(|freight| {
        if let Freight::Schedule(name) = freight {
            Some(name.as_str())
        } else {
            None
        }
    });
    for name in named.collect::<BTreeSet<&str>>() {
        for row in found.jurisdiction.tables.freight_of(name) {
            let step = &row.rule;
            let price = ("price", step.price, &step.cells[0]);
            let extra = step.extra_per_kg;
            let extra = extra.map(|figure| ("extra_per_kg", figure, &step.cells[1]));
            for (column, figure, place) in std::iter::once(price).chain(extra) {
                let told = |expected: &str| {
                    Diagnostic::error(format!("`{column}` is `{figure}`: {expected}"))
                        .at(place.clone())
                };
                found.amount(Some(figure), step.currency, "the step", told);
            }
        }
    }
}

fn flat(freight: &Freight) -> Option<Dec> {
    if let Freight::Amount(amount) = freight {
        Some(*amount)
    } else {
        None
    }
}

fn insured(insurance: Option<Insurance>) -> Option<Dec> {
    if let Some(Insurance::Amount(amount)) = insurance {
        Some(amount)
    } else {
        None
    }
}

struct Large<'a, 't> {
    jurisdiction: &'a Jurisdiction<'t>,
    most: i64,
    /// The rates of the day that were asked for before.
    rates: BTreeMap<Currency, Option<Rate>>,
    problems: &'a mut Problems,
}

impl Large<'_, '_> {
    fn money(&mut self, cell: &Cell<'_>, amount: Option<Dec>, currency: Currency) {
        self.amount(amount, currency, "the row", |expected| cell.error(expected));
    }

    fn amount(
        &mut self,
        amount: Option<Dec>,
        currency: Currency,
        of: &str,
        told: impl Fn(&str) -> Diagnostic,
    ) {
        let Some(amount) = amount else { return };
        let own = self.jurisdiction.currency();
        let most = Dec::new(self.most, own.digits() + FINER);
        let jurisdiction = self.jurisdiction;
        let rate = *self
            .rates
            .entry(currency)
            .or_insert_with(|| jurisdiction.market(currency, jurisdiction.ask.date).ok());
        // without a rate nothing is calculated, and that is said where the rate is asked for
        let Some(rate) = rate else { return };
        let here = rate.convert(amount.abs()).ok();
        if here.is_some_and(|here| here <= most) {
            return;
        }
        let limit = limit(most, own, currency, rate);
        let reckoned = here.is_some_and(|here| here <= Dec::new(MONEY, own.digits() + FINER));
        let why = if reckoned {
            "`plan` takes no more"
        } else {
            "a figure this large is not meant"
        };
        self.problems.push(told(&format!(
            "expected no more than {limit} for {of}: {why}"
        )));
    }

    fn mass(&mut self, cell: &Cell<'_>, mass: Option<Grams>) {
        if mass.is_some_and(|mass| mass.0 > Dec::from(MASS)) {
            let most = Dec::from(MASS).grouped(0);
            self.problems.push(cell.error(format!(
                "expected no more than {most} g for the row: a figure this large is not meant"
            )));
        }
    }
}

/// A limit in whole units of the cell's money, and where that is another, in the destination's too.
fn limit(most: Dec, own: Currency, currency: Currency, rate: Rate) -> String {
    let here = format!("{} {own}", most.grouped(0));
    let there = rate.back(most).ok().filter(|_| currency != own);
    there.map_or(here.clone(), |there| {
        format!(
            "{} {currency} ({here})",
            there.round_to(0, Mode::Floor).grouped(0)
        )
    })
}
