//! Discounts in their order: which hold, what each takes, and what the lines are left with.

use crate::book::{Discount, Pays, Scope, Worth};
use crate::units::{Date, Dec, Overflow, Rounding, share};

/// The goods of one line while discounts are taken.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Goods {
    /// Price times quantity.
    pub list: Dec,
    /// What lowers the price.
    pub off: Dec,
    /// What an earlier order or points pay.
    pub credit: Dec,
}

impl Goods {
    fn left(&self) -> Result<Dec, Overflow> {
        self.list.minus(self.off)?.minus(self.credit)
    }
}

/// The freight while discounts are taken.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Carriage {
    /// What the seller asks, less what lowers it.
    pub asked: Dec,
    /// What an earlier order or points pay of it.
    pub credit: Dec,
}

/// A discount that was used, and what it took.
#[derive(Debug, Clone)]
pub(super) struct Used<'a> {
    /// The discount.
    pub discount: &'a Discount,
    /// What it took, in the seller's money.
    pub taken: Dec,
}

/// Takes every discount that holds from the lines and the freight. `names` are the lines' parts; `spend` is all that
/// is bought of the seller before any discount.
pub(super) fn take<'a>(
    discounts: &[&'a Discount],
    names: &[&str],
    spend: Dec,
    day: Date,
    digits: u32,
    goods: &mut [Goods],
    freight: &mut Carriage,
) -> Result<Vec<Used<'a>>, Overflow> {
    let mut holding: Vec<&Discount> = discounts
        .iter()
        .copied()
        .filter(|d| d.span.holds(day) && d.min_spend.is_none_or(|m| spend >= m))
        .collect();
    holding.sort_by(|a, b| turn(a).cmp(&turn(b)));
    let chosen = best_of_groups(&holding, names, digits, goods, *freight)?;
    let mut used = Vec::new();
    for discount in chosen {
        let taken = one(discount, names, digits, goods, freight)?;
        used.push(Used { discount, taken });
    }
    Ok(used)
}

/// The turn of a discount: its order, then its code, then all else that makes a difference, never its row.
pub(super) fn turn(discount: &Discount) -> impl Ord + '_ {
    let (percent, amount) = match discount.worth {
        Worth::Share(percent) => (Some(percent), None),
        Worth::Amount(amount) => (None, Some(amount)),
    };
    let limits = (
        discount.max_off,
        discount.min_spend,
        discount.pays == Pays::Credit,
        &discount.group,
    );
    (
        discount.order,
        &discount.code,
        discount.scope,
        &discount.part,
        percent,
        amount,
        limits,
    )
}

/// Of each group, the one that saves most taken in its turn; ties go by code.
fn best_of_groups<'a>(
    holding: &[&'a Discount],
    names: &[&str],
    digits: u32,
    goods: &[Goods],
    freight: Carriage,
) -> Result<Vec<&'a Discount>, Overflow> {
    let mut chosen: Vec<&Discount> = holding.to_vec();
    let mut groups: Vec<&str> = holding
        .iter()
        .map(|d| d.group.as_str())
        .filter(|g| !g.is_empty())
        .collect();
    groups.sort_unstable();
    groups.dedup();
    for group in groups {
        let mut best: Option<(Dec, &Discount)> = None;
        for candidate in holding.iter().copied().filter(|d| d.group == group) {
            let others = chosen.iter().copied().filter(|d| d.group != group);
            let (mut trial, mut freight) = (goods.to_vec(), freight);
            let mut order: Vec<&Discount> = others.chain(std::iter::once(candidate)).collect();
            order.sort_by(|a, b| turn(a).cmp(&turn(b)));
            let mut saved = Dec::ZERO;
            for discount in order {
                saved = saved.plus(one(discount, names, digits, &mut trial, &mut freight)?)?;
            }
            if best.is_none_or(|(most, _)| saved > most) {
                best = Some((saved, candidate));
            }
        }
        chosen.retain(|d| d.group != group || best.is_some_and(|(_, best)| std::ptr::eq(best, *d)));
    }
    Ok(chosen)
}

/// Whether a discount is on the goods of this part.
pub(super) fn covers(discount: &Discount, part: &str) -> bool {
    match discount.scope {
        Scope::Item => discount.part.as_deref() == Some(part),
        Scope::Basket => true,
        Scope::Freight => false,
    }
}

/// Takes one discount: rounded half up once, never below zero, shared by value.
fn one(
    discount: &Discount,
    names: &[&str],
    digits: u32,
    goods: &mut [Goods],
    freight: &mut Carriage,
) -> Result<Dec, Overflow> {
    if discount.scope == Scope::Freight {
        let taken = worth(discount, freight.asked.minus(freight.credit)?, digits)?;
        match discount.pays {
            Pays::Price => freight.asked = freight.asked.minus(taken)?,
            Pays::Credit => freight.credit = freight.credit.plus(taken)?,
        }
        return Ok(taken);
    }
    let covered: Vec<usize> = (0..goods.len())
        .filter(|at| names.get(*at).is_some_and(|name| covers(discount, name)))
        .collect();
    let left = covered
        .iter()
        .map(|at| goods[*at].left())
        .collect::<Result<Vec<_>, _>>()?;
    let taken = worth(discount, Dec::total(left.iter().copied())?, digits)?;
    if taken.is_zero() {
        return Ok(taken);
    }
    for (at, part) in covered.into_iter().zip(share(taken, &left, digits)?) {
        let line = &mut goods[at];
        match discount.pays {
            Pays::Price => line.off = line.off.plus(part)?,
            Pays::Credit => line.credit = line.credit.plus(part)?,
        }
    }
    Ok(taken)
}

fn worth(discount: &Discount, base: Dec, digits: u32) -> Result<Dec, Overflow> {
    let full = match discount.worth {
        Worth::Share(percent) => percent.of(base)?,
        Worth::Amount(amount) => amount,
    };
    let capped = discount
        .max_off
        .map_or(full, |most| full.min(most))
        .min(base);
    Ok(Rounding::minor(digits).apply(capped)?.min(base))
}
