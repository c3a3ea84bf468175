//! Parcels that are lost, parts that come back, deposits of which only a receipt tells, and what sending goods back costs.
//!
//! Two parts for 180.00 from Northmoor, freight 20.00: duty 10 % of 200.00 = 20.00, VAT 20 % of 220.00 = 44.00, fee 12.00: at the
//! door 76.00, in all 276.00.

use crate::kit::cost;
use crate::small::home;
use landwaiter::book::{Book, ChargeWord};
use landwaiter::compare::compare;
use landwaiter::landed::{Bill, Jurisdiction, Landed, lost_apart};
use landwaiter::plan::{Patient, Planned, Wishes, plan};
use landwaiter::rank::rank;
use landwaiter::returns::returned;
use landwaiter::settle::{Cause, Entry, settle};
use landwaiter::tables::Reason;
use landwaiter::units::{Date, Dec, HomeMoney};

use super::harness::landwaiter as run;
use super::receipts;
use super::small::{SELLERS, ask, book, dec, tables};

const HEADER: &str = "part,place,role,standing,seller,price,mass_g,paid\n";
const RECEIPTS: &str = "consignment,charge,amount,currency,date,part,note\n";

/// The two parts, with what is told as paid for each.
pub(crate) fn two(standing: &str, bar: &str, stem: &str) -> String {
    format!(
        "{HEADER}Bar,handlebar,build,{standing},Northmoor,120.00,260,{bar}\nStem,stem,build,{standing},Northmoor,60.00,120,{stem}\n"
    )
}

pub(crate) fn with(parts: &str, rows: &str) -> Book {
    book(&[
        ("parts", parts),
        ("sellers", SELLERS),
        ("receipts", &format!("{RECEIPTS}{rows}")),
    ])
}

fn landed(parts: &str, rows: &str) -> Landed {
    let (tables, ask) = (tables(), ask(&[]));
    cost(&with(parts, rows), &tables, &ask).unwrap()
}

fn bill(parts: &str, rows: &str) -> Bill {
    landed(parts, rows).bills.remove(0)
}

fn said(landed: &Landed, id: &str) -> Option<Vec<String>> {
    landed
        .cautions
        .iter()
        .find(|caution| caution.id == id)
        .map(|caution| caution.about.clone())
}

fn entries(parts: &str, rows: &str) -> Vec<Entry> {
    let (tables, ask) = (tables(), ask(&[]));
    let ledger = settle(
        &with(parts, rows),
        &Jurisdiction::open(&tables, &ask).unwrap(),
    )
    .unwrap();
    ledger
        .parcels
        .into_iter()
        .flat_map(|parcel| parcel.entries)
        .collect()
}

/// What was spent, what is to pay to the seller, what at the door, and the landed cost.
fn sums(landed: &Landed) -> [Dec; 4] {
    let t = &landed.totals;
    [
        t.spent.amount(),
        t.to_pay_seller.amount(),
        t.to_pay_carrier.amount(),
        t.landed().unwrap().amount(),
    ]
}

fn decs(texts: [&str; 4]) -> [Dec; 4] {
    texts.map(dec)
}

const STEM_BACK: &str = "Northmoor,refund,60.00,GBP,2026-03-20,Stem,\n";
const ALL_BACK: &str = "Northmoor,refund,180.00,GBP,2026-03-20,,lost in the post\n";

#[test]
fn a_refund_of_what_nothing_tells_was_paid_is_asked_about() {
    let plain = bill(&two("on-order", "", ""), "");
    let asked = bill(&two("on-order", "", ""), STEM_BACK);
    assert_eq!((asked.amounts, asked.questions.len()), (plain.amounts, 1));
    assert!(
        asked.questions[0].message.contains("what was paid?"),
        "{}",
        asked.questions[0].message
    );
    assert!(
        asked.questions[0]
            .place
            .as_ref()
            .unwrap()
            .to_string()
            .starts_with("receipts.csv:2")
    );
    // Another row's `paid` does not tell it; its own does, and so does a receipt.
    assert_eq!(
        bill(&two("on-order", "120.00", ""), STEM_BACK)
            .questions
            .len(),
        1
    );
    for (stem, row) in [
        ("60.00", ""),
        ("", "Northmoor,goods,180.00,GBP,2026-03-02,,\n"),
        ("", "Northmoor,to_pay_seller,200.00,GBP,2026-03-02,,\n"),
    ] {
        let taken = bill(&two("on-order", "", stem), &format!("{row}{STEM_BACK}"));
        assert_eq!(
            (taken.questions.len(), taken.amounts.discount),
            (0, home("60.00")),
            "{stem}{row}"
        );
    }
    assert_eq!(
        bill(&two("in-hand", "", ""), STEM_BACK).questions.len(),
        0,
        "what is in hand was paid"
    );
}

/// 100.00 of 200.00: 100.00 and the 76.00 at the door are still to pay, and the landed cost is what it was.
#[test]
fn a_deposit_known_by_its_receipt_alone_leaves_the_balance() {
    let row = |amount: &str, note: &str| {
        format!("Northmoor,to_pay_seller,{amount},GBP,2026-03-02,,{note}\n")
    };
    for standing in ["on-order", "to-order"] {
        let parts = two(standing, "", "");
        let found = landed(&parts, &row("100.00", ""));
        assert_eq!(
            sums(&found),
            decs(["100.00", "100.00", "76.00", "276.00"]),
            "{standing}"
        );
        let question = &found.bills[0].questions[0];
        assert!(
            question
                .message
                .contains("is this a deposit? 100.00 GBP is well below"),
            "{}",
            question.message
        );
        assert!(
            question
                .help
                .as_ref()
                .is_some_and(|help| help.contains("`in full`")),
            "{question:?}"
        );
        assert!(
            said(&found, "deposit-asked").is_some() && said(&found, "balance-to-pay").is_none()
        );
        // Two instalments are one deposit.
        let twice = landed(
            &parts,
            &format!("{}{}", row("60.00", "first"), row("40.00", "second")),
        );
        assert_eq!(sums(&twice), sums(&found), "{standing}");
        // Its note says that it is all: the goods cost 80.00 and the freight 20.00. Nine tenths of 180.00 are no deposit either.
        let all = landed(&parts, &row("100.00", "paid In Full"));
        assert_eq!(
            (
                all.totals.spent,
                all.totals.to_pay_seller,
                all.bills[0].amounts.goods
            ),
            (home("100.00"), HomeMoney::ZERO, home("80.00"))
        );
        assert!(all.bills[0].questions.is_empty());
        let near = landed(&parts, &row("162.00", ""));
        assert_eq!(
            (near.totals.spent, near.totals.to_pay_seller),
            (home("162.00"), HomeMoney::ZERO)
        );
    }
    // What is in hand is paid.
    assert!(
        bill(&two("in-hand", "", ""), &row("100.00", ""))
            .questions
            .is_empty()
    );
    // The seller's part of the landed cost does not vanish in settling: the receipt is no price.
    assert!(entries(&two("on-order", "", ""), &row("100.00", "")).is_empty());
}

/// One row tells 40.00 of 120.00 and the other nothing. A receipt of 40.00 is all that was paid; one of 40.00 + 60.00 and the
/// freight on both, 6.67 of it on the stem by weight 120 of 380 (20.00 x 120 / 380 = 6.32), is what the rows tell.
#[test]
fn a_row_that_tells_nothing_beside_one_that_does_hides_no_deposit() {
    let parts = two("on-order", "40.00", "");
    let of = |amount: &str| {
        landed(
            &parts,
            &format!("Northmoor,to_pay_seller,{amount},GBP,2026-03-02,,\n"),
        )
    };
    let asked = of("40.00");
    assert_eq!(sums(&asked), decs(["40.00", "160.00", "76.00", "276.00"]));
    assert!(said(&asked, "deposit-asked").is_some());
    let plain = landed(&parts, "");
    let told = of(&plain.totals.spent.fixed(2));
    assert_eq!(sums(&told), sums(&plain));
    assert!(said(&told, "deposit-receipt").is_some() && said(&told, "deposit-asked").is_none());
}

/// 200.00 were paid and 180.00 came back: the freight of 20.00 is lost, and nothing is due at the door.
#[test]
fn a_lost_parcel_owes_nothing_at_the_door() {
    for (bar, stem, paid) in [
        ("133.68", "66.32", ""),
        ("", "", "Northmoor,to_pay_seller,200.00,GBP,2026-03-02,,\n"),
    ] {
        let found = landed(&two("on-order", bar, stem), &format!("{paid}{ALL_BACK}"));
        assert_eq!(
            sums(&found),
            decs(["20.00", "0.00", "0.00", "20.00"]),
            "{paid}"
        );
        assert_eq!(
            (found.totals.mass.to_string(), found.totals.replacement),
            ("0".to_owned(), HomeMoney::ZERO)
        );
        assert_eq!(
            said(&found, "parcel-lost"),
            Some(vec!["Northmoor".to_owned()])
        );
        assert_eq!(
            said(&found, "refunded-in-full"),
            Some(vec!["Bar".to_owned(), "Stem".to_owned()])
        );
        assert!(
            found.bills[0]
                .trail
                .iter()
                .any(|step| step.text.contains("nothing more is due at the door"))
        );
    }
    // What is billed already stays: the fee of 12.00, and no duty or VAT beside it.
    let billed = landed(
        &two("on-order", "133.68", "66.32"),
        &format!("Northmoor,handling,12.00,GBP,2026-03-09,,\n{ALL_BACK}"),
    );
    assert_eq!(sums(&billed), decs(["32.00", "0.00", "0.00", "32.00"]));
    // A penny short of the whole, it still comes.
    let short = landed(
        &two("on-order", "133.68", "66.32"),
        &ALL_BACK.replace("180.00", "170.00"),
    );
    assert_eq!(
        (short.totals.to_pay_carrier, said(&short, "parcel-lost")),
        (home("76.00"), None)
    );
    // In hand it has come: what was charged at the door was charged.
    let here = landed(&two("in-hand", "", ""), ALL_BACK);
    assert_eq!(
        (here.totals.landed().unwrap(), said(&here, "parcel-lost")),
        (home("96.00"), None)
    );
}

/// The parcel still comes with the bar: 76.00 at the door for both, as declared, and that is said.
#[test]
fn one_lost_part_of_a_parcel_that_comes_keeps_its_declared_charges() {
    let found = landed(&two("on-order", "133.68", "66.32"), STEM_BACK);
    assert_eq!(sums(&found), decs(["140.00", "0.00", "76.00", "216.00"]));
    assert_eq!(found.totals.mass.to_string(), "260");
    assert_eq!(
        said(&found, "lost-part-declared"),
        Some(vec!["Stem".to_owned()])
    );
    assert_eq!(
        said(&found, "refunded-in-full"),
        Some(vec!["Stem".to_owned()])
    );
    // Kept after all, its place is filled and its weight counts.
    let kept = landed(
        &two("on-order", "133.68", "66.32"),
        &STEM_BACK.replace("Stem,", "Stem,Kept: a gesture"),
    );
    assert_eq!(
        (sums(&kept), kept.totals.mass.to_string()),
        (sums(&found), "380".to_owned())
    );
    assert!(
        said(&kept, "refunded-in-full").is_none() && said(&kept, "lost-part-declared").is_none()
    );
}

#[test]
fn what_lies_in_the_box_of_a_lost_part_is_lost_with_it() {
    let parts = "part,place,role,standing,seller,price,mass_g,paid,comes_with\nBar,handlebar,build,on-order,Northmoor,120.00,260,140.00,\nShim,shim,build,bundled,,,5,,Bar\n";
    let found = landed(parts, "Northmoor,refund,120.00,GBP,2026-03-20,Bar,\n");
    assert_eq!(
        (
            found.totals.mass.to_string(),
            said(&found, "parcel-lost").is_some()
        ),
        ("0".to_owned(), true)
    );
}

const REST: &str = "Frame,frame,build,to-order,Southmoor,300.00,1000,\nHeadset,headset,build,in-hand,,,90,10.00\n\
    Saddle,saddle,build,in-hand,,,300,10.00\nPedals,pedals,build,in-hand,,,350,10.00\n";

/// A stem in place of the lost one replaces nothing: it adds its 110 g. The lost one is no offer, and its money is spent.
#[test]
fn a_lost_part_is_neither_offered_nor_replaced() {
    let option = "New stem,stem,option,to-order,Southmoor,50.00,110,\n";
    let parts = format!("{}{REST}{option}", two("on-order", "133.68", "66.32"));
    let book = with(&parts, STEM_BACK);
    let (tables, ask) = (tables(), ask(&[]));
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let before = cost(&book, &tables, &ask).unwrap().totals;
    let ranking = rank(&book, &tables, &ask).unwrap();
    assert_eq!(ranking.options.len(), 1, "{:?}", ranking.options);
    let one = &ranking.options[0];
    assert_eq!(
        (
            one.part.as_str(),
            one.replaces.len(),
            one.difference.saved.to_string()
        ),
        ("New stem", 0, "-110".to_owned())
    );
    // Southmoor: 300.00 + 10.00 becomes 350.00 + 10.00; 50.00, duty 5.00 and VAT 11.00 more.
    assert_eq!(one.together, dec("66.00"));
    assert_eq!(
        (ranking.landed, ranking.mass.to_string()),
        (before.landed().unwrap().amount(), "2000".to_owned())
    );
    assert!(ranking.left_out.is_empty() && ranking.unfit.is_empty());
    let Planned::Found(plans) = plan(
        &lost_apart(&book, &jurisdiction),
        &jurisdiction,
        &Wishes::default(),
        &Patient,
    )
    .unwrap() else {
        panic!("the new stem is a plan")
    };
    let best = &plans.plans[0];
    assert_eq!(
        (best.landed, best.mass.to_string()),
        (
            ranking.landed.plus(dec("66.00")).unwrap(),
            "2110".to_owned()
        )
    );
    assert_eq!(
        compare(&book, &tables, &ask).unwrap().mine.mass.to_string(),
        "2000"
    );
    // Another offer of the lost part is ordered anew, and is not refused as one of a part that is here.
    let rival = with(
        &parts.replace("New stem,stem,option,", "Stem,stem,rival,"),
        STEM_BACK,
    );
    let ranking = rank(&rival, &tables, &ask).unwrap();
    assert!(
        ranking.left_out.is_empty() && ranking.options.len() == 1,
        "{:?}",
        ranking.left_out
    );
    assert_eq!(
        (
            ranking.options[0].together,
            ranking.options[0].replaces.len()
        ),
        (dec("66.00"), 0)
    );
}

/// The second stem stands where the lost one stood, and the place is not filled twice; without it the place is empty.
#[test]
fn the_place_of_a_lost_part_is_open_again() {
    let settings = "setting,value\ndestination,GB\ndate,2026-03-02\nkind,gravel\n";
    let head = "part,place,standing,seller,price,currency,dispatch,freight,mass_g,paid\n";
    let lost = "Stem,stem,on-order,Alder Cycle,60.00,GBP,TW,0,120,60.00\n";
    let again = "Other stem,stem,to-order,Birk Parts,70.00,GBP,GB,0,110,\n";
    let check = |rows: &str, receipts: &str| {
        run("check")
            .file("parts.csv", format!("{head}{rows}"))
            .file("settings.csv", settings)
            .file("receipts.csv", format!("{RECEIPTS}{receipts}"))
            .go()
    };
    let back = "Alder Cycle,refund,60.00,GBP,2026-03-20,Stem,lost\n";
    let empty = |ran: &str| {
        ran.split("no part at")
            .nth(1)
            .unwrap_or(ran)
            .contains("stem")
    };
    let open = check(lost, back).ends(0);
    assert!(
        empty(&open.out) && !empty(&check(lost, "").ends(0).out),
        "{}",
        open.out
    );
    assert!(
        check(&format!("{lost}{again}"), "").status != 0,
        "two stems in one place"
    );
    check(&format!("{lost}{again}"), back).ends(0);
}

/// 100.00 EUR were 85.95 GBP on 2026-09-23 and are 83.58 on 2026-10-29 (EUR to GBP 0.8595 and 0.83578, `rates/exchange.csv`): the
/// price came back in full, and the 2.37 are lost. Of a card's statement a little less may come.
#[test]
fn a_price_that_came_back_at_another_rate_came_back_in_full() {
    let parts = "part,place,standing,seller,price,currency,dispatch,freight,mass_g,channel,transit_days,paid\n\
        Bar,handlebar,on-order,Alder Cycle,100.00,EUR,TW,0,260,post,10,85.95\n";
    let of = |amount: &str| {
        receipts::landed(&receipts::with(
            parts,
            &format!("Alder Cycle,refund,{amount},2026-10-29,,\n"),
        ))
    };
    let gone = |landed: &Landed| landed.bills[0].lines[0].gone;
    let back = of("100.00,EUR");
    assert!(gone(&back) && back.bills[0].is_lost());
    assert_eq!(
        (back.totals.spent, back.totals.to_pay),
        (home("2.37"), HomeMoney::ZERO),
        "85.95 - 83.58"
    );
    assert_eq!(back.totals.mass.to_string(), "0");
    assert!(gone(&of("81.20,GBP")), "83.58 less what the card took");
    for less in ["99.00,EUR", "80.00,GBP"] {
        assert!(!gone(&of(less)), "{less}");
    }
}

/// The stem went back for 12.50: on top of its freight, in what was spent, and a cause of its own in settling.
#[test]
fn what_sending_back_costs_is_a_cost() {
    let row = "Northmoor,return freight,12.50,GBP,2026-03-25,Stem,\n";
    let (plain, sent) = (
        landed(&two("in-hand", "", ""), STEM_BACK),
        landed(&two("in-hand", "", ""), &format!("{STEM_BACK}{row}")),
    );
    let more = |of: fn(&Landed) -> Dec| of(&sent).minus(of(&plain)).unwrap();
    assert_eq!(
        (
            more(|l| l.totals.spent.amount()),
            more(|l| l.totals.landed().unwrap().amount()),
            more(|l| l.totals.to_pay.amount())
        ),
        (dec("12.50"), dec("12.50"), Dec::ZERO)
    );
    assert_eq!(
        more(|l| l.bills[0].lines[1].amounts.freight.amount()),
        dec("12.50"),
        "it is the stem's"
    );
    assert_eq!(more(|l| l.totals.landed_undisputed.amount()), dec("12.50"));
    // Without a part it is of the part that was refunded; on order with `paid` told it is spent beside that.
    let unnamed = landed(
        &two("on-order", "133.68", "66.32"),
        &format!("{STEM_BACK}{}", row.replace("Stem", "")),
    );
    assert_eq!(
        (unnamed.totals.spent, unnamed.bills[0].lines[1].sent_back),
        (home("152.50"), home("12.50")),
        "200.00 - 60.00 + 12.50"
    );
    assert_eq!(
        (unnamed.totals.to_pay_seller, unnamed.totals.to_pay_carrier),
        (HomeMoney::ZERO, home("76.00"))
    );
    let settled = entries(&two("in-hand", "", ""), row);
    let [entry] = settled
        .iter()
        .filter(|e| e.actual.is_some())
        .collect::<Vec<_>>()[..]
    else {
        panic!("one entry: {settled:?}")
    };
    assert_eq!(
        (entry.charge, entry.actual, entry.estimated),
        (ChargeWord::ReturnFreight, Some(dec("12.50")), Dec::ZERO)
    );
    assert_eq!(
        (entry.causes.as_slice(), entry.unexplained),
        ([(Cause::ReturnFreight, dec("12.50"))].as_slice(), Dec::ZERO)
    );
    // What the seller gives back of it lowers it.
    let given = landed(
        &two("in-hand", "", ""),
        &format!("{row}Northmoor,refund of return freight,12.50,GBP,2026-04-01,,\n"),
    );
    assert_eq!(given.totals.landed().unwrap(), home("276.00"));
    for name in ["return_freight", "Return postage", "freight back"] {
        let book = with(
            &two("in-hand", "", ""),
            &row.replace("return freight", name),
        );
        assert_eq!(book.receipts[0].charge, ChargeWord::ReturnFreight, "{name}");
    }
}

#[test]
fn return_takes_what_sending_back_cost_from_its_receipt() {
    let (tables, ask) = (tables(), ask(&[]));
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let of = |rows: &str| {
        returned(
            &with(&two("in-hand", "", ""), rows),
            &jurisdiction,
            "Stem",
            Reason::Unwanted,
            Date::parse("2026-03-20").unwrap(),
        )
        .unwrap()
    };
    let (plain, told) = (
        of(""),
        of("Northmoor,return freight,12.50,GBP,2026-03-25,Stem,\n"),
    );
    assert_eq!(
        (
            plain.freight_back,
            told.freight_back,
            told.freight_back_told
        ),
        (None, Some(dec("12.50")), true)
    );
    assert_eq!(
        plain.landed, told.landed,
        "it is no part of what the stem cost"
    );
    assert_eq!(
        plain.surely_back.minus(told.surely_back).unwrap(),
        dec("12.50")
    );
}

/// What is lost is set apart once, by whoever opens a jurisdiction for a book: the program where it reads one, and the three front doors that
/// take tables and a question.
#[test]
fn what_is_lost_is_set_apart_where_a_jurisdiction_is_opened_and_nowhere_else() {
    fn asking(folder: &std::path::Path, found: &mut Vec<String>) {
        for entry in std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
        {
            if entry.is_dir() {
                asking(&entry, found);
            } else {
                let text = std::fs::read_to_string(&entry).unwrap_or_default();
                let file = entry
                    .strip_prefix(super::kit::home())
                    .unwrap()
                    .to_string_lossy()
                    .into_owned();
                found.extend(
                    text.lines()
                        .filter(|line| line.contains("lost_apart("))
                        .map(|_| file.clone()),
                );
            }
        }
    }
    let mut found = Vec::new();
    asking(&super::kit::home().join("src"), &mut found);
    found.sort();
    assert_eq!(
        found,
        [
            "src/answer/case.rs",
            "src/compare/comparison.rs",
            "src/landed/build.rs",
            "src/plan/tests/desk.rs",
            "src/rank/ranking.rs"
        ]
    );
}
