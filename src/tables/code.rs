//! Rows of `codes.csv` and `assemblies.csv`: what a place's part is to a destination's customs, and when parts that
//! come together are another thing.

use super::stamp::{PROVENANCE, Rule};
use super::when::When;
use crate::text::{Columns, Problems, Row};

/// The digits of what is at a place.
#[derive(Debug, Clone)]
pub(crate) struct Code {
    /// The place, or places joined by ` + ` for one piece that fills several.
    pub(crate) place: String,
    /// When it applies.
    pub(crate) when: When,
    /// National digits.
    pub(crate) commodity: String,
    /// What a declaration calls it.
    pub(crate) text: String,
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
            place,
            when,
            commodity: commodity?,
            text: row.cell("text").text().to_owned(),
        })
    }

    fn key(&self) -> String {
        format!("{} {}", self.place, self.when)
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
    /// What they are together.
    pub(crate) commodity: String,
    /// What a declaration calls it.
    pub(crate) text: String,
}

impl Rule for Assembly {
    const COLUMNS: Columns = Columns {
        needed: &["id", "needs", "any", "of", "commodity"],
        optional: &["text"],
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
        let of = list(row.cell("of").text())
            .iter()
            .map(|one| one.split('|').map(|s| s.trim().to_owned()).collect())
            .collect();
        Some(Assembly {
            id: row.cell("id").text().to_owned(),
            needs: list(row.cell("needs").text()),
            any: any?,
            of,
            commodity: commodity?,
            text: row.cell("text").text().to_owned(),
        })
    }

    fn key(&self) -> String {
        self.id.clone()
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
