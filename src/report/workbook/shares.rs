//! Amounts shared by largest remainder: rounded down, and a unit more for those of which most was left over.

use super::formula::{At, Block, BoolExpr, NumExpr};
use super::page::{FIRST, Page};
use super::refused::Made;
use super::sheets::Look;
use crate::tables::Op;
use crate::units::{Dec, Mode, Rounding};

/// How an amount is shared over the lines.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sharing {
    /// The row of what it is shared by.
    pub(super) weights: u32,
    /// The row of the groups' numbers; none where all lines are one group.
    pub(super) keys: Option<u32>,
    /// The decimals of the parts.
    pub(super) digits: u32,
    /// Whether what is shared is a whole number of these units.
    pub(super) whole_units: bool,
}

impl Sharing {
    /// Over all lines, by the weights of a row.
    pub(super) fn by(weights: u32, digits: u32) -> Sharing {
        Sharing {
            weights,
            keys: None,
            digits,
            whole_units: true,
        }
    }

    /// The sum of a row over the lines of one group.
    fn group(self, p: &Page<'_>, row: u32, line: u16) -> NumExpr {
        match self.keys {
            Some(keys) => NumExpr::Group(p.all(keys), p.all(row), p.of(keys, line)),
            None => p.total(row),
        }
    }

    /// What lines in a group have; the others have nothing.
    fn inside(self, p: &Page<'_>, line: u16, figure: NumExpr) -> NumExpr {
        match self.keys {
            Some(keys) => {
                let grouped = BoolExpr::some(NumExpr::R(p.of(keys, line)));
                NumExpr::either(grouped, figure, NumExpr::ZERO)
            }
            None => figure,
        }
    }

    /// What a line gets: its part rounded down, and a unit more where its rank lies within what is left of the amount.
    fn part(
        self,
        p: &Page<'_>,
        (amount, given): (NumExpr, NumExpr),
        (down, rests): (u32, u32),
        line: u16,
    ) -> NumExpr {
        let unit = Dec::new(1, self.digits);
        let keys = self.keys.map(|keys| p.all(keys));
        let rank = NumExpr::Rank(keys, p.all(rests), p.of(rests, line));
        let left = NumExpr::minus(amount, given);
        if self.whole_units {
            return topped(p.of(down, line), rank, left.minor(self.digits), unit);
        }
        let left = left.minor(CUT);
        let units = floor(left.clone(), unit);
        let part = topped(p.of(down, line), rank, units.clone(), unit);
        // what is less than a unit goes to the first of its group
        let odd = NumExpr::minus(left, units);
        let odd = match keys {
            Some(keys) => {
                let before = NumExpr::Rank(Some(keys), keys, p.at(keys.from.row, FIRST + line));
                NumExpr::either(BoolExpr::none(before), odd, NumExpr::ZERO)
            }
            None if line == 0 => odd,
            None => return part,
        };
        NumExpr::sum([part, odd])
    }
}

/// Decimals at which what a double holds too much or too little is cut off.
const CUT: u32 = 9;

/// Down to a whole number of units.
fn floor(x: NumExpr, unit: Dec) -> NumExpr {
    let (mode, step) = (Mode::Floor, unit);
    NumExpr::Round(Box::new(x), Rounding { mode, step })
}

/// What was left over, with the last digits of a double cut off.
fn rest(exact: NumExpr, floor: At) -> NumExpr {
    NumExpr::minus(exact, NumExpr::R(floor)).minor(CUT)
}

/// What was rounded down, and a unit more where its rank, counted in units, lies within what is left.
fn topped(floor: At, rank: NumExpr, left: NumExpr, unit: Dec) -> NumExpr {
    let within = BoolExpr::Cmp(NumExpr::Mul(vec![rank, NumExpr::N(unit)]), Op::Below, left);
    let more = NumExpr::either(within, NumExpr::N(unit), NumExpr::ZERO);
    NumExpr::sum([NumExpr::R(floor), more])
}

impl Page<'_> {
    /// Shares amounts over the lines: `amount` gives each line the amount of its group. Lines whose key is zero get nothing;
    /// weights that are all zero share evenly.
    pub(super) fn share(
        &mut self,
        what: &str,
        amount: &dyn Fn(u16) -> NumExpr,
        sharing: Sharing,
    ) -> Made<u32> {
        let unit = Dec::new(1, sharing.digits);
        let own = sharing.weights;
        let how = "alike where all are zero";
        let weights = self.each("  weights", how, Look::Step, |p, i| {
            let none = BoolExpr::none(sharing.group(p, own, i));
            let alike = sharing.inside(p, i, NumExpr::N(Dec::ONE));
            NumExpr::either(none, alike, NumExpr::R(p.of(own, i)))
        })?;
        let exact = self.each("  exact share", "by weight", Look::Step, |p, i| {
            let part = NumExpr::Mul(vec![amount(i), NumExpr::R(p.of(weights, i))]);
            NumExpr::over(part, sharing.group(p, weights, i))
        })?;
        let down = self.each("  rounded down", "", Look::Step, |p, i| {
            floor(NumExpr::R(p.of(exact, i)), unit)
        })?;
        let rests = self.each("  left over", "", Look::Step, |p, i| {
            rest(NumExpr::R(p.of(exact, i)), p.of(down, i))
        })?;
        let how = "shared by largest remainder; ties in the order of the parts";
        self.each(what, how, Look::Money(sharing.digits), |p, i| {
            let sums = (amount(i), sharing.group(p, down, i));
            sharing.inside(p, i, sharing.part(p, sums, (down, rests), i))
        })
    }

    /// Brings exact parts, each a row of all lines, to whole units that add up to a whole. Returned is the first of the rows, which
    /// follow each other in the order of the parts.
    pub(super) fn settle(
        &mut self,
        names: &[&str],
        exact: &[u32],
        whole: &NumExpr,
        digits: u32,
    ) -> Made<u32> {
        let unit = Dec::new(1, digits);
        let parts = || (0..).zip(names).zip(exact);
        let down = self.row;
        for ((_, name), exact) in parts() {
            self.each("  rounded down", name, Look::Step, |p, i| {
                floor(NumExpr::R(p.of(*exact, i)), unit)
            })?;
        }
        let rests = self.row;
        for ((k, name), exact) in parts() {
            self.each("  left over", name, Look::Step, |p, i| {
                rest(NumExpr::R(p.of(*exact, i)), p.of(down + k, i))
            })?;
        }
        let given = NumExpr::Total(self.block(down, rests - 1));
        let left = NumExpr::minus(whole.clone(), given).minor(digits);
        let left = self.sum("  left to be shared", "", Look::Step, left)?;
        let all = self.block(rests, rests + (rests - down) - 1);
        let first = self.row;
        for ((k, name), _) in parts() {
            let how = "shared by largest remainder";
            self.each(name, how, Look::Money(digits), |p, i| {
                let rank = NumExpr::Rank(None, all, p.of(rests + k, i));
                topped(p.of(down + k, i), rank, NumExpr::R(left), unit)
            })?;
        }
        Ok(first)
    }

    /// Shares one sum over others, each a row of this page with one cell, by what stands in those that are open; all of it is the
    /// last's where none is. Returned are the cells of the shares.
    pub(super) fn share_down(
        &mut self,
        names: &[&str],
        (open, whole): (&[At], At),
        digits: u32,
    ) -> Made<Vec<At>> {
        let unit = Dec::new(1, digits);
        let all = |cells: &[At]| Block {
            from: cells[0],
            to: cells[cells.len() - 1],
        };
        let together = || NumExpr::Total(all(open));
        let exact = self.down(names, "  exact share", |k| {
            let part = NumExpr::Mul(vec![NumExpr::R(whole), NumExpr::R(open[k])]);
            let part = NumExpr::over(part, together());
            if k + 1 < open.len() {
                return part;
            }
            NumExpr::either(BoolExpr::none(together()), NumExpr::R(whole), part)
        })?;
        let down = self.down(names, "  rounded down", |k| {
            floor(NumExpr::R(exact[k]), unit)
        })?;
        let rests = self.down(names, "  left over", |k| {
            rest(NumExpr::R(exact[k]), down[k])
        })?;
        self.down(names, "  of the one sum", |k| {
            let left = NumExpr::minus(NumExpr::R(whole), NumExpr::Total(all(&down)));
            let rank = NumExpr::Rank(None, all(&rests), rests[k]);
            topped(down[k], rank, left.minor(digits), unit)
        })
    }

    /// A row with one formula for each name; returned are the cells.
    pub(super) fn down(
        &mut self,
        names: &[&str],
        what: &str,
        formula: impl Fn(usize) -> NumExpr,
    ) -> Made<Vec<At>> {
        let rows = names.iter().enumerate();
        rows.map(|(k, name)| self.sum(what, name, Look::Step, formula(k)))
            .collect()
    }
}
