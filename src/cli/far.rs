//! Days of a price list that the tables say little of: gathered over all its lines, and said once.

use std::collections::BTreeMap;

use crate::bulk::Far;
use crate::text::Diagnostic;
use crate::text::words::{count, list};
use crate::units::{Currency, Date};

/// What has been met so far.
#[derive(Default)]
pub(super) struct FarDays {
    /// By currency, the oldest of the rates: its age and its day.
    rates: BTreeMap<Currency, (i64, Date)>,
    /// The first line with an old rate.
    first_rate: Option<u64>,
    /// Messages about the tables by their lasting names, each with the first line that it is about.
    tables: BTreeMap<&'static str, (u64, String)>,
}

impl FarDays {
    /// Notes a day, and the line that has it.
    pub(super) fn note(&mut self, line: u64, far: &Far) {
        match far {
            Far::Rate {
                currency,
                from,
                age,
            } => {
                self.first_rate = Some(self.first_rate.map_or(line, |first| first.min(line)));
                let oldest = self.rates.entry(*currency).or_insert((*age, *from));
                *oldest = (*oldest).max((*age, *from));
            }
            Far::Tables { id, text } => {
                let (first, _) = self
                    .tables
                    .entry(id)
                    .or_insert_with(|| (line, text.clone()));
                *first = (*first).min(line);
            }
        }
    }

    /// The warnings, each with its line.
    pub(super) fn warnings(&self) -> Vec<(u64, Diagnostic)> {
        const WHERE: &str = "this is the first line that it concerns";
        let days = |age: i64| count(usize::try_from(age).unwrap_or(usize::MAX), "day", "days");
        let mut found = Vec::new();
        if let Some(line) = self.first_rate {
            let of: Vec<String> = self
                .rates
                .iter()
                .map(|(currency, (age, from))| {
                    format!("that of {currency} by up to {} ({from})", days(*age))
                })
                .collect();
            let what = format!(
                "market rates are older than the orders: {}",
                list(&of, "and")
            );
            let help = "`landwaiter rates import` adds rates that were published later";
            found.push((line, Diagnostic::warning(what).note(WHERE).help(help)));
        }
        found.extend(
            self.tables
                .values()
                .map(|(line, text)| (*line, Diagnostic::warning(text.clone()).note(WHERE))),
        );
        found
    }
}
