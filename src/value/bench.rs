//! The work bench: which part fills which place, what stands twice, what is missing, and what people forget.

use std::collections::{BTreeMap, BTreeSet};

use crate::book::{Book, Part};
use crate::landed::{Jurisdiction, on_the_bike};
use crate::tables::{Condition, Need, Op, PlaceRow, When};
use crate::text::{Diagnostic, Problems, words};
use crate::units::{Dec, Grams};

/// Whether a bike has a place, by its settings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum There {
    /// It has.
    Yes,
    /// A setting says that it has not.
    No,
    /// A setting that would tell is missing.
    Unsaid,
}

/// One place and what fills it.
#[derive(Debug, Clone)]
pub(crate) struct Seat<'a> {
    /// The place.
    pub(crate) place: &'a PlaceRow,
    /// Whether the bike has it.
    pub(crate) there: There,
    /// The rows that fill it, by name.
    pub(crate) rows: Vec<&'a Part>,
    /// A filled place that stands instead of it.
    pub(crate) instead: Option<&'a str>,
}

impl Seat<'_> {
    /// Pieces at it.
    pub(crate) fn pieces(&self) -> u64 {
        self.rows.iter().map(|row| u64::from(row.quantity)).sum()
    }

    /// Whether it is to be filled and is not.
    pub(crate) fn is_empty(&self) -> bool {
        self.rows.is_empty()
            && self.there == There::Yes
            && self.instead.is_none()
            && !self.place.is_workshop()
    }
}

/// A place that is to be filled and is not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Empty {
    /// The place.
    pub(crate) place: String,
    /// What stands there, in words.
    pub(crate) text: String,
    /// Required, or only usual.
    pub(crate) need: Need,
    /// Its usual mass.
    pub(crate) usual: Option<(Grams, Grams)>,
    /// Whether people often forget it.
    pub(crate) often_forgotten: bool,
}

/// Every place of a kind of bike, by name, with the rows that fill it.
#[derive(Debug, Clone)]
pub(crate) struct Bench<'a> {
    seats: BTreeMap<&'a str, Seat<'a>>,
}

impl<'a> Bench<'a> {
    /// Lays rows out on their places; a row at an unknown place is left to the check of places.
    pub(crate) fn lay(rows: &[&'a Part], jurisdiction: &Jurisdiction<'a>) -> Bench<'a> {
        let places = jurisdiction
            .place_names()
            .filter_map(|name| jurisdiction.place(name));
        let mut seats: BTreeMap<&str, Seat<'_>> = places
            .map(|place| {
                let there = there(&place.when, &jurisdiction.ask.facts);
                (
                    place.place.as_str(),
                    Seat {
                        place,
                        there,
                        rows: Vec::new(),
                        instead: None,
                    },
                )
            })
            .collect();
        for row in rows {
            for place in &row.places {
                if let Some(seat) = seats.get_mut(place.as_str()) {
                    seat.rows.push(row);
                }
            }
        }
        for seat in seats.values_mut() {
            seat.rows.sort_by(|a, b| a.name.cmp(&b.name));
        }
        take_the_place(&mut seats);
        Bench { seats }
    }

    /// Every place.
    pub(crate) fn seats(&self) -> impl Iterator<Item = &Seat<'a>> {
        self.seats.values()
    }

    /// Required and usual places that nothing fills, by name.
    pub(crate) fn empty(&self) -> Vec<Empty> {
        let bare = self
            .seats
            .values()
            .filter(|seat| seat.is_empty() && seat.place.need != Need::Optional);
        bare.map(|seat| Empty {
            place: seat.place.place.clone(),
            text: seat.place.text.clone(),
            need: seat.place.need,
            usual: seat.place.usual,
            often_forgotten: seat.place.often_forgotten,
        })
        .collect()
    }

    /// The names of the required places that nothing fills.
    pub(crate) fn required_empty(&self) -> BTreeSet<&'a str> {
        let bare = self
            .seats
            .iter()
            .filter(|(_, seat)| seat.is_empty() && seat.place.need == Need::Required);
        bare.map(|(name, _)| *name).collect()
    }

    /// Required places that nothing fills, of those that the basis counts, by name: a bike without them is not whole.
    pub(crate) fn lacking(&self, jurisdiction: &Jurisdiction<'_>) -> Vec<String> {
        let counts = |place: &PlaceRow| place.counts_in(jurisdiction.ask.basis);
        let counted = |name: &&str| jurisdiction.place(name).is_some_and(counts);
        let empty = self.required_empty().into_iter().filter(counted);
        empty.map(str::to_owned).collect()
    }

    /// Places filled twice: the place, the rows, and how it happens.
    pub(crate) fn doubled(&self) -> Vec<Doubled<'a>> {
        let mut found = Vec::new();
        for seat in self.seats.values().filter(|seat| !seat.rows.is_empty()) {
            if let Some(pieces) = seat
                .place
                .pieces
                .filter(|pieces| seat.rows.len() > 1 && seat.pieces() > u64::from(*pieces))
            {
                let why = format!(
                    "{} there, and {}",
                    words::count(usize_of(seat.pieces()), "piece is", "pieces are"),
                    fills(pieces)
                );
                found.push(Doubled {
                    place: &seat.place.place,
                    rows: seat.rows.clone(),
                    why,
                });
            }
            if let Some(other) = seat.instead.and_then(|name| self.seats.get(name)) {
                let rows: Vec<&Part> = seat
                    .rows
                    .iter()
                    .chain(&other.rows)
                    .copied()
                    .filter(|row| !row.is_open())
                    .collect();
                if rows
                    .first()
                    .is_some_and(|first| rows.iter().any(|row| row.name != first.name))
                {
                    found.push(Doubled {
                        place: &seat.place.place,
                        rows,
                        why: format!("`{}` stands instead of it", other.place.place),
                    });
                }
            }
        }
        found
    }
}

/// A place filled twice.
#[derive(Debug, Clone)]
pub(crate) struct Doubled<'a> {
    /// The place.
    pub(crate) place: &'a str,
    /// The rows, by name.
    pub(crate) rows: Vec<&'a Part>,
    /// How.
    pub(crate) why: String,
}

/// What `check` says about the places of a book's build.
#[derive(Debug, Clone, Default)]
pub(crate) struct Findings {
    /// Places that are to be filled and are not.
    pub(crate) empty: Vec<Empty>,
    /// Settings that would tell whether a place is there.
    pub(crate) unsaid: Vec<String>,
}

/// Looks at a book's build: problems go to the list, holes are returned.
pub(crate) fn check(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    problems: &mut Problems,
) -> Findings {
    let rows: Vec<&Part> = book.build().collect();
    let bench = Bench::lay(&rows, jurisdiction);
    bench
        .doubled()
        .iter()
        .for_each(|doubled| problems.push(told_twice(doubled)));
    for seat in bench.seats() {
        too_many(seat, problems);
        not_there(seat, jurisdiction, problems);
    }
    for row in &rows {
        unmet_needs(row, book, problems);
    }
    let unsaid = bench
        .seats()
        .filter(|seat| seat.there == There::Unsaid)
        .flat_map(|seat| seat.place.when.conditions());
    let unsaid: BTreeSet<String> = unsaid
        .map(|c| c.subject.to_string())
        .filter(|name| !jurisdiction.ask.facts.contains_key(name.as_str()))
        .collect();
    Findings {
        empty: bench.empty(),
        unsaid: unsaid.into_iter().collect(),
    }
}

/// Refuses a build with a place filled twice: everything calculated on it would count a piece twice.
pub(crate) fn refuse_doubled(bench: &Bench<'_>) -> Result<(), Problems> {
    let mut problems = Problems::new();
    for doubled in &bench.doubled() {
        problems.push(told_twice(doubled));
    }
    if problems.refuse() {
        return Err(problems.sorted());
    }
    Ok(())
}

fn told_twice(doubled: &Doubled<'_>) -> Diagnostic {
    let mut by_line: Vec<&Part> = doubled.rows.clone();
    by_line.sort_by_key(|row| row.at.row().line());
    let names: Vec<String> = by_line
        .iter()
        .map(|row| format!("{} ({})", words::quoted(&row.name), row.at.place()))
        .collect();
    let what = format!(
        "`{}` is filled twice, by {}: {}",
        doubled.place,
        words::list(&names, "and"),
        doubled.why
    );
    let problem = match by_line.last() {
        Some(last) => last.at.cell("place").error(what),
        None => Diagnostic::error(what),
    };
    problem.help(
        "a piece that might replace another, or was bought by mistake, has the role `option`: what was paid for it still counts; pieces that fill a place together stand in one row",
    )
}

/// One row with more pieces than its place has is told: a pair sold as one is one.
fn too_many(seat: &Seat<'_>, problems: &mut Problems) {
    let ([row], Some(pieces)) = (seat.rows.as_slice(), seat.place.pieces) else {
        return;
    };
    if row.quantity > pieces {
        let what = format!(
            "{} of them are at `{}`, and {}",
            row.quantity,
            seat.place.place,
            fills(pieces)
        );
        let help = "price and mass are for one of what `quantity` counts; a pair sold as one is 1";
        problems.push(row.at.cell("quantity").error(what).as_warning().help(help));
    }
}

/// A part at a place that the settings say the bike has not.
fn not_there(seat: &Seat<'_>, jurisdiction: &Jurisdiction<'_>, problems: &mut Problems) {
    if seat.there != There::No {
        return;
    }
    let name = |c: &Condition| c.subject.to_string();
    let told = seat.place.when.conditions().filter_map(|c| {
        Some(format!(
            "`{} = {}`",
            name(c),
            jurisdiction.ask.facts.get(&name(c))?
        ))
    });
    let told: BTreeSet<String> = told.collect();
    let told: Vec<String> = told.into_iter().collect();
    for row in &seat.rows {
        let what = format!(
            "`{}` is there when `{}`, and the settings say {}",
            seat.place.place,
            seat.place.when,
            words::list(&told, "and")
        );
        problems.push(row.at.cell("place").error(what).as_warning());
    }
}

/// What a build part needs must be in the build.
fn unmet_needs(row: &Part, book: &Book, problems: &mut Problems) {
    for needed in &row.needs {
        let there = book.build().any(|part| part.name == *needed);
        if !there && book.main_row(needed).is_some() {
            let what = format!(
                "{} needs {}, which is not in the build",
                words::quoted(&row.name),
                words::quoted(needed)
            );
            problems.push(
                row.at
                    .cell("needs")
                    .error(what)
                    .as_warning()
                    .help(format!("give {} the role `build`", words::quoted(needed))),
            );
        }
    }
}

/// Whether the settings say that a place is there. A missing setting asks for nothing.
pub(super) fn there(when: &When, facts: &BTreeMap<String, String>) -> There {
    if when.is_always() {
        return There::Yes;
    }
    let one = |c: &Condition| facts.get(&c.subject.to_string()).map(|said| holds(c, said));
    let mut unsaid = false;
    for side in &when.any {
        let answers: Vec<Option<bool>> = side.iter().map(one).collect();
        if answers.iter().all(|answer| *answer == Some(true)) {
            return There::Yes;
        }
        unsaid = unsaid || !answers.contains(&Some(false));
    }
    if unsaid { There::Unsaid } else { There::No }
}

fn holds(condition: &Condition, said: &str) -> bool {
    let number = crate::units::number::plain(said).ok();
    match (condition.op, number.zip(condition.number)) {
        (op, Some((said, asked))) => op.holds::<Dec>(&said, &asked),
        (Op::Equal, None) => said.eq_ignore_ascii_case(&condition.word),
        (Op::Unequal, None) => !said.eq_ignore_ascii_case(&condition.word),
        (_, None) => false,
    }
}

/// Places that a set of rows lays claim to: its own, those it stands instead of, and those that stand instead of its own.
/// Workshop places are nobody's.
pub(crate) fn claimed<'a>(rows: &[&'a Part], jurisdiction: &Jurisdiction<'a>) -> BTreeSet<&'a str> {
    let own: BTreeSet<&str> = rows
        .iter()
        .flat_map(|row| &row.places)
        .filter_map(|place| jurisdiction.place(place))
        .filter(|place| !place.is_workshop())
        .map(|place| place.place.as_str())
        .collect();
    let mut all = own.clone();
    for place in jurisdiction
        .place_names()
        .filter_map(|name| jurisdiction.place(name))
    {
        if own.contains(place.place.as_str()) {
            all.extend(place.instead_of.iter().map(String::as_str));
        } else if place
            .instead_of
            .iter()
            .any(|other| own.contains(other.as_str()))
        {
            all.insert(&place.place);
        }
    }
    all
}

/// The build rows of a book that are on the bike, or all of them.
pub(crate) fn build_rows<'a>(
    book: &'a Book,
    jurisdiction: &Jurisdiction<'_>,
    with_tools: bool,
) -> Vec<&'a Part> {
    book.build()
        .filter(|row| with_tools || on_the_bike(row, jurisdiction))
        .collect()
}

fn fills(pieces: u32) -> String {
    if pieces == 1 {
        "1 fills it".to_owned()
    } else {
        format!("{pieces} fill it")
    }
}

fn usize_of(count: u64) -> usize {
    usize::try_from(count).unwrap_or(usize::MAX)
}

/// Marks places that need nothing because another one that stands for them is filled.
fn take_the_place<'a>(seats: &mut BTreeMap<&'a str, Seat<'a>>) {
    let is_filled = |seat: &&Seat<'a>| !seat.rows.is_empty();
    let filled = seats.values().filter(is_filled).map(|seat| seat.place);
    for place in filled.collect::<Vec<&'a PlaceRow>>() {
        for other in &place.instead_of {
            if let Some(seat) = seats.get_mut(other.as_str()) {
                seat.instead = Some(place.place.as_str());
            }
        }
    }
}
