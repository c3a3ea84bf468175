//! The top of the page: the landed cost as a big number with its range and the budget's mark, four figures, and what else is to be
//! known at once.

use maud::{Markup, html};

use super::sections::said;
use crate::report::build_limits::distance;
use crate::report::cost_view::{beside_tags, headlines};
use crate::report::findings::four_figures;
use crate::report::gallery::Showing;
use crate::report::picture;
use crate::report::redact::in_words;
use crate::report::shown::shown;
use crate::report::view::Block;
use crate::units::{Dec, HomeMoney, Overflow, ShownMoney};

/// The top of the page.
pub(super) fn headline(showing: &Showing<'_>) -> Result<Markup, Overflow> {
    let range = match &showing.more.range {
        Some(range) if showing.figures.hidden.is_none() && range.is_drawn() => {
            Some(picture::range(range, &showing.figures)?)
        }
        _ => None,
    };
    Ok(html! {
        header class="verdict" {
            p class="day" { (showing.ask.date.in_words()) " · delivered to " (showing.ask.to.in_words()) }
            div class="answer" {
                div { (answer(showing)?) @if let Some(button) = switch(showing)? { (button) } }
                @if let Some(range) = &range { div class="range" { (range.inline()) } }
            }
            dl class="figures" {
                @for (name, figure) in four_figures(showing)? { div { dt { (name) } dd { (figure) } } }
            }
            @if let Some(text) = tags(showing)? { p { (text) } }
            @if let Some((text, other)) = budget(showing)? { p data-otherwise=[other] { (text) } }
            @if let Some(text) = charged(showing) { p { (text) " " a href="#settled" { "What to claim, and until when" } } }
            @for line in said(showing)? { p { (line) } }
        }
    })
}

/// The answer as one sentence, its sum large.
fn answer(showing: &Showing<'_>) -> Result<Markup, Overflow> {
    if showing.figures.hidden.is_some() {
        return Ok(html! { h1 { (hidden(showing)?) } });
    }
    let lines = headlines(showing.landed, &showing.figures.show)?;
    let text = lines.into_iter().next().unwrap_or_default();
    let landed = shown(showing.landed, &showing.figures.show)?;
    let (sum, own) = (landed.totals.landed()?, showing.figures.as_it_is());
    let large = own.money(sum);
    let Some((lead, rest)) = text.split_once(&large) else {
        return Ok(html! { h1 { (text) } });
    };
    let (joint, rest) = match rest.find(|c: char| !matches!(c, ':' | ',' | ' ')) {
        Some(at) => rest.split_at(at),
        None => (rest, ""),
    };
    let (mut other_sum, mut other_rest) = (None, None);
    if let Some((other, _)) = landed.decided_otherwise()? {
        other_sum = Some(own.money(other));
        other_rest = Some(format!(
            "{}.",
            beside_tags(other, landed.totals.tags, &own.show)?
        ));
    }
    Ok(html! {
        h1 {
            span class="lead" { (lead) }
            b class="big" data-otherwise=[other_sum] { (large) }
            span class="joint" { (joint) }
            span class="rest" data-otherwise=[other_rest] { (rest) }
        }
    })
}

/// How much more than the tags, as a step.
fn hidden(showing: &Showing<'_>) -> Result<String, Overflow> {
    let totals = &showing.landed.totals;
    let (sum, tags) = (totals.landed()?, totals.tags);
    let more = sum.minus(tags)?;
    if more.is_zero() {
        return Ok("Costs as much at the door as on the price tags.".to_owned());
    }
    let percent = if tags.is_zero() {
        Dec::ZERO
    } else {
        more.amount()
            .abs()
            .times(Dec::HUNDRED)?
            .over(tags.amount())?
    };
    let word = if more.is_negative() { "less" } else { "more" };
    Ok(format!(
        "Costs {} {word} at the door than on the price tags.",
        in_words(percent)
    ))
}

/// The switch between both decisions of a dispute; without its script it is not there.
fn switch(showing: &Showing<'_>) -> Result<Option<Markup>, Overflow> {
    let landed = shown(showing.landed, &showing.figures.show)?;
    let Some((other, _)) = landed
        .decided_otherwise()?
        .filter(|_| showing.figures.hidden.is_none())
    else {
        return Ok(None);
    };
    let word = if other < landed.totals.landed()? {
        "Without"
    } else {
        "With"
    };
    Ok(Some(html! {
        button type="button" id="otherwise" aria-pressed="false" hidden { (word) " what is disputed" }
    }))
}

/// After delivery, what was charged against what was estimated.
fn charged<'a>(showing: &'a Showing<'_>) -> Option<&'a str> {
    let blocks = &showing.more.settled.as_ref()?.blocks;
    blocks.iter().find_map(|block| match block {
        Block::Answer(text) => Some(text.as_str()),
        _ => None,
    })
}

/// How the sum comes from the price tags, where not all of the difference is charges: what comes off them, and what is added.
fn tags(showing: &Showing<'_>) -> Result<Option<String>, Overflow> {
    let landed = shown(showing.landed, &showing.figures.show)?;
    let off = landed.off_the_tags()?;
    if showing.figures.hidden.is_some() || !off.is_negative() {
        return Ok(None);
    }
    let own = showing.figures.as_it_is();
    let (tags, sum) = (landed.totals.tags, landed.totals.landed()?);
    let added = sum.minus(tags)?.minus(off)?;
    Ok(Some(format!(
        "The price tags say {}: {} comes off them and {} on top.",
        own.money(tags),
        own.amount(off.abs()),
        own.amount(added)
    )))
}

/// How far the sum is from the budget, as it is counted and, where something is disputed, decided otherwise.
fn budget(showing: &Showing<'_>) -> Result<Option<(String, Option<String>)>, Overflow> {
    let Some(budget) = showing
        .ask
        .budget
        .filter(|_| showing.figures.hidden.is_none())
    else {
        return Ok(None);
    };
    let own = showing.figures.as_it_is();
    let landed = shown(showing.landed, &showing.figures.show)?;
    let budget = showing.figures.show.shown(HomeMoney::of(budget))?;
    let said = |sum: ShownMoney| {
        let left = budget.minus(sum)?.amount();
        let apart = distance(left, |d| own.money(ShownMoney::of(d)));
        let budget = own.money(budget);
        Ok(format!("That is {apart} the budget of {budget}."))
    };
    let other = landed.decided_otherwise()?;
    let other = other.map(|(sum, _)| said(sum)).transpose()?;
    Ok(Some((said(landed.totals.landed()?)?, other)))
}
