//! Keep it or send it back: what comes back adds up, rows of the tables decide, dates are the tables'.

use crate::book::Book;
use crate::landed::{Jurisdiction, Question, cost_at};
use crate::made;
use crate::report::{Show, lost_if_wrong};
use crate::returns::{lost, returned};
use crate::small::dec;
use crate::tables::{Back, Reason, Tables, built_in};
use crate::units::{Date, Dec, Rate};

const SETTINGS: &str =
    "setting,value\ndestination,GB\ndate,2026-09-23\nkind,gravel\ncard_fee,2.75 %\n";

const PARTS: &str = "\
part,place,role,standing,seller,price,currency,dispatch,freight,mass_g,channel,transit_days,return_freight,resale,paid,comes_with
Bar,handlebar,build,,Alder Cycle,320.00,USD,TW,18.00,260,post,10,25.00,90.00,,
Stem,stem,build,,Cobb Parts,60.00,USD,US,14.00,120,post,10,,,,
Headset,headset,build,bundled,,,,,,30,,,,,,Bar
Pedals,pedals,build,in-hand,,,,,,262,,,,,40.00,
Saddle,saddle,option,,Alder Cycle,99.00,USD,TW,18.00,150,post,10,25.00,,,
";

/// The months within which it must be asked for, or the days with a `d`.
fn time(row: &crate::tables::RefundRow) -> String {
    match row.days {
        Some(days) => format!("{days}d"),
        None => row.months.unwrap_or(0).to_string(),
    }
}

fn case() -> (Book, &'static Tables, Question) {
    let book = made::taken(&[("parts", PARTS), ("settings", SETTINGS)]);
    let ask = made::ask(&book);
    (book, made::built_in(), ask)
}

fn day(text: &str) -> Date {
    Date::parse(text).unwrap()
}

#[test]
fn what_is_lost_is_what_it_cost_less_what_comes_back() {
    let (book, tables, ask) = case();
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let landed = cost_at(&book, &jurisdiction).unwrap();
    let line = landed
        .bills
        .iter()
        .flat_map(|b| &b.lines)
        .find(|l| l.part == "Bar")
        .unwrap()
        .amounts;
    for reason in [Reason::Unwanted, Reason::Faulty] {
        let found = returned(&book, &jurisdiction, "Bar", reason, day("2026-10-20")).unwrap();
        assert_eq!(found.landed, line.landed().unwrap().amount());
        let paid = Dec::total(found.lines.iter().map(|l| l.paid)).unwrap();
        assert_eq!(paid, found.landed, "every charge of the part is named once");
        let back = |back: Back| {
            Dec::total(
                found
                    .lines
                    .iter()
                    .filter(|l| l.back == back)
                    .map(|l| l.amount),
            )
            .unwrap()
        };
        assert_eq!(
            found.lost().unwrap(),
            found
                .landed
                .minus(back(Back::Yes))
                .unwrap()
                .plus(found.freight_back.unwrap())
                .unwrap()
        );
        assert_eq!(
            found
                .lost()
                .unwrap()
                .minus(found.lost_at_best().unwrap())
                .unwrap(),
            back(Back::Possible)
        );
        assert_eq!(
            found.refund.0.amount,
            dec("320"),
            "the price comes back in the seller's money"
        );
    }
}

#[test]
fn the_rows_decide_by_reason_and_by_day() {
    let (book, tables, ask) = case();
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let tax = |reason, on: &str| {
        let found = returned(&book, &jurisdiction, "Bar", reason, day(on)).unwrap();
        let line = found
            .lines
            .iter()
            .find(|l| l.charge == "tax_at_border")
            .unwrap();
        (line.back, line.until)
    };
    assert_eq!(
        tax(Reason::Unwanted, "2027-01-01"),
        (Back::Possible, Some(day("2027-01-01"))),
        "90 days from the arrival on 2026-10-03: 28 more of October, 30, 31 and the first of January"
    );
    assert_eq!(
        tax(Reason::Unwanted, "2027-01-02"),
        (Back::No, Some(day("2027-01-01"))),
        "a day too late"
    );
    assert_eq!(
        tax(Reason::Faulty, "2027-10-03"),
        (Back::Possible, Some(day("2027-10-03"))),
        "a year from the arrival on 2026-10-03"
    );
    assert_eq!(
        tax(Reason::Faulty, "2027-10-04"),
        (Back::No, Some(day("2027-10-03"))),
        "a day too late"
    );
    let small = returned(
        &book,
        &jurisdiction,
        "Stem",
        Reason::Unwanted,
        day("2026-10-20"),
    )
    .unwrap();
    let at_sale = small
        .lines
        .iter()
        .find(|l| l.charge == "tax_at_sale")
        .unwrap();
    assert_eq!(
        (at_sale.back, at_sale.from.as_str()),
        (Back::Yes, "seller"),
        "below the limit the seller gives the tax back"
    );
    assert!(
        small.freight_back.is_none(),
        "an unknown amount is not zero"
    );
    let fee = returned(
        &book,
        &jurisdiction,
        "Bar",
        Reason::Faulty,
        day("2026-10-20"),
    )
    .unwrap();
    assert!(
        fee.lines
            .iter()
            .filter(|l| l.charge == "handling" || l.charge == "card_fee")
            .all(|l| l.back == Back::No)
    );
    assert!(
        fee.card_cover.unwrap().0 && !small.card_cover.unwrap().0,
        "over 100 pounds, and not"
    );
}

#[test]
fn the_second_exchange_is_the_rate_of_its_day() {
    let (book, tables, ask) = case();
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let found = returned(
        &book,
        &jurisdiction,
        "Bar",
        Reason::Unwanted,
        day("2026-10-20"),
    )
    .unwrap();
    let usd = found.refund.0.currency;
    let expected = jurisdiction
        .market_rate(usd, day("2026-10-20"))
        .unwrap()
        .rate
        .convert(dec("320"))
        .unwrap();
    assert!(
        found.refund.2.minus(expected).unwrap().abs() <= dec("0.02"),
        "{} against {expected}",
        found.refund.2
    );
    let same = returned(
        &book,
        &jurisdiction,
        "Bar",
        Reason::Unwanted,
        day("2026-09-23"),
    )
    .unwrap();
    assert_eq!(same.refund.1, same.refund.2);
}

#[test]
fn options_can_be_asked_about_before_they_are_ordered() {
    let (book, tables, ask) = case();
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let loss = lost(&book, &jurisdiction, "Saddle").unwrap();
    assert!(loss.is_positive());
    assert_eq!(
        loss,
        returned(&book, &jurisdiction, "Saddle", Reason::Unwanted, ask.date)
            .unwrap()
            .lost()
            .unwrap()
    );
}

/// Of several options the one that loses most decides how loud it is said; those that are only offers of the same part lose nothing.
#[test]
fn beside_a_ranking_it_is_said_what_a_wrong_part_loses() {
    let (_, tables, ask) = case();
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let show = Show {
        currency: jurisdiction.currency(),
        rate: Rate::SAME,
        tax: jurisdiction.destination.tax_name,
    };
    let loss = |part: &str, loss: Option<&str>| (part.to_owned(), loss.map(dec));
    let all = [
        loss("Bar", Some("20.00")),
        loss("Stem", None),
        loss("Rim", Some("35.00")),
    ];
    let lost = lost_if_wrong(&all, &jurisdiction, &show).unwrap();
    let (most, text) = (lost.most, lost.text);
    assert_eq!(most.fixed(2), "35.00");
    assert!(
        text.contains("Rim 35.00 and Bar 20.00") && !text.contains("Stem"),
        "{text}"
    );
    assert!(lost_if_wrong(&all[1..2], &jurisdiction, &show).is_none());
}

#[test]
fn what_cannot_go_back_says_why() {
    let (book, tables, ask) = case();
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let why = |part: &str| {
        let problems =
            returned(&book, &jurisdiction, part, Reason::Unwanted, ask.date).unwrap_err();
        problems
            .iter()
            .map(|p| format!("{} {}", p.message, p.help.clone().unwrap_or_default()))
            .collect::<String>()
    };
    assert!(why("Headset").contains("came in the box of `Bar`"));
    assert!(why("Pedals").contains("not bought from a seller"));
    assert!(why("Bra").contains("did you mean `Bar`"));
}

/// The rows of a destination's refunds, in one line each.
fn rows_of(to: &str) -> Vec<String> {
    let (_, tables, _) = case();
    let mut settings = crate::book::Settings::default();
    settings.set("destination", to).unwrap();
    let ask = Question::new(&settings, Date::new(2026, 9, 23).unwrap()).unwrap();
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let said = |row: &crate::tables::Dated<crate::tables::RefundRow>| {
        let r = &row.rule;
        assert!(
            !r.text.is_empty() && row.stamp.checked.is_some() && !row.stamp.source.is_empty(),
            "{}",
            row.stamp.row
        );
        let (over, months) = (r.over.map_or("-".to_owned(), |d| d.to_string()), time(r));
        format!(
            "{} {} {:?} {} {months} {over}",
            r.charge,
            r.reason.map_or("*", Reason::name),
            r.back,
            r.from
        )
    };
    jurisdiction.law.refunds.iter().map(said).collect()
}

/// These lines are a copy of the tables: they detect that a row changed or went missing, not whether it is true. A member state
/// has its group's.
#[test]
fn other_destinations_say_what_was_found_of_their_law() {
    let union = [
        "tax_at_sale * Yes seller 0 -",
        "duty faulty Possible customs 12 -",
        "remedy faulty Possible customs 12 -",
        "duty unwanted Possible customs 90d -",
        "duty unwanted Possible customs 90d -",
        "duty unwanted Possible customs 90d -",
        "remedy unwanted Possible customs 90d -",
        "duty overcharged Possible customs 36 -",
        "remedy overcharged Possible customs 36 -",
    ];
    assert_eq!(
        (rows_of("DE"), rows_of("SE")),
        (
            union.map(str::to_owned).to_vec(),
            union.map(str::to_owned).to_vec()
        )
    );
    let norway = [
        "tax_at_sale * Yes seller 0 -",
        "duty faulty Possible customs 0 99.99",
        "tax_at_border faulty Possible tax office 0 99.99",
        "duty unwanted Possible customs 0 99.99",
        "tax_at_border unwanted Possible tax office 0 99.99",
        "handling * No carrier 0 -",
        "duty overcharged Possible customs 0 99.99",
        "tax_at_border overcharged Possible customs 0 99.99",
        "tax_at_border charged-twice Possible seller 0 -",
    ];
    assert_eq!(rows_of("NO"), norway);
    let canada = [
        "duty faulty Possible customs 0 1.99",
        "remedy faulty Possible customs 0 1.99",
        "tax_at_border faulty Possible customs 0 1.99",
        "duty unwanted Possible customs 0 1.99",
        "remedy unwanted Possible customs 0 1.99",
        "tax_at_border unwanted Possible customs 0 1.99",
        "handling * No carrier 0 -",
        "duty overcharged Possible customs 0 1.99",
        "tax_at_border overcharged Possible customs 0 1.99",
    ];
    assert_eq!(rows_of("CA"), canada);
    let new_zealand = [
        "duty faulty Possible customs 0 -",
        "tax_at_border faulty Possible customs 0 -",
        "duty unwanted No customs 0 -",
        "tax_at_border unwanted No customs 0 -",
        "duty overcharged Possible customs 0 -",
        "tax_at_border overcharged Possible customs 0 -",
    ];
    assert_eq!(rows_of("NZ"), new_zealand);
}

/// What the tables of Great Britain say of every charge and reason; a row that goes missing changes one of these.
#[test]
fn no_row_of_refunds_can_go_missing_unseen() {
    let (_, tables, ask) = case();
    let jurisdiction = Jurisdiction::open(tables, &ask).unwrap();
    let said: Vec<String> = jurisdiction
        .law
        .refunds
        .iter()
        .map(|row| {
            let r = &row.rule;
            let reason = r.reason.map_or("*", Reason::name);
            let (over, months) = (r.over.map_or("-".to_owned(), |d| d.to_string()), time(r));
            format!(
                "{} {reason} {:?} {} {months} {over}",
                r.charge, r.back, r.from
            )
        })
        .collect();
    assert_eq!(
        said,
        [
            "tax_at_sale * Yes seller 0 -",
            "duty faulty Possible customs 12 9",
            "remedy faulty Possible customs 12 9",
            "tax_at_border faulty Possible customs 12 -",
            "duty unwanted Possible customs 90d 9",
            "remedy unwanted Possible customs 90d 9",
            "tax_at_border unwanted Possible customs 90d -",
            "handling * No carrier 0 -",
            "duty overcharged Possible customs 36 -",
            "remedy overcharged Possible customs 36 -",
            "tax_at_border overcharged Possible customs 36 -",
            "tax_at_border charged-twice Possible customs 36 -",
            "tax_at_sale charged-twice Possible seller 0 -",
            "card_cover * Possible card 0 100",
        ]
    );
    assert!(built_in().iter().any(|file| file.name == "refunds.csv"));
    assert_eq!(tables.refunds.len(), 5);
    for row in jurisdiction.law.refunds.iter().chain(tables.refunds.iter()) {
        assert!(
            !row.rule.text.is_empty()
                && row.stamp.checked.is_some()
                && !row.stamp.source.is_empty(),
            "{}",
            row.stamp.row
        );
    }
}

/// The frame's duty is 32.00 pounds, and a dollar is 0.80: not over 40.00 dollars, and over 39.99.
#[test]
fn a_least_sum_is_compared_in_its_own_money() {
    let back = |over: &str| {
        let header =
            "refund,charge,reason,comes_back,from,months,over,up_to,currency,text,valid_from\n";
        let rows = format!(
            "{header}least,duty,faulty,possible,customs,,{over},,USD,on asking,2021-01-01\n"
        );
        let rates = "use,base,quote,rate,valid_from\nmarket,USD,GBP,0.80,2025-01-01\n";
        let tables =
            crate::small::tables_with(&[("gb/refunds.csv", &rows), ("exchange.csv", rates)]);
        let parts = "part,place,seller,price,mass_g\nFrame,frame,Northmoor,300.00,1000\n";
        let book = crate::small::book(&[("parts", parts), ("sellers", crate::small::SELLERS)]);
        let ask = crate::small::ask(&[]);
        let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
        let found = returned(&book, &jurisdiction, "Frame", Reason::Faulty, ask.date).unwrap();
        let line = found
            .lines
            .iter()
            .find(|line| line.charge == "duty")
            .unwrap();
        assert_eq!(line.paid, dec("32.00"));
        (line.back, line.text.clone())
    };
    assert_eq!(
        back("40.00"),
        (
            Back::No,
            "only more than 40 USD is repaid. On asking".to_owned()
        )
    );
    assert_eq!(back("39.99"), (Back::Possible, "on asking".to_owned()));
}
