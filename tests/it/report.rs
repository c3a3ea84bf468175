//! Pages, pictures and books from spreadsheets. What a browser and a spreadsheet make of them is looked at in tests/outside.

use std::fs;
use std::path::Path;

use crate::kit;

/// The files that a report leaves in a folder, or below it.
fn written(folder: &Path, args: &[&str]) -> Vec<String> {
    let mut all = vec!["report"];
    all.extend(args);
    let ran = kit::landwaiter(&all);
    assert_eq!((ran.status, ran.stderr.as_str()), (0, ""), "{args:?}");
    assert!(ran.stdout.starts_with("Wrote "), "{}", ran.stdout);
    let entries = |folder: &Path| {
        let entries = fs::read_dir(folder).into_iter().flatten();
        let paths = entries.map(|entry| entry.unwrap().path());
        paths.collect::<Vec<_>>()
    };
    let below = entries(&folder.join("report"));
    let files = entries(folder).into_iter().chain(below);
    let names = files.filter(|path| path.is_file());
    names
        .map(|path| path.to_string_lossy().into_owned())
        .collect()
}

fn page(book: &str, more: &[&str]) -> String {
    if book.starts_with("examples/") {
        return kit::report(book, kit::As::Page, more)["page.html"].clone();
    }
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("page.html");
    let mut args = vec![book, "-o", file.to_str().unwrap()];
    args.extend(more);
    written(folder.path(), &args);
    fs::read_to_string(file).unwrap()
}

fn is(name: &str, ending: &str) -> bool {
    Path::new(name).extension().is_some_and(|own| own == ending)
}

const HOSTILE: &str = "part,place,seller,price,currency,dispatch,mass_g\n\
    <script>alert(1)</script>,wheels,<b>Taolin</b>,250.00,USD,TW,1500\n\
    =cmd()|1!A1,saddle,<b>Taolin</b>,50.00,USD,TW,180\n";

fn hostile() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("parts.csv"), HOSTILE).unwrap();
    fs::write(
        folder.path().join("settings.csv"),
        "setting,value\ndestination,GB\ndate,2026-09-23\n",
    )
    .unwrap();
    fs::write(
        folder.path().join("bikes.csv"),
        "bike,price,currency,mass_g,basis\n\"<img src=x onerror=alert(1)>\",900,GBP,8900,racing\n",
    )
    .unwrap();
    folder
}

#[test]
fn names_are_text_on_the_page_and_in_the_pictures() {
    let folder = hostile();
    let book = folder.path().to_str().unwrap();
    let page = page(book, &[]);
    for tag in ["<b>", "<img", "<script>alert"] {
        assert!(!page.contains(tag), "{tag} stands on the page");
    }
    assert_eq!(page.matches("<script").count(), 1, "the page's own");
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;") && page.contains("=cmd()|1!A1"));
    for name in written(folder.path(), &[book])
        .iter()
        .filter(|name| is(name, "svg"))
    {
        let picture = fs::read_to_string(name).unwrap();
        assert!(
            !picture.contains("<script") && !picture.contains("<img"),
            "{name}"
        );
        roxmltree::Document::parse(&picture).unwrap_or_else(|error| panic!("{name}: {error}"));
    }
    let csv = kit::landwaiter(&["cost", book, "--format", "csv"]).stdout;
    assert!(csv.contains("'=cmd()|1!A1"), "{csv}");
}

#[test]
fn the_page_stands_alone_and_says_the_verdict_first() {
    let page = page("examples/gravel-build", &[]);
    let text = kit::heading(&page);
    let cost = kit::landwaiter(&["cost", "examples/gravel-build"]).stdout;
    let sentence = cost.lines().next().unwrap();
    assert!(
        sentence.starts_with("Landed cost ") && text.starts_with(sentence.trim_end()),
        "{sentence}\n{text}"
    );
    assert!(page.len() < 300_000, "{} bytes", page.len());
    for outside in [
        " src=\"",
        "@import",
        "href=\"http",
        "href=\"/",
        "<script ",
        "fetch(",
        "srcset",
    ] {
        assert!(!page.contains(outside), "{outside}");
    }
    assert_eq!(
        page.matches("url(").count(),
        page.matches("url(data:font/woff2;").count(),
        "nothing is fetched"
    );
    let order = [
        "<h1>",
        "class=\"range\"",
        "class=\"figures\"",
        "id=\"price-mass\"",
        "id=\"by-charge\"",
        "id=\"by-part\"",
        "id=\"upgrades\"",
        "By parcel",
        "How every amount came about",
        "Before you order",
    ];
    let places: Vec<usize> = order
        .iter()
        .map(|mark| page.find(mark).unwrap_or_else(|| panic!("no {mark}")))
        .collect();
    assert!(places.is_sorted(), "{places:?}");
    assert!(
        page.contains("<s>") && page.contains("class=\"where\""),
        "a ledger: nils struck through, rows in the margin"
    );
}

#[test]
fn what_is_hidden_is_nowhere_on_the_page() {
    let page = self::page("examples/gravel-build", &["--hide", "sellers,prices"]);
    for seller in [
        "Weihu",
        "Taolin",
        "Nagihama",
        "Radhaus",
        "Bottega",
        "Quillfen Bikes",
    ] {
        assert!(!page.contains(seller), "{seller}");
    }
    assert!(page.contains("seller A"));
    let cost = kit::landwaiter(&["cost", "examples/gravel-build", "--format", "markdown"]).stdout;
    let together = cost
        .lines()
        .find(|line| line.starts_with("| Total"))
        .unwrap();
    let cells = together.split('|').map(str::trim);
    let sums: Vec<&str> = cells.filter(|cell| !cell.is_empty()).skip(1).collect();
    assert!(sums.len() > 5, "{together}");
    let open = self::page("examples/gravel-build", &[]);
    for sum in sums {
        assert!(open.contains(sum) && !page.contains(sum), "{sum}");
    }
}

/// The pictures of the examples are kept beside them: a change of the drawing is seen.
#[test]
fn the_pictures_of_the_examples_are_what_is_drawn_today() {
    // the sentences: five of the verdict, what there is to tell others, and who calculated them
    for (example, least, sentences) in [
        ("first-build", 2, 5 + 2 + 1),
        ("gravel-build", 8, 5 + 5 + 1),
        ("after-delivery", 5, 5 + 4 + 1),
    ] {
        let book = format!("examples/{example}");
        let texts = kit::report(&book, kit::As::Pictures, &[]);
        let kept = format!("{book}/pictures");
        fs::create_dir_all(kit::home().join(&kept)).unwrap();
        for (name, text) in texts.iter() {
            kit::same_as_file(&format!("{kept}/{name}"), text);
        }
        let drawn: Vec<String> = texts.keys().cloned().collect();
        assert!(
            drawn.iter().filter(|name| is(name, "svg")).count() >= least,
            "{drawn:?}"
        );
        let mut there: Vec<String> = fs::read_dir(kit::home().join(&kept))
            .unwrap()
            .map(|file| file.unwrap().file_name().into_string().unwrap())
            .collect();
        there.sort();
        assert_eq!(drawn, there, "no picture is left from before");
        let words = fs::read_to_string(kit::home().join(&kept).join("words.txt")).unwrap();
        assert_eq!(words.lines().count(), sentences, "{words}");
    }
}

#[cfg(feature = "pages")]
#[test]
fn pictures_have_the_size_of_their_shape() {
    let folder = tempfile::tempdir().unwrap();
    for (shape, size) in [
        ("wide", (1920, 1080)),
        ("square", (1080, 1080)),
        ("tall", (1080, 1920)),
    ] {
        let names = written(
            folder.path(),
            &[
                "examples/first-build",
                "--pictures",
                folder.path().to_str().unwrap(),
                "--shape",
                shape,
            ],
        );
        let png = fs::read(
            names
                .iter()
                .find(|name| name.ends_with("by-part.png"))
                .unwrap(),
        )
        .unwrap();
        let number =
            |at: usize| u32::from_be_bytes([png[at], png[at + 1], png[at + 2], png[at + 3]]);
        assert_eq!(
            (&png[1..4], (number(16), number(20))),
            (&b"PNG"[..], size),
            "{shape}"
        );
    }
}

#[test]
fn a_report_is_a_page_or_a_workbook() {
    let ran = kit::landwaiter(&["report", "examples/first-build", "-o", "book.pdf"]);
    assert_eq!(ran.status, 1);
    assert!(
        ran.stderr.contains("its name must end in .html or .xlsx"),
        "{}",
        ran.stderr
    );
}

/// A new workbook is a book of which nothing has been filled in.
#[cfg(feature = "pages")]
#[test]
fn a_new_workbook_is_a_book() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().to_str().unwrap();
    assert_eq!(
        kit::landwaiter(&["new", dir, "--kind", "gravel", "--workbook"]).status,
        0
    );
    let costed = kit::landwaiter(&["cost", dir, "--to", "GB", "--on", "2026-09-23"]);
    assert_eq!(
        (costed.status, costed.stderr.as_str()),
        (0, ""),
        "{}",
        costed.stdout
    );
    assert!(
        costed.stdout.contains("No part has a price yet"),
        "{}",
        costed.stdout
    );
    assert_eq!(
        kit::landwaiter(&["new", dir, "--kind", "road", "--workbook"]).status,
        1,
        "what is there is left as it is"
    );
}

/// A workbook of the calculation is no book: its sheets are not taken for tables.
#[cfg(feature = "pages")]
#[test]
fn a_calculation_is_not_taken_for_a_book() {
    let folder = hostile();
    let file = folder.path().join("sum.xlsx");
    let before = kit::landwaiter(&["cost", folder.path().to_str().unwrap()]);
    written(
        folder.path(),
        &[
            folder.path().to_str().unwrap(),
            "-o",
            file.to_str().unwrap(),
        ],
    );
    let ran = kit::landwaiter(&["cost", folder.path().to_str().unwrap()]);
    assert_eq!(
        (ran.status, ran.stdout, ran.stderr),
        (before.status, before.stdout, before.stderr),
        "the book reads as before"
    );
}

/// The picture of the plans shows the whole frontier, whatever the limits are: the points that `plan` finds without them.
#[test]
fn the_frontier_of_plan_is_a_picture() {
    let page = page("examples/gravel-build", &[]);
    let picture = page.split("id=\"plans\"").nth(1).unwrap();
    let picture = &picture[..picture.find("</tbody>").unwrap()];
    let rows = picture.matches("<tr>").count() - 1;
    let far = ["--budget", "9000", "--max-mass", "20000"];
    let args = [
        &[
            "plan",
            "examples/gravel-build",
            "--frontier",
            "--format",
            "json",
        ][..],
        &far,
    ];
    let plan: serde_json::Value =
        serde_json::from_str(&kit::landwaiter(&args.concat()).stdout).unwrap();
    let points = plan["plans"].as_array().unwrap();
    assert_eq!(rows, points.len());
    for point in points {
        let mass = point["mass_g"].as_str().unwrap();
        let (thousands, rest) = mass.split_at(1);
        let told = format!("{thousands},{rest}");
        assert!(picture.contains(&told), "{told}");
    }
    assert!(picture.contains("cheapest, within limits") && picture.contains(">budget<"));
    // Where prices are hidden, and where there is nothing to choose, there is none.
    let hidden = self::page("examples/gravel-build", &["--hide", "prices"]);
    assert!(!hidden.contains("id=\"plans\""));
    assert!(!self::page("examples/first-build", &[]).contains("id=\"plans\""));
}

/// Where the ladder of `rank` takes no gram off, its upgrades are drawn as they are: by themselves, from zero, none of them
/// doubtful; and what is said aloud says so, and what is in dispute.
#[test]
fn what_no_ladder_joins_is_not_added_up() {
    let book = "examples/gravel-build";
    let ladder = |more: &[&str]| kit::report(book, kit::As::Pictures, more)["ladder.svg"].clone();
    let ranked = kit::landwaiter(&["rank", book, "--more"])
        .stdout
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    assert!(
        ranked.contains("Then stop: what is known is within 8,700 g")
            && ranked.contains("Last, because a claim so small is not sure: Kelpwood hollow chain")
    );
    let alone = ladder(&[]);
    assert!(
        alone.contains("Most grams for the money: ")
            && alone.contains("each added to the order and not to one another")
            && alone.contains("the ladder ends before them"),
        "{alone}"
    );
    assert!(
        !alone.contains("together") && !alone.contains("Kelpwood hollow chain"),
        "{alone}"
    );
    let begin = |picture: &str| -> Vec<String> {
        let bars = picture
            .split("<rect ")
            .skip(1)
            .filter(|bar| bar.contains("upgrade"));
        bars.map(|bar| bar.split('"').nth(1).unwrap().to_owned())
            .collect()
    };
    let bars = begin(&alone);
    assert_eq!(
        (bars.len(), bars.iter().filter(|x| **x == bars[0]).count()),
        (4, 4),
        "{bars:?}"
    );
    let words = |more: &[&str]| kit::report(book, kit::As::Pictures, more)["words.txt"].clone();
    let told = words(&[]);
    assert!(told.contains("No step of the ladder is needed, as the bike is within its weight limit as far as its weight is known. If you want one added to the order, Spindrift 32 wheels"), "{told}");
    assert!(
        told.contains("without the anti-dumping duty that is in dispute, about 2,630 pounds."),
        "{told}"
    );
    // With more mass to lose and worth the money it is a ladder: each rung begins where the one before ends.
    let climbed = ["--max-mass", "8000", "--worth", "5000", "--budget", "9000"];
    let joined = ladder(&climbed);
    assert!(joined.contains("Next step: "), "{joined}");
    let pages = [page(book, &[]), page(book, &climbed)];
    let is_there = pages.each_ref().map(|page| page.contains("id=\"ladder\""));
    assert_eq!(
        is_there,
        [false, true],
        "what is no ladder is none on the page"
    );
    assert!(pages[1].contains("spent together"));
    let bars = begin(&joined);
    assert!(bars.len() > 3 && bars.last() != bars.first(), "{bars:?}");
    assert!(
        words(&climbed).contains("The next step that takes grams off would be "),
        "{}",
        words(&climbed)
    );
}

/// Once there are receipts and weighings, they are drawn; where sellers are hidden, receipts still belong to their parcels.
#[test]
fn after_delivery_the_bill_and_the_scale_are_drawn() {
    let open = page("examples/after-delivery", &[]);
    for mark in [
        "id=\"bill\"",
        "id=\"scale\"",
        "id=\"drivers\"",
        "Weighed 93 g more than claimed",
        "Charged 216.02 GBP less than estimated",
        "Claim or ask, largest sum first",
        "Claims, and until when",
        "To watch, largest sum first",
    ] {
        assert!(open.contains(mark), "{mark}");
    }
    assert!(!open.contains("Before you order"));
    let settle = kit::landwaiter(&["settle", "examples/after-delivery"]).stdout;
    let answer = settle.lines().next().unwrap();
    assert!(open.contains(answer), "{answer}");
    let hidden = page("examples/after-delivery", &["--hide", "sellers"]);
    for seller in [
        "Weihu",
        "Taolin",
        "Nagihama",
        "Radhaus",
        "Bottega",
        "Quillfen Bikes",
    ] {
        assert!(!hidden.contains(seller), "{seller}");
    }
    let verdict = |page: &str| {
        page.split("<h1>")
            .nth(1)
            .unwrap()
            .split("</h1>")
            .next()
            .unwrap()
            .to_owned()
    };
    assert_eq!(verdict(&hidden), verdict(&open));
    assert!(hidden.contains("id=\"bill\""));
}

/// Every picture has its table under a fold and words in its place.
#[test]
fn every_picture_has_a_table_and_words() {
    let page = page("examples/gravel-build", &[]);
    let figures: Vec<&str> = page
        .split("<figure")
        .skip(1)
        .map(|rest| rest.split("</figure>").next().unwrap())
        .collect();
    assert!(figures.len() >= 5, "{}", figures.len());
    for figure in figures {
        assert!(
            figure.contains("role=\"group\" aria-label=\"") && !figure.contains("aria-label=\"\""),
            "{}",
            &figure[..80]
        );
        assert!(
            figure.contains("<details><summary>") && figure.contains("<td"),
            "{}",
            &figure[..80]
        );
    }
}
