//! One option as it is ranked, or why it is not.

use super::cure::Cure;
use super::marginal::InDispute;
use crate::landed::Bill;
use crate::units::{Dec, Grams};
use crate::value::{Difference, Standing};

/// One option, ranked.
#[derive(Debug, Clone)]
pub struct Ranked {
    /// The option.
    pub part: String,
    /// Who sells it; none when it is bought at home or already here.
    pub(crate) seller: Option<String>,
    /// Whether it is another offer: a row with the role `rival`.
    pub(crate) offer: bool,
    /// The row it stands instead of, where it leaves others at its place as they are.
    pub(crate) instead: Option<String>,
    /// Options that must come with it, as it empties their places.
    pub with: Vec<String>,
    /// Parts that must be bought with it.
    pub needs: Vec<String>,
    /// Parts in their boxes.
    pub bundled: Vec<String>,
    /// Pieces for small places that it leaves bare and no option fills: their usual figures are in all of its own.
    pub usual: Vec<Cure>,
    /// What it replaces.
    pub replaces: Vec<String>,
    /// What goes with that.
    pub(crate) gone: Vec<String>,
    /// What it costs bought on its own, net, in the destination's money.
    pub alone: Dec,
    /// What it adds to what is being ordered, net.
    pub together: Dec,
    /// What the replaced pieces fetch, taken off in both.
    pub resale: Dec,
    /// Replaced pieces for which nobody has said what they fetch.
    pub resale_unknown: Vec<String>,
    /// What of the cost together rests on rows in dispute.
    pub disputed: Option<InDispute>,
    /// Cost together, and grams saved.
    pub difference: Difference,
    /// Worth of the grams less the cost, when a worth is told.
    pub net_benefit: Option<Dec>,
    /// The grams that a scale will probably find saved, and their standard deviation, by how the masses are known; none where
    /// the same part stays, or the tables have no range.
    pub expected: Option<(Grams, Grams)>,
    /// The chance out of a hundred that grams are saved at all.
    pub chance: Option<Dec>,
    /// Whether it costs money for a saving that is smaller than its doubt: such options stand last.
    pub doubtful: bool,
    /// Whether it stands last: it is doubtful, or one that is beats it on both counts.
    pub last: bool,
    /// How it stands among the options for its places and keeping what is there; extended dominance is advice.
    pub standing: Standing,
    /// An option for the same place that costs no more and saves no less.
    pub beaten_by: Option<String>,
    /// The bills that it changes, with it in them.
    pub(crate) bills: Vec<Bill>,
    /// What is to be noted.
    pub notes: Vec<String>,
    /// Where it stands in the book.
    pub(crate) row: String,
    /// The rows of the build with it, by their numbers.
    pub(crate) after: Vec<usize>,
    /// The labels of the parcels that rows of it travel in, where those are not their own, by the rows' numbers.
    pub(crate) labels: Vec<(usize, String)>,
}

/// An option that is not ranked, and why.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Unranked {
    /// The option.
    pub part: String,
    /// Who sells it.
    pub(crate) seller: Option<String>,
    /// Why.
    pub reason: String,
}
