//! Prices that hold the seller's own tax, where a border is crossed and where none is; and schedules that are not in force.

use landwaiter::Question;
use landwaiter::text::draw;
use landwaiter::units::Date;

use crate::harness::landwaiter;
use crate::kit::{self, cost};
use crate::made;

fn parts(dispatch: &str, currency: &str, price: &str, tax: &str) -> String {
    format!(
        "part,place,seller,price,currency,dispatch,prices_include,freight,channel,transit_days,origin\n\
        Lowtide saddle,saddle,Immerfeld,{price},{currency},{dispatch},{tax},0,courier,0,{dispatch}\n"
    )
}

/// The goods of the only parcel, after discounts.
fn goods(parts: &str, discounts: &str, to: &str) -> String {
    let settings = format!("setting,value\ndestination,{to}\ndate,2026-03-02\n");
    let discounts = format!("code,seller,scope,percent\n{discounts}");
    let tables = [
        ("parts", parts),
        ("settings", &settings),
        ("discounts", &discounts),
    ];
    let book = made::taken(&tables);
    let ask = Question::new(&book.settings, Date::EPOCH).unwrap();
    let landed = cost(&book, kit::built_in(), &ask)
        .unwrap_or_else(|problems| panic!("{}", draw(&problems, false)));
    let amounts = landed.bills[0].amounts;
    amounts.goods.minus(amounts.discount).unwrap().fixed(2)
}

/// No border lies between the Netherlands and France, Germany or themselves, nor between Great Britain and itself.
#[test]
fn a_price_at_home_stands_as_typed() {
    for to in ["FR", "NL", "DE"] {
        assert_eq!(
            goods(&parts("NL", "EUR", "119.00", "19"), "", to),
            "119.00",
            "{to}"
        );
    }
    assert_eq!(
        goods(&parts("GB", "GBP", "120.00", "20"), "", "GB"),
        "120.00"
    );
    assert_eq!(
        goods(&parts("GB", "GBP", "120.00", "sale-tax"), "", "GB"),
        "120.00"
    );
}

/// 119.00 / 1.19 = 100.00 where the parcel leaves the customs union; the ticket price less 10 % is 107.10, and 107.10 / 1.19 = 90.00.
#[test]
fn a_sellers_own_tax_comes_off_for_export_after_codes() {
    let abroad = parts("GB", "EUR", "119.00", "19");
    assert_eq!(goods(&abroad, "", "DE"), "100.00");
    assert_eq!(goods(&abroad, "TEN,Immerfeld,basket,10\n", "DE"), "90.00");
    let home = parts("NL", "EUR", "119.00", "19");
    assert_eq!(goods(&home, "TEN,Immerfeld,basket,10\n", "DE"), "107.10");
}

#[test]
fn a_price_list_takes_no_tax_off_at_home() {
    let landed = |to: &str, dispatch: &str| {
        let ran = landwaiter(&format!("bulk list.csv book --to {to}"))
            .file("list.csv", "date,seller,price,commodity\n2026-03-02,Immerfeld,119.00,871495\n")
            .file("book/parts.csv", "part,place\nx,saddle\n")
            .file(
                "book/sellers.csv",
                format!("seller,dispatch,currency,prices_include,freight,channel,transit_days\nImmerfeld,{dispatch},EUR,19,0,courier,0\n"),
            )
            .go();
        assert_eq!(ran.status, 0, "{}", ran.err);
        ran.out
            .lines()
            .nth(1)
            .unwrap()
            .split(',')
            .nth(4)
            .unwrap()
            .to_owned()
    };
    assert_eq!(
        (landed("FR", "NL"), landed("FR", "GB")),
        ("119.00".to_owned(), "100.00".to_owned())
    );
}

/// The workbook's own sum of the goods, in the sheet of all parcels.
#[cfg(feature = "pages")]
#[test]
fn a_workbook_takes_no_tax_off_at_home() {
    use calamine::{Data, Reader, Xlsx};
    let folder = tempfile::tempdir().unwrap();
    let (book, file) = (
        folder.path().join("parts.csv"),
        folder.path().join("sums.xlsx"),
    );
    std::fs::write(&book, parts("NL", "EUR", "119.00", "19")).unwrap();
    let args = [
        "report",
        book.to_str().unwrap(),
        "--to",
        "FR",
        "--on",
        "2026-03-02",
        "-o",
        file.to_str().unwrap(),
    ];
    let ran = kit::landwaiter(&args);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    let mut sheets: Xlsx<_> = calamine::open_workbook(&file).unwrap();
    let total = sheets.worksheet_range("total").unwrap();
    let row: Vec<&Data> = total
        .rows()
        .find(|row| row[0] == Data::String("together".to_owned()))
        .unwrap()
        .iter()
        .collect();
    assert_eq!(
        (row[1], row[11]),
        (&Data::Float(119.0), &Data::Float(119.0))
    );
}

#[test]
fn a_schedule_not_yet_in_force_is_answered_with_its_first_day() {
    let says = |rows: &str| {
        let parts = parts("TW", "USD", "50.00", "").replace(",0,courier", ",taolin-post,courier");
        let ran = landwaiter("cost book --to GB --on 2026-03-02 --rates own")
            .file("book/parts.csv", parts)
            .file(
                "own/freight.csv",
                format!("schedule,dispatch,up_to_g,price,currency,valid_from,valid_to\n{rows}"),
            )
            .go();
        assert_eq!(ran.status, 1, "{}", ran.out);
        assert!(
            !ran.err.contains("did you mean `taolin-post`"),
            "{}",
            ran.err
        );
        ran.err
    };
    let future = says(
        "taolin-post,TW,,9.00,USD,2026-06-01,2026-12-31\ntaolin-post,TW,,9.50,USD,2027-01-01,\n",
    );
    assert!(
        future.contains("not in force on 2026-03-02: it begins on 2026-06-01"),
        "{future}"
    );
    let past = says("taolin-post,TW,,9.00,USD,2025-01-01,2025-12-31\n");
    assert!(
        past.contains("not in force on 2026-03-02: it ended on 2025-12-31"),
        "{past}"
    );
    let elsewhere = says("taolin-post,JP,,9.00,USD,2025-01-01,\n");
    assert!(
        elsewhere.contains("has no step from TW by courier to GB"),
        "{elsewhere}"
    );
    let misspelt = says("taolin-pots,TW,,9.00,USD,2025-01-01,\n");
    assert!(
        misspelt.contains("there is no freight schedule `taolin-post`")
            && misspelt.contains("did you mean `taolin-pots`?"),
        "{misspelt}"
    );
}
