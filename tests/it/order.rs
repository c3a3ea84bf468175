//! `order`: what to put into a seller's basket, what the checkout should show, and what to ask first.

use super::harness::{landwaiter as run, project};

fn gravel(seller: &str) -> String {
    let asked = run("order").within(project("examples/gravel-build"));
    asked.arg(seller).go().ends(0).out
}

/// Lines may be broken anywhere.
fn has(out: &str, lines: &[&str]) {
    let words = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let out = words(out);
    for line in lines {
        let line = words(line);
        assert!(out.contains(&line), "{line}: {out}");
    }
}

/// A frame of 598.00, of which a code takes 6 per cent, at most 40.00; a hanger of 12.00; shipping 96.00; insurance of 1 % of all
/// that: 610.00 - 35.88 + 96.00 = 670.12, and 6.70 more.
#[test]
fn the_sheet_of_one_seller_adds_up() {
    has(
        &gravel("Weihu Composite Works"),
        &[
            "Weihu Composite Works: the checkout should show 676.82 USD.",
            "You pay 523.81 GBP with the card fee of 14.02, and 424.53 to the courier at the door, about 2026-10-07 if it is ordered on 2026-09-23.",
            "Saltmarsh frame       1     598.00  2026-09-20",
            "FRAME6: 35.88 USD off Saltmarsh frame",
            "Goods      610.00",
            "Codes      -35.88",
            "Insurance    6.70",
            "Before shipping is chosen it shows 574.12 USD.",
        ],
    );
}

/// Prices that hold 19 % of the seller's country: 489.00 / 1.19 = 410.92 and 34.00 / 1.19 = 28.57; 15.00 of an earlier order pay,
/// and shipping is 24.90: 439.49 - 15.00 + 24.90 = 449.39.
#[test]
fn a_tax_that_comes_off_for_export_is_named() {
    has(
        &gravel("Radhaus Immerfeld"),
        &[
            "the checkout should show 449.39 EUR",
            "Goods without 19 % tax  439.49",
            "Credit and points       -15.00",
            "for export: if the checkout keeps it, ask before you pay",
            "Ask for the test report (ISO 4210 part, laboratory, date) of Lowtide 40",
        ],
    );
}

const PARTS: &str = "part,place,seller,price,currency,quantity,mass_g,origin,seen\n\
    Bar,handlebar,Northmoor,120.00,USD,1,260,TW,2026-07-01\n\
    Tape,bar-tape,Northmoor,20.00,USD,2,40,TW,\n\
    Bell,bell,,7.50,GBP,1,60,,\n";

const SELLERS: &str = "seller,dispatch,currency,freight,channel,collects_tax\n\
    Northmoor,TW,USD,15.00,post,yes\nSouthmoor,DE,EUR,9.00,courier,no\n";

fn asked(args: &str, parts: &str) -> super::harness::Ran {
    with(args, &[("parts.csv", parts)])
}

/// The usual book, with tables in the place of its own or beside them.
fn with(args: &str, more: &[(&str, &str)]) -> super::harness::Ran {
    let settings = "setting,value\ndestination,GB\ndate,2026-09-23\n";
    let usual = [
        ("parts.csv", PARTS),
        ("sellers.csv", SELLERS),
        ("settings.csv", settings),
    ];
    let files = usual.iter().chain(more);
    files
        .fold(run(args), |run, (name, text)| run.file(name, text))
        .go()
}

/// 120.00 + 2 * 20.00 + 15.00 = 175.00 before the VAT of 20 % that the seller takes: 35.00.
#[test]
fn tax_at_the_checkout_old_prices_and_prices_without_a_day_are_said() {
    has(
        &asked("order Northmoor", PARTS).ends(0).out,
        &[
            "Northmoor: the checkout should show 210.00 USD.",
            "VAT taken by the seller   35.00",
            "2026-07-01, 84 days ago: check it",
            "not noted: check it",
            "Before shipping is chosen it shows 195.00 USD; before VAT is added, 175.00.",
            "nothing is due at the door",
        ],
    );
}

#[test]
fn all_parcels_are_listed_and_what_is_here_is_not() {
    let out = asked("order", PARTS).ends(0).out;
    has(
        &out,
        &[
            "1 parcel to order: ",
            "Days are those of orders placed on 2026-09-23.",
            "Northmoor      210.00 USD",
            "at home          7.50 GBP",
        ],
    );
    let here = PARTS
        .replace("place,seller", "place,standing,seller")
        .replace("handlebar,", "handlebar,in-hand,")
        .replace("bar-tape,", "bar-tape,in-hand,")
        .replace("bell,", "bell,in-hand,");
    has(
        &asked("order", &here).ends(0).out,
        &["Nothing is to be ordered"],
    );
}

#[test]
fn a_seller_is_named_as_in_the_book() {
    let near = asked("order Northmor", PARTS).ends(1).err;
    has(
        &near,
        &[
            "there is no seller `Northmor` in the book",
            "did you mean `Northmoor`?",
        ],
    );
    let none = asked("order Southmoor", PARTS).ends(1).err;
    has(
        &none,
        &[
            "nothing is to be ordered from `Southmoor`",
            "to be ordered: Northmoor and at home",
        ],
    );
    let trail = asked("order --trail", PARTS).ends(2).err;
    has(&trail, &["`cost --trail` shows how each amount came about"]);
}

/// The JSON has every figure of the sheet as text with the currency's minor units.
#[test]
fn programs_get_every_figure() {
    let json = asked("order Northmoor --format json", PARTS).ends(0).json();
    assert_eq!(json["format"], "landwaiter.order/1");
    let order = &json["orders"][0];
    let figures = [
        "goods",
        "freight",
        "tax",
        "total",
        "before_tax",
        "before_shipping",
    ];
    let found = figures.map(|name| order[name].as_str().unwrap());
    assert_eq!(
        found,
        ["160.00", "15.00", "35.00", "210.00", "175.00", "195.00"]
    );
    assert_eq!(order["basket"][1]["quantity"], 2);
}

/// A book's order, placed as its sheet says: the parts are on the way, the landed cost stays, and `undo` gives the first bytes
/// again. 210.00 USD at that day's reference rates, 210 / 1.1234 * 0.83825 or so, leave the account as the sheet has it.
#[test]
fn an_order_is_written_down_and_taken_back() {
    let ran = asked(
        "order Northmoor --placed --paid 210.00 --date 2026-09-23",
        PARTS,
    )
    .ends(0);
    has(
        &ran.out,
        &[
            "Northmoor/2026-09-23 is on its way: 2 parts, 158.18 GBP paid, as expected.",
            "The checkout took 210.00 USD, as it should.",
            "The landed cost of the build stays 165.68 GBP.",
        ],
    );
    has(
        &ran.left("parts.csv"),
        &["Bar,handlebar,Northmoor,120.00,USD,1,260,TW,2026-07-01,on-order,2026-09-23,"],
    );
    has(
        &ran.left("parcels.csv"),
        &["Northmoor,2026-09-23,2026-09-23"],
    );
    let undone = ran.again("undo").ends(0);
    assert_eq!(undone.left("parts.csv"), PARTS);
    assert!(!undone.has("parcels.csv"));
}

#[test]
fn an_order_is_not_written_down_by_halves() {
    for (args, why) in [
        ("order Northmoor --placed", "--paid <AMOUNT>"),
        ("order Northmoor --paid 12", "--placed"),
        ("order --placed --paid 12", "<SELLER>"),
    ] {
        has(&asked(args, PARTS).ends(2).err, &[why]);
    }
    let wrong = asked("order Northmoor --placed --paid much", PARTS).ends(1);
    has(
        &wrong.err,
        &["`much` is not an amount", "Nothing was written."],
    );
    assert_eq!(wrong.left("parts.csv"), PARTS);
}

/// What nobody has said is in no sum, and is said.
#[test]
fn shipping_that_is_not_known_is_no_nought() {
    let sellers = SELLERS.replace("15.00", "");
    let book = |args: &str| with(args, &[("sellers.csv", &sellers)]).ends(0).out;
    has(
        &book("order Northmoor"),
        &[
            "should show 192.00 USD before shipping, which is not known",
            "Shipping not known",
        ],
    );
    has(
        &book("order"),
        &["Shipping is not known, and in no sum, for Northmoor."],
    );
}

/// Of a frame from China 48.5 % are disputed, 239.42 by the trail of `cost`, and the VAT of 20 % on them, 47.88, rounded as one sum
/// with the rest: said where the money at the door is said.
#[test]
fn what_is_disputed_at_the_door_is_said() {
    has(
        &gravel("Weihu Composite Works"),
        &["Of the whole, 287.31 is disputed and may not be charged"],
    );
}

/// Other commands take the folder first: so does this one.
#[test]
fn folder_and_seller_are_taken_in_either_order() {
    let folder = project("examples/gravel-build");
    let folder = folder.to_str().unwrap();
    let [one, other] = [["Nagihama Cycle", folder], [folder, "Nagihama Cycle"]]
        .map(|args| run("order").arg(args[0]).arg(args[1]).go().ends(0).out);
    assert_eq!(one, other);
}

/// What is written is in the book's own money, on a day that was.
#[test]
fn another_destination_and_a_day_to_come_are_refused() {
    let placed = "order Northmoor --placed --paid 210.00";
    for (flags, why) in [
        ("--to JP", "the book is delivered to GB"),
        ("--date 2098-01-01", "this day is yet to come"),
        ("--date 31/12/2098", "`--date 31/12/2098`"),
    ] {
        let ran = asked(&format!("{placed} {flags}"), PARTS).ends(1);
        has(&ran.err, &[why]);
        assert_eq!(ran.left("parts.csv"), PARTS);
        assert!(!ran.has("journal.csv"));
    }
}

/// A code that has ended by the day of the order is in what the checkout should have shown no more.
#[test]
fn codes_are_those_of_the_day_of_the_order() {
    let codes = "code,seller,scope,percent,pays,valid_from,valid_to\nAUTUMN,Northmoor,basket,10,price,2026-09-01,2026-09-30\n";
    let placed = |date: &str, paid: &str| {
        let args = format!("order Northmoor --placed --paid {paid} --date {date}");
        with(&args, &[("discounts.csv", codes)]).ends(0).out
    };
    // 160.00 less 16.00 and shipping of 15.00 are 159.00, and VAT of 20 % is 31.80; without the code 210.00.
    has(
        &placed("2026-09-23", "190.80"),
        &[
            "as expected.",
            "The checkout took 190.80 USD, as it should.",
            "stays",
        ],
    );
    has(
        &placed("2026-10-07", "210.00"),
        &[
            "The checkout took 210.00 USD, as it should.",
            "rates and codes are those of 2026-10-07",
        ],
    );
}
