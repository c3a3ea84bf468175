//! A parcel that came, whole or not: sums worked by hand.
//!
//! Two parts for 180.00 from Northmoor, freight 20.00: duty 10 % of 200.00 = 20.00, VAT 20 % of 220.00 = 44.00, fee 12.00: at the door
//! 76.00, in all 276.00. By weight the stem bears 20.00 x 120 / 380 = 6.32 of the freight, and so 10 % of 66.32 = 6.63 of the duty and
//! 20 % of 72.95 = 14.59 of the VAT.

use super::changed;
use crate::book::{Book, Standing};
use crate::landed::{Jurisdiction, Landed, cost_at};
use crate::made;
use crate::small::{SELLERS, ask, dec, tables_with};
use crate::steps::{Arrival, Claim, Edits, Received, claim, claims, receive};
use crate::tables::Tables;
use crate::text::{Problems, draw};
use crate::units::{Date, Dec};

const HEADER: &str = "part,place,role,standing,seller,price,mass_g,paid,parcel,comes_with,note\n";

/// Faulty goods go back within thirty days, and what was charged at the door is asked back within a year.
const REFUNDS: &str = "refund,charge,reason,comes_back,from,months,days,text,valid_from\n\
    goods_back,goods,faulty,yes,seller,,30,ask within thirty days,2021-01-01\n\
    rejected,duty,faulty,possible,customs,12,,claim within a year,2021-01-01\n\
    rejected,tax_at_border,faulty,possible,customs,12,,claim within a year,2021-01-01\n\
    fee,handling,*,no,carrier,,,the fee stays,2021-01-01\n";

fn tables_of() -> Tables {
    tables_with(&[("gb/refunds.csv", REFUNDS)])
}

fn two(standing: &str, bar: &str, stem: &str) -> String {
    format!(
        "{HEADER}Bar,handlebar,build,{standing},Northmoor,120.00,260,{bar},,,\nStem,stem,build,{standing},Northmoor,60.00,120,{stem},,,mine\n"
    )
}

fn day() -> Date {
    Date::parse("2026-03-12").unwrap()
}

fn wish(
    book: &Book,
    parcel: &str,
    missing: &[&str],
    damaged: &[&str],
) -> Result<(Edits, Received), Problems> {
    let (tables, ask) = (tables_of(), ask(&[]));
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let own = |names: &[&str]| {
        names
            .iter()
            .map(|name| (*name).to_owned())
            .collect::<Vec<_>>()
    };
    let came = Arrival {
        parcel,
        missing: &own(missing),
        damaged: &own(damaged),
        date: day(),
    };
    receive(book, &jurisdiction, &came)
}

fn landed(book: &Book) -> Landed {
    let (tables, ask) = (tables_of(), ask(&[]));
    cost_at(book, &Jurisdiction::open(&tables, &ask).unwrap()).unwrap()
}

/// Landed cost, what is spent, what is to pay, and the weight.
fn sums(book: &Book) -> [Dec; 4] {
    let t = landed(book).totals;
    [
        t.landed().unwrap().amount(),
        t.spent.amount(),
        t.to_pay.amount(),
        t.mass.0,
    ]
}

fn decs(texts: [&str; 4]) -> [Dec; 4] {
    texts.map(dec)
}

/// A book after a parcel came, with the tables that it has then.
fn after(
    parts: &str,
    more: &[(&str, &str)],
    missing: &[&str],
    damaged: &[&str],
) -> (Book, Vec<(String, String)>) {
    let typed = [&[("parts", parts), ("sellers", SELLERS)], more].concat();
    let (edits, _) = wish(&made::taken(&typed), "Northmoor", missing, damaged)
        .unwrap_or_else(|why| panic!("{}", draw(&why, false)));
    let files = changed(&typed, &edits);
    let mut problems = Problems::new();
    let book = Book::read(&files, &mut problems);
    assert!(!problems.refuse(), "{}", draw(&problems, false));
    let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).unwrap();
    let tables = files
        .iter()
        .map(|file| (file.table.clone(), text(&file.bytes)));
    (book, tables.collect())
}

fn table<'t>(tables: &'t [(String, String)], name: &str) -> Option<&'t str> {
    let found = tables.iter().find(|(table, _)| table == name);
    found.map(|(_, text)| text.as_str())
}

fn said(landed: &Landed, id: &str) -> Option<Vec<String>> {
    let caution = landed.cautions.iter().find(|caution| caution.id == id);
    caution.map(|caution| caution.about.clone())
}

/// 200.00 were paid to the seller and 76.00 are charged at the door: 276.00 are spent, and nothing is to pay any more.
#[test]
fn a_whole_parcel_costs_what_it_cost_on_its_way() {
    let parts = two("on-order", "133.68", "66.32");
    assert_eq!(
        sums(&made::taken(&[("parts", &parts), ("sellers", SELLERS)])),
        decs(["276.00", "200.00", "76.00", "380"])
    );
    let (book, tables) = after(&parts, &[], &[], &[]);
    assert_eq!(sums(&book), decs(["276.00", "276.00", "0.00", "380"]));
    assert!(
        book.parts
            .iter()
            .all(|row| row.standing == Standing::InHand && row.paid.is_none())
    );
    assert_eq!(
        table(&tables, "parcels"),
        Some("seller,arrived\nNorthmoor,2026-03-12\n")
    );
    assert_eq!(
        table(&tables, "receipts"),
        Some("consignment,charge,amount,currency\nNorthmoor,to_pay_seller,200.00,GBP\n")
    );
    // the row of the parcel that is there gets the day, and the receipt the day of the order
    let parcels = (
        "parcels",
        "seller,ordered,arrived,note\nNorthmoor,2026-03-02,,by post\n",
    );
    let (_, tables) = after(&parts, &[parcels], &[], &[]);
    assert_eq!(
        table(&tables, "parcels"),
        Some("seller,ordered,arrived,note\nNorthmoor,2026-03-02,2026-03-12,by post\n")
    );
    assert!(
        table(&tables, "receipts")
            .unwrap()
            .ends_with(",200.00,GBP,2026-03-02\n")
    );
    // nobody has said what was paid: nothing is made up
    let (book, tables) = after(&two("on-order", "", ""), &[], &[], &[]);
    assert_eq!(sums(&book), decs(["276.00", "276.00", "0.00", "380"]));
    assert_eq!(table(&tables, "receipts"), None);
}

/// Of a deposit of 100.00 nobody knows how the rest was paid: it goes into the notes, and no receipt makes the parcel cheaper.
#[test]
fn a_deposit_goes_into_the_notes() {
    let (book, tables) = after(&two("on-order", "60.00", "40.00"), &[], &[], &[]);
    assert_eq!(sums(&book), decs(["276.00", "276.00", "0.00", "380"]));
    assert_eq!(table(&tables, "receipts"), None);
    let parts = table(&tables, "parts").unwrap();
    assert!(
        parts.contains(",mine; 40.00 GBP were paid to the seller before it came\n"),
        "{parts}"
    );
}

/// The stem is paid for and its charges too: 276.00, but it weighs nothing and its place is open. Its price can be claimed within
/// thirty days, 6.63 + 14.59 of duty and VAT within a year.
#[test]
fn what_is_missing_or_damaged_is_paid_for_and_open() {
    for (missing, damaged, id, word) in [
        (&["Stem"][..], &[][..], "missing-part", "missing"),
        (&[][..], &["Stem"][..], "damaged-part", "damaged"),
    ] {
        let (book, tables) = after(&two("on-order", "133.68", "66.32"), &[], missing, damaged);
        assert_eq!(
            sums(&book),
            decs(["276.00", "276.00", "0.00", "260"]),
            "{word}"
        );
        let row = format!("Stem,stem,build,{word},Northmoor,60.00,120,,,,mine\n");
        assert!(table(&tables, "parts").unwrap().ends_with(&row));
        assert_eq!(said(&landed(&book), id), Some(vec!["Stem".to_owned()]));
        let (rules, question) = (tables_of(), ask(&[]));
        let jurisdiction = Jurisdiction::open(&rules, &question).unwrap();
        let found: Claim = claim(&book, &jurisdiction, "Stem", day()).unwrap().unwrap();
        assert_eq!(
            (found.owed, found.possible, found.until),
            (
                Some(dec("60.00")),
                dec("21.22"),
                Date::parse("2026-04-11").ok()
            ),
            "{word}"
        );
        assert_eq!(
            (found.seller.as_str(), found.fault.name()),
            ("Northmoor", word)
        );
        assert_eq!(claim(&book, &jurisdiction, "Bar", day()).unwrap(), None);
        // seen months later the claim is the one of the day it came, and its last day is past
        let later = Date::parse("2026-09-01").unwrap();
        assert_eq!(claims(&book, &jurisdiction, later).unwrap(), [found]);
    }
}

/// The shim lies in the bar's box: with the bar it is missing too, and alone it can be.
#[test]
fn what_lies_in_a_box_is_missing_with_it() {
    let parts = format!(
        "{}Shim,shim,build,bundled,,,5,,,Bar,\n",
        two("on-order", "", "")
    );
    let mass =
        |missing: &[&str], damaged: &[&str]| sums(&after(&parts, &[], missing, damaged).0)[3];
    assert_eq!(mass(&[], &[]), dec("385"));
    assert_eq!(mass(&["Bar"], &[]), dec("120"));
    assert_eq!(mass(&["Shim"], &[]), dec("380"));
    assert_eq!(mass(&[], &["Bar"]), dec("125"));
}

#[test]
fn what_is_no_parcel_on_its_way_is_refused() {
    let north = two("on-order", "", "");
    let parts = format!(
        "{north}Saddle,saddle,build,on-order,Southmoor,50.00,200,,spring,,\nPost,seatpost,build,on-order,Southmoor,50.00,200,,,,\n\
         Bag,tool,build,to-order,Southmoor,9.00,90,,later,,\nCase,tool,build,in-hand,Southmoor,9.00,90,,old,,\n"
    );
    let book = made::taken(&[("parts", &parts), ("sellers", SELLERS)]);
    for (parcel, missing, damaged, why) in [
        (
            "Northmor",
            &[][..],
            &[][..],
            "there is no parcel `Northmor`",
        ),
        (
            "Southmoor",
            &[],
            &[],
            "2 parcels on their way can be `Southmoor`",
        ),
        ("old", &[], &[], "is here already"),
        ("later", &[], &[], "its rows are `to-order`"),
        (
            "Northmoor",
            &["Saddle"],
            &[],
            "`Saddle` is not in this parcel",
        ),
        (
            "Northmoor",
            &["Stem"],
            &["Stem"],
            "both missing and damaged",
        ),
    ] {
        let found = wish(&book, parcel, missing, damaged).unwrap_err();
        let said = made::said(&found).join("\n");
        assert!(said.contains(why), "{parcel}: {said}");
    }
    for (parcel, id) in [
        ("spring", "Southmoor/spring"),
        ("Southmoor/spring", "Southmoor/spring"),
        ("Southmoor/", "Southmoor"),
        ("Northmoor", "Northmoor"),
    ] {
        let (_, received) = wish(&book, parcel, &[], &[]).unwrap();
        assert_eq!(received.parcel, id, "{parcel}");
    }
}

/// Another offer of a part is nothing that came.
#[test]
fn an_offer_has_no_fault() {
    let parts = format!(
        "{}Stem,,rival,missing,Southmoor,50.00,,,,,\n",
        two("to-order", "", "")
    );
    let (_, problems) = made::read(&[("parts", &parts), ("sellers", SELLERS)]);
    let said = made::said(&problems).join("\n");
    assert!(said.contains("this row is another offer"), "{said}");
}
