//! What the seller asks and what is paid: the first blocks of a parcel's sheet.

use super::Common;
use super::formula::{At, BoolExpr, NumExpr};
use super::sheets::{Cell, FIRST, Look, Page, Shared, floor, rest, topped};
use crate::book::{Included, Insurance, Pays, Scope, Worth};
use crate::landed::Working;
use crate::tables::Op;
use crate::units::{Dec, Overflow, Rounding};

/// Rows of the prices, in the seller's money.
pub(super) struct Prices {
    pub(super) list: u32,
    pub(super) off: u32,
    pub(super) goods: u32,
    pub(super) freight: u32,
    pub(super) insurance: u32,
    pub(super) packed: u32,
    pub(super) quantity: u32,
    credit: u32,
    tax_in_price: u32,
}

/// Rows of what is paid, in the destination's money: goods, discount (below zero), freight, insurance, tax at the sale.
pub(super) struct Paid {
    pub(super) shares: u32,
    pub(super) card: u32,
}

fn percent_of(percent: NumExpr, of: NumExpr) -> NumExpr {
    NumExpr::Div(
        Box::new(NumExpr::Mul(vec![percent, of])),
        Box::new(NumExpr::N(Dec::HUNDRED)),
    )
}

pub(super) fn minor(x: NumExpr, digits: u32) -> NumExpr {
    NumExpr::Round(Box::new(x), Rounding::minor(digits))
}

/// Writes prices, discounts, freight and insurance.
pub(super) fn prices(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
) -> Result<Prices, Overflow> {
    let digits = work.paid_in.digits();
    page.head(&format!("What the seller asks, in {}", work.paid_in));
    let mut rows = tags(page, common, digits)?;
    rows.off = page.each("taken off so far", "", Look::Step, |_, _| {
        NumExpr::N(Dec::ZERO)
    })?;
    rows.credit = page.each("paid by credit so far", "", Look::Step, |_, _| {
        NumExpr::N(Dec::ZERO)
    })?;
    let asked = page.figure(
        "freight asked",
        "the seller's row",
        &work.freight_words,
        work.freight.amount(),
    );
    let (mut freight, mut freight_credit) = (NumExpr::R(asked), NumExpr::N(Dec::ZERO));
    for (discount, covered) in &work.discounts {
        discounted(
            page,
            &mut rows,
            (discount, covered),
            &mut freight,
            &mut freight_credit,
            digits,
        )?;
    }
    tax_out(page, work, &mut rows, digits)?;
    rows.goods = page.each("goods net of discount", "", Look::Money(digits), |p, i| {
        NumExpr::minus(
            NumExpr::R(p.of(rows.list, i)),
            NumExpr::R(p.of(rows.off, i)),
        )
    })?;
    let by_mass = Shared::by(rows.packed, digits);
    rows.freight = page.share("freight", &|_| freight.clone(), by_mass)?;
    if !matches!(freight_credit, NumExpr::N(_)) {
        credit_on_freight(page, &mut rows, &freight_credit, by_mass)?;
    }
    let insured = insured(page, work, rows.goods, freight);
    let by_value = Shared::by(rows.goods, digits);
    rows.insurance = page.share("insurance", &|_| insured.clone(), by_value)?;
    Ok(rows)
}

/// The price tags as the sheet of goods has them, with how many and how heavy.
fn tags(page: &mut Page<'_>, common: &Common, digits: u32) -> Result<Prices, Overflow> {
    let goods = |line: u16, col: u16| {
        NumExpr::R(At {
            sheet: common.goods,
            row: common.first_line + u32::from(line),
            col,
        })
    };
    let source = "sheet 1 goods";
    let price = page.each("price of one", source, Look::Money(digits), |_, i| {
        goods(i, 3)
    })?;
    let quantity = page.each("quantity", source, Look::Plain, |_, i| goods(i, 5))?;
    let packed = page.each("packed mass, g", source, Look::Plain, |_, i| goods(i, 6))?;
    let list = page.each("price times quantity", "", Look::Money(digits), |p, i| {
        NumExpr::Mul(vec![
            NumExpr::R(p.of(price, i)),
            NumExpr::R(p.of(quantity, i)),
        ])
    })?;
    Ok(Prices {
        list,
        off: 0,
        goods: 0,
        freight: 0,
        insurance: 0,
        packed,
        quantity,
        credit: 0,
        tax_in_price: 0,
    })
}

/// What credit pays of the freight, shared as the freight is, beside what it pays of the goods.
fn credit_on_freight(
    page: &mut Page<'_>,
    rows: &mut Prices,
    freight_credit: &NumExpr,
    by_mass: Shared,
) -> Result<(), Overflow> {
    let own = page.share(
        "freight paid by credit",
        &|_| freight_credit.clone(),
        by_mass,
    )?;
    let credit = rows.credit;
    rows.credit = page.each("paid by credit", "", Look::Step, |p, i| {
        NumExpr::sum([NumExpr::R(p.of(credit, i)), NumExpr::R(p.of(own, i))])
    })?;
    Ok(())
}

/// The insurance: as told, or a percentage of goods and freight.
fn insured(page: &mut Page<'_>, work: &Working<'_>, goods: u32, freight: NumExpr) -> NumExpr {
    let digits = work.paid_in.digits();
    match work.insurance {
        None => NumExpr::N(Dec::ZERO),
        Some(Insurance::Amount(amount)) => {
            NumExpr::R(page.figure("insurance", "the seller's row", "as told", amount))
        }
        Some(Insurance::Share(percent)) => {
            let figure = page.figure(
                "insurance, percent",
                "the seller's row",
                "of goods and freight",
                percent.0,
            );
            let goods = page.total(goods);
            minor(
                percent_of(NumExpr::R(figure), NumExpr::sum([goods, freight])),
                digits,
            )
        }
    }
}

/// One discount: what it is worth, and its shares.
fn discounted(
    page: &mut Page<'_>,
    rows: &mut Prices,
    (discount, covered): (&crate::book::Discount, &Vec<usize>),
    freight: &mut NumExpr,
    freight_credit: &mut NumExpr,
    digits: u32,
) -> Result<(), Overflow> {
    let source = discount.at.place().to_string();
    let (what, figure) = match discount.worth {
        Worth::Share(percent) => ("percent", percent.0),
        Worth::Amount(amount) => ("amount", amount),
    };
    let figure = page.figure(
        &format!("discount {}, {what}", discount.code),
        &source,
        "its dates and spend hold; that is fixed",
        figure,
    );
    let most = discount
        .max_off
        .map(|most| page.figure("  at most", &source, "", most));
    let left = if discount.scope == Scope::Freight {
        None
    } else {
        Some(left_before(page, rows, covered)?)
    };
    let base = match left {
        Some(left) => page.total(left),
        None => NumExpr::minus(freight.clone(), freight_credit.clone()),
    };
    let full = if matches!(discount.worth, Worth::Share(_)) {
        percent_of(NumExpr::R(figure), base.clone())
    } else {
        NumExpr::R(figure)
    };
    let capped = NumExpr::Min(
        most.map(NumExpr::R)
            .into_iter()
            .chain([full, base.clone()])
            .collect(),
    );
    let taken = page.sum(
        "  takes off",
        "rounded half up once",
        Look::Money(digits),
        NumExpr::Min(vec![minor(capped, digits), base]),
    )?;
    match (left, discount.pays) {
        (Some(left), pays) => {
            let by = Shared::by(left, digits);
            let shares = page.share("  its shares", &|_| NumExpr::R(taken), by)?;
            add_shares(page, rows, shares, pays)?;
        }
        (None, Pays::Price) => *freight = NumExpr::minus(freight.clone(), NumExpr::R(taken)),
        (None, Pays::Credit) => {
            *freight_credit = NumExpr::sum([freight_credit.clone(), NumExpr::R(taken)]);
        }
    }
    Ok(())
}

/// What is left of the lines that a discount covers, before it.
fn left_before(page: &mut Page<'_>, rows: &Prices, covered: &[usize]) -> Result<u32, Overflow> {
    let how = "of the lines it covers";
    page.each("  left before it", how, Look::Step, |p, i| {
        if !covered.contains(&usize::from(i)) {
            return NumExpr::N(Dec::ZERO);
        }
        NumExpr::Add(vec![
            (false, NumExpr::R(p.of(rows.list, i))),
            (true, NumExpr::R(p.of(rows.off, i))),
            (true, NumExpr::R(p.of(rows.credit, i))),
        ])
    })
}

/// Adds the shares of a discount to what was taken off, or to what credit pays.
fn add_shares(
    page: &mut Page<'_>,
    rows: &mut Prices,
    shares: u32,
    pays: Pays,
) -> Result<(), Overflow> {
    let (label, sum) = match pays {
        Pays::Credit => ("paid by credit so far", &mut rows.credit),
        Pays::Price => ("taken off so far", &mut rows.off),
    };
    let before = *sum;
    *sum = page.each(label, "", Look::Step, |p, i| {
        NumExpr::sum([NumExpr::R(p.of(before, i)), NumExpr::R(p.of(shares, i))])
    })?;
    Ok(())
}

/// The percentages of the tax that the prices of each line hold; none where they hold none.
fn percents_held(page: &mut Page<'_>, work: &Working<'_>) -> Result<Option<u32>, Overflow> {
    Ok(match work.included {
        Included::Nothing => None,
        Included::Own(percent) => {
            let figure = page.figure(
                "the seller's own tax in the prices, percent",
                "the seller's row",
                "taken off for export",
                percent.0,
            );
            Some(page.each("  percent", "", Look::Step, |_, _| NumExpr::R(figure))?)
        }
        Included::SaleTax => {
            let name = [
                "tax in the prices, percent",
                "the destination's tables",
                "taken at the sale; that is fixed",
            ];
            let percents = work
                .lines
                .iter()
                .map(|line| Cell::Number(line.sale_percent.0));
            Some(page.fixed(name, (Look::Plain, Look::Input), percents))
        }
    })
}

/// Takes tax out of prices that hold it.
fn tax_out(
    page: &mut Page<'_>,
    work: &Working<'_>,
    rows: &mut Prices,
    digits: u32,
) -> Result<(), Overflow> {
    rows.tax_in_price = page.row;
    let percents = percents_held(page, work)?;
    let Some(percents) = percents else {
        rows.tax_in_price = page.each("tax that the prices hold", "none", Look::Step, |_, _| {
            NumExpr::N(Dec::ZERO)
        })?;
        return Ok(());
    };
    let out = |p: &Page<'_>, x: NumExpr, i: u16| {
        let over = NumExpr::sum([NumExpr::N(Dec::HUNDRED), NumExpr::R(p.of(percents, i))]);
        minor(
            NumExpr::Div(
                Box::new(NumExpr::Mul(vec![x, NumExpr::N(Dec::HUNDRED)])),
                Box::new(over),
            ),
            digits,
        )
    };
    let (list, off, credit) = (rows.list, rows.off, rows.credit);
    let paid = move |p: &Page<'_>, i: u16| {
        NumExpr::minus(NumExpr::R(p.of(list, i)), NumExpr::R(p.of(off, i)))
    };
    let net = page.each(
        "net of tax",
        "price / (100 + percent) x 100, rounded half up",
        Look::Money(digits),
        |p, i| out(p, paid(p, i), i),
    )?;
    rows.list = page.each(
        "price times quantity, net",
        "",
        Look::Money(digits),
        |p, i| {
            NumExpr::Max(vec![
                out(p, NumExpr::R(p.of(list, i)), i),
                NumExpr::R(p.of(net, i)),
            ])
        },
    )?;
    let listed = rows.list;
    rows.off = page.each("taken off, net", "", Look::Money(digits), |p, i| {
        NumExpr::minus(NumExpr::R(p.of(listed, i)), NumExpr::R(p.of(net, i)))
    })?;
    let at_sale = work.included == Included::SaleTax;
    if !at_sale {
        rows.credit = page.each("paid by credit, net", "", Look::Step, |p, i| {
            NumExpr::Min(vec![NumExpr::R(p.of(credit, i)), NumExpr::R(p.of(net, i))])
        })?;
    }
    rows.tax_in_price = page.each(
        "tax that the prices hold",
        if at_sale { "" } else { "left with the seller" },
        Look::Step,
        |p, i| {
            if at_sale {
                NumExpr::minus(paid(p, i), NumExpr::R(p.of(net, i)))
            } else {
                NumExpr::N(Dec::ZERO)
            }
        },
    )?;
    Ok(())
}

/// Writes what is paid: summed in the seller's money, converted once, shared back. `tax` is each line's tax at the sale.
pub(super) fn paid(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    rows: &Prices,
    tax: &[NumExpr],
) -> Result<Paid, Overflow> {
    let (digits, own) = (common.currency.digits(), work.paid_in.digits());
    page.head("What is paid to the seller");
    let first = in_sellers_money(page, work, rows, tax)?;
    let sum = NumExpr::sum((0..5).map(|k| page.total(first + k)));
    let sum = page.sum(
        &format!("paid to the seller, {}", work.paid_in),
        "",
        Look::Sum(own),
        sum,
    )?;
    let converted = minor(
        common.convert(&work.market, work.paid_in, NumExpr::R(sum)),
        digits,
    );
    let converted = page.sum(
        &format!("converted once, {}", common.currency),
        "at the market rate of sheet 2 exchange, rounded half up",
        Look::Sum(digits),
        converted,
    )?;
    let shares = converted_shares(page, work, common, first, converted)?;
    let card = card_fee(page, work, common, (rows, converted))?;
    Ok(Paid { shares, card })
}

/// The five rows of what is paid, in the seller's money; returned is the first.
fn in_sellers_money(
    page: &mut Page<'_>,
    work: &Working<'_>,
    rows: &Prices,
    tax: &[NumExpr],
) -> Result<u32, Overflow> {
    let own = work.paid_in.digits();
    let calculated = page.each(
        "tax at the sale, calculated",
        "in the seller's money",
        Look::Money(own),
        |_, i| {
            tax.get(usize::from(i))
                .cloned()
                .unwrap_or(NumExpr::N(Dec::ZERO))
        },
    )?;
    let first = page.row;
    let gift = work.gift;
    let paid = |f: NumExpr| if gift { NumExpr::N(Dec::ZERO) } else { f };
    let why = if gift {
        "nobody here pays for a gift"
    } else {
        ""
    };
    page.each("goods", why, Look::Money(own), |p, i| {
        paid(NumExpr::R(p.of(rows.list, i)))
    })?;
    page.each("discount and credit", "", Look::Money(own), |p, i| {
        paid(NumExpr::Add(vec![
            (true, NumExpr::R(p.of(rows.off, i))),
            (true, NumExpr::R(p.of(rows.credit, i))),
        ]))
    })?;
    page.each("freight", "", Look::Money(own), |p, i| {
        paid(NumExpr::R(p.of(rows.freight, i)))
    })?;
    page.each("insurance", "", Look::Money(own), |p, i| {
        paid(NumExpr::R(p.of(rows.insurance, i)))
    })?;
    page.each("tax at the sale", "", Look::Money(own), |p, i| {
        paid(tax_at_sale(p, rows, (calculated, i), own))
    })?;
    Ok(first)
}

/// The tax at the sale of a line: as calculated, or where its price held tax, that and the share of freight and insurance.
fn tax_at_sale(p: &Page<'_>, rows: &Prices, (calculated, i): (u32, u16), digits: u32) -> NumExpr {
    let held = NumExpr::R(p.of(rows.tax_in_price, i));
    let beside = NumExpr::sum([
        NumExpr::R(p.of(rows.freight, i)),
        NumExpr::R(p.of(rows.insurance, i)),
    ]);
    let base = NumExpr::sum([NumExpr::R(p.of(rows.goods, i)), beside.clone()]);
    let on_them = NumExpr::Div(
        Box::new(NumExpr::Mul(vec![NumExpr::R(p.of(calculated, i)), beside])),
        Box::new(base),
    );
    let both = NumExpr::sum([held.clone(), minor(on_them, digits)]);
    let none = BoolExpr::Cmp(held, Op::Equal, NumExpr::N(Dec::ZERO));
    NumExpr::If(
        Box::new(none),
        Box::new(NumExpr::R(p.of(calculated, i))),
        Box::new(both),
    )
}

/// What the card takes of the converted sum, shared by the goods.
fn card_fee(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    (rows, converted): (&Prices, At),
) -> Result<u32, Overflow> {
    let digits = common.currency.digits();
    let how = if work.paid_in == common.currency {
        "none on the destination's own money"
    } else {
        ""
    };
    let fee = page.figure("card fee, percent", "settings", how, work.card_fee.0);
    let fee = page.sum(
        "card fee",
        "of the converted sum, rounded half up",
        Look::Money(digits),
        minor(percent_of(NumExpr::R(fee), NumExpr::R(converted)), digits),
    )?;
    let by_goods = Shared::by(rows.goods, digits);
    page.share("card fee", &|_| NumExpr::R(fee), by_goods)
}

/// The five rows converted, so that all their shares add up to the converted sum.
fn converted_shares(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    first: u32,
    converted: At,
) -> Result<u32, Overflow> {
    const NAMES: [&str; 5] = [
        "goods",
        "discount and credit",
        "freight",
        "insurance",
        "tax at the sale",
    ];
    let digits = common.currency.digits();
    let unit = Dec::new(1, digits);
    let (exact, down) = (page.row, page.row + 5);
    for k in 0..5 {
        page.each("  exact", NAMES[k as usize], Look::Step, |p, i| {
            common.convert(&work.market, work.paid_in, NumExpr::R(p.of(first + k, i)))
        })?;
    }
    for k in 0..5 {
        page.each("  rounded down", NAMES[k as usize], Look::Step, |p, i| {
            floor(NumExpr::R(p.of(exact + k, i)), unit)
        })?;
    }
    let rests = page.row;
    for k in 0..5 {
        page.each("  left over", NAMES[k as usize], Look::Step, |p, i| {
            rest(p.of(exact + k, i), p.of(down + k, i))
        })?;
    }
    let block = |p: &Page<'_>, row: u32| super::formula::Block {
        from: p.of(row, 0),
        to: p.at(row + 4, FIRST + p.lines.max(1) - 1),
    };
    let left = NumExpr::minus(NumExpr::R(converted), NumExpr::Total(block(page, down)));
    let left = page.sum("  left to be shared", "", Look::Step, minor(left, digits))?;
    let shares = page.row;
    for k in 0..5 {
        page.each(
            NAMES[k as usize],
            &format!("in {}, by largest remainder", common.currency),
            Look::Money(digits),
            |p, i| {
                let rank = NumExpr::Rank(None, block(p, rests), p.of(rests + k, i));
                topped(p.of(down + k, i), rank, NumExpr::R(left), unit)
            },
        )?;
    }
    Ok(shares)
}
