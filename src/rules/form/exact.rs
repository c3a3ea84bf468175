//! The exact reading: decimals, to 28 digits.

use std::collections::BTreeMap;

use super::algebra::{Algebra, Cells, Shared, evaluate};
use super::maker::{compared, truth};
use super::{Form, Id, Input};
use crate::rules::parcel::Parcel;
use crate::tables;
use crate::units::{Dec, Overflow, Rate, Rounding, share, share_exact};

/// Where decimals find what a form is not made of: the figures of lines, and the rate of exchange.
pub(crate) trait Supply {
    /// A figure of a line; a figure that it does not have is an error of the form.
    fn figure(&self, input: Input, line: usize) -> Result<Dec, Overflow>;

    /// From the seller's money to the destination's.
    fn rate(&self) -> Rate;
}

/// Reads a form in decimals.
pub(crate) fn read_exactly<S: Supply + ?Sized>(
    form: &Form,
    supply: &S,
) -> Result<Cells<Dec>, Overflow> {
    evaluate(form, &mut Exact(supply))
}

impl Supply for Parcel {
    fn figure(&self, input: Input, line: usize) -> Result<Dec, Overflow> {
        let Some(line) = self.lines.get(line) else {
            return Ok(Dec::ZERO);
        };
        Ok(match input {
            Input::List => line.list.amount(),
            Input::Goods => line.goods.amount(),
            Input::Freight => line.freight.amount(),
            Input::Insurance => line.insurance.amount(),
            Input::Kilograms => line.packed.kilograms()?,
            Input::Pieces => Dec::from(line.pieces),
            Input::Grams => match line.unit_mass {
                Some(mass) => mass.times(line.pieces)?.0,
                None => Dec::ZERO,
            },
            Input::Sale(_) => return Err(Overflow),
        })
    }

    fn rate(&self) -> Rate {
        self.customs
    }
}

/// Decimals, with the figures that somebody supplies.
pub(super) struct Exact<'a, S: Supply + ?Sized>(pub(super) &'a S);

impl<S: Supply + ?Sized> Algebra for Exact<'_, S> {
    type Number = Dec;
    type Fault = Overflow;

    fn fixed(&mut self, _: Id, value: Dec) -> Result<Dec, Overflow> {
        Ok(value)
    }

    fn input(&mut self, _: Id, input: Input, line: usize) -> Result<Dec, Overflow> {
        self.0.figure(input, line)
    }

    fn home(&mut self, _: Id, a: &Dec) -> Result<Dec, Overflow> {
        self.0.rate().convert(*a)
    }

    fn plus(&mut self, _: (Id, Id, Id), a: &Dec, b: &Dec) -> Result<Dec, Overflow> {
        a.plus(*b)
    }

    fn minus(&mut self, _: (Id, Id, Id), a: &Dec, b: &Dec) -> Result<Dec, Overflow> {
        a.minus(*b)
    }

    fn times(&mut self, _: Id, a: &Dec, b: &Dec) -> Result<Dec, Overflow> {
        a.times(*b)
    }

    fn part(&mut self, _: Id, a: &Dec, times: Dec, over: Dec) -> Result<Dec, Overflow> {
        a.times(times)?.over(over)
    }

    fn over(&mut self, _: Id, a: &Dec, b: &Dec) -> Result<Dec, Overflow> {
        if b.settled().is_zero() {
            Ok(Dec::ZERO)
        } else {
            a.over(*b)
        }
    }

    fn least(&mut self, _: (Id, Id, Id), a: &Dec, b: &Dec) -> Result<Dec, Overflow> {
        Ok(*a.min(b))
    }

    fn most(&mut self, _: (Id, Id, Id), a: &Dec, b: &Dec) -> Result<Dec, Overflow> {
        Ok(*a.max(b))
    }

    fn round(&mut self, _: (Id, Id), a: &Dec, rounding: Rounding) -> Result<Dec, Overflow> {
        rounding.apply(*a)
    }

    fn compare(
        &mut self,
        _: (Id, Id, Id),
        a: &Dec,
        op: tables::Op,
        b: &Dec,
    ) -> Result<Dec, Overflow> {
        Ok(compared(a, op, b))
    }

    fn both(&mut self, a: &Dec, b: &Dec) -> Dec {
        truth(!a.is_zero() && !b.is_zero())
    }

    fn either(&mut self, a: &Dec, b: &Dec) -> Dec {
        truth(!a.is_zero() || !b.is_zero())
    }

    fn not(&mut self, a: &Dec) -> Dec {
        truth(a.is_zero())
    }

    fn choose(&mut self, _: (Id, Id, Id), when: &Dec, a: &Dec, b: &Dec) -> Result<Dec, Overflow> {
        Ok(if when.is_zero() { *b } else { *a })
    }

    fn total(&mut self, _: Id, lines: &[Dec]) -> Result<Dec, Overflow> {
        Dec::total(lines.iter().copied())
    }

    fn mates(&mut self, _: Id, keys: &[Dec], lines: &[Dec]) -> Result<Vec<Dec>, Overflow> {
        let mut sums: BTreeMap<Dec, Dec> = BTreeMap::new();
        for (key, one) in keys.iter().zip(lines).filter(|(key, _)| !key.is_zero()) {
            let sum = sums.entry(*key).or_insert(Dec::ZERO);
            *sum = sum.plus(*one)?;
        }
        // Goods without a key have no mates.
        let of = |key: &Dec| sums.get(key).copied().unwrap_or(Dec::ZERO);
        Ok(keys.iter().map(of).collect())
    }

    fn distinct(&mut self, _: Id, keys: &[Dec]) -> Result<Dec, Overflow> {
        let found: std::collections::BTreeSet<&Dec> =
            keys.iter().filter(|key| !key.is_zero()).collect();
        Ok(Dec::from(u32::try_from(found.len()).map_err(|_| Overflow)?))
    }

    fn spread(&mut self, _: Id, shared: Shared<'_, Dec>) -> Result<Vec<Dec>, Overflow> {
        let mut groups: BTreeMap<Dec, Vec<usize>> = BTreeMap::new();
        for (line, key) in shared
            .keys
            .iter()
            .enumerate()
            .filter(|(_, key)| !key.is_zero())
        {
            groups.entry(*key).or_default().push(line);
        }
        let mut parts = vec![Dec::ZERO; shared.keys.len()];
        for lines in groups.values() {
            let weights: Vec<Dec> = lines.iter().map(|line| shared.weights[*line]).collect();
            let whole = lines.first().map_or(Dec::ZERO, |line| shared.whole[*line]);
            for (line, part) in lines.iter().zip(share(whole, &weights, shared.digits)?) {
                parts[*line] = part;
            }
        }
        Ok(parts)
    }

    fn settle(
        &mut self,
        _: Id,
        whole: &Dec,
        parts: &[Vec<Dec>],
        digits: u32,
    ) -> Result<Vec<Vec<Dec>>, Overflow> {
        let lines = parts.first().map_or(0, Vec::len);
        let by_line: Vec<Dec> = (0..lines)
            .flat_map(|line| parts.iter().map(move |part| part[line]))
            .collect();
        let settled = share_exact(*whole, &by_line, digits)?;
        Ok((0..parts.len())
            .map(|nth| {
                settled
                    .iter()
                    .skip(nth)
                    .step_by(parts.len())
                    .copied()
                    .collect()
            })
            .collect())
    }
}
