//! What pictures find, as their headings: one short sentence without a period.

use super::gallery::Showing;
use super::picture::{BigNumber, Pair};
use super::rank_view;
use super::shown::shown;
use crate::compare::{Compared, Comparison};
use crate::text::words::capital;
use crate::units::{Dec, Overflow};

/// Small numbers as words: `two of six`.
fn number(count: usize) -> String {
    const WORDS: [&str; 13] = [
        "none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS
        .get(count)
        .map_or_else(|| count.to_string(), |word| (*word).to_owned())
}

/// How the build compares with complete bikes: only what the comparison itself is sure of.
pub(super) fn price_against_mass(comparison: &Comparison) -> String {
    let (mine, all) = (&comparison.mine, number(comparison.bikes.len()));
    let of = |is: &dyn Fn(Dec, Dec) -> bool| {
        let gap = |a: &&crate::compare::Against| is(a.difference.cost, a.difference.saved.0);
        comparison.bikes.iter().filter(gap).count()
    };
    if !mine.is_judged() {
        return "Complete bikes by price and weight; the build has no verdict yet".to_owned();
    }
    if mine.is_floor() {
        let lighter = number(of(&|_, saved| saved.is_positive()));
        return format!("Lighter than {lighter} of {all}; the build's price is not all known");
    }
    let paid = if mine.compared == Compared::Paid {
        "By what was paid, "
    } else {
        ""
    };
    let better = of(&|cost, saved| cost.is_negative() && saved.is_positive());
    let worse = of(&|cost, saved| cost.is_positive() && saved.is_negative());
    let text = match (better, worse) {
        (0, 0) => format!("none of {all} bikes is both cheaper and lighter"),
        (0, 1) => format!("one of {all} bikes is both cheaper and lighter"),
        (0, worse) => format!(
            "{} of {all} bikes are both cheaper and lighter",
            number(worse)
        ),
        (better, _) => format!("cheaper and lighter than {} of {all}", number(better)),
    };
    if paid.is_empty() {
        capital(&text)
    } else {
        format!("{paid}{text}")
    }
}

/// `Charged 216.02 GBP less than estimated`.
pub(super) fn apart(
    pairs: &[Pair],
    (came, told): (&str, &str),
    shown: impl Fn(Dec) -> String,
) -> Result<String, Overflow> {
    let apart = Dec::total(pairs.iter().map(|pair| pair.found))?
        .minus(Dec::total(pairs.iter().map(|pair| pair.told))?)?;
    Ok(if apart.is_zero() {
        format!("{came} as much as {told}")
    } else {
        let word = if apart.is_negative() { "less" } else { "more" };
        format!("{came} {} {word} than {told}", shown(apart.abs()))
    })
}

/// The tool's best advice on what to change.
pub(super) fn best_change(showing: &Showing<'_>) -> Result<String, Overflow> {
    let Some(ranking) = showing.ranking else {
        return Ok("Upgrades, each added to the order".to_owned());
    };
    let advice = rank_view::answer(ranking, &showing.figures.show)?;
    Ok(advice.trim_end_matches('.').to_owned())
}

/// The landed cost as a big number, how much more than the tags that is, and four figures.
pub(super) fn big_number(showing: &Showing<'_>) -> Result<BigNumber, Overflow> {
    let (landed, own) = (
        shown(showing.landed, &showing.figures.show)?,
        showing.figures.as_it_is(),
    );
    let (sum, tags) = (landed.totals.landed()?, landed.totals.tags);
    let more = sum.minus(tags)?;
    let title = if more.is_zero() {
        "Landed cost: as much as the price tags".to_owned()
    } else {
        let word = if more.is_negative() { "less" } else { "more" };
        format!(
            "Landed cost: {} {word} than the price tags",
            own.show.whole(more.abs())
        )
    };
    Ok(BigNumber {
        title,
        sum: own.money(sum),
        figures: four_figures(showing)?,
    })
}

/// To pay now, at the door, spent, mass.
pub(super) fn four_figures(showing: &Showing<'_>) -> Result<Vec<(&'static str, String)>, Overflow> {
    let landed = shown(showing.landed, &showing.figures.show)?;
    let (t, own) = (&landed.totals, showing.figures.as_it_is());
    let mut all = Vec::new();
    if showing.figures.hidden.is_none() {
        all.push(("to pay now", own.amount(t.to_pay_seller)));
        all.push(("at the door", own.amount(t.to_pay_carrier)));
        all.push(("already spent", own.amount(t.spent)));
    }
    let whole = showing.more.whole.as_ref();
    let mass = whole.map_or(t.home.mass, crate::value::scale::OnScale::likely);
    let known = whole.is_some() || !mass.0.is_zero();
    let figure = if known {
        format!("{} g", mass.0.grouped(0))
    } else {
        "unknown".to_owned()
    };
    all.push(("weight", figure));
    Ok(all)
}
