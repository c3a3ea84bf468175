//! Money that comes back: gains from exchange, deposits that come back in full, refunds of what was not paid, and parts that are held
//! by what was paid for them.
//!
//! In the small world two parts for 180.00 travel from Northmoor for 20.00: duty 20.00, VAT 44.00, fee 12.00: at the door 76.00, in
//! all 276.00.

use crate::kit::cost;
use crate::small::home;
use landwaiter::book::ChargeWord;
use landwaiter::landed::{Jurisdiction, Landed};
use landwaiter::returns::{Returned, returned};
use landwaiter::settle::{Cause, Ledger, settle};
use landwaiter::tables::Reason;
use landwaiter::units::{Date, Dec, HomeMoney};

use super::harness::{Ran, landwaiter as run};
use super::lost::{two, with};
use super::receipts;
use super::small::{ask, dec, tables};

const HEADER: &str = "part,place,role,standing,seller,price,mass_g,paid\n";
const RECEIPTS: &str = "consignment,charge,amount,currency,date,part,note\n";

fn landed(parts: &str, rows: &str) -> Landed {
    let (tables, ask) = (tables(), ask(&[]));
    let found = cost(&with(parts, rows), &tables, &ask).unwrap();
    adds_up(&found);
    found
}

fn ledger(parts: &str, rows: &str) -> Ledger {
    let (tables, ask) = (tables(), ask(&[]));
    settle(
        &with(parts, rows),
        &Jurisdiction::open(&tables, &ask).unwrap(),
    )
    .unwrap()
}

fn back(parts: &str, rows: &str, part: &str) -> Returned {
    let (tables, ask) = (tables(), ask(&[]));
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    returned(
        &with(parts, rows),
        &jurisdiction,
        part,
        Reason::Unwanted,
        Date::parse("2026-03-20").unwrap(),
    )
    .unwrap()
}

/// Every sum is the sum of its lines, and what is spent and to pay is what it lands at.
fn adds_up(found: &Landed) {
    for bill in &found.bills {
        let lines: Vec<HomeMoney> = bill
            .lines
            .iter()
            .map(|line| line.amounts.landed().unwrap())
            .collect();
        assert_eq!(
            HomeMoney::total(lines).unwrap(),
            bill.amounts.landed().unwrap(),
            "{}",
            bill.id
        );
    }
    let t = &found.totals;
    let bills: Vec<HomeMoney> = found
        .bills
        .iter()
        .map(|bill| bill.amounts.landed().unwrap())
        .chain([t.held])
        .collect();
    assert_eq!(HomeMoney::total(bills).unwrap(), t.landed().unwrap());
    assert_eq!(
        HomeMoney::total(found.held.iter().filter_map(|held| held.paid)).unwrap(),
        t.held
    );
    assert_eq!(t.to_pay_seller.plus(t.to_pay_carrier).unwrap(), t.to_pay);
    if !found
        .cautions
        .iter()
        .any(|caution| caution.id == "paid-otherwise")
    {
        assert_eq!(
            t.spent.plus(t.to_pay).unwrap(),
            t.landed().unwrap(),
            "spent and to pay: {t:?}"
        );
    }
}

fn said(found: &Landed, id: &str) -> bool {
    found.cautions.iter().any(|caution| caution.id == id)
}

/// What was spent, what is to pay to the seller, what at the door, and the landed cost.
fn sums(found: &Landed) -> [String; 4] {
    let t = &found.totals;
    [
        t.spent,
        t.to_pay_seller,
        t.to_pay_carrier,
        t.landed().unwrap(),
    ]
    .map(|sum| sum.fixed(2))
}

fn causes(ledger: &Ledger, charge: ChargeWord) -> Vec<(Cause, String)> {
    let entry = ledger
        .parcels
        .iter()
        .flat_map(|parcel| &parcel.entries)
        .find(|entry| entry.charge == charge)
        .expect("an entry");
    let all = Dec::total(entry.causes.iter().map(|(_, amount)| *amount)).unwrap();
    assert_eq!(
        all.plus(entry.unexplained).unwrap(),
        entry.difference().unwrap()
    );
    entry
        .causes
        .iter()
        .map(|(cause, amount)| (cause.clone(), amount.fixed(2)))
        .collect()
}

/// A bar for 100.00 EUR from Taiwan on 2026-09-23, when a euro was 0.8595 pounds: 85.95. On 2026-09-25 it was 0.86045: 86.05
/// (`rates/exchange.csv`). The freight of 10.00 EUR was 8.60.
fn euros(standing: &str, paid: &str) -> String {
    format!(
        "part,place,standing,seller,price,currency,dispatch,freight,mass_g,channel,transit_days,paid\n\
         Bar,handlebar,{standing},Alder Cycle,100.00,EUR,TW,10.00,260,post,10,{paid}\n"
    )
}

/// 100.00 EUR were 85.95 and came back as 86.05: the 0.10 are a gain, which lowers the price and neither freight nor card fee.
#[test]
fn a_gain_from_exchange_comes_off_what_was_spent() {
    let row = "Alder Cycle,refund,100.00,EUR,2026-09-25,,kept\n";
    let parts = euros("in-hand", "");
    let (plain, found) = (
        receipts::landed(&receipts::with(&parts, "")),
        receipts::landed(&receipts::with(&parts, row)),
    );
    adds_up(&found);
    let (before, after) = (plain.bills[0].amounts, found.bills[0].amounts);
    assert_eq!(
        (before.goods, after.goods, after.discount),
        (home("85.95"), home("85.95"), home("86.05"))
    );
    assert_eq!(
        (after.freight, after.card_fee, after.tax_at_sale),
        (before.freight, before.card_fee, before.tax_at_sale)
    );
    assert_eq!(
        plain.totals.spent.minus(found.totals.spent).unwrap(),
        home("86.05")
    );
    assert_eq!(
        plain
            .totals
            .landed_undisputed
            .minus(found.totals.landed_undisputed)
            .unwrap(),
        home("86.05")
    );
    let gain = found
        .cautions
        .iter()
        .find(|caution| caution.id == "refund-beyond")
        .expect("it is said");
    assert!(
        gain.text
            .starts_with("A refund is 0.10 GBP more than was paid, by exchange"),
        "{}",
        gain.text
    );
    let named = causes(&receipts::settled(&parts, row), ChargeWord::Refund);
    assert_eq!(
        named,
        [
            (Cause::Refund, "-85.95".to_owned()),
            (Cause::RefundGain, "-0.10".to_owned())
        ]
    );
    // Ten more of what else the seller took: 110.00 EUR were 94.55 and are 94.65; the card's fee stays.
    let all = receipts::landed(&receipts::with(&parts, &row.replace("100.00", "110.00")));
    adds_up(&all);
    assert_eq!(all.bills[0].amounts.card_fee, before.card_fee);
    assert_eq!(
        plain.totals.spent.minus(all.totals.spent).unwrap(),
        home("94.65")
    );
    // So too what a card's statement says, where that is more than everything that was paid.
    let more = euros("in-hand", "").replace(",TW,10.00,", ",GB,0,");
    let found = receipts::landed(&receipts::with(
        &more,
        &row.replace("100.00,EUR", "88.50,GBP"),
    ));
    assert_eq!(
        found.bills[0].questions.len(),
        0,
        "{:?}",
        found.bills[0].questions
    );
    // Typed wrong it is asked about: 150.00 EUR, 128.93 pounds, never were paid.
    let wrong = receipts::landed(&receipts::with(&parts, &row.replace("100.00", "150.00")));
    assert_eq!(
        (wrong.bills[0].questions.len(), wrong.totals.spent),
        (1, plain.totals.spent)
    );
}

/// 88.50 GBP of which 85.95 was paid and told: what is spent is 85.95 - 86.05, and nothing more is due for what does not come.
#[test]
fn a_gain_on_what_was_on_its_way_is_spent_below_zero() {
    let parts = euros("on-order", "85.95").replace(",TW,10.00,", ",TW,0,");
    let book = receipts::with(&parts, "Alder Cycle,refund,100.00,EUR,2026-09-25,,lost\n");
    let found = receipts::landed(&book);
    let t = &found.totals;
    assert_eq!(
        (t.spent, t.to_pay, t.mass.to_string()),
        (home("-0.10"), HomeMoney::ZERO, "0".to_owned())
    );
    assert!(said(&found, "refunded-in-full") && said(&found, "parcel-lost"));
}

/// The last market rate for euros is of 2026-10-30 (`rates/exchange.csv`).
#[test]
fn a_refund_at_an_old_rate_is_said() {
    let of = |day: &str| {
        let found = receipts::landed(&receipts::with(
            &euros("in-hand", ""),
            &format!("Alder Cycle,refund,10.00,EUR,{day},,\n"),
        ));
        found
            .cautions
            .iter()
            .filter(|c| c.id == "rate-old" && c.text.contains("A refund of"))
            .map(|c| c.text.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(
        of("2026-11-20"),
        [
            "A refund of 2026-11-20 is exchanged at the market rate of EUR of 2026-10-30, which is 21 days old"
        ]
    );
    assert!(of("2026-11-06").is_empty(), "seven days are not old");
    // So is any other receipt in foreign money, and one of a part that is held by what was paid for it.
    for (parts, charge, what) in [
        (euros("in-hand", ""), "return freight", "A receipt"),
        (euros("in-hand", "85.95"), "return freight", "A receipt"),
        (euros("in-hand", "85.95"), "refund", "A refund"),
    ] {
        let found = receipts::landed(&receipts::with(
            &parts,
            &format!("Alder Cycle,{charge},10.00,EUR,2026-11-20,Bar,\n"),
        ));
        let old = found.cautions.iter().any(|c| {
            c.id == "rate-old"
                && c.text
                    .starts_with(&format!("{what} of 2026-11-20 is exchanged"))
        });
        assert!(old, "{charge}: {:?}", found.cautions);
    }
    let settled = receipts::settled(
        &euros("in-hand", ""),
        "Alder Cycle,refund,10.00,EUR,2026-11-20,,\n",
    );
    assert!(
        settled
            .cautions
            .iter()
            .any(|caution| caution.id == "rate-old" && caution.text.contains("A refund of"))
    );
}

/// One sum of 578.61 is due at the door; 40.00 more are asked back of customs and of the carrier, by how they took them.
#[test]
fn a_claim_on_one_sum_at_the_door_names_both() {
    let due = receipts::bill(receipts::TWO, "").amounts.at_door().unwrap();
    let row = format!(
        "Alder Cycle,to_pay_carrier,{},GBP,2026-10-03,,\n",
        due.plus(home("40.00")).unwrap()
    );
    let claim = receipts::entry(
        &receipts::settled(receipts::TWO, &row),
        ChargeWord::ToPayCarrier,
    )
    .unwrap()
    .claim
    .expect("a claim");
    assert_eq!(
        (claim.amount, claim.from.as_str()),
        (dec("40.00"), "customs and the carrier")
    );
    assert!(
        claim.text.contains("ask the carrier how it splits"),
        "{}",
        claim.text
    );
    // A charge with a receipt of its own is asked back of one.
    let tax = receipts::bill(receipts::TWO, "")
        .amounts
        .tax_at_border
        .plus(home("40.00"))
        .unwrap();
    let row = format!("Alder Cycle,VAT,{tax},GBP,2026-10-03,,\n");
    let claim = receipts::entry(
        &receipts::settled(receipts::TWO, &row),
        ChargeWord::TaxAtBorder,
    )
    .unwrap()
    .claim
    .expect("a claim");
    assert_eq!(claim.from, "customs");
}

fn program(command: &str, parts: &str, rows: &str) -> Ran {
    let settings = "setting,value\ndestination,GB\ndate,2026-09-23\nkind,gravel\n";
    run(command)
        .file("parts.csv", parts)
        .file("settings.csv", settings)
        .file("receipts.csv", format!("{RECEIPTS}{rows}"))
        .go()
        .ends(0)
}

#[test]
fn a_row_typed_twice_is_in_the_json_of_cost() {
    let row = "Alder Cycle,handling,12.00,GBP,2026-10-03,,\n";
    let of = |rows: &str| {
        let json = program("cost . --format json", receipts::TWO, rows).json();
        let all = json["cautions"].as_array().unwrap().clone();
        all.into_iter()
            .filter(|caution| caution["id"] == "receipt-twice")
            .collect::<Vec<_>>()
    };
    let twice = of(&format!("{row}{row}"));
    assert_eq!(twice.len(), 1);
    assert_eq!(twice[0]["about"][0], "Alder Cycle");
    let text = twice[0]["text"].as_str().unwrap();
    assert!(
        text.contains("receipts.csv:3")
            && text.contains("typed twice")
            && text.contains("12.00 GBP"),
        "{text}"
    );
    assert!(of(row).is_empty());
    // `check` has it among its warnings already.
    let checked = program("check .", receipts::TWO, &format!("{row}{row}"));
    assert!(
        checked.err.contains("typed twice") && !checked.out.contains("typed twice"),
        "{}{}",
        checked.err,
        checked.out
    );
}

const DEPOSIT: &str = "Northmoor,to_pay_seller,100.00,GBP,2026-03-02,,\n";
const DEPOSIT_BACK: &str = "Northmoor,refund,100.00,GBP,2026-03-20,,\n";

/// 100.00 of 200.00 were paid and came back: nothing was spent, nothing is owed, nothing comes.
#[test]
fn a_deposit_that_came_back_in_full_is_a_cancelled_order() {
    for (parts, rows) in [
        (two("on-order", "", ""), format!("{DEPOSIT}{DEPOSIT_BACK}")),
        (two("on-order", "70.00", "30.00"), DEPOSIT_BACK.to_owned()),
        (two("on-order", "100.00", "0"), DEPOSIT_BACK.to_owned()),
        (
            two("on-order", "70.00", "30.00"),
            format!("{DEPOSIT}{DEPOSIT_BACK}"),
        ),
    ] {
        let found = landed(&parts, &rows);
        assert_eq!(sums(&found), ["0.00", "0.00", "0.00", "0.00"], "{rows}");
        assert_eq!(found.totals.mass.to_string(), "0", "its places are open");
        assert!(
            said(&found, "order-cancelled") && said(&found, "parcel-lost"),
            "{:?}",
            found.cautions
        );
        for wrong in [
            "balance-to-pay",
            "deposit-asked",
            "deposit-receipt",
            "paid-otherwise",
        ] {
            assert!(!said(&found, wrong), "{wrong}");
        }
        assert!(
            found.bills[0].questions.is_empty(),
            "{:?}",
            found.bills[0].questions
        );
    }
    let found = landed(
        &two("on-order", "", ""),
        &format!("{DEPOSIT}{DEPOSIT_BACK}"),
    );
    let caution = found
        .cautions
        .iter()
        .find(|caution| caution.id == "order-cancelled")
        .unwrap();
    assert!(
        caution
            .text
            .contains("the balance of 100.00 GBP is no longer to pay"),
        "{}",
        caution.text
    );
    // In settling both are named, and come to nothing; no other receipt is waited for.
    let ledger = ledger(
        &two("on-order", "", ""),
        &format!("{DEPOSIT}{DEPOSIT_BACK}"),
    );
    assert_eq!(
        causes(&ledger, ChargeWord::ToPaySeller),
        [(Cause::Deposit, "100.00".to_owned())]
    );
    assert_eq!(
        causes(&ledger, ChargeWord::Refund),
        [(Cause::Refund, "-100.00".to_owned())]
    );
    assert_eq!(
        ledger.parcels[0].entries.len(),
        2,
        "{:?}",
        ledger.parcels[0].entries
    );
    // Half of it back is a lower price: 70.00 + 30.00 - 50.00 are spent, and the balance of 100.00 is owed.
    let half = landed(
        &two("on-order", "70.00", "30.00"),
        &DEPOSIT_BACK.replace("100.00", "50.00"),
    );
    assert_eq!(sums(&half), ["50.00", "100.00", "76.00", "226.00"]);
    // Its note says that the order stands.
    let kept = landed(
        &two("on-order", "70.00", "30.00"),
        &DEPOSIT_BACK.replace(",,\n", ",,kept\n"),
    );
    assert!(!said(&kept, "order-cancelled") && kept.totals.mass.to_string() == "380");
}

/// The deposit of 30.00 on the stem came back; the bar, 50.00 of 120.00 and its freight paid, still comes.
#[test]
fn one_cancelled_part_leaves_the_balance_of_the_other() {
    let plain = landed(&two("on-order", "50.00", "30.00"), "");
    let found = landed(
        &two("on-order", "50.00", "30.00"),
        "Northmoor,refund,30.00,GBP,2026-03-20,Stem,\n",
    );
    let stem = plain.bills[0].lines[1].amounts.to_seller().unwrap();
    assert_eq!(found.totals.spent, home("50.00"));
    assert_eq!(
        plain
            .totals
            .to_pay_seller
            .minus(found.totals.to_pay_seller)
            .unwrap(),
        stem.minus(home("30.00")).unwrap()
    );
    assert_eq!(
        (found.totals.to_pay_carrier, found.totals.mass.to_string()),
        (home("76.00"), "260".to_owned())
    );
    let caution = found
        .cautions
        .iter()
        .find(|caution| caution.id == "order-cancelled")
        .unwrap();
    assert_eq!(caution.about, ["Stem"]);
}

/// The rows say that it is still to be ordered, so all of it is still to pay, and it is asked.
#[test]
fn a_deposit_that_came_back_of_what_is_still_to_be_ordered_is_asked_about() {
    let found = landed(
        &two("to-order", "", ""),
        &format!("{DEPOSIT}{DEPOSIT_BACK}"),
    );
    assert_eq!(sums(&found), ["0.00", "200.00", "76.00", "276.00"]);
    assert!(said(&found, "cancelled-asked") && !said(&found, "deposit-asked"));
    let [question] = found.bills[0].questions.as_slice() else {
        panic!("one question: {:?}", found.bills[0].questions)
    };
    assert!(
        question.message.contains("was this order cancelled?"),
        "{}",
        question.message
    );
    assert!(
        question
            .place
            .as_ref()
            .unwrap()
            .to_string()
            .starts_with("receipts.csv:3")
    );
}

/// Only 100.00 of 200.00 were paid: 150.00 cannot have come back.
#[test]
fn more_than_was_paid_does_not_come_back() {
    for (parts, rows, spent) in [
        (two("on-order", "", ""), format!("{DEPOSIT}{}", DEPOSIT_BACK.replace("100.00", "150.00")), "100.00"),
        (two("to-order", "", ""), format!("{DEPOSIT}{}", DEPOSIT_BACK.replace("100.00", "150.00")), "100.00"),
        (two("on-order", "70.00", "30.00"), DEPOSIT_BACK.replace("100.00", "150.00"), "100.00"),
        // The first of two refunds was all there was.
        (
            two("in-hand", "", ""),
            "Northmoor,refund,60.00,GBP,2026-03-20,Stem,\nNorthmoor,refund,60.00,GBP,2026-03-21,Stem,\n".to_owned(),
            "216.00",
        ),
        // Only the freight was paid of what is to be ordered.
        (
            two("to-order", "", ""),
            format!("Northmoor,freight,20.00,GBP,2026-03-02,,\n{}", DEPOSIT_BACK.replace("100.00", "60.00")),
            "20.00",
        ),
        // Only the carrier's fee was paid at the door, and no VAT.
        (
            two("on-order", "133.68", "66.32"),
            "Northmoor,handling,12.00,GBP,2026-03-02,,\nNorthmoor,refund of VAT,44.00,GBP,2026-03-20,,\n".to_owned(),
            "212.00",
        ),
    ] {
        let found = landed(&parts, &rows);
        assert_eq!(found.totals.spent, home(spent), "{rows}");
        assert!(
            found.bills[0].questions.iter().any(|q| q.message.contains("is the amount right?")),
            "{rows}: {:?}",
            found.bills[0].questions
        );
    }
}

/// VAT of 44.00 was paid on the way and came back: of 200.00 + 44.00 there is 200.00 spent, and not 156.00.
#[test]
fn a_charge_at_the_door_that_came_back_lowers_what_is_spent_once() {
    let rows =
        "Northmoor,VAT,44.00,GBP,2026-03-10,,\nNorthmoor,refund of VAT,44.00,GBP,2026-03-20,,\n";
    let found = landed(&two("on-order", "133.68", "66.32"), rows);
    assert_eq!(sums(&found), ["200.00", "0.00", "32.00", "232.00"]);
}

/// 183.77 was paid where 200.00 - 20.00 is calculated, and all of it came back.
#[test]
fn what_was_paid_beyond_the_price_can_come_back_too() {
    let parts = two("on-order", "150.00", "80.00");
    let found = landed(&parts, &DEPOSIT_BACK.replace("100.00", "230.00"));
    assert_eq!(sums(&found), ["0.00", "0.00", "0.00", "0.00"]);
    assert!(found.bills[0].questions.is_empty() && said(&found, "parcel-lost"));
}

/// A saddle in hand for 40.00, paid for and without a parcel that is calculated.
fn held(price: &str) -> String {
    format!("{HEADER}Saddle,saddle,build,in-hand,Northmoor,{price},300,40.00\n")
}

/// 12.50 for sending it back are spent, and 40.00 come off what was spent when they came back; `settle` says the same.
#[test]
fn receipts_of_what_is_held_by_its_own_paid_are_counted() {
    let freight = "Northmoor,return freight,12.50,GBP,2026-03-25,Saddle,\n";
    let refund = "Northmoor,refund,40.00,GBP,2026-03-26,Saddle,\n";
    for price in ["40.00", ""] {
        let sent = landed(&held(price), freight);
        assert_eq!(sums(&sent), ["52.50", "0.00", "0.00", "52.50"]);
        assert!(said(&sent, "paid-and-receipts") && sent.totals.mass.to_string() == "300");
        let back = landed(&held(price), &format!("{freight}{refund}"));
        assert_eq!(
            (sums(&back), back.totals.mass.to_string()),
            (
                ["12.50", "0.00", "0.00", "12.50"].map(str::to_owned),
                "0".to_owned()
            )
        );
        assert!(said(&back, "refunded-in-full"));
        let ledger = ledger(&held(price), &format!("{freight}{refund}"));
        assert_eq!(
            causes(&ledger, ChargeWord::ReturnFreight),
            [(Cause::ReturnFreight, "12.50".to_owned())]
        );
        assert_eq!(
            causes(&ledger, ChargeWord::Refund),
            [(Cause::Refund, "-40.00".to_owned())]
        );
        assert!(
            ledger
                .cautions
                .iter()
                .all(|caution| caution.id != "receipt-without-parcel"),
            "{:?}",
            ledger.cautions
        );
        // Without the part's name it is the only one it can be for.
        assert_eq!(
            sums(&landed(&held(price), &freight.replace("Saddle", ""))),
            sums(&sent)
        );
        let asked = landed(&held(price), &refund.replace("40.00", "95.00"));
        assert_eq!(
            (sums(&asked), asked.questions.len()),
            (["40.00", "0.00", "0.00", "40.00"].map(str::to_owned), 1)
        );
    }
    // Beside a part that is calculated, the named one alone bears it: 276.00 and 40.00, and 12.50.
    let both = format!(
        "{}Saddle,saddle,build,in-hand,Northmoor,40.00,300,40.00\n",
        two("in-hand", "", "")
    );
    let (plain, sent) = (landed(&both, ""), landed(&both, freight));
    assert_eq!(sent.bills[0].amounts, plain.bills[0].amounts);
    assert_eq!(
        (plain.totals.held, sent.totals.held),
        (home("40.00"), home("52.50"))
    );
}

/// The stem's price came back: what is lost is its freight and what was charged for it at the door, and no refund is to come.
#[test]
fn return_after_the_refund_loses_what_did_not_come_back() {
    let rows = "Northmoor,refund,60.00,GBP,2026-03-20,Stem,\n";
    let (before, after) = (
        back(&two("in-hand", "", ""), "", "Stem"),
        back(&two("in-hand", "", ""), rows, "Stem"),
    );
    // The tables of the small world give nothing back, so that before it all of it is lost: 91.54 - 60.00 = 31.54.
    assert_eq!(
        (before.lost().unwrap(), after.lost().unwrap()),
        (before.landed, before.landed.minus(dec("60.00")).unwrap())
    );
    assert!(after.went_back && !before.went_back);
    assert_eq!(after.came_back, dec("60.00"));
    let goods: Vec<_> = after
        .lines
        .iter()
        .filter(|line| line.charge == "goods")
        .map(|line| (line.paid, line.amount, line.booked))
        .collect();
    assert_eq!(
        goods,
        [(dec("60.00"), dec("60.00"), true)],
        "the price is named once"
    );
    assert_eq!(after.landed, before.landed, "what it cost is what it cost");
    // A part of it back: 10.00 are booked, and 50.00 go by the tables.
    let some = back(
        &two("in-hand", "", ""),
        &rows.replace("60.00", "10.00"),
        "Stem",
    );
    assert_eq!(
        (some.landed, some.came_back, some.went_back),
        (before.landed, dec("10.00"), false)
    );
    assert_eq!(
        Dec::total(some.lines.iter().map(|line| line.paid)).unwrap(),
        some.landed
    );
    let row = "Alder Cycle,refund,10.00,GBP,2026-10-09,Stem,\n";
    let json = program(
        "return . --part Stem --day 2026-10-20 --format json",
        receipts::TWO,
        row,
    )
    .json();
    let keep = json["ways"]
        .as_array()
        .unwrap()
        .iter()
        .find(|way| way["what"] == "keep it unused")
        .unwrap();
    let of = |value: &serde_json::Value| dec(value.as_str().unwrap());
    assert_eq!(
        of(&keep["loses"]),
        of(&json["landed"]).minus(dec("10.00")).unwrap()
    );
    // On the screen nothing is said to come that came already.
    let row = "Alder Cycle,refund,60.00,GBP,2026-10-09,Stem,\n";
    let out = program("return . --part Stem --day 2026-10-20", receipts::TWO, row).out;
    assert!(
        out.starts_with("The price of Stem came back in full:"),
        "{out}"
    );
    assert!(
        out.contains("60.00 GBP came back already")
            && !out.contains("send it back")
            && !out.contains("keep it unused"),
        "{out}"
    );
}

/// 180.00 were paid on 2026-03-10; what came back before that is asked about, and counted.
#[test]
fn a_refund_before_the_payment_is_asked_about() {
    let of = |day: &str| {
        let rows = format!(
            "Northmoor,goods,180.00,GBP,2026-03-10,,\nNorthmoor,refund,60.00,GBP,{day},Stem,\n"
        );
        let found = landed(&two("in-hand", "", ""), &rows);
        assert_eq!(found.totals.spent, home("216.00"), "276.00 - 60.00");
        found
            .cautions
            .into_iter()
            .find(|caution| caution.id == "refund-before-payment")
            .map(|caution| caution.text)
    };
    assert!(of("2026-03-10").is_none());
    let text = of("2026-03-09").expect("it is said");
    assert!(
        text.contains("receipts.csv:3")
            && text.contains("of 2026-03-09")
            && text.contains("of 2026-03-10"),
        "{text}"
    );
}

/// Both parts travel in parcels with labels, so that nothing travels in the seller's own: the refund would be lost without a word.
#[test]
fn a_refund_for_no_parcel_of_a_seller_with_several_is_said() {
    let parts = "part,place,role,standing,seller,parcel,price,mass_g\nBar,handlebar,build,in-hand,Northmoor,one,120.00,260\n\
        Stem,stem,build,in-hand,Northmoor,two,60.00,120\n";
    let (plain, found) = (
        landed(parts, ""),
        landed(parts, "Northmoor,refund,60.00,GBP,2026-03-20,,\n"),
    );
    assert_eq!(plain.totals.spent, found.totals.spent);
    let caution = found
        .cautions
        .iter()
        .find(|caution| caution.id == "receipt-without-parcel")
        .expect("it is said");
    assert!(
        caution.text.contains("`Northmoor/one` and `Northmoor/two`"),
        "{}",
        caution.text
    );
    // Named, it is of that one.
    let named = landed(parts, "Northmoor/two,refund,60.00,GBP,2026-03-20,,\n");
    assert_eq!(
        plain.totals.spent.minus(named.totals.spent).unwrap(),
        home("60.00")
    );
    assert!(!said(&named, "receipt-without-parcel"));
}

/// A bar bought for 40.00 over the counter, under a label of its own, of which 15.00 came back: 25.00 is left of it. What is
/// calculated and what is only told as paid have the same name.
#[test]
fn what_is_bought_at_home_keeps_its_label_when_money_comes_back() {
    for (standing, paid) in [("in-hand", "40.00"), ("to-order", "")] {
        let parts = format!(
            "part,place,standing,parcel,price,currency,paid\nBar,handlebar,{standing},counter,40.00,GBP,{paid}\n"
        );
        let to_order = paid.is_empty();
        let receipt = if to_order {
            "goods,25.00"
        } else {
            "refund,15.00"
        };
        let found = landed(
            &parts,
            &format!("at home/counter,{receipt},GBP,2026-03-05,,\n"),
        );
        assert!(!said(&found, "receipt-without-parcel"), "{standing}");
        assert_eq!(sums(&found)[3], "25.00", "{standing}");
    }
}

/// A rate that is missing for money back is said at the day that the receipt tells, whether its part is calculated or held.
#[test]
fn a_rate_that_is_missing_for_money_back_is_said_at_its_day() {
    let (tables, ask) = (tables(), ask(&[]));
    for paid in ["", "40.00"] {
        let parts = format!(
            "part,place,standing,seller,price,paid\nBar,handlebar,in-hand,Northmoor,40.00,{paid}\n"
        );
        let rows = "Northmoor,refund,15.00,EUR,2001-03-05,Bar,\n";
        let problems = cost(&with(&parts, rows), &tables, &ask).unwrap_err();
        let problem = problems.iter().next().unwrap();
        assert!(problem.message.contains("no market rate"), "{problem:?}");
        let place = problem.place.as_ref().unwrap();
        assert_eq!(place.to_string(), "receipts.csv:2", "paid: {paid}");
        assert_eq!(place.column.as_deref(), Some("date"), "paid: {paid}");
    }
}
