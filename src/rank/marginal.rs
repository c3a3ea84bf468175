//! What a swap adds to the bill: landed totals with it and without, by the engine, and what the replaced pieces would fetch.

use super::proposal::Proposal;
use super::swap::Swap;
use crate::book::{Book, Part, Role, Standing};
use crate::landed::{
    Bill, Caution, ConsignmentState, Disputed, Jurisdiction, Landed, Totals, cost_rows, group,
    landed_rows,
};
use crate::text::Problems;
use crate::text::words::quoted;
use crate::units::{Dec, Overflow};

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
    looked_at: Option<Landed>,
}

impl<'a> Base<'a> {
    /// Calculates the build as it is.
    pub(super) fn new(
        book: &'a Book,
        sunk: &'a [Part],
        jurisdiction: &'a Jurisdiction<'a>,
    ) -> Result<Base<'a>, Problems> {
        let rows: Vec<&Part> = book.build().collect();
        let own: Vec<Part> = rows.iter().map(|row| (*row).clone()).collect();
        let mut base = Base {
            book,
            jurisdiction,
            rows,
            sunk,
            landed: Dec::ZERO,
            looked_at: None,
        };
        base.landed = base.landed(&own)?;
        Ok(base)
    }

    /// As [`Base::new`], of a build that is calculated already with what is doubtful about it, so that it can be told of each
    /// option too.
    pub(super) fn doubting(
        book: &'a Book,
        sunk: &'a [Part],
        looked_at: Landed,
        jurisdiction: &'a Jurisdiction<'a>,
    ) -> Result<Base<'a>, Overflow> {
        let landed = looked_at.totals.landed()?;
        Ok(Base {
            book,
            jurisdiction,
            rows: book.build().collect(),
            sunk,
            landed: landed.amount(),
            looked_at: Some(looked_at),
        })
    }

    /// What a swap adds; the error is the reason why that cannot be calculated.
    pub(super) fn marginal(
        &self,
        proposal: &Proposal<'_>,
        swap: &Swap<'_>,
    ) -> Result<Marginal, String> {
        priced(proposal, swap, self.book)?;
        let bought = self.bought(proposal);
        let stays = |row: &&&Part| !swap.is_unbought(row, self.book);
        let kept: Vec<Part> = self
            .rows
            .iter()
            .filter(stays)
            .map(|row| (*row).clone())
            .collect();
        let both: Vec<Part> = kept.iter().chain(&bought).cloned().collect();
        // With its doubts it is calculated once for both.
        let looked = self
            .looked_at
            .as_ref()
            .map(|base| Ok((base, self.look(&both)?)))
            .transpose()
            .map_err(|problems| reason(&problems))?;
        let with = match &looked {
            Some((_, looked)) => looked
                .totals
                .landed()
                .map_err(|overflow| overflow.to_string())?
                .amount(),
            None => self.landed(&both).map_err(|problems| reason(&problems))?,
        };
        let without = self.landed(&kept).map_err(|problems| reason(&problems))?;
        let own = self.today(&bought);
        let rows: Vec<&Part> = own.parts.iter().collect();
        let by_itself =
            cost_rows(&own, &rows, self.jurisdiction).map_err(|problems| reason(&problems))?;
        let (resale, resale_unknown) =
            resale(swap, self.book).map_err(|overflow| overflow.to_string())?;
        let added = |sum: Dec| sum.minus(self.landed)?.minus(resale);
        let itself = by_itself.totals.landed();
        let alone = itself.and_then(|sum| added(sum.amount().plus(without)?));
        let alone = alone.map_err(|overflow| overflow.to_string())?;
        let together = added(with).map_err(|overflow| overflow.to_string())?;
        let mut cautions: Vec<Caution> = by_itself
            .cautions
            .into_iter()
            .filter(|caution| PASSED_ON.contains(&caution.id))
            .collect();
        let (mut disputed, mut bills) = (None, Vec::new());
        if let Some((base, looked)) = &looked {
            if !cautions.iter().any(|caution| caution.id == ORIGIN) {
                cautions.extend(origins(looked, &bought));
            }
            bills = others(&looked.bills, &base.bills).cloned().collect();
            disputed = in_dispute(looked, base, &bought, together, resale)
                .map_err(|overflow| overflow.to_string())?;
        }
        Ok(Marginal {
            alone,
            together,
            resale,
            resale_unknown,
            disputed,
            bills,
            cautions,
        })
    }

    /// The landed cost of rows with all that is doubtful about it.
    fn look(&self, parts: &[Part]) -> Result<Landed, Problems> {
        let all: Vec<Part> = parts.iter().chain(self.sunk).cloned().collect();
        let book = self.today(&all);
        let rows: Vec<&Part> = book.parts.iter().collect();
        cost_rows(&book, &rows, self.jurisdiction)
    }

    /// The rows of a proposal that money is still to be spent on, and what lies in their boxes.
    fn bought(&self, proposal: &Proposal<'_>) -> Vec<Part> {
        let due = |part: &&Part| matches!(part.standing, Standing::ToOrder | Standing::Bundled);
        proposal
            .parts()
            .into_iter()
            .filter(due)
            .map(|part| self.adopted(part))
            .collect()
    }

    /// A row that comes, as a row of the build. One that would fall into a parcel ordered at another time travels in a parcel
    /// of its own; one that is owned costs nothing more.
    pub(super) fn adopted(&self, part: &Part) -> Part {
        let own = Part {
            role: Role::Build,
            ..part.clone()
        };
        match part.standing {
            Standing::ToOrder if self.taken(part) => Part {
                parcel: "new order".to_owned(),
                ..own
            },
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

    /// Whether the parcel that a row would travel in was ordered at another time.
    fn taken(&self, part: &Part) -> bool {
        let all: Vec<&Part> = self.rows.iter().copied().chain(self.sunk).collect();
        let parcels = group(self.book, &all, self.jurisdiction, &mut Problems::new());
        let same = |row: &&Part| row.seller == part.seller && row.parcel == part.parcel;
        parcels
            .iter()
            .any(|parcel| parcel.kind != ConsignmentState::ToOrder && parcel.rows.iter().any(same))
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

    fn landed(&self, parts: &[Part]) -> Result<Dec, Problems> {
        let all: Vec<Part> = parts.iter().chain(self.sunk).cloned().collect();
        let book = self.today(&all);
        let rows: Vec<&Part> = book.parts.iter().collect();
        landed_rows(&book, &rows, self.jurisdiction)
    }
}

/// What the parcel that bought rows join says of their origin, where the rows by themselves say nothing.
fn origins(looked: &Landed, bought: &[Part]) -> Vec<Caution> {
    let about = |caution: &&Caution| bought.iter().any(|part| caution.about.contains(&part.name));
    looked
        .cautions
        .iter()
        .filter(|caution| caution.id == ORIGIN)
        .filter(about)
        .cloned()
        .collect()
}

/// The bills that are not among others with the same sums.
fn others<'a>(bills: &'a [Bill], known: &'a [Bill]) -> impl Iterator<Item = &'a Bill> {
    bills.iter().filter(|bill| {
        !known
            .iter()
            .any(|other| other.id == bill.id && other.amounts == bill.amounts)
    })
}

/// What a swap's cost together would be without rows in dispute; none where that changes nothing.
fn in_dispute(
    looked: &Landed,
    base: &Landed,
    bought: &[Part],
    together: Dec,
    resale: Dec,
) -> Result<Option<InDispute>, Overflow> {
    let apart = |of: fn(&Totals) -> Dec| -> Result<Option<Dec>, Overflow> {
        let own = of(&looked.totals).minus(of(&base.totals))?.minus(resale)?;
        Ok(Some(own).filter(|own| *own != together))
    };
    let (undisputed, with_disputed) = (
        apart(|t| t.landed_undisputed.amount())?,
        apart(|t| t.landed_with_disputed.amount())?,
    );
    let Some(decided) = with_disputed.or(undisputed) else {
        return Ok(None);
    };
    let own = |bill: &&Bill| {
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

fn reason(problems: &Problems) -> String {
    format!("what it lands at cannot be reckoned: {}", problems.joined())
}
