//! The columns that a table declares, and what is wrong with a name in its header that is none of them.

use super::diagnostic::{Diagnostic, Location};
use super::words::{nearest, quoted};

/// The columns a table declares.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Columns {
    /// Columns the file must have.
    pub(crate) needed: &'static [&'static str],
    /// Columns it may have.
    pub(crate) optional: &'static [&'static str],
    /// Columns it shares with tables of its family.
    pub(crate) shared: &'static [&'static str],
}

impl Columns {
    pub(super) fn knows(&self, name: &str) -> bool {
        name == "note" || self.all().any(|known| known == name)
    }

    pub(crate) fn all(&self) -> impl Iterator<Item = &'static str> {
        self.needed
            .iter()
            .chain(self.optional)
            .chain(self.shared)
            .copied()
    }
}

/// A name of a header as it is looked for: small letters, with `_` for blanks.
pub(crate) fn plain_name(name: &str) -> String {
    name.trim().to_lowercase().replace(' ', "_")
}

/// The names of a header by their lengths, and where each stands first: a cell is looked for thousands of times, and most names
/// differ in length already.
#[derive(Debug, Default)]
pub(super) struct Names(Vec<Vec<(String, usize)>>);

impl Names {
    pub(super) fn of(header: &[String]) -> Names {
        let longest = header.iter().map(String::len).max();
        let mut names = Names(vec![Vec::new(); longest.map_or(0, |longest| longest + 1)]);
        for (place, name) in header.iter().enumerate() {
            if names.find(name).is_none() {
                names.0[name.len()].push((name.clone(), place));
            }
        }
        names
    }

    pub(super) fn find(&self, name: &str) -> Option<usize> {
        let mut alike = self.0.get(name.len())?.iter();
        let found = alike.find(|(known, _)| known == name);
        found.map(|(_, place)| *place)
    }
}

/// What is wrong with a column's name: it stands there twice, or is not known.
pub(super) fn header_problem(
    place: Location,
    (name, names): (&str, &[String]),
    (typed, repeated): (&str, bool),
    columns: &Columns,
) -> Diagnostic {
    if repeated {
        return Diagnostic::error(format!(
            "expected each column once: {} stands twice",
            quoted(typed)
        ))
        .at(place);
    }
    let warning = Diagnostic::warning(format!(
        "column {} is not known here and is not read",
        quoted(typed)
    ))
    .at(place);
    match nearest(name, columns.all()) {
        Some(near) if names.iter().any(|other| other == near) => warning.help(format!(
            "what it says may stand in `{near}`, which is there already, or in `note`"
        )),
        Some(near) => warning.help(format!("did you mean `{near}`?")),
        None => warning,
    }
}
