//! What is proposed: an option, what comes in its box, what it needs, and what must fill the places it empties.

use super::cure::Cure;
use crate::book::{Book, Part, Role, Standing};

/// Parts that come together.
#[derive(Debug, Clone)]
pub(super) struct Proposal<'a> {
    /// The option, or another offer of a part.
    pub(crate) head: &'a Part,
    /// The row that it stands instead of, where it leaves others at its place as they are.
    pub(crate) instead: Option<&'a Part>,
    /// Options that fill what the head empties.
    pub(crate) with: Vec<&'a Part>,
    /// Parts that must be bought with them, and are not in the build.
    pub(crate) needs: Vec<&'a Part>,
    /// Parts in the boxes of all these.
    pub(crate) bundled: Vec<&'a Part>,
    /// Pieces with usual figures for small places that it empties and no option fills.
    pub(crate) cures: Vec<Cure>,
}

impl<'a> Proposal<'a> {
    /// A head and what comes with it.
    pub(super) fn of(head: &'a Part, book: &'a Book) -> Proposal<'a> {
        Proposal {
            head,
            instead: None,
            with: Vec::new(),
            needs: Vec::new(),
            bundled: Vec::new(),
            cures: Vec::new(),
        }
        .completed(book)
    }

    /// The same with one more option beside it.
    pub(super) fn and(&self, filler: &'a Part, book: &'a Book) -> Proposal<'a> {
        let mut with = self.with.clone();
        with.push(filler);
        with.sort_by(|a, b| a.name.cmp(&b.name));
        Proposal {
            with,
            ..self.clone()
        }
        .completed(book)
    }

    /// The same with a usual piece beside it.
    pub(super) fn cured(&self, cure: Cure) -> Proposal<'a> {
        let mut own = self.clone();
        own.cures.push(cure);
        own
    }

    /// Whether a usual piece fills a place.
    pub(super) fn cures(&self, place: &str) -> bool {
        self.cures.iter().any(|cure| cure.place == place)
    }

    /// Everything that comes.
    pub(super) fn parts(&self) -> Vec<&'a Part> {
        let beside = self.with.iter().chain(&self.needs).chain(&self.bundled);
        std::iter::once(self.head).chain(beside.copied()).collect()
    }

    /// Whether a part of this name comes.
    pub(super) fn holds(&self, name: &str) -> bool {
        self.parts().iter().any(|part| part.name == name)
    }

    /// Adds what is needed and what lies in boxes, until nothing more comes.
    fn completed(mut self, book: &'a Book) -> Proposal<'a> {
        loop {
            let parts = self.parts();
            let in_build = |name: &str| book.build().any(|row| row.name == name);
            let needed = parts
                .iter()
                .flat_map(|part| &part.needs)
                .find(|name| !in_build(name) && !self.holds(name));
            if let Some(row) = needed
                .and_then(|name| book.main_row(name))
                .filter(|row| !row.is_gone())
            {
                self.needs.push(row);
                continue;
            }
            let boxed = |row: &&Part| {
                row.role == Role::Option
                    && row.standing == Standing::Bundled
                    && !self.holds(&row.name)
            };
            let inside = book.parts.iter().filter(boxed).find(|row| {
                row.comes_with
                    .as_deref()
                    .is_some_and(|name| self.holds(name))
            });
            match inside {
                Some(row) => self.bundled.push(row),
                None => break,
            }
        }
        self.needs.sort_by(|a, b| a.name.cmp(&b.name));
        self.bundled.sort_by(|a, b| a.name.cmp(&b.name));
        self
    }

    /// The names of all parts with their sellers, and the one row that is replaced: two proposals with one key are one.
    pub(super) fn key(&self) -> Vec<(String, String)> {
        let mut key: Vec<(String, String)> = self
            .parts()
            .iter()
            .map(|p| (p.name.clone(), p.seller.clone().unwrap_or_default()))
            .collect();
        key.sort();
        key.extend(self.instead.map(|row| (String::new(), row.name.clone())));
        key
    }
}
