//! What `compare` says beyond each bike: which of the set nothing beats, the market line, the least that may be raced.

use super::difference::{signed, whole};
use super::show::Show;
use super::view::View;
use crate::compare::{Asked, Comparison, Market};
use crate::text::words::list;
use crate::units::{Dec, Grams, Mode, Overflow};
use crate::value::Standing;

/// Which bikes were held against the build, and what is beaten among them.
pub(super) fn set_line(comparison: &Comparison, view: &mut View) {
    if comparison.bikes.is_empty() || !comparison.mine.is_whole() {
        return;
    }
    let on = comparison.standing(Standing::Frontier);
    let these = comparison.bikes.len() + usize::from(comparison.mine.is_judged());
    let mut text = format!(
        "Of these {these}, by price and mass nothing beats {}",
        list(&on, "and")
    );
    for (standing, says) in [
        (Standing::Dominated, "beaten on both counts"),
        (
            Standing::Extended,
            "two others mixed would do more for the money (advice only)",
        ),
    ] {
        let names = comparison.standing(standing);
        if !names.is_empty() {
            text.push_str(&format!("; {}: {says}", list(&names, "and")));
        }
    }
    view.say(format!("{text}. Other bikes would change that."));
}

/// What the market asks at the build's mass, as far as that says something of it.
pub(super) fn market_lines(comparison: &Comparison, show: &Show, view: &mut View) {
    let (set, residuals, says) = match &comparison.market {
        Market::None(_) if comparison.bikes.is_empty() => return,
        Market::None(why) => {
            view.say(format!("No market line: {why}."));
            return;
        }
        Market::Outside {
            set,
            masses,
            residuals,
            ..
        } => (set, residuals, outside(comparison, *masses)),
        Market::Line(asked) => (
            &asked.set,
            &asked.residuals,
            on_the_line(comparison, asked, show),
        ),
    };
    let is_line = matches!(comparison.market, Market::Line(_));
    let says = if comparison.mine.has_no_mass() {
        ": no mass of the build is known, so it says nothing of the build".to_owned()
    } else if is_line && !comparison.mine.is_whole() {
        ": parts of the build are missing, so it says nothing of the build".to_owned()
    } else {
        says
    };
    let not_in = match set.others.as_slice() {
        [] => String::new(),
        others => format!(" Not in it: {}.", list(others, "and")),
    };
    view.say(format!(
        "Market line through {}{says}. {}{not_in}",
        set.words(),
        off_the_line(residuals)
    ));
}

/// How far each bike is off the line.
fn off_the_line(residuals: &[(String, Dec)]) -> String {
    let each: Vec<String> = residuals
        .iter()
        .map(|(name, off)| format!("{name} {} %", signed(&off.fixed(0))))
        .collect();
    format!("Off the line: {}.", each.join(", "))
}

/// The build weighs less or more than every bike the line goes through.
fn outside(comparison: &Comparison, (least, most): (Grams, Grams)) -> String {
    format!(
        ": the build's {} g lies outside their {} to {} g, so it says nothing of the build",
        comparison.mine.mass.grouped(),
        whole(least),
        whole(most)
    )
}

/// What bikes of the build's mass are asked for, and how the build stands to it.
fn on_the_line(comparison: &Comparison, asked: &Asked, show: &Show) -> String {
    let (low, high) = asked.band;
    let cheaper = asked.off.is_negative();
    let side = if cheaper { "below" } else { "above" };
    let floor = match (comparison.mine.is_floor(), cheaper) {
        (false, _) => "",
        (true, true) => "at most ",
        (true, false) => "at least ",
    };
    let next = if asked.next_kilogram.is_negative() {
        "lighter bikes cost no more there".to_owned()
    } else {
        let cost = show.amount(asked.next_kilogram);
        format!("the next kilogram costs {cost} there")
    };
    format!(
        ": at {} g they ask {} (95 in 100 between {} and {}); the build is {floor}{} % {side}; {next}",
        comparison.mine.mass.grouped(),
        show.money(asked.asks),
        show.amount(low),
        show.amount(high),
        asked.off.abs().fixed(0)
    )
}

/// The least that may be raced beside what the build weighs.
pub(super) fn racing_line(comparison: &Comparison, view: &mut View) -> Result<(), Overflow> {
    // A build with holes says nothing of a whole bike's mass.
    let Some((text, least)) = comparison
        .racing_minimum
        .as_ref()
        .filter(|_| comparison.mine.is_weighable())
    else {
        return Ok(());
    };
    let over = comparison.mine.mass.minus(*least)?;
    let kilograms = least.0.over(Dec::THOUSAND)?.round_to(1, Mode::HalfUp);
    let side = if over.0.is_negative() {
        "under: that much is made up with ballast"
    } else {
        "above"
    };
    view.say(format!(
        "{kilograms} kg is {text}; the build is {} g {side}.",
        Grams(over.0.abs()).grouped()
    ));
    Ok(())
}
