//! Who looks at the clock for the search: it asks now and then whether to go on, and tells how far it is.

use crate::units::{Currency, Dec, Grams};

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

/// How far a search is, in its own units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Plans found so far, of which no other beats one in both.
    pub(crate) found: usize,
    /// How many of them are closed: nothing lighter than one is cheaper than its lighter neighbour.
    pub(crate) closed: usize,
    /// Cost and mass of the best plan so far; of a frontier the cheapest.
    pub(crate) best: Option<(i64, i64)>,
    /// How much better another plan can be; none where that is not known yet.
    pub(crate) better: Option<Better<i64, i64>>,
}

/// How much better than the best so far another plan can be at most.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Better<Cost = Dec, Mass = Grams> {
    /// By this much money, where the cheapest is sought.
    Cheaper(Cost),
    /// By this many grams, where the lightest is sought.
    Lighter(Mass),
}

/// How far the search of a book's plan is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SoFar {
    /// Plans found so far, of which no other beats one in both.
    pub found: usize,
    /// How many of them are final.
    pub closed: usize,
    /// What the best plan so far lands at and weighs; of a frontier the cheapest.
    pub best: Option<(Dec, Grams)>,
    /// The money it is in.
    pub currency: Currency,
    /// How much better another plan can be; none where that is not known yet, and of a frontier.
    pub better: Option<Better>,
    /// Whether a frontier is sought.
    pub frontier: bool,
}

/// Asked now and then.
pub trait Watch {
    /// The reason to stop, if there is one.
    fn stop(&self) -> Option<Stopped>;
    /// Told by the search how far it is.
    fn progress(&self, _so_far: Progress) {}
    /// Told how far the search of a book's plan is.
    fn so_far(&self, _so_far: SoFar) {}
}

/// Lets a search run to its end.
#[derive(Debug, Default, Clone, Copy)]
pub struct Patient;

impl Watch for Patient {
    fn stop(&self) -> Option<Stopped> {
        None
    }
}
