//! Fees of the post, of carriers and of authorities. Amounts are those of the shapes' examples, or round where none is named.

use crate::common::Case;

fn goods(case: &Case, price: &str) -> Case {
    case.clone()
        .parts(&format!("part,place,price\nframe,frame,{price}"))
}

/// Canada's post: 9.95 where something is due, nothing where nothing is.
#[test]
fn f1() {
    let rule = Case::new("CAD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,flat,per,currency,when
            gst,tax,30,consignment,goods,5,,,,
            fee_post,fee,50,consignment,,,9.95,consignment,CAD,duty + tax > 0",
        )
        .law("reliefs", "relief,order,tests,per,op,amount,currency,drops\nsmall,15,goods,consignment,<=,20,CAD,tax");
    goods(&rule, "21").proves("charges", "fee_post,", &[("tax", "1.05"), ("fee", "9.95")]);
    goods(&rule, "20").proves("reliefs", "small,", &[("tax", "0"), ("fee", "0")]);
}

/// The United States' 0.3464 %, from 33.58 to 651.50 (90 FR 34665): of 2,600 the least, of 20,000 69.28, of 200,000 the most.
#[test]
fn f2() {
    let rule = Case::new("USD").law(
        "charges",
        "charge,kind,order,level,of,percent,min,max,currency,round\nmpf,fee,40,consignment,goods,0.3464,33.58,651.50,USD,half_up 0.01",
    );
    goods(&rule, "2600").gives(&[("fee", "33.58")]);
    goods(&rule, "20000").proves("charges", "mpf,", &[("fee", "69.28")]);
    goods(&rule, "200000").gives(&[("fee", "651.50")]);
}

/// The Swiss post's older tariff: 11.50 from its neighbours, 16.00 from elsewhere, 3 % with it, at most 70: of 1,000 41.50 or 46.00, of
/// 3,000 70.
#[test]
fn f3() {
    let rule = Case::new("CHF")
        .table(
            "destinations.csv",
            "country,currency,group\nAQ,CHF,\nDE,EUR,EU",
        )
        .law(
            "charges",
            "charge,kind,order,level,of,percent,flat,per,max,currency,when
            fee_post,fee,20,consignment,goods,3,11.50,consignment,70,CHF,dispatch = EU
            fee_post,fee,20,consignment,goods,3,16.00,consignment,70,CHF,dispatch != EU",
        );
    goods(&rule, "1000").proves(
        "charges",
        "fee_post,fee,20,consignment,goods,3,16",
        &[("fee", "46.00")],
    );
    let near = rule.seller("dispatch=DE");
    goods(&near, "1000").proves(
        "charges",
        "fee_post,fee,20,consignment,goods,3,11",
        &[("fee", "41.50")],
    );
    goods(&near, "3000").gives(&[("fee", "70.00")]);
}

/// Australia's brackets: up to 1,000 nothing, up to 10,000 50 filed by wire and 90 on paper, above it 152 and 192.
#[test]
fn f4() {
    let rule = Case::new("AUD").law(
        "charges",
        "charge,kind,order,level,flat,per,currency,when
        fee_entry,fee,40,consignment,50,consignment,AUD,goods > 1000 AUD & goods <= 10000 AUD & choice.filing != paper
        fee_entry,fee,40,consignment,152,consignment,AUD,goods > 10000 AUD & choice.filing != paper
        fee_entry,fee,40,consignment,90,consignment,AUD,goods > 1000 AUD & goods <= 10000 AUD & choice.filing = paper
        fee_entry,fee,40,consignment,192,consignment,AUD,goods > 10000 AUD & choice.filing = paper",
    );
    goods(&rule, "1000").gives(&[("fee", "0")]);
    goods(&rule, "10000").proves(
        "charges",
        "fee_entry,fee,40,consignment,50",
        &[("fee", "50")],
    );
    goods(&rule, "10001").proves(
        "charges",
        "fee_entry,fee,40,consignment,152",
        &[("fee", "152")],
    );
    let paper = rule.set("choice.filing", "paper");
    goods(&paper, "10000").proves(
        "charges",
        "fee_entry,fee,40,consignment,90",
        &[("fee", "90")],
    );
    goods(&paper, "10001").proves(
        "charges",
        "fee_entry,fee,40,consignment,192",
        &[("fee", "192")],
    );
}

/// Two offices, two fees: 50 and 40 are 90.
#[test]
fn f5() {
    let rule = Case::new("AUD").law(
        "charges",
        "charge,kind,order,level,flat,per,currency
        fee_customs,fee,40,consignment,50,consignment,AUD
        fee_quarantine,fee,41,consignment,40,consignment,AUD",
    );
    goods(&rule, "2000")
        .proves("charges", "fee_customs,", &[("fee", "90")])
        .proves("charges", "fee_quarantine,", &[("fee", "90")]);
}

/// New Zealand's 2.21 for a parcel within the limit, and not for one above it.
#[test]
fn f6() {
    let rule = Case::new("NZD").law(
        "charges",
        "charge,kind,order,level,flat,per,currency,when,valid_from
        fee_low,fee,40,consignment,2.21,consignment,NZD,goods <= 1000 NZD,2026-04-01",
    );
    let rule = rule.on("2026-04-01");
    goods(&rule, "1000").proves("charges", "fee_low,", &[("fee", "2.21")]);
    goods(&rule, "1001").gives(&[("fee", "0")]);
}

/// New Zealand's 1.28 a kilogram of mail: 2.5 kg are 3.20.
#[test]
fn f7() {
    Case::new("NZD")
        .law(
            "charges",
            "charge,kind,order,level,flat,per,currency\nfee_mail,fee,40,consignment,1.28,kg,NZD",
        )
        .parts(
            "part,place,price,mass_g,packed_g\nframe,frame,500,1000,1500\nfork,fork,100,500,1000",
        )
        .proves("charges", "fee_mail,", &[("fee", "3.20")]);
}

/// 15 % on a fee of 100.00, whatever the goods bear.
#[test]
fn f8() {
    let rule = Case::new("NZD").law(
        "charges",
        "charge,kind,order,level,of,percent,flat,per,currency
        fee_entry,fee,40,consignment,,,100,consignment,NZD
        gst_fee,tax,45,consignment,fee,15,,,",
    );
    goods(&rule, "2000").proves("charges", "gst_fee,", &[("fee", "100"), ("tax", "15")]);
}

/// The Swiss post's 10 for each item above five: seven items are 20, two of one kind are one item.
#[test]
fn f9() {
    let rule =
        Case::new("CHF").law("charges", "charge,kind,order,level,flat,per,currency\nfee_lines,fee,22,consignment,10.00,item above 5,CHF");
    let items = |count: u32| {
        let row = |n: u32| format!("part {n},thing,10,8714{n:02}\n");
        rule.clone().parts(&format!(
            "part,place,price,commodity\nmore of part 1,thing,10,871401\n{}",
            (1..=count).map(row).collect::<String>()
        ))
    };
    items(7).proves("charges", "fee_lines,", &[("fee", "20")]);
    items(5).gives(&[("fee", "0")]);
}

/// The fee of 9.95 is waived for one service, and for one kind of goods.
#[test]
fn f10() {
    let rule = Case::new("CAD")
        .law(
            "charges",
            "charge,kind,order,level,flat,per,currency,when\nfee_post,fee,50,consignment,9.95,consignment,CAD,choice.service != express",
        )
        .law(
            "reliefs",
            "relief,order,tests,per,op,amount,currency,drops,when\nbooks,15,goods,consignment,>=,0,CAD,charge:fee_post,commodity = 4901",
        );
    goods(&rule, "100").proves("charges", "fee_post,", &[("fee", "9.95")]);
    goods(&rule.clone().set("choice.service", "express"), "100").gives(&[("fee", "0")]);
    rule.parts("part,place,price,commodity\nbook,thing,100,490199")
        .proves("reliefs", "books,", &[("fee", "0")]);
}

/// A fee set anew every 1 October: 33.58 from 2025-10-01 (90 FR 34665), a round 30.00 before.
#[test]
fn f11() {
    let rule = Case::new("USD").law(
        "charges",
        "charge,kind,order,level,flat,per,currency,valid_from,valid_to
        fee_entry,fee,40,consignment,30.00,consignment,USD,2024-10-01,2025-09-30
        fee_entry,fee,40,consignment,33.58,consignment,USD,2025-10-01,2026-09-30",
    );
    goods(&rule.clone().on("2025-09-30"), "3000").proves(
        "charges",
        "fee_entry,fee,40,consignment,30",
        &[("fee", "30.00")],
    );
    goods(&rule.on("2025-10-01"), "3000").proves(
        "charges",
        "fee_entry,fee,40,consignment,33",
        &[("fee", "33.58")],
    );
}
