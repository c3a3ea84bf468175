//! `rates --gaps` and `rates import`: what the tables want, and what a published file brought.

use serde_json::Value;

use super::rates_view::Listing;
use super::view::{Cell, Grid, View};
use crate::landed::{Gap, Landed, Question};
use crate::tables::{Publication, law_names};
use crate::text::words::{count, list};
use crate::units::{Date, HomeMoney};

/// What is to be said about a destination's tables.
pub(crate) fn gaps_view(gaps: &[Gap], ask: &Question, listing: Listing) -> View {
    let mut view = View::default();
    view.say(format!(
        "What to know about the tables for {} ({}) on {}: {}.",
        ask.to.in_words(),
        ask.to,
        ask.date,
        count(gaps.len(), "finding", "findings")
    ));
    let groups = grouped(gaps);
    view.table(if listing == Listing::Table {
        listed(&groups, &["what", "row"], |group| {
            vec![
                Cell::text(format!("  {}", group.named())),
                Cell::text(group.rows_in_words()),
            ]
        })
    } else {
        listed(&groups, &["what"], |group| {
            let row = format!("  {}", group.in_words());
            let place = listing == Listing::WithPlaces;
            let place = place.then(|| Cell::text(group.rows_in_words()));
            std::iter::once(Cell::text(row)).chain(place).collect()
        })
    });
    view
}

/// The groups as a table, under what is to be said of them.
fn listed<'g>(
    groups: &'g [Group<'_>],
    header: &[&str],
    cells: impl Fn(&'g Group<'_>) -> Vec<Cell>,
) -> Grid {
    let mut grid = Grid::new("gaps", header);
    grid.stacked = true;
    let mut heading = "";
    for group in groups {
        if group.why != heading {
            heading = group.why;
            grid.rows.push(vec![Cell::text(heading)]);
        }
        let mut row = cells(group);
        // A row of one cell would be a heading.
        if row.len() == 1 {
            row.push(Cell::Empty);
        }
        grid.rows.push(row);
    }
    grid
}

/// Findings that are alike but for the goods or the row, which are said once.
struct Group<'a> {
    why: &'static str,
    /// The layer and the country of making of rates of duty; empty for any other row.
    of: (&'a str, &'a str),
    /// The words about them, behind their names.
    said: &'a str,
    /// Both readings where it is disputed.
    dispute: Option<&'a str>,
    file: &'a str,
    names: Vec<&'a str>,
    lines: Vec<u32>,
}

fn grouped(gaps: &[Gap]) -> Vec<Group<'_>> {
    let mut groups: Vec<Group<'_>> = Vec::new();
    for gap in gaps {
        let (file, line) = gap
            .row
            .rsplit_once(':')
            .and_then(|(file, line)| Some((file, line.parse().ok()?)))
            .unwrap_or((&gap.row, 0));
        let (name, said) = if gap.row.is_empty() {
            (gap.what.as_str(), "")
        } else {
            gap.what.split_once(": ").unwrap_or((&gap.what, ""))
        };
        let rate = name.split(' ').collect::<Vec<_>>();
        let (name, of) = match rate.as_slice() {
            [layer, goods, origin] if file.ends_with("tariff.csv") => (*goods, (*layer, *origin)),
            _ => (name, ("", "")),
        };
        let own = Group {
            why: gap.why.name(),
            of,
            said,
            dispute: gap.dispute.as_deref(),
            file,
            names: Vec::new(),
            lines: Vec::new(),
        };
        let alike = |other: &Group<'_>| {
            (other.why, other.of, other.said, other.file) == (own.why, own.of, own.said, own.file)
                && other.dispute == own.dispute
        };
        let at = groups.iter().position(alike).unwrap_or(groups.len());
        if at == groups.len() {
            groups.push(own);
        }
        if let Some(group) = groups.get_mut(at) {
            group.names.push(name);
            group.lines.extend((line > 0).then_some(line));
        }
    }
    groups
}

impl Group<'_> {
    /// `anti-dumping duty on 73181290, 73181491 and 73181499 from China: in force until 2027-02-17`.
    fn in_words(&self) -> String {
        let mut names = self.names.clone();
        names.dedup();
        let (layer, origin) = self.of;
        let table = self.file.rsplit('/').next().unwrap_or_default();
        let what = match table {
            "tariff.csv" => {
                let all = names == ["*"];
                let goods = if all {
                    "all goods".to_owned()
                } else {
                    list(&names, "and")
                };
                format!(
                    "{} on {}",
                    law_names::duty(layer),
                    law_names::made_in(&goods, origin)
                )
            }
            "charges.csv" | "reliefs.csv" | "assemblies.csv" => {
                let names: Vec<String> = names.iter().map(|id| law_names::charge(id)).collect();
                let kind = match table {
                    "charges.csv" => "charge",
                    "reliefs.csv" => "limit",
                    _ => "parts entered together",
                };
                format!("{kind}: {}", list(&names, "and"))
            }
            _ => list(&names, "and"),
        };
        let said = if self.said.is_empty() {
            String::new()
        } else {
            format!(": {}", self.said)
        };
        let dispute = self
            .dispute
            .map(|said| format!(". {said}"))
            .unwrap_or_default();
        format!("{what}{said}{dispute}")
    }

    /// `remedy 73181290, 73181491 and 73181499 CN: in force until 2027-02-17`.
    fn named(&self) -> String {
        let mut names = self.names.clone();
        names.dedup();
        let (layer, origin) = self.of;
        let names = list(&names, "and");
        let names = if layer.is_empty() {
            names
        } else {
            format!("{layer} {names} {origin}")
        };
        if self.said.is_empty() {
            names
        } else {
            format!("{names}: {}", self.said)
        }
    }

    /// `rates/eu/tariff.csv:186-188, 196`.
    fn rows_in_words(&self) -> String {
        let mut lines = self.lines.clone();
        lines.sort_unstable();
        lines.dedup();
        let mut runs: Vec<(u32, u32)> = Vec::new();
        for line in lines {
            match runs.last_mut() {
                Some((_, last)) if last.checked_add(1) == Some(line) => *last = line,
                _ => runs.push((line, line)),
            }
        }
        let run = |(first, last): &(u32, u32)| {
            if first == last {
                first.to_string()
            } else {
                format!("{first}-{last}")
            }
        };
        let runs: Vec<String> = runs.iter().map(run).collect();
        if runs.is_empty() {
            self.file.to_owned()
        } else {
            format!("{}:{}", self.file, runs.join(", "))
        }
    }
}

/// The same as JSON.
pub(crate) fn gaps_json(gaps: &[Gap], ask: &Question) -> Value {
    let gaps: Vec<Value> = gaps
        .iter()
        .map(|g| serde_json::json!({"why": g.why.name(), "what": g.what, "row": g.row, "dispute": g.dispute}))
        .collect();
    serde_json::json!({"format": "landwaiter.gaps/1", "destination": ask.to.to_string(), "date": ask.date.to_string(), "gaps": gaps})
}

/// What a book lands at with new rates, beside what it landed at without them.
pub(crate) fn moved_text(before: Option<&Landed>, after: Option<&Landed>) -> String {
    let sum = |landed: &Landed| landed.totals.landed().ok();
    let (Some(before), Some(after)) = (before, after) else {
        return match after.and_then(sum).zip(after) {
            Some((sum, after)) => {
                format!(
                    "The book lands at {} {}; without these rates it could not be calculated.\n",
                    amount(sum, after),
                    after.currency
                )
            }
            None => "The book cannot be calculated: `landwaiter check` says why.\n".to_owned(),
        };
    };
    let (Some(old), Some(new)) = (sum(before), sum(after)) else {
        return String::new();
    };
    if old == new {
        return format!(
            "The book lands at {} {}, as before.\n",
            amount(new, after),
            after.currency
        );
    }
    let mut out = format!(
        "The book lands at {} {} instead of {}.\n",
        amount(new, after),
        after.currency,
        amount(old, before)
    );
    for bill in &after.bills {
        let was = before
            .bills
            .iter()
            .find(|other| other.id == bill.id)
            .and_then(|other| other.amounts.landed().ok());
        if let (Ok(now), Some(was)) = (bill.amounts.landed(), was)
            && now != was
        {
            out.push_str(&format!(
                "- {}: {} instead of {}\n",
                bill.id,
                amount(now, after),
                amount(was, before)
            ));
        }
    }
    out
}

fn amount(sum: HomeMoney, landed: &Landed) -> String {
    sum.amount().grouped(landed.currency.digits())
}

/// From which day to which a publication has rates.
fn span_of(publication: &Publication) -> String {
    let rates = publication.rates.iter();
    let first = rates.clone().map(|r| r.from).min();
    let last = rates.map(|r| r.to.unwrap_or(r.from)).max();
    match first.zip(last) {
        None => String::new(),
        Some((first, last)) if first == last => format!(" of {first}"),
        Some((first, last)) => format!(" from {first} to {last}"),
    }
}

/// What an import found and added.
pub(crate) fn import_text(
    publication: &Publication,
    days: &[Date],
    differing: usize,
    target: &str,
) -> String {
    let span = span_of(publication);
    let mut out = format!(
        "Found {}: {}{span}.\n",
        publication.kind,
        count(publication.rates.len(), "rate", "rates")
    );
    if !publication.unknown.is_empty() {
        out.push_str(&format!(
            "Passed over, not money of ISO 4217 today: {}.\n",
            publication.unknown.join(", ")
        ));
    }
    match days {
        [] if differing > 0 => {
            let others = count(differing, "rate differs", "rates differ");
            out.push_str(&format!(
                "Nothing new: every day is in {target} already, and {others} from the file; the table is left as it is.\n"
            ));
        }
        [] => out.push_str(&format!(
            "Nothing new: every rate is in {target} already.\n"
        )),
        [day] => out.push_str(&format!("Added to {target}: {day}.\n")),
        [first, .., last] => {
            out.push_str(&format!(
                "Added to {target}: {}, {first} to {last}.\n",
                count(days.len(), "new day", "new days")
            ));
        }
    }
    out
}
