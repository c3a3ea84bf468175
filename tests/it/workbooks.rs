//! What a book in a spreadsheet says by its formats, what it keeps from the eye, and workbooks made to do harm.

use crate::harness::{Ran, landwaiter};
use crate::kit;
use crate::package::{
    Member, archive, member, member_of, n, o, ods, ods_rows, rows, s, xlsx_parts,
};

const HEADER: [&str; 6] = ["part", "place", "seller", "price", "currency", "dispatch"];

fn header(more: &[&str], cell: fn(&str) -> String) -> Vec<String> {
    HEADER.iter().chain(more).map(|name| cell(name)).collect()
}

/// A saddle at this price; it is bought at home, so that nothing is added to it.
fn saddle(price: String, cell: fn(&str) -> String) -> Vec<String> {
    [
        ["Gannet saddle", "saddle", "Taolin"].map(cell).to_vec(),
        vec![price],
        ["GBP", "GB"].map(cell).to_vec(),
    ]
    .concat()
}

fn cost(name: &str, bytes: Vec<u8>) -> Ran {
    landwaiter(&format!(
        "cost {name} --to GB --on 2026-09-23 --format json"
    ))
    .file(name, bytes)
    .go()
}

fn xlsx(sheets: &[(&str, &str)]) -> Vec<u8> {
    archive(&xlsx_parts(sheets))
}

fn landed(ran: Ran) -> (String, String) {
    let ran = ran.ends(0);
    (
        ran.json()["totals"]["landed"].as_str().unwrap().to_owned(),
        ran.err,
    )
}

#[test]
fn an_error_of_a_formula_is_an_error_of_its_cell() {
    let fault = "<c t=\"e\"><f>1/0</f><v>#DIV/0!</v></c>".to_owned();
    let ran = cost(
        "b.xlsx",
        xlsx(&[("parts", &rows(&[header(&[], s), saddle(fault.clone(), s)]))]),
    )
    .ends(1);
    assert!(
        ran.err.contains("`price` (cell D2) is `#DIV/0!`")
            && ran.err.contains("b.xlsx, sheet parts, row 2"),
        "{}",
        ran.err
    );
    for (name, shown) in [
        ("#N/A", "calcext:value-type=\"error\" "),
        ("Err:502", ""),
        ("#REF!", ""),
    ] {
        let fault = format!(
            "<table:table-cell table:formula=\"of:=X\" office:value-type=\"string\" office:string-value=\"\" {shown}><text:p>{name}</text:p></table:table-cell>"
        );
        let ran = cost(
            "b.ods",
            ods(&[("parts", &ods_rows(&[header(&[], o), saddle(fault, o)]))]),
        )
        .ends(1);
        assert!(
            ran.err.contains(&format!("`price` (cell D2) is `{name}`")),
            "{}",
            ran.err
        );
    }
    // a column of the user's own is not read, whatever stands in it
    let mut row = saddle(n("58", 0), s);
    row.push(fault);
    let (sum, _) = landed(cost(
        "b.xlsx",
        xlsx(&[("parts", &rows(&[header(&["my sum"], s), row]))]),
    ));
    assert_eq!(sum, "58.00");
}

#[test]
fn a_formula_without_its_result_is_refused() {
    for formula in ["<c><f>29*2</f></c>", "<c><f>29*2</f><v></v></c>"] {
        let ran = cost(
            "b.xlsx",
            xlsx(&[(
                "parts",
                &rows(&[header(&[], s), saddle(formula.to_owned(), s)]),
            )]),
        )
        .ends(1);
        assert!(
            ran.err
                .contains("`price` (cell D2) is a formula whose result is not in the file"),
            "{}",
            ran.err
        );
    }
    let bare = "<table:table-cell table:formula=\"of:=29*2\"/>".to_owned();
    let ran = cost(
        "b.ods",
        ods(&[("parts", &ods_rows(&[header(&[], o), saddle(bare, o)]))]),
    )
    .ends(1);
    assert!(
        ran.err
            .contains("`price` (cell D2) is a formula whose result is not in the file"),
        "{}",
        ran.err
    );
    // one with its result is its result
    let (sum, _) = landed(cost(
        "b.xlsx",
        xlsx(&[(
            "parts",
            &rows(&[
                header(&[], s),
                saddle("<c><f>29*2</f><v>58</v></c>".to_owned(), s),
            ]),
        )]),
    ));
    assert_eq!(sum, "58.00");
}

/// 58.00 less 100 %, 50 % and 2.5 %: 0.00, 29.00 and 56.55.
#[test]
fn a_percentage_cell_is_the_percentage_it_shows() {
    for (kept, sum) in [("1", "0.00"), ("0.5", "29.00"), ("0.025", "56.55")] {
        let codes = |percent: String, cell: fn(&str) -> String| {
            let row = [
                ["SPRING", "Taolin", "basket"].map(cell).to_vec(),
                vec![percent],
            ]
            .concat();
            vec![
                ["code", "seller", "scope", "percent"].map(cell).to_vec(),
                row,
            ]
        };
        let parts = rows(&[header(&[], s), saddle(n("58", 0), s)]);
        let book = xlsx(&[
            ("parts", &parts),
            ("discounts", &rows(&codes(n(kept, 1), s))),
        ]);
        assert_eq!(landed(cost("b.xlsx", book)).0, sum);
        let percent = format!(
            "<table:table-cell office:value-type=\"percentage\" office:value=\"{kept}\"><text:p>x</text:p></table:table-cell>"
        );
        let parts = ods_rows(&[header(&[], o), saddle(o("58"), o)]);
        assert_eq!(
            landed(cost(
                "b.ods",
                ods(&[
                    ("parts", &parts),
                    ("discounts", &ods_rows(&codes(percent, o)))
                ])
            ))
            .0,
            sum
        );
    }
}

#[test]
fn a_cell_formatted_in_another_currency_is_refused() {
    let both = "expected an amount in GBP, the currency of this row";
    let ran = cost(
        "b.xlsx",
        xlsx(&[("parts", &rows(&[header(&[], s), saddle(n("58", 2), s)]))]),
    )
    .ends(1);
    assert!(
        ran.err.contains("`58 EUR`") && ran.err.contains(both),
        "{}",
        ran.err
    );
    // the dollar of many countries is still not the pound
    let ran = cost(
        "b.xlsx",
        xlsx(&[("parts", &rows(&[header(&[], s), saddle(n("58", 4), s)]))]),
    )
    .ends(1);
    assert!(
        ran.err.contains("`58 $`") && ran.err.contains(both),
        "{}",
        ran.err
    );
    let cell = |kind: &str, shown: &str| {
        format!(
            "<table:table-cell office:value-type={kind} office:value=\"58\"><text:p>{shown}</text:p></table:table-cell>"
        )
    };
    for (kind, shown) in [
        ("\"currency\" office:currency=\"EUR\"", "58,00 €"),
        ("\"float\"", "€58.00"),
    ] {
        let ran = cost(
            "b.ods",
            ods(&[(
                "parts",
                &ods_rows(&[header(&[], o), saddle(cell(kind, shown), o)]),
            )]),
        )
        .ends(1);
        assert!(
            ran.err.contains("`58 EUR`") && ran.err.contains(both),
            "{}",
            ran.err
        );
    }
    // its own is no matter
    let own = cell("\"currency\" office:currency=\"GBP\"", "£58.00");
    assert_eq!(
        landed(cost(
            "b.ods",
            ods(&[("parts", &ods_rows(&[header(&[], o), saddle(own, o)]))])
        ))
        .0,
        "58.00"
    );
}

/// Amounts in the destination's money, in the cells of a saddle that is there, of its seller and of the settings: formatted as £ they
/// are taken, as € they are refused, as the same words of a CSV are.
#[test]
fn amounts_in_the_destinations_money_are_refused_in_another() {
    let book = |column: &str, style: usize| {
        let text = |words: &[&str]| words.iter().map(|word| s(word)).collect::<Vec<_>>();
        let mut parts = [text(&HEADER), text(&["standing"])].concat();
        let mut row = [saddle(n("58", 0), s), text(&["in-hand"])].concat();
        let (mut sellers, mut settings) = (
            vec![text(&["seller"]), text(&["Taolin"])],
            vec![text(&["setting", "value"])],
        );
        match column {
            "handling" => {
                sellers[0].push(s(column));
                sellers[1].push(n("50", style));
            }
            "budget" | "worth_per_kg" => settings.push(vec![s(column), n("50", style)]),
            _ => {
                parts.push(s(column));
                row.push(n("50", style));
            }
        }
        let (parts, sellers, settings) = (rows(&[parts, row]), rows(&sellers), rows(&settings));
        cost(
            "b.xlsx",
            xlsx(&[
                ("parts", &parts),
                ("sellers", &sellers),
                ("settings", &settings),
            ]),
        )
    };
    for column in ["paid", "resale", "handling", "budget", "worth_per_kg"] {
        book(column, 10).ends(0);
        for (style, shown) in [(2, "50 EUR"), (4, "50 $"), (12, "50 kr")] {
            let ran = book(column, style).ends(1);
            let said = format!(
                "`{column}` is `{shown}`: expected an amount in GBP, the destination's currency"
            );
            assert!(ran.err.contains(&said), "{said}\n{}", ran.err);
            assert_eq!(ran.err.matches("error:").count(), 1, "{}", ran.err);
        }
    }
}

/// Where only the sheet of sellers says the currency, a sign that cannot stand for it is refused too.
#[test]
fn a_sign_that_several_currencies_share_is_held_against_the_sellers_currency() {
    let book = |currency: &str, style: usize| {
        let text = |words: &[&str]| words.iter().map(|word| s(word)).collect::<Vec<_>>();
        let row = [
            text(&["Gannet saddle", "saddle", "Taolin"]),
            vec![n("58", style)],
        ]
        .concat();
        let parts = rows(&[text(&["part", "place", "seller", "price"]), row]);
        let sellers = rows(&[
            text(&["seller", "currency", "dispatch", "freight"]),
            text(&["Taolin", currency, "GB", "0"]),
        ]);
        cost("b.xlsx", xlsx(&[("parts", &parts), ("sellers", &sellers)]))
    };
    for (style, shown) in [(4, "58 $"), (11, "58 ¥"), (12, "58 kr")] {
        let ran = book("GBP", style).ends(1);
        let said =
            format!("`price` is `{shown}`: expected an amount in GBP, the currency of this row");
        assert!(ran.err.contains(&said), "{said}\n{}", ran.err);
    }
    assert_eq!(landed(book("GBP", 10)).0, "58.00");
    for (currency, style) in [("USD", 4), ("CNY", 11), ("NOK", 12)] {
        book(currency, style).ends(0);
    }
}

#[test]
fn what_is_hidden_or_struck_out_is_read_and_named() {
    let bar = |look: usize| -> String {
        let text =
            |text: &str| format!("<c s=\"{look}\" t=\"inlineStr\"><is><t>{text}</t></is></c>");
        ["Windrow bar", "handlebar", "Taolin"].map(text).concat()
            + &n("12", look)
            + &["GBP", "GB"].map(text).concat()
    };
    let sheet = format!(
        "<cols><col min=\"3\" max=\"3\" hidden=\"1\"/></cols><sheetData><row>{}</row><row hidden=\"1\">{}</row><row>{}</row></sheetData>",
        header(&[], s).concat(),
        saddle(n("58", 0), s).concat(),
        bar(3)
    );
    let (sum, said) = landed(cost("b.xlsx", xlsx(&[("parts", &sheet)])));
    assert_eq!(sum, "70.00");
    assert!(
        said.contains("hidden, and read all the same: row 2 and column C"),
        "{said}"
    );
    assert!(
        said.contains("struck out, and read all the same: row 3"),
        "{said}"
    );
    let struck = "<table:table-cell table:style-name=\"gone\" office:value-type=\"float\" office:value=\"12\"><text:p>12</text:p></table:table-cell>";
    let table = format!(
        "<table:table-column table:number-columns-repeated=\"2\"/><table:table-column table:visibility=\"collapse\"/>\
         <table:table-row>{}</table:table-row><table:table-row table:visibility=\"filter\">{}</table:table-row><table:table-row>{}</table:table-row>",
        header(&[], o).concat(),
        saddle(o("58"), o).concat(),
        saddle(struck.to_owned(), o)
            .concat()
            .replace("Gannet saddle", "Windrow bar")
            .replace("<text:p>saddle", "<text:p>handlebar")
    );
    let (sum, said) = landed(cost("b.ods", ods(&[("parts", &table)])));
    assert_eq!(sum, "70.00");
    assert!(
        said.contains("hidden, and read all the same: row 2 and column C"),
        "{said}"
    );
    assert!(
        said.contains("struck out, and read all the same: cell D3"),
        "{said}"
    );
}

/// A name may carry more of the sheet's tag: that it is hidden, or a style by which it is not displayed.
#[test]
fn a_hidden_sheet_is_read_and_named() {
    let sheet = rows(&[header(&[], s), saddle(n("58", 0), s)]);
    let table = ods_rows(&[header(&[], o), saddle(o("58"), o)]);
    let xlsx = |name: &str| cost("b.xlsx", xlsx(&[(name, &sheet)]));
    let ods = |name: &str| cost("b.ods", ods(&[(name, &table)]));
    for (hidden, plain) in [
        (
            xlsx("parts\" state=\"hidden"),
            xlsx("parts\" state=\"visible"),
        ),
        (xlsx("parts\" state=\"veryHidden"), xlsx("parts")),
        (
            ods("parts\" table:style-name=\"away"),
            ods("parts\" table:style-name=\"gone"),
        ),
    ] {
        let ((sum, said), (same, nothing)) = (landed(hidden), landed(plain));
        assert_eq!((sum.as_str(), same.as_str()), ("58.00", "58.00"));
        assert!(
            said.contains("this sheet is hidden, and read all the same"),
            "{said}"
        );
        assert!(!nothing.contains("hidden"), "{nothing}");
    }
}

/// Columns and rows that are formatted to the end of the sheet hold nothing, and are no matter.
#[test]
fn what_is_only_formatted_is_no_bound() {
    let blank = "<row r=\"1048576\"><c r=\"A1048576\" s=\"1\"/><c r=\"XFD1048576\" s=\"1\"/></row></sheetData>";
    let sheet = rows(&[header(&[], s), saddle(n("58", 0), s)]).replace("</sheetData>", blank);
    assert_eq!(
        landed(cost("b.xlsx", xlsx(&[("parts", &sheet)]))).0,
        "58.00"
    );
    let blank = "<table:table-row table:number-rows-repeated=\"1048570\"><table:table-cell table:number-columns-repeated=\"16384\"/></table:table-row>";
    let table = ods_rows(&[header(&[], o), saddle(o("58"), o)]) + blank;
    assert_eq!(landed(cost("b.ods", ods(&[("parts", &table)]))).0, "58.00");
}

/// A sheet `parts` and, beside it, what else the workbook holds.
fn bomb(inner: &str, more: Vec<Member>) -> Vec<u8> {
    let mut parts = xlsx_parts(&[("parts", inner)]);
    parts.extend(more);
    archive(&parts)
}

fn far(name: &str) -> String {
    format!(
        "<sheetData><row><c r=\"A1\" t=\"inlineStr\"><is><t>part</t></is></c></row><row><c r=\"{name}\" t=\"inlineStr\"><is><t>x</t></is></c></row></sheetData>"
    )
}

/// Hexadecimal letters that look like chance and are the same each time.
fn noise(seed: u64, length: usize) -> Vec<u8> {
    let mut state = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1;
    let letter = |_| {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        b"0123456789abcdef"[(state >> 60) as usize]
    };
    (0..length).map(letter).collect()
}

/// Those that take long to make and to read are left to the whole run.
#[expect(clippy::too_many_lines, reason = "one book is told in one piece")]
fn bombs() -> Vec<(&'static str, Vec<u8>, &'static str)> {
    let shared = |text: &str, times: usize| {
        let cells: String = (0..times)
            .map(|row| format!("<row><c r=\"A{}\" t=\"s\"><v>0</v></c></row>", row + 1))
            .collect();
        bomb(
            &format!("<sheetData>{cells}</sheetData>"),
            vec![member(
                "xl/sharedStrings.xml",
                format!("<sst><si><t>{text}</t></si></sst>").as_bytes(),
            )],
        )
    };
    let wide: String = (1..=20_000)
        .map(|row| format!("<row><c r=\"IV{row}\"><v>1</v></c></row>"))
        .collect();
    let times =
        |what: &str, cell: &str| format!("<table:table-row {what}>{cell}</table:table-row>");
    let million = "<table:table-cell table:number-columns-repeated=\"1000000\" office:value-type=\"string\"><text:p>x</text:p></table:table-cell>";
    let blanks = o("x<text:s text:c=\"1000000000\"/>y");
    let entities =
        "<!DOCTYPE worksheet [<!ENTITY a \"aaaaaaaaaa\"><!ENTITY b \"&a;&a;&a;&a;&a;&a;&a;&a;\">]>";
    let whole = kit::share(1, 0) == 1;
    let short: String = noise(5, if whole { 4_100_000 } else { 0 })
        .iter()
        .map(|letter| if *letter < b'8' { "<a/>" } else { "<b/>" })
        .collect();
    let piece = |at: u64| {
        [
            b"<!--".to_vec(),
            noise(at, 64),
            vec![b' '; 3000],
            b"-->".to_vec(),
        ]
        .concat()
    };
    let pieces = if whole { 24_000 } else { 0 };
    let mut all = vec![
        (
            "b.xlsx",
            bomb(&far("XFD1048576"), vec![]),
            "column XFD, beyond the 256 columns",
        ),
        (
            "b.xlsx",
            bomb(&far("A1048576"), vec![]),
            "row 1048576, beyond the 20000 rows",
        ),
        (
            "b.xlsx",
            bomb(&far("ZZZZZZZ2"), vec![]),
            "beyond the 256 columns",
        ),
        (
            "b.xlsx",
            bomb(&format!("<sheetData>{wide}</sheetData>"), vec![]),
            "more cells than the 400000",
        ),
        (
            "b.xlsx",
            shared(&"A".repeat(1_000_000), 3000),
            "more than 32767 letters",
        ),
        (
            "b.xlsx",
            shared(&"A".repeat(32_000), 3000),
            "more than 16 MiB of text",
        ),
        (
            "b.xlsx",
            bomb(&"<row></row>".repeat(400_000), vec![]),
            "unpacks to more than 200 times its size",
        ),
        (
            "b.xlsx",
            bomb(
                &format!(
                    "<a b=\"{}\"/>",
                    String::from_utf8(noise(7, 3 << 20)).unwrap()
                ),
                vec![],
            ),
            "longer than 1 MiB",
        ),
        (
            "b.xlsx",
            bomb(&"<a>".repeat(300_000), vec![]),
            "nested more than 200 deep",
        ),
        ("b.xlsx", bomb(&short, vec![]), "more than 4000000 tags"),
        (
            "b.xlsx",
            bomb(&far("B2").replace("part", "&lol;"), vec![]),
            "names an entity `lol`",
        ),
        (
            "b.xlsx",
            bomb(&format!("{entities}{}", far("B2")), vec![]),
            "declares entities of its own",
        ),
        (
            "b.xlsx",
            bomb(
                "",
                (0..5000).map(|at| member(&format!("x{at}"), b"")).collect(),
            ),
            "more than 4096 files",
        ),
        (
            "b.ods",
            ods(&[("parts", &times("", million))]),
            "beyond the 256 columns",
        ),
        (
            "b.ods",
            ods(&[(
                "parts",
                &times("table:number-rows-repeated=\"1000000\"", &o("x")),
            )]),
            "beyond the 20000 rows",
        ),
        (
            "b.ods",
            ods(&[("parts", &times("", &blanks))]),
            "more than 32767 letters",
        ),
        (
            "b.ods",
            ods(&[("parts", &"<table:table-row>".repeat(50_000))]),
            "nested more than 200 deep",
        ),
        (
            "b.ods",
            ods(&[("parts", &times("", &o("&lol;")))]),
            "names an entity `lol`",
        ),
        (
            "b.ods",
            archive(&[member_of(
                "content.xml",
                std::iter::once(b"<a>".to_vec()).chain((0..pieces).map(piece)),
            )]),
            "more than 64 MiB",
        ),
    ];
    all.retain(|(_, _, said)| {
        whole || !["more than 4000000 tags", "more than 64 MiB"].contains(said)
    });
    all
}

/// Each ends with the bound it meets, within 300 MB of addresses (a limit of the system's, so that more ends the program), and
/// in a moment.
#[cfg(unix)]
#[test]
fn workbooks_made_to_do_harm_end_with_the_bound_they_meet() {
    for (name, bytes, said) in bombs() {
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join(name), bytes).unwrap();
        let run = format!(
            "ulimit -v 307200; ulimit -t 60; exec '{}' cost {name} --to GB",
            env!("CARGO_BIN_EXE_landwaiter")
        );
        let output = std::process::Command::new("sh")
            .args(["-c", &run])
            .current_dir(dir.path())
            .output()
            .unwrap();
        let err = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(1), "{said}: {err}");
        assert!(
            err.contains(said) && err.contains(name),
            "expected {said}: {err}"
        );
    }
}

#[test]
fn what_the_directory_says_of_sizes_is_not_believed() {
    let sheet = rows(&[header(&[], s), saddle(n("58", 0), s)]);
    for said in [0, 1, u32::MAX - 1] {
        let mut parts = xlsx_parts(&[("parts", &sheet)]);
        parts.iter_mut().for_each(|part| part.said = said);
        assert_eq!(landed(cost("b.xlsx", archive(&parts))).0, "58.00");
    }
    let mut parts = xlsx_parts(&[("parts", &sheet)]);
    parts[0].crc ^= 1;
    let ran = cost("b.xlsx", archive(&parts)).ends(1);
    assert!(ran.err.contains("the file is damaged"), "{}", ran.err);
    let whole = xlsx(&[("parts", &sheet)]);
    for length in (0..whole.len()).step_by(61) {
        let ran = cost("b.xlsx", whole[..length].to_vec()).ends(1);
        assert!(
            ran.err.contains("the spreadsheet cannot be read"),
            "{length}: {}",
            ran.err
        );
    }
}
