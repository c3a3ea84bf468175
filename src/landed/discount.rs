//! Discounts: which may hold on the day of ordering, in which order, and what each covers.

use super::parcel::Consignment;
use crate::book::{self, Book, Discount, Part, Pays, Scope};
use crate::rules::{Code, Cover, Given, Worth};
use crate::units::SellerMoney;

/// The discounts of a consignment's seller that hold on its day, in the order in which they are taken.
pub(super) fn holding<'a>(book: &'a Book, consignment: &Consignment<'_>) -> Vec<&'a Discount> {
    let seller = consignment.seller.map(|seller| seller.name.as_str());
    let mut found: Vec<&Discount> = book
        .discounts
        .iter()
        .filter(|d| Some(d.seller.as_str()) == seller && d.span.holds(consignment.ordered))
        .collect();
    found.sort_by(|a, b| turn(a).cmp(&turn(b)));
    found
}

/// A discount as the form of the sale has it.
pub(super) fn code<'a>(discount: &'a Discount, rows: &[&Part]) -> Code<'a> {
    Code {
        cover: match discount.scope {
            Scope::Freight => Cover::Freight,
            _ => Cover::Lines(rows.iter().map(|row| covers(discount, &row.name)).collect()),
        },
        worth: match discount.worth {
            book::Worth::Share(percent) => Worth::Share(Given::Known(percent)),
            book::Worth::Amount(amount) => Worth::Amount(Given::Known(SellerMoney::of(amount))),
        },
        most: discount.max_off.map(SellerMoney::of),
        min_spend: discount.min_spend.map(SellerMoney::of),
        credit: discount.pays == Pays::Credit,
        group: &discount.group,
    }
}

/// The turn of a discount: its order, then its code, then all else that makes a difference, never its row.
pub(super) fn turn(discount: &Discount) -> impl Ord + '_ {
    let (percent, amount) = match discount.worth {
        book::Worth::Share(percent) => (Some(percent), None),
        book::Worth::Amount(amount) => (None, Some(amount)),
    };
    let limits = (
        discount.max_off,
        discount.min_spend,
        discount.pays == Pays::Credit,
        &discount.group,
    );
    (
        discount.order,
        &discount.code,
        discount.scope,
        &discount.part,
        percent,
        amount,
        limits,
    )
}

/// Whether a discount is on the goods of this part.
pub(super) fn covers(discount: &Discount, part: &str) -> bool {
    match discount.scope {
        Scope::Item => discount.part.as_deref() == Some(part),
        Scope::Basket => true,
        Scope::Freight => false,
    }
}
