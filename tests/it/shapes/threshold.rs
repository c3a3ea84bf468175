//! Limits under which a charge is not due.

use crate::common::Case;

/// Goods of one price, one line.
fn goods(case: &Case, price: &str) -> Case {
    case.clone()
        .parts(&format!("part,place,price\nframe,frame,{price}"))
}

/// NZ-1, the customs of New Zealand: goods of 1,000 and freight of 100 bear 15 % of 1,100, 165.00; since the limit of 1,000 was made,
/// nothing. One dollar above it, the whole is taxed: 15 % of 1,101 is 165.15.
#[test]
fn t1() {
    let rule = Case::new("NZD")
        .law("charges", "charge,kind,order,level,of,percent,round\ngst,tax,30,consignment,goods + freight + insurance,15,half_up 0.01")
        .law("reliefs", "relief,order,tests,per,op,amount,currency,drops,collect\nborder,15,goods,consignment,<=,1000,NZD,duty tax,none")
        .seller("freight=100");
    goods(&rule, "1000").proves("reliefs", "border,", &[("tax", "0"), ("collected", "none")]);
    goods(&rule, "1001").gives(&[("tax", "165.15"), ("collected", "at-border")]);
}

/// SG-3, the tax office of Singapore: 390 carried for 35 is 425, above 400: 9 % is 38.25. At 365 carried for 35 nothing is due.
#[test]
fn t2() {
    let rule = Case::new("SGD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round
            customs_value,value,10,consignment,goods + freight + insurance,,half_up 0.01
            gst,tax,30,consignment,customs_value,9,half_up 0.01",
        )
        .law("reliefs", "relief,order,tests,per,op,amount,currency,drops,collect\nimport,15,customs_value,consignment,<=,400,SGD,tax,none")
        .seller("freight=35");
    goods(&rule, "390").gives(&[("tax", "38.25")]);
    goods(&rule, "365").proves("reliefs", "import,", &[("tax", "0")]);
}

/// Norway's shape: two pieces of 2,999 are each under 3,000; the seller takes 25 % of 5,998 and of the freight of 100, 1,524.50. At 3,000
/// a piece the border takes 25 % of 3,100.
#[test]
fn t3() {
    let rule = Case::new("NOK")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round,when
            vat_border,tax,30,consignment,goods + freight,25,half_up 1,collect = at-border
            vat_sale,sale-tax,30,consignment,goods + freight,25,half_up 0.01,collect = at-sale",
        )
        .law(
            "reliefs",
            "relief,order,tests,per,op,amount,currency,drops,collect,when
            voec,5,goods,piece,<,3000,NOK,duty,at-sale,collects_tax = yes",
        )
        .seller("freight=100; collects_tax=yes");
    rule.clone()
        .parts("part,place,price,quantity\nframe,frame,2999,2")
        .proves(
            "reliefs",
            "voec,",
            &[
                ("sale-tax", "1524.50"),
                ("tax", "0"),
                ("collected", "at-sale"),
            ],
        );
    goods(&rule, "3000").gives(&[
        ("sale-tax", "0"),
        ("tax", "775"),
        ("collected", "at-border"),
    ]);
}

/// Canada by courier from the United States: duty free to 150, tax free to 40. Of 100.00: duty none, tax 5 % is 5.00; of 160.00: duty 5 %
/// is 8.00, tax of 168.00 is 8.40.
fn canadian() -> Case {
    Case::new("CAD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round
            customs_value,value,10,line,goods,,half_up 0.01
            tariff_duty,duty,20,line,customs_value,5,half_up 0.01
            gst,tax,30,consignment,customs_value + duty,5,half_up 0.01",
        )
        .law(
            "reliefs",
            "relief,order,tests,per,op,amount,currency,drops,collect,when
            post_20,15,customs_value,consignment,<=,20,CAD,duty tax,none,channel = post
            courier_20,15,customs_value,consignment,<=,20,CAD,duty tax,none,channel = courier & dispatch != US & dispatch != MX
            near_tax,15,customs_value,consignment,<=,40,CAD,tax,none,channel = courier & dispatch = US | channel = courier & dispatch = MX
            near_duty,15,customs_value,consignment,<=,150,CAD,duty,,channel = courier & dispatch = US | channel = courier & dispatch = MX",
        )
}

#[test]
fn t4() {
    let rule = canadian().seller("dispatch=US");
    goods(&rule, "40").proves("reliefs", "near_tax,", &[("duty", "0"), ("tax", "0")]);
    goods(&rule, "100").proves("reliefs", "near_duty,", &[("duty", "0"), ("tax", "5.00")]);
    goods(&rule, "160").gives(&[("duty", "8.00"), ("tax", "8.40")]);
}

/// 30.00 from Taiwan by courier: duty 1.50, tax 5 % of 31.50 is 1.58; sent from the United States nothing, wherever it was made; by post
/// from there the lower limit holds.
#[test]
fn t5() {
    let made = canadian().parts("part,place,price,origin\nframe,frame,30,CN");
    made.gives(&[("duty", "1.50"), ("tax", "1.58")]);
    made.clone()
        .seller("dispatch=US")
        .proves("reliefs", "near_", &[("duty", "0"), ("tax", "0")]);
    made.clone()
        .seller("dispatch=US; channel=post")
        .gives(&[("duty", "1.50"), ("tax", "1.58")]);
    made.parts("part,place,price\nframe,frame,20").proves(
        "reliefs",
        "courier_20,",
        &[("duty", "0"), ("tax", "0")],
    );
}

/// A limit of 150 US dollars at 1,400 is 210,000: free at that, and 10 % of 210,001 is 21,000 one won above it.
#[test]
fn t6() {
    let rule = Case::new("KRW")
        .table("exchange.csv", "use,base,quote,rate,valid_from\ncustoms,USD,KRW,1400,2000-01-01")
        .law("charges", "charge,kind,order,level,of,percent\nvat,tax,30,consignment,goods + freight,10")
        .law("reliefs", "relief,order,tests,per,op,amount,currency,drops,collect\nsmall,15,goods,consignment,<=,150,USD,tax,none");
    goods(&rule, "210000")
        .proves("reliefs", "small,", &[("tax", "0")])
        .proves("exchange", "customs,USD", &[("tax", "0")]);
    goods(&rule, "210001").gives(&[("tax", "21000")]);
}

/// CH-2, the Swiss customs: at 8.1 % the largest base not taxed is 62 (5.022), at 2.6 % 193 (5.018). At 63, 5.103 is above 5: the post's
/// fee of 13.00 and 3 % is 14.89, the base 78, the tax 6.318, to the nearest 0.05 6.30. The fee hangs on the tax that hangs on the fee:
/// the limit looks at the tax without it.
#[test]
fn t7() {
    let rule = Case::new("CHF")
        .seller("channel=post")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,rate_from,flat,per,max,currency,round
            base_before_fee,value,11,consignment,goods + freight + insurance,,,,,,,half_up 1
            tax_before_fee,value,12,consignment,base_before_fee,,taxes:vat,,,,,half_up 0.05
            fee_post,fee,20,consignment,goods,3,,13.00,consignment,70.00,CHF,half_up 0.01
            tax_base,value,30,consignment,goods + freight + insurance + fee,,,,,,,half_up 1
            vat,tax,31,consignment,tax_base,,taxes:vat,,,,,half_up 0.05",
        )
        .law(
            "reliefs",
            "relief,order,tests,per,op,amount,currency,drops,collect\nnot_levied,15,tax_before_fee,consignment,<=,5,CHF,tax fee,none",
        )
        .law("taxes", "tax,country,region,commodity,percent\nvat,AQ,,*,8.1\nvat,AQ,,4901,2.6");
    goods(&rule, "62").proves("reliefs", "not_levied,", &[("tax", "0"), ("fee", "0")]);
    goods(&rule, "63").gives(&[
        ("tax_before_fee", "5.10"),
        ("fee", "14.89"),
        ("tax_base", "78"),
        ("tax", "6.30"),
    ]);
    let books = |price: &str| {
        rule.clone().parts(&format!(
            "part,place,price,commodity\nbook,thing,{price},490199"
        ))
    };
    books("193").proves("reliefs", "not_levied,", &[("tax", "0"), ("fee", "0")]);
    books("194").gives(&[("tax_before_fee", "5.05")]);
}

/// One by one: duty of 4 % on 100.00 is 4.00, not above 5, and is not taken; tax of 8.1 % is 8.10 and is. Together: of 200.00, duty 20.00
/// and tax 33.00 make 53.00, under 60, and nothing is due; of 230.00, 23.00 and 37.95 make 60.95, and all of it is.
#[test]
fn t8() {
    let apart = Case::new("CHF")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round
            tariff_duty,duty,20,line,goods,4,half_up 0.05
            vat,tax,30,consignment,goods + duty,8.1,half_up 0.05",
        )
        .law(
            "reliefs",
            "relief,order,tests,per,op,amount,currency,drops
            little_duty,25,duty,consignment,<=,5,CHF,duty
            little_tax,35,tax,consignment,<=,5,CHF,tax",
        );
    goods(&apart, "100").proves("reliefs", "little_duty,", &[("duty", "0"), ("tax", "8.10")]);
    goods(&apart, "60").proves("reliefs", "little_tax,", &[("duty", "0"), ("tax", "0")]);
    let together = Case::new("NZD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round
            tariff_duty,duty,20,line,goods,10,half_up 0.01
            gst,tax,30,consignment,goods + duty,15,half_up 0.01",
        )
        .law("reliefs", "relief,order,tests,per,op,amount,currency,drops\nold_60,35,duty + tax,consignment,<,60,NZD,duty tax");
    goods(&together, "200").proves("reliefs", "old_60,", &[("duty", "0"), ("tax", "0")]);
    goods(&together, "230").gives(&[("duty", "23.00"), ("tax", "37.95")]);
}

/// Australia's shape: up to 1,000 a registered seller takes 10 % of 500 and of the freight of 20, 52.00; of another nobody does.
#[test]
fn t9() {
    let rule = Case::new("AUD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round,when
            customs_value,value,10,line,goods,,half_up 0.01,
            gst_border,tax,30,consignment,customs_value + freight + insurance,10,half_up 0.01,collect = at-border
            gst_sale,sale-tax,30,consignment,goods + freight,10,half_up 0.01,collect = at-sale",
        )
        .law(
            "reliefs",
            "relief,order,tests,per,op,amount,currency,drops,collect,when
            border,15,customs_value,consignment,<=,1000,AUD,duty tax,none,
            seller,16,goods,piece,<=,1000,AUD,,at-sale,collects_tax = yes & customs_value <= 1000 AUD",
        )
        .seller("freight=20");
    goods(&rule, "500").gives(&[("sale-tax", "0"), ("tax", "0"), ("collected", "none")]);
    goods(&rule.seller("collects_tax=yes"), "500").proves(
        "reliefs",
        "seller,",
        &[
            ("sale-tax", "52.00"),
            ("tax", "0"),
            ("collected", "at-sale"),
        ],
    );
}

/// Singapore's shape, one parcel of 800: a piece of 300 is within the seller's limit of 400 and bears 9 % at the sale, 27.00; a piece of
/// 500 is not, the parcel is above the border's limit, and the border takes 45.00 on that piece alone.
#[test]
fn t10() {
    let rule = Case::new("SGD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round,when
            customs_value,value,10,consignment,goods + freight + insurance,,half_up 0.01,
            gst_border,tax,30,consignment,customs_value,9,half_up 0.01,collect = at-border
            gst_sale,sale-tax,30,consignment,goods + freight,9,half_up 0.01,collect = at-sale",
        )
        .law(
            "reliefs",
            "relief,order,tests,per,op,amount,currency,drops,collect,when
            import,15,customs_value,consignment,<=,400,SGD,tax,none,
            seller,16,goods,piece,<=,400,SGD,,at-sale,collects_tax = yes",
        )
        .seller("collects_tax=yes")
        .parts("part,place,price\nframe,frame,500\nfork,fork,300");
    rule.proves(
        "reliefs",
        "seller,",
        &[
            ("sale-tax", "27.00"),
            ("tax", "45.00"),
            ("tax of fork", "0"),
            ("collected", "mixed"),
        ],
    );
}

/// The United States' limit of 800, ended for goods made in China on 2025-05-02 and for all on 2025-08-29; duty of 10 % of 500.00.
#[test]
fn t12() {
    let rule = Case::new("USD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent\ntariff_duty,duty,20,line,goods,10",
        )
        .law(
            "reliefs",
            "relief,order,tests,per,op,amount,currency,drops,when,valid_from,valid_to
            small,15,goods,consignment,<=,800,USD,duty,,2016-03-10,2025-05-01
            small,15,goods,consignment,<=,800,USD,duty,origin != CN,2025-05-02,2025-08-28",
        );
    let made = |origin: &str, day: &str| {
        rule.clone().on(day).parts(&format!(
            "part,place,price,origin\nframe,frame,500,{origin}"
        ))
    };
    made("CN", "2025-05-01").proves(
        "reliefs",
        "small,15,goods,consignment,<=,800,USD,duty,,",
        &[("duty", "0")],
    );
    made("TW", "2025-08-28").proves(
        "reliefs",
        "small,15,goods,consignment,<=,800,USD,duty,origin",
        &[("duty", "0")],
    );
    made("CN", "2025-05-02").gives(&[("duty", "50")]);
    made("TW", "2025-08-29").gives(&[("duty", "50")]);
}

/// Japan's shape with round rates: up to 200,000 the simplified schedule, 5 %, unless the importer asks for the general one, 10 %.
#[test]
fn t13() {
    let rule = Case::new("JPY")
        .law(
            "charges",
            "charge,kind,order,level,of,rate_from,round,when
            simple_duty,duty,20,line,goods,tariff:simple,down 100,goods <= 200000 JPY & choice.tariff != general
            general_duty,duty,20,line,goods,tariff:general,down 100,goods > 200000 JPY | choice.tariff = general",
        )
        .law("tariff", "layer,commodity,origin,percent\nsimple,*,*,5\ngeneral,*,*,10");
    goods(&rule, "200000").proves("charges", "simple_duty,", &[("duty", "10000")]);
    goods(&rule, "200001").proves("charges", "general_duty,", &[("duty", "20000")]);
    goods(&rule.set("choice.tariff", "general"), "200000").gives(&[("duty", "20000")]);
}

/// The United States' entries, 90 FR 34665: above 2,500 a formal one, 0.3464 % of 2,600 is 9.01 and at least 33.58; below it an informal
/// one, 2.69, unless a special duty of chapter 99 is due and the value above 250.
#[test]
fn t14() {
    let rule = Case::new("USD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,rate_from,flat,per,min,max,currency,when
            special,duty,21,line,goods,,tariff:special,,,,,,
            fee_formal,fee,40,consignment,goods,0.3464,,,,33.58,651.50,USD,goods > 2500 USD | goods > 250 USD & special > 0
            fee_informal,fee,40,consignment,,,,2.69,consignment,,,USD,goods <= 250 USD | goods <= 2500 USD & special = 0",
        )
        .law("tariff", "layer,commodity,origin,percent\nspecial,*,CN,25");
    goods(&rule, "2600").proves("charges", "fee_formal,", &[("fee", "33.58")]);
    goods(&rule, "2500").proves("charges", "fee_informal,", &[("fee", "2.69")]);
    rule.clone()
        .parts("part,place,price,origin\nframe,frame,300,CN")
        .proves("tariff", "special,", &[("duty", "75"), ("fee", "33.58")]);
    rule.parts("part,place,price,origin\nframe,frame,250,CN")
        .gives(&[("duty", "62.50"), ("fee", "2.69")]);
}

/// Canada's shape, SOR/2025-154, for one parcel (what came before it is not added up): a surtax of 25 % is not due up to 5,000, the duty
/// of 5 % is; of 5,001.00 both are, 1,250.25 and 250.05.
#[test]
fn t15() {
    let rule = Case::new("CAD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,round
            tariff_duty,duty,20,line,goods,5,half_up 0.01
            surtax,duty,21,line,goods,25,half_up 0.01",
        )
        .law("reliefs", "relief,order,tests,per,op,amount,currency,drops\nsurtax_5000,15,goods,consignment,<=,5000,CAD,charge:surtax");
    goods(&rule, "5000").proves(
        "reliefs",
        "surtax_5000,",
        &[("surtax", "none"), ("duty", "250.00")],
    );
    goods(&rule, "5001").gives(&[("surtax", "1250.25"), ("duty", "1500.30")]);
}

/// The Swiss limit for gifts, 100: a gift of that is free; one of 101.00 bears 8.1 %, 8.181, to the nearest 0.05 8.20; bought, 100.00 bears
/// 8.10; from a private seller the row may say otherwise again.
#[test]
fn t16() {
    let rule =
        Case::new("CHF").law("charges", "charge,kind,order,level,of,percent,round\nvat,tax,30,consignment,goods,8.1,half_up 0.05").law(
            "reliefs",
            "relief,order,tests,per,op,amount,currency,drops,collect,when
            gift,15,goods,consignment,<=,100,CHF,tax,none,given = yes
            private,15,goods,consignment,<=,50,CHF,tax,none,sender = private",
        );
    let gift = |price: &str| {
        rule.clone().seller("sender=gift").parts(&format!(
            "part,place,price,standing\nframe,frame,{price},given"
        ))
    };
    gift("100").proves("reliefs", "gift,", &[("tax", "0")]);
    gift("101").gives(&[("tax", "8.20")]);
    goods(&rule, "100").gives(&[("tax", "8.10")]);
    goods(&rule.seller("sender=private"), "50").proves("reliefs", "private,", &[("tax", "0")]);
}

/// Above a limit of 45, 20 % of the whole 60.00 is 12.00; of what is above it, 15.00, 3.00.
#[test]
fn t17() {
    let whole = Case::new("EUR")
        .law("charges", "charge,kind,order,level,of,percent\nvat,tax,30,consignment,goods,20")
        .law("reliefs", "relief,order,tests,per,op,amount,currency,drops\nsmall,15,goods,consignment,<=,45,EUR,tax");
    goods(&whole, "60").gives(&[("tax", "12.00")]);
    goods(&whole, "45").proves("reliefs", "small,", &[("tax", "0")]);
    let excess = Case::new("EUR").law(
        "charges",
        "charge,kind,order,level,of,percent,flat,per,min,currency
        above,value,10,consignment,goods,,-45,consignment,0,EUR
        vat,tax,30,consignment,above,20,,,,",
    );
    goods(&excess, "60").proves("charges", "above,", &[("above", "15"), ("tax", "3.00")]);
    goods(&excess, "45").gives(&[("tax", "0")]);
    goods(&excess, "30").gives(&[("above", "0"), ("tax", "0")]);
}
