//! A program made for one kind of line, in integers: for price lists of a million lines.
//!
//! Everything that does not hang on amounts (country, channel, commodity, origin, day, percentages) is settled once when a
//! [`Swift`] is built; what is left is a short list of integer sums. Amounts are whole numbers of one common fraction of the
//! destination's money, fine enough for the exchange rate and every factor to be exact, so the pennies are those of the
//! decimal program ([`super::assess`]): a test holds the two against each other. What cannot be brought to such integers
//! is not built, and the caller goes by the decimal program instead.

mod build;
mod fixed;
mod run;

use crate::tables::{Collect, Kind};
use fixed::Threshold;

/// A program for lines of one kind, whatever the exchange rate of the day.
///
/// A column is a whole number of units × the rate's divisor to one of the destination's money; what the tables write in
/// that money is kept in whole units and multiplied by the divisor where it is met.
#[derive(Debug, Clone)]
pub struct Swift {
    /// One minor unit of the seller's money in it, before the rate.
    seller_minor: i128,
    /// One minor unit of the destination's money in it.
    minor: i128,
    /// The share of freight up to the border, over its denominator.
    border: (i128, i128),
    /// Whether the seller's money is the destination's.
    at_home: bool,
    steps: Vec<Step>,
    handling: Option<OwnFee>,
    intrinsic: Option<usize>,
    customs: Option<usize>,
}

/// A rate in whole numbers: multiply by one, divide by the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct WholeRate {
    times: i128,
    over: i128,
}

impl WholeRate {
    /// A rate as whole numbers without a common divisor; none when it has too many digits.
    pub fn new(rate: crate::units::Rate) -> Option<WholeRate> {
        let (times, over) = rate.parts();
        let ((t, t_under), (o, o_under)) = (fixed::fraction(times)?, fixed::fraction(over)?);
        let (times, over) = (t.checked_mul(o_under)?, t_under.checked_mul(o)?);
        let shared = fixed::common_divisor(times, over);
        Some(WholeRate { times: times / shared, over: over / shared })
    }

    /// Converts whole minor units of `from` decimals into minor units of `to` decimals, as a fraction over its divisor.
    pub fn fraction(self, amount: i128, from: u32, to: u32) -> Option<(i128, i128)> {
        let up = 10_i128.checked_pow(to.saturating_sub(from))?;
        let down = 10_i128.checked_pow(from.saturating_sub(to))?;
        Some((amount.checked_mul(self.times)?.checked_mul(up)?, self.over.checked_mul(down)?))
    }
}

/// The quotient rounded by a mode; the divisor is above nought.
pub fn divide(number: i128, by: i128, mode: crate::units::Mode) -> i128 {
    fixed::divide(number, by, mode)
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
    /// A duty applies and no rate is known.
    pub gap: bool,
}

/// Where tax is taken, with a default for sums that start empty.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark(pub Collect);

impl Default for Mark {
    fn default() -> Mark {
        Mark(Collect::AtBorder)
    }
}

#[derive(Debug, Clone)]
enum Step {
    Charge(Box<Charge>),
    Relief(Relief),
}

#[derive(Debug, Clone)]
struct Charge {
    test: Test,
    kind: Kind,
    slot: usize,
    group: Option<(usize, bool)>,
    of: Option<Sum>,
    rate: RateChoice,
    flat: i128,
    per: Flat,
    min: Option<i128>,
    max: Option<i128>,
    round: Option<(crate::units::Mode, i128)>,
    carriers: bool,
    from_tariff: bool,
}

#[derive(Debug, Clone, Copy)]
enum Flat {
    Once,
    Pieces,
    Kilograms,
}

/// The rate of a line: none asked for, the first row that holds, or a table with nothing for it.
#[derive(Debug, Clone)]
enum RateChoice {
    Plain,
    First(Vec<(Test, FixedRate)>),
}

#[derive(Debug, Clone, Copy)]
struct FixedRate {
    percent: (i128, i128),
    per_kg: i128,
    per_piece: i128,
}

#[derive(Debug, Clone)]
struct Relief {
    test: Test,
    sum: Sum,
    per_piece: bool,
    op: crate::tables::Op,
    limit: Threshold,
    kinds: u8,
    slots: Vec<usize>,
    collect: Option<Collect>,
}

/// Columns with whole factors, over one denominator.
#[derive(Debug, Clone)]
struct Sum {
    terms: Vec<(usize, i128)>,
    under: i128,
}

/// What is left of a condition.
#[derive(Debug, Clone)]
enum Test {
    Always,
    Any(Vec<Vec<Clause>>),
}

#[derive(Debug, Clone)]
enum Clause {
    Sum(Sum, crate::tables::Op, Threshold),
    UnitValue(crate::tables::Op, Threshold),
    UnitMass(crate::tables::Op, Threshold),
    Collect(bool, Collect),
}

#[derive(Debug, Clone, Copy)]
struct OwnFee {
    percent: (i128, i128),
    least: i128,
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
