//! An order that was placed, or cancelled: its parts with what was paid for each, and its row of `parcels.csv`.

use std::collections::BTreeMap;

use super::{Cells, Edits, number, set, text};
use crate::book::edit::{Edit, Find};
use crate::book::{Book, ParcelRow, Part, Receipt, Standing, consignment_of, whole_name};
use crate::landed::{Checkout, Jurisdiction, card_fee, checkouts};
use crate::text::words::{self, quoted};
use crate::text::{Diagnostic, Problems};
use crate::units::number::{Style, money};
use crate::units::{Currency, Date, Dec, HomeMoney, Mode, Overflow, SellerMoney};

/// An order as it was placed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Placed {
    /// The name of its parcel from now on.
    pub(crate) parcel: String,
    /// The day.
    pub(crate) date: Date,
    /// The seller's money.
    pub(crate) currency: Currency,
    /// What the checkout should have shown.
    pub(crate) total: SellerMoney,
    /// What leaves the account for it by the sums.
    pub(crate) expected: HomeMoney,
    /// What left the account.
    pub(crate) paid: HomeMoney,
    /// What the checkout took, where it was said in the seller's money.
    pub(crate) took: Option<SellerMoney>,
    /// How many rows are on the way now.
    pub(crate) parts: usize,
}

/// The edits that write down that the parcel of a seller was ordered and this was paid for it, with or without its currency: in the
/// seller's money what the checkout took, to which the card's fee comes, in the destination's what left the account.
pub(crate) fn placed(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    (parcel, typed): (&str, &str),
    date: Date,
) -> Result<(Edits, Placed), Problems> {
    let all = checkouts(book, jurisdiction)?;
    let order = one_of(&all, parcel)?;
    let bill = &order.bill;
    let (took, paid) = as_paid(order, typed, jurisdiction, date)?;
    let label = label(book, order, date);
    told_before(book, order, &label)?;
    let mut edits = Edits::new();
    for (row, paid) in order.basket.iter().zip(shared(order, paid, jurisdiction)?) {
        let cells = vec![
            text("standing", Standing::OnOrder.name()),
            text("parcel", label.as_str()),
            number(
                "paid",
                paid.amount().fixed(jurisdiction.currency().digits()),
            ),
        ];
        edits.push(set(row, cells));
    }
    edits.push(parcel_row(book, (&bill.seller, &label), date));
    let placed = Placed {
        parcel: consignment_of(&bill.seller, &label),
        date,
        currency: bill.paid_in,
        total: order.sums.total,
        expected: order.to_seller()?,
        paid,
        took,
        parts: order.basket.len(),
    };
    Ok((edits, placed))
}

/// The order that is meant: the parcel of this name, or the only one of the seller.
fn one_of<'c, 'b>(all: &'c [Checkout<'b>], parcel: &str) -> Result<&'c Checkout<'b>, Diagnostic> {
    let bought = |order: &&Checkout<'_>| !order.bill.seller.is_empty();
    let meant = all
        .iter()
        .filter(bought)
        .filter(|order| order.is_meant(parcel));
    let found: Vec<&Checkout<'_>> = meant.collect();
    let names = |orders: &[&Checkout<'_>]| -> Vec<String> {
        orders.iter().map(|order| order.bill.id.clone()).collect()
    };
    match found.as_slice() {
        [one] => Ok(one),
        [] => {
            let what = format!("nothing is to be ordered from {}", quoted(parcel));
            let known = names(&all.iter().filter(bought).collect::<Vec<_>>());
            Err(Diagnostic::error(what).help(if known.is_empty() {
                "no part with a seller has the standing `to-order`".to_owned()
            } else {
                format!("to be ordered: {}", words::few(&known))
            }))
        }
        several => {
            let names = names(several);
            let what = format!(
                "{} are to be ordered from {}",
                words::list(&names, "and"),
                quoted(parcel)
            );
            let whole =
                |order: &&Checkout<'_>| quoted(&whole_name(&order.bill.seller, order.label()));
            let whole: Vec<String> = several.iter().map(whole).collect();
            Err(Diagnostic::error(what).help(format!("say which: {}", words::few(&whole))))
        }
    }
}

/// What the checkout took, where it was said in the seller's money, and what left the account.
fn as_paid(
    order: &Checkout<'_>,
    typed: &str,
    jurisdiction: &Jurisdiction<'_>,
    date: Date,
) -> Result<(Option<SellerMoney>, HomeMoney), Diagnostic> {
    let (amount, readings) = money(typed.trim(), Style::Point).map_err(|_| {
        Diagnostic::error(format!("{} is not an amount", quoted(typed)))
            .help("enter what was paid, as in `139.92` or `GBP 110.40`")
    })?;
    if amount.is_negative() {
        let what = format!("{amount} cannot have been paid");
        return Err(Diagnostic::error(what).help("enter what the checkout took"));
    }
    let (theirs, home) = (order.bill.paid_in, jurisdiction.currency());
    let digits = home.digits();
    if theirs != home && readings.contains(&theirs) && readings.contains(&home) {
        let what = format!("{} can be of {theirs} or of {home}", quoted(typed));
        return Err(Diagnostic::error(what).help(format!("enter the code, as in `{theirs} 12.00`")));
    }
    if !readings.is_empty() && !readings.contains(&theirs) {
        if readings.contains(&home) {
            return Ok((None, HomeMoney::of(amount.round_to(digits, Mode::HalfUp))));
        }
        let what = if theirs == home {
            format!("{} is not {home}", quoted(typed))
        } else {
            format!("{} is neither {theirs} nor {home}", quoted(typed))
        };
        let help = format!(
            "enter what the checkout took in {theirs}, or what left your account in {home}"
        );
        return Err(Diagnostic::error(what).help(help));
    }
    if readings.is_empty() {
        is_theirs(order, amount, jurisdiction)?;
    }
    let rate = jurisdiction.market_rate(theirs, date)?.rate;
    let converted = rate.convert(amount)?.round_to(digits, Mode::HalfUp);
    let fee = card_fee(theirs, jurisdiction).of(converted)?;
    let fee = fee.round_to(digits, Mode::HalfUp);
    let paid = HomeMoney::of(converted.plus(fee)?);
    Ok((Some(SellerMoney::of(amount)), paid))
}

/// Refuses a bare number that is what leaves the account, or far from what the checkout should show: nobody can tell what it is of.
fn is_theirs(
    order: &Checkout<'_>,
    amount: Dec,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<(), Diagnostic> {
    let (theirs, home) = (order.bill.paid_in, jurisdiction.currency());
    let (total, account) = (order.sums.total.amount(), order.to_seller()?.amount());
    let is_account = theirs != home && amount == account && amount != total;
    let is_far =
        amount.times(Dec::from(2_u32))? < total || amount > total.times(Dec::from(2_u32))?;
    if !is_account && (!is_far || total.is_zero()) {
        return Ok(());
    }
    let typed = amount.fixed(amount.decimals());
    let expected = order.sums.total.amount().grouped(theirs.digits());
    let what = if is_account {
        format!(
            "{typed} is what leaves your account in {home}; the checkout should show {expected} {theirs}"
        )
    } else {
        format!("{typed} is far from the {expected} {theirs} that the checkout should show")
    };
    let help = if theirs == home {
        format!("if it is right, write `{theirs} {typed}`")
    } else {
        format!("write `{theirs} {typed}` or `{home} {typed}`, as it was")
    };
    Err(Diagnostic::error(what).help(help))
}

/// What was paid, shared over the rows as the bill shares what is to be paid to the seller.
fn shared(
    order: &Checkout<'_>,
    paid: HomeMoney,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Vec<HomeMoney>, Overflow> {
    let lines = order.bill.lines.iter();
    let weights: Vec<HomeMoney> = lines
        .map(|line| line.amounts.to_seller())
        .collect::<Result<_, _>>()?;
    let weights = if weights.iter().all(|weight| weight.is_zero()) {
        vec![HomeMoney::of(Dec::ONE); weights.len()]
    } else {
        weights
    };
    paid.share(&weights, jurisdiction.currency().digits())
}

/// The first receipt of a parcel.
fn receipt_of<'b>(book: &'b Book, parcel: &str) -> Option<&'b Receipt> {
    let mut receipts = book.receipts.iter();
    receipts.find(|receipt| receipt.consignment == parcel)
}

/// Refuses to rename a parcel that receipts name.
fn told_before(book: &Book, order: &Checkout<'_>, label: &str) -> Result<(), Diagnostic> {
    let old = &order.bill.id;
    let new = consignment_of(&order.bill.seller, label);
    let Some(receipt) = receipt_of(book, old).filter(|_| new != *old) else {
        return Ok(());
    };
    let what = format!(
        "this receipt is for {}, which the order would rename",
        quoted(old)
    );
    let help = format!(
        "enter a label under `parcel` in `parts.csv` and `{}/LABEL` here, then order",
        order.bill.seller
    );
    Err(receipt.at.cell("consignment").error(what).help(help))
}

/// The label of the parcel: the one its rows have, else the day, with a number where the seller has such a parcel already.
fn label(book: &Book, order: &Checkout<'_>, date: Date) -> String {
    if let Some(row) = order.basket.iter().find(|row| !row.parcel.is_empty()) {
        return row.parcel.clone();
    }
    let seller = order.bill.seller.as_str();
    let is_used = |label: &str| {
        let of_part = |row: &Part| row.seller.as_deref() == Some(seller) && row.parcel == label;
        let of_parcel = |row: &ParcelRow| row.seller == seller && row.parcel == label;
        book.parts.iter().any(of_part) || book.parcels.iter().any(of_parcel)
    };
    let day = date.to_string();
    let numbered = (2_u32..).map(|number| format!("{day}-{number}"));
    std::iter::once(day.clone())
        .chain(numbered)
        .find(|label| !is_used(label))
        .unwrap_or_default()
}

/// The row of the parcel, with the day of ordering and all that the seller's own row of that table says.
fn parcel_row(book: &Book, (seller, label): (&str, &str), date: Date) -> (&'static str, Edit) {
    let day = text("ordered", date.to_string());
    let row = |label: &str| {
        let own = |row: &&ParcelRow| row.seller == seller && row.parcel == label;
        book.parcels.iter().find(own)
    };
    if let Some(row) = row(label) {
        let find = Find::Line(row.at.row().line());
        return ("parcels", Edit::Set(find, vec![day]));
    }
    let mut cells: Cells = vec![text("seller", seller), text("parcel", label), day];
    if let Some(usual) = row("") {
        for column in ["channel", "freight", "insurance", "handling"] {
            let cell = usual.at.cell(column);
            if !cell.is_empty() {
                cells.push(text(column, cell.text()));
            }
        }
    }
    ("parcels", Edit::Add(cells))
}

/// The edits that write down that an order was cancelled before it came: its parts are to be ordered again, and nothing is paid.
pub(crate) fn cancelled(book: &Book, parcel: &str) -> Result<(Edits, usize), Diagnostic> {
    let on_order = |row: &&Part| row.standing == Standing::OnOrder && !row.is_gone();
    let rows = book.parts.iter().filter(on_order);
    let rows: Vec<&Part> = rows.filter(|row| row.is_meant(parcel)).collect();
    let parcels: BTreeMap<String, &Part> = rows
        .iter()
        .filter_map(|row| Some((row.consignment()?, *row)))
        .collect();
    let parcels: Vec<(&String, &&Part)> = parcels.iter().collect();
    let id = match parcels.as_slice() {
        [(id, _)] => *id,
        [] => {
            let what = format!("no parcel of {} is on its way", quoted(parcel));
            return Err(Diagnostic::error(what).help("`landwaiter` alone lists what is on its way"));
        }
        several => {
            let names: Vec<&String> = several.iter().map(|(id, _)| *id).collect();
            let what = format!("{} are on their way", words::list(&names, "and"));
            let whole = |(_, row): &(&String, &&Part)| {
                quoted(&whole_name(
                    row.seller.as_deref().unwrap_or_default(),
                    &row.parcel,
                ))
            };
            let whole: Vec<String> = several.iter().map(whole).collect();
            return Err(Diagnostic::error(what).help(format!("say which: {}", words::few(&whole))));
        }
    };
    if let Some(receipt) = receipt_of(book, id) {
        let what = format!(
            "this receipt is for {}, which would be ordered again",
            quoted(id)
        );
        let help = "where its money came back, enter the refund with `settle --add`: then it counts as cancelled";
        return Err(receipt.at.cell("consignment").error(what).help(help));
    }
    let of_parcel = |row: &&ParcelRow| consignment_of(&row.seller, &row.parcel) == *id;
    let parcel_row = book.parcels.iter().find(of_parcel);
    // a label that is its day was made with the order and goes with it; one that was typed is a parcel of its own, and stays
    let made = parcel_row.is_some_and(is_made);
    let mut edits: Edits = rows
        .iter()
        .map(|row| {
            let mut cells = vec![text("standing", Standing::ToOrder.name()), text("paid", "")];
            if made {
                cells.push(text("parcel", ""));
            }
            set(row, cells)
        })
        .collect();
    edits.extend(parcel_row.map(|row| {
        let find = Find::Line(row.at.row().line());
        let edit = if made {
            Edit::Remove(find)
        } else {
            Edit::Set(find, emptied(row))
        };
        ("parcels", edit)
    }));
    Ok((edits, rows.len()))
}

/// Whether a parcel's label is the day of its order, with or without a number.
fn is_made(row: &ParcelRow) -> bool {
    let Some(day) = row.ordered.map(|day| day.to_string()) else {
        return false;
    };
    let rest = row.parcel.strip_prefix(&day);
    rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('-'))
}

/// The days of a parcel that is to be ordered again.
fn emptied(row: &ParcelRow) -> Cells {
    ["ordered", "arrived"]
        .into_iter()
        .filter(|column| !row.at.cell(column).is_empty())
        .map(|column| text(column, ""))
        .collect()
}
