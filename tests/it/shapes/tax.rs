//! Tax.

use crate::common::Case;

/// NO-3, a newspaper on the Norwegian customs: 351 carried here, duty of 10.7 % is 37.557, 38; tax of 25 % of 389 is 97.25, 97; in all 486.
#[test]
fn x1() {
    Case::new("NOK")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round
            tariff_duty,duty,20,line,goods,10.7,half_up 1
            vat,tax,30,consignment,goods + duty,25,half_up 1",
        )
        .parts("part,place,price,commodity\nclothing,thing,351,610910")
        .proves(
            "charges",
            "vat,",
            &[("duty", "38"), ("tax", "97"), ("landed", "486")],
        );
}

/// JP-2, worked out from the rules of rounding: of 56,000 the nation's 7.8 % is 4,368, cut to 4,300; 22/78 of that 1,212.8, cut to 1,200.
#[test]
fn x2() {
    let rule = Case::new("JPY")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round
            tax_national,tax,31,consignment,goods,7.8,down 100
            tax_local,tax,32,consignment,22/78 * tax_national,100,down 100",
        )
        .parts("part,place,price\nframe,frame,56000");
    rule.proves(
        "charges",
        "tax_local,",
        &[
            ("tax_national", "4300"),
            ("tax_local", "1200"),
            ("tax", "5500"),
        ],
    );
}

/// 5 % everywhere, 13 % in Ontario, where the region's row stands for both; or a tax of the province beside the nation's.
#[test]
fn x3() {
    let rule = Case::new("CAD")
        .law("charges", "charge,kind,order,level,of,rate_from,round\ngst,tax,30,consignment,goods,taxes:gst,half_up 0.01")
        .law("taxes", "tax,country,region,commodity,percent\ngst,AQ,,*,5\ngst,AQ,ON,*,13")
        .parts("part,place,price\nframe,frame,100");
    rule.proves("taxes", "gst,AQ,,", &[("tax", "5.00")]);
    rule.clone()
        .region("ON")
        .proves("taxes", "gst,AQ,ON", &[("tax", "13.00")]);
    let beside = Case::new("CAD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,when
            gst,tax,30,consignment,goods,5,
            pst,tax,31,consignment,goods,7,region = BC",
        )
        .parts("part,place,price\nframe,frame,100");
    beside.gives(&[("tax", "5")]);
    beside
        .region("BC")
        .proves("charges", "pst,", &[("tax", "12"), ("pst", "7")]);
}

/// Swiss rates: 8.1 % of 100.00 and 2.6 % of 50.00, each on its own goods and rounded on its own: 8.10 and 1.30.
#[test]
fn x4() {
    Case::new("CHF")
        .law("charges", "charge,kind,order,level,of,rate_from,round\nvat,tax,30,consignment,goods,taxes:vat,half_up 0.05")
        .law("taxes", "tax,country,region,commodity,percent\nvat,AQ,,*,8.1\nvat,AQ,,4901,2.6")
        .parts("part,place,price,commodity\nframe,frame,100,\nbook,thing,50,490199")
        .proves("taxes", "vat,AQ,,4901", &[("tax", "9.40"), ("tax of frame", "8.10"), ("tax of book", "1.30")]);
}
