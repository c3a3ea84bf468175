//! `rank` as one screen: the options in order, what each adds to the bill by itself and together, the grams, what they cost.

use super::compare_view::{grams, signed};
use super::show::Show;
use super::view::{Cell, Grid, View};
use crate::rank::{Ranked, Ranking, Unranked};
use crate::text::words::{count, list};
use crate::units::{Dec, Overflow};
use crate::value::{Difference, Quadrant};

/// The view of a ranking.
pub fn rank_view(ranking: &Ranking, show: &Show) -> Result<View, Overflow> {
    let mut view = View::default();
    view.say(headline(ranking, show)?);
    view.table(grid(ranking, show)?);
    let mut lines = Vec::new();
    for (at, option) in ranking.options.iter().enumerate() {
        lines.push(format!("{}. {}", at + 1, line(option, show)?));
    }
    view.notes(lines);
    for (heading, all) in [("Not fitting", &ranking.unfit), ("Not ranked", &ranking.left_out)] {
        if !all.is_empty() {
            view.head(heading);
            view.notes(all.iter().map(unranked).collect());
        }
    }
    view.head("Before you order");
    view.notes(super::check_view::caution_lines(&ranking.cautions));
    Ok(view)
}

fn headline(ranking: &Ranking, show: &Show) -> Result<String, Overflow> {
    let Some(best) = ranking.options.first() else {
        return Ok("Nothing to rank: no row has the role `option` or `rival` with a price and a mass.".to_owned());
    };
    let words = best.difference.words(|amount| show.money(amount))?;
    let sentence = match best.difference.quadrant() {
        Quadrant::Better => format!("{} gives nothing up: {words}.", best.title()),
        Quadrant::TradeOff => {
            let per_unit = grams_per_unit(&best.difference, show)?.map(|grams| grams.fixed(2)).unwrap_or_default();
            format!("The next money buys most at {}: {words}, {per_unit} g for 1 {}.", best.title(), show.currency)
        }
        Quadrant::GivesUp | Quadrant::Same | Quadrant::Worse => {
            format!("No option takes grams off; first stands {}: {words}.", best.title())
        }
    };
    Ok(format!(
        "{} against a build that lands at {}. {sentence}",
        count(ranking.options.len(), "option", "options"),
        show.money(ranking.landed)
    ))
}

/// Grams saved for each unit of the money shown.
pub(super) fn grams_per_unit(difference: &Difference, show: &Show) -> Result<Option<Dec>, Overflow> {
    let shown = Difference { cost: show.rate.convert(difference.cost)?, ..*difference };
    shown.grams_per_unit()
}

fn grid(ranking: &Ranking, show: &Show) -> Result<Grid, Overflow> {
    let worth = ranking.worth_per_kg.map(|worth| format!("net at\n{}/kg", show.amount(worth)));
    let mut header = vec!["", "option", "instead of", "alone", "together", "saves g", "per kg"];
    header.extend(worth.as_deref());
    let mut grid = Grid::new("options", &header);
    for (at, option) in ranking.options.iter().enumerate() {
        let per_kg = option.difference.per_kg()?;
        let mut row = vec![
            Cell::number((at + 1).to_string()),
            Cell::text(option.title()),
            Cell::text(list(&option.replaces, "and")),
            Cell::number(signed(&show.amount(option.alone))),
            Cell::number(signed(&show.amount(option.together))),
            Cell::number(signed(&grams(option.difference.saved))),
            per_kg.map_or(Cell::text("-"), |ratio| Cell::number(show.amount(ratio))),
        ];
        row.extend(option.net_benefit.map(|net| Cell::number(signed(&show.amount(net)))));
        grid.rows.push(row);
    }
    Ok(grid)
}

/// `Clew pedals: dearer by … and lighter by …; 28.00 taken off for Spares box pedals`.
fn line(option: &Ranked, show: &Show) -> Result<String, Overflow> {
    let mut parts = vec![option.difference.words(|amount| show.money(amount))?];
    if !option.resale.is_zero() {
        parts.push(format!("{} taken off for what is sold on", show.money(option.resale)));
    }
    if !option.bundled.is_empty() {
        parts.push(format!("in the box: {}", list(&option.bundled, "and")));
    }
    if !option.gone.is_empty() {
        parts.push(format!("goes too: {}", list(&option.gone, "and")));
    }
    parts.extend(option.beaten_by.as_ref().map(|other| format!("{other} costs no more and weighs no more")));
    parts.extend(option.notes.iter().cloned());
    Ok(format!("{}: {}", option.title(), parts.join("; ")))
}

fn unranked(one: &Unranked) -> String {
    let seller = one.seller.as_ref().map(|seller| format!(" ({seller})")).unwrap_or_default();
    format!("{}{seller}: {}", one.part, one.reason)
}
