//! Territories: calculated by rows of their region, or refused by name, whether the region, the postcode or a code of its own leads
//! there; destinations of one's own.
//!
//! Which territories lie outside the Union's customs and tax areas: Regulation (EU) 952/2013 article 4, Directive 2006/112/EC
//! article 6. Rates of the Azores: circular 25045/2024 of the Portuguese tax authority, 16 %; of Jungholz and Mittelberg: § 10 (4)
//! of the Austrian VAT act, 19 %.

use crate::harness::{Ran, landwaiter};

const PARTS: &str = "part,place,seller,price,currency,dispatch,freight,channel,transit_days,origin\n\
    Lowtide bar,handlebar,Taolin,200.00,EUR,TW,20.00,courier,0,TW\n";

fn to(place: &str) -> Ran {
    landwaiter(&format!(
        "cost parts.csv --to {place} --on 2026-11-02 --format json"
    ))
    .file("parts.csv", PARTS)
    .go()
}

fn landed(ran: &Ran) -> String {
    assert_eq!(ran.status, 0, "{}", ran.err);
    let json: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    json["totals"]["landed"].as_str().unwrap().to_owned()
}

fn refused(place: &str, words: &str) {
    let ran = to(place);
    assert_eq!(ran.status, 1, "{place}: {}", ran.out);
    assert!(ran.err.contains(words), "{place}: {}", ran.err);
}

#[test]
fn a_territory_with_another_law_is_refused_by_name_with_the_reason() {
    for (place, words) in [
        (
            "ES-CN",
            "parcels to Canary Islands (ES-CN) are not calculated",
        ),
        (
            "IT-LIVIGNO",
            "parcels to Livigno (IT-LIV) are not calculated",
        ),
        ("FR-974", "Réunion"),
        ("ES-GC", "Canary Islands"),
        ("ES-TF", "Canary Islands"),
        ("FI-01", "calculate it with `--to FI`"),
        ("GB-BT", "Give `--to XI`"),
        (
            "ES --postcode 35001",
            "parcels to Canary Islands (ES-CN) are not calculated",
        ),
        ("ES --postcode 51001", "Ceuta"),
        ("ES --postcode 52001", "Melilla"),
        ("FR --postcode 97400", "Réunion"),
        ("FR --postcode 97150", "Saint Martin"),
        ("RE", "Réunion"),
        ("IT --postcode 23041", "Livigno"),
        ("DE --postcode 78266", "Büsingen"),
        ("DE --postcode D-27498", "Helgoland"),
        ("GR --postcode 63086", "Athos"),
        ("FI --postcode 22100", "calculate it with `--to FI`"),
        ("AX", "calculate it with `--to FI`"),
        ("NO-21", "Svalbard"),
        ("NO-22", "Jan Mayen"),
        ("NL-AW", "Aruba"),
        ("NL-CW", "Curaçao"),
        ("NL-SX", "Sint Maarten"),
        ("NL-BQ1", "Bonaire"),
        ("NL-BQ2", "Saba"),
        ("NL-BQ3", "Sint Eustatius"),
        ("AW", "Aruba"),
        ("BQ", "general expenditure tax"),
        ("FR-TF", "French Southern Territories"),
        ("TF", "French Southern Territories"),
        ("FR-CP", "Clipperton"),
        ("US-UM", "Minor Outlying Islands"),
        ("GB --postcode BF1-2AT", "British Forces Post Office"),
        ("GB --postcode BFPO-639", "British Forces Post Office"),
    ] {
        refused(place, words);
    }
    for (postcode, code) in [
        ("BT1-1AA", "XI"),
        ("IM1", "IM"),
        ("JE2", "JE"),
        ("GY1", "GG"),
    ] {
        refused(
            &format!("GB --postcode {postcode}"),
            &format!("Give `--to {code}`"),
        );
    }
}

#[test]
fn a_postcode_of_the_mainland_changes_nothing() {
    assert_eq!(landed(&to("ES --postcode 28001")), landed(&to("ES")));
    assert_eq!(
        landed(&to("GB --postcode B1")),
        landed(&to("GB")),
        "B1 is no BT"
    );
    refused("ES-CN --postcode 28001", "Canary Islands");
    refused(
        "PT-AC --postcode 9000-001",
        "the postcode 9000-001 lies in Madeira, and the region given is PT-AC",
    );
    let typed = to("ES --postcode 28/001");
    assert_eq!(
        (
            typed.status,
            typed.err.contains("expected a postcode, such as `35001`")
        ),
        (1, true),
        "{}",
        typed.err
    );
}

/// Freight up to the border 70 % of 20.00: duty 4.7 % of 214.00 is 10.06, and tax is due on 230.06 (the share of the freight
/// is the tables', the rest from the texts).
#[test]
fn a_territory_with_a_rate_of_its_own_bears_that_rate() {
    // 23 % 52.91, 16 % 36.81, 22 % 50.61; 20 % 46.01, 19 % 43.71
    for (places, sum) in [
        (["PT", "PT --postcode 1000-001"], "282.97"),
        (["PT-AC", "PT --postcode 9500-123"], "266.87"),
        (["PT-20", "PT-AC"], "266.87"),
        (["PT-MA", "PT --postcode 9000-001"], "280.67"),
        (["PT-30", "PT-MA"], "280.67"),
        (["AT", "AT --postcode 6020"], "276.07"),
        (["AT-JU", "AT --postcode 6691"], "273.77"),
    ] {
        for place in places {
            assert_eq!(landed(&to(place)), sum, "{place}");
        }
    }
}

/// Postcodes may begin with letters in any country: rows say whether they do.
#[test]
fn a_row_of_ones_own_may_have_postcodes_that_begin_with_letters() {
    let region = |postcode: &str| {
        landwaiter(&format!(
            "cost parts.csv --to CA --postcode {postcode} --on 2026-11-02 --rates r"
        ))
        .file("parts.csv", PARTS)
        .file(
            "r/territories.csv",
            "country,region,name,postcodes,covered,reason,valid_from\nCA,XN,the north,X0A X0B,no,It is not served.,2026-01-01\n",
        )
        .go()
    };
    for north in ["X0A1H0", "x0b2c1"] {
        let refused = region(north);
        assert!(refused.err.contains("It is not served."), "{}", refused.err);
    }
    assert!(!region("K1A0B1").err.contains("It is not served."));
}

#[test]
fn a_row_of_ones_own_takes_the_place_of_a_refusal() {
    let run = landwaiter(
        "cost parts.csv --to ES --postcode 35001 --on 2026-11-02 --rates r --format json",
    )
    .file("parts.csv", PARTS);
    let run = run
        .file("r/territories.csv", "country,region,name,postcodes,covered,reason,valid_from\nES,CN,Canary Islands,35 38,yes,,2026-01-01\n");
    let run = run.file(
        "r/es/taxes.csv",
        "tax,country,region,commodity,percent,valid_from\nvat,ES,CN,*,7,2026-01-01\n",
    );
    // 7 % of 230.06 is 16.10
    assert_eq!(landed(&run.go()), "246.16");
    let empty =
        landwaiter("cost parts.csv --to ES --on 2026-11-02 --rates r").file("parts.csv", PARTS);
    let empty =
        empty.file("r/territories.csv", "country,region,name,postcodes,covered,reason,valid_from\nES,XY,Nowhere,99,no,,2026-01-01\n").go();
    assert!(
        empty
            .err
            .contains("expected the reason why nothing is calculated for it"),
        "{}",
        empty.err
    );
}

#[test]
fn a_code_of_ones_own_serves_a_destination_of_ones_own() {
    let run = landwaiter("cost parts.csv --to XA --on 2026-11-02 --rates r --format json")
        .file("parts.csv", PARTS);
    let run = run.file(
        "r/destinations.csv",
        "country,currency,valid_from\nXA,EUR,2020-01-01\n",
    );
    let charges = "charge,kind,order,level,of,percent,valid_from\nlevy,tax,20,consignment,goods + freight,10,2020-01-01\n";
    assert_eq!(
        landed(&run.file("r/xa/charges.csv", charges).go()),
        "242.00"
    );
    refused(
        "VN",
        "a territory without a code of ISO 3166-1 may have one from `XA` to `XZ`, but not `XI`",
    );
    refused("VN", "there are no rules for Viet");
    // Northern Ireland has a code, and law
    let northern = to("XI");
    assert_eq!(northern.status, 0, "{}", northern.err);
    let dispatch = landwaiter("cost parts.csv --to GB --on 2026-11-02")
        .file("parts.csv", PARTS.replace("EUR,TW", "EUR,XA"))
        .go();
    assert!(
        dispatch.status == 1 && dispatch.err.contains("expected a country"),
        "parcels are sent from real ones: {}",
        dispatch.err
    );
}

/// Codes of regions: ISO 3166-2, of which Ontario (CA-ON), Stockholm (SE-AB) and Lapland (FI-10) are from memory.
#[test]
fn a_region_nobody_knows_is_an_error() {
    for (place, hint) in [
        ("CA-OM", "did you mean `CA-ON`?"),
        ("SE-XX", "as in `SE-"),
        ("FI-20", "`FI-"),
        ("PT-AZ", "did you mean `PT-AC`?"),
    ] {
        refused(place, &format!("there is no region `{}` in ", &place[3..]));
        refused(place, hint);
    }
    let setting = landwaiter("cost .").file("parts.csv", PARTS).file(
        "settings.csv",
        "setting,value\ndestination,CA-OM\ndate,2026-11-02\n",
    );
    let setting = setting.go();
    assert!(
        setting.status == 1 && setting.err.contains("there is no region `OM` in Canada"),
        "{}",
        setting.err
    );
    // known, though nothing differs there
    for place in ["SE-AB", "FI-10"] {
        assert_eq!(landed(&to(place)), landed(&to(&place[..2])), "{place}");
    }
    // the Canary Islands by the code that ISO 3166-1 keeps for them
    for place in ["IC", "ic", "ES-IC"] {
        refused(
            place,
            "parcels to Canary Islands (ES-CN) are not calculated",
        );
    }
    // a country of which no list is known is asked nothing, and it is said that the region changes nothing
    let run = landwaiter("cost parts.csv --to XA-NORTH --on 2026-11-02 --rates r --format json")
        .file("parts.csv", PARTS);
    let run = run.file(
        "r/destinations.csv",
        "country,currency,valid_from\nXA,EUR,2020-01-01\n",
    );
    let charges = "charge,kind,order,level,of,percent,valid_from\nlevy,tax,20,consignment,goods + freight,10,2020-01-01\n";
    let ran = run.file("r/xa/charges.csv", charges).go();
    assert_eq!(landed(&ran), "242.00");
    assert!(ran.out.contains("region-unused"), "{}", ran.out);
}

#[test]
fn a_region_of_rows_of_ones_own_is_known() {
    let run = landwaiter("cost parts.csv --to SE-NORTH --on 2026-11-02 --rates r --format json")
        .file("parts.csv", PARTS);
    let own = run
        .file(
            "r/se/taxes.csv",
            "tax,country,region,commodity,percent,valid_from\nvat,SE,NORTH,*,0,2026-01-01\n",
        )
        .go();
    assert_eq!(own.status, 0, "{}", own.err);
}

#[test]
fn a_destination_of_ones_own_is_told_which_files_it_needs() {
    let first = to("XB");
    assert_eq!(first.status, 1);
    let said = first.err.split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "there are no rules for your own destination (XB)",
        "`destinations.csv`",
        "the row of XB",
        "`xb/charges.csv`",
        "`xb/tariff.csv`",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    // with the first file written, the next is named
    let run =
        landwaiter("cost parts.csv --to XB --on 2026-11-02 --rates r").file("parts.csv", PARTS);
    let second = run
        .file(
            "r/destinations.csv",
            "country,currency,valid_from\nXB,EUR,2020-01-01\n",
        )
        .go();
    let said = second.err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        said.contains("the tables hold no charges for your own destination (XB)")
            && said.contains("`xb/charges.csv`"),
        "{said}"
    );
}
