//! What to look at, largest sum first: the first five, the others under a fold, and what always stands. After delivery, what was
//! charged stands before it.

use maud::{Markup, html};

use super::sections::{grid, with_code};
use crate::landed::Caution;
use crate::report::cautions::{STANDING, Warnings, about_words};
use crate::report::cost_view;
use crate::report::gallery::Showing;
use crate::report::rates_view;
use crate::report::shown::shown;
use crate::report::view::{Block, Said, View};
use crate::text::words::{capital, count};
use crate::units::Overflow;

/// How many cautions stand before the fold.
const SHOWN: usize = 5;

/// Cautions and the ages of the tables.
pub(super) fn foot(showing: &Showing<'_>) -> Result<Markup, Overflow> {
    let heading = if showing.more.settled.is_some() {
        "To watch"
    } else {
        "Before you order"
    };
    let said = if showing.figures.hidden.is_some() {
        veiled(showing)
    } else {
        open(showing)?
    };
    let (first, rest) = said.split_at(said.len().min(SHOWN));
    let standing = all(showing);
    let standing = standing
        .iter()
        .filter(|caution| STANDING.contains(&caution.id));
    Ok(html! {
        section class="cautions" {
            @if !first.is_empty() {
                h2 { (heading) @if showing.figures.hidden.is_none() { ", largest sum first" } }
                (list(first))
            }
            @if !rest.is_empty() {
                details {
                    summary { (count(rest.len(), "more caution", "more cautions")) }
                    (list(rest))
                }
            }
            @for caution in standing { p class="standing" { (sentence(showing, caution)) } }
            p class="ages" { (with_code(&rates_view::tables_line(showing.jurisdiction, showing.ask))) }
        }
    })
}

/// All cautions of the results shown, each once.
fn all<'a>(showing: &'a Showing<'_>) -> Vec<&'a Caution> {
    let of_others = showing
        .comparison
        .iter()
        .flat_map(|c| &c.cautions)
        .chain(showing.ranking.iter().flat_map(|r| &r.cautions));
    let mut all: Vec<&Caution> = Vec::new();
    for caution in showing.landed.cautions.iter().chain(of_others) {
        let same = |known: &&Caution| known.id == caution.id && known.text == caution.text;
        if !all.iter().any(same) {
            all.push(caution);
        }
    }
    all
}

/// With what each costs.
fn open(showing: &Showing<'_>) -> Result<Vec<Said>, Overflow> {
    let show = &showing.figures.show;
    let landed = shown(showing.landed, show)?;
    let own: Vec<&Caution> = showing.landed.cautions.iter().collect();
    let beside = all(showing)
        .into_iter()
        .filter(|caution| !own.contains(caution))
        .cloned();
    let beside: Vec<Caution> = beside.collect();
    let mut warnings: Warnings = cost_view::warnings(&landed, show)?;
    warnings.join(Warnings::of(&beside, show));
    Ok(warnings.into_said(show))
}

/// Without any sum.
fn veiled(showing: &Showing<'_>) -> Vec<Said> {
    let not_standing = all(showing)
        .into_iter()
        .filter(|c| !STANDING.contains(&c.id));
    let said = |caution: &Caution| Said {
        amount: String::new(),
        text: sentence(showing, caution),
        id: caution.id,
    };
    not_standing.map(said).collect()
}

fn sentence(showing: &Showing<'_>, caution: &Caution) -> String {
    let text = capital(&showing.figures.caution(caution));
    let text = text.trim_end().to_owned();
    if caution.about.is_empty() {
        text
    } else {
        format!("{text} ({})", about_words(caution, 6))
    }
}

fn list(said: &[Said]) -> Markup {
    html! {
        ol {
            @for one in said { li { span class="n" { (one.amount) } span { (with_code(&one.text)) } } }
        }
    }
}

/// After delivery: what was charged beside what was estimated, what to claim, until when, and every charge under a fold.
pub(super) fn settled(view: &View) -> Markup {
    // What every screen ends with follows an empty line; the page says it once, at its foot.
    let is_end = |block: &&Block| matches!(block, Block::Sentence(text) if text.is_empty());
    let first: Vec<&Block> = view
        .blocks
        .iter()
        .take_while(|block| !is_end(block))
        .collect();
    let more = view.blocks.iter().flat_map(|block| match block {
        Block::More(hidden) => hidden.as_slice(),
        _ => &[],
    });
    let (notes, rest): (Vec<&Block>, Vec<&Block>) =
        more.partition(|block| matches!(block, Block::Notes(_)));
    html! {
        section class="book settled" id="settled" {
            h2 { "After delivery" }
            @for block in &first { (piece(block)) }
            @if !notes.is_empty() {
                h3 { "Claims, and until when" }
                @for block in &notes { (piece(block)) }
            }
            @if rest.iter().any(|block| matches!(block, Block::Table(_))) {
                details {
                    summary { "Every charge, with what made it differ" }
                    @for block in &rest { (piece(block)) }
                }
            }
        }
    }
}

fn piece(block: &Block) -> Markup {
    html! {
        @match block {
            Block::Table(table) => (grid("After delivery", table)),
            Block::Answer(text) | Block::Sentence(text) => @if !text.is_empty() { p { (with_code(text)) } },
            Block::Heading(text) => h3 { (text) },
            Block::Notes(lines) => ul { @for line in lines { li { (with_code(line)) } } },
            Block::Cautions(said) => div class="cautions" { (list(said)) },
            Block::More(_) | Block::Brief(_) => {},
        }
    }
}
