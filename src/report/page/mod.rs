//! The page: one file that needs nothing else to be read. The verdict, the pictures, the tables, the cautions.

mod sections;
mod telling;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::gallery::{Showing, pictures};
use super::mark::{MADE_BY, seal_page};
use super::picture::{self, Picture, Shape};
use crate::text::visible;
use crate::units::Overflow;

const STYLE: &str = include_str!("style.css");
const LETTERING: &str = include_str!("../picture/lettering/page.css");

/// The whole page.
pub(crate) fn page(showing: &Showing<'_>) -> Result<String, Overflow> {
    let title = format!("What the build lands at, {}", showing.ask.date.in_words());
    let drawn = pictures(showing, Shape::Page)?;
    let foot = showing.foot().sentence();
    let said = sections::verdict(showing)?;
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
                    header class="verdict" {
                        p class="day" { (showing.ask.date.in_words()) " · delivered to " (showing.ask.to.in_words()) }
                        h1 { (said.first) }
                        @for line in &said.rest { p { (line) } }
                    }
                    (telling::section(showing)?)
                    section class="pictures" aria-label="Pictures" {
                        @for one in &drawn { (figure(one, &foot)) }
                    }
                    (sections::tables(showing)?)
                    (sections::foot(showing))
                }
            }
        }
    };
    Ok(seal_page(visible(&page.into_string()).into_owned() + "\n"))
}

/// A picture with its table under a fold.
fn figure(one: &Picture, foot: &str) -> Markup {
    html! {
        figure id=(one.name) {
            h2 { (one.title) }
            (one.inline())
            figcaption { (foot) }
            details {
                summary { "The same as a table" }
                (sections::plain_table(&one.title, &one.table.0, &one.table.1))
            }
        }
    }
}
