//! Parcels to the United States, worked by hand from the texts of the law and not from the tables: Section 232 as rewritten
//! on 2026-04-06, Section 301 (forced labour) with its floors since 2026-07-24, the China lists, Brazil, post, the fees.
//! And what the tables once had wrong: Australian parts, steel screws in the Union, Romania's tax, the postal fees.

use landwaiter::landed::Landed;
use landwaiter::units::{Dec, HomeMoney};

use crate::kit;
use crate::law_parcels::costed;
use crate::law_read_again::in_dispute;
use crate::small::home;

/// A parcel of one piece: its digits, where it was made, whether a preference is claimed, its traits, its price in dollars.
struct Piece<'a> {
    digits: &'a str,
    origin: &'a str,
    claimed: bool,
    traits: &'a str,
    price: &'a str,
}

fn piece<'a>(digits: &'a str, origin: &'a str, price: &'a str) -> Piece<'a> {
    Piece {
        digits,
        origin,
        claimed: false,
        traits: "",
        price,
    }
}

/// The bill of that parcel, sent from Japan in dollars with nothing for freight, on the day it arrives.
fn landed(to: &str, way: &str, day: &str, settings: &[(&str, &str)], one: &Piece<'_>) -> Landed {
    let mut asked = format!("setting,value\ndestination,{to}\ndate,{day}\n");
    settings
        .iter()
        .for_each(|(name, value)| asked.push_str(&format!("{name},{value}\n")));
    let claim = if one.claimed { "yes" } else { "" };
    let parts = format!(
        "part,place,seller,price,mass_g,origin,preference,commodity,traits\npiece,tool,Kelpwood,{},500,{},{claim},{},{}\n",
        one.price, one.origin, one.digits, one.traits
    );
    let sellers = format!(
        "seller,dispatch,currency,freight,channel,transit_days\nKelpwood,JP,USD,0,{way},0\n"
    );
    costed(&[
        ("settings", &asked),
        ("parts", &parts),
        ("sellers", &sellers),
    ])
}

/// Duty and fees of a parcel to the United States.
#[track_caller]
fn owes(way: &str, day: &str, one: &Piece<'_>, duty: &str, fees: &str) {
    let landed = landed("US", way, day, &[], one);
    let amounts = &landed.bills[0].lines[0].amounts;
    assert_eq!(
        (amounts.duty, amounts.handling),
        (home(duty), home(fees)),
        "{} of {} on {day} by {way}",
        one.digits,
        one.origin
    );
}

/// Ten parcels after 24 July 2026, each summed from the rates as the texts give them. By courier the entry costs 2.69 to
/// 30 September 2026 and 2.77 from 1 October (informal entry, 19 CFR 24.23 as indexed).
#[test]
fn ten_parcels_to_the_united_states_agree_with_the_texts() {
    // a chain: 7315.11 free; Section 232 50 % of 84 = 42.00, and so nothing of Section 301
    owes(
        "courier",
        "2026-11-20",
        &piece("73151100", "JP", "84"),
        "42.00",
        "2.77",
    );
    // German wheels: 8714.99.80 10 % = 120.00, which reaches the Union's floor of 10 %
    owes(
        "courier",
        "2026-11-20",
        &piece("87149980", "DE", "1200"),
        "120.00",
        "2.77",
    );
    // a Japanese crankset: 8714.96.50 free, topped up to 12.5 % of 400 = 50.00
    owes(
        "courier",
        "2026-11-20",
        &piece("87149650", "JP", "400"),
        "50.00",
        "2.77",
    );
    // a Chinese derailleur: free, list 4A 7.5 % of 200 = 15.00, and 12.5 % = 25.00
    owes(
        "courier",
        "2026-11-20",
        &piece("87149950", "CN", "200"),
        "40.00",
        "2.77",
    );
    // a Taiwanese saddle: 8714.95 8 % of 150 = 12.00, topped up to 10 % = 15.00
    owes(
        "courier",
        "2026-11-20",
        &piece("87149500", "TW", "150"),
        "15.00",
        "2.77",
    );
    // a British hub of thru-axle kind: 8714.93.35 10 % of 300 = 30.00, and 10 % flat = 30.00
    owes(
        "courier",
        "2026-11-20",
        &piece("87149335", "GB", "300"),
        "60.00",
        "2.77",
    );
    // a Vietnamese tyre: 4011.50 free, 12.5 % of 60 = 7.50
    owes(
        "courier",
        "2026-09-20",
        &piece("40115000", "VN", "60"),
        "7.50",
        "2.69",
    );
    // a Brazilian handlebar: 10 % of 100 = 10.00, 12.5 % = 12.50, 25 % = 25.00
    owes(
        "courier",
        "2026-11-20",
        &piece("87149980", "BR", "100"),
        "47.50",
        "2.77",
    );
    // Chinese screws under 6 mm: 6.2 % of 100 = 6.20, list 3 25.00, Section 232 50.00
    owes(
        "courier",
        "2026-11-20",
        &piece("73181560", "CN", "100"),
        "81.20",
        "2.77",
    );
    // a frame of 3,000 made in Taiwan: 3.9 % = 117.00, topped up to 300.00; formal entry, 0.3464 % = 10.39, at least 34.58
    owes(
        "courier",
        "2026-11-20",
        &piece("87149120", "TW", "3000"),
        "300.00",
        "34.58",
    );
}

/// The Chinese list 4A derailleur of the test before: by post the same duty, and no fee of an entry.
#[test]
fn a_parcel_by_post_pays_what_one_by_courier_pays_since_the_24th_of_july() {
    // until the 23rd one rate of 10 % stood in place of all: 20.00
    owes(
        "post",
        "2026-07-23",
        &piece("87149950", "CN", "200"),
        "20.00",
        "0",
    );
    owes(
        "post",
        "2026-07-24",
        &piece("87149950", "CN", "200"),
        "40.00",
        "0",
    );
}

#[test]
fn the_surcharge_ends_where_the_forced_labour_duty_begins() {
    // a Vietnamese tyre of 100: 10 % to the 23rd, 12.5 % from the 24th
    owes(
        "courier",
        "2026-07-23",
        &piece("40115000", "VN", "100"),
        "10.00",
        "2.69",
    );
    owes(
        "courier",
        "2026-07-24",
        &piece("40115000", "VN", "100"),
        "12.50",
        "2.69",
    );
    // an origin that the notice does not name bears nothing more
    owes(
        "courier",
        "2026-07-24",
        &piece("40115000", "LA", "100"),
        "0",
        "2.69",
    );
}

#[test]
fn what_bears_section_232_bears_no_surcharge_and_no_floor() {
    for origin in ["JP", "DE", "TW", "KR", "CH", "VN", "CN", "BR"] {
        // 50 % of 100 on a chain of any origin; China's list 3 stands beside it
        let duty = if origin == "CN" { "75.00" } else { "50.00" };
        owes(
            "courier",
            "2026-11-20",
            &piece("73151100", origin, "100"),
            duty,
            "2.77",
        );
    }
    // in June the same chain paid 50 %, and no surcharge of 10 %
    owes(
        "courier",
        "2026-06-01",
        &piece("73151100", "JP", "100"),
        "50.00",
        "2.69",
    );
    // ball bearings: 9 %, and 25 % of Annex I-B
    owes(
        "courier",
        "2026-11-20",
        &piece("84821050", "JP", "100"),
        "34.00",
        "2.77",
    );
}

#[test]
fn one_rate_only_of_section_232_counts() {
    let with = |digits, origin, traits| Piece {
        digits,
        origin,
        claimed: false,
        traits,
        price: "100",
    };
    // melted in the United Kingdom: 25 % in place of 50; of the same make from elsewhere 50
    owes(
        "courier",
        "2026-11-20",
        &with("73151100", "GB", "melted=GB"),
        "25.00",
        "2.77",
    );
    owes(
        "courier",
        "2026-11-20",
        &with("73151100", "GB", ""),
        "50.00",
        "2.77",
    );
    // bearings of metal melted in the USA: 9 + 10
    owes(
        "courier",
        "2026-11-20",
        &with("84821050", "JP", "melted=US"),
        "19.00",
        "2.77",
    );
    // listed, but under 15 % metal by weight: out of Section 232, so 9 % is topped up to Japan's 12.5
    owes(
        "courier",
        "2026-11-20",
        &with("84821050", "JP", "s232=no"),
        "12.50",
        "2.77",
    );
    // what the user was told takes the place of the row: 25 % in place of 50
    owes(
        "courier",
        "2026-11-20",
        &with("73151100", "JP", "s232=yes + s232_rate=0.25"),
        "25.00",
        "2.77",
    );
    // told of a stem: 10 % and 25 %, no top-up
    owes(
        "courier",
        "2026-11-20",
        &with("87149980", "JP", "s232=yes + s232_rate=0.25"),
        "35.00",
        "2.77",
    );
    // marked and no rate told: 25 % is counted, disputed
    owes(
        "courier",
        "2026-11-20",
        &with("87149980", "JP", "s232=yes"),
        "35.00",
        "2.77",
    );
    let unsure = landed(
        "US",
        "courier",
        "2026-11-20",
        &[],
        &with("87149980", "JP", "s232=yes"),
    );
    assert_eq!(
        unsure.bills[0]
            .disputed
            .iter()
            .map(|one| one.id.as_str())
            .collect::<Vec<_>>(),
        ["s232_untold"]
    );
}

#[test]
fn goods_of_canada_are_free_of_the_flat_duty_where_the_agreement_is_claimed() {
    let with = |claimed| Piece {
        digits: "87149980",
        origin: "CA",
        claimed,
        traits: "",
        price: "100",
    };
    // 10 % and 10 % flat; claimed: nothing, no processing fee either (19 CFR 24.23(c)(3))
    owes("courier", "2026-11-20", &with(false), "20.00", "2.77");
    owes("courier", "2026-11-20", &with(true), "0", "0");
    // Korea: the claim frees the ordinary 10 % and of the fee, and the floor of 12.5 % is due in full
    owes(
        "courier",
        "2026-11-20",
        &Piece {
            digits: "87149980",
            origin: "KR",
            claimed: true,
            traits: "",
            price: "100",
        },
        "12.50",
        "0",
    );
}

/// What is paid for a piece by courier on 20 November 2026, and what without the charges that are disputed, which are these.
#[track_caller]
fn costs(one: &Piece<'_>, all: &str, undisputed: &str, disputed: &[&str]) {
    let landed = landed("US", "courier", "2026-11-20", &[], one);
    let bill = &landed.bills[0];
    assert_eq!(
        (bill.amounts.landed().unwrap(), bill.landed_undisputed),
        (home(all), home(undisputed)),
        "{}",
        one.origin
    );
    assert_eq!(
        bill.disputed
            .iter()
            .map(|one| one.id.as_str())
            .collect::<Vec<_>>(),
        disputed,
        "{}",
        one.origin
    );
}

/// A bolt of titanium, 8108.90.30, 5.5 % (ruling NY G80933). Whether the forced labour duty falls on it is not known: 91 FR 47318
/// prints its list of exceptions as pictures. The entry costs 2.77.
#[test]
fn titanium_shows_both_sums() {
    // Taiwan: 4.62, topped up to 10 % of 84 by 3.78
    costs(
        &piece("81089030", "TW", "84"),
        "95.17",
        "91.39",
        &["s301_top_titanium"],
    );
    // China: 5.50, list 3 25.00, and 12.50
    costs(
        &piece("81089030", "CN", "100"),
        "145.77",
        "133.27",
        &["s301_fl_titanium"],
    );
    // Brazil: 5.50 and 12.50; the 25 % of 91 FR 45516 leaves titanium out by name (note 50(a)(ii))
    costs(
        &piece("81089030", "BR", "100"),
        "120.77",
        "108.27",
        &["s301_fl_titanium"],
    );
}

/// Memorandum of 23 July 2026 (91 FR 47717), section 1(a)(ii): 12.5 % for Japan, Korea and Switzerland, 10 % for the Union and Taiwan.
#[test]
fn the_floors_are_those_of_the_memorandum() {
    for (origin, all) in [
        ("JP", "452.77"),
        ("KR", "452.77"),
        ("CH", "452.77"),
        ("DE", "442.77"),
        ("TW", "442.77"),
    ] {
        costs(&piece("87149650", origin, "400"), all, all, &[]);
    }
}

/// Proclamation 11046 (91 FR 46639), heading 9903.03.12: 50 % on listed goods of Canada, put off from 19 to 22 August 2026.
#[test]
fn canadian_goods_bear_section_338_only_where_the_user_was_told() {
    let told = |claimed| Piece {
        digits: "87149980",
        origin: "CA",
        claimed,
        traits: "s338=yes",
        price: "100",
    };
    // 10 %, 10 % flat, 50 %; claimed: the 50 % alone, and no processing fee
    owes("courier", "2026-11-20", &told(false), "70.00", "2.77");
    owes("courier", "2026-11-20", &told(true), "50.00", "0");
    owes("courier", "2026-08-21", &told(false), "20.00", "2.69");
    owes(
        "courier",
        "2026-11-20",
        &Piece {
            traits: "",
            ..told(false)
        },
        "20.00",
        "2.77",
    );
    owes(
        "courier",
        "2026-11-20",
        &Piece {
            origin: "GB",
            ..told(false)
        },
        "20.00",
        "2.77",
    );
}

/// 19 CFR 145.12 as of 24 July 2026 (91 FR 37801): a broker or carrier makes the entry of a parcel by post, and no longer customs.
#[test]
fn the_fee_of_an_entry_written_by_customs_is_disputed_since_the_rule_on_mail() {
    let disputed = |day| {
        let landed = landed(
            "US",
            "post",
            day,
            &[("choice.mail_entry", "customs")],
            &piece("87149980", "GB", "1000"),
        );
        landed.bills[0]
            .disputed
            .iter()
            .any(|one| one.id == "dutiable_mail")
    };
    assert_eq!(
        (
            disputed("2026-07-23"),
            disputed("2026-07-24"),
            disputed("2026-10-20")
        ),
        (false, true, true)
    );
}

/// What the ordinary duty and anti-dumping of one piece come to elsewhere.
#[track_caller]
fn elsewhere(to: &str, day: &str, one: &Piece<'_>) -> (Dec, Dec) {
    let landed = landed(to, "courier", day, &[], one);
    assert!(
        landed.bills[0].gaps.is_empty(),
        "{to}: no duty known for {}",
        one.digits
    );
    let amounts = &landed.bills[0].lines[0].amounts;
    (amounts.duty.amount(), amounts.remedy.amount())
}

#[test]
fn parts_are_free_in_australia_and_frames_are_not() {
    for digits in [
        "871492", "871493", "871494", "871495", "871496", "871499", "401150", "401320", "650610",
        "810890",
    ] {
        assert_eq!(
            elsewhere("AU", "2026-10-20", &piece(digits, "TW", "2000")).0,
            Dec::ZERO,
            "{digits}"
        );
    }
    for digits in ["871491", "871200", "731511", "731815", "850760"] {
        assert!(
            elsewhere("AU", "2026-10-20", &piece(digits, "TW", "2000")).0 > Dec::ZERO,
            "{digits}"
        );
    }
    // free where a concession order is named, or the Pacific agreement is claimed
    let frame = piece("871491", "TW", "2000");
    let freed = landed(
        "AU",
        "courier",
        "2026-10-20",
        &[("choice.concession", "yes")],
        &frame,
    );
    assert_eq!(freed.bills[0].lines[0].amounts.duty, HomeMoney::ZERO);
    let claimed = Piece {
        digits: "871491",
        origin: "JP",
        claimed: true,
        traits: "",
        price: "2000",
    };
    assert_eq!(elsewhere("AU", "2026-10-20", &claimed).0, Dec::ZERO);
}

#[test]
fn a_steel_screw_from_china_bears_anti_dumping_in_the_union_and_a_stainless_one_does_not() {
    let remedy = |digits, traits, to| {
        elsewhere(
            to,
            "2026-10-20",
            &Piece {
                digits,
                origin: "CN",
                claimed: false,
                traits,
                price: "30",
            },
        )
        .1
    };
    assert!(remedy("73181568", "", "DE") > Dec::ZERO);
    assert!(remedy("731815", "material=steel", "DE") > Dec::ZERO);
    assert_eq!(remedy("73181562", "", "DE"), Dec::ZERO);
    assert_eq!(remedy("731815", "material=stainless", "DE"), Dec::ZERO);
    assert_eq!(remedy("73181600", "", "DE"), Dec::ZERO);
    assert_eq!(remedy("73181568", "", "GB"), Dec::ZERO);
    // the metal is not said: both sums, by courier beside those of the 3 EUR
    let unsaid = |way| {
        let screws = piece("731815", "CN", "30");
        landed("DE", way, "2026-10-20", &[], &screws)
            .bills
            .remove(0)
    };
    let posted = unsaid("post");
    assert_eq!(in_dispute(&posted), ["anti_dumping"]);
    assert!(posted.landed_undisputed < posted.amounts.landed().unwrap());
    let small_parcel = ["flat_replaces_tariff", "flat_item_duty", "anti_dumping"];
    assert_eq!(in_dispute(&unsaid("courier")), small_parcel);
}

#[test]
fn the_agreements_with_switzerland_and_korea_free_a_claimed_wheel_in_the_union() {
    for origin in ["CH", "KR"] {
        let one = |claim: &str| {
            let seller = format!("{origin},USD,0,courier");
            let row = format!("piece,tool,1400,{origin},{claim},87149990");
            let columns = crate::law_read_again::GOODS;
            crate::law_read_again::bill("DE", "2026-10-20", &seller, columns, &[&row])
        };
        assert!(!one("").amounts.duty.is_zero(), "{origin}");
        assert!(one("yes").amounts.duty.is_zero(), "{origin}");
    }
}

#[test]
fn the_romanian_parcel_tax_is_the_sellers_unless_the_carrier_takes_it_at_the_door() {
    let tyre = piece("401150", "TW", "50");
    let fees = |settings: &[(&str, &str)]| {
        landed("RO", "courier", "2026-05-20", settings, &tyre).bills[0].lines[0]
            .amounts
            .handling
    };
    assert_eq!(fees(&[]), HomeMoney::ZERO);
    assert_eq!(fees(&[("choice.logistics_tax", "yes")]), home("25"));
}

#[test]
fn postal_fees_are_those_of_the_year() {
    let fee = |to, price| {
        landed(to, "post", "2026-10-20", &[], &piece("401150", "TW", price)).bills[0].lines[0]
            .amounts
            .handling
    };
    // 60 dollars lie under every limit, 600 over it
    for (to, low, high) in [
        ("SE", "100", "175"),
        ("NL", "6", "12"),
        ("FI", "3.10", "3.10"),
        ("AT", "6", "12"),
        ("DE", "6", "6"),
        ("FR", "7", "5"),
    ] {
        assert_eq!(
            (fee(to, "60"), fee(to, "600")),
            (home(low), home(high)),
            "{to}"
        );
    }
    let counter = [("choice.pay", "counter")];
    let tyre = piece("401150", "TW", "600");
    let paid = landed("FR", "post", "2026-10-20", &counter, &tyre);
    assert_eq!(paid.bills[0].lines[0].amounts.handling, home("8"));
    let silent = [("choice.cooperates", "no")];
    let tyre = piece("401150", "TW", "60");
    let czech = landed("CZ", "post", "2026-10-20", &silent, &tyre);
    assert_eq!(czech.bills[0].lines[0].amounts.handling, home("150"));
}

#[test]
fn canada_heeds_a_claimed_origin_and_korea_marks_its_simple_rate() {
    let frame = |claimed| Piece {
        digits: "87149190",
        origin: "US",
        claimed,
        traits: "",
        price: "1000",
    };
    assert!(elsewhere("CA", "2026-10-20", &frame(false)).0 > Dec::ZERO);
    assert_eq!(elsewhere("CA", "2026-10-20", &frame(true)).0, Dec::ZERO);
    let simple = landed(
        "KR",
        "post",
        "2026-10-20",
        &[],
        &piece("871499", "TW", "300"),
    );
    assert_eq!(
        simple.bills[0]
            .disputed
            .iter()
            .map(|one| one.id.as_str())
            .collect::<Vec<_>>(),
        ["duty_simple_rest"]
    );
}

#[test]
fn a_helmet_of_six_digits_has_a_duty_where_its_lines_agree() {
    for to in ["GB", "DE", "US", "NO", "KR", "CA", "AU"] {
        elsewhere(to, "2026-10-20", &piece("650610", "TW", "200"));
    }
}

/// The duties under the emergency powers (struck down on 20 February 2026) simply ended: each last row of them says so itself, and
/// leaves it to nobody to ask what followed.
#[test]
fn duties_that_were_struck_down_say_that_they_ended() {
    let (mut asked, mut silent) = (0, Vec::new());
    for (table, key) in [
        ("charges", ["charge", "when", "charge"]),
        ("tariff", ["layer", "commodity", "origin"]),
    ] {
        let text =
            std::fs::read_to_string(kit::home().join(format!("rates/us/{table}.csv"))).unwrap();
        let mut rows = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .from_reader(text.as_bytes());
        let rows: Vec<std::collections::BTreeMap<String, String>> =
            rows.deserialize().map(Result::unwrap).collect();
        for row in rows.iter().filter(|row| row["certainty"] == "annulled") {
            let same = |other: &&std::collections::BTreeMap<String, String>| {
                key.iter().all(|one| other[*one] == row[*one])
            };
            if rows
                .iter()
                .filter(same)
                .any(|other| other["valid_from"] > row["valid_to"])
            {
                continue;
            }
            asked += 1;
            if row["after"].is_empty() {
                silent.push(key.map(|one| row[one].clone()).join(" "));
            }
        }
    }
    assert_eq!((asked, silent), (12, Vec::<String>::new()));
}

/// Frame, fork, wheels and calipers in one parcel may be a bicycle, at 11 %: above the floor of 10 % for wheels of Germany and calipers
/// of Taiwan, below that of 12.5 % for a frame of Japan. They share one sum, and the parcel was refused as if the wheels were given money.
#[test]
fn parts_of_a_bicycle_share_what_tops_its_duty_up() {
    let parts = "part,place,seller,price,currency,dispatch,freight,channel,mass_g,origin\n\
        Frame,frame,Amberway,1000.00,USD,JP,20.00,courier,1300,JP\n\
        Fork,fork,Amberway,200.00,USD,JP,20.00,courier,400,CN\n\
        Wheels,wheels,Amberway,500.00,USD,JP,20.00,courier,1500,DE\n\
        Calipers,calipers,Amberway,100.00,USD,JP,20.00,courier,200,TW\n";
    let ask = crate::abroad::ask("US", "2026-09-23", &[("remedies", "count")]);
    let book = crate::abroad::book(parts);
    let landed = landwaiter::cost(&book, crate::abroad::built_in(), &ask)
        .unwrap_or_else(|problems| panic!("{}", landwaiter::text::draw(&problems, false)));
    // 12.5 - 11 % of 1,000.00, less 11 - 10 % of 600.00
    assert_eq!(
        crate::abroad::row(&landed.bills[0], "s301_top"),
        crate::small::dec("9.00")
    );
}
