//! A year of orders in a small world, settled against sums that are worked out here and not by the engine: what is due by the
//! few round rules of that world, and what each thing that went otherwise adds to the penny.
//!
//! Duty is 10 % of goods and freight, VAT 20 % of those and the duty, the carrier's fee 12.00; a parcel whose goods come to no
//! more than 100.00 is charged nothing. A dollar is 0.80, 0.84 or 0.88, month by month; prices are whole multiples of 25.00 and
//! freight of 25.00 dollars, so that every sum is whole pennies and nothing has to be rounded.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use proptest::prelude::*;

use crate::book::ChargeWord;
use crate::landed::{Jurisdiction, Question};
use crate::made;
use crate::settle::{Cause, Ledger, Settled, settle};
use crate::small::{book, tables_with};
use crate::tables::Tables;
use crate::units::{Date, Dec};

const SELLERS: &str =
    "seller,dispatch,currency,freight,channel,transit_days\nFarmoor,TW,USD,25.00,post,10\n";

/// Dollars by month, from January 2025.
const RATES: [i64; 3] = [80, 84, 88];

/// What went otherwise than calculated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fate {
    /// Nothing.
    Plain,
    /// The card was charged in the month after.
    RateMoved,
    /// Nobody told when it came; the door charged in the month after.
    RateAtDoor,
    /// The carrier took 18.50.
    Fee,
    /// A parcel on which nothing was due was charged a fee of 8.00.
    FeeNotForeseen,
    /// The same VAT stands on two receipts.
    TwiceAlike,
    /// VAT at the sale, though none was due there, and again at the door.
    TwiceTaxed,
    /// The seller asked 25.00 dollars more.
    Dearer,
    /// The seller asked 50.00 dollars freight.
    Freight,
    /// Nothing was asked for at the door.
    NotAsked,
    /// Dearer, in the month after, and another fee.
    Several,
    /// The door took 3.33 more duty, and nobody knows why.
    Odd,
}

const FATES: [Fate; 12] = [
    Fate::Plain,
    Fate::RateMoved,
    Fate::RateAtDoor,
    Fate::Fee,
    Fate::FeeNotForeseen,
    Fate::TwiceAlike,
    Fate::TwiceTaxed,
    Fate::Dearer,
    Fate::Freight,
    Fate::NotAsked,
    Fate::Several,
    Fate::Odd,
];

/// One parcel: in which month it was ordered, and its price in steps of 25.00 dollars.
#[derive(Debug, Clone)]
struct Order {
    month: u32,
    steps: i64,
    fate: Fate,
}

fn orders() -> impl Strategy<Value = Vec<Order>> {
    let one = (0..12_u32, 0..20_i64, 0..FATES.len()).prop_map(|(month, steps, fate)| Order {
        month,
        steps,
        fate: FATES[fate],
    });
    prop::collection::vec(one, 1..40)
}

/// The sums of a parcel, in pennies.
#[derive(Debug, Clone, Copy)]
struct Sums {
    goods: i64,
    freight: i64,
    duty: i64,
    vat: i64,
    fee: i64,
}

/// What is due by the rules of this world; dollars in cents, the seller paid at one rate and the door at another.
fn due(price: i64, freight: i64, paid_at: i64, taxed_at: i64) -> Sums {
    let (goods, carried) = (price * taxed_at / 100, freight * taxed_at / 100);
    let taxed = goods > 10_000;
    let duty = if taxed { (goods + carried) / 10 } else { 0 };
    let vat = if taxed {
        (goods + carried + duty) / 5
    } else {
        0
    };
    Sums {
        goods: price * paid_at / 100,
        freight: freight * paid_at / 100,
        duty,
        vat,
        fee: if taxed { 12_00 } else { 0 },
    }
}

impl Order {
    /// Small parcels lie under the limit at every rate, the others over it.
    fn price(&self) -> i64 {
        match self.fate {
            Fate::FeeNotForeseen | Fate::TwiceTaxed => 25_00 * (1 + self.steps % 4),
            _ => 25_00 * (6 + self.steps),
        }
    }

    /// Ordered on the tenth; the card is charged a day later or in the month after, the parcel comes on the twentieth.
    fn days(&self) -> (Date, Date, Date) {
        let day = |month: u32, day: u32| {
            Date::new(
                2025 + i32::try_from(month / 12).unwrap(),
                month % 12 + 1,
                day,
            )
            .unwrap()
        };
        let later = matches!(self.fate, Fate::RateMoved | Fate::Several);
        let door = if self.fate == Fate::RateAtDoor {
            day(self.month + 1, 8)
        } else {
            day(self.month, 20)
        };
        (
            day(self.month, 10),
            if later {
                day(self.month + 1, 2)
            } else {
                day(self.month, 11)
            },
            door,
        )
    }

    fn rate(&self, later: bool) -> i64 {
        RATES[usize::try_from(self.month + u32::from(later)).unwrap() % RATES.len()]
    }

    fn reckoned(&self) -> Sums {
        due(self.price(), 25_00, self.rate(false), self.rate(false))
    }

    /// What stands on the receipts: dollars to the seller, pounds at the door.
    fn receipts(&self) -> Vec<(&'static str, i64, &'static str)> {
        let was = self.reckoned();
        let (mut price, mut freight) = (self.price(), 25_00);
        if matches!(self.fate, Fate::Dearer | Fate::Several) {
            price += 25_00;
        }
        if self.fate == Fate::Freight {
            freight = 50_00;
        }
        let door = due(
            price,
            freight,
            self.rate(false),
            self.rate(self.fate == Fate::RateAtDoor),
        );
        let mut all = vec![("goods", price, "USD"), ("freight", freight, "USD")];
        match self.fate {
            Fate::FeeNotForeseen => all.push(("handling", 8_00, "GBP")),
            Fate::TwiceTaxed => all.extend([
                ("tax_at_sale", price / 5, "USD"),
                ("tax_at_border", was.goods / 5, "GBP"),
            ]),
            Fate::NotAsked => all.extend([
                ("duty", 0, "GBP"),
                ("tax_at_border", 0, "GBP"),
                ("handling", 0, "GBP"),
            ]),
            _ => {
                let fee = if matches!(self.fate, Fate::Fee | Fate::Several) {
                    18_50
                } else {
                    door.fee
                };
                let odd = if self.fate == Fate::Odd { 3_33 } else { 0 };
                all.extend([
                    ("duty", door.duty + odd, "GBP"),
                    ("tax_at_border", door.vat, "GBP"),
                    ("handling", fee, "GBP"),
                ]);
            }
        }
        if self.fate == Fate::TwiceAlike {
            all.push(("tax_at_border", door.vat, "GBP"));
        }
        all
    }

    /// What each difference is made of, in pennies.
    fn causes(&self) -> Vec<(ChargeWord, Cause, i64)> {
        let was = self.reckoned();
        let moved = |now: Sums, rate: fn(&Sums) -> i64| rate(&now) - rate(&was);
        let (price, now, then) = (self.price(), self.rate(true), self.rate(false));
        let paid_later = due(price, 25_00, now, then);
        let dearer = due(price + 25_00, 25_00, then, then);
        match self.fate {
            Fate::Plain | Fate::Odd => Vec::new(),
            Fate::RateMoved => vec![
                (
                    ChargeWord::Goods,
                    Cause::Rate,
                    moved(paid_later, |s| s.goods),
                ),
                (
                    ChargeWord::Freight,
                    Cause::Rate,
                    moved(paid_later, |s| s.freight),
                ),
            ],
            Fate::RateAtDoor => {
                let door = due(price, 25_00, then, now);
                vec![
                    (ChargeWord::Duty, Cause::Rate, moved(door, |s| s.duty)),
                    (ChargeWord::TaxAtBorder, Cause::Rate, moved(door, |s| s.vat)),
                ]
            }
            Fate::Fee => vec![(ChargeWord::Handling, Cause::Fee, 6_50)],
            Fate::FeeNotForeseen => vec![(ChargeWord::Handling, Cause::NotForeseen, 8_00)],
            Fate::TwiceAlike => vec![(ChargeWord::TaxAtBorder, Cause::Twice, was.vat)],
            Fate::TwiceTaxed => {
                let tax = was.goods / 5;
                vec![
                    (ChargeWord::TaxAtSale, Cause::NotForeseen, tax),
                    (ChargeWord::TaxAtBorder, Cause::Twice, tax),
                ]
            }
            Fate::Dearer => vec![
                (ChargeWord::Goods, Cause::Price, moved(dearer, |s| s.goods)),
                (ChargeWord::Duty, Cause::Follows, moved(dearer, |s| s.duty)),
                (
                    ChargeWord::TaxAtBorder,
                    Cause::Follows,
                    moved(dearer, |s| s.vat),
                ),
            ],
            Fate::Freight => {
                let carried = due(price, 50_00, then, then);
                vec![
                    (
                        ChargeWord::Freight,
                        Cause::Freight,
                        moved(carried, |s| s.freight),
                    ),
                    (ChargeWord::Duty, Cause::Follows, moved(carried, |s| s.duty)),
                    (
                        ChargeWord::TaxAtBorder,
                        Cause::Follows,
                        moved(carried, |s| s.vat),
                    ),
                ]
            }
            Fate::NotAsked => vec![
                (ChargeWord::Duty, Cause::NotAsked, -was.duty),
                (ChargeWord::TaxAtBorder, Cause::NotAsked, -was.vat),
                (ChargeWord::Handling, Cause::NotAsked, -was.fee),
            ],
            Fate::Several => vec![
                (
                    ChargeWord::Goods,
                    Cause::Rate,
                    moved(paid_later, |s| s.goods),
                ),
                (ChargeWord::Goods, Cause::Price, 25_00 * now / 100),
                (
                    ChargeWord::Freight,
                    Cause::Rate,
                    moved(paid_later, |s| s.freight),
                ),
                (ChargeWord::Duty, Cause::Follows, moved(dearer, |s| s.duty)),
                (
                    ChargeWord::TaxAtBorder,
                    Cause::Follows,
                    moved(dearer, |s| s.vat),
                ),
                (ChargeWord::Handling, Cause::Fee, 6_50),
            ],
        }
    }
}

fn pennies(amount: i64) -> Dec {
    Dec::new(amount, 2)
}

/// The month's dollar stands in the tables from its first day.
fn world() -> Tables {
    let mut rates = "use,base,quote,rate,valid_from\n".to_owned();
    for month in 0..14_u32 {
        let rate = RATES[usize::try_from(month).unwrap() % RATES.len()];
        writeln!(
            rates,
            "market,USD,GBP,0.{rate},{}-{:02}-01",
            2025 + month / 12,
            month % 12 + 1
        )
        .unwrap();
    }
    tables_with(&[("exchange.csv", &rates)])
}

fn settled(orders: &[Order], tables: &Tables) -> Ledger {
    let mut parts = "part,place,standing,seller,parcel,price,mass_g\n".to_owned();
    let mut parcels = "seller,parcel,ordered,arrived\n".to_owned();
    let mut receipts = "consignment,charge,amount,currency,date,note\n".to_owned();
    for (at, order) in orders.iter().enumerate() {
        let (ordered, charged, door) = order.days();
        let arrived = if order.fate == Fate::RateAtDoor {
            String::new()
        } else {
            door.to_string()
        };
        writeln!(
            parts,
            "Thing {at},tool,in-hand,Farmoor,p{at},{},100",
            pennies(order.price()).fixed(2)
        )
        .unwrap();
        writeln!(parcels, "Farmoor,p{at},{ordered},{arrived}").unwrap();
        for (number, (charge, amount, currency)) in order.receipts().into_iter().enumerate() {
            let day = if currency == "USD" { charged } else { door };
            // each is a paper of its own: two that are alike were not typed twice
            writeln!(
                receipts,
                "Farmoor/p{at},{charge},{},{currency},{day},paper {number}",
                pennies(amount).fixed(2)
            )
            .unwrap();
        }
    }
    let book = book(&[
        ("parts", &parts),
        ("parcels", &parcels),
        ("sellers", SELLERS),
        ("receipts", &receipts),
    ]);
    let mut settings = crate::book::Settings::default();
    settings.set("destination", "GB").unwrap();
    let ask = Question::new(&settings, Date::new(2026, 3, 2).unwrap()).unwrap();
    settle(&book, &Jurisdiction::open(tables, &ask).unwrap()).unwrap()
}

fn parcel(at: usize, ledger: &Ledger) -> &Settled {
    ledger
        .parcels
        .iter()
        .find(|parcel| parcel.id == format!("Farmoor/p{at}"))
        .unwrap()
}

/// Holds one parcel against what was worked out for it, to the penny.
fn examine(at: usize, order: &Order, ledger: &Ledger) {
    let was = order.reckoned();
    let mut expected: BTreeMap<ChargeWord, BTreeMap<Cause, Dec>> = BTreeMap::new();
    for (charge, cause, amount) in order.causes() {
        expected
            .entry(charge)
            .or_default()
            .insert(cause, pennies(amount));
    }
    for entry in &parcel(at, ledger).entries {
        let reckoned = match entry.charge {
            ChargeWord::Goods => was.goods,
            ChargeWord::Freight => was.freight,
            ChargeWord::Duty => was.duty,
            ChargeWord::TaxAtBorder => was.vat,
            ChargeWord::Handling => was.fee,
            _ => 0,
        };
        assert_eq!(
            entry.estimated,
            pennies(reckoned),
            "{order:?} {:?}",
            entry.charge
        );
        let found: BTreeMap<Cause, Dec> = entry.causes.iter().cloned().collect();
        assert_eq!(
            found,
            expected.remove(&entry.charge).unwrap_or_default(),
            "{order:?} {entry:?}"
        );
        let odd = if order.fate == Fate::Odd && entry.charge == ChargeWord::Duty {
            3_33
        } else {
            0
        };
        assert_eq!(entry.unexplained, pennies(odd), "{order:?} {entry:?}");
    }
    assert!(
        expected.is_empty(),
        "{order:?}: nothing was found of {expected:?}"
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: u32::try_from(made::share(64, 24)).unwrap(), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_penny_has_the_cause_it_was_given(orders in orders()) {
        let ledger = settled(&orders, &world());
        prop_assert_eq!(ledger.parcels.len(), orders.len());
        for (at, order) in orders.iter().enumerate() {
            examine(at, order, &ledger);
        }
    }
}

#[test]
fn every_fate_is_told_apart() {
    let orders: Vec<Order> = FATES
        .iter()
        .flat_map(|fate| {
            (0..12).map(|month| Order {
                month,
                steps: i64::from(month),
                fate: *fate,
            })
        })
        .collect();
    let ledger = settled(&orders, &world());
    // What the ledger says of a parcel, sums aside, belongs to one fate alone.
    let mut told: BTreeMap<String, Fate> = BTreeMap::new();
    for (at, order) in orders.iter().enumerate() {
        examine(at, order, &ledger);
        let mut said = String::new();
        for entry in &parcel(at, &ledger).entries {
            let causes: Vec<&Cause> = entry.causes.iter().map(|(cause, _)| cause).collect();
            if !causes.is_empty() || !entry.unexplained.is_zero() {
                writeln!(
                    said,
                    "{:?} {causes:?} {}",
                    entry.charge,
                    entry.unexplained.is_zero()
                )
                .unwrap();
            }
        }
        let fate = *told.entry(said.clone()).or_insert(order.fate);
        assert_eq!(fate, order.fate, "both are told as {said}");
    }
    assert!(
        FATES
            .iter()
            .all(|fate| told.values().any(|own| own == fate)),
        "{told:?}"
    );
}
