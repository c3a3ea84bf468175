//! What every picture that leaves the page carries: the day, the destination, the basis, and that it is an estimate.

/// The foot of all pictures of one result.
#[derive(Debug, Clone, Default)]
pub(crate) struct Foot {
    /// `23 September 2026, to the United Kingdom, in GBP`.
    pub(crate) facts: String,
    /// `masses as raced`.
    pub(crate) basis: String,
}

impl Foot {
    /// Its lines.
    pub(super) fn lines(&self) -> [String; 2] {
        [
            format!("{}; {}", self.facts, self.basis),
            "An estimate, not a ruling: customs and the carrier decide.".to_owned(),
        ]
    }
}
