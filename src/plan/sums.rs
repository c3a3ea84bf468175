//! What the search calculates with, open for checks: the sum compiled for a choice beside the whole engine's, and the bounds
//! that each package's exact cost must not be below.

use super::book::Compiled;
use super::mass::Masses;
use super::model::{Model, PackageCost, UNIT};
use super::pool::{Pool, Wishes};
use super::watch::Patient;
use crate::book::Book;
use crate::landed::{Cautions, Jurisdiction, landed_rows};
use crate::text::{Diagnostic, Problems};
use crate::units::Dec;

/// A book's choice as the search sees it.
pub(crate) struct Sums<'a>(Compiled<'a>);

impl<'a> Sums<'a> {
    /// Compiles a book.
    pub(crate) fn open(
        book: &'a Book,
        jurisdiction: &'a Jurisdiction<'a>,
    ) -> Result<Sums<'a>, Problems> {
        let masses = Masses::look(book, jurisdiction, &mut Cautions::default())?;
        let pool = Pool::open(book, jurisdiction, &Wishes::default(), masses).map_err(|bare| {
            let mut problems = Problems::new();
            problems.push(Diagnostic::error(format!("{bare:?}")));
            problems
        })?;
        Compiled::new(pool, book, jurisdiction, None, &Patient).map(Sums)
    }

    /// Places and offers.
    pub(crate) fn model(&self) -> &Model {
        &self.0.model
    }

    /// The sum that the search gives these offers, with what is settled.
    pub(crate) fn searched(&self, offers: &[u32]) -> Option<Dec> {
        let (cost, _) = self.model().price(&self.0, offers)?;
        Some(self.0.amount(cost.checked_add(self.0.sure_cost)?))
    }

    /// What the decimal engine says of the same rows, calculated whole.
    pub(crate) fn reckoned(&self, offers: &[u32]) -> Result<Dec, Problems> {
        landed_rows(self.0.book, &self.0.plan_rows(offers), self.0.jurisdiction)
    }

    /// The first seller whose package costs less than the least of its bounds that hold for it.
    pub(crate) fn underbid(&self, offers: &[u32]) -> Option<usize> {
        (0..self.model().sellers).find(|seller| self.is_underbid(*seller, offers))
    }

    fn is_underbid(&self, seller: usize, offers: &[u32]) -> bool {
        let of = |o: &u32| &self.model().offers[*o as usize];
        let mut package: Vec<u32> = offers
            .iter()
            .copied()
            .filter(|o| of(o).seller == seller)
            .collect();
        package.sort_unstable();
        if package.is_empty() {
            return false;
        }
        let Some(exact) = self.0.exact(seller, &package) else {
            return false;
        };
        let least = self.0.least(seller, &package);
        least.is_none_or(|least| least > exact * UNIT)
    }
}
