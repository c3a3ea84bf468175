//! Twenty parcels outside the United States, each worked by hand from the text that is named above it (a statute, the customs
//! authority's page, its own published example) and not from the tables. The buyer pays in the money at home, so that no rate of
//! exchange enters a sum; where a limit is set in other money, the value lies far from it.

use landwaiter::landed::{Bill, Landed};

use crate::kit::{self, built_in, cost};
use crate::small::home;

/// A parcel and what it costs.
struct Parcel {
    name: &'static str,
    to: &'static str,
    day: &'static str,
    /// `dispatch,currency,freight,insurance,channel,collects_tax,handling`.
    seller: &'static str,
    /// `part,price,origin,preference,commodity`.
    parts: &'static [&'static str],
    /// Duty, anti-dumping, tax at the sale and at the border, fees, all that is paid.
    owed: [&'static str; 5],
}

const PARCELS: [Parcel; 20] = [
    // GOV.UK, VAT and overseas goods sold directly to customers in the UK: up to 135 of goods, without freight, there is no customs
    // duty, and the seller charges 20 % at the sale, delivery included. Exactly 135 is still within: 20 % of 135 + 15 = 30.00.
    Parcel {
        name: "Great Britain at the limit",
        to: "GB",
        day: "2026-10-20",
        seller: "JP,GBP,15,0,post,yes,",
        parts: &["pedals,135,JP,,87149610"],
        owed: ["0", "0", "30.00", "0", "180.00"],
    },
    // Taxation notice 2020/34 (48.5 % on derailleurs made in China, on the price free at the frontier, before other duty) and HMRC's
    // manual ADCD02300 (cost, insurance and freight). GOV.UK, Delivery costs: by post the whole postage counts. 200 + 20 = 220; UK
    // Global Tariff 8714 99 50 4 % = 8.80; 48.5 % = 106.70; VATA 1994 s.21: 20 % of 220 + 8.80 + 106.70 = 335.50 is 67.10; the
    // postal operator's published fee 8.00.
    Parcel {
        name: "Great Britain, anti-dumping",
        to: "GB",
        day: "2026-10-20",
        seller: "CN,GBP,20,0,post,,",
        parts: &["derailleur,200,CN,,87149950"],
        owed: ["8.80", "106.70", "67.10", "8.00", "410.60"],
    },
    // VAT Notice 701/23: a cycle helmet is zero-rated. UK Global Tariff 6506 10: 2 % of 150 + 15 = 3.30; the fee is due, since duty is.
    Parcel {
        name: "Great Britain, a helmet without tax",
        to: "GB",
        day: "2026-10-20",
        seller: "TW,GBP,15,0,post,,",
        parts: &["helmet,150,TW,,650610"],
        owed: ["3.30", "0", "0", "8.00", "176.30"],
    },
    // Reg. (EU) 952/2013 Art. 70, 71 and Impl. Reg. (EU) 2015/2447 Art. 139 (the whole postage): 220; 8714 95 4.7 % = 10.34.
    // Directive 2006/112/EC Art. 85, 86: 19 % of 230.34 = 43.7646. The postal operator's published fee 6.00 (2018, nothing later read).
    Parcel {
        name: "Germany",
        to: "DE",
        day: "2026-10-20",
        seller: "TW,EUR,20,0,post,,",
        parts: &["saddle,200,TW,,87149500"],
        owed: ["10.34", "0", "43.76", "6.00", "280.10"],
    },
    // The same articles. Crank-gear made in China: 300 + 30 = 330; 4.7 % = 15.51; the extension of the duty on bicycles to essential
    // parts (Reg. (EC) 71/97), 48.5 % = 160.05; 20 % of 505.56 = 101.112. The operator takes 2 EUR
    // online, and by one page up to 5: 3 more are counted in dispute.
    Parcel {
        name: "France, anti-dumping",
        to: "FR",
        day: "2026-10-20",
        seller: "CN,EUR,30,0,post,,",
        parts: &["crankset,300,CN,,87149630"],
        owed: ["15.51", "160.05", "101.11", "5.00", "611.67"],
    },
    // Swedish Customs, What are the charges on my goods: duty on price and freight; VAT 25 %. Far above the limit of 150 EUR, which is
    // 1,655.30 SEK in 2026 (Impl. Reg. (EU) 2015/2447 Art. 48(2)) and 1,800 on older pages. 4,000 of goods and postage: 4.7 % = 188.00;
    // 25 % of 4,188 = 1,047.00. Postal operator: 175 SEK from 1,800. Whole kronor, however one rounds.
    Parcel {
        name: "Sweden in kronor",
        to: "SE",
        day: "2026-10-20",
        seller: "JP,SEK,200,0,post,,",
        parts: &["hub,3800,JP,,87149300"],
        owed: ["188.00", "0", "1047.00", "175.00", "5410.00"],
    },
    // Irish Revenue, Buying goods from outside the EU: VAT at 23 % on the customs value (goods, postage, insurance) with any duty. A
    // frame made in Great Britain and so stated by the seller is free of duty (trade and cooperation agreement): 23 % of 500 + 40 =
    // 124.20. The operator's fee as published in July 2026: 6.95.
    Parcel {
        name: "Ireland, a claimed origin",
        to: "IE",
        day: "2026-10-20",
        seller: "GB,EUR,40,0,post,,",
        parts: &["frame,500,GB,yes,87149110"],
        owed: ["0", "0", "124.20", "6.95", "671.15"],
    },
    // Council Reg. (EU) 2026/382: 3 EUR for each item up to 150 EUR from 2026-07-01. Irish Revenue's example: a pen, a notebook and a
    // keyring are three items, 9 EUR. A cassette, a chain and a tyre are three likewise. Not collected at the sale, so the duty is taxed
    // (Directive 2006/112/EC Art. 86(1)(a)): 21 % of 130 + 10 + 9 = 31.29. Dutch postal operator, paid online: 6.00.
    Parcel {
        name: "Netherlands, three euros an item",
        to: "NL",
        day: "2026-10-20",
        seller: "JP,EUR,10,0,post,,",
        parts: &[
            "cassette,60,JP,,87149300",
            "chain,30,JP,,73151110",
            "tyre,40,JP,,40115000",
        ],
        owed: ["9.00", "0", "31.29", "6.00", "186.29"],
    },
    // BAZG, Online shopping: sample calculation: goods and freight 159.25, the operator's costs of 17.45 for the declaration and of 20.00
    // for opening, in all 196.70, taxed at 8.1 % to the nearest franc: 197 x 8.1 % = 15.957, in steps of five centimes 15.95.
    Parcel {
        name: "Switzerland, the authority's sample",
        to: "CH",
        day: "2026-10-20",
        seller: "DE,CHF,12.25,0,post,,37.45",
        parts: &["saddle,147,DE,,87149500"],
        owed: ["0", "0", "15.95", "37.45", "212.65"],
    },
    // Liechtenstein lies in the Swiss customs area (treaty of 1923), and its postal operator says that it takes the Swiss operator's
    // prices: from outside the Union 16 francs and 3 % of the goods with freight, 330: 25.90. 355.90 is 356 to the franc; 8.1 % = 28.836,
    // in steps of five centimes 28.85.
    Parcel {
        name: "Liechtenstein",
        to: "LI",
        day: "2026-10-20",
        seller: "JP,CHF,30,0,post,,",
        parts: &["crankset,300,JP,,87149600"],
        owed: ["0", "0", "28.85", "25.90", "384.75"],
    },
    // Norwegian Customs, Examples of the calculation of taxes (updated 2024-12-23): 20,000 and shipping 850 and insurance 500, no duty;
    // 25 % of 21,350 = 5,337.50, printed as 5,338; in all 26,688.
    Parcel {
        name: "Norway, the authority's example",
        to: "NO",
        day: "2026-10-20",
        seller: "JP,NOK,850,500,courier,,",
        parts: &["wheels,20000,JP,,87149900"],
        owed: ["0", "0", "5338", "0", "26688"],
    },
    // Japan Customs, Answers 1405 (private use: the wholesale level, in practice 0.6 of the price) and 1111 (7.8 %, and 22/78 of it).
    // Before the reform of 2026: 93,500 x 0.6 = 56,100, cut to 56,000; 4,368 cut to 4,300; 1,212.8 cut to 1,200. Collecting by post: 200.
    Parcel {
        name: "Japan",
        to: "JP",
        day: "2026-01-20",
        seller: "TW,JPY,4000,0,post,,",
        parts: &["derailleur,93500,TW,,871499"],
        owed: ["0", "0", "5500", "200", "103200"],
    },
    // Customs Act Art. 30 (freight and insurance to the port count); 8714 at 8 %, VAT 10 % on value and duty. No example of the authority
    // was found; a rider's page has a frame of 1,000 and freight of 100 dollars (88 and 118.80), here times 1,400: 8 % of 1,540,000 =
    // 123,200; 10 % of 1,663,200 = 166,320.
    Parcel {
        name: "South Korea",
        to: "KR",
        day: "2026-10-20",
        seller: "TW,KRW,140000,0,courier,,",
        parts: &["frame,1400000,TW,,871491"],
        owed: ["123200", "0", "166320", "0", "1829520"],
    },
    // IRAS, GST on imported goods, example of 2025 as told by a tax firm: 390 and transport 35 from a seller who is not registered is 425,
    // above 400: import GST is due although the item alone is under 400. At 9 % that is 38.25.
    Parcel {
        name: "Singapore, the authority's example",
        to: "SG",
        day: "2026-10-20",
        seller: "JP,SGD,35,0,courier,,",
        parts: &["saddle,390,JP,,871495"],
        owed: ["0", "0", "38.25", "0", "463.25"],
    },
    // Australian Customs, When buying over the internet (as quoted): 1,200 at 5 % = 60.00; with transport and insurance of 150 it is 1,410,
    // GST 141.00.
    // A frame bears 5 % (working tariff). ABF, Import processing charges: 50.00 electronic, and 45.00 biosecurity by air.
    Parcel {
        name: "Australia, the authority's example",
        to: "AU",
        day: "2026-10-20",
        seller: "TW,AUD,150,0,courier,,",
        parts: &["frame,1200,TW,,871491"],
        owed: ["60.00", "0", "141.00", "95.00", "1646.00"],
    },
    // New Zealand Customs, Examples of how to calculate Customs charges: goods 1,000, freight and insurance 100, GST 15 % of 1,100 =
    // 165.00. Up to 1,000 the seller takes it since December 2019. Low-value levy by air since 2026-04-01: 2.21, and GST of 0.33.
    Parcel {
        name: "New Zealand, the authority's example at the limit",
        to: "NZ",
        day: "2026-10-20",
        seller: "JP,NZD,100,0,courier,yes,",
        parts: &["wheels,1000,JP,,871499"],
        owed: ["0", "0", "165.00", "2.54", "1267.54"],
    },
    // Customs Act s.48(5): freight from the place of shipment is left out; Excise Tax Act s.215: tax on value and duty, as in CBSA's
    // example (115 at 4 % = 4.60, 5 % of 119.60 = 5.98). A frame 5 % of 1,000 = 50.00; Ontario 13 % of 1,050 = 136.50; by post 9.95.
    Parcel {
        name: "Canada, Ontario",
        to: "CA-ON",
        day: "2026-10-20",
        seller: "TW,CAD,60,0,post,,",
        parts: &["frame,1000,TW,,87149190"],
        owed: ["50.00", "0", "136.50", "9.95", "1256.45"],
    },
    // WTO, Trade policy review of Iceland 2017: no tariff on goods that are not agricultural. Ísland.is and Skatturinn: 24 % on price and
    // freight, from the first krona: 66,000 x 24 % = 15,840.
    Parcel {
        name: "Iceland",
        to: "IS",
        day: "2026-10-20",
        seller: "JP,ISK,6000,0,courier,,",
        parts: &["hub,60000,JP,,871493"],
        owed: ["0", "0", "15840", "0", "81840"],
    },
    // Jersey's customs service, guide for private importers, example 2 as told by a forwarder: goods 600, carriage 130, insurance 10; 5 %
    // of 740 = 37.00. Nothing else, since it comes from Great Britain, within the customs union.
    Parcel {
        name: "Jersey, the authority's example",
        to: "JE",
        day: "2026-10-20",
        seller: "GB,GBP,130,10,courier,,",
        parts: &["wheels,600,TW,,87149990"],
        owed: ["0", "0", "37.00", "0", "777.00"],
    },
    // Hong Kong Customs and Excise, Cargo clearance: a free port, no tariff, no value added or general services tax.
    Parcel {
        name: "Hong Kong",
        to: "HK",
        day: "2026-10-20",
        seller: "TW,HKD,150,0,courier,,",
        parts: &["frame,3000,TW,,871491"],
        owed: ["0", "0", "0", "0", "3150.00"],
    },
];

fn landed(parcel: &Parcel) -> Landed {
    let seller = "dispatch,currency,freight,insurance,channel,collects_tax,handling";
    landed_of(
        (parcel.to, parcel.day),
        (seller, parcel.seller),
        ("part,price,origin,preference,commodity", parcel.parts),
    )
}

/// One seller's parcel to a place on a day: the columns of the seller's row and of its parts, and what stands in them.
pub(crate) fn landed_of(
    (to, day): (&str, &str),
    (columns, seller): (&str, &str),
    (header, rows): (&str, &[&str]),
) -> Landed {
    let settings = format!("setting,value\ndestination,{to}\ndate,{day}\n");
    let mut parts = format!("{header},place,seller,mass_g\n");
    rows.iter()
        .for_each(|row| parts.push_str(&format!("{row},tool,Kelpwood,500\n")));
    let sellers = format!("{columns},seller,transit_days\n{seller},Kelpwood,0\n");
    costed(&[
        ("settings", &settings),
        ("parts", &parts),
        ("sellers", &sellers),
    ])
}

/// What a book costs by the shipped tables; its settings name the destination and the day.
#[track_caller]
pub(crate) fn costed(tables: &[(&str, &str)]) -> Landed {
    let book = kit::book(tables);
    cost(&book, built_in(), &kit::ask(&book))
        .unwrap_or_else(|problems| panic!("{}", landwaiter::text::draw(&problems, false)))
}

/// The same of a book of one parcel.
#[track_caller]
pub(crate) fn only_bill(tables: &[(&str, &str)]) -> Bill {
    let mut bills = costed(tables).bills;
    assert_eq!(bills.len(), 1, "one parcel");
    bills.remove(0)
}

/// The bill of one parcel of which parts tell a fact beside price, origin and digits: where to and when, `dispatch,currency,freight,
/// channel,sender`, the name of the fact. What a private person gives is a gift.
#[track_caller]
pub(crate) fn given_or_bought(at: (&str, &str), seller: &str, fact: &str, parts: &[&str]) -> Bill {
    let standing = if seller.ends_with(",gift") {
        "given"
    } else {
        ""
    };
    let parts: Vec<String> = parts
        .iter()
        .map(|part| format!("{part},{standing}"))
        .collect();
    let parts: Vec<&str> = parts.iter().map(String::as_str).collect();
    let columns = format!("part,price,origin,commodity,{fact},standing");
    let landed = landed_of(
        at,
        ("dispatch,currency,freight,channel,sender", seller),
        (&columns, &parts),
    );
    landed.bills.into_iter().next().unwrap()
}

/// Each parcel costs what was worked out by hand.
#[track_caller]
fn agree(parcels: &[Parcel]) {
    let mut wrong = Vec::new();
    for parcel in parcels {
        let landed = landed(parcel);
        assert_eq!(landed.bills.len(), 1, "{}", parcel.name);
        let bill = &landed.bills[0];
        assert!(bill.gaps.is_empty(), "{}: a rate is missing", parcel.name);
        let amounts = &bill.amounts;
        let found = [
            amounts.duty,
            amounts.remedy,
            amounts.tax().unwrap(),
            amounts.handling,
            amounts.landed().unwrap(),
        ];
        if found != parcel.owed.map(home) {
            wrong.push(format!(
                "{}: by hand {:?}, by the tables {:?}",
                parcel.name,
                parcel.owed,
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

#[test]
fn twenty_parcels_elsewhere_agree_with_the_texts() {
    agree(&PARCELS);
}

/// The surtaxes of Canada on goods made in the USA: SOR/2025-95 as amended by SOR/2026-187, and SOR/2026-186, both in the Canada
/// Gazette, Part II, of 23 September 2026 and in force on 8 September. They fall on the value for duty; tax falls on both.
const MADE_IN_THE_USA: [Parcel; 4] = [
    // Schedule 2.1 names 7315.11.00: 50 %. The rates of 30 October 2026 (European Central Bank: 1.5606 CAD and 1.1172 USD for a euro)
    // make 60 USD 83.81 CAD. That is under 150 CAD, which frees a courier parcel from the USA of duty but not of the surtax: 41.91;
    // Ontario 13 % of 125.72 = 16.34.
    Parcel {
        name: "Canada, a chain from the USA",
        to: "CA-ON",
        day: "2026-10-30",
        seller: "US,USD,0,0,courier,,",
        parts: &["chain,60,US,,73151100"],
        owed: ["41.91", "0", "16.34", "0", "142.06"],
    },
    // Schedule 3 of SOR/2026-186 names 9506.91.00: 50 % of 600 = 300.00, though the agreement frees the goods of ordinary duty;
    // 13 % of 900 = 117.00.
    Parcel {
        name: "Canada, a trainer from the USA, claimed",
        to: "CA-ON",
        day: "2026-10-20",
        seller: "US,CAD,0,0,courier,,",
        parts: &["trainer,600,US,yes,95069190"],
        owed: ["300", "0", "117", "0", "1017.00"],
    },
    // Until 7 September 2026 the surtax on steel was 25 % (SOR/2025-95 s. 1): 50.00; 13 % of 250 = 32.50.
    Parcel {
        name: "Canada, the last day at 25 %",
        to: "CA-ON",
        day: "2026-09-07",
        seller: "US,CAD,0,0,courier,,",
        parts: &["chain,200,US,,73151100"],
        owed: ["50", "0", "32.50", "0", "282.50"],
    },
    // From the 8th 50 %: 100.00; 13 % of 300 = 39.00.
    Parcel {
        name: "Canada, the first day at 50 %",
        to: "CA-ON",
        day: "2026-09-08",
        seller: "US,CAD,0,0,courier,,",
        parts: &["chain,200,US,,73151100"],
        owed: ["100", "0", "39", "0", "339.00"],
    },
];

#[test]
fn goods_made_in_the_usa_bear_the_canadian_surtax_in_small_parcels_too() {
    agree(&MADE_IN_THE_USA);
    // what was made elsewhere and is sent from the USA bears none
    let chain = Parcel {
        parts: &["chain,200,TW,,73151100"],
        owed: ["0", "0", "26", "0", "226.00"],
        ..MADE_IN_THE_USA[3]
    };
    agree(&[chain]);
}
