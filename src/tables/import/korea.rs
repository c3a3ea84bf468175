//! Korean customs' weekly rates in XML: won for one unit, and for a hundred of some currencies.

use super::{File, Imported, Publication, bad_rate, child_text, currency, for_one, line_of};
use crate::tables::Use;
use crate::text::{Problems, words};
use crate::units::{Currency, Date};

const SOURCE: &str = "Korea Customs Service: customs exchange rates";

/// The days that one rate holds: a week from Sunday to Saturday (notice on customs valuation, article 3, as a customs agent
/// quotes it; the publication names only the first day).
const WEEK: u32 = 6;

/// Each element with a `currSgn` is one rate: `fxrt` from `aplyBgnDt` (`20260712`); `imexTp` 2 is for imports, the only ones taken.
/// Yen are quoted by the hundred; another currency is when `mtryUtNm` says so.
pub(super) fn xml(
    file: &File<'_>,
    document: &roxmltree::Document<'_>,
    problems: &mut Problems,
) -> Publication {
    let (mut rates, mut unknown) = (Vec::new(), Vec::new());
    let is_rate = |node: &roxmltree::Node<'_, '_>| {
        node.children()
            .any(|child| child.tag_name().name() == "currSgn")
    };
    let all = document.descendants().filter(is_rate);
    for item in all.filter(|item| child_text(*item, "imexTp") != "1") {
        let line = line_of(document, item);
        let (code, day, printed) = (
            child_text(item, "currSgn"),
            child_text(item, "aplyBgnDt"),
            child_text(item, "fxrt"),
        );
        let Some(base) = currency(code, &mut unknown) else {
            continue;
        };
        let Some(from) = run_together(day) else {
            let found = words::quoted(day);
            let what = format!("`aplyBgnDt` is {found}: expected a day such as `20260712`");
            problems.push(file.error(line, what));
            continue;
        };
        let hundred = base == Currency::JPY || child_text(item, "mtryUtNm").contains("100");
        match for_one(&printed.replace(',', ""), if hundred { "100" } else { "1" }) {
            Some(rate) => {
                rates.push(Imported {
                    usage: Use::Customs,
                    base,
                    quote: Currency::KRW,
                    rate,
                    from,
                    to: Some(from.plus_days(WEEK)),
                });
            }
            None => problems.push(file.error(line, bad_rate(code, printed))),
        }
    }
    Publication {
        kind: "Korean customs' rates",
        source: SOURCE,
        folder: "kr",
        rates,
        unknown,
    }
}

/// `20260712`.
pub(super) fn run_together(text: &str) -> Option<Date> {
    let digits = text.len() == 8 && text.bytes().all(|byte| byte.is_ascii_digit());
    let part = |range: std::ops::Range<usize>| text.get(range).filter(|_| digits);
    Date::new(
        part(0..4)?.parse().ok()?,
        part(4..6)?.parse().ok()?,
        part(6..8)?.parse().ok()?,
    )
}
