//! Limits: what crosses one, what does not, and that between limits a dearer part is never a cheaper build.

use landwaiter::landed::{Bill, Landed};
use landwaiter::tables::Use;
use landwaiter::text::Problems;
use landwaiter::units::{Country, Currency, Dec, HomeMoney, Mode};
use proptest::prelude::*;
use proptest::sample::select;

use super::books::{Code, Item, Shelf, Shop, landed, shelf, simple, tables};
use super::cases;

/// Splits an amount of pence over places, some in several pieces.
fn split() -> impl Strategy<Value = Vec<(usize, u32)>> {
    proptest::collection::vec((0..500_usize, 1..=4_u32), 1..5)
}

/// Prices that come to an amount: all but the last are drawn, the last takes the rest.
fn prices(lines: &[(usize, u32)], pence: i64) -> Vec<(usize, i64, u32)> {
    let count = i64::try_from(lines.len()).unwrap();
    let mut left = pence;
    let mut found: Vec<(usize, i64, u32)> = Vec::new();
    for (place, quantity) in &lines[1..] {
        let each = pence / (count + 1) / i64::from(*quantity);
        left -= each * i64::from(*quantity);
        found.push((*place, each, *quantity));
    }
    found.push((lines[0].0, left, 1));
    found
}

fn one(landed: &Landed) -> &Bill {
    assert_eq!(landed.bills.len(), 1);
    &landed.bills[0]
}

/// Which limits hold.
fn holding(bill: &Bill) -> Vec<(String, bool)> {
    bill.limits
        .iter()
        .map(|limit| (limit.id.clone(), limit.holds))
        .collect()
}

proptest! {
    #![proptest_config(cases(48))]

    /// 135.00 of goods is taxed at the sale, 135.01 at the border, whatever carrying costs and however it is split.
    #[test]
    fn a_penny_over_the_limit_changes_where_tax_is_taken(
        lines in split(), freight in 0..=50_000_i64, below in 0..=13_400_i64, above in 1..=90_000_i64
    ) {
        for (pence, place) in [(13_500 - below, "at-sale"), (13_500, "at-sale"), (13_501, "at-border"), (13_500 + above, "at-border")] {
            let landed = landed(&simple(&prices(&lines, pence), freight));
            let bill = one(&landed);
            prop_assert_eq!(bill.intrinsic_value, HomeMoney::of(Dec::new(pence, 2)));
            prop_assert_eq!(bill.tax_collected, place, "{} pence of goods, {} of freight", pence, freight);
            let (sale, border) = (bill.amounts.tax_at_sale, bill.amounts.tax_at_border);
            prop_assert_eq!(if place == "at-sale" { border } else { sale }, HomeMoney::ZERO);
            if place == "at-sale" {
                prop_assert!(bill.amounts.duty.is_zero() && bill.amounts.remedy.is_zero() && bill.amounts.handling.is_zero());
            }
            let limit = &bill.limits[0];
            prop_assert_eq!((limit.left, limit.holds), (HomeMoney::of(Dec::new(13_500 - pence, 2)), place == "at-sale"));
        }
    }

    /// A lower price brings goods under the limit; a credit that pays part of the price does not.
    #[test]
    fn a_discount_lowers_the_value_and_a_credit_does_not(lines in split(), over in 1..=5_000_i64, credit in any::<bool>()) {
        let mut shelf = simple(&prices(&lines, 13_500 + over), 900);
        shelf.shops[0].codes.push(Code {
            name: "SAVE",
            scope: "basket",
            item: 0,
            worth: Err(over),
            max_off: None,
            min_spend: None,
            order: 0,
            group: "",
            credit,
            until: None,
        });
        let landed = landed(&shelf);
        let (value, place) = if credit { (13_500 + over, "at-border") } else { (13_500, "at-sale") };
        prop_assert_eq!(one(&landed).intrinsic_value, HomeMoney::of(Dec::new(value, 2)));
        prop_assert_eq!(one(&landed).tax_collected, place);
        prop_assert_eq!(one(&landed).amounts.discount, HomeMoney::of(Dec::new(over, 2)));
    }

    /// In the seller's money the limit is crossed where the customs rate of the day of arrival says.
    #[test]
    fn foreign_money_is_held_against_the_limit_at_the_customs_rate(
        currency in select(vec!["USD", "EUR", "JPY", "CHF", "KRW"]), lines in split(), freight in 0..=50_000_i64, day in 0..=600_u32
    ) {
        let mut shelf = Shelf { day, ..simple(&prices(&lines, 10_000), 0) };
        shelf.shops[0].currency = currency;
        shelf.shops[0].freight = shelf.shops[0].money(freight);
        shelf.shops[0].transit = Some(0);
        let money = Currency::parse(currency).unwrap();
        let (gbp, on) = (Currency::GBP, super::books::day(day));
        let britain = &tables().destination(Country::parse("GB").unwrap(), on).unwrap().rule;
        let customs = tables().customs_rates(britain, &mut Problems::new()).quote(Use::Customs, money, gbp, on).unwrap();
        let rate = customs.unwrap_or_else(|| tables().exchange.quote(Use::Market, money, gbp, on).unwrap().unwrap()).rate;
        let limit = Dec::new(13_500, 2);
        let step = Dec::new(1, money.digits());
        let most = rate.back(Dec::new(135_005, 3)).unwrap().round_to(money.digits(), Mode::Floor);
        for (goods, expected) in [(most.minus(step).unwrap(), true), (most.plus(step).unwrap(), false)] {
            let units = i64::try_from(goods.in_units(money.digits()).unwrap()).unwrap();
            let shop = &mut shelf.shops[0];
            shop.items.truncate(1);
            shop.items[0] = Item { price: units, quantity: 1, ..shop.items[0].clone() };
            let landed = landed(&shelf);
            let bill = one(&landed);
            prop_assert_eq!(bill.intrinsic_value.amount(), rate.convert(goods).unwrap().round_to(2, Mode::HalfUp));
            prop_assert_eq!(bill.intrinsic_value.amount() <= limit, expected);
            prop_assert_eq!(bill.tax_collected, if expected { "at-sale" } else { "at-border" });
        }
    }

    /// Freight shown apart is no part of the value that is held against a limit, at any seller's. (What a discount on
    /// freight saves may decide which discount of its group is used: those are left out.)
    #[test]
    fn freight_shown_apart_changes_no_test(shelf in shelf(), freight in select(vec!["0", "7", "250", "9000"])) {
        let mut shelf = shelf;
        shelf.shops.iter_mut().for_each(|shop| shop.codes.retain(|code| code.scope != "freight" || code.group.is_empty()));
        let other = Shelf {
            shops: shelf.shops.iter().map(|shop| Shop { freight: freight.to_owned(), ..shop.clone() }).collect(),
            ..shelf.clone()
        };
        let (before, after) = (landed(&shelf), landed(&other));
        prop_assert_eq!(before.bills.len(), after.bills.len());
        for (before, after) in before.bills.iter().zip(&after.bills) {
            prop_assert_eq!(before.intrinsic_value, after.intrinsic_value);
            prop_assert_eq!(before.tax_collected, after.tax_collected);
            // by SI 1986/939 a small gift is tested with its carriage
            let others = |bill: &Bill| {
                let limits = bill.limits.iter().filter(|limit| limit.id != "gift_small");
                limits.cloned().collect::<Vec<_>>()
            };
            prop_assert_eq!(others(before), others(after));
        }
    }
}

/// A parcel whose lines bear one rate: one place, one origin, all to order.
fn alike() -> impl Strategy<Value = Shelf> {
    shelf().prop_map(|mut shelf| {
        shelf.shops.truncate(1);
        let shop = &mut shelf.shops[0];
        shop.free_over = None;
        let first = shop.items[0].clone();
        for item in &mut shop.items {
            *item = Item {
                place: first.place,
                origin: first.origin,
                raw: first.raw,
                preference: first.preference,
                label: 0,
                ..item.clone()
            };
            item.price = item.price.min(5_000_000);
        }
        for code in &mut shop.codes {
            code.min_spend = None;
        }
        Shelf {
            home: Vec::new(),
            held: Vec::new(),
            ..shelf
        }
    })
}

proptest! {
    #![proptest_config(cases(96))]

    /// Between limits a dearer part never makes the parcel cheaper, beyond the pennies that rows of the law cut off.
    #[test]
    fn between_limits_dearer_is_never_cheaper(shelf in alike(), which in 0..6_usize, more in 1..=40_000_i64) {
        let mut dearer = shelf.clone();
        let shop = &mut dearer.shops[0];
        let at = which % shop.items.len();
        let unit = match shop.currency {
            "JPY" => 2,
            "KRW" => 20,
            "SEK" => 12,
            _ => 1,
        };
        shop.items[at].price += more * unit;
        let (before, after) = (landed(&shelf), landed(&dearer));
        let (low, high) = (one(&before), one(&after));
        if holding(low) != holding(high) || low.tax_collected != high.tax_collected {
            return Ok(());
        }
        let slack = HomeMoney::of(Dec::new(5 * i64::try_from(low.lines.len()).unwrap(), 2));
        let (low, high) = (low.amounts.landed().unwrap(), high.amounts.landed().unwrap());
        prop_assert!(high.plus(slack).unwrap() >= low, "{} falls to {}", low, high);
    }

    /// A fee of the carrier that the book tells stands in place of the tables' fee, wherever a fee is due.
    #[test]
    fn a_told_fee_stands_in_place_of_the_tables_fee(lines in split(), goods in 1_000..=90_000_i64, channel in select(vec!["post", "courier"])) {
        let mut shelf = simple(&prices(&lines, goods), 1_500);
        shelf.shops[0].channel = channel;
        let usual = landed(&shelf);
        shelf.shops[0].handling = "3.21";
        let told = landed(&shelf);
        let fee = if one(&usual).amounts.handling.is_zero() { Dec::ZERO } else { Dec::new(321, 2) };
        prop_assert_eq!(one(&told).amounts.handling.amount(), fee);
        let without = |bill: &Bill| bill.amounts.landed().unwrap().minus(bill.amounts.handling).unwrap();
        prop_assert_eq!(without(one(&told)), without(one(&usual)));
    }
}
