//! The law of a parcel of any number of lines, read in whole numbers.

use super::build::Maker;
use super::fixed::Whole;
use super::run::{Work, in_minor};
use super::sheet::{Sheet, sum};
use super::{Charges, NotWhole, Outputs, Scratch, WholeRate};
use crate::rules::form::{Form, Input, Marks, lower, lower_open};
use crate::rules::parcel::{Line, Parcel};
use crate::rules::program::Program;
use crate::units::Dec;

/// A program for parcels whose lines are of the same kinds as a sample's, whatever their amounts and the exchange rate.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(crate) struct Package {
    sheet: Sheet,
    outputs: Outputs,
    /// Minor units in one of the destination's money.
    minor: i64,
}

/// The figures of one line, in minor units of the seller's money.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) struct PackageLine {
    /// Price times quantity.
    pub(crate) list: i64,
    /// The same less discounts that lower the price.
    pub(crate) goods: i64,
    /// Its share of the freight.
    pub(crate) freight: i64,
    /// Its share of the insurance.
    pub(crate) insurance: i64,
    /// Pieces.
    pub(crate) pieces: i64,
    /// Packed mass in tenths of grams.
    pub(crate) packed: i64,
    /// What all pieces weigh without packing, in tenths of grams; zero where it is not known.
    pub(crate) bare: i64,
}

impl PackageLine {
    /// The figures of a line whose seller's money has this many decimals; none where one of them is not whole.
    pub(crate) fn of(line: &Line, digits: u32) -> Option<PackageLine> {
        let bare = match line.unit_mass {
            Some(mass) => mass.0.small_units(1)?.checked_mul(line.pieces.into())?,
            None => 0,
        };
        Some(PackageLine {
            list: line.list.amount().small_units(digits)?,
            goods: line.goods.amount().small_units(digits)?,
            freight: line.freight.amount().small_units(digits)?,
            insurance: line.insurance.amount().small_units(digits)?,
            pieces: line.pieces.into(),
            packed: line.packed.0.small_units(1)?,
            bare,
        })
    }

    fn input(&self, input: Input) -> Option<i64> {
        Some(match input {
            Input::List => self.list,
            Input::Goods => self.goods,
            Input::Freight => self.freight,
            Input::Insurance => self.insurance,
            Input::Kilograms => self.packed,
            Input::Grams => self.bare,
            Input::Pieces => self.pieces,
            Input::Sale(_) => return None,
        })
    }
}

/// What a parcel bears.
#[derive(Debug, Clone)]
pub(crate) struct Borne {
    /// Line by line, to the minor unit.
    pub(crate) lines: Vec<Charges>,
    /// All that is due at the door, in the destination's money.
    pub(crate) due: Dec,
    /// Whether every amount due is a whole number of minor units, so that the lines add up to the parcel.
    pub(crate) whole: bool,
}

impl Package {
    /// Makes a program for parcels like this one, whose amounts do not matter; where they cannot be whole numbers, why.
    pub(crate) fn build(program: &Program, sample: &Parcel) -> Result<Package, NotWhole> {
        Package::of(lower(program, sample)?, program, sample)
    }

    /// The same for parcels that hold any of these lines; none where the rows look at more of a parcel than that.
    pub(crate) fn open(program: &Program, all: &Parcel) -> Option<Package> {
        Package::of(lower_open(program, all).ok()??, program, all).ok()
    }

    fn of(
        (form, marks): (Form, Marks),
        program: &Program,
        sample: &Parcel,
    ) -> Result<Package, NotWhole> {
        let mut maker = Maker::new(&form, sample.paid_in.digits()).ok_or(NotWhole::TooLong)?;
        let outputs = maker.outputs(program, &marks);
        let outputs = outputs.ok_or_else(|| maker.refused.unwrap_or(NotWhole::TooLong))?;
        let minor = 10_i64.checked_pow(program.currency.digits());
        Ok(Package {
            sheet: Sheet::of(maker),
            outputs,
            minor: minor.ok_or(NotWhole::TooLong)?,
        })
    }

    /// What a parcel bears that holds these of the lines, given by their numbers, with the figures of each; none where a figure does
    /// not fit, and the decimal program must be asked.
    pub(crate) fn bear(
        &self,
        which: &[usize],
        lines: &[PackageLine],
        rate: WholeRate,
        scratch: &mut Scratch,
    ) -> Option<Borne> {
        let short = self.calculate(which, lines, rate, &mut scratch.short);
        short.or_else(|| self.calculate(which, lines, rate, &mut scratch.long))
    }

    fn calculate<N: Whole>(
        &self,
        which: &[usize],
        lines: &[PackageLine],
        rate: WholeRate,
        room: &mut Vec<N>,
    ) -> Option<Borne> {
        let work = Work::new(rate);
        let input = |of: Input, nth: usize| lines.get(nth)?.input(of);
        self.sheet.run(which, input, &work, room)?;
        let of_line = |nth: usize| {
            self.outputs.close(
                |reg| self.sheet.at(room, reg, which.len(), nth),
                |figure: N, under| in_minor(figure, self.minor, N::from(under).by(work.over)?),
            )
        };
        let found = (0..which.len()).map(of_line);
        let (due, whole) = self.due(which.len(), &work, room)?;
        Some(Borne {
            lines: found.collect::<Option<_>>()?,
            due,
            whole,
        })
    }

    /// Duty, remedies, tax and fees of all lines, exactly, and whether each is a whole number of minor units.
    fn due<N: Whole>(&self, count: usize, work: &Work<N>, room: &[N]) -> Option<(Dec, bool)> {
        let (mut due, mut whole) = (Dec::ZERO, true);
        for (reg, under) in self.outputs.money[2..].iter().flatten() {
            let under = N::from(*under).by(work.over)?;
            let lines = (0..count).map(|nth| self.sheet.at(room, *reg, count, nth));
            let lines = lines.collect::<Option<Vec<N>>>()?;
            for line in &lines {
                whole &= line.by(N::from(self.minor))?.floor(under).1 == N::default();
            }
            let all = Dec::from_units(sum(&lines)?.long(), 0).ok()?;
            let under = Dec::from_units(under.long(), 0).ok()?;
            due = due.plus(all.over(under).ok()?).ok()?;
        }
        Some((due, whole))
    }
}
