//! Cautions as lines and as JSON.

use serde_json::Value;

use crate::landed::Caution;
use crate::text::words::few;

/// Cautions as short lines, each with what it is about.
pub(crate) fn caution_lines(cautions: &[Caution]) -> Vec<String> {
    let line = |caution: &Caution| {
        let about = if caution.about.is_empty() {
            String::new()
        } else {
            format!(" ({})", few(&caution.about))
        };
        format!("{}{about} [{}]", caution.text, caution.id)
    };
    cautions.iter().map(line).collect()
}

/// Cautions as JSON.
pub(super) fn cautions(cautions: &[Caution]) -> Vec<Value> {
    cautions
        .iter()
        .map(|c| serde_json::json!({"id": c.id, "text": c.text, "about": c.about}))
        .collect()
}
