//! Which parcels of a build a swap changes, and what travels in them before and after it: all others come to what they came to.

use std::collections::{BTreeMap, BTreeSet};

use super::proposal::Proposal;
use super::swap::Swap;
use crate::book::{Book, Part, Role, Standing};
use crate::landed::{ConsignmentState, Jurisdiction, Rows, group, id_of, is_reckoned};
use crate::text::Problems;
use crate::units::{HomeMoney, Overflow};

/// Sellers and labels of parcels.
type Taken<'a> = BTreeSet<(Option<&'a str>, &'a str)>;

/// The label of the parcel of what would fall into one that was ordered at another time.
const NEW_ORDER: &str = "new order";

/// One parcel of a build.
#[derive(Default)]
struct Parcel<'a> {
    /// Rows of the build in it.
    build: Vec<&'a Part>,
    /// Rows in it that are paid for and not on the bike.
    sunk: Vec<&'a Part>,
    /// What it lands at; nothing as long as nobody has asked.
    landed: HomeMoney,
}

/// The parcels of a build, and those of parts that are paid for but not in it.
pub(super) struct Parcels<'a> {
    by_id: BTreeMap<String, Parcel<'a>>,
    /// What lies in boxes of the build, and in boxes of parts that are paid for but not in it.
    boxed: [Vec<&'a Part>; 2],
    /// Sellers and labels of parcels that were ordered at another time.
    taken: Taken<'a>,
    /// Rows of the book that would fall into one of those, as they travel in a parcel of their own, by their numbers.
    anew: BTreeMap<usize, Part>,
}

/// What a swap changes in the parcels of a build.
pub(super) struct Changed<'s> {
    /// The parcels.
    pub(crate) ids: BTreeSet<String>,
    /// Rows that are not bought after all.
    pub(crate) off: Vec<&'s Part>,
    /// Rows that money is still to be spent on, and what lies in their boxes.
    pub(crate) on: Vec<&'s Part>,
    /// What travels in those parcels without what comes.
    pub(crate) without: Rows<'s>,
    /// The same with what comes.
    pub(crate) with: Rows<'s>,
}

impl<'a> Parcels<'a> {
    /// The parcels of a build, and those of parts that are paid for but not in it.
    pub(super) fn of(
        book: &'a Book,
        build: &[&'a Part],
        sunk: &'a [Part],
        jurisdiction: &Jurisdiction<'_>,
    ) -> Parcels<'a> {
        let sunk: Vec<&Part> = sunk.iter().collect();
        let mut by_id: BTreeMap<String, Parcel<'a>> = BTreeMap::new();
        for row in build.iter().filter(|row| is_reckoned(row)) {
            let parcel = by_id.entry(id_of(row, jurisdiction)).or_default();
            parcel.build.push(row);
        }
        for row in sunk.iter().filter(|row| is_reckoned(row)) {
            let parcel = by_id.entry(id_of(row, jurisdiction)).or_default();
            parcel.sunk.push(row);
        }
        let taken = taken(book, &[build, &sunk].concat(), jurisdiction);
        let anew = book
            .parts
            .iter()
            .filter(|part| part.standing == Standing::ToOrder && taken.contains(&label(part)))
            .map(|part| (part.at.number(), apart(part, &taken)))
            .collect();
        Parcels {
            by_id,
            boxed: [
                boxed(build.iter().copied().chain(book.options())),
                boxed(sunk.into_iter()),
            ],
            taken,
            anew,
        }
    }

    /// A row as it travels where its parcel was ordered at another time: in one of its own. None where it is to be ordered with others.
    pub(super) fn apart(&self, part: &Part) -> Option<Part> {
        let meets = part.standing == Standing::ToOrder && self.taken.contains(&label(part));
        meets.then(|| apart(part, &self.taken))
    }

    /// All rows of all parcels.
    pub(super) fn all(&self) -> Rows<'a> {
        let (build, sunk) = (
            self.by_id.values().flat_map(|parcel| &parcel.build),
            self.by_id.values().flat_map(|parcel| &parcel.sunk),
        );
        Rows {
            rows: build.chain(sunk).copied().collect(),
            boxed: self.boxed.concat(),
        }
    }

    /// Takes over what parcels land at.
    pub(super) fn land(&mut self, sums: Vec<(String, HomeMoney)>) {
        for (id, landed) in sums {
            self.by_id.entry(id).or_default().landed = landed;
        }
    }

    /// What some parcels land at as they are.
    pub(super) fn landed<'i>(
        &self,
        ids: impl IntoIterator<Item = &'i String>,
    ) -> Result<HomeMoney, Overflow> {
        let known = ids.into_iter().filter_map(|id| self.by_id.get(id));
        HomeMoney::total(known.map(|parcel| parcel.landed))
    }

    /// The names of all parcels.
    pub(super) fn ids(&self) -> impl Iterator<Item = &String> {
        self.by_id.keys()
    }

    /// What a swap changes.
    pub(super) fn changed<'s>(
        &'s self,
        proposal: &Proposal<'s>,
        swap: &Swap<'s>,
        (build, book): (&[&'s Part], &Book),
        jurisdiction: &Jurisdiction<'_>,
    ) -> Changed<'s> {
        let due = |part: &&Part| matches!(part.standing, Standing::ToOrder | Standing::Bundled);
        let own = |part: &'s Part| self.anew.get(&part.at.number()).unwrap_or(part);
        let on: Vec<&Part> = proposal.parts().into_iter().filter(due).map(own).collect();
        let off = build.iter().copied();
        let off: Vec<&Part> = off.filter(|row| swap.is_unbought(row, book)).collect();
        let ids = self.touched(off.iter().chain(&on).copied(), jurisdiction);
        let (mut rows, mut sunk) = (Vec::new(), Vec::new());
        for parcel in ids.iter().filter_map(|id| self.by_id.get(id)) {
            rows.extend(parcel.build.iter().filter(|row| !holds(&off, row)).copied());
            sunk.extend(parcel.sunk.iter().copied());
        }
        let [in_build, in_sunk] = &self.boxed;
        let in_build = in_build.iter().filter(|row| !holds(&off, row)).copied();
        let in_build: Vec<&Part> = in_build.collect();
        let mut comes = in_boxes(&on);
        comes.retain(|row| !holds(&in_build, row));
        Changed {
            without: Rows {
                rows: [rows.as_slice(), &sunk].concat(),
                boxed: [in_build.as_slice(), in_sunk].concat(),
            },
            with: Rows {
                rows: [rows.as_slice(), &on, &sunk].concat(),
                boxed: [in_build.as_slice(), &comes, in_sunk].concat(),
            },
            ids,
            off,
            on,
        }
    }

    /// The parcels that rows travel in, and those of what they lie in the boxes of.
    fn touched<'r>(
        &self,
        rows: impl Iterator<Item = &'r Part>,
        jurisdiction: &Jurisdiction<'_>,
    ) -> BTreeSet<String> {
        let mut ids = BTreeSet::new();
        for row in rows {
            if is_reckoned(row) {
                ids.insert(id_of(row, jurisdiction));
            }
            if let Some(holder) = &row.comes_with {
                let holds = |(_, parcel): &(&String, &Parcel<'_>)| {
                    let mut all = parcel.build.iter().chain(&parcel.sunk);
                    all.any(|row| row.name == *holder)
                };
                let holders = self.by_id.iter().filter(holds);
                ids.extend(holders.map(|(id, _)| id.clone()));
            }
        }
        ids
    }
}

impl<'s> Changed<'s> {
    /// Every row that goes or comes, and those that travel with them.
    pub(super) fn moved(&self) -> Vec<&'s Part> {
        [self.with.rows.as_slice(), &self.off].concat()
    }

    /// What comes, without all else.
    pub(super) fn by_itself(&self) -> Rows<'s> {
        Rows {
            rows: self.on.clone(),
            boxed: in_boxes(&self.on),
        }
    }
}

/// Whether a row itself is among some.
pub(super) fn holds(rows: &[&Part], row: &Part) -> bool {
    rows.iter().any(|one| std::ptr::eq(*one, row))
}

/// What lies in a box, of what comes: it has no role of its own any more.
fn in_boxes<'s>(on: &[&'s Part]) -> Vec<&'s Part> {
    let boxed = |row: &&Part| row.comes_with.is_some();
    on.iter().copied().filter(boxed).collect()
}

/// What lies in boxes, of rows of the build or gone.
fn boxed<'a>(rows: impl Iterator<Item = &'a Part>) -> Vec<&'a Part> {
    rows.filter(|row| row.is_boxed()).collect()
}

/// Who sells a row, and the label of its parcel.
fn label(part: &Part) -> (Option<&str>, &str) {
    (part.seller.as_deref(), part.parcel.as_str())
}

/// The sellers and labels of parcels that were ordered at another time.
fn taken<'a>(book: &'a Book, rows: &[&'a Part], jurisdiction: &Jurisdiction<'_>) -> Taken<'a> {
    group(book, rows, jurisdiction, &mut Problems::new())
        .into_iter()
        .filter(|parcel| parcel.kind != ConsignmentState::ToOrder)
        .flat_map(|parcel| parcel.rows)
        .map(label)
        .collect()
}

/// A row that comes, in a parcel of its own.
fn apart(part: &Part, taken: &Taken<'_>) -> Part {
    let seller = part.seller.as_deref();
    let numbered = (2_u32..).map(|number| format!("{NEW_ORDER} {number}"));
    let label = std::iter::once(NEW_ORDER.to_owned())
        .chain(numbered)
        .find(|label| !taken.contains(&(seller, label.as_str())));
    Part {
        role: Role::Build,
        parcel: label.unwrap_or_default(),
        ..part.clone()
    }
}
