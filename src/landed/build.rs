//! A book's build as a whole: its landed cost, and beside it the replacement value, every row as to be ordered today.

use std::collections::BTreeMap;

use super::apart::lost_apart;
use super::bill::Bill;
use super::caution::{Caution, Cautions, Saying};
use super::held::is_paid_in;
use super::jurisdiction::Jurisdiction;
use super::lost::faults;
use super::parcel::{Consignment, group};
use super::question::Question;
use super::total::{Landed, cost_rows, landed_rows, landed_rows_but};
use super::what_if::WhatIf;
use crate::book::{Book, Part, Pays, Standing};
use crate::tables::Tables;
use crate::text::{Problems, words};
use crate::units::{Dec, HomeMoney, Overflow};

/// Calculates the landed cost of a book's build, what is lost set apart.
pub fn cost(book: &Book, tables: &Tables, ask: &Question) -> Result<Landed, Problems> {
    let jurisdiction = Jurisdiction::open(tables, ask)?;
    cost_at(&lost_apart(book, &jurisdiction), &jurisdiction)
}

/// As [`cost`], for a jurisdiction that is open already, of a book of which [`lost_apart`] was asked.
pub(crate) fn cost_at(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Result<Landed, Problems> {
    let rows: Vec<&Part> = book.build().collect();
    let paid_for: Vec<&Part> = book.paid_for().collect();
    let mut landed = cost_rows(book, &paid_for, jurisdiction)?;
    if paid_for.len() > rows.len() {
        // What lies beside the bike is paid for, and weighs nothing on it.
        landed.totals.weigh(&rows, jurisdiction)?;
        landed.cautions.extend(beside(&paid_for));
        let mut cautions = Cautions::default();
        faults(&paid_for, &mut cautions);
        landed.cautions.extend(cautions.into_list());
    }
    landed
        .cautions
        .extend(without_parcel(book, &landed, jurisdiction));
    landed.totals.replacement =
        replacement_beside(book, (&rows, &paid_for), jurisdiction, &landed)?;
    landed.totals.replacement_unknown = replacement_unknown(&rows);
    Ok(landed)
}

/// Says which receipts are in no sum, as no row that is calculated, or held by what was paid, travels in their parcel.
fn without_parcel(book: &Book, landed: &Landed, jurisdiction: &Jurisdiction<'_>) -> Vec<Caution> {
    let mut cautions = Cautions::default();
    for receipt in &book.receipts {
        let id = &receipt.consignment;
        let counts = landed.bills.iter().any(|bill| bill.id == *id)
            || book
                .paid_for()
                .any(|part| is_paid_in(part, id, jurisdiction));
        if counts || receipt.amount.is_zero() {
            continue;
        }
        let labels = landed
            .bills
            .iter()
            .map(|bill| &bill.id)
            .filter(|other| other.starts_with(&format!("{id}/")));
        let labels: Vec<String> = labels.map(|id| format!("`{id}`")).collect();
        let where_to = if labels.is_empty() {
            String::new()
        } else {
            format!("; its parcels are {}", words::list(&labels, "and"))
        };
        let saying = Saying::new(format!(
            "A receipt is in no sum: none of the rows of its parcel is counted{where_to}"
        ));
        let saying = saying.so("Correct its parcel in `receipts.csv`, or give its rows a price.");
        let saying = if receipt.currency == jurisdiction.currency() {
            saying.costs(HomeMoney::of(receipt.amount))
        } else {
            saying.costs_unknown()
        };
        cautions.say("receipt-without-parcel", saying, &[id]);
    }
    cautions.into_list()
}

/// Says which options are paid for and not on the bike.
fn beside(rows: &[&Part]) -> Option<Caution> {
    let text = "Paid for and not on the bike: what these upgrades cost is in the landed cost, in what is already paid and in what is still \
                to pay, not in the weight nor in the cost to buy the bike again";
    let about: Vec<String> = rows
        .iter()
        .filter(|row| row.is_owned_option())
        .map(|row| row.name.clone())
        .collect();
    (!about.is_empty()).then(|| Caution {
        about,
        ..Saying::new(text)
            .so("Once one of them is on the bike, set its `role` to `build`.")
            .caution("option-paid")
    })
}

/// What the next person would pay for the same rows, under whatever the jurisdiction supposes.
pub(crate) fn replacement_of(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Dec, Problems> {
    let (today, parts) = anew(book, rows);
    landed_rows(&today, &parts.iter().collect::<Vec<_>>(), jurisdiction)
}

/// The same beside the bills of the book: what is to be ordered today anyway is calculated already.
fn replacement_beside(
    book: &Book,
    (rows, paid_for): (&[&Part], &[&Part]),
    jurisdiction: &Jurisdiction<'_>,
    landed: &Landed,
) -> Result<HomeMoney, Problems> {
    let (today, parts) = anew(book, rows);
    let mut own = group(book, paid_for, jurisdiction, &mut Problems::new());
    own.retain(|one| nothing_else_counts(book, one) && jurisdiction.what_if == WhatIf::default());
    let bills: BTreeMap<&str, &Bill> = landed
        .bills
        .iter()
        .map(|bill| (bill.id.as_str(), bill))
        .collect();
    let known = |anew: &Consignment<'_>| {
        let at = own.binary_search_by(|one| one.id.cmp(&anew.id)).ok()?;
        let bill = bills.get(anew.id.as_str())?;
        own[at].is_like(anew).then_some(bill.amounts)
    };
    landed_rows_but(
        &today,
        &parts.iter().collect::<Vec<_>>(),
        jurisdiction,
        known,
    )
}

/// Whether a bill hangs on nothing of the book but its rows, its seller and codes that lower the price.
fn nothing_else_counts(book: &Book, one: &Consignment<'_>) -> bool {
    let seller = one.seller.map_or("", |seller| seller.name.as_str());
    let codes = || book.discounts.iter().filter(|code| code.seller == seller);
    let charged = book.receipts.iter().any(|r| r.consignment == one.id);
    let told = book.parcels.iter().any(|parcel| parcel.seller == seller);
    one.bundled.is_empty() && !charged && !told && codes().all(|code| code.pays == Pays::Price)
}

/// The same with its bills and all that is doubtful about them; held parts have no replacement and are not in it.
pub(crate) fn replacement_rows(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Landed, Problems> {
    let (today, parts) = anew(book, rows);
    cost_rows(&today, &parts.iter().collect::<Vec<_>>(), jurisdiction)
}

/// The parts that have no price to be bought again at.
pub(crate) fn replacement_unknown(rows: &[&Part]) -> Vec<String> {
    rows.iter()
        .filter(|row| row.standing != Standing::Bundled && row.price.is_none())
        .map(|row| row.name.clone())
        .collect()
}

/// What was paid for parts that have no price to be bought again at: it stands in for that where bikes are compared.
pub(crate) fn paid_instead(rows: &[&Part]) -> Result<Dec, Overflow> {
    let unpriced = rows
        .iter()
        .filter(|row| row.standing != Standing::Bundled && row.price.is_none());
    Dec::total(unpriced.filter_map(|row| row.paid))
}

/// A book of the rows as to be ordered today. A credit pays a price and does not lower it: the next person has none.
fn anew(book: &Book, rows: &[&Part]) -> (Book, Vec<Part>) {
    let anew: Vec<Part> = rows
        .iter()
        .filter(|row| row.standing != Standing::Bundled && row.price.is_some())
        .map(|row| Part {
            standing: Standing::ToOrder,
            parcel: String::new(),
            seller: buyable(book, row),
            ..(*row).clone()
        })
        .collect();
    let today = Book {
        settings: book.settings.clone(),
        parts: anew.clone(),
        sellers: book.sellers.clone(),
        discounts: book
            .discounts
            .iter()
            .filter(|d| d.pays == Pays::Price)
            .cloned()
            .collect(),
        ..Book::default()
    };
    (today, anew)
}

/// A gift's sender sells nothing: its part is bought at home at the declared value.
fn buyable(book: &Book, row: &Part) -> Option<String> {
    let seller = row.seller.as_ref()?;
    let gift = book
        .sellers
        .get(seller)
        .is_some_and(|s| s.sender == Some(crate::book::Sender::Gift));
    (!gift).then(|| seller.clone())
}
