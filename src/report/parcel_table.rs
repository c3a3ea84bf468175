//! The table of the parcels: what each costs, charge by charge, and what a parcel is called.

use super::show::Show;
use super::shown::{ShownLanded, ShownSums, shown};
use super::view::{Cell, Grid};
use crate::landed::{Bill, ConsignmentState, Landed};
use crate::units::{Overflow, ShownMoney};

/// The table of the parcels with their charges; `apart` gives insurance a column of its own, beside the freight.
pub(super) fn by_parcel(landed: &Landed, show: &Show, apart: bool) -> Result<Grid, Overflow> {
    parcels_of(&shown(landed, show)?, show, apart)
}

/// The same as [`by_parcel`] for a landed cost that is in the money shown already.
pub(super) fn parcels_of(
    landed: &ShownLanded<'_>,
    show: &Show,
    apart: bool,
) -> Result<Grid, Overflow> {
    let mut grid = parcels_in(
        landed,
        show,
        if apart {
            Columns::All
        } else {
            Columns::Charges
        },
    )?;
    if !apart {
        grid.on_screen = Some(Box::new(parcels_in(landed, show, Columns::Grouped)?));
    }
    Ok(grid)
}

/// Which columns a table of parcels has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Columns {
    /// One for each charge, and insurance beside the shipping.
    All,
    /// One for each charge.
    Charges,
    /// Goods after their discount, duties together, fees together: what fits a terminal.
    Grouped,
}

impl Columns {
    /// The figures of a row, each with the name of its column.
    fn figures(
        self,
        a: &ShownSums,
        show: &Show,
    ) -> Result<Vec<(&'static str, ShownMoney)>, Overflow> {
        let carried = a.freight.plus(a.insurance)?;
        let (tax, landed) = (a.tax()?, a.landed()?);
        if self == Columns::Grouped {
            return Ok(vec![
                ("Goods", a.net_goods()?),
                ("Shipping", carried),
                ("Duties", a.duty.plus(a.remedy)?),
                (show.tax(), tax),
                ("Fees", a.handling.plus(a.card_fee)?),
                ("Landed", landed),
            ]);
        }
        let mut all = vec![("goods", a.goods), ("discount", a.discount.negated())];
        if self == Columns::All {
            all.extend([("shipping", a.freight), ("insurance", a.insurance)]);
        } else {
            all.push(("shipping", carried));
        }
        all.extend([
            ("duty", a.duty),
            ("anti-dumping", a.remedy),
            (show.tax(), tax),
            ("handling fee", a.handling),
            ("card fee", a.card_fee),
            ("landed cost", landed),
        ]);
        Ok(all)
    }

    /// The header.
    fn names(self, show: &Show) -> Result<Vec<&'static str>, Overflow> {
        let first = if self == Columns::Grouped {
            "Parcel"
        } else {
            "parcel"
        };
        let figures = self.figures(&ShownSums::default(), show)?;
        let names = figures.into_iter().map(|(name, _)| name);
        Ok(std::iter::once(first).chain(names).collect())
    }

    /// A row.
    fn row(self, name: String, a: &ShownSums, show: &Show) -> Result<Vec<Cell>, Overflow> {
        let figures = self.figures(a, show)?.into_iter();
        let figures = figures.map(|(_, figure)| Cell::number(show.amount(figure)));
        Ok(std::iter::once(Cell::text(name)).chain(figures).collect())
    }
}

/// The table of the parcels with these columns.
fn parcels_in(landed: &ShownLanded<'_>, show: &Show, columns: Columns) -> Result<Grid, Overflow> {
    let mut grid = Grid::new("parcels", &columns.names(show)?);
    for bill in &landed.bills {
        let name = format!(
            "{}{}",
            parcel_name(bill.home),
            standing_word(bill.home.kind)
        );
        grid.rows.push(columns.row(name, &bill.amounts, show)?);
        if bill.in_price != ShownSums::default() {
            let mut row = columns.row("  due, in the price".to_owned(), &bill.in_price, show)?;
            for cell in row.iter_mut().skip(1) {
                *cell = match cell.as_str() {
                    "0.00" | "0" => Cell::Empty,
                    text => Cell::NotDue(text.to_owned()),
                };
            }
            grid.rows.push(row);
        }
    }
    if !landed.held.is_empty() {
        let held = ShownSums {
            goods: landed.totals.held,
            ..ShownSums::default()
        };
        grid.rows
            .push(columns.row("Already yours".to_owned(), &held, show)?);
    }
    if grid.rows.len() > 1 {
        grid.foot = Some(columns.row("Total".to_owned(), &landed.totals.amounts, show)?);
    }
    grid.drop_empty_columns();
    Ok(grid)
}

/// What a parcel is called on a screen.
pub(super) fn parcel_name(bill: &Bill) -> &str {
    match bill.seller.as_str() {
        "" if bill.id == "at home" => "Bought locally",
        _ => &bill.id,
    }
}

fn standing_word(kind: ConsignmentState) -> &'static str {
    match kind {
        ConsignmentState::ToOrder => "",
        ConsignmentState::OnOrder => " (on the way)",
        ConsignmentState::InHand => " (already yours)",
        ConsignmentState::Gift => " (gift)",
    }
}
