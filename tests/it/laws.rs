//! A grammar of random laws over the columns of charges, reliefs and tariff: levels, groups, percentages and rates, flat amounts by
//! parcel, piece, item and kilogram, least and most, roundings, conditions on sums, reliefs that drop a kind or a row.

use std::fmt::Write;

use landwaiter::tables::Tables;
use landwaiter::text::Problems;

use crate::made::{Dice, own};

pub(crate) fn figure(dice: &mut Dice, most: u64) -> String {
    let cents = dice.below(most * 100) + 1;
    format!("{}.{:02}", cents / 100, cents % 100)
}

pub(crate) const ROUNDS: [&str; 8] = [
    "floor 0.05",
    "half_up 0.01",
    "half_even 0.01",
    "down 0.01",
    "up 0.05",
    "ceiling 1",
    "half_down 0.1",
    "half_up 0.05",
];
pub(crate) const WHENS: [&str; 10] = [
    "",
    "",
    "unit_mass >= 0.5 kg",
    "goods > 150 EUR",
    "goods >= 200 USD",
    "customs_value <= 400 EUR",
    "goods = 300 EUR | place = frame",
    "origin = CN",
    "commodity = 871491 & goods > 20 EUR | origin = TW",
    "unit_value >= 40 EUR",
];

/// One row of charges; the names that its sum may use are those of rows before it.
pub(crate) fn charge(dice: &mut Dice, kind: &str, order: u64, id: &str) -> String {
    let level = dice.of(&["line", "item6", "consignment"]);
    let of = match kind {
        "duty" | "remedy" => dice.of(&[
            "customs_value",
            "goods",
            "goods + freight.border",
            "goods + freight - 0.6 * freight.inland",
        ]),
        "tax" => dice.of(&[
            "customs_value + duty + remedy",
            "goods + freight + duty",
            "goods + freight - 1/3 * freight.border + duty",
        ]),
        _ => dice.of(&["duty + tax", "goods"]),
    };
    let (percent, rate) = match kind {
        "duty" if dice.one_in(2) => (String::new(), "tariff:mfn"),
        "remedy" => (String::new(), "tariff:remedy"),
        _ => (figure(dice, 30), ""),
    };
    let (flat, per) = if dice.one_in(3) {
        (
            figure(dice, 9),
            dice.of(&["consignment", "item", "piece", "kg"]),
        )
    } else {
        (String::new(), "")
    };
    let min = if dice.one_in(4) {
        figure(dice, 12)
    } else {
        String::new()
    };
    let max = if dice.one_in(5) {
        format!("{}", 200 + dice.below(300))
    } else {
        String::new()
    };
    let group = match kind {
        "duty" if dice.one_in(2) => dice.of(&["g first", "g least"]),
        "tax" | "fee" if dice.one_in(4) => "h least",
        _ => "",
    };
    let (round, when) = (dice.of(&ROUNDS), dice.of(&WHENS));
    format!(
        "{id},{kind},{order},{group},{level},{of},{percent},{rate},{flat},{per},{min},{max},EUR,{round},{when},2020-01-01\n"
    )
}

pub(crate) fn charges(dice: &mut Dice) -> String {
    let mut text = String::from(
        "charge,kind,order,group,level,of,percent,rate_from,flat,per,min,max,currency,round,when,valid_from\n",
    );
    let of = dice.of(&[
        "goods + freight.border + insurance",
        "goods + freight + insurance",
        "goods",
    ]);
    let round = dice.of(&["", "", "half_up 0.01", "down 1", "half_up 0.001"]);
    let level = dice.of(&["line", "item6", "consignment", "consignment"]);
    let (flat, per) = if dice.one_in(3) {
        let flat = dice.of(&["0.42", "0.005", "1.37"]);
        (flat, dice.of(&["consignment", "item", "piece"]))
    } else {
        ("", "")
    };
    let min = if dice.one_in(5) { "12.345" } else { "" };
    writeln!(
        text,
        "customs_value,value,10,,{level},{of},,,{flat},{per},{min},,EUR,{round},,2020-01-01"
    )
    .unwrap();
    for (at, kind) in ["duty", "duty", "remedy", "tax", "fee", "fee"]
        .into_iter()
        .enumerate()
    {
        if !dice.one_in(6) {
            text.push_str(&charge(
                dice,
                kind,
                20 + 10 * at as u64,
                &format!("own_{kind}_{at}"),
            ));
        }
    }
    text
}

pub(crate) fn reliefs(dice: &mut Dice) -> String {
    let mut text =
        String::from("relief,order,tests,per,op,amount,currency,drops,when,valid_from\n");
    for at in 0..dice.below(4) {
        let (order, tests) = (
            15 + 10 * dice.below(5),
            dice.of(&["goods", "customs_value", "goods + freight"]),
        );
        let (per, op) = (
            dice.of(&["consignment", "line", "piece"]),
            dice.of(&["<=", "<"]),
        );
        let (drops, when) = (
            dice.of(&["duty", "tax", "remedy", "duty tax", "fee"]),
            dice.of(&WHENS),
        );
        let limit = match dice.below(3) {
            0 => 100 * (1 + dice.below(4)),
            _ => 10 + dice.below(400),
        };
        let money = dice.of(&["EUR", "EUR", "USD"]);
        writeln!(
            text,
            "own_{at},{order},{tests},{per},{op},{limit},{money},{drops},{when},2020-01-01"
        )
        .unwrap();
    }
    text
}

pub(crate) fn tariff(dice: &mut Dice) -> String {
    let mut text =
        String::from("layer,commodity,origin,percent,per_kg,per_piece,currency,when,valid_from\n");
    for (layer, commodity, origin) in [
        ("mfn", "871491", "*"),
        ("mfn", "87149110", "CN"),
        ("mfn", "401150", "*"),
        ("remedy", "871491", "CN"),
        ("remedy", "8714", "TW"),
    ] {
        let own = if dice.one_in(3) {
            figure(dice, 2)
        } else {
            String::new()
        };
        let piece = if dice.one_in(4) {
            figure(dice, 3)
        } else {
            String::new()
        };
        writeln!(
            text,
            "{layer},{commodity},{origin},{},{own},{piece},EUR,,2020-01-01",
            figure(dice, 40)
        )
        .unwrap();
    }
    text
}

pub(crate) const LINES: usize = 24;

/// Offers of as many sellers, each of them a parcel of its own: as a list, and as a book.
pub(crate) fn offers(dice: &mut Dice) -> (String, String, String) {
    let mut list = String::from("date,seller,price,quantity,mass_g,commodity,origin\n");
    let mut parts =
        String::from("part,place,seller,price,quantity,mass_g,packed_g,commodity,origin\n");
    let mut sellers =
        String::from("seller,dispatch,currency,freight,insurance,channel,handling,transit_days\n");
    for at in 0..LINES {
        let (price, quantity, mass) = (figure(dice, 500), 1 + dice.below(3), 10 + dice.below(2000));
        let (commodity, origin) = (
            dice.of(&["87149110", "87149190", "40115010", "73151190"]),
            dice.of(&["CN", "TW", "DE"]),
        );
        writeln!(
            list,
            "2026-09-23,S{at},{price},{quantity},{mass},{commodity},{origin}"
        )
        .unwrap();
        writeln!(
            parts,
            "Part {at:02},spare,S{at},{price},{quantity},{mass},{mass},{commodity},{origin}"
        )
        .unwrap();
        let (currency, fee) = (
            dice.of(&["EUR", "USD", "GBP"]),
            dice.of(&["", "", "2.5 % min 3.00"]),
        );
        writeln!(
            sellers,
            "S{at},CN,{currency},{},{},courier,{fee},0",
            figure(dice, 30),
            dice.of(&["", "1 %"])
        )
        .unwrap();
    }
    (list, parts, sellers)
}

/// A charge that is taken at the sale, and a limit that says for which goods.
pub(crate) const AT_SALE: [&str; 2] = [
    "at_sale,sale-tax,45,,consignment,goods + freight + insurance,,taxes:vat,,,,,EUR,half_up 0.01,collect = at-sale,2020-01-01\n",
    "sale_limit,16,goods,consignment,<=,150,EUR,tax,at-sale,SENDER,2020-01-01\n",
];

/// Tables of a law for parcels of several lines: the same grammar, with tax at the sale and rules for gifts and private senders.
pub(crate) fn wider(dice: &mut Dice) -> Vec<(&'static str, String)> {
    let mut charges = charges(dice);
    let mut reliefs = reliefs(dice);
    if dice.one_in(2) {
        charges.push_str(AT_SALE[0]);
        let mut with_collect = String::new();
        for (at, row) in reliefs.lines().enumerate() {
            let (head, tail) = row.rsplit_once(',').unwrap();
            let (head, when) = head.rsplit_once(',').unwrap();
            let cell = if at == 0 { "collect" } else { "" };
            writeln!(with_collect, "{head},{cell},{when},{tail}").unwrap();
        }
        let sender = dice.of(&["", "sender = business", "sender != gift"]);
        reliefs = with_collect + &AT_SALE[1].replace("SENDER", sender);
    }
    for word in ["gift", "private"] {
        if dice.one_in(3) {
            let row = charge(dice, "fee", 80, &format!("of_{word}"));
            let mut cells: Vec<&str> = row.trim_end().split(',').collect();
            let at = cells.len() - 2;
            let when = format!("sender = {word}");
            cells[at] = &when;
            charges.push_str(&(cells.join(",") + "\n"));
        }
    }
    let taxes = format!(
        "tax,country,commodity,percent,valid_from\nvat,XA,*,{},2020-01-01\n",
        figure(dice, 30)
    );
    vec![
        ("charges", charges),
        ("reliefs", reliefs),
        ("tariff", tariff(dice)),
        ("taxes", taxes),
    ]
}

pub(crate) fn tables_of(law: &[(&str, String)]) -> Tables {
    let destination = "country,currency,customs_exchange,valid_from\nXA,EUR,ecb-month,2020-01-01\n";
    let mut files = vec![own(&("destinations.csv", destination))];
    let of_law = |(name, text): &(&str, String)| own(&(&format!("xa/{name}.csv"), text));
    files.extend(law.iter().map(of_law));
    Tables::load(files, &mut Problems::new())
}
