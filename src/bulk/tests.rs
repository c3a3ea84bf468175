//! Price lists: the whole-number program against the engine of bills, ten thousand lines to the penny, and the filter itself.

use std::fmt::Write;

use crate::abroad;
use crate::book::Settings;
use crate::landed::{ChargeBreakdown, Jurisdiction, Question, cost_at};
use crate::made::{self, Dice};
use crate::tables::Tables;
use crate::text::draw;
use crate::units::Date;

const SELLERS: &str = "seller,dispatch,currency,sender,freight,free_freight_over,insurance,collects_tax,prices_include,terms,channel,handling,transit_days\n\
Alder,CN,USD,business,box,,1 %,no,,,courier,,9\n\
Birch,TW,USD,business,14.50,400,,yes,,,post,,21\n\
Cedar,JP,JPY,marketplace,1200,,500,no,,,post,,12\n\
Dogwood,DE,EUR,business,12.00,,,no,19,,courier,2.5 % min 12.50,4\n\
Elm,US,USD,private,25.00,,2 %,no,,,courier,15.00,7\n\
Fir,GB,GBP,business,4.95,50,,no,,,courier,,2\n\
Gorse,IT,EUR,business,9.00,,,yes,sale-tax,,courier,,5\n\
Hazel,CN,CNY,business,80.00,,,no,,DDP,courier,,14\n";

const FREIGHT: &str = "schedule,up_to_g,price,currency,pro_rata,valid_from\nbox,500,6.00,USD,yes,2020-01-01\nbox,2000,11.00,USD,yes,2020-01-01\nbox,,31.00,USD,no,2020-01-01\n";

const GOODS: [&str; 9] = [
    "8714911039",
    "8714911089",
    "8714950000",
    "4011500000",
    "7315111000",
    "8714991099",
    "650610",
    "87149910",
    "8714",
];

const ORIGINS: [&str; 6] = ["CN", "TW", "JP", "DE", "US", "IT"];

const MONEY: [(&str, &str, u32); 8] = [
    ("Alder", "USD", 2),
    ("Birch", "USD", 2),
    ("Cedar", "JPY", 0),
    ("Dogwood", "EUR", 2),
    ("Elm", "USD", 2),
    ("Fir", "GBP", 2),
    ("Gorse", "EUR", 2),
    ("Hazel", "CNY", 2),
];

struct Offer {
    seller: usize,
    date: Date,
    price: String,
    quantity: u64,
    tenths: u64,
    goods: &'static str,
    origin: &'static str,
    percent: String,
}

fn offers(count: usize, seed: u64, goods: &[&'static str]) -> Vec<Offer> {
    let mut dice = Dice(seed);
    (0..count)
        .map(|_| {
            let seller = usize::try_from(dice.below(8)).unwrap();
            let most = if dice.below(3) == 0 {
                20_000_000
            } else {
                30_000
            };
            let minor = dice.below(most) + 1;
            let price = if MONEY[seller].2 == 0 {
                minor.to_string()
            } else {
                format!("{}.{:02}", minor / 100, minor % 100)
            };
            Offer {
                seller,
                date: Date::new(2025, 2, 1)
                    .unwrap()
                    .plus_days(u32::try_from(dice.below(600)).unwrap()),
                price,
                quantity: if dice.below(4) == 0 {
                    dice.below(5) + 2
                } else {
                    1
                },
                tenths: dice.below(60_000) + 1,
                goods: dice.of(goods),
                origin: dice.of(&ORIGINS),
                percent: if dice.below(2) == 0 {
                    String::new()
                } else {
                    format!("{}.{}", dice.below(60), dice.below(10))
                },
            }
        })
        .collect()
}

fn ask(to: &str) -> Question {
    let mut settings = Settings::default();
    for (name, value) in [
        ("destination", to),
        ("date", "2026-10-30"),
        ("card_fee", "2.75"),
        ("kind", "road"),
    ] {
        settings.set(name, value).unwrap();
    }
    Question::new(&settings, Date::new(2026, 10, 30).unwrap()).unwrap()
}

/// The list as a price list, each line with its amounts.
fn in_bulk(offers: &[Offer], tables: &Tables, ask: &Question) -> (Vec<Vec<String>>, [u64; 2]) {
    let mut text =
        String::from("date,seller,price,quantity,mass_g,commodity,origin,discount_percent\n");
    for o in offers {
        let name = MONEY[o.seller].0;
        writeln!(
            text,
            "{},{name},{},{},{}.{},{},{},{}",
            o.date,
            o.price,
            o.quantity,
            o.tenths / 10,
            o.tenths % 10,
            o.goods,
            o.origin,
            o.percent
        )
        .unwrap();
    }
    let book = made::taken(&[("parts", "part,place\nx,saddle\n"), ("sellers", SELLERS)]);
    let done = made::priced(&text, &book, tables, ask);
    if let Some(bad) = done.bad.first() {
        panic!("line {}: {}", bad.line, bad.why.what);
    }
    let rows = csv::ReaderBuilder::new()
        .has_headers(false)
        .from_reader(done.out.bytes())
        .into_records();
    let rows = rows
        .map(|row| row.unwrap().iter().skip(8).map(str::to_owned).collect())
        .collect();
    (
        rows,
        [done.gaps, done.ended].map(|found| found.map_or(0, |(count, _)| count)),
    )
}

/// The same lines as parts of a book, each in a parcel of its own, by the front door.
fn by_cost(
    offers: &[Offer],
    jurisdiction: &Jurisdiction<'_>,
    gaps: &mut [u64; 2],
) -> Vec<Vec<String>> {
    let mut parts =
        String::from("part,place,seller,price,quantity,mass_g,commodity,origin,parcel,standing\n");
    let mut parcels = String::from("seller,parcel,ordered,arrived\n");
    let mut discounts = String::from("code,seller,scope,part,percent\n");
    let transit = [9, 21, 12, 4, 7, 2, 5, 14];
    for (at, o) in offers.iter().enumerate() {
        let name = MONEY[o.seller].0;
        let arrived = o.date.plus_days(transit[o.seller]);
        writeln!(
            parts,
            "p{at:03},spare,{name},{},{},{}.{},{},{},p{at},to-order",
            o.price,
            o.quantity,
            o.tenths / 10,
            o.tenths % 10,
            o.goods,
            o.origin
        )
        .unwrap();
        writeln!(parcels, "{name},p{at},{},{arrived}", o.date).unwrap();
        if !o.percent.is_empty() && o.percent != "0.0" {
            writeln!(discounts, "c{at},{name},item,p{at:03},{}", o.percent).unwrap();
        }
    }
    let files = [
        ("parts", parts.as_str()),
        ("sellers", SELLERS),
        ("parcels", &parcels),
        ("discounts", &discounts),
    ];
    let landed = cost_at(&made::taken(&files), jurisdiction)
        .unwrap_or_else(|problems| panic!("{}", draw(&problems, false)));
    let digits = jurisdiction.currency().digits();
    (0..offers.len())
        .map(|at| {
            let bill = landed
                .bills
                .iter()
                .find(|bill| bill.id.ends_with(&format!("/p{at}")))
                .unwrap();
            gaps[0] += u64::from(!bill.gaps.is_empty());
            gaps[1] += u64::from(!bill.ended.is_empty());
            let ChargeBreakdown {
                goods,
                discount,
                freight,
                insurance,
                duty,
                remedy,
                tax_at_sale,
                tax_at_border,
                handling,
                card_fee,
            } = bill.amounts;
            let figures = [
                goods,
                discount,
                freight,
                insurance,
                bill.intrinsic_value,
                bill.customs_value,
                duty,
                remedy,
                tax_at_sale,
                tax_at_border,
                handling,
                card_fee,
                bill.amounts.landed().unwrap(),
            ];
            figures
                .iter()
                .map(|figure| figure.fixed(digits))
                .chain([bill.tax_collected.to_owned()])
                .collect()
        })
        .collect()
}

fn alike(to: &str, count: usize) -> [u64; 2] {
    let offers = offers(count, 20_261_125, &GOODS);
    agree(to, &offers, &abroad::tables(&[("freight.csv", FREIGHT)]))
}

/// Lines cost in a list what they cost as parts of a book, to the penny in every column.
fn agree(to: &str, offers: &[Offer], tables: &Tables) -> [u64; 2] {
    let ask = ask(to);
    let jurisdiction = Jurisdiction::open(tables, &ask)
        .unwrap_or_else(|problems| panic!("{}", draw(&problems, false)));
    let (bulk, gaps_in_bulk) = in_bulk(offers, tables, &ask);
    assert_eq!(bulk.len(), offers.len(), "{to}");
    let mut gaps = [0; 2];
    for (start, some) in offers.chunks(100).enumerate() {
        for (at, (one, other)) in by_cost(some, &jurisdiction, &mut gaps)
            .iter()
            .zip(&bulk[start * 100..])
            .enumerate()
        {
            let o = &some[at];
            assert_eq!(
                one,
                other,
                "{to} line {}: {} {} x {} {} g/10 {} {} {} %",
                start * 100 + at,
                MONEY[o.seller].0,
                o.quantity,
                o.price,
                o.tenths,
                o.goods,
                o.origin,
                o.percent
            );
        }
    }
    assert_eq!(
        gaps, gaps_in_bulk,
        "{to}: lines whose rate of duty is not known, and lines for which something ended"
    );
    gaps
}

#[test]
fn thousands_of_lines_cost_what_a_book_of_them_costs() {
    // ten thousand in the checks against the outside
    alike("GB", usize::try_from(made::share(10_000, 250)).unwrap());
}

#[test]
fn in_every_destination_too() {
    for to in made::one_in(
        2,
        [
            "DE", "NL", "IE", "SE", "US", "CA-ON", "AU", "NZ", "CH", "NO", "JP", "SG", "KR",
        ],
    ) {
        let [gaps, _] = alike(to, usize::try_from(made::share(200, 40)).unwrap());
        assert!(
            to != "US" || gaps > 0,
            "the lines to the United States meet a gap"
        );
    }
    for to in made::one_in(
        2,
        [
            "LI", "IM", "JE", "GG", "XI", "IS", "HK", "MX", "IN", "BR-SP", "ZA",
        ],
    ) {
        alike(to, usize::try_from(made::share(60, 10)).unwrap());
    }
}

/// Digits that stop above one another, filled up with zeros or not.
const FILLED: [&str; 7] = [
    "871499",
    "87149900",
    "8714990000",
    "87149910",
    "8714991000",
    "8714991099",
    "8714991100",
];

/// Rows with some of those digits and more, each from and to a day of its own.
fn rows_of_some_days(dice: &mut Dice) -> String {
    let mut text = String::from("layer,commodity,origin,percent,valid_from,valid_to,after\n");
    let layers = [
        ("mfn", "*"),
        ("mfn", "CN"),
        ("remedy", "CN"),
        ("remedy", "TW"),
    ];
    for (layer, origin) in layers {
        for digits in FILLED[..6].iter().chain(&["8714991011", "8714990001"]) {
            if dice.below(2) == 0 {
                continue;
            }
            let first = Date::new(2025, 1, 1).unwrap();
            let from = first.plus_days(u32::try_from(dice.below(500)).unwrap());
            let to = match dice.below(3) {
                0 => String::new(),
                _ => from
                    .plus_days(u32::try_from(dice.below(300)).unwrap())
                    .to_string(),
            };
            let after = if to.is_empty() {
                ""
            } else {
                dice.of(&["nothing", "unknown"])
            };
            let percent = dice.below(80);
            writeln!(
                text,
                "{layer},{digits},{origin},{percent},{from},{to},{after}"
            )
            .unwrap();
        }
    }
    format!("# source = a test\n{text}")
}

#[test]
fn zeros_that_only_fill_digits_up_are_asked_of_the_rows_of_each_day() {
    // of the last, digits that are known on no day are of one class with digits that are, but for a row that ended
    for seed in (0..made::share(60, 4)).chain([45]) {
        let mut dice = Dice(0x5eed ^ (seed << 8));
        let offers = offers(150, seed, &FILLED);
        let tariff = rows_of_some_days(&mut dice);
        let own = [("freight.csv", FREIGHT), ("eu/tariff.csv", tariff.as_str())];
        agree("DE", &offers, &abroad::tables(&own));
    }
}
