//! Random pairs of a law and a parcel, put before all readings: decimals, whole numbers and formulas come to the same penny, and the
//! bounds are not above it.
//!
//! A law is drawn with its rates of exchange; several sellers send a parcel each, of one to six lines, so that a law has as many
//! pairs as sellers. `LANDWAITER_PARCELS=100000` looks at that many, `LANDWAITER_SEED` says from which number they are drawn.

use std::collections::BTreeMap;
use std::fmt::Write;

use crate::book::{Book, Part};
use crate::landed::bounds::NoBounds;
use crate::landed::{Bill, Jurisdiction, NoWhole, OfferedParcel, seller_bounds};
use crate::tables::Tables;
use crate::text::{Problems, draw};

use crate::laws::{charges, reliefs, tariff};
use crate::made::{self, Dice};

/// Pairs, unless more are asked for.
const USUAL: u64 = 2_000;

/// Bounds are tried on the parcels of one law in this many, unless all of them are wanted (`LANDWAITER_WHOLE=1`).
const BOUNDED: u64 = 200;

/// Sellers of a law, each of whom sends a parcel.
const SELLERS: u64 = 6;

const DESTINATION: &str =
    "country,currency,customs_exchange,valid_from\nXA,EUR,as-listed,2020-01-01\n";
const PLACES: &str = "place,pieces,need,hs6,text,low_g,high_g,valid_from\n\
    frame,1,required,871491,bicycle frame,900,1100,2020-01-01\nspare,*,optional,,,,,2020-01-01\n";
const SETTINGS: &str = "setting,value\ndestination,XA\ndate,2026-09-23\ncard_fee,1.75 %\n";

/// Money of the sellers, each with what a euro may be of it: most quotients by these have no end.
const MONEY: [(&str, [&str; 4]); 4] = [
    ("EUR", ["1", "1", "1", "1"]),
    ("USD", ["1.25", "1.1", "1.0843", "1.1743"]),
    ("GBP", ["0.8", "0.85", "0.8673", "0.8431"]),
    ("JPY", ["148", "150", "163.27", "184.27"]),
];

/// What a euro is in each money.
fn quotes(dice: &mut Dice) -> Vec<&'static str> {
    MONEY.iter().map(|(_, of)| dice.of(of)).collect()
}

/// The tables of a random law, which stand alone.
fn tables_of(dice: &mut Dice, quotes: &[&str]) -> Vec<(&'static str, String)> {
    let mut exchange = String::from("use,base,quote,rate,valid_from\n");
    for ((currency, _), rate) in MONEY.iter().zip(quotes).skip(1) {
        for of in ["market", "customs"] {
            writeln!(exchange, "{of},EUR,{currency},{rate},2026-01-01").unwrap();
        }
    }
    let taxes = "tax,country,commodity,percent,valid_from\nvat,XA,*,0,2020-01-01\n";
    vec![
        ("destinations", DESTINATION.to_owned()),
        ("places", PLACES.to_owned()),
        ("exchange", exchange),
        ("xa/charges", charges(dice)),
        ("xa/reliefs", reliefs(dice)),
        ("xa/tariff", tariff(dice)),
        ("xa/taxes", taxes.to_owned()),
    ]
}

fn loaded(law: &[(&str, String)]) -> Tables {
    let file = |(name, text): &(&str, String)| made::own(&(&format!("{name}.csv"), text));
    let mut problems = Problems::new();
    let tables = Tables::of(law.iter().map(file).collect(), &mut problems);
    assert!(!problems.refuse(), "{}", draw(&problems, false));
    tables
}

/// An amount in minor units, as it is typed.
fn typed(minor: u64, currency: &str) -> String {
    match currency {
        "JPY" => minor.to_string(),
        _ => format!("{}.{:02}", minor / 100, minor % 100),
    }
}

/// What a hundred euros are, in minor units: a whole number of them at every rate of [`MONEY`].
fn hundred(currency: &str, quote: &str) -> u64 {
    let (whole, part) = quote.split_once('.').unwrap_or((quote, ""));
    let ten_thousandths: u64 = format!("{whole}{part:0<4}").parse().unwrap();
    match currency {
        "JPY" => ten_thousandths / 100,
        _ => ten_thousandths,
    }
}

/// The price of one piece, in minor units: now and then the least there is, large, or such as other lines have.
fn price(dice: &mut Dice) -> u64 {
    match dice.below(12) {
        0 => 1,
        1 => 9_000_000 + dice.below(100),
        2 => 1_000,
        _ => 1 + dice.below(40_000),
    }
}

/// The lines of a parcel: price and pieces. Of one in three the last line makes a sum of whole hundreds of euros, at which limits
/// turn, and in which the digits without an end of all lines have one.
fn lines(dice: &mut Dice, hundred: u64) -> Vec<(u64, u64)> {
    let mut lines: Vec<(u64, u64)> = (0..=dice.below(5))
        .map(|_| (price(dice), 1 + dice.below(3)))
        .collect();
    if dice.one_in(3) {
        let sum: u64 = lines.iter().map(|(price, pieces)| price * pieces).sum();
        let missing = (1 + dice.below(4)) * hundred;
        lines.extend(
            missing
                .checked_sub(sum)
                .filter(|own| *own > 0)
                .map(|own| (own, 1)),
        );
    }
    lines
}

/// Codes of a seller: a percentage off with or without a most, an amount off from a spend on, half of the freight, credit.
fn codes(dice: &mut Dice, seller: u64, currency: &str, hundred: u64) -> String {
    let money = |amount: u64| typed(amount, currency);
    let mut text = String::new();
    for at in 0..dice.below(3) {
        let (percent, amount, most) = match dice.below(4) {
            0 => ("7.5", String::new(), money(hundred / 10)),
            1 => ("", money(hundred / 7), String::new()),
            _ => (dice.of(&["10", "33.3"]), String::new(), String::new()),
        };
        let scope = dice.of(&["basket", "basket", "freight"]);
        let from = if dice.one_in(2) {
            money(hundred)
        } else {
            String::new()
        };
        let of = if amount.is_empty() && most.is_empty() && from.is_empty() {
            ""
        } else {
            currency
        };
        let (group, pays) = (dice.of(&["", "g"]), dice.of(&["", "", "credit"]));
        writeln!(
            text,
            "C{seller}{at},S{seller},{scope},,{percent},{amount},{of},{most},{from},{at},{group},{pays}"
        )
        .unwrap();
    }
    text
}

/// Sellers with several lines each: gifts, private senders, insurance, codes, fees of their own, freight that is free above a spend;
/// some lines no row has a rate for.
fn book(dice: &mut Dice, quotes: &[&str]) -> [(&'static str, String); 4] {
    let mut discounts = String::from(
        "code,seller,scope,part,percent,amount,currency,max_off,min_spend,order,group,pays\n",
    );
    let mut parts = String::from(
        "part,place,seller,price,quantity,mass_g,packed_g,commodity,origin,standing\n",
    );
    let mut sellers = String::from(
        "seller,dispatch,currency,sender,freight,free_freight_over,insurance,channel,handling,transit_days\n",
    );
    for seller in 0..SELLERS {
        let money = usize::try_from(dice.below(4)).unwrap();
        let (currency, quote) = (MONEY[money].0, quotes[money]);
        let sender = dice.of(&["business", "business", "private", "gift"]);
        let standing = if sender == "gift" { "given" } else { "" };
        let hundred = hundred(currency, quote);
        let lines = lines(dice, hundred);
        if standing.is_empty() && dice.one_in(2) {
            discounts += &codes(dice, seller, currency, hundred);
        }
        for (line, (price, pieces)) in lines.into_iter().enumerate() {
            let (price, mass) = (typed(price, currency), 1 + dice.below(2000));
            let commodity = dice.of(&["87149110", "87149190", "40115010", "73151190", "99990000"]);
            let origin = dice.of(&["CN", "TW", "DE"]);
            writeln!(
                parts,
                "Part {seller}.{line},spare,S{seller},{price},{pieces},{mass},{mass},{commodity},{origin},{standing}"
            )
            .unwrap();
        }
        let fee = dice.of(&["", "", "2.5 % min 3.00"]);
        let (freight, insured) = (price(dice) / 10, dice.of(&["", "1 %"]));
        let freight = typed(freight, currency);
        let free = if dice.one_in(5) {
            typed(3 * hundred, currency)
        } else {
            String::new()
        };
        writeln!(
            sellers,
            "S{seller},CN,{currency},{sender},{freight},{free},{insured},courier,{fee},0"
        )
        .unwrap();
    }
    [
        ("parts", parts),
        ("sellers", sellers),
        ("discounts", discounts),
        ("settings", SETTINGS.to_owned()),
    ]
}

/// What all pairs showed.
#[derive(Debug, Default)]
struct Seen {
    /// Parcels that decimals and formulas agree on.
    compared: u64,
    several: u64,
    /// Of them, those that whole numbers did not read, by reason.
    refused: BTreeMap<NoWhole, u64>,
    /// Parcels of laws and books that `cost` refuses, by its words.
    by_cost: BTreeMap<String, u64>,
    /// Parcels that lie within their bounds, and those that have none, by reason.
    bounded: u64,
    unbounded: BTreeMap<String, u64>,
    /// What bounds lack of the cost, in ten-thousandths of it, where all but one row is sure.
    short: Vec<i64>,
}

impl Seen {
    /// Holds the least that bounds say of a parcel against what it costs; the error says where it is above.
    fn bound(&mut self, book: &Book, bill: &Bill, tables: &Tables) -> Result<(), String> {
        let ask = made::ask(book);
        let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
        let rows: Vec<&Part> = (book.parts.iter())
            .filter(|part| bill.lines.iter().any(|line| line.part == part.name))
            .collect();
        let all: Vec<usize> = (0..rows.len()).collect();
        let cost = bill.amounts.landed().unwrap().amount();
        // all rows can be chosen; or all but one come anyway, and there is hardly anything that is not known
        for sure in [0, rows.len() - 1] {
            let (sure, offers) = rows.split_at(sure);
            let all = &all[..offers.len()];
            let parcel = OfferedParcel::open(book, sure, offers, &jurisdiction);
            let bounds = match parcel.and_then(|parcel| seller_bounds(&parcel, all)) {
                Ok(bounds) => bounds,
                Err(NoBounds(why)) => {
                    *self.unbounded.entry(why).or_default() += 1;
                    continue;
                }
            };
            let least = bounds.least(all).filter(|least| *least <= cost);
            let Some(least) = least else {
                let (id, found) = (&bill.id, bounds.least(all));
                return Err(format!(
                    "{id}: {found:?} is above {cost}, {sure:?} come anyway"
                ));
            };
            self.bounded += 1;
            if offers.len() == 1 {
                self.short.extend(super::lacks(least, cost, 10_000));
            }
        }
        Ok(())
    }

    /// What bounds lack of the cost at most, in ten-thousandths of it, for `part` percent of the parcels of which all but one row
    /// is sure.
    fn short_of(&mut self, part: usize) -> Option<i64> {
        self.short.sort_unstable();
        self.short.get(self.short.len() * part / 100).copied()
    }

    fn look(&mut self, law: u64) -> Result<(), String> {
        let mut dice = Dice(made::seed() ^ (law << 20) ^ 0x11fe);
        let quotes = quotes(&mut dice);
        let rows = tables_of(&mut dice, &quotes);
        let texts = book(&mut dice, &quotes);
        let told = |error: String| format!("law {law}: {error}\n{rows:?}\n{texts:?}");
        let tables = loaded(&rows);
        let book = made::book(&made::borrowed(&texts));
        let read = match made::tried(&book, &tables, &made::ask(&book)) {
            Ok(read) => read.map_err(told)?,
            Err(problems) => {
                let words = problems.iter().next().map(|one| one.message.clone());
                *self.by_cost.entry(words.unwrap_or_default()).or_default() += SELLERS;
                return Ok(());
            }
        };
        for why in read.refused {
            *self.refused.entry(why).or_default() += 1;
        }
        let bills = &read.landed.bills;
        self.compared += bills.len() as u64;
        self.several += bills.iter().filter(|bill| bill.lines.len() > 1).count() as u64;
        if law % made::share(1, BOUNDED) == 0 {
            for bill in bills {
                self.bound(&book, bill, &tables).map_err(told)?;
            }
        }
        Ok(())
    }
}

#[test]
fn random_pairs_come_to_the_same_penny_in_every_reading() {
    let pairs = made::number("LANDWAITER_PARCELS", USUAL);
    let mut seen = Seen::default();
    for law in 0..pairs.div_ceil(SELLERS) {
        seen.look(law).unwrap_or_else(|error| panic!("{error}"));
    }
    let short = [50, 90, 99].map(|part| seen.short_of(part));
    seen.short.clear();
    println!("{short:?} {seen:?}");
    let refused = seen.refused.values().sum::<u64>() + seen.by_cost.values().sum::<u64>();
    assert!(
        seen.compared + refused >= pairs && refused * 100 <= seen.compared,
        "{seen:?}"
    );
    assert!(
        seen.bounded > seen.unbounded.values().sum::<u64>(),
        "{seen:?}"
    );
}
