//! Names in the rows of a law: each must be known to its tables, and of a lower order where a sum uses it.

use std::collections::{BTreeMap, BTreeSet};

use super::charge::{Charge, KINDS, Kind};
use super::destination::Destination;
use super::law::Law;
use super::relief::Drop;
use super::stamp::{Dated, File, Provenance, RowRef, Rule};
use super::sum::{PRICE_NAMES, SumExpr};
use super::tariff::RateFrom;
use super::when::{LineFact, Subject, When};
use crate::text::{Diagnostic, Location, Problems, Sheet, words};
use crate::units::Country;

/// Where a law is checked: its destination, and the files its rows came from.
pub(super) struct Ground<'a> {
    pub(super) destination: &'a Destination,
    pub(super) files: &'a [File],
    pub(super) schedules: &'a [&'a str],
    /// Places of every kind of bike; none where no table names any.
    pub(super) places: &'a [&'a str],
    /// Countries and groups of them that `destinations.csv` names.
    pub(super) lands: &'a [&'a str],
}

impl Ground<'_> {
    /// Whether a country is one of ISO 3166-1 or of the tables, or a group of theirs.
    fn knows_land(&self, name: &str) -> bool {
        name == "*" || Country::parse(name).is_some() || self.lands.contains(&name)
    }

    /// A cell of a row, read again from its file, so that a problem can point at it.
    fn cell<R: Rule>(&self, row: &RowRef, column: &'static str) -> Location {
        let Some(file) = self.files.iter().find(|file| *file.path == *row.path) else {
            return row.place();
        };
        let sheet = Sheet::read(&file.path, &file.bytes, &R::COLUMNS, &mut Problems::new());
        let found = sheet.rows().find(|other| other.line() == row.line);
        found.map_or_else(|| row.place(), |found| found.cell(column).place())
    }
}

/// Every name must be known, and one that a sum uses of a lower order than the row that uses it.
pub(super) fn check(law: &Law, ground: &Ground<'_>, problems: &mut Problems) {
    let names = Names::of(law, ground.schedules);
    for row in &law.charges {
        let here = Here {
            order: row.rule.order,
            row,
            names: &names,
            ground,
        };
        row.rule
            .of
            .iter()
            .for_each(|sum| here.sum("of", sum, problems));
        here.when(&row.rule.when, problems);
        if row.rule.kind == Kind::SaleTax {
            here.seller_parts(row.rule.of.as_ref(), problems);
        }
    }
    for row in &law.reliefs {
        let here = Here {
            order: row.rule.order,
            row,
            names: &names,
            ground,
        };
        here.sum("tests", &row.rule.tests, problems);
        here.when(&row.rule.when, problems);
        for gone in &row.rule.drops {
            if let Drop::Charge(id) = gone
                && !names.orders.contains_key(id.as_str())
            {
                problems.push(here.unknown("drops", id));
            }
        }
    }
    for row in &law.tariff {
        let here = Here {
            order: u32::MAX,
            row,
            names: &names,
            ground,
        };
        here.when(&row.rule.when, problems);
        if !ground.knows_land(&row.rule.origin) {
            problems.push(here.nowhere("origin", &row.rule.origin));
        }
    }
    check_rates(law, ground, problems);
}

/// A charge takes its rate from a layer or a tax that has rows, and rows of the user's stand in one that a charge looks in.
fn check_rates(law: &Law, ground: &Ground<'_>, problems: &mut Problems) {
    let country = ground.destination.country.code();
    let here = |when: &When| when.can_hold_at(country, &ground.destination.group);
    let layers: BTreeSet<&str> = law
        .tariff
        .iter()
        .map(|row| row.rule.layer.as_str())
        .collect();
    let taxes: BTreeSet<&str> = law
        .taxes
        .iter()
        .filter(|r| r.rule.country == country)
        .map(|row| row.rule.tax.as_str())
        .collect();
    let owing = owing(law);
    let (mut layers_asked, mut taxes_asked) = (BTreeSet::new(), BTreeSet::new());
    for row in &law.charges {
        let unknown = |what: String, name: &str, known: &BTreeSet<&str>| {
            let unknown =
                Diagnostic::error(what).at(ground.cell::<Charge>(&row.stamp.row, "rate_from"));
            match words::nearest(name, known.iter().copied()) {
                None if !known.is_empty() => {
                    let known: Vec<String> = known.iter().map(|name| words::quoted(name)).collect();
                    unknown.note(format!("known there: {}", words::few(&known)))
                }
                meant => near(unknown, meant),
            }
        };
        match &row.rule.rate_from {
            Some(RateFrom::Tariff(asked)) => {
                layers_asked.extend(asked.iter().map(String::as_str));
                for layer in asked
                    .iter()
                    .filter(|layer| here(&row.rule.when) && !layers.contains(layer.as_str()))
                {
                    // a line that such a layer owes a rate is a gap by name, so that nothing is silent
                    let owed = owing.contains(layer.as_str()) && is_asked_alone(law, layer);
                    if owed && words::nearest(layer, layers.iter().copied()).is_none() {
                        continue;
                    }
                    let what = format!(
                        "`rate_from` names the layer {}: no row of `tariff.csv` is in it",
                        words::quoted(layer)
                    );
                    problems.push(unknown(what, layer, &layers));
                }
            }
            Some(RateFrom::Taxes(tax)) => {
                taxes_asked.insert(tax.as_str());
                if here(&row.rule.when) && !taxes.contains(tax.as_str()) {
                    let what = format!(
                        "`rate_from` names the tax {}: no row of `taxes.csv` gives it for {country}",
                        words::quoted(tax)
                    );
                    problems.push(unknown(what, tax, &taxes));
                }
            }
            None => {}
        }
    }
    let rows = law
        .tariff
        .iter()
        .map(|row| (&row.stamp, row.rule.layer.as_str()));
    unasked(
        rows,
        "layer",
        &layers_asked,
        |row| ground.cell::<super::TariffRow>(row, "layer"),
        problems,
    );
    let rows = law
        .taxes
        .iter()
        .filter(|r| r.rule.country == country)
        .map(|row| (&row.stamp, row.rule.tax.as_str()));
    unasked(
        rows,
        "tax",
        &taxes_asked,
        |row| ground.cell::<super::TaxRow>(row, "tax"),
        problems,
    );
}

/// The layers that owe a rate for every line on some day: those of marked rows, and of the first duty.
fn owing(law: &Law) -> BTreeSet<&str> {
    let marked = law
        .charges
        .iter()
        .filter(|row| row.rule.owes)
        .filter_map(last_layer);
    let first = law
        .charges
        .iter()
        .filter_map(last_layer)
        .min_by_key(|(order, _)| *order);
    marked.chain(first).map(|(_, layer)| layer).collect()
}

/// Whether some charge looks in a layer and no other: one that is only ever asked behind others may be a slip.
fn is_asked_alone(law: &Law, layer: &str) -> bool {
    let alone = |row: &Dated<Charge>| matches!(&row.rule.rate_from, Some(RateFrom::Tariff(asked)) if *asked == [layer]);
    law.charges.iter().any(alone)
}

/// The order of a duty and the last layer it looks in.
fn last_layer(row: &Dated<Charge>) -> Option<(u32, &str)> {
    match &row.rule.rate_from {
        Some(RateFrom::Tariff(layers)) if row.rule.kind == Kind::Duty => {
            layers.last().map(|layer| (row.rule.order, layer.as_str()))
        }
        _ => None,
    }
}

/// Rows of the user's that no charge looks at: an error where the name is nearly one that a charge asks for. The first row of
/// each name is named.
fn unasked<'a>(
    rows: impl Iterator<Item = (&'a Provenance, &'a str)>,
    column: &str,
    asked: &BTreeSet<&'a str>,
    place: impl Fn(&RowRef) -> Location,
    problems: &mut Problems,
) {
    let mut said: BTreeSet<&str> = BTreeSet::new();
    for (stamp, name) in rows.filter(|(stamp, name)| stamp.users && !asked.contains(name)) {
        if !said.insert(name) {
            continue;
        }
        let what = format!(
            "`{column}` is {}: no row of `charges.csv` takes its rate from there, so the row is never used",
            words::quoted(name)
        );
        let meant = words::nearest(name, asked.iter().copied());
        let found = if meant.is_some() {
            Diagnostic::error(what)
        } else {
            Diagnostic::warning(what)
        };
        problems.push(near(found.at(place(&stamp.row)), meant));
    }
}

fn near(problem: Diagnostic, meant: Option<&str>) -> Diagnostic {
    match meant {
        Some(meant) => problem.help(format!("did you mean `{meant}`?")),
        None => problem,
    }
}

/// The names a sum may use, and the order of the rows behind them.
struct Names<'a> {
    orders: BTreeMap<&'a str, Vec<(u32, &'a Provenance)>>,
    schedules: Vec<String>,
}

impl<'a> Names<'a> {
    fn of(law: &'a Law, schedules: &[&str]) -> Names<'a> {
        let mut orders: BTreeMap<&str, Vec<_>> = BTreeMap::new();
        for row in &law.charges {
            orders
                .entry(row.rule.id.as_str())
                .or_default()
                .push((row.rule.order, &row.stamp));
        }
        Names {
            orders,
            schedules: schedules.iter().map(|s| format!("freight:{s}")).collect(),
        }
    }

    fn always(&self, name: &str) -> bool {
        PRICE_NAMES.contains(&name)
            || Kind::named(name).is_some()
            || self.schedules.iter().any(|s| s == name)
    }

    fn all(&self) -> impl Iterator<Item = &str> {
        let always = PRICE_NAMES
            .into_iter()
            .chain(KINDS.iter().map(|(name, _)| *name));
        let schedules = self.schedules.iter().map(String::as_str);
        self.orders.keys().copied().chain(always).chain(schedules)
    }
}

/// A row whose names are being checked.
struct Here<'a, T> {
    order: u32,
    row: &'a Dated<T>,
    names: &'a Names<'a>,
    ground: &'a Ground<'a>,
}

impl<T: Rule> Here<'_, T> {
    fn sum(&self, column: &'static str, sum: &SumExpr, problems: &mut Problems) {
        for name in sum.names().filter(|name| !self.names.always(name)) {
            match self.names.orders.get(name) {
                None => problems.push(self.unknown(column, name)),
                Some(rows) => {
                    let later = rows.iter().find(|(order, s)| {
                        *order >= self.order && s.span.overlaps(&self.row.stamp.span)
                    });
                    if let Some((order, stamp)) = later {
                        let own = self.order;
                        let what = format!(
                            "`{column}` names `{name}`, of order {order}: expected rows of lower order than this one's, {own}"
                        );
                        let note = format!("`{name}` is {}", stamp.row);
                        problems.push(Diagnostic::error(what).at(self.cell(column)).note(note));
                    }
                }
            }
        }
    }

    fn when(&self, when: &When, problems: &mut Problems) {
        for condition in when.conditions() {
            match &condition.subject {
                Subject::Sum(sum) => self.sum("when", sum, problems),
                Subject::Line(LineFact::Place) => self.place(&condition.word, problems),
                subject if subject.is_land() && !self.ground.knows_land(&condition.word) => {
                    problems.push(self.nowhere("when", &condition.word));
                }
                _ => {}
            }
        }
    }

    /// A place that is on no bike would switch the row off unseen.
    fn place(&self, name: &str, problems: &mut Problems) {
        let places = self.ground.places;
        if !places.is_empty() && !places.contains(&name) {
            let what = format!(
                "`when` names the place {}: expected a place of `places.csv`",
                words::quoted(name)
            );
            problems.push(near(
                Diagnostic::error(what).at(self.cell("when")),
                words::nearest(name, places.iter().copied()),
            ));
        }
    }

    /// So would a country that there is not.
    fn nowhere(&self, column: &'static str, name: &str) -> Diagnostic {
        let expected = "expected a country by its code of ISO 3166-1 or its name, or a group that `destinations.csv` names";
        let named = words::quoted(name);
        let what = format!("`{column}` names the country {named}: {expected}");
        let problem = Diagnostic::error(what).at(self.cell(column));
        let known = self.ground.lands.iter().copied();
        near(problem, words::nearest(name, known))
    }

    /// A tax at the sale is calculated in the seller's money, so it can only be of what the seller is paid.
    fn seller_parts(&self, of: Option<&SumExpr>, problems: &mut Problems) {
        let known = ["list", "goods", "freight", "insurance"];
        let mut names = of.into_iter().flat_map(SumExpr::names);
        if let Some(name) = names.find(|name| !known.contains(name)) {
            let what = format!(
                "`of` names `{name}`: expected goods, freight or insurance, which the seller is paid, for a tax at the sale"
            );
            problems.push(Diagnostic::error(what).at(self.cell("of")));
        }
    }

    fn unknown(&self, column: &'static str, name: &str) -> Diagnostic {
        let expected = match name.strip_prefix("freight:") {
            Some(_) => "expected the name of a schedule of `freight.csv` after `freight:`",
            None => "expected the name of a row, a kind or a part of the price",
        };
        let unknown = Diagnostic::error(format!(
            "`{column}` names {}: {expected}",
            words::quoted(name)
        ))
        .at(self.cell(column));
        near(
            unknown,
            words::nearest(name, self.names.all())
                .or_else(|| words::nearest(name, Subject::names())),
        )
    }

    fn cell(&self, column: &'static str) -> Location {
        self.ground.cell::<T>(&self.row.stamp.row, column)
    }
}
