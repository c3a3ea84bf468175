//! The columns that a table declares, and what is wrong with a name in its header that is none of them.

use super::diagnostic::{Diagnostic, Place};
use super::words::{nearest, quoted};

/// The columns a table declares.
#[derive(Debug, Clone, Copy)]
pub struct Columns {
    /// Columns the file must have.
    pub needed: &'static [&'static str],
    /// Columns it may have.
    pub optional: &'static [&'static str],
    /// Columns it shares with tables of its family.
    pub shared: &'static [&'static str],
}

impl Columns {
    pub(super) fn knows(&self, name: &str) -> bool {
        name == "note" || self.all().any(|known| known == name)
    }

    pub(super) fn all(&self) -> impl Iterator<Item = &'static str> {
        self.needed.iter().chain(self.optional).chain(self.shared).copied()
    }
}

/// The names of a header and where each stands first. A table of a thousand rows asks for its columns ten thousand times, so a name
/// is looked for in a slot that its length and two of its letters lead to.
#[derive(Debug, Default)]
pub(super) struct Names {
    known: Vec<(String, usize)>,
    /// One more than the place in the list above; nought where no name has led there.
    slots: Vec<u16>,
}

impl Names {
    pub(super) fn of(header: &[String]) -> Names {
        let mut names = Names { known: Vec::new(), slots: vec![0; (4 * header.len()).next_power_of_two()] };
        for (place, name) in header.iter().enumerate() {
            let slot = names.slot(name);
            if names.slots[slot] == 0 {
                names.known.push((name.clone(), place));
                names.slots[slot] = u16::try_from(names.known.len()).unwrap_or_default();
            }
        }
        names
    }

    pub(super) fn find(&self, name: &str) -> Option<usize> {
        if self.slots.is_empty() {
            return None;
        }
        let at = usize::from(self.slots[self.slot(name)]);
        if at == 0 { None } else { Some(self.known[at - 1].1) }
    }

    /// The slot that holds a name, or the free one where it would stand: most slots are free.
    fn slot(&self, name: &str) -> usize {
        let bytes = name.as_bytes();
        let (first, last) = if bytes.is_empty() { (0, 0) } else { (bytes[0], bytes[bytes.len() - 1]) };
        let mut slot = bytes.len() + 5 * usize::from(first) + 19 * usize::from(last);
        loop {
            slot &= self.slots.len() - 1;
            let at = usize::from(self.slots[slot]);
            if at == 0 || self.known[at - 1].0 == name {
                return slot;
            }
            slot += 1;
        }
    }
}

/// What is wrong with a column's name: it stands there twice, or is not known.
pub(super) fn header_problem(
    place: Place,
    (name, names): (&str, &[String]),
    (typed, repeated): (&str, bool),
    columns: &Columns,
) -> Diagnostic {
    if repeated {
        return Diagnostic::error(format!("expected each column once: {} stands twice", quoted(typed))).at(place);
    }
    let warning = Diagnostic::warning(format!("column {} is not known here and is not read", quoted(typed))).at(place);
    match nearest(name, columns.all()) {
        Some(near) if names.iter().any(|other| other == near) => {
            warning.help(format!("what it says may stand in `{near}`, which is there already, or in `note`"))
        }
        Some(near) => warning.help(format!("did you mean `{near}`?")),
        None => warning,
    }
}
