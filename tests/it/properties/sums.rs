//! Lines add up to parcels and parcels to the build, to the penny; what is paid is what was asked, converted once.

use landwaiter::landed::{Bill, ChargeBreakdown, ConsignmentState, Landed};
use landwaiter::tables::Use;
use landwaiter::units::{Currency, Date, Dec, HomeMoney, Mode};
use proptest::prelude::*;

use super::books::{Shelf, landed, shelf};
use super::cases;

fn total(of: impl IntoIterator<Item = Dec>) -> Dec {
    Dec::total(of).unwrap()
}

/// Every field by name.
fn fields(amounts: &ChargeBreakdown) -> [(&'static str, Dec); 10] {
    [
        ("goods", amounts.goods.amount()),
        ("discount", amounts.discount.amount()),
        ("freight", amounts.freight.amount()),
        ("insurance", amounts.insurance.amount()),
        ("duty", amounts.duty.amount()),
        ("remedy", amounts.remedy.amount()),
        ("tax_at_sale", amounts.tax_at_sale.amount()),
        ("tax_at_border", amounts.tax_at_border.amount()),
        ("handling", amounts.handling.amount()),
        ("card_fee", amounts.card_fee.amount()),
    ]
}

/// The sum as the outputs promise it.
fn promised(a: &ChargeBreakdown) -> HomeMoney {
    let tax = a.tax_at_sale.plus(a.tax_at_border).unwrap();
    HomeMoney::total([
        a.goods,
        a.discount.negated(),
        a.freight,
        a.insurance,
        a.duty,
        a.remedy,
        tax,
        a.handling,
        a.card_fee,
    ])
    .unwrap()
}

fn adds_up(of: &str, whole: &ChargeBreakdown, parts: &[ChargeBreakdown]) {
    for (at, (name, amount)) in fields(whole).into_iter().enumerate() {
        assert_eq!(
            amount,
            total(parts.iter().map(|p| fields(p)[at].1)),
            "{name} of {of}"
        );
        assert!(
            parts.iter().all(|p| fields(p)[at].1.decimals() <= 2),
            "{name} of {of} is cut finer than a penny"
        );
    }
    assert_eq!(whole.landed().unwrap(), promised(whole), "{of}");
}

/// What the seller is paid is the sum asked, converted once at the market rate and rounded, and the card's fee on that.
fn paid_as_asked(bill: &Bill, shelf: &Shelf) {
    let gbp = Currency::GBP;
    let quote = super::books::tables()
        .exchange
        .quote(Use::Market, bill.paid_in, gbp, bill.ordered)
        .unwrap()
        .unwrap();
    let converted = quote
        .rate
        .to_home(bill.seller_sum)
        .unwrap()
        .amount()
        .round_to(2, Mode::HalfUp);
    let percent = match shelf.card_fee {
        "2.75" if bill.paid_in != gbp => Dec::new(275, 4),
        _ => Dec::ZERO,
    };
    let card = converted.times(percent).unwrap().round_to(2, Mode::HalfUp);
    assert_eq!(bill.amounts.card_fee.amount(), card, "{}", bill.id);
    assert_eq!(
        bill.amounts.to_seller().unwrap().amount(),
        converted.plus(card).unwrap(),
        "{}",
        bill.id
    );
    assert!(
        !bill.seller_sum.is_negative(),
        "{} is paid {}",
        bill.id,
        bill.seller_sum.amount()
    );
}

/// The trail's amounts are the charges.
fn charged_as_trailed(bill: &Bill) {
    let trailed = |kind: &str| {
        HomeMoney::of(total(
            bill.trail
                .iter()
                .filter(|s| s.kind == kind)
                .filter_map(|s| s.amount),
        ))
    };
    let due = if bill.tax_collected == "in-price" {
        &bill.in_price
    } else {
        &bill.amounts
    };
    assert_eq!(due.duty, trailed("duty"), "{}", bill.id);
    assert_eq!(due.remedy, trailed("remedy"), "{}", bill.id);
    assert_eq!(due.tax_at_border, trailed("tax"), "{}", bill.id);
    assert_eq!(due.handling, trailed("fee"), "{}", bill.id);
    if bill.paid_in == Currency::GBP
        && bill.in_price == ChargeBreakdown::default()
        && bill.tax_collected != "in-price"
    {
        let due = trailed("sale-tax");
        let slack = HomeMoney::of(Dec::new(i64::try_from(bill.lines.len()).unwrap(), 2));
        assert!(
            bill.amounts.tax_at_sale.minus(due).unwrap().abs() <= slack,
            "{}",
            bill.id
        );
    }
}

fn nothing_below_zero(bill: &Bill) {
    for (name, amount) in fields(&bill.amounts)
        .into_iter()
        .chain(fields(&bill.in_price))
    {
        assert!(!amount.is_negative(), "{name} of {} is {amount}", bill.id);
    }
    for line in &bill.lines {
        for (name, amount) in fields(&line.amounts) {
            assert!(!amount.is_negative(), "{name} of {} is {amount}", line.part);
        }
    }
    assert!(
        bill.in_price == ChargeBreakdown::default() || bill.tax_collected == "in-price",
        "{}",
        bill.id
    );
}

fn totals_stand_together(landed: &Landed, told: bool) {
    let bills: Vec<ChargeBreakdown> = landed.bills.iter().map(|b| b.amounts).collect();
    let mut whole = landed.totals.amounts;
    whole.goods = whole.goods.minus(landed.totals.held).unwrap();
    adds_up("the build", &whole, &bills);
    let totals = &landed.totals;
    assert_eq!(
        totals.held,
        HomeMoney::total(landed.held.iter().filter_map(|h| h.paid)).unwrap()
    );
    assert_eq!(
        totals.to_pay,
        totals.to_pay_seller.plus(totals.to_pay_carrier).unwrap()
    );
    if !told {
        assert_eq!(
            totals.spent.plus(totals.to_pay).unwrap(),
            totals.landed().unwrap()
        );
    }
}

/// A code may be used once in each order; when all is ordered anew, a seller's parcels are one order.
fn alike_when_ordered_again(shelf: &Shelf) -> bool {
    let fresh = shelf
        .shops
        .iter()
        .all(|s| s.sender != "gift" && s.items.iter().all(|i| i.label == 0));
    fresh && shelf.held.is_empty()
}

proptest! {
    #![proptest_config(cases(64))]

    #[test]
    fn sums_add_up_to_the_penny(shelf in shelf()) {
        let landed = landed(&shelf);
        for bill in &landed.bills {
            let lines: Vec<ChargeBreakdown> = bill.lines.iter().map(|l| l.amounts).collect();
            adds_up(&bill.id, &bill.amounts, &lines);
            nothing_below_zero(bill);
            if bill.kind != ConsignmentState::Gift {
                paid_as_asked(bill, &shelf);
            }
            if bill.dispatch.code() != "GB" {
                charged_as_trailed(bill);
            }
        }
        let told = shelf.shops.iter().any(|s| s.items.iter().any(|i| i.paid.is_some() && i.label != 0));
        totals_stand_together(&landed, told);
        if alike_when_ordered_again(&shelf) {
            prop_assert_eq!(landed.totals.replacement, landed.totals.landed().unwrap());
        }
    }

    /// Every row with a price stands on one bill and once; what a seller sends does not touch another's bill.
    #[test]
    fn a_bill_looks_at_its_own_seller_alone(shelf in shelf()) {
        let whole = landed(&shelf);
        for (at, shop) in shelf.shops.iter().enumerate() {
            let name = super::books::seller(at);
            let alone = Shelf { shops: vec![shop.clone()], home: Vec::new(), held: Vec::new(), ..shelf.clone() };
            let alone = landed(&alone);
            let mine: Vec<&Bill> = whole.bills.iter().filter(|b| b.seller == name).collect();
            let sums = |bills: &[&Bill]| bills.iter().map(|b| (b.amounts, b.landed_undisputed, b.arrival)).collect::<Vec<(ChargeBreakdown, HomeMoney, Date)>>();
            prop_assert_eq!(sums(&mine), sums(&alone.bills.iter().collect::<Vec<_>>()));
            let priced = shop.items.iter().filter(|i| i.paid.is_none() || i.label != 2 || shop.sender == "gift").count();
            prop_assert_eq!(mine.iter().map(|b| b.lines.len()).sum::<usize>(), priced);
        }
    }
}
