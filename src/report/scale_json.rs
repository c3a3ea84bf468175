//! The whole bike on the scale, as JSON.

use serde_json::{Value, json};

use crate::units::Grams;
use crate::value::scale::OnScale;

/// The whole bike on the scale, as JSON.
pub(crate) fn scale_json(scale: &OnScale) -> Value {
    json!({
        "read_g": scale.read.to_string(), "basis": scale.basis.name(), "date": scale.date.map(|day| day.to_string()),
        "mass_g": scale.mass.mass.likely.to_string(), "mass_range_g": range((scale.mass.mass.low, scale.mass.mass.high)),
        "sum_g": scale.sum.to_string(), "not_here": scale.not_here, "row": scale.row,
    })
}

/// Two masses as a range.
pub(super) fn range((low, high): (Grams, Grams)) -> Value {
    json!([low.to_string(), high.to_string()])
}
