//! Rows of `places.csv`, `basis.csv`, `fits.csv` and `spreads.csv`: the places on a bike, grams between two ways of
//! weighing it, what must match at each joint, and how far unknowns usually move.

use super::coin::currency;
use super::stamp::{PROVENANCE, Rule};
use super::when::When;
use crate::text::words::one_of;
use crate::text::{Columns, Problems, Row};
use crate::units::{Basis, Currency, Dec, Grams, number};

/// How much a bike needs a place filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Need {
    Required,
    Usual,
    Optional,
}

/// One place on one kind of bike.
#[derive(Debug, Clone)]
pub struct PlaceRow {
    /// Its name.
    pub place: String,
    /// The kind of bike, or `*`.
    pub(crate) kind: String,
    /// Pieces that fill it; none for any number.
    pub(crate) pieces: Option<u32>,
    /// How much it is needed.
    pub(crate) need: Need,
    /// The settings under which it is there at all.
    pub(crate) when: When,
    /// Places it stands instead of.
    pub(crate) instead_of: Vec<String>,
    /// Six digits of what stands there.
    pub(crate) hs6: String,
    /// What a declaration calls it.
    pub(crate) text: String,
    /// Its usual mass, for all its pieces.
    pub(crate) usual: Option<(Grams, Grams)>,
    /// Counted in the showroom, racing and ride bases.
    pub(crate) counted: [bool; 3],
    /// Whether people often forget it.
    pub(crate) often_forgotten: bool,
    /// What it does on the bike: carries, steers, …
    pub(crate) assembly: String,
}

impl PlaceRow {
    /// Whether the basis counts it.
    pub(crate) fn counts_in(&self, basis: Basis) -> bool {
        let [showroom, racing, ride] = self.counted;
        match basis {
            Basis::Showroom => showroom,
            Basis::Racing => racing,
            Basis::Ride => ride,
        }
    }

    /// Whether it takes any number of pieces, and carries money but no mass.
    pub(crate) fn is_workshop(&self) -> bool {
        self.pieces.is_none()
    }
}

/// How many pieces a place takes.
fn pieces(text: &str) -> Result<u32, String> {
    let whole = text.parse().ok().filter(|pieces| *pieces > 0);
    whole.ok_or_else(|| "expected a whole number of pieces".to_owned())
}

fn name(text: &str) -> Result<String, String> {
    if text.is_empty() {
        return Err("expected a name".to_owned());
    }
    Ok(text.to_owned())
}

impl Rule for PlaceRow {
    const COLUMNS: Columns = Columns {
        needed: &["place", "pieces", "need"],
        optional: &[
            "kind",
            "when",
            "instead_of",
            "hs6",
            "text",
            "low_g",
            "high_g",
            "showroom",
            "racing",
            "ride",
            "often_forgotten",
            "assembly",
        ],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<PlaceRow> {
        let needs = [
            ("required", Need::Required),
            ("usual", Need::Usual),
            ("optional", Need::Optional),
        ];
        let need = row.cell("need").needed(problems, |t| one_of(&needs, t));
        let pieces = if row.cell("pieces").text() == "*" {
            None
        } else {
            row.cell("pieces").optional(problems, pieces)
        };
        let grams = |name: &'static str, problems: &mut Problems| {
            row.cell(name).optional(problems, number::plain).map(Grams)
        };
        let usual = grams("low_g", problems).zip(grams("high_g", problems));
        let yes = |name: &'static str| matches!(row.cell(name).text(), "1" | "yes");
        let text = |name: &'static str| row.cell(name).text().to_owned();
        let place = row.cell("place").needed(problems, name);
        Some(PlaceRow {
            place: place?,
            kind: row.cell("kind").some().unwrap_or("*").to_owned(),
            pieces,
            need: need?,
            when: row
                .cell("when")
                .optional(problems, When::parse)
                .unwrap_or_default(),
            instead_of: row
                .cell("instead_of")
                .text()
                .split(" + ")
                .filter(|s| !s.is_empty())
                .map(str::to_owned)
                .collect(),
            hs6: text("hs6"),
            text: text("text"),
            usual,
            counted: [yes("showroom"), yes("racing"), yes("ride")],
            often_forgotten: matches!(row.cell("often_forgotten").text(), "high" | "yes"),
            assembly: text("assembly"),
        })
    }

    fn key(&self) -> String {
        format!("{} {}", self.place, self.kind)
    }
}

/// Three figures: the least, the likely and the most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Range {
    /// The least.
    pub(crate) low: Dec,
    /// The likely one.
    pub(crate) likely: Dec,
    /// The most.
    pub(crate) high: Dec,
}

/// Grams to add when going from one basis to another.
#[derive(Debug, Clone)]
pub(crate) struct BasisRow {
    /// What is added.
    pub(crate) adjustment: String,
    /// The kind of bike, or `*`.
    pub(crate) kind: String,
    /// The basis without it.
    pub(crate) from: String,
    /// The basis with it.
    pub(crate) to: String,
    /// The place whose own part replaces the range, when the build has one.
    pub(crate) place: String,
    /// Grams.
    pub(crate) grams: Range,
    /// In plain words.
    pub(crate) text: String,
}

impl Rule for BasisRow {
    const COLUMNS: Columns = Columns {
        needed: &[
            "adjustment",
            "from_basis",
            "to_basis",
            "low_g",
            "likely_g",
            "high_g",
        ],
        optional: &["kind", "place", "text"],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<BasisRow> {
        let grams = |name: &'static str, problems: &mut Problems| {
            row.cell(name).needed(problems, number::plain)
        };
        let (low, likely, high) = (
            grams("low_g", problems),
            grams("likely_g", problems),
            grams("high_g", problems),
        );
        let text = |name: &'static str| row.cell(name).text().to_owned();
        let range = Range {
            low: low?,
            likely: likely?,
            high: high?,
        };
        if range.low > range.likely || range.likely > range.high {
            problems.push(
                row.cell("likely_g")
                    .error("expected a figure between `low_g` and `high_g`"),
            );
        }
        Some(BasisRow {
            adjustment: text("adjustment"),
            kind: row.cell("kind").some().unwrap_or("*").to_owned(),
            from: text("from_basis"),
            to: text("to_basis"),
            place: text("place"),
            grams: range,
            text: text("text"),
        })
    }

    fn key(&self) -> String {
        format!(
            "{} {} {} {}",
            self.adjustment, self.kind, self.from, self.to
        )
    }
}

/// What must match at a joint.
#[derive(Debug, Clone)]
pub(crate) struct FitRow {
    /// The key parts state in `fits`.
    pub(crate) key: String,
    /// Whether an unknown blocks, or only warns.
    pub(crate) blocks: bool,
    /// The joint in words.
    pub(crate) joint: String,
    /// The places it joins.
    pub(crate) between: Vec<String>,
    /// In plain words.
    pub(crate) text: String,
}

impl Rule for FitRow {
    const COLUMNS: Columns = Columns {
        needed: &["key", "unknown"],
        optional: &["joint", "between", "text"],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<FitRow> {
        let blocks = row
            .cell("unknown")
            .needed(problems, |t| one_of(&[("block", true), ("warn", false)], t));
        let text = |name: &'static str| row.cell(name).text().to_owned();
        let between = text("between")
            .split(" + ")
            .filter(|s| !s.is_empty())
            .map(str::to_owned)
            .collect();
        Some(FitRow {
            key: text("key"),
            blocks: blocks?,
            joint: text("joint"),
            between,
            text: text("text"),
        })
    }

    fn key(&self) -> String {
        self.key.clone()
    }
}

/// How far an unknown usually moves, or how often it happens.
#[derive(Debug, Clone)]
pub(crate) struct SpreadRow {
    /// What.
    pub(crate) what: String,
    /// The least, the likely and the most, out of a hundred or in money.
    pub(crate) range: Option<[String; 3]>,
    /// The money of the range, where it is told.
    pub(crate) currency: Option<Currency>,
    /// How often, out of a hundred.
    pub(crate) chance: Option<Dec>,
    /// In plain words.
    pub(crate) text: String,
}

impl Rule for SpreadRow {
    const COLUMNS: Columns = Columns {
        needed: &["what", "low", "likely", "high"],
        optional: &["currency", "chance", "text"],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<SpreadRow> {
        let text = |name: &'static str| row.cell(name).text().to_owned();
        let (low, likely, high) = (text("low"), text("likely"), text("high"));
        let range = (!low.is_empty()).then_some([low, likely, high]);
        let chance = row
            .cell("chance")
            .optional(problems, |t| number::plain(t.trim_end_matches(['%', ' '])));
        let currency = row.cell("currency").optional(problems, currency);
        Some(SpreadRow {
            what: text("what"),
            range,
            currency,
            chance,
            text: text("text"),
        })
    }

    fn key(&self) -> String {
        self.what.clone()
    }
}
