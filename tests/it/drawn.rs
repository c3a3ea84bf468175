//! What was once wrong on the page and in the pictures of the examples, and is only seen when they are looked at.

use std::fs;

use crate::kit;

const EXAMPLES: [&str; 3] = [
    "examples/first-build",
    "examples/gravel-build",
    "examples/after-delivery",
];

/// A box: left, top, right, bottom.
type Box4 = [i64; 4];

fn meet(one: Box4, other: Box4) -> bool {
    one[0] < other[2] && other[0] < one[2] && one[1] < other[3] && other[1] < one[3]
}

/// Where the letters of a picture stand at least, and its bars: letters are taken to be narrow, so that what meets here meets.
fn boxes(svg: &str) -> (Vec<(String, Box4)>, Vec<Box4>) {
    let document = roxmltree::Document::parse(svg).unwrap();
    let of = |tag: &'static str| {
        document
            .descendants()
            .filter(move |node| node.has_tag_name(tag) || node.tag_name().name() == tag)
    };
    let number = |node: &roxmltree::Node<'_, '_>, name: &str| -> i64 {
        node.attribute(name).unwrap_or("0").parse().unwrap()
    };
    let texts = of("text").map(|text| {
        let words = text.text().unwrap_or_default().to_owned();
        let (x, y, size) = (
            number(&text, "x"),
            number(&text, "y"),
            number(&text, "font-size"),
        );
        let width = size * 21 / 50 * i64::try_from(words.chars().count()).unwrap();
        let from = match text.attribute("text-anchor") {
            Some("end") => x - width,
            Some("middle") => x - width / 2,
            _ => x,
        };
        (words, [from, y - size * 3 / 5, from + width, y])
    });
    let bars = of("rect").filter(|bar| {
        bar.attribute("class")
            .is_some_and(|class| class.starts_with("c-"))
    });
    let bars = bars.map(|bar| {
        let (x, y) = (number(&bar, "x"), number(&bar, "y"));
        [x, y, x + number(&bar, "width"), y + number(&bar, "height")]
    });
    (texts.collect(), bars.collect())
}

/// In no shape of any picture do letters lie on other letters or on a bar.
#[test]
fn letters_lie_on_nothing() {
    let mut looked = 0;
    for book in EXAMPLES {
        for shape in ["wide", "square", "tall"] {
            let more: &[&str] = if shape == "square" {
                &[]
            } else {
                &["--shape", shape]
            };
            for (name, svg) in kit::report(book, kit::As::Pictures, more).iter() {
                if std::path::Path::new(name)
                    .extension()
                    .is_none_or(|own| own != "svg")
                {
                    continue;
                }
                let (texts, bars) = boxes(svg);
                assert!(texts.len() > 4, "{name}");
                for (at, (words, own)) in texts.iter().enumerate() {
                    for (other, place) in &texts[at + 1..] {
                        assert!(
                            !meet(*own, *place),
                            "{book}, {shape}, {name}: {words} lies on {other}"
                        );
                    }
                    assert!(
                        !bars.iter().any(|bar| meet(*own, *bar)),
                        "{book}, {shape}, {name}: {words} lies on a bar"
                    );
                }
                looked += 1;
            }
        }
    }
    assert!(looked > 60, "{looked} pictures");
}

/// Names of parts and of what moves the total stand whole where a sheet has room for them, and the longest bar has its charge.
#[test]
fn names_are_whole_and_the_longest_bar_is_told() {
    for shape in ["wide", "square", "tall"] {
        let more: &[&str] = if shape == "square" {
            &[]
        } else {
            &["--shape", shape]
        };
        let all = kit::report("examples/gravel-build", kit::As::Pictures, more);
        for name in ["by-part.svg", "drivers.svg", "by-charge.svg", "card.svg"] {
            let (texts, _) = boxes(&all[name]);
            let cut: Vec<&String> = texts
                .iter()
                .map(|(words, _)| words)
                .filter(|words| words.contains('…'))
                .collect();
            assert!(cut.is_empty(), "{shape}, {name}: {cut:?}");
        }
        assert!(
            all["by-part.svg"].contains(">anti-dumping 239.42<"),
            "{shape}"
        );
    }
}

fn page(book: &str) -> String {
    kit::report(book, kit::As::Page, &[])["page.html"].clone()
}

/// The text of the cells of a row, without their tags.
fn cells(row: &str) -> Vec<String> {
    row.split("<t")
        .skip(1)
        .map(|cell| {
            let text = cell.split_once('>').unwrap().1;
            text.split('<').next().unwrap().to_owned()
        })
        .collect()
}

/// The table of parts adds up: across, and down to the sums that the top of the page names.
#[test]
fn the_parts_add_up_to_the_verdict() {
    for (book, landed, mass) in [
        ("examples/gravel-build", "3,137.33", Some("8,537")),
        ("examples/after-delivery", "2,912.62", None),
        ("examples/first-build", "651.66", Some("2,316")),
    ] {
        let page = page(book);
        let table = page.split("class=\"parts\"").nth(1).unwrap();
        let foot = table.split("<tfoot").nth(1).unwrap();
        let total = cells(
            foot.split("</tr>")
                .next()
                .unwrap()
                .split_once("<tr")
                .unwrap()
                .1,
        );
        assert_eq!(total[1..3], ["Total", landed], "{book}");
        let pence = |text: &str| text.replace([',', '.'], "").parse::<i64>().unwrap();
        let across = pence(&total[3]) + pence(&total[4]);
        assert_eq!(across, pence(&total[2]), "{book}: {total:?}");
        if let Some(mass) = mass {
            assert_eq!(total[5], mass, "{book}");
        }
    }
}

/// The difference to the tags and what comes on top are two sums where something comes off the tags, and both are said to the penny.
#[test]
fn what_comes_on_top_and_what_comes_off_are_both_said() {
    let page = page("examples/gravel-build");
    for words in [
        "1,085.88 (53 %) more than the price tags",
        "The price tags say 2,051.45 GBP: 156.77 comes off them and 1,242.65 on top.",
        "1,242.65 on top, 487.11 of it VAT; 156.77 off the tags",
    ] {
        assert!(page.contains(words), "{words}");
    }
    let plain = self::page("examples/first-build");
    assert!(!plain.contains("The price tags say"));
}

/// What a screen ends with stands once, at the foot; what only a terminal can do is not asked of a reader.
#[test]
fn the_page_ends_once() {
    for book in EXAMPLES {
        let page = page(book);
        for (words, times) in [
            ("Estimate, not a ruling", 1),
            ("Next: ", 0),
            ("--more", 0),
            ("Carbon, brakes:", 0),
            ("is disputed: without it the landed cost is", 1),
        ] {
            let times = if book.ends_with("first-build") && words.starts_with("is disputed") {
                0
            } else {
                times
            };
            assert_eq!(page.matches(words).count(), times, "{book}: {words}");
        }
    }
}

/// After delivery the top leads to what was charged and what to claim, which stands before the tables.
#[test]
fn after_delivery_the_claims_come_first() {
    let page = page("examples/after-delivery");
    let at = |words: &str| page.find(words).unwrap_or_else(|| panic!("{words}"));
    assert!(at("href=\"#settled\"") < at("<figure"));
    assert!(at("id=\"settled\"") < at("<h2>By parcel"));
    assert!(at("Claims, and until when") < at("<h2>By parcel"));
    assert!(!page.to_lowercase().contains("before you order"));
}

/// A page says nothing of the folders of the machine it was made on.
#[test]
fn no_folder_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("page.html");
    fs::write(
        folder.path().join("parts.csv"),
        "part,place,seller,price,currency,dispatch,mass_g\nWheels,wheels,Taolin,250.00,USD,TW,1500\n",
    )
    .unwrap();
    let (book, out) = (folder.path().to_str().unwrap(), file.to_str().unwrap());
    let ran = kit::landwaiter(&[
        "report",
        book,
        "--to",
        "GB",
        "--on",
        "2026-09-23",
        "-o",
        out,
    ]);
    assert_eq!(ran.status, 0, "{}", ran.stderr);
    let page = fs::read_to_string(&file).unwrap();
    assert!(page.contains(">parts.csv:2<"));
    assert!(!page.contains(book), "{book}");
}
