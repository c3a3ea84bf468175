//! The running amounts of one consignment: every name a sum can use, line by line, in the destination's money.

use std::collections::BTreeMap;

use super::parcel::{Line, Parcel};
use crate::tables::{Factor, Kind, PRICE_NAMES, SumExpr};
use crate::units::{Dec, Overflow, Rate};

/// Where a name's amounts stand: its column in the ledger.
pub(super) type Slot = usize;

/// The names of a program, each with its column; a kind has several.
#[derive(Debug, Clone, Default)]
pub(super) struct Names {
    columns: BTreeMap<String, Vec<Slot>>,
    count: usize,
}

impl Names {
    /// The parts of the price, which are always there.
    pub(super) fn new() -> Names {
        let mut names = Names::default();
        for name in PRICE_NAMES {
            names.add(name);
        }
        names
    }

    /// The column of a name, made when it is new.
    pub(super) fn add(&mut self, name: &str) -> Slot {
        if let Some([slot]) = self.columns.get(name).map(Vec::as_slice) {
            return *slot;
        }
        self.count += 1;
        self.columns.insert(name.to_owned(), vec![self.count - 1]);
        self.count - 1
    }

    /// Counts a row's column under its kind.
    pub(super) fn add_to_kind(&mut self, kind: Kind, slot: Slot) {
        let columns = self.columns.entry(kind.name().to_owned()).or_default();
        if !columns.contains(&slot) {
            columns.push(slot);
        }
    }

    /// Whether a sum counts rows of a kind.
    pub(super) fn counts(&self, sum: &SumExpr, kind: Kind) -> bool {
        let of_kind = self.columns.get(kind.name()).map_or(&[][..], Vec::as_slice);
        let counted = |name: &str| {
            self.columns
                .get(name)
                .is_some_and(|slots| slots.iter().any(|slot| of_kind.contains(slot)))
        };
        sum.terms.iter().any(|term| counted(&term.name))
    }

    /// A sum with its names found; names the tables have refused already count as nothing.
    pub(super) fn resolve(&self, sum: &SumExpr) -> Resolved {
        let terms = sum.terms.iter().map(|term| ResolvedTerm {
            minus: term.minus,
            factor: term.factor.clone(),
            slots: self.columns.get(&term.name).cloned().unwrap_or_default(),
        });
        Resolved {
            terms: terms.collect(),
        }
    }

    /// The column of a schedule, when a rule names it.
    pub(super) fn schedules(&self) -> impl Iterator<Item = (&str, Slot)> {
        self.columns
            .iter()
            .filter_map(|(name, slots)| Some((name.strip_prefix("freight:")?, *slots.first()?)))
    }

    /// The column of a row's id.
    pub(super) fn slot(&self, id: &str) -> Option<Slot> {
        self.columns
            .get(id)
            .and_then(|slots| slots.first())
            .copied()
    }

    pub(super) fn len(&self) -> usize {
        self.count
    }
}

/// A sum whose names are columns.
#[derive(Debug, Clone, Default)]
pub(super) struct Resolved {
    terms: Vec<ResolvedTerm>,
}

/// One term: whether it is taken off, its factor, its columns.
#[derive(Debug, Clone)]
pub(super) struct ResolvedTerm {
    pub(super) minus: bool,
    pub(super) factor: Factor,
    pub(super) slots: Vec<Slot>,
}

impl Resolved {
    /// Its terms, in order.
    pub(super) fn terms(&self) -> &[ResolvedTerm] {
        &self.terms
    }
}

/// All amounts, column by column.
#[derive(Debug, Clone, Default)]
pub(super) struct Ledger {
    lines: usize,
    amounts: Vec<Dec>,
}

impl Ledger {
    /// Opens the books with the parts of the price, converted line by line by the rate.
    pub(super) fn open(names: &Names, parcel: &Parcel, rate: Rate) -> Result<Ledger, Overflow> {
        let lines = parcel.lines.len();
        let mut ledger = Ledger {
            lines,
            amounts: vec![Dec::ZERO; names.len() * lines],
        };
        for (at, line) in parcel.lines.iter().enumerate() {
            let freight = rate.to_home(line.freight)?;
            let border = freight.part(parcel.border_freight)?;
            let parts = [
                rate.to_home(line.list)?,
                rate.to_home(line.goods)?,
                freight,
                border,
                freight.minus(border)?,
                rate.to_home(line.insurance)?,
            ];
            for (slot, amount) in parts.into_iter().enumerate() {
                ledger.set(slot, at, amount.amount());
            }
        }
        Ok(ledger)
    }

    /// Writes one amount.
    pub(super) fn set(&mut self, slot: Slot, line: usize, amount: Dec) {
        let at = slot
            .checked_mul(self.lines)
            .and_then(|at| at.checked_add(line));
        if let Some(cell) = at.and_then(|at| self.amounts.get_mut(at)) {
            *cell = amount;
        }
    }

    /// Reads one amount.
    pub(super) fn get(&self, slot: Slot, line: usize) -> Dec {
        self.amounts
            .get(slot * self.lines + line)
            .copied()
            .unwrap_or(Dec::ZERO)
    }

    /// A sum over one line.
    pub(super) fn of_line(
        &self,
        sum: &Resolved,
        line: usize,
        facts: &Line,
    ) -> Result<Dec, Overflow> {
        let mut total = Dec::ZERO;
        for term in &sum.terms {
            let mut amount = Dec::ZERO;
            for slot in &term.slots {
                amount = amount.plus(self.get(*slot, line))?;
            }
            let (over, under) = factor_of(&term.factor, facts);
            let amount = if over == under {
                amount
            } else {
                amount.times(over)?.over(under)?
            };
            total = if term.minus {
                total.minus(amount)?
            } else {
                total.plus(amount)?
            };
        }
        Ok(total)
    }

    /// A sum over several lines.
    pub(super) fn over(
        &self,
        sum: &Resolved,
        lines: impl IntoIterator<Item = usize>,
        parcel: &Parcel,
    ) -> Result<Dec, Overflow> {
        lines
            .into_iter()
            .try_fold(Dec::ZERO, |total, at| match parcel.lines.get(at) {
                Some(line) => total.plus(self.of_line(sum, at, line)?),
                None => Ok(total),
            })
    }
}

/// The factor of a term for a line, as a figure over a figure; a fact that is no figure counts as zero.
fn factor_of(factor: &Factor, line: &Line) -> (Dec, Dec) {
    match factor {
        Factor::Fraction(over, under) => (*over, *under),
        Factor::Trait(name) => (line.figure(name).unwrap_or(Dec::ZERO), Dec::ONE),
    }
}
