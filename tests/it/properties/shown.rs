//! A landed cost shown in another money: lines add up to parcels and parcels to the total there too, row by row and column by
//! column, and no figure is a minor unit or more beside its own conversion. What is looked at is the JSON that a user gets.

use landwaiter::Question;
use landwaiter::landed::{ChargeBreakdown, Landed};
use landwaiter::report::{Show, cost_json};
use landwaiter::tables::{TaxName, Use};
use landwaiter::units::Mode::{HalfEven, HalfUp};
use landwaiter::units::{Currency, Dec, HomeMoney, number};
use proptest::prelude::*;
use proptest::sample::select;
use serde_json::Value;

use super::books::{landed_as_asked, shelf, tables};
use super::cases;

/// The sums as they are named in JSON.
const SUMS: [&str; 10] = [
    "goods",
    "discount",
    "freight",
    "insurance",
    "duty",
    "remedy",
    "tax_at_sale",
    "tax_at_border",
    "handling",
    "card_fee",
];

/// The same sums in the destination's money.
fn own_sums(a: &ChargeBreakdown) -> [Dec; 10] {
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
    .map(HomeMoney::amount)
}

fn total(of: impl IntoIterator<Item = Dec>) -> Dec {
    Dec::total(of).unwrap()
}

/// A figure of an object.
fn figure(of: &Value, name: &str) -> Dec {
    let text = of[name].as_str();
    number::plain(text.unwrap_or_else(|| panic!("no {name} in {of}"))).unwrap()
}

fn list<'a>(of: &'a Value, name: &str) -> &'a [Value] {
    of[name].as_array().unwrap()
}

/// The sums of an object, and what it lands at.
#[derive(Debug)]
struct Sums {
    cells: [Dec; 10],
    landed: Dec,
}

impl Sums {
    fn of(value: &Value) -> Sums {
        Sums {
            cells: SUMS.map(|name| figure(value, name)),
            landed: figure(value, "landed"),
        }
    }

    /// What the columns come to: the discount comes off, and all else is added.
    fn columns(&self) -> Dec {
        let column = |(name, cell): (&str, Dec)| match name {
            "discount" => cell.negated(),
            _ => cell,
        };
        total(SUMS.into_iter().zip(self.cells).map(column))
    }

    /// What is held has goods alone.
    fn held(paid: Dec) -> Sums {
        let mut cells = [Dec::ZERO; 10];
        cells[0] = paid;
        Sums {
            cells,
            landed: paid,
        }
    }
}

fn adds_up(of: &str, whole: &Sums, parts: &[Sums]) {
    for (at, name) in SUMS.iter().enumerate() {
        let column = total(parts.iter().map(|part| part.cells[at]));
        assert_eq!(whole.cells[at], column, "{name} of {of}");
    }
    let rows = total(parts.iter().map(|part| part.landed));
    assert_eq!(whole.landed, rows, "rows of {of}");
    assert_eq!(whole.landed, whole.columns(), "columns of {of}");
}

/// An amount of the destination's money there, before it is rounded.
fn exactly(show: &Show, amount: Dec) -> Dec {
    show.rate.convert(amount).unwrap().round_to(14, HalfEven)
}

/// No figure is a whole minor unit beside its own conversion, and what is nothing stays nothing.
fn near(show: &Show, own: &ChargeBreakdown, there: &Sums) {
    let step = Dec::new(1, show.currency.digits());
    for (own, there) in own_sums(own).into_iter().zip(there.cells) {
        let off = there.minus(exactly(show, own)).unwrap().abs();
        assert!(off < step, "{own} is shown as {there}");
        assert!(
            own != Dec::ZERO || there == Dec::ZERO,
            "nothing is shown as {there}"
        );
    }
}

fn holds(landed: &Landed, ask: &Question, show: &Show) {
    let json = cost_json(landed, ask, show, Value::Null, (false, None)).unwrap();
    let digits = show.currency.digits();
    let totals = &json["totals"];
    let parcels = list(&json, "consignments");
    let paid = list(&json, "held").iter();
    let held = total(
        paid.filter(|held| !held["paid"].is_null())
            .map(|held| figure(held, "paid")),
    );
    let mut bills: Vec<Sums> = parcels.iter().map(Sums::of).collect();
    assert_eq!(landed.bills.len(), bills.len());
    for ((own, there), sums) in landed.bills.iter().zip(parcels).zip(&bills) {
        let lines: Vec<Sums> = list(there, "lines").iter().map(Sums::of).collect();
        adds_up(&own.id, sums, &lines);
        near(show, &own.amounts, sums);
        assert_eq!(own.lines.len(), lines.len());
        let both = own.lines.iter().zip(&lines);
        both.for_each(|(own, line)| near(show, &own.amounts, line));
    }
    let whole = Sums::of(totals);
    bills.push(Sums::held(held));
    adds_up("the total", &whole, &bills);
    near(show, &landed.totals.amounts, &whole);
    let own = &landed.totals;
    let converted = exactly(show, own.landed().unwrap().amount()).round_to(digits, HalfUp);
    assert_eq!(whole.landed, converted);
    let sum = |one, other| total([figure(totals, one), figure(totals, other)]);
    assert_eq!(
        figure(totals, "to_pay"),
        sum("to_pay_seller", "to_pay_carrier")
    );
    if own.spent.plus(own.to_pay).unwrap() == own.landed().unwrap() {
        assert_eq!(sum("spent", "to_pay"), whole.landed);
    }
    let undisputed = parcels.iter().map(|bill| figure(bill, "landed_undisputed"));
    assert_eq!(
        total(undisputed.chain([held])),
        figure(totals, "landed_undisputed")
    );
}

proptest! {
    #![proptest_config(cases(96))]

    #[test]
    fn what_is_shown_in_another_money_adds_up_there(shelf in shelf(), code in select(vec!["GBP", "EUR", "USD", "JPY", "KRW"])) {
        let (ask, landed) = landed_as_asked(&shelf);
        let currency = Currency::parse(code).unwrap();
        let quote = tables().exchange.quote(Use::Market, landed.currency, currency, landed.date).unwrap().unwrap();
        holds(&landed, &ask, &Show { currency, rate: quote.rate, tax: TaxName::Vat });
    }
}
