//! What is hidden stays hidden: no sum of a book and no name of a seller, code, parcel or schedule in what a report shows.

use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use serde_json::Value;

use crate::harness::landwaiter;
use crate::kit;

/// Everything a report writes that people can read: the page, the pictures, the words, without their style sheets.
///
/// Pictures are looked at in one shape, in every shape with `LANDWAITER_WHOLE=1`.
fn report(book: &str, hide: &str) -> Vec<(String, String)> {
    let mut hidden: Vec<&str> = Vec::new();
    hide.split(' ')
        .for_each(|what| hidden.extend(["--hide", what]));
    let shapes = kit::one_in(3, ["square", "wide", "tall"])
        .map(|shape| (kit::As::Pictures, vec!["--shape", shape]));
    let mut found = Vec::new();
    for (what, shape) in std::iter::once((kit::As::Page, Vec::new())).chain(shapes) {
        let made = kit::report(book, what, &[shape, hidden.clone()].concat());
        found.extend(made.iter().map(|(name, text)| (name.clone(), plain(text))));
    }
    assert!(
        found.len() > 3,
        "{:?}",
        found.iter().map(|(name, _)| name).collect::<Vec<_>>()
    );
    found
}

/// A report of the large example, made once for all that look at it.
fn gravel(hide: &str) -> &'static Vec<(String, String)> {
    static MADE: [OnceLock<Vec<(String, String)>>; 3] = [const { OnceLock::new() }; 3];
    let at = ["prices", "sellers", "prices sellers"]
        .iter()
        .position(|known| *known == hide)
        .expect("a way that is made");
    MADE[at].get_or_init(|| report("examples/gravel-build", hide))
}

/// A text without its style sheets and its tags, so that no place of a drawing is taken for a sum; what pictures say in place of
/// themselves stays.
fn plain(text: &str) -> String {
    let mut out = String::new();
    for piece in text.split("<style").enumerate().map(|(at, piece)| {
        if at == 0 {
            piece
        } else {
            piece.split("</style>").nth(1).unwrap_or("")
        }
    }) {
        let mut inside = false;
        for c in piece.chars() {
            match c {
                '<' => inside = true,
                '>' => {
                    inside = false;
                    out.push(' ');
                }
                c if !inside => out.push(c),
                _ => {}
            }
        }
    }
    out
}

/// Columns of a book that hold money.
const MONEY: [&str; 12] = [
    "price",
    "paid",
    "resale",
    "freight",
    "free_freight_over",
    "amount",
    "max_off",
    "min_spend",
    "handling",
    "return_freight",
    "insurance",
    "extra_per_kg",
];

/// Every cell of those columns that is a figure.
fn typed(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    for table in [
        "parts",
        "sellers",
        "parcels",
        "discounts",
        "bikes",
        "rates/freight",
    ] {
        let text = fs::read_to_string(folder.join(format!("{table}.csv"))).unwrap();
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .from_reader(text.as_bytes());
        let columns: Vec<String> = reader
            .headers()
            .unwrap()
            .iter()
            .map(str::to_owned)
            .collect();
        for record in reader.records().map(Result::unwrap) {
            let cells = record
                .iter()
                .zip(&columns)
                .filter(|(_, column)| MONEY.contains(&column.as_str()));
            found.extend(
                cells
                    .flat_map(|(cell, _)| cell.split(' '))
                    .map(str::to_owned),
            );
        }
    }
    // single digits and tens are masses, places and shares as often as sums
    found.retain(|figure| {
        figure.len() > 3 && figure.chars().all(|c| c.is_ascii_digit() || c == '.')
    });
    found
}

/// Every amount that a command shows to programs.
fn amounts(value: &Value, found: &mut Vec<String>) {
    match value {
        Value::String(text)
            if text
                .split_once('.')
                .is_some_and(|(whole, cents)| whole.len() > 1 && cents.len() == 2)
                && text.chars().all(|c| c.is_ascii_digit() || c == '.') =>
        {
            found.push(text.clone());
        }
        Value::Array(all) => all.iter().for_each(|one| amounts(one, found)),
        Value::Object(all) => all.values().for_each(|one| amounts(one, found)),
        _ => {}
    }
}

fn grouped(figure: &str) -> String {
    let (whole, rest) = figure.split_once('.').unwrap_or((figure, ""));
    let mut out = String::new();
    for (at, c) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at) % 3 == 0 {
            out.push(',');
        }
        out.push(c);
    }
    if rest.is_empty() {
        out
    } else {
        format!("{out}.{rest}")
    }
}

/// Whether a figure stands in a text as a figure of its own.
fn stands(text: &str, figure: &str) -> bool {
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit() || c == '.' || c == ',');
    text.match_indices(figure).any(|(at, _)| {
        let before = text[..at].chars().next_back();
        let mut after = text[at + figure.len()..].chars();
        let (next, then) = (after.next(), after.next());
        let goes_on = next.is_some_and(|c| c.is_ascii_digit())
            || matches!(next, Some('.' | ',')) && digit(then);
        !digit(before) && !goes_on
    })
}

#[test]
fn no_price_can_be_read_off_or_worked_out_where_prices_are_hidden() {
    let book = "examples/gravel-build";
    let mut figures = typed(&kit::home().join(book));
    // `leeway` of this book takes as long as all the rest: from every second seed, and in the whole run.
    let long = kit::one_in(2, [None, Some("leeway")]).flatten();
    for command in ["cost", "compare", "rank"].into_iter().chain(long) {
        let ran = kit::landwaiter(&[command, book, "--format", "json"]);
        amounts(&serde_json::from_str(&ran.stdout).unwrap(), &mut figures);
    }
    figures.extend(["3300".to_owned(), "21800".to_owned()]);
    figures.sort();
    figures.dedup();
    assert!(figures.len() > 150, "{}", figures.len());
    let open = gravel("sellers");
    assert!(
        figures
            .iter()
            .any(|figure| open.iter().any(|(_, text)| stands(text, &grouped(figure)))),
        "the figures are looked for rightly"
    );
    for (name, text) in gravel("prices") {
        for figure in &figures {
            for shown in [figure.clone(), grouped(figure)] {
                assert!(!stands(text, &shown), "{shown} stands in {name}");
            }
        }
        assert_ne!(
            name, "price-mass.svg",
            "the price of a complete bike is known: its share gives the build's away"
        );
        for left in ["GBP was paid", "… GBP", "a sum a sum"] {
            assert!(!text.contains(left), "{left} stands in {name}");
        }
        for bike in ["Hollin Clough Two", "Staithe Nine", "Ullock P"] {
            for after in text.split(bike).skip(1) {
                let next: String = after.chars().take(24).collect();
                assert!(
                    !next.contains('%'),
                    "a share stands beside {bike} in {name}: {next}"
                );
            }
        }
    }
}

#[test]
fn no_name_of_a_seller_a_code_a_parcel_or_a_schedule_is_left_where_sellers_are_hidden() {
    let names = [
        "Weihu Composite Works",
        "Taolin Parts House",
        "Nagihama Cycle",
        "Radhaus Immerfeld",
        "Bottega Merlaro",
        "Quillfen Bikes",
        "TYRES8",
        "NAGI5000",
        "FRAME6",
        "HELLO25",
        "HALFPOST",
        "RETURN-3318",
        "weihu-one",
        "/summer",
        "nagihama-post",
        "taolin-post",
    ];
    let open = gravel("prices");
    assert!(
        open.iter()
            .any(|(_, text)| text.contains("Taolin Parts House")),
        "names are looked for rightly"
    );
    // One of the two ways; report.rs looks at the page that hides both.
    for hide in kit::one_in(2, ["sellers", "prices sellers"]) {
        for (file, text) in gravel(hide) {
            for name in names {
                assert!(
                    !text.contains(name),
                    "{name} stands in {file} with {hide} hidden"
                );
            }
        }
    }
}

/// Hidden names change no sum.
#[test]
fn a_report_without_sellers_lands_at_the_same_sum() {
    let cost = kit::landwaiter(&["cost", "examples/gravel-build"]).stdout;
    let headline = cost.lines().next().unwrap();
    let pages = gravel("sellers");
    let page = &pages
        .iter()
        .find(|(name, _)| name == "page.html")
        .unwrap()
        .1;
    // the sum stands in a tag of its own
    let bare = |text: &str| text.split_whitespace().collect::<String>();
    assert!(bare(page).contains(&bare(headline)), "{headline}");
}

/// Whoever hides a seller or a price does not mean to show where on the disk the book lies.
#[test]
fn a_report_shows_no_folder_of_the_book() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("secret/bike");
    fs::create_dir_all(book.join("rates/gb")).unwrap();
    let charges = "charge,kind,order,level,of,percent,valid_from\nown_fee,fee,60,consignment,goods,1,2020-01-01\n";
    for (name, text) in [
        (
            "settings.csv",
            "setting,value\ndestination,GB\ndate,2026-10-21\nrates,rates\n",
        ),
        (
            "parts.csv",
            "part,place,seller,price,currency,dispatch,mass_g\nSaddle,saddle,Taolin,240.00,GBP,TW,200\n",
        ),
        ("rates/gb/charges.csv", charges),
    ] {
        fs::write(book.join(name), text).unwrap();
    }
    let written = |name: &str, hide: &[&str]| {
        let file = folder.path().join(name);
        let ran = kit::landwaiter(
            &[
                &[
                    "report",
                    book.to_str().unwrap(),
                    "-o",
                    file.to_str().unwrap(),
                ],
                hide,
            ]
            .concat(),
        );
        assert_eq!(ran.status, 0, "{}", ran.stderr);
        fs::read(file).unwrap()
    };
    let page = String::from_utf8(written("page.html", &["--hide", "sellers,prices"])).unwrap();
    assert!(!page.contains("secret/") && page.contains("parts.csv:2"));
    let page = String::from_utf8(written("sellers.html", &["--hide", "sellers"])).unwrap();
    assert!(
        !page.contains("secret/")
            && page.contains("parts.csv:2")
            && page.contains("gb/charges.csv:2")
    );
    // nor does one that hides nothing else
    let open = String::from_utf8(written("open.html", &[])).unwrap();
    assert!(!open.contains("secret/") && open.contains("parts.csv:2"));
    // In the workbook too.
    for (name, hide) in [("b.xlsx", &["--hide", "sellers"][..]), ("open.xlsx", &[])] {
        written(name, hide);
        let mut found: calamine::Xlsx<_> =
            calamine::open_workbook(folder.path().join(name)).unwrap();
        let cells: Vec<String> = calamine::Reader::worksheets(&mut found)
            .iter()
            .flat_map(|(_, sheet)| sheet.rows().flatten().map(ToString::to_string))
            .collect();
        assert!(
            !cells.iter().any(|cell| cell.contains("secret/")),
            "{name}: {cells:?}"
        );
    }
}

/// The page of one made-up build whose prices are multiplied; the freight and the carrier's fee stay.
fn build(percent: u32, hide: &str) -> String {
    let price = |whole: u32| format!("{}.{:02}", whole * percent / 100, whole * percent % 100);
    let parts = format!(
        "part,place,seller,price,currency,dispatch,mass_g,commodity\n\
         Windrow frame,frame,Taolin,{},GBP,TW,1400,87149110\n\
         Lowtide wheels,wheels,Taolin,{},GBP,TW,1500,87149990\n\
         Gannet saddle,saddle,Taolin,{},GBP,TW,200,87149500\n",
        price(600),
        price(400),
        price(60)
    );
    let sellers = "seller,dispatch,currency,freight,handling,channel,transit_days\nTaolin,TW,GBP,36.00,18.00,courier,0\n";
    let run = landwaiter(&format!("report b -o page.html {hide}")).file(
        "b/settings.csv",
        "setting,value\ndestination,GB\ndate,2026-10-21\n",
    );
    run.file("b/parts.csv", &parts)
        .file("b/sellers.csv", sellers)
        .go()
        .ends(0)
        .left("page.html")
}

/// 1,060.00 and 1,166.00 of goods, with 36.00 of freight and a fee of 18.00 on each: whoever knows the fee cannot tell the totals
/// apart by what stands or by how long a bar is drawn. With prices open, and for a third of the goods, everything differs.
#[test]
fn two_builds_a_tenth_apart_look_the_same() {
    let hidden = build(100, "--hide prices");
    for part in [
        "id=\"by-charge\"",
        "id=\"by-part\"",
        "handling fee",
        "1 to 2 %",
    ] {
        assert!(hidden.contains(part), "{part}");
    }
    assert_eq!(hidden, build(110, "--hide prices"));
    assert_ne!(hidden, build(33, "--hide prices"));
    assert_ne!(build(100, ""), build(110, ""));
}

/// Every share, up to the cautions, whose percentages are those of law and of custom; how likely an unknown is stands in brackets.
#[test]
fn shares_of_a_hidden_whole_are_in_steps() {
    let edges = [
        "1", "2", "3", "5", "7", "10", "15", "20", "30", "40", "50", "70", "100", "150", "200",
        "300", "500", "1000",
    ];
    let folder = tempfile::tempdir().unwrap();
    let page = folder.path().join("page.html");
    let ran = kit::landwaiter(&[
        "report",
        "examples/after-delivery",
        "-o",
        page.to_str().unwrap(),
        "--hide",
        "prices",
    ]);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    let text = plain(&fs::read_to_string(page).unwrap());
    let shares = text.split("To watch").next().unwrap();
    let words: Vec<&str> = shares.split_whitespace().collect();
    let mut seen = 0;
    for at in (1..words.len())
        .filter(|at| words[*at].starts_with('%') && !words[*at - 1].starts_with('('))
    {
        let step = match words[at.saturating_sub(3)..at] {
            [from, "to", to] => edges.windows(2).any(|pair| pair == [from, to]),
            [_, "under", "1"] | [_, "over", "1000"] => true,
            [.., whole] => whole == "0" || whole == "100",
            [] => false,
        };
        assert!(step, "{:?}", &words[at.saturating_sub(4)..=at]);
        seen += 1;
    }
    assert!(seen > 60, "{seen}");
}

/// A schedule's letter is no name that the user knows: what is said on the terminal names it as the book does, and a page has neither.
#[test]
fn the_user_is_told_in_names_of_the_book() {
    let run = |schedule: &str, hide: &str| {
        let parts = format!(
            "part,place,seller,price,currency,dispatch,mass_g,freight\nSaddle,saddle,Taolin,40.00,GBP,TW,200,{schedule}\n"
        );
        let freight =
            "schedule,up_to_g,price,currency,valid_from\ntaolin-post,1000,6.00,GBP,2020-01-01\n";
        let settings = "setting,value\ndestination,GB\ndate,2026-10-21\nrates,rates\n";
        let run = landwaiter(&format!("report b -o page.html {hide}"))
            .file("b/settings.csv", settings)
            .file("b/parts.csv", parts);
        run.file("b/rates/freight.csv", freight).go()
    };
    let refused = run("taolin-sea", "--hide sellers").ends(1);
    assert!(
        refused
            .err
            .contains("there is no freight schedule `taolin-sea`")
            && !refused.err.contains("chedule A"),
        "{}",
        refused.err
    );
    assert_eq!(refused.err, run("taolin-sea", "").ends(1).err);
    let page = run("taolin-post", "--hide sellers")
        .ends(0)
        .left("page.html");
    assert!(
        !page.contains("chedule A")
            && !page.contains("taolin-post")
            && page.contains("the seller's schedule at 200 g")
    );
    assert!(
        run("taolin-post", "")
            .ends(0)
            .left("page.html")
            .contains("schedule `taolin-post`")
    );
}

/// What the steps cannot hide is said once, and what moves the total is not told: its ranges are known, and the sums behind them are
/// told already.
#[test]
fn a_page_without_prices_says_what_it_still_shows() {
    let page = build(100, "--hide prices");
    assert_eq!(
        page.matches("on which side of the limits of laws and sellers a parcel lies")
            .count(),
        1
    );
    assert!(!page.contains("id=\"drivers\"") && build(100, "").contains("id=\"drivers\""));
    assert!(!build(100, "").contains("Prices are hidden"));
}
