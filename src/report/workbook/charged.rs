//! Receipts in the place of what was calculated: each in its own money, the sum of each charge shared over the parts, lumps
//! last, in the order in which the engine puts them.

use super::Common;
use super::formula::{At, Block, BoolExpr, NumExpr};
use super::prices::minor;
use super::sheets::{Cell, FIGURE, Look, Page, Shared, TOGETHER, floor, rest, topped};
use crate::book::ChargeWord;
use crate::landed::{Charged, Working};
use crate::tables::Op;
use crate::units::{Dec, Overflow};

/// The rows of a parcel's sums by name.
pub(super) type Rows = Vec<(&'static str, u32)>;

const SUMS: [(ChargeWord, &str); 9] = [
    (ChargeWord::Goods, "goods"),
    (ChargeWord::Freight, "freight"),
    (ChargeWord::Insurance, "insurance"),
    (ChargeWord::Duty, "duty"),
    (ChargeWord::Remedy, "anti-dumping"),
    (ChargeWord::TaxAtSale, "tax at the sale"),
    (ChargeWord::TaxAtBorder, "tax at the border"),
    (ChargeWord::Handling, "carrier's fee"),
    (ChargeWord::CardFee, "card fee"),
];
const AT_DOOR: [&str; 4] = ["duty", "anti-dumping", "tax at the border", "carrier's fee"];
const TO_SELLER: [&str; 5] = [
    "goods",
    "freight",
    "insurance",
    "tax at the sale",
    "card fee",
];

/// Writes what receipts say, and points the sums they cover to it.
pub(super) fn charged(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    rows: &mut Rows,
) -> Result<(), Overflow> {
    let sent_back = work.sent_back.iter().any(|part| !part.is_zero());
    if work.receipts.is_empty() && work.refunds.is_empty() && !sent_back {
        return Ok(());
    }
    page.head("What was really charged, in the place of what was calculated");
    let digits = common.currency.digits();
    let mut found = Vec::new();
    for receipt in &work.receipts {
        found.push((receipt.word, read(page, receipt, common)?));
    }
    let sum = |word: ChargeWord| -> Option<NumExpr> {
        let cells: Vec<NumExpr> = found
            .iter()
            .filter(|(own, _)| *own == word)
            .map(|(_, at)| NumExpr::R(*at))
            .collect();
        (!cells.is_empty()).then(|| NumExpr::sum(cells))
    };
    let known = told(page, work, common, rows, &sum)?;
    let fee = work.taken.fee_apart.then_some("card fee");
    for name in not_charged(work, &known, fee) {
        set(page, common, rows, name, NumExpr::N(Dec::ZERO))?;
    }
    if let Some(lump) = sum(ChargeWord::ToPaySeller) {
        let beside: Vec<&str> = known.iter().copied().chain(fee).collect();
        let goods = lump_to_seller(page, rows, &beside, lump);
        set(page, common, rows, "goods", goods)?;
    }
    if let Some(lump) = sum(ChargeWord::ToPayCarrier) {
        lump_at_door(page, common, rows, &known, lump)?;
    }
    if work.taken.discount_by_price {
        by_price(page, rows, digits)?;
    }
    if sent_back {
        on_top(page, work, common, rows)?;
    }
    refunds(page, work, common, rows)
}

/// Writes the sums that receipts tell, totals left aside; returned are their names.
fn told(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    rows: &mut Rows,
    sum: &dyn Fn(ChargeWord) -> Option<NumExpr>,
) -> Result<Vec<&'static str>, Overflow> {
    let mut known: Vec<&'static str> = Vec::new();
    let mut put = |page: &mut Page<'_>, rows: &mut Rows, name: &'static str, amount: NumExpr| {
        known.push(name);
        set(page, common, rows, name, amount)
    };
    for (word, name) in SUMS
        .into_iter()
        .filter(|(word, _)| work.taken.one_sum != Some(*word))
    {
        if let Some(amount) = sum(word) {
            put(page, rows, name, amount)?;
        }
    }
    if let Some(both) = work.taken.one_sum.and_then(sum) {
        let [duty, remedy] = in_one_sum(page, common, rows, both)?;
        put(page, rows, "duty", duty)?;
        put(page, rows, "anti-dumping", remedy)?;
    }
    if let Some(discount) = sum(ChargeWord::Discount) {
        put(page, rows, "discount", discount)?;
    }
    if let Some(tax) = sum(ChargeWord::Tax) {
        put(
            page,
            rows,
            if work.bill.tax_collected == "at-sale" {
                "tax at the sale"
            } else {
                "tax at the border"
            },
            tax,
        )?;
    }
    Ok(known)
}

/// Shares the discount by price, where its share would be more than the price of one part.
fn by_price(page: &mut Page<'_>, rows: &mut Rows, digits: u32) -> Result<(), Overflow> {
    let (discount, goods) = (row(rows, "discount"), row(rows, "goods"));
    let off = page.sum(
        "  discount, by price",
        "more than one part's price as shared before",
        Look::Money(digits),
        page.total(discount),
    )?;
    let now = page.share("discount", &|_| NumExpr::R(off), Shared::by(goods, digits))?;
    move_to(rows, "discount", now);
    Ok(())
}

/// Sums of a side whose total is the sum of its receipts, and that have none: they were not charged.
fn not_charged(
    work: &Working<'_>,
    known: &[&'static str],
    fee: Option<&'static str>,
) -> Vec<&'static str> {
    let [seller, door] = work.taken.summed;
    let sides: [(&[&'static str], bool); 3] = [
        (&["discount"], seller),
        (&TO_SELLER, seller),
        (&AT_DOOR, door),
    ];
    let names = sides
        .into_iter()
        .filter(|(_, summed)| *summed)
        .flat_map(|(names, _)| names.iter().copied());
    names
        .filter(|name| !known.contains(name) && fee != Some(*name))
        .collect()
}

/// What sending goods back cost, part by part as the tool shares it, on top of the freight.
fn on_top(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    rows: &mut Rows,
) -> Result<(), Overflow> {
    let digits = common.currency.digits();
    let cells = work.sent_back.iter().map(|part| Cell::Number(*part));
    let back = page.fixed(
        ["  for sending back", "", "as shared by the tool"],
        (Look::Plain, Look::Money(digits)),
        cells,
    );
    let before = row(rows, "freight");
    let now = page.each(
        "freight",
        "with what sending back cost",
        Look::Money(digits),
        |p, i| NumExpr::sum([NumExpr::R(p.of(before, i)), NumExpr::R(p.of(back, i))]),
    )?;
    move_to(rows, "freight", now);
    Ok(())
}

fn move_to(rows: &mut Rows, name: &str, now: u32) {
    if let Some(entry) = rows.iter_mut().find(|(own, _)| *own == name) {
        entry.1 = now;
    }
}

/// Duty and anti-dumping out of one sum, by what was calculated of each.
fn in_one_sum(
    page: &mut Page<'_>,
    common: &Common,
    rows: &Rows,
    both: NumExpr,
) -> Result<[NumExpr; 2], Overflow> {
    let digits = common.currency.digits();
    let both = page.sum(
        "  duty and anti-dumping in one sum",
        "",
        Look::Money(digits),
        both,
    )?;
    let (own, other) = (
        page.total(row(rows, "duty")),
        page.total(row(rows, "anti-dumping")),
    );
    let part = NumExpr::Div(
        Box::new(NumExpr::Mul(vec![NumExpr::R(both), own.clone()])),
        Box::new(NumExpr::sum([own, other])),
    );
    let duty = page.sum(
        "  duty of it",
        "by what was calculated of each",
        Look::Money(digits),
        minor(part, digits),
    )?;
    Ok([
        NumExpr::R(duty),
        NumExpr::minus(NumExpr::R(both), NumExpr::R(duty)),
    ])
}

/// What came back, part by part as the tool shares it, off the sums it lowers.
fn refunds(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    rows: &mut Rows,
) -> Result<(), Overflow> {
    let digits = common.currency.digits();
    for (name, place, parts) in &work.refunds {
        let what = format!(
            "  came back, off {}",
            if *name == "discount" { "goods" } else { name }
        );
        let cells = parts.iter().map(|part| Cell::Number(*part));
        let back = page.fixed(
            [what.as_str(), place.as_str(), "as shared by the tool"],
            (Look::Plain, Look::Money(digits)),
            cells,
        );
        let before = row(rows, name);
        let now = page.each(name, "after what came back", Look::Money(digits), |p, i| {
            let (own, off) = (NumExpr::R(p.of(before, i)), NumExpr::R(p.of(back, i)));
            if *name == "discount" {
                NumExpr::sum([own, off])
            } else {
                NumExpr::minus(own, off)
            }
        })?;
        move_to(rows, name, now);
    }
    Ok(())
}

fn row(rows: &Rows, name: &str) -> u32 {
    rows.iter()
        .find(|(own, _)| *own == name)
        .map_or(0, |(_, row)| *row)
}

/// One receipt, and what it is in the destination's money.
fn read(page: &mut Page<'_>, receipt: &Charged, common: &Common) -> Result<At, Overflow> {
    let how = format!(
        "{}, {}, at the market rate of the day, rounded half up",
        receipt.currency, receipt.day
    );
    page.name(
        &format!("  receipt: {}", receipt.word.name().replace('_', " ")),
        &receipt.place,
        &how,
        Look::Plain,
    );
    let (figure, at) = (page.at(page.row, FIGURE), page.at(page.row, TOGETHER));
    page.sheets.figure(figure, receipt.amount, Look::Input);
    let digits = common.currency.digits();
    let converted = minor(
        common.convert(&receipt.quote, receipt.currency, NumExpr::R(figure)),
        digits,
    );
    page.sheets.formula(at, converted, Look::Money(digits))?;
    page.row += 1;
    Ok(at)
}

/// A sum as charged, shared over the parts by what was calculated of it, else by goods.
fn set(
    page: &mut Page<'_>,
    common: &Common,
    rows: &mut Rows,
    name: &'static str,
    amount: NumExpr,
) -> Result<(), Overflow> {
    let digits = common.currency.digits();
    let amount = page.sum(
        &format!("  {name}, as charged"),
        "",
        Look::Money(digits),
        amount,
    )?;
    let (own, goods) = (row(rows, name), row(rows, "goods"));
    let weights = page.each(
        "  weights",
        "what was calculated of it, else the goods",
        Look::Step,
        |p, i| {
            let none = BoolExpr::Cmp(p.total(own), Op::Equal, NumExpr::N(Dec::ZERO));
            NumExpr::If(
                Box::new(none),
                Box::new(NumExpr::R(p.of(goods, i))),
                Box::new(NumExpr::R(p.of(own, i))),
            )
        },
    )?;
    let now = page.share(name, &|_| NumExpr::R(amount), Shared::by(weights, digits))?;
    move_to(rows, name, now);
    Ok(())
}

/// One sum to the seller, beside what other receipts cover: the goods are what is left of it.
fn lump_to_seller(page: &Page<'_>, rows: &Rows, known: &[&str], lump: NumExpr) -> NumExpr {
    let mut terms = vec![(false, lump)];
    for name in TO_SELLER.iter().filter(|name| known.contains(name)) {
        terms.push((false, page.total(row(rows, name))));
    }
    if !known.contains(&"discount") {
        terms.push((false, page.total(row(rows, "discount"))));
    }
    for name in TO_SELLER.iter().filter(|name| **name != "goods") {
        terms.push((true, page.total(row(rows, name))));
    }
    NumExpr::Add(terms)
}

/// One sum at the door, beside what other receipts cover: over the charges that were due, by what was calculated of each; all
/// of it a fee where none was.
fn lump_at_door(
    page: &mut Page<'_>,
    common: &Common,
    rows: &mut Rows,
    known: &[&str],
    lump: NumExpr,
) -> Result<(), Overflow> {
    let digits = common.currency.digits();
    let lump = page.sum("  one sum at the door", "", Look::Money(digits), lump)?;
    let cell = |p: &Page<'_>, first: u32, k: u32| p.at(first + k, TOGETHER);
    let nought = || NumExpr::N(Dec::ZERO);
    let own: Vec<u32> = AT_DOOR.iter().map(|name| row(rows, name)).collect();
    let sum = |p: &Page<'_>, k: u32| {
        usize::try_from(k)
            .ok()
            .and_then(|k| own.get(k))
            .map_or(nought(), |row| p.total(*row))
    };
    let told = four(page, "  has a receipt of its own", &|p, k| {
        let covered = AT_DOOR
            .iter()
            .zip(0..)
            .any(|(name, at)| at == k && known.contains(name));
        if covered { sum(p, k) } else { nought() }
    })?;
    let open = four(page, "  open", &|p, k| {
        let none = BoolExpr::Cmp(NumExpr::R(cell(p, told, k)), Op::Equal, nought());
        NumExpr::If(Box::new(none), Box::new(sum(p, k)), Box::new(nought()))
    })?;
    let parts = shares_at_door(page, (lump, open), digits)?;
    for (k, name) in (0..).zip(AT_DOOR) {
        let amount = NumExpr::sum([
            NumExpr::R(page.at(told + k, TOGETHER)),
            NumExpr::R(page.at(parts + k, TOGETHER)),
        ]);
        set(page, common, rows, name, amount)?;
    }
    Ok(())
}

/// A row for each sum at the door; returned is the first.
fn four(
    page: &mut Page<'_>,
    what: &str,
    of: &dyn Fn(&Page<'_>, u32) -> NumExpr,
) -> Result<u32, Overflow> {
    let first = page.row;
    for (k, name) in (0..).zip(AT_DOOR) {
        let formula = of(page, k);
        page.sum(what, name, Look::Step, formula)?;
    }
    Ok(first)
}

/// One sum by largest remainder over what is open of each charge at the door; all of it the last, the carrier's fee, where nothing
/// is open. Returned is the first of the four rows.
fn shares_at_door(
    page: &mut Page<'_>,
    (lump, open): (At, u32),
    digits: u32,
) -> Result<u32, Overflow> {
    let unit = Dec::new(1, digits);
    let cell = |p: &Page<'_>, first: u32, k: u32| p.at(first + k, TOGETHER);
    let block = |p: &Page<'_>, first: u32| Block {
        from: p.at(first, TOGETHER),
        to: p.at(first + 3, TOGETHER),
    };
    let exact = four(page, "  exact share", &|p, k| {
        NumExpr::Div(
            Box::new(NumExpr::Mul(vec![
                NumExpr::R(lump),
                NumExpr::R(cell(p, open, k)),
            ])),
            Box::new(NumExpr::Total(block(p, open))),
        )
    })?;
    let down = four(page, "  rounded down", &|p, k| {
        floor(NumExpr::R(cell(p, exact, k)), unit)
    })?;
    let rests = four(page, "  left over", &|p, k| {
        rest(cell(p, exact, k), cell(p, down, k))
    })?;
    four(page, "  of the one sum", &|p, k| {
        let left = minor(
            NumExpr::minus(NumExpr::R(lump), NumExpr::Total(block(p, down))),
            digits,
        );
        let rank = NumExpr::Rank(None, block(p, rests), cell(p, rests, k));
        let shared = topped(cell(p, down, k), rank, left, unit);
        let alone = if k == 3 {
            NumExpr::R(lump)
        } else {
            NumExpr::N(Dec::ZERO)
        };
        let none = BoolExpr::Cmp(
            NumExpr::Total(block(p, open)),
            Op::Equal,
            NumExpr::N(Dec::ZERO),
        );
        NumExpr::If(Box::new(none), Box::new(alone), Box::new(shared))
    })
}
