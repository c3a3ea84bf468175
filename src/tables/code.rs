//! Rows of `codes.csv` and `assemblies.csv`: what a place's part is to a destination's customs, and when parts that
//! come together are another thing.

use super::stamp::{PROVENANCE, Rule};
use super::when::When;
use crate::text::{Columns, Problems, Row};

/// The digits of the goods at a place.
#[derive(Debug, Clone)]
pub(crate) struct Code {
    /// The place, or places joined by ` + ` for one piece that fills several; a last `*` stands for whatever else is sold as one
    /// with them.
    pub(crate) place: String,
    /// Whether that stands there.
    pub(crate) with_others: bool,
    /// When it applies.
    pub(crate) when: When,
    /// National digits.
    pub(crate) commodity: String,
    /// What a declaration calls it.
    pub(crate) text: String,
}

/// How the places end of a row for whatever else is sold as one with them.
const AND_OTHERS: &str = " + *";

impl Code {
    /// Its places.
    pub(crate) fn places(&self) -> Vec<String> {
        let places = self.place.strip_suffix(AND_OTHERS).unwrap_or(&self.place);
        places.split(" + ").map(str::to_owned).collect()
    }
}

impl Rule for Code {
    const COLUMNS: Columns = Columns {
        needed: &["place", "commodity"],
        optional: &["when", "text"],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<Code> {
        let commodity = row.cell("commodity").needed(problems, digits);
        let when = row
            .cell("when")
            .optional(problems, When::parse)
            .unwrap_or_default();
        let place = row.cell("place").text().to_owned();
        Some(Code {
            with_others: place.ends_with(AND_OTHERS),
            place,
            when,
            commodity: commodity?,
            text: row.cell("text").text().to_owned(),
        })
    }

    fn key(&self) -> String {
        format!("{} {}", self.place, self.when)
    }

    fn titled(&self) -> String {
        format!("commodity codes, {}", self.text)
    }
}

/// Parts that together are another thing.
#[derive(Debug, Clone)]
pub(crate) struct Assembly {
    /// Its id.
    pub(crate) id: String,
    /// Places that must be among the parts.
    pub(crate) needs: Vec<String>,
    /// How many of `of` must be there as well.
    pub(crate) any: usize,
    /// Those; `|` joins places of which one is enough.
    pub(crate) of: Vec<Vec<String>>,
    /// Places whose parts go with it where it is made without them.
    pub(crate) with: Vec<String>,
    /// Digits of goods that are complete things of another heading, and so never parts of it.
    pub(crate) never: Vec<String>,
    /// What they are together.
    pub(crate) commodity: String,
    /// What a declaration calls it.
    pub(crate) text: String,
}

impl Rule for Assembly {
    const COLUMNS: Columns = Columns {
        needed: &["id", "needs", "any", "of", "commodity"],
        optional: &["with", "never", "text"],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<Assembly> {
        let any = row.cell("any").needed(problems, |t| {
            t.parse().map_err(|_| "expected a whole number".to_owned())
        });
        let commodity = row.cell("commodity").needed(problems, digits);
        let list = |text: &str| {
            text.split(" + ")
                .map(|s| s.trim().to_owned())
                .filter(|s| !s.is_empty())
                .collect::<Vec<_>>()
        };
        let never = list(row.cell("never").text());
        let never: Result<Vec<_>, _> = never.iter().map(|one| digits(one)).collect();
        let never = row.cell("never").optional(problems, |_| never);
        let of = list(row.cell("of").text())
            .iter()
            .map(|one| one.split('|').map(|s| s.trim().to_owned()).collect())
            .collect();
        Some(Assembly {
            id: row.cell("id").text().to_owned(),
            needs: list(row.cell("needs").text()),
            any: any?,
            of,
            with: list(row.cell("with").text()),
            never: never.unwrap_or_default(),
            commodity: commodity?,
            text: row.cell("text").text().to_owned(),
        })
    }

    fn key(&self) -> String {
        self.id.clone()
    }

    fn titled(&self) -> String {
        format!("parts entered together, {}", self.text)
    }
}

impl Assembly {
    /// Its places: those it needs, those of which it needs some, and those that go with it.
    pub(crate) fn places(&self) -> impl Iterator<Item = &String> {
        self.needs
            .iter()
            .chain(self.of.iter().flatten())
            .chain(&self.with)
    }

    /// Whether goods with these digits at these places may be parts of it. What is complete on its own is none: a cycle with a motor,
    /// or one row that fills all the places and bears the heading of the whole.
    pub(crate) fn takes(&self, commodity: &str, places: &[String]) -> bool {
        let fills = || self.wholes(|place| u32::from(places.iter().any(|own| own == place))) > 0;
        let complete = self.has_heading_of(commodity) && fills();
        !complete && !self.never.iter().any(|one| commodity.starts_with(one))
    }

    /// Whether goods with these digits have its own heading.
    pub(crate) fn has_heading_of(&self, commodity: &str) -> bool {
        const HEADING: usize = 4;
        commodity.get(..HEADING) == self.commodity.get(..HEADING)
    }

    /// How many of it can be made when each place has this many pieces: no more than there are whole sets.
    pub(crate) fn wholes(&self, pieces: impl Fn(&str) -> u32) -> u32 {
        let needed = self.needs.iter().map(|place| pieces(place));
        let mut some: Vec<u32> = self
            .of
            .iter()
            .map(|one| {
                let each = one.iter().map(|place| pieces(place));
                each.fold(0, u32::saturating_add)
            })
            .collect();
        some.sort_unstable();
        let enough = match self.any {
            0 => None,
            any => Some(some.iter().rev().nth(any - 1).copied().unwrap_or(0)),
        };
        // a row that asks for nothing makes one of whatever is there
        needed.chain(enough).min().unwrap_or(1)
    }
}

/// Four to ten digits.
fn digits(text: &str) -> Result<String, String> {
    let ok = (4..=10).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    if ok {
        Ok(text.to_owned())
    } else {
        Err("expected 4 to 10 digits of a commodity code".to_owned())
    }
}
