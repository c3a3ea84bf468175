//! What the engine must do beyond single shapes: items, groups, limits that cancel, rows that never count, and the user's own rows.
//! The figures of the European Union are those of tests/data/oracles/eu_worked_examples.csv, by their ids.

use crate::common::Case;

/// The Union's rows, thin, in the made-up destination: 21 % as in the Netherlands, 20 % where the case says so.
fn european(vat: &str) -> Case {
    Case::new("EUR")
        .law(
            "charges",
            &format!(
                "charge,kind,order,group,level,of,percent,rate_from,flat,per,currency,round,when,valid_from,valid_to
                intrinsic_value,value,9,,consignment,goods,,,,,,half_up 0.01,,,
                customs_value,value,10,,line,goods + freight + insurance,,,,,,half_up 0.01,,,
                per_item,duty,20,,item6,,,,3.00,item,EUR,half_up 0.01,given = no & intrinsic_value <= 150 EUR,2026-07-01,2028-06-30
                tariff_duty,duty,20,,item10,customs_value,,tariff:mfn,,,,down 0.01,given = no & intrinsic_value > 150 EUR,,
                gift_flat,duty,20,gift least,consignment,customs_value,2.5,,,,,down 0.01,given = yes & intrinsic_value <= 700 EUR,,
                gift_tariff,duty,21,gift least,line,customs_value,,tariff:mfn,,,,down 0.01,given = yes,,
                vat_border,tax,30,,consignment,customs_value + duty,{vat},,,,,down 0.01,collect = at-border,,
                vat_sale,sale-tax,30,,consignment,goods + freight + insurance,{vat},,,,,half_up 0.01,collect = at-sale,,"
            ),
        )
        .law(
            "reliefs",
            "relief,order,tests,per,op,amount,currency,drops,collect,when,valid_from,valid_to
            tiny,8,goods,consignment,<=,22,EUR,duty tax,none,given = no,,2021-06-30
            low_value,15,intrinsic_value,consignment,<=,150,EUR,duty,,given = no,,2026-06-30
            at_sale,16,intrinsic_value,consignment,<=,150,EUR,,at-sale,given = no & collects_tax = yes,2021-07-01,
            small_gift,15,intrinsic_value,consignment,<=,45,EUR,duty tax,none,given = yes,,",
        )
        .law("tariff", "layer,commodity,origin,percent\nmfn,4202,*,3\nmfn,6203,*,12")
}

/// NL-1: 199, 25 and 10 are 234; duty of 3 % is 7.02, tax of 21 % of 241.02 50.61; together 57.63.
#[test]
fn a_parcel_above_the_limit() {
    european("21")
        .on("2022-03-01")
        .seller("freight=25; insurance=10")
        .parts("part,place,price,commodity\nhandbag,thing,199,420221")
        .proves(
            "charges",
            "tariff_duty,",
            &[
                ("customs_value", "234"),
                ("duty", "7.02"),
                ("tax", "50.61"),
                ("landed", "291.63"),
            ],
        );
}

/// NL-3: a gift of 200 carried for 25 and 10: 2.5 % of 235 is 5.875, cut to 5.87; tax 50.58. The flat rate counts because the tariff's
/// 12 % is more; where the tariff's 3 % of 60 is more than 2.5 % too, and where a free tariff is less, that is seen as well.
#[test]
fn the_least_of_a_group_counts() {
    let gift = european("21").seller("sender=gift; freight=25; insurance=10");
    let suit = gift
        .clone()
        .parts("part,place,price,standing,commodity\nsuit,thing,200,given,620311");
    let figures = [
        ("gift_flat", "5.87"),
        ("gift_tariff", "none"),
        ("duty", "5.87"),
        ("tax", "50.58"),
    ];
    suit.proves("charges", "gift_flat,", &figures);
    let free = gift.table("aq/tariff.csv", "layer,commodity,origin,percent\nmfn,*,*,0");
    free.parts("part,place,price,standing,commodity\nsuit,thing,200,given,620311")
        .proves(
            "charges",
            "gift_tariff,",
            &[("gift_flat", "none"), ("duty", "0"), ("tax", "49.35")],
        );
}

/// NL-4, before July 2021: 21 carried for 25 and 10 bears nothing. EE-2: a gift of 20 carried for 4 bears nothing.
#[test]
fn parcels_under_old_limits_and_small_gifts() {
    let small = european("21")
        .on("2021-06-30")
        .seller("freight=25; insurance=10")
        .parts("part,place,price\nbook,thing,21");
    small.proves(
        "reliefs",
        "tiny,",
        &[("duty", "0"), ("tax", "0"), ("landed", "56")],
    );
    let gift = european("20")
        .seller("sender=gift; freight=4")
        .parts("part,place,price,standing\nbook,thing,20,given");
    gift.proves("reliefs", "small_gift,", &[("duty", "0"), ("tax", "0")]);
}

/// EC-1: 140 sold with the tax taken by the seller: 28 at the sale, 168 in all, none at the border. EE-1: 5 carried for 1: 1.20, 7.20.
#[test]
fn tax_taken_at_the_sale() {
    let sale = european("20").on("2022-03-01").seller("collects_tax=yes");
    sale.clone()
        .parts("part,place,price\nframe,frame,140")
        .proves(
            "reliefs",
            "at_sale,",
            &[
                ("sale-tax", "28"),
                ("tax", "0"),
                ("duty", "0"),
                ("landed", "168"),
                ("collected", "at-sale"),
            ],
        );
    sale.seller("freight=1")
        .parts("part,place,price\nbook,thing,5")
        .gives(&[("sale-tax", "1.20"), ("landed", "7.20")]);
}

/// EUR 3 an item: CO-1, one silk and two woollen blouses are two items; EC-3, five shirts are one; EC-4 and SE-1, two kinds are two; IE-2,
/// two shirts alike are one. Each item bears its own 3.00, shared by value among its lines.
#[test]
fn a_flat_duty_for_each_item() {
    let rule = european("20").on("2026-08-01");
    let parts = |rows: &str| {
        rule.clone().parts(&format!(
            "part,place,price,quantity,commodity,declared_as\n{rows}"
        ))
    };
    let two =
        parts("silk blouse,thing,40,1,6206100010,blouse\nwool blouse,thing,30,2,6206200010,blouse");
    two.proves(
        "charges",
        "per_item,",
        &[
            ("duty", "6.00"),
            ("duty of silk blouse", "3.00"),
            ("duty of wool blouse", "3.00"),
        ],
    );
    parts("shirt,thing,10,5,6109100010,shirt").gives(&[("duty", "3.00")]);
    parts("shirt,thing,10,1,6109100010,shirt\nwatch,thing,50,1,9102110000,watch")
        .gives(&[("duty", "6.00")]);
    parts("phone case,thing,10,1,3926909700,case\njumper,thing,30,1,6110110000,jumper")
        .gives(&[("duty", "6.00")]);
    parts("shirt,thing,10,2,6109100010,shirt").gives(&[("duty", "3.00")]);
    let lines = parts(
        "red shirt,thing,10,1,6109100010,shirt\nblue shirt,thing,20,1,6109100010,shirt\nhat,thing,5,1,6505003000,hat",
    );
    lines.gives(&[
        ("duty", "6.00"),
        ("duty of red shirt", "1.00"),
        ("duty of blue shirt", "2.00"),
        ("duty of hat", "3.00"),
    ]);
    let named = parts("red shirt,thing,10,1,6109100010,shirt\nvest,thing,20,1,6109100010,vest");
    named.gives(&[("duty", "6.00")]);
}

/// An item of six digits holds lines of different further digits, one of ten does not; each rate of an item is rounded on its own: 5 % of
/// 0.50 and of 0.50 together is 0.05, apart 0.03 and 0.03.
#[test]
fn items_are_as_fine_as_their_level() {
    let rule = |level: &str| {
        Case::new("EUR")
            .law("charges", &format!("charge,kind,order,level,of,rate_from,round\nd,duty,20,{level},goods,tariff:mfn,half_up 0.01"))
            .law("tariff", "layer,commodity,origin,percent\nmfn,8714910010,*,5\nmfn,8714910020,*,5")
            .parts("part,place,price,commodity\na,thing,0.50,8714910010\nb,thing,0.50,8714910010")
    };
    rule("item10").gives(&[("duty", "0.05")]);
    rule("line").gives(&[("duty", "0.06")]);
    let apart = |level: &str| {
        rule(level).parts("part,place,price,commodity,declared_as\na,thing,0.50,8714910010,x\nb,thing,0.50,8714910020,x")
    };
    apart("item10").gives(&[("duty", "0.06")]);
}

/// 2.00 a piece for three and 1.50 a kilogram for 2 kg: 9.00; no less than 10, no more than 8, where the row says so.
#[test]
fn per_piece_per_kilogram_least_and_most() {
    let rule = |limits: &str| {
        Case::new("EUR")
            .law(
                "charges",
                &format!(
                    "charge,kind,order,level,of,percent,flat,per,min,max,currency
                    by_piece,value,10,consignment,,,2.00,piece,,,EUR
                    by_mass,value,11,consignment,,,1.50,kg,,,EUR
                    fee_both,fee,40,consignment,by_piece + by_mass,100,,,{limits},EUR"
                ),
            )
            .parts("part,place,price,quantity,mass_g\na,thing,10,2,500\nb,thing,10,1,1000")
    };
    rule(",").proves(
        "charges",
        "by_piece,",
        &[("by_piece", "6"), ("by_mass", "3"), ("fee", "9.00")],
    );
    rule("10,").gives(&[("fee", "10.00")]);
    rule(",8").gives(&[("fee", "8.00")]);
}

/// The first row of a group counts even where a later one is less; when it does not apply, the next does.
#[test]
fn the_first_of_a_group_counts() {
    let rule = Case::new("EUR").law(
        "charges",
        "charge,kind,order,group,level,flat,per,currency,when
        dear,fee,40,carrier first,consignment,20,consignment,EUR,goods > 100 EUR
        cheap,fee,41,carrier first,consignment,5,consignment,EUR,",
    );
    let goods = |price: &str| {
        rule.clone()
            .parts(&format!("part,place,price\nframe,frame,{price}"))
    };
    goods("101").proves(
        "charges",
        "dear,",
        &[("dear", "20"), ("cheap", "none"), ("fee", "20")],
    );
    goods("100").proves(
        "charges",
        "cheap,",
        &[("dear", "none"), ("cheap", "5"), ("fee", "5")],
    );
}

/// What a struck row came to is in no later sum: VAT is taken of the lesser duty alone.
#[test]
fn a_beaten_row_leaves_no_trace_in_later_sums() {
    let rule = Case::new("EUR")
        .law(
            "charges",
            "charge,kind,order,group,level,of,percent
            dear,duty,20,rate least,line,goods,10
            cheap,duty,21,rate least,line,goods,4
            vat,tax,30,,consignment,goods + duty,20",
        )
        .parts("part,place,price\nframe,frame,100");
    rule.proves("charges", "cheap,", &[("duty", "4"), ("tax", "20.80")]);
}

/// A limit cancels what it names among the rows before it, for its own lines only, and later sums see that: VAT is of what is left.
#[test]
fn a_relief_cancels_before_and_stops_after() {
    let rule = Case::new("EUR")
        .law(
            "charges",
            "charge,kind,order,level,of,percent
            early,duty,10,line,goods,10
            late,duty,30,line,goods,5
            vat,tax,40,consignment,goods + duty,20",
        )
        .law("reliefs", "relief,order,tests,per,op,amount,currency,drops\ncheap_lines,20,goods,line,<=,50,EUR,duty")
        .parts("part,place,price\nframe,frame,100\nbolt,thing,50");
    let figures = [
        ("duty", "15"),
        ("duty of bolt", "0"),
        ("tax", "33"),
        ("tax of bolt", "10"),
    ];
    rule.proves("reliefs", "cheap_lines,", &figures);
}

/// Rows that are announced or struck down are never in the sum, whatever their days; a disputed one is, and is shown apart.
#[test]
fn announced_and_annulled_rows_never_count() {
    let rule = Case::new("EUR")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,certainty
            a,duty,20,line,goods,10,certain
            b,duty,20,line,goods,20,announced
            c,duty,20,line,goods,40,annulled
            d,duty,20,line,goods,5,disputed",
        )
        .law(
            "reliefs",
            "relief,order,tests,per,op,amount,currency,drops,certainty\nbig,15,goods,consignment,<=,100000,EUR,duty,announced\nold,15,goods,consignment,<=,100000,EUR,duty,annulled",
        )
        .parts("part,place,price\nframe,frame,100");
    rule.proves(
        "charges",
        "d,",
        &[
            ("duty", "15"),
            ("a", "10"),
            ("d", "5"),
            ("landed", "115"),
            ("landed without disputed", "110"),
        ],
    );
    rule.gives(&[
        ("b", "none"),
        ("c", "none"),
        ("said announced", "yes"),
        ("said annulled", "yes"),
    ]);
}

/// The user's row stands in the place of the built-in row of its id on its own days and on no other; `annulled`, it switches it off.
#[test]
fn a_users_row_replaces_on_its_days_only() {
    let shipped = Case::new("EUR")
        .shipped(
            "aq/charges.csv",
            "charge,kind,order,level,of,rate_from\ntariff_duty,duty,20,line,goods,tariff:mfn",
        )
        .shipped(
            "aq/tariff.csv",
            "layer,commodity,origin,percent\nmfn,871491,*,5",
        )
        .parts("part,place,price\nframe,frame,100");
    let on = |case: &Case, day: &str, duty: &'static str| {
        case.clone().on(day).gives(&[("duty", duty)]);
    };
    let own = shipped.clone().law(
        "tariff",
        "layer,commodity,origin,percent,valid_from,valid_to\nmfn,871491,*,7,2026-03-10,2026-03-20",
    );
    for (day, duty) in [
        ("2026-03-09", "5"),
        ("2026-03-10", "7"),
        ("2026-03-20", "7"),
        ("2026-03-21", "5"),
    ] {
        on(&own, day, duty);
    }
    own.clone()
        .on("2026-03-15")
        .proves("tariff", "mfn,871491,*,7", &[("duty", "7")]);
    let off = shipped.law(
        "charges",
        "charge,kind,order,level,of,percent,valid_from,valid_to,certainty\ntariff_duty,duty,20,line,goods,9,2026-03-10,2026-03-20,annulled",
    );
    for (day, duty) in [
        ("2026-03-09", "5"),
        ("2026-03-10", "0"),
        ("2026-03-20", "0"),
        ("2026-03-21", "5"),
    ] {
        on(&off, day, duty);
    }
}

/// An announced row of the user's replaces nothing.
#[test]
fn an_announced_row_of_the_users_replaces_nothing() {
    Case::new("EUR")
        .shipped("aq/charges.csv", "charge,kind,order,level,of,percent\ntariff_duty,duty,20,line,goods,5")
        .law("charges", "charge,kind,order,level,of,percent,certainty\ntariff_duty,duty,20,line,goods,9,announced")
        .parts("part,place,price\nframe,frame,100")
        .gives(&[("duty", "5")]);
}

/// Two rows of one charge that hold for one line at once are refused; on different lines they stand side by side.
#[test]
fn rows_of_one_charge_exclude_each_other() {
    let rule = Case::new("EUR").law(
        "charges",
        "charge,kind,order,level,of,percent,when
        d,duty,20,line,goods,5,goods > 50 EUR
        d,duty,20,line,goods,9,goods > 90 EUR",
    );
    rule.clone()
        .parts("part,place,price\nframe,frame,60")
        .gives(&[("duty", "3")]);
    rule.parts("part,place,price\nframe,frame,100")
        .refused("two rows of `d` hold at once");
    Case::new("EUR")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,when
            d,duty,20,line,goods,5,place = frame
            d,duty,20,line,goods,9,place != frame",
        )
        .parts("part,place,price\nframe,frame,100\nfork,fork,100")
        .gives(&[
            ("duty", "14"),
            ("duty of frame", "5"),
            ("duty of fork", "9"),
        ]);
}

/// Tax at the sale is calculated and rounded in the seller's money: 20 % of 10.03 dollars is 2.01, at 0.80 1.608, 1.61 in all paid at once.
#[test]
fn tax_at_the_sale_is_in_the_sellers_money() {
    Case::new("EUR")
        .table("exchange.csv", "use,base,quote,rate,valid_from\nmarket,USD,EUR,0.80,2000-01-01")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round,when\nvat_sale,sale-tax,30,consignment,goods,20,half_up 1,collect = at-sale",
        )
        .law("reliefs", "relief,order,tests,per,op,amount,currency,collect\nsale,15,goods,consignment,<=,150,EUR,at-sale")
        .seller("currency=USD; collects_tax=yes")
        .parts("part,place,price\nbolt,thing,10.03")
        .proves("reliefs", "sale,", &[("sale-tax", "1.61"), ("landed", "9.63")]);
}

/// Of freight of 100, 60 % counts up to the border: duty of 10 % is of 1,060, tax of 20 % of 1,060 and 40 and 106.
#[test]
fn freight_on_both_sides_of_the_border() {
    Case::new("GBP")
        .table(
            "border_freight.csv",
            "country,channel,dispatch,percent\nAQ,courier,*,60\n*,*,*,100",
        )
        .law(
            "charges",
            "charge,kind,order,level,of,percent
            customs_value,value,10,line,goods + freight.border,
            d,duty,20,line,customs_value,10
            vat,tax,30,consignment,customs_value + freight.inland + duty,20",
        )
        .seller("freight=100")
        .parts("part,place,price\nframe,frame,1000")
        .proves(
            "border_freight",
            "AQ,",
            &[
                ("customs_value", "1060"),
                ("duty", "106"),
                ("tax", "241.20"),
            ],
        );
}

/// Of rows for single lines, the least counts for each line: goods of 1,000.00 made in Thailand bear the agreement's 1 %, those made in
/// Taiwan, which only the general row of 5 % knows, bear that, 10.00 and 50.00. The first row of a group is taken line by line too.
#[test]
fn a_group_of_line_rows_is_settled_line_by_line() {
    let rule = |which: &str| {
        Case::new("JPY")
            .law(
                "charges",
                &format!(
                    "charge,kind,order,group,level,of,rate_from
                    general,duty,20,rate {which},line,goods,tariff:general
                    agreement,duty,21,rate {which},line,goods,tariff:agreement
                    vat,tax,30,,consignment,goods + duty,taxes:vat"
                ),
            )
            .law("tariff", "layer,commodity,origin,percent\ngeneral,*,TW,5\ngeneral,*,TH,5\nagreement,*,TH,1\nagreement,*,KR,2")
            .law("taxes", "tax,country,region,commodity,percent\nvat,AQ,,*,10")
            .parts("part,place,price,origin\nframe,frame,1000,TH\nfork,fork,1000,TW\nhub,hub,1000,KR")
    };
    rule("least").proves(
        "charges",
        "agreement,",
        &[
            ("duty of frame", "10"),
            ("duty of fork", "50"),
            ("duty of hub", "20"),
            ("general", "50"),
            ("agreement", "30"),
            ("tax", "308"),
        ],
    );
    rule("first").gives(&[
        ("duty of frame", "50"),
        ("duty of fork", "50"),
        ("duty of hub", "20"),
        ("tax", "312"),
    ]);
}

/// Against a row over the whole parcel one row counts for all of it, and a line's row that has no rate for one of its lines is not known
/// whole: 3 % of both, 6.00, and not 2 % of the frame alone. With rates for both, 2.00 and 1.00 are less.
#[test]
fn a_row_over_the_parcel_is_not_beaten_by_half_a_row() {
    let rule = Case::new("EUR")
        .law(
            "charges",
            "charge,kind,order,group,level,of,percent,rate_from
            flat,duty,20,gift least,consignment,goods,3,
            tariff_duty,duty,21,gift least,line,goods,,tariff:mfn",
        )
        .parts("part,place,price\nframe,frame,100\nsaddle,saddle,100");
    let half = rule
        .clone()
        .law("tariff", "layer,commodity,origin,percent\nmfn,871491,*,2");
    half.gives(&[
        ("flat", "6"),
        ("tariff_duty", "none"),
        ("duty", "6"),
        ("gaps", ""),
    ]);
    let whole = rule.law(
        "tariff",
        "layer,commodity,origin,percent\nmfn,871491,*,2\nmfn,871495,*,1",
    );
    whole.gives(&[
        ("flat", "none"),
        ("tariff_duty", "3"),
        ("duty of saddle", "1"),
        ("duty", "3"),
    ]);
}

/// Rows over the parcel that pick different lines are still one group: the first that holds counts, once.
#[test]
fn one_of_a_group_over_the_parcel_counts() {
    let rule = Case::new("USD")
        .law(
            "charges",
            "charge,kind,order,group,level,flat,per,currency,when
            high,duty,20,flat first,consignment,200,consignment,USD,origin = BR
            low,duty,21,flat first,consignment,80,consignment,USD,origin = GB",
        )
        .parts("part,place,price,origin\nframe,frame,100,GB\nsaddle,saddle,100,BR");
    rule.proves(
        "charges",
        "high,",
        &[("high", "200"), ("low", "none"), ("duty", "200")],
    );
    rule.parts("part,place,price,origin\nframe,frame,100,GB")
        .proves("charges", "low,", &[("duty", "80")]);
}

/// A row for single lines counts each line's kilograms and pieces, and its least and most are each line's own: 10 kg at 250 less a value
/// of 1,900 is 600, 1 kg less 900 is nothing, not 650 less.
#[test]
fn a_row_for_single_lines_takes_each_by_itself() {
    let sliding = Case::new("JPY")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,flat,per,min,max,currency
            ceiling,value,10,line,,,250,kg,,,JPY
            sliding,duty,20,line,ceiling - goods,100,,,0,,JPY
            capped,fee,30,line,goods,10,5,piece,,100,JPY",
        )
        .parts("part,place,price,quantity,mass_g\nzinc,thing,190,10,1000\npewter,thing,900,1,1000");
    sliding.proves(
        "charges",
        "ceiling,",
        &[
            ("ceiling", "2750"),
            ("duty", "600"),
            ("duty of zinc", "600"),
            ("duty of pewter", "0"),
        ],
    );
    sliding.gives(&[
        ("fee of zinc", "100"),
        ("fee of pewter", "95"),
        ("fee", "195"),
    ]);
}

/// A line without a rate is named, also where another row of duty bears other lines; not where a limit drops the duty, before or after.
#[test]
fn a_missing_rate_is_named() {
    let rule = Case::new("EUR")
        .law(
            "charges",
            "charge,kind,order,level,of,rate_from,when
            ordinary,duty,20,line,goods,tariff:mfn,preference = no
            preferred,duty,20,line,goods,tariff:preference + mfn,preference = yes",
        )
        .law(
            "tariff",
            "layer,commodity,origin,percent\npreference,871491,TW,0",
        )
        .parts(
            "part,place,price,origin,preference\nframe,frame,100,TW,yes\nsaddle,saddle,50,TW,no",
        );
    rule.gives(&[("duty", "0"), ("gaps", "saddle")]);
    for order in ["15", "25"] {
        let limit = format!(
            "relief,order,tests,per,op,amount,currency,drops\nsmall,{order},goods,consignment,<=,150,EUR,duty"
        );
        rule.clone()
            .law("reliefs", &limit)
            .gives(&[("duty", "0"), ("gaps", "")]);
    }
}
