//! Receipts questioned before they are used, money back, balances of deposits, and the names by which charges may be typed.
//!
//! Most parcels are paid in pounds and carried free, so that every figure can be worked by hand from the price.

use std::process::Command;

use landwaiter::book::{Book, ChargeWord};
use landwaiter::cost;
use landwaiter::landed::{Bill, Jurisdiction, Landed};
use landwaiter::leeway::leeway;
use landwaiter::settle::{Cause, Entry, Ledger, settle};
use landwaiter::units::{Dec, HomeMoney};

use super::kit::{ask, built_in as tables};
use super::small::dec;
use crate::made;
use crate::small::home;

const SETTINGS: &str =
    "setting,value\ndestination,GB\ndate,2026-09-23\nkind,gravel\ncard_fee,2.75 %\n";
/// Two parts for 180.00 in one parcel from Taiwan, paid in pounds: above 135.00, so tax is taken at the door.
pub(crate) const TWO: &str = "\
part,place,standing,seller,price,currency,dispatch,freight,mass_g,channel,transit_days
Bar,handlebar,in-hand,Alder Cycle,120.00,GBP,TW,0,260,post,10
Stem,stem,in-hand,Alder Cycle,60.00,GBP,TW,0,120,post,10
";
/// A frame from China: duty and anti-dumping are both due.
pub(crate) const FRAME: &str = "\
part,place,standing,seller,price,currency,dispatch,freight,mass_g,channel,transit_days
Frame,frame,in-hand,Birk Frames,600.00,GBP,CN,0,1100,courier,10
";
pub(crate) const HEAD: &str = "consignment,charge,amount,currency,date,part,note\n";

pub(crate) fn read(parts: &str, tables: &[(&'static str, &str)]) -> (Book, Vec<String>) {
    let files = [&[("parts", parts), ("settings", SETTINGS)], tables].concat();
    let (book, problems) = made::read(&files);
    (book, made::said(&problems))
}

pub(crate) fn with(parts: &str, receipts: &str) -> Book {
    read(parts, &[("receipts", &format!("{HEAD}{receipts}"))]).0
}

pub(crate) fn landed(book: &Book) -> Landed {
    let (tables, ask) = (tables(), ask(book));
    cost(book, tables, &ask).unwrap()
}

pub(crate) fn bill(parts: &str, receipts: &str) -> Bill {
    landed(&with(parts, receipts)).bills.remove(0)
}

pub(crate) fn settled(parts: &str, receipts: &str) -> Ledger {
    let (book, tables) = (with(parts, receipts), tables());
    let ask = ask(&book);
    settle(&book, &Jurisdiction::open(tables, &ask).unwrap()).unwrap()
}

pub(crate) fn entry(ledger: &Ledger, charge: ChargeWord) -> Option<Entry> {
    ledger
        .parcels
        .iter()
        .flat_map(|p| &p.entries)
        .find(|e| e.charge == charge)
        .cloned()
}

pub(crate) fn said(bill: &Bill, id: &str) -> bool {
    bill.cautions.iter().any(|caution| caution.id == id)
}

pub(crate) fn sum(all: &[Dec]) -> Dec {
    Dec::total(all.iter().copied()).unwrap()
}

#[test]
fn a_total_that_makes_goods_negative_is_asked_about_and_left_out() {
    // 25.00 is freight: a total of 7.76 would leave 7.76 - 25.00 = -17.24 for the goods.
    let parts = TWO.replace(",TW,0,", ",TW,25.00,");
    let plain = bill(&parts, "");
    let asked = bill(&parts, "Alder Cycle,to_pay_seller,7.76,GBP,2026-09-25,,\n");
    assert_eq!(asked.amounts, plain.amounts);
    assert!(
        asked
            .lines
            .iter()
            .all(|line| line.amounts.goods.is_positive())
    );
    let [question] = asked.questions.as_slice() else {
        panic!("one question: {:?}", asked.questions)
    };
    assert_eq!(
        question.place.as_ref().unwrap().to_string(),
        "receipts.csv:2"
    );
    assert!(
        question.message.contains("-17.24 GBP"),
        "{}",
        question.message
    );
    assert!(said(&asked, "receipt-questioned"));
    let ledger = settled(
        &parts,
        "Alder Cycle,to_pay_seller,7.76,GBP,2026-09-25,,\nAlder Cycle,handling,12.00,GBP,2026-10-03,,\n",
    );
    assert!(
        entry(&ledger, ChargeWord::ToPaySeller).is_none(),
        "it is not settled either"
    );
    assert!(
        entry(&ledger, ChargeWord::Handling).is_some(),
        "what is right beside it is"
    );
    assert!(
        ledger
            .cautions
            .iter()
            .any(|caution| caution.id == "receipt-questioned")
    );
    let right = bill(
        &parts,
        "Alder Cycle,to_pay_seller,207.76,GBP,2026-09-25,,\n",
    );
    assert_eq!(right.amounts.goods, home("182.76"), "207.76 - 25.00");
}

#[test]
fn a_discount_above_the_price_is_asked_about() {
    let asked = bill(TWO, "Alder Cycle,discount,181.00,GBP,2026-09-25,,\n");
    assert_eq!(
        (asked.amounts.discount, asked.questions.len()),
        (HomeMoney::ZERO, 1)
    );
    let right = bill(TWO, "Alder Cycle,discount,18.00,GBP,2026-09-25,,\n");
    assert_eq!(
        (right.amounts.discount, right.questions.len()),
        (home("18.00"), 0)
    );
}

#[test]
fn check_counts_a_questioned_receipt_among_its_warnings() {
    let dir = tempfile::tempdir().unwrap();
    let parts = TWO.replace(",TW,0,", ",TW,25.00,");
    let receipts = format!("{HEAD}Alder Cycle,to_pay_seller,7.76,GBP,2026-09-25,,\n");
    for (name, text) in [
        ("parts.csv", parts.as_str()),
        ("settings.csv", SETTINGS),
        ("receipts.csv", &receipts),
    ] {
        std::fs::write(dir.path().join(name), text).unwrap();
    }
    let run = Command::new(env!("CARGO_BIN_EXE_landwaiter"))
        .arg("check")
        .arg(dir.path())
        .output()
        .unwrap();
    let (out, err) = (
        String::from_utf8(run.stdout).unwrap(),
        String::from_utf8(run.stderr).unwrap(),
    );
    assert!(
        run.status.success() && out.contains("1 warning"),
        "{out}{err}"
    );
    assert!(
        err.contains("receipts.csv:2:27") && err.contains("is the amount right?"),
        "{err}"
    );
}

#[test]
fn duty_and_anti_dumping_in_one_sum_are_compared_with_their_sum() {
    let due = bill(FRAME, "").amounts;
    assert!(
        due.duty.is_positive() && due.remedy.is_positive(),
        "{due:?}"
    );
    let both = sum(&[due.duty.amount(), due.remedy.amount()]);
    let asked = sum(&[both, dec("5.00")]);
    let row = format!("Birk Frames,duty,{asked},GBP,2026-10-03,,\n");
    let ledger = settled(FRAME, &row);
    let duty = entry(&ledger, ChargeWord::Duty).unwrap();
    assert_eq!(
        (duty.estimated, duty.difference().unwrap()),
        (both, dec("5.00"))
    );
    assert!(
        duty.claim.is_none()
            && duty
                .causes
                .iter()
                .all(|(cause, _)| *cause != Cause::Overcharged),
        "{duty:?}"
    );
    assert!(entry(&ledger, ChargeWord::Remedy).is_none());
    assert!(
        ledger
            .cautions
            .iter()
            .any(|caution| caution.id == "duties-in-one-sum")
    );
    let charged = bill(FRAME, &row).amounts;
    assert_eq!(charged.duty.plus(charged.remedy).unwrap().amount(), asked);
    // With a receipt of its own for each there is no one sum, and with the duty alone to the penny neither.
    let apart = bill(
        FRAME,
        &format!("{row}Birk Frames,remedy,0,GBP,2026-10-03,,\n"),
    );
    assert_eq!(
        (apart.amounts.duty, apart.amounts.remedy),
        (HomeMoney::of(asked), HomeMoney::ZERO)
    );
    let alone = bill(
        FRAME,
        &format!("Birk Frames,duty,{},GBP,2026-10-03,,\n", due.duty),
    );
    assert_eq!(
        (alone.amounts.duty, alone.amounts.remedy),
        (due.duty, due.remedy)
    );
}

#[test]
fn a_row_typed_twice_is_asked_about_and_nothing_is_claimed() {
    let due = bill(TWO, "").amounts.tax_at_border;
    let row = |note: &str| format!("Alder Cycle,VAT at the door,{due},GBP,2026-10-03,,{note}\n");
    let twice = row("") + &row("");
    let (_, problems) = read(TWO, &[("receipts", &format!("{HEAD}{twice}"))]);
    assert!(
        problems.len() == 1
            && problems[0].starts_with("receipts.csv:3")
            && problems[0].contains("typed twice"),
        "{problems:?}"
    );
    let tax = entry(&settled(TWO, &twice), ChargeWord::TaxAtBorder).unwrap();
    assert_eq!(
        (tax.causes.as_slice(), tax.claim),
        ([(Cause::TypedTwice, due.amount())].as_slice(), None)
    );
    // Told apart by a note, it was charged twice, and that can be asked back.
    let told = row("") + &row("asked again by the postman");
    let (_, problems) = read(TWO, &[("receipts", &format!("{HEAD}{told}"))]);
    assert!(problems.is_empty(), "{problems:?}");
    let tax = entry(&settled(TWO, &told), ChargeWord::TaxAtBorder).unwrap();
    assert_eq!(
        (tax.causes.as_slice(), tax.claim.unwrap().amount),
        ([(Cause::Twice, due.amount())].as_slice(), due.amount())
    );
}

#[test]
fn a_sellers_total_says_whether_it_holds_the_card_fee() {
    let parts = TWO
        .replace("120.00,GBP,TW", "420.00,USD,TW")
        .replace("60.00,GBP,TW", "60.00,USD,TW");
    let plain = bill(&parts, "").amounts;
    assert!(plain.card_fee.is_positive());
    // In the seller's money the card's fee comes on top: a hundredth more asked moves what is paid and not the fee.
    let foreign = bill(
        &parts,
        "Alder Cycle,to_pay_seller,484.80,USD,2026-09-23,,\n",
    );
    assert!(said(&foreign, "card-fee-beside") && !said(&foreign, "card-fee-within"));
    assert_eq!(foreign.amounts.card_fee, plain.card_fee);
    let step = foreign
        .trail
        .iter()
        .find(|step| step.kind == "receipt")
        .unwrap();
    assert_eq!(
        foreign.amounts.to_seller().unwrap().amount(),
        sum(&[step.amount.unwrap(), plain.card_fee.amount()])
    );
    // Off the card's statement the total is all that was paid.
    let at_home = bill(
        &parts,
        "Alder Cycle,to_pay_seller,360.00,GBP,2026-09-23,,\n",
    );
    assert!(said(&at_home, "card-fee-within") && !said(&at_home, "card-fee-beside"));
    assert_eq!(at_home.amounts.to_seller().unwrap(), home("360.00"));
    // In settling, the fee beside the total has no receipt yet.
    let ledger = settled(
        &parts,
        "Alder Cycle,to_pay_seller,480.00,USD,2026-09-23,,\n",
    );
    let total = entry(&ledger, ChargeWord::ToPaySeller).unwrap();
    assert!(
        total.difference().unwrap().abs() <= dec("0.01"),
        "the fee is on neither side: {total:?}"
    );
    assert_eq!(entry(&ledger, ChargeWord::CardFee).unwrap().actual, None);
}

#[test]
fn the_trail_shows_the_receipt_behind_an_amount() {
    let bill = bill(
        TWO,
        "Alder Cycle,carrier's fee,12.00,GBP,2026-10-03,,\nAlder Cycle,refund,6.00,GBP,2026-10-09,Stem,\n",
    );
    let steps: Vec<_> = bill
        .trail
        .iter()
        .filter(|step| step.kind == "receipt")
        .collect();
    let shown = |at: usize| {
        (
            steps[at].id.clone(),
            steps[at].row.as_ref().unwrap().to_string(),
            steps[at].amount.unwrap(),
        )
    };
    assert_eq!(
        shown(0),
        (
            "handling".to_owned(),
            "receipts.csv:2".to_owned(),
            dec("12.00")
        )
    );
    assert_eq!(
        shown(1),
        (
            "refund".to_owned(),
            "receipts.csv:3".to_owned(),
            dec("-6.00")
        )
    );
    assert!(steps[0].text.contains("2026-10-03"), "{}", steps[0].text);
}

#[test]
fn one_sum_is_unexplained_or_overcharged_and_never_both() {
    let due = bill(TWO, "").amounts.tax_at_border;
    let ledger = settled(
        TWO,
        &format!(
            "Alder Cycle,VAT,{},GBP,2026-10-03,,\n",
            sum(&[due.amount(), dec("40.00")])
        ),
    );
    let tax = entry(&ledger, ChargeWord::TaxAtBorder).unwrap();
    assert_eq!(
        (tax.causes.as_slice(), tax.unexplained),
        ([(Cause::Overcharged, dec("40.00"))].as_slice(), Dec::ZERO)
    );
    assert_eq!(tax.claim.unwrap().amount, dec("40.00"));
    // What no row of the tables gives back stays unexplained.
    let ledger = settled(
        TWO,
        "Alder Cycle,goods,250.00,GBP,2026-09-23,,\nAlder Cycle,duty,0,GBP,2026-09-23,,\n",
    );
    for entry in ledger.parcels.iter().flat_map(|p| &p.entries) {
        assert!(
            entry.claim.is_none() || entry.unexplained.is_zero(),
            "{entry:?}"
        );
    }
}

#[test]
fn cash_back_changes_what_is_spent_by_itself_and_no_more() {
    // 183.77 was paid where 180.00 is calculated; 3.00 back leaves 180.77.
    let parts = TWO
        .replace("in-hand,", "on-order,")
        .replace("standing,", "paid,standing,");
    let parts = parts
        .replace("handlebar,", "handlebar,122.77,")
        .replace("stem,on", "stem,61.00,on");
    let (plain, back) = (
        landed(&with(&parts, "")).totals,
        landed(&with(
            &parts,
            "Alder Cycle,cash-back,3.00,GBP,2026-10-09,,\n",
        ))
        .totals,
    );
    assert_eq!((plain.spent, back.spent), (home("183.77"), home("180.77")));
    assert_eq!(
        plain
            .landed()
            .unwrap()
            .minus(back.landed().unwrap())
            .unwrap(),
        home("3.00")
    );
    assert_eq!(plain.to_pay, back.to_pay);
}

#[test]
fn a_gift_card_does_not_lower_what_the_next_person_pays() {
    let card = "code,seller,scope,amount,pays\nGift card,Alder Cycle,basket,150.00,credit\n";
    let (plain, paid) = (
        landed(&read(TWO, &[]).0).totals,
        landed(&read(TWO, &[("discounts", card)]).0).totals,
    );
    assert_eq!(
        plain
            .landed()
            .unwrap()
            .minus(paid.landed().unwrap())
            .unwrap(),
        home("150.00"),
        "it pays 150.00 of this build"
    );
    assert_eq!(plain.replacement, paid.replacement);
    let code = card.replace("credit", "price");
    assert!(
        landed(&read(TWO, &[("discounts", &code)]).0)
            .totals
            .replacement
            < plain.replacement,
        "a code is the next person's too"
    );
}

#[test]
fn money_back_for_a_part_is_that_parts() {
    let plain = bill(TWO, "");
    let net = |bill: &Bill, part: &str| {
        let line = bill.lines.iter().find(|line| line.part == part).unwrap();
        line.amounts.goods.minus(line.amounts.discount).unwrap()
    };
    let stem = bill(TWO, "Alder Cycle,refund,60.00,GBP,2026-10-09,Stem,\n");
    assert_eq!(
        (net(&stem, "Bar"), net(&stem, "Stem")),
        (home("120.00"), HomeMoney::ZERO)
    );
    assert_eq!(
        plain
            .amounts
            .landed()
            .unwrap()
            .minus(stem.amounts.landed().unwrap())
            .unwrap(),
        home("60.00")
    );
    // Without a part 18.00 are shared by price, 120.00 to 60.00, and it is said.
    let shared = bill(TWO, "Alder Cycle,refund,18.00,GBP,2026-10-09,,\n");
    assert_eq!(
        (net(&shared, "Bar"), net(&shared, "Stem")),
        (home("108.00"), home("54.00"))
    );
    assert!(said(&shared, "refund-shared") && !said(&stem, "refund-shared"));
    // 95.00 never was the price of a stem of 60.00: asked about, and no part goes below zero.
    let beyond = bill(TWO, "Alder Cycle,refund,95.00,GBP,2026-10-09,Stem,\n");
    assert_eq!((beyond.amounts, beyond.questions.len()), (plain.amounts, 1));
    let (_, problems) = read(
        TWO,
        &[(
            "receipts",
            &format!("{HEAD}Alder Cycle,refund,6.00,GBP,2026-10-09,Stme,\n"),
        )],
    );
    made::one_says(&problems, "receipts.csv:2", "part of this parcel");
}

#[test]
fn charges_that_came_back_close_their_claim() {
    let due = bill(TWO, "").amounts.tax_at_border;
    let twice =
        format!("Alder Cycle,VAT,{due},GBP,2026-10-03,,\nAlder Cycle,VAT,{due},GBP,2026-10-04,,\n");
    assert_eq!(
        entry(&settled(TWO, &twice), ChargeWord::TaxAtBorder)
            .unwrap()
            .claim
            .unwrap()
            .amount,
        due.amount()
    );
    for refund in ["refund of VAT", "refund"] {
        let rows = format!("{twice}Alder Cycle,{refund},{due},GBP,2026-11-03,,\n");
        let ledger = settled(TWO, &rows);
        assert_eq!(
            entry(&ledger, ChargeWord::TaxAtBorder).unwrap().claim,
            None,
            "{refund}"
        );
        assert_eq!(
            entry(&ledger, ChargeWord::Refund).unwrap().causes,
            [(Cause::Refund, due.negated().amount())]
        );
        let bill = bill(TWO, &rows);
        assert_eq!(
            (bill.amounts.tax_at_border, bill.amounts.discount),
            (due, HomeMoney::ZERO),
            "{refund} is no discount"
        );
        assert_eq!(said(&bill, "refund-of-charge"), refund == "refund");
    }
    // A part of it back leaves the rest to claim.
    let ledger = settled(
        TWO,
        &format!("{twice}Alder Cycle,refund of VAT,10.00,GBP,2026-11-03,,\n"),
    );
    let left = entry(&ledger, ChargeWord::TaxAtBorder)
        .unwrap()
        .claim
        .unwrap()
        .amount;
    assert_eq!(left, due.minus(home("10.00")).unwrap().amount());
}

#[test]
fn the_balance_of_a_deposit_is_still_to_pay() {
    let parts = |paid: &str| {
        format!(
            "part,place,standing,seller,price,currency,dispatch,freight,paid\nFrame,frame,on-order,Home Shop,905.00,GBP,GB,0,{paid}\n"
        )
    };
    let deposit = landed(&read(&parts("300.00"), &[]).0);
    let t = &deposit.totals;
    assert_eq!(
        (t.spent, t.to_pay_seller, t.to_pay),
        (home("300.00"), home("605.00"), home("605.00")),
        "905.00 - 300.00"
    );
    assert!(
        deposit
            .cautions
            .iter()
            .any(|c| c.id == "balance-to-pay" && c.to_string().starts_with("605: ")),
        "{:?}",
        deposit.cautions
    );
    // 850.00 is above nine tenths of 905.00, 814.50: a discount that was left untold, said as before.
    let discounted = landed(&read(&parts("850.00"), &[]).0);
    assert_eq!(
        (discounted.totals.spent, discounted.totals.to_pay),
        (home("850.00"), HomeMoney::ZERO)
    );
    assert!(discounted.cautions.iter().any(|c| c.id == "paid-otherwise"));
    // A receipt for the goods says that nothing more is asked.
    let all = with(
        &parts("300.00"),
        "Home Shop,goods,300.00,GBP,2026-09-23,,\n",
    );
    let t = landed(&all).totals;
    assert_eq!(
        (t.spent, t.to_pay, t.landed().unwrap()),
        (home("300.00"), HomeMoney::ZERO, home("300.00"))
    );
}

#[test]
fn what_is_disputed_has_a_range_of_its_own_or_a_chance() {
    let order = FRAME.replace("in-hand", "to-order");
    let run = |unknowns: &str| {
        let (book, problems) = read(&order, &[("unknowns", unknowns)]);
        assert!(problems.is_empty(), "{problems:?}");
        let (tables, mut ask) = (tables(), ask(&book));
        let totals = cost(&book, tables, &ask).unwrap().totals;
        // A penny less than the sum with what is disputed.
        ask.budget = Some(
            totals
                .landed()
                .unwrap()
                .minus(home("0.01"))
                .unwrap()
                .amount(),
        );
        (
            leeway(
                &book,
                &Jurisdiction::open(tables, &ask).unwrap(),
                3,
                dec("90"),
            )
            .unwrap(),
            totals,
        )
    };
    // Nothing else is unknown, so each range is one sum.
    let (found, totals) = run("what,low,likely,high,chance\n");
    let without = totals.landed_undisputed.amount();
    assert!(without < found.cost, "the law of this frame is disputed");
    let other = found.undisputed.as_ref().unwrap();
    assert!(
        found
            .quantiles
            .iter()
            .all(|(_, amount)| *amount == found.cost)
    );
    assert!(
        other.quantiles.len() == 5 && other.quantiles.iter().all(|(_, amount)| *amount == without),
        "{other:?}"
    );
    assert_eq!(
        (other.cost, other.assured.1, found.disputed_chance),
        (without, without, None)
    );
    assert_eq!(
        (found.within_budget, other.within_budget),
        (Some(Dec::ZERO), Some(Dec::new(100, 0)))
    );
    // With 40 out of a hundred it is charged: 60 of 100 outcomes lie at the sum without it, so 5, 25 and 50 do, 75 and 95 do not.
    let (joined, _) = run(
        "what,low,likely,high,chance\nprice,0,0,0,\nfreight,0,0,0,\nhandling,0,0,0,\ndisputed,,,,40 %\n",
    );
    let amounts: Vec<Dec> = joined.quantiles.iter().map(|(_, amount)| *amount).collect();
    assert_eq!(
        amounts,
        [without, without, without, joined.cost, joined.cost]
    );
    assert_eq!(
        (
            joined.disputed_chance,
            joined.assured.1,
            joined.within_budget
        ),
        (Some(dec("40")), joined.cost, Some(dec("60")))
    );
}

/// One thing has one chance: a second is asked about, and the range goes by the first.
#[test]
fn two_chances_for_what_is_disputed_are_asked_about() {
    let run = crate::harness::landwaiter("check . --to GB --on 2026-09-23")
        .file(
            "parts.csv",
            "part,place,seller,price,currency,dispatch,freight,mass_g,origin\nBar,handlebar,Ridgeway,300.00,USD,CN,0,250,CN\n",
        )
        .file("unknowns.csv", "what,low,likely,high,chance\ndisputed,,,,30 %\nremedy:Ridgeway,,,,50 %\n");
    let ran = run.go();
    let said = ran.err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains(
            "is this a second chance for one thing? `disputed` has one at unknowns.csv:2"
        ),
        "{}",
        ran.err
    );
}
