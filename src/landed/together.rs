//! Parts of one parcel that together are another thing: how many of it they make, which lines belong to it and which are left.
//!
//! Only whole sets count: two frames with one fork are one bicycle and a frame. What an article that is complete does not need is
//! classified for itself.

use std::collections::BTreeMap;

use super::border::BorderAssessment;
use super::caution::{Cautions, Saying};
use super::jurisdiction::Jurisdiction;
use super::parcel::Consignment;
use crate::book::Part;
use crate::rules::{Line, Parcel, RowFilter};
use crate::tables::{Assembly, Dated, Kind, RowRef};
use crate::text::words;
use crate::units::{Dec, Overflow};

/// What the parts of a parcel were taken for.
#[derive(Debug, Clone)]
pub(super) struct Together {
    /// The row that makes them so.
    pub(super) row: Dated<Assembly>,
    /// How many of the thing there are.
    wholes: u32,
    /// The lines that belong to it, in their order.
    pub(super) lines: Vec<usize>,
    /// Those of them with more pieces than belong to it.
    pub(super) split: Vec<usize>,
    /// Lines at its places that are more than it needs.
    pub(super) left: Vec<usize>,
    /// Where the row is in dispute: the row that makes some of the parts the same thing beyond dispute, and which.
    pub(super) core: Option<(RowRef, Vec<usize>)>,
}

/// What the parts of one parcel make together, if they make something by a row that counts.
pub(super) fn made_of(
    parcel: &Parcel,
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'_>,
    counting: RowFilter,
) -> Result<Option<Together>, Overflow> {
    let Some(row) = rows_in_force(parcel, consignment, jurisdiction, counting).next() else {
        return Ok(None);
    };
    let found = Together::of(row, parcel, jurisdiction, consignment)?;
    if !row.stamp.disputed() {
        return Ok(Some(found));
    }
    let certain = RowFilter {
        disputed: false,
        ..counting
    };
    let core = rows_in_force(parcel, consignment, jurisdiction, certain).next();
    let Some(core) = core.filter(|core| core.rule.commodity == row.rule.commodity) else {
        return Ok(Some(found));
    };
    let core = Together::of(core, parcel, jurisdiction, consignment)?;
    // a dispute about parts that are not there is none
    if core.lines == found.lines {
        return Ok(Some(core));
    }
    Ok(Some(Together {
        core: Some((core.row.stamp.row, core.lines)),
        ..found
    }))
}

/// Reports parts that together are another thing; `differs` tells whether their sum differs from that of single parts.
pub(super) fn say(
    consignment: &Consignment<'_>,
    door: &BorderAssessment,
    differs: bool,
    cautions: &mut Cautions,
) {
    let Some(together) = &door.together else {
        return;
    };
    let id = consignment.id.as_str();
    let name = |at: &usize| consignment.rows.get(*at).map(|row| row.name.as_str());
    let saying =
        Saying::new(together.words(name, differs)).so("Ask the carrier how it will declare them.");
    cautions.say("assembly", saying, &[id]);
    let text = &together.row.rule.text;
    let names = |of: &[usize]| of.iter().filter_map(name).collect::<Vec<_>>();
    if !together.split.is_empty() {
        let saying = Saying::new(format!(
            "Not all pieces of this row belong to the {text}, but all are counted so"
        ))
        .so("Put the others into a row of their own, which then counts as a single part.");
        cautions.say("assembly-split", saying, &names(&together.split));
    }
    if !together.left.is_empty() {
        let saying = Saying::new(format!(
            "This is more than the {text} of this parcel takes, so it counts as a single part"
        ))
        .so("Check the quantity.");
        cautions.say("assembly-surplus", saying, &names(&together.left));
    }
    if together.has_mixed_origins(door) {
        let saying = Saying::new(format!(
            "Anti-dumping duty is counted only on those parts of the {text} that were made where it applies; customs may find one origin for the whole, and then charge it on all of it or on nothing"
        ))
        .so("Ask the seller where the whole is said to be made.");
        cautions.say("assembly-origins", saying, &[id]);
    }
    let mut lines = door.parcel.lines.iter();
    if lines.any(|line| line.commodity.starts_with(MOTORS)) {
        let saying = Saying::new("With a motor in the parcel customs may treat the parts as a cycle with a motor (8711 60), which bears other duties")
            .so("Ask the carrier before you order.");
        cautions.say("assembly-motor", saying, &[id]);
    }
}

/// Electric motors.
const MOTORS: &str = "8501";

/// Rows by which the parts of a parcel make something, the one that counts first.
pub(super) fn rows_in_force<'r>(
    parcel: &Parcel,
    consignment: &'r Consignment<'_>,
    jurisdiction: &'r Jurisdiction<'_>,
    counting: RowFilter,
) -> impl Iterator<Item = &'r Dated<Assembly>> {
    let arrival = parcel.arrival;
    let rows = jurisdiction.law.assemblies.iter();
    rows.filter(move |row| row.stamp.in_force(arrival))
        .filter(move |row| counting.disputed || !row.stamp.disputed())
        .filter(|row| made_from(consignment, &row.rule) > 0)
        .filter(|row| !declared_whole(consignment, &row.rule))
}

/// Whether the parts that make an assembly all have its own heading in the book: then it is not asked what they make together.
fn declared_whole(consignment: &Consignment<'_>, assembly: &Assembly) -> bool {
    let named = |place: &String| {
        let mut names = assembly.needs.iter().chain(assembly.of.iter().flatten());
        names.any(|name| name == place)
    };
    parts_for(consignment, assembly)
        .filter(|row| row.places.iter().any(named))
        .all(|row| assembly.has_heading_of(&row.commodity))
}

/// How many of a thing the parts of a parcel make.
fn made_from(consignment: &Consignment<'_>, assembly: &Assembly) -> u32 {
    assembly.wholes(|place| {
        parts_for(consignment, assembly)
            .filter(|row| row.places.iter().any(|own| own == place))
            .fold(0, |sum, row| sum.saturating_add(row.quantity))
    })
}

/// What may be part of a thing in a parcel, in the boxes of others too.
fn parts_for<'c>(
    consignment: &'c Consignment<'_>,
    assembly: &'c Assembly,
) -> impl Iterator<Item = &'c Part> {
    let rows = consignment.rows.iter().chain(&consignment.bundled);
    rows.copied()
        .filter(|row| assembly.takes(&row.commodity, &row.places))
}

/// How many pieces at each of its places are taken by `wholes` of a thing; places that take any number are left out.
pub(super) fn taken(
    assembly: &Assembly,
    wholes: u32,
    jurisdiction: &Jurisdiction<'_>,
) -> BTreeMap<String, u32> {
    let each = |place: &str| match jurisdiction.place(place) {
        Some(row) => row.pieces,
        None => Some(1),
    };
    let places = assembly.places();
    places
        .filter_map(|place| Some((place.clone(), each(place)?.saturating_mul(wholes))))
        .collect()
}

impl Together {
    /// The lines that belong to a thing. Where there are more than it needs the dearest belong, which is the most that can be due.
    fn of(
        row: &Dated<Assembly>,
        parcel: &Parcel,
        jurisdiction: &Jurisdiction<'_>,
        consignment: &Consignment<'_>,
    ) -> Result<Together, Overflow> {
        let wholes = made_from(consignment, &row.rule);
        let mut wanted = taken(&row.rule, wholes, jurisdiction);
        let mut found = Together {
            row: row.clone(),
            wholes,
            lines: Vec::new(),
            split: Vec::new(),
            left: Vec::new(),
            core: None,
        };
        for at in dearest_first(&parcel.lines)? {
            let line = &parcel.lines[at];
            if !row.rule.takes(&line.commodity, &line.places) {
                continue;
            }
            let own = line
                .places
                .iter()
                .filter(|place| row.rule.places().any(|one| one == *place));
            let room = own.clone().map(|place| wanted.get(place).copied());
            match room.map(|room| room.unwrap_or(u32::MAX)).max() {
                None => continue,
                Some(0) => found.left.push(at),
                Some(room) => {
                    found.lines.push(at);
                    if line.pieces > room {
                        found.split.push(at);
                    }
                }
            }
            for place in own {
                if let Some(room) = wanted.get_mut(place) {
                    *room = room.saturating_sub(line.pieces);
                }
            }
        }
        found.lines.sort_unstable();
        found.left.sort_unstable();
        Ok(found)
    }

    /// What the parts were taken for, and whether that is in dispute.
    fn words<'n>(&self, name: impl Fn(&usize) -> Option<&'n str>, differs: bool) -> String {
        let text = &self.row.rule.text;
        let one = words::article(text);
        let beside = if differs {
            ""
        } else {
            "; as single parts they cost the same"
        };
        match &self.core {
            Some((_, certain)) => {
                let more = self.lines.iter().filter(|at| !certain.contains(at));
                let more = words::list(&more.filter_map(name).collect::<Vec<_>>(), "and");
                format!(
                    "The parts of this parcel together count as {one} {text}; it is disputed whether {more} go with it, and they are counted so{beside}"
                )
            }
            None if self.row.stamp.disputed() => format!(
                "It is disputed whether the parts of this parcel together count as {one} {text}; they are counted so{beside}"
            ),
            None => {
                format!("The parts of this parcel together count as {one} {text}{beside}")
            }
        }
    }

    /// Whether an anti-dumping duty falls on some of its lines and not on others that were made elsewhere.
    fn has_mixed_origins(&self, door: &BorderAssessment) -> bool {
        let bears = |at: &usize| {
            let mut entries = door.assessment.entries.iter();
            entries.any(|entry| {
                entry.kind == Some(Kind::Remedy)
                    && entry.why_not.is_none()
                    && entry.lines.contains(at)
            })
        };
        let origin = |at: &usize| door.parcel.lines.get(*at).map(|line| line.origin.as_str());
        let (bearing, free): (Vec<&usize>, Vec<&usize>) =
            self.lines.iter().partition(|at| bears(at));
        let mut free = free.into_iter();
        free.any(|at| bearing.iter().any(|other| origin(other) != origin(at)))
    }

    /// Its lines bear its digits and its name, and are one line of the declaration.
    pub(super) fn declare(&self, parcel: &mut Parcel) {
        declare(parcel, &self.row.rule, self.wholes, &self.lines);
    }
}

/// Lines become another thing, of which there are `wholes`.
pub(super) fn declare(parcel: &mut Parcel, assembly: &Assembly, wholes: u32, lines: &[usize]) {
    for (_, line) in parcel
        .lines
        .iter_mut()
        .enumerate()
        .filter(|(at, _)| lines.contains(at))
    {
        line.commodity.clone_from(&assembly.commodity);
        line.declared_as.clone_from(&assembly.text);
        line.whole = Some(wholes);
    }
}

/// Lines by what one piece costs, the dearest first.
fn dearest_first(lines: &[Line]) -> Result<Vec<usize>, Overflow> {
    let mut priced = Vec::with_capacity(lines.len());
    for (at, line) in lines.iter().enumerate() {
        let each = line.list.over(Dec::from(line.pieces.max(1)))?;
        priced.push((std::cmp::Reverse(each.amount()), at));
    }
    priced.sort_unstable();
    Ok(priced.into_iter().map(|(_, at)| at).collect())
}
