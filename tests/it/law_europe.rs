//! Parcels to Europe, each worked by hand from the text that is named above it and not from the tables: a directive, a regulation, the
//! page of a customs authority or of the postal operator whose fee it is. What is disputed in the tables is told so beside them.

use landwaiter::landed::Bill;

use crate::law_parcels::only_bill;
use crate::small::home;

/// Where to, when, `dispatch,currency,freight,channel,collects_tax,sender,standing`, `part,price,origin,commodity`, the postal service
/// that is chosen, and what is owed: duty, anti-dumping, tax at the sale and at the border, fees, all that the buyer pays (a gift
/// costs him nothing but its charges).
type Parcel = (
    &'static str,
    &'static str,
    &'static str,
    &'static str,
    &'static str,
    [&'static str; 5],
);

const PARCELS: [Parcel; 27] = [
    // Postal operator of Belgium, A parcel from outside the EU, its own example: a T-shirt of 25 with 10 of postage, tax not taken at
    // the sale, pays 37 more: 3 of duty, 21.50 for the declaration, and 21 % of 35 + 3 + 21.50 = 12.50.
    (
        "BE",
        "2026-07-15",
        "US,EUR,10,post,,business,",
        "shirt,25,US,610910",
        "",
        ["3", "0", "7.98", "26.02", "72.00"],
    ),
    // Postal operator of Austria, tariffs for customs services: 6 up to 150, free of VAT to 10 kg. 20 % of 100 + 15 + 3.
    (
        "AT",
        "2026-11-20",
        "JP,EUR,15,post,,business,",
        "hub,100,JP,871493",
        "",
        ["3", "0", "23.60", "6", "147.60"],
    ),
    // The same page: express mail pays 12 net, 14.40 gross, above 150. 4.7 % of 220 = 10.34; 20 % of 230.34 = 46.068.
    (
        "AT",
        "2026-11-20",
        "JP,EUR,20,post,,business,",
        "hub,200,JP,871493",
        "express",
        ["10.34", "0", "46.07", "14.40", "290.81"],
    ),
    // Italian ministry of finance, 12 March 2026: the 2 EUR are put off to 30 June 2026. Relief to 150; 22 % of 110.
    (
        "IT",
        "2026-02-10",
        "US,EUR,10,post,,business,",
        "saddle,100,US,871495",
        "",
        ["0", "0", "24.20", "0", "134.20"],
    ),
    // From July 3 an item, 22 % of 113 = 24.86, and the 2 (disputed), which are not taxed (circular 4/2026).
    (
        "IT",
        "2026-07-15",
        "US,EUR,10,post,,business,",
        "saddle,100,US,871495",
        "",
        ["3", "0", "24.86", "2", "139.86"],
    ),
    // Danish tax agency, Gifts: nothing up to 360 DKK, though 45 EUR are 335.97. Above it the flat rate of 2.5 % on value and freight
    // (440: 11.00) and 25 % (451: 112.75).
    (
        "DK",
        "2026-11-20",
        "US,DKK,0,courier,,gift,given",
        "saddle,350,US,871495",
        "",
        ["0", "0", "0", "0", "0"],
    ),
    (
        "DK",
        "2026-11-20",
        "US,DKK,40,courier,,gift,given",
        "saddle,400,US,871495",
        "",
        ["11", "0", "112.75", "0", "123.75"],
    ),
    // Swedish Customs: gifts to 600 SEK, once 500, though 45 EUR are 496.60. Above it 2.5 % of 620 = 15.50, 25 % of 635.50 = 158.875.
    (
        "SE",
        "2026-11-20",
        "US,SEK,0,courier,,gift,given",
        "saddle,500,US,871495",
        "",
        ["0", "0", "0", "0", "0"],
    ),
    (
        "SE",
        "2026-11-20",
        "US,SEK,0,courier,,gift,given",
        "saddle,620,US,871495",
        "",
        ["15.5", "0", "158.88", "0", "174.38"],
    ),
    // Directive 2006/112/EC Art. 369zc: the 150 EUR of the scheme at the sale are those of the first working day of October (ECB, 1
    // October 2025: 4.2583 PLN, 638.745). In February, when 150 EUR were 634.13, 636 PLN are within: 23 % at the sale.
    (
        "PL",
        "2026-02-10",
        "US,PLN,0,courier,yes,business,",
        "hub,636,US,871493",
        "",
        ["0", "0", "146.28", "0", "782.28"],
    ),
    // In November, when they were 654.53, 645 PLN are above: 4.7 % = 30.315, 23 % of 675.32 = 155.3236, both at the border.
    (
        "PL",
        "2026-11-20",
        "US,PLN,0,courier,yes,business,",
        "hub,645,US,871493",
        "",
        ["30.32", "0", "155.32", "0", "830.64"],
    ),
    // Council Reg. (EU) 2026/382: 3 EUR, turned once a month (Reg. (EU) 952/2013 Art. 53(1)(b); ECB, 21 October 2026: 24.262 CZK):
    // 72.786. 21 % of 3,600 + 200 + 72.79 = 813.2859. Postal operator, price list of 2021: 97 CZK up to 150 EUR.
    (
        "CZ",
        "2026-11-20",
        "JP,CZK,200,post,,business,",
        "hub,3600,JP,871493",
        "",
        ["72.79", "0", "813.29", "97", "4783.08"],
    ),
    // Impl. Reg. (EU) 2019/73 Art. 1 (62.1 %) and 2019/72 Art. 1 (17.2 %), all other companies, both renewed in January 2025. Ordinary
    // duty 6 %. 1,000: 60 + 793; 19 % of 1,853 = 352.07.
    (
        "DE",
        "2026-11-20",
        "CN,EUR,0,courier,,business,",
        "bicycle,1000,CN,87116010",
        "",
        ["60", "793", "352.07", "0", "2205.07"],
    ),
    // Directive 2006/112/EC Art. 85 and 86 at the rate of Finland since 1 September 2024, 25.5 %: 200 + 20; 4.7 % = 10.34; 25.5 % of
    // 230.34 and the fee of the post, which is declared with the costs of transport: 233.44 = 59.5272. Postal operator of Finland: 3.10.
    (
        "FI",
        "2026-11-20",
        "JP,EUR,20,post,,business,",
        "saddle,200,JP,871495",
        "",
        ["10.34", "0", "59.53", "3.10", "292.97"],
    ),
    // toll.no, Importation of clothing (10.7 %) and Examples of the calculation (whole kroner): 4,100: 438.70, 439; 25 % of 4,539 = 1,134.75.
    (
        "NO",
        "2026-11-20",
        "US,NOK,100,courier,,business,",
        "jersey,4000,US,611030",
        "",
        ["439", "0", "1135", "0", "5674"],
    ),
    // toll.no, The VOEC scheme: goods under 3,000 NOK are free of duty, the shop takes 25 % on goods and freight.
    (
        "NO",
        "2026-11-20",
        "US,NOK,100,courier,yes,business,",
        "jersey,2900,US,611030",
        "",
        ["0", "0", "750", "0", "3750"],
    ),
    // toll.no, Gifts sent from abroad: 1,000 NOK or less, without freight, is free of duty and tax; above it everything is charged.
    (
        "NO",
        "2026-11-20",
        "US,NOK,90,courier,,gift,given",
        "jersey,1000,US,611030",
        "",
        ["0", "0", "0", "0", "0"],
    ),
    (
        "NO",
        "2026-11-20",
        "US,NOK,0,courier,,gift,given",
        "jersey,1001,US,611030",
        "",
        ["107", "0", "277", "0", "384"],
    ),
    // HMRC, code 1PF: a gift up to 630 GBP may bear 2.5 % in place of 4 %: 15.00, and 20 % of 615; above it 4 %: 28.00, and 20 % of 728.
    // A courier's 2.5 % of what it advanced is less than its least fee of 12 (second-hand) in both.
    (
        "GB",
        "2026-11-20",
        "US,GBP,0,courier,,gift,given",
        "saddle,600,US,87149500",
        "",
        ["15", "0", "123", "12", "150"],
    ),
    (
        "GB",
        "2026-11-20",
        "US,GBP,0,courier,,gift,given",
        "saddle,700,US,87149500",
        "",
        ["28", "0", "145.60", "12", "185.60"],
    ),
    // Postal operator of Great Britain's parcel arm: 25 above 900. 1,000 + 50: 4 % = 42.00; 20 % of 1,092 = 218.40.
    (
        "GB",
        "2026-11-20",
        "TW,GBP,50,post,,business,",
        "frame,1000,TW,87149110",
        "express",
        ["42", "0", "218.40", "25", "1335.40"],
    ),
    // Customs and Excise Agreement of 1979 (Isle of Man): as in Great Britain, without the fee of its post. 4 % of 200; 20 % of 208.
    (
        "IM",
        "2026-11-20",
        "TW,GBP,0,post,,business,",
        "frame,200,TW,87149110",
        "",
        ["8", "0", "41.60", "0", "249.60"],
    ),
    // States of Guernsey: duty by the British tariff, no tax on goods.
    (
        "GG",
        "2026-11-20",
        "TW,GBP,0,courier,,business,",
        "frame,200,TW,87149110",
        "",
        ["8", "0", "0", "0", "208"],
    ),
    // Postal operator of Jersey: tax where the value with shipping exceeds 60. Exactly 60 is free.
    (
        "JE",
        "2026-11-20",
        "GB,GBP,10,courier,,business,",
        "pedals,50,TW,87149610",
        "",
        ["0", "0", "0", "0", "60"],
    ),
    // GOV.UK, How to move parcels from Great Britain to Northern Ireland: to a private person without declaration and duty.
    (
        "XI",
        "2026-11-20",
        "GB,GBP,0,courier,,business,",
        "frame,500,TW,87149110",
        "",
        ["0", "0", "0", "0", "500"],
    ),
    // BAZG: 8.1 % of 60 + 20 = 6.48, in steps of five centimes 6.50; no duty on industrial goods since 2024.
    (
        "CH",
        "2026-11-20",
        "US,CHF,20,courier,,business,",
        "saddle,60,US,871495",
        "",
        ["0", "0", "6.50", "0", "86.50"],
    ),
    // Skatturinn: nothing is free; 24 % of 20,000 + 2,000. The World Trade Organization's review of 2017: no duty on industrial goods.
    (
        "IS",
        "2026-11-20",
        "US,ISK,2000,courier,,business,",
        "saddle,20000,US,871495",
        "",
        ["0", "0", "5280", "0", "27280"],
    ),
];

fn bill(to: &str, day: &str, seller: &str, part: &str, service: &str) -> Bill {
    let choice = if service.is_empty() {
        String::new()
    } else {
        format!("choice.post_service,{service}\n")
    };
    let settings = format!("setting,value\ndestination,{to}\ndate,{day}\n{choice}");
    let columns = "part,price,origin,commodity,place,mass_g,seller,dispatch,currency,freight,channel,collects_tax,sender,standing";
    let parts = format!("{columns}\n{part},tool,500,Kelpwood,{seller}\n");
    only_bill(&[
        ("settings", &settings),
        ("parts", &parts),
        ("sellers", "seller,transit_days\nKelpwood,0\n"),
    ])
}

#[test]
fn parcels_to_europe_agree_with_the_texts() {
    let mut wrong = Vec::new();
    for (to, day, seller, part, service, owed) in PARCELS {
        let bill = bill(to, day, seller, part, service);
        assert!(bill.gaps.is_empty(), "{to}: a rate is missing for {part}");
        let amounts = &bill.amounts;
        let found = [
            amounts.duty,
            amounts.remedy,
            amounts.tax().unwrap(),
            amounts.handling,
            amounts.landed().unwrap(),
        ];
        if found != owed.map(home) {
            wrong.push(format!(
                "{to} {day} {part}: by hand {owed:?}, by the tables {:?}",
                found.map(|one| one.to_string())
            ));
        }
    }
    assert!(
        wrong.is_empty(),
        "duty, anti-dumping, tax, fees, all:\n{}",
        wrong.join("\n")
    );
}

/// A duty that is not due below a limit, whatever its rate, leaves no gap there; one that the limit does not reach does. `871800` is a
/// heading that no table has.
#[test]
fn a_relief_closes_a_gap_where_it_frees_and_only_there() {
    let gaps = |to: &str, day: &str, seller: &str, part: &str| {
        !bill(to, day, seller, part, "").gaps.is_empty()
    };
    let shop = |currency: &str| format!("US,{currency},0,courier,,business,");
    for (to, day, currency, free, due) in [
        (
            "GB",
            "2026-11-20",
            "GBP",
            "thing,135,US,871800",
            "thing,136,US,871800",
        ),
        (
            "DE",
            "2026-06-30",
            "EUR",
            "thing,150,US,871800",
            "thing,151,US,871800",
        ),
        (
            "DE",
            "2026-11-20",
            "EUR",
            "thing,150,US,871800",
            "thing,151,US,871800",
        ),
        (
            "JE",
            "2026-11-20",
            "GBP",
            "thing,60,US,871800",
            "thing,136,US,871800",
        ),
    ] {
        assert!(
            !gaps(to, day, &shop(currency), free),
            "{to} {day}: nothing is due"
        );
        assert!(
            gaps(to, day, &shop(currency), due),
            "{to} {day}: what is due is not known"
        );
    }
    // Reg. (EC) 1186/2009 frees of customs duty; the anti-dumping duty on screws without heads, of unknown rate, is none.
    let china = |channel: &str| format!("CN,EUR,0,{channel},,business,");
    for (to, day, seller) in [
        ("DE", "2026-06-30", china("courier")),
        ("DE", "2026-11-20", china("courier")),
        ("XI", "2026-11-20", "GB,GBP,0,courier,,business,".to_owned()),
    ] {
        assert!(
            gaps(to, day, &seller, "screws,40,CN,73181542"),
            "{to} {day}"
        );
    }
    // Where it is disputed whether the duty is due, what may be due is not known either.
    let bill = bill("JE", "2026-11-20", &shop("GBP"), "thing,100,US,871800", "");
    let mut cautions = bill.cautions.iter();
    assert!(
        bill.gaps.is_empty() && cautions.any(|c| c.id == "no-rate" && c.text.contains("disput"))
    );
}
