//! One parcel, every destination, one day: a page a reader can check by eye and against `rates/*/README.md`.

use landwaiter::tables::{Tables, Use};
use landwaiter::units::{Currency, Date, Dec, Mode};

use super::{ask, built_in, day, expect, landed};

const ON: &str = "2026-10-26";

/// A frame, wheels and a bar from Taiwan by courier, paid in dollars.
const PARCEL: &str = "part,place,seller,price,currency,dispatch,origin,mass_g,freight,channel,sender\n\
    Frame,frame,Shop,900,USD,TW,TW,1100,60,courier,business\n\
    Wheels,wheels,Shop,500,USD,TW,TW,1500,60,courier,business\n\
    Bar,handlebar,Shop,100,USD,TW,CN,250,60,courier,business\n";

/// The same bar alone, the seller taking the tax where the law lets him.
const SMALL: &str = "part,place,seller,price,currency,dispatch,origin,mass_g,freight,channel,collects_tax\n\
    Bar,handlebar,Shop,100,USD,TW,CN,250,15,CHANNEL,yes\n";

fn in_euro(tables: &Tables, amount: Dec, money: Currency, on: Date) -> Dec {
    let quote = tables
        .exchange
        .quote(Use::Market, money, Currency::parse("EUR").unwrap(), on)
        .unwrap()
        .unwrap();
    quote
        .rate
        .convert(amount)
        .unwrap()
        .round_to(2, Mode::HalfUp)
}

fn page(title: &str, parcel: &str) -> String {
    let head = [
        "to",
        "goods",
        "freight",
        "duty",
        "a-dump",
        "tax",
        "fee",
        "lands at",
        "",
        "in EUR",
        "tax taken",
    ];
    let line = |cells: [&str; 11]| {
        let [
            to,
            goods,
            freight,
            duty,
            remedy,
            tax,
            fee,
            lands,
            money,
            euro,
            taken,
        ] = cells;
        let text = format!(
            "{to:<5} {goods:>12} {freight:>8} {duty:>10} {remedy:>8} {tax:>10} {fee:>8} {lands:>12} {money:<3} {euro:>9}  {taken}"
        );
        text.trim_end().to_owned() + "\n"
    };
    let mut out = format!("{title}\n\n{}", line(head));
    for row in &built_in().destinations {
        let code = row.rule.country.code();
        let to = if code == "CA" { "CA-ON" } else { code };
        let done = landed(parcel, built_in(), &ask(to, ON, &[("card_fee", "0")]));
        let (a, money) = (done.totals.amounts, done.currency);
        let text = |amount: Dec| amount.grouped(money.digits());
        let gaps = done.bills.iter().any(|bill| !bill.gaps.is_empty());
        let duty = if gaps {
            "not known".to_owned()
        } else {
            text(a.duty.amount())
        };
        let lands = a.landed().unwrap();
        let cells = [
            text(a.goods.amount()),
            text(a.freight.amount()),
            duty,
            text(a.remedy.amount()),
            text(a.tax().unwrap().amount()),
            text(a.handling.amount()),
            text(lands.amount()),
        ];
        let [goods, freight, duty, remedy, tax, fee, lands_at] =
            cells.each_ref().map(String::as_str);
        let euro = in_euro(built_in(), lands.amount(), money, day(ON)).grouped(2);
        out.push_str(&line([
            to,
            goods,
            freight,
            duty,
            remedy,
            tax,
            fee,
            lands_at,
            &money.to_string(),
            &euro,
            done.bills[0].tax_collected,
        ]));
    }
    out
}

#[test]
fn one_parcel_to_every_destination() {
    let first = format!(
        "Frame 900, wheels 500 and a bar of Chinese make 100 USD, freight 60 USD, from Taiwan by courier, {ON}"
    );
    let second = |channel: &str| {
        format!(
            "The bar alone, 100 USD and 15 USD freight, {channel}, the seller takes the tax where it may, {ON}"
        )
    };
    let pages = [
        page(&first, PARCEL),
        page(&second("by courier"), &SMALL.replace("CHANNEL", "courier")),
        page(&second("by post"), &SMALL.replace("CHANNEL", "post")),
    ];
    expect("tests/it/expected/all_destinations.txt", &pages.join("\n"));
}
