//! A complete bike from abroad as one row of an order, so that the engine says what it lands at.

use crate::book::{Bike, Book, Part};
use crate::landed::Jurisdiction;

/// Whether a bike is bought from a seller whose parcels cross a border.
pub(crate) fn is_abroad(bike: &Bike, book: &Book, jurisdiction: &Jurisdiction<'_>) -> bool {
    let dispatch = |seller: &String| book.sellers.get(seller).and_then(|s| s.dispatch);
    bike.seller.as_ref().is_some_and(|seller| {
        !dispatch(seller).is_some_and(|country| jurisdiction.is_home(country.code()))
    })
}

/// A book whose only row is the bike, in a parcel of its own; none where nobody has told its price or seller, or the destination's
/// tables do not say what a bicycle is to its customs.
pub(crate) fn as_order(bike: &Bike, book: &Book, jurisdiction: &Jurisdiction<'_>) -> Option<Book> {
    let whole = jurisdiction
        .law
        .assemblies
        .iter()
        .find(|row| row.stamp.in_force(jurisdiction.ask.date))?;
    let row = Part {
        seller: Some(bike.seller.clone()?),
        price: Some(bike.price?),
        currency: bike.currency,
        mass: bike.mass,
        commodity: whole.rule.commodity.clone(),
        declared_as: whole.rule.text.clone(),
        seen: bike.seen,
        ..Part::bare(bike.name.clone(), bike.at.clone())
    };
    Some(Book {
        parts: vec![row],
        sellers: book.sellers.clone(),
        discounts: book.discounts.clone(),
        ..Book::default()
    })
}
