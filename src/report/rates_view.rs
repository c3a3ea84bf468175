//! `rates`: the rows in force for a date and destination, with source, age and mark; replaced rows struck through.

use serde_json::Value;

use super::view::{Cell, Grid, View};
use crate::landed::{Ask, Desk};
use crate::tables::{Dated, Rule, Stamp};
use crate::units::Date;

/// One row as `rates` shows it.
struct Shown {
    table: &'static str,
    name: String,
    says: String,
    stamp: Stamp,
    replaced: bool,
}

/// The rows in force as a view.
pub fn rates_view(desk: &Desk<'_>, ask: &Ask) -> View {
    let mut view = View::default();
    view.say(format!("Rules for {} ({}) on {}.", ask.to.name(), ask.to, ask.date));
    let mut grid = Grid::new("rates", &["rule", "says", "in force", "mark", "read", "row"]);
    let mut table = "";
    for row in rows(desk, ask.date) {
        if row.table != table {
            table = row.table;
            grid.rows.push(vec![Cell::text(table)]);
        }
        let name = format!("  {}", row.name);
        let says = if row.replaced { Cell::NotDue(row.says) } else { Cell::text(row.says) };
        let mark = format!("{}, {}", row.stamp.certainty, row.stamp.evidence);
        let read = row.stamp.checked.map(|d| d.to_string()).unwrap_or_default();
        let cells = [row.stamp.span.to_string(), mark, read, row.stamp.row.to_string()];
        grid.rows.push([Cell::text(name), says].into_iter().chain(cells.into_iter().map(Cell::Text)).collect());
    }
    view.table(grid);
    view.say(exchange_line(desk, ask.date));
    view
}

fn exchange_line(desk: &Desk<'_>, day: Date) -> String {
    match desk.tables.exchange.covered(crate::units::Currency::GBP) {
        Some((first, last)) => {
            format!("Market rates built in: European Central Bank reference rates, {first} to {last}; the last on or before {day} serves.")
        }
        None => "No market rates are built in.".to_owned(),
    }
}

/// The same as JSON.
pub fn rates_json(desk: &Desk<'_>, ask: &Ask) -> Value {
    let rows: Vec<Value> = rows(desk, ask.date)
        .into_iter()
        .map(|r| {
            serde_json::json!({
                "table": r.table, "rule": r.name, "says": r.says, "valid_from": r.stamp.span.from.map(|d| d.to_string()),
                "valid_to": r.stamp.span.to.map(|d| d.to_string()), "certainty": r.stamp.certainty.to_string(),
                "evidence": r.stamp.evidence.to_string(), "checked": r.stamp.checked.map(|d| d.to_string()),
                "source": r.stamp.source.to_string(), "row": r.stamp.row.to_string(), "replaced": r.replaced,
            })
        })
        .collect();
    serde_json::json!({"format": "landwaiter.rates/1", "destination": ask.to.to_string(), "date": ask.date.to_string(), "rows": rows})
}

fn rows(desk: &Desk<'_>, day: Date) -> Vec<Shown> {
    let law = &desk.law;
    let mut found = Vec::new();
    add("charges", &law.charges, &law.replaced.charges, day, &mut found, |c| {
        let of = c.of.as_ref().map(|s| format!(" of {s}")).unwrap_or_default();
        let percent = c.percent.map(|p| format!("{p}{of}")).or_else(|| c.rate_from.as_ref().map(|r| format!("{r:?}{of}")));
        let flat = c.flat.map(|f| format!("{f}"));
        let when = if c.when.is_always() { String::new() } else { format!(" when {}", c.when) };
        let what = [percent, flat].into_iter().flatten().collect::<Vec<_>>().join(" + ");
        (c.id.clone(), format!("{}: {}{when}", c.kind.name(), if what.is_empty() { of } else { what }))
    });
    add("reliefs", &law.reliefs, &law.replaced.reliefs, day, &mut found, |r| {
        let when = if r.when.is_always() { String::new() } else { format!(" when {}", r.when) };
        (r.id.clone(), format!("{} {} {} {}{when}", r.tests, r.op, r.amount, r.currency))
    });
    add("tariff", &law.tariff, &law.replaced.tariff, day, &mut found, |t| {
        let when = if t.when.is_always() { String::new() } else { format!(" when {}", t.when) };
        let percent = t.percent.map(|p| p.to_string());
        let kilo = t.per_kg.map(|a| format!("{a} a kg"));
        let piece = t.per_piece.map(|a| format!("{a} a piece"));
        let rate = [percent, kilo, piece].into_iter().flatten().collect::<Vec<_>>().join(" + ");
        (format!("{} {} {}", t.layer, t.commodity, t.origin), format!("{rate}{when}"))
    });
    add("taxes", &law.taxes, &law.replaced.taxes, day, &mut found, |t| {
        (
            format!(
                "{} {}{} {}",
                t.tax,
                t.country,
                if t.region.is_empty() { String::new() } else { format!("-{}", t.region) },
                t.commodity
            ),
            t.percent.to_string(),
        )
    });
    add("codes", &law.codes, &law.replaced.codes, day, &mut found, |c| {
        let when = if c.when.is_always() { String::new() } else { format!(" when {}", c.when) };
        (c.place.clone(), format!("{} {}{when}", c.commodity, c.text))
    });
    add("assemblies", &law.assemblies, &law.replaced.assemblies, day, &mut found, |a| {
        (a.id.clone(), format!("{} with {} others is {}", a.needs.join(" + "), a.any, a.commodity))
    });
    found
}

fn add<R: Rule>(
    table: &'static str,
    rows: &[Dated<R>],
    replaced: &[Dated<R>],
    day: Date,
    found: &mut Vec<Shown>,
    say: impl Fn(&R) -> (String, String),
) {
    let both = rows.iter().map(|r| (r, false)).chain(replaced.iter().map(|r| (r, true)));
    for (row, replaced) in both.filter(|(row, _)| row.stamp.span.holds(day) || !row.stamp.counts()) {
        let (name, says) = say(&row.rule);
        found.push(Shown { table, name, says, stamp: row.stamp.clone(), replaced });
    }
}

/// Which tables a result was reckoned by: how many rows in force, how they are known, and how old the exchange is.
pub fn tables_json(desk: &Desk<'_>, ask: &Ask) -> Value {
    let rows = rows(desk, ask.date);
    let counting = || rows.iter().filter(|r| r.stamp.in_force(ask.date));
    let recalled = counting().filter(|r| r.stamp.evidence == crate::tables::Evidence::Recalled).count();
    let oldest = counting().filter_map(|r| r.stamp.checked).min();
    let exchange = desk.tables.exchange.covered(crate::units::Currency::GBP).map(|(_, last)| last.to_string());
    serde_json::json!({
        "in_force": counting().count(), "recalled": recalled, "oldest_checked": oldest.map(|d| d.to_string()), "exchange_to": exchange,
    })
}
