//! Random laws, read in decimals by `cost`, in whole numbers by `bulk` and as the live formulas of a workbook: all must come to the
//! same penny. `pairs` puts parcels before all readings at once.
//!
//! A law is drawn from a grammar over the columns of charges, reliefs and tariff: levels, groups, percentages and rates, flat amounts
//! by parcel, piece, item and kilogram, least and most, roundings, conditions on sums, reliefs that drop a kind or a row. Parcels of one
//! line go through the program; those of several are put before both readings, with gifts and private senders, tax at the sale in
//! the price, goods without a rate, things declared as one, equal lines, zero and huge figures.

mod pairs;

use std::collections::BTreeMap;
use std::fmt::Write;

use landwaiter::book::{Channel, Sender};
use landwaiter::landed::Jurisdiction;
use landwaiter::rules::{Handling, Line, Parcel, Program, RowFilter, assess};
use landwaiter::tables::{File, RowRef, Tables};
use landwaiter::text::Problems;
use landwaiter::units::{
    Country, Currency, Date, Dec, Grams, HomeMoney, Percent, Rate, Rounding, SellerMoney,
};
use serde_json::Value;

use crate::harness::{Ran, Run, landwaiter};

use crate::kit::whole::{self, Refusal};
use crate::kit::{self, Dice};

fn figure(dice: &mut Dice, most: u64) -> String {
    let cents = dice.below(most * 100) + 1;
    format!("{}.{:02}", cents / 100, cents % 100)
}

const ROUNDS: [&str; 8] = [
    "floor 0.05",
    "half_up 0.01",
    "half_even 0.01",
    "down 0.01",
    "up 0.05",
    "ceiling 1",
    "half_down 0.1",
    "half_up 0.05",
];
const WHENS: [&str; 10] = [
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
fn charge(dice: &mut Dice, kind: &str, order: u64, id: &str) -> String {
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

fn charges(dice: &mut Dice) -> String {
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

fn reliefs(dice: &mut Dice) -> String {
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

fn tariff(dice: &mut Dice) -> String {
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

const LINES: usize = 24;

/// Offers of as many sellers, each of them a parcel of its own: as a list, and as a book.
fn offers(dice: &mut Dice) -> (String, String, String) {
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

fn landed_of_list(ran: &Ran) -> Vec<String> {
    ran.out
        .lines()
        .skip(1)
        .map(|line| line.split(',').nth_back(1).unwrap().to_owned())
        .collect()
}

fn landed_of_book(ran: &Ran) -> BTreeMap<String, String> {
    let json: Value = serde_json::from_str(&ran.out).unwrap();
    let bills = json["consignments"].as_array().unwrap();
    bills
        .iter()
        .map(|bill| {
            (
                bill["id"].as_str().unwrap().to_owned(),
                bill["landed"].as_str().unwrap().to_owned(),
            )
        })
        .collect()
}

#[test]
fn random_laws_come_to_the_same_penny_in_decimals_and_in_whole_numbers() {
    let (mut compared, mut refused) = (0, 0);
    for law in 0..kit::share(400, 12) {
        let mut dice = Dice(kit::seed() ^ (law << 20) ^ 0x5eed);
        let tables = [
            ("charges", charges(&mut dice)),
            ("reliefs", reliefs(&mut dice)),
            ("tariff", tariff(&mut dice)),
        ];
        let (list, parts, sellers) = offers(&mut dice);
        let with = |command: &str| -> Run {
            let destination =
                "country,currency,customs_exchange,valid_from\nXA,EUR,ecb-month,2020-01-01\n";
            let mut run = landwaiter(command).file("r/destinations.csv", destination);
            for (name, text) in &tables {
                run = run.file(&format!("r/xa/{name}.csv"), text);
            }
            run = run.file(
                "r/xa/taxes.csv",
                "tax,country,commodity,percent,valid_from\nvat,XA,*,0,2020-01-01\n",
            );
            run.file("book/sellers.csv", &sellers).file(
                "book/settings.csv",
                "setting,value\ndestination,XA\ndate,2026-09-23\n",
            )
        };
        let bulk = with("bulk offers.csv book --rates r")
            .file("offers.csv", &list)
            .go();
        let cost = with("cost book --rates r --format json")
            .file("book/parts.csv", &parts)
            .go();
        if cost.status != 0 || bulk.status != 0 {
            assert_eq!(
                (cost.status, bulk.status),
                (1, 1),
                "{tables:?}\n{}\n{}",
                bulk.err,
                cost.err
            );
            refused += 1;
            continue;
        }
        let book = kit::book(&[
            ("parts", &parts),
            ("sellers", &sellers),
            (
                "settings",
                "setting,value\ndestination,XA\ndate,2026-09-23\n",
            ),
        ]);
        let read = kit::tried(&book, &tables_of(&tables), &kit::ask(&book)).unwrap();
        read.unwrap_or_else(|error| panic!("law {law}: {error}\n{tables:?}\n{parts}\n{sellers}"));
        let (fast, exact) = (landed_of_list(&bulk), landed_of_book(&cost));
        assert_eq!((fast.len(), exact.len()), (LINES, LINES));
        for (at, fast) in fast.iter().enumerate() {
            assert_eq!(
                Some(fast),
                exact.get(&format!("S{at}")),
                "law {law}, line {at}\n{tables:?}\n{list}\n{sellers}"
            );
            compared += 1;
        }
    }
    assert!(
        compared > 0 && refused * 10 <= compared / LINES,
        "{compared} lines compared, {refused} laws refused"
    );
}

/// A charge that is taken at the sale, and a limit that says for which goods.
const AT_SALE: [&str; 2] = [
    "at_sale,sale-tax,45,,consignment,goods + freight + insurance,,taxes:vat,,,,,EUR,half_up 0.01,collect = at-sale,2020-01-01\n",
    "sale_limit,16,goods,consignment,<=,150,EUR,tax,at-sale,SENDER,2020-01-01\n",
];

/// Tables of a law for parcels of several lines: the same grammar, with tax at the sale and rules for gifts and private senders.
fn wider(dice: &mut Dice) -> Vec<(&'static str, String)> {
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

fn tables_of(law: &[(&str, String)]) -> Tables {
    let file = |name: &str, text: &str| File {
        path: format!("r/{name}"),
        name: name.to_owned(),
        bytes: text.as_bytes().to_vec().into(),
        users: true,
    };
    let destination = "country,currency,customs_exchange,valid_from\nXA,EUR,ecb-month,2020-01-01\n";
    let mut files = vec![file("destinations.csv", destination)];
    files.extend(
        law.iter()
            .map(|(name, text)| file(&format!("xa/{name}.csv"), text)),
    );
    Tables::load(files, &mut Problems::new())
}

/// Cents: often nothing, an even sum that several lines share, or more than a small number holds.
fn cents(dice: &mut Dice, most: u64) -> Dec {
    let cents = match dice.below(12) {
        0 => 0,
        1 | 2 => 1000,
        3 => 1 + dice.below(most) * 1_000_000,
        _ => 1 + dice.below(most),
    };
    Dec::new(i64::try_from(cents).unwrap(), 2)
}

fn line_of(dice: &mut Dice, at: usize) -> Line {
    let list = cents(dice, 40_000);
    let goods = match dice.below(3) {
        0 => list.times(Dec::new(9, 1)).unwrap(),
        _ => list,
    };
    let pieces = u32::try_from(1 + dice.below(3)).unwrap();
    let unit = (!dice.one_in(6)).then(|| Grams(Dec::new(dice.roll(20_000), 1)));
    Line {
        part: format!("part {at}"),
        places: vec!["spare".to_owned()],
        commodity: dice
            .of(&["87149110", "87149190", "40115010", "73151190", "8714"])
            .to_owned(),
        declared_as: dice.of(&["", "part", "wheel"]).to_owned(),
        origin: dice.of(&["CN", "TW", "DE"]).to_owned(),
        preference: false,
        pieces,
        whole: None,
        unit_mass: unit,
        packed: Grams(Dec::new(dice.roll(30_000), 1)),
        traits: BTreeMap::new(),
        list: SellerMoney::of(list),
        goods: SellerMoney::of(goods).rounded(Rounding::minor(2)).unwrap(),
        freight: SellerMoney::of(cents(dice, 3_000)),
        insurance: if dice.one_in(3) {
            SellerMoney::of(cents(dice, 500))
        } else {
            SellerMoney::ZERO
        },
    }
}

/// A rate of exchange, most of which make quotients without end, and an amount that it turns into a whole number.
fn exchange(dice: &mut Dice, currency: Currency) -> (Rate, Dec) {
    if currency.code() == "EUR" {
        return (Rate::SAME, Dec::from(50_u32));
    }
    if dice.one_in(3) {
        // a cross of two published rates
        let (times, over) = (Dec::new(11_743, 4), Dec::new(18_427, 2));
        return (Rate::new(times, over).unwrap(), Dec::from(184_270_u32));
    }
    let own = Dec::from(u32::try_from(2 * (40 + dice.below(100))).unwrap());
    let even = own.times(Dec::new(5, 1)).unwrap();
    (Rate::new(Dec::HUNDRED, own).unwrap(), even)
}

/// Makes the goods of all lines together a sum, so that what has no end line by line has one for the parcel.
fn comes_to(lines: &mut [Line], sum: Dec) {
    let Some((last, before)) = lines.split_last_mut() else {
        return;
    };
    let others = Dec::total(before.iter().map(|line| line.goods.amount())).unwrap();
    let own = sum.minus(others).unwrap();
    if own.is_positive() {
        (last.list, last.goods) = (SellerMoney::of(own), SellerMoney::of(own));
    }
}

fn parcel_of(dice: &mut Dice, program: &Program) -> Parcel {
    let lines = 1 + usize::try_from(dice.below(7)).unwrap();
    let mut lines: Vec<Line> = (0..lines).map(|at| line_of(dice, at)).collect();
    if dice.one_in(4) {
        let alike = lines[0].clone();
        lines.push(alike);
    }
    if dice.one_in(5) {
        lines.iter_mut().take(2).for_each(|line| {
            line.whole = Some(1);
            "87149110".clone_into(&mut line.commodity);
            "one thing".clone_into(&mut line.declared_as);
        });
    }
    let currency = Currency::parse(dice.of(&["EUR", "USD", "JPY"])).unwrap();
    if currency.digits() == 0 {
        for line in &mut lines {
            for amount in [
                &mut line.list,
                &mut line.goods,
                &mut line.freight,
                &mut line.insurance,
            ] {
                *amount = amount.rounded(Rounding::minor(0)).unwrap();
            }
        }
    }
    let (rate, even) = exchange(dice, currency);
    if dice.one_in(3) {
        comes_to(
            &mut lines,
            even.times(Dec::from(1 + dice.roll(12))).unwrap(),
        );
    }
    let day = Date::parse("2026-09-23").unwrap();
    let mut parcel = Parcel {
        to: Country::own("XA").unwrap(),
        region: String::new(),
        group: String::new(),
        dispatch: Country::parse("CN").unwrap(),
        channel: Channel::Courier,
        sender: [Sender::Business, Sender::Private, Sender::Gift]
            [usize::try_from(dice.below(3)).unwrap()],
        collects_tax: dice.one_in(2),
        terms: String::new(),
        ordered: day,
        arrival: day,
        choices: BTreeMap::new(),
        paid_in: currency,
        customs: rate,
        border_freight: Percent(Dec::from(if dice.one_in(2) { 100_u32 } else { 60 })),
        handling: dice.one_in(3).then(|| Handling {
            percent: Percent(Dec::new(25, 1)),
            least: HomeMoney::of(Dec::from(3_u32)),
            row: RowRef {
                path: "book".into(),
                line: 1,
            },
        }),
        schedules: BTreeMap::new(),
        lines,
    };
    if dice.one_in(4) {
        let rates = program.sale_tax_rates(&parcel).unwrap();
        for (line, held) in parcel.lines.iter_mut().zip(rates) {
            let minor = Rounding::minor(currency.digits());
            let net = held.taken_out_of(line.goods.amount(), minor).unwrap();
            line.goods = SellerMoney::of(net);
        }
    }
    parcel
}

#[test]
fn random_parcels_of_several_lines_come_to_the_same_penny_line_by_line() {
    let (mut compared, mut several) = (0_u64, 0_u64);
    let mut refused: BTreeMap<Refusal, u64> = BTreeMap::new();
    let (mut beyond, mut of_laws) = (0_u64, 0_u64);
    for law in 0..kit::share(4000, 60) {
        let mut dice = Dice(kit::seed() ^ (law << 20) ^ 0xacc0);
        let rows = wider(&mut dice);
        let tables = tables_of(&rows);
        let book = kit::book(&[
            ("parts", "part,place\nSpare,frame\n"),
            (
                "settings",
                "setting,value\ndestination,XA\ndate,2026-09-23\n",
            ),
        ]);
        let day = Date::parse("2026-09-23").unwrap();
        let ask = landwaiter::Question::new(&book.settings, day).unwrap();
        let Ok(jurisdiction) = Jurisdiction::open(&tables, &ask) else {
            of_laws += 1;
            continue;
        };
        let Ok(prepared) = jurisdiction.prepared(day, day, RowFilter::ALL) else {
            of_laws += 1;
            continue;
        };
        for nth in 0..12 {
            let parcel = parcel_of(&mut dice, &prepared.program);
            // sums that decimals do not hold are refused by `cost`, and nothing is compared
            let Ok(exact) = assess(&prepared.program, &parcel) else {
                beyond += 1;
                continue;
            };
            match whole::agrees(&prepared.program, &parcel, &exact, 2) {
                Ok(None) => {}
                Ok(Some(Refusal::Wrong)) => continue,
                Ok(Some(why)) => {
                    *refused.entry(why).or_default() += 1;
                    continue;
                }
                Err(error) => {
                    panic!("law {law}, parcel {nth}: {error}\n{rows:?}\n{parcel:#?}")
                }
            }
            compared += 1;
            several += u64::from(parcel.lines.len() > 1);
        }
    }
    assert!(
        several * 2 > compared
            && (refused.values().sum::<u64>() + beyond + of_laws) * 10 <= compared,
        "{compared} parcels compared, {several} of several lines, refused: {refused:?}, {beyond} too large, {of_laws} laws refused"
    );
}
