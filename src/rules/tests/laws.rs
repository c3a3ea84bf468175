//! Random parcels of several lines under random laws: decimals and whole numbers come to the same penny, line by line, with gifts
//! and private senders, tax at the sale in the price, goods without a rate, things declared as one, equal lines, zero and huge figures.

use std::collections::BTreeMap;

use crate::book::{Channel, Sender};
use crate::landed::{Jurisdiction, NoWhole, agrees};
use crate::laws::{tables_of, wider};
use crate::made::{self, Dice};
use crate::rules::{Handling, Line, Parcel, Program, RowFilter, assess};
use crate::tables::RowRef;
use crate::units::{
    Country, Currency, Date, Dec, Grams, HomeMoney, Percent, Rate, Rounding, SellerMoney,
};

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

fn line_of(dice: &mut Dice) -> Line {
    let list = cents(dice, 40_000);
    let goods = match dice.below(3) {
        0 => list.times(Dec::new(9, 1)).unwrap(),
        _ => list,
    };
    let pieces = u32::try_from(1 + dice.below(3)).unwrap();
    let unit = (!dice.one_in(6)).then(|| Grams(Dec::new(dice.roll(20_000), 1)));
    Line {
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
    let mut lines: Vec<Line> = (0..lines).map(|_| line_of(dice)).collect();
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
    let mut refused: BTreeMap<NoWhole, u64> = BTreeMap::new();
    let (mut beyond, mut of_laws) = (0_u64, 0_u64);
    for law in 0..made::share(4000, 60) {
        let mut dice = Dice(made::seed() ^ (law << 20) ^ 0xacc0);
        let rows = wider(&mut dice);
        let tables = tables_of(&rows);
        let book = made::book(&[
            ("parts", "part,place\nSpare,frame\n"),
            (
                "settings",
                "setting,value\ndestination,XA\ndate,2026-09-23\n",
            ),
        ]);
        let day = Date::parse("2026-09-23").unwrap();
        let ask = crate::Question::new(&book.settings, day).unwrap();
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
            match agrees(&prepared.program, &parcel, &exact, 2) {
                Ok(None) => {}
                Ok(Some(NoWhole::Wrong)) => continue,
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
