//! The flags that every command knows, and how they become [`Settings`].

use clap::{Args, ValueEnum};

use crate::answer::{self, Shape};
use crate::book::Settings;

/// How a result is written.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    #[default]
    Table,
    Json,
    Csv,
    Markdown,
}

/// Which book is asked, where it is delivered, and how the answer is shown: what every command takes.
#[derive(Debug, Clone, Default, Args)]
pub(super) struct BookArgs {
    /// A build's folder, a parts.csv, or - for standard input
    #[arg(value_name = "FOLDER", default_value = ".", hide_default_value = true)]
    pub(super) book: String,
    /// Country of delivery: GB, or CA-ON
    #[arg(long, value_name = "COUNTRY")]
    pub(super) to: Option<String>,
    /// Day of ordering
    #[arg(long, value_name = "DATE")]
    pub(super) on: Option<String>,
    /// Show amounts in this currency
    #[arg(long = "in", value_name = "CURRENCY")]
    pub(super) shown: Option<String>,
    /// Folder of your own rates
    #[arg(long, value_name = "DIR")]
    pub(super) rates: Option<String>,
    /// Output format: table, json, csv or markdown
    #[arg(
        long,
        value_enum,
        default_value = "table",
        hide_possible_values = true,
        hide_default_value = true
    )]
    pub(super) format: Format,
}

/// What a command is asked with; each flag is also a setting of the book.
#[derive(Debug, Clone, Default, Args)]
pub(super) struct CommonArgs {
    #[command(flatten)]
    pub(super) of: BookArgs,
    /// Postcode, where tax depends on it
    #[arg(long, value_name = "CODE")]
    postcode: Option<String>,
    /// Day of arrival
    #[arg(long, value_name = "DATE")]
    arrival: Option<String>,
    /// Show every caution, limit and table
    #[arg(long)]
    pub(super) more: bool,
    /// Show how each amount was worked out
    #[arg(long)]
    pub(super) trail: bool,
    /// Kind of bike: road, gravel, hardtail
    #[arg(long)]
    kind: Option<String>,
    /// How bikes are weighed: showroom, racing or ride
    #[arg(long)]
    basis: Option<String>,
    /// Your card's fee on foreign currency, in percent
    #[arg(long, value_name = "PERCENT")]
    card_fee: Option<String>,
    /// Anti-dumping duty in the total: count or show
    #[arg(long)]
    remedies: Option<String>,
    /// A choice of your country's rules, as courier=a
    #[arg(long = "choice", value_name = "NAME=VALUE")]
    choices: Vec<String>,
    /// The most you want to spend
    #[arg(long, value_name = "AMOUNT")]
    budget: Option<String>,
    /// The most the bike may weigh, in grams
    #[arg(long, value_name = "GRAMS")]
    max_mass: Option<String>,
    /// What losing a kilogram is worth to you
    #[arg(long, value_name = "AMOUNT")]
    worth: Option<String>,
    /// Your weight, dressed to ride, in kg
    #[arg(long, value_name = "KG")]
    rider_kg: Option<String>,
    /// The power the rider holds on a climb
    #[arg(long, value_name = "WATTS")]
    rider_watts: Option<String>,
    /// A fact of the bike, as gears=electronic
    #[arg(long = "fact", value_name = "NAME=VALUE")]
    facts: Vec<String>,
}

impl CommonArgs {
    /// The arguments of a command that takes nothing else.
    pub(super) fn bare(of: &BookArgs) -> CommonArgs {
        CommonArgs {
            of: of.clone(),
            ..CommonArgs::default()
        }
    }

    /// The arguments of a command line that names only a book and perhaps the tables.
    pub(super) fn of(book: &str, rates: Option<&str>) -> CommonArgs {
        CommonArgs::bare(&BookArgs {
            book: book.to_owned(),
            rates: rates.map(str::to_owned),
            ..BookArgs::default()
        })
    }

    /// How the answer is written.
    pub(super) fn shape(&self) -> Shape {
        Shape {
            format: match self.of.format {
                Format::Table => answer::Format::Screen,
                Format::Json => answer::Format::Json,
                Format::Csv => answer::Format::Csv,
                Format::Markdown => answer::Format::Markdown,
            },
            more: self.more,
            trail: self.trail,
        }
    }

    /// Whether the command line names a budget and no mass.
    pub(super) fn names_only_a_budget(&self) -> bool {
        self.budget.is_some() && self.max_mass.is_none()
    }

    /// The choices that the command line names.
    pub(super) fn choice_names(&self) -> Vec<String> {
        self.choices
            .iter()
            .filter_map(|pair| pair.split_once('='))
            .map(|(name, _)| name.trim().to_owned())
            .collect()
    }

    /// The flags that are typed, but for those that every command knows.
    pub(super) fn typed(&self) -> Vec<&'static str> {
        let flags = [
            ("--on", self.of.on.is_some()),
            ("--arrival", self.arrival.is_some()),
            ("--in", self.of.shown.is_some()),
            ("--kind", self.kind.is_some()),
            ("--basis", self.basis.is_some()),
            ("--card-fee", self.card_fee.is_some()),
            ("--remedies", self.remedies.is_some()),
            ("--budget", self.budget.is_some()),
            ("--max-mass", self.max_mass.is_some()),
            ("--worth", self.worth.is_some()),
            ("--rider-kg", self.rider_kg.is_some()),
            ("--rider-watts", self.rider_watts.is_some()),
            ("--fact", !self.facts.is_empty()),
        ];
        flags
            .into_iter()
            .filter(|(_, typed)| *typed)
            .map(|(flag, _)| flag)
            .collect()
    }

    /// The flags as settings; the error names the flag, what was typed and what was expected.
    pub(super) fn settings(&self) -> Result<Settings, String> {
        let mut settings = Settings::default();
        let flags = [
            ("--to", "destination", &self.of.to),
            ("--postcode", "postcode", &self.postcode),
            ("--on", "date", &self.of.on),
            ("--arrival", "arrival", &self.arrival),
            ("--in", "currency", &self.of.shown),
            ("--kind", "kind", &self.kind),
            ("--basis", "basis", &self.basis),
            ("--card-fee", "card_fee", &self.card_fee),
            ("--remedies", "remedies", &self.remedies),
            ("--budget", "budget", &self.budget),
            ("--max-mass", "max_mass_g", &self.max_mass),
            ("--worth", "worth_per_kg", &self.worth),
            ("--rider-kg", "rider_kg", &self.rider_kg),
            ("--rider-watts", "rider_watts", &self.rider_watts),
        ];
        for (flag, setting, value) in flags {
            if let Some(value) = value {
                settings
                    .set(setting, value)
                    .map_err(|expected| format!("`{flag} {value}`: {expected}"))?;
            }
        }
        let pairs = self
            .choices
            .iter()
            .map(|c| ("--choice", "choice.", c))
            .chain(self.facts.iter().map(|f| ("--fact", "", f)));
        for (flag, prefix, pair) in pairs {
            let (name, value) = pair
                .split_once('=')
                .ok_or_else(|| format!("`{flag} {pair}`: expected NAME=VALUE"))?;
            if flag == "--fact" && !matches!(name, "gears" | "brakes" | "tyres") {
                return Err(format!(
                    "`{flag} {pair}`: expected one of gears, brakes and tyres"
                ));
            }
            settings
                .set(&format!("{prefix}{name}"), value)
                .map_err(|expected| format!("`{flag} {pair}`: {expected}"))?;
        }
        Ok(settings)
    }
}
