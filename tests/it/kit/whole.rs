//! The reading of a parcel in whole numbers, held against the decimals line by line.

use landwaiter::rules::{
    Assessment, LineCharges, NotWhole, Package, PackageLine, Parcel, Program, Room, WholeRate,
};
use landwaiter::tables::{Collect, Kind};
use landwaiter::units::{Dec, Rounding};

/// Why whole numbers do not say what a parcel bears.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Refusal {
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

/// Asks whole numbers what a parcel bears, in the destination's money of so many decimals: the error says where they differ from
/// what the decimals said.
pub(crate) fn agrees(
    program: &Program,
    parcel: &Parcel,
    exact: &Assessment,
    digits: u32,
) -> Result<Option<Refusal>, String> {
    let decimals: Vec<Borne> = (0..parcel.lines.len())
        .map(|at| by_decimals(exact, at, digits))
        .collect();
    let wrong = !exact.clashes.is_empty() || !exact.negative.is_empty();
    let units = (digits, parcel.paid_in.digits());
    let whole = match in_whole_numbers(program, parcel, units) {
        Ok(_) if wrong => return Err("only decimals say that something is wrong".to_owned()),
        Ok(whole) => whole,
        Err(_) if wrong => return Ok(Some(Refusal::Wrong)),
        Err(Refusal::TooLarge) if decimals.iter().any(|line| line.finer_than(digits)) => {
            return Ok(Some(Refusal::Finer));
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

fn by_decimals(exact: &Assessment, at: usize, digits: u32) -> Borne {
    let kinds = [Kind::Duty, Kind::Remedy, Kind::Tax, Kind::Fee];
    let [duty, remedy, tax, fee] = kinds.map(|kind| exact.of_line(kind, at).unwrap());
    let at_sale = exact.sale_tax_of_line(at).unwrap().amount();
    let rows = exact.entries.iter().filter(|row| row.amount.is_some());
    let values = rows.filter(|row| row.id == "customs_value" && row.kind == Some(Kind::Value));
    let customs = Dec::total(values.filter_map(|row| row.shares.get(at).copied())).unwrap();
    let customs = Rounding::minor(digits).apply(customs).unwrap();
    Borne {
        money: [duty, remedy, tax, fee, at_sale, customs],
        collect: exact.collect[at],
        gap: exact.gaps.contains(&at),
        ended: exact.ended.iter().any(|row| row.lines.contains(&at)),
    }
}

fn in_whole_numbers(
    program: &Program,
    parcel: &Parcel,
    (home, sellers): (u32, u32),
) -> Result<Vec<Borne>, Refusal> {
    let package = Package::build(program, parcel).map_err(Refusal::Law)?;
    let of_lines = parcel
        .lines
        .iter()
        .map(|line| PackageLine::of(line, sellers));
    let lines: Vec<PackageLine> = of_lines.collect::<Option<_>>().ok_or(Refusal::Line)?;
    let rate = WholeRate::new(parcel.customs).ok_or(Refusal::Rate)?;
    let mut room = Room::default();
    let charges = package.apply(&lines, rate, &mut room);
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
    Ok(charges.ok_or(Refusal::TooLarge)?.iter().map(of).collect())
}
