//! Tests of what a book reads: reports of tests, names of charges, the page of its columns, names that are hidden.

use super::settings::SETTINGS;
use super::{ChargeWord, TABLES, columns, is_report};
use crate::book::Book;
use crate::made;
use crate::units::Date;

const ONE: &str =
    "part,place,seller,price,currency,dispatch\nBar,handlebar,Alder Cycle,120.00,USD,TW\n";

/// A book in whose one parcel something was charged.
fn charged(typed: &str) -> Book {
    let receipts = format!(
        "consignment,charge,amount,currency,date\nAlder Cycle,{typed},5.00,GBP,2026-10-03\n"
    );
    made::taken(&[("parts", ONE), ("receipts", &receipts)])
}

fn today() -> Date {
    Date::parse("2026-03-02").unwrap()
}

#[test]
fn a_report_is_a_standard_for_bicycles_a_laboratory_or_number_and_a_date() {
    for report in [
        "ISO 4210-6, laboratory, 2025-05-01",
        "ISO 4210-6, report SM-0417, lab named, 2026-01-19",
        "iso4210-5; Nordlab; 03/2025",
        "EN ISO 4210-2:2023, report no. 4711, 2025-03-02",
        "EN 14764, institute, 2.3.2019",
        "ASTM F2711 (report 88-1204, May 2024)",
    ] {
        assert!(is_report(report, today()), "{report}");
    }
    for none in [
        "",
        "-",
        "no",
        "None shown",
        "claimed, no report",
        "ISO 4210-5, claimed, no report",
        "ISO 4210?",
        "a laboratory",
        "yes",
        "2025-05-01",
        "n/a",
        "ISO 4210 report pending",
        "not ISO 4210",
        // What says nothing of who, under which number, or when.
        "ISO 4210-5",
        "EN 14764",
        "ISO 4210-6, lab, date",
        "ISO 4210-5; lab; date",
        "ISO 4210-2:2023, lab",
        "ISO 4210-6, 2025-05-01",
        "laboratory report 2025-0417",
        "Institute of Testing, 2025-05-01",
        // A firm's standard, and another thing's.
        "ISO 9001",
        "ISO 9001, Nordlab, 2025-03-02",
        "ISO 42100, Nordlab, 2025-03-02",
        // What takes it back.
        "ISO 4210 (report on request)",
        "ISO 4210, lab, 2025-03-02 (report on request)",
        "ISO 4210 passed says the seller",
        "ISO 4210-5, lab, 2025-03-02, says the seller",
        "ISO 4210-5, Nordlab, failed 2025-03-02",
        "ISO 4210-5, Nordlab, claimed 2025-03-02",
    ] {
        assert!(!is_report(none, today()), "{none}");
    }
}

/// The book is of 2 March 2026: what is dated later has not been tested yet. Where day and month may be either, the report has the
/// benefit of the doubt: 3.2.2026 and 2.3.2026 are not after it, either way.
#[test]
fn a_report_of_a_day_yet_to_come_is_none_yet() {
    let dated = |day: &str| is_report(&format!("ISO 4210-6, Nordlab, {day}"), today());
    for come in [
        "2026-03-02",
        "2026-03",
        "2026",
        "03/2026",
        "2.3.2026",
        "01/02/2026",
        "2025-12-31",
        "2025-05-01, valid to 2028-05-01",
    ] {
        assert!(dated(come), "{come}");
    }
    for yet in [
        "2026-03-03",
        "2026-04",
        "04/2026",
        "2027",
        "2099-01-01",
        "3.3.2026",
        "31/12/2026",
        "2026-04-01",
    ] {
        assert!(!dated(yet), "{yet}");
    }
    assert!(
        !is_report("ISO 4210-6, report SM-0417, 2027-01-19", today()),
        "a number does not make up for the day"
    );
}

#[test]
fn what_a_screen_calls_a_charge_is_taken_where_it_is_typed() {
    for (typed, charge) in [
        ("VAT", ChargeWord::Tax),
        ("gst", ChargeWord::Tax),
        ("VAT at the sale", ChargeWord::TaxAtSale),
        ("VAT at the checkout", ChargeWord::TaxAtSale),
        ("GST at the door", ChargeWord::TaxAtBorder),
        ("import VAT", ChargeWord::TaxAtBorder),
        ("anti-dumping", ChargeWord::Remedy),
        ("Anti-dumping duty", ChargeWord::Remedy),
        ("import duty", ChargeWord::Duty),
        ("shipping", ChargeWord::Freight),
        ("shipping back", ChargeWord::ReturnFreight),
        ("handling fee", ChargeWord::Handling),
        ("carrier's fee", ChargeWord::Handling),
        ("Carrier\u{2019}s Fee", ChargeWord::Handling),
        ("card fee", ChargeWord::CardFee),
        ("paid to the seller", ChargeWord::ToPaySeller),
        ("paid at the door", ChargeWord::ToPayCarrier),
        ("to_pay_carrier", ChargeWord::ToPayCarrier),
    ] {
        let book = charged(typed);
        let found: Vec<_> = book.receipts.iter().map(|r| (r.charge, r.of)).collect();
        assert_eq!(found, [(charge, None)], "{typed}");
    }
    for (typed, of) in [
        ("refund of VAT", ChargeWord::Tax),
        ("refund:duty", ChargeWord::Duty),
        ("Handling fee refund", ChargeWord::Handling),
    ] {
        let book = charged(typed);
        assert_eq!(
            (book.receipts[0].charge, book.receipts[0].of),
            (ChargeWord::Refund, Some(of)),
            "{typed}"
        );
    }
    let unknowns = "what,low,likely,high,chance\nhandling fee:Alder Cycle,0,0,20,\nshipping:Alder Cycle,0,5,9,\nanti-dumping:Alder Cycle,,,,40 %\n";
    let (book, problems) = made::read(&[("parts", ONE), ("unknowns", unknowns)]);
    let names: Vec<&str> = book
        .unknowns
        .iter()
        .flatten()
        .map(|row| row.about.name())
        .collect();
    assert_eq!(
        (names.as_slice(), problems.len()),
        (["handling", "freight", "remedy"].as_slice(), 0),
        "{problems:?}"
    );
}

/// Every column and every setting is described, each under the heading of its table.
#[test]
fn the_page_of_tables_names_every_column() {
    let page = std::fs::read_to_string(made::home().join("examples/README.md")).unwrap();
    let mut seen = 0;
    for table in TABLES {
        let chapter = page
            .split("\n## ")
            .find(|chapter| {
                chapter
                    .lines()
                    .next()
                    .unwrap()
                    .contains(&format!("`{table}.csv`"))
            })
            .unwrap();
        let settings = if table == "settings" {
            SETTINGS.as_slice()
        } else {
            &[]
        };
        for name in columns(table).iter().chain(settings) {
            assert!(
                chapter.contains(&format!("`{name}`")),
                "examples/README.md does not say what `{name}` of {table}.csv is"
            );
            seen += 1;
        }
    }
    assert!(seen > 90, "{seen}");
}

/// However many sellers are hidden, each keeps a name of its own, in the order of their names.
#[test]
fn hidden_sellers_are_never_two_under_one_name() {
    let rows: String = (0..800)
        .map(|at| format!("Part {at},tool,Seller {at:03},5.00,GBP,GB\n"))
        .collect();
    let mut book = made::book(&[(
        "parts",
        &format!("part,place,seller,price,currency,dispatch\n{rows}"),
    )]);
    assert_eq!(book.sellers.len(), 800);
    book.hide_sellers();
    assert_eq!(book.sellers.len(), 800);
    let of = |at: usize| book.parts[at].seller.as_deref().unwrap();
    assert_eq!(
        [0, 25, 26, 701, 702, 799].map(of),
        [
            "seller A",
            "seller Z",
            "seller AA",
            "seller ZZ",
            "seller AAA",
            "seller ADT"
        ]
    );
}

#[test]
fn half_as_a_chance_is_asked_back() {
    let chance = |typed: &str| {
        let unknowns = format!("what,low,likely,high,chance\nevent:pads,5,6,7,{typed}\n");
        let (book, problems) = made::read(&[("parts", ONE), ("unknowns", &unknowns)]);
        (book, made::said(&problems))
    };
    for (typed, asked) in [
        ("0.5", "0.5 % or 50 %"),
        ("1", "1 % or 100 %"),
        ("0.25", "0.25 % or 25 %"),
    ] {
        let (_, problems) = chance(typed);
        assert!(
            problems.len() == 1
                && problems[0].starts_with("unknowns.csv:2")
                && problems[0].contains(asked),
            "{problems:?}"
        );
    }
    for typed in ["0.5 %", "50", "50 %", "0"] {
        let (book, problems) = chance(typed);
        assert!(
            problems.is_empty() && book.unknowns.unwrap().len() == 1,
            "{typed}: {problems:?}"
        );
    }
}
