//! What a part is to the destination's customs: the user's digits, else the table's for its place, else the place's six.

use std::collections::BTreeMap;

use super::condition::{Facts, Test};
use super::ledger::{Ledger, Names};
use super::parcel::{Line, Parcel};
use super::program::{Occasion, Program};
use crate::tables::{Law, Stamp};
use crate::units::{Currency, Overflow, Rate};

/// The rows of `codes.csv` in force, prepared.
#[derive(Debug, Clone, Default)]
pub struct Codes {
    rows: Vec<PreparedCode>,
    names: Names,
}

#[derive(Debug, Clone)]
struct PreparedCode {
    place: String,
    test: Test,
    commodity: String,
    text: String,
    stamp: Stamp,
}

/// What a line was found to be.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Classified {
    /// The digits.
    pub commodity: String,
    /// What the destination's table calls it; empty for the place's own text.
    pub text: String,
    /// The row of the destination's table.
    pub stamp: Option<Stamp>,
    /// The user's digits, where the destination's tables do not know them.
    pub unknown: Option<String>,
}

impl Codes {
    /// Prepares the rows in force.
    pub fn prepare(law: &Law, at: &Occasion<'_>, rates: &BTreeMap<Currency, Rate>) -> Result<Codes, Overflow> {
        let names = Names::new();
        let mut rows = Vec::new();
        for row in law.codes.iter().filter(|r| r.stamp.in_force(at.arrival)) {
            rows.push(PreparedCode {
                place: row.rule.place.clone(),
                test: Test::prepare(&row.rule.when, &names, rates)?,
                commodity: row.rule.commodity.clone(),
                text: row.rule.text.clone(),
                stamp: row.stamp.clone(),
            });
        }
        Ok(Codes { rows, names })
    }

    /// Finds what a line is. The user's digits stand when the tables know them; digits that stop early are carried on
    /// by the place's row when it begins with them; unknown national digits are cut to six.
    ///
    /// Answers for every line of a parcel, given the six digits of each line's place.
    pub fn classify(&self, program: &Program, parcel: &Parcel, hs6: &[&str]) -> Result<Vec<Classified>, Overflow> {
        let ledger = Ledger::open(&self.names, parcel, parcel.customs)?;
        let facts = Facts { parcel, ledger: &ledger, collect: &[], groups: &program.groups };
        let lines = parcel.lines.iter().zip(hs6).enumerate();
        lines.map(|(at, (line, hs6))| self.of_line(program, facts, at, line, hs6)).collect()
    }

    fn of_line(&self, program: &Program, facts: Facts<'_>, at: usize, line: &Line, hs6: &str) -> Result<Classified, Overflow> {
        let typed = line.commodity.as_str();
        let by_place = self.by_place(facts, at, line)?;
        let stem = typed.get(..6).unwrap_or(typed);
        if typed.len() > 6 && program.tariff.knows(typed) {
            return Ok(Classified { commodity: typed.to_owned(), ..Classified::default() });
        }
        let unknown = (typed.len() > 6).then(|| typed.to_owned());
        if let Some(row) = by_place.filter(|row| row.commodity.starts_with(stem)) {
            return Ok(Classified { commodity: row.commodity.clone(), text: row.text.clone(), stamp: Some(row.stamp.clone()), unknown });
        }
        let commodity = if stem.is_empty() { hs6 } else { stem };
        Ok(Classified { commodity: commodity.to_owned(), unknown, ..Classified::default() })
    }

    /// The row of the place whose condition holds: a row for all its places before a row for one.
    fn by_place(&self, facts: Facts<'_>, at: usize, line: &Line) -> Result<Option<&PreparedCode>, Overflow> {
        let whole = line.places.join(" + ");
        let names = std::iter::once(whole.as_str()).chain(line.places.iter().map(String::as_str));
        for name in names {
            for row in self.rows.iter().filter(|row| same_places(&row.place, name)) {
                if row.test.holds(facts, at)? {
                    return Ok(Some(row));
                }
            }
        }
        Ok(None)
    }
}

/// Places joined by ` + ` are the same in any order.
fn same_places(one: &str, other: &str) -> bool {
    let sorted = |text: &str| {
        let mut names: Vec<String> = text.split(" + ").map(str::to_owned).collect();
        names.sort();
        names
    };
    one == other || (one.contains(" + ") && sorted(one) == sorted(other))
}
