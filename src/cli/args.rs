//! What can be typed. Nothing is done here: the words become [`Settings`] in one place.

use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};

use crate::book::Settings;
use crate::text::words;

const GROUPS: &str = "\
before ordering
  new DIR     starts a book: every place of that kind of bike, eight columns to fill
  check       what is wrong, missing, doubled, stale, or does not fit
  cost        the landed cost, by parcel and by part, with the room to each limit
  leeway      how far the total can move, what moves it most, where it stops being worth it
deciding
  compare     the build against complete bikes, on one basis
  rank        upgrades by grams per pound, alone and added to what is being ordered
  plan        which offer for which place: cheapest under a mass, lightest under a budget, or the frontier
after delivery
  settle      expected against charged, claimed against weighed, deadlines; `--add` writes a row
  return      keep a part or send it back
showing, tables
  report      one self-contained page with pictures, the pictures alone with the verdict to read
              aloud, or a workbook with live formulas
  rates       the rules in force for a date and place, with sources and age; `rates import FILE`
              adds published exchange rates to your own tables, and `rates update FILE...`
              says what they move in a book
  bulk LIST   prices a long list of offers line by line, as a stream
  help words  what the words mean here

`landwaiter` alone in a book checks it and names the next useful command.
BOOK is a folder, a single parts.csv, or - for parts on standard input; the current folder by default.";

/// What every part of a home-built bicycle will really have cost by the time it lies on the doormat.
#[derive(Debug, Parser)]
#[command(
    name = "landwaiter",
    version,
    about,
    disable_help_subcommand = true,
    args_conflicts_with_subcommands = true
)]
#[command(
    help_template = "{about}\n\n{usage-heading} landwaiter COMMAND [BOOK] [OPTIONS]{after-help}\n\nOptions:\n{options}"
)]
#[command(after_help = GROUPS)]
pub(super) struct Cli {
    #[command(subcommand)]
    pub(super) command: Option<Command>,
    #[command(flatten)]
    pub(super) asked: CommonArgs,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Start a book: every place of that kind of bike, with the small parts people forget
    New {
        /// The folder to make
        dir: String,
        /// The kind of bike
        #[arg(long, value_parser = ["road", "gravel", "hardtail"], default_value = "road")]
        kind: String,
        /// One spreadsheet, with lists of places, countries and currencies, instead of two tables
        #[arg(long)]
        workbook: bool,
    },
    /// Say what is wrong, missing, doubled, stale, or does not fit
    Check(CommonArgs),
    /// Reckon the landed cost, by parcel and by part
    Cost(CommonArgs),
    /// Say how far the total can move, and what moves it most
    Leeway {
        #[command(flatten)]
        asked: CommonArgs,
        /// How sure to be of what is set aside, in percent
        #[arg(long, value_name = "PERCENT", default_value = "90")]
        assurance: String,
        /// Days of publication from the quote to the settlement of the card
        #[arg(long, value_name = "DAYS", default_value = "3", value_parser = clap::value_parser!(u32).range(1..=250))]
        days: u32,
        #[command(flatten)]
        tools: Tools,
    },
    /// Hold the build against complete bikes, on one basis
    Compare {
        #[command(flatten)]
        asked: CommonArgs,
        #[command(flatten)]
        tools: Tools,
    },
    /// Rank upgrades by grams per pound, alone and together
    Rank(CommonArgs),
    /// Find which offer for which place, with proof
    Plan {
        #[command(flatten)]
        asked: CommonArgs,
        #[command(flatten)]
        wanted: Wanted,
    },
    /// Set what was charged and weighed against what was expected
    Settle {
        #[command(flatten)]
        asked: CommonArgs,
        /// A row for receipts.csv or weighings.csv, its cells divided by commas: "receipts,SELLER,handling,12.00,GBP,2026-10-04"; may be repeated
        #[arg(long = "add", value_name = "ROW")]
        add: Vec<String>,
        /// The day it is looked at, today by default
        #[arg(long, value_name = "DATE")]
        day: Option<String>,
    },
    /// Keep a part or send it back: what comes back, until when, what is lost
    Return {
        #[command(flatten)]
        asked: CommonArgs,
        /// The part
        #[arg(long, value_name = "NAME")]
        part: String,
        /// Why it goes back
        #[arg(long, value_parser = ["unwanted", "faulty"], default_value = "unwanted")]
        reason: String,
        /// What mending it, or having it made to fit, would cost, in the destination's money
        #[arg(long, value_name = "AMOUNT")]
        repair: Option<String>,
        /// The day it is looked at, today by default
        #[arg(long, value_name = "DATE")]
        day: Option<String>,
    },
    /// Show it to others: a page with pictures, pictures alone, or a workbook
    Report {
        #[command(flatten)]
        asked: CommonArgs,
        #[command(flatten)]
        how: Showing,
    },
    /// List the rules in force for a date and place, with sources and age
    #[command(args_conflicts_with_subcommands = true)]
    Rates {
        #[command(subcommand)]
        what: Option<RatesCommand>,
        #[command(flatten)]
        asked: CommonArgs,
        /// List what is missing, old, from memory, disputed, ended or about to change
        #[arg(long)]
        gaps: bool,
        /// With --gaps: rows whose source is older than this are old
        #[arg(long, value_name = "DAYS", default_value_t = 1095)]
        older_than: i64,
    },
    /// Price a long list of offers line by line, as a stream
    Bulk {
        /// The list: a CSV file, or - for standard input
        list: String,
        #[command(flatten)]
        asked: CommonArgs,
        /// Threads that price
        #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..))]
        jobs: u8,
        /// Write bad lines with their reasons to this file and go on
        #[arg(long, value_name = "FILE")]
        keep_going: Option<String>,
        /// Write cells as they came, for programs: without it, text that a spreadsheet would take for a formula gets a `'` before it
        #[arg(long)]
        plain_cells: bool,
    },
    /// Explain the words, or a command
    Help {
        /// `words`, or a command
        topic: Option<String>,
    },
}

/// What of the build is held against complete bikes.
#[derive(Debug, Clone, Copy, Args)]
pub(super) struct Tools {
    /// Hold tools, consumables, shop work and spares against complete bikes too
    #[arg(long)]
    pub(super) with_tools: bool,
}

/// What a plan is asked for beside the limits that every command knows.
#[derive(Debug, Clone, Args)]
pub(super) struct Wanted {
    /// Every plan that no other beats in both cost and mass
    #[arg(long)]
    pub(super) frontier: bool,
    /// A part that must be in the plan; may be repeated
    #[arg(long, value_name = "PART")]
    pub(super) keep: Vec<String>,
    /// A seller that nothing is ordered from; may be repeated
    #[arg(long, value_name = "SELLER")]
    pub(super) without: Vec<String>,
    /// At most so many sellers to order from
    #[arg(long, value_name = "COUNT")]
    pub(super) max_sellers: Option<usize>,
    /// Stop after so many seconds with the best that is known
    #[arg(long, value_name = "SECONDS")]
    pub(super) limit: Option<u32>,
}

/// What can be done with tables.
#[derive(Debug, Subcommand)]
pub(super) enum RatesCommand {
    /// Add a published file of exchange rates to your own tables
    Import {
        /// The file, as it was published, or - for standard input
        file: String,
        /// The folder with your own tables; made when it is not there
        #[arg(long, value_name = "DIR", default_value = "rates")]
        rates: String,
    },
    /// Add published files to the tables of a book, and say what they move in it
    ///
    /// Ends with 0 when every file is taken, whether or not it says anything new; with 1 when one cannot be read or a table
    /// cannot be written, and then no table is changed; with 2 when the command is not understood.
    Update {
        /// The files, as they were published, or - for standard input
        #[arg(required = true, value_name = "FILE")]
        files: Vec<String>,
        /// The book: a folder, or a parts.csv
        #[arg(long, value_name = "BOOK", default_value = ".")]
        book: String,
        /// The folder with the book's own tables; by default the one that its settings name, else `rates` in it
        #[arg(long, value_name = "DIR")]
        rates: Option<String>,
    },
}

/// What a report is written as, and what it leaves out.
#[derive(Debug, Clone, Args)]
pub(super) struct Showing {
    /// The page to write, such as page.html; with neither this nor --pictures, a page and pictures go to `report/` in the book
    #[arg(
        short = 'o',
        long = "output",
        value_name = "FILE",
        conflicts_with = "pictures"
    )]
    pub(super) output: Option<String>,
    /// Folder for the pictures as SVG and PNG, and the verdict to read aloud
    #[arg(long, value_name = "DIR")]
    pub(super) pictures: Option<String>,
    /// The pictures' shape: wide (1920x1080), square (1080x1080) or tall (1080x1920)
    #[arg(long, value_parser = ["wide", "square", "tall"], default_value = "wide")]
    pub(super) shape: String,
    /// What to leave out before others see it: sellers, prices, or both
    #[arg(long, value_name = "WHAT", value_delimiter = ',', value_parser = ["sellers", "prices"])]
    pub(super) hide: Vec<String>,
}

/// How a result is written.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    /// For a terminal
    #[default]
    Table,
    /// For a program
    Json,
    /// For a spreadsheet
    Csv,
    /// For a page
    Markdown,
}

/// What a command is asked with; each flag is also a setting of the book.
#[derive(Debug, Clone, Default, Args)]
pub(super) struct CommonArgs {
    /// The book: a folder, a parts.csv, or - for standard input
    #[arg(default_value = ".")]
    pub(super) book: String,
    /// Country of delivery, ISO 3166-1, or with a region: CA-ON
    #[arg(long, value_name = "COUNTRY")]
    to: Option<String>,
    /// Postcode of the place of delivery, where tax depends on it
    #[arg(long, value_name = "CODE")]
    postcode: Option<String>,
    /// Day of ordering
    #[arg(long, value_name = "DATE")]
    on: Option<String>,
    /// Day of arrival
    #[arg(long, value_name = "DATE")]
    arrival: Option<String>,
    /// Currency in which sums are shown, at the market rate
    #[arg(long = "in", value_name = "CURRENCY")]
    shown: Option<String>,
    /// Folder with tables of your own, laid over the built-in ones
    #[arg(long, value_name = "DIR")]
    pub(super) rates: Option<String>,
    /// How the result is written
    #[arg(long, value_enum, default_value = "table")]
    pub(super) format: Format,
    /// Show every caution, limit and table
    #[arg(long)]
    pub(super) more: bool,
    /// Show how each amount was worked out, with its source
    #[arg(long)]
    pub(super) trail: bool,
    /// Kind of bike: road, gravel, hardtail
    #[arg(long)]
    kind: Option<String>,
    /// How masses are compared: showroom, racing, ride
    #[arg(long)]
    basis: Option<String>,
    /// What the card takes on foreign money, in percent
    #[arg(long, value_name = "PERCENT")]
    card_fee: Option<String>,
    /// Whether anti-dumping is in the headline: count, show
    #[arg(long)]
    remedies: Option<String>,
    /// A choice of the destination, NAME=VALUE; may be repeated
    #[arg(long = "choice", value_name = "NAME=VALUE")]
    choices: Vec<String>,
    /// At most this much, in the destination's money
    #[arg(long, value_name = "AMOUNT")]
    budget: Option<String>,
    /// At most this mass
    #[arg(long, value_name = "GRAMS")]
    max_mass: Option<String>,
    /// What a kilogram less is worth, in the destination's money
    #[arg(long, value_name = "AMOUNT")]
    worth: Option<String>,
    /// The rider's mass, dressed
    #[arg(long, value_name = "KG")]
    rider_kg: Option<String>,
    /// The power the rider holds on a climb
    #[arg(long, value_name = "WATTS")]
    rider_watts: Option<String>,
    /// A fact of the bike, such as gears=electronic; may be repeated
    #[arg(long = "fact", value_name = "NAME=VALUE")]
    facts: Vec<String>,
}

/// The command that a mistyped word is near to.
pub(super) fn near_command(word: &str) -> Option<String> {
    let cli = Cli::command();
    let names: Vec<&str> = cli.get_subcommands().map(clap::Command::get_name).collect();
    words::nearest(word, names).map(str::to_owned)
}

impl CommonArgs {
    /// The arguments of a command line that names only a book and perhaps the tables.
    pub(super) fn of(book: &str, rates: Option<&str>) -> CommonArgs {
        CommonArgs {
            book: book.to_owned(),
            rates: rates.map(str::to_owned),
            ..CommonArgs::default()
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
            ("--on", self.on.is_some()),
            ("--arrival", self.arrival.is_some()),
            ("--in", self.shown.is_some()),
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
            ("--to", "destination", &self.to),
            ("--postcode", "postcode", &self.postcode),
            ("--on", "date", &self.on),
            ("--arrival", "arrival", &self.arrival),
            ("--in", "currency", &self.shown),
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
