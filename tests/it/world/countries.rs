//! A new country is rows alone: a made-up law in a user's folder is charged without a line of code.

use std::fs;

use super::{dec, program};

const DESTINATIONS: &str = "country,currency,customs_exchange,valid_from,source,evidence\nFO,ISK,market,2020-01-01,made up for this test,read\n";

const EXCHANGE: &str =
    "use,base,quote,rate,valid_from,source\nmarket,EUR,ISK,136,2026-10-30,made up for this test\n";

/// Duty by the kilogram and by the hundred, a levy by the item, a tax on a tax, cut to whole krónur.
const CHARGES: &str = "charge,kind,order,level,of,percent,rate_from,flat,per,currency,round,when,payee,valid_from,source,evidence\n\
    customs_value,value,10,line,goods + freight + insurance,,,,,,half_up 1,,,2020-01-01,made up,read\n\
    tariff_duty,duty,20,line,customs_value,,tariff:mfn,,,,down 1,,,2020-01-01,made up,read\n\
    item_levy,duty,21,item6,,,,250,item,ISK,,,,2020-01-01,made up,read\n\
    vat_border,tax,30,consignment,customs_value + duty,,taxes:vat,,,,half_up 1,collect = at-border,,2020-01-01,made up,read\n\
    road_tax,tax,31,consignment,vat_border,10,,,,,half_up 1,collect = at-border,,2020-01-01,made up,read\n\
    fee_post,fee,50,consignment,,,,600,,ISK,,channel = post & tax > 0,carrier,2020-01-01,made up,read\n";

const RELIEFS: &str = "relief,order,tests,per,op,amount,currency,drops,collect,when,valid_from,source,evidence\n\
    small,15,goods,consignment,<=,2000,ISK,duty tax,none,,2020-01-01,made up,read\n";

const TARIFF: &str = "layer,commodity,origin,percent,per_kg,currency,valid_from,source,evidence\n\
    mfn,8714,*,5,100,ISK,2020-01-01,made up,read\nmfn,871495,TW,0,,,2020-01-01,made up,read\n";

const TAXES: &str = "tax,country,commodity,percent,valid_from,source,evidence\nvat,FO,*,24,2020-01-01,made up,read\n";

#[test]
fn a_country_that_is_not_built_in_takes_only_rows() {
    let folder = tempfile::tempdir().unwrap();
    let rates = folder.path().join("own");
    fs::create_dir_all(rates.join("fo")).unwrap();
    for (name, text) in [
        ("destinations.csv", DESTINATIONS),
        ("exchange.csv", EXCHANGE),
        ("fo/charges.csv", CHARGES),
        ("fo/reliefs.csv", RELIEFS),
        ("fo/tariff.csv", TARIFF),
        ("fo/taxes.csv", TAXES),
    ] {
        fs::write(rates.join(name), text).unwrap();
    }
    let book = folder.path().join("parts.csv");
    let parts = "part,place,seller,price,currency,dispatch,origin,mass_g,freight,channel\n\
        Frame,frame,Shop,500,EUR,TW,TW,1000,20,post\nSaddle,saddle,Shop,100,EUR,TW,TW,250,20,post\n";
    fs::write(&book, parts).unwrap();
    let reckon = |to: &str| {
        let mut command = program();
        command
            .arg("cost")
            .arg(&book)
            .args([
                "--to",
                to,
                "--on",
                "2026-10-30",
                "--format",
                "json",
                "--trail",
                "--rates",
            ])
            .arg(&rates);
        command.output().unwrap()
    };
    let output = reckon("FO");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let totals = &json["totals"];
    let of = |name: &str| dec(totals[name].as_str().unwrap());
    // Frame: 500 EUR and 16 of 20 EUR freight are 70,176; 5 % 3,508.8 and 1 kg 100: 3,608. Saddle: free. Two items: 500.
    // Value 84,320 + 4,108 duty: 24 % of 84,320 (70,176 + 14,144) + 4,108 = 21,222.72 -> 21,223, a tenth of that 2,122.
    assert_eq!(of("goods"), dec("81600"));
    assert_eq!(of("duty"), dec("4108"));
    assert_eq!(of("tax"), dec("23345"));
    assert_eq!(of("handling"), dec("600"));
    assert_eq!(of("landed"), dec("112373"));
    assert!(
        json["consignments"][0]["gaps"]
            .as_array()
            .unwrap()
            .is_empty()
    );
    let trail = json["consignments"][0]["trail"].to_string();
    assert!(
        trail.contains("own/fo/charges.csv:3") && trail.contains("own/fo/tariff.csv:2"),
        "the trail names the user's rows"
    );
    let unknown = reckon("VN");
    let said = String::from_utf8_lossy(&unknown.stderr).into_owned();
    assert!(
        said.contains("there are no rules for Vietnam (VN)") && said.contains("FO"),
        "{said}"
    );
    let mut shown = program();
    shown
        .args([
            "rates",
            "--more",
            "--to",
            "FO",
            "--on",
            "2026-10-30",
            "--rates",
        ])
        .arg(&rates)
        .current_dir(folder.path());
    let shown = String::from_utf8(shown.output().unwrap().stdout).unwrap();
    assert!(
        shown.contains("road_tax") && shown.contains("24 %"),
        "{shown}"
    );
}
