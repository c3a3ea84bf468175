//! Orders placed and cancelled: what was paid is shared to the penny, and the sums stay where nothing was paid otherwise.

use super::super::{cancelled, placed};
use super::{after, changed};
use crate::abroad;
use crate::book::{Book, BookFile};
use crate::landed::{Jurisdiction, checkouts, cost_at};
use crate::made::{self, Dice};
use crate::small::dec;
use crate::units::{Date, Dec, HomeMoney};

const PARTS: &str = "part,place,role,standing,seller,price,currency,quantity,mass_g,paid,note\n\
    # the cockpit\n\
    Bar,handlebar,build,to-order,Northmoor,120.00,USD,1,260,,\"light, they say\"\n\
    Tape,bar-tape,build,,Northmoor,20.00,USD,2,40,,\n\
    Bell,bell,build,to-order,Southmoor,7.50,EUR,1,60,,\n";
const SELLERS: &str = "seller,dispatch,currency,freight,channel,collects_tax\n\
    Northmoor,TW,USD,15.00,post,yes\nSouthmoor,DE,EUR,9.00,courier,no\n";
const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-09-23\ncard_fee,2.75 %\n";
const PARCELS: &str = "seller,parcel,ordered,freight\nNorthmoor,,,12.00\n";

fn tables(parcels: &str) -> Vec<(&str, &str)> {
    let mut all = vec![
        ("parts", PARTS),
        ("sellers", SELLERS),
        ("settings", SETTINGS),
    ];
    if !parcels.is_empty() {
        all.push(("parcels", parcels));
    }
    all
}

fn day(text: &str) -> Date {
    Date::parse(text).unwrap()
}

/// Does something with a book and its jurisdiction.
fn with<T>(book: &Book, work: impl FnOnce(&Jurisdiction<'_>) -> T) -> T {
    let ask = crate::Question::new(&book.settings, day("2026-09-23")).unwrap();
    let tables = abroad::tables(&[]);
    work(&Jurisdiction::open(&tables, &ask).unwrap())
}

/// What the whole build lands at, and what of it is spent.
fn sums(book: &Book) -> (Dec, HomeMoney) {
    with(book, |jurisdiction| {
        let landed = cost_at(book, jurisdiction).unwrap();
        (
            landed.totals.landed().unwrap().amount(),
            landed.totals.spent,
        )
    })
}

/// Tables with their texts.
fn texts_of(files: &[BookFile]) -> Vec<(String, String)> {
    let text = |file: &BookFile| String::from_utf8(file.bytes.clone()).unwrap();
    files
        .iter()
        .map(|file| (file.table.clone(), text(file)))
        .collect()
}

fn borrowed(texts: &[(String, String)]) -> Vec<(&str, &str)> {
    texts
        .iter()
        .map(|(table, text)| (table.as_str(), text.as_str()))
        .collect()
}

/// Only the cells that change differ: the note in the table, the quotation marks and the order of columns stay.
#[test]
fn the_parts_and_the_parcel_are_written_down() {
    let all = tables("");
    let book = made::taken(&all);
    let (edits, found) = with(&book, |jurisdiction| {
        placed(
            &book,
            jurisdiction,
            ("Northmoor", "GBP 158.18"),
            day("2026-09-24"),
        )
        .unwrap()
    });
    assert_eq!(found.parcel, "Northmoor/2026-09-24");
    assert_eq!(found.paid.fixed(2), "158.18");
    // The bill has 120.52 of goods, 11.30 of shipping, 26.36 of VAT and 4.35 of card fee, 162.53 in all. Goods and fee by price, 3
    // to 1; shipping by weight, 260 g to 80 g; VAT by both: the bar bears 90.39 + 8.64 + 19.80 + 3.26 = 122.09, the tape 40.44.
    // Of 158.18 that is 118.82 and 39.36.
    let parts = after(&all, &edits);
    let rows: Vec<&str> = parts.lines().collect();
    assert_eq!(rows[1], "# the cockpit");
    assert!(rows[0].ends_with(",paid,note,parcel"), "{parts}");
    assert!(rows[2].starts_with("Bar,handlebar,build,on-order,Northmoor,120.00,USD,1,260,"));
    assert!(
        rows[2].ends_with(",\"light, they say\",2026-09-24"),
        "{parts}"
    );
    assert_eq!(
        rows[4],
        "Bell,bell,build,to-order,Southmoor,7.50,EUR,1,60,,,"
    );
    let paid = |row: &str| dec(row.split(',').nth(9).unwrap());
    let shares = [rows[2], rows[3]].map(|row| paid(row).fixed(2));
    assert_eq!(shares, ["118.82", "39.36"]);
    let files = changed(&all, &edits);
    let parcels = files.iter().find(|file| file.table == "parcels").unwrap();
    assert_eq!(
        String::from_utf8_lossy(&parcels.bytes),
        "seller,parcel,ordered\nNorthmoor,2026-09-24,2026-09-24\n"
    );
}

/// What the seller's row of `parcels.csv` says of all its parcels holds of the new one too, and a label is never used twice.
#[test]
fn a_parcel_keeps_what_is_said_of_its_seller() {
    let parcels = format!("{PARCELS}Northmoor,2026-09-24,2026-09-24,\n");
    let all = tables(&parcels);
    let book = made::taken(&all);
    let (edits, found) = with(&book, |jurisdiction| {
        placed(&book, jurisdiction, ("Northmoor", "210"), day("2026-09-24")).unwrap()
    });
    assert_eq!(found.parcel, "Northmoor/2026-09-24-2");
    let files = changed(&all, &edits);
    let parcels = files.iter().find(|file| file.table == "parcels").unwrap();
    assert!(
        String::from_utf8_lossy(&parcels.bytes)
            .ends_with("Northmoor,2026-09-24-2,2026-09-24,12.00\n")
    );
}

/// Paid as the checkout should show, on the day of the book: nothing moves but what is spent; cancelled again, all is as before.
#[test]
fn what_was_expected_moves_nothing_and_can_be_cancelled() {
    for nth in 0..made::share(200, 25) {
        let mut dice = Dice(made::seed() ^ (nth * 97));
        let mut parts = PARTS.to_owned();
        for (old, most) in [("120.00", 40_000), ("20.00", 9_000), ("7.50", 3_000)] {
            let cents = 100 + dice.below(most);
            parts = parts.replace(
                &format!(",{old},"),
                &format!(",{}.{:02},", cents / 100, cents % 100),
            );
        }
        let all = [
            ("parts", parts.as_str()),
            ("sellers", SELLERS),
            ("settings", SETTINGS),
        ];
        let book = made::taken(&all);
        let (total, to_seller) = with(&book, |jurisdiction| {
            let orders = checkouts(&book, jurisdiction).unwrap();
            let order = orders
                .iter()
                .find(|order| order.bill.id == "Northmoor")
                .unwrap();
            (order.sums.total.amount(), order.to_seller().unwrap())
        });
        let (edits, found) = with(&book, |jurisdiction| {
            let typed = total.to_string();
            placed(
                &book,
                jurisdiction,
                ("Northmoor", &typed),
                day("2026-09-23"),
            )
            .unwrap()
        });
        assert_eq!(
            (found.paid, found.expected),
            (to_seller, to_seller),
            "{nth}"
        );
        let files = changed(&all, &edits);
        let texts = texts_of(&files);
        let now = borrowed(&texts);
        let placed_book = made::taken(&now);
        let (before, after_it) = (sums(&book), sums(&placed_book));
        assert_eq!(before.0, after_it.0, "{nth}: {parts}");
        assert_eq!(after_it.1, to_seller, "{nth}");
        let (edits, rows) = cancelled(&placed_book, "Northmoor").unwrap();
        assert_eq!(rows, 2);
        let back = changed(&now, &edits);
        let texts = texts_of(&back);
        let now = borrowed(&texts);
        assert_eq!(sums(&made::taken(&now)), before, "{nth}");
    }
}

#[test]
fn what_cannot_be_meant_is_refused() {
    let all = tables("");
    let book = made::taken(&all);
    for (parcel, paid, why) in [
        ("Nobody", "12", "nothing is to be ordered from `Nobody`"),
        ("Northmoor", "much", "`much` is not an amount"),
        ("Northmoor", "-3", "-3 cannot have been paid"),
        ("Northmoor", "JPY 300", "`JPY 300` is neither USD nor GBP"),
        (
            "Northmoor",
            "162.53",
            "162.53 is what leaves your account in GBP; the checkout should show 210.00 USD",
        ),
        ("Northmoor", "21", "21 is far from the 210.00 USD"),
        ("Northmoor", "21000", "21000 is far from the 210.00 USD"),
    ] {
        let refused = with(&book, |jurisdiction| {
            placed(&book, jurisdiction, (parcel, paid), day("2026-09-24")).unwrap_err()
        });
        let said = made::said(&refused);
        assert!(
            said.iter().any(|said| said.contains(why)),
            "{why}: {said:?}"
        );
    }
    let none = cancelled(&book, "Northmoor").unwrap_err();
    assert!(
        none.message
            .contains("no parcel of `Northmoor` is on its way")
    );
}

/// A label that was typed is a parcel of its own: cancelled, its row and its label stay, and its days go.
#[test]
fn a_parcel_that_was_planned_apart_stays_apart() {
    let parts = PARTS
        .replace("quantity,mass_g,paid", "quantity,parcel,mass_g,paid")
        .replace("USD,1,260", "USD,1,one,260")
        .replace("USD,2,40", "USD,2,one,40")
        .replace("build,,", "build,to-order,")
        .replace("EUR,1,60", "EUR,1,,60");
    let parcels =
        "seller,parcel,ordered,arrived,freight,note\nNorthmoor,one,,,33.00,planned apart\n";
    let all = [
        ("parts", parts.as_str()),
        ("sellers", SELLERS),
        ("settings", SETTINGS),
        ("parcels", parcels),
    ];
    let book = made::taken(&all);
    let (edits, _) = with(&book, |jurisdiction| {
        placed(
            &book,
            jurisdiction,
            ("Northmoor", "USD 231.60"),
            day("2026-09-23"),
        )
        .unwrap()
    });
    let texts = texts_of(&changed(&all, &edits));
    let now = borrowed(&texts);
    let on_the_way = made::taken(&now);
    let (edits, _) = cancelled(&on_the_way, "Northmoor/one").unwrap();
    let texts = texts_of(&changed(&now, &edits));
    for (table, old) in [("parts", parts.as_str()), ("parcels", parcels)] {
        let new = &texts.iter().find(|(name, _)| name == table).unwrap().1;
        assert_eq!(new, old);
    }
    assert_eq!(sums(&made::taken(&borrowed(&texts))), sums(&book));
}

/// A receipt that names the parcel would belong to nothing under its new name.
#[test]
fn a_parcel_that_receipts_name_is_not_renamed() {
    let receipts =
        "consignment,charge,amount,currency,date\nNorthmoor,to_pay_seller,50.00,USD,2026-09-20\n";
    let mut all = tables("");
    all.push(("receipts", receipts));
    let book = made::taken(&all);
    let refused = with(&book, |jurisdiction| {
        let placed = placed(
            &book,
            jurisdiction,
            ("Northmoor", "USD 210"),
            day("2026-09-23"),
        );
        placed.unwrap_err()
    });
    let said = made::said(&refused);
    assert!(
        said.iter()
            .any(|said| said.contains("this receipt is for `Northmoor`")),
        "{said:?}"
    );
}

/// A parcel without a label stands beside one that has one: `SELLER/` means it.
#[test]
fn a_parcel_without_a_label_can_be_meant() {
    let parts = PARTS
        .replace("quantity,mass_g,paid", "quantity,parcel,mass_g,paid")
        .replace("USD,1,260", "USD,1,,260")
        .replace("USD,2,40", "USD,2,late,40")
        .replace("EUR,1,60", "EUR,1,,60");
    let all = [
        ("parts", parts.as_str()),
        ("sellers", SELLERS),
        ("settings", SETTINGS),
    ];
    let book = made::taken(&all);
    let order = |typed: &str| {
        with(&book, |jurisdiction| {
            placed(&book, jurisdiction, (typed, "GBP 100"), day("2026-09-24"))
        })
    };
    let refused = order("Northmoor").unwrap_err();
    let help = refused.iter().find_map(|problem| problem.help.as_deref());
    assert_eq!(help, Some("say which: `Northmoor/` and `Northmoor/late`"));
    assert_eq!(
        order("Northmoor/").unwrap().1.parcel,
        "Northmoor/2026-09-24"
    );
    assert_eq!(order("late").unwrap().1.parcel, "Northmoor/late");
}

/// A receipt of a parcel says what became of its money: it is not simply to be ordered again.
#[test]
fn a_parcel_with_a_receipt_is_not_cancelled_in_silence() {
    let parts = PARTS.replace("build,to-order,Northmoor", "build,on-order,Northmoor");
    let receipts =
        "consignment,charge,amount,currency,date\nNorthmoor,to_pay_seller,50.00,USD,2026-09-20\n";
    let book = made::taken(&[
        ("parts", parts.as_str()),
        ("sellers", SELLERS),
        ("settings", SETTINGS),
        ("receipts", receipts),
    ]);
    let refused = cancelled(&book, "Northmoor").unwrap_err();
    assert!(refused.message.contains("this receipt is for `Northmoor`"));
    assert!(refused.help.unwrap().contains("settle --add"));
}
