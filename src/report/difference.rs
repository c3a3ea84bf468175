//! Differences in words: signed figures, and the whole bike on the scale.

use super::show::Show;
use crate::units::{Basis, Dec, Grams, Overflow};
use crate::value::Difference;
use crate::value::scale::OnScale;

/// What the scale said of the whole bike, and what its parts add up to beside it.
pub(super) fn on_scale(scale: &OnScale) -> String {
    let day = scale.date.map(|day| format!(", {day}")).unwrap_or_default();
    let read = format!(
        "The bike was weighed: {} g ({}{day})",
        scale.read.grouped(),
        scale.basis.name()
    );
    let mass = scale.mass.mass.likely;
    let here = if mass == scale.read {
        String::new()
    } else {
        format!(", which is {} g on this basis", mass.grouped())
    };
    format!(
        "{read}{here}; its parts add up to {} g",
        scale.sum.grouped()
    )
}

/// The same beside a limit of weight, which is a limit of the whole bike and not of the sum of its parts: how far the bike is from it
/// stands next to what the bike weighs.
pub(super) fn on_scale_beside(scale: &OnScale, asked: Basis, beside: &str) -> String {
    let day = scale
        .date
        .map(|day| format!("; weighed {day}"))
        .unwrap_or_default();
    format!(
        "The bike weighs {} g ({}{day}), {beside}; its parts add up to {} g.",
        whole(scale.likely()),
        asked.name(),
        whole(scale.sum)
    )
}

/// Grams without a decimal, for what is not so exact.
pub(super) fn whole(mass: Grams) -> String {
    mass.0.grouped(0)
}

/// Differences carry their sign.
pub(super) fn signed(figure: &str) -> String {
    let nothing = figure
        .chars()
        .all(|c| matches!(c, '0' | '.' | ',' | ' ' | '%'));
    if figure.starts_with('-') || nothing {
        figure.to_owned()
    } else {
        format!("+{figure}")
    }
}

/// A difference in words, its cost as it is shown.
pub(super) fn difference_words(
    difference: &Difference,
    shown: Dec,
    show: &Show,
) -> Result<String, Overflow> {
    let money = |amount: Dec| {
        if amount == difference.cost.abs() {
            show.as_it_is().money(shown.abs())
        } else {
            show.money(amount)
        }
    };
    difference.words(money)
}
