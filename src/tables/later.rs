//! Tables of which most runs need a part or nothing: the built-in ones are read when they are asked for.
//!
//! A table that the user lays over a built-in one is read at once with it, so that every problem in it is said. The built-in tables
//! have none, which tests of the tables hold.

use std::borrow::Cow;
use std::ops::Deref;
use std::sync::OnceLock;

use super::stamp::{Dated, File, Rule};
use super::territory::Territory;
use crate::text::Problems;
use crate::units::Country;

/// The files of a table that is not read yet: built-in ones alone.
fn unread(name: &str, files: &[File]) -> Option<Vec<File>> {
    let wanted = format!("{name}.csv");
    let own: Vec<&File> = files.iter().filter(|file| file.name == wanted).collect();
    let built_in = |file: &&File| !file.users && matches!(file.bytes, Cow::Borrowed(_));
    let all = own.iter().all(built_in);
    all.then(|| own.into_iter().cloned().collect())
}

/// A table that is read whole, but not before it is asked for.
#[derive(Debug)]
pub(crate) struct Later<R> {
    name: &'static str,
    files: Vec<File>,
    rows: OnceLock<Vec<Dated<R>>>,
}

impl<R> Default for Later<R> {
    fn default() -> Later<R> {
        Later {
            name: "",
            files: Vec::new(),
            rows: OnceLock::new(),
        }
    }
}

/// A table of these files; read at once where the user's own rows are in it.
pub(super) fn later<R: Rule>(
    name: &'static str,
    files: &[File],
    problems: &mut Problems,
) -> Later<R> {
    let later = Later {
        name,
        files: unread(name, files).unwrap_or_default(),
        rows: OnceLock::new(),
    };
    if later.files.is_empty() {
        later
            .rows
            .get_or_init(|| super::common(name, files, problems));
    }
    later
}

impl<R: Rule> Deref for Later<R> {
    type Target = [Dated<R>];

    fn deref(&self) -> &[Dated<R>] {
        self.rows.get_or_init(|| read(self.name, &self.files))
    }
}

/// A table of built-in files, in which there are no problems.
fn read<R: Rule>(name: &str, files: &[File]) -> Vec<Dated<R>> {
    super::common(name, files, &mut Problems::new())
}

/// The table of territories, of which a run needs those of one country.
#[derive(Debug, Default)]
pub(crate) struct Territories {
    all: Later<Territory>,
    /// Those of the country that was asked for first.
    first: OnceLock<(Country, Vec<Dated<Territory>>)>,
}

impl Territories {
    pub(super) fn of_files(files: &[File], problems: &mut Problems) -> Territories {
        Territories {
            all: later("territories", files, problems),
            first: OnceLock::new(),
        }
    }

    /// Those of a country; of others there may be some among them.
    pub(crate) fn of(&self, country: Country) -> &[Dated<Territory>] {
        if self.all.rows.get().is_none() {
            let own = |file| of_country(file, country);
            let read = || {
                read(
                    self.all.name,
                    &self.all.files.iter().map(own).collect::<Vec<_>>(),
                )
            };
            let (first, rows) = self.first.get_or_init(|| (country, read()));
            if *first == country {
                return rows;
            }
        }
        &self.all
    }
}

/// A table that begins with the country, with nothing on the lines of other countries: each row keeps its line.
fn of_country(file: &File, country: Country) -> File {
    let own = format!("{country},");
    let mut kept = Vec::with_capacity(file.bytes.len() / 8);
    let mut below_header = false;
    for line in file.bytes.split_inclusive(|byte| *byte == b'\n') {
        if !below_header || line.starts_with(own.as_bytes()) {
            kept.extend_from_slice(line);
        } else {
            kept.push(b'\n');
        }
        below_header |= !line.starts_with(b"#") && !line.trim_ascii().is_empty();
    }
    File {
        bytes: Cow::Owned(kept),
        ..file.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A row keeps its line and its words whether it is read alone or with all others.
    #[test]
    fn territories_of_a_country_are_those_of_the_whole_table() {
        let files = super::super::built_in();
        let territories = || Territories::of_files(&files, &mut Problems::new());
        let all = territories().all;
        assert!(all.len() > 50, "{}", all.len());
        let told = |row: &Dated<Territory>| format!("{row:?}");
        for row in all.iter() {
            let country = row.rule.country;
            let own: Vec<String> = territories().of(country).iter().map(told).collect();
            let whole = all.iter().filter(|other| other.rule.country == country);
            assert_eq!(own, whole.map(told).collect::<Vec<_>>(), "{country}");
        }
        let one = territories();
        let first = one.of(all[0].rule.country).len();
        let last = all.last().map(|row| row.rule.country).unwrap();
        assert!(first < all.len() && one.of(last).len() == all.len());
    }
}
