//! The unknowns of a book: as its own rows say, else the usual ranges, else how exchange moved before.

use crate::book::{About, Book, Figure, Unknown};
use crate::estimate::{Shape, Spread, ThreePoint, moves};
use crate::landed::{Bill, Change, ConsignmentState, Jurisdiction, WhatIf};
use crate::text::{Diagnostic, Problems};
use crate::units::number::Style;
use crate::units::{Currency, Dec, Overflow};

/// Where a range comes from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Range {
    /// A row of the book.
    Book(String),
    /// The usual ranges: the row, and what it says.
    Usual(String, String),
    /// The moves of an exchange rate: over how many days of publication each was, and how many moves were seen; low and high are
    /// the twentieths at either end.
    Seen(u32, usize),
    /// It is asked for or it is not: the row of the book that tells the chance.
    Either(String),
}

/// One unknown.
#[derive(Debug, Clone)]
pub(crate) struct Driver {
    /// What it is about.
    pub(crate) about: About,
    /// Which one.
    pub(crate) name: String,
    /// The least that is shown.
    pub(crate) low: Dec,
    /// The likely figure.
    pub(crate) likely: Dec,
    /// The most that is shown.
    pub(crate) high: Dec,
    /// Whether the figures are out of a hundred.
    pub(crate) relative: bool,
    /// Where they come from.
    pub(crate) range: Range,
    /// How the chance lies.
    pub(crate) shape: Shape,
    /// How often it happens, for an event.
    pub(crate) chance: Option<Dec>,
    pub(super) spread: Spread,
    pub(super) ends: (Dec, Dec),
    /// The money its figures are in, where they are no parts of a hundred: of an exchange rate the destination's.
    pub(crate) unit: Option<Currency>,
    /// The currency it hangs on.
    pub(super) currency: Option<Currency>,
    /// The rate a figure that stands for itself is held against.
    rate: Dec,
}

impl Driver {
    /// `exchange:USD`.
    pub(crate) fn id(&self) -> String {
        format!("{}:{}", self.about.name(), self.name)
    }

    /// What is in dispute, which is asked for with a chance or is not: what it comes to in the destination's money.
    pub(super) fn disputed(
        chance: Dec,
        amount: Dec,
        counted: bool,
        at: &str,
        money: Currency,
    ) -> Driver {
        let (low, high) = (amount.min(Dec::ZERO), amount.max(Dec::ZERO));
        let likely = if counted { amount } else { Dec::ZERO };
        Driver {
            about: About::Disputed,
            name: String::new(),
            low,
            likely,
            high,
            relative: false,
            range: Range::Either(at.to_owned()),
            shape: Shape::Triangular,
            chance: Some(chance),
            spread: Spread::Points(ThreePoint::constant(likely)),
            ends: (low, high),
            unit: Some(money),
            currency: None,
            rate: Dec::ONE,
        }
    }

    /// Supposes the figure; what the engine does not know of is returned as a sum on top.
    pub(super) fn suppose(&self, x: Dec, what_if: &mut WhatIf) -> Result<Dec, Overflow> {
        let change = if self.relative {
            Change::Times(x.over(Dec::HUNDRED)?.plus(Dec::ONE)?)
        } else {
            Change::To(x)
        };
        match self.about {
            About::Exchange => {
                let factor = match (change, Currency::parse(&self.name)) {
                    (Change::Times(factor), Some(_)) => factor,
                    (Change::To(rate), _) => rate.over(self.rate)?,
                    _ => Dec::ONE,
                };
                what_if
                    .exchange
                    .extend(Currency::parse(&self.name).map(|currency| (currency, factor)));
            }
            About::Freight => {
                what_if.freight.insert(self.name.clone(), change);
            }
            About::Price => {
                let key = match self.name.split_once('\u{1f}') {
                    Some((part, seller)) => (part.to_owned(), seller.to_owned()),
                    None => (String::new(), self.name.clone()),
                };
                what_if.price.insert(key, change);
            }
            About::Mass => {
                what_if.mass.insert(self.name.clone(), change);
            }
            About::Handling | About::Event => return Ok(x),
            About::Charges | About::Remedy | About::Disputed => {}
        }
        Ok(Dec::ZERO)
    }

    /// Whether its figures are sums of the destination's money.
    pub(crate) fn is_home_sum(&self) -> bool {
        matches!(self.about, About::Handling | About::Event | About::Disputed)
    }

    /// Its name as it is shown.
    pub(crate) fn shown(&self) -> &str {
        self.name
            .split_once('\u{1f}')
            .map_or(self.name.as_str(), |(part, _)| part)
    }
}

/// Finds the unknowns of a book for what is still to be ordered or still to come.
pub(super) struct Finder<'a> {
    pub(crate) book: &'a Book,
    pub(crate) jurisdiction: &'a Jurisdiction<'a>,
    /// Days of publication from the quote to the settlement of the card.
    pub(crate) days: u32,
}

impl Finder<'_> {
    /// Under which name something is looked up: the parcel's own, or its seller's where only that has a row.
    fn nearest_name<'b>(&self, about: About, bill: &'b Bill) -> &'b str {
        let of_seller =
            self.own(about, &bill.id).is_none() && self.own(about, &bill.seller).is_some();
        if of_seller { &bill.seller } else { &bill.id }
    }

    /// The unknowns; none at all where the book's own table is there and empty.
    pub(super) fn find(&self, bills: &[Bill]) -> Result<Vec<Driver>, Problems> {
        if self.book.unknowns.as_ref().is_some_and(Vec::is_empty) {
            return Ok(Vec::new());
        }
        let mut found = Vec::new();
        let mut problems = Problems::new();
        let mut keep = |driver: Result<Option<Driver>, Diagnostic>| {
            found.extend(problems.keep(driver).flatten());
        };
        for currency in self.currencies(bills) {
            keep(self.exchange(currency));
        }
        for bill in bills.iter().filter(|bill| self.is_open(bill)) {
            if !bill.seller.is_empty() && bill.known.goods.is_zero() && !found_price(bills, bill) {
                keep(self.ranged(About::Price, &bill.seller, Some(bill.paid_in)));
            }
            if !bill.seller.is_empty()
                && bill.known.freight.is_zero()
                && (bill.amounts.freight.is_positive() || self.told(About::Freight, bill))
            {
                let name = self.nearest_name(About::Freight, bill);
                keep(self.ranged(About::Freight, name, Some(bill.paid_in)));
            }
        }
        for bill in bills.iter().filter(|b| {
            b.kind != ConsignmentState::InHand
                && b.amounts.handling.is_positive()
                && b.known.handling.is_zero()
        }) {
            let name = self.nearest_name(About::Handling, bill);
            keep(self.ranged(About::Handling, name, None));
        }
        for row in self.book.unknowns.iter().flatten() {
            keep(self.single(row, bills));
        }
        let mut seen: Vec<String> = Vec::new();
        found.retain(|driver: &Driver| {
            let new = !seen.contains(&driver.id());
            seen.push(driver.id());
            new
        });
        if problems.refuse() {
            Err(problems)
        } else {
            Ok(found)
        }
    }

    /// Whether its seller is still to be paid.
    fn is_open(&self, bill: &Bill) -> bool {
        bill.kind == ConsignmentState::ToOrder && bill.ordered >= self.jurisdiction.ask.date
    }

    fn told(&self, about: About, bill: &Bill) -> bool {
        self.own(about, &bill.id).is_some() || self.own(about, &bill.seller).is_some()
    }

    /// Foreign currencies that something still hangs on: an order to come, or customs to come.
    fn currencies(&self, bills: &[Bill]) -> Vec<Currency> {
        let today = self.jurisdiction.ask.date;
        let to_come = |b: &&Bill| {
            self.is_open(b) || (b.kind == ConsignmentState::OnOrder && b.arrival >= today)
        };
        let mut found: Vec<Currency> = bills.iter().filter(to_come).map(|b| b.paid_in).collect();
        found.extend(
            self.book
                .unknowns
                .iter()
                .flatten()
                .filter(|u| u.about == About::Exchange)
                .filter_map(|u| Currency::parse(&u.name)),
        );
        found.retain(|currency| *currency != self.jurisdiction.currency());
        found.sort();
        found.dedup();
        found
    }

    /// The book's own row about one thing.
    fn own(&self, about: About, name: &str) -> Option<&Unknown> {
        self.book
            .unknowns
            .iter()
            .flatten()
            .find(|row| row.about == about && row.name == name)
    }

    fn exchange(&self, currency: Currency) -> Result<Option<Driver>, Diagnostic> {
        let name = currency.to_string();
        if self
            .own(About::Exchange, &name)
            .or_else(|| self.own(About::Exchange, ""))
            .is_some()
        {
            return self.ranged(About::Exchange, &name, Some(currency));
        }
        let Some(history) = moves(&self.history(currency)?, self.days as usize) else {
            return self.ranged(About::Exchange, &name, Some(currency));
        };
        let (low, high, ends) = (history.point(5), history.point(95), history.ends());
        let range = Range::Seen(self.days, history.windows());
        let spread = Spread::Seen(history);
        let driver = self.driver(
            About::Exchange,
            &name,
            [low, Dec::ZERO, high],
            range,
            spread,
            Some(currency),
        );
        Ok(Some(Driver {
            ends: (ends.0.min(Dec::ZERO), ends.1.max(Dec::ZERO)),
            ..driver
        }))
    }

    /// The destination's money for one of a currency, on every day both were published up to the day of ordering.
    fn history(&self, currency: Currency) -> Result<Vec<Dec>, Overflow> {
        let tables = &self.jurisdiction.tables.exchange;
        let home = self.jurisdiction.currency();
        let days = |c: Currency| {
            tables
                .history(c)
                .filter(|(day, _)| *day <= self.jurisdiction.ask.date)
                .collect::<Vec<_>>()
        };
        let (of_home, of_foreign) = (days(home), days(currency));
        let rate = |home: Dec, foreign: Dec| home.over(foreign);
        if home == Currency::EUR {
            return of_foreign
                .iter()
                .map(|(_, foreign)| rate(Dec::ONE, *foreign))
                .collect();
        }
        if currency == Currency::EUR {
            return Ok(of_home.into_iter().map(|(_, rate)| rate).collect());
        }
        let at = |day| {
            of_home
                .binary_search_by_key(&day, |(day, _)| *day)
                .ok()
                .and_then(|i| of_home.get(i))
                .map(|(_, rate)| *rate)
        };
        of_foreign
            .iter()
            .filter_map(|(day, foreign)| Some((at(*day)?, *foreign)))
            .map(|(home, foreign)| rate(home, foreign))
            .collect()
    }

    /// An unknown by the book's row for it, the book's row for all of its kind, or the usual range.
    fn ranged(
        &self,
        about: About,
        name: &str,
        currency: Option<Currency>,
    ) -> Result<Option<Driver>, Diagnostic> {
        if let Some(row) = self.own(about, name).or_else(|| self.own(about, "")) {
            let Some(figures) = row.range else {
                return Ok(None);
            };
            let shape = if row.pert {
                Shape::Pert
            } else {
                Shape::Triangular
            };
            return self.of_figures(
                about,
                name,
                figures,
                shape,
                Range::Book(row.at.place().to_string()),
                currency,
            );
        }
        let what = if about == About::Exchange && self.days > 5 {
            "exchange:preorder"
        } else {
            about.name()
        };
        let Some(row) = self.jurisdiction.spread(what) else {
            return Ok(None);
        };
        let Some(texts) = &row.rule.range else {
            return Ok(None);
        };
        let read = |text: &String| {
            Figure::parse(text, Style::Point)
                .map_err(|why| Diagnostic::error(why).at(row.stamp.row.place()))
        };
        let figures = [read(&texts[0])?, read(&texts[1])?, read(&texts[2])?];
        let range = Range::Usual(row.stamp.row.to_string(), row.rule.text.clone());
        self.of_figures(about, name, figures, Shape::Triangular, range, currency)
    }

    /// Rows that are about one part or one event.
    fn single(&self, row: &Unknown, bills: &[Bill]) -> Result<Option<Driver>, Diagnostic> {
        let Some(figures) = row.range else {
            return Ok(None);
        };
        let shape = if row.pert {
            Shape::Pert
        } else {
            Shape::Triangular
        };
        let range = Range::Book(row.at.place().to_string());
        let bill = || {
            bills
                .iter()
                .find(|b| self.is_open(b) && b.lines.iter().any(|line| line.part == row.name))
        };
        match row.about {
            About::Price if self.book.main_row(&row.name).is_some() => {
                let Some(bill) = bill() else { return Ok(None) };
                let name = format!("{}\u{1f}{}", row.name, bill.seller);
                self.of_figures(row.about, &name, figures, shape, range, Some(bill.paid_in))
            }
            About::Mass if !row.name.is_empty() => {
                let currency = bill().map(|b| b.paid_in);
                self.of_figures(row.about, &row.name, figures, shape, range, currency)
            }
            About::Event => {
                let driver = self.of_figures(row.about, &row.name, figures, shape, range, None)?;
                Ok(driver.map(|driver| Driver {
                    chance: row.chance,
                    ..driver
                }))
            }
            _ => Ok(None),
        }
    }

    fn of_figures(
        &self,
        about: About,
        name: &str,
        [low, likely, high]: [Figure; 3],
        shape: Shape,
        range: Range,
        currency: Option<Currency>,
    ) -> Result<Option<Driver>, Diagnostic> {
        let Some(points) = ThreePoint::new(low.value, likely.value, high.value, shape) else {
            return Ok(None);
        };
        let rate = match Currency::parse(name).filter(|_| about == About::Exchange) {
            Some(currency) => self
                .jurisdiction
                .market_rate(currency, self.jurisdiction.ask.date)?
                .rate
                .convert(Dec::ONE)?,
            None => Dec::ONE,
        };
        let driver = self.driver(
            about,
            name,
            [low.value, likely.value, high.value],
            range,
            Spread::Points(points),
            currency,
        );
        Ok(Some(Driver {
            relative: low.relative
                || (low.value.is_zero()
                    && high.value.is_zero()
                    && about != About::Handling
                    && about != About::Event),
            shape,
            rate,
            ..driver
        }))
    }

    fn driver(
        &self,
        about: About,
        name: &str,
        [low, likely, high]: [Dec; 3],
        range: Range,
        spread: Spread,
        currency: Option<Currency>,
    ) -> Driver {
        Driver {
            about,
            name: name.to_owned(),
            low,
            likely,
            high,
            relative: true,
            range,
            shape: Shape::Triangular,
            chance: None,
            spread,
            ends: (low, high),
            unit: match about {
                About::Price | About::Freight => currency,
                About::Exchange | About::Handling | About::Event => {
                    Some(self.jurisdiction.currency())
                }
                _ => None,
            },
            currency: currency.filter(|c| *c != self.jurisdiction.currency()),
            rate: Dec::ONE,
        }
    }
}

/// Whether an earlier bill is of the same seller, whose prices move together.
fn found_price(bills: &[Bill], bill: &Bill) -> bool {
    let first = bills
        .iter()
        .find(|b| b.seller == bill.seller && b.kind == ConsignmentState::ToOrder);
    first.is_some_and(|first| first.id != bill.id)
}
