//! What the seller asks and what is paid: the first and the last block of a parcel's working.

use super::Common;
use super::formula::NumExpr;
use super::inputs::Tag;
use super::live::{Sources, Supplied, minus, plus, read};
use super::page::Page;
use super::refused::Made;
use super::sheets::Look;
use crate::landed::Working;
use crate::rules::{Input, SaleInput};
use crate::units::Dec;

/// What is paid for each line, in the destination's money.
pub(super) struct Paid {
    /// Goods, discounts and credits (below zero), freight, insurance, tax at the sale.
    pub(super) shares: [Vec<NumExpr>; 5],
    pub(super) card: Vec<NumExpr>,
}

/// Writes prices, discounts, freight and insurance: what the law and the payment are supplied with.
pub(super) fn asked(page: &mut Page<'_>, work: &Working<'_>, common: &Common) -> Made<Supplied> {
    page.head(&format!("What the seller asks, in {}", work.paid_in));
    let tags = tags(page, work, common)?;
    let sources = Sources {
        common,
        sellers: work.paid_in,
        rate: None,
        supplied: tags.clone(),
    };
    let (told, at) = &work.asking;
    let found = read(page, told, &sources)?;
    let lowered = found.of(at.off).into_iter().zip(found.of(at.credit));
    let lowered = lowered.map(|(off, credit)| Ok(minus(&NumExpr::ZERO, &plus(&off, &credit)?)?));
    let own = [
        (Input::List, found.of(at.list)),
        (Input::Goods, found.of(at.goods)),
        (Input::Freight, found.of(at.freight)),
        (Input::Insurance, found.of(at.insurance)),
        (Input::Sale(SaleInput::Off), lowered.collect::<Made<_>>()?),
        (Input::Sale(SaleInput::TaxHeld), found.of(at.tax_in_price)),
    ];
    Ok(own.into_iter().chain(tags).collect())
}

/// The price tags as the sheet of goods has them, with how many and how heavy.
fn tags(page: &mut Page<'_>, work: &Working<'_>, common: &Common) -> Made<Supplied> {
    let money = Look::Money(work.paid_in.digits());
    let (inputs, parcel) = (&common.inputs, common.parcel);
    let mut tag = |what: &str, look: Look, cell: &dyn Fn(u16) -> NumExpr| -> Made<Vec<NumExpr>> {
        let row = page.each(what, "as on the sheet of inputs", look, |_, line| {
            cell(line)
        })?;
        Ok(page.cells(row))
    };
    let of = |tag: Tag| move |line| inputs.tag(parcel, line, tag);
    let packed = |line| inputs.packed(parcel, line);
    Ok(vec![
        (
            Input::Sale(SaleInput::Price),
            tag("price of one", money, &of(Tag::Price))?,
        ),
        (
            Input::Pieces,
            tag("quantity", Look::Plain, &of(Tag::Quantity))?,
        ),
        (
            Input::Sale(SaleInput::Packed),
            tag("packed mass, g", Look::Plain, &packed)?,
        ),
    ])
}

/// Writes what is paid: summed in the seller's money, converted once, shared back. `tax` is each line's tax at the sale.
pub(super) fn paid(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    mut supplied: Supplied,
    tax: Vec<NumExpr>,
) -> Made<Paid> {
    page.head("What is paid to the seller");
    if work.gift {
        page.name("nobody here pays for a gift", "", "", Look::Plain);
        page.row += 1;
    }
    supplied.push((Input::Sale(SaleInput::SaleTax), tax));
    let sources = Sources {
        common,
        sellers: work.paid_in,
        rate: Some(&work.market),
        supplied,
    };
    let (told, at) = &work.paying;
    let found = read(page, told, &sources)?;
    Ok(Paid {
        shares: at.shares.map(|id| found.of(id)),
        card: found.of(at.card_shares),
    })
}

/// Packed masses in kilograms, as the law asks for them.
pub(super) fn kilograms(supplied: &Supplied) -> Vec<NumExpr> {
    let grams = supplied.iter();
    let grams = grams.filter(|(input, _)| *input == Input::Sale(SaleInput::Packed));
    let grams = grams.flat_map(|(_, lines)| lines);
    let thousand = || NumExpr::N(Dec::THOUSAND);
    grams
        .map(|one| NumExpr::over(one.clone(), thousand()))
        .collect()
}
