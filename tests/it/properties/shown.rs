//! A landed cost shown in another money: lines add up to parcels and parcels to the total there too, row by row and column by
//! column, and no figure is a minor unit or more beside its own conversion.

use landwaiter::landed::{ChargeBreakdown, Landed};
use landwaiter::report::{Show, ShownSums, shown};
use landwaiter::tables::{TaxName, Use};
use landwaiter::units::{Amount, Currency, Dec, ShownMoney};
use proptest::prelude::*;
use proptest::sample::select;

use super::books::{landed, shelf, tables};
use super::cases;

/// The sums as they are shown.
fn fields<K: Copy>(a: &ChargeBreakdown<K>) -> [Dec; 10] {
    [
        a.goods,
        a.discount,
        a.freight,
        a.insurance,
        a.duty,
        a.remedy,
        a.tax_at_sale,
        a.tax_at_border,
        a.handling,
        a.card_fee,
    ]
    .map(Amount::amount)
}

fn total(of: impl IntoIterator<Item = Dec>) -> Dec {
    Dec::total(of).unwrap()
}

fn adds_up(of: &str, whole: &ShownSums, parts: &[ShownSums], digits: u32) {
    for at in 0..10 {
        assert_eq!(
            fields(whole)[at],
            total(parts.iter().map(|part| fields(part)[at])),
            "column {at} of {of}"
        );
    }
    assert_eq!(
        whole.landed().unwrap(),
        ShownMoney::total(parts.iter().map(|part| part.landed().unwrap())).unwrap(),
        "rows of {of}"
    );
    assert!(
        parts
            .iter()
            .flat_map(fields)
            .all(|cell| cell.decimals() <= digits),
        "{of} is cut finer than it is shown"
    );
}

/// No figure is a whole minor unit beside its own conversion, and what is nothing stays nothing.
fn near(show: &Show, own: &ChargeBreakdown, there: &ShownSums) {
    let step = Dec::new(1, show.currency.digits());
    for (own, there) in fields(own).into_iter().zip(fields(there)) {
        let off = there.minus(show.exactly(own).unwrap()).unwrap().abs();
        assert!(off < step, "{own} is shown as {there}");
        assert!(
            !own.is_zero() || there.is_zero(),
            "nothing is shown as {there}"
        );
    }
}

fn holds(landed: &Landed, show: &Show) {
    let there = shown(landed, show).unwrap();
    let digits = show.currency.digits();
    let held = ShownSums {
        goods: there.totals.held,
        ..ShownSums::default()
    };
    let bills: Vec<ShownSums> = there
        .bills
        .iter()
        .map(|bill| bill.amounts)
        .chain([held])
        .collect();
    adds_up("the total", &there.totals.amounts, &bills, digits);
    assert_eq!(
        there.totals.landed().unwrap(),
        ShownMoney::of(
            show.rounded(landed.totals.landed().unwrap().amount())
                .unwrap()
        )
    );
    near(show, &landed.totals.amounts, &there.totals.amounts);
    for (own, bill) in landed.bills.iter().zip(&there.bills) {
        let lines: Vec<ShownSums> = bill.lines.iter().map(|line| line.amounts).collect();
        adds_up(&bill.home.id, &bill.amounts, &lines, digits);
        near(show, &own.amounts, &bill.amounts);
        own.lines
            .iter()
            .zip(&bill.lines)
            .for_each(|(own, line)| near(show, &own.amounts, &line.amounts));
    }
    assert_eq!(
        there.totals.held,
        ShownMoney::total(there.held.iter().filter_map(|held| held.paid)).unwrap()
    );
    let t = &there.totals;
    assert_eq!(t.to_pay, t.to_pay_seller.plus(t.to_pay_carrier).unwrap());
    let own = &landed.totals;
    if own.spent.plus(own.to_pay).unwrap() == own.landed().unwrap() {
        assert_eq!(t.spent.plus(t.to_pay).unwrap(), t.landed().unwrap());
    }
    let without = ShownMoney::total(there.bills.iter().map(|bill| bill.landed_undisputed))
        .unwrap()
        .plus(t.held)
        .unwrap();
    assert_eq!(without, t.landed_undisputed);
}

proptest! {
    #![proptest_config(cases(96))]

    #[test]
    fn what_is_shown_in_another_money_adds_up_there(shelf in shelf(), code in select(vec!["GBP", "EUR", "USD", "JPY", "KRW"])) {
        let landed = landed(&shelf);
        let currency = Currency::parse(code).unwrap();
        let quote = tables().exchange.quote(Use::Market, landed.currency, currency, landed.date).unwrap().unwrap();
        holds(&landed, &Show { currency, rate: quote.rate, tax: TaxName::Vat });
    }
}
