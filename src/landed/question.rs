//! The question of a run: a book's settings with nothing left open that the sum needs.

use std::collections::BTreeMap;

use crate::book::{Remedies, Settings};
use crate::text::{Diagnostic, Location};
use crate::units::{Basis, Country, Currency, Date, Dec, Grams, Percent};

/// The question a run answers.
#[derive(Debug, Clone)]
pub struct Question {
    /// Where it is delivered.
    pub to: Country,
    /// The region, where tax depends on it.
    pub(crate) region: String,
    /// The postcode of the place of delivery; empty when not told.
    pub(crate) postcode: String,
    /// The day of ordering.
    pub date: Date,
    /// The day of arrival, when it is told for all parcels.
    pub(crate) arrival: Option<Date>,
    /// What sums are shown in; none for the destination's money.
    pub(crate) shown: Option<Currency>,
    /// The kind of bike.
    pub(crate) kind: String,
    /// Facts about the bike.
    pub(crate) facts: BTreeMap<String, String>,
    /// How masses are compared.
    pub(crate) basis: Basis,
    /// What the card takes on foreign money; none when not told.
    pub(crate) card_fee: Option<Percent>,
    /// Whether remedies are in the headline.
    pub(crate) remedies: Remedies,
    /// Choices for the destination.
    pub(crate) choices: BTreeMap<String, String>,
    /// Where a file names each of these choices, and where its value stands; a flag has no such place.
    pub(crate) choices_at: BTreeMap<String, [Location; 2]>,
    /// Where a file gives the budget and the mass limit, by their settings; a flag has no such place.
    pub(crate) limits_at: BTreeMap<&'static str, Location>,
    /// At most this much, in the destination's money.
    pub budget: Option<Dec>,
    /// At most this mass.
    pub(crate) max_mass: Option<Grams>,
    /// What a kilogram less is worth, in the destination's money.
    pub(crate) worth_per_kg: Option<Dec>,
    /// The rider's mass in kilograms.
    pub(crate) rider_kg: Option<Dec>,
    /// The rider's power in watts.
    pub(crate) rider_watts: Option<Dec>,
}

impl Question {
    /// Completes settings with the day a run is made on.
    pub fn new(settings: &Settings, today: Date) -> Result<Question, Diagnostic> {
        let to = settings.destination.ok_or_else(|| {
            Diagnostic::error("no country of delivery is set")
                .help("add the row `destination,GB` to `settings.csv`, or say `--to GB`")
        })?;
        let date = settings.date.unwrap_or(today);
        if let Some(arrival) = settings.arrival.filter(|arrival| *arrival < date) {
            let what = format!("the arrival, {arrival}, is before the day of ordering, {date}");
            return Err(Diagnostic::error(what).help("say `--on` and `--arrival`, or `date` and `arrival` in `settings.csv`; parcels on their way have dates of their own in `parcels.csv`"));
        }
        Ok(Question {
            to,
            region: settings.region.clone(),
            postcode: settings.postcode.clone().unwrap_or_default(),
            date,
            arrival: settings.arrival,
            shown: settings.currency,
            kind: settings.kind.clone().unwrap_or_else(|| "road".to_owned()),
            facts: settings.facts.clone(),
            basis: settings.basis.unwrap_or(Basis::Racing),
            card_fee: settings.card_fee,
            remedies: settings.remedies.unwrap_or_default(),
            choices: settings.choices.clone(),
            choices_at: settings.choices_at.clone(),
            limits_at: settings.limits_at.clone(),
            budget: settings.budget,
            max_mass: settings.max_mass,
            worth_per_kg: settings.worth_per_kg,
            rider_kg: settings.rider_kg,
            rider_watts: settings.rider_watts,
        })
    }
}
