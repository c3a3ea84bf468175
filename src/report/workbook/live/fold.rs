//! Formulas made of formulas, worked out where nothing in them moves.

use crate::report::workbook::formula::{BoolExpr, NumExpr};
use crate::tables::Op;
use crate::units::{Dec, Overflow};

/// The number of a figure that does not move.
pub(super) fn fixed(figure: &NumExpr) -> Option<Dec> {
    match figure {
        NumExpr::N(number) => Some(*number),
        _ => None,
    }
}

/// The numbers of figures none of which moves.
pub(super) fn all_fixed(figures: &[NumExpr]) -> Option<Vec<Dec>> {
    figures.iter().map(fixed).collect()
}

/// Whether all lines have one figure.
pub(super) fn alike(figures: &[NumExpr]) -> bool {
    figures.iter().all(|one| *one == figures[0])
}

pub(super) fn sure(holds: bool) -> NumExpr {
    NumExpr::N(if holds { Dec::ONE } else { Dec::ZERO })
}

/// A figure as a truth.
pub(super) fn truth(figure: &NumExpr) -> BoolExpr {
    match figure {
        NumExpr::N(number) if number.is_zero() => BoolExpr::Any(Vec::new()),
        NumExpr::N(_) => BoolExpr::All(Vec::new()),
        NumExpr::If(when, one, other) if **one == sure(true) && **other == sure(false) => {
            when.as_ref().clone()
        }
        NumExpr::R(at) => BoolExpr::Is(*at),
        other => BoolExpr::some(other.clone()),
    }
}

/// A figure where a key is other than zero, else zero.
pub(super) fn where_any(key: &NumExpr, figure: NumExpr) -> NumExpr {
    match key {
        NumExpr::N(key) if key.is_zero() => NumExpr::ZERO,
        NumExpr::N(_) => figure,
        key => NumExpr::either(BoolExpr::some(key.clone()), figure, NumExpr::ZERO),
    }
}

/// The terms of a figure as a sum.
fn terms(figure: &NumExpr) -> Vec<(bool, NumExpr)> {
    match figure {
        NumExpr::Add(terms) => terms.clone(),
        NumExpr::N(number) if number.is_zero() => Vec::new(),
        other => vec![(false, other.clone())],
    }
}

pub(in crate::report::workbook) fn plus(a: &NumExpr, b: &NumExpr) -> Result<NumExpr, Overflow> {
    Ok(match (fixed(a), fixed(b)) {
        (Some(a), Some(b)) => NumExpr::N(a.plus(b)?),
        (Some(one), None) if one.is_zero() => b.clone(),
        (None, Some(one)) if one.is_zero() => a.clone(),
        _ => NumExpr::Add(terms(a).into_iter().chain(terms(b)).collect()),
    })
}

pub(in crate::report::workbook) fn minus(a: &NumExpr, b: &NumExpr) -> Result<NumExpr, Overflow> {
    Ok(match (fixed(a), fixed(b)) {
        (Some(a), Some(b)) => NumExpr::N(a.minus(b)?),
        (None, Some(one)) if one.is_zero() => a.clone(),
        _ => NumExpr::Add(terms(a).into_iter().chain([(true, b.clone())]).collect()),
    })
}

pub(super) fn times(a: &NumExpr, b: &NumExpr) -> Result<NumExpr, Overflow> {
    Ok(match (fixed(a), fixed(b)) {
        (Some(a), Some(b)) => NumExpr::N(a.times(b)?),
        (Some(one), None) | (None, Some(one)) if one.is_zero() => NumExpr::ZERO,
        (Some(one), None) if one == Dec::ONE => b.clone(),
        (None, Some(one)) if one == Dec::ONE => a.clone(),
        _ => NumExpr::Mul(vec![a.clone(), b.clone()]),
    })
}

pub(super) fn part(a: &NumExpr, times: Dec, over: Dec) -> Result<NumExpr, Overflow> {
    if let Some(a) = fixed(a) {
        return Ok(NumExpr::N(a.times(times)?.over(over)?));
    }
    let product = if times == Dec::ONE {
        a.clone()
    } else {
        NumExpr::Mul(vec![a.clone(), NumExpr::N(times)])
    };
    Ok(if over == Dec::ONE {
        product
    } else {
        NumExpr::over(product, NumExpr::N(over))
    })
}

fn with(all: &[NumExpr], one: &NumExpr) -> Vec<NumExpr> {
    all.iter().chain([one]).cloned().collect()
}

pub(super) fn least(a: &NumExpr, b: &NumExpr) -> NumExpr {
    match (a, b) {
        (NumExpr::N(a), NumExpr::N(b)) => NumExpr::N(*a.min(b)),
        (NumExpr::Min(all), b) => NumExpr::Min(with(all, b)),
        _ => NumExpr::Min(vec![a.clone(), b.clone()]),
    }
}

pub(super) fn most(a: &NumExpr, b: &NumExpr) -> NumExpr {
    match (a, b) {
        (NumExpr::N(a), NumExpr::N(b)) => NumExpr::N(*a.max(b)),
        (NumExpr::Max(all), b) => NumExpr::Max(with(all, b)),
        _ => NumExpr::Max(vec![a.clone(), b.clone()]),
    }
}

/// A comparison; one of two fixed figures with a fixed one is asked of each of the two.
pub(super) fn compare(a: &NumExpr, op: Op, b: &NumExpr) -> NumExpr {
    if let (Some(a), Some(b)) = (fixed(a), fixed(b)) {
        return sure(op.holds(&a, &b));
    }
    if let (NumExpr::If(when, one, other), Some(_)) = (a, fixed(b))
        && fixed(one).and(fixed(other)).is_some()
    {
        let (one, other) = (compare(one, op, b), compare(other, op, b));
        return choose(&NumExpr::one_if((**when).clone()), &one, &other);
    }
    NumExpr::one_if(BoolExpr::Cmp(a.clone(), op, b.clone()))
}

/// Truths are one or zero: a fixed one leaves the other as it is, or decides.
pub(super) fn both(a: &NumExpr, b: &NumExpr) -> NumExpr {
    match (fixed(a), fixed(b)) {
        (Some(one), _) => if one.is_zero() { a } else { b }.clone(),
        (_, Some(one)) => if one.is_zero() { b } else { a }.clone(),
        _ => NumExpr::one_if(BoolExpr::All(vec![truth(a), truth(b)])),
    }
}

pub(super) fn either(a: &NumExpr, b: &NumExpr) -> NumExpr {
    match (fixed(a), fixed(b)) {
        (Some(one), _) => if one.is_zero() { b } else { a }.clone(),
        (_, Some(one)) => if one.is_zero() { a } else { b }.clone(),
        _ => NumExpr::one_if(BoolExpr::Any(vec![truth(a), truth(b)])),
    }
}

pub(super) fn not(a: &NumExpr) -> NumExpr {
    match fixed(a) {
        Some(a) => sure(a.is_zero()),
        None => NumExpr::one_if(BoolExpr::Not(Box::new(truth(a)))),
    }
}

pub(super) fn choose(when: &NumExpr, a: &NumExpr, b: &NumExpr) -> NumExpr {
    match fixed(when) {
        _ if a == b => a.clone(),
        Some(when) => if when.is_zero() { b } else { a }.clone(),
        None if *a == sure(false) && *b == sure(true) => not(when),
        None => NumExpr::either(truth(when), a.clone(), b.clone()),
    }
}
