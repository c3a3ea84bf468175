//! Receipts for totals beside those for their items, receipts of deposits, money back that never was paid, figures out of all
//! proportion, and days that are yet to come.

use landwaiter::book::ChargeWord;
use landwaiter::returns::returned;
use landwaiter::settle::{Cause, Ledger};
use landwaiter::tables::Reason;
use landwaiter::units::{Date, Dec, HomeMoney};

use super::harness::landwaiter;
use super::kit;
use super::receipts::{FRAME, HEAD, TWO, bill, entry, landed, read, said, settled, sum, with};
use super::small::dec;
use crate::made;
use crate::small::home;

const SETTINGS: &str = "setting,value\ndestination,GB\ndate,2026-09-23\nkind,gravel\n";

/// A frame for 700.00 and 20.00 of freight; at the door 14.11 + 214.08 + 28.79 + 321.63 = 578.61.
fn imported() -> String {
    FRAME.replace("600.00,GBP,CN,0", "700.00,GBP,CN,20.00")
}
const ITEMS: &str = "\
Birk Frames,handling,14.11,GBP,2026-10-03,,
Birk Frames,VAT,214.08,GBP,2026-10-03,,
Birk Frames,duty,28.79,GBP,2026-10-03,,
Birk Frames,anti-dumping,321.63,GBP,2026-10-03,,
";

fn has(ledger: &Ledger, id: &str) -> bool {
    ledger.cautions.iter().any(|caution| caution.id == id)
}

fn no_overcharge(ledger: &Ledger) {
    for entry in ledger.parcels.iter().flat_map(|p| &p.entries) {
        assert!(
            entry.claim.is_none()
                && entry
                    .causes
                    .iter()
                    .all(|(cause, _)| *cause != Cause::Overcharged),
            "{entry:?}"
        );
    }
}

/// 700.00 + 20.00 + 578.61 = 1,298.61, and not 578.61 more.
#[test]
fn a_total_at_the_door_beside_its_items_counts_once() {
    for total in ["578.61", "578.60"] {
        let rows = format!("{ITEMS}Birk Frames,to_pay_carrier,{total},GBP,2026-10-03,,\n");
        let bill = bill(&imported(), &rows);
        assert_eq!(bill.amounts.landed().unwrap(), home("1298.61"), "{total}");
        assert!(
            said(&bill, "total-of-items") && bill.questions.is_empty(),
            "{:?}",
            bill.questions
        );
        let ledger = settled(&imported(), &rows);
        assert!(
            entry(&ledger, ChargeWord::ToPayCarrier).is_none(),
            "the items are settled one by one"
        );
        assert_eq!(
            entry(&ledger, ChargeWord::Duty).unwrap().actual,
            Some(dec("28.79"))
        );
        no_overcharge(&ledger);
    }
}

/// 12.00 and 40.00 are all that was asked at the door, so no duty was: 700.00 + 20.00 + 52.00.
#[test]
fn what_a_total_of_items_leaves_out_was_not_charged() {
    let rows = "Birk Frames,handling,12.00,GBP,2026-10-03,,\nBirk Frames,VAT,40.00,GBP,2026-10-03,,\nBirk Frames,to_pay_carrier,52.00,GBP,2026-10-03,,\n";
    let bill = bill(&imported(), rows);
    assert_eq!(
        (
            bill.amounts.duty,
            bill.amounts.remedy,
            bill.amounts.landed().unwrap()
        ),
        (HomeMoney::ZERO, HomeMoney::ZERO, home("772.00"))
    );
    let duty = entry(&settled(&imported(), rows), ChargeWord::Duty).unwrap();
    assert_eq!(
        (duty.actual, duty.causes.as_slice()),
        (
            Some(Dec::ZERO),
            [(Cause::NotAsked, duty.estimated.negated())].as_slice()
        )
    );
}

/// 458.00 + 34.00 = 492.00; with a card fee of 5.00 beside, 497.00.
#[test]
fn a_sellers_total_beside_its_items_counts_once() {
    let goods =
        "Alder Cycle,goods,458.00,GBP,2026-09-25,,\nAlder Cycle,freight,34.00,GBP,2026-09-25,,\n";
    let parts = TWO
        .replace("120.00", "400.00")
        .replace(",TW,0,", ",TW,34.00,");
    let total = format!("{goods}Alder Cycle,to_pay_seller,492.00,GBP,2026-09-25,,\n");
    let found = bill(&parts, &total);
    assert_eq!(
        (found.amounts.goods, found.amounts.freight),
        (home("458.00"), home("34.00"))
    );
    assert_eq!(found.amounts.to_seller().unwrap(), home("492.00"));
    let with_fee = format!("{total}Alder Cycle,card_fee,5.00,GBP,2026-09-25,,\n");
    assert_eq!(
        bill(&parts, &with_fee).amounts.to_seller().unwrap(),
        home("497.00")
    );
    let within = with_fee.replace("492.00", "497.00");
    assert_eq!(
        bill(&parts, &within).amounts.to_seller().unwrap(),
        home("497.00"),
        "a total that holds the fee"
    );
    no_overcharge(&settled(&parts, &total));
}

/// 720.00 with freight of 800.00 would leave -80.00 for the goods; 578.61 is not 14.11 and 214.08.
#[test]
fn a_total_that_does_not_agree_with_its_items_is_asked_about() {
    let seller = "Birk Frames,to_pay_seller,720.00,GBP,2026-09-25,,\nBirk Frames,freight,180.00,GBP,2026-09-25,,\n";
    let dear = seller
        .replace("180.00", "800.00,GBP,2026-09-25,,checked\n#")
        .replace("\n#,GBP,2026-09-25,,", "");
    let some = "Birk Frames,handling,14.11,GBP,2026-10-03,,\nBirk Frames,VAT,214.08,GBP,2026-10-03,,\nBirk Frames,to_pay_carrier,578.61,GBP,2026-10-03,,\n";
    for (rows, total, without) in [
        (
            seller.to_owned(),
            ChargeWord::ToPaySeller,
            "Birk Frames,freight,180.00,GBP,2026-09-25,,\n".to_owned(),
        ),
        (
            dear.clone(),
            ChargeWord::ToPaySeller,
            "Birk Frames,freight,800.00,GBP,2026-09-25,,checked\n".to_owned(),
        ),
        (
            some.to_owned(),
            ChargeWord::ToPayCarrier,
            some.lines().take(2).map(|row| format!("{row}\n")).collect(),
        ),
    ] {
        let (asked, plain) = (bill(&imported(), &rows), bill(&imported(), &without));
        assert_eq!(asked.amounts, plain.amounts, "{rows}");
        let [question] = asked.questions.as_slice() else {
            panic!("one question: {:?}", asked.questions)
        };
        assert!(
            question.message.contains("does this total hold"),
            "{}",
            question.message
        );
        let ledger = settled(&imported(), &rows);
        assert!(entry(&ledger, total).is_none() && has(&ledger, "receipt-questioned"));
    }
}

/// 398.00 is the price and 50.00 are paid: 348.00 are still to pay, with the deposit's own receipt as without it.
#[test]
fn the_receipt_of_a_deposit_leaves_the_balance() {
    let parts = "part,place,standing,seller,price,currency,dispatch,freight,paid\nFrame,frame,on-order,Home Shop,398.00,GBP,GB,0,50.00\n";
    for typed in ["50.00,GBP", "50.00,USD"] {
        let rows = format!("Home Shop,to_pay_seller,{typed},2026-09-23,,\n");
        let found = landed(&with(parts, &rows));
        let t = &found.totals;
        assert_eq!(
            (t.landed().unwrap(), t.spent, t.to_pay),
            (home("398.00"), home("50.00"), home("348.00")),
            "{typed}"
        );
        assert!(
            found.cautions.iter().any(|c| c.id == "deposit-receipt")
                && found.cautions.iter().any(|c| c.id == "balance-to-pay")
        );
    }
    let ledger = settled(parts, "Home Shop,to_pay_seller,50.00,GBP,2026-09-23,,\n");
    assert!(
        ledger.parcels.is_empty() && ledger.waiting.is_empty() && has(&ledger, "deposit-receipt")
    );
    assert_eq!(ledger.left_out, ["Home Shop"]);
    // In the seller's money, with everything at the door still to come.
    let abroad = TWO
        .replace("in-hand,", "on-order,")
        .replace("standing,", "paid,standing,")
        .replace("120.00,GBP", "398.00,USD");
    let abroad = abroad
        .replace("handlebar,", "handlebar,50,")
        .replace("stem,on", "stem,0,on")
        .replace("60.00,GBP", "60.00,USD");
    let (plain, told) = (
        landed(&with(&abroad, "")).totals,
        landed(&with(
            &abroad,
            "Alder Cycle,to_pay_seller,50,GBP,2026-09-23,,\n",
        ))
        .totals,
    );
    assert_eq!(
        (plain.landed().unwrap(), plain.to_pay),
        (told.landed().unwrap(), told.to_pay)
    );
}

#[test]
fn money_back_for_what_was_never_paid_is_asked_about() {
    let order = TWO.replace("in-hand,", "to-order,");
    let plain = landed(&with(&order, "")).totals;
    let rows = "Alder Cycle,refund,60.00,GBP,2026-10-09,Stem,\n";
    let book = with(&order, rows);
    let found = landed(&book);
    assert_eq!(
        (found.totals.spent, found.totals.to_pay),
        (HomeMoney::ZERO, plain.to_pay)
    );
    assert_eq!(
        (
            found.bills[0].questions.len(),
            found.bills[0].amounts.discount
        ),
        (1, HomeMoney::ZERO)
    );
    // A receipt of the payment makes it money that can come back.
    let paid = landed(&with(
        &order,
        &format!("Alder Cycle,goods,180.00,GBP,2026-09-25,,\n{rows}"),
    ));
    assert_eq!(
        (paid.totals.spent, paid.bills[0].questions.len()),
        (home("120.00"), 0)
    );
    // VAT of a parcel on its way comes back only where it was paid.
    let way = TWO.replace("in-hand,", "on-order,");
    let tax = bill(&way, "Alder Cycle,refund of VAT,10.00,GBP,2026-10-09,,\n");
    assert_eq!(
        (tax.questions.len(), tax.amounts.tax_at_border),
        (1, bill(&way, "").amounts.tax_at_border)
    );
}

#[test]
fn a_part_refunded_in_full_is_named() {
    let whole = "Alder Cycle,refund,60.00,GBP,2026-10-09,Stem,lost in the post\n";
    let found = landed(&with(TWO, whole));
    let caution = found
        .cautions
        .iter()
        .find(|c| c.id == "refunded-in-full")
        .expect("it is said");
    assert_eq!(caution.about, ["Stem"]);
    assert!(
        caution.action.contains("take its row out"),
        "{}",
        caution.text
    );
    assert!(!said(
        &bill(TWO, &whole.replace("60.00", "59.00")),
        "refunded-in-full"
    ));
    let checked = landwaiter("check")
        .file("parts.csv", TWO)
        .file("settings.csv", SETTINGS)
        .file("receipts.csv", format!("{HEAD}{whole}"))
        .go()
        .ends(0);
    assert!(
        checked.out.contains("refunded in full") && checked.out.contains("Stem"),
        "{}",
        checked.out
    );
}

/// The price in the seller's money is what was typed, less what codes take off, whatever the exchange leaves.
#[test]
fn the_price_that_comes_back_is_the_price_that_was_typed() {
    for (price, code, back) in [
        ("100.00", "", "100.00"),
        ("99.99", "", "99.99"),
        ("33.37", "", "33.37"),
        ("200.00", "10", "180.00"),
    ] {
        let parts = format!(
            "part,place,standing,seller,price,currency,dispatch,freight,mass_g\nBar,handlebar,in-hand,Alder Cycle,{price},USD,TW,7.00,260\n"
        );
        let codes = if code.is_empty() {
            String::new()
        } else {
            format!("TEN,Alder Cycle,basket,{code}\n")
        };
        let (book, problems) = read(
            &parts,
            &[("discounts", &format!("code,seller,scope,percent\n{codes}"))],
        );
        assert!(problems.is_empty(), "{problems:?}");
        let (tables, ask) = (kit::built_in(), kit::ask(&book));
        let jurisdiction = landwaiter::landed::Jurisdiction::open(tables, &ask).unwrap();
        let day = Date::parse("2026-09-30").unwrap();
        let found = returned(&book, &jurisdiction, "Bar", Reason::Unwanted, day).unwrap();
        assert_eq!(
            (found.refund.0.amount, found.refund.0.currency.to_string()),
            (dec(back), "USD".to_owned())
        );
    }
}

/// 180.00 of goods typed as 18,000.00, and a fee of 12.00 as 1,200.00.
#[test]
fn a_receipt_out_of_all_proportion_is_asked_about() {
    let plain = bill(TWO, "");
    for row in [
        "goods,18000.00,GBP",
        "goods,1801.00,GBP",
        "to_pay_seller,18000,GBP",
        "VAT,3600.00,GBP",
        "handling,1200.00,GBP",
    ] {
        let asked = bill(TWO, &format!("Alder Cycle,{row},2026-10-03,,\n"));
        assert_eq!(
            (asked.amounts, asked.questions.len()),
            (plain.amounts, 1),
            "{row}"
        );
        assert!(
            asked.questions[0].message.contains("more than ten times"),
            "{}",
            asked.questions[0].message
        );
        let right = bill(TWO, &format!("Alder Cycle,{row},2026-10-03,,Checked\n"));
        assert!(
            right.questions.is_empty() && right.amounts != plain.amounts,
            "{row}: its note says that it is right"
        );
    }
    for row in [
        "goods,1800.00,GBP",
        "freight,25.00,GBP",
        "handling,30.00,GBP",
    ] {
        assert!(
            bill(TWO, &format!("Alder Cycle,{row},2026-10-03,,\n"))
                .questions
                .is_empty(),
            "{row}"
        );
    }
}

#[test]
fn a_receipt_of_a_day_yet_to_come_is_asked_about() {
    let book = |command: &str, day: &str| {
        let receipts = format!("{HEAD}Alder Cycle,handling,12.00,GBP,{day},,\n");
        landwaiter(command)
            .file("parts.csv", TWO)
            .file("settings.csv", SETTINGS)
            .file("receipts.csv", receipts)
            .go()
            .ends(0)
    };
    let said = |day: &str| {
        book("settle --day 2026-10-09", day)
            .out
            .contains("Is the day right?")
    };
    assert!(said("2026-10-10") && !said("2026-10-09"));
    let check = book("check", "2099-10-03");
    assert!(
        check.err.contains("receipts.csv:2") && check.err.contains("is the day right?"),
        "{}",
        check.err
    );
    assert!(
        !book("check", "2026-09-23")
            .err
            .contains("is the day right?")
    );
}

#[test]
fn receipts_that_are_left_out_are_not_called_missing() {
    let receipts = format!("{HEAD}Alder Cycle,goods,18000.00,GBP,2026-09-25,,\n");
    let run = landwaiter("settle --day 2026-10-09")
        .file("parts.csv", TWO)
        .file("settings.csv", SETTINGS)
        .file("receipts.csv", receipts);
    let out = run.go().ends(0).out;
    assert!(
        !out.contains("No receipts yet") && !out.contains("No receipt yet"),
        "{out}"
    );
    assert!(
        out.contains("Alder Cycle is left out") && out.contains("is the amount right?"),
        "{out}"
    );
}

/// A fee of 14.11 that stands twice is that first; what differs from the table beside it is the fee.
#[test]
fn a_fee_typed_twice_is_called_that() {
    let row = "Alder Cycle,handling,14.11,GBP,2026-10-03,,\n";
    let fee = entry(&settled(TWO, &format!("{row}{row}")), ChargeWord::Handling).unwrap();
    assert_eq!(fee.actual, Some(dec("28.22")));
    let rest = dec("14.11").minus(fee.estimated).unwrap();
    assert_eq!(fee.causes[0], (Cause::TypedTwice, dec("14.11")));
    assert_eq!(
        sum(&fee.causes[1..]
            .iter()
            .map(|(_, amount)| *amount)
            .collect::<Vec<_>>()),
        rest
    );
    assert!(fee.claim.is_none());
}

/// 40.00 more than is due, and the row twice: what the second row does not explain is left unexplained, and nothing is claimed of it
/// before it is known whether the row was typed twice.
#[test]
fn what_stands_beside_a_row_typed_twice_is_not_claimed_either() {
    let due = bill(TWO, "").amounts.tax_at_border;
    let asked = sum(&[due.amount(), dec("40.00")]);
    let row = format!("Alder Cycle,VAT at the door,{asked},GBP,2026-10-03,,\n");
    let once = entry(&settled(TWO, &row), ChargeWord::TaxAtBorder).unwrap();
    assert_eq!(once.claim.unwrap().amount, dec("40.00"));
    let twice = entry(
        &settled(TWO, &format!("{row}{row}")),
        ChargeWord::TaxAtBorder,
    )
    .unwrap();
    assert_eq!(
        (twice.causes.as_slice(), twice.unexplained),
        ([(Cause::TypedTwice, asked)].as_slice(), dec("40.00"))
    );
    assert!(twice.claim.is_none(), "{twice:?}");
}

#[test]
fn the_trail_shows_a_receipt_that_is_left_out_and_the_question() {
    let bill = bill(
        TWO,
        "Alder Cycle,discount,181.00,GBP,2026-09-25,,\nAlder Cycle,handling,12.00,GBP,2026-10-03,,\n",
    );
    let steps: Vec<_> = bill
        .trail
        .iter()
        .filter(|step| step.kind == "receipt")
        .collect();
    let [used, out] = steps.as_slice() else {
        panic!("a step for each receipt: {steps:?}")
    };
    assert!(
        used.amount == Some(dec("12.00")) && used.text.contains("in place of the estimate"),
        "{used:?}"
    );
    assert!(
        out.amount.is_none() && out.text.starts_with("left out: is the amount right?"),
        "{out:?}"
    );
}

/// 20.00 of goods in pounds, charged 17.90: nothing that the receipts show explains it.
#[test]
fn a_difference_without_any_cause_is_said_once() {
    let parts = TWO
        .replace("120.00,GBP", "140.00,USD")
        .replace("60.00,GBP", "60.00,USD");
    let receipts = format!("{HEAD}Alder Cycle,goods,100.00,GBP,2026-09-23,,\n");
    let run = landwaiter("settle --day 2026-10-09")
        .file("parts.csv", parts)
        .file("settings.csv", SETTINGS)
        .file("receipts.csv", receipts);
    let out = run.go().ends(0).out;
    let line = out.lines().next().unwrap().to_owned() + out.lines().nth(1).unwrap();
    assert!(
        line.contains("All of the difference is unexplained"),
        "{line}"
    );
}

/// 40.00 of VAT are calculated on 180.00 and were charged; that the goods came to more, or to less, asks for no cause, and nothing is
/// claimed. A penny beside it is one.
#[test]
fn what_was_charged_as_calculated_needs_no_cause() {
    let due = bill(TWO, "").amounts.tax_at_border.amount();
    for goods in ["200.00", "150.00"] {
        let rows = |vat: Dec| {
            format!(
                "Alder Cycle,goods,{goods},GBP,2026-09-23,,\nAlder Cycle,VAT,{vat},GBP,2026-10-03,,\n"
            )
        };
        let tax = entry(&settled(TWO, &rows(due)), ChargeWord::TaxAtBorder).unwrap();
        assert_eq!((tax.estimated, tax.actual), (due, Some(due)));
        assert!(
            tax.causes.is_empty() && tax.unexplained.is_zero() && tax.claim.is_none(),
            "{goods}: {tax:?}"
        );
        let penny = entry(
            &settled(TWO, &rows(sum(&[due, dec("0.01")]))),
            ChargeWord::TaxAtBorder,
        )
        .unwrap();
        assert_eq!(
            (penny.causes.as_slice(), penny.claim),
            ([(Cause::Rounding, dec("0.01"))].as_slice(), None),
            "{goods}"
        );
        // Ten more than calculated is still looked at.
        let more = entry(
            &settled(TWO, &rows(sum(&[due, dec("20.00")]))),
            ChargeWord::TaxAtBorder,
        )
        .unwrap();
        assert!(!more.causes.is_empty(), "{more:?}");
    }
}

#[test]
fn a_bike_weighed_in_kilograms_is_refused() {
    let weigh = |mass: &str| {
        read(
            TWO,
            &[("weighings", &format!("what,mass_g\nbike,{mass}\n"))],
        )
        .1
    };
    made::one_says(&weigh("8.5"), "weighings.csv:2", "no bike is so light");
    assert!(weigh("8500").is_empty());
    assert!(
        read(TWO, &[("weighings", "what,mass_g\nStem,118\n")])
            .1
            .is_empty(),
        "a part may be light"
    );
}

#[test]
fn the_bike_on_the_scale_goes_before_the_sum_of_its_parts() {
    let run = |command: &str| {
        landwaiter(command)
            .file("parts.csv", TWO)
            .file("settings.csv", SETTINGS)
            .file(
                "weighings.csv",
                "what,mass_g,basis,date\nbike,7610,racing,2026-10-30\n",
            )
    };
    for command in [
        "cost --basis racing --max-mass 8000 --more",
        "leeway --basis racing",
    ] {
        let out = run(command)
            .go()
            .ends(0)
            .out
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        assert!(
            out.contains(
                "The bike was weighed: 7,610 g (racing, 2026-10-30); its parts add up to 380 g"
            ),
            "{out}"
        );
        assert!(
            !out.contains("% of it weighed") && !out.contains("a scale will probably say"),
            "{out}"
        );
    }
    assert!(
        run("cost --basis racing --max-mass 8000")
            .go()
            .out
            .contains("limit 8,000 g: 390 g left"),
        "8,000 - 7,610"
    );
    for command in ["cost", "leeway"] {
        let json = run(&format!("{command} --basis racing --format json"))
            .go()
            .ends(0)
            .json();
        assert_eq!(
            (
                json["scale"]["read_g"].as_str(),
                json["scale"]["sum_g"].as_str()
            ),
            (Some("7610"), Some("380"))
        );
    }
}

const CODES: &str = "code,seller,scope,percent,amount,currency,valid_from,valid_to\n";

#[test]
fn a_discount_that_stands_twice_is_an_error() {
    let row = "TEN,Alder Cycle,basket,,10.00,GBP,,\n";
    let problems = |rows: &str| read(TWO, &[("discounts", &format!("{CODES}{rows}"))]).1;
    let twice = problems(&format!("{row}{row}"));
    assert!(
        twice.len() == 1
            && twice[0].starts_with("discounts.csv:3")
            && twice[0].contains("discounts.csv:2"),
        "{twice:?}"
    );
    for other in [
        "TEN,Alder Cycle,basket,,12.00,GBP,,\n",
        "MORE,Alder Cycle,basket,,10.00,GBP,,\n",
        "TEN,Alder Cycle,freight,,10.00,GBP,,\n",
    ] {
        assert!(problems(&format!("{row}{other}")).is_empty(), "{other}");
    }
    let spring = "TEN,Alder Cycle,basket,,10.00,GBP,2026-03-01,2026-05-31\n";
    assert!(
        problems(&format!(
            "{spring}{}",
            spring.replace("-03-", "-09-").replace("-05-31", "-11-30")
        ))
        .is_empty(),
        "two seasons"
    );
}

/// 180.00 is spent: free from 180.00 on, and not from 180.01.
#[test]
fn carriage_is_free_from_the_spend_on() {
    let free = |over: &str| {
        let parts = TWO
            .replace("freight,", "freight,free_freight_over,")
            .replace(",TW,0,", &format!(",TW,25.00,{over},"));
        bill(&parts, "").amounts.freight
    };
    assert_eq!(
        (free("180.00"), free("180.01"), free("179.99")),
        (HomeMoney::ZERO, home("25.00"), HomeMoney::ZERO)
    );
}

const PUBLISHED: &str = "Date,USD,GBP,\n2026-10-30,1.1172,0.8338,\n2026-10-29,1.1130,0.8358,\n";

#[test]
fn a_corrected_rate_is_said_and_the_table_is_left_alone() {
    let own = "use,base,quote,rate,valid_from\nmarket,EUR,USD,1.1170,2026-10-30\nmarket,EUR,GBP,0.83380,30.10.2026\nmarket,EUR,USD,1.113,2026-10-29\nmarket,EUR,GBP,0.8358,2026-10-29\n";
    let ran = landwaiter("rates import ecb.csv --rates own")
        .file("ecb.csv", PUBLISHED)
        .file("own/exchange.csv", own)
        .go()
        .ends(0);
    assert_eq!(ran.left("own/exchange.csv"), own);
    let err = ran.err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        err.contains("market,EUR,USD of 2026-10-30: 1.1170 in the table, 1.1172 in the file"),
        "{err}"
    );
    assert!(
        !err.contains("2026-10-29") && !err.contains("EUR,GBP"),
        "the same figure written otherwise is no other rate: {err}"
    );
    assert!(
        err.contains("delete these rows")
            && ran.out.contains("1 rate differs")
            && !ran.out.contains("every rate is in"),
        "{}{err}",
        ran.out
    );
    let same = landwaiter("rates import ecb.csv --rates own")
        .file("ecb.csv", PUBLISHED)
        .file("own/exchange.csv", own.replace("1.1170", "1.1172"));
    let same = same.go().ends(0);
    assert!(
        same.out.contains("Nothing new: every rate is in") && same.err.is_empty(),
        "{}{}",
        same.out,
        same.err
    );
}
