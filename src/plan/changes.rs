//! What a plan changes place by place, with the grams and the money of each change.

use std::collections::{BTreeMap, BTreeSet};

use super::book::Compiled;
use super::pool::parcel_of;
use super::why::who;
use crate::book::Part;
use crate::landed::Bill;
use crate::text::Problems;
use crate::units::{Dec, Grams, HomeMoney, Overflow};

/// A place whose part changes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The place.
    pub(crate) place: String,
    /// What the build has, and from whom.
    pub(crate) before: Option<(String, String)>,
    /// What the plan has, and from whom.
    pub after: Option<(String, String)>,
    /// How many grams the bike gains by it; none where a mass is not known.
    pub mass: Option<Grams>,
    /// How much more the parts that change land at with their shares of the charges; none where the build has no sum.
    pub landed: Option<Dec>,
}

/// What each row of some bills lands at, by parcel and part.
type Shares<'b> = BTreeMap<(&'b str, &'b str), HomeMoney>;

fn shares(bills: &[Bill]) -> Result<Shares<'_>, Overflow> {
    let mut found = Shares::new();
    for bill in bills {
        for line in &bill.lines {
            let sum = found.entry((&bill.id, &line.part)).or_default();
            *sum = sum.plus(line.amounts.landed()?)?;
        }
    }
    Ok(found)
}

/// The rows of two builds, and what they land at in each.
struct Sides<'s> {
    compiled: &'s Compiled<'s>,
    shares: Option<[Shares<'s>; 2]>,
    /// Rows that are counted already: a part at two places is counted at the first.
    counted: Vec<&'s Part>,
}

impl<'s> Sides<'s> {
    /// The row, if it is not counted yet; it is from now on.
    fn new_ones(&mut self, row: Option<&'s Part>) -> Vec<&'s Part> {
        let fresh = |row: &&Part| !self.counted.iter().any(|old| std::ptr::eq(*old, *row));
        let fresh = row.filter(fresh);
        self.counted.extend(fresh);
        fresh.into_iter().collect()
    }

    /// The grams that come less those that go.
    fn mass(&self, gone: &[&Part], come: &[&Part]) -> Option<Grams> {
        let known = |rows: &[&Part]| {
            let mass =
                |row: &&Part| (self.compiled.pool.masses).known(row, self.compiled.jurisdiction);
            rows.iter().map(mass).sum::<Option<i64>>()
        };
        Some(Grams(Dec::new(known(come)? - known(gone)?, 1)))
    }

    /// What the rows land at in the plan less what they land at in the build.
    fn landed(&self, rows: &[&Part]) -> Result<Option<Dec>, Overflow> {
        let Some([before, after]) = &self.shares else {
            return Ok(None);
        };
        let mut sum = HomeMoney::default();
        for row in rows {
            let parcel = parcel_of(row);
            let of = |shares: &Shares<'_>| {
                let share = shares.get(&(parcel.as_str(), row.name.as_str()));
                share.copied().unwrap_or_default()
            };
            sum = sum.plus(of(after))?.minus(of(before))?;
        }
        Ok(Some(sum.amount()))
    }
}

/// Place by place, what is not as in the build. The bills are those of the build, where it has a sum, and of the plan.
pub(super) fn changes(
    compiled: &Compiled<'_>,
    offers: &[u32],
    bills: Option<[&[Bill]; 2]>,
) -> Result<Vec<Change>, Problems> {
    let old: Vec<&Part> = compiled.book.build().filter(|row| !row.is_open()).collect();
    let chosen = offers.iter().map(|o| compiled.pool.bids[*o as usize].row);
    let settled = compiled.pool.settled.iter().copied();
    let new: Vec<&Part> = settled.chain(chosen).collect();
    let shares = match bills {
        Some([before, after]) => Some([shares(before)?, shares(after)?]),
        None => None,
    };
    let mut sides = Sides {
        compiled,
        shares,
        counted: Vec::new(),
    };
    let places: BTreeSet<&String> = old.iter().chain(&new).flat_map(|row| &row.places).collect();
    let mut found: Vec<Change> = Vec::new();
    for place in places {
        let (gone, come) = (only(place, &old, &new), only(place, &new, &old));
        // where one part comes for two, it stands beside both
        let side = |all: &[&Part], at: usize| all.get(at).or(all.last()).map(|row| who(row));
        for at in 0..gone.len().max(come.len()) {
            let (going, coming) = (
                sides.new_ones(gone.get(at).copied()),
                sides.new_ones(come.get(at).copied()),
            );
            found.push(Change {
                place: place.clone(),
                before: side(&gone, at),
                after: side(&come, at),
                mass: sides.mass(&going, &coming),
                landed: sides.landed(&[going, coming].concat())?,
            });
        }
    }
    Ok(found)
}

/// The rows at a place here that are not there.
fn only<'r>(place: &String, here: &[&'r Part], there: &[&Part]) -> Vec<&'r Part> {
    let gone = |row: &&Part| {
        row.places.contains(place) && !there.iter().any(|other| std::ptr::eq(*other, *row))
    };
    here.iter().copied().filter(gone).collect()
}
