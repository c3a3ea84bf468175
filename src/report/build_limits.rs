//! The build beside its budget and its limit of weight, what it would cost to buy again, and what it weighs.

use super::show::Show;
use super::shown::ShownLanded;
use super::view::View;
use crate::landed::{Question, Totals};
use crate::text::words::few;
use crate::units::{Dec, HomeMoney, Overflow, ShownMoney};
use crate::value::scale::OnScale;

/// Whether the build keeps to its budget and its limit of weight, and what it weighs.
pub(super) fn limits_of_the_build(
    landed: &ShownLanded<'_>,
    ask: &Question,
    (show, scale): (&Show, Option<&OnScale>),
    view: &mut View,
) -> Result<(), Overflow> {
    let (t, home) = (&landed.totals, landed.totals.home);
    let mut said = Vec::new();
    if let Some(budget) = ask.budget {
        let budget = show.shown(HomeMoney::of(budget))?;
        let left = left_of(budget.minus(t.landed()?)?.amount(), |d| {
            show.amount(ShownMoney::of(d))
        });
        said.push(format!("Budget {}: {left}.", show.amount(budget)));
    }
    let mass = scale.map_or(home.mass.0, |scale| scale.likely().0);
    let limit = match ask.max_mass {
        Some(limit) => {
            let left = scale.map_or_else(
                || limit.minus(home.mass).map(|left| left.0),
                |scale| scale.left_of(limit),
            )?;
            let left = left_of(left, |d| format!("{} g", d.grouped(0)));
            format!(", limit {} g: {left}", limit.0.grouped(0))
        }
        None => String::new(),
    };
    if !mass.is_zero() || ask.max_mass.is_some() {
        said.push(format!("Weight {} g{limit}.", mass.grouped(0)));
    }
    if !said.is_empty() {
        view.say(said.join(" "));
    }
    Ok(())
}

/// `12.00 left`, or `12.00 too much`.
fn left_of(left: Dec, shown: impl Fn(Dec) -> String) -> String {
    let word = if left.is_negative() {
        "too much"
    } else {
        "left"
    };
    format!("{} {word}", shown(left.abs()))
}

pub(super) fn totals(
    landed: &ShownLanded<'_>,
    ask: &Question,
    (show, scale): (&Show, Option<&OnScale>),
    view: &mut View,
) -> Result<(), Overflow> {
    let (t, home) = (&landed.totals, landed.totals.home);
    let named = |names: &[String]| {
        if names.is_empty() {
            String::new()
        } else {
            format!(" (unknown for {})", few(names))
        }
    };
    view.say(match t.known_replacement() {
        None => format!(
            "Cost to buy again is unknown: no price is given for {}.",
            few(&home.replacement_unknown)
        ),
        Some(value) => format!(
            "Cost to buy again: {}{}.",
            show.money(value),
            named(&home.replacement_unknown)
        ),
    });
    mass_line(home, ask, scale, view)?;
    Ok(())
}

fn mass_line(
    t: &Totals,
    ask: &Question,
    scale: Option<&OnScale>,
    view: &mut View,
) -> Result<(), Overflow> {
    if t.mass.0.is_zero() && scale.is_none() {
        return Ok(());
    }
    let share = if t.mass.0.is_zero() {
        Dec::ZERO
    } else {
        t.weighed.0.times(Dec::HUNDRED)?.over(t.mass.0)?
    };
    let unknown = if t.mass_unknown.is_empty() {
        String::new()
    } else {
        format!("; the weight of {} is unknown", few(&t.mass_unknown))
    };
    // Whatever was on the bike lay on the scale: that goes before the sum of its parts.
    match scale {
        Some(scale) => view.say(format!("{}{unknown}.", super::difference::on_scale(scale))),
        None => {
            let (mass, basis) = (t.mass.0.grouped(0), super::compare_view::basis(ask.basis));
            view.say(format!(
                "Weight {mass} g ({basis}), {} % of it weighed{unknown}.",
                share.fixed(0)
            ));
        }
    }
    beside_mass(t, view);
    Ok(())
}

/// What of the bike the basis does not count, and what it adds.
fn beside_mass(t: &Totals, view: &mut View) {
    if let Some([_, likely, _]) = t.rider {
        view.say(format!(
            "This includes {} g for what the rider carries, by the tables.",
            likely.grouped()
        ));
    }
    if !t.aside.parts.is_empty() {
        view.say(format!(
            "On the bike but not counted on this basis: {}, {} g.",
            few(&t.aside.parts),
            t.aside.mass.grouped()
        ));
    }
}

/// `12.00 under` a limit of which so much is left.
pub(super) fn distance(left: Dec, shown: impl Fn(Dec) -> String) -> String {
    format!(
        "{} {}",
        shown(left.abs()),
        if left.is_negative() { "over" } else { "under" }
    )
}
