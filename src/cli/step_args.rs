//! What can be typed to write a step down.

use clap::{Args, Subcommand};

use super::common_args::BookArgs;
use crate::answer::Deed;

/// The commands that write a step down.
#[derive(Debug, Subcommand)]
pub(super) enum Steps {
    /// Enter what the scale said of a part, or of the whole bike
    #[command(
        after_help = "Examples:\n  landwaiter weigh \"Old saddle\" 231\n  landwaiter weigh Tyre 486 builds/gravel --piece front --date 2026-10-03"
    )]
    Weigh {
        /// The part, as `parts.csv` names it, or `bike`
        part: String,
        /// What the scale said, in grams
        #[arg(allow_negative_numbers = true)]
        grams: String,
        #[command(flatten)]
        into: Into,
        /// Only this piece lay on the scale, as `front`
        #[arg(long, value_name = "PIECE", conflicts_with = "pair")]
        piece: Option<String>,
        /// Both pieces of a pair lay on the scale
        #[arg(long)]
        pair: bool,
    },
    /// Enter the price of an offer as it is seen now
    #[command(
        after_help = "Examples:\n  landwaiter seen \"Old saddle\" 79.00\n  landwaiter seen Tyre 44.90 builds/gravel --seller \"Corner Shop\""
    )]
    Seen {
        /// The part, as `parts.csv` names it
        part: String,
        /// The price of one, in the currency of its row
        #[arg(allow_negative_numbers = true)]
        price: String,
        #[command(flatten)]
        into: Into,
        /// Who asks this price, where several sellers offer the part
        #[arg(long, value_name = "SELLER")]
        seller: Option<String>,
    },
    /// A parcel is here: note the day, what came, and what did not
    #[command(
        after_help = "Examples:\n  landwaiter receive \"Corner Shop\"\n  landwaiter receive summer builds/gravel --missing \"Spare hanger\" --date 2026-09-25"
    )]
    Receive {
        /// The parcel: its label, its seller, or SELLER/LABEL
        parcel: String,
        #[command(flatten)]
        into: Into,
        /// A part that was not in it; may be repeated
        #[arg(long, value_name = "PART")]
        missing: Vec<String>,
        /// A part that came damaged; may be repeated
        #[arg(long, value_name = "PART")]
        damaged: Vec<String>,
    },
    /// Put an upgrade, or another offer of a part, into the build
    #[command(
        after_help = "Examples:\n  landwaiter take \"Carbon saddle\"\n  landwaiter take Crankset builds/gravel --seller \"Corner Shop\""
    )]
    Take {
        /// The part, as `parts.csv` names it
        part: String,
        #[command(flatten)]
        into: Into,
        /// Whose offer it is, where several sellers offer the part
        #[arg(long, value_name = "SELLER")]
        seller: Option<String>,
    },
}

/// The book that a command writes into, and how it answers.
#[derive(Debug, Clone, Args)]
pub(super) struct Into {
    #[command(flatten)]
    pub(super) of: BookArgs,
    /// The day it happened; default today
    #[arg(long, value_name = "DATE")]
    pub(super) date: Option<String>,
}

impl Steps {
    /// The book that is written into, and the step.
    pub(super) fn deed(&self) -> (&Into, Deed<'_>) {
        match self {
            Steps::Weigh {
                part,
                grams,
                into,
                piece,
                pair,
            } => {
                let piece = piece.as_deref();
                let deed = Deed::Weigh {
                    part,
                    grams,
                    piece,
                    pair: *pair,
                };
                (into, deed)
            }
            Steps::Seen {
                part,
                price,
                into,
                seller,
            } => {
                let seller = seller.as_deref();
                let deed = Deed::Seen {
                    part,
                    price,
                    seller,
                };
                (into, deed)
            }
            Steps::Receive {
                parcel,
                into,
                missing,
                damaged,
            } => {
                let deed = Deed::Receive {
                    parcel,
                    missing,
                    damaged,
                };
                (into, deed)
            }
            Steps::Take { part, into, seller } => {
                let seller = seller.as_deref();
                (into, Deed::Take { part, seller })
            }
        }
    }
}
