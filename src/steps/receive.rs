//! A parcel that came: its rows are here, with what is missing or damaged apart, and the day it came is noted.
//!
//! The column `paid` means what was paid to the seller as long as a row is on its way, and everything once it is here. What was paid to
//! the seller goes into a receipt, so that what is due at the door stays in the sums; where it was a deposit, or is told of some rows
//! only, it goes into the notes of the rows.

use std::collections::{BTreeMap, BTreeSet};

use super::{Cells, Edits, set, text};
use crate::book::edit::{Edit, Find, Value};
use crate::book::{Book, ChargeWord, Fault, Part, Standing, whole_name};
use crate::landed::{Jurisdiction, cost_at};
use crate::returns::{BackLine, returned};
use crate::tables::{Back, Reason};
use crate::text::words::{few, nearest, quoted};
use crate::text::{Diagnostic, Problems};
use crate::units::{Date, Dec, HomeMoney, Money, Overflow};

/// A parcel that came.
pub(crate) struct Arrival<'a> {
    /// Its name: a seller, a label, or both with a `/` between them.
    pub(crate) parcel: &'a str,
    /// What was not in it.
    pub(crate) missing: &'a [String],
    /// What came damaged.
    pub(crate) damaged: &'a [String],
    /// The day.
    pub(crate) date: Date,
}

/// What can be asked back for a part that is missing or damaged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Claim {
    /// The part.
    pub(crate) part: String,
    /// What is wrong with it.
    pub(crate) fault: Fault,
    /// Who sold it.
    pub(crate) seller: String,
    /// What the seller owes; none where nobody knows what it cost.
    pub(crate) owed: Option<Dec>,
    /// What may come back from others besides.
    pub(crate) possible: Dec,
    /// The last day to ask, of the first claim that ends.
    pub(crate) until: Option<Date>,
}

/// What came, and what was so before.
#[derive(Debug)]
pub(crate) struct Received {
    /// The parcel.
    pub(crate) parcel: String,
    /// The parts that are here.
    pub(crate) here: Vec<String>,
    /// Parts that are missing or damaged.
    pub(crate) faults: Vec<String>,
    /// What was paid to the seller and stands in a receipt now.
    pub(crate) receipt: Option<HomeMoney>,
    /// Whether what was paid stands in the notes of the rows instead.
    pub(crate) noted: bool,
    /// Whether nobody has said when it was ordered.
    pub(crate) unordered: bool,
}

/// The edits that write the arrival of a parcel down.
pub(crate) fn receive(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    came: &Arrival<'_>,
) -> Result<(Edits, Received), Problems> {
    let (id, rows) = parcel(book, came.parcel)?;
    let faults = faults(book, &rows, came)?;
    let of = |row: &Part| faults.get(row.name.as_str()).copied();
    let paid = Paid::of(book, jurisdiction, &id, &rows)?;
    let mut edits = Edits::new();
    let boxed = book
        .boxed()
        .filter(|row| of(row).is_some() && row.standing == Standing::Bundled);
    for row in rows.iter().copied().chain(boxed) {
        let standing = of(row).map_or(Standing::InHand.name(), Fault::name);
        let mut cells: Cells = vec![text("standing", standing)];
        if let Some(sum) = row.paid {
            cells.push(text("paid", ""));
            if matches!(paid, Paid::Noted) {
                let told = format!(
                    "{} were paid to the seller before it came",
                    Money::new(sum, jurisdiction.currency())
                );
                let note = row.at.cell("note").text();
                let joint = if note.is_empty() { "" } else { "; " };
                cells.push(text("note", format!("{note}{joint}{told}")));
            }
        }
        edits.push(set(row, cells));
    }
    let first = rows.first().copied();
    edits.extend(first.map(|row| arrived(book, row, came.date)));
    if let (Paid::Receipt(sum), Some(row)) = (&paid, first) {
        edits.push(receipt(book, row, &id, (*sum, jurisdiction)));
    }
    let names = |faulty: bool| {
        let own = rows.iter().filter(|row| of(row).is_some() == faulty);
        own.map(|row| row.name.clone()).collect::<Vec<_>>()
    };
    let unordered = first
        .and_then(|row| book.parcel_of(row))
        .is_none_or(|row| row.ordered.is_none());
    let received = Received {
        parcel: id,
        here: names(false),
        faults: faults.keys().map(|name| (*name).to_owned()).collect(),
        receipt: match paid {
            Paid::Receipt(sum) => Some(sum),
            _ => None,
        },
        noted: matches!(paid, Paid::Noted),
        unordered,
    };
    Ok((edits, received))
}

/// The parcel that is meant, among those on their way, and its rows.
fn parcel<'b>(book: &'b Book, typed: &str) -> Result<(String, Vec<&'b Part>), Diagnostic> {
    let mut coming: BTreeMap<String, Vec<&Part>> = BTreeMap::new();
    let on_order = |row: &&Part| row.standing == Standing::OnOrder && !row.is_gone();
    for row in book.parts.iter().filter(on_order) {
        if let Some(id) = row.consignment() {
            coming.entry(id).or_default().push(row);
        }
    }
    let means = |rows: &[&Part]| rows.first().is_some_and(|row| row.is_meant(typed));
    let found: Vec<String> = coming
        .iter()
        .filter(|(_, rows)| means(rows))
        .map(|(id, _)| id.clone())
        .collect();
    match found.as_slice() {
        [one] => Ok((one.clone(), coming.remove(one).unwrap_or_default())),
        [] => Err(not_coming(book, typed, &coming)),
        several => {
            let named = |id: &String| {
                let row = coming.get(id).and_then(|rows| rows.first());
                row.map_or(id.clone(), |row| {
                    quoted(&whole_name(
                        row.seller.as_deref().unwrap_or_default(),
                        &row.parcel,
                    ))
                })
            };
            let names: Vec<String> = several.iter().map(named).collect();
            let what = format!(
                "{} parcels on their way can be {}",
                names.len(),
                quoted(typed)
            );
            Err(Diagnostic::error(what).help(format!("say which: {}", few(&names))))
        }
    }
}

/// Why a parcel cannot come.
fn not_coming(book: &Book, typed: &str, coming: &BTreeMap<String, Vec<&Part>>) -> Diagnostic {
    let meant = book.parts.iter().filter(|row| row.is_meant(typed));
    let own: Vec<&Part> = meant.collect();
    if own.iter().any(|row| row.standing == Standing::InHand) {
        let day = own.iter().find_map(|row| book.parcel_of(row)?.arrived);
        let day = day.map(|day| format!(" since {day}")).unwrap_or_default();
        return Diagnostic::error(format!("the parcel {} is here already{day}", quoted(typed)))
            .help("where a part was missing and has come now, enter `in-hand` as its `standing` in `parts.csv`");
    }
    if let Some(row) = own.first() {
        let what = format!(
            "nothing of {} is on its way: its rows are `{}`",
            quoted(typed),
            row.standing.name()
        );
        return Diagnostic::error(what)
            .help("once it is ordered and paid: `landwaiter order SELLER --placed --paid AMOUNT`");
    }
    let what = format!("there is no parcel {} in the book", quoted(typed));
    let unknown = Diagnostic::error(what);
    let labels = book.parts.iter().map(|row| row.parcel.as_str());
    let sellers = book.sellers.keys().map(String::as_str);
    let known = labels.chain(sellers).filter(|name| !name.is_empty());
    match nearest(typed, known.chain(coming.keys().map(String::as_str))) {
        Some(near) => unknown.help(format!("did you mean `{near}`?")),
        None if coming.is_empty() => unknown.help("no parcel of the book is on its way"),
        None => {
            let names: Vec<String> = coming.keys().map(|id| quoted(id)).collect();
            unknown.help(format!("on their way: {}", few(&names)))
        }
    }
}

/// What is wrong with which part of a parcel.
fn faults<'a>(
    book: &Book,
    rows: &[&Part],
    came: &'a Arrival<'_>,
) -> Result<BTreeMap<&'a str, Fault>, Problems> {
    let own: BTreeSet<&str> = rows.iter().map(|row| row.name.as_str()).collect();
    let boxed = book.boxed().filter(|row| {
        row.comes_with
            .as_deref()
            .is_some_and(|holder| own.contains(holder))
    });
    let known: BTreeSet<&str> = own
        .iter()
        .copied()
        .chain(boxed.map(|row| row.name.as_str()))
        .collect();
    let mut problems = Problems::new();
    let mut found = BTreeMap::new();
    let missing = came.missing.iter().map(|name| (name, Fault::Missing));
    let damaged = came.damaged.iter().map(|name| (name, Fault::Damaged));
    for (name, fault) in missing.chain(damaged) {
        if !known.contains(name.as_str()) {
            let what = format!("{} is not in this parcel", quoted(name));
            let unknown = Diagnostic::error(what);
            problems.push(match nearest(name, known.iter().copied()) {
                Some(near) => unknown.help(format!("did you mean `{near}`?")),
                None => {
                    let names: Vec<String> = known.iter().map(|name| quoted(name)).collect();
                    unknown.help(format!("it holds {}", few(&names)))
                }
            });
        } else if found
            .insert(name.as_str(), fault)
            .is_some_and(|other| other != fault)
        {
            let what = format!("{} cannot be both missing and damaged", quoted(name));
            problems.push(Diagnostic::error(what).help("say one of the two"));
        }
    }
    if problems.refuse() {
        Err(problems)
    } else {
        Ok(found)
    }
}

/// Where what was paid to the seller goes.
enum Paid {
    /// Nothing is told, or receipts tell it already.
    Told,
    /// Into a receipt of this sum.
    Receipt(HomeMoney),
    /// Into the notes of the rows.
    Noted,
}

impl Paid {
    fn of(
        book: &Book,
        jurisdiction: &Jurisdiction<'_>,
        id: &str,
        rows: &[&Part],
    ) -> Result<Paid, Problems> {
        let priced: Vec<&&Part> = rows.iter().filter(|row| row.price.is_some()).collect();
        let sum = Dec::total(rows.iter().filter_map(|row| row.paid))?;
        if rows.iter().all(|row| row.paid.is_none()) {
            return Ok(Paid::Told);
        }
        let landed = cost_at(book, jurisdiction)?;
        let Some(bill) = landed.bills.iter().find(|bill| bill.id == id) else {
            return Ok(Paid::Noted);
        };
        let of_seller = |charge: ChargeWord| {
            matches!(
                charge,
                ChargeWord::Goods
                    | ChargeWord::ToPaySeller
                    | ChargeWord::Discount
                    | ChargeWord::Freight
            )
        };
        let mut receipts = book
            .receipts
            .iter()
            .filter(|receipt| receipt.consignment == id);
        let told = receipts.any(|receipt| of_seller(receipt.charge));
        let asked = bill.amounts.to_seller()?.amount();
        // below nine tenths it was a deposit, and the rest has been paid since, by nobody knows how much
        let whole = sum.times(Dec::from(10_u32))? >= asked.times(Dec::from(9_u32))?;
        let all = priced.iter().all(|row| row.paid.is_some());
        Ok(if all && whole && !told {
            Paid::Receipt(HomeMoney::of(sum))
        } else {
            Paid::Noted
        })
    }
}

/// The row of `parcels.csv` with the day of arrival.
fn arrived(book: &Book, row: &Part, date: Date) -> (&'static str, Edit) {
    let seller = row.seller.clone().unwrap_or_default();
    let day = text("arrived", date.to_string());
    if let Some(own) = book.parcel_of(row) {
        return (
            "parcels",
            Edit::Set(Find::Line(own.at.row().line()), vec![day]),
        );
    }
    let mut cells = vec![text("seller", seller)];
    if !row.parcel.is_empty() {
        cells.push(text("parcel", &row.parcel));
    }
    cells.push(day);
    ("parcels", Edit::Add(cells))
}

/// The receipt of what was paid to the seller.
fn receipt(
    book: &Book,
    row: &Part,
    id: &str,
    (sum, jurisdiction): (HomeMoney, &Jurisdiction<'_>),
) -> (&'static str, Edit) {
    let ordered = book.parcel_of(row).and_then(|parcel| parcel.ordered);
    let money = jurisdiction.currency();
    let mut cells = vec![
        text("consignment", id),
        text("charge", ChargeWord::ToPaySeller.name()),
        (
            "amount".to_owned(),
            Value::Number(sum.amount().fixed(money.digits())),
        ),
        text("currency", money.code()),
    ];
    cells.extend(ordered.map(|day| text("date", day.to_string())));
    ("receipts", Edit::Add(cells))
}

/// What can be asked back for a part that did not come whole, looked at on a day.
pub(crate) fn claim(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    part: &str,
    day: Date,
) -> Result<Option<Claim>, Overflow> {
    let faulty = |row: &&Part| row.name == part && row.fault.is_some();
    let Some((row, fault)) = book
        .parts
        .iter()
        .find(faulty)
        .and_then(|row| Some((row, row.fault?)))
    else {
        return Ok(None);
    };
    let holder = row
        .comes_with
        .as_deref()
        .and_then(|name| book.main_row(name));
    let seller = row
        .seller
        .clone()
        .or_else(|| holder.and_then(|row| row.seller.clone()));
    let mut claim = Claim {
        part: part.to_owned(),
        fault,
        seller: seller.unwrap_or_default(),
        owed: None,
        possible: Dec::ZERO,
        until: None,
    };
    // what came in another part's box has no price of its own, and what it is worth nobody has said
    if let Ok(found) = returned(book, jurisdiction, part, Reason::Faulty, day) {
        let possible = found
            .lines
            .iter()
            .filter(|line| line.back == Back::Possible && !line.booked);
        // where no row says what becomes of a price, nobody knows what is owed
        let ruled = |line: &BackLine| line.charge == "goods" && !line.row.is_empty();
        if found.went_back || found.lines.iter().any(ruled) {
            claim.owed = Some(found.owed()?);
        }
        claim.possible = Dec::total(possible.map(|line| line.amount))?;
        claim.until = found.until();
    }
    Ok(Some(claim))
}

/// What is still to be asked back for all parts that did not come whole, as on the day their parcels came, else on another day.
pub(crate) fn claims(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    day: Date,
) -> Result<Vec<Claim>, Overflow> {
    let faulty = book.parts.iter().filter(|row| row.fault.is_some());
    let mut found = Vec::new();
    for row in faulty {
        let holder = row.comes_with.as_deref();
        let holder = holder.and_then(|name| book.main_row(name));
        let parcel = book
            .parcel_of(row)
            .or_else(|| holder.and_then(|row| book.parcel_of(row)));
        let came = parcel.and_then(|row| row.arrived).unwrap_or(day);
        let Some(claim) = claim(book, jurisdiction, &row.name, came)? else {
            continue;
        };
        // what came back already is not asked for again
        if claim.owed.is_none_or(Dec::is_positive) || claim.possible.is_positive() {
            found.push(claim);
        }
    }
    Ok(found)
}
