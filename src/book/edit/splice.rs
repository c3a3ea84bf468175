//! What differs between a table before and after an edit: one place, what stood there and what stands there now.

use crate::text::written::Written;
use crate::text::{decode, encode_like};

/// A piece of a file that was replaced.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Splice {
    /// The byte of the file at which it stands.
    pub at: usize,
    /// The text that stood there.
    pub before: String,
    /// The text that stands there now.
    pub after: String,
}

impl Splice {
    /// The shortest piece in which another text differs from a table's.
    pub(super) fn between(old: &Written, bytes: &[u8], new: &str) -> Splice {
        let text = &old.text;
        let alike = |(a, b): &(char, char)| a == b;
        let front: usize = text
            .chars()
            .zip(new.chars())
            .take_while(alike)
            .map(|(a, _)| a.len_utf8())
            .sum();
        let (rest, new_rest) = (&text[front..], &new[front..]);
        let back: usize = rest
            .chars()
            .rev()
            .zip(new_rest.chars().rev())
            .take_while(alike)
            .map(|(a, _)| a.len_utf8())
            .sum();
        Splice {
            at: old.byte_of(bytes, front),
            before: rest[..rest.len() - back].to_owned(),
            after: new_rest[..new_rest.len() - back].to_owned(),
        }
    }

    /// The piece in which a file's new bytes differ from its old ones; none where one of them is no text.
    pub fn of(old: &[u8], new: &[u8]) -> Option<Splice> {
        let written = Written::of("", old).ok()?;
        let text = decode("", new).ok()?;
        Some(Splice::between(&written, old, &text))
    }

    /// The file with the piece as it was before; none where something else stands there.
    pub fn back(&self, file: &[u8]) -> Option<Vec<u8>> {
        let after = encode_like(file, &self.after);
        let end = self.at.checked_add(after.len())?;
        if file.get(self.at..end)? != after.as_slice() {
            return None;
        }
        let before = encode_like(file, &self.before);
        Some([&file[..self.at], &before, &file[end..]].concat())
    }
}
