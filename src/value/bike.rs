//! A complete bike from abroad as one row of an order, so that the engine says what it lands at.

use std::collections::BTreeMap;

use crate::book::{Bike, Book, MassKind, Part, Role, Standing};
use crate::landed::Desk;

/// Whether a bike is bought from a seller whose parcels cross a border.
pub fn is_abroad(bike: &Bike, book: &Book, desk: &Desk<'_>) -> bool {
    let dispatch = |seller: &String| book.sellers.get(seller).and_then(|s| s.dispatch);
    bike.seller.as_ref().is_some_and(|seller| !dispatch(seller).is_some_and(|country| desk.is_home(country.code())))
}

/// A book whose only row is the bike, in a parcel of its own; none where its price or seller is not told, or the destination's
/// tables do not say what a bicycle is to its customs.
pub fn as_order(bike: &Bike, book: &Book, desk: &Desk<'_>) -> Option<Book> {
    let whole = desk.law.assemblies.iter().find(|row| row.stamp.in_force(desk.ask.date))?;
    let row = Part {
        commodity: whole.rule.commodity.clone(),
        declared_as: whole.rule.text.clone(),
        seller: Some(bike.seller.clone()?),
        price: Some(bike.price?),
        ..row(bike)
    };
    Some(Book { parts: vec![row], sellers: book.sellers.clone(), discounts: book.discounts.clone(), ..Book::default() })
}

/// A whole bike as a row of `parts.csv` would have it.
fn row(bike: &Bike) -> Part {
    Part {
        name: bike.name.clone(),
        places: Vec::new(),
        role: Role::Build,
        standing: Standing::ToOrder,
        seller: None,
        price: None,
        currency: bike.currency,
        quantity: 1,
        parcel: String::new(),
        paid: None,
        mass: bike.mass,
        mass_kind: MassKind::Claimed,
        packed: None,
        box_cm: None,
        commodity: String::new(),
        declared_as: String::new(),
        traits: BTreeMap::new(),
        origin: None,
        preference: false,
        comes_with: None,
        needs: Vec::new(),
        fits: BTreeMap::new(),
        resale: None,
        limit_kg: None,
        evidence: String::new(),
        warranty_months: None,
        seen: bike.seen,
        at: bike.at.clone(),
    }
}
