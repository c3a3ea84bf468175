//! Rows of `freight.csv`: schedules of what carrying costs by packed mass.

use super::coin::currency;
use super::destination::{channel, land};
use super::stamp::{PROVENANCE, Rule};
use crate::text::words::one_of;
use crate::text::{Columns, Location, Problems, Row};
use crate::units::{Currency, Dec, number};

/// One step of a schedule.
#[derive(Debug, Clone)]
pub(crate) struct FreightStep {
    /// The schedule.
    pub(crate) schedule: String,
    /// Country of dispatch, or `*`.
    pub(crate) dispatch: String,
    /// Country of destination, or `*`.
    pub(crate) destination: String,
    /// Channel, or `*`.
    pub(crate) channel: String,
    /// The packed mass up to which the step serves; none is the last.
    pub(crate) up_to_g: Option<Dec>,
    /// The price of the step.
    pub(crate) price: Dec,
    /// Its currency.
    pub(crate) currency: Currency,
    /// The price is for `up_to_g`, and is charged by the gram.
    pub(crate) pro_rata: bool,
    /// For each kilogram begun beyond `up_to_g`, on the last step.
    pub(crate) extra_per_kg: Option<Dec>,
    /// Cubic centimetres that count as a kilogram.
    pub(crate) volumetric_divisor: Option<Dec>,
    /// What packing adds to the mass, out of a hundred.
    pub(crate) packing_percent: Dec,
    /// What packing adds to the mass, once.
    pub(crate) packing_g: Dec,
    /// Where its price and what it adds by the kilogram stand.
    pub(crate) cells: [Location; 2],
}

impl Rule for FreightStep {
    const COLUMNS: Columns = Columns {
        needed: &["schedule", "up_to_g", "price", "currency"],
        optional: &[
            "dispatch",
            "destination",
            "channel",
            "pro_rata",
            "extra_per_kg",
            "volumetric_divisor",
            "packing_percent",
            "packing_g",
        ],
        shared: PROVENANCE,
    };

    fn read(row: &Row<'_>, problems: &mut Problems) -> Option<FreightStep> {
        let any = |name: &'static str,
                   read: fn(&str) -> Result<String, String>,
                   problems: &mut Problems| {
            row.cell(name)
                .optional(problems, read)
                .unwrap_or_else(|| "*".to_owned())
        };
        let positive = |text: &str| {
            number::plain(text).and_then(|n| {
                if n.is_negative() {
                    Err("expected 0 or more".to_owned())
                } else {
                    Ok(n)
                }
            })
        };
        let amount = |name: &'static str, problems: &mut Problems| {
            row.cell(name).optional(problems, positive)
        };
        let price = row.cell("price").needed(problems, positive);
        let schedule = row.cell("schedule").needed(problems, schedule);
        let currency = row.cell("currency").needed(problems, currency);
        let divisor = amount("volumetric_divisor", problems).filter(|d| d.is_positive());
        Some(FreightStep {
            schedule: schedule?,
            dispatch: any("dispatch", land, problems),
            destination: any("destination", land, problems),
            channel: any("channel", channel, problems),
            up_to_g: amount("up_to_g", problems),
            price: price?,
            currency: currency?,
            pro_rata: row
                .cell("pro_rata")
                .optional(problems, |t| one_of(&[("yes", true), ("no", false)], t))
                .unwrap_or(false),
            extra_per_kg: amount("extra_per_kg", problems),
            volumetric_divisor: divisor,
            packing_percent: amount("packing_percent", problems).unwrap_or(Dec::ZERO),
            packing_g: amount("packing_g", problems).unwrap_or(Dec::ZERO),
            cells: ["price", "extra_per_kg"].map(|name| row.cell(name).place()),
        })
    }

    fn key(&self) -> String {
        let up_to = self
            .up_to_g
            .map_or_else(|| "above".to_owned(), |g| g.to_string());
        [
            &self.schedule,
            " ",
            &self.dispatch,
            " ",
            &self.destination,
            " ",
            &self.channel,
            " ",
            &up_to,
        ]
        .concat()
    }
}

/// A seller's `freight` names a schedule by small letters first, to be told from an amount.
fn schedule(text: &str) -> Result<String, String> {
    let small = text.starts_with(|c: char| c.is_ascii_lowercase());
    if small {
        Ok(text.to_owned())
    } else {
        Err("expected the schedule's name, beginning with a small letter".to_owned())
    }
}
