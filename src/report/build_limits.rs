//! The build beside its budget and its limit of weight, what it would cost to buy again, and what it weighs.

use super::show::Show;
use super::shown::ShownLanded;
use super::view::View;
use crate::landed::{Question, Totals};
use crate::text::words::{count, few};
use crate::units::{Dec, Grams, HomeMoney, Overflow, ShownMoney};
use crate::value::scale::OnScale;

/// Whether the build keeps to its budget and its limit of weight, and what it weighs.
pub(super) fn limits_of_the_build(
    landed: &ShownLanded<'_>,
    ask: &Question,
    show: &Show,
    (scale, empty): (Option<&OnScale>, &[String]),
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
    said.extend(weight_at_limit(home, ask.max_mass, (scale, empty))?);
    if !said.is_empty() {
        view.say(said.join(" "));
    }
    Ok(())
}

/// `Weight 2,316 g, limit 2,400 g: 84 g left.` What has no weight, or is still missing, makes it the least that the bike weighs, of
/// which nobody knows what is left. Without a limit only the parts in the book are meant, and empty places do not matter.
fn weight_at_limit(
    home: &Totals,
    limit: Option<Grams>,
    (scale, empty): (Option<&OnScale>, &[String]),
) -> Result<Option<String>, Overflow> {
    let mass = scale.map_or(home.mass, OnScale::likely);
    if mass.0.is_zero() && limit.is_none() {
        return Ok(None);
    }
    let unknown = match scale {
        None => home.mass_unknown.len(),
        Some(_) => 0,
    };
    let weight = mass.0.grouped(0);
    let Some(limit) = limit else {
        return Ok(Some(if unknown == 0 {
            format!("Weight {weight} g.")
        } else {
            let parts = count(unknown, "part", "parts");
            format!("Weight at least {weight} g ({parts} without a weight).")
        }));
    };
    let left = limit.minus(mass)?.0;
    let grams = left_of(left, |d| format!("{} g", d.grouped(0)));
    let empty = if scale.is_none() { empty.len() } else { 0 };
    let limit = limit.0.grouped(0);
    let Some(lacks) = lacks(unknown, empty) else {
        return Ok(Some(format!(
            "Weight {weight} g, limit {limit} g: {grams}."
        )));
    };
    let over = if left.is_negative() {
        format!(": at least {grams}")
    } else {
        String::new()
    };
    Ok(Some(format!(
        "Weight at least {weight} g of {limit} g ({lacks}){over}."
    )))
}

/// `1 unknown, 3 places empty`, which fits into the line of the limits; none where nothing is lacking.
fn lacks(unknown: usize, empty: usize) -> Option<String> {
    let mut said = Vec::new();
    if unknown > 0 {
        said.push(format!("{unknown} unknown"));
    }
    if empty > 0 {
        let places = count(empty, "place", "places");
        said.push(format!("{places} empty"));
    }
    (!said.is_empty()).then(|| said.join(", "))
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
