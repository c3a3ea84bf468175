//! The parts, grouped and summed as on the screen, each with its mass, a link to how its parcel's amounts came about, and its row
//! of the book in the margin.

use std::collections::BTreeMap;

use maud::{Markup, html};

use super::sections::{dash, head, is_zero, trail_id};
use crate::report::gallery::Showing;
use crate::report::parcel_table::parcel_name;
use crate::report::part_table::{group_name, group_of};
use crate::report::plain::row_place;
use crate::report::redact::Figures;
use crate::report::shown::{ShownHeld, ShownLanded};
use crate::units::{Grams, Overflow, ShownMoney};

/// One row of the table.
struct Row {
    /// Where it stands in the book.
    at: String,
    name: String,
    place: String,
    /// The number of its parcel, and what that is called.
    parcel: (Option<usize>, String),
    price: Option<ShownMoney>,
    lands_at: Option<ShownMoney>,
    mass: Option<Grams>,
}

impl Row {
    /// What comes on top of its price, where both are known.
    fn on_top(&self) -> Result<Option<ShownMoney>, Overflow> {
        Ok(match (self.lands_at, self.price) {
            (Some(sum), Some(price)) => Some(sum.minus(price)?),
            _ => None,
        })
    }
}

/// The table.
pub(super) fn parts(
    showing: &Showing<'_>,
    landed: &ShownLanded<'_>,
    figures: &Figures,
) -> Result<Markup, Overflow> {
    let groups = groups(showing, landed)?;
    // where prices are hidden, what a part lands at is told once: without its price, what comes on top, and sums of several
    let open = figures.hidden.is_none();
    let mut bodies = Vec::new();
    for (group, rows) in &groups {
        bodies.push(body(group_name(*group), rows, figures)?);
    }
    let all = Sums::of(groups.values().flatten())?;
    Ok(html! {
        div class="scroll" tabindex="0" role="region" aria-label="By part" {
            table class="parts" {
                thead { tr {
                    th class="where" scope="col" { "row" }
                    (head("part", false))
                    (head("landed cost", true))
                    @if open { (head("price", true)) (head("on top", true)) (head("weight, g", true)) }
                    (head("place", false))
                    (head("parcel", false))
                } }
                @for body in &bodies { (body) }
                @if open { tfoot { tr { td class="where" {} th scope="row" { "Total" } (all.cells(figures)) td {} td {} } } }
            }
        }
    })
}

/// The rows by their group, the dearest first.
fn groups(
    showing: &Showing<'_>,
    landed: &ShownLanded<'_>,
) -> Result<BTreeMap<usize, Vec<Row>>, Overflow> {
    let mut groups: BTreeMap<usize, Vec<Row>> = BTreeMap::new();
    // tools and shop work are on no bike
    let mass = |row: &str, places: &[String]| {
        let on_bike = |place: &String| {
            let place = showing.jurisdiction.place(place);
            place.is_some_and(|place| !place.is_workshop())
        };
        let known = showing.more.masses.get(row).copied();
        known.filter(|_| places.iter().any(on_bike))
    };
    for (at, bill) in landed.bills.iter().enumerate() {
        for line in &bill.lines {
            let home = line.home;
            let row = Row {
                at: home.row.clone(),
                name: named(&home.part, home.quantity),
                place: home.places.join(" + "),
                parcel: (Some(at), parcel_name(bill.home).to_owned()),
                price: Some(line.amounts.net_goods()?),
                lands_at: Some(line.amounts.landed()?),
                mass: mass(&home.row, &home.places),
            };
            groups
                .entry(group_of(&home.places, showing.jurisdiction))
                .or_default()
                .push(row);
        }
    }
    for held in &landed.held {
        let row = held_row(held, mass(&held.home.row, &held.home.places));
        groups
            .entry(group_of(&held.home.places, showing.jurisdiction))
            .or_default()
            .push(row);
    }
    for one in &showing.more.bundled {
        let row = Row {
            at: one.at.clone(),
            name: named(&one.part, one.quantity),
            place: one.places.join(" + "),
            parcel: (None, format!("with {}", one.of)),
            price: None,
            lands_at: Some(ShownMoney::ZERO),
            mass: mass(&one.at, &one.places),
        };
        groups
            .entry(group_of(&one.places, showing.jurisdiction))
            .or_default()
            .push(row);
    }
    for rows in groups.values_mut() {
        rows.sort_by(|a, b| {
            b.lands_at
                .cmp(&a.lands_at)
                .then_with(|| a.name.cmp(&b.name))
        });
    }
    Ok(groups)
}

fn held_row(held: &ShownHeld<'_>, mass: Option<Grams>) -> Row {
    let origin = if held.home.given { "given" } else { "in hand" };
    Row {
        at: held.home.row.clone(),
        name: named(&held.home.part, held.home.quantity),
        place: held.home.places.join(" + "),
        parcel: (None, origin.to_owned()),
        // what was paid is all there is, so that the columns add across
        price: held.paid,
        lands_at: held.paid,
        mass,
    }
}

fn named(part: &str, quantity: u32) -> String {
    if quantity > 1 {
        format!("{part} × {quantity}")
    } else {
        part.to_owned()
    }
}

/// What some rows come to together.
struct Sums {
    lands_at: ShownMoney,
    price: ShownMoney,
    on_top: ShownMoney,
    mass: Grams,
}

impl Sums {
    fn of<'a>(rows: impl Iterator<Item = &'a Row>) -> Result<Sums, Overflow> {
        let mut sums = Sums {
            lands_at: ShownMoney::ZERO,
            price: ShownMoney::ZERO,
            on_top: ShownMoney::ZERO,
            mass: Grams::ZERO,
        };
        for row in rows {
            sums.lands_at = sums
                .lands_at
                .plus(row.lands_at.unwrap_or(ShownMoney::ZERO))?;
            sums.price = sums.price.plus(row.price.unwrap_or(ShownMoney::ZERO))?;
            sums.on_top = sums
                .on_top
                .plus(row.on_top()?.unwrap_or(ShownMoney::ZERO))?;
            sums.mass = sums.mass.plus(row.mass.unwrap_or(Grams::ZERO))?;
        }
        Ok(sums)
    }

    /// Landed cost, price, what comes on top, and mass.
    fn cells(&self, figures: &Figures) -> Markup {
        html! {
            td class="n" { (figures.amount(self.lands_at)) }
            (amount(Some(self.price), figures)) (amount(Some(self.on_top), figures))
            @if self.mass.0.is_positive() { td class="n" { (self.mass.0.grouped(0)) } } @else { (dash()) }
        }
    }
}

/// One group: its heading with its sums, then its rows.
fn body(name: &str, rows: &[Row], figures: &Figures) -> Result<Markup, Overflow> {
    let open = figures.hidden.is_none();
    let sums = Sums::of(rows.iter())?;
    Ok(html! {
        tbody {
            tr class="across" {
                td class="where" {}
                th scope="rowgroup" { (name) }
                @if open { (sums.cells(figures)) } @else { td {} }
                td {} td {}
            }
            @for row in rows { (one(row, figures)?) }
        }
    })
}

fn one(row: &Row, figures: &Figures) -> Result<Markup, Overflow> {
    let open = figures.hidden.is_none();
    let on_top = row.on_top()?;
    Ok(html! {
        tr {
            td class="where" title=(row_place(&row.at)) { (line_of(&row.at)) }
            td class="name" { (row.name) }
            @match row.lands_at.map(|sum| figures.amount(sum)) {
                None => td class="n sum" { "not known" },
                Some(text) if is_zero(&text) => (dash()),
                Some(text) => td class="n sum" { (text) },
            }
            @if open {
                (amount(row.price, figures)) (amount(on_top, figures))
                @match row.mass { Some(mass) => td class="n" { (mass.grouped()) }, None => (dash()) }
            }
            td class="name" { (row.place) }
            td class="name" { @match (row.parcel.0.filter(|_| open), &row.parcel.1) {
                (Some(at), parcel) => a href=(format!("#{}", trail_id(at))) { (parcel) },
                (None, parcel) => (parcel),
            } }
        }
    })
}

/// A sum, or a dash for nothing.
fn amount(sum: Option<ShownMoney>, figures: &Figures) -> Markup {
    match sum.map(|sum| figures.amount(sum)) {
        Some(text) if !is_zero(&text) => html! { td class="n" { (text) } },
        _ => dash(),
    }
}

/// `7` of `examples/first-build/parts.csv:7`, and of `book.xlsx, sheet parts, row 7`.
fn line_of(place: &str) -> &str {
    place.rsplit([':', ' ']).next().unwrap_or(place)
}
