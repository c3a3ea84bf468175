//! Which row and which column of a table an edit means, and the message where there is none.

use super::{Desk, Find, Value};
use crate::text::written::{Line, column_meant};
use crate::text::{Diagnostic, words};

impl Desk<'_> {
    /// The number of the row that is meant.
    pub(super) fn row(&self, find: &Find) -> Result<usize, Diagnostic> {
        let rows = &self.old.rows;
        match find {
            Find::Line(number) => rows
                .iter()
                .position(|row| row.number == *number)
                .ok_or_else(|| {
                    let what = "no row of the table begins on this line";
                    Diagnostic::error(what).at(self.at_line(*number))
                }),
            Find::Key(key) => {
                let mut places = Vec::new();
                for (name, wanted) in key {
                    let known = self.old_column(name)?;
                    places.push((known, wanted.trim()));
                }
                let meant = |row: &Line| places.iter().all(|(at, wanted)| row.said(*at) == *wanted);
                let found: Vec<usize> = (0..rows.len()).filter(|at| meant(&rows[*at])).collect();
                match found[..] {
                    [one] => Ok(one),
                    [] => Err(self.no_row(key)),
                    [first, ..] => Err(self.several_rows(key, &found, first)),
                }
            }
        }
    }

    fn no_row(&self, key: &[(String, String)]) -> Diagnostic {
        let what = format!("no row says {}", told(key));
        let missing = Diagnostic::error(what).at(self.at_line(1));
        let [(name, wanted)] = key else {
            return missing;
        };
        let said: Vec<&str> = self
            .old_column(name)
            .map(|at| self.old.rows.iter().map(|row| row.said(at)).collect())
            .unwrap_or_default();
        match words::nearest(wanted, said) {
            Some(near) => missing.help(format!("did you mean {}?", words::quoted(near))),
            None => missing,
        }
    }

    fn several_rows(&self, key: &[(String, String)], found: &[usize], first: usize) -> Diagnostic {
        let lines: Vec<String> = found
            .iter()
            .map(|at| self.old.rows[*at].number.to_string())
            .collect();
        let what = format!(
            "{} rows say {}: lines {}",
            found.len(),
            told(key),
            words::few(&lines)
        );
        Diagnostic::error(what)
            .at(self.old.place(&self.old.rows[first], None))
            .help("say which of them by its line")
    }

    /// A row, unless it is one that is not read.
    pub(super) fn sound(&self, row: usize) -> Result<&Line, Diagnostic> {
        let line = &self.old.rows[row];
        if let Some(fault) = self.old.fault(line) {
            return Err(fault);
        }
        let width = self.old.names.len();
        if (width..line.values.len()).any(|at| !line.said(at).is_empty()) {
            let what = "the row has more fields than the header, and is not read";
            return Err(Diagnostic::error(what)
                .at(self.old.place(line, None))
                .help("put a text that holds the separator in quotation marks"));
        }
        Ok(line)
    }

    /// The place of a column among those that the header names.
    fn old_column(&self, name: &str) -> Result<usize, Diagnostic> {
        let known = self.old.column(&crate::text::written::plain_name(name));
        known.map_or_else(
            || {
                let known = self.known(name)?;
                self.old.column(known).ok_or_else(|| {
                    Diagnostic::error(format!("the table has no column `{known}`"))
                        .at(self.at_line(1))
                })
            },
            Ok,
        )
    }

    /// The place of a column, added where it is missing; none where it is missing and nothing is to stand there.
    pub(super) fn column(
        &mut self,
        name: &str,
        value: &Value,
    ) -> Result<Option<usize>, Diagnostic> {
        if let Some(at) = self.old.column(&crate::text::written::plain_name(name)) {
            return Ok(Some(at));
        }
        let known = self.known(name)?;
        if let Some(at) = self.old.column(known) {
            return Ok(Some(at));
        }
        let (Value::Text(text) | Value::Number(text)) = value;
        if text.trim().is_empty() {
            return Ok(None);
        }
        let at = self.added.iter().position(|added| *added == known);
        let at = at.unwrap_or_else(|| {
            self.added.push(known);
            self.added.len() - 1
        });
        Ok(Some(self.old.names.len() + at))
    }

    /// The column of the table that a name means.
    pub(super) fn known(&self, name: &str) -> Result<&'static str, Diagnostic> {
        column_meant(name, &self.columns).ok_or_else(|| {
            let what = format!(
                "the table `{}` has no column {}",
                self.file.table,
                words::quoted(name)
            );
            let unknown = Diagnostic::error(what).at(self.at_line(1));
            match words::nearest(name, self.columns.all()) {
                Some(near) => unknown.help(format!("did you mean `{near}`?")),
                None => unknown.note(format!(
                    "its columns are {}",
                    self.columns.all().collect::<Vec<_>>().join(", ")
                )),
            }
        })
    }
}

/// A key as it is told in a message.
fn told(key: &[(String, String)]) -> String {
    let pairs: Vec<String> = key
        .iter()
        .map(|(name, wanted)| format!("{} in `{name}`", words::quoted(wanted)))
        .collect();
    words::list(&pairs, "and")
}
