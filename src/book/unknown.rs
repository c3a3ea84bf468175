//! `unknowns.csv`: what is not known before ordering, as a range or as a chance.

use std::collections::BTreeMap;

use super::read::{currency, sheet};
use super::{Book, BookFile};
use crate::text::words::{self, one_of};
use crate::text::{Columns, Diagnostic, Problems, Spot};
use crate::units::number::{self, Style};
use crate::units::{Currency, Dec};

/// What an unknown is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum About {
    /// The exchange of a currency.
    Exchange,
    /// What carrying a parcel costs.
    Freight,
    /// The price of a part, or all prices of a seller.
    Price,
    /// The mass of a part.
    Mass,
    /// What the carrier may ask beyond its fee.
    Handling,
    /// Everything asked for at the door.
    Charges,
    /// Anti-dumping and countervailing duty.
    Remedy,
    /// Something that happens or does not, and what it then costs.
    Event,
    /// All that the tables call disputed: text and practice differ.
    Disputed,
}

const ABOUTS: [(&str, About); 9] = [
    ("exchange", About::Exchange),
    ("freight", About::Freight),
    ("price", About::Price),
    ("mass", About::Mass),
    ("handling", About::Handling),
    ("charges", About::Charges),
    ("remedy", About::Remedy),
    ("event", About::Event),
    ("disputed", About::Disputed),
];

/// What screens and invoices call them.
const NAMES: [(&str, About); 8] = [
    ("shipping", About::Freight),
    ("handling fee", About::Handling),
    ("carrier's fee", About::Handling),
    ("beyond the carrier's fee", About::Handling),
    ("anti-dumping", About::Remedy),
    ("anti-dumping duty", About::Remedy),
    ("charges at the door", About::Charges),
    ("weight", About::Mass),
];

impl About {
    /// Its word.
    pub(crate) fn name(self) -> &'static str {
        words::word_of(&ABOUTS, self)
    }
}

/// A figure that is relative (`-5 %`) or stands for itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Figure {
    /// The number.
    pub(crate) value: Dec,
    /// Whether it is out of a hundred of what the book says.
    pub(crate) relative: bool,
}

impl Figure {
    /// Reads `-5 %` or `24.00`.
    pub(crate) fn parse(text: &str, style: Style) -> Result<Figure, String> {
        let share = text.trim().strip_suffix('%');
        let relative = share.is_some();
        let value = number::typed(share.map_or(text, str::trim_end), style)?;
        if relative && value < Dec::HUNDRED.negated() {
            return Err("expected at least -100 %".to_owned());
        }
        Ok(Figure { value, relative })
    }
}

/// One row.
#[derive(Debug, Clone)]
pub(crate) struct Unknown {
    /// What it is about.
    pub(crate) about: About,
    /// Which one; empty for all of them.
    pub(crate) name: String,
    /// The least, the likely and the most.
    pub(crate) range: Option<[Figure; 3]>,
    /// How often it happens, out of a hundred.
    pub(crate) chance: Option<Dec>,
    /// Whether it lies as a beta-PERT estimate; else as a triangle.
    pub(crate) pert: bool,
    /// Where it stands.
    pub(crate) at: Spot,
}

/// The name of an unknown once sellers are called otherwise.
pub(super) fn renamed(
    row: &Unknown,
    hidden: &BTreeMap<String, String>,
    parcel: &impl Fn(&str) -> String,
) -> String {
    match (row.about, row.name.split_once('\u{1f}')) {
        (About::Price, Some((part, seller))) => format!("{part}\u{1f}{}", parcel(seller)),
        (About::Price, None) => hidden
            .get(&row.name)
            .cloned()
            .unwrap_or_else(|| row.name.clone()),
        (About::Freight | About::Handling | About::Charges | About::Remedy, _) => parcel(&row.name),
        (About::Exchange | About::Mass | About::Event | About::Disputed, _) => row.name.clone(),
    }
}

pub(super) const COLUMNS: Columns = Columns {
    needed: &["what"],
    optional: &["low", "likely", "high", "chance", "shape"],
    shared: &[],
};

/// Reads `unknowns.csv`.
pub(super) fn read(file: &BookFile, book: &Book, problems: &mut Problems) -> Vec<Unknown> {
    let mut found: Vec<Unknown> = Vec::new();
    for at in Spot::rows(&sheet(file, &COLUMNS, problems)) {
        let Some(row) = one(&at, book, problems) else {
            continue;
        };
        if found
            .iter()
            .any(|other| other.about == row.about && other.name == row.name)
        {
            problems.push(at.cell("what").error("this unknown stands twice"));
        } else {
            found.push(row);
        }
    }
    two_chances(&found, problems);
    found
}

/// A chance for all that is disputed beside one for the anti-dumping of a seller, which is disputed most of the time.
fn two_chances(rows: &[Unknown], problems: &mut Problems) {
    let has = |row: &&Unknown, about: About| row.about == about && row.chance.is_some();
    let Some(all) = rows.iter().find(|row| has(row, About::Disputed)) else {
        return;
    };
    for row in rows.iter().filter(|row| has(row, About::Remedy)) {
        let what = format!(
            "is this a second chance for one thing? `disputed` has one at {}",
            all.at.place()
        );
        let help = "where this anti-dumping duty is in dispute, the range goes by `disputed`: leave one of the two out";
        problems.push(row.at.cell("chance").error(what).as_warning().help(help));
    }
}

fn one(at: &Spot, book: &Book, problems: &mut Problems) -> Option<Unknown> {
    let what = at.cell("what");
    let (about, name) = what.text().split_once(':').unwrap_or((what.text(), ""));
    let about = what.needed(problems, |_| about_of(about.trim()))?;
    let name = named(at, about, name.trim(), book, problems)?;
    let range = range(at, problems);
    let chance = at
        .cell("chance")
        .optional(problems, |text| percent(text, at.cell("chance").style()));
    let pert = at
        .cell("shape")
        .optional(problems, |t| {
            one_of(&[("triangular", false), ("pert", true)], t)
        })
        .unwrap_or(false);
    let row = Unknown {
        about,
        name,
        range,
        chance,
        pert,
        at: at.clone(),
    };
    row.check(problems).then_some(row)
}

fn about_of(text: &str) -> Result<About, String> {
    let typed = text.to_lowercase().replace('\u{2019}', "'");
    NAMES
        .iter()
        .find(|(name, _)| *name == typed)
        .map_or_else(|| one_of(&ABOUTS, text), |(_, about)| Ok(*about))
}

/// A chance out of a hundred; one of at most 1 without its sign may be meant as a share of one, and is asked back.
fn percent(text: &str, style: Style) -> Result<Dec, String> {
    let expected = || "expected a chance from 0 to 100 %".to_owned();
    let figure = Figure::parse(text, style).map_err(|_| expected())?;
    if !figure.relative && figure.value.is_positive() && figure.value <= Dec::ONE {
        let share = figure.value.times(Dec::HUNDRED).map_err(|_| expected())?;
        return Err(format!(
            "is it {} % or {share} %? write the chance with its `%`",
            figure.value
        ));
    }
    if figure.value.is_negative() || figure.value > Dec::HUNDRED {
        Err(expected())
    } else {
        Ok(figure.value)
    }
}

/// The columns of a range.
const RANGE: [&str; 3] = ["low", "likely", "high"];

fn range(at: &Spot, problems: &mut Problems) -> Option<[Figure; 3]> {
    if RANGE.iter().all(|name| at.cell(name).is_empty()) {
        return None;
    }
    let mut figure = |name: &'static str| {
        at.cell(name)
            .needed(problems, |text| Figure::parse(text, at.cell(name).style()))
    };
    let (low, likely, high) = (figure("low"), figure("likely"), figure("high"));
    let (low, likely, high) = (low?, likely?, high?);
    let plain_zero = |f: &Figure| f.value.is_zero();
    let relative = [&low, &likely, &high]
        .iter()
        .filter(|f| !plain_zero(f))
        .map(|f| f.relative)
        .collect::<Vec<_>>();
    if relative.iter().any(|r| *r) && relative.iter().any(|r| !*r) {
        problems.push(
            at.cell("low")
                .error("expected `%` at all three of low, likely and high, or at none"),
        );
        return None;
    }
    let relative = low.relative || likely.relative || high.relative;
    if low.value > likely.value || likely.value > high.value {
        problems.push(
            at.cell("likely")
                .error("expected a figure from `low` to `high`"),
        );
        return None;
    }
    Some([low, likely, high].map(|f| Figure { relative, ..f }))
}

/// Which one a row is about, when the book has it.
fn named(
    at: &Spot,
    about: About,
    name: &str,
    book: &Book,
    problems: &mut Problems,
) -> Option<String> {
    let what = at.cell("what");
    if name.is_empty() {
        if matches!(about, About::Event | About::Charges | About::Remedy) {
            problems.push(what.error(format!(
                "expected a name after it, as in `{}:NAME`",
                about.name()
            )));
            return None;
        }
        return Some(String::new());
    }
    if about == About::Disputed {
        problems
            .push(what.error("expected `disputed` alone: its chance is for all that is disputed"));
        return None;
    }
    if book.lost_rows && !matches!(about, About::Exchange | About::Event) {
        return Some(name.to_owned());
    }
    let parts = || book.parts.iter().map(|p| p.name.as_str());
    let sellers = || book.sellers.keys().map(String::as_str);
    match about {
        About::Exchange => what
            .needed(problems, |_| currency(name))
            .map(|c: Currency| c.to_string()),
        About::Event | About::Disputed => Some(name.to_owned()),
        About::Mass => known(
            at,
            name,
            parts().collect(),
            "a part of `parts.csv`",
            problems,
        ),
        About::Price => known(
            at,
            name,
            parts().chain(sellers()).collect(),
            "a part or a seller of the book",
            problems,
        ),
        About::Freight | About::Handling | About::Charges | About::Remedy => {
            let ids = book.consignment_ids();
            known(
                at,
                name,
                ids.iter().map(String::as_str).collect(),
                "a seller of the book, or SELLER/PARCEL",
                problems,
            )
        }
    }
}

fn known(
    at: &Spot,
    name: &str,
    names: Vec<&str>,
    expected: &str,
    problems: &mut Problems,
) -> Option<String> {
    if names.contains(&name) {
        return Some(name.to_owned());
    }
    let unknown: Diagnostic = at.cell("what").error(format!("expected {expected}"));
    problems.push(match words::nearest(name, names) {
        Some(near) => unknown.help(format!("did you mean `{near}`?")),
        None => unknown,
    });
    None
}

impl Unknown {
    /// Whether what it says can be used.
    fn check(&self, problems: &mut Problems) -> bool {
        let says = |column: &'static str, text: &str, problems: &mut Problems| {
            problems.push(self.at.cell(column).error(text));
            false
        };
        let chance_only = matches!(self.about, About::Charges | About::Remedy | About::Disputed);
        if self.chance.is_none() && !self.at.cell("chance").is_empty() {
            return false; // what is wrong with it has been said
        }
        if self.range.is_none() && RANGE.iter().any(|name| !self.at.cell(name).is_empty()) {
            return false; // so has what is wrong with these
        }
        match (&self.range, self.chance) {
            (None, None) => says(
                "low",
                "expected low, likely and high, or a chance",
                problems,
            ),
            (Some(_), Some(_)) if self.about != About::Event => {
                says("chance", "expected a range or a chance, not both", problems)
            }
            (Some(_), None) if chance_only => says(
                "chance",
                "expected the chance that it is asked for, and no range",
                problems,
            ),
            (None, Some(_)) if !chance_only => {
                says("low", "expected low, likely and high", problems)
            }
            (Some(_), None) if self.about == About::Event => {
                says("chance", "expected how often it happens", problems)
            }
            (Some([low, ..]), _)
                if matches!(self.about, About::Event | About::Handling)
                    && (low.relative || low.value.is_negative()) =>
            {
                says(
                    "low",
                    "expected amounts of 0 or more in the destination's money",
                    problems,
                )
            }
            (Some([low, ..]), _)
                if !low.relative && !low.value.is_positive() && self.about == About::Exchange =>
            {
                says("low", "expected rates above 0, or `%`", problems)
            }
            (Some([low, ..]), _)
                if low.relative
                    && low.value == Dec::HUNDRED.negated()
                    && self.about == About::Exchange =>
            {
                says("low", "expected more than -100 %", problems)
            }
            (Some([low, ..]), _) if !low.relative && low.value.is_negative() => {
                says("low", "expected 0 or more, or `%`", problems)
            }
            (Some([low, ..]), _) if !low.relative && !low.value.is_zero() && !self.one_alone() => {
                says(
                    "low",
                    "expected `%`: one figure cannot stand for several",
                    problems,
                )
            }
            _ => true,
        }
    }

    /// Whether the row is about one thing, so that a figure can stand for it.
    fn one_alone(&self) -> bool {
        matches!(self.about, About::Event | About::Handling) || !self.name.is_empty()
    }
}
