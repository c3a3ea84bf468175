//! Which rate of exchange customs takes. The day is that of arrival, always (E1 is not expressible).

use crate::common::Case;

/// Goods paid in dollars, valued in yen.
fn dollars(rates: &str) -> Case {
    Case::new("JPY")
        .table("exchange.csv", rates)
        .law(
            "charges",
            "charge,kind,order,level,of\ncustoms_value,value,10,line,goods",
        )
        .seller("currency=USD")
        .parts("part,place,price\nframe,frame,100")
}

/// Weekly rates, each the average of a week before it, are rows for the days they serve; a quarter or a day is another span.
#[test]
fn e2() {
    let weekly = dollars(
        "use,base,quote,rate,valid_from,valid_to
        market,USD,JPY,152.00,2026-01-01,
        customs,USD,JPY,150.00,2026-03-01,2026-03-07
        customs,USD,JPY,151.00,2026-03-08,2026-03-14",
    );
    weekly
        .clone()
        .on("2026-03-02")
        .set("arrival", "2026-03-07")
        .proves(
            "exchange",
            "customs,USD,JPY,150",
            &[
                ("customs_value", "15000"),
                ("goods", "15200"),
                ("said customs-rate", "no"),
            ],
        );
    weekly
        .clone()
        .on("2026-03-02")
        .set("arrival", "2026-03-08")
        .proves(
            "exchange",
            "customs,USD,JPY,151",
            &[("customs_value", "15100")],
        );
    weekly
        .on("2026-03-02")
        .set("arrival", "2026-03-15")
        .gives(&[("customs_value", "15200"), ("said customs-rate", "yes")]);
}

/// A quarter's rate, and the rate that stands in its place on the days on which the market is 5 % away.
#[test]
fn e3() {
    let quarter = dollars(
        "use,base,quote,rate,valid_from,valid_to\ncustoms,USD,JPY,158.00,2026-03-16,2026-03-17",
    )
    .shipped(
        "exchange.csv",
        "use,base,quote,rate,valid_from,valid_to
        market,USD,JPY,152.00,2026-01-01,
        customs,USD,JPY,150.00,2026-01-01,2026-03-31",
    );
    let on = |day: &str| quarter.clone().on(day);
    on("2026-03-15").gives(&[("customs_value", "15000")]);
    on("2026-03-16").proves(
        "exchange",
        "customs,USD,JPY,158",
        &[("customs_value", "15800")],
    );
    on("2026-03-17").proves(
        "exchange",
        "customs,USD,JPY,158",
        &[("customs_value", "15800")],
    );
    on("2026-03-18").gives(&[("customs_value", "15000")]);
}

/// Customs takes the selling rate, the card the middle one: each has its rows.
#[test]
fn e4() {
    dollars(
        "use,base,quote,rate,valid_from
        market,USD,JPY,152.00,2026-03-02
        customs,USD,JPY,153.50,2026-03-02",
    )
    .proves(
        "exchange",
        "customs,",
        &[("customs_value", "15350"), ("goods", "15200")],
    );
}
