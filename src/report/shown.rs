//! A landed cost in the money it is shown in, so that what is shown adds up there too: the total is converted once, shared by
//! largest remainder over columns and parcels, and each parcel's columns over its lines.

use super::show::Show;
use crate::landed::{Bill, ChargeBreakdown, Landed, Totals};
use crate::units::{Dec, Overflow, share_exact};

/// The sums that a landed cost is made of.
const COLUMNS: usize = 10;

/// Rows beyond which no chain of moves is looked for; a row may then be a minor unit beside its own conversion.
const CHAINED: usize = 200;

type Row = [Dec; COLUMNS];

fn cells(a: &ChargeBreakdown) -> Row {
    let off = a.discount.negated();
    [
        a.goods,
        off,
        a.freight,
        a.insurance,
        a.duty,
        a.remedy,
        a.tax_at_sale,
        a.tax_at_border,
        a.handling,
        a.card_fee,
    ]
}

fn amounts(row: Row) -> ChargeBreakdown {
    let [
        goods,
        off,
        freight,
        insurance,
        duty,
        remedy,
        tax_at_sale,
        tax_at_border,
        handling,
        card_fee,
    ] = row;
    ChargeBreakdown {
        goods,
        discount: off.negated(),
        freight,
        insurance,
        duty,
        remedy,
        tax_at_sale,
        tax_at_border,
        handling,
        card_fee,
    }
}

fn sum(row: &Row) -> Result<Dec, Overflow> {
    Dec::total(row.iter().copied())
}

fn columns_of(rows: &[Row]) -> Result<Row, Overflow> {
    let mut sums = [Dec::ZERO; COLUMNS];
    for (at, own) in sums.iter_mut().enumerate() {
        *own = Dec::total(rows.iter().map(|row| row[at]))?;
    }
    Ok(sums)
}

/// A list of shares as a row.
fn as_row(shares: &[Dec]) -> Row {
    std::array::from_fn(|at| shares.get(at).copied().unwrap_or(Dec::ZERO))
}

/// A landed cost whose sums are in the money of `show`, in whole minor units: lines add up to parcels, parcels and what is held
/// to the total, and the columns of each to what it lands at. It is to be shown as it is (`Show::as_it_is`).
pub fn shown(landed: &Landed, show: &Show) -> Result<Landed, Overflow> {
    let digits = show.currency.digits();
    let mut all = landed.clone();
    let mut exact = landed
        .bills
        .iter()
        .map(|bill| exactly(&bill.amounts, show))
        .collect::<Result<Vec<Row>, _>>()?;
    exact.push(exactly(
        &ChargeBreakdown {
            goods: landed.totals.held,
            ..ChargeBreakdown::default()
        },
        show,
    )?);
    let total = show.rounded(landed.totals.landed()?)?;
    let columns = as_row(&share_exact(total, &columns_of(&exact)?, digits)?);
    let mut rows = settled(&exact, columns, total, digits)?;
    let held = rows.pop().unwrap_or([Dec::ZERO; COLUMNS])[0];
    for (bill, row) in all.bills.iter_mut().zip(rows) {
        put_bill(bill, row, show)?;
    }
    let paid = landed
        .held
        .iter()
        .map(|held| show.exactly(held.paid.unwrap_or(Dec::ZERO)))
        .collect::<Result<Vec<_>, _>>()?;
    for (own, part) in all.held.iter_mut().zip(share_exact(held, &paid, digits)?) {
        own.paid = own.paid.map(|_| part);
        (own.sent_back, own.refunded) = (show.rounded(own.sent_back)?, show.rounded(own.refunded)?);
    }
    all.totals = Totals {
        amounts: amounts(columns),
        held,
        ..totals(&landed.totals, total, show)?
    };
    undisputed(&mut all, landed, show)?;
    Ok(all)
}

fn exactly(a: &ChargeBreakdown, show: &Show) -> Result<Row, Overflow> {
    let mut row = cells(a);
    for cell in &mut row {
        *cell = show.exactly(*cell)?;
    }
    Ok(row)
}

/// One bill's sums and those of its lines.
fn put_bill(bill: &mut Bill, row: Row, show: &Show) -> Result<(), Overflow> {
    let digits = show.currency.digits();
    let exact = bill
        .lines
        .iter()
        .map(|line| exactly(&line.amounts, show))
        .collect::<Result<Vec<Row>, _>>()?;
    for (line, own) in bill
        .lines
        .iter_mut()
        .zip(settled(&exact, row, sum(&row)?, digits)?)
    {
        line.amounts = amounts(own);
    }
    bill.amounts = amounts(row);
    let due = exactly(&bill.in_price, show)?;
    let in_price = show.rounded(bill.in_price.landed()?)?;
    bill.in_price = amounts(as_row(&share_exact(in_price, &due, digits)?));
    bill.intrinsic_value = show.rounded(bill.intrinsic_value)?;
    bill.customs_value = show.rounded(bill.customs_value)?;
    for limit in &mut bill.limits {
        (limit.amount, limit.value) = (show.rounded(limit.amount)?, show.rounded(limit.value)?);
        limit.left = limit.amount.minus(limit.value)?;
    }
    if let Some((_, other)) = &mut bill.otherwise {
        *other = show.rounded(*other)?;
    }
    Ok(())
}

/// What is spent and to pay adds up to the total wherever it does in the destination's money.
fn totals(t: &Totals, total: Dec, show: &Show) -> Result<Totals, Overflow> {
    let digits = show.currency.digits();
    let parts = [t.spent, t.to_pay_seller, t.to_pay_carrier];
    let mut exact = Vec::with_capacity(parts.len());
    for part in parts {
        exact.push(show.exactly(part)?);
    }
    let shared = if Dec::total(parts)? == t.landed()? {
        share_exact(total, &exact, digits)?
    } else {
        let to_pay = share_exact(
            show.rounded(t.to_pay)?,
            exact.get(1..).unwrap_or_default(),
            digits,
        )?;
        std::iter::once(show.rounded(t.spent)?)
            .chain(to_pay)
            .collect()
    };
    let part = |at: usize| shared.get(at).copied().unwrap_or(Dec::ZERO);
    let (spent, to_pay_seller, to_pay_carrier) = (part(0), part(1), part(2));
    let (tags, replacement) = (show.rounded(t.tags)?, show.rounded(t.replacement)?);
    Ok(Totals {
        spent,
        to_pay_seller,
        to_pay_carrier,
        to_pay: to_pay_seller.plus(to_pay_carrier)?,
        tags,
        replacement,
        ..t.clone()
    })
}

/// What is in dispute, shared over the bills so that without it they add up too.
fn undisputed(all: &mut Landed, landed: &Landed, show: &Show) -> Result<(), Overflow> {
    let total = all.totals.landed()?;
    let apart = |of: fn(&Bill) -> Dec, whole: Dec| -> Result<(Dec, Vec<Dec>), Overflow> {
        let own = |bill: &Bill| show.exactly(of(bill).minus(bill.amounts.landed()?)?);
        let exact = landed
            .bills
            .iter()
            .map(own)
            .collect::<Result<Vec<_>, _>>()?;
        let whole = show.rounded(whole)?;
        Ok((
            whole,
            share_exact(whole.minus(total)?, &exact, show.currency.digits())?,
        ))
    };
    let (without, less) = apart(
        |bill| bill.landed_undisputed,
        landed.totals.landed_undisputed,
    )?;
    let (with, more) = apart(
        |bill| bill.landed_with_disputed,
        landed.totals.landed_with_disputed,
    )?;
    for ((bill, less), more) in all.bills.iter_mut().zip(less).zip(more) {
        let landed = bill.amounts.landed()?;
        (bill.landed_undisputed, bill.landed_with_disputed) =
            (landed.plus(less)?, landed.plus(more)?);
    }
    (
        all.totals.landed_undisputed,
        all.totals.landed_with_disputed,
    ) = (without, with);
    Ok(())
}

/// Brings rows of exact cells to whole minor units: each column adds up to its sum, no cell is a minor unit or more beside its
/// exact figure, and a row is as near to its own as that allows.
fn settled(exact: &[Row], columns: Row, total: Dec, digits: u32) -> Result<Vec<Row>, Overflow> {
    let mut found = vec![[Dec::ZERO; COLUMNS]; exact.len()];
    for (at, column) in columns.into_iter().enumerate() {
        let own: Vec<Dec> = exact.iter().map(|row| row[at]).collect();
        for (row, part) in found.iter_mut().zip(share_exact(column, &own, digits)?) {
            row[at] = part;
        }
    }
    let wanted = exact.iter().map(sum).collect::<Result<Vec<_>, _>>()?;
    let wanted = share_exact(total, &wanted, digits)?;
    let mut over = Vec::with_capacity(found.len());
    for (row, wanted) in found.iter().zip(wanted) {
        over.push(sum(row)?.minus(wanted)?);
    }
    let mut moves = Moves {
        found,
        over,
        exact,
        step: Dec::new(1, digits),
    };
    moves.direct()?;
    moves.chained()?;
    Ok(moves.found)
}

/// Moves of a minor unit within a column, from a row that has too much to one that has too little.
struct Moves<'a> {
    found: Vec<Row>,
    /// What each row is above what it should come to.
    over: Vec<Dec>,
    exact: &'a [Row],
    step: Dec,
}

impl Moves<'_> {
    fn is_up(&self, row: usize, column: usize) -> bool {
        self.found[row][column] > self.exact[row][column]
    }

    fn is_down(&self, row: usize, column: usize) -> bool {
        self.found[row][column] < self.exact[row][column]
    }

    fn shift(&mut self, column: usize, from: usize, to: usize) -> Result<(), Overflow> {
        self.found[from][column] = self.found[from][column].minus(self.step)?;
        self.found[to][column] = self.found[to][column].plus(self.step)?;
        self.over[from] = self.over[from].minus(self.step)?;
        self.over[to] = self.over[to].plus(self.step)?;
        Ok(())
    }

    /// Pairs of rows that one move brings nearer.
    fn direct(&mut self) -> Result<(), Overflow> {
        for column in 0..COLUMNS {
            let rows = 0..self.found.len();
            let from: Vec<usize> = rows
                .clone()
                .filter(|row| self.over[*row].is_positive() && self.is_up(*row, column))
                .collect();
            let to: Vec<usize> = rows
                .filter(|row| self.over[*row].is_negative() && self.is_down(*row, column))
                .collect();
            for (from, to) in from.into_iter().zip(to) {
                self.shift(column, from, to)?;
            }
        }
        Ok(())
    }

    /// Rows that only a chain of moves brings nearer.
    fn chained(&mut self) -> Result<(), Overflow> {
        if self.found.len() > CHAINED {
            return Ok(());
        }
        for start in 0..self.found.len() {
            while self.over[start].is_positive() {
                let Some(chain) = self.chain(start) else {
                    break;
                };
                for (column, from, to) in chain {
                    self.shift(column, from, to)?;
                }
            }
        }
        Ok(())
    }

    /// The shortest chain of moves from a row that has too much to one that has too little.
    fn chain(&self, start: usize) -> Option<Vec<(usize, usize, usize)>> {
        let mut came: Vec<Option<(usize, usize)>> = vec![None; self.found.len()];
        let mut queue = vec![start];
        let mut at = 0;
        while let Some(from) = queue.get(at).copied() {
            at += 1;
            for column in (0..COLUMNS).filter(|column| self.is_up(from, *column)) {
                for to in 0..self.found.len() {
                    if to == start || came[to].is_some() || !self.is_down(to, column) {
                        continue;
                    }
                    came[to] = Some((column, from));
                    queue.push(to);
                    if self.over[to].is_negative() {
                        return Some(walked(&came, to));
                    }
                }
            }
        }
        None
    }
}

/// The moves that led to a row.
fn walked(came: &[Option<(usize, usize)>], end: usize) -> Vec<(usize, usize, usize)> {
    let mut chain = Vec::new();
    let mut to = end;
    while let Some((column, from)) = came.get(to).copied().flatten() {
        chain.push((column, from, to));
        to = from;
    }
    chain
}
