//! Rates of duty, and which of them count.

use crate::common::Case;

const LINE_DUTY: &str = "charge,kind,order,level,of,rate_from,round\ntariff_duty,duty,20,line,goods,tariff:mfn,half_up 0.01";

/// Of 100.00: 5 % for frames, 2 % for frames made in Korea, nothing for what else is in the heading.
#[test]
fn d1() {
    let rule = Case::new("CAD").law("charges", LINE_DUTY).law(
        "tariff",
        "layer,commodity,origin,percent\nmfn,8714,*,0\nmfn,871491,*,5\nmfn,871491,KR,2",
    );
    let part = |row: &str| {
        rule.clone()
            .parts(&format!("part,place,price,origin\n{row}"))
    };
    part("frame,frame,100,TW").proves("tariff", "mfn,871491,*", &[("duty", "5.00")]);
    part("frame,frame,100,KR").proves("tariff", "mfn,871491,KR", &[("duty", "2.00")]);
    part("saddle,saddle,100,TW").proves("tariff", "mfn,8714,*", &[("duty", "0"), ("gaps", "")]);
}

/// Round rates on the conditions of the United States' lines: frames above 600 a piece, bicycles under 16.3 kg, parts of steel.
#[test]
fn d2() {
    let rule = Case::new("USD").law("charges", LINE_DUTY).law(
        "tariff",
        "layer,commodity,origin,percent,when
        mfn,871491,*,4,unit_value > 600 USD
        mfn,871491,*,6,unit_value <= 600 USD
        mfn,871200,*,11,unit_mass >= 16.3 kg
        mfn,871200,*,5,unit_mass < 16.3 kg
        mfn,871499,*,10,
        mfn,871499,*,8,trait.material = steel",
    );
    let part = |row: &str| {
        rule.clone().parts(&format!(
            "part,place,price,quantity,mass_g,commodity,traits\n{row}"
        ))
    };
    part("frame,frame,601,2,,,").proves("tariff", "mfn,871491,*,4", &[("duty", "48.08")]);
    part("frame,frame,600,2,,,").proves("tariff", "mfn,871491,*,6", &[("duty", "72.00")]);
    part("bicycle,thing,1000,1,16299,871200,").proves(
        "tariff",
        "mfn,871200,*,5",
        &[("duty", "50.00")],
    );
    part("bicycle,thing,1000,1,16300,871200,").proves(
        "tariff",
        "mfn,871200,*,11",
        &[("duty", "110.00")],
    );
    part("part,thing,100,1,,871499,material=steel").proves(
        "tariff",
        "mfn,871499,*,8",
        &[("duty", "8.00")],
    );
    part("part,thing,100,1,,871499,").gives(&[("duty", "10.00")]);
}

/// 4 %, 25 % and 10 % of one 100.00 are added: 39.00.
#[test]
fn d3() {
    let rule = Case::new("USD")
        .law(
            "charges",
            "charge,kind,order,level,of,rate_from
            tariff_duty,duty,20,line,goods,tariff:mfn
            s301,duty,21,line,goods,tariff:s301
            s122,duty,22,line,goods,tariff:s122",
        )
        .law(
            "tariff",
            "layer,commodity,origin,percent\nmfn,8714,*,4\ns301,8714,CN,25\ns122,*,*,10",
        )
        .parts("part,place,price,origin\nframe,frame,100,CN");
    rule.proves("tariff", "s301,", &[("duty", "39.00"), ("s301", "25.00")]);
    rule.proves("charges", "s122,", &[("duty", "39.00")]);
}

/// The one order stands before the other: where it names the goods, 50 % and not 10 %. Line by line the first layer with a rate counts;
/// over a parcel, the first row of a group.
#[test]
fn d4() {
    let rates = "layer,commodity,origin,percent\ns232,7326,*,50\ns122,*,*,10";
    let parts = "part,place,price,commodity\nbolts,thing,100,732690\nframe,frame,100,";
    let by_line = Case::new("USD")
        .law(
            "charges",
            "charge,kind,order,level,of,rate_from\nextra,duty,21,line,goods,tariff:s232 + s122",
        )
        .law("tariff", rates)
        .parts(parts);
    by_line.proves(
        "tariff",
        "s232,",
        &[("duty of bolts", "50"), ("duty of frame", "10")],
    );
    let by_group = Case::new("USD")
        .law(
            "charges",
            "charge,kind,order,group,level,of,rate_from
            s232,duty,21,extra first,line,goods,tariff:s232
            s122,duty,22,extra first,line,goods,tariff:s122",
        )
        .law("tariff", rates)
        .parts("part,place,price,commodity\nbolts,thing,100,732690");
    by_group.proves("charges", "s232,", &[("s232", "50"), ("s122", "none")]);
    by_group.parts("part,place,price\nframe,frame,100").proves(
        "charges",
        "s122,",
        &[("s232", "none"), ("s122", "10")],
    );
}

/// 25 % of 100.00 for who imports in the course of trade, nothing for who imports a chain for their own bicycle.
#[test]
fn d5() {
    let rule = Case::new("CAD")
        .law("charges", "charge,kind,order,level,of,percent,when\nsteel,duty,21,line,goods,25,commodity = 731511 & choice.importer = trade")
        .parts("part,place,price,commodity\nchain,thing,100,731511");
    rule.gives(&[("duty", "0")]);
    rule.set("choice.importer", "trade")
        .proves("charges", "steel,", &[("duty", "25")]);
}

/// From 2026-02-24 on 10 % of what is sent from that day on; what was under way is spared until 2026-02-27. The day of ordering stands
/// for the day of loading, and the row is written from an earlier day on, for by that day it is looked up.
#[test]
fn d6() {
    let rule = Case::new("USD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,when,valid_from
            surcharge,duty,21,line,goods,10,ordered >= 2026-02-24 | ordered < 2026-02-24 & arrival >= 2026-02-28,2025-01-01",
        )
        .parts("part,place,price\nframe,frame,100");
    let sent = |ordered: &str, arrival: &str| rule.clone().on(ordered).set("arrival", arrival);
    sent("2026-02-23", "2026-02-27").gives(&[("duty", "0")]);
    sent("2026-02-23", "2026-02-28").proves("charges", "surcharge,", &[("duty", "10")]);
    sent("2026-02-24", "2026-02-26").proves("charges", "surcharge,", &[("duty", "10")]);
}

/// US-1, the worksheet of the United States' customs for the mail: 47.00 made in Britain at 10 % 4.70, 23.00 made in France at 10 % 2.30,
/// 45.00 made in Brazil at 50 % 22.50; no other duty beside it. By courier the ordinary 4 % of 47.00, 1.88.
#[test]
fn d7() {
    let rule = Case::new("USD")
        .law(
            "charges",
            "charge,kind,order,level,of,rate_from,round,when
            tariff_duty,duty,20,line,goods,tariff:mfn,half_up 0.01,channel != post
            postal,duty,20,line,goods,tariff:postal,half_up 0.01,channel = post",
        )
        .law("tariff", "layer,commodity,origin,percent\nmfn,8714,*,4\npostal,*,GB,10\npostal,*,FR,10\npostal,*,BR,50")
        .seller("channel=post");
    let post = rule
        .clone()
        .parts("part,place,price,origin\nframe,frame,47,GB\nfork,fork,23,FR\nsaddle,saddle,45,BR");
    post.proves(
        "charges",
        "postal,",
        &[
            ("duty of frame", "4.70"),
            ("duty of fork", "2.30"),
            ("duty of saddle", "22.50"),
        ],
    );
    let courier = rule
        .seller("channel=courier")
        .parts("part,place,price,origin\nframe,frame,47,GB");
    courier.proves("charges", "tariff_duty,", &[("duty", "1.88")]);
}

/// Executive Order 14324: 80, 160 or 200 an item by post, as the other rate is under 16 %, up to 25 % or above. The bands are told by what
/// that rate would come to. Two items, a frame and a saddle, pay twice.
#[test]
fn d8() {
    let rule = Case::new("USD")
        .law(
            "charges",
            "charge,kind,order,level,of,rate_from,flat,per,currency,when
            other,value,15,line,goods,tariff:ieepa,,,,
            postal,duty,20,item6,,,80,item,USD,other - 0.16 * goods < 0
            postal,duty,20,item6,,,160,item,USD,other - 0.16 * goods >= 0 & other - 0.25 * goods <= 0
            postal,duty,20,item6,,,200,item,USD,other - 0.25 * goods > 0",
        )
        .law("tariff", "layer,commodity,origin,percent\nieepa,*,GB,10\nieepa,*,TW,20\nieepa,*,BR,50");
    let made = |origin: &str| {
        rule.clone().parts(&format!(
            "part,place,price,origin\nframe,frame,70,{origin}\nsaddle,saddle,30,{origin}"
        ))
    };
    made("GB").proves(
        "charges",
        "postal,duty,20,item6,,,80",
        &[("duty", "160"), ("duty of frame", "80")],
    );
    made("TW").proves("charges", "postal,duty,20,item6,,,160", &[("duty", "320")]);
    made("BR").proves("charges", "postal,duty,20,item6,,,200", &[("duty", "400")]);
}

/// The carrier settles for 80 a parcel or for 10 %; the choice is the reader's, with the percentage where none is made.
#[test]
fn d9() {
    let rule = Case::new("USD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,flat,per,currency,when
            postal,duty,20,consignment,goods,10,,,,choice.us_post != flat
            postal,duty,20,consignment,,,80,consignment,USD,choice.us_post = flat",
        )
        .parts("part,place,price\nframe,frame,300");
    rule.proves(
        "charges",
        "postal,duty,20,consignment,goods",
        &[("duty", "30")],
    );
    rule.set("choice.us_post", "flat").proves(
        "charges",
        "postal,duty,20,consignment,,",
        &[("duty", "80")],
    );
}

/// Japan's 4.30 yen a kilogram: 25 kg packed are 107.5, 108 yen.
#[test]
fn d10() {
    Case::new("JPY")
        .law("charges", "charge,kind,order,level,of,rate_from,round\ntariff_duty,duty,20,line,goods,tariff:mfn,half_up 1")
        .law("tariff", "layer,commodity,origin,per_kg,currency\nmfn,7901,*,4.30,JPY")
        .parts("part,place,price,commodity,mass_g,packed_g\nzinc,thing,9000,790111,24000,25000")
        .proves("tariff", "mfn,7901", &[("duty", "108")]);
}

/// Together: 14.4 cents a gross and 2 %: 288 pieces of 0.25 are 0.288 and 1.44, 1.73. The lesser: 5 % of 1,000 is 50, 4.30 a kilogram of
/// 10 kg 43. Sliding: 250 a kilogram less the value: of 10 kg worth 1,900 it is 600; worth 2,600, nothing.
#[test]
fn d11() {
    Case::new("USD")
        .law("charges", "charge,kind,order,level,of,rate_from,round\ntariff_duty,duty,20,line,goods,tariff:mfn,half_up 0.01")
        .law("tariff", "layer,commodity,origin,percent,per_piece,currency\nmfn,9606,*,2,0.001,USD")
        .parts("part,place,price,quantity,commodity\nbuttons,thing,0.25,288,960621")
        .proves("tariff", "mfn,9606", &[("duty", "1.73")]);
    let lesser = Case::new("JPY")
        .law(
            "charges",
            "charge,kind,order,group,level,of,percent,flat,per,currency
            by_value,duty,20,lesser least,consignment,goods,5,,,
            by_mass,duty,21,lesser least,consignment,,,4.30,kg,JPY",
        )
        .parts("part,place,price,mass_g\nzinc,thing,1000,10000");
    lesser.proves(
        "charges",
        "by_mass,",
        &[("by_mass", "43"), ("by_value", "none"), ("duty", "43")],
    );
    lesser
        .parts("part,place,price,mass_g\nzinc,thing,800,10000")
        .proves(
            "charges",
            "by_value,",
            &[("by_value", "40"), ("duty", "40")],
        );
    let sliding = Case::new("JPY").law(
        "charges",
        "charge,kind,order,level,of,percent,flat,per,min,currency
        ceiling,value,10,consignment,,,250,kg,,JPY
        sliding,duty,20,consignment,ceiling - goods,100,,,0,JPY",
    );
    let worth = |price: &str| {
        sliding.clone().parts(&format!(
            "part,place,price,mass_g\nzinc,thing,{price},10000"
        ))
    };
    worth("1900").proves(
        "charges",
        "ceiling,",
        &[("ceiling", "2500"), ("duty", "600")],
    );
    worth("2600").gives(&[("duty", "0")]);
}

/// The least of 5 % for all, 4 % by treaty and 1 % for goods with a stated origin, of 1,000.00.
#[test]
fn d12() {
    let rule = Case::new("JPY")
        .law(
            "charges",
            "charge,kind,order,group,level,of,rate_from,when
            general,duty,20,rate least,line,goods,tariff:general,
            treaty,duty,21,rate least,line,goods,tariff:treaty,
            agreement,duty,22,rate least,line,goods,tariff:agreement,preference = yes",
        )
        .law(
            "tariff",
            "layer,commodity,origin,percent\ngeneral,*,*,5\ntreaty,*,TH,4\nagreement,*,TH,1",
        );
    let made = |origin: &str, claimed: &str| {
        rule.clone().parts(&format!(
            "part,place,price,origin,preference\nframe,frame,1000,{origin},{claimed}"
        ))
    };
    made("TH", "yes").proves(
        "charges",
        "agreement,",
        &[("duty", "10"), ("treaty", "none"), ("general", "none")],
    );
    made("TH", "no").proves("charges", "treaty,", &[("duty", "40")]);
    made("TW", "no").proves("charges", "general,", &[("duty", "50")]);
}

/// A duty struck down is not counted, and is named because it may be refunded.
#[test]
fn d13() {
    let rule = Case::new("USD")
        .law(
            "charges",
            "charge,kind,order,level,of,percent,certainty,valid_from,valid_to
            tariff_duty,duty,20,line,goods,4,,2020-01-01,
            ieepa,duty,21,line,goods,20,annulled,2025-02-04,2026-02-23",
        )
        .parts("part,place,price\nframe,frame,100");
    rule.clone().on("2026-02-23").proves(
        "charges",
        "ieepa,",
        &[("duty", "4"), ("said annulled", "yes")],
    );
    rule.on("2026-02-24")
        .gives(&[("duty", "4"), ("said annulled", "no")]);
}

/// Canada's shape: a hub of 200.00 and a rim of 100.00 are free one by one, a wheel at 6.5 % when they come together: 19.50.
#[test]
fn d14() {
    let rule = Case::new("CAD")
        .law("charges", LINE_DUTY)
        .law(
            "tariff",
            "layer,commodity,origin,percent\nmfn,871492,*,0\nmfn,871493,*,0\nmfn,87149990,*,6.5",
        )
        .law(
            "assemblies",
            "id,needs,any,of,commodity,text\nwheel,hub,1,rim,87149990,wheel",
        );
    let both = rule
        .clone()
        .parts("part,place,price\nhub,hub,200\nrim,rim,100");
    both.proves(
        "assemblies",
        "wheel,",
        &[("duty", "19.50"), ("said assembly", "yes")],
    );
    rule.parts("part,place,price\nhub,hub,200")
        .gives(&[("duty", "0"), ("said assembly", "no")]);
}

/// Industrial goods are free since 2024 by one row for all, above it rows for what is not; without the row the duty is a named gap.
#[test]
fn d15() {
    let rule = Case::new("CHF").law("charges", LINE_DUTY).law(
        "tariff",
        "layer,commodity,origin,percent\nmfn,*,*,0\nmfn,22,*,10",
    );
    rule.clone()
        .parts("part,place,price\nframe,frame,100")
        .proves("tariff", "mfn,*", &[("duty", "0"), ("gaps", "")]);
    rule.clone()
        .parts("part,place,price,commodity\nwine,thing,100,220421")
        .proves("tariff", "mfn,22", &[("duty", "10.00")]);
}

/// A duty on frames of one country by post that counts for a part which is said to bear it: it is asked of such a part, and of no
/// other one.
#[test]
fn a_duty_that_the_buyer_must_say_is_asked_where_it_can_fall() {
    let rule = Case::new("USD").law(
        "charges",
        "charge,kind,order,level,of,percent,when
        tariff_duty,duty,20,line,goods,4,
        listed,duty,21,line,goods,10,trait.listed = yes & origin = CA & commodity = 8714 & channel = post",
    );
    let parcel = |channel: &str, row: &str| {
        let seller = format!("channel={channel}");
        let parts = format!("part,place,price,origin,commodity,traits\n{row}");
        rule.clone().seller(&seller).parts(&parts)
    };
    let asked = parcel("post", "frame,frame,100,CA,87149130,");
    asked.proves("charges", "listed,", &[("said duty-to-ask", "yes")]);
    asked.gives(&[("duty", "4")]);
    for (channel, row, duty) in [
        ("courier", "frame,frame,100,CA,87149130,", "4"),
        ("post", "shoes,thing,100,CA,64041190,", "4"),
        ("post", "frame,frame,100,TW,87149130,", "4"),
        ("post", "frame,frame,100,CA,87149130,listed=no", "4"),
        ("post", "frame,frame,100,CA,87149130,listed=yes", "14"),
    ] {
        parcel(channel, row).gives(&[("duty", duty), ("said duty-to-ask", "no")]);
    }
}
