//! What `rates` says of each destination: a summary that fits a screen and has no word of the tables' languages, and marks that
//! do not contradict themselves.

use std::sync::OnceLock;

use landwaiter::Question;
use landwaiter::book::Settings;
use landwaiter::landed::Jurisdiction;
use landwaiter::report::{Listing, Screen, rates_view, text};
use landwaiter::units::Date;

use crate::kit::{self, built_in as tables};

const ON: &str = "2026-11-25";

fn ask(to: &str) -> Question {
    let on = Date::parse(ON).unwrap();
    let mut settings = Settings::default();
    settings.set("date", ON).unwrap();
    settings.set("destination", to).unwrap();
    Question::new(&settings, on).unwrap()
}

/// What `rates` says of a destination, the summary or every row.
fn said(to: &str, more: bool) -> String {
    let listing = if more {
        Listing::Rows
    } else {
        Listing::Summary
    };
    let [text] = screens(to, listing, [Screen::of(100).with_more(true)]);
    text
}

/// The same on several screens.
fn screens<const N: usize>(to: &str, listing: Listing, on: [Screen; N]) -> [String; N] {
    let ask = ask(to);
    let jurisdiction = Jurisdiction::open(tables(), &ask)
        .unwrap_or_else(|problems| panic!("{to}: {}", landwaiter::text::draw(&problems, false)));
    let view = rates_view(&jurisdiction, &ask, listing);
    on.map(|screen| text(&view, &screen))
}

/// The same on one line.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The destinations whose words are read below.
const READ: [&str; 12] = [
    "AT", "AU", "CH", "FR", "GB", "IM", "JP", "KR", "NZ", "US", "XI", "ZA",
];

/// The summaries of those destinations and of a share of the others, each made once; of every destination in the whole run.
fn summaries() -> &'static Vec<(String, String)> {
    static ALL: OnceLock<Vec<(String, String)>> = OnceLock::new();
    ALL.get_or_init(|| {
        let mut codes: Vec<String> = tables()
            .destinations
            .iter()
            .map(|row| row.rule.country.code().to_owned())
            .collect();
        codes.sort_unstable();
        codes.dedup();
        assert!(codes.len() > 40, "{codes:?}");
        let (mut codes, more): (Vec<String>, Vec<String>) = codes
            .into_iter()
            .partition(|code| READ.contains(&code.as_str()));
        codes.extend(kit::one_in(6, more));
        let (one, other) = codes.split_at(codes.len() / 2);
        let make = |codes: &[String]| {
            codes
                .iter()
                .map(|to| (to.clone(), said(to, false)))
                .collect::<Vec<_>>()
        };
        let halves = std::thread::scope(|scope| {
            let second = scope.spawn(|| make(other));
            [make(one), second.join().unwrap()]
        });
        halves.concat()
    })
}

fn summary(to: &str) -> String {
    flat(&summaries().iter().find(|(code, _)| code == to).unwrap().1)
}

/// The first screen of each fits a page, and no line is wider than it.
#[test]
fn no_first_screen_is_longer_than_a_page() {
    for (to, _) in summaries() {
        let pages = [(80, 45), (100, 34), (120, 33)];
        let texts = screens(
            to,
            Listing::Summary,
            pages.map(|(columns, _)| Screen::of(columns)),
        );
        for (text, (columns, most)) in texts.iter().zip(pages) {
            let wide = text.lines().find(|line| line.chars().count() > columns);
            let lines = text.lines().count();
            assert!(
                lines <= most && wide.is_none(),
                "{to} at {columns}: {lines} lines, {wide:?}:\n{text}"
            );
            let law = text.split("\nExchange rates").next().unwrap();
            assert!(
                columns < 100 || law.trim_end().lines().count() <= 30,
                "{to}:\n{text}"
            );
        }
    }
}

/// A buyer reads no names of rows, choices or sums, and no comparison of the tables.
#[test]
fn no_summary_has_a_word_of_the_tables() {
    for (to, text) in summaries() {
        let flat = flat(text);
        let comparison = ["<=", ">=", "!=", " = ", " & ", " | ", " < ", " > ", "_"]
            .into_iter()
            .find(|sign| flat.contains(sign));
        assert_eq!(comparison, None, "{to}:\n{text}");
        let quoted: Vec<&str> = flat.split('`').skip(1).step_by(2).collect();
        let known = |word: &&str| {
            word.starts_with("--")
                || word.starts_with("landwaiter rates ")
                || ["+", "*", "?", "handling"].contains(word)
        };
        assert!(quoted.iter().all(known), "{to}: {quoted:?}");
        for wrong in [
            "not not",
            " of of ",
            " ,",
            "..",
            ": .",
            ", :",
            "  ",
            "nothing less",
            "with as",
            " a and ",
            " on on ",
        ] {
            assert!(!flat.contains(wrong), "{to}: `{wrong}`:\n{text}");
        }
    }
}

/// Taxes are told whole: the standard rate and what it is taken on.
#[test]
fn taxes_are_told_whole() {
    for (to, tax) in [
        (
            "GB",
            "VAT 20 % (0 % on helmets) of goods, shipping, insurance, duty and anti-dumping",
        ),
        (
            "AT",
            "VAT 20 % of goods, shipping, insurance, duty and anti-dumping",
        ),
        ("CH", "VAT 8.1 %"),
        ("ZA", "VAT 15 % of 1.1 × goods and duty"),
        ("JP", "Consumption tax 7.8 %"),
    ] {
        assert!(summary(to).contains(tax), "{to}: {tax}: {}", summary(to));
    }
    for (to, text) in summaries()
        .iter()
        .filter(|(to, _)| !["HK", "US", "GG"].contains(&to.as_str()))
    {
        assert!(flat(text).contains("- Tax: "), "{to}:\n{text}");
    }
}

/// The added duties of the United States go by their section and what they hit.
#[test]
fn added_duties_are_named_by_their_section() {
    let text = summary("US");
    for name in [
        "Section 232 (steel, aluminium and copper)",
        "Section 301 (China)",
        "Section 301 (forced labour)",
        "Section 301 (Brazil)",
    ] {
        assert!(text.contains(name), "{name}: {text}");
    }
    assert!(text.contains("on goods made in China"), "{text}");
}

/// In Switzerland a fee is disputed and duty is not; in Great Britain anti-dumping is and duty is not; in Australia the duty on frames
/// is, that on wheels is not.
#[test]
fn a_disputed_fee_leaves_duty_undisputed() {
    let duty = |to: &str| {
        summaries()
            .iter()
            .find(|(code, _)| code == to)
            .unwrap()
            .1
            .split("\n- ")
            .next()
            .unwrap()
            .to_owned()
    };
    let swiss = duty("CH");
    assert!(
        summary("CH").contains("(disputed)") && !swiss.contains('*'),
        "{swiss}"
    );
    let australia = duty("AU");
    assert!(
        australia.contains("5*") && !australia.contains("0*"),
        "{australia}"
    );
    let britain = duty("GB");
    assert!(
        britain.contains("4+48.5*") && !britain.contains("4*"),
        "{britain}"
    );
    let northern = duty("XI");
    assert!(northern.contains("4.7*+48.5*"), "{northern}");
}

/// A fee that is not known is never called nothing, and what is missing is said for each way of sending; no raw name stands there.
#[test]
fn fees_that_are_not_known_are_said_as_such() {
    let both = "fees of post and couriers.";
    for (to, missing) in [
        ("CH", "fees of couriers."),
        ("AU", both),
        ("FR", "fees of couriers."),
        ("NZ", both),
        ("IM", "fees of the post."),
    ] {
        assert!(
            !summary(to).contains("where something is due: nothing"),
            "{to}: {}",
            summary(to)
        );
        let line = summary(to)
            .split("Missing: ")
            .nth(1)
            .unwrap_or_default()
            .to_owned();
        assert!(line.contains(missing), "{to}: {}", summary(to));
    }
    assert!(!summary("GB").contains("fees of post"), "{}", summary("GB"));
    assert!(
        summary("KR").contains("of goods, shipping by a table and duty"),
        "{}",
        summary("KR")
    );
}

/// What is missing is said once, and long lists are cut.
#[test]
fn what_is_missing_is_said_once() {
    for (to, text) in summaries() {
        assert!(text.matches("Missing: ").count() <= 1, "{to}:\n{text}");
    }
    assert!(
        summary("NZ").contains("duty on frame, fork, headset and "),
        "{}",
        summary("NZ")
    );
    assert!(!summary("NZ").contains("saddle-bag"), "{}", summary("NZ"));
}

/// A mark never calls certain what is from memory.
#[test]
fn marks_do_not_contradict_themselves() {
    for to in ["GB", "US", "IT", "JP", "XI", "NO"] {
        let text = said(to, true);
        let all = flat(&text);
        assert!(
            !all.contains("certain, ")
                && !all.contains("read, the authority's own text was not read"),
            "{to}"
        );
    }
    let trail = kit::landwaiter(&["cost", "examples/gravel-build", "--trail"]);
    assert!(trail.stdout.contains("(read)"), "{}", trail.stdout);
    assert!(
        !flat(&trail.stdout).contains("(certain, "),
        "{}",
        trail.stdout
    );
}

/// What is missing of a country's parts stands in the whole list, where the summary only names them.
#[test]
fn territories_are_named_and_told_at_length_in_the_whole_list() {
    assert!(
        summary("US").contains("Other rules hold in Puerto Rico, Guam, American Samoa and 5 more"),
        "{}",
        summary("US")
    );
    assert!(
        !summary("US").contains("sales and use tax of its own"),
        "{}",
        summary("US")
    );
    assert!(flat(&said("US", true)).contains("Puerto Rico: Puerto Rico lies in the customs area"));
}
