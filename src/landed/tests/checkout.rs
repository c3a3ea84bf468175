//! What a checkout should show is what `cost` says is paid, on generated books of sellers with codes, schedules, credits, shipping
//! free from a sum on, insurance and prices that hold a tax.

use super::bounds::{Size, book_of, tables_for};
use crate::book::{Included, Role};
use crate::landed::{Jurisdiction, checkouts, cost_at};
use crate::made::{self, Dice};
use crate::units::{Date, Dec, HomeMoney, Mode, SellerMoney};

/// Books at each of ten destinations, in the whole and usually.
const BOOKS: [u64; 2] = [120, 30];

/// What was seen, so that no case is absent in silence.
#[derive(Debug, Default)]
struct Seen {
    orders: u64,
    codes: u64,
    credits: u64,
    taxed: u64,
    own_tax: u64,
    card: u64,
    free: u64,
}

fn look(to: &str, seen: &mut Seen) {
    let tables = tables_for(to);
    for nth in 0..made::share(BOOKS[0], BOOKS[1]) {
        let mut book = book_of(&mut Dice(made::seed() ^ (nth * 31)), to, Size::Some);
        book.parts
            .iter_mut()
            .for_each(|part| part.role = Role::Build);
        let day = Date::parse("2026-09-23").unwrap();
        let ask = crate::Question::new(&book.settings, day).unwrap();
        let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
        let (Ok(landed), Ok(orders)) = (
            cost_at(&book, &jurisdiction),
            checkouts(&book, &jurisdiction),
        ) else {
            continue;
        };
        assert_eq!(landed.bills.len(), orders.len(), "{to} {nth}");
        let paid = orders.iter().map(|order| order.to_seller().unwrap());
        assert_eq!(
            HomeMoney::total(paid).unwrap(),
            landed.totals.to_pay_seller,
            "{to} {nth}"
        );
        for (order, bill) in orders.iter().zip(&landed.bills) {
            let sums = &order.sums;
            // Converted once, by the rate of the day, to the minor unit; the card's fee is a share of that.
            let digits = jurisdiction.currency().digits();
            let rate = jurisdiction
                .market_rate(bill.paid_in, bill.ordered)
                .unwrap()
                .rate;
            let converted = rate
                .convert(sums.total.amount())
                .unwrap()
                .round_to(digits, Mode::HalfUp);
            assert_eq!(order.converted().unwrap().amount(), converted, "{to} {nth}");
            // The tax at the checkout is the bill's, which is rounded to the minor unit line by line; none is none.
            let tax = rate.convert(sums.tax.amount()).unwrap();
            let apart = tax.minus(bill.amounts.tax_at_sale.amount()).unwrap().abs();
            let most = Dec::new(i64::try_from(bill.lines.len()).unwrap(), digits);
            assert!(apart <= most, "{to} {nth}: {apart}");
            assert_eq!(
                sums.tax.is_zero(),
                bill.amounts.tax_at_sale.is_zero(),
                "{to} {nth}"
            );
            // The basket is what the book says, and codes take what the sums say.
            let typed = order.basket.iter().map(|part| {
                let price = part.price.unwrap();
                SellerMoney::of(price.times(part.quantity.into()).unwrap())
            });
            let typed = SellerMoney::total(typed).unwrap();
            let holds = book.sellers[&bill.seller].prices_include;
            if holds == Included::Nothing {
                assert_eq!(typed, sums.goods, "{to} {nth}");
            } else {
                assert!(sums.goods <= typed, "{to} {nth}");
            }
            let takes = order.codes.iter().map(|(_, takes)| *takes);
            let takes = SellerMoney::total(takes).unwrap();
            assert!(takes >= sums.off.plus(sums.credit).unwrap(), "{to} {nth}");
            seen.orders += 1;
            seen.codes += u64::from(!sums.off.is_zero());
            seen.credits += u64::from(!sums.credit.is_zero());
            seen.taxed += u64::from(sums.tax.is_positive());
            seen.own_tax += u64::from(order.own_tax.is_some());
            seen.card += u64::from(!bill.amounts.card_fee.is_zero());
            seen.free += u64::from(sums.freight.is_zero());
        }
    }
}

#[test]
fn a_checkout_shows_what_cost_says_is_paid() {
    let mut seen = Seen::default();
    for to in [
        "GB", "DE", "FR", "US", "CA-ON", "AU", "NZ", "NO", "CH", "JP",
    ] {
        look(to, &mut seen);
    }
    let Seen {
        orders,
        codes,
        credits,
        taxed,
        own_tax,
        card,
        free,
    } = seen;
    assert!(orders >= made::share(1000, 250), "{orders}");
    let rare = [codes, credits, taxed, own_tax, card, free];
    assert!(rare.iter().all(|count| *count >= 10), "{rare:?}");
}
