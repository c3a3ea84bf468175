//! `rates`: the rows in force for a date and destination, with source, age and mark; replaced rows struck through.

use serde_json::Value;

use super::view::{Cell, Grid, View};
use crate::landed::{Ask, Desk};
use crate::tables::{Charge, Collect, Dated, Drop, Relief, Rule, Stamp, When};
use crate::text::words::list;
use crate::units::{Date, Dec};

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
    add("charges", &law.charges, &law.replaced.charges, day, &mut found, |c| (c.id.clone(), charge_words(c)));
    add("reliefs", &law.reliefs, &law.replaced.reliefs, day, &mut found, |r| {
        (r.id.clone(), format!("where {} {} {} {}{}: {}", r.tests, r.op, r.amount, r.currency, when_words(&r.when), relief_words(r)))
    });
    add("tariff", &law.tariff, &law.replaced.tariff, day, &mut found, |t| {
        let percent = t.percent.map(|p| p.to_string());
        let kilo = t.per_kg.map(|a| format!("{a} a kg"));
        let piece = t.per_piece.map(|a| format!("{a} a piece"));
        let rate = [percent, kilo, piece].into_iter().flatten().collect::<Vec<_>>().join(" + ");
        (format!("{} {} {}", t.layer, t.commodity, t.origin), format!("{rate}{}", when_words(&t.when)))
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
        (c.place.clone(), format!("{} {}{}", c.commodity, c.text, when_words(&c.when)))
    });
    add("assemblies", &law.assemblies, &law.replaced.assemblies, day, &mut found, |a| {
        (a.id.clone(), format!("{} with {} others is {}", a.needs.join(" + "), a.any, a.commodity))
    });
    found
}

fn when_words(when: &When) -> String {
    if when.is_always() { String::new() } else { format!(" when {when}") }
}

/// What a charge is taken of, with its least and its most.
fn charge_words(c: &Charge) -> String {
    let of = c.of.as_ref().map(|sum| format!("of {sum}"));
    let rate = c.percent.map(|p| p.to_string()).or_else(|| c.rate_from.as_ref().map(ToString::to_string));
    let share = [rate, of].into_iter().flatten().collect::<Vec<_>>().join(" ");
    let money = |amount: Dec| c.currency.map_or(amount.to_string(), |currency| format!("{} {currency}", amount.fixed(currency.digits())));
    let flat = c.flat.map(money);
    let what = [Some(share).filter(|s| !s.is_empty()), flat].into_iter().flatten().collect::<Vec<_>>().join(" + ");
    let bound = |word: &str, amount: Option<Dec>| amount.map(|a| format!(", {word} {}", money(a))).unwrap_or_default();
    format!("{}: {what}{}{}{}", c.kind.name(), bound("at least", c.min), bound("at most", c.max), when_words(&c.when))
}

/// What a relief does where it holds.
fn relief_words(r: &Relief) -> String {
    let gone = |drop: &Drop| match drop {
        Drop::Kind(kind) => kind.name().to_owned(),
        Drop::Charge(id) => format!("`{id}`"),
    };
    let gone: Vec<String> = r.drops.iter().map(gone).collect();
    let dropped = if gone.is_empty() { None } else { Some(format!("no {}", list(&gone, "and"))) };
    let taken = r.collect.map(|collect| match collect {
        Collect::AtSale => "tax is taken at the sale",
        Collect::AtBorder => "tax is taken at the border",
        Collect::Nowhere => "no tax is taken",
    });
    let effects: Vec<String> = dropped.into_iter().chain(taken.map(str::to_owned)).collect();
    if effects.is_empty() { "nothing".to_owned() } else { effects.join(", ") }
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
