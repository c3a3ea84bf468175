//! Parcels worked by hand from the American schedule of 25 February 2026 (revision 4, as the trade commission exports it), and from the
//! texts of Canada, New Zealand and South Africa that were read beside it.

use landwaiter::landed::Bill;
use landwaiter::units::HomeMoney;

use crate::law_read_again::{GOODS, bill, says};
use crate::small::home;

/// The usual columns and what is told of the goods.
const TOLD: &str = "part,place,price,origin,preference,commodity,traits";

/// The bill of one thing of 1,000 dollars by courier: in June 2024 the ordinary duty stood alone.
fn to_the_usa(
    day: &str,
    origin: &str,
    claimed: &str,
    (place, digits, traits): (&str, &str, &str),
) -> Bill {
    let seller = format!("{origin},USD,0,courier");
    let row = format!("thing,{place},1000,{origin},{claimed},{digits},{traits}");
    bill("US", day, &seller, TOLD, &[&row])
}

/// What one thing made in Taiwan owes in ordinary duty.
fn ordinary(goods: (&str, &str, &str)) -> Bill {
    to_the_usa("2024-06-20", "TW", "", goods)
}

/// Headings 6403.19.40 (men's, 4.3 %) and 6403.19.70 (other persons, free); rulings NY D88734 and NY G85645. Where it is not told
/// whose they are, the dearer counts and what hangs on it is said. From China 7.5 and 12.5 % come on top of each.
#[test]
fn leather_shoes_are_free_for_others_than_men_in_the_usa() {
    let leather = |digits: &str, traits: &str| ordinary(("shoes", digits, traits));
    for (digits, traits, duty) in [
        ("", "material=leather + wearer=men", "43"),
        ("", "material=leather + wearer=women", "0"),
        ("64031970", "material=leather", "0"),
        ("64031970", "", "0"),
        ("64031940", "material=leather", "43"),
    ] {
        let told = leather(digits, traits);
        assert_eq!(told.amounts.duty, home(duty), "{digits} {traits}");
        assert!(told.gaps.is_empty(), "{digits} {traits}");
        assert!(!says(&told, "digits-open") && !says(&told, "digits-unknown"));
    }
    let open = leather("", "material=leather");
    assert_eq!((open.amounts.duty, open.gaps.len()), (home("43"), 0));
    let said = open
        .cautions
        .iter()
        .find(|one| one.id == "digits-open")
        .unwrap();
    assert!(
        said.text.contains("`640319`") && said.to_string().starts_with("43"),
        "{said}"
    );
    let chinese = |traits: &str| {
        to_the_usa("2026-11-20", "CN", "", ("shoes", "", traits))
            .amounts
            .duty
    };
    assert_eq!(chinese("material=leather + wearer=women"), home("200"));
    assert_eq!(chinese("material=leather + wearer=men"), home("243"));
}

/// Headings 6402.19.15 (uppers over 90 percent of plastics, 5.1 %) and 6402.19.90 (9 %); ruling NY N091696.
#[test]
fn shoes_wholly_of_plastics_bear_less_in_the_usa() {
    for (traits, duty, open) in [
        ("material=synthetic + plastics_share=0.95", "51", false),
        ("material=synthetic + plastics_share=0.9", "90", false),
        ("material=synthetic", "90", true),
    ] {
        let shoes = ordinary(("shoes", "", traits));
        assert_eq!(shoes.amounts.duty, home(duty), "{traits}");
        assert_eq!(says(&shoes, "digits-open"), open, "{traits}");
    }
}

/// Lines that had no rate, or a wrong one: column 1 general of the schedule.
#[test]
fn rates_of_the_american_schedule() {
    for (place, digits, duty) in [
        ("wheels", "87149324", "0"),
        ("wheels", "87149328", "30"),
        ("lock", "83011020", "23"),
        ("lock", "83011050", "36"),
        ("lock", "83011080", "48"),
        ("spare", "82034060", "33"),
        ("shoes", "64041120", "105"),
        ("saddle-bag", "", "176"),
        ("saddle-bag", "42029297", "176"),
        ("computer", "90299040", "60"),
    ] {
        let one = ordinary((place, digits, ""));
        assert_eq!(one.amounts.duty, home(duty), "{place} {digits}");
        assert!(one.gaps.is_empty(), "{place} {digits}");
    }
}

/// Column 1 special: JP with its rate, and partners by the signs BH, OM and P.
#[test]
fn claims_of_the_american_schedule() {
    let claimed = |origin: &str, digits: &str| {
        to_the_usa("2024-06-20", origin, "yes", ("wheels", digits, ""))
    };
    for (origin, digits, duty) in [
        ("JP", "87149120", "0"),
        ("JP", "87149130", "0"),
        ("JP", "87149210", "0"),
        ("JP", "87149250", "50"),
        ("JP", "87149328", "0"),
        ("JP", "87149335", "50"),
        ("JP", "87149490", "50"),
        ("JP", "87149610", "40"),
        ("JP", "87149690", "50"),
        ("JP", "76161070", "27.50"),
        ("JP", "73181900", "28.50"),
        ("BH", "87149980", "0"),
        ("OM", "87120035", "0"),
        ("SV", "87149250", "0"),
        ("MA", "85076000", "0"),
    ] {
        let one = claimed(origin, digits);
        assert_eq!(one.amounts.duty, home(duty), "{origin} {digits}");
        assert!(!says(&one, "preference-unknown"), "{origin} {digits}");
    }
    assert!(says(&claimed("GB", "87149980"), "preference-unknown"));
}

/// What the dispute saves of a bill.
fn in_dispute(bill: &Bill) -> HomeMoney {
    bill.amounts
        .landed()
        .unwrap()
        .minus(bill.landed_undisputed)
        .unwrap()
}

/// B.C. Reg. 261/2021 (b.2) frees kits that make a bicycle an e-bike of up to 500 W; Bulletin PST 204 frees chain and gear assemblies
/// and other parts made for bicycles. 5 % of 100 dollars are federal, 7 the province's.
#[test]
fn kits_and_links_of_chains_bear_no_tax_of_british_columbia() {
    let of = |day: &str, place: &str, digits: &str, traits: &str| {
        let row = format!("thing,{place},100,TW,,{digits},{traits}");
        bill("CA-BC", day, "TW,CAD,0,courier", TOLD, &[&row])
    };
    let now = |place: &str, digits: &str, traits: &str| of("2026-11-20", place, digits, traits);
    let tax = |bill: &Bill| bill.amounts.tax_at_border;
    assert_eq!(tax(&now("quick-link", "731519", "")), home("5"));
    for (traits, owed, disputed) in [
        ("conversion_kit=yes", "5", "0"),
        ("conversion_kit=yes + motor_watts=750", "12", "0"),
        ("conversion_kit=no", "12", "0"),
        ("", "12", "7"),
    ] {
        let motor = now("spare", "850131", traits);
        assert_eq!(tax(&motor), home(owed), "{traits}");
        assert_eq!(in_dispute(&motor), home(disputed), "{traits}");
    }
    let before = of("2021-04-20", "spare", "850131", "conversion_kit=yes");
    assert_eq!(
        tax(&before),
        home("12"),
        "the regulation is of 21 April 2021"
    );
    for (place, digits) in [
        ("battery", ""),
        ("caliper-bolts", "731815"),
        ("valves", "848180"),
        ("power-meter", "903180"),
    ] {
        let part = now(place, digits, "");
        assert_eq!(
            (tax(&part), in_dispute(&part)),
            (home("12"), home("7")),
            "{place}"
        );
    }
}

/// Additional Notes 5 and 6 to Chapter 87 and general rule 2(a): frame, fork, wheels, crankset and calipers of 11,000 rand are a bicycle
/// at 15 %; that handlebar, saddle and tyre of 1,400 go with it is in dispute. By themselves the first two are free, and for the
/// tyre no rate is known.
#[test]
fn the_rest_of_a_bicycle_goes_with_it_in_south_africa() {
    let parcel = bill(
        "ZA",
        "2026-11-20",
        "TW,ZAR,0,courier",
        GOODS,
        &[
            "frame,frame,5000,TW,,",
            "fork,fork,1000,TW,,",
            "wheels,wheels,3000,TW,,",
            "crankset,crankset,1500,TW,,",
            "calipers,calipers,500,TW,,",
            "handlebar,handlebar,500,TW,,",
            "saddle,saddle,500,TW,,",
            "tyre,tyre,400,TW,,",
        ],
    );
    assert_eq!(parcel.amounts.duty, home("1860"));
    assert!(parcel.gaps.is_empty());
    // 15 % of 1,400 with 15 % of tax upon it
    assert_eq!(in_dispute(&parcel), home("241.50"));
}

/// General rule 2(a) where it was not read how far it goes: a tyre made in China goes with the bicycle, 11 + 25 + 12.5 % of 100 dollars, or
/// everything is single parts.
#[test]
fn the_rest_of_a_bicycle_goes_with_it_or_all_is_parts_in_the_usa() {
    let parcel = |tyre: bool| {
        let mut parts = vec![
            "frame,frame,900,CN,,",
            "fork,fork,300,CN,,",
            "wheels,wheels,600,CN,,",
            "crankset,crankset,250,CN,,",
        ];
        parts.extend(tyre.then_some("tyre,tyre,100,CN,,"));
        bill("US", "2026-11-20", "CN,USD,0,courier", GOODS, &parts)
    };
    let (with, without) = (parcel(true), parcel(false));
    assert_eq!(
        with.amounts.duty.minus(without.amounts.duty).unwrap(),
        home("48.50")
    );
    assert_eq!(with.otherwise.unwrap().1, with.landed_undisputed);
}

/// The levy of 1.28 dollars a kilogram of mail, with 15 % of tax upon it: above 1,000 dollars it is in dispute, since the page of Customs
/// speaks of low-value goods.
#[test]
fn the_levy_on_mail_is_in_dispute_above_a_thousand_dollars_in_new_zealand() {
    let of = |price: &str| {
        let row = format!("frame,frame,{price},TW,2000");
        bill(
            "NZ",
            "2026-11-20",
            "TW,NZD,0,post",
            "part,place,price,origin,mass_g",
            &[&row],
        )
    };
    let (small, large) = (of("900"), of("1100"));
    assert!(!small.disputed.iter().any(|one| one.id == "mail_levy"));
    assert!(large.disputed.iter().any(|one| one.id == "mail_levy"));
    assert!(in_dispute(&large).is_positive());
}
