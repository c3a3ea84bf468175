//! Formulas as a tree, calculated here exactly for the value that is stored beside them.

use std::collections::BTreeSet;

use super::refused::{Made, Refused};
use crate::tables::Op;
use crate::units::{Dec, Mode, Overflow, Rounding};

/// A cell: sheet, row, column, from zero.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct At {
    pub(super) sheet: usize,
    pub(super) row: u32,
    pub(super) col: u16,
}

/// A block of cells of one sheet, both ends in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Block {
    pub(super) from: At,
    pub(super) to: At,
}

/// What a formula asks of the cells that it names.
pub(super) trait Cells {
    /// The number in a cell.
    fn number(&self, at: At) -> Dec;

    /// The name of a sheet.
    fn name(&self, sheet: usize) -> &str;

    /// The numbers of a block whose key is that of one cell, added up.
    fn grouped(&self, keys: Block, numbers: Block, own: At) -> Made<Dec>;

    /// How many cells of a block with the key of one of them have a greater number, or the same and stand before; the key of
    /// a cell stands in its column, in the row of keys.
    fn rank(&self, keys: Option<Block>, rests: Block, own: At) -> Made<Dec>;
}

impl Block {
    pub(super) fn cells(self) -> impl Iterator<Item = At> {
        // Column by column, as shares are counted.
        (self.from.col..=self.to.col).flat_map(move |col| {
            (self.from.row..=self.to.row).map(move |row| At {
                row,
                col,
                ..self.from
            })
        })
    }
}

/// A formula for a number.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum NumExpr {
    /// A number in the formula itself.
    N(Dec),
    /// A cell.
    R(At),
    /// Terms, each added or taken off.
    Add(Vec<(bool, NumExpr)>),
    /// A product.
    Mul(Vec<NumExpr>),
    /// A quotient; zero where the divisor is.
    Div(Box<NumExpr>, Box<NumExpr>),
    /// One or the other.
    If(Box<BoolExpr>, Box<NumExpr>, Box<NumExpr>),
    /// All numbers of a block.
    Total(Block),
    /// The greatest.
    Max(Vec<NumExpr>),
    /// The least.
    Min(Vec<NumExpr>),
    /// Rounded as a rule says.
    Round(Box<NumExpr>, Rounding),
    /// The numbers of a row whose key is this one, added up: keys, numbers, key.
    Group(Block, Block, At),
    /// How many cells of a block with the same key have a greater rest, or the same and stand before: keys, rests, own cell.
    Rank(Option<Block>, Block, At),
    /// How many different numbers other than zero a block holds.
    Distinct(Block),
    /// What nobody has said: whatever hangs on it is not known either.
    Unknown,
}

/// A condition.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum BoolExpr {
    /// The cell holds 1.
    Is(At),
    /// Two numbers compared.
    Cmp(NumExpr, Op, NumExpr),
    /// All of them; none is true.
    All(Vec<BoolExpr>),
    /// Any of them; none is false.
    Any(Vec<BoolExpr>),
    /// Not so.
    Not(Box<BoolExpr>),
}

impl NumExpr {
    pub(super) const ZERO: NumExpr = NumExpr::N(Dec::ZERO);

    pub(super) fn minus(a: NumExpr, b: NumExpr) -> NumExpr {
        NumExpr::Add(vec![(false, a), (true, b)])
    }

    pub(super) fn over(a: NumExpr, b: NumExpr) -> NumExpr {
        NumExpr::Div(Box::new(a), Box::new(b))
    }

    /// The first where it holds, else the second.
    pub(super) fn either(when: BoolExpr, a: NumExpr, b: NumExpr) -> NumExpr {
        NumExpr::If(Box::new(when), Box::new(a), Box::new(b))
    }

    /// Rounded half up to this many decimals.
    pub(super) fn minor(self, digits: u32) -> NumExpr {
        NumExpr::Round(Box::new(self), Rounding::minor(digits))
    }

    pub(super) fn sum(terms: impl IntoIterator<Item = NumExpr>) -> NumExpr {
        NumExpr::Add(terms.into_iter().map(|term| (false, term)).collect())
    }

    pub(super) fn one_if(b: BoolExpr) -> NumExpr {
        NumExpr::either(b, NumExpr::N(Dec::ONE), NumExpr::ZERO)
    }

    /// Its value.
    pub(super) fn value(&self, cells: &dyn Cells) -> Made<Dec> {
        match self {
            NumExpr::N(number) => Ok(*number),
            NumExpr::R(at) => Ok(cells.number(*at)),
            NumExpr::Add(terms) => terms.iter().try_fold(Dec::ZERO, |sum, (minus, term)| {
                let value = term.value(cells)?;
                Ok(if *minus {
                    sum.minus(value)?
                } else {
                    sum.plus(value)?
                })
            }),
            NumExpr::Mul(all) => {
                let mut all = all.iter();
                all.try_fold(Dec::ONE, |so_far, one| Ok(so_far.times(one.value(cells)?)?))
            }
            NumExpr::Div(a, b) => {
                let under = b.value(cells)?;
                if under.is_zero() {
                    Ok(Dec::ZERO)
                } else {
                    Ok(a.value(cells)?.over(under)?)
                }
            }
            NumExpr::If(b, one, other) => {
                if b.holds(cells)? {
                    one.value(cells)
                } else {
                    other.value(cells)
                }
            }
            NumExpr::Total(block) => Ok(Dec::total(block.cells().map(|at| cells.number(at)))?),
            NumExpr::Max(all) => values(all, cells)?.into_iter().max().ok_or_else(of_nothing),
            NumExpr::Min(all) => values(all, cells)?.into_iter().min().ok_or_else(of_nothing),
            NumExpr::Round(inner, rounding) => Ok(rounding.apply(inner.value(cells)?)?),
            NumExpr::Group(keys, numbers, own) => cells.grouped(*keys, *numbers, *own),
            NumExpr::Rank(keys, rests, own) => cells.rank(*keys, *rests, *own),
            NumExpr::Distinct(block) => {
                let all = block.cells().map(|at| cells.number(at));
                let found: BTreeSet<Dec> = all.filter(|one| !one.is_zero()).collect();
                Ok(Dec::from(u32::try_from(found.len()).map_err(|_| Overflow)?))
            }
            NumExpr::Unknown => Err(Refused::defect("a formula asks for what nobody has said")),
        }
    }

    /// About how long it is as text, and never less.
    pub(super) fn length(&self) -> usize {
        let all = |terms: &[NumExpr]| terms.iter().map(|one| one.length() + 1).sum::<usize>();
        match self {
            NumExpr::N(number) => 4 + number.to_string().len(),
            NumExpr::Unknown => 4,
            NumExpr::R(_) => 24,
            NumExpr::Add(terms) => 2 + terms.iter().map(|(_, one)| one.length() + 1).sum::<usize>(),
            NumExpr::Mul(terms) => 2 + all(terms),
            NumExpr::Div(a, b) if matches!(**b, NumExpr::N(_)) => 3 + a.length() + b.length(),
            NumExpr::Div(a, b) => 11 + a.length() + 2 * b.length(),
            NumExpr::If(b, one, other) => 6 + b.length() + one.length() + other.length(),
            NumExpr::Total(_) => 40,
            NumExpr::Max(terms) | NumExpr::Min(terms) => 5 + all(terms),
            NumExpr::Round(inner, rounding) => {
                let times = match rounding.mode {
                    Mode::HalfEven => 4,
                    Mode::HalfDown => 2,
                    _ => 1,
                };
                80 + times * (30 + inner.length())
            }
            NumExpr::Group(..) | NumExpr::Distinct(_) => 110,
            NumExpr::Rank(..) => 260,
        }
    }
}

fn values(all: &[NumExpr], cells: &dyn Cells) -> Made<Vec<Dec>> {
    all.iter().map(|one| one.value(cells)).collect()
}

fn of_nothing() -> Refused {
    Refused::defect("a formula asks for the greatest or the least of nothing")
}

impl BoolExpr {
    /// Whether a figure is other than zero.
    pub(super) fn some(figure: NumExpr) -> BoolExpr {
        BoolExpr::Cmp(figure, Op::Unequal, NumExpr::ZERO)
    }

    /// Whether it is zero.
    pub(super) fn none(figure: NumExpr) -> BoolExpr {
        BoolExpr::Cmp(figure, Op::Equal, NumExpr::ZERO)
    }

    /// Whether it holds.
    pub(super) fn holds(&self, cells: &dyn Cells) -> Made<bool> {
        Ok(match self {
            BoolExpr::Is(at) => cells.number(*at) == Dec::ONE,
            BoolExpr::Cmp(a, op, b) => op.holds(
                &a.value(cells)?.round_to(9, Mode::HalfUp),
                &b.value(cells)?.round_to(9, Mode::HalfUp),
            ),
            BoolExpr::All(all) => !BoolExpr::found(all, false, cells)?,
            BoolExpr::Any(all) => BoolExpr::found(all, true, cells)?,
            BoolExpr::Not(inner) => !inner.holds(cells)?,
        })
    }

    /// Whether one of some conditions holds, or does not.
    fn found(all: &[BoolExpr], wanted: bool, cells: &dyn Cells) -> Made<bool> {
        for one in all {
            if one.holds(cells)? == wanted {
                return Ok(true);
            }
        }
        Ok(false)
    }

    fn length(&self) -> usize {
        let all = |terms: &[BoolExpr]| 8 + terms.iter().map(|one| one.length() + 1).sum::<usize>();
        match self {
            BoolExpr::Is(_) => 26,
            BoolExpr::Cmp(a, _, b) => 20 + a.length() + b.length(),
            BoolExpr::All(terms) | BoolExpr::Any(terms) => all(terms),
            BoolExpr::Not(inner) => 5 + inner.length(),
        }
    }
}
