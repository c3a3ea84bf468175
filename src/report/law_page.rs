//! The page of a folder of law: its rows in plain words, with dates, marks and sources. Written from the rows, never by
//! hand.

use std::collections::BTreeMap;

use super::law_words::marks;
use super::plain;
use super::row_words::{self, charge, kind_word, rate, relief, with_when};
use crate::tables::{
    Back, Certainty, Charge, CustomsExchange, Dated, Destination, Evidence, Law, MARKS, Provenance,
    Relief, Rule, Tables, TariffRow,
};
use crate::text::words::{self, count};
use crate::text::{Problems, Sheet};
use crate::units::Dec;

/// Which rows a list names.
type Wanted = fn(&Provenance) -> bool;

/// A page being written.
struct Page {
    out: String,
    sources: Vec<String>,
    notes: BTreeMap<String, String>,
}

/// The page of a folder (`eu`) as Markdown; none when no destination uses the folder.
pub(crate) fn law_page(tables: &Tables, folder: &str, problems: &mut Problems) -> Option<String> {
    let code = folder.to_uppercase();
    let uses = |d: &&Dated<Destination>| d.rule.country.code() == code || d.rule.group == code;
    let here: Vec<&Dated<Destination>> = tables.destinations.iter().filter(uses).collect();
    let law = tables.law(&here.first()?.rule, problems);
    let notes = tables
        .files()
        .iter()
        .filter(|f| f.name == "destinations.csv" || f.name.starts_with(&format!("{folder}/")));
    let mut page = Page {
        out: String::new(),
        sources: Vec::new(),
        notes: notes.flat_map(row_notes).collect(),
    };
    let title = plain::place(&code);
    page.say(&format!(
        "# {}\n",
        title.strip_prefix("the ").unwrap_or(&title)
    ));
    page.say(
        "Written by the tests from the rows of this folder: change the rows, not this page.\n",
    );
    let said = notes_of(tables, &format!("{folder}/charges.csv"));
    page.say(
        &said
            .iter()
            .filter(|(above, _)| *above)
            .map(|(_, note)| note.as_str())
            .collect::<Vec<_>>()
            .join("\n\n"),
    );
    page.destinations(&here);
    page.freight(tables, &here);
    page.charges(&law);
    page.reliefs(&law);
    page.tariff(&law);
    page.taxes(&law);
    page.codes(&law);
    page.refunds(&law);
    page.marked(&law);
    page.file_notes(tables, folder);
    page.source_list();
    Some(page.out)
}

/// The marks with the date of the text itself.
fn dated_marks(stamp: &Provenance) -> String {
    let text = stamp
        .dated
        .map(|day| format!(", text of {day}"))
        .unwrap_or_default();
    format!("{}{text}", marks(stamp))
}

/// What a file says of itself in its `#` lines, and whether that stands above its header.
pub(super) fn notes_of(tables: &Tables, name: &str) -> Vec<(bool, String)> {
    let file = tables.files().iter().find(|f| f.name == name && !f.users);
    let text = file
        .map(|f| String::from_utf8_lossy(&f.bytes).into_owned())
        .unwrap_or_default();
    let mut above = true;
    let mut found = Vec::new();
    for line in text.lines() {
        let Some(note) = line.strip_prefix('#').map(str::trim) else {
            above = false;
            continue;
        };
        if !note.is_empty() && !MARKS.iter().any(|name| sets(note, name)) {
            found.push((
                above,
                sentence(note.strip_prefix("note:").unwrap_or(note).trim()),
            ));
        }
    }
    found
}

fn sets(line: &str, name: &str) -> bool {
    line.strip_prefix(name)
        .is_some_and(|rest| rest.trim_start().starts_with('='))
}

fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    chars
        .next()
        .map(|first| first.to_uppercase().chain(chars).collect())
        .unwrap_or_default()
}

/// The `note` cells of a file by their rows.
fn row_notes(file: &crate::tables::File) -> Vec<(String, String)> {
    let columns = match file.name.rsplit('/').next().unwrap_or_default() {
        "charges.csv" => Charge::COLUMNS,
        "reliefs.csv" => Relief::COLUMNS,
        "tariff.csv" => TariffRow::COLUMNS,
        "taxes.csv" => crate::tables::TaxRow::COLUMNS,
        "codes.csv" => crate::tables::Code::COLUMNS,
        "assemblies.csv" => crate::tables::Assembly::COLUMNS,
        _ => Destination::COLUMNS,
    };
    let sheet = Sheet::read(&file.path, &file.bytes, &columns, &mut Problems::new());
    let note = |row: crate::text::Row<'_>| {
        (
            format!("{}:{}", file.path, row.line()),
            row.cell("note").text().to_owned(),
        )
    };
    sheet
        .rows()
        .map(note)
        .filter(|(_, note)| !note.is_empty())
        .collect()
}

impl Page {
    fn say(&mut self, line: &str) {
        self.out.push_str(line);
        self.out.push('\n');
    }

    /// The number of a source in the list at the end.
    fn source(&mut self, stamp: &Provenance) -> String {
        let text = stamp.source.to_string();
        let at = self
            .sources
            .iter()
            .position(|known| *known == text)
            .unwrap_or_else(|| {
                self.sources.push(text);
                self.sources.len() - 1
            });
        format!("[{}]", at + 1)
    }

    fn note(&self, stamp: &Provenance) -> String {
        self.notes
            .get(&stamp.row.to_string())
            .map(|note| sentence(note))
            .unwrap_or_default()
    }

    /// `- from 2021-01-01: WHAT. Disputed; from memory, 2026-11-25 [3]. NOTE`
    fn entry(&mut self, stamp: &Provenance, what: &str) {
        let (marks, source, note) = (dated_marks(stamp), self.source(stamp), self.note(stamp));
        let note = if note.is_empty() {
            String::new()
        } else {
            format!(" {}.", note.trim_end_matches('.'))
        };
        self.say(&format!(
            "- {}: {what}. *{marks}* {source}.{note}",
            stamp.span
        ));
    }

    /// Destinations that differ in their name and money alone stand together.
    fn destinations(&mut self, here: &[&Dated<Destination>]) {
        self.say("\n## Where it holds\n");
        let mut groups: Vec<(String, &Provenance, Vec<String>)> = Vec::new();
        for row in here {
            let d = &row.rule;
            let exchange = match d.exchange {
                CustomsExchange::AsListed => {
                    "the customs authority's own rates, where `exchange.csv` has them"
                }
                CustomsExchange::EcbMonth => {
                    "the European Central Bank's rates of the second-last Wednesday of the month before, for the whole month"
                }
                CustomsExchange::Market => "market rates",
            };
            let name = format!("{} ({}, {})", d.country.name(), d.country, d.currency);
            let key = format!(
                "{exchange} {} {} {} {}",
                row.stamp.span,
                marks(&row.stamp),
                row.stamp.source,
                self.note(&row.stamp)
            );
            match groups.iter_mut().find(|(known, _, _)| *known == key) {
                Some((_, _, names)) => names.push(name),
                None => groups.push((
                    key,
                    &row.stamp,
                    vec![format!("customs converts by {exchange}: {name}")],
                )),
            }
        }
        for (_, stamp, names) in groups {
            self.entry(stamp, &names.join(", "));
        }
    }

    fn freight(&mut self, tables: &Tables, here: &[&Dated<Destination>]) {
        let ours = |text: &str| {
            here.iter().any(|d| {
                d.rule.country.code() == text || (d.rule.group == text && !text.is_empty())
            })
        };
        let rows: Vec<_> = tables
            .border_freight
            .iter()
            .filter(|row| ours(&row.rule.country))
            .collect();
        if rows.is_empty() {
            return;
        }
        self.say("\n## How much of the freight counts up to the border\n");
        for row in rows {
            let (by, from) = (row.rule.channel.as_str(), plain::place(&row.rule.dispatch));
            let by = if by == "*" {
                String::new()
            } else {
                format!(" by {by}")
            };
            self.entry(
                &row.stamp,
                &format!(
                    "{}{by} from {from}: {}",
                    plain::place(&row.rule.country),
                    row.rule.percent
                ),
            );
        }
    }

    fn charges(&mut self, law: &Law) {
        self.say("\n## The sum, in its order");
        let mut rows: Vec<&Dated<Charge>> = law.charges.iter().collect();
        rows.sort_by_key(|row| row.rule.order);
        let mut ids: Vec<(u32, &str)> = rows
            .iter()
            .map(|row| (row.rule.order, row.rule.id.as_str()))
            .collect();
        ids.dedup();
        let mut seen: Vec<&str> = Vec::new();
        for (order, id) in ids {
            if seen.contains(&id) {
                continue;
            }
            seen.push(id);
            let own: Vec<&&Dated<Charge>> = rows.iter().filter(|row| row.rule.id == id).collect();
            let kind = own.first().map_or("", |row| kind_word(&row.rule));
            self.say(&format!("\n### {order} `{id}`: {kind}\n"));
            own.iter().for_each(|row| {
                self.entry(&row.stamp, &with_when(charge(&row.rule), &row.rule.when));
            });
        }
    }

    fn reliefs(&mut self, law: &Law) {
        if law.reliefs.is_empty() {
            return;
        }
        self.say("\n## Limits\n");
        let mut rows: Vec<&Dated<Relief>> = law.reliefs.iter().collect();
        rows.sort_by_key(|row| row.rule.order);
        for row in rows {
            let what = format!(
                "{} `{}`: {}",
                row.rule.order,
                row.rule.id,
                relief(&row.rule)
            );
            self.entry(&row.stamp, &with_when(what, &row.rule.when));
        }
    }

    fn tariff(&mut self, law: &Law) {
        self.say("\n## Rates of duty");
        if law.tariff.is_empty() {
            self.say("\nNo row: where a rate is asked for, a gap is named.");
            return;
        }
        let mut layers: Vec<&str> = Vec::new();
        for layer in law.tariff.iter().map(|row| row.rule.layer.as_str()) {
            if !layers.contains(&layer) {
                layers.push(layer);
            }
        }
        for layer in layers {
            self.say(&format!("\n### Layer `{layer}`\n\n| goods | made in | rate | when | in force | marks | source | note |\n|---|---|---|---|---|---|---|---|"));
            for row in law.tariff.iter().filter(|row| row.rule.layer == layer) {
                let r = &row.rule;
                let goods = if r.commodity == "*" {
                    "all".to_owned()
                } else {
                    r.commodity.clone()
                };
                let cells = [
                    goods,
                    plain::place(&r.origin),
                    rate(r),
                    row_words::when(&r.when),
                ];
                self.row(&cells, &row.stamp);
            }
        }
    }

    fn taxes(&mut self, law: &Law) {
        if law.taxes.is_empty() {
            return;
        }
        self.say(
            "\n## Rates of tax\n\n| tax | where | goods | rate | in force | marks | source | note |\n|---|---|---|---|---|---|---|---|",
        );
        for row in &law.taxes {
            let r = &row.rule;
            let region = if r.region.is_empty() {
                String::new()
            } else {
                format!(", {}", r.region)
            };
            let goods = if r.commodity == "*" {
                "all".to_owned()
            } else {
                r.commodity.clone()
            };
            let cells = [
                format!("`{}`", r.tax),
                plain::place(&r.country) + &region,
                goods,
                r.percent.to_string(),
            ];
            self.row(&cells, &row.stamp);
        }
    }

    fn codes(&mut self, law: &Law) {
        if !law.codes.is_empty() {
            self.say("\n## What a part is\n\n| place | digits | called | when | in force | marks | source | note |\n|---|---|---|---|---|---|---|---|");
        }
        for row in &law.codes {
            let r = &row.rule;
            self.row(
                &[
                    r.place.clone(),
                    r.commodity.clone(),
                    r.text.clone(),
                    row_words::when(&r.when),
                ],
                &row.stamp,
            );
        }
        if !law.assemblies.is_empty() {
            self.say("\n## What parts are together\n");
        }
        for row in &law.assemblies {
            let r = &row.rule;
            let of: Vec<String> = r.of.iter().map(|one| one.join(" or ")).collect();
            let with = if r.any == 0 {
                String::new()
            } else {
                format!(" with {} of {}", r.any, of.join(", "))
            };
            let further = match r.with.as_slice() {
                [] => String::new(),
                some => format!(", and {} with them", words::list(some, "and")),
            };
            let never = match r.never.as_slice() {
                [] => String::new(),
                some => format!(
                    ", leaving out what bears the digits {}",
                    words::list(some, "or")
                ),
            };
            self.entry(
                &row.stamp,
                &format!(
                    "{}{with} in one parcel{further}{never}: {} ({})",
                    r.needs.join(" and "),
                    r.text,
                    r.commodity
                ),
            );
        }
    }

    fn refunds(&mut self, law: &Law) {
        if !law.refunds.is_empty() {
            self.say("\n## What comes back\n");
        }
        for row in &law.refunds {
            let r = &row.rule;
            let why = r.reason.map_or("for any reason", |reason| reason.name());
            let back = match r.back {
                Back::Yes => "comes back",
                Back::Possible => "can be asked for",
                Back::No => "does not come back",
            };
            let months = r.months.map(|n| count(n as usize, "month", "months"));
            let time = months.or_else(|| r.days.map(|n| count(n as usize, "day", "days")));
            let until = time
                .map(|time| format!(", within {time} of the arrival"))
                .unwrap_or_default();
            let limit = |word: &str, amount: Option<Dec>| {
                amount.map(|a| {
                    format!(
                        ", {word} {a} {}",
                        r.currency.map(|c| c.to_string()).unwrap_or_default()
                    )
                })
            };
            let limits = [limit("above", r.over), limit("up to", r.up_to)]
                .into_iter()
                .flatten()
                .collect::<String>();
            let from = if r.from.is_empty() {
                String::new()
            } else {
                format!(" from {}", r.from)
            };
            self.entry(
                &row.stamp,
                &format!(
                    "`{}`: {} {back}{from} ({why}){until}{limits}. {}",
                    r.id,
                    r.charge,
                    sentence(&r.text)
                ),
            );
        }
    }

    /// A line of a table: its own cells, then days, marks, source and note.
    fn row(&mut self, cells: &[String], stamp: &Provenance) {
        let rest = [
            stamp.span.to_string(),
            dated_marks(stamp),
            self.source(stamp),
            self.note(stamp),
        ];
        let cells: Vec<String> = cells
            .iter()
            .chain(&rest)
            .map(|cell| cell.replace('|', "\\|"))
            .collect();
        self.say(&format!("| {} |", cells.join(" | ")));
    }

    /// What is announced, disputed, struck down, from memory.
    fn marked(&mut self, law: &Law) {
        let rows = named(law);
        let groups: [(&str, Wanted); 4] = [
            ("Announced, not counted", |s| {
                s.certainty == Certainty::Announced
            }),
            ("Disputed: text and practice differ; the text counts", |s| {
                s.certainty == Certainty::Disputed
            }),
            ("Struck down, not counted; refunds may be possible", |s| {
                s.certainty == Certainty::Annulled
            }),
            ("From memory, not read again", |s| {
                s.evidence == Evidence::Recalled && s.counts()
            }),
        ];
        self.say("\n## What to watch\n");
        for (heading, wanted) in groups {
            let found: Vec<&(String, &Provenance)> =
                rows.iter().filter(|(_, stamp)| wanted(stamp)).collect();
            if found.is_empty() {
                self.say(&format!("- {heading}: none"));
                continue;
            }
            self.say(&format!("- {heading}:"));
            found.iter().for_each(|(name, stamp)| {
                let said = stamp.dispute_said().map(|said| format!(". {said}"));
                let said = said.unwrap_or_default();
                self.say(&format!(
                    "  - `{name}`, {} ({}){said}",
                    stamp.span, stamp.row
                ));
            });
        }
    }

    fn file_notes(&mut self, tables: &Tables, folder: &str) {
        self.say("\n## Notes\n");
        for table in [
            "charges",
            "reliefs",
            "tariff",
            "taxes",
            "codes",
            "assemblies",
        ] {
            let notes = notes_of(tables, &format!("{folder}/{table}.csv"));
            for (_, note) in notes
                .iter()
                .filter(|(above, _)| !(*above && table == "charges"))
            {
                self.say(&format!("- {table}: {note}"));
            }
        }
    }

    fn source_list(&mut self) {
        self.say("\n## Sources\n");
        for (at, source) in self.sources.clone().iter().enumerate() {
            self.say(&format!("{}. {source}", at + 1));
        }
    }
}

fn named(law: &Law) -> Vec<(String, &Provenance)> {
    let charges = law.charges.iter().map(|r| (r.rule.id.clone(), &r.stamp));
    let reliefs = law.reliefs.iter().map(|r| (r.rule.id.clone(), &r.stamp));
    let tariff = law.tariff.iter().map(|r| {
        (
            format!("{} {} {}", r.rule.layer, r.rule.commodity, r.rule.origin),
            &r.stamp,
        )
    });
    let taxes = law.taxes.iter().map(|r| {
        (
            format!("{} {} {}", r.rule.tax, r.rule.country, r.rule.commodity),
            &r.stamp,
        )
    });
    let codes = law
        .codes
        .iter()
        .map(|r| (format!("{} {}", r.rule.place, r.rule.commodity), &r.stamp));
    charges
        .chain(reliefs)
        .chain(tariff)
        .chain(taxes)
        .chain(codes)
        .collect()
}
