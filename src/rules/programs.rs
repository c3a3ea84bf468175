//! The programs of one law at one destination: days on which the same rows count have one program.
//!
//! A program is made of the rows that count, of the rows that ended and left open what followed, and of the rates of exchange
//! that their amounts are turned by. Of the days themselves it keeps nothing, so that where all of these are the same the
//! program is.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::program::{Occasion, Program};
use crate::tables::{After, Coin, Dated, Law, When};
use crate::units::{Overflow, Rate};

/// What a program is made of, beside the law and the destination.
#[derive(Debug, PartialEq, Eq)]
struct Makings {
    /// What each row of the law does, table by table.
    rows: Vec<Part>,
    remedies: bool,
    rates: BTreeMap<Coin, Rate>,
}

/// What a row has to do with a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Part {
    Counts,
    Ended,
    None,
}

/// Programs that are kept at most, so that a list of many days takes no more room the longer it is.
const KEPT: usize = 64;

/// Programs that have been prepared, of one law at one destination and region.
#[derive(Debug, Default)]
pub(crate) struct Programs(Vec<(Makings, Rc<Program>)>);

impl Programs {
    /// The program of an occasion, as [`Program::prepare`] makes it.
    pub(crate) fn prepare(
        &mut self,
        law: &Law,
        at: &Occasion<'_>,
        rates: &BTreeMap<Coin, Rate>,
        groups: &BTreeMap<String, String>,
    ) -> Result<Rc<Program>, Overflow> {
        let makings = Makings {
            rows: parts(law, at),
            remedies: at.counting.remedies,
            rates: rates.clone(),
        };
        if let Some((_, known)) = self.0.iter().find(|(other, _)| *other == makings) {
            return Ok(known.clone());
        }
        let made = Rc::new(Program::prepare(law, at, rates, groups.clone())?);
        if self.0.len() == KEPT {
            self.0.remove(0);
        }
        self.0.push((makings, made.clone()));
        Ok(made)
    }
}

/// What each row has to do with a day, in the order of the tables.
fn parts(law: &Law, at: &Occasion<'_>) -> Vec<Part> {
    let always = When::default();
    let mut found = Vec::new();
    found.extend(parts_of(&law.charges, at, |row| (&row.when, row.after)));
    let none = After::Nothing;
    found.extend(parts_of(&law.reliefs, at, |row| (&row.when, none)));
    found.extend(parts_of(&law.tariff, at, |row| (&row.when, row.after)));
    found.extend(parts_of(&law.taxes, at, |row| (&always, row.after)));
    found
}

/// The same as [`parts`] for one table, whose rows each have a condition and say what follows them.
fn parts_of<'r, R>(
    rows: &'r [Dated<R>],
    at: &Occasion<'_>,
    of: impl Fn(&'r R) -> (&'r When, After),
) -> impl Iterator<Item = Part> {
    rows.iter().map(move |row| {
        let (when, after) = of(&row.rule);
        match at.served(row, when, after) {
            None => Part::None,
            Some((_, true)) => Part::Ended,
            Some((_, false)) => Part::Counts,
        }
    })
}
