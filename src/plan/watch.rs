//! Who looks at the clock for the search: it asks now and then whether to go on, and tells how far it is.

use crate::units::{Dec, Grams};

/// Why a search ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stopped {
    /// Nothing better exists.
    Proven,
    /// The time was up.
    TimeLimit,
    /// The user stopped it.
    Interrupted,
}

impl Stopped {
    /// Its word in the outputs.
    pub fn name(self) -> &'static str {
        match self {
            Stopped::Proven => "proven",
            Stopped::TimeLimit => "time limit",
            Stopped::Interrupted => "interrupted",
        }
    }

    /// What ended the search, in a sentence.
    pub(crate) fn end(self) -> &'static str {
        match self {
            Stopped::Proven => "end",
            Stopped::TimeLimit => "time limit",
            Stopped::Interrupted => "interrupt",
        }
    }
}

/// How far a search is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Points of the frontier found so far.
    pub(crate) found: usize,
    /// How many of them are closed.
    pub(crate) closed: usize,
    /// Gap of the single best plan, in minor units, where there is one.
    pub(crate) gap: Option<i64>,
}

/// Asked now and then.
pub trait Watch {
    /// The reason to stop, if there is one.
    fn stop(&self) -> Option<Stopped>;
    /// Told what has been done.
    fn progress(&self, _so_far: Progress) {}
    /// Told a point of the frontier that is final, in the search's own units.
    fn closed(&self, _cost: i64, _mass: i64) {}
    /// Told a plan of a book's frontier that is final.
    fn point(&self, _landed: Dec, _mass: Grams) {}
}

/// Lets a search run to its end.
#[derive(Debug, Default, Clone, Copy)]
pub struct Patient;

impl Watch for Patient {
    fn stop(&self) -> Option<Stopped> {
        None
    }
}
