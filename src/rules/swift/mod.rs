//! A program made for one kind of line, in integers: for price lists of a million lines.
//!
//! Everything that does not hang on amounts (country, channel, commodity, origin, day, percentages) is settled once when a
//! [`Swift`] is built; what is left is a short list of integer sums. Amounts are whole numbers of one common fraction of the
//! destination's money, fine enough for the exchange rate and every factor to be exact, so the pennies are those of the
//! decimal program ([`super::assess`]): a test holds the two against each other. What cannot be brought to such integers
//! is not built, and the caller goes by the decimal program instead.

mod build;
mod classes;
mod fixed;
mod run;

use crate::tables::{Collect, Kind};
pub use classes::Classes;
pub use fixed::times_over;
use fixed::{Threshold, Whole};
pub use run::Scratch;

/// A program for lines of one kind, whatever the exchange rate of the day.
///
/// A column is a whole number of units × the rate's divisor to one of the destination's money; what the tables write in
/// that money is kept in whole units and multiplied by the divisor where it is met. Constants have 64 bits; columns have
/// them too where a line fits, and 128 where it does not.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct Swift {
    /// One minor unit of the seller's money in it, before the rate.
    seller_minor: i64,
    /// One minor unit of the destination's money in it.
    minor: i64,
    /// The share of freight up to the border, over its denominator.
    border: (i64, i64),
    /// Whether the seller's money is the destination's.
    at_home: bool,
    steps: Vec<Step>,
    /// The columns that are charges, each once, and whether it is kept in minor units too.
    totals: Vec<(Slot, Kind, bool)>,
    /// How many columns there are.
    width: usize,
    handling: Option<OwnFee>,
    intrinsic: Option<Slot>,
    customs: Option<Slot>,
    /// Charges and rates that ended, of which it is not known what followed.
    ended: Vec<Ended>,
}

/// A column, by its number.
type Slot = u8;

/// A rate in whole numbers: multiply by one, divide by the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WholeRate {
    times: i64,
    over: i64,
}

impl WholeRate {
    /// A rate as whole numbers without a common divisor; none when it has too many digits.
    pub fn new(rate: crate::units::Rate) -> Option<WholeRate> {
        let (times, over) = rate.parts();
        let ((t, t_under), (o, o_under)) = (fixed::fraction(times)?, fixed::fraction(over)?);
        let (times, over) = fixed::reduced(t.checked_mul(o_under)?, t_under.checked_mul(o)?);
        Some(WholeRate { times: times.short()?, over: over.short()? })
    }

    /// From minor units of money with `from` decimals to minor units of money with `to`; none when it is too long.
    pub fn scale(self, from: u32, to: u32) -> Option<Scale> {
        let up = 10_i128.checked_pow(to.saturating_sub(from))?.checked_mul(self.times.into())?;
        let down = 10_i128.checked_pow(from.saturating_sub(to))?.checked_mul(self.over.into())?;
        let (up, down) = fixed::reduced(up, down);
        Some(Scale { up: up.short()?, down: down.short()? })
    }
}

/// A rate between the minor units of two moneys: times one, over the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Scale {
    up: i64,
    down: i64,
}

impl Scale {
    /// The amount in the other money's minor units, rounded half up.
    #[inline]
    pub fn half_up(self, amount: i64) -> Option<i64> {
        times_over(amount, self.up, self.down, crate::units::Mode::HalfUp)
    }

    /// The whole minor units below the amount, and what is left in parts of one.
    #[inline]
    pub fn floor(self, amount: i64) -> Option<(i64, i64)> {
        match amount.checked_mul(self.up) {
            Some(over) => Some((over.checked_div_euclid(self.down)?, over.checked_rem_euclid(self.down)?)),
            None => {
                let (over, down) = (i128::from(amount) * i128::from(self.up), i128::from(self.down));
                Some((over.checked_div_euclid(down)?.short()?, over.checked_rem_euclid(down)?.short()?))
            }
        }
    }
}

/// The amounts of one line, in minor units of the seller's money.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Amounts {
    /// Price times quantity.
    pub list: i64,
    /// The same less discounts that lower the price.
    pub goods: i64,
    /// Freight.
    pub freight: i64,
    /// Insurance.
    pub insurance: i64,
    /// Pieces.
    pub pieces: i64,
    /// Packed mass in tenths of grams.
    pub tenths: i64,
}

/// What a line bears, in minor units of the destination's money; tax at the sale in the seller's.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[expect(missing_docs, reason = "named as in the outputs")]
pub struct Charges {
    pub intrinsic_value: i64,
    pub customs_value: i64,
    pub duty: i64,
    pub remedy: i64,
    pub sale_tax: i64,
    pub tax: i64,
    pub fee: i64,
    /// Where the line's tax is taken.
    pub collect: Mark,
    /// A layer owes a rate of duty and has none.
    pub gap: bool,
    /// Which charges that would have touched the line ended, with what followed not known: a number for each set of them, nought
    /// for none.
    pub ended: u64,
}

/// Where tax is taken, with a default for sums that start empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark(pub Collect);

impl Default for Mark {
    fn default() -> Mark {
        Mark(Collect::AtBorder)
    }
}

#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Step {
    Charge(Charge),
    Relief(Relief),
}

#[derive(Debug, Clone, PartialEq, Eq, Hash)]
struct Charge {
    test: Test,
    kind: Kind,
    slot: Slot,
    group: Option<(u8, bool)>,
    of: Option<Sum>,
    rate: RateChoice,
    flat: i64,
    per: Flat,
    min: Option<i64>,
    max: Option<i64>,
    round: Option<(crate::units::Mode, i64)>,
    carriers: bool,
    owes: bool,
}

/// A charge that would bear on a line had a row not ended.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
struct Ended {
    test: Test,
    kind: Kind,
    slot: Slot,
    /// The rows it could take its rate from, and whether each ended; the first that holds decides. None where it asks no table.
    rows: Option<Vec<(Test, bool)>>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Flat {
    Once,
    Pieces,
    Kilograms,
}

/// The rate of a line: none asked for, the first row that holds, or a table with nothing for it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum RateChoice {
    Plain,
    First(Vec<(Test, FixedRate)>),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct FixedRate {
    percent: (i64, i64),
    per_kg: i64,
    per_piece: i64,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash)]
struct Relief {
    test: Test,
    sum: Sum,
    per_piece: bool,
    op: crate::tables::Op,
    limit: Threshold,
    /// The kinds and the columns that are gone from here on.
    kinds: u8,
    slots: u128,
    /// Whether what it tests counts duty.
    tests_duty: bool,
    /// The columns that are emptied.
    cleared: Vec<Slot>,
    collect: Option<Collect>,
}

/// Columns with whole factors, over one denominator.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
struct Sum {
    terms: Vec<(Slot, i64)>,
    under: i64,
}

/// What is left of a condition.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Test {
    Always,
    Any(Vec<Vec<Clause>>),
}

#[derive(Debug, Clone, PartialEq, Eq, Hash)]
enum Clause {
    Sum(Sum, crate::tables::Op, Threshold),
    UnitValue(crate::tables::Op, Threshold),
    UnitMass(crate::tables::Op, Threshold),
    Collect(bool, Collect),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
struct OwnFee {
    percent: (i64, i64),
    least: i64,
}

/// The bit of a column in a set of columns; there are fewer than 128.
fn column(slot: Slot) -> u128 {
    1_u128.checked_shl(slot.into()).unwrap_or(0)
}

/// The bit of a kind in a set of kinds.
fn bit(kind: Kind) -> u8 {
    1 << match kind {
        Kind::Value => 0,
        Kind::Duty => 1,
        Kind::Remedy => 2,
        Kind::Tax => 3,
        Kind::SaleTax => 4,
        Kind::Fee => 5,
    }
}
