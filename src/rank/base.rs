//! A build whose landed total is known, and what it lands at with a swap in it: only the parcels that the swap changes are calculated.
//!
//! Where receipts are about one of those parcels, the whole build is calculated anew, as what they do hangs on more of the book.

use std::rc::Rc;

use super::parcels::{Changed, Parcels, holds};
use super::proposal::Proposal;
use super::swap::Swap;
use crate::book::{Book, Part, Role, Standing};
use crate::landed::{
    Bill, Caution, Jurisdiction, KnownParcels, Landed, Rows, cost_rows, holding, landed_rows,
};
use crate::text::Problems;
use crate::units::{Dec, HomeMoney, Overflow};

/// What a build lands at, with all that is doubtful about it.
pub(super) struct Looked {
    /// The landed total.
    pub(crate) landed: HomeMoney,
    /// The same without the rows in dispute.
    pub(crate) undisputed: HomeMoney,
    /// The same with every row.
    pub(crate) with_disputed: HomeMoney,
    /// Its bills, by name.
    pub(crate) bills: Vec<Rc<Bill>>,
}

impl Looked {
    fn of(landed: Landed) -> Result<Looked, Overflow> {
        Ok(Looked {
            landed: landed.totals.landed()?,
            undisputed: landed.totals.landed_undisputed,
            with_disputed: landed.totals.landed_with_disputed,
            bills: landed.bills.into_iter().map(Rc::new).collect(),
        })
    }

    /// The same with the bills of some parcels in the place of others.
    fn with(&self, changed: &Changed<'_>, bills: Vec<Rc<Bill>>) -> Result<Looked, Overflow> {
        let is_old = |bill: &&Rc<Bill>| changed.ids.contains(&bill.id);
        let old: Vec<&Rc<Bill>> = self.bills.iter().filter(is_old).collect();
        let moved = |total: HomeMoney, of: fn(&Bill) -> Result<HomeMoney, Overflow>| {
            let new = bills
                .iter()
                .try_fold(total, |sum, bill| sum.plus(of(bill)?))?;
            old.iter().try_fold(new, |sum, bill| sum.minus(of(bill)?))
        };
        let (landed, undisputed, with_disputed) = (
            moved(self.landed, |bill| bill.amounts.landed())?,
            moved(self.undisputed, |bill| Ok(bill.landed_undisputed))?,
            moved(self.with_disputed, |bill| Ok(bill.landed_with_disputed))?,
        );
        let others = self.bills.iter().filter(|bill| !is_old(bill)).cloned();
        let mut bills: Vec<Rc<Bill>> = others.chain(bills).collect();
        bills.sort_by(|a, b| a.id.cmp(&b.id));
        Ok(Looked {
            landed,
            undisputed,
            with_disputed,
            bills,
        })
    }
}

/// The build's own landed total, and what is needed to calculate it anew.
pub(super) struct Base<'a> {
    /// The build and what may replace it.
    pub(crate) book: &'a Book,
    jurisdiction: &'a Jurisdiction<'a>,
    rows: Vec<&'a Part>,
    /// Rows that are not on the bike and were paid for: options that were bought already, and what came off. Their parcels are
    /// what they are, and their money is spent whatever is chosen.
    sunk: &'a [Part],
    /// The landed total of the build as it is.
    pub(crate) landed: Dec,
    /// The same with all that is doubtful about it; none where only sums are asked for.
    pub(crate) looked_at: Option<Looked>,
    known: &'a KnownParcels,
    parcels: Parcels<'a>,
}

impl<'a> Base<'a> {
    /// Calculates the build as it is.
    pub(super) fn new(
        book: &'a Book,
        sunk: &'a [Part],
        with: (&'a Jurisdiction<'a>, &'a KnownParcels),
    ) -> Result<Base<'a>, Problems> {
        let mut base = Base::open(book, sunk, with);
        if base.is_plain(&[]) {
            let own: Vec<Part> = base.rows.iter().map(|row| (*row).clone()).collect();
            base.landed = base.plainly(&own)?;
            return Ok(base);
        }
        let sums = base
            .known
            .sums(book, &base.parcels.all(), base.jurisdiction)?;
        base.parcels.land(sums);
        let rows: Vec<&Part> = base.rows.iter().copied().chain(sunk).collect();
        let holding = holding(book, &rows, base.jurisdiction)?;
        let held = HomeMoney::total(holding.rows.iter().filter_map(|held| held.paid))?;
        let parcels = base.parcels.landed(base.parcels.ids())?;
        base.landed = parcels.plus(held)?.amount();
        Ok(base)
    }

    /// As [`Base::new`], of a build that is calculated already with what is doubtful about it, so that it can be told of each
    /// option too.
    pub(super) fn doubting(
        book: &'a Book,
        sunk: &'a [Part],
        landed: Landed,
        with: (&'a Jurisdiction<'a>, &'a KnownParcels),
    ) -> Result<Base<'a>, Overflow> {
        let mut base = Base::open(book, sunk, with);
        let looked_at = Looked::of(landed)?;
        let sum = |bill: &Rc<Bill>| Ok((bill.id.clone(), bill.amounts.landed()?));
        let sums = looked_at.bills.iter().map(sum);
        base.parcels.land(sums.collect::<Result<_, Overflow>>()?);
        base.landed = looked_at.landed.amount();
        base.looked_at = Some(looked_at);
        Ok(base)
    }

    fn open(
        book: &'a Book,
        sunk: &'a [Part],
        (jurisdiction, known): (&'a Jurisdiction<'a>, &'a KnownParcels),
    ) -> Base<'a> {
        let rows: Vec<&Part> = book.build().collect();
        Base {
            book,
            jurisdiction,
            sunk,
            landed: Dec::ZERO,
            looked_at: None,
            known,
            parcels: Parcels::of(book, &rows, sunk, jurisdiction),
            rows,
        }
    }

    /// What a swap changes in the parcels.
    pub(super) fn changed<'s>(&'s self, proposal: &Proposal<'s>, swap: &Swap<'s>) -> Changed<'s> {
        let build = (self.rows.as_slice(), self.book);
        self.parcels
            .changed(proposal, swap, build, self.jurisdiction)
    }

    /// The labels of the parcels in which some rows travel that would fall into one ordered at another time, by the rows' numbers.
    pub(super) fn labels(&self, rows: &[&Part]) -> Vec<(usize, String)> {
        let own = |row: &&Part| Some((row.at.number(), self.parcels.apart(row)?.parcel));
        rows.iter().filter_map(own).collect()
    }

    /// The landed total with a swap.
    pub(super) fn with(&self, changed: &Changed<'_>) -> Result<Dec, Problems> {
        if self.is_plain(&changed.moved()) {
            let kept = self.kept(changed);
            return self.plainly(&[kept, self.all_adopted(&changed.on)].concat());
        }
        self.sum(changed, &changed.with)
    }

    /// The landed total without what a swap makes unnecessary.
    pub(super) fn without(&self, changed: &Changed<'_>) -> Result<Dec, Problems> {
        if self.is_plain(&changed.moved()) {
            return self.plainly(&self.kept(changed));
        }
        self.sum(changed, &changed.without)
    }

    /// The landed total with a swap and with all that is doubtful about it, where doubts are looked at.
    pub(super) fn look(&self, changed: &Changed<'_>) -> Result<Option<Looked>, Problems> {
        let Some(base) = &self.looked_at else {
            return Ok(None);
        };
        let looked = if self.is_plain(&changed.moved()) {
            let kept = self.kept(changed);
            let parts = [kept, self.all_adopted(&changed.on), self.sunk.to_vec()].concat();
            let book = self.today(&parts);
            let rows: Vec<&Part> = book.parts.iter().collect();
            Looked::of(cost_rows(&book, &rows, self.jurisdiction)?)?
        } else {
            let (known, rows) = (self.known, &changed.with);
            base.with(changed, known.bills(self.book, rows, self.jurisdiction)?)?
        };
        Ok(Some(looked))
    }

    /// What comes lands at in parcels of its own, with what must be said of it where doubts are looked at.
    pub(super) fn by_itself(
        &self,
        changed: &Changed<'_>,
    ) -> Result<(HomeMoney, Vec<Caution>), Problems> {
        if self.looked_at.is_none() && !self.is_plain(&changed.moved()) {
            let own = changed.by_itself();
            let sums = self.known.sums(self.book, &own, self.jurisdiction)?;
            let sum = HomeMoney::total(sums.into_iter().map(|(_, sum)| sum))?;
            return Ok((sum, Vec::new()));
        }
        let own = self.today(&self.all_adopted(&changed.on));
        let rows: Vec<&Part> = own.parts.iter().collect();
        let landed = cost_rows(&own, &rows, self.jurisdiction)?;
        Ok((landed.totals.landed()?, landed.cautions))
    }

    /// Whether a build in which these rows are moved is calculated anew as a whole.
    fn is_plain(&self, moved: &[&Part]) -> bool {
        let about = |row: &Part| {
            let mut receipts = self.book.receipts.iter();
            receipts.any(|receipt| row.is_in(&receipt.consignment))
        };
        let unread = self.looked_at.is_none() && !self.book.receipts.is_empty();
        !self.known.remembers || unread || moved.iter().any(|row| about(row))
    }

    /// The landed total where some parcels hold these rows.
    fn sum(&self, changed: &Changed<'_>, rows: &Rows<'_>) -> Result<Dec, Problems> {
        let sums = self.known.sums(self.book, rows, self.jurisdiction)?;
        let new = HomeMoney::total(sums.into_iter().map(|(_, sum)| sum))?;
        let old = self.parcels.landed(&changed.ids)?;
        let more = new.minus(old)?.amount();
        self.landed.plus(more).map_err(Problems::from)
    }

    /// The rows of the build that are bought though a swap is made.
    fn kept(&self, changed: &Changed<'_>) -> Vec<Part> {
        let kept = self.rows.iter().filter(|row| !holds(&changed.off, row));
        kept.map(|row| (*row).clone()).collect()
    }

    fn all_adopted(&self, rows: &[&Part]) -> Vec<Part> {
        rows.iter().map(|row| self.adopted(row)).collect()
    }

    /// A row that comes, as a row of the build. One that would fall into a parcel ordered at another time travels in a parcel
    /// of its own; one that is owned costs nothing more.
    pub(super) fn adopted(&self, part: &Part) -> Part {
        if let Some(apart) = self.parcels.apart(part) {
            return apart;
        }
        let own = Part {
            role: Role::Build,
            ..part.clone()
        };
        match part.standing {
            Standing::ToOrder | Standing::Bundled => own,
            Standing::OnOrder | Standing::InHand | Standing::Given => Part {
                standing: Standing::InHand,
                seller: None,
                price: None,
                paid: Some(Dec::ZERO),
                ..own
            },
        }
    }

    fn today(&self, parts: &[Part]) -> Book {
        Book {
            settings: self.book.settings.clone(),
            parts: parts.to_vec(),
            sellers: self.book.sellers.clone(),
            parcels: self.book.parcels.clone(),
            discounts: self.book.discounts.clone(),
            receipts: self.book.receipts.clone(),
            ..Book::default()
        }
    }

    /// The landed total of rows, calculated anew as a whole.
    fn plainly(&self, parts: &[Part]) -> Result<Dec, Problems> {
        let all: Vec<Part> = parts.iter().chain(self.sunk).cloned().collect();
        let book = self.today(&all);
        let rows: Vec<&Part> = book.parts.iter().collect();
        landed_rows(&book, &rows, self.jurisdiction)
    }
}
