//! The section of the page that says in one go what others ask of a build.

use maud::{Markup, html};

use crate::report::gallery::Showing;
use crate::report::telling::sentences;
use crate::units::Overflow;

/// The sentences, with exact sums; nothing where there is nothing to tell.
pub(super) fn section(showing: &Showing<'_>) -> Result<Markup, Overflow> {
    let told = sentences(showing, &|amount| showing.figures.money(amount))?;
    Ok(html! {
        @if !told.is_empty() {
            section class="telling" aria-label="To tell others" {
                h2 { "To tell others" }
                @for sentence in &told { p { (sentence) } }
            }
        }
    })
}
