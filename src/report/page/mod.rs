//! The page: one file that needs nothing else to be read. The answer with its range, the pictures, what was charged after delivery,
//! the tables, the cautions.

mod cautions;
mod headline;
mod parts;
mod sections;
mod telling;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::gallery::{Showing, pictures};
use super::mark::{MADE_BY, seal_page};
use super::picture::{self, CARD, Picture, Shape};
use crate::text::visible;
use crate::units::Overflow;

const STYLE: &str = include_str!("style.css");
const LETTERING: &str = include_str!("../picture/lettering/page.css");
/// Puts tables in order and turns the switch; the page reads whole without it.
const SCRIPT: &str = include_str!("script.js");

/// The whole page.
pub(crate) fn page(showing: &Showing<'_>) -> Result<String, Overflow> {
    let title = format!(
        "What the build costs at the door, {}",
        showing.ask.date.in_words()
    );
    // what the card tells is a section of the page
    let mut drawn = pictures(showing, Shape::Page)?;
    drawn.retain(|one| one.name != CARD);
    let telling = telling::section(showing)?;
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content=(MADE_BY);
                meta name="color-scheme" content="light dark";
                link rel="icon" href="data:,";
                title { (title) }
                style { (PreEscaped(LETTERING)) (PreEscaped(picture::style(false))) (PreEscaped(STYLE)) }
            }
            body {
                main {
                    (headline::headline(showing)?)
                    @if !drawn.is_empty() {
                        section class="pictures" aria-label="Pictures" {
                            @for one in &drawn { (figure(one)) }
                            // an odd number of pictures leaves room for one more in their grid
                            @if drawn.len() % 2 == 1 { (telling) }
                        }
                    }
                    @if let Some(view) = &showing.more.settled { (cautions::settled(view)) }
                    @if drawn.len() % 2 == 0 { (telling) }
                    (sections::tables(showing)?)
                    (cautions::foot(showing)?)
                }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    };
    Ok(seal_page(visible(&page.into_string()).into_owned() + "\n"))
}

/// A picture with its table under a fold.
fn figure(one: &Picture) -> Markup {
    html! {
        figure id=(one.name) {
            h2 { (one.title) }
            (one.inline())
            details {
                summary { "The same as a table" }
                (sections::plain_table(&one.title, &one.table.0, &one.table.1))
            }
        }
    }
}
