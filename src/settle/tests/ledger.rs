//! Receipts against the estimate: every penny has a cause, causes add up; weighings; rows added safely, whatever stops them.

use crate::book::edit::edited;
use crate::book::{Book, BookFile, ChargeWord};
use crate::landed::{Bill, Jurisdiction, cost_at};
use crate::made::{self, ask, built_in as tables};
use crate::settle::{Cause, Entry, Ledger, added, history, settle, weigh};
use crate::small::home;
use crate::small::{book, dec};
use crate::tables::Tables;
use crate::text::Diagnostic;
use crate::units::{Date, Dec, HomeMoney, Mode};

/// Numbers from a seed, the same in every run.
struct Draw(u32);

impl Draw {
    fn below(&mut self, most: u32) -> u32 {
        self.0 = self.0.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (self.0 >> 8) % most
    }

    fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[usize::try_from(self.below(u32::try_from(of.len()).unwrap())).unwrap()]
    }
}

const SELLERS: &str = "\
seller,dispatch,currency,freight,channel,transit_days,collects_tax,carrier
Alder Cycle,TW,USD,18.00,post,11,yes,post
Birk Rad,DE,EUR,12.00,courier,6,yes,courier
Cobb Parts,US,USD,24.00,courier,9,no,courier
Dael Cykel,JP,JPY,2600,post,12,no,post
";

const SETTINGS: &str =
    "setting,value\ndestination,GB\ndate,2026-10-20\nkind,gravel\ncard_fee,2.75 %\n";

/// What happens to a parcel between the estimate and the receipts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fate {
    Plain,
    Dearer,
    Freight,
    TaxedTwice,
    NotAsked,
    Fee,
}

const FATES: [Fate; 6] = [
    Fate::Plain,
    Fate::Dearer,
    Fate::Freight,
    Fate::TaxedTwice,
    Fate::NotAsked,
    Fate::Fee,
];

/// One parcel of a year: prices in minor units.
struct Order {
    seller: &'static str,
    currency: &'static str,
    digits: u32,
    label: String,
    ordered: Date,
    charged: Date,
    arrived: Date,
    prices: Vec<(&'static str, i64, u32)>,
    fate: Fate,
}

/// A year of orders: one parcel each, one to four parts, on days spread from October 2025 to September 2026.
fn year(draw: &mut Draw, orders: u32) -> Vec<Order> {
    let first = Date::new(2025, 10, 1).unwrap();
    let places = ["spare", "tool", "consumable"];
    let one = |order: u32| {
        let (seller, currency, digits) = draw.one(&[
            ("Alder Cycle", "USD", 2),
            ("Birk Rad", "EUR", 2),
            ("Cobb Parts", "USD", 2),
            ("Dael Cykel", "JPY", 0),
        ]);
        let ordered = first.plus_days(order * 350 / orders + draw.below(5));
        let line = |draw: &mut Draw| {
            let price = 2_000 + i64::from(draw.below(24_000));
            (
                draw.one(&places),
                if digits == 0 { price * 3 / 2 } else { price },
                50 + draw.below(900),
            )
        };
        Order {
            seller,
            currency,
            digits,
            label: format!("p{order}"),
            ordered,
            charged: ordered.plus_days(draw.below(5)),
            arrived: ordered.plus_days(8 + draw.below(6)),
            prices: (0..=draw.below(3)).map(|_| line(draw)).collect(),
            fate: draw.one(&FATES),
        }
    };
    (0..orders).map(one).collect()
}

/// The book of a year as it was estimated, or as it turned out: another price, another freight, paid on another day.
fn tables_of(orders: &[Order], turned_out: bool) -> (String, String) {
    let mut parts = "part,place,standing,seller,parcel,price,currency,mass_g\n".to_owned();
    let mut parcels = "seller,parcel,ordered,arrived,freight\n".to_owned();
    for order in orders {
        for (at, (place, price, grams)) in order.prices.iter().enumerate() {
            let dearer = turned_out && order.fate == Fate::Dearer;
            let price = Dec::new(
                if dearer { price * 107 / 100 } else { *price },
                order.digits,
            )
            .fixed(order.digits);
            let (seller, label, currency) = (order.seller, &order.label, order.currency);
            parts.push_str(&format!(
                "Thing {label}-{at},{place},in-hand,{seller},{label},{price},{currency},{grams}\n"
            ));
        }
        let freight = match (turned_out && order.fate == Fate::Freight, order.digits) {
            (false, _) => "",
            (true, 0) => "3400",
            (true, _) => "27.50",
        };
        let paid = if turned_out {
            order.charged
        } else {
            order.ordered
        };
        parcels.push_str(&format!(
            "{},{},{paid},{},{freight}\n",
            order.seller, order.label, order.arrived
        ));
    }
    (parts, parcels)
}

/// Receipts of a year as it turned out: the seller's in its own money, the door's in pounds.
fn receipts(orders: &[Order], bills: &[Bill], jurisdiction: &Jurisdiction<'_>) -> String {
    let mut text = "consignment,charge,amount,currency,date\n".to_owned();
    for order in orders {
        let id = format!("{}/{}", order.seller, order.label);
        let bill = bills.iter().find(|b| b.id == id).unwrap();
        let a = &bill.amounts;
        let own = |amount: Dec| {
            let there = jurisdiction
                .market_rate(bill.paid_in, order.charged)
                .unwrap()
                .rate
                .back(amount)
                .unwrap();
            there
                .round_to(order.digits, Mode::HalfUp)
                .fixed(order.digits)
        };
        let mut add = |charge: &str, amount: String, currency: &str, date: Date| {
            text.push_str(&format!("{id},{charge},{amount},{currency},{date}\n"));
        };
        let dearer = |price: i64| {
            if order.fate == Fate::Dearer {
                price * 107 / 100
            } else {
                price
            }
        };
        let goods: i64 = order
            .prices
            .iter()
            .map(|(_, price, _)| dearer(*price))
            .sum();
        add(
            "goods",
            Dec::new(goods, order.digits).fixed(order.digits),
            order.currency,
            order.charged,
        );
        let told = match (order.fate, order.seller) {
            (Fate::Freight, "Dael Cykel") => "3400",
            (Fate::Freight, _) => "27.50",
            (_, "Alder Cycle") => "18.00",
            (_, "Birk Rad") => "12.00",
            (_, "Cobb Parts") => "24.00",
            _ => "2600",
        };
        add("freight", told.to_owned(), order.currency, order.charged);
        add("card_fee", a.card_fee.fixed(2), "GBP", order.charged);
        if !a.tax_at_sale.is_zero() {
            add(
                "tax_at_sale",
                own(a.tax_at_sale.amount()),
                order.currency,
                order.charged,
            );
            if order.fate == Fate::TaxedTwice {
                add(
                    "tax_at_border",
                    a.tax_at_sale.fixed(2),
                    "GBP",
                    order.arrived,
                );
                add("handling", "12.00".to_owned(), "GBP", order.arrived);
            }
            continue;
        }
        let fee = if order.fate == Fate::Fee {
            a.handling.plus(home("6.50")).unwrap()
        } else {
            a.handling
        };
        for (charge, amount) in [
            ("duty", a.duty),
            ("remedy", a.remedy),
            ("tax_at_border", a.tax_at_border),
            ("handling", fee),
        ] {
            let asked = if order.fate == Fate::NotAsked {
                Dec::ZERO
            } else {
                amount.amount()
            };
            if !amount.is_zero() {
                add(charge, asked.fixed(2), "GBP", order.arrived);
            }
        }
    }
    text
}

/// Every difference is the sum of its causes and what is unexplained; returns the differences and the unexplained,
/// without their signs.
fn adds_up(ledger: &Ledger) -> (Dec, Dec) {
    let (mut moved, mut unexplained) = (Dec::ZERO, Dec::ZERO);
    for entry in ledger.parcels.iter().flat_map(|p| &p.entries) {
        let causes = Dec::total(entry.causes.iter().map(|(_, amount)| *amount)).unwrap();
        assert_eq!(
            entry.difference().unwrap(),
            causes.plus(entry.unexplained).unwrap(),
            "{entry:?}"
        );
        assert!(
            entry
                .causes
                .iter()
                .all(|(_, amount)| amount.decimals() <= 2),
            "whole pennies: {entry:?}"
        );
        let steps = entry.causes.iter().map(|(_, amount)| amount.abs());
        moved = Dec::total(steps.chain([moved, entry.unexplained.abs()])).unwrap();
        unexplained = unexplained.plus(entry.unexplained.abs()).unwrap();
    }
    (moved, unexplained)
}

#[test]
#[expect(clippy::too_many_lines, reason = "one book is told in one piece")]
fn a_year_of_orders_is_settled_to_the_penny() {
    let tables = tables();
    for seed in made::one_in(3, [7, 11, 2026]) {
        let orders = year(&mut Draw(seed), 60);
        assert!(
            FATES
                .iter()
                .all(|fate| orders.iter().filter(|o| o.fate == *fate).count() > 2),
            "every cause occurs"
        );
        let (parts, parcels) = tables_of(&orders, true);
        let truth = book(&[
            ("parts", &parts),
            ("parcels", &parcels),
            ("sellers", SELLERS),
            ("settings", SETTINGS),
        ]);
        let ask = ask(&truth);
        let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
        let really = cost_at(&truth, &jurisdiction).unwrap().bills;
        let text = receipts(&orders, &really, &jurisdiction);
        let (parts, parcels) = tables_of(&orders, false);
        let files = [
            ("parts", parts.as_str()),
            ("parcels", &parcels),
            ("sellers", SELLERS),
            ("settings", SETTINGS),
            ("receipts", &text),
        ];
        let charged = book(&files);
        let ledger = settle(&charged, &jurisdiction).unwrap();
        assert_eq!(ledger.parcels.len(), 60);
        let (moved, unexplained) = adds_up(&ledger);
        assert!(moved > dec("100"), "{moved}");
        assert!(
            unexplained.times(Dec::HUNDRED).unwrap() <= moved,
            "{unexplained} of {moved} is unexplained"
        );
        let named = [
            Cause::Rate,
            Cause::Price,
            Cause::Freight,
            Cause::Follows,
            Cause::Twice,
            Cause::NotAsked,
            Cause::Fee,
            Cause::NotForeseen,
        ];
        for cause in named {
            let seen = ledger
                .parcels
                .iter()
                .flat_map(|p| &p.entries)
                .any(|e| e.causes.iter().any(|(c, _)| *c == cause));
            assert!(seen, "{cause:?}");
        }
        for order in &orders {
            let parcel = ledger
                .parcels
                .iter()
                .find(|p| p.id == format!("{}/{}", order.seller, order.label))
                .unwrap();
            let has = |cause: Cause| {
                parcel
                    .entries
                    .iter()
                    .any(|e| e.causes.iter().any(|(c, _)| *c == cause))
            };
            assert_eq!(
                has(Cause::Price),
                order.fate == Fate::Dearer,
                "{}: {:?}",
                order.label,
                order.fate
            );
            assert!(
                !has(Cause::Fee) || order.fate == Fate::Fee,
                "{}: {:?}",
                order.label,
                order.fate
            );
            assert!(
                !has(Cause::NotAsked) || order.fate == Fate::NotAsked,
                "{}: {:?}",
                order.label,
                order.fate
            );
            assert!(
                !has(Cause::Twice) || order.fate == Fate::TaxedTwice,
                "{}: {:?}",
                order.label,
                order.fate
            );
        }
        let (by_seller, by_charge) = history(&ledger).unwrap();
        let sum = |of: &dyn Fn(&crate::settle::Record) -> Dec, all: &[crate::settle::Record]| {
            Dec::total(all.iter().map(of)).unwrap()
        };
        assert_eq!(
            sum(&|r| r.actual, &by_seller),
            sum(&|r| r.actual, &by_charge)
        );
        assert_eq!(
            sum(&|r| r.estimated, &by_seller),
            sum(&|r| r.estimated, &by_charge)
        );
        println!("seed {seed}: differences {moved}, unexplained {unexplained}");
    }
}

#[test]
fn receipts_written_at_random_still_add_up() {
    let tables = tables();
    let mut draw = Draw(23);
    let (parts, parcels) = tables_of(&year(&mut draw, 40), false);
    let files = [
        ("parts", parts.as_str()),
        ("parcels", &parcels),
        ("sellers", SELLERS),
        ("settings", SETTINGS),
    ];
    let plain = book(&files);
    let ask = ask(&plain);
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let bills = cost_at(&plain, &jurisdiction).unwrap().bills;
    let words = [
        "goods",
        "discount",
        "freight",
        "insurance",
        "duty",
        "remedy",
        "tax",
        "tax_at_sale",
        "tax_at_border",
        "handling",
        "card_fee",
        "refund",
        "to_pay_seller",
        "to_pay_carrier",
    ];
    let mut text = "consignment,charge,amount,currency,date\n".to_owned();
    for bill in &bills {
        for _ in 0..draw.below(6) {
            let word = draw.one(&words);
            let (currency, unit) = draw.one(&[("GBP", 1), ("USD", 1), ("EUR", 1), ("JPY", 150)]);
            let amount = if unit == 1 {
                format!("{}.{:02}", draw.below(300), draw.below(100))
            } else {
                (draw.below(300) * unit).to_string()
            };
            text.push_str(&format!(
                "{},{word},{amount},{currency},{}\n",
                bill.id,
                bill.ordered.plus_days(draw.below(30))
            ));
        }
    }
    let charged = book(&[files.as_slice(), &[("receipts", text.as_str())]].concat());
    let ledger = settle(&charged, &jurisdiction).unwrap();
    adds_up(&ledger);
    let landed = cost_at(&charged, &jurisdiction).unwrap();
    for bill in &landed.bills {
        let lines =
            HomeMoney::total(bill.lines.iter().map(|l| l.amounts.landed().unwrap())).unwrap();
        assert_eq!(
            lines,
            bill.amounts.landed().unwrap(),
            "lines of {} add up with receipts in them",
            bill.id
        );
    }
    let t = &landed.totals;
    assert_eq!(t.spent.plus(t.to_pay).unwrap(), t.landed().unwrap());
}

const ONE: &str = "\
part,place,standing,seller,price,currency,dispatch,freight,mass_g,channel,transit_days
Bar,handlebar,in-hand,Alder Cycle,120.00,USD,TW,18.00,260,post,10
Stem,stem,in-hand,Alder Cycle,60.00,USD,TW,18.00,120,post,10
Bottle,spare,in-hand,Small Shop,20.00,USD,TW,8.00,100,post,10
";

fn settled(receipts: &str) -> (Ledger, Book, &'static Tables) {
    settled_of(ONE, receipts)
}

fn settled_of(parts: &str, receipts: &str) -> (Ledger, Book, &'static Tables) {
    let settings = SETTINGS.replace("2026-10-20", "2026-09-23");
    let text = format!("consignment,charge,amount,currency,date\n{receipts}");
    let book = book(&[
        ("parts", parts),
        ("settings", &settings),
        ("receipts", &text),
    ]);
    let tables = tables();
    let ask = ask(&book);
    let ledger = settle(&book, &Jurisdiction::open(tables, &ask).unwrap()).unwrap();
    (ledger, book, tables)
}

fn entry(ledger: &Ledger, charge: ChargeWord) -> &Entry {
    ledger
        .parcels
        .iter()
        .flat_map(|p| &p.entries)
        .find(|e| e.charge == charge)
        .unwrap()
}

#[test]
fn taxed_at_the_sale_and_again_at_the_door() {
    let (ledger, ..) = settled(
        "Small Shop,tax_at_sale,5.60,USD,2026-09-23\nSmall Shop,tax_at_border,4.20,GBP,2026-10-03\nSmall Shop,handling,8.00,GBP,2026-10-03\n",
    );
    let tax = entry(&ledger, ChargeWord::TaxAtBorder);
    assert_eq!(tax.causes, [(Cause::Twice, dec("4.20"))]);
    let claim = tax.claim.as_ref().unwrap();
    assert_eq!(
        (claim.amount, claim.until.unwrap().to_string().as_str()),
        (dec("4.20"), "2029-10-03")
    );
    assert_eq!(
        entry(&ledger, ChargeWord::Handling).causes,
        [(Cause::NotForeseen, dec("8.00"))]
    );
}

#[test]
fn two_receipts_alike_are_charged_twice() {
    // goods above the limit of 135 pounds, so that tax is due at the border
    let parts = ONE.replace("120.00", "150.00");
    let (ledger, book, tables) = settled_of(&parts, "");
    assert!(ledger.parcels.is_empty());
    let ask = ask(&book);
    let landed = cost_at(&book, &Jurisdiction::open(tables, &ask).unwrap()).unwrap();
    let due = landed
        .bills
        .iter()
        .find(|b| b.id == "Alder Cycle")
        .unwrap()
        .amounts
        .tax_at_border;
    let line = |day: &str| format!("Alder Cycle,tax_at_border,{},GBP,{day}\n", due.fixed(2));
    let (ledger, ..) = settled_of(&parts, &(line("2026-10-03") + &line("2026-10-04")));
    assert!(due.is_positive());
    assert_eq!(
        entry(&ledger, ChargeWord::TaxAtBorder).causes,
        [(Cause::Twice, due.amount())]
    );
}

#[test]
fn what_nothing_explains_is_said_to_be_unexplained() {
    let (ledger, ..) = settled("Alder Cycle,goods,170.00,GBP,2026-09-23\n");
    let goods = entry(&ledger, ChargeWord::Goods);
    assert!(
        goods.causes.is_empty() && goods.unexplained.is_positive(),
        "{goods:?}"
    );
}

#[test]
fn actuals_replace_estimates_everywhere() {
    let (_, book, tables) = settled(
        "Alder Cycle,handling,31.00,GBP,2026-10-03\nAlder Cycle,tax_at_border,0,GBP,2026-10-03\n",
    );
    let ask = ask(&book);
    let landed = cost_at(&book, &Jurisdiction::open(tables, &ask).unwrap()).unwrap();
    let bill = landed.bills.iter().find(|b| b.id == "Alder Cycle").unwrap();
    assert_eq!(
        (bill.amounts.handling, bill.amounts.tax_at_border),
        (home("31.00"), HomeMoney::ZERO)
    );
    let shares = HomeMoney::total(bill.lines.iter().map(|l| l.amounts.handling)).unwrap();
    assert_eq!(shares, home("31.00"));
    let before = book.before();
    let estimate = cost_at(&before, &Jurisdiction::open(tables, &ask).unwrap()).unwrap();
    assert_ne!(estimate.bills[0].amounts.handling, home("31.00"));
    assert_eq!(
        estimate.totals.replacement, landed.totals.replacement,
        "what the next person pays knows no receipts"
    );
}

#[test]
fn the_scale_against_the_parts() {
    let weighings = "what,mass_g,scale_g,basis,date\nBar,271,1,,2026-10-05\nStem,119,1,,\nStem,120,1,,\nFrame,1000,1,,\nbike,1520,5,racing,2026-10-06\n";
    let settings = SETTINGS.replace("2026-10-20", "2026-09-23");
    let parts = format!("{ONE}Saddle,saddle,given,,,,,,150,,\nFrame,frame,given,,,,,,1000,,\n");
    let book = book(&[
        ("parts", &parts),
        ("settings", &settings),
        ("weighings", weighings),
    ]);
    let tables = tables();
    let ask = ask(&book);
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let scales = weigh(&book, &jurisdiction).unwrap();
    let bar = scales.parts.iter().find(|w| w.part == "Bar").unwrap();
    assert_eq!(
        (
            bar.mass.to_string().as_str(),
            bar.percent.unwrap().fixed(1).as_str()
        ),
        ("271", "4.2")
    );
    assert_eq!(
        scales
            .parts
            .iter()
            .find(|w| w.part == "Stem")
            .unwrap()
            .mass
            .to_string(),
        "120",
        "the last of two readings"
    );
    let gap = &scales.bike[0];
    assert_eq!(
        (gap.sum.to_string().as_str(), gap.gap.to_string().as_str()),
        ("1541", "-21")
    );
    assert!(!gap.inside, "{gap:?}");
    assert_eq!(gap.doubts.len(), 1);
    let shares = Dec::total(gap.doubts.iter().map(|d| d.share)).unwrap();
    assert!(shares > dec("60") && shares <= Dec::HUNDRED, "{shares}");
    assert_eq!(
        cost_at(&book, &jurisdiction)
            .unwrap()
            .totals
            .mass
            .to_string(),
        "1541",
        "the weighed mass is the mass"
    );
}

#[test]
fn bad_rows_are_refused_with_their_place() {
    let about = |table: &str, text: &str| {
        let (_, problems) = made::read(&[("parts", ONE), ("settings", SETTINGS), (table, text)]);
        made::said(&problems)
    };
    for (row, word) in [
        ("Nobody,duty,5.00,GBP,2026-10-01", "parcel of the book"),
        (
            "Alder Cycle,dutty,5.00,GBP,2026-10-01",
            "did you mean `duty`",
        ),
        ("Alder Cycle,duty,,GBP,2026-10-01", "expected an amount"),
        ("Alder Cycle,duty,5.00,,2026-10-01", "currency"),
        ("Alder Cycle,duty,-5.00,GBP,2026-10-01", "0 or more"),
        ("Alder Cycle,duty,5.00,GBP,yesterday", "date"),
    ] {
        let found = about(
            "receipts",
            &format!("consignment,charge,amount,currency,date\n{row}\n"),
        );
        made::one_says(&found, "receipts.csv:2", word);
    }
    for (row, word) in [
        ("Wheel,1400", "part of"),
        ("Bar,", "scale"),
        ("Bar,0", "more than 0"),
        ("Bar,1.55", "one decimal"),
    ] {
        let found = about("weighings", &format!("what,mass_g\n{row}\n"));
        made::one_says(&found, "weighings.csv:2", word);
    }
}

/// A table with a typed row.
fn written(row: &str, old: &str) -> Result<String, Diagnostic> {
    let (table, edit) = added(row)?;
    let file = BookFile {
        path: format!("{table}.csv"),
        table: table.to_owned(),
        bytes: old.as_bytes().to_vec(),
    };
    edited(&file, &edit).map(|new| String::from_utf8(new.bytes).unwrap())
}

#[test]
fn a_row_is_added_in_the_files_own_form() {
    let plain = |old: Option<&'static str>, row: &str| written(row, old.unwrap_or_default());
    let row = "receipts,Alder Cycle,duty,5.00,GBP,2026-10-01";
    assert_eq!(
        plain(None, row).unwrap(),
        "consignment,charge,amount,currency,date\nAlder Cycle,duty,5.00,GBP,2026-10-01\n"
    );
    let old = "# mine\r\ncharge;consignment;date;amount;currency\r\nduty;X;2026-01-01;1;GBP";
    assert_eq!(
        plain(Some(old), row).unwrap(),
        format!("{old}\r\nduty;Alder Cycle;2026-10-01;5.00;GBP")
    );
    assert_eq!(
        plain(None, "weighing,\"Bar, wide\",271").unwrap(),
        "what,mass_g,scale_g,basis,date\n\"Bar, wide\",271,,,\n"
    );
    for bad in ["", "receipts", "prices,a,b", "receipts,a\nb,c"] {
        assert!(plain(None, bad).is_err(), "{bad:?}");
    }
    // what the table has no column for gets one, and rows that are there are as long
    assert_eq!(
        plain(Some("consignment,charge,amount\nX,tax,1\n"), row).unwrap(),
        "consignment,charge,amount,currency,date\nX,tax,1,,\nAlder Cycle,duty,5.00,GBP,2026-10-01\n"
    );
}

#[test]
fn a_row_with_a_part_can_be_added() {
    let row = "receipts,Alder Cycle,refund,60.00,GBP,2026-10-09,Bar";
    let text = written(row, "").unwrap();
    assert_eq!(
        text,
        "consignment,charge,amount,currency,date,part\nAlder Cycle,refund,60.00,GBP,2026-10-09,Bar\n"
    );
    let (book, problems) =
        made::read(&[("parts", ONE), ("settings", SETTINGS), ("receipts", &text)]);
    assert_eq!(
        (book.receipts[0].part.as_deref(), problems.len()),
        (Some("Bar"), 0)
    );
}

/// In the order of days, not of rows, and never their mean, 275.
#[test]
fn the_latest_weighing_counts_and_both_are_read() {
    let weighings = "what,mass_g,date\nBar,260,2026-02-20\nBar,290,2026-02-01\n";
    let book = book(&[
        ("parts", ONE),
        ("settings", SETTINGS),
        ("weighings", weighings),
    ]);
    let ask = ask(&book);
    let scales = weigh(&book, &Jurisdiction::open(tables(), &ask).unwrap()).unwrap();
    let readings = scales.parts[0].readings.iter();
    let read: Vec<(String, bool)> = readings.map(|r| (r.mass.to_string(), r.counts)).collect();
    assert_eq!(read, [("290".to_owned(), false), ("260".to_owned(), true)]);
}
