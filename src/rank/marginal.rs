//! What a swap adds to the bill: landed totals with it and without, by the engine, and what the replaced pieces would fetch.

use std::rc::Rc;

use super::base::{Base, Looked};
use super::cure::Cure;
use super::proposal::Proposal;
use super::swap::Swap;
use crate::book::{Book, Part, Standing};
use crate::landed::{Bill, Caution, Cautions, Disputed};
use crate::text::Problems;
use crate::text::words::quoted;
use crate::units::{Dec, HomeMoney, Overflow};

/// Said where anti-dumping hangs on an origin that nobody has stated.
const ORIGIN: &str = "origin-assumed";
/// Cautions of an option's own parcel that are passed on.
const PASSED_ON: [&str; 9] = [
    ORIGIN,
    "no-rate",
    "charge-ended",
    "fee-ended",
    "freight-unknown",
    "duties-paid",
    "lithium",
    "evidence",
    "tax-over-limit",
];

/// The sums of one swap, in the destination's money.
#[derive(Debug, Clone)]
pub(super) struct Marginal {
    /// Bought on its own, in parcels of its own.
    pub(crate) alone: Dec,
    /// Added to what is being ordered.
    pub(crate) together: Dec,
    /// What the replaced pieces fetch.
    pub(crate) resale: Dec,
    /// Replaced pieces that are owned and for which nobody has said what they fetch.
    pub(crate) resale_unknown: Vec<String>,
    /// What of it rests on rows in dispute.
    pub(crate) disputed: Option<InDispute>,
    /// The bills of the build with it that are not the build's own.
    pub(crate) bills: Vec<Bill>,
    /// What must be said.
    pub(crate) cautions: Vec<Caution>,
}

/// What an option's cost together rests on that is in dispute.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InDispute {
    /// The cost together without the rows in dispute; with anti-dumping where that is only shown.
    pub together: Dec,
    /// The cost together without the rows in dispute, whatever `remedies` says; none where it is the same.
    pub(crate) undisputed: Option<Dec>,
    /// The cost together with every row, whatever `remedies` says; none where it is the same.
    pub(crate) with_disputed: Option<Dec>,
    /// The rows.
    pub rows: Vec<Disputed>,
}

impl Base<'_> {
    /// What a swap adds, net of what the replaced pieces fetch; the error is the reason why that cannot be calculated.
    pub(super) fn together(&self, proposal: &Proposal<'_>, swap: &Swap<'_>) -> Result<Dec, String> {
        priced(proposal, swap, self.book)?;
        let with = self.with(&self.changed(proposal, swap));
        let with = with.map_err(|problems| reason(&problems))?;
        let (resale, _) = resale(swap, self.book).map_err(|overflow| overflow.to_string())?;
        let added = off(proposal, resale).and_then(|off| with.minus(self.landed)?.minus(off));
        added.map_err(|overflow| overflow.to_string())
    }

    /// The same, with what it costs alone, what is in dispute about it and what must be said.
    pub(super) fn marginal(
        &self,
        proposal: &Proposal<'_>,
        swap: &Swap<'_>,
    ) -> Result<Marginal, String> {
        priced(proposal, swap, self.book)?;
        let changed = self.changed(proposal, swap);
        // With its doubts it is calculated once for both.
        let looked = self.look(&changed).map_err(|problems| reason(&problems))?;
        let with = match &looked {
            Some(looked) => looked.landed.amount(),
            None => self.with(&changed).map_err(|problems| reason(&problems))?,
        };
        let without = self
            .without(&changed)
            .map_err(|problems| reason(&problems))?;
        let (by_itself, cautions) = self
            .by_itself(&changed)
            .map_err(|problems| reason(&problems))?;
        let (resale, resale_unknown) =
            resale(swap, self.book).map_err(|overflow| overflow.to_string())?;
        let off = off(proposal, resale).map_err(|overflow| overflow.to_string())?;
        let added = |sum: Dec| sum.minus(self.landed)?.minus(off);
        let alone = by_itself.amount().plus(without).and_then(added);
        let mut found = Marginal {
            alone: alone.map_err(|overflow| overflow.to_string())?,
            together: added(with).map_err(|overflow| overflow.to_string())?,
            resale,
            resale_unknown,
            disputed: None,
            bills: Vec::new(),
            cautions,
        };
        found
            .cautions
            .retain(|caution| PASSED_ON.contains(&caution.id));
        if let Some((base, looked)) = self.looked_at.as_ref().zip(looked.as_ref()) {
            found
                .doubt((base, looked), &changed.on, off)
                .map_err(|overflow| overflow.to_string())?;
        }
        Ok(found)
    }
}

impl Marginal {
    /// Adds what is doubtful about a swap, by the build as it is and with it, less what is off its sums.
    fn doubt(
        &mut self,
        (base, looked): (&Looked, &Looked),
        bought: &[&Part],
        off: Dec,
    ) -> Result<(), Overflow> {
        if !self.cautions.iter().any(|caution| caution.id == ORIGIN) {
            self.cautions.extend(origins(looked, bought));
        }
        let bills = others(&looked.bills, &base.bills);
        self.bills = bills.map(|bill| Bill::clone(bill)).collect();
        self.disputed = in_dispute(looked, base, bought, (self.together, off))?;
        Ok(())
    }
}

/// What the parcel that bought rows join says of their origin, where the rows by themselves say nothing.
fn origins(looked: &Looked, bought: &[&Part]) -> Vec<Caution> {
    let about = |caution: &Caution| bought.iter().any(|part| caution.about.contains(&part.name));
    let said = looked.bills.iter().flat_map(|bill| &bill.cautions);
    let said = said.filter(|caution| caution.id == ORIGIN).cloned();
    let mut all = Cautions::default();
    all.extend(said.collect());
    all.into_list().into_iter().filter(about).collect()
}

/// The bills that are not among others with the same sums.
fn others<'a>(bills: &'a [Rc<Bill>], known: &'a [Rc<Bill>]) -> impl Iterator<Item = &'a Rc<Bill>> {
    bills.iter().filter(|bill| {
        !known
            .iter()
            .any(|other| other.id == bill.id && other.amounts == bill.amounts)
    })
}

/// What a swap's cost together would be without rows in dispute; none where that changes nothing.
fn in_dispute(
    looked: &Looked,
    base: &Looked,
    bought: &[&Part],
    (together, off): (Dec, Dec),
) -> Result<Option<InDispute>, Overflow> {
    let apart = |of: fn(&Looked) -> HomeMoney| -> Result<Option<Dec>, Overflow> {
        let own = of(looked).minus(of(base))?.amount().minus(off)?;
        Ok(Some(own).filter(|own| *own != together))
    };
    let (undisputed, with_disputed) = (
        apart(|looked| looked.undisputed)?,
        apart(|looked| looked.with_disputed)?,
    );
    let Some(decided) = with_disputed.or(undisputed) else {
        return Ok(None);
    };
    let own = |bill: &&Rc<Bill>| {
        bill.lines
            .iter()
            .any(|line| bought.iter().any(|part| part.name == line.part))
    };
    let bills = looked
        .bills
        .iter()
        .filter(own)
        .chain(others(&base.bills, &looked.bills));
    let rows = bills
        .flat_map(|bill| &bill.disputed)
        .filter(|one| one.counted != with_disputed.is_some())
        .cloned()
        .collect();
    Ok(Some(InDispute {
        together: decided,
        undisputed,
        with_disputed,
        rows,
    }))
}

/// A sum needs the prices of what comes and of what it makes unnecessary.
fn priced(proposal: &Proposal<'_>, swap: &Swap<'_>, book: &Book) -> Result<(), String> {
    let open = |row: &&Part| row.standing == Standing::ToOrder && row.price.is_none();
    if let Some(row) = proposal.parts().into_iter().find(open) {
        return Err(format!("no price is known for {}", quoted(&row.name)));
    }
    let mut unbought = swap
        .replaced
        .iter()
        .chain(&swap.gone)
        .copied()
        .filter(|row| swap.is_unbought(row, book));
    match unbought.find(open) {
        Some(row) => Err(format!(
            "no price is known for {}, which it makes unnecessary",
            quoted(&row.name)
        )),
        None => Ok(()),
    }
}

/// What the replaced pieces fetch that are owned, or will be: their own rows say so, for the whole row.
fn resale(swap: &Swap<'_>, book: &Book) -> Result<(Dec, Vec<String>), Overflow> {
    let owned = || {
        swap.replaced
            .iter()
            .filter(|row| !swap.is_unbought(row, book))
    };
    let sum = Dec::total(owned().filter_map(|row| row.resale))?;
    let unknown = owned()
        .filter(|row| row.resale.is_none())
        .map(|row| row.name.clone())
        .collect();
    Ok((sum, unknown))
}

/// What is off a swap's sums: what usual pieces cost is on top of everything, and what replaced pieces fetch is off it.
fn off(proposal: &Proposal<'_>, resale: Dec) -> Result<Dec, Overflow> {
    resale.minus(Cure::cost(&proposal.cures)?)
}

fn reason(problems: &Problems) -> String {
    format!(
        "what it lands at cannot be calculated: {}",
        problems.joined()
    )
}
