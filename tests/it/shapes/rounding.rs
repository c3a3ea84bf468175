//! Where figures are cut.

use crate::common::Case;

/// Japan, circular 13-4-1: the base is cut to 1,000, what comes of it to 100. Of 56,999 the base is 56,000, 7.8 % 4,368, cut to 4,300.
fn japanese() -> Case {
    Case::new("JPY")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round
            tax_base,value,30,consignment,goods,,down 1000
            tax_national,tax,31,consignment,tax_base,7.8,down 100",
        )
        .parts("part,place,price\nframe,frame,56999")
}

#[test]
fn r1() {
    japanese().proves(
        "charges",
        "tax_base,",
        &[("tax_base", "56000"), ("tax", "4300")],
    );
}

#[test]
fn r2() {
    japanese().proves("charges", "tax_national,", &[("tax_national", "4300")]);
}

/// NO-3: duty of 37.557 is 38 before tax is taken of it: 25 % of 389 is 97; of 351 and 37.557 it would be 97.14, of 351 alone 88.
#[test]
fn r3() {
    Case::new("NOK")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round
            tariff_duty,duty,20,line,goods,10.7,half_up 1
            base,value,25,consignment,goods + duty,,
            vat,tax,30,consignment,base,25,half_up 1",
        )
        .parts("part,place,price\nclothing,thing,351")
        .proves(
            "charges",
            "tariff_duty,",
            &[("duty", "38"), ("base", "389"), ("tax", "97")],
        );
}

/// Switzerland: 100.60 is 101, 8.1 % of it 8.181, to the nearest 0.05 8.20; 100.40 is 100, tax 8.10.
#[test]
fn r4() {
    let rule = Case::new("CHF").law(
        "charges",
        "charge,kind,order,level,of,percent,round
        tax_base,value,30,consignment,goods,,half_up 1
        vat,tax,31,consignment,tax_base,8.1,half_up 0.05",
    );
    let goods = |price: &str| {
        rule.clone()
            .parts(&format!("part,place,price\nframe,frame,{price}"))
    };
    goods("100.60").proves(
        "charges",
        "tax_base,",
        &[("tax_base", "101"), ("tax", "8.20")],
    );
    goods("100.40").proves("charges", "vat,", &[("tax_base", "100"), ("tax", "8.10")]);
}

/// 10 % of 0.45 is 0.045: half up 0.05, cut 0.04; a row that says nothing rounds half up to the currency's own unit.
#[test]
fn r5() {
    let rule = |round: &str| {
        Case::new("AUD")
            .law("charges", &format!("charge,kind,order,level,of,percent,round\ngst,tax,30,consignment,goods,10,{round}"))
            .parts("part,place,price\nbolt,thing,0.45")
    };
    rule("half_up 0.01").proves("charges", "gst,", &[("tax", "0.05")]);
    rule("down 0.01").gives(&[("tax", "0.04")]);
    rule("half_even 0.01").gives(&[("tax", "0.04")]);
    rule("").gives(&[("tax", "0.05")]);
}
