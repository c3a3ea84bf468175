//! What parcels come to, each calculated once for the many builds of one book that hold it: builds that differ by a row or two have
//! most of their parcels in common.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;

use super::bill::Bill;
use super::billing::bill;
use super::jurisdiction::Jurisdiction;
use super::parcel::{Consignment, group_of};
use super::total::{placed, plain_sum, unless_refused};
use crate::book::{Book, Part, Standing};
use crate::text::{Diagnostic, Problems};
use crate::units::HomeMoney;

/// What a parcel of a name holds: its rows by their numbers in the book, as they stand, and what lies in their boxes. A row travels
/// under one name only with the label that it has, so that the label need not be told again.
type Content = (Vec<(usize, Standing)>, Vec<usize>);

/// What was found for parcels, by their names and what they hold.
type Found<T> = RefCell<BTreeMap<String, BTreeMap<Content, Result<T, Diagnostic>>>>;

/// Rows of a book that are looked at together, with what lies in boxes beside them.
#[derive(Debug, Clone, Default)]
pub(crate) struct Rows<'a> {
    /// The rows, in the order of the book.
    pub(crate) rows: Vec<&'a Part>,
    /// What may lie in a box of theirs.
    pub(crate) boxed: Vec<&'a Part>,
}

/// What the parcels of one book come to under one jurisdiction, as far as it was asked for. Whoever asks sees to it that no receipt is
/// about the parcels: what receipts do hangs on more of a book than the parcel itself.
pub(crate) struct KnownParcels {
    sums: Found<HomeMoney>,
    bills: Found<Rc<Bill>>,
    priced: Cell<usize>,
    /// Whether anything is remembered, or every build is calculated anew as a whole.
    pub(crate) remembers: bool,
}

impl Default for KnownParcels {
    fn default() -> KnownParcels {
        KnownParcels {
            sums: Found::default(),
            bills: Found::default(),
            priced: Cell::new(0),
            remembers: true,
        }
    }
}

impl KnownParcels {
    /// How many parcels were priced for want of knowing them.
    #[cfg(test)]
    pub(crate) fn priced(&self) -> usize {
        self.priced.get()
    }

    /// What the parcels of some rows land at, by name.
    pub(crate) fn sums(
        &self,
        book: &Book,
        rows: &Rows<'_>,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<Vec<(String, HomeMoney)>, Problems> {
        self.each((book, rows), jurisdiction, &self.sums, |parcel| {
            plain_sum(book, parcel, jurisdiction)
        })
    }

    /// The bills of the parcels of some rows, with all that is doubtful about them, by name.
    pub(crate) fn bills(
        &self,
        book: &Book,
        rows: &Rows<'_>,
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<Vec<Rc<Bill>>, Problems> {
        let bills = self.each((book, rows), jurisdiction, &self.bills, |parcel| {
            bill(book, parcel, jurisdiction).map(Rc::new)
        })?;
        Ok(bills.into_iter().map(|(_, bill)| bill).collect())
    }

    /// What is found for each parcel of some rows, or every problem.
    fn each<T: Clone>(
        &self,
        (book, rows): (&Book, &Rows<'_>),
        jurisdiction: &Jurisdiction<'_>,
        found: &Found<T>,
        of: impl Fn(&Consignment<'_>) -> Result<T, Diagnostic>,
    ) -> Result<Vec<(String, T)>, Problems> {
        let mut problems = Problems::new();
        let parcels = group_of(book, &rows.rows, &rows.boxed, jurisdiction, &mut problems);
        let mut all = Vec::with_capacity(parcels.len());
        for parcel in parcels {
            match self.one(&parcel, found, &of) {
                Ok(one) => all.push((parcel.id, one)),
                Err(problem) => problems.push(problem),
            }
        }
        unless_refused(problems, all)
    }

    /// What is found for one parcel, which is asked for once.
    fn one<T: Clone>(
        &self,
        parcel: &Consignment<'_>,
        found: &Found<T>,
        of: impl Fn(&Consignment<'_>) -> Result<T, Diagnostic>,
    ) -> Result<T, Diagnostic> {
        let content = content(parcel);
        if let Some(known) = found
            .borrow()
            .get(&parcel.id)
            .and_then(|known| known.get(&content))
        {
            return known.clone();
        }
        self.priced.set(self.priced.get().saturating_add(1));
        let one = of(parcel).map_err(|problem| placed(problem, parcel));
        found
            .borrow_mut()
            .entry(parcel.id.clone())
            .or_default()
            .insert(content, one.clone());
        one
    }
}

/// What a parcel holds.
fn content(parcel: &Consignment<'_>) -> Content {
    let rows = parcel.rows.iter();
    let rows = rows.map(|row| (row.at.number(), row.standing)).collect();
    let boxed = parcel.bundled.iter().map(|row| row.at.number()).collect();
    (rows, boxed)
}
