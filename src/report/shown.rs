//! A landed cost in the money it is shown in, so that what is shown adds up there too: the total is converted once, shared by
//! largest remainder over columns and parcels, and each parcel's columns over its lines.

use super::show::Show;
use crate::landed::{
    Bill, BillLine, ChargeBreakdown, Disputed, Headroom, Held, Landed, Sum, Totals,
};
use crate::units::{Dec, HomeMoney, Overflow, Shown, ShownMoney, share_exact};

/// The sums that a landed cost is made of.
const COLUMNS: usize = Sum::ALL.len();

/// Rows beyond which no chain of moves is looked for; a row may then be a minor unit beside its own conversion.
const CHAINED: usize = 200;

type Row = [Dec; COLUMNS];

/// Sums in the money shown.
pub(crate) type ShownSums = ChargeBreakdown<Shown>;

/// A landed cost whose sums are in the money shown.
#[derive(Debug, Clone)]
pub(crate) struct ShownLanded<'a> {
    /// The landed cost in the destination's money, and all that is no sum.
    pub(crate) home: &'a Landed,
    /// Bills by id.
    pub(crate) bills: Vec<ShownBill<'a>>,
    /// Rows that need no calculation.
    pub(crate) held: Vec<ShownHeld<'a>>,
    /// The totals.
    pub(crate) totals: ShownTotals<'a>,
}

/// A bill in the money shown; its sums are named as there.
#[derive(Debug, Clone)]
pub(crate) struct ShownBill<'a> {
    /// The bill in the destination's money, and all that is no sum.
    pub(crate) home: &'a Bill,
    pub(crate) amounts: ShownSums,
    pub(crate) in_price: ShownSums,
    pub(crate) intrinsic_value: ShownMoney,
    pub(crate) customs_value: ShownMoney,
    pub(crate) landed_undisputed: ShownMoney,
    pub(crate) landed_with_disputed: ShownMoney,
    pub(crate) limits: Vec<Headroom<Shown>>,
    pub(crate) otherwise: Option<(&'a str, ShownMoney)>,
    pub(crate) lines: Vec<ShownLine<'a>>,
}

/// One part's share of a bill in the money shown, its sums named as there.
#[derive(Debug, Clone)]
pub(crate) struct ShownLine<'a> {
    /// The line in the destination's money, and all that is no sum.
    pub(crate) home: &'a BillLine,
    pub(crate) amounts: ShownSums,
}

/// What is held, in the money shown, its sums named as in the landed cost.
#[derive(Debug, Clone)]
pub(crate) struct ShownHeld<'a> {
    /// The same in the destination's money, and all that is no sum.
    pub(crate) home: &'a Held,
    pub(crate) paid: Option<ShownMoney>,
    pub(crate) sent_back: ShownMoney,
    pub(crate) refunded: ShownMoney,
}

/// The totals in the money shown; their sums are named as there.
#[derive(Debug, Clone)]
pub(crate) struct ShownTotals<'a> {
    /// The totals in the destination's money, and all that is no sum.
    pub(crate) home: &'a Totals,
    pub(crate) amounts: ShownSums,
    pub(crate) held: ShownMoney,
    pub(crate) tags: ShownMoney,
    pub(crate) landed_undisputed: ShownMoney,
    pub(crate) landed_with_disputed: ShownMoney,
    pub(crate) to_pay_seller: ShownMoney,
    pub(crate) to_pay_carrier: ShownMoney,
    pub(crate) spent: ShownMoney,
    pub(crate) to_pay: ShownMoney,
    pub(crate) replacement: ShownMoney,
}

impl ShownTotals<'_> {
    /// The landed cost.
    pub(crate) fn landed(&self) -> Result<ShownMoney, Overflow> {
        self.amounts.landed()
    }

    /// What the next person would pay for the same bike; none where no part has a price.
    pub(crate) fn known_replacement(&self) -> Option<ShownMoney> {
        let known = !self.replacement.is_zero() || self.home.replacement_unknown.is_empty();
        known.then_some(self.replacement)
    }
}

impl ShownLanded<'_> {
    /// The sum with what is in dispute decided the other way, and its rows, as `Landed::decided_otherwise` has it.
    pub(crate) fn decided_otherwise(
        &self,
    ) -> Result<Option<(ShownMoney, Vec<Disputed>)>, Overflow> {
        let t = &self.totals;
        let sums = [t.landed()?, t.landed_undisputed, t.landed_with_disputed];
        Ok(self.home.decided(sums))
    }

    /// What codes and a seller's own tax take off the tags, less than nothing where they do.
    pub(crate) fn off_the_tags(&self) -> Result<ShownMoney, Overflow> {
        self.totals.amounts.net_goods()?.minus(self.totals.tags)
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

/// A sum shared over the columns of a row by its exact cells.
fn shared(sum: Dec, exact: &Row, digits: u32) -> Result<Row, Overflow> {
    let mut row = [Dec::ZERO; COLUMNS];
    for (cell, part) in row.iter_mut().zip(share_exact(sum, exact, digits)?) {
        *cell = part;
    }
    Ok(row)
}

fn sums(row: Row) -> ShownSums {
    ChargeBreakdown::of_cells(row.map(ShownMoney::of))
}

/// A landed cost whose sums are in the money of `show`, in whole minor units: lines add up to parcels, parcels and what is held
/// to the total, and the columns of each to what it lands at.
pub(crate) fn shown<'a>(landed: &'a Landed, show: &Show) -> Result<ShownLanded<'a>, Overflow> {
    let digits = show.currency.digits();
    let held = ChargeBreakdown {
        goods: landed.totals.held,
        ..ChargeBreakdown::default()
    };
    let of_bills = landed.bills.iter().map(|bill| &bill.amounts);
    let exact = of_bills.chain([&held]).map(|a| exactly(a, show));
    let exact: Vec<Row> = exact.collect::<Result<_, _>>()?;
    let total = show.shown(landed.totals.landed()?)?;
    let columns = shared(total.amount(), &columns_of(&exact)?, digits)?;
    let mut rows = settled(&exact, columns, total.amount(), digits)?;
    // The last row is what is held, which has goods alone.
    let held = rows.pop().map_or(Dec::ZERO, |row| row[0]);
    let bills = landed.bills.iter().zip(rows);
    let mut all = ShownLanded {
        home: landed,
        bills: bills
            .map(|(bill, row)| shown_bill(bill, row, show))
            .collect::<Result<_, _>>()?,
        held: shown_held(&landed.held, held, show)?,
        totals: ShownTotals {
            amounts: sums(columns),
            held: ShownMoney::of(held),
            ..totals(&landed.totals, total, show)?
        },
    };
    undisputed(&mut all, show)?;
    Ok(all)
}

fn exactly(a: &ChargeBreakdown, show: &Show) -> Result<Row, Overflow> {
    let mut row = a.cells().map(HomeMoney::amount);
    for cell in &mut row {
        *cell = show.exactly(*cell)?;
    }
    Ok(row)
}

/// One bill's sums and those of its lines.
fn shown_bill<'a>(bill: &'a Bill, row: Row, show: &Show) -> Result<ShownBill<'a>, Overflow> {
    let digits = show.currency.digits();
    let exact = bill.lines.iter().map(|line| exactly(&line.amounts, show));
    let exact: Vec<Row> = exact.collect::<Result<_, _>>()?;
    let rows = settled(&exact, row, sum(&row)?, digits)?;
    let in_price = show.shown(bill.in_price.landed()?)?;
    let line = |(home, row)| ShownLine {
        home,
        amounts: sums(row),
    };
    let other = |(what, sum): &'a (String, _)| Ok((what.as_str(), show.shown(*sum)?));
    Ok(ShownBill {
        home: bill,
        amounts: sums(row),
        in_price: sums(shared(
            in_price.amount(),
            &exactly(&bill.in_price, show)?,
            digits,
        )?),
        intrinsic_value: show.shown(bill.intrinsic_value)?,
        customs_value: show.shown(bill.customs_value)?,
        landed_undisputed: ShownMoney::ZERO,
        landed_with_disputed: ShownMoney::ZERO,
        limits: bill
            .limits
            .iter()
            .map(|limit| shown_limit(limit, show))
            .collect::<Result<_, _>>()?,
        otherwise: bill.otherwise.as_ref().map(other).transpose()?,
        lines: bill.lines.iter().zip(rows).map(line).collect(),
    })
}

fn shown_limit(limit: &Headroom, show: &Show) -> Result<Headroom<Shown>, Overflow> {
    let (amount, value) = (show.shown(limit.amount)?, show.shown(limit.value)?);
    Ok(Headroom {
        id: limit.id.clone(),
        amount,
        text: limit.text.clone(),
        value,
        of_price: limit.of_price,
        left: amount.minus(value)?,
        holds: limit.holds,
    })
}

fn shown_held<'a>(held: &'a [Held], sum: Dec, show: &Show) -> Result<Vec<ShownHeld<'a>>, Overflow> {
    // What is not known counts for nothing in the sum.
    let paid = held
        .iter()
        .map(|held| held.paid.map_or(Dec::ZERO, HomeMoney::amount));
    let paid = paid
        .map(|paid| show.exactly(paid))
        .collect::<Result<Vec<_>, _>>()?;
    let parts = share_exact(sum, &paid, show.currency.digits())?;
    let one = |(home, part): (&'a Held, Dec)| {
        Ok(ShownHeld {
            home,
            paid: home.paid.map(|_| ShownMoney::of(part)),
            sent_back: show.shown(home.sent_back)?,
            refunded: show.shown(home.refunded)?,
        })
    };
    held.iter().zip(parts).map(one).collect()
}

/// What is spent and to pay adds up to the total wherever it does in the destination's money.
fn totals<'a>(t: &'a Totals, total: ShownMoney, show: &Show) -> Result<ShownTotals<'a>, Overflow> {
    let digits = show.currency.digits();
    let parts = [t.spent, t.to_pay_seller, t.to_pay_carrier].map(HomeMoney::amount);
    let [spent, seller, carrier] = parts;
    let [spent_exactly, open @ ..] = [spent, seller, carrier].map(|part| show.exactly(part));
    let open = open.into_iter().collect::<Result<Vec<_>, _>>()?;
    let (spent, open) = if Dec::total(parts)? == t.landed()?.amount() {
        let all = [&[spent_exactly?], open.as_slice()].concat();
        let mut shared = share_exact(total.amount(), &all, digits)?;
        (shared.remove(0), shared)
    } else {
        let to_pay = show.shown(t.to_pay)?.amount();
        (show.rounded(spent)?, share_exact(to_pay, &open, digits)?)
    };
    let [to_pay_seller, to_pay_carrier] = [0, 1].map(|at| ShownMoney::of(open[at]));
    Ok(ShownTotals {
        home: t,
        amounts: ShownSums::default(),
        held: ShownMoney::ZERO,
        tags: show.shown(t.tags)?,
        landed_undisputed: show.shown(t.landed_undisputed)?,
        landed_with_disputed: show.shown(t.landed_with_disputed)?,
        to_pay_seller,
        to_pay_carrier,
        spent: ShownMoney::of(spent),
        to_pay: to_pay_seller.plus(to_pay_carrier)?,
        replacement: show.shown(t.replacement)?,
    })
}

/// What is in dispute, shared over the bills so that without it they add up too.
fn undisputed(all: &mut ShownLanded<'_>, show: &Show) -> Result<(), Overflow> {
    let total = all.totals.landed()?;
    let apart = |of: fn(&Bill) -> HomeMoney, whole: ShownMoney| {
        let own = |bill: &Bill| show.exactly(of(bill).minus(bill.amounts.landed()?)?.amount());
        let exact = all
            .home
            .bills
            .iter()
            .map(own)
            .collect::<Result<Vec<_>, _>>()?;
        share_exact(whole.minus(total)?.amount(), &exact, show.currency.digits())
    };
    let less = apart(|bill| bill.landed_undisputed, all.totals.landed_undisputed)?;
    let more = apart(
        |bill| bill.landed_with_disputed,
        all.totals.landed_with_disputed,
    )?;
    for ((bill, less), more) in all.bills.iter_mut().zip(less).zip(more) {
        let landed = bill.amounts.landed()?;
        bill.landed_undisputed = landed.plus(ShownMoney::of(less))?;
        bill.landed_with_disputed = landed.plus(ShownMoney::of(more))?;
    }
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
