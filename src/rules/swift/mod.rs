//! The form of one kind of line, read in whole numbers: for price lists of a million lines.
//!
//! Everything that does not hang on amounts (country, channel, commodity, origin, day, percentages) is settled once when a
//! [`IntegerProgram`] is built; what is left is a short list of whole-number sums that are exact, so the pennies are those of the decimal
//! reading ([`super::assess`]): tests hold the two against each other, on shipped law and on random law. What cannot be whole
//! numbers is not built, and the caller goes by the decimal reading instead. A [`Package`] is the same for parcels of many lines.

mod build;
mod classes;
mod fixed;
mod many;
mod parcels;
mod run;
mod sale;
mod sheet;

use crate::rules::form::Input;
use crate::tables::Collect;
use crate::units::Overflow;
pub(crate) use classes::TariffTimeline;
pub(in crate::rules) use fixed::{Whole, common_divisor, fraction};
pub(crate) use many::{Package, PackageLine};
pub(crate) use parcels::{AskedInWhole, Asks, OfferLine, Pays, all_at_sale, any_held};
pub(crate) use run::Scratch;
pub(crate) use sale::{AskProgram, PayProgram, SaleAmounts};

/// A program for lines of one kind, whatever the exchange rate of the day: a form in whole numbers.
///
/// Each step gives one figure, which has a denominator of its own that is known beforehand. Amounts of the destination's money
/// are kept times the divisor of the day's rate. Figures have 64 bits where a line fits, and 128 where it does not.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) struct IntegerProgram {
    steps: Vec<Do>,
    outputs: Outputs,
    /// Minor units in one of the destination's money.
    minor: i64,
    /// Whether a condition looks at the mass of a piece.
    asks_mass: bool,
}

/// The figure of a step, by the step's number.
type Reg = u16;

/// One step; a figure with a factor beside it is multiplied by that first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Do {
    /// A number.
    Fixed(i64),
    /// An amount of the destination's money.
    HomeFixed(i64),
    /// A figure of the line.
    Input(Input),
    /// The seller's money in the destination's.
    Home(Reg),
    Plus((Reg, i64), (Reg, i64)),
    Times(Reg, Reg),
    By(Reg, i64),
    Least((Reg, i64), (Reg, i64)),
    Most((Reg, i64), (Reg, i64)),
    /// A figure times `up`, over `down`, rounded, times the step.
    Round(Rounded),
    /// One over the other, each times its factor, rounded, times the step; zero where the divisor is not above zero.
    RoundOver {
        of: (Reg, i64),
        by: (Reg, i64),
        mode: crate::units::Mode,
        step: i64,
    },
    Compare((Reg, i64), crate::tables::Op, (Reg, i64)),
    Both(Reg, Reg),
    Either(Reg, Reg),
    Not(Reg),
    Choose(Reg, (Reg, i64), (Reg, i64)),
    /// A number that is kept as amounts of the destination's money are.
    Raise(Reg),
    /// A figure of each line, by its place among the columns.
    Column {
        at: u16,
        home: bool,
    },
    /// A quotient that only serves as a weight.
    Over(Reg, Reg, i64),
    Total(Reg),
    Mates(Reg, Reg),
    Distinct(Reg),
    Spread(Spread),
}

/// How a figure is rounded: in steps of a number of its units.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Rounded {
    of: Reg,
    up: i64,
    down: i64,
    home: bool,
    mode: crate::units::Mode,
    step: i64,
}

/// How a whole is shared over lines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct Spread {
    whole: (Reg, i64),
    weights: Reg,
    keys: Reg,
    /// What parts are multiples of, in the units of the figure.
    step: i64,
    /// Decimals of the parts.
    digits: u32,
    home: bool,
}

/// Where the answers stand, each amount with its denominator; none where it is always zero.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
struct Outputs {
    /// Intrinsic value, customs value, duty, remedy, tax at the border, fee.
    money: [Option<(Reg, i64)>; 6],
    /// Tax at the sale, with what brings it to minor units of the seller's money.
    sale_tax: Option<(Reg, i64)>,
    collect: Flag,
    gap: Flag,
    /// Rows that ended and would have touched the line.
    ended: Vec<Flag>,
    /// What may not be less than zero.
    never_below: Vec<Reg>,
    /// What may not hold: two rows of one charge at once.
    never_holds: Vec<Reg>,
}

/// Why the law of a parcel cannot be whole numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum NotWhole {
    /// A figure of a row has too many digits, or no end because it was turned from other money.
    Figure,
    /// A share of something has too many digits.
    Part,
    /// Two amounts of money are multiplied.
    OfMoney,
    /// Denominators of two figures that meet grow too long together.
    TooLong,
    /// The form itself does not fit decimals.
    Overflow,
}

impl From<Overflow> for NotWhole {
    fn from(_: Overflow) -> NotWhole {
        NotWhole::Overflow
    }
}

/// A truth or a mark: known, or a step's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Flag {
    Always(i64),
    At(Reg),
}

/// A rate in whole numbers: multiply by one, divide by the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct WholeRate {
    times: i64,
    over: i64,
}

impl WholeRate {
    /// One for one.
    const SAME: WholeRate = WholeRate { times: 1, over: 1 };

    /// A rate as whole numbers without a common divisor; none when it has too many digits.
    pub(crate) fn new(rate: crate::units::Rate) -> Option<WholeRate> {
        let (times, over) = rate.parts();
        let ((t, t_under), (o, o_under)) = (fixed::fraction(times)?, fixed::fraction(over)?);
        let (times, over) = fixed::reduced(t.checked_mul(o_under)?, t_under.checked_mul(o)?);
        Some(WholeRate {
            times: times.short()?,
            over: over.short()?,
        })
    }
}

/// The amounts of one line, in minor units of the seller's money.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct LineInput {
    /// Price times quantity.
    pub(crate) list: i64,
    /// The same less discounts that lower the price.
    pub(crate) goods: i64,
    /// Freight.
    pub(crate) freight: i64,
    /// Insurance.
    pub(crate) insurance: i64,
    /// Pieces.
    pub(crate) pieces: i64,
    /// Packed mass in tenths of grams.
    pub(crate) tenths: i64,
    /// Whether the mass was told.
    pub(crate) mass_known: bool,
    /// The figures of the seller's side.
    pub(crate) sale: SaleAmounts,
}

/// What a line bears, in minor units of the destination's money; tax at the sale in the seller's.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct Charges {
    pub(crate) intrinsic_value: i64,
    pub(crate) customs_value: i64,
    pub(crate) duty: i64,
    pub(crate) remedy: i64,
    pub(crate) sale_tax: i64,
    pub(crate) tax: i64,
    pub(crate) fee: i64,
    /// Where the line's tax is taken.
    pub(crate) collect: Mark,
    /// A layer owes a rate of duty and has none.
    pub(crate) gap: bool,
    /// Which charges that would have touched the line ended, with what followed not known: a number for each set of them, zero
    /// for none.
    pub(crate) ended: u64,
}

/// Where tax is taken, with a default for sums that start empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Mark(pub(crate) Collect);

impl Default for Mark {
    fn default() -> Mark {
        Mark(Collect::AtBorder)
    }
}
