//! `settings.csv`: where the bike is built, when, in what money, and what is wanted of it. Each is also a flag.

use std::collections::BTreeMap;

use super::{BookFile, read};
use crate::text::{Cell, Columns, Diagnostic, Location, Problems, words};
use crate::units::number::{self, Style};
use crate::units::{BASES, Basis, Country, Currency, Date, Dec, Grams, Percent};

pub(super) const COLUMNS: Columns = Columns {
    needed: &["setting", "value"],
    optional: &[],
    shared: &[],
};

/// The names of the settings; `choice.NAME` stands for any choice a destination offers.
pub(super) const SETTINGS: [&str; 18] = [
    "destination",
    "postcode",
    "currency",
    "date",
    "arrival",
    "kind",
    "gears",
    "brakes",
    "tyres",
    "basis",
    "rates",
    "card_fee",
    "remedies",
    "budget",
    "max_mass_g",
    "worth_per_kg",
    "rider_kg",
    "rider_watts",
];

/// Those of them that are limits.
const LIMITS: [&str; 2] = ["budget", "max_mass_g"];

/// Whether remedies are in the headline or beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Remedies {
    /// In the headline.
    #[default]
    Count,
    /// Beside it.
    Show,
}

/// What a book or its reader has settled; a setting that is left out is empty.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Settings {
    /// Where it is delivered.
    pub(crate) destination: Option<Country>,
    /// The region, where tax depends on it.
    pub(crate) region: String,
    /// The postcode of the place of delivery, which tells a region.
    pub(crate) postcode: Option<String>,
    /// What sums are shown in.
    pub(crate) currency: Option<Currency>,
    /// The day of ordering.
    pub date: Option<Date>,
    /// The day of arrival.
    pub(crate) arrival: Option<Date>,
    /// The kind of bike.
    pub(crate) kind: Option<String>,
    /// Facts about the bike that places ask for: gears, brakes, tyres.
    pub(crate) facts: BTreeMap<String, String>,
    /// How masses are compared.
    pub(crate) basis: Option<Basis>,
    /// The folder of the user's own tables.
    pub(crate) rates: Option<String>,
    /// What the card takes on foreign money.
    pub(crate) card_fee: Option<Percent>,
    /// Whether remedies are counted.
    pub(crate) remedies: Option<Remedies>,
    /// Choices for the destination.
    pub(crate) choices: BTreeMap<String, String>,
    /// Where a file names each of these choices, and where its value stands; a flag has no such place.
    pub(crate) choices_at: BTreeMap<String, [Location; 2]>,
    /// Where a file gives the budget and the mass limit, by their settings; a flag has no such place.
    pub(crate) limits_at: BTreeMap<&'static str, Location>,
    /// At most this much money, in the destination's.
    pub(crate) budget: Option<Dec>,
    /// At most this mass.
    pub(crate) max_mass: Option<Grams>,
    /// What a kilogram less is worth, in the destination's money.
    pub(crate) worth_per_kg: Option<Dec>,
    /// The rider's mass in kilograms.
    pub(crate) rider_kg: Option<Dec>,
    /// The rider's power in watts.
    pub(crate) rider_watts: Option<Dec>,
    /// Amounts that a file gives with a sign or code, which must be the destination's money.
    pub(crate) signed: Vec<Signed>,
}

/// An amount with a sign or code beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Signed {
    /// The setting.
    pub(crate) name: String,
    /// The cell as it stands.
    pub(crate) text: String,
    /// What the sign can stand for.
    pub(crate) signs: Vec<Currency>,
    /// Where it stands.
    pub(crate) at: Location,
}

impl Settings {
    /// Settles one setting, as a flag gives it; the error says what was expected.
    pub fn set(&mut self, name: &str, value: &str) -> Result<(), String> {
        self.set_typed(name, value, Style::Point)
    }

    /// The same, with numbers as a file writes them.
    fn set_typed(&mut self, name: &str, value: &str, style: Style) -> Result<(), String> {
        match name {
            "destination" => return self.set_destination(value),
            "postcode" => self.postcode = Some(postcode(value)?),
            "currency" => self.currency = Some(read::currency(value)?),
            "date" => self.date = Some(Date::parse(value)?),
            "arrival" => self.arrival = Some(Date::parse(value)?),
            "kind" => self.kind = Some(words::one_of(&KINDS, value)?.to_owned()),
            "gears" | "brakes" | "tyres" => {
                let known = FACTS
                    .iter()
                    .find(|(fact, _)| *fact == name)
                    .map_or([""; 2], |(_, words)| *words);
                let word = words::one_of(&known.map(|word| (word, word)), value)?;
                self.facts.insert(name.to_owned(), word.to_owned());
            }
            "basis" => self.basis = Some(words::one_of(&BASES, value)?),
            "rates" => self.rates = Some(value.to_owned()),
            "card_fee" => self.card_fee = Some(card_fee(value, style)?),
            "remedies" => {
                self.remedies = Some(words::one_of(
                    &[("count", Remedies::Count), ("show", Remedies::Show)],
                    value,
                )?);
            }
            "budget" => self.budget = Some(home_amount(value, style)?),
            "max_mass_g" => self.max_mass = Some(bike_mass(value, style)?),
            "worth_per_kg" => self.worth_per_kg = Some(home_amount(value, style)?),
            "rider_kg" => self.rider_kg = Some(of_rider(value, style, 20, 250, "kilograms")?),
            "rider_watts" => self.rider_watts = Some(of_rider(value, style, 30, 2000, "watts")?),
            _ => match name.strip_prefix("choice.") {
                Some("") => {
                    return Err("expected the name of the choice after the point".to_owned());
                }
                Some(choice) => {
                    self.choices.insert(choice.to_owned(), value.to_owned());
                }
                None => return Err("not a setting".to_owned()),
            },
        }
        Ok(())
    }

    fn set_destination(&mut self, value: &str) -> Result<(), String> {
        let code = value
            .split_once('-')
            .filter(|(country, _)| country.len() == 2);
        let (country, region) = code.unwrap_or((value, ""));
        // `IC` is what ISO 3166-1 keeps for the Canary Islands, a region of Spain
        let canaries = country.eq_ignore_ascii_case("IC")
            || (country.eq_ignore_ascii_case("ES") && region.eq_ignore_ascii_case("IC"));
        let (country, region) = if canaries {
            ("ES", "CN")
        } else {
            (country, region)
        };
        self.destination = Some(read::destination(country)?);
        self.region = region.to_ascii_uppercase();
        Ok(())
    }

    /// Takes every setting that the other has settled.
    pub(crate) fn overlay(&mut self, other: Settings) {
        fn take<T>(own: &mut Option<T>, other: Option<T>) {
            if other.is_some() {
                *own = other;
            }
        }
        if other.destination.is_some() {
            self.region.clone_from(&other.region);
            self.postcode = None;
        }
        take(&mut self.postcode, other.postcode);
        take(&mut self.destination, other.destination);
        take(&mut self.currency, other.currency);
        take(&mut self.date, other.date);
        take(&mut self.arrival, other.arrival);
        take(&mut self.kind, other.kind);
        take(&mut self.basis, other.basis);
        take(&mut self.rates, other.rates);
        take(&mut self.card_fee, other.card_fee);
        take(&mut self.remedies, other.remedies);
        let told = [
            ("budget", other.budget.is_some()),
            ("max_mass_g", other.max_mass.is_some()),
        ];
        for (limit, _) in told.iter().filter(|(_, told)| *told) {
            self.limits_at.remove(limit);
        }
        self.limits_at.extend(other.limits_at);
        take(&mut self.budget, other.budget);
        take(&mut self.max_mass, other.max_mass);
        take(&mut self.worth_per_kg, other.worth_per_kg);
        take(&mut self.rider_kg, other.rider_kg);
        take(&mut self.rider_watts, other.rider_watts);
        self.facts.extend(other.facts);
        self.choices_at
            .retain(|name, _| !other.choices.contains_key(name));
        self.choices_at.extend(other.choices_at);
        self.choices.extend(other.choices);
        self.signed.extend(other.signed);
    }

    /// Takes the sign or code off an amount of a file, and keeps it for the place where the destination's money is known.
    fn unsigned(&mut self, name: &str, value: &Cell<'_>) -> String {
        let read = number::money(value.text(), value.style());
        match read {
            Ok((amount, signs))
                if !signs.is_empty() && matches!(name, "budget" | "worth_per_kg") =>
            {
                let (name, text) = (name.to_owned(), value.text().to_owned());
                self.signed.push(Signed {
                    name,
                    text,
                    signs,
                    at: value.place(),
                });
                amount.to_string()
            }
            _ => value.text().to_owned(),
        }
    }
}

/// A postcode as people write it.
fn postcode(value: &str) -> Result<String, String> {
    let is_plain = |c: char| c.is_ascii_alphanumeric();
    let known = value.chars().all(|c| is_plain(c) || c == ' ' || c == '-');
    if known && value.len() <= 12 && value.contains(is_plain) {
        Ok(value.to_owned())
    } else {
        Err("expected a postcode, such as `35001` or `BT1 1AA`".to_owned())
    }
}

/// What the card takes: a figure that may be meant as a share of one is asked back.
fn card_fee(value: &str, style: Style) -> Result<Percent, String> {
    const MOST: u32 = 20;
    let read = Percent::typed(value, MOST, style)?;
    match Percent::of_share(value, style).filter(|share| share.0 <= Dec::from(MOST)) {
        Some(share) => Err(format!(
            "is it {share} or {read}? write `{}` for the first, `{read}` for the second",
            share.0
        )),
        None => Ok(read),
    }
}

/// The facts of a bike that places ask for, each with its two words.
const FACTS: [(&str, [&str; 2]); 3] = [
    ("gears", ["mechanical", "electronic"]),
    ("brakes", ["hydraulic", "mechanical"]),
    ("tyres", ["tubeless", "tubes"]),
];

/// A figure of the rider, between what people are and do.
fn of_rider(value: &str, style: Style, least: u32, most: u32, unit: &str) -> Result<Dec, String> {
    let expected = || format!("expected {unit} from {least} to {most}, without a unit");
    let read = number::typed(value, style).map_err(|error| {
        if error.starts_with("can be") {
            error
        } else {
            expected()
        }
    })?;
    if read < Dec::from(least) || read > Dec::from(most) {
        Err(expected())
    } else {
        Ok(read)
    }
}

/// The mass of a bike: none weighs less than a kilogram.
fn bike_mass(value: &str, style: Style) -> Result<Grams, String> {
    let expected = || "expected grams without a unit, such as `8500`".to_owned();
    let read = number::typed(value, style).map_err(|error| {
        if error.starts_with("can be") {
            error
        } else {
            expected()
        }
    })?;
    if read < Dec::THOUSAND {
        Err(expected())
    } else {
        Ok(Grams(read))
    }
}

const KINDS: [(&str, &str); 3] = [
    ("road", "road"),
    ("gravel", "gravel"),
    ("hardtail", "hardtail"),
];

/// Reads `settings.csv`.
pub(super) fn read(file: &BookFile, problems: &mut Problems) -> Settings {
    let sheet = read::sheet(file, &COLUMNS, problems);
    let mut settings = Settings::default();
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    for row in sheet.rows() {
        let (name, value) = (row.cell("setting"), row.cell("value"));
        if let Some(first) = seen.insert(name.text(), row.line()) {
            problems.push(name.error(format!(
                "expected each setting once: this one stands on line {first} too"
            )));
            continue;
        }
        if !SETTINGS.contains(&name.text()) && !name.text().starts_with("choice.") {
            let unknown = name
                .error("expected the name of a setting; the row is not read")
                .as_warning();
            problems.push(match words::nearest(name.text(), SETTINGS) {
                Some(near) => unknown.help(format!("did you mean `{near}`?")),
                None => unknown.note(format!("the settings are {}", SETTINGS.join(", "))),
            });
        } else if !value.is_empty() {
            let read = settings.unsigned(name.text(), &value);
            if let Err(expected) = settings.set_typed(name.text(), &read, value.style()) {
                let what = format!(
                    "`{}` is {}: {expected}",
                    name.text(),
                    words::quoted(value.text())
                );
                problems.push(Diagnostic::error(what).at(value.place()));
            } else if let Some(limit) = LIMITS.iter().find(|limit| **limit == name.text()) {
                settings.limits_at.insert(limit, value.place());
            } else if let Some(choice) = name.text().strip_prefix("choice.") {
                settings
                    .choices_at
                    .insert(choice.to_owned(), [name.place(), value.place()]);
            }
        }
    }
    settings
}

/// An amount in the destination's money.
fn home_amount(text: &str, style: Style) -> Result<Dec, String> {
    let is_sign = |c: char| c.is_alphabetic() || "£$€¥".contains(c);
    if text.contains(is_sign) || !text.contains(|c: char| c.is_ascii_digit()) {
        return Err(
            "expected a number such as `2500`, in the destination's money and without its sign"
                .to_owned(),
        );
    }
    let read = number::typed(text, style)?;
    if read.is_negative() {
        return Err("expected 0 or more".to_owned());
    }
    Ok(read)
}
