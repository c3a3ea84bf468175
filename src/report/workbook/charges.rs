//! The rules at the border, row by row in their order: whether each applies, what it is taken of, what it comes to. Limits
//! and conditions on sums are live; which rows of rates apply is fixed, and the row is named.

use super::Common;
use super::formula::{At, B, F};
use super::prices::{Prices, evened};
use super::shares::{grouped, shared};
use super::sheets::{Cell, Look, Page};
use super::state::{Column, State};
use crate::landed::Working;
use crate::rules::{Bears, ChargeOutline, Outline, ReliefOutline};
use crate::tables::{Drop, Kind, Op, TestPer};
use crate::units::{Dec, Overflow, Rounding};

/// What the rules come to: rows by kind, and tax at the sale in the seller's money.
pub(super) struct Due {
    rows: Vec<(Kind, u32)>,
    /// Rows of tax at the sale, in the seller's money.
    pub(super) paid: Vec<u32>,
}

impl Due {
    /// A line's charges of a kind.
    pub(super) fn of(&self, page: &Page<'_>, kind: Kind, line: u16) -> F {
        F::sum(
            self.rows
                .iter()
                .filter(|(own, _)| *own == kind)
                .map(|(_, row)| F::R(page.of(*row, line))),
        )
    }
}

/// Writes the rules of a parcel.
pub(super) fn charges(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    rows: &Prices,
) -> Result<Due, Overflow> {
    if work.home {
        return Ok(Due {
            rows: Vec::new(),
            paid: Vec::new(),
        });
    }
    page.head(&format!(
        "What is due at the border, in {}",
        common.currency
    ));
    let mut state = open(page, work, common, rows)?;
    for step in &work.steps {
        match step {
            Outline::Charge(charge) => one_charge(page, work, common, rows, &mut state, charge)?,
            Outline::Relief(relief) => one_relief(page, &mut state, relief, rows)?,
        }
    }
    own_fee_at_last(page, work, common, rows, &mut state)?;
    let due = state
        .columns
        .iter()
        .map(|column| (column.kind, column.row))
        .collect();
    Ok(Due {
        rows: due,
        paid: state
            .columns
            .iter()
            .filter_map(|column| column.paid)
            .collect(),
    })
}

/// The parts of the price at the customs rate.
fn open(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    rows: &Prices,
) -> Result<State, Overflow> {
    let border = page.figure(
        "freight up to the border, percent",
        "border_freight.csv",
        "",
        work.border.0,
    );
    let look = Look::Step;
    let convert = |x: F| match &work.customs {
        Some(quote) => common.convert(quote, work.paid_in, x),
        None => x,
    };
    let near = |p: &Page<'_>, row: u32, i: u16| {
        F::Div(
            Box::new(F::Mul(vec![F::R(p.of(row, i)), F::R(border)])),
            Box::new(F::N(Dec::HUNDRED)),
        )
    };
    let sellers_border = page.each("freight.border, the seller's money", "", look, |p, i| {
        near(p, rows.freight, i)
    })?;
    let sellers_inland = page.each("freight.inland, the seller's money", "", look, |p, i| {
        F::minus(F::R(p.of(rows.freight, i)), F::R(p.of(sellers_border, i)))
    })?;
    let sellers = vec![
        rows.list,
        rows.goods,
        rows.freight,
        sellers_border,
        sellers_inland,
        rows.insurance,
    ];
    let mut home = Vec::new();
    for (name, from) in [
        ("list", rows.list),
        ("goods", rows.goods),
        ("freight", rows.freight),
    ] {
        home.push(page.each(
            name,
            "at the customs rate of sheet 2 exchange, exact",
            look,
            |p, i| convert(F::R(p.of(from, i))),
        )?);
    }
    let freight = home.get(2).copied().unwrap_or(rows.freight);
    let part = page.each("freight.border", "", look, |p, i| near(p, freight, i))?;
    home.push(part);
    home.push(page.each("freight.inland", "", look, |p, i| {
        F::minus(F::R(p.of(freight, i)), F::R(p.of(part, i)))
    })?);
    home.push(page.each("insurance", "at the customs rate", look, |p, i| {
        convert(F::R(p.of(rows.insurance, i)))
    })?);
    let mut price: Vec<(usize, u32)> = (0..).zip(home).collect();
    for (name, slot, shares) in &work.schedules {
        let name = [
            name.as_str(),
            "freight.csv",
            "the schedule's price at the packed mass as it was, shared by mass: fixed",
        ];
        price.push((
            *slot,
            page.fixed(
                name,
                (Look::Step, Look::Input),
                shares.iter().copied().map(Cell::Number),
            ),
        ));
    }
    let kilograms = page.each("packed mass, kg", "", look, |p, i| {
        F::Div(
            Box::new(F::R(p.of(rows.packed, i))),
            Box::new(F::N(Dec::THOUSAND)),
        )
    })?;
    let name = [
        "where tax is taken",
        "",
        "at the border, until a limit says otherwise",
    ];
    let at_border = std::iter::repeat_with(|| Cell::Label("at-border".to_owned()));
    let collect = page.fixed(name, (Look::Step, Look::Step), at_border);
    Ok(State {
        price,
        sellers: (0..).zip(sellers).collect(),
        columns: Vec::new(),
        dropped: Vec::new(),
        collect,
        standing: Vec::new(),
        fee_taken: Vec::new(),
        kilograms,
    })
}

fn mask_of(
    page: &mut Page<'_>,
    state: &State,
    charge: &ChargeOutline,
    rows: &Prices,
) -> Result<u32, Overflow> {
    let drops = |gone: &Drop| match gone {
        Drop::Kind(kind) => *kind == charge.kind,
        Drop::Charge(id) => *id == charge.id,
    };
    let reliefs: Vec<u32> = state
        .dropped
        .iter()
        .filter(|(gone, _)| drops(gone))
        .map(|(_, row)| *row)
        .collect();
    let none = Vec::new();
    page.each(
        "  works on",
        "1 where its condition holds and no limit drops it",
        Look::Step,
        |p, i| {
            let at = usize::from(i);
            let own = state.when(p, charge.holds.get(at).unwrap_or(&none), i, rows);
            let free = reliefs
                .iter()
                .map(|row| B::Not(Box::new(B::Is(p.of(*row, i)))));
            F::one_if(B::All(std::iter::once(own).chain(free).collect()))
        },
    )
}

fn one_charge(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    rows: &Prices,
    state: &mut State,
    charge: &ChargeOutline,
) -> Result<(), Overflow> {
    let source = format!("{}: {}", charge.stamp.row, charge.stamp.source);
    page.name(
        &charge.id.replace('_', " "),
        &source,
        &charge.words,
        Look::Head,
    );
    page.row += 1;
    let all = mask_of(page, state, charge, rows)?;
    if charge.carriers && work.handling.is_some() {
        return own_fee(
            page,
            work,
            common,
            rows,
            state,
            (all, &charge.id, charge.slot),
        );
    }
    let mask = page.each(
        "  bears it",
        "1 where a rate of the tables applies; which one is fixed",
        Look::Step,
        |p, i| match charge.bears.get(usize::from(i)) {
            None | Some(Bears::Nothing) => F::N(Dec::ZERO),
            _ => F::R(p.of(all, i)),
        },
    )?;
    let at_sale = charge.kind == Kind::SaleTax;
    let digits = if at_sale {
        work.paid_in.digits()
    } else {
        common.currency.digits()
    };
    let round = if at_sale && work.paid_in != common.currency {
        Some(Rounding::minor(digits))
    } else {
        charge.round
    };
    let base = page.each("  taken of", "", Look::Step, |p, i| match &charge.of {
        Some(terms) => F::Mul(vec![
            F::R(p.of(mask, i)),
            state.of_line(p, terms, i, at_sale),
        ]),
        None => F::N(Dec::ZERO),
    })?;
    let exact = exact_row(page, common, rows, state, charge, (mask, base))?;
    let (shares, total) = shared(
        page,
        rows,
        state,
        charge,
        (mask, base, exact),
        digits,
        round,
    )?;
    let (shares, _) = grouped(page, state, charge, (mask, shares, total))?;
    enter(page, work, common, state, charge, shares)
}

/// What each line comes to before rounding.
fn exact_row(
    page: &mut Page<'_>,
    common: &Common,
    rows: &Prices,
    state: &State,
    charge: &ChargeOutline,
    (mask, base): (u32, u32),
) -> Result<u32, Overflow> {
    page.each(
        "  exact",
        "percent of it, by mass and by piece as sheet 3 rates says",
        Look::Step,
        |p, i| {
            let own = F::R(p.of(base, i));
            let Some(Bears::Rate(rate, _)) = charge.bears.get(usize::from(i)) else {
                return if charge.of.is_some() {
                    own
                } else {
                    F::N(Dec::ZERO)
                };
            };
            let found = common.rate(rate, &charge.stamp);
            let of = |col: u16| {
                F::R(At {
                    sheet: common.rates,
                    row: found,
                    col,
                })
            };
            let mut all = vec![F::Div(
                Box::new(F::Mul(vec![own, of(1)])),
                Box::new(F::N(Dec::HUNDRED)),
            )];
            if !rate.per_kg.is_zero() {
                all.push(F::Mul(vec![
                    F::R(p.of(mask, i)),
                    of(2),
                    F::R(p.of(state.kilograms, i)),
                ]));
            }
            if !rate.per_piece.is_zero() {
                all.push(F::Mul(vec![
                    F::R(p.of(mask, i)),
                    of(3),
                    F::R(p.of(rows.quantity, i)),
                ]));
            }
            F::sum(all)
        },
    )
}

/// Enters a charge's shares into its column; rows of one id exclude each other line by line and are added.
fn enter(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    state: &mut State,
    charge: &ChargeOutline,
    shares: u32,
) -> Result<(), Overflow> {
    let at_sale = charge.kind == Kind::SaleTax;
    let digits = common.currency.digits();
    let label = charge.id.replace('_', " ");
    let known = state
        .columns
        .iter()
        .position(|column| column.slot == charge.slot);
    let before = known.map(|at| state.columns[at].row);
    let row = page.each(&label, charge.kind.name(), Look::Money(digits), |p, i| {
        let own = F::R(p.of(shares, i));
        let own = match (&work.customs, at_sale) {
            (Some(quote), true) => common.convert(quote, work.paid_in, own),
            _ => own,
        };
        F::sum(
            before
                .map(|row| F::R(p.of(row, i)))
                .into_iter()
                .chain([own]),
        )
    })?;
    let paid = if at_sale {
        let before = known.and_then(|at| state.columns[at].paid);
        Some(match before {
            None => shares,
            Some(before) => page.each("  in the seller's money", "", Look::Step, |p, i| {
                F::sum([F::R(p.of(before, i)), F::R(p.of(shares, i))])
            })?,
        })
    } else {
        None
    };
    match known {
        Some(at) => {
            state.columns[at].row = row;
            state.columns[at].paid = paid;
        }
        None => state.columns.push(Column {
            slot: charge.slot,
            kind: charge.kind,
            id: charge.id.clone(),
            row,
            paid,
        }),
    }
    Ok(())
}

/// The fee of the seller's row in place of the table's: a percent of what was advanced, or the least; once.
fn own_fee(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    rows: &Prices,
    state: &mut State,
    (mask, id, slot): (u32, &str, usize),
) -> Result<(), Overflow> {
    let Some(handling) = &work.handling else {
        return Ok(());
    };
    let digits = common.currency.digits();
    let source = handling.row.to_string();
    let percent = page.figure(
        "  the carrier's own fee, percent",
        &source,
        "of duty, anti-dumping and tax at the border",
        handling.percent.0,
    );
    let least = page.figure("  at least", &source, "", handling.least);
    let free = state
        .fee_taken
        .iter()
        .map(|at| B::Not(Box::new(B::Is(*at))));
    let any = B::Cmp(page.total(mask), Op::Above, F::N(Dec::ZERO));
    let taken = page.sum(
        "  is taken here",
        "once for the parcel",
        Look::Step,
        F::one_if(B::All(std::iter::once(any).chain(free).collect())),
    )?;
    let borne = page.each("  advanced", "", Look::Step, |p, i| {
        F::Mul(vec![F::R(p.of(mask, i)), state.advanced(p, i)])
    })?;
    let share = F::Div(
        Box::new(F::Mul(vec![page.total(borne), F::R(percent)])),
        Box::new(F::N(Dec::HUNDRED)),
    );
    let fee = F::Mul(vec![
        F::R(taken),
        F::Round(
            Box::new(F::Max(vec![share, F::R(least)])),
            Rounding::minor(digits),
        ),
    ]);
    let fee = page.sum("  comes to", "", Look::Sum(digits), fee)?;
    let chosen = page.each(
        "  borne by",
        "what was advanced, else the value",
        Look::Step,
        |p, i| {
            let none = B::Cmp(p.total(borne), Op::Equal, F::N(Dec::ZERO));
            let value = F::Mul(vec![F::R(p.of(mask, i)), F::R(p.of(rows.goods, i))]);
            F::If(
                Box::new(none),
                Box::new(value),
                Box::new(F::R(p.of(borne, i))),
            )
        },
    )?;
    let weights = evened(page, chosen)?;
    let row = page.share(&id.replace('_', " "), &|_| F::R(fee), weights, None, digits)?;
    state.fee_taken.push(taken);
    state.columns.push(Column {
        slot,
        kind: Kind::Fee,
        id: id.to_owned(),
        row,
        paid: None,
    });
    Ok(())
}

/// Where no row of the table stands for the carrier's fee and something was advanced, the seller's own fee comes last.
fn own_fee_at_last(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    rows: &Prices,
    state: &mut State,
) -> Result<(), Overflow> {
    if work.handling.is_none() {
        return Ok(());
    }
    page.name(
        "carriers fee",
        "the seller's row",
        "where no row of the tables stands for it",
        Look::Head,
    );
    page.row += 1;
    let all: Vec<F> = (0..page.lines).map(|i| state.advanced(page, i)).collect();
    let mask = page.each(
        "  works on",
        "all, where anything was advanced",
        Look::Step,
        |_, _| F::one_if(B::Cmp(F::sum(all.clone()), Op::Unequal, F::N(Dec::ZERO))),
    )?;
    own_fee(
        page,
        work,
        common,
        rows,
        state,
        (mask, "carriers_fee", usize::MAX),
    )
}

/// A limit: what it tests, whether it holds, what it drops.
fn one_relief(
    page: &mut Page<'_>,
    state: &mut State,
    relief: &ReliefOutline,
    rows: &Prices,
) -> Result<(), Overflow> {
    let source = format!("{}: {}", relief.stamp.row, relief.stamp.source);
    page.name(
        &format!("limit: {}", relief.id.replace('_', " ")),
        &source,
        &relief.words,
        Look::Head,
    );
    page.row += 1;
    let limit = page.figure(
        "  the limit",
        &relief.stamp.row.to_string(),
        "in the destination's money",
        relief.limit,
    );
    let none = Vec::new();
    let picked = page.each(
        "  looks at",
        "1 where its condition holds",
        Look::Step,
        |p, i| {
            F::one_if(state.when(
                p,
                relief.holds.get(usize::from(i)).unwrap_or(&none),
                i,
                rows,
            ))
        },
    )?;
    let tested = page.each("  tests", "", Look::Step, |p, i| {
        let value = F::Mul(vec![
            F::R(p.of(picked, i)),
            state.of_line(p, &relief.tests, i, false),
        ]);
        if relief.per == TestPer::Piece {
            F::Div(Box::new(value), Box::new(F::R(p.of(rows.quantity, i))))
        } else {
            value
        }
    })?;
    let holds = page.each(
        "  holds",
        "1 where the sum keeps to the limit",
        Look::Step,
        |p, i| {
            let value = if relief.per == TestPer::Consignment {
                p.total(tested)
            } else {
                F::R(p.of(tested, i))
            };
            F::one_if(B::All(vec![
                B::Is(p.of(picked, i)),
                B::Cmp(value, relief.op, F::R(limit)),
            ]))
        },
    )?;
    for gone in &relief.drops {
        let matches = |column: &Column| match gone {
            Drop::Kind(kind) => column.kind == *kind,
            Drop::Charge(id) => column.id == *id,
        };
        for column in state.columns.iter_mut().filter(|column| matches(column)) {
            let cut = |page: &mut Page<'_>, row: u32| {
                page.each(
                    &format!("  {} left", column.id.replace('_', " ")),
                    "nought where the limit holds",
                    Look::Step,
                    |p, i| {
                        F::If(
                            Box::new(B::Is(p.of(holds, i))),
                            Box::new(F::N(Dec::ZERO)),
                            Box::new(F::R(p.of(row, i))),
                        )
                    },
                )
            };
            column.row = cut(page, column.row)?;
            column.paid = column.paid.map(|paid| cut(page, paid)).transpose()?;
        }
        state.dropped.push((gone.clone(), holds));
    }
    if let Some(collect) = relief.collect {
        let row = page.row;
        page.name("where tax is taken", "", "by this limit", Look::Step);
        for line in 0..page.lines {
            let (at, before) = (page.of(row, line), page.of(state.collect, line));
            let when = B::Is(page.of(holds, line));
            page.sheets.word(at, when, collect.name(), before)?;
        }
        page.row += 1;
        state.collect = row;
    }
    Ok(())
}
