//! The reading of a parcel in whole numbers, held against the decimals line by line.

use super::working::Working;
use crate::rules::{
    Assessment, LineCharges, NotWhole, Package, PackageLine, Parcel, Program, Scratch, WholeRate,
};
use crate::tables::{Collect, Kind};
use crate::units::{Dec, Overflow, Rounding};

/// Why whole numbers do not say what a parcel bears.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum NoWhole {
    /// The law's figures cannot be whole numbers.
    Law(NotWhole),
    /// The exchange rate has too many digits.
    Rate,
    /// An amount or a mass of a line is not a whole number of its units.
    Line,
    /// A charge is not a whole number of minor units, so that its lines would not add up.
    Finer,
    /// Decimals say that something is wrong: a charge below nothing, or two rows of one charge at once.
    Wrong,
    /// A figure does not fit 128 bits.
    TooLarge,
}

/// What one line bears.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Borne {
    /// Duty, remedies, tax at the border, fees; tax at the sale in the seller's money; and the customs value, where it has a row.
    money: [Dec; 6],
    collect: Collect,
    gap: bool,
    ended: bool,
}

/// Calculates in whole numbers what a worked parcel bears, in the destination's money of `digits` decimals: the error says where
/// they differ from the result in decimals. They say nothing of a parcel that crosses no border.
pub(crate) fn whole_agrees(work: &Working<'_>, digits: u32) -> Result<Option<NoWhole>, String> {
    let Some(ruled) = &work.ruled else {
        return Ok(None);
    };
    let program = &ruled.prepared.program;
    agrees(program, &ruled.parcel, &ruled.assessment, digits)
}

/// The same as [`whole_agrees`] for a program and a parcel.
pub(crate) fn agrees(
    program: &Program,
    parcel: &Parcel,
    exact: &Assessment,
    digits: u32,
) -> Result<Option<NoWhole>, String> {
    let decimals: Vec<Borne> = (0..parcel.lines.len())
        .map(|at| by_decimals(exact, at, digits))
        .collect::<Result<_, Overflow>>()
        .map_err(|_| "a sum in decimals is too large".to_owned())?;
    let wrong = !exact.clashes.is_empty() || !exact.negative.is_empty();
    let units = (digits, parcel.paid_in.digits());
    let whole = match in_whole_numbers(program, parcel, units) {
        Ok(_) if wrong => return Err("only decimals say that something is wrong".to_owned()),
        Ok(whole) => whole,
        Err(_) if wrong => return Ok(Some(NoWhole::Wrong)),
        Err(NoWhole::TooLarge) if decimals.iter().any(|line| line.finer_than(digits)) => {
            return Ok(Some(NoWhole::Finer));
        }
        Err(refusal) => return Ok(Some(refusal)),
    };
    let mut both = whole.iter().zip(&decimals).enumerate();
    match both.find(|(_, (whole, decimals))| whole != decimals) {
        Some((at, (whole, decimals))) => Err(format!(
            "line {at} in whole numbers:\n{whole:?}\nand in decimals:\n{decimals:?}"
        )),
        None => Ok(None),
    }
}

impl Borne {
    fn finer_than(&self, digits: u32) -> bool {
        self.money[..4]
            .iter()
            .any(|amount| amount.decimals() > digits)
    }
}

fn by_decimals(exact: &Assessment, at: usize, digits: u32) -> Result<Borne, Overflow> {
    let of = |kind: Kind| exact.of_line(kind, at);
    let at_sale = exact.sale_tax_of_line(at)?.amount();
    let rows = exact.entries.iter().filter(|row| row.amount.is_some());
    let values = rows.filter(|row| row.id == "customs_value" && row.kind == Some(Kind::Value));
    let customs = Dec::total(values.filter_map(|row| row.shares.get(at).copied()))?;
    let customs = Rounding::minor(digits).apply(customs)?;
    Ok(Borne {
        money: [
            of(Kind::Duty)?,
            of(Kind::Remedy)?,
            of(Kind::Tax)?,
            of(Kind::Fee)?,
            at_sale,
            customs,
        ],
        collect: exact.collect[at],
        gap: exact.gaps.contains(&at),
        ended: exact.ended.iter().any(|row| row.lines.contains(&at)),
    })
}

fn in_whole_numbers(
    program: &Program,
    parcel: &Parcel,
    (home, sellers): (u32, u32),
) -> Result<Vec<Borne>, NoWhole> {
    let package = Package::build(program, parcel).map_err(NoWhole::Law)?;
    let of_lines = parcel
        .lines
        .iter()
        .map(|line| PackageLine::of(line, sellers));
    let lines: Vec<PackageLine> = of_lines.collect::<Option<_>>().ok_or(NoWhole::Line)?;
    let rate = WholeRate::new(parcel.customs).ok_or(NoWhole::Rate)?;
    let all: Vec<usize> = (0..lines.len()).collect();
    let borne = package.bear(&all, &lines, rate, &mut Scratch::default());
    // lines of amounts that are no whole minor units would not add up to the parcel
    let borne = borne.filter(|borne| borne.whole);
    let of = |own: &LineCharges| {
        let home = |amount: i64| Dec::new(amount, home);
        let at_sale = Dec::new(own.sale_tax, sellers);
        Borne {
            money: [
                home(own.duty),
                home(own.remedy),
                home(own.tax),
                home(own.fee),
                at_sale,
                home(own.customs_value),
            ],
            collect: own.collect.0,
            gap: own.gap,
            ended: own.ended != 0,
        }
    };
    Ok(borne
        .ok_or(NoWhole::TooLarge)?
        .lines
        .iter()
        .map(of)
        .collect())
}
