//! The report's words about a sum and about a bike: what a sum lacks, which part of it is in dispute and by what name, by what a
//! build is compared, and that there is no verdict on a bike with parts missing.

use serde_json::Value;

use crate::Question;
use crate::book::{Book, Remedies};
use crate::compare::{Compared, Comparison, compare};
use crate::landed::{Jurisdiction, cost_at};
use crate::leeway::{BreakEven, Leeway, leeway};
use crate::rank::rank;
use crate::report::{self, Figures, More, Show, Showing};
use crate::small::{SELLERS, ask, book, dec, tables, tables_with};
use crate::tables::{Tables, TaxName};
use crate::units::{Currency, Rate};

const SHOW: Show = Show {
    currency: Currency::GBP,
    rate: Rate::SAME,
    tax: TaxName::Vat,
};

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The screen of `cost`, its lines joined.
fn cost_screen(book: &Book, tables: &Tables, ask: &Question) -> String {
    let jurisdiction = Jurisdiction::open(tables, ask).unwrap();
    let landed = cost_at(book, &jurisdiction).unwrap();
    flat(&report::text(
        &report::cost_view(
            &landed,
            ask,
            &jurisdiction,
            &SHOW,
            (false, false),
            (None, &[]),
        )
        .unwrap(),
        &report::Screen::of(100).with_more(true),
    ))
}

/// What is read aloud.
fn spoken(book: &Book, tables: &Tables, ask: &Question) -> String {
    let [aloud, _] = shown(book, tables, ask, false);
    aloud
}

/// What is read aloud, and the page.
fn shown(book: &Book, tables: &Tables, ask: &Question, hide: bool) -> [String; 2] {
    let jurisdiction = Jurisdiction::open(tables, ask).unwrap();
    let landed = cost_at(book, &jurisdiction).unwrap();
    let comparison = compare(book, tables, ask).unwrap();
    let showing = Showing {
        landed: &landed,
        ask,
        jurisdiction: &jurisdiction,
        figures: Figures {
            show: SHOW,
            hidden: hide.then(|| landed.totals.landed().unwrap().amount()),
        },
        comparison: Some(&comparison),
        ranking: None,
        more: More::default(),
    };
    [
        report::speech(&showing).unwrap(),
        report::page(&showing).unwrap(),
    ]
}

const CHARGES: &str = "charge,kind,order,level,of,percent,flat,per,currency,round,when,valid_from,valid_to,certainty\n\
    customs_value,value,20,line,goods + freight,,,,,,,2021-01-01,,\n\
    duty_all,duty,30,line,customs_value,10,,,,,,2021-01-01,,DUTY\n\
    on_bars,remedy,31,line,customs_value,50,,,,,place = handlebar,2021-01-01,,BARS\n\
    vat,tax,40,consignment,customs_value + duty + remedy,20,,,,,collect = at-border,2021-01-01,,\n\
    fee_carrier,fee,50,consignment,,,12.00,consignment,GBP,,duty + tax > 0,2021-01-01,,\n";

const RELIEFS: &str = "relief,order,tests,per,op,amount,currency,drops,collect,valid_from,certainty\n\
    low_value,25,goods,consignment,<=,100.00,GBP,duty remedy tax,none,2021-01-01,RELIEF\n";

/// The law of the small world with bars that bear 50 % anti-dumping; the rows with these marks are in dispute.
fn law(disputed: &[&str]) -> Tables {
    let marked = |text: &str| {
        ["DUTY", "BARS", "RELIEF"]
            .into_iter()
            .fold(text.to_owned(), |text, mark| {
                text.replace(
                    mark,
                    if disputed.contains(&mark) {
                        "disputed"
                    } else {
                        ""
                    },
                )
            })
    };
    tables_with(&[
        ("gb/charges.csv", &marked(CHARGES)),
        ("gb/reliefs.csv", &marked(RELIEFS)),
    ])
}

const PARTS: &str = "part,place,seller,price,mass_g\n";

/// The screen of a range alone, its lines joined, and its JSON.
fn range_shown(leeway: &Leeway) -> (String, Value) {
    let shown = report::LeewayReport {
        leeway,
        mass: None,
        scale: None,
        break_even: &BreakEven::default(),
        budget: None,
        max_mass: None,
    };
    let screen = report::text(
        &report::leeway_view(&shown, &[], &SHOW).unwrap(),
        &report::Screen::of(100).with_more(true),
    );
    let json = report::leeway_json(&shown, &SHOW, "2026-03-02", "GB", Value::Null).unwrap();
    (flat(&screen), json)
}

/// By its kind: an ordinary duty, a relief, anti-dumping that counts, anti-dumping that is only shown. No table's id is in the
/// sentence, on the screen or aloud.
#[test]
fn what_is_in_dispute_is_called_by_what_it_is() {
    // A frame of 300.00 and 20.00 freight: duty 32.00, VAT 70.40, fee 12.00: 434.40; without the duty VAT 64.00: 396.00.
    let frame = format!("{PARTS}Plain frame,frame,Northmoor,300.00,1000\n");
    // 80.00 and 20.00 under the limit: 100.00; without the relief duty 10.00, VAT 22.00, fee 12.00: 144.00.
    let small = format!("{PARTS}Plain frame,frame,Northmoor,80.00,1000\n");
    // A frame of 300.00 and a bar of 100.00, freight 20.00 by mass 16.00 to 4.00: duty 42.00, 52.00 on the bar, VAT 20 % of
    // 514.00 = 102.80, fee 12.00: 628.80; without: VAT 92.40: 566.40.
    let bar = format!("{frame}Plain bar,handlebar,Northmoor,100.00,250\n");
    for (parts, disputed, remedies, screen, aloud) in [
        (
            &frame,
            &["DUTY"][..],
            Remedies::Count,
            "38.40 The duty is disputed. Keep this money aside: without it the landed cost is 396.00 GBP. [disputed]",
            "; without the duty that is in dispute, about 396 pounds.",
        ),
        (
            &small,
            &["RELIEF"],
            Remedies::Count,
            "44.00 The relief is disputed and not counted. Keep this money ready: with it the landed cost is 144.00 GBP. [disputed]",
            "; without the relief that is in dispute, about 144 pounds.",
        ),
        (
            &bar,
            &["BARS"],
            Remedies::Count,
            "62.40 The anti-dumping duty is disputed. Keep this money aside: without it the landed cost is 566.40 GBP. [disputed]",
            "; without the anti-dumping duty that is in dispute, about 566 pounds.",
        ),
        (
            &bar,
            &[],
            Remedies::Show,
            "62.40 The anti-dumping duty is disputed and not counted. Keep this money ready: with it the landed cost is 628.80 GBP. [disputed]",
            "; with the anti-dumping duty, which is not counted, about 629 pounds.",
        ),
    ] {
        let (book, tables) = (
            book(&[("parts", parts), ("sellers", SELLERS)]),
            law(disputed),
        );
        let mut ask = ask(&[]);
        ask.remedies = remedies;
        let (shown, said) = (
            cost_screen(&book, &tables, &ask),
            spoken(&book, &tables, &ask),
        );
        assert!(shown.contains(screen), "{screen}\n{shown}");
        assert!(said.contains(aloud), "{aloud}\n{said}");
        for id in [
            "duty_all",
            "duty all",
            "on_bars",
            "on bars",
            "low_value",
            "low value",
            "With anti-dumping it",
        ] {
            assert!(
                !said.contains(id) && !shown.split("parcel").next().unwrap().contains(id),
                "{id}\n{shown}\n{said}"
            );
        }
    }
}

/// Anti-dumping that is only shown has a range of its own beside the cost, or one range by its chance: 628.80 with it and 566.40
/// without, as above; nothing else is unknown.
#[test]
fn anti_dumping_that_is_only_shown_has_its_range_too() {
    let parts = format!(
        "{PARTS}Plain frame,frame,Northmoor,300.00,1000\nPlain bar,handlebar,Northmoor,100.00,250\n"
    );
    let tables = law(&[]);
    let mut ask = ask(&[]);
    ask.remedies = Remedies::Show;
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let run = |unknowns: &str| {
        leeway(
            &book(&[
                ("parts", &parts),
                ("sellers", SELLERS),
                ("unknowns", unknowns),
            ]),
            &jurisdiction,
            3,
            dec("90"),
        )
        .unwrap()
    };
    let found = run("what,low,likely,high,chance\n");
    assert!(
        found.undisputed.is_none(),
        "the cost counts nothing in dispute"
    );
    let other = found.with_disputed.as_ref().unwrap();
    assert_eq!(
        (found.cost.fixed(2), other.cost.fixed(2)),
        ("566.40".to_owned(), "628.80".to_owned())
    );
    assert!(
        other
            .quantiles
            .iter()
            .all(|(_, amount)| amount.fixed(2) == "628.80")
            && !found.disputed_counted
    );
    assert!(
        found
            .quantiles
            .iter()
            .all(|(_, amount)| amount.fixed(2) == "566.40")
    );
    let (screen, json) = range_shown(&found);
    assert!(
        screen.contains("With the anti-dumping duty in dispute: 628.80 GBP; 90 % likely between 628.80 and 628.80."),
        "{screen}"
    );
    assert_eq!(
        (&json["with_disputed"]["cost"], &json["disputed_counted"]),
        (&"628.80".into(), &false.into())
    );
    assert!(json["undisputed"].is_null());
    // With 40 out of a hundred it is asked for: 5, 25 and 50 of a hundred outcomes lie at the sum without it, 75 and 95 do not.
    for row in ["disputed,,,,40 %", "remedy:Northmoor,,,,40 %"] {
        let joined = run(&format!(
            "what,low,likely,high,chance\nprice,0,0,0,\nfreight,0,0,0,\nhandling,0,0,0,\n{row}\n"
        ));
        let amounts: Vec<String> = joined
            .quantiles
            .iter()
            .map(|(_, amount)| amount.fixed(2))
            .collect();
        assert_eq!(
            amounts,
            ["566.40", "566.40", "566.40", "628.80", "628.80"],
            "{row}"
        );
        assert_eq!(joined.disputed_chance, Some(dec("40")));
        let asked: Vec<(String, String)> = joined
            .asked
            .iter()
            .map(|a| (a.asked.fixed(2), a.not_asked.fixed(2)))
            .collect();
        assert!(
            asked
                .iter()
                .all(|both| *both == ("628.80".to_owned(), "566.40".to_owned())),
            "{asked:?}"
        );
    }
}

/// The same words mean the same in `cost`, `compare` and `rank`, whatever `remedies` says. A frame of 300.00 is in the build and a
/// bar of 100.00 an option, freight 20.00; ordinary duty of 10 % and anti-dumping of 50 % on the bar, which alone is in dispute.
/// Frame and bar land at 628.80 with it and at 566.40 without, as above, the frame alone at 434.40.
#[test]
fn what_is_undisputed_is_that_whatever_remedies_say() {
    let frame = format!("{PARTS}Plain frame,frame,Northmoor,300.00,1000\n");
    let both = format!("{frame}Plain bar,handlebar,Northmoor,100.00,250\n");
    let option = "part,place,role,standing,seller,price,paid,mass_g\nPlain frame,frame,build,to-order,Northmoor,300.00,,1000\n\
        Old bar,handlebar,build,in-hand,,,0.00,300\nPlain bar,handlebar,option,to-order,Northmoor,100.00,,250\n";
    let bikes = "bike,price,currency,mass_g,basis\nBirkrigg,500.00,GBP,2500,racing\n";
    for (remedies, disputed, with) in [
        (Remedies::Count, &["BARS"][..], "628.80"),
        (Remedies::Show, &["BARS"], "566.40"),
        (Remedies::Show, &[], "566.40"),
    ] {
        let tables = law(disputed);
        let mut ask = ask(&[]);
        ask.remedies = remedies;
        let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
        let whole = book(&[("parts", &both), ("sellers", SELLERS), ("bikes", bikes)]);
        let t = cost_at(&whole, &jurisdiction).unwrap().totals;
        let texts = [
            t.landed().unwrap(),
            t.landed_undisputed,
            t.landed_with_disputed,
        ]
        .map(|sum| sum.fixed(2));
        assert_eq!(texts, [with, "566.40", "628.80"], "{remedies:?}");
        // Where it is the sum itself, nothing stands beside it.
        let beside = |undisputed: &str, all: &str| match remedies {
            Remedies::Count => (Value::from(undisputed), Value::Null),
            Remedies::Show => (Value::Null, Value::from(all)),
        };
        let mine = report::compare_json(
            &compare(&whole, &tables, &ask).unwrap(),
            &ask,
            &SHOW,
            &Value::Null,
        )
        .unwrap()["build"]
            .clone();
        assert_eq!(
            (
                mine["replacement_undisputed"].clone(),
                mine["replacement_with_disputed"].clone()
            ),
            beside("566.40", "628.80")
        );
        let ranking = rank(
            &book(&[("parts", option), ("sellers", SELLERS)]),
            &tables,
            &ask,
        )
        .unwrap();
        let disputed = ranking.options[0].disputed.as_ref().unwrap();
        let text = |sum: Option<crate::units::Dec>| {
            sum.map_or(Value::Null, |sum| Value::from(sum.fixed(2)))
        };
        // 566.40 - 434.40 and 628.80 - 434.40.
        assert_eq!(
            (text(disputed.undisputed), text(disputed.with_disputed)),
            beside("132.00", "194.40"),
            "{remedies:?}"
        );
        assert!(
            disputed
                .rows
                .iter()
                .all(|row| row.counted == (remedies == Remedies::Count))
        );
    }
}

/// A fee ended and nothing is known to follow: whoever shows a sum says so, as `cost` does.
#[test]
fn every_command_says_that_a_fee_ended() {
    let quay = CHARGES.replace("DUTY", "").replace("BARS", "")
        + "quayfee,fee,51,consignment,,,7.00,consignment,GBP,,,2021-01-01,2026-02-01,\n";
    let tables = tables_with(&[("gb/charges.csv", &quay)]);
    let parts = "part,place,role,standing,seller,price,mass_g\n\
                 Plain frame,frame,build,to-order,Northmoor,300.00,1000\n\
                 Light frame,frame,option,to-order,Southmoor,400.00,900\n";
    let book = book(&[
        ("parts", parts),
        ("sellers", SELLERS),
        (
            "bikes",
            "bike,price,currency,mass_g,basis\nHome,600.00,GBP,2000,racing\n",
        ),
    ]);
    let ask = ask(&[]);
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    assert!(
        cost_screen(&book, &tables, &ask)
            .contains("A fee ended 2026-02-01; what followed is unknown and not in it.")
    );
    let said = |cautions: &[crate::landed::Caution], about: &str| {
        let found = cautions
            .iter()
            .find(|caution| caution.id == "fee-ended")
            .unwrap_or_else(|| panic!("{cautions:?}"));
        assert!(found.about.iter().any(|name| name == about), "{found:?}");
    };
    said(
        &compare(&book, &tables, &ask).unwrap().cautions,
        "Plain frame",
    );
    let ranking = rank(&book, &tables, &ask).unwrap();
    said(&ranking.cautions, "Plain frame");
    said(&ranking.cautions, "Light frame");
    let found = leeway(&book, &jurisdiction, 3, dec("90")).unwrap();
    said(&found.cautions, "Plain frame");
    let (screen, json) = range_shown(&found);
    assert!(
        screen.contains("unknown ") && screen.contains("ended 2026-02-01"),
        "{screen}"
    );
    assert_eq!(json["cautions"][0]["id"], "fee-ended");
    let aloud = spoken(&book, &tables, &ask);
    assert!(
        aloud.contains("a fee ended, and what followed is not known and not counted")
            && !aloud.contains("quayfee"),
        "{aloud}"
    );
}

const PAID: &str = "part,place,role,standing,paid,mass_g\n\
    Plain frame,frame,build,in-hand,200.00,1000\n\
    Plain bar,handlebar,build,in-hand,20.00,250\n";

const REST: &str = "Plain headset,headset,build,in-hand,10.00,80\n\
    Plain stem,stem,build,in-hand,10.00,120\n\
    Plain saddle,saddle,build,in-hand,10.00,200\n\
    Plain pedals,pedals,build,in-hand,10.00,300\n";

fn paid_only(parts: &str) -> (Book, Comparison) {
    let bikes = "bike,price,currency,mass_g,basis\nBirkrigg,500.00,GBP,2500,racing\n";
    let book = book(&[("parts", parts), ("bikes", bikes)]);
    let found = compare(&book, &tables(), &ask(&[])).unwrap();
    (book, found)
}

fn compared(found: &Comparison) -> (String, Value) {
    let json = report::compare_json(found, &ask(&[]), &SHOW, &Value::Null).unwrap();
    (
        flat(&report::text(
            &report::compare_view(found, &SHOW, false).unwrap(),
            &report::Screen::of(100).with_more(true),
        )),
        json,
    )
}

/// 200.00 + 20.00 + 4 x 10.00 = 260.00 against 500.00, 1,950 g against 2,500: the verdict says by what.
#[test]
fn a_build_of_which_only_what_was_paid_is_known_says_so_aloud() {
    let (book, found) = paid_only(&format!("{PAID}{REST}"));
    assert_eq!(
        (found.mine.compared, found.beaten()),
        (Compared::Paid, "Birkrigg".to_owned())
    );
    let aloud = spoken(&book, &tables(), &ask(&[]));
    assert!(
        aloud.contains("and by what was paid for it is both cheaper and lighter than Birkrigg"),
        "{aloud}"
    );
    let (screen, json) = compared(&found);
    assert!(
        screen.contains("No part has a price to buy it again at")
            && !screen.contains("Replacement value 0.00"),
        "{screen}"
    );
    assert!(json["build"]["replacement"].is_null(), "{}", json["build"]);
    assert_eq!(
        (&json["build"]["paid_instead"], &json["build"]["cost"]),
        (&"260.00".into(), &"260.00".into())
    );
    assert_eq!(
        (&json["build"]["whole"], &json["bikes"][0]["quadrant"]),
        (&true.into(), &"better".into())
    );
    let cost = cost_screen(&book, &tables(), &ask(&[]));
    assert!(
        cost.contains("Cost to buy again is unknown: no price is given for")
            && !cost.contains("again: 0.00"),
        "{cost}"
    );
}

/// A frame of 1,000.00 lands at 1,358.40 and one of 1,100.00 at 1,490.40, each with 20.00 of freight and a fee of 12.00: where prices
/// are hidden, they sound and look the same.
#[test]
fn two_frames_a_tenth_apart_sound_the_same_where_prices_are_hidden() {
    let frame = |price: &str| {
        book(&[
            ("sellers", SELLERS),
            (
                "parts",
                &format!("{PARTS}Plain frame,frame,Northmoor,{price},1000\n"),
            ),
        ])
    };
    let of = |price: &str, hide: bool| shown(&frame(price), &law(&[]), &ask(&[]), hide);
    let hidden = of("1000.00", true);
    assert!(
        hidden[0].contains(
            "1 to 2 percent for shipping, 7 to 10 percent for duty, 15 to 20 percent for V A T"
        ),
        "{}",
        hidden[0]
    );
    assert!(
        hidden[0].contains("and under 1 percent for handling fees"),
        "{}",
        hidden[0]
    );
    assert_eq!(hidden, of("1100.00", true));
    assert!(
        of("1000.00", false)[0].contains("about 1,360 pounds")
            && of("1100.00", false)[0].contains("about 1,490 pounds")
    );
}

/// The prices of complete bikes are known to everybody: where the build's are hidden, neither the words nor the page say which of
/// them it beats, which would bound it.
#[test]
fn no_bike_of_known_price_bounds_a_hidden_build() {
    let (book, found) = paid_only(&format!("{PAID}{REST}"));
    assert_eq!(found.beaten(), "Birkrigg");
    for (open, hidden) in shown(&book, &tables(), &ask(&[]), false).iter().zip(shown(
        &book,
        &tables(),
        &ask(&[]),
        true,
    )) {
        assert!(open.contains("cheaper and lighter than Birkrigg"), "{open}");
        // what a bike weighs bounds no price: that alone is told of it by name
        for said in hidden.split("Birkrigg").skip(1) {
            let near: String = said.chars().take(120).collect();
            assert!(near.contains("550 g"), "{near}");
            assert!(!near.contains("GBP") && !near.contains("pound"), "{near}");
        }
        for word in ["cheaper", "dearer", "costs less", "costs more"] {
            assert!(!hidden.contains(word), "{hidden}");
        }
        assert!(hidden.contains("how it compares in price"), "{hidden}");
    }
}

#[test]
fn there_is_no_verdict_on_a_bike_with_parts_missing() {
    let (book, found) = paid_only(PAID);
    assert_eq!(found.beaten(), "");
    let aloud = spoken(&book, &tables(), &ask(&[]));
    assert!(aloud.contains("parts of the bike are missing, headset, pedals, saddle and stem, so there is no verdict"), "{aloud}");
    let (screen, json) = compared(&found);
    assert!(
        screen.contains(
            "No verdict: parts of the bike are missing (headset, pedals, saddle and stem)"
        ),
        "{screen}"
    );
    assert!(screen.contains("- - no verdict"), "{screen}");
    for verdict in ["cheaper and lighter", "nothing beats"] {
        assert!(
            !screen.contains(verdict) && !aloud.contains(verdict),
            "{verdict}\n{screen}\n{aloud}"
        );
    }
    assert!(
        json["bikes"][0]["quadrant"].is_null()
            && json["bikes"][0]["words"].is_null()
            && json["build"]["whole"] == false
    );
}

/// Over the counter nothing comes on top.
#[test]
fn nothing_more_is_no_more() {
    let parts = "part,place,price,currency,mass_g\nHeath saddle,saddle,48.00,GBP,180\n";
    let book = book(&[("parts", parts)]);
    let shown = cost_screen(&book, &tables(), &ask(&[]));
    assert!(
        shown.starts_with("Landed cost 48.00 GBP: as much as the price tags."),
        "{shown}"
    );
    let aloud = spoken(&book, &tables(), &ask(&[]));
    assert!(
        aloud.contains(
            "this build comes to about 48 pounds at the door, as much as on its price tags."
        ),
        "{aloud}"
    );
}
