//! The whole bike on the scale: what it said goes before every sum of parts, brought to the basis that is asked for.

use super::basis::{Converted, Span, carried, convert, mass_on, not_told, own_parts};
use super::bench::build_rows;
use crate::book::{Book, Part, Standing, Weighing};
use crate::landed::{Cautions, Jurisdiction, Saying};
use crate::text::Problems;
use crate::units::{Basis, Date, Grams, Overflow};

/// The bike as it was weighed last.
#[derive(Debug, Clone)]
pub struct OnScale {
    /// What the scale said.
    pub(crate) read: Grams,
    /// How the bike was weighed.
    pub(crate) basis: Basis,
    /// Whether the reading itself does not tell that, and the book's own setting stands in.
    pub(crate) assumed: bool,
    /// When.
    pub(crate) date: Option<Date>,
    /// Its mass on the basis asked for, and how that came about.
    pub(crate) mass: Converted,
    /// What its parts add up to on that basis.
    pub sum: Grams,
    /// Parts of the build that were not here: to be ordered, or on their way.
    pub(crate) not_here: Vec<String>,
    /// Where it stands in the book.
    pub(crate) row: String,
}

impl OnScale {
    /// What the rider carries, as the tables add it to a bike that was weighed without; none where it lay on the scale, or is
    /// not counted.
    pub(crate) fn carried(&self) -> Option<Span> {
        let added = self
            .mass
            .steps
            .iter()
            .find(|step| step.place.is_empty() && step.grams.likely.0.is_positive());
        added.map(|step| step.grams)
    }

    /// What the scale said, brought to the basis asked for.
    pub fn likely(&self) -> Grams {
        self.mass.mass.likely
    }
}

/// The last weighing of the whole bike: of one day, the one on the basis asked for.
fn last(book: &Book, asked: Basis) -> Option<&Weighing> {
    let whole = book.weighings.iter().filter(|w| w.part.is_none());
    whole.max_by_key(|w| (w.date, w.basis == Some(asked), w.at.row().line()))
}

/// The bike as it was weighed last, beside what the parts of the build add up to; none when it was never weighed, or the reading
/// cannot be used on the basis asked for. What must be said of the reading goes to the cautions.
pub fn weighed(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) -> Result<Option<OnScale>, Overflow> {
    let rows: Vec<&Part> = build_rows(book, jurisdiction, false);
    let (parts, _) = mass_on(&rows, jurisdiction.ask.basis, jurisdiction)?;
    let rider =
        carried(jurisdiction.ask.basis, jurisdiction)?.map_or(Grams::ZERO, |span| span.likely);
    Ok(told(
        on_scale(book, &rows, parts.plus(rider)?, jurisdiction),
        cautions,
    ))
}

/// A reading as far as it is used: why it is not, on which basis it is taken, and what was not on the scale, is said.
pub(crate) fn told(
    found: Option<Result<OnScale, String>>,
    cautions: &mut Cautions,
) -> Option<OnScale> {
    let scale = match found? {
        Ok(scale) => scale,
        Err(reason) => {
            cautions.say("bike-weighing-unused", unused(&reason), &[]);
            return None;
        }
    };
    if scale.assumed {
        cautions.say("bike-basis-assumed", assumed(scale.basis), &[]);
    }
    if !scale.not_here.is_empty() {
        let about: Vec<&str> = scale.not_here.iter().map(String::as_str).collect();
        let text = "The bike was weighed, and these parts of the build are not here yet, so the weight is that of what was on it instead";
        let saying = Saying::new(text).so("Weigh it again once they are on it.");
        cautions.say("bike-weighed-without", saying, &about);
    }
    Some(scale)
}

/// How a reading of the whole bike was taken: as it tells, else as the book's own settings say; none where neither tells, and then
/// the reading is used nowhere. The cautions say which.
pub(crate) fn basis_of(reading: &Weighing, book: &Book, cautions: &mut Cautions) -> Option<Basis> {
    let basis = reading.basis.or(book.settings.basis);
    match basis {
        Some(basis) if reading.basis.is_none() => {
            cautions.say("bike-basis-assumed", assumed(basis), &[]);
        }
        Some(_) => {}
        None => cautions.say("bike-weighing-unused", unused(&not_told()), &[]),
    }
    basis
}

/// What to do where a reading does not tell its basis.
const TELL_THE_BASIS: &str = "Fill in `basis` in `weighings.csv`.";

fn assumed(basis: Basis) -> Saying {
    let text = format!(
        "The weighing of the bike does not say what was on it, so it counts as `{}`, the basis of the build",
        basis.name()
    );
    Saying::new(text).so(TELL_THE_BASIS)
}

fn unused(reason: &str) -> Saying {
    let text = format!("The weighing of the whole bike is not used: {reason}");
    Saying::new(text).so(if reason == not_told() {
        TELL_THE_BASIS
    } else {
        "Fill in what is missing, or weigh the bike again."
    })
}

/// Asks for the basis of readings of the whole bike that do not tell it.
pub(crate) fn ask(book: &Book, problems: &mut Problems) {
    for reading in book.weighings.iter().filter(|w| w.part.is_none()) {
        let mut said = Cautions::default();
        basis_of(reading, book, &mut said);
        for caution in said.into_list() {
            problems.push(
                reading
                    .at
                    .cell("what")
                    .error(caution.text)
                    .as_warning()
                    .help("say so in the column `basis`"),
            );
        }
    }
}

/// The bike as it was weighed last, on the basis asked for; `sum` is what its parts add up to on it. None when it was never
/// weighed; the error is the reason why the reading cannot be used.
pub(crate) fn on_scale(
    book: &Book,
    rows: &[&Part],
    sum: Grams,
    jurisdiction: &Jurisdiction<'_>,
) -> Option<Result<OnScale, String>> {
    let reading = last(book, jurisdiction.ask.basis)?;
    let basis = reading.basis.or(book.settings.basis);
    let mass = own_parts(rows)
        .map_err(|overflow| overflow.to_string())
        .and_then(|own| {
            convert(
                reading.mass,
                basis,
                jurisdiction.ask.basis,
                &own,
                jurisdiction,
            )
        });
    let not_here = rows
        .iter()
        .filter(|row| matches!(row.standing, Standing::ToOrder | Standing::OnOrder))
        .map(|row| row.name.clone());
    Some(mass.map(|mass| OnScale {
        read: reading.mass,
        basis: basis.unwrap_or(jurisdiction.ask.basis),
        assumed: reading.basis.is_none(),
        date: reading.date,
        mass,
        sum,
        not_here: not_here.collect(),
        row: reading.at.place().to_string(),
    }))
}
