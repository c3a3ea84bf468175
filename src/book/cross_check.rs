//! Rows of a book held against one another: what names a part, a parcel or a seller finds it, and nothing names itself in a ring.

use std::collections::{BTreeMap, BTreeSet};

use super::{Book, ParcelRow, Part, Role, Seller, read};
use crate::text::{Diagnostic, Problems, words};

impl Book {
    /// Rows must find the rows they name, and never each other in a ring.
    pub(super) fn cross_check(&self, problems: &mut Problems) {
        let names: Vec<&str> = self.parts.iter().map(|part| part.name.as_str()).collect();
        for part in &self.parts {
            self.check_bundle(part, &names, problems);
            for needed in part
                .needs
                .iter()
                .filter(|needed| !self.lost_rows && !names.contains(&needed.as_str()))
            {
                problems.push(missing_part(part, "needs", needed, &names));
            }
        }
        for row in &self.parcels {
            let mut parts = self
                .parts
                .iter()
                .filter(|part| part.seller.as_deref() == Some(row.seller.as_str()));
            // a row without a label says how the seller's parcels usually travel, and each that is ordered gets a label
            let labelled =
                |other: &ParcelRow| other.seller == row.seller && !other.parcel.is_empty();
            let usual = row.parcel.is_empty() && self.parcels.iter().any(labelled);
            if !usual && !parts.any(|part| part.parcel == row.parcel) {
                let labels = self
                    .parts
                    .iter()
                    .map(|part| part.parcel.as_str())
                    .filter(|label| !label.is_empty());
                let what = format!(
                    "no row of `parts.csv` travels in this parcel of {}: the row is not used",
                    words::quoted(&row.seller)
                );
                problems.push(read::unknown(&row.at.cell("parcel"), what, labels).as_warning());
            }
        }
        self.check_sellers(problems);
        ring(
            self,
            "comes_with",
            |part| part.comes_with.iter().cloned().collect(),
            problems,
        );
        ring(self, "needs", |part| part.needs.clone(), problems);
    }

    /// Two names that only differ in capital letters or blanks would be two parcels, each with limits of its own.
    fn check_sellers(&self, problems: &mut Problems) {
        let plain = |name: &str| {
            name.split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
                .to_lowercase()
        };
        let mut met: BTreeMap<String, &Seller> = BTreeMap::new();
        for seller in self.sellers.values() {
            if let Some(other) = met.insert(plain(&seller.name), seller) {
                let what = format!(
                    "write it like {} at {}, or use another name",
                    words::quoted(&other.name),
                    other.at.place()
                );
                let help =
                    "the same seller is written the same way each time: two names are two parcels";
                problems.push(seller.at.cell("seller").error(what).help(help));
            }
        }
    }

    fn check_bundle(&self, part: &Part, names: &[&str], problems: &mut Problems) {
        let Some(holder) = &part.comes_with else {
            return;
        };
        match self.main_row(holder) {
            None if self.lost_rows => {}
            None => problems.push(missing_part(part, "comes_with", holder, names)),
            Some(row) if row.role == Role::Option && part.role == Role::Build => {
                let what = format!(
                    "expected a part of the build: {} is an option, and may never be bought",
                    words::quoted(holder)
                );
                problems.push(part.at.cell("comes_with").error(what));
            }
            Some(_) => {}
        }
    }
}

fn missing_part(part: &Part, column: &'static str, name: &str, names: &[&str]) -> Diagnostic {
    let cell = part.at.cell(column);
    let which = if cell.text() == name {
        String::new()
    } else {
        format!(", which {} is not", words::quoted(name))
    };
    let missing = cell.error(format!("expected the name of a part in `parts.csv`{which}"));
    match words::nearest(name, names.iter().copied()) {
        Some(near) => missing.help(format!("did you mean `{near}`?")),
        None => missing,
    }
}

/// Reports a ring of rows that name one another, once, at the first of its rows.
fn ring(
    book: &Book,
    column: &'static str,
    next: impl Fn(&Part) -> Vec<String>,
    problems: &mut Problems,
) {
    let mut told: Vec<String> = Vec::new();
    for start in book.parts.iter().filter(|part| part.role != Role::Rival) {
        let mut path = vec![start.name.clone()];
        let mut met: BTreeSet<String> = BTreeSet::new();
        let mut open: Vec<(String, usize)> =
            next(start).into_iter().map(|name| (name, 1)).collect();
        while let Some((name, depth)) = open.pop() {
            path.truncate(depth);
            if name == start.name {
                if !told.contains(&start.name) {
                    told.extend(path.iter().cloned());
                    path.push(name);
                    problems.push(start.at.cell(column).error(format!(
                        "expected no ring of parts that name one another: {}",
                        path.join(" → ")
                    )));
                }
                break;
            }
            if !met.insert(name.clone()) {
                continue;
            }
            path.push(name.clone());
            let following = book.main_row(&name).map(&next).unwrap_or_default();
            open.extend(following.into_iter().map(|name| (name, depth + 1)));
        }
    }
}
