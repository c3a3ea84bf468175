//! Pictures of a result: our own drawing in whole units, as SVG.
//!
//! A picture is drawn on a sheet of a [`Shape`] in tenths of the smallest pixel it must be read at: 4,000 units stand for a
//! picture shown 400 pixels wide. Colours are classes, one for each thing, so that a page can give them in a light and a
//! dark scheme; a picture that leaves the page carries its own.

mod axis;
mod bars;
mod big_number;
mod by_charge;
mod by_part;
mod card;
mod foot;
mod ladder;
mod naming;
mod palette;
mod plans;
#[cfg(feature = "pages")]
mod png;
mod range;
mod scatter;
mod sketch;
mod spans;
mod upgrades;

pub(crate) use big_number::{BigNumber, big_number};
pub(crate) use by_charge::by_charge;
pub(crate) use by_part::by_part;
pub(crate) use card::{CARD, card};
pub(crate) use foot::Foot;
pub(crate) use ladder::{Ladder, Rung, ladder, rungs};
pub(crate) use palette::style;
pub(crate) use plans::{Front, PlanPoint, plans};
#[cfg(feature = "pages")]
pub(crate) use png::{Lettering, beyond_lettering, drawn_by, png};
pub(crate) use range::{Reach, Spread, range};
pub(crate) use scatter::{Mark, MarketLine, scatter};
pub(crate) use sketch::{Picture, Shape};
pub(crate) use spans::{Driver, Pair, Told, drivers, pairs};
pub(crate) use upgrades::{Upgrade, upgrades};
