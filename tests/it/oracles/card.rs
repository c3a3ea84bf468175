//! A bank's printed example of a card purchase in euros: tests/data/oracles/trade_oracles_card.csv (a support page, single figures). Its
//! note says that the fee was rounded up and the penny is not exact.

use landwaiter::units::Dec;

use super::{exact, rows};
use crate::common::Case;

#[test]
fn a_purchase_abroad_with_its_card_fee() {
    let rows = rows(include_str!("../../data/oracles/trade_oracles_card.csv"));
    let printed =
        |input: &str| rows.iter().find(|row| row["input"] == input).unwrap()["value"].clone();
    let amount =
        |input: &str, money: &str| exact(printed(input).strip_prefix(money).unwrap().trim());
    let rate = printed("scheme rate")
        .strip_prefix("GBP 1 = EUR ")
        .unwrap()
        .to_owned();
    let landed = Case::new("GBP")
        .table(
            "exchange.csv",
            &format!("use,base,quote,rate,valid_from\nmarket,GBP,EUR,{rate},2000-01-01"),
        )
        .law(
            "charges",
            "charge,kind,order,level,of\ncustoms_value,value,10,line,goods",
        )
        .set(
            "card_fee",
            printed("non-sterling fee rate").trim_end_matches(['%', ' ']),
        )
        .seller("currency=EUR; dispatch=DE")
        .parts(&format!(
            "part,place,price\nframe,frame,{}",
            printed("price").strip_prefix("EUR ").unwrap()
        ))
        .run()
        .unwrap();
    let paid = landed.totals.amounts;
    assert_eq!(
        paid.goods.amount(),
        amount("converted", "GBP"),
        "the converted sum is exact"
    );
    let penny = Dec::new(1, 2);
    let near = |found: Dec, printed: Dec| found.minus(printed).unwrap().abs() <= penny;
    assert!(
        near(paid.card_fee.amount(), amount("fee printed", "GBP")),
        "{paid:?}"
    );
    assert!(
        near(
            paid.landed().unwrap().amount(),
            amount("total printed", "GBP")
        ),
        "{paid:?}"
    );
    assert_eq!(
        paid.card_fee.amount(),
        Dec::new(236, 2),
        "2.75 % of 85.98 is 2.36445, half up 2.36; the page printed 2.37"
    );
    println!("card purchase: converted sum reproduced exactly, fee and total within 0.01");
}
