//! The seller's side of one parcel for whoever writes it down with open figures: what the seller asks and what is paid, and in
//! words what its nodes are.

use super::pay::lower_paying_live;
use super::sale::{CodeMarks, lower_asking_live};
use super::sections::{Section, due, name, shown};
use super::{Asking, Origin, Paying, SaleRows, Told};
use crate::rules::sale::{Cover, Held, Payer, Sale};
use crate::units::Overflow;

/// What the seller asks, with the figures of its terms open.
pub(crate) fn tell_asking(sale: &Sale<'_>, rows: SaleRows) -> Result<(Told, Asking), Overflow> {
    let (form, at) = lower_asking_live(sale, rows.clone())?;
    let mut sections = vec![Section {
        names: vec![
            due(at.list_typed, "price times quantity", ""),
            name(at.typed, "all of them", "before any discount"),
            shown(
                at.free,
                "free of freight",
                "1 where the goods come to so much",
            ),
            name(at.carriage, "freight", "before any discount"),
        ],
        ..Section::default()
    }];
    let by_mass = "for which the freight table is read";
    let charged = at
        .charged
        .map(|id| shown(id, "mass with packing, g", by_mass));
    sections[0].names.extend(charged);
    let codes = sale.codes.iter().zip(&rows.codes).zip(&at.codes);
    sections.extend(codes.map(|((code, row), marks)| {
        let on_freight = code.cover == Cover::Freight;
        code_section(row, marks, on_freight)
    }));
    sections.push(tax_section(sale, &at));
    sections.push(Section {
        begins: at.begins[1],
        names: vec![
            due(at.goods, "goods net of discount", ""),
            due(at.freight, "freight", ""),
            name(at.credit, "paid by credit", ""),
            due(at.insurance, "insurance", ""),
        ],
        ..Section::default()
    });
    let answers = [at.list, at.off, at.goods, at.credit];
    let shares = [at.freight, at.insurance, at.tax_in_price];
    let told = Told::cut(form, sections, answers.into_iter().chain(shares));
    Ok((told, at))
}

fn code_section(row: &Origin, marks: &CodeMarks, on_freight: bool) -> Section {
    let of = if on_freight {
        "of the freight"
    } else {
        "of the lines it covers"
    };
    Section {
        begins: marks.begins,
        title: format!("discount {}", row.id),
        source: row.place.clone(),
        words: row.source.clone(),
        names: vec![
            shown(marks.counts, "counts", "1 where it does"),
            shown(marks.base, "left before it", of),
            due(marks.taken, "takes off", "rounded half up once"),
            due(marks.shares, "its shares", ""),
        ],
        ..Section::default()
    }
}

/// What is left of prices that hold tax.
fn tax_section(sale: &Sale<'_>, at: &Asking) -> Section {
    if sale.held == Held::Nothing {
        return Section::default();
    }
    Section {
        begins: at.begins[0],
        title: "tax in the prices".to_owned(),
        words: "price / (100 + percent) x 100, rounded half up".to_owned(),
        names: vec![
            due(at.list, "price times quantity, net", ""),
            due(at.off, "taken off, net", ""),
            due(at.tax_in_price, "tax that the prices hold", ""),
        ],
        ..Section::default()
    }
}

/// What is paid to the seller, with the card's fee open.
pub(crate) fn tell_paying(
    lines: usize,
    payer: Payer,
    card: Origin,
) -> Result<(Told, Paying), Overflow> {
    const NAMES: [&str; 5] = [
        "goods",
        "discount and credit",
        "freight",
        "insurance",
        "tax at the sale",
    ];
    let (form, at) = lower_paying_live(lines, payer, card)?;
    let rate = "at the market rate";
    let mut names = vec![
        due(at.sum, "paid to the seller", "in the seller's money"),
        due(
            at.converted,
            "converted once",
            "at the market rate, rounded half up",
        ),
        due(
            at.card_fee,
            "card fee",
            "of the converted sum, rounded half up",
        ),
        name(at.card_shares, "card fee", ""),
    ];
    for (nth, what) in NAMES.into_iter().enumerate() {
        names.push(due(at.cells[nth], what, ""));
        names.push(name(at.exact[nth], what, rate));
        names.push(name(at.shares[nth], what, "by largest remainder"));
    }
    let section = Section {
        names,
        ..Section::default()
    };
    let answers = at.shares.into_iter().chain([at.card_shares]);
    Ok((Told::cut(form, vec![section], answers), at))
}
