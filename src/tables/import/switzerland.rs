//! Swiss customs' rates in XML: francs for the units that each currency is quoted in, of a day or as a month's average.

use super::{File, Imported, Publication, bad_rate, child_text, currency, for_one, line_of};
use crate::tables::Use;
use crate::text::{Problems, words};
use crate::units::{Currency, Date};

const SOURCE: &str = "Swiss Federal Office for Customs and Border Security: exchange rates";

/// What is published.
fn kind(of_one_day: bool) -> &'static str {
    if of_one_day {
        "Swiss customs' rates of one day"
    } else {
        "Swiss customs' rates of one month"
    }
}

/// `wechselkurse` with a `datum` (`gueltigkeit`, where there is one, is the day the rates hold), and a `devise` for each
/// currency: its `waehrung` is `100 JPY`, its `kurs` the francs for these. The month's file names its `monat` and `jahr`, or
/// gives two days in `datum`.
pub(super) fn xml(
    file: &File<'_>,
    document: &roxmltree::Document<'_>,
    problems: &mut Problems,
) -> Option<Publication> {
    let root = document.root_element();
    let Some((from, to)) = span(root) else {
        problems
            .push(file.error(1, "expected the day of the rates in `datum`, such as `03.06.2026`, or their month in `monat` and `jahr`"));
        return None;
    };
    let (mut rates, mut unknown) = (Vec::new(), Vec::new());
    let is_rate = |node: &roxmltree::Node<'_, '_>| node.tag_name().name() == "devise";
    for item in root.children().filter(is_rate) {
        let named = child_text(item, "waehrung");
        let (units, code) = named.split_once(' ').unwrap_or(("", ""));
        let printed = child_text(item, "kurs");
        let line = line_of(document, item);
        if code.is_empty() {
            let found = words::quoted(named);
            let what =
                format!("`waehrung` is {found}: expected units and a code, such as `100 JPY`");
            problems.push(file.error(line, what));
            continue;
        }
        let Some(base) = currency(code.trim(), &mut unknown) else {
            continue;
        };
        match for_one(printed, units) {
            Some(rate) => rates.push(Imported {
                usage: Use::Customs,
                base,
                quote: Currency::CHF,
                rate,
                from,
                to: Some(to),
            }),
            None => problems.push(file.error(line, bad_rate(code.trim(), printed))),
        }
    }
    Some(Publication {
        kind: kind(from == to),
        source: SOURCE,
        folder: "ch",
        rates,
        unknown,
    })
}

fn span(root: roxmltree::Node<'_, '_>) -> Option<(Date, Date)> {
    let text = |name: &str| child_text(root, name);
    if let (Ok(month), Ok(year)) = (text("monat").parse::<u32>(), text("jahr").parse::<i32>()) {
        let first = Date::new(year, month, 1)?;
        return Some((first, first.plus_months(1).minus_days(1)));
    }
    let day = |text: &str| Date::parse(text.trim()).ok();
    if let Some((first, last)) = text("datum").split_once('-') {
        return day(first)
            .zip(day(last))
            .filter(|(first, last)| first <= last);
    }
    let holds = day(text("gueltigkeit")).or_else(|| day(text("datum")))?;
    Some((holds, holds))
}
