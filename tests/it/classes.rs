//! What goods are to customs where nobody has said it whole: digits that stop above rows which differ, things sold as one, parts
//! that are one thing together. The destination is made up; every sum is worked beside its test.

use landwaiter::landed::Landed;

use crate::common::Case;
use crate::harness::{Run, landwaiter};

const CHARGES: &str = "charge,kind,order,level,of,percent,rate_from,round
    customs_value,value,10,line,goods + freight,,,half_up 0.01
    tariff_duty,duty,20,line,customs_value,,tariff:mfn,down 0.01
    dumping,remedy,21,line,customs_value,,tariff:remedy,down 0.01
    vat,tax,30,consignment,customs_value + duty + remedy,20,,down 0.01";

const TARIFF: &str = "layer,commodity,origin,percent
    mfn,871499,*,4
    remedy,8714991099,CN,48.5";

fn antarctica() -> Case {
    let codes = "place,commodity,text\nwheels,8714991099,pair of wheels";
    Case::new("EUR")
        .law("charges", CHARGES)
        .law("tariff", TARIFF)
        .law("codes", codes)
        .seller("dispatch=CN")
}

fn one(place: &str, commodity: &str) -> Case {
    antarctica().parts(&format!(
        "part,place,price,commodity\nit,{place},500,{commodity}"
    ))
}

/// What is said under an id, of the first that is about it.
#[track_caller]
fn said(landed: &Landed, id: &str) -> String {
    landed
        .cautions
        .iter()
        .find(|caution| caution.id == id)
        .map(ToString::to_string)
        .unwrap_or_default()
}

/// 500 from China: duty of 4 % is 20.00, anti-dumping of 48.5 % 242.50, VAT of 20 % of 762.50 152.50; together 915.00.
#[test]
fn digits_that_stop_early_take_the_digits_of_their_place() {
    for digits in ["", "8714", "871499", "8714991", "87149910", "8714991099"] {
        let sums = [
            ("duty", "20"),
            ("remedy", "242.50"),
            ("tax", "152.50"),
            ("landed", "915"),
            ("said digits-open", "no"),
        ];
        one("wheels", digits).gives(&sums);
    }
}

/// The same sums for a thing whose place says nothing. Without the row it would be 20.00 and VAT of 104.00: 624.00, so that
/// 915.00 - 624.00 = 291.00 hang on it. From Taiwan no row differs.
#[test]
fn digits_that_stop_above_rows_that_differ_bear_the_dearest_and_say_what_hangs_on_it() {
    for digits in ["871499", "87149910"] {
        let case = one("thing", digits);
        case.gives(&[
            ("remedy", "242.50"),
            ("landed", "915"),
            ("said digits-open", "yes"),
        ]);
        let said = said(&case.run().unwrap(), "digits-open");
        for words in [
            format!("`{digits}`").as_str(),
            "own/aq/tariff.csv:5",
            "291: The commodity code",
        ] {
            assert!(said.contains(words), "{words}: {said}");
        }
        case.seller("dispatch=TW").gives(&[
            ("remedy", "0"),
            ("landed", "624"),
            ("said digits-open", "no"),
        ]);
    }
}

/// Digits as long as the tables know them stand, whatever else begins with their first six: 20.00 and 104.00, 624.00.
#[test]
fn digits_that_are_long_enough_stand() {
    let both = "layer,commodity,origin,percent\nmfn,871499,*,4\nmfn,8714999000,*,4\nremedy,8714991099,CN,48.5";
    for digits in ["8714999000", "8714991011"] {
        one("thing", digits).law("tariff", both).gives(&[
            ("remedy", "0"),
            ("landed", "624"),
            ("said digits-open", "no"),
        ]);
    }
}

/// Zeros that only fill digits up say nothing about the goods: the sums of the digits without them, 915.00, of which 291.00 hang on
/// it. Where a row has the digits with their zeros they stand: 624.00.
#[test]
fn zeros_that_fill_digits_up_hide_no_duty() {
    for (digits, read) in [
        ("8714991000", "87149910"),
        ("871499100", "87149910"),
        ("8714990000", "871499"),
        ("87149900", "871499"),
    ] {
        let case = one("thing", digits);
        case.gives(&[
            ("remedy", "242.50"),
            ("landed", "915"),
            ("said digits-open", "yes"),
            ("said digits-unknown", "no"),
        ]);
        let said = said(&case.run().unwrap(), "digits-open");
        for words in [
            format!("`{digits}`, read as `{read}`, is too short").as_str(),
            "291: The commodity code",
        ] {
            assert!(said.contains(words), "{words}: {said}");
        }
        // the place says the rest
        one("wheels", digits).gives(&[
            ("remedy", "242.50"),
            ("landed", "915"),
            ("said digits-open", "no"),
        ]);
        let line =
            format!("2026-03-02,Kite,500,{digits},EUR,CN\n2026-03-02,Kite,500,{digits},EUR,TW\n");
        let ran = list(&line, "").go();
        assert_eq!(
            landed(&ran.out),
            ["915.00", "624.00"],
            "{digits}: {}",
            ran.err
        );
        assert_eq!(
            ran.err.matches(&format!("`{digits}` is too short")).count(),
            1,
            "{}",
            ran.err
        );
    }
    let own = "layer,commodity,origin,percent\nmfn,871499,*,4\nmfn,8714991000,*,4\nremedy,8714991099,CN,48.5";
    one("thing", "8714991000").law("tariff", own).gives(&[
        ("remedy", "0"),
        ("landed", "624"),
        ("said digits-open", "no"),
    ]);
}

/// The row of the digits with their zeros ends on the last of February: until then they stand, afterwards they stop above the
/// other row, in a book as in a price list.
#[test]
fn whether_zeros_fill_digits_up_is_asked_of_the_rows_of_the_day() {
    let rows = "layer,commodity,origin,percent,valid_to,after
        mfn,871499,*,4,,
        mfn,8714991000,*,4,2026-02-28,nothing
        remedy,8714991099,CN,48.5,,";
    for (day, sum) in [("2026-02-27", "624"), ("2026-03-02", "915")] {
        one("thing", "8714991000")
            .law("tariff", rows)
            .on(day)
            .gives(&[("landed", sum)]);
    }
    let rows: Vec<&str> = rows.lines().map(str::trim).collect();
    let tariff = format!(
        "# valid_from = 2000-01-01\n# source = a test\n{}\n",
        rows.join("\n")
    );
    let lines = "2026-02-27,Kite,500,8714991000,EUR,CN\n2026-03-02,Kite,500,8714991000,EUR,CN\n";
    let ran = list(lines, "").file("own/aq/tariff.csv", tariff).go();
    assert_eq!(landed(&ran.out), ["624.00", "915.00"], "{}", ran.err);
}

/// Great Britain's own tables: a handlebar whose digits are filled up lands at what it does without the zeros.
#[test]
fn a_handlebar_with_filled_up_digits_bears_its_anti_dumping() {
    let handlebar = |digits: &str| {
        let parts = format!(
            "part,place,seller,price,currency,dispatch,freight,commodity\nBar,handlebar,Kite,650,USD,CN,0,{digits}\n"
        );
        let ran = landwaiter("cost parts.csv --to GB --on 2026-09-23 --format json")
            .file("parts.csv", parts)
            .go()
            .ends(0);
        let json = ran.json();
        (
            json["totals"]["landed"].as_str().unwrap().to_owned(),
            json["consignments"][0]["remedy"]
                .as_str()
                .unwrap()
                .to_owned(),
        )
    };
    let (whole, remedy) = handlebar("87149910");
    assert_ne!(remedy, "0.00");
    for digits in ["8714991000", "8714999000", "871499900"] {
        assert_eq!(
            handlebar(digits),
            (whole.clone(), remedy.clone()),
            "{digits}"
        );
    }
}

/// Four rows of 4 % stand before the one of anti-dumping, on line 8, on which 291.00 hang: it is named first, by `cost` as by `bulk`,
/// and `bulk` says the amount.
#[test]
fn rows_of_anti_dumping_are_named_first_and_bulk_says_the_amount() {
    let rows = "layer,commodity,origin,percent
        mfn,87149910,*,4
        mfn,87149930,*,4
        mfn,87149950,*,4
        mfn,87149990,*,4
        remedy,8714991099,CN,48.5";
    let case = one("thing", "871499").law("tariff", rows);
    case.gives(&[("landed", "915"), ("said digits-open", "yes")]);
    let said = said(&case.run().unwrap(), "digits-open");
    assert!(
        said.contains("the rate (own/aq/tariff.csv:8") && said.contains("291: The commodity code"),
        "{said}"
    );
    let rows: Vec<&str> = rows.lines().map(str::trim).collect();
    let tariff = format!(
        "# valid_from = 2000-01-01\n# source = a test\n{}\n",
        rows.join("\n")
    );
    for lines in [
        "2026-03-02,Kite,500,871499,EUR,CN\n",
        "2026-03-02,Kite,500,8714990000,EUR,CN\n",
    ] {
        let ran = list(lines, "")
            .file("own/aq/tariff.csv", tariff.as_str())
            .go();
        assert_eq!(landed(&ran.out), ["915.00"], "{}", ran.err);
        assert!(
            ran.err.contains("(own/aq/tariff.csv:8,")
                && ran.err.contains("291.00 EUR of this line depends on it"),
            "{}",
            ran.err
        );
    }
}

/// No row of its own and two longer ones, of zero and of 10 %: 50.00, VAT of 110.00, 660.00, and 50.00 + 10.00 hang on it.
/// With one longer row alone nothing differs, and its 10 % counts without a word.
#[test]
fn rows_that_stand_only_below_the_digits_are_taken() {
    let two =
        "layer,commodity,origin,percent\nmfn,87149960,*,0\nmfn,87149980,*,10\nremedy,0101,*,5";
    let case = one("thing", "871499").law("tariff", two);
    case.gives(&[
        ("duty", "50"),
        ("landed", "660"),
        ("gaps", ""),
        ("said digits-open", "yes"),
    ]);
    assert!(said(&case.run().unwrap(), "digits-open").contains("60: The commodity code"));
    let only = one("thing", "871499").law(
        "tariff",
        "layer,commodity,origin,percent\nmfn,87149980,*,10\nremedy,0101,*,5",
    );
    only.gives(&[
        ("duty", "50"),
        ("landed", "660"),
        ("gaps", ""),
        ("said digits-open", "no"),
    ]);
}

/// A thing of 100 at three places, whose digits bear 3, 10 and 5 %: the last of 871492, 871493 and 871495 is the saddle's, 5.00 and
/// VAT of 21.00, 126.00. As a rim it would be 10.00 and 22.00, 6.00 more; as a hub 3.00 and 20.60, 2.40 less.
#[test]
fn the_order_of_places_in_a_set_does_not_matter() {
    let tariff = "layer,commodity,origin,percent\nmfn,871492,*,10\nmfn,871493,*,3\nmfn,871495,*,5\nremedy,0101,*,5";
    for places in [
        "hub + rim + saddle",
        "saddle + rim + hub",
        "rim + saddle + hub",
    ] {
        let case = antarctica()
            .law("tariff", tariff)
            .parts(&format!("part,place,price\nset,{places},100"));
        case.gives(&[
            ("duty", "5"),
            ("landed", "126"),
            ("said set-heading", "yes"),
        ]);
        let said = said(&case.run().unwrap(), "set-heading");
        for words in [
            "`871495`",
            "as `871492` 6.00 EUR more",
            "as `871493` 2.40 EUR less",
            "3(c)",
            "split the row",
        ] {
            assert!(said.contains(words), "{words}: {said}");
        }
        let row = case.clone().law(
            "codes",
            "place,commodity,text\nsaddle + hub + rim,871492,a set",
        );
        row.gives(&[
            ("duty", "10"),
            ("landed", "132"),
            ("said set-heading", "no"),
        ]);
        let typed = antarctica().law("tariff", tariff).parts(&format!(
            "part,place,price,commodity\nset,{places},100,871493"
        ));
        typed.gives(&[
            ("duty", "3"),
            ("landed", "123.60"),
            ("said set-heading", "no"),
        ]);
    }
}

/// Digits that stop early and name a piece of a set take that piece's own: 3.00 and VAT of 20.60, 123.60, and nothing hangs on it.
/// As the other hub it would be 7.00 and 21.40, 128.40; as a rim 10.00.
#[test]
fn digits_of_a_set_that_stop_early_take_those_of_the_piece_they_name() {
    let tariff = "layer,commodity,origin,percent\nmfn,871492,*,10\nmfn,8714930011,*,3\nmfn,8714930099,*,7\nremedy,0101,*,5";
    let case = antarctica()
        .law("tariff", tariff)
        .law("codes", "place,commodity,text\nhub,8714930011,hub");
    for digits in ["871493", "87149300", "8714930011"] {
        let set = case.clone().parts(&format!(
            "part,place,price,commodity\nset,hub + rim,100,{digits}"
        ));
        set.gives(&[
            ("duty", "3"),
            ("landed", "123.60"),
            ("said digits-open", "no"),
        ]);
    }
}

/// Two things at 10,099 won under two rows of 8 %: 1,615.84 together, cut to 1,610; row by row it would be 800 and 800.
#[test]
fn a_rate_is_rounded_once_whichever_rows_say_it() {
    let charges = "charge,kind,order,level,of,rate_from,round
        tariff_duty,duty,20,consignment,goods,tariff:mfn,down 10";
    let case = Case::new("KRW").law("charges", charges).law(
        "tariff",
        "layer,commodity,origin,percent\nmfn,8714,*,8\nmfn,401150,*,8",
    );
    case.parts("part,place,price,commodity\nbar,thing,10099,871499\ntyre,thing,10099,401150")
        .gives(&[("duty", "1610")]);
}

/// Three parts at 100.01 are one bicycle: 48.5 % of 300.03 is 145.51, where part by part 48.50 would be cut three times.
/// Two carried pieces a unit are one bicycle too: 7.00 for each piece is 7.00.
#[test]
fn a_bicycle_in_one_parcel_is_one_declared_line() {
    let tariff = "layer,commodity,origin,percent,per_piece,currency\nmfn,8712,*,14,,\nremedy,871200,CN,48.5,,\nextra,8712,*,,7,EUR";
    let charges =
        format!("{CHARGES}\n    extra,duty,22,line,customs_value,,tariff:extra,half_up 0.01");
    let case = antarctica().law("tariff", tariff).law("charges", &charges);
    let case = case.law(
        "assemblies",
        "id,needs,any,of,commodity,text\nbicycle,frame + fork,1,wheels,8712003090,bicycle",
    );
    let case =
        case.parts("part,place,price\nframe,frame,100.01\nfork,fork,100.01\nwheels,wheels,100.01");
    case.gives(&[("remedy", "145.51"), ("extra", "7")]);
}

/// The rows of the made-up destination as files of the user's.
fn list(lines: &str, flags: &str) -> Run {
    let table = |text: &str| {
        let lines: Vec<&str> = text.lines().map(str::trim).collect();
        format!(
            "# valid_from = 2000-01-01\n# source = a test\n{}\n",
            lines.join("\n")
        )
    };
    landwaiter(&format!("bulk l.csv --to AQ --rates own {flags}"))
        .file(
            "own/destinations.csv",
            table("country,currency,customs_exchange\nAQ,EUR,market"),
        )
        .file("own/aq/charges.csv", table(CHARGES))
        .file("own/aq/tariff.csv", table(TARIFF))
        .file(
            "l.csv",
            format!("date,seller,price,commodity,currency,dispatch\n{lines}"),
        )
}

fn landed(out: &str) -> Vec<&str> {
    out.lines()
        .skip(1)
        .filter_map(|line| line.rsplit(',').nth(1))
        .collect()
}

/// The sums of the tests above; the warning stands once for each code, at its first line, and not where nothing differs.
#[test]
fn a_price_list_counts_the_dearest_too_and_says_so_once_a_code() {
    let lines = "2026-03-02,Kite,500,8714991099,EUR,CN\n2026-03-02,Kite,500,87149910,EUR,CN\n2026-03-02,Kite,500,87149910,EUR,TW\n2026-03-02,Kite,500,87149910,EUR,CN\n2026-03-02,Kite,500,871499,EUR,CN\n";
    for flags in ["", "--jobs 2"] {
        let ran = list(lines, flags).go();
        assert_eq!(ran.status, 0, "{}", ran.err);
        assert_eq!(
            landed(&ran.out),
            ["915.00", "915.00", "624.00", "915.00", "915.00"]
        );
        assert_eq!(
            ran.err.matches("`87149910` is too short").count(),
            1,
            "{}",
            ran.err
        );
        assert_eq!(
            ran.err.matches("`871499` is too short").count(),
            1,
            "{}",
            ran.err
        );
        assert_eq!(ran.err.matches("is too short").count(), 2, "{}", ran.err);
        assert!(
            ran.err.contains("l.csv:3") && ran.err.contains("own/aq/tariff.csv:5"),
            "{}",
            ran.err
        );
    }
}

/// Lines of one consignment go by the engine of bills: two of 500 under the short code are twice 915.00.
#[test]
fn lines_of_one_consignment_count_the_dearest_too() {
    let text = "date,seller,price,commodity,currency,dispatch,consignment\n2026-03-02,Kite,500,87149910,EUR,CN,a\n2026-03-02,Kite,500,87149910,EUR,CN,a\n";
    let ran = list("", "").file("l.csv", text).go();
    assert_eq!(landed(&ran.out), ["915.00", "915.00"], "{}", ran.err);
    assert_eq!(
        ran.err.matches("is too short to settle").count(),
        1,
        "{}",
        ran.err
    );
}

#[test]
fn what_does_nothing_in_a_price_list_is_refused() {
    let line = "2026-03-02,Kite,500,8714991099,EUR,CN\n";
    let cases = [
        ("nobook", 1, "there is no book at `nobook`"),
        ("--in USD", 2, "`bulk` does not know `--in`"),
        ("--format json", 2, "leave `--format` out"),
        ("--format=table", 2, "leave `--format` out"),
        (
            "--kind road --on 2026-03-02",
            2,
            "`--on` and `--kind` do nothing in `bulk`",
        ),
        (
            "--choice colour=red",
            1,
            "no rule of Antarctica asks for the choice `colour`",
        ),
    ];
    for (flags, status, words) in cases {
        let ran = list(line, flags).go();
        assert_eq!(
            (ran.status, ran.out.as_str()),
            (status, ""),
            "{flags}: {}",
            ran.err
        );
        assert!(ran.err.contains(words), "{flags}: {}", ran.err);
    }
    assert_eq!(landed(&list(line, "--format csv").go().out), ["915.00"]);
}

#[test]
fn a_column_of_a_price_list_near_a_known_one_is_warned_of() {
    let text = "date,seller,price,commodity,currency,dispatch,qty,mass_gg,shelf\n2026-03-02,Kite,500,8714991099,EUR,CN,2,3,A\n";
    let ran = list("", "").file("l.csv", text).go();
    assert_eq!(landed(&ran.out), ["915.00"], "{}", ran.err);
    for words in [
        "the column `qty` is unknown",
        "did you mean `quantity`?",
        "the column `mass_gg` is unknown",
        "did you mean `mass_g`?",
    ] {
        assert!(ran.err.contains(words), "{words}: {}", ran.err);
    }
    assert!(!ran.err.contains("shelf"), "{}", ran.err);
}

#[test]
fn csv_gives_insurance_a_column_of_its_own() {
    let book = |args: &str| {
        landwaiter(args)
            .file(
                "b/parts.csv",
                "part,place,seller,price\nBar,handlebar,Kite,100.00\n",
            )
            .file(
                "b/sellers.csv",
                "seller,dispatch,currency,freight,insurance\nKite,GB,GBP,5.00,2.00\n",
            )
            .go()
    };
    let csv = book("cost b --to GB --on 2026-09-23 --format csv");
    assert!(
        csv.out
            .contains("parcel,goods,shipping,insurance,landed cost"),
        "{}",
        csv.out
    );
    assert!(
        csv.out.contains("Kite,100.00,5.00,2.00,107.00"),
        "{}",
        csv.out
    );
    let screen = book("cost b --to GB --on 2026-09-23");
    assert!(
        !screen.out.contains("insurance") && screen.out.contains("7.00"),
        "{}",
        screen.out
    );
}

/// A condition on the commodity sees the digits of the line, though no row of rates begins with them: 10 % of 500.00 for what the
/// condition names, 4 % for the rest, and the dearest for digits that stop above both, in a book and in a price list.
#[test]
fn digits_that_a_condition_of_a_rate_names_are_not_cut() {
    let tariff = "layer,commodity,origin,percent,when
        mfn,871499,*,10,commodity = 87149910
        mfn,871499,*,4,commodity != 87149910
        remedy,0101,*,5,";
    let case = |digits: &str| one("thing", digits).law("tariff", tariff);
    for (digits, duty, cut) in [
        ("87149910", "50", "no"),
        ("8714991055", "50", "no"),
        ("87149990", "20", "yes"),
        ("871499", "50", "no"),
    ] {
        case(digits).gives(&[("duty", duty), ("said digits-unknown", cut)]);
    }
    let lines: String = ["87149910", "8714991055", "87149990"]
        .map(|digits| format!("2026-03-02,Kite,500,{digits},EUR,CN\n"))
        .concat();
    let stamped: Vec<&str> = tariff.lines().map(str::trim).collect();
    let stamped = format!(
        "# valid_from = 2000-01-01\n# source = a test\n{}\n",
        stamped.join("\n")
    );
    let ran = list(&lines, "").file("own/aq/tariff.csv", stamped).go();
    assert_eq!(ran.status, 0, "{}", ran.err);
    // 500 + 50 + 20 % of 550 = 660; 500 + 20 + 20 % of 520 = 624
    assert_eq!(
        landed(&ran.out),
        ["660.00", "660.00", "624.00"],
        "{}",
        ran.out
    );
}
