//! The rows of one seller: which of them answers for it where they say different things, and which of them is wrong.

use std::cmp::Reverse;
use std::collections::BTreeMap;

use super::read::{amount, whole, yes_no};
use super::terms::{
    CHANNELS, Freight, HandlingFee, OWN, SENDERS, freight, included, insurance, terms,
};
use crate::text::words::{self, one_of};
use crate::text::{Cell, Problems, Spot};
use crate::units::number::{self, Style};
use crate::units::{Country, Currency};

/// The cells of one seller, wherever they stand.
#[derive(Default)]
pub(super) struct Cells {
    pub(super) own: Option<Spot>,
    pub(super) rows: Vec<Spot>,
    /// Where the answer to a column stands, if that is not the first row with something in it.
    pub(super) elsewhere: Vec<(&'static str, Spot)>,
}

impl Cells {
    /// The cell that answers for the seller. A first cell that cannot be read is looked at too, so that it is said what is wrong with
    /// it.
    pub(super) fn cell(&self, column: &'static str) -> Option<Cell<'_>> {
        self.row_with(column).map(|spot| spot.cell(column))
    }

    /// What a column says, where any row says it.
    pub(super) fn read<'a, T>(
        &'a self,
        column: &'static str,
        problems: &mut Problems,
        reader: impl FnOnce(&'a str) -> Result<T, String>,
    ) -> Option<T> {
        self.cell(column)?.needed(problems, reader)
    }

    /// Its row.
    pub(super) fn row_with(&self, column: &'static str) -> Option<&Spot> {
        let leading = self.first_with(column)?;
        if can_be_read(column, &leading.cell(column), self.currency()) {
            Some(self.answering(column, leading))
        } else {
            Some(leading)
        }
    }

    /// The first row with something in a column.
    fn first_with(&self, column: &'static str) -> Option<&Spot> {
        self.own
            .iter()
            .chain(&self.rows)
            .find(|spot| !spot.cell(column).is_empty())
    }

    /// The row against which the others are held.
    fn answering<'a>(&'a self, column: &'static str, leading: &'a Spot) -> &'a Spot {
        self.elsewhere
            .iter()
            .find(|(other, _)| *other == column)
            .map_or(leading, |(_, spot)| spot)
    }

    /// The seller's currency, so far as it can be told.
    fn currency(&self) -> Option<Currency> {
        let told = self
            .first_with("currency")
            .map(|leading| self.answering("currency", leading));
        told.and_then(|spot| Currency::parse(spot.cell("currency").text()))
            .or_else(|| self.sign_of_prices())
    }

    /// Finds the answer where rows differ: what the seller's own table says, else what most rows say, so that one wrong cell is one
    /// error wherever it stands. Of as many, an amount goes before a name, and the first before later ones.
    pub(super) fn settle(&mut self) {
        for column in OWN {
            let Some(leading) = self.first_with(column).map(|spot| spot.cell(column)) else {
                continue;
            };
            if self
                .rows
                .iter()
                .all(|row| row.cell(column).is_empty() || row.cell(column).text() == leading.text())
            {
                continue;
            }
            let currency = self.currency();
            let own = self
                .own
                .as_ref()
                .filter(|spot| !spot.cell(column).is_empty());
            if own.is_some_and(|spot| can_be_read(column, &spot.cell(column), currency)) {
                continue;
            }
            let mut said: BTreeMap<String, (usize, usize)> = BTreeMap::new();
            for (at, row) in self.rows.iter().enumerate() {
                let cell = row.cell(column);
                if !cell.is_empty() && can_be_read(column, &cell, currency) {
                    said.entry(cell.text().to_owned()).or_insert((0, at)).0 += 1;
                }
            }
            let named = |text: &str| {
                column == "freight" && text.starts_with(|c: char| c.is_ascii_lowercase())
            };
            let most = said
                .iter()
                .max_by_key(|(text, (count, at))| (*count, !named(text), Reverse(*at)));
            let row = most.and_then(|(_, (_, at))| self.rows.get(*at)).cloned();
            self.elsewhere.extend(row.map(|row| (column, row)));
        }
    }

    pub(super) fn first(&self) -> Option<&Spot> {
        self.own.as_ref().or_else(|| self.rows.first())
    }

    /// Rows of one seller that say different things. They are held against the one that answers for it; where the first of all cannot
    /// be read, what is wrong with it has been said.
    pub(super) fn disagreements(&self, name: &str, problems: &mut Problems) {
        let currency = self.currency();
        for column in OWN {
            let Some(leading) = self.first_with(column) else {
                continue;
            };
            let first = self.answering(column, leading).cell(column);
            let leading = leading.cell(column);
            let unread = !can_be_read(column, &leading, currency);
            let differs = |cell: &Cell<'_>| {
                !cell.is_empty()
                    && cell.text() != first.text()
                    && !same_thing(column, cell.text(), first.text())
            };
            for row in &self.rows {
                let cell = row.cell(column);
                if differs(&cell) && !(unread && cell.place() == leading.place()) {
                    let what = format!(
                        "expected {} as at {}: both rows are of {}",
                        words::quoted(first.text()),
                        first.place(),
                        words::quoted(name)
                    );
                    problems.push(
                        cell.error(what)
                            .help("one seller has one answer: give other sellers other names"),
                    );
                }
            }
        }
    }

    /// Where no column gives the currency, a sign in a price that stands for one currency does.
    pub(super) fn sign_of_prices(&self) -> Option<Currency> {
        self.rows.iter().find_map(|row| {
            let price = row.cell("price");
            match number::money(price.some()?, price.style())
                .ok()?
                .1
                .as_slice()
            {
                [one] => Some(*one),
                _ => None,
            }
        })
    }
}

/// Whether a cell says something that its column may hold.
fn can_be_read(column: &str, cell: &Cell<'_>, currency: Option<Currency>) -> bool {
    let (text, style) = (cell.text(), cell.style());
    match column {
        "freight" => !matches!(
            freight(Some(*cell), currency, &mut Problems::new()),
            Freight::Unknown
        ),
        "dispatch" => Country::parse(text).is_some(),
        "currency" => Currency::parse(text).is_some(),
        "sender" => one_of(&SENDERS, text).is_ok(),
        "channel" => one_of(&CHANNELS, text).is_ok(),
        "collects_tax" => yes_no(text).is_ok(),
        "terms" => terms(text).is_ok(),
        "prices_include" => included(text, style).is_ok(),
        "handling" => HandlingFee::parse(text, style).is_ok(),
        "transit_days" => whole(text, 0, 400).is_ok(),
        "free_freight_over" | "return_freight" => {
            amount(cell, currency, &mut Problems::new()).is_some()
        }
        "insurance" => insurance(cell, currency, &mut Problems::new()).is_some(),
        _ => true,
    }
}

/// Countries and currencies may be written in several ways.
fn same_thing(column: &str, one: &str, other: &str) -> bool {
    match column {
        "dispatch" => alike(Country::parse(one), Country::parse(other)),
        "currency" => alike(Currency::parse(one), Currency::parse(other)),
        _ => {
            let read = |text: &str| number::money(text, Style::Point).ok();
            alike(read(one), read(other))
        }
    }
}

/// Whether both can be read, as the same.
fn alike<T: PartialEq>(one: Option<T>, other: Option<T>) -> bool {
    one.is_some() && one == other
}
