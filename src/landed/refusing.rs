//! Why nothing is calculated for a place of delivery: a territory refused by name, a region nobody knows, a destination without law.

use super::question::Question;
use crate::tables::{Law, Tables};
use crate::text::{Diagnostic, words};
use crate::units::{Country, regions};

/// Why nothing is calculated for the territory of delivery, if so: the tables refuse it by name, or the postcode lies in another
/// region than the one that is given. A land with a code of its own that the tables hold law for is not refused.
pub(super) fn refused(tables: &Tables, ask: &Question, has_law: bool) -> Option<Diagnostic> {
    let of_postcode = tables
        .territory(ask.to, "", &ask.postcode, ask.date)
        .filter(|_| !ask.postcode.is_empty());
    if let Some(other) = of_postcode.filter(|row| {
        !ask.region.is_empty() && !row.rule.postcodes.is_empty() && row.rule.region != ask.region
    }) {
        let what = format!(
            "the postcode {} lies in {}, and the region given is {}-{}",
            ask.postcode, other.rule.name, ask.to, ask.region
        );
        return Some(
            Diagnostic::error(what)
                .help("give the postcode alone, or the region of the place of delivery"),
        );
    }
    let row = tables
        .territory(ask.to, &ask.region, &ask.postcode, ask.date)
        .filter(|row| !row.rule.covered)?;
    let own_code = row.rule.region.is_empty() && row.rule.postcodes.is_empty();
    if own_code && has_law {
        return None;
    }
    let code = if row.rule.region.is_empty() {
        ask.to.to_string()
    } else {
        format!("{}-{}", ask.to, row.rule.region)
    };
    let what = format!(
        "parcels to {} ({code}) are not calculated: {}",
        row.rule.name, row.rule.reason
    );
    Some(Diagnostic::error(what).note(format!(
        "the reason stands in {}: {}",
        row.stamp.row, row.stamp.source
    )))
}

/// No law for the destination: what there is, and how one's own is added.
pub(super) fn no_law(tables: &Tables, ask: &Question) -> Diagnostic {
    let mut known: Vec<&str> = tables
        .destinations
        .iter()
        .map(|d| d.rule.country.code())
        .collect();
    known.sort_unstable();
    known.dedup();
    let what = format!(
        "there are no rules for {} ({}) on {}",
        ask.to.in_words(),
        ask.to,
        ask.date
    );
    if is_own(ask.to) {
        return Diagnostic::error(what).help(files_of_own(ask.to));
    }
    Diagnostic::error(what).note(format!("destinations in the tables: {}", known.join(", "))).help(
        "write its rules into a folder of your own, named by `rates` (see `rates/README.md`); a territory without a code of ISO 3166-1 \
         may have one from `XA` to `XZ`, but not `XI`",
    )
}

/// A destination that is named in the tables, but has no row of charges.
pub(super) fn no_charges(ask: &Question) -> Diagnostic {
    let (words, code) = (ask.to.in_words(), ask.to);
    let what = format!("the tables hold no charges for {words} ({code})");
    let problem = Diagnostic::error(what);
    if is_own(ask.to) {
        problem.help(files_of_own(ask.to))
    } else {
        problem
    }
}

fn is_own(to: Country) -> bool {
    Country::own(to.code()).is_some()
}

/// The files that a destination of one's own needs.
fn files_of_own(to: Country) -> String {
    let folder = to.code().to_ascii_lowercase();
    format!(
        "name a folder of your own by `rates`, and write into it `destinations.csv`, with the row of {to} and its currency, and `{folder}/charges.csv`, with \
         what is due there; where rates differ by goods, `{folder}/tariff.csv` and `{folder}/taxes.csv` too; their columns stand in `rates/README.md`"
    )
}

/// A region that neither a row of the tables nor the list of the country's regions knows. A country without a list is not asked.
pub(super) fn unknown_region(tables: &Tables, ask: &Question, law: &Law) -> Option<Diagnostic> {
    let region = ask.region.as_str();
    if region.is_empty()
        || tables
            .territory(ask.to, region, "", ask.date)
            .is_some_and(|row| !row.rule.region.is_empty())
    {
        return None;
    }
    let territories = tables
        .territories
        .of(ask.to)
        .iter()
        .filter(|row| row.rule.country == ask.to && !row.rule.region.is_empty());
    let named: Vec<&str> = law
        .regions(ask.to.code())
        .into_iter()
        .chain(territories.map(|row| row.rule.region.as_str()))
        .collect();
    let listed: Vec<&str> = regions(ask.to)?.collect();
    if named.contains(&region) || listed.contains(&region) {
        return None;
    }
    let what = format!(
        "there is no region {} in {} ({})",
        words::quoted(region),
        ask.to.in_words(),
        ask.to
    );
    let note = format!(
        "its regions are those of ISO 3166-2: {}",
        words::few(&listed)
    );
    let problem = Diagnostic::error(what).note(note);
    Some(
        match words::nearest_code(region, named.iter().chain(&listed).copied()) {
            Some(near) => problem.help(format!("did you mean `{}-{near}`?", ask.to)),
            None => problem.help(format!(
                "say `{}` alone, or the code of the region behind it, as in `{}-{}`",
                ask.to,
                ask.to,
                listed.first()?
            )),
        },
    )
}
