//! How a row of law is known, in plain words.

use crate::tables::{Certainty, Evidence, Provenance};

/// `disputed, read 2026-11-25`.
pub(super) fn marks(stamp: &Provenance) -> String {
    let day = stamp
        .checked
        .map(|day| format!(" {day}"))
        .unwrap_or_default();
    format!("{}{day}", known(stamp.certainty, stamp.evidence))
}

/// Whether a row counts and how it is known. Nothing says that a row is certain, since rows from memory would then be called
/// certain too.
pub(super) fn known(certainty: Certainty, evidence: Evidence) -> String {
    let certainty = match certainty {
        Certainty::Certain => "",
        Certainty::Disputed => "disputed, ",
        Certainty::Announced => "announced, ",
        Certainty::Annulled => "struck down, ",
    };
    let evidence = match evidence {
        Evidence::Read => "read",
        Evidence::Inferred => "inferred from what was read",
        Evidence::Recalled => "from memory",
    };
    format!("{certainty}{evidence}")
}

/// The same in the whole list, which also says where the authority's own text was not read.
fn marks_at_length(stamp: &Provenance) -> String {
    let unread = if stamp.evidence == Evidence::Read {
        ""
    } else {
        ", the authority's own text was not read"
    };
    format!("{}{unread}", marks(stamp))
}

/// The same, with both readings where it is disputed, and who decides.
pub(super) fn with_reading(stamp: &Provenance) -> String {
    let said = stamp.dispute_said().map(|said| format!(". {said}"));
    format!("{}{}", marks_at_length(stamp), said.unwrap_or_default())
}
