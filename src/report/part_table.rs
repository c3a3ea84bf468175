//! The table of the parts: what each costs at the door, under what it is to the bike.

use std::collections::BTreeMap;

use super::parcel_table::parcel_name;
use super::show::Show;
use super::shown::{ShownBill, ShownHeld, ShownLanded, ShownLine};
use super::view::{Cell, Grid};
use crate::landed::Jurisdiction;
use crate::units::{Dec, Overflow, ShownMoney};

/// Parts are headed by what they are to a bike: the assembly of their place, and what it is called.
const ASSEMBLIES: [(&str, &str); 9] = [
    ("carries", "Structure"),
    ("steers", "Steering"),
    ("seats", "Seating"),
    ("drives", "Drive"),
    ("rolls", "Rolling"),
    ("stops", "Braking"),
    ("small parts", "Small parts"),
    ("rider", "Rider"),
    ("workshop", "Workshop"),
];

pub(super) fn by_part(
    landed: &ShownLanded<'_>,
    jurisdiction: &Jurisdiction<'_>,
    show: &Show,
) -> Result<Grid, Overflow> {
    let mut grid = Grid::new("parts", &["Part", "Parcel", "Price", "Added", "Landed"]);
    let mut groups: BTreeMap<usize, Vec<(Dec, Vec<Cell>)>> = BTreeMap::new();
    let group = |places: &[String]| group_of(places, jurisdiction);
    for bill in &landed.bills {
        for line in &bill.lines {
            let row = (line.amounts.landed()?.amount(), part_row(bill, line, show)?);
            groups
                .entry(group(&line.home.places))
                .or_default()
                .push(row);
        }
    }
    for held in &landed.held {
        let paid = held.paid.map_or(Dec::ZERO, ShownMoney::amount);
        let row = (paid, held_row(held, show));
        groups
            .entry(group(&held.home.places))
            .or_default()
            .push(row);
    }
    for (at, mut rows) in groups {
        grid.rows.push(vec![Cell::text(group_name(at))]);
        rows.sort_by(|(a, one), (b, other)| {
            b.cmp(a)
                .then_with(|| one[0].as_str().cmp(other[0].as_str()))
        });
        grid.rows.extend(rows.into_iter().map(|(_, row)| row));
    }
    Ok(grid)
}

/// Which group of parts a place belongs to; groups stand in this order.
pub(super) fn group_of(places: &[String], jurisdiction: &Jurisdiction<'_>) -> usize {
    let place = places.first().and_then(|place| jurisdiction.place(place));
    let assembly = place.map_or("small parts", |place| place.assembly.as_str());
    let known = ASSEMBLIES.iter().position(|(name, _)| *name == assembly);
    known.unwrap_or(ASSEMBLIES.len())
}

/// The heading of a group of parts.
pub(super) fn group_name(group: usize) -> &'static str {
    ASSEMBLIES.get(group).map_or("Other", |(_, name)| name)
}

fn part_row(
    bill: &ShownBill<'_>,
    line: &ShownLine<'_>,
    show: &Show,
) -> Result<Vec<Cell>, Overflow> {
    let price = line.amounts.net_goods()?;
    let landed = line.amounts.landed()?;
    let home = line.home;
    let name = if home.quantity > 1 {
        format!("  {} × {}", home.quantity, home.part)
    } else {
        format!("  {}", home.part)
    };
    let on_top = landed.minus(price)?;
    Ok(vec![
        Cell::text(name),
        Cell::text(parcel_name(bill.home)),
        Cell::number(show.amount(price)),
        Cell::number(show.amount(on_top)),
        Cell::number(show.amount(landed)),
    ])
}

fn held_row(held: &ShownHeld<'_>, show: &Show) -> Vec<Cell> {
    let home = held.home;
    let name = if home.quantity > 1 {
        format!("  {} × {}", home.quantity, home.part)
    } else {
        format!("  {}", home.part)
    };
    let paid = held.paid.map_or(Cell::text("unknown"), |paid| {
        Cell::number(show.amount(paid))
    });
    let where_from = if home.given {
        "given to you"
    } else {
        "already yours"
    };
    vec![
        Cell::text(name),
        Cell::text(where_from),
        Cell::Empty,
        Cell::Empty,
        paid,
    ]
}
