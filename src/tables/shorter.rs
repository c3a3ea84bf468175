//! Rows of the user's tariff with fewer digits than built-in rows, which go before them: a row that may decide nothing is said.

use super::law::Law;
use super::stamp::Dated;
use super::tariff::TariffRow;
use crate::text::{Diagnostic, Problems, words};

/// Built-in rows that are named.
const SHOWN: usize = 3;

/// Warns of every row of the user's that built-in rows of its layer go before, because they have more digits.
pub(super) fn warn(law: &Law, problems: &mut Problems) {
    let counting = || law.tariff.iter().filter(|row| row.stamp.counts());
    let mut built_in: Vec<(usize, &Dated<TariffRow>)> = counting()
        .filter(|row| !row.stamp.users)
        .enumerate()
        .collect();
    built_in.sort_by_key(|(_, row)| digits(row));
    for own in counting().filter(|row| row.stamp.users && row.rule.commodity != "*") {
        let from = built_in.partition_point(|(_, row)| digits(row) <= digits(own));
        let mut longer: Vec<(usize, &Dated<TariffRow>)> = built_in[from..]
            .iter()
            .take_while(|(_, row)| digits(row).starts_with(digits(own)))
            .filter(|(_, row)| goes_before(row, own))
            .copied()
            .collect();
        // in the order of the tables
        longer.sort_by_key(|(at, _)| *at);
        let Some((_, first)) = longer.first() else {
            continue;
        };
        let named: Vec<String> = longer
            .iter()
            .take(SHOWN)
            .map(|(_, row)| format!("`{}` ({})", row.rule.commodity, row.stamp.row))
            .collect();
        let which = match longer.len().saturating_sub(SHOWN) {
            0 => words::list(&named, "and"),
            more => format!("{} and {more} more", named.join(", ")),
        };
        let what = format!(
            "the row `{} {} {}` decides only what built-in rows with more digits leave to it: they go before it: {which}",
            own.rule.layer, own.rule.commodity, own.rule.origin
        );
        let help = format!(
            "give the digits that are meant, as in `{}`, or switch those rows off with rows of the same digits that are `annulled`",
            first.rule.commodity
        );
        problems.push(
            Diagnostic::warning(what)
                .at(own.stamp.row.place())
                .help(help),
        );
    }
}

fn digits(row: &Dated<TariffRow>) -> &str {
    &row.rule.commodity
}

/// Whether a row with more digits is of the same layer, and can meet the same goods on the same days.
fn goes_before(row: &Dated<TariffRow>, own: &Dated<TariffRow>) -> bool {
    let (built_in, users) = (&row.rule, &own.rule);
    let origins = [built_in.origin.as_str(), users.origin.as_str()];
    built_in.layer == users.layer
        && (built_in.origin == users.origin || origins.contains(&"*"))
        && row.stamp.span.overlaps(&own.stamp.span)
}
