//! Published files of exchange rates, as they are published, read and merged.
//!
//! The figures are those of `ecb_rates_extract.csv` (ECB statistics) and `hmrc_monthly_rates_extract.csv` (HM Revenue &
//! Customs, Crown copyright, Open Government Licence v3.0); the layouts are those the two publishers use.

use crate::abroad::built_in;
use crate::tables::{Publication, Tables, Use, import, merge};
use crate::text::{Problems, draw};

const ECB_DAY: &str =
    "Date, USD, JPY, GBP, CHF, \n30 October 2026, 1.1172, 175.68, 0.8338, 0.9194, \n";

/// Newest first, a comma at each line's end, `N/A` where there was none, a column of money that is no more.
const ECB_HISTORY: &str = "Date,USD,JPY,CYP,GBP,ISK,\n\
    2026-10-30,1.1172,175.68,N/A,0.8338,136,\n2026-10-29,1.113,175.92,N/A,0.83578,135.8,\n2008-12-10,1.2925,119.77,N/A,0.87325,N/A,\n";

const HMRC_DAYS: &str = "Country/Territories,Currency,Currency Code,Currency Units per £1,Start Date,End Date\n\
    Eurozone,Euro,EUR,1.1692,01/07/2021,31/07/2021\nTaiwan,Dollar,TWD,39.11,01/07/2021,31/07/2021\n\
    Japan,Yen,JPY,154.77,01/07/2021,31/07/2021\n\"Korea, South\",Won,KRW,1589.11,01/07/2021,31/07/2021\n";

const HMRC_PERIOD: &str = "Period,countryName,countryCode,currencyName,currencyCode,rateNew\n\
    01/Feb/2020 to 29/Feb/2020,Eurozone,EU,Euro,EUR,1.1864\n01/Feb/2020 to 29/Feb/2020,Andorra,AD,Euro,EUR,1.1864\n\
    01/Feb/2020 to 29/Feb/2020,Taiwan,TW,Dollar,TWD,39.39\n";

const HMRC_XML: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<exchangeRateMonthList Period=\"01/Feb/2020 to 29/Feb/2020\">\n\
    \x20<exchangeRate>\n  <countryName>Eurozone</countryName><countryCode>EU</countryCode>\n  <currencyName>Euro</currencyName>\
    <currencyCode>EUR</currencyCode><rateNew>1.1864</rateNew>\n </exchangeRate>\n <exchangeRate>\n  <countryName>Taiwan</countryName>\
    <countryCode>TW</countryCode>\n  <currencyName>Dollar</currencyName><currencyCode>TWD</currencyCode><rateNew>39.39</rateNew>\n \
    </exchangeRate>\n</exchangeRateMonthList>\n";

fn read(bytes: &[u8]) -> Publication {
    let mut problems = Problems::new();
    let found = import("published", bytes, &mut problems);
    found.unwrap_or_else(|| panic!("{}", draw(&problems, false)))
}

/// What a refusal says; nothing is taken.
fn refusal(bytes: &[u8]) -> String {
    let mut problems = Problems::new();
    assert!(
        import("published", bytes, &mut problems).is_none(),
        "taken all the same"
    );
    draw(&problems, false)
}

/// `EUR USD 1.1172 2026-10-30`, one for each rate.
fn rows(publication: &Publication) -> Vec<String> {
    let row = |r: &crate::tables::import::Imported| {
        let to = r.to.map(|d| format!(" {d}")).unwrap_or_default();
        format!("{} {} {} {}{to}", r.base, r.quote, r.rate, r.from)
    };
    publication.rates.iter().map(row).collect()
}

#[test]
fn the_bank_s_file_of_one_day() {
    let found = read(ECB_DAY.as_bytes());
    assert_eq!(
        found.kind,
        "the European Central Bank's reference rates of one day"
    );
    let day = "2026-10-30";
    let expected = [
        ("USD", "1.1172"),
        ("JPY", "175.68"),
        ("GBP", "0.8338"),
        ("CHF", "0.9194"),
    ];
    assert_eq!(
        rows(&found),
        expected.map(|(code, rate)| format!("EUR {code} {rate} {day}"))
    );
    assert!(found.rates.iter().all(|rate| rate.usage == Use::Market));
}

#[test]
fn the_bank_s_history() {
    let found = read(ECB_HISTORY.as_bytes());
    assert_eq!(
        found.kind,
        "the European Central Bank's reference rates, history"
    );
    assert_eq!(found.unknown, ["CYP"]);
    assert_eq!(found.rates.len(), 4 + 4 + 3, "N/A is no rate");
    assert_eq!(
        rows(&found)[8..],
        [
            "EUR USD 1.2925 2008-12-10",
            "EUR JPY 119.77 2008-12-10",
            "EUR GBP 0.87325 2008-12-10"
        ]
    );
}

#[test]
fn both_monthly_layouts_in_both_encodings() {
    let latin: Vec<u8> = HMRC_DAYS
        .chars()
        .map(|c| u8::try_from(u32::from(c)).unwrap())
        .collect();
    assert!(
        std::str::from_utf8(&latin).is_err(),
        "the pound sign is one byte there"
    );
    let marked = [b"\xef\xbb\xbf".as_slice(), HMRC_DAYS.as_bytes()].concat();
    let crlf = HMRC_DAYS.replace('\n', "\r\n");
    for bytes in [HMRC_DAYS.as_bytes(), &latin, &marked, crlf.as_bytes()] {
        let found = read(bytes);
        let expected = [
            ("EUR", "1.1692"),
            ("TWD", "39.11"),
            ("JPY", "154.77"),
            ("KRW", "1589.11"),
        ];
        assert_eq!(
            rows(&found),
            expected.map(|(code, rate)| format!("GBP {code} {rate} 2021-07-01 2021-07-31"))
        );
        assert!(found.rates.iter().all(|rate| rate.usage == Use::Customs));
    }
    let expected = [
        "GBP EUR 1.1864 2020-02-01 2020-02-29",
        "GBP TWD 39.39 2020-02-01 2020-02-29",
    ];
    assert_eq!(
        rows(&read(HMRC_PERIOD.as_bytes())),
        expected,
        "one rate of a currency, however many countries share it"
    );
    assert_eq!(
        rows(&read(HMRC_XML.as_bytes())),
        expected,
        "the XML of the month says the same"
    );
}

#[test]
fn a_bad_line_refuses_the_whole_file_and_is_named() {
    let bad = |text: &str, from: &str, to: &str| refusal(text.replacen(from, to, 1).as_bytes());
    for (message, line, what) in [
        (
            bad(ECB_DAY, "0.8338", "-"),
            "published:2",
            "the rate of GBP is `-`",
        ),
        (
            bad(ECB_HISTORY, "175.92", "0"),
            "published:3",
            "the rate of JPY is `0`",
        ),
        (
            bad(ECB_HISTORY, "2008-12-10", "2008-13-10"),
            "published:4",
            "2008-13-10",
        ),
        (
            bad(ECB_HISTORY, "135.8,\n", "\n"),
            "published:3",
            "the line has 6 fields, the header 7",
        ),
        (bad(HMRC_DAYS, "39.11", "39,11"), "published:3", "TWD"),
        (
            bad(HMRC_DAYS, "01/07/2021,31/07/2021", "01/07/2021,"),
            "published:2",
            "the first and the last day",
        ),
        (
            bad(HMRC_DAYS, "1589.11,01/07/2021", "x,01/07/2021"),
            "published:5",
            "the rate of KRW is `x`",
        ),
        (
            bad(HMRC_PERIOD, "AD,Euro,EUR,1.1864", "AD,Euro,EUR,1.2"),
            "published:3",
            "a second rate of GBP to EUR: 1.2 beside 1.1864",
        ),
        (
            bad(HMRC_PERIOD, "29/Feb/2020,Taiwan", "30/Feb/2020,Taiwan"),
            "published:4",
            "the first and the last day",
        ),
        (
            bad(HMRC_XML, "39.39", ""),
            "published:7",
            "the rate of TWD is ``",
        ),
        (
            bad(HMRC_XML, "</exchangeRateMonthList>", ""),
            "published:",
            "the file is not whole XML",
        ),
        (
            bad(HMRC_XML, "29/Feb/2020", "30/Feb/2020"),
            "published:1",
            "expected `exchangeRateMonthList` with a `Period`",
        ),
        (
            refusal(b"place,price\nParis,3\n"),
            "published:1",
            "not a file of rates that is known here",
        ),
        (
            refusal(b"Date,USD,\n"),
            "published:1",
            "the file holds no rates",
        ),
        (refusal(b""), "published:1", "not a file of rates"),
    ] {
        assert!(
            message.contains(line) && message.contains(what),
            "expected {line} and {what} in:\n{message}"
        );
    }
}

#[test]
fn nothing_of_the_user_s_file_is_lost_and_nothing_comes_twice() {
    let own = "# my own notes\r\nuse;base;quote;rate;valid_from;note\r\nmarket;EUR;USD;1,2;30.10.2026;\"my bank; rounded\"\r\ncustoms;GBP;TWD;40;2021-06-01;";
    let (text, days) = merge(Some(own), &read(ECB_HISTORY.as_bytes())).unwrap();
    assert!(text.starts_with(own), "every line stays as it was");
    assert!(
        !text.contains("1.1172"),
        "the user's own rate of that day stands, however he wrote the day"
    );
    assert_eq!(
        days.iter().map(ToString::to_string).collect::<Vec<_>>(),
        ["2008-12-10", "2026-10-29", "2026-10-30"]
    );
    assert_eq!(text.matches("\r\n").count(), 4 + 10, "ten rates came");
    let (again, days) = merge(Some(&text), &read(ECB_HISTORY.as_bytes())).unwrap();
    assert!(days.is_empty());
    assert_eq!(again, text, "a second import adds nothing");
    let refused = merge(
        Some("date,rate\n2026-10-30,1.1\n"),
        &read(ECB_DAY.as_bytes()),
    )
    .unwrap_err();
    assert!(refused.contains("no column `use`"), "{refused}");
}

/// What the bank published and what is built in agree, so an import of days that are built in changes no sum.
#[test]
fn the_published_days_are_those_built_in() {
    for rate in read(ECB_HISTORY.as_bytes())
        .rates
        .iter()
        .filter(|r| *r.from.to_string() >= *"2025-01-02" && r.quote.code() != "ISK")
    {
        let quote = built_in()
            .exchange
            .quote(Use::Market, rate.base, rate.quote, rate.from)
            .unwrap()
            .unwrap();
        assert_eq!(
            quote.figures,
            [format!("1 EUR = {} {}", rate.rate, rate.quote)],
            "{}",
            rate.from
        );
    }
}

/// The forms below are made by hand after the publishers' own descriptions; the figures of Norges Bank, the Bank of Canada and
/// Swiss customs are ones that they printed, the others are made up.
const ECB_XML: &str = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gesmes:Envelope xmlns:gesmes=\"http://www.gesmes.org/xml/2002-08-01\" \
    xmlns=\"http://www.ecb.int/vocabulary/2002-08-01/eurofxref\">\n<gesmes:subject>Reference rates</gesmes:subject>\n<Cube>\n\
    <Cube time=\"2026-10-30\">\n<Cube currency=\"USD\" rate=\"1.1172\"/>\n<Cube currency=\"JPY\" rate=\"175.68\"/>\n</Cube>\n\
    <Cube time=\"2026-10-29\">\n<Cube currency=\"USD\" rate=\"1.113\"/>\n</Cube>\n</Cube>\n</gesmes:Envelope>\n";

const NORGES: &str = "FREQ;Frequency;BASE_CUR;Base Currency;QUOTE_CUR;Quote Currency;TENOR;Tenor;DECIMALS;CALCULATED;UNIT_MULT;\
    Unit Multiplier;COLLECTION;Collection Indicator;TIME_PERIOD;OBS_VALUE\n\
    B;Business;USD;US dollar;NOK;Norwegian krone;SP;Spot;4;false;0;Units;C;ECB concertation time 14:15 CET;2026-08-07;9.5145\n\
    B;Business;SEK;Swedish krona;NOK;Norwegian krone;SP;Spot;2;false;2;Hundreds;C;ECB concertation time 14:15 CET;2026-10-09;95.95\n\
    B;Business;ISK;Icelandic krona;NOK;Norwegian krone;SP;Spot;2;false;2;Hundreds;C;x;2026-10-09;\"1,357.20\"\n";

const BANK_OF_CANADA_CSV: &str = "\"TERMS AND CONDITIONS\"\n\"https://www.bankofcanada.ca/terms/\"\n\n\"SERIES\"\nid,label\n\"FXUSDCAD\",\"USD/CAD\"\n\n\
    \"OBSERVATIONS\"\n\"date\",\"FXGBPCAD\",\"FXTWDCAD\",\"FXUSDCAD\"\n\"2026-09-21\",\"1.8710\",\"0.04422\",\"1.4051\"\n\"2026-09-22\",\"1.8723\",\"\",\"1.4064\"\n";

const BANK_OF_CANADA_JSON: &str = "{\n\"terms\": {\"url\": \"https://www.bankofcanada.ca/terms/\"},\n\"observations\": [\n\
    {\"d\": \"2026-09-22\", \"FXUSDCAD\": {\"v\": \"1.4064\"}, \"FXTWDCAD\": {\"v\": \"0.04425\"}}\n]\n}\n";

const CANADIAN_CUSTOMS: &str = "{\"ForeignExchangeRates\": [\n\
    {\"ExchangeRateId\": 1, \"Rate\": \"1.4064\", \"ExchangeRateEffectiveTimestamp\": \"2026-09-23T00:00:00\", \"ExchangeRateExpiryTimestamp\": \
    \"2026-09-23T23:59:59\", \"FromCurrency\": {\"Value\": \"USD\"}, \"ToCurrency\": {\"Value\": \"CAD\"}},\n\
    {\"ExchangeRateId\": 2, \"Rate\": \"0.0443\", \"ExchangeRateEffectiveTimestamp\": \"2026-09-23T00:00:00\", \
    \"FromCurrency\": {\"Value\": \"TWD\"}, \"ToCurrency\": {\"Value\": \"CAD\"}}\n]}\n";

const SWISS_DAY: &str = "<?xml version=\"1.0\"?>\n<wechselkurse xmlns=\"https://www.backend-rates.bazg.admin.ch/xmldaily\">\n<datum>03.06.2026</datum>\n\
    <devise code=\"usd\"><land_en>USA</land_en><waehrung>1 USD</waehrung><kurs>0.79588</kurs></devise>\n\
    <devise code=\"jpy\"><land_en>Japan</land_en><waehrung>100 JPY</waehrung><kurs>0.54321</kurs></devise>\n</wechselkurse>\n";

const KOREAN: &str = "<?xml version=\"1.0\"?>\n<trifFxrtInfoQryRtnVo>\n<tCnt>3</tCnt>\n\
    <trifFxrtInfoQryRsltVo><cntySgn>CN</cntySgn><mtryUtNm>Yuan</mtryUtNm><fxrt>190.42</fxrt><currSgn>CNY</currSgn><aplyBgnDt>20260712</aplyBgnDt><imexTp>2</imexTp></trifFxrtInfoQryRsltVo>\n\
    <trifFxrtInfoQryRsltVo><cntySgn>JP</cntySgn><mtryUtNm>Yen</mtryUtNm><fxrt>941.5</fxrt><currSgn>JPY</currSgn><aplyBgnDt>20260712</aplyBgnDt><imexTp>2</imexTp></trifFxrtInfoQryRsltVo>\n\
    <trifFxrtInfoQryRsltVo><cntySgn>US</cntySgn><mtryUtNm>Dollar</mtryUtNm><fxrt>1300</fxrt><currSgn>USD</currSgn><aplyBgnDt>20260712</aplyBgnDt><imexTp>1</imexTp></trifFxrtInfoQryRsltVo>\n\
    </trifFxrtInfoQryRtnVo>\n";

const JAPANESE: &str = "Week: 2026-08-16 to 2026-08-22\ncountry code,country,currency,ISO,yen per 1,yen per 100\n\
    304,United States,Dollar,USD,157.56,\n103,Republic of Korea,Won,KRW,,11.02\n";

#[test]
fn each_publisher_s_form_is_read_to_the_digit() {
    let all: [(&str, Use, &[&str]); 8] = [
        (
            ECB_XML,
            Use::Market,
            &[
                "EUR USD 1.1172 2026-10-30",
                "EUR JPY 175.68 2026-10-30",
                "EUR USD 1.113 2026-10-29",
            ],
        ),
        // A hundred kronor cost 95.95 kroner, so one costs 0.9595.
        (
            NORGES,
            Use::Market,
            &[
                "USD NOK 9.5145 2026-08-07",
                "SEK NOK 0.9595 2026-10-09",
                "ISK NOK 13.572 2026-10-09",
            ],
        ),
        (
            BANK_OF_CANADA_CSV,
            Use::Market,
            &[
                "GBP CAD 1.8710 2026-09-21",
                "TWD CAD 0.04422 2026-09-21",
                "USD CAD 1.4051 2026-09-21",
                "GBP CAD 1.8723 2026-09-22",
                "USD CAD 1.4064 2026-09-22",
            ],
        ),
        (
            BANK_OF_CANADA_JSON,
            Use::Market,
            &["USD CAD 1.4064 2026-09-22", "TWD CAD 0.04425 2026-09-22"],
        ),
        (
            CANADIAN_CUSTOMS,
            Use::Customs,
            &[
                "USD CAD 1.4064 2026-09-23 2026-09-23",
                "TWD CAD 0.0443 2026-09-23 2026-09-23",
            ],
        ),
        (
            SWISS_DAY,
            Use::Customs,
            &[
                "USD CHF 0.79588 2026-06-03 2026-06-03",
                "JPY CHF 0.0054321 2026-06-03 2026-06-03",
            ],
        ),
        // The export rate of the third item is not taken; a week is the first day and six more.
        (
            KOREAN,
            Use::Customs,
            &[
                "CNY KRW 190.42 2026-07-12 2026-07-18",
                "JPY KRW 9.415 2026-07-12 2026-07-18",
            ],
        ),
        (
            JAPANESE,
            Use::Customs,
            &[
                "USD JPY 157.56 2026-08-16 2026-08-22",
                "KRW JPY 0.1102 2026-08-16 2026-08-22",
            ],
        ),
    ];
    for (file, usage, expected) in all {
        let found = read(file.as_bytes());
        assert_eq!(rows(&found), expected, "{}", found.kind);
        assert!(
            found.rates.iter().all(|rate| rate.usage == usage),
            "{}",
            found.kind
        );
        assert!(!found.source.is_empty());
    }
}

#[test]
fn a_month_of_swiss_rates_holds_all_its_days_and_a_day_can_hold_the_next() {
    let month = SWISS_DAY.replace(
        "<datum>03.06.2026</datum>",
        "<monat>02</monat><jahr>2026</jahr>",
    );
    assert_eq!(
        rows(&read(month.as_bytes()))[0],
        "USD CHF 0.79588 2026-02-01 2026-02-28"
    );
    let next = SWISS_DAY.replace("</datum>", "</datum><gueltigkeit>04.06.2026</gueltigkeit>");
    assert_eq!(
        rows(&read(next.as_bytes()))[0],
        "USD CHF 0.79588 2026-06-04 2026-06-04"
    );
}

#[test]
fn the_week_of_a_japanese_list_can_stand_in_the_name_of_the_file() {
    let without = JAPANESE.split_once('\n').unwrap().1;
    let mut problems = Problems::new();
    let path = "lists/kouji-rate20260816-20260822.csv";
    let found = import(path, without.as_bytes(), &mut problems).unwrap();
    assert_eq!(rows(&found)[0], "USD JPY 157.56 2026-08-16 2026-08-22");
    assert!(refusal(without.as_bytes()).contains("the week of the rates is missing"));
}

#[test]
#[expect(clippy::too_many_lines, reason = "one book is told in one piece")]
fn a_bad_line_of_any_publisher_is_named() {
    let bad = |text: &str, from: &str, to: &str| refusal(text.replacen(from, to, 1).as_bytes());
    for (message, line, what) in [
        (
            bad(ECB_XML, "1.1172", "0"),
            "published:6",
            "the rate of USD is `0`",
        ),
        (
            bad(ECB_XML, "2026-10-29", "2026-13-29"),
            "published:9",
            "2026-13-29",
        ),
        (
            bad(NORGES, "9.5145", "9,5145"),
            "published:2",
            "the rate of USD is `9,5145`",
        ),
        (
            bad(NORGES, ";2;Hundreds", ";x;Hundreds"),
            "published:3",
            "`UNIT_MULT` is `x`",
        ),
        (
            bad(BANK_OF_CANADA_CSV, "1.4051", "n/a"),
            "published:10",
            "the rate of USD is `n/a`",
        ),
        (
            bad(BANK_OF_CANADA_CSV, "\"2026-09-22\",", ""),
            "published:11",
            "the line has 3 fields, the header 4",
        ),
        (
            bad(BANK_OF_CANADA_JSON, "1.4064", "-1"),
            "published:4",
            "the rate of USD is `-1`",
        ),
        (
            bad(BANK_OF_CANADA_JSON, "]", ""),
            "published:",
            "the file is not whole JSON",
        ),
        (
            bad(CANADIAN_CUSTOMS, "\"0.0443\"", "\"\""),
            "published:3",
            "the rate of TWD is ``",
        ),
        (
            bad(CANADIAN_CUSTOMS, "2026-09-23T00", "soon"),
            "published:2",
            "ExchangeRateEffectiveTimestamp",
        ),
        (
            bad(SWISS_DAY, "100 JPY", "JPY"),
            "published:5",
            "`waehrung` is `JPY`",
        ),
        (
            bad(SWISS_DAY, "03.06.2026", "June"),
            "published:1",
            "expected the day of the rates",
        ),
        (
            bad(KOREAN, "20260712", "2026-07"),
            "published:4",
            "`aplyBgnDt` is `2026-07`",
        ),
        (
            bad(KOREAN, "941.5", "none"),
            "published:5",
            "the rate of JPY is `none`",
        ),
        (
            bad(JAPANESE, "157.56", "157,56"),
            "published:3",
            "the line has 7 fields, the header 6",
        ),
        (
            bad(JAPANESE, "157.56", "none"),
            "published:3",
            "the rate of USD is `none`",
        ),
        (
            refusal(b"{\"rates\": {}}"),
            "published:1",
            "not a file of rates that is known here",
        ),
        (
            refusal(b"<rates><usd>1</usd></rates>"),
            "published:1",
            "not a file of rates that is known here",
        ),
    ] {
        assert!(
            message.contains(line) && message.contains(what),
            "expected {line} and {what} in:\n{message}"
        );
    }
    let unknown = refusal(b"place,price\nParis,3\n");
    for said in [
        "Bank of Canada",
        "Norges Bank",
        "Japanese customs",
        "market,EUR,TWD,36.50,2026-10-30,my bank",
    ] {
        assert!(unknown.contains(said), "{said} is missing in:\n{unknown}");
    }
}

#[test]
fn the_taiwan_dollar_is_reached_through_the_bank_of_canada_s_rates() {
    let (text, _) = merge(None, &read(BANK_OF_CANADA_CSV.as_bytes())).unwrap();
    let own = crate::made::own(&("exchange.csv", &text));
    let mut problems = Problems::new();
    let tables = Tables::load(vec![own], &mut problems);
    assert!(problems.is_empty(), "{}", draw(&problems, false));
    let day = crate::units::Date::parse("2026-09-21").unwrap();
    let code = |code: &str| crate::units::Currency::parse(code).unwrap();
    // One Taiwan dollar is 0.04422 Canadian dollars, a pound 1.8710 of them: 1,000 of the first are 23.63 pounds.
    let quote = tables
        .exchange
        .quote(Use::Market, code("TWD"), code("GBP"), day)
        .unwrap()
        .unwrap();
    let pounds = quote
        .rate
        .convert(crate::units::Dec::from(1000_u32))
        .unwrap();
    assert_eq!(pounds.fixed(2), "23.63");
    // Where the euro's rates are as recent, they serve as before.
    let usual = tables
        .exchange
        .quote(Use::Market, code("USD"), code("GBP"), day)
        .unwrap()
        .unwrap();
    assert!(
        usual.figures.iter().all(|figure| figure.contains("EUR")),
        "{:?}",
        usual.figures
    );
}
