//! A charge's amounts rounded by group, its flat amount, least and most, and the whole shared over the lines.

use super::formula::{At, B, F};
use super::prices::Prices;
use super::sheets::{Cell, Look, Page};
use super::state::{Standing, State};
use crate::rules::{Bears, ChargeOutline};
use crate::tables::{Op, Per};
use crate::units::{Dec, Overflow, Rounding};

/// Lines that are calculated together: of one item and one rate. Returned is the row of their numbers, and the lines that
/// stand for each group.
pub(super) fn groups(page: &mut Page<'_>, charge: &ChargeOutline) -> (u32, Vec<u16>) {
    let mut known: Vec<(u32, &Bears)> = Vec::new();
    let mut first: Vec<u16> = Vec::new();
    let mut numbers = Vec::new();
    for (line, (item, bears)) in (0..).zip(charge.items.iter().zip(&charge.bears)) {
        let at = known
            .iter()
            .position(|k| k.0 == *item && k.1.charges_as(bears))
            .unwrap_or_else(|| {
                known.push((*item, bears));
                first.push(line);
                known.len() - 1
            });
        numbers.push(Dec::from(u32::try_from(at + 1).unwrap_or(u32::MAX)));
    }
    let name = [
        "  reckoned together",
        "",
        "lines of one item and one rate have one number: fixed",
    ];
    (
        page.fixed(
            name,
            (Look::Step, Look::Step),
            numbers.into_iter().map(Cell::Number),
        ),
        first,
    )
}

pub(super) fn rounded(x: F, round: Option<Rounding>) -> F {
    match round {
        Some(round) => F::Round(Box::new(x), round),
        None => x,
    }
}

/// Rounds group by group, adds flat amounts, the least and the most, and shares the whole over the lines.
pub(super) fn shared(
    page: &mut Page<'_>,
    rows: &Prices,
    state: &State,
    charge: &ChargeOutline,
    (mask, base, exact): (u32, u32, u32),
    digits: u32,
    round: Option<Rounding>,
) -> Result<(u32, At), Overflow> {
    let (keys, first) = groups(page, charge);
    let amount = |p: &Page<'_>, line: u16| {
        rounded(F::Group(p.all(keys), p.all(exact), p.of(keys, line)), round)
    };
    let shares = match round {
        None => exact,
        Some(_) => {
            let amounts = page.each(
                "  amount of its group",
                "rounded as the row says",
                Look::Step,
                |p, i| amount(p, i),
            )?;
            let cells: Vec<At> = (0..page.lines).map(|line| page.of(amounts, line)).collect();
            let of = |line: u16| {
                cells
                    .get(usize::from(line))
                    .map_or(F::N(Dec::ZERO), |at| F::R(*at))
            };
            page.share("  shares", &of, exact, Some(keys), digits)?
        }
    };
    let rated = F::sum(first.iter().map(|line| amount(page, *line)));
    if charge.flat.is_none() && charge.min.is_none() && charge.max.is_none() {
        let total = page.sum("  comes to", "", Look::Sum(digits), rounded(rated, round))?;
        return Ok((shares, total));
    }
    let source = charge.stamp.row.to_string();
    let flat = charge
        .flat
        .map(|flat| page.figure("  flat amount", &source, per_words(charge.per), flat));
    let min = charge
        .min
        .map(|min| page.figure("  at least", &source, "", min));
    let max = charge
        .max
        .map(|max| page.figure("  at most", &source, "", max));
    let mut total = rated;
    if let Some(flat) = flat {
        let counted = count(page, rows, state, charge, mask);
        total = F::sum([total, F::Mul(vec![F::R(flat), counted])]);
    }
    if let Some(min) = min {
        total = F::Max(vec![total, F::R(min)]);
    }
    if let Some(max) = max {
        total = F::Min(vec![total, F::R(max)]);
    }
    let any = B::Cmp(page.total(mask), Op::Above, F::N(Dec::ZERO));
    let total = F::If(
        Box::new(any),
        Box::new(rounded(total, round)),
        Box::new(F::N(Dec::ZERO)),
    );
    let total = page.sum(
        "  comes to",
        "with the flat amount, the least and the most",
        Look::Sum(digits),
        total,
    )?;
    let weights = weights(page, rows, charge, (mask, base, exact), flat)?;
    let again = page.share(
        "  shares of the whole",
        &|_| F::R(total),
        weights,
        None,
        digits,
    )?;
    let shares = page.each(
        "  shares",
        "as above where they come to the whole already",
        Look::Step,
        |p, i| {
            let same = B::Cmp(F::R(total), Op::Equal, p.total(shares));
            F::If(
                Box::new(same),
                Box::new(F::R(p.of(shares, i))),
                Box::new(F::R(p.of(again, i))),
            )
        },
    )?;
    Ok((shares, total))
}

pub(super) fn per_words(per: Per) -> &'static str {
    match per {
        Per::Consignment => "for the parcel",
        Per::Item { .. } => "for each item",
        Per::Piece => "for each piece",
        Per::Kilogram => "for each kilogram",
    }
}

/// What a flat amount is counted by.
pub(super) fn count(
    page: &Page<'_>,
    rows: &Prices,
    state: &State,
    charge: &ChargeOutline,
    mask: u32,
) -> F {
    let masked = |row: u32| {
        F::sum((0..page.lines).map(|i| F::Mul(vec![F::R(page.of(mask, i)), F::R(page.of(row, i))])))
    };
    match charge.per {
        Per::Consignment => F::N(Dec::ONE),
        Per::Piece => masked(rows.quantity),
        Per::Kilogram => masked(state.kilograms),
        Per::Item { above } => {
            let mut items: Vec<u32> = charge.distinct.clone();
            items.sort_unstable();
            items.dedup();
            let of_item = |item: u32| {
                let lines = (0..page.lines)
                    .filter(move |i| charge.distinct.get(usize::from(*i)) == Some(&item));
                F::one_if(B::Any(lines.map(|i| B::Is(page.of(mask, i))).collect()))
            };
            let items = F::sum(items.into_iter().map(of_item));
            F::Max(vec![
                F::N(Dec::ZERO),
                F::minus(items, F::N(Dec::from(above))),
            ])
        }
    }
}

/// What the whole is shared by: an item's flat amount within the item, else the bases, else the value.
pub(super) fn weights(
    page: &mut Page<'_>,
    rows: &Prices,
    charge: &ChargeOutline,
    (mask, base, exact): (u32, u32, u32),
    flat: Option<At>,
) -> Result<u32, Overflow> {
    let value = page.each(
        "  value of the lines it works on",
        "",
        Look::Step,
        |p, i| F::Mul(vec![F::R(p.of(mask, i)), F::R(p.of(rows.goods, i))]),
    )?;
    if let (true, Some(flat)) = (charge.flat_by_item, flat) {
        return page.each(
            "  weights",
            "each item bears its own flat amount",
            Look::Step,
            |p, i| {
                let item = charge.items.get(usize::from(i));
                let mates: Vec<u16> = (0..p.lines)
                    .filter(|j| charge.items.get(usize::from(*j)) == item)
                    .collect();
                let sum = |row: u32| F::sum(mates.iter().map(|j| F::R(p.of(row, *j))));
                let by_value = F::Div(
                    Box::new(F::Mul(vec![F::R(flat), F::R(p.of(value, i))])),
                    Box::new(sum(value)),
                );
                let alike = F::Div(
                    Box::new(F::Mul(vec![F::R(flat), F::R(p.of(mask, i))])),
                    Box::new(sum(mask)),
                );
                let none = B::Cmp(sum(value), Op::Equal, F::N(Dec::ZERO));
                F::sum([
                    F::R(p.of(exact, i)),
                    F::If(Box::new(none), Box::new(alike), Box::new(by_value)),
                ])
            },
        );
    }
    page.each(
        "  weights",
        "what each line bears, else what it is taken of, else its value",
        Look::Step,
        |p, i| {
            let some = |row: u32| B::Cmp(p.total(row), Op::Unequal, F::N(Dec::ZERO));
            let by_value = F::If(
                Box::new(some(value)),
                Box::new(F::R(p.of(value, i))),
                Box::new(F::R(p.of(mask, i))),
            );
            let by_base = F::If(
                Box::new(some(base)),
                Box::new(F::R(p.of(base, i))),
                Box::new(by_value),
            );
            F::If(
                Box::new(some(exact)),
                Box::new(F::R(p.of(exact, i))),
                Box::new(by_base),
            )
        },
    )
}

/// Of a group one row counts: the first, or the least.
pub(super) fn grouped(
    page: &mut Page<'_>,
    state: &mut State,
    charge: &ChargeOutline,
    (mask, shares, total): (u32, u32, At),
) -> Result<(u32, At), Overflow> {
    let Some((group, least)) = &charge.group else {
        return Ok((shares, total));
    };
    let any = B::Cmp(page.total(mask), Op::Above, F::N(Dec::ZERO));
    let others: Vec<usize> = (0..state.standing.len())
        .filter(|at| state.standing[*at].group == *group)
        .collect();
    let active = |at: &usize| B::Is(state.standing[*at].active);
    let free = B::Not(Box::new(B::Any(others.iter().map(active).collect())));
    let counted = F::sum(others.iter().map(|at| {
        F::Mul(vec![
            F::R(state.standing[*at].active),
            F::R(state.standing[*at].total),
        ])
    }));
    let wins = if *least && !others.is_empty() {
        B::Any(vec![free, B::Cmp(F::R(total), Op::Below, counted)])
    } else {
        free
    };
    let words = if *least {
        "1 where it is the least of its group"
    } else {
        "1 where it is the first of its group"
    };
    let own = page.sum(
        &format!("  counts in {group}"),
        words,
        Look::Step,
        F::one_if(B::All(vec![any, wins])),
    )?;
    if *least {
        for at in others {
            let (slot, before) = (state.standing[at].slot, state.standing[at].active);
            let still = B::All(vec![B::Is(before), B::Not(Box::new(B::Is(own)))]);
            state.standing[at].active =
                page.sum("  the other still counts", "", Look::Step, F::one_if(still))?;
            for column in state
                .columns
                .iter_mut()
                .filter(|column| column.slot == slot)
            {
                let row = column.row;
                column.row = page.each("  the other's shares", "", Look::Step, |p, i| {
                    F::If(
                        Box::new(B::Is(own)),
                        Box::new(F::N(Dec::ZERO)),
                        Box::new(F::R(p.of(row, i))),
                    )
                })?;
            }
        }
    }
    state.standing.push(Standing {
        group: group.clone(),
        slot: charge.slot,
        total,
        active: own,
    });
    let shares = page.each(
        "  shares",
        "nought where another of its group counts",
        Look::Step,
        |p, i| F::Mul(vec![F::R(own), F::R(p.of(shares, i))]),
    )?;
    Ok((shares, total))
}
