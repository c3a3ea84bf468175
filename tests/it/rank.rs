//! Options by what they really add to the bill: worked sums, the order, and what must not change it.

use landwaiter::book::Book;
use landwaiter::rank::{Ranked, Ranking, rank};
use landwaiter::report::{Screen, Show, rank_json, rank_view, text};
use landwaiter::tables::TaxName;
use landwaiter::units::{Currency, Rate};
use landwaiter::value::Quadrant;
use serde_json::{Value, json};

use super::small::{SELLERS, ask, book, tables, tables_with};

const SHOW: Show = Show {
    currency: Currency::GBP,
    rate: Rate::SAME,
    tax: TaxName::Vat,
};

const HEADER: &str =
    "part,place,role,standing,seller,price,currency,paid,mass_g,comes_with,needs,fits,resale\n";

/// The build lands at 584.40:
/// Northmoor: goods 300.00, freight 20.00, duty 10 % of 320.00 = 32.00, VAT 20 % of 352.00 = 70.40, fee 12.00: 434.40;
/// Southmoor: goods 40.00, freight 10.00, nothing due up to 100.00: 50.00; paid for the bar 100.00, for the pedals 0.00.
const BUILD: &str = "Plain frame,frame,build,to-order,Northmoor,300.00,,,1000,,,headset_cups=wide,\n\
                     Plain headset,headset,build,bundled,,,,,90,Plain frame,,headset_cups=wide,\n\
                     Plain saddle,saddle,build,to-order,Southmoor,40.00,,,300,,,,\n\
                     One-piece bar,handlebar + stem,build,in-hand,,100.00,GBP,100.00,400,,,,60.00\n\
                     Plain pedals,pedals,build,in-hand,,25.00,GBP,0.00,350,,,,20.00\n";

fn book_with(rows: &[&str]) -> Book {
    let parts = format!("{HEADER}{BUILD}{}\n", rows.join("\n"));
    book(&[("parts", &parts), ("sellers", SELLERS)])
}

fn ranking(rows: &[&str]) -> Ranking {
    rank(&book_with(rows), &tables(), &ask(&[])).unwrap()
}

fn only(rows: &[&str]) -> Ranked {
    let found = ranking(rows);
    assert_eq!(
        (found.options.len(), &found.unfit[..], &found.left_out[..]),
        (1, &[][..], &[][..])
    );
    found.options.into_iter().next().unwrap()
}

fn sums(option: &Ranked) -> (String, String, String, Option<String>) {
    let per_kg = option
        .difference
        .per_kg()
        .unwrap()
        .map(|ratio| ratio.fixed(2));
    (
        option.alone.fixed(2),
        option.together.fixed(2),
        option.difference.saved.to_string(),
        per_kg,
    )
}

fn expect(
    alone: &str,
    together: &str,
    saved: &str,
    per_kg: Option<&str>,
) -> (String, String, String, Option<String>) {
    (
        alone.to_owned(),
        together.to_owned(),
        saved.to_owned(),
        per_kg.map(str::to_owned),
    )
}

#[test]
fn the_build_lands_as_written_above() {
    assert_eq!(ranking(&[]).landed.fixed(2), "584.40");
}

#[test]
fn a_part_still_to_be_ordered_is_made_unnecessary() {
    // Together: Northmoor's goods 360.00, freight 20.00, duty 38.00, VAT 20 % of 418.00 = 83.60, fee 12.00: 513.60; no parcel
    // from Southmoor: 513.60 + 100.00 - 584.40 = 29.20. Alone: 60.00 + 20.00, under the limit, less the 50.00: 30.00.
    // 29.20 for 120 g is 243.33 a kilogram.
    let found = only(&["Light saddle,saddle,option,,Northmoor,60.00,,,180,,,,"]);
    assert_eq!(
        sums(&found),
        expect("30.00", "29.20", "120", Some("243.33"))
    );
    assert_eq!(
        (found.replaces, found.resale.fixed(2)),
        (vec!["Plain saddle".to_owned()], "0.00".to_owned())
    );
}

#[test]
fn an_order_that_crosses_a_limit_pays_for_all_of_it_and_an_emptied_place_is_filled() {
    // The bar fills two places, so a handlebar alone leaves the stem empty and comes with one. Together: Southmoor's goods
    // 40.00 + 50.00 + 30.00 = 120.00, freight 10.00, duty 13.00, VAT 20 % of 143.00 = 28.60, fee 12.00: 183.60 instead of 50.00,
    // less 60.00 for the old bar: 73.60. Alone: 80.00 + 10.00, nothing due, less 60.00: 30.00.
    let found = only(&[
        "Light bar,handlebar,option,,Southmoor,50.00,,,200,,,,",
        "Light stem,stem,option,,Southmoor,30.00,,,100,,,,",
    ]);
    assert_eq!(
        sums(&found),
        expect("30.00", "73.60", "100", Some("736.00"))
    );
    assert_eq!(
        (found.part, found.with),
        ("Light bar".to_owned(), vec!["Light stem".to_owned()])
    );
}

#[test]
fn nothing_is_proposed_that_leaves_a_place_bare() {
    let found = ranking(&["Light bar,handlebar,option,,Southmoor,50.00,,,200,,,,"]);
    assert!(found.options.is_empty());
    assert!(
        found.left_out[0]
            .reason
            .starts_with("it leaves `stem` empty, and no option fills that"),
        "{}",
        found.left_out[0].reason
    );
}

#[test]
fn a_bundled_piece_saves_its_resale_and_nothing_else() {
    // Southmoor: 70.00 + 10.00 instead of 40.00 + 10.00: 30.00; alone 30.00 + 10.00. The frame costs what it did.
    let found = only(&["Light headset,headset,option,,Southmoor,30.00,,,60,,,headset_cups=wide,"]);
    assert_eq!(
        sums(&found),
        expect("40.00", "30.00", "30", Some("1000.00"))
    );
    assert_eq!(found.resale_unknown, ["Plain headset"]);
}

#[test]
fn a_box_that_is_not_bought_brings_nothing() {
    // Without the frame its headset does not come; the light frame brings its own. Northmoor: 350.00 + 20.00, duty 37.00, VAT
    // 20 % of 407.00 = 81.40, fee 12.00: 500.40 instead of 434.40: 66.00 for (1000 + 90) - (850 + 80) = 160 g, 412.50 a kilogram.
    // Alone: the same parcel, as nothing else comes from there.
    let rows = [
        "Light frame,frame,option,,Northmoor,350.00,,,850,,,,",
        "Light frame's headset,headset,option,bundled,,,,,80,Light frame,,,",
    ];
    let found = only(&rows);
    assert_eq!(
        sums(&found),
        expect("66.00", "66.00", "160", Some("412.50"))
    );
    assert_eq!(
        (found.replaces.len(), found.bundled),
        (2, vec!["Light frame's headset".to_owned()])
    );
    // A frame that brings none leaves the place empty.
    let bare = ranking(&rows[..1]);
    assert_eq!(
        bare.left_out[0].reason,
        "it leaves `headset` empty, and no option fills that"
    );
}

/// What a headset usually costs, beside how far masses move.
const USUAL: &str = "what,low,likely,high,currency,valid_from\n\
                     cost:headset,20,30,50,GBP,2021-01-01\n\
                     mass:claimed,-3 %,2 %,8 %,,2021-01-01\n";

fn ranking_with_usual_costs(rows: &[&str]) -> Ranking {
    let tables = tables_with(&[("spreads.csv", USUAL)]);
    rank(&book_with(rows), &tables, &ask(&[])).unwrap()
}

#[test]
fn a_small_place_that_nothing_fills_is_counted_with_usual_figures_and_marked() {
    // As above 66.00, and 30.00 for a headset of (45 + 130) / 2 = 87.5 g: 96.00 for (1000 + 90) - (850 + 87.5) = 152.5 g.
    // Claims of a triangle from -3 to 8 % lie 7/3 % over: 1090 and 850 g become 1115.4 and 869.8, and 87.5 stays: 158.1. Their
    // variances are 505.6, 4.1 and 365.3, that of 87.5 give or take 42.5 is 301.0: the square root of 1176.0 is 34.3.
    let frame = "Light frame,frame,option,,Northmoor,350.00,,,850,,,,";
    let found = ranking_with_usual_costs(&[frame]);
    let [option] = &found.options[..] else {
        panic!("{:?}", found.left_out);
    };
    assert_eq!(
        sums(option),
        expect("96.00", "96.00", "152.5", Some("629.51"))
    );
    assert_eq!(option.title(), "Light frame with usual headset");
    let usual = &option.usual[0];
    assert_eq!(
        (usual.place.as_str(), usual.cost.fixed(2)),
        ("headset", "30.00".to_owned())
    );
    let (expected, deviation) = option.expected.unwrap();
    assert_eq!(
        (expected.to_string(), deviation.to_string()),
        ("158.1".to_owned(), "34.3".to_owned())
    );
    let rung = &found.ladder.rungs[0];
    assert_eq!(
        (rung.option.title(), rung.total.fixed(2)),
        (option.title(), "680.40".to_owned())
    );
    assert!(
        found
            .cautions
            .iter()
            .any(|said| said.id == "usual-counted" && said.about == ["Light frame"])
    );
}

#[test]
fn usual_figures_stand_in_the_outputs() {
    let frame = "Light frame,frame,option,,Northmoor,350.00,,,850,,,,";
    let found = ranking_with_usual_costs(&[frame]);
    let json = rank_json(&found, &ask(&[]), &SHOW, &Value::Null).unwrap();
    assert_eq!(
        json["options"][0]["usual"],
        json!([{"place": "headset", "text": "headset", "cost": "30.00", "mass_g": "87.5"}])
    );
    let view = rank_view(&found, &ask(&[]), &SHOW, None).unwrap();
    let text = text(&view, &Screen::of(100).with_more(true));
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    for said in [
        "Light frame with usual headset: it leaves `headset` empty, which no option fills, so usual figures are counted: 30.00 GBP and 87.5 g for headset",
        "[usual-counted]",
    ] {
        assert!(text.contains(said), "{text}");
    }
}

#[test]
fn what_the_book_has_for_a_small_place_goes_before_usual_figures() {
    let frame = "Light frame,frame,option,,Northmoor,350.00,,,850,,,,";
    let own = "Light headset,headset,option,,Southmoor,30.00,,,60,,,,";
    let boxed = "Light frame's headset,headset,option,bundled,,,,,80,Light frame,,,";
    for other in [own, boxed] {
        let found = ranking_with_usual_costs(&[frame, other]);
        assert!(found.left_out.is_empty(), "{:?}", found.left_out);
        let options = found.options.iter();
        let mut usual = options.flat_map(|option| &option.usual);
        assert_eq!(usual.next(), None, "{other}");
    }
}

#[test]
fn what_it_needs_is_bought_with_it() {
    // Southmoor: 40.00 + 20.00 + 5.00, freight 10.00: 75.00 instead of 50.00, less 20.00 for the old pedals: 5.00 for
    // 350 - (240 + 10) = 100 g. The shim itself is no upgrade and is not ranked.
    let found = only(&[
        "Light pedals,pedals,option,,Southmoor,20.00,,,240,,Shim,,",
        "Shim,shim,option,,Southmoor,5.00,,,10,,,,",
    ]);
    assert_eq!(sums(&found), expect("15.00", "5.00", "100", Some("50.00")));
    assert_eq!(found.needs, ["Shim"]);
}

#[test]
fn a_part_in_hand_costs_nothing_more() {
    let found = only(&["Old race pedals,pedals,option,in-hand,,90.00,GBP,90.00,300,,,,"]);
    assert_eq!(sums(&found), expect("-20.00", "-20.00", "50", None));
    assert_eq!(found.difference.quadrant(), Quadrant::Better);
}

#[test]
fn what_does_not_fit_is_named_and_not_ranked() {
    let found =
        ranking(&["Narrow headset,headset,option,,Southmoor,30.00,,,60,,,headset_cups=narrow,"]);
    assert!(found.options.is_empty());
    let expected = "headset_cups, the joint headset - frame: `Narrow headset` says narrow, `Plain frame` says wide";
    assert_eq!(found.unfit[0].reason, expected);
}

#[test]
fn what_is_not_known_is_named_and_not_ranked() {
    let rows = [
        "Priceless saddle,saddle,option,,Southmoor,,,,180,,,,",
        "Massless saddle,saddle,option,,Southmoor,50.00,,,,,,,",
    ];
    let found = ranking(&rows);
    let reasons: Vec<&str> = found
        .left_out
        .iter()
        .map(|left| left.reason.as_str())
        .collect();
    assert_eq!(
        reasons,
        [
            "no mass is known for `Massless saddle`",
            "no price is known for `Priceless saddle`"
        ]
    );
}

#[test]
fn an_option_of_a_seller_whose_parcel_is_on_its_way_is_a_new_order() {
    // The bar is on order from Southmoor: 90.00 + 10.00, nothing due; the saddle comes from Northmoor with the frame: goods
    // 340.00, freight 20.00, duty 36.00, VAT 79.20, fee 12.00: 487.20. The light pedals travel alone: 30.00 + 10.00, less 20.00.
    let build = "Plain frame,frame,build,to-order,Northmoor,300.00,,,1000,,,,\n\
                 Plain headset,headset,build,bundled,,,,,90,Plain frame,,,\n\
                 Plain saddle,saddle,build,to-order,Northmoor,40.00,,,300,,,,\n\
                 One-piece bar,handlebar + stem,build,on-order,Southmoor,90.00,,90.00,400,,,,60.00\n\
                 Plain pedals,pedals,build,in-hand,,25.00,GBP,0.00,350,,,,20.00\n\
                 Light pedals,pedals,option,,Southmoor,30.00,,,250,,,,\n";
    let found = rank(
        &book(&[("parts", &format!("{HEADER}{build}")), ("sellers", SELLERS)]),
        &tables(),
        &ask(&[]),
    )
    .unwrap();
    assert_eq!(
        (found.landed.fixed(2), &found.left_out[..]),
        ("587.20".to_owned(), &[][..])
    );
    assert_eq!(
        sums(&found.options[0]),
        expect("20.00", "20.00", "100", Some("200.00"))
    );
}

const MANY: [&str; 8] = [
    "Light saddle,saddle,option,,Northmoor,60.00,,,180,,,,",
    "Dear saddle,saddle,option,,Northmoor,90.00,,,180,,,,",
    "Heavy saddle,saddle,option,,Southmoor,5.00,,,500,,,,",
    "Heavy dear saddle,saddle,option,,Southmoor,60.00,,,500,,,,",
    "Light headset,headset,option,,Southmoor,30.00,,,60,,,,",
    "Light headset B,headset,option,,Southmoor,30.00,,,60,,,,",
    "Old race pedals,pedals,option,in-hand,,90.00,GBP,90.00,300,,,,",
    "Plain saddle,,rival,,Northmoor,30.00,,,,,,,",
];

#[test]
fn the_order_of_quadrants_with_ties_by_name() {
    // The rival: Northmoor's goods 330.00, freight 20.00, duty 35.00, VAT 77.00, fee 12.00: 474.00; 474.00 + 100.00 - 584.40 =
    // -10.40 at the same mass. The heavy saddle: 15.00 instead of 50.00, 35.00 for 200 g given up: 175.00 a kilogram.
    let found = ranking(&MANY);
    let titles: Vec<(String, &str)> = found
        .options
        .iter()
        .map(|o| (o.title(), o.difference.quadrant().name()))
        .collect();
    let titles: Vec<(&str, &str)> = titles
        .iter()
        .map(|(title, quadrant)| (title.as_str(), *quadrant))
        .collect();
    let expected = [
        ("Old race pedals", "better"),
        ("Plain saddle from Northmoor", "better"),
        ("Light saddle", "trade-off"),
        ("Dear saddle", "trade-off"),
        ("Light headset", "trade-off"),
        ("Light headset B", "trade-off"),
        ("Heavy saddle", "gives-up"),
        ("Heavy dear saddle", "worse"),
    ];
    assert_eq!(titles, expected);
    assert_eq!(found.options[1].together.fixed(2), "-10.40");
    let heavy = &found.options[6].difference;
    assert_eq!(
        (
            heavy.per_kg().unwrap(),
            heavy.per_kg_given_up().unwrap().unwrap().fixed(2)
        ),
        (None, "175.00".to_owned())
    );
    assert_eq!(found.options[3].beaten_by.as_deref(), Some("Light saddle"));
    assert_eq!(found.options[2].beaten_by, None);
}

#[test]
fn what_a_part_does_not_say_at_a_joint_is_noted() {
    let found = only(&["Silent headset,headset,option,,Southmoor,30.00,,,60,,,,"]);
    assert_eq!(
        found.notes,
        [
            "`Silent headset` does not say its `headset_cups`, and `Plain frame` does: find out before ordering"
        ]
    );
}

#[test]
fn a_build_that_does_not_fit_is_said_and_an_option_may_mend_it() {
    // The headset in the frame's box is made wide; of the two options one suits the slim frame.
    let parts =
        format!("{HEADER}{BUILD}").replace("1000,,,headset_cups=wide", "1000,,,headset_cups=slim");
    let option = "Wide headset,headset,option,,Southmoor,30.00,,,60,,,headset_cups=wide,\nSlim headset,headset,option,,Southmoor,30.00,,,60,,,headset_cups=slim,\n";
    let found = rank(
        &book(&[("parts", &format!("{parts}{option}")), ("sellers", SELLERS)]),
        &tables(),
        &ask(&[]),
    )
    .unwrap();
    let clash = found
        .cautions
        .iter()
        .find(|caution| caution.id == "clash")
        .unwrap();
    assert_eq!(
        clash.about,
        [
            "headset_cups, the joint headset - frame: `Plain frame` says slim, `Plain headset` says wide (The bearings must be of the frame's sizes)"
        ]
    );
    assert_eq!(
        found
            .options
            .iter()
            .map(|o| o.part.as_str())
            .collect::<Vec<_>>(),
        ["Slim headset"]
    );
    assert_eq!(
        found
            .unfit
            .iter()
            .map(|o| o.part.as_str())
            .collect::<Vec<_>>(),
        ["Wide headset"]
    );
}

#[test]
fn shuffling_the_rows_changes_nothing() {
    let seen = |found: &Ranking| -> Vec<_> {
        found
            .options
            .iter()
            .map(|o| (o.title(), sums(o), o.beaten_by.clone()))
            .collect()
    };
    let first = seen(&ranking(&MANY));
    let build: Vec<&str> = BUILD.lines().map(str::trim).collect();
    let all: Vec<&str> = build.into_iter().chain(MANY).collect();
    for turn in 1..all.len() {
        let mut turned = all.clone();
        turned.rotate_left(turn);
        if turn % 2 == 0 {
            turned.reverse();
        }
        let parts = format!("{HEADER}{}\n", turned.join("\n"));
        let found = rank(
            &book(&[("parts", &parts), ("sellers", SELLERS)]),
            &tables(),
            &ask(&[]),
        )
        .unwrap();
        assert_eq!(seen(&found), first, "turned by {turn}");
    }
}

#[test]
fn a_worth_per_kilogram_gives_a_net_benefit_to_all() {
    // 250.00 a kilogram: 120 g are worth 30.00, less 29.20: 0.80; 200 g given up cost 50.00, and 35.00 is saved: -15.00.
    let found = rank(
        &book_with(&MANY),
        &tables(),
        &ask(&[("worth_per_kg", "250")]),
    )
    .unwrap();
    let net = |name: &str| {
        found
            .options
            .iter()
            .find(|o| o.part == name)
            .unwrap()
            .net_benefit
            .unwrap()
            .fixed(2)
    };
    assert_eq!(
        (net("Light saddle"), net("Heavy saddle")),
        ("0.80".to_owned(), "-15.00".to_owned())
    );
}
