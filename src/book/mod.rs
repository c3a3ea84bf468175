//! The book: the tables that a user writes for one build, read and checked against one another.
//!
//! Owns the files of design's "book": settings, parts, sellers, parcels, discounts, bikes, unknowns, receipts, weighings. Knows nothing of `rates/`: whether a
//! place exists or a schedule is known is asked above.

mod answers;
mod bike;
mod cross_check;
mod discount;
pub mod edit;
mod evidence;
mod hidden;
mod leaf;
mod offer;
mod parcel;
mod part;
mod part_cells;
mod read;
mod receipt;
mod rival_row;
mod seller;
mod settings;
mod terms;
mod unknown;
mod unseen;
mod weighing;
mod workbook;

use std::collections::BTreeMap;
use std::sync::Arc;

// What may be used from outside.
pub use self::{
    offer::{Role, Standing},
    receipt::ChargeWord,
    settings::Settings,
};

pub(crate) use bike::{Bike, PriceKind};
pub(crate) use discount::{Discount, Pays, Scope, Worth};
pub(crate) use evidence::is_report;
pub(crate) use leaf::{Leaf, Unit, Value};
pub(crate) use offer::{Fault, FitValue, MassKind, Part, consignment_of, is_parcel, whole_name};
pub(crate) use parcel::ParcelRow;
pub(crate) use receipt::{Receipt, dated_after};
pub(crate) use rival_row::{INHERITED, NOTHING};
pub(crate) use seller::Seller;
pub(crate) use settings::Remedies;
pub(crate) use terms::{Channel, Freight, HandlingFee, Included, Insurance, Sender};
pub(crate) use unknown::{About, Figure, Unknown};
pub(crate) use weighing::{Weighing, readings};
pub(crate) use workbook::is_table;
pub(crate) use workbook::tables as sheet_tables;

use crate::text::{Columns, Diagnostic, Location, Problems, words};
use crate::units::Grams;

/// A file of a book: its path as the user names it, its table, its bytes.
#[derive(Debug, Clone)]
pub struct BookFile {
    /// As shown in messages: `examples/first-build/parts.csv`.
    pub path: String,
    /// The table it holds: `parts`, `sellers`, …
    pub table: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// A build, as its tables say.
#[derive(Debug, Default, Clone)]
pub struct Book {
    /// What `settings.csv` says.
    pub settings: Settings,
    /// Every row of `parts.csv`.
    pub parts: Vec<Part>,
    /// By name.
    pub sellers: BTreeMap<String, Seller>,
    /// What differs for one parcel.
    pub(crate) parcels: Vec<ParcelRow>,
    /// Codes.
    pub(crate) discounts: Vec<Discount>,
    /// Complete bikes to hold the build against.
    pub(crate) bikes: Vec<Bike>,
    /// What is not known before ordering; none when the book has no such table.
    pub(crate) unknowns: Option<Vec<Unknown>>,
    /// What was really charged.
    pub receipts: Vec<Receipt>,
    /// What the scale said.
    pub(crate) weighings: Vec<Weighing>,
    /// What was said of the mass of weighed parts before.
    pub(crate) claims: Vec<Claim>,
    /// Whether a row of `parts.csv` or `sellers.csv` could not be read: what names it is no second problem.
    pub(crate) lost_rows: bool,
}

/// What was said of a part's mass before it was weighed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Claim {
    /// The part.
    pub(crate) part: String,
    /// The mass of one; none when nothing was said.
    pub(crate) mass: Option<Grams>,
    /// How that was known.
    pub(crate) kind: MassKind,
}

/// The tables of a book, in the order they are read.
pub const TABLES: [&str; 9] = [
    "settings",
    "sellers",
    "parcels",
    "parts",
    "discounts",
    "bikes",
    "unknowns",
    "receipts",
    "weighings",
];

/// The columns a table of a book may have, beside `note`; none for a name that is no table.
pub fn columns(table: &str) -> Vec<&'static str> {
    columns_of(table)
        .map(|found| [found.needed, found.optional].concat())
        .unwrap_or_default()
}

/// The same as they are read.
fn columns_of(table: &str) -> Option<Columns> {
    Some(match table {
        "settings" => settings::COLUMNS,
        "sellers" => seller::COLUMNS,
        "parcels" => parcel::COLUMNS,
        "parts" => part::COLUMNS,
        "discounts" => discount::COLUMNS,
        "bikes" => bike::COLUMNS,
        "unknowns" => unknown::COLUMNS,
        "receipts" => receipt::COLUMNS,
        "weighings" => weighing::COLUMNS,
        _ => return None,
    })
}

/// A book without parts: a workbook lacks the sheet, a folder the file.
fn no_parts(files: &[BookFile]) -> Diagnostic {
    let Some((workbook, _)) = files
        .iter()
        .find_map(|file| file.path.rsplit_once(", sheet "))
    else {
        return Diagnostic::error("there is no `parts.csv` in this book")
            .help("start a book with `landwaiter new DIR --kind road`");
    };
    Diagnostic::error(format!("there is no sheet `parts` in the workbook {}", words::quoted(workbook)))
        .help("the sheet with a row for each part has the name `parts`; `landwaiter new FILE.xlsx --workbook` writes one to fill in")
}

impl Book {
    /// Reads the files of a book, finding every problem at once; what could be read is returned.
    pub fn read(files: &[BookFile], problems: &mut Problems) -> Book {
        let mut book = Book::default();
        let file = |table: &str| files.iter().find(|f| f.table == table);
        if let Some(found) = file("settings") {
            book.settings = settings::read(found, problems);
        }
        let Some(parts) = file("parts") else {
            problems.push(no_parts(files));
            return book;
        };
        let rows = read::sheet(parts, &part::COLUMNS, problems);
        (book.sellers, book.lost_rows) = seller::read(file("sellers"), &rows, problems);
        if !problems.too_many() {
            book.parts = part::read(&rows, &book.sellers, problems);
        }
        if problems.too_many() {
            // rows were not kept: what names them in other tables would seem to name nothing
            if files.len() > 1 {
                problems.push(Diagnostic::error("there are too many errors: other tables are not read until these are corrected"));
            }
            return book;
        }
        book.parcels = file("parcels")
            .map(|f| parcel::read(f, &book.sellers, problems))
            .unwrap_or_default();
        book.discounts = file("discounts")
            .map(|f| discount::read(f, &book, problems))
            .unwrap_or_default();
        book.bikes = file("bikes")
            .map(|f| bike::read(f, &book.sellers, problems))
            .unwrap_or_default();
        book.unknowns = file("unknowns").map(|f| unknown::read(f, &book, problems));
        book.receipts = file("receipts")
            .map(|f| receipt::read(f, &book, problems))
            .unwrap_or_default();
        book.weighings = file("weighings")
            .map(|f| weighing::read(f, &book, problems))
            .unwrap_or_default();
        book.claims = weighing::apply(&mut book, problems);
        book.cross_check(problems);
        book
    }

    /// The book as it stood before anything was charged or weighed: parcels that came are calculated by their own days,
    /// and weighed parts have the masses that were claimed.
    #[must_use]
    pub(crate) fn before(&self) -> Book {
        let mut before = self.clone();
        before.receipts.clear();
        before.weighings.clear();
        for claim in before.claims.drain(..) {
            for part in before
                .parts
                .iter_mut()
                .filter(|part| part.name == claim.part)
            {
                (part.mass, part.mass_kind) = (claim.mass, claim.kind);
            }
        }
        for part in before
            .parts
            .iter_mut()
            .filter(|part| part.seller.is_some() && part.price.is_some())
        {
            if matches!(part.standing, Standing::InHand | Standing::OnOrder) {
                part.paid = None;
            }
        }
        before
    }

    /// The parcels that can be named: every seller, and every seller's parcel with a label.
    pub(crate) fn consignment_ids(&self) -> Vec<String> {
        let labelled = self.parts.iter().filter(|part| !part.parcel.is_empty());
        let labelled = labelled.filter_map(Part::consignment);
        let mut ids: Vec<String> = self.sellers.keys().cloned().chain(labelled).collect();
        ids.sort();
        ids.dedup();
        ids
    }

    /// The row that tells what differs for the parcel of this name.
    pub(crate) fn parcel_row(&self, id: &str) -> Option<&ParcelRow> {
        let own = |row: &&ParcelRow| consignment_of(&row.seller, &row.parcel) == id;
        self.parcels.iter().find(own)
    }

    /// The row that tells what differs for the parcel that a part travels in.
    pub(crate) fn parcel_of(&self, part: &Part) -> Option<&ParcelRow> {
        let own = |row: &&ParcelRow| {
            Some(&row.seller) == part.seller.as_ref() && row.parcel == part.parcel
        };
        self.parcels.iter().find(own)
    }

    /// Reads the settings and the sellers of a book that need not have parts.
    pub(crate) fn read_terms(files: &[BookFile], problems: &mut Problems) -> Book {
        let mut book = Book::default();
        let file = |table: &str| files.iter().find(|f| f.table == table);
        if let Some(found) = file("settings") {
            book.settings = settings::read(found, problems);
        }
        let none = BookFile {
            path: "parts.csv".to_owned(),
            table: "parts".to_owned(),
            bytes: b"part,place\n".to_vec(),
        };
        let rows = read::sheet(file("parts").unwrap_or(&none), &part::COLUMNS, problems);
        (book.sellers, book.lost_rows) = seller::read(file("sellers"), &rows, problems);
        book
    }

    /// The build rows: what is on the bike, or will be.
    pub(crate) fn build(&self) -> impl Iterator<Item = &Part> {
        self.parts.iter().filter(|part| part.role == Role::Build)
    }

    /// The rows that might replace something.
    pub(crate) fn options(&self) -> impl Iterator<Item = &Part> {
        self.parts.iter().filter(|part| part.role == Role::Option)
    }

    /// The options, and other offers of parts: what may come.
    pub(crate) fn offers(&self) -> impl Iterator<Item = &Part> {
        self.parts
            .iter()
            .filter(|part| matches!(part.role, Role::Option | Role::Rival))
    }

    /// What is not on the bike and was paid for all the same: options that are on order, in hand or given, and what is lost or
    /// went back. Their money is spent, or asked for at the door, whatever becomes of them.
    pub(crate) fn beside(&self) -> impl Iterator<Item = &Part> {
        self.parts
            .iter()
            .filter(|part| part.is_owned_option() || part.is_gone())
    }

    /// The build, and what is paid for beside it.
    pub(crate) fn paid_for(&self) -> impl Iterator<Item = &Part> {
        self.parts
            .iter()
            .filter(|part| part.role == Role::Build || part.is_owned_option() || part.is_gone())
    }

    /// What lies in the boxes of other parts: it travels with them, whatever becomes of them.
    pub(crate) fn boxed(&self) -> impl Iterator<Item = &Part> {
        self.parts.iter().filter(|part| part.is_boxed())
    }

    /// The build or option row of a name; what is gone only where nothing else has the name.
    pub(crate) fn main_row(&self, name: &str) -> Option<&Part> {
        let mut rows = self
            .parts
            .iter()
            .filter(|part| part.name == name && part.role != Role::Rival);
        rows.clone()
            .find(|part| !part.is_gone())
            .or_else(|| rows.next())
    }
}

/// Where a whole file is meant.
pub(super) fn at_file(path: &str) -> Location {
    Location::line(Arc::from(path), 1)
}

#[cfg(test)]
mod tests;
