//! `rates`: the rules in force for a date and destination; every row with source, age and mark, replaced rows struck through.

use serde_json::Value;

use super::cautions::LAST;
use super::law_summary::{summary, territories_of};
use super::law_words::with_reading;
use super::plain::{money, rate_by};
use super::view::{Cell, Grid, View};
use crate::landed::{Jurisdiction, Question, rows_in_force};
use crate::tables::{
    Charge, Dated, Drop, Evidence, Provenance, Relief, Rule, TariffRow, Territory, When,
};
use crate::text::words::count;
use crate::units::{Currency, Date};

/// One row as `rates` shows it.
struct Shown {
    table: &'static str,
    name: String,
    says: String,
    stamp: Provenance,
    replaced: bool,
}

/// How much of the rules is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Listing {
    /// What applies to bicycle goods, in words.
    Summary,
    /// That, and every row.
    Rows,
    /// That, and every row with the place in the files where it stands.
    WithPlaces,
    /// Every row alone, with its place.
    Table,
}

/// The rules in force as a view: a summary in words, every row, or both.
pub fn rates_view(jurisdiction: &Jurisdiction<'_>, ask: &Question, listing: Listing) -> View {
    let mut view = View::default();
    answer(jurisdiction, ask, &mut view);
    if listing != Listing::Table {
        summary(jurisdiction, ask, &mut view);
    }
    if listing != Listing::Summary {
        every_row(jurisdiction, ask, listing, &mut view);
    }
    view.say("");
    view.say(exchange_line(jurisdiction, ask.date));
    if listing == Listing::Summary {
        view.say(format!(
            "Next: `landwaiter rates --gaps --to {}` lists the doubtful rows, `--more` all.",
            ask.to
        ));
    } else {
        view.say(
            "Your own fees and shipping tables go in a folder of your own: see rates/README.md.",
        );
    }
    LAST.iter().take(1).for_each(|line| view.say(*line));
    view
}

/// How many rules there are and how far to trust them.
fn answer(jurisdiction: &Jurisdiction<'_>, ask: &Question, view: &mut View) {
    let s = standing(jurisdiction, ask.date);
    let oldest = s
        .oldest_text
        .map(|day| format!("; the oldest text is of {day}"));
    view.answer(format!(
        "Rules for {} ({}) on {}: {} in force{}.",
        ask.to.in_words(),
        ask.to,
        ask.date,
        count(s.in_force, "row", "rows"),
        oldest.unwrap_or_default()
    ));
    if s.disputed + s.recalled > 0 {
        view.say(format!(
            "{} and {} from memory: check those before a large order.",
            count(s.disputed, "is disputed", "are disputed"),
            count(s.recalled, "comes", "come")
        ));
    }
}

fn every_row(jurisdiction: &Jurisdiction<'_>, ask: &Question, listing: Listing, view: &mut View) {
    let stamps: Vec<&Provenance> = rows_in_force(jurisdiction, ask.date)
        .map(|(_, stamp)| stamp)
        .collect();
    let unread = stamps
        .iter()
        .filter(|stamp| stamp.evidence != Evidence::Read)
        .count();
    view.say(format!(
        "For {unread} of {} in force the authority's own text was not read; their marks say so.",
        count(stamps.len(), "row", "rows")
    ));
    let mut grid = Grid::new(
        "rates",
        &["rule", "says", "in force", "mark", "dated", "row", "source"],
    );
    grid.stacked = true;
    let mut table = "";
    for row in rows(jurisdiction, ask) {
        if row.table != table {
            table = row.table;
            grid.rows.push(vec![Cell::text(table)]);
        }
        let name = format!("  {}", row.name);
        let says = if row.replaced {
            Cell::NotDue(row.says)
        } else {
            Cell::text(row.says)
        };
        let text = row
            .stamp
            .dated
            .map(|d| format!("text of {d}"))
            .unwrap_or_default();
        let cells = [
            row.stamp.span.to_string(),
            with_reading(&row.stamp),
            text,
            row.stamp.row.to_string(),
            row.stamp.source.to_string(),
        ];
        grid.rows.push(
            [Cell::text(name), says]
                .into_iter()
                .chain(cells.into_iter().map(Cell::Text))
                .collect(),
        );
    }
    view.table(if listing == Listing::Rows {
        without_places(&grid)
    } else {
        grid
    });
}

/// The same without the places in the files, which only the working shows.
fn without_places(grid: &Grid) -> Grid {
    let place = grid.header.iter().position(|name| name == "row");
    let keep = |at: &usize| Some(*at) != place;
    let mut other = Grid::new(grid.name, &[]);
    other.stacked = grid.stacked;
    let header = grid.header.iter().enumerate();
    other.header = header
        .filter(|(at, _)| keep(at))
        .map(|(_, name)| name.clone())
        .collect();
    other.rows = grid
        .rows
        .iter()
        .map(|row| {
            let cells = row.iter().enumerate();
            cells
                .filter(|(at, _)| keep(at))
                .map(|(_, cell)| cell.clone())
                .collect()
        })
        .collect();
    other
}

fn exchange_line(jurisdiction: &Jurisdiction<'_>, day: Date) -> String {
    match jurisdiction
        .tables
        .exchange
        .covered(crate::units::Currency::GBP)
    {
        Some((first, last)) => format!(
            "Exchange rates: European Central Bank, {first} to {last}, the last used up to {day}; customs' own may differ by 1 to 2 %."
        ),
        None => "No market rates are built in.".to_owned(),
    }
}

/// The same as JSON.
pub(crate) fn rates_json(jurisdiction: &Jurisdiction<'_>, ask: &Question) -> Value {
    let rows: Vec<Value> = rows(jurisdiction, ask)
        .into_iter()
        .map(|r| {
            serde_json::json!({
                "table": r.table, "rule": r.name, "says": r.says, "valid_from": r.stamp.span.from.map(|d| d.to_string()),
                "valid_to": r.stamp.span.to.map(|d| d.to_string()), "certainty": r.stamp.certainty.to_string(), "dispute": r.stamp.dispute_said(),
                "evidence": r.stamp.evidence.to_string(), "dated": r.stamp.dated.map(|d| d.to_string()), "checked": r.stamp.checked.map(|d| d.to_string()),
                "source": r.stamp.source.to_string(), "row": r.stamp.row.to_string(), "replaced": r.replaced,
            })
        })
        .collect();
    serde_json::json!({"format": "landwaiter.rates/1", "destination": ask.to.to_string(), "date": ask.date.to_string(), "rows": rows})
}

fn rows(jurisdiction: &Jurisdiction<'_>, ask: &Question) -> Vec<Shown> {
    let day = ask.date;
    let (law, gone) = (&jurisdiction.law, &jurisdiction.law.replaced);
    let mut found = Vec::new();
    add(
        "charges",
        &law.charges,
        &gone.charges,
        day,
        &mut found,
        |c| {
            jurisdiction
                .can_hold(&c.when)
                .then(|| (c.id.clone(), charge(c)))
        },
    );
    add(
        "reliefs",
        &law.reliefs,
        &gone.reliefs,
        day,
        &mut found,
        |r| {
            jurisdiction
                .can_hold(&r.when)
                .then(|| (r.id.clone(), relief(r)))
        },
    );
    add("tariff", &law.tariff, &gone.tariff, day, &mut found, |t| {
        jurisdiction
            .can_hold(&t.when)
            .then(|| (format!("{} {} {}", t.layer, t.commodity, t.origin), rate(t)))
    });
    add("taxes", &law.taxes, &gone.taxes, day, &mut found, |t| {
        let region = if t.region.is_empty() {
            String::new()
        } else {
            format!("-{}", t.region)
        };
        let name = format!("{} {}{region} {}", t.tax, t.country, t.commodity);
        (t.country == jurisdiction.ask.to.code()).then(|| (name, t.percent.to_string()))
    });
    add("codes", &law.codes, &gone.codes, day, &mut found, |c| {
        jurisdiction.can_hold(&c.when).then(|| {
            (
                c.place.clone(),
                format!("{} {}{}", c.commodity, c.text, when(&c.when)),
            )
        })
    });
    add(
        "assemblies",
        &law.assemblies,
        &gone.assemblies,
        day,
        &mut found,
        |a| {
            Some((
                a.id.clone(),
                format!(
                    "{} with {} others is {}",
                    a.needs.join(" + "),
                    a.any,
                    a.commodity
                ),
            ))
        },
    );
    let territory = |(name, territory, stamp): (String, &Territory, &Provenance)| Shown {
        table: "territories",
        name,
        says: format!("{}: {}", territory.name, territory.reason),
        stamp: stamp.clone(),
        replaced: false,
    };
    found.extend(territories_of(jurisdiction, ask).map(territory));
    found
}

fn when(when: &When) -> String {
    if when.is_always() {
        String::new()
    } else {
        format!(" when {when}")
    }
}

fn charge(c: &Charge) -> String {
    let of =
        c.of.as_ref()
            .map(|s| format!(" of {s}"))
            .unwrap_or_default();
    let percent = c
        .percent
        .map(|p| format!("{p}{of}"))
        .or_else(|| c.rate_from.as_ref().map(|r| format!("{r}{of}")));
    let flat = c.flat.map(|f| money(f, c.currency));
    let what = [percent, flat]
        .into_iter()
        .flatten()
        .collect::<Vec<_>>()
        .join(" + ");
    let what = if what.is_empty() {
        of.trim_start().to_owned()
    } else {
        what
    };
    let least = c
        .min
        .map(|m| format!(", at least {}", money(m, c.currency)))
        .unwrap_or_default();
    let most = c
        .max
        .map(|m| format!(", at most {}", money(m, c.currency)))
        .unwrap_or_default();
    format!("{}: {what}{least}{most}{}", c.kind.name(), when(&c.when))
}

fn relief(r: &Relief) -> String {
    let gone = r.drops.iter().map(|drop| match drop {
        Drop::Kind(kind) => kind.name().to_owned(),
        Drop::Charge(id) => id.clone(),
    });
    let gone: Vec<String> = gone.collect();
    let gone = if gone.is_empty() {
        String::new()
    } else {
        format!(": no {}", gone.join(", "))
    };
    let collect = r
        .collect
        .map(|c| format!("; tax {}", c.name()))
        .unwrap_or_default();
    let amount = r.amount.grouped(r.currency.currency.digits());
    format!(
        "{} {} {amount} {}{gone}{collect}{}",
        r.tests,
        r.op,
        r.currency,
        when(&r.when)
    )
}

fn rate(t: &TariffRow) -> String {
    rate_by(t, "kg") + &when(&t.when)
}

fn add<R: Rule>(
    table: &'static str,
    rows: &[Dated<R>],
    replaced: &[Dated<R>],
    day: Date,
    found: &mut Vec<Shown>,
    say: impl Fn(&R) -> Option<(String, String)>,
) {
    let both = rows
        .iter()
        .map(|r| (r, false))
        .chain(replaced.iter().map(|r| (r, true)));
    for (row, replaced) in both.filter(|(row, _)| row.stamp.span.holds(day) || !row.stamp.counts())
    {
        let Some((name, says)) = say(&row.rule) else {
            continue;
        };
        found.push(Shown {
            table,
            name,
            says,
            stamp: row.stamp.clone(),
            replaced,
        });
    }
}

/// How much of the tables a result rests on, and how old they are.
struct Standing {
    in_force: usize,
    recalled: usize,
    disputed: usize,
    oldest_text: Option<Date>,
    oldest_reading: Option<Date>,
    exchange: Option<Date>,
}

fn standing(jurisdiction: &Jurisdiction<'_>, day: Date) -> Standing {
    let stamps: Vec<&Provenance> = rows_in_force(jurisdiction, day)
        .map(|(_, stamp)| stamp)
        .collect();
    Standing {
        in_force: stamps.len(),
        recalled: stamps
            .iter()
            .filter(|stamp| stamp.evidence == Evidence::Recalled)
            .count(),
        disputed: stamps.iter().filter(|stamp| stamp.disputed()).count(),
        oldest_text: stamps.iter().filter_map(|stamp| stamp.dated).min(),
        oldest_reading: stamps.iter().filter_map(|stamp| stamp.checked).min(),
        exchange: jurisdiction
            .tables
            .exchange
            .covered(Currency::GBP)
            .map(|(_, last)| last),
    }
}

/// Which tables a result was calculated by, as one sentence.
pub(super) fn tables_line(jurisdiction: &Jurisdiction<'_>, ask: &Question) -> String {
    let s = standing(jurisdiction, ask.date);
    let oldest = s
        .oldest_text
        .map(|day| format!(", oldest source of {day}"))
        .unwrap_or_default();
    let exchange = s
        .exchange
        .map(|day| format!(", market rates to {day}"))
        .unwrap_or_default();
    format!(
        "Tables: {} in force, {} from memory, {} disputed{oldest}{exchange}; `landwaiter rates --gaps` lists them.",
        count(s.in_force, "row", "rows"),
        s.recalled,
        s.disputed
    )
}

/// The same as JSON.
pub(crate) fn tables_json(jurisdiction: &Jurisdiction<'_>, ask: &Question) -> Value {
    let s = standing(jurisdiction, ask.date);
    serde_json::json!({
        "in_force": s.in_force, "recalled": s.recalled, "disputed": s.disputed,
        "oldest_dated": s.oldest_text.map(|d| d.to_string()), "oldest_checked": s.oldest_reading.map(|d| d.to_string()), "exchange_to": s.exchange.map(|d| d.to_string()),
    })
}
