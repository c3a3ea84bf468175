//! The commands that can be typed, with the flags of each. Nothing is done here.

use super::common_args::CommonArgs;
use super::step_args::Steps;
use clap::{Args, CommandFactory, Parser, Subcommand};

use crate::text::words;

const GROUPS: &str = "\
Before you order
  new FOLDER   start a build: all the parts such a bike needs, to fill in
  check        find what is missing, wrong, doubled or out of date
  cost         landed cost, by parcel and by part
  leeway       how far the total could move, and what moves it most
Choosing
  plan         cheapest choice of offers; or lightest, within a budget
  rank         which changes save most weight for the money
  compare      your build beside complete bikes
  order        what to order from each seller, and what to ask first
After delivery
  settle       bills and scales against the estimate; what to claim
  return       what you lose by sending a part back
Writing it down
  seen         enter a price seen today
  take         put an upgrade or another offer into the build
  receive      a parcel is here: what came, what is missing
  weigh        enter what the scale says
  undo         take back what the last command wrote
Sharing and rules
  report       a page, pictures or a spreadsheet
  rates        the customs rules in force, with their sources
  bulk LIST    prices a long list, line by line
  help words   what the terms mean

Options
  --to COUNTRY       where it is delivered: GB, or CA-ON for a province
  --in CURRENCY      show amounts in this currency
  --on DATE          the day you order (YYYY-MM-DD)
  --budget AMOUNT    do not go above this
  --max-mass GRAMS   do not go above this weight
  --more             show every caution, limit and table
  --trail            show how each amount was worked out, with its source
  --format NAME      table (default), json, csv or markdown

In a build's folder, `landwaiter` alone says where it stands and what to do now.
FOLDER is a build's folder, one parts.csv, or - to read parts from standard
input; the current folder by default.
`landwaiter COMMAND --help` lists every option.";

/// What imported bike parts cost by the time they reach your door.
#[derive(Debug, Parser)]
#[command(
    name = "landwaiter",
    version,
    disable_help_subcommand = true,
    args_conflicts_with_subcommands = true
)]
#[command(
    help_template = "{about}\n\n{usage-heading} landwaiter COMMAND [FOLDER] [OPTIONS]\n{after-help}"
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
        /// The kind of bike; asked for on a terminal where it is not given
        #[arg(long, value_parser = ["road", "gravel", "hardtail"])]
        kind: Option<String>,
        /// One spreadsheet, with lists of places, countries and currencies, instead of two tables
        #[arg(long)]
        workbook: bool,
    },
    /// Say what is wrong, missing, doubled, stale, or does not fit
    #[command(mut_arg("shown", |arg| arg.hide(true)), mut_arg("budget", |arg| arg.hide(true)), mut_arg("max_mass", |arg| arg.hide(true)), mut_arg("worth", |arg| arg.hide(true)), mut_arg("rider_kg", |arg| arg.hide(true)), mut_arg("rider_watts", |arg| arg.hide(true)))]
    Check(CommonArgs),
    /// Work out the landed cost, by parcel and by part
    #[command(mut_arg("worth", |arg| arg.hide(true)), mut_arg("rider_kg", |arg| arg.hide(true)), mut_arg("rider_watts", |arg| arg.hide(true)))]
    Cost(CommonArgs),
    /// How far the total could move, and what moves it most
    #[command(mut_arg("worth", |arg| arg.hide(true)), mut_arg("rider_kg", |arg| arg.hide(true)), mut_arg("rider_watts", |arg| arg.hide(true)))]
    Leeway {
        #[command(flatten)]
        asked: CommonArgs,
        /// How sure the money kept ready must be, in percent
        #[arg(long, value_name = "PERCENT", default_value = "90")]
        assurance: String,
        /// Working days from quote to card payment
        #[arg(long, value_name = "DAYS", default_value = "3", value_parser = clap::value_parser!(u32).range(1..=250))]
        days: u32,
        #[command(flatten)]
        tools: Tools,
    },
    /// Compare your build with complete bikes, all weighed the same way
    #[command(mut_arg("budget", |arg| arg.hide(true)), mut_arg("max_mass", |arg| arg.hide(true)), mut_arg("worth", |arg| arg.hide(true)), mut_arg("rider_kg", |arg| arg.hide(true)), mut_arg("rider_watts", |arg| arg.hide(true)))]
    Compare {
        #[command(flatten)]
        asked: CommonArgs,
        #[command(flatten)]
        tools: Tools,
    },
    /// Rank upgrades by grams per pound, alone and together
    Rank(CommonArgs),
    /// Find the cheapest or lightest choice of offers, and prove it
    #[command(mut_arg("worth", |arg| arg.hide(true)), mut_arg("rider_kg", |arg| arg.hide(true)), mut_arg("rider_watts", |arg| arg.hide(true)))]
    Plan {
        #[command(flatten)]
        asked: CommonArgs,
        #[command(flatten)]
        wanted: Wanted,
    },
    /// What to put into a seller's basket, what the checkout should show, and what to ask first
    #[command(mut_arg("trail", |arg| arg.hide(true)), mut_arg("budget", |arg| arg.hide(true)), mut_arg("max_mass", |arg| arg.hide(true)), mut_arg("worth", |arg| arg.hide(true)), mut_arg("rider_kg", |arg| arg.hide(true)), mut_arg("rider_watts", |arg| arg.hide(true)))]
    Order {
        /// The seller, or SELLER/PARCEL; all that is to be ordered without it
        #[arg(value_name = "SELLER")]
        seller: Option<String>,
        #[command(flatten)]
        asked: CommonArgs,
        #[command(flatten)]
        done: Done,
    },
    /// Compare bills and weights with the estimate
    #[command(mut_arg("budget", |arg| arg.hide(true)), mut_arg("max_mass", |arg| arg.hide(true)), mut_arg("worth", |arg| arg.hide(true)), mut_arg("rider_kg", |arg| arg.hide(true)), mut_arg("rider_watts", |arg| arg.hide(true)))]
    Settle {
        #[command(flatten)]
        asked: CommonArgs,
        /// A row for receipts.csv or weighings.csv, its cells divided by commas: "receipts,SELLER,handling,12.00,GBP,2026-10-04"; may be repeated
        #[arg(long = "add", value_name = "ROW")]
        add: Vec<String>,
        /// Date to count the deadlines from; default today
        #[arg(long, value_name = "DATE")]
        day: Option<String>,
    },
    #[command(flatten)]
    Step(Steps),
    /// Take back what the last command wrote into your tables, then what the one before it wrote
    Undo {
        /// A build's folder
        #[arg(value_name = "FOLDER", default_value = ".", hide_default_value = true)]
        book: String,
    },
    /// What you get back, by when, and what you lose, if you return a part
    #[command(mut_arg("budget", |arg| arg.hide(true)), mut_arg("max_mass", |arg| arg.hide(true)), mut_arg("worth", |arg| arg.hide(true)), mut_arg("rider_kg", |arg| arg.hide(true)), mut_arg("rider_watts", |arg| arg.hide(true)))]
    Return {
        #[command(flatten)]
        asked: CommonArgs,
        /// The part
        #[arg(long, value_name = "NAME")]
        part: String,
        /// Reason for returning it; default unwanted, or faulty where it came damaged or not at all
        #[arg(long, value_parser = ["unwanted", "faulty"])]
        reason: Option<String>,
        /// What a repair or a fix would cost, in the delivery country's currency
        #[arg(long, value_name = "AMOUNT")]
        repair: Option<String>,
        /// Date to count the deadlines from; default today
        #[arg(long, value_name = "DATE")]
        day: Option<String>,
    },
    /// Write a page, pictures or a spreadsheet to share
    #[command(mut_arg("format", |arg| arg.hide(true)), mut_arg("more", |arg| arg.hide(true)), mut_arg("trail", |arg| arg.hide(true)))]
    Report {
        #[command(flatten)]
        asked: CommonArgs,
        #[command(flatten)]
        how: Showing,
    },
    /// List the customs rules for a date and country, with their sources
    #[command(args_conflicts_with_subcommands = true)]
    #[command(mut_arg("shown", |arg| arg.hide(true)), mut_arg("basis", |arg| arg.hide(true)), mut_arg("card_fee", |arg| arg.hide(true)), mut_arg("remedies", |arg| arg.hide(true)), mut_arg("budget", |arg| arg.hide(true)), mut_arg("max_mass", |arg| arg.hide(true)), mut_arg("worth", |arg| arg.hide(true)), mut_arg("rider_kg", |arg| arg.hide(true)), mut_arg("rider_watts", |arg| arg.hide(true)))]
    Rates {
        #[command(subcommand)]
        what: Option<RatesCommand>,
        #[command(flatten)]
        asked: CommonArgs,
        /// List the doubtful rows and what is missing
        #[arg(long)]
        gaps: bool,
        /// With --gaps: how many days make a source old
        #[arg(long, value_name = "DAYS", default_value_t = 1095)]
        older_than: i64,
    },
    /// Price a long list of offers, line by line
    #[command(
        after_help = "The list needs the columns date, seller, price and commodity. It may have dispatch, currency, quantity, mass_g, origin, discount_percent and consignment; other columns pass through. The result goes to standard output as CSV: the list with its costs beside it."
    )]
    #[command(mut_arg("shown", |arg| arg.hide(true)), mut_arg("on", |arg| arg.hide(true)), mut_arg("arrival", |arg| arg.hide(true)), mut_arg("format", |arg| arg.hide(true)), mut_arg("more", |arg| arg.hide(true)), mut_arg("trail", |arg| arg.hide(true)), mut_arg("kind", |arg| arg.hide(true)), mut_arg("basis", |arg| arg.hide(true)), mut_arg("facts", |arg| arg.hide(true)), mut_arg("budget", |arg| arg.hide(true)), mut_arg("max_mass", |arg| arg.hide(true)), mut_arg("worth", |arg| arg.hide(true)), mut_arg("rider_kg", |arg| arg.hide(true)), mut_arg("rider_watts", |arg| arg.hide(true)))]
    Bulk {
        /// The list: a CSV file, or - for standard input
        list: String,
        #[command(flatten)]
        asked: CommonArgs,
        /// Number of threads that price
        #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..))]
        jobs: u8,
        /// Set lines that cannot be priced aside in this file, each with the reason, and go on
        #[arg(long, value_name = "FILE")]
        keep_going: Option<String>,
        /// Write cells as they came, for programs; otherwise text that a spreadsheet would take for a formula begins with a `'`
        #[arg(long)]
        plain_cells: bool,
    },
    /// Explain the words, or a command
    Help {
        /// `words`, or a command
        topic: Option<String>,
    },
}

/// What became of an order, to be written down.
#[derive(Debug, Clone, Args)]
pub(super) struct Done {
    /// It is ordered: write down its parcel and what was paid
    #[arg(
        long,
        requires = "paid",
        requires = "seller",
        conflicts_with = "cancelled"
    )]
    pub(super) placed: bool,
    /// What the checkout took in the seller's currency, or `GBP 110.40` as it left the account
    #[arg(
        long,
        value_name = "AMOUNT",
        requires = "placed",
        allow_negative_numbers = true
    )]
    pub(super) paid: Option<String>,
    /// It was cancelled before it came: its parts are to be ordered again
    #[arg(long, requires = "seller")]
    pub(super) cancelled: bool,
    /// The day it was ordered; default today
    #[arg(long, value_name = "DATE", requires = "placed")]
    pub(super) date: Option<String>,
}

/// What of the build is held against complete bikes.
#[derive(Debug, Clone, Copy, Args)]
pub(super) struct Tools {
    /// Count tools, fluids, shop work and spares too
    #[arg(long)]
    pub(super) with_tools: bool,
}

/// What a plan is asked for beside the limits that every command knows.
#[derive(Debug, Clone, Args)]
pub(super) struct Wanted {
    /// Every best trade-off between cost and weight
    #[arg(long)]
    pub(super) frontier: bool,
    /// Keep this part in the plan; may be repeated
    #[arg(long, value_name = "PART")]
    pub(super) keep: Vec<String>,
    /// Order nothing from this seller; may be repeated
    #[arg(long, value_name = "SELLER")]
    pub(super) without: Vec<String>,
    /// Order from no more than this many sellers
    #[arg(long, value_name = "COUNT")]
    pub(super) max_sellers: Option<usize>,
    /// Stop after this many seconds with the best found
    #[arg(long, value_name = "SECONDS")]
    pub(super) limit: Option<u32>,
    /// Write the plan into the build's tables; `undo` takes it back
    #[arg(long, conflicts_with = "frontier")]
    pub(super) write: bool,
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
    /// The page or spreadsheet to write (.html, .xlsx)
    #[arg(
        short = 'o',
        long = "output",
        value_name = "FILE",
        conflicts_with = "pictures"
    )]
    pub(super) output: Option<String>,
    /// Folder for the pictures and a text to read aloud
    #[arg(long, value_name = "DIR")]
    pub(super) pictures: Option<String>,
    /// Shape of the pictures: wide, square or tall
    #[arg(long, value_parser = ["wide", "square", "tall"], default_value = "wide", hide_possible_values = true, hide_default_value = true)]
    pub(super) shape: String,
    /// Leave out: sellers, prices, or both
    #[arg(long, value_name = "WHAT", value_delimiter = ',', value_parser = ["sellers", "prices"], hide_possible_values = true)]
    pub(super) hide: Vec<String>,
}

/// The command that a mistyped word is near to.
pub(super) fn near_command(word: &str) -> Option<String> {
    let cli = Cli::command();
    let names: Vec<&str> = cli.get_subcommands().map(clap::Command::get_name).collect();
    words::nearest(word, names).map(str::to_owned)
}
