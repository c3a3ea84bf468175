//! What a part is to the destination's customs: the user's digits, else the table's for its place, else the place's six.
//!
//! A thing that fills several places and is sold as one is one line with one heading. Where no row of `codes.csv` names what
//! gives it its essential character, and its places' headings merit consideration alike, it has the last of them in numerical
//! order: rules 3(b) and 3(c), for subheadings by rule 6, of the General Rules for the Interpretation of the Harmonized
//! System (Annex to the International Convention of 14 June 1983, as amended).

use std::collections::BTreeMap;

use super::condition::{Facts, Test};
use super::ledger::{Ledger, Names};
use super::open::SUBHEADING;
use super::parcel::{Line, Parcel};
use super::program::{Occasion, Program};
use crate::tables::{Coin, Law, Provenance};
use crate::units::{Overflow, Rate};

impl Classified {
    /// A row of the table that goes no further than a subheading which has no rate of its own leaves as much open as digits that
    /// the user cut there: what would settle it has not been told.
    fn open_above_rows(self, program: &Program) -> Classified {
        let by_table = self.stamp.is_some() && self.unknown.is_none();
        let stops = self.commodity.len() <= SUBHEADING && !program.names_exactly(&self.commodity);
        Classified {
            open: self.open || by_table && stops,
            ..self
        }
    }
}

/// The rows of `codes.csv` in force, prepared.
#[derive(Debug, Clone, Default)]
pub(crate) struct Codes {
    /// By the places a row is for, in the order of the table.
    rows: BTreeMap<String, Vec<PreparedCode>>,
    /// Rows for some places and whatever is sold as one with them.
    with_others: Vec<(Vec<String>, PreparedCode)>,
    names: Names,
}

#[derive(Debug, Clone)]
struct PreparedCode {
    test: Test,
    commodity: String,
    text: String,
    stamp: Provenance,
}

/// What a line was found to be.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(crate) struct Classified {
    /// The digits.
    pub(crate) commodity: String,
    /// What the destination's table calls it; empty for the place's own text.
    pub(crate) text: String,
    /// The row of the destination's table.
    pub(crate) stamp: Option<Provenance>,
    /// The user's digits, where the destination's tables do not know them.
    pub(crate) unknown: Option<String>,
    /// Which of its places gave the digits.
    pub(crate) place: usize,
    /// What its other places would make of a thing that is sold as one, in numerical order.
    pub(crate) others: Vec<String>,
    /// Whether its row says which places give a thing sold as one its character.
    pub(crate) by_character: bool,
    /// Whether nobody has said what it is beyond these digits.
    pub(crate) open: bool,
}

impl Codes {
    /// Prepares the rows in force.
    pub(crate) fn prepare(
        law: &Law,
        at: &Occasion<'_>,
        rates: &BTreeMap<Coin, Rate>,
    ) -> Result<Codes, Overflow> {
        let names = Names::new();
        let mut rows: BTreeMap<String, Vec<PreparedCode>> = BTreeMap::new();
        let mut with_others = Vec::new();
        for row in law.codes.iter().filter(|r| r.stamp.in_force(at.arrival)) {
            let code = PreparedCode {
                test: Test::prepare(&row.rule.when, &names, rates)?,
                commodity: row.rule.commodity.clone(),
                text: row.rule.text.clone(),
                stamp: row.stamp.clone(),
            };
            if row.rule.with_others {
                with_others.push((row.rule.places(), code));
            } else {
                let places = row.rule.places();
                let places: Vec<&str> = places.iter().map(String::as_str).collect();
                rows.entry(joined(&places)).or_default().push(code);
            }
        }
        Ok(Codes {
            rows,
            with_others,
            names,
        })
    }

    /// Finds what each line of a parcel is, given the six digits of each of its places in their order.
    ///
    /// A row for all the places of a line wins. Otherwise the user's digits, as far as the tables know them, pick among what
    /// the places' rows say; a thing sold as one that would have several headings has the last in numerical order. Zeros that
    /// only fill the digits up are taken off, and unknown national digits are cut to six.
    pub(crate) fn classify(
        &self,
        program: &Program,
        parcel: &Parcel,
        hs6: &[Vec<&str>],
    ) -> Result<Vec<Classified>, Overflow> {
        let ledger = Ledger::open(&self.names, parcel, parcel.customs)?;
        let facts = Facts {
            parcel,
            ledger: &ledger,
            collect: &[],
            groups: &program.groups,
        };
        let mut seen: BTreeMap<&str, (&str, bool)> = BTreeMap::new();
        let lines = parcel.lines.iter().zip(hs6).enumerate();
        lines
            .map(|(at, (line, hs6))| {
                let digits = line.commodity.as_str();
                // many lines have the same digits, which are looked for in all rows of the tables
                let typed = *seen
                    .entry(digits)
                    .or_insert_with(|| program.typed_digits(digits));
                let found = self.of_line(facts, at, (line, typed), hs6)?;
                Ok(found.open_above_rows(program))
            })
            .collect()
    }

    fn of_line(
        &self,
        facts: Facts<'_>,
        at: usize,
        (line, (typed, known)): (&Line, (&str, bool)),
        hs6: &[&str],
    ) -> Result<Classified, Overflow> {
        let digits = if known {
            typed
        } else {
            typed.get(..6).unwrap_or(typed)
        };
        let unknown = (typed.len() > 6 && !known).then(|| typed.to_owned());
        let places: Vec<&str> = line.places.iter().map(String::as_str).collect();
        let whole = self.row_of(facts, at, &joined(&places))?;
        if let Some(row) = whole.filter(|row| row.commodity.starts_with(digits)) {
            return Ok(Classified {
                unknown,
                ..row.found()
            });
        }
        let character = self.row_with_others(facts, at, &places)?;
        let character = character.filter(|row| row.commodity.starts_with(digits));
        if let Some(row) = character.filter(|row| !row.stamp.disputed()) {
            return Ok(Classified {
                unknown,
                ..row.found()
            });
        }
        let mut by_place: Vec<(&str, Option<&PreparedCode>, usize)> = Vec::new();
        for (place, name) in line.places.iter().enumerate() {
            let row = self.row_of(facts, at, name)?;
            let own = row.map_or_else(
                || hs6.get(place).copied().unwrap_or(""),
                |row| row.commodity.as_str(),
            );
            if !own.is_empty()
                && own.starts_with(digits)
                && !by_place.iter().any(|(other, _, _)| *other == own)
            {
                by_place.push((own, row, place));
            }
        }
        by_place.sort_by_key(|(own, _, _)| *own);
        if let Some(row) = character {
            let others = by_place.into_iter().map(|(own, _, _)| own.to_owned());
            return Ok(Classified {
                unknown,
                others: others.filter(|own| *own != row.commodity).collect(),
                by_character: true,
                ..row.found()
            });
        }
        let Some((own, row, place)) = by_place.pop() else {
            return Ok(Classified {
                commodity: digits.to_owned(),
                open: unknown.is_none(),
                unknown,
                ..Classified::default()
            });
        };
        let found = row.map_or_else(
            || Classified {
                commodity: own.to_owned(),
                open: unknown.is_none(),
                ..Classified::default()
            },
            PreparedCode::found,
        );
        let others = by_place
            .into_iter()
            .map(|(own, _, _)| own.to_owned())
            .collect();
        Ok(Classified {
            unknown,
            place,
            others,
            ..found
        })
    }

    /// The row for some of several places and whatever is sold as one with them, whose condition holds.
    fn row_with_others(
        &self,
        facts: Facts<'_>,
        at: usize,
        places: &[&str],
    ) -> Result<Option<&PreparedCode>, Overflow> {
        for (named, row) in &self.with_others {
            let all = named.iter().all(|place| places.contains(&place.as_str()));
            if all && places.len() > named.len() && row.test.holds(facts, at)? {
                return Ok(Some(row));
            }
        }
        Ok(None)
    }

    /// The row of a place, or of several, whose condition holds.
    fn row_of(
        &self,
        facts: Facts<'_>,
        at: usize,
        places: &str,
    ) -> Result<Option<&PreparedCode>, Overflow> {
        for row in self.rows.get(places).into_iter().flatten() {
            if row.test.holds(facts, at)? {
                return Ok(Some(row));
            }
        }
        Ok(None)
    }
}

impl Program {
    /// Digits without the zeros that only fill them up, and whether the tables know them beyond the sixth.
    fn typed_digits<'d>(&self, digits: &'d str) -> (&'d str, bool) {
        let typed = self.unpadded(digits);
        (typed, typed.len() > 6 && self.knows(typed))
    }
}

impl PreparedCode {
    fn found(&self) -> Classified {
        Classified {
            commodity: self.commodity.clone(),
            text: self.text.clone(),
            stamp: Some(self.stamp.clone()),
            ..Classified::default()
        }
    }
}

/// Places as one name: joined by ` + `, they are the same in any order.
fn joined(places: &[&str]) -> String {
    if let [one] = places {
        return (*one).to_owned();
    }
    let mut sorted = places.to_vec();
    sorted.sort_unstable();
    sorted.join(" + ")
}
