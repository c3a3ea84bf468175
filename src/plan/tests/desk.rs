//! A book's choice by its table of parts alone, and what a choice costs: the chosen rows become the build, and the book is calculated
//! as `cost` calculates it. Nothing here knows how `plan` looks for its answer.

use std::collections::{BTreeMap, BTreeSet};

use crate::landed::{Jurisdiction, Sum, cost_at, lost_apart};
use crate::made::{self, Dice};
use crate::plan::{Choice, Wishes};
use crate::units::{Dec, Grams};

/// The tables of a book as typed, read as a choice.
pub(super) struct Desk<'t> {
    jurisdiction: &'t Jurisdiction<'t>,
    text: Vec<(&'static str, String)>,
    header: csv::StringRecord,
    rows: Vec<csv::StringRecord>,
    seats: Vec<Seat>,
    /// Seats with a choice.
    open: Vec<usize>,
}

/// A place, and the rows that can fill it.
struct Seat {
    /// Whether it may stay empty.
    idle: bool,
    rows: Vec<usize>,
}

/// What `cost` says of a choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Costed {
    pub(super) landed: Dec,
    /// In tenths of a gram.
    pub(super) mass: i64,
    /// Whether anti-dumping or the like is in it.
    pub(super) remedy: bool,
}

/// Grams in tenths.
pub(super) fn tenths(mass: Grams) -> i64 {
    i64::try_from(mass.0.in_units(1).unwrap()).unwrap()
}

/// Rows of which a rival has what stands in its part's own row where it says nothing itself: once it is the build, it must say so.
fn filled(header: &csv::StringRecord, rows: Vec<csv::StringRecord>) -> Vec<csv::StringRecord> {
    let at = |column: &str| header.iter().position(|name| name == column).unwrap();
    let (part, role) = (at("part"), at("role"));
    let main = |name: &str| {
        let mut all = rows.iter();
        all.find(|row| &row[part] == name && &row[role] != "rival")
    };
    let whole = |row: &csv::StringRecord| {
        let own = main(&row[part]).filter(|_| &row[role] == "rival");
        let cells = row.iter().enumerate().map(|(at, cell)| match own {
            Some(own) if cell.is_empty() => &own[at],
            _ => cell,
        });
        cells.collect()
    };
    rows.iter().map(whole).collect()
}

impl<'t> Desk<'t> {
    pub(super) fn lay(
        text: Vec<(&'static str, String)>,
        jurisdiction: &'t Jurisdiction<'t>,
    ) -> Desk<'t> {
        let (_, parts) = text.iter().find(|(name, _)| *name == "parts").unwrap();
        let mut reader = csv::Reader::from_reader(parts.as_bytes());
        let header = reader.headers().unwrap().clone();
        let rows = filled(&header, reader.records().map(Result::unwrap).collect());
        let mut desk = Desk {
            jurisdiction,
            header,
            rows,
            text,
            seats: Vec::new(),
            open: Vec::new(),
        };
        desk.seats = desk.laid();
        let several = |at: &usize| desk.seats[*at].rows.len() > 1;
        desk.open = (0..desk.seats.len()).filter(several).collect();
        desk
    }

    fn cell(&self, row: usize, column: &str) -> &str {
        let at = self.header.iter().position(|name| name == column);
        at.and_then(|at| self.rows[row].get(at)).unwrap_or_default()
    }

    fn places(&self, row: usize) -> impl Iterator<Item = &str> {
        self.cell(row, "place").split(" + ")
    }

    /// The seats that the build fills, and after them those that only another part's need or bundle can fill.
    fn laid(&self) -> Vec<Seat> {
        let mut names: Vec<&str> = Vec::new();
        for role in ["build", "option"] {
            let own = (0..self.rows.len()).filter(|row| self.cell(*row, "role") == role);
            names.extend(own.flat_map(|row| self.places(row)));
            // the first of each name stays, so that the build's own come first
            let mut seen = BTreeSet::new();
            names.retain(|name| seen.insert(*name));
        }
        let seat = |name: &&str| {
            let here = |row: &usize| self.places(*row).any(|place| place == *name);
            let rows: Vec<usize> = (0..self.rows.len()).filter(here).collect();
            let built = rows.iter().any(|row| self.cell(*row, "role") == "build");
            Seat { idle: !built, rows }
        };
        names.iter().map(seat).collect()
    }

    /// Whether the rows at a seat leave no room for a row: one of its places is filled.
    fn meets(&self, row: usize, chosen: &[usize]) -> bool {
        let filled = |place: &str| {
            let mut others = chosen.iter().flat_map(|other| self.places(*other));
            others.any(|other| other == place)
        };
        self.places(row).any(filled)
    }

    fn is_bought(&self, row: usize) -> bool {
        matches!(self.cell(row, "standing"), "" | "to-order")
    }

    /// Whether a choice fills its seats once, fits, brings what it needs, and is as wished.
    pub(super) fn holds(&self, chosen: &[usize], wishes: &Wishes) -> bool {
        let mut places = BTreeSet::new();
        let once = chosen
            .iter()
            .flat_map(|row| self.places(*row))
            .all(|place| places.insert(place));
        let filled = |seat: &Seat| seat.idle || seat.rows.iter().any(|row| chosen.contains(row));
        once && self.seats.iter().all(filled)
            && self.brings_all(chosen)
            && self.fits(chosen)
            && self.is_wished(chosen, wishes)
    }

    fn brings_all(&self, chosen: &[usize]) -> bool {
        let names: BTreeSet<&str> = chosen.iter().map(|row| self.cell(*row, "part")).collect();
        let asked = |row: &usize| [self.cell(*row, "needs"), self.cell(*row, "comes_with")];
        let mut asked = chosen.iter().flat_map(asked);
        asked.all(|name| name.is_empty() || names.contains(name))
    }

    fn fits(&self, chosen: &[usize]) -> bool {
        let mut open: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
        let said = chosen.iter().map(|row| self.cell(*row, "fits"));
        let pairs = said.flat_map(|cell| cell.split(" + ").filter_map(|one| one.split_once('=')));
        for (key, value) in pairs {
            let values: BTreeSet<&str> = value.split('|').collect();
            let left = open.entry(key).or_insert_with(|| values.clone());
            left.retain(|value| values.contains(value));
        }
        open.values().all(|left| !left.is_empty())
    }

    fn is_wished(&self, chosen: &[usize], wishes: &Wishes) -> bool {
        let bought = || chosen.iter().filter(|row| self.is_bought(**row));
        let sellers: BTreeSet<&str> = bought().map(|row| self.cell(*row, "seller")).collect();
        let kept = |part: &String| chosen.iter().any(|row| self.cell(*row, "part") == part);
        wishes.keep.iter().all(kept)
            && !wishes
                .without
                .iter()
                .any(|name| sellers.contains(name.as_str()))
            && wishes.max_sellers.is_none_or(|most| sellers.len() <= most)
    }

    /// The rows of the build.
    pub(super) fn build(&self) -> Vec<usize> {
        let built = |row: &usize| self.cell(*row, "role") == "build";
        (0..self.rows.len()).filter(built).collect()
    }

    /// What rows weigh, in tenths of a gram.
    pub(super) fn mass(&self, rows: &[usize]) -> i64 {
        let of = |row: &usize| self.cell(*row, "mass_g").parse::<i64>().unwrap() * 10;
        rows.iter().map(of).sum()
    }

    /// The least that something at every place of the build weighs, whatever it needs.
    pub(super) fn least_mass(&self) -> i64 {
        let built = self.seats.iter().filter(|seat| !seat.idle);
        let least = built.filter_map(|seat| seat.rows.iter().map(|row| self.mass(&[*row])).min());
        least.sum()
    }

    /// A choice with other rows at one to three of its places; what is left empty by them is filled again. None where it does not
    /// hold.
    pub(super) fn moved(&self, chosen: &[usize], dice: &mut Dice) -> Option<Vec<usize>> {
        let mut next = chosen.to_vec();
        for _ in 0..=dice.below(3) {
            let at = dice.below(self.open.len() as u64) as usize;
            let seat = &self.seats[self.open[at]];
            let row = seat.rows[dice.below(seat.rows.len() as u64) as usize];
            next.retain(|other| !self.meets(*other, &[row]));
            next.push(row);
        }
        for seat in self.seats.iter().filter(|seat| !seat.idle) {
            if !seat.rows.iter().any(|row| next.contains(row)) {
                next.push(seat.rows[dice.below(seat.rows.len() as u64) as usize]);
            }
        }
        next.sort_unstable();
        (next != chosen && self.holds(&next, &Wishes::default())).then_some(next)
    }

    /// Every choice that holds, each in the order of its rows.
    pub(super) fn every(&self, wishes: &Wishes) -> Vec<Vec<usize>> {
        let mut open: Vec<Vec<usize>> = vec![Vec::new()];
        for seat in &self.seats {
            let mut next = Vec::new();
            for chosen in open {
                let filled = chosen.iter().any(|row| seat.rows.contains(row));
                let free = seat
                    .rows
                    .iter()
                    .filter(|row| !filled && !self.meets(**row, &chosen));
                next.extend(free.map(|row| [&chosen[..], &[*row]].concat()));
                if filled || seat.idle {
                    next.push(chosen);
                }
            }
            open = next;
        }
        open.retain(|chosen| self.holds(chosen, wishes));
        open.iter_mut().for_each(|chosen| chosen.sort_unstable());
        open
    }

    /// The rows of choices that a plan tells.
    pub(super) fn rows_of(&self, choices: &[Choice]) -> Vec<usize> {
        let row = |choice: &Choice| {
            let is = |row: &usize| {
                let own = [self.cell(*row, "part"), self.cell(*row, "seller")];
                own == [choice.part.as_str(), choice.seller.as_str()]
            };
            (0..self.rows.len()).find(is).unwrap()
        };
        let mut rows: Vec<usize> = choices.iter().map(row).collect();
        rows.sort_unstable();
        rows
    }

    /// The table of parts with these rows as the build: a row of the same part as one of them is its rival, the others are options.
    fn built(&self, chosen: &[usize]) -> String {
        let mut named: BTreeSet<&str> = chosen.iter().map(|row| self.cell(*row, "part")).collect();
        let role = self.header.iter().position(|name| name == "role").unwrap();
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer.write_record(&self.header).unwrap();
        for (at, row) in self.rows.iter().enumerate() {
            let own = if chosen.contains(&at) {
                "build"
            } else if named.insert(self.cell(at, "part")) {
                "option"
            } else {
                "rival"
            };
            let cells = row.iter().enumerate();
            let cells = cells.map(|(column, cell)| if column == role { own } else { cell });
            writer.write_record(cells).unwrap();
        }
        String::from_utf8(writer.into_inner().unwrap()).unwrap()
    }

    /// What a book with these rows as its build costs; none where it is refused, as where no step of a schedule carries a parcel.
    pub(super) fn cost(&self, chosen: &[usize]) -> Option<Costed> {
        let parts = self.built(chosen);
        let own = self.text.iter().map(|(name, text)| {
            let text = if *name == "parts" { &parts } else { text };
            (*name, text.as_str())
        });
        let book = made::taken(&own.collect::<Vec<_>>());
        let landed = cost_at(&lost_apart(&book, self.jurisdiction), self.jurisdiction);
        let totals = landed.ok()?.totals;
        Some(Costed {
            landed: totals.landed().unwrap().amount(),
            mass: tenths(totals.mass),
            remedy: !totals.amounts[Sum::Remedy].is_zero(),
        })
    }
}
