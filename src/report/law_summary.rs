//! The opening of `rates`: what applies to bicycle goods in words, how sure that is, how old the texts are, and what begins or
//! ends within a year.

use super::law_words::{self, charge, dropped};
use super::plain;
use super::view::{Cell, Grid, View};
use crate::landed::{Ask, Burden, Desk, Gap, Why, burden, gaps, rows_in_force};
use crate::tables::{Charge, Coin, Collect, Dated, Evidence, Kind, Op, Relief, Rule, Stamp, TestPer, When};
use crate::text::words::{count, list};
use crate::units::{Country, Date, Percent};

/// Places that stand for the rest.
const PLACES: [&str; 7] = ["frame", "wheels", "crankset", "handlebar", "saddle", "tyre", "chain"];

/// Countries that parts are often sent from.
const ORIGINS: [&str; 6] = ["CN", "TW", "JP", "DE", "GB", "US"];

/// The summary as a view, without its first line.
pub(super) fn summary(desk: &Desk<'_>, ask: &Ask, view: &mut View) {
    duties(desk, view);
    taxes(desk, ask, view);
    others(desk, ask, view);
    limits(desk, ask, view);
    fees(desk, ask, view);
    let found = gaps(desk, i64::MAX);
    territories(desk, ask, view);
    trust(desk, ask, &found, view);
    changes(&found, ask.date, view);
}

/// What parts bear, by origin and place.
fn duties(desk: &Desk<'_>, view: &mut View) {
    let header: Vec<&str> = ["made in"].into_iter().chain(PLACES).collect();
    let mut grid = Grid::new("duties", &header);
    let mut seen = Marks::default();
    for origin in ORIGINS.iter().filter(|origin| !desk.is_home(origin)) {
        let name = Country::parse(origin).map_or(*origin, Country::name);
        let cells = PLACES.iter().map(|place| Cell::number(seen.cell(&burden(desk, place, origin))));
        grid.rows.push([Cell::text(name)].into_iter().chain(cells).collect());
    }
    view.head("Duty on bicycle parts");
    view.say("In percent of the customs value, of a part of 1,500 EUR that comes by courier from the country in which it was made.");
    view.table(grid);
    view.notes(seen.legend());
}

/// Which marks the table of duties uses.
#[derive(Default)]
struct Marks {
    remedy: bool,
    disputed: bool,
    unknown: bool,
}

impl Marks {
    fn cell(&mut self, burden: &Burden) -> String {
        match burden {
            Burden::Home => "–".to_owned(),
            Burden::Unknown => {
                self.unknown = true;
                "?".to_owned()
            }
            Burden::Bears { duty, remedy, disputed } => {
                self.disputed |= *disputed;
                let star = if *disputed { "*" } else { "" };
                if remedy.0.is_zero() {
                    return format!("{}{star}", figure(*duty));
                }
                self.remedy = true;
                format!("{} + {}{star}", figure(*duty), figure(*remedy))
            }
        }
    }

    fn legend(&self) -> Vec<String> {
        let lines = [
            (self.remedy, "After the `+`: anti-dumping or countervailing duty. An exporter named in the law may bear less."),
            (self.disputed, "`*`: the text and what is done in practice differ, so a part of it may not be asked for."),
            (self.unknown, "`?`: no rate is known. A total that needs it names the gap."),
        ];
        lines.into_iter().filter(|(used, _)| *used).map(|(_, text)| text.to_owned()).collect()
    }
}

fn figure(percent: Percent) -> String {
    percent.0.to_string()
}

fn in_force<'a, R: Rule>(rows: &'a [Dated<R>], ask: &Ask) -> impl Iterator<Item = &'a Dated<R>> {
    let day = ask.date;
    rows.iter().filter(move |row| row.stamp.in_force(day))
}

fn taxes(desk: &Desk<'_>, ask: &Ask, view: &mut View) {
    let here = |region: &str| region.is_empty() || region == desk.region;
    let rows = in_force(&desk.law.taxes, ask).filter(|row| row.rule.country == ask.to.code() && here(&row.rule.region));
    let lines: Vec<String> = rows
        .map(|row| {
            let goods =
                if row.rule.commodity == "*" { String::new() } else { format!(" on goods whose code begins with {}", row.rule.commodity) };
            let region = if row.rule.region.is_empty() { String::new() } else { format!(" in {}-{}", ask.to, row.rule.region) };
            format!("{} {}{goods}{region}", row.rule.tax.to_uppercase(), row.rule.percent)
        })
        .collect();
    if !lines.is_empty() {
        view.head("Tax");
        view.notes(lines);
    }
}

fn limits(desk: &Desk<'_>, ask: &Ask, view: &mut View) {
    let rows = in_force(&desk.law.reliefs, ask).filter(|row| desk.can_hold(&row.rule.when));
    let lines: Vec<String> = rows.map(|row| in_own_money(desk, &limit(&row.rule))).collect();
    if !lines.is_empty() {
        view.head("Limits");
        view.notes(lines);
    }
}

fn fees(desk: &Desk<'_>, ask: &Ask, view: &mut View) {
    let rows = in_force(&desk.law.charges, ask).filter(|row| row.rule.kind == Kind::Fee && desk.can_hold(&row.rule.when));
    let lines: Vec<String> = rows
        .map(|row| {
            let who = if row.rule.carriers { "the carrier" } else { "the authority" };
            let doubt = if row.stamp.disputed() { "; disputed" } else { "" };
            format!("{}{} ({who}, `{}`{doubt})", amount(&row.rule), in_own_money(desk, &only_if(&row.rule.when)), row.rule.id)
        })
        .collect();
    view.head("Fees");
    if lines.is_empty() {
        view.say("No fee of the post or of couriers is in the tables. Give what your carrier asks in the seller's `handling`.");
    }
    view.notes(lines);
}

/// Parts of the country where other rules hold.
fn territories(desk: &Desk<'_>, ask: &Ask, view: &mut View) {
    let here = in_force(&desk.tables.territories, ask).filter(|row| row.rule.country == ask.to && !row.rule.region.is_empty());
    let lines: Vec<String> = here.map(|row| format!("{} ({}-{}): {}", row.rule.name, ask.to, row.rule.region, row.rule.reason)).collect();
    if !lines.is_empty() {
        view.head("Where other rules hold");
        view.notes(lines);
    }
}

/// `Up to 135.00 GBP of the goods' value of a parcel: no duty, if not a gift`.
fn limit(r: &Relief) -> String {
    let bound = match r.op {
        Op::AtMost => "Up to",
        Op::Below => "Below",
        Op::AtLeast => "From",
        Op::Above => "Above",
        Op::Equal => "At",
        Op::Unequal => "Other than",
    };
    let of = match r.per {
        TestPer::Consignment => "a parcel",
        TestPer::Line => "a line",
        TestPer::Piece => "one piece",
    };
    let mut effects: Vec<String> = r.drops.iter().map(|gone| readable(&format!("no {}", dropped(gone)))).collect();
    let untaxed = r.collect == Some(Collect::Nowhere) && !effects.is_empty();
    effects.extend(r.collect.filter(|_| !untaxed).map(|collect| {
        match collect {
            Collect::AtSale => "the seller takes the tax",
            Collect::AtBorder => "the tax is taken at the border",
            Collect::Nowhere => "no tax is taken",
        }
        .to_owned()
    }));
    let sum = readable(&plain::sum(&r.tests));
    format!("{bound} {} of {sum} of {of}: {}{}", law_words::limit(r), list(&effects, "and"), only_if(&r.when))
}

/// What a fee comes to, without how it is rounded.
fn amount(fee: &Charge) -> String {
    let told = charge(fee);
    let parts = told
        .split(", ")
        .filter(|part| !part.starts_with("rounded ") && !part.starts_with("over the parcel") && !part.starts_with("line by line"));
    readable(&parts.collect::<Vec<_>>().join(", "))
}

fn only_if(when: &When) -> String {
    if when.is_always() { String::new() } else { format!(", if {}", readable(&plain::when(when))) }
}

/// An amount in the destination's own money is turned by no rate, and none is said.
fn in_own_money(desk: &Desk<'_>, text: &str) -> String {
    let currency = desk.currency();
    text.replace(&Coin { currency, october: true }.in_words(), currency.code())
}

/// Names of sums in words.
fn readable(text: &str) -> String {
    let names = [
        ("`intrinsic_value`", "the goods' value"),
        ("`customs_value`", "the customs value"),
        ("`tariff_duty`", "duty at the ordinary rate"),
        ("`duty_preference`", "duty at a preferential rate"),
        ("of goods of", "of the goods' price of"),
    ];
    names.iter().fold(text.to_owned(), |text, (name, words)| text.replace(name, words))
}

/// What many rows of one layer say of one day stands once, with how many they are.
fn alike(lines: impl Iterator<Item = String>) -> Vec<String> {
    let mut found: Vec<(String, String, usize)> = Vec::new();
    for line in lines {
        let (name, event) = line.split_once(": ").map_or((line.as_str(), ""), |(name, event)| (name, event));
        let layer = name.split(' ').next().unwrap_or_default();
        match found.iter_mut().find(|(first, other, _)| !event.is_empty() && other == event && first.split(' ').next() == Some(layer)) {
            Some((.., times)) => *times += 1,
            None => found.push((name.to_owned(), event.to_owned(), 1)),
        }
    }
    let told = |(name, event, times): (String, String, usize)| match (event.is_empty(), times) {
        (true, _) => name,
        (false, 1) => format!("{name}: {event}"),
        (false, times) => format!("{name} and {} of its layer: {event}", count(times - 1, "more row", "more rows")),
    };
    found.into_iter().map(told).collect()
}

/// Duties and taxes with a rate or an amount of their own row, which no table of rates shows.
fn others(desk: &Desk<'_>, ask: &Ask, view: &mut View) {
    let of_kind = |c: &Charge| matches!(c.kind, Kind::Duty | Kind::Remedy | Kind::Tax | Kind::SaleTax) && c.rate_from.is_none();
    let rows = in_force(&desk.law.charges, ask).filter(|row| of_kind(&row.rule) && desk.can_hold(&row.rule.when));
    let lines: Vec<String> = rows
        .map(|row| {
            let what = if matches!(row.rule.kind, Kind::Duty | Kind::Remedy) { "duty" } else { "tax" };
            let doubt = if row.stamp.disputed() { "; disputed" } else { "" };
            format!("{}{} ({what}, `{}`{doubt})", amount(&row.rule), in_own_money(desk, &only_if(&row.rule.when)), row.rule.id)
        })
        .collect();
    if !lines.is_empty() {
        view.head("Duty and tax by rows of their own");
        view.notes(lines);
    }
}

/// How sure the rows in force are, how old their texts, and what is missing.
fn trust(desk: &Desk<'_>, ask: &Ask, found: &[Gap], view: &mut View) {
    let rows: Vec<(String, &Stamp)> = rows_in_force(desk, ask.date).collect();
    let known = |evidence: Evidence| rows.iter().filter(|(_, stamp)| stamp.evidence == evidence).count();
    let disputed = rows.iter().filter(|(_, stamp)| stamp.disputed()).count();
    view.head("How sure and how old this is");
    view.say(format!(
        "Of {} in force, {} were read in their source, {} follow from what was read, {} are from memory; disputed: {}.",
        count(rows.len(), "row", "rows"),
        known(Evidence::Read),
        known(Evidence::Inferred),
        known(Evidence::Recalled),
        disputed
    ));
    let mut dated: Vec<(Date, &str)> = rows.iter().filter_map(|(name, stamp)| Some((stamp.dated?, name.as_str()))).collect();
    dated.sort_unstable();
    if let (Some((oldest, name)), Some((middle, _)), Some((newest, _))) = (dated.first(), dated.get(dated.len() / 2), dated.last()) {
        view.say(format!(
            "Their sources are of {oldest} (`{name}`) to {newest}, half of them of {middle} or later. The day is the text's own, not the day it was read."
        ));
    }
    let missing: Vec<String> = found.iter().filter(|gap| gap.why == Why::Missing).map(|gap| gap.what.clone()).collect();
    if !missing.is_empty() {
        view.say(format!("Missing: {}.", missing.join("; ")));
    }
}

fn changes(found: &[Gap], on: Date, view: &mut View) {
    let near = |gap: &&Gap| gap.day.is_none_or(|day| day.days_since(on).abs() <= 366);
    let of = |why: Why| found.iter().filter(move |gap| gap.why == why).filter(near).map(|gap| gap.what.clone());
    let lines: Vec<String> = alike(of(Why::Changing).chain(of(Why::Ended)));
    view.head("What begins or ends within a year");
    if lines.is_empty() {
        view.say("Nothing in the tables.");
    }
    view.notes(lines);
}
