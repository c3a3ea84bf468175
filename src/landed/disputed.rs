//! What is in dispute: the rows behind it, and in words what it is, not by the ids of tables.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::border::BorderAssessment;
use super::caution::{Cautions, Saying};
use super::parcel::Consignment;
use crate::rules::Entry;
use crate::tables::{Dispute, Kind, Provenance, RowRef};
use crate::text::words;
use crate::units::Dec;

/// A row of which it is open whether it counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Disputed {
    /// The charge, the relief or the assembly.
    pub id: String,
    /// What it is; none for a relief, for an assembly and for a rate of nothing.
    pub(crate) kind: Option<Kind>,
    /// Whether it is the entry of several parts as one thing, which decides the rates of them all.
    pub assembly: bool,
    /// Whether that some of the parts are one thing is beyond dispute, and the row is about the others alone.
    pub(crate) of_others: bool,
    /// Whether the landed sum counts it; an anti-dumping duty that is only shown is not in it.
    pub(crate) counted: bool,
    /// Its row.
    pub(crate) row: RowRef,
    /// What is behind it.
    pub(crate) source: String,
    /// Its name and both readings, in words; none for an anti-dumping duty whose row is not disputed and that is only shown.
    pub(crate) dispute: Option<Arc<Dispute>>,
}

/// Disputed rows that acted: that the parts were taken for one thing is the first of them.
pub(super) fn counted(door: &BorderAssessment) -> Vec<Disputed> {
    let together = door.together.iter();
    let assembly = together.filter(|one| one.row.stamp.disputed());
    let assembly = assembly.map(|one| Disputed {
        assembly: true,
        of_others: one.core.is_some(),
        ..Disputed::of(&one.row.rule.id, None, true, &one.row.stamp)
    });
    assembly.chain(acted(door, true)).collect()
}

/// Leaves out reliefs that free of nothing: without what is in dispute no charge comes to more, and no rate is missed that was not.
pub(super) fn keep_what_frees(
    found: &mut Vec<Disputed>,
    door: &BorderAssessment,
    without: &BorderAssessment,
) {
    let amount = |of: &Entry| of.amount.unwrap_or(Dec::ZERO);
    let came_to = |row: &RowRef| {
        let entries = door.assessment.entries.iter();
        let same = entries.filter(|e| e.kind.is_some() && e.stamp.row == *row);
        same.map(amount).max().unwrap_or(Dec::ZERO)
    };
    let entries = without.assessment.entries.iter();
    let mut charges = entries.filter(|e| e.kind.is_some_and(|kind| kind != Kind::Value));
    let missed = |at: &usize| !door.assessment.gaps.contains(at);
    let frees = charges.any(|e| amount(e) > came_to(&e.stamp.row))
        || without.assessment.gaps.iter().any(missed);
    found.retain(|one| frees || one.kind.is_some() || one.assembly);
}

/// Rates in dispute by which a duty comes to nothing: they free as reliefs do.
pub(super) fn freed(door: &BorderAssessment) -> Vec<Disputed> {
    let mut found: Vec<Disputed> = Vec::new();
    let nothing = |amount: Option<Dec>| amount.is_some_and(Dec::is_zero);
    for entry in door
        .assessment
        .entries
        .iter()
        .filter(|e| e.why_not.is_none() && e.kind == Some(Kind::Duty) && nothing(e.amount))
    {
        for stamp in entry.rate_rows.iter().filter(|stamp| stamp.disputed()) {
            let one = Disputed::of(&entry.id, None, true, stamp);
            if !found.contains(&one) {
                found.push(one);
            }
        }
    }
    found
}

/// Rows of anti-dumping duty that would act, where it is only shown.
pub(super) fn only_shown(with: &BorderAssessment) -> Vec<Disputed> {
    acted(with, false)
}

fn acted(door: &BorderAssessment, counted: bool) -> Vec<Disputed> {
    let mut found: Vec<Disputed> = Vec::new();
    let looked_at = |kind: Option<Kind>| counted || kind == Some(Kind::Remedy);
    for entry in door
        .assessment
        .entries
        .iter()
        .filter(|e| e.why_not.is_none() && looked_at(e.kind))
    {
        let nothing = entry.kind.is_some() && entry.amount.is_none_or(Dec::is_zero);
        let stamps = std::iter::once(&entry.stamp).chain(&entry.rate_rows);
        for stamp in stamps.filter(|s| (s.disputed() || !counted) && !nothing) {
            let one = Disputed::of(&entry.id, entry.kind, counted, stamp);
            if !found.contains(&one) {
                found.push(one);
            }
        }
    }
    found
}

/// Goods for which no rate of ordinary duty is known once what is in dispute is left out. Where a rate in dispute was counted, leaving
/// it out means that nothing is due; where another duty in dispute stood in the place of the ordinary one, the sum without it is
/// short of that; where a relief dropped the duty, neither sum counts it.
pub(super) fn say_unrated(
    consignment: &Consignment<'_>,
    door: &BorderAssessment,
    without: &BorderAssessment,
    cautions: &mut Cautions,
) {
    let open = without.assessment.gaps.iter();
    for at in open.filter(|at| !door.assessment.gaps.contains(at)) {
        let Some(row) = consignment.rows.get(*at) else {
            continue;
        };
        match stands_in(door, without, *at) {
            None => cautions.say("no-rate", Saying::new("It is disputed whether duty is due on these goods, and its rate is unknown, so neither sum counts it").so("Ask the carrier which rate it would use.").costs_unknown(), &[&row.name]),
            Some(StandsIn::ForOrdinary(id)) => cautions.say("no-rate-undisputed", Saying::new(format!("A duty in dispute (`{id}`) is counted in place of the ordinary duty, whose rate is unknown for these goods, so the sum without it lacks that duty")).so("Ask the carrier which rate it would use.").costs_unknown(), &[&row.name]),
            Some(StandsIn::ItsRate) => {}
        }
    }
}

/// What the sum counts on goods that have no rate without what is in dispute.
enum StandsIn<'a> {
    /// A rate in dispute, of the duty that owes one.
    ItsRate,
    /// Another duty, by its id.
    ForOrdinary(&'a str),
}

/// What is counted on a line that has no rate without what is in dispute; nothing where its duty is dropped.
fn stands_in<'a>(
    door: &'a BorderAssessment,
    without: &BorderAssessment,
    at: usize,
) -> Option<StandsIn<'a>> {
    let wanting = |id: &str| {
        let entries = without.assessment.entries.iter();
        entries
            .filter(|e| e.owes && e.id == id)
            .any(|e| e.unrated.contains(&at))
    };
    let acting = |e: &&Entry| {
        e.kind == Some(Kind::Duty)
            && e.why_not.is_none()
            && e.lines.contains(&at)
            && !e.unrated.contains(&at)
    };
    let counted: Vec<&Entry> = door.assessment.entries.iter().filter(acting).collect();
    if counted.iter().any(|e| wanting(&e.id)) {
        return Some(StandsIn::ItsRate);
    }
    let disputed = counted.iter().find(|e| e.stamp.disputed());
    disputed.map(|e| StandsIn::ForOrdinary(&e.id))
}

/// Rows in dispute by the charge they act on, for tables and programs: `anti_dumping` (rates/gb/tariff.csv:129 and
/// rates/gb/tariff.csv:137).
pub fn disputed_rows<'a>(all: impl IntoIterator<Item = &'a Disputed>) -> Vec<String> {
    let mut found: BTreeMap<&str, Vec<&RowRef>> = BTreeMap::new();
    all.into_iter()
        .for_each(|one| found.entry(&one.id).or_default().push(&one.row));
    let named = |(id, mut rows): (&str, Vec<&RowRef>)| {
        rows.sort();
        rows.dedup();
        let rows: Vec<String> = rows.iter().map(ToString::to_string).collect();
        format!("`{id}` ({})", words::list(&rows, "and"))
    };
    found.into_iter().map(named).collect()
}

/// Both readings of disputed rows and who decides, each once.
pub(crate) fn readings<'a>(all: impl IntoIterator<Item = &'a Disputed>) -> Vec<&'a str> {
    let mut found: Vec<&str> = Vec::new();
    for said in all.into_iter().filter_map(Disputed::said) {
        if !found.contains(&said) {
            found.push(said);
        }
    }
    found
}

/// Disputed rows by country, table and words, each once with both readings.
pub(crate) fn named<'a>(all: impl IntoIterator<Item = &'a Disputed>) -> Vec<String> {
    let mut found: Vec<(&str, Vec<&str>)> = Vec::new();
    for dispute in all.into_iter().filter_map(|one| one.dispute.as_deref()) {
        let said = dispute.said.as_deref().unwrap_or_default();
        let name = dispute.name.as_str();
        match found.iter_mut().find(|(other, _)| *other == said) {
            Some((_, names)) if names.contains(&name) => {}
            Some((_, names)) => names.push(name),
            None => found.push((said, vec![name])),
        }
    }
    let line = |(said, names): (&str, Vec<&str>)| {
        let names = names.join("; ");
        if said.is_empty() {
            names
        } else {
            format!("{names}: {said}")
        }
    };
    found.into_iter().map(line).collect()
}

/// What a row is, in plain words.
pub(crate) fn kind_words(kind: Option<Kind>) -> &'static str {
    match kind {
        None => "relief",
        Some(Kind::Value) => "way of valuing",
        Some(Kind::Duty) => "duty",
        Some(Kind::Remedy) => "anti-dumping duty",
        Some(Kind::Tax | Kind::SaleTax) => "tax",
        Some(Kind::Fee) => "fee",
    }
}

impl Disputed {
    /// A row of a charge, by the charge's id.
    fn of(id: &str, kind: Option<Kind>, counted: bool, stamp: &Provenance) -> Disputed {
        Disputed {
            id: id.to_owned(),
            kind,
            assembly: false,
            of_others: false,
            counted,
            row: stamp.row.clone(),
            source: stamp.source.to_string(),
            dispute: stamp.dispute.clone(),
        }
    }

    /// Both readings, and who decides.
    pub(crate) fn said(&self) -> Option<&str> {
        self.dispute.as_ref()?.said.as_deref()
    }

    /// What it is, in plain words.
    fn words(&self) -> &'static str {
        if self.of_others {
            "joint entry of the other parts"
        } else if self.assembly {
            "joint entry of the parts"
        } else {
            kind_words(self.kind)
        }
    }
}

/// What is in dispute, in plain words, each once: `the anti-dumping duty and the relief`.
pub(crate) fn disputed_kinds<'a>(all: impl IntoIterator<Item = &'a Disputed>) -> Vec<String> {
    let kinds: BTreeSet<&str> = all.into_iter().map(Disputed::words).collect();
    kinds
        .into_iter()
        .map(|kind| format!("the {kind}"))
        .collect()
}

/// The first of many rows that stand in tables of the user's own, in brackets; the shipped tables' places are for the working alone.
pub(crate) fn own_rows(rows: &[RowRef]) -> String {
    const SHOWN: usize = 3;
    let own = rows.iter().filter(|row| !row.path.starts_with("rates/"));
    let own: Vec<String> = own.map(ToString::to_string).collect();
    match own.as_slice() {
        [] => String::new(),
        few if few.len() <= SHOWN => format!(" ({})", words::list(few, "and")),
        many => {
            let (named, more) = many.split_at(SHOWN);
            format!(" ({} and {} more)", named.join(", "), more.len())
        }
    }
}
