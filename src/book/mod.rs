//! The book: the tables that a user writes for one build, read and checked against one another.
//!
//! Owns the files of design's "book": settings, parts, sellers, parcels, discounts, bikes, unknowns, receipts, weighings. Knows nothing of `rates/`: whether a
//! place exists or a schedule is known is asked above.

mod answers;
mod bike;
mod discount;
mod evidence;
mod leaf;
mod offer;
mod parcel;
mod part;
mod read;
mod receipt;
mod seller;
mod settings;
mod terms;
mod unknown;
mod unseen;
mod weighing;
mod workbook;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

pub(crate) use bike::{Bike, PriceKind};
pub(crate) use discount::{Discount, Pays, Scope, Worth};
pub use evidence::is_report;
pub(crate) use leaf::{Leaf, Unit, Value};
pub(crate) use offer::{FitValue, MassKind, Part, consignment_of};
pub use offer::{Role, Standing};
pub(crate) use parcel::ParcelRow;
pub use receipt::ChargeWord;
pub(crate) use receipt::{Receipt, dated_after};
pub(crate) use seller::Seller;
pub(crate) use settings::Remedies;
pub use settings::{SETTINGS, Settings};
pub(crate) use terms::{Channel, Freight, HandlingFee, Included, Insurance, Sender};
pub(crate) use unknown::{About, Figure, Unknown};
pub(crate) use weighing::{Weighing, readings};
pub(crate) use workbook::{is_table, tables as sheet_tables};

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
    pub discounts: Vec<Discount>,
    /// Complete bikes to hold the build against.
    pub bikes: Vec<Bike>,
    /// What is not known before ordering; none when the book has no such table.
    pub unknowns: Option<Vec<Unknown>>,
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
                problems.push(Diagnostic::error("there are so many errors that other tables are not read before these are mended"));
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
        self.parts.iter().filter(|part| {
            matches!(part.role, Role::Build | Role::Gone) && part.comes_with.is_some()
        })
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

    /// The names of freight schedules, with what stands for them.
    fn lettered_schedules(&self) -> BTreeMap<String, String> {
        let of_sellers = self.sellers.values().map(|seller| &seller.freight);
        let freights = of_sellers.chain(self.parcels.iter().map(|row| &row.freight));
        let names = freights.filter_map(|freight| match freight {
            Freight::Schedule(name) => Some(name),
            _ => None,
        });
        lettered("Schedule", names)
    }

    /// The names of sellers, with what stands for them.
    fn lettered_sellers(&self) -> BTreeMap<String, String> {
        let of_parts = self.parts.iter().filter_map(|part| part.seller.clone());
        let named: BTreeSet<String> = self.sellers.keys().cloned().chain(of_parts).collect();
        named
            .into_iter()
            .enumerate()
            .map(|(at, name)| (name, format!("seller {}", words::letters(at))))
            .collect()
    }

    /// Takes the sellers' names out: `seller A`, `seller B`, in the order of their names, wherever they stand; likewise the labels
    /// of their parcels, their codes, and the names of freight schedules, which are returned with what stands for them.
    pub fn hide_sellers(&mut self) -> BTreeMap<String, String> {
        let labels = lettered(
            "parcel",
            self.parts
                .iter()
                .map(|part| &part.parcel)
                .chain(self.parcels.iter().map(|row| &row.parcel)),
        );
        let label = |name: &str| labels.get(name).cloned().unwrap_or_else(|| name.to_owned());
        let codes = lettered("code", self.discounts.iter().map(|row| &row.code));
        let groups = lettered("codes", self.discounts.iter().map(|row| &row.group));
        let letter = |known: &BTreeMap<String, String>, name: &str| {
            known.get(name).cloned().unwrap_or_default()
        };
        let schedules = self.lettered_schedules();
        let hidden = self.lettered_sellers();
        let other = |name: &str| {
            hidden
                .get(name)
                .cloned()
                .unwrap_or_else(|| "a seller".to_owned())
        };
        self.sellers = std::mem::take(&mut self.sellers)
            .into_values()
            .map(|mut seller| {
                seller.name = other(&seller.name);
                hide_schedule(&mut seller.freight, &schedules);
                (seller.name.clone(), seller)
            })
            .collect();
        for part in &mut self.parts {
            (part.seller, part.parcel) = (part.seller.as_deref().map(other), label(&part.parcel));
        }
        for row in &mut self.parcels {
            (row.seller, row.parcel) = (other(&row.seller), label(&row.parcel));
            hide_schedule(&mut row.freight, &schedules);
        }
        for row in &mut self.discounts {
            (row.seller, row.code, row.group) = (
                other(&row.seller),
                letter(&codes, &row.code),
                letter(&groups, &row.group),
            );
        }
        self.bikes
            .iter_mut()
            .for_each(|bike| bike.seller = bike.seller.as_deref().map(other));
        let parcel = |id: &str| match id.split_once('/') {
            Some((seller, own)) if !hidden.contains_key(id) => {
                format!("{}/{}", other(seller), label(own))
            }
            _ => other(id),
        };
        self.receipts
            .iter_mut()
            .for_each(|row| row.consignment = parcel(&row.consignment));
        for row in self
            .unknowns
            .iter_mut()
            .flatten()
            .filter(|row| !row.name.is_empty())
        {
            row.name = unknown::renamed(row, &hidden, &parcel);
        }
        schedules
    }

    /// Rows must find the rows they name, and never each other in a ring.
    fn cross_check(&self, problems: &mut Problems) {
        let names: Vec<&str> = self.parts.iter().map(|part| part.name.as_str()).collect();
        for part in &self.parts {
            self.check_bundle(part, &names, problems);
            for needed in part
                .needs
                .iter()
                .filter(|needed| !self.lost_rows && !names.contains(&needed.as_str()))
            {
                problems.push(missing_part(part, "needs", needed, &names));
            }
        }
        for row in &self.parcels {
            let mut parts = self
                .parts
                .iter()
                .filter(|part| part.seller.as_deref() == Some(row.seller.as_str()));
            if !parts.any(|part| part.parcel == row.parcel) {
                let labels = self
                    .parts
                    .iter()
                    .map(|part| part.parcel.as_str())
                    .filter(|label| !label.is_empty());
                let what = format!(
                    "no row of `parts.csv` travels in this parcel of {}: the row is not used",
                    words::quoted(&row.seller)
                );
                problems.push(read::unknown(&row.at.cell("parcel"), what, labels).as_warning());
            }
        }
        self.check_sellers(problems);
        ring(
            self,
            "comes_with",
            |part| part.comes_with.iter().cloned().collect(),
            problems,
        );
        ring(self, "needs", |part| part.needs.clone(), problems);
    }

    /// Two names that only differ in capital letters or blanks would be two parcels, each with limits of its own.
    fn check_sellers(&self, problems: &mut Problems) {
        let plain = |name: &str| {
            name.split_whitespace()
                .collect::<Vec<_>>()
                .join(" ")
                .to_lowercase()
        };
        let mut met: BTreeMap<String, &Seller> = BTreeMap::new();
        for seller in self.sellers.values() {
            if let Some(other) = met.insert(plain(&seller.name), seller) {
                let what = format!(
                    "expected another name, or {} as at {}",
                    words::quoted(&other.name),
                    other.at.place()
                );
                let help =
                    "the same seller is written the same way each time: two names are two parcels";
                problems.push(seller.at.cell("seller").error(what).help(help));
            }
        }
    }

    fn check_bundle(&self, part: &Part, names: &[&str], problems: &mut Problems) {
        let Some(holder) = &part.comes_with else {
            return;
        };
        match self.main_row(holder) {
            None if self.lost_rows => {}
            None => problems.push(missing_part(part, "comes_with", holder, names)),
            Some(row) if row.role == Role::Option && part.role == Role::Build => {
                let what = format!(
                    "expected a part of the build: {} is an option, and may never be bought",
                    words::quoted(holder)
                );
                problems.push(part.at.cell("comes_with").error(what));
            }
            Some(_) => {}
        }
    }
}

fn missing_part(part: &Part, column: &'static str, name: &str, names: &[&str]) -> Diagnostic {
    let cell = part.at.cell(column);
    let which = if cell.text() == name {
        String::new()
    } else {
        format!(", which {} is not", words::quoted(name))
    };
    let missing = cell.error(format!("expected the name of a part in `parts.csv`{which}"));
    match words::nearest(name, names.iter().copied()) {
        Some(near) => missing.help(format!("did you mean `{near}`?")),
        None => missing,
    }
}

/// Reports a ring of rows that name one another, once, at the first of its rows.
fn ring(
    book: &Book,
    column: &'static str,
    next: impl Fn(&Part) -> Vec<String>,
    problems: &mut Problems,
) {
    let mut told: Vec<String> = Vec::new();
    for start in book.parts.iter().filter(|part| part.role != Role::Rival) {
        let mut path = vec![start.name.clone()];
        let mut met: BTreeSet<String> = BTreeSet::new();
        let mut open: Vec<(String, usize)> =
            next(start).into_iter().map(|name| (name, 1)).collect();
        while let Some((name, depth)) = open.pop() {
            path.truncate(depth);
            if name == start.name {
                if !told.contains(&start.name) {
                    told.extend(path.iter().cloned());
                    path.push(name);
                    problems.push(start.at.cell(column).error(format!(
                        "expected no ring of parts that name one another: {}",
                        path.join(" → ")
                    )));
                }
                break;
            }
            if !met.insert(name.clone()) {
                continue;
            }
            path.push(name.clone());
            let following = book.main_row(&name).map(&next).unwrap_or_default();
            open.extend(following.into_iter().map(|name| (name, depth + 1)));
        }
    }
}

/// Where a whole file is meant.
pub(super) fn at_file(path: &str) -> Location {
    Location::line(Arc::from(path), 1)
}

/// Names with a letter for each, in their order; an empty one stays as it is.
fn lettered<'a>(what: &str, names: impl Iterator<Item = &'a String>) -> BTreeMap<String, String> {
    let names: BTreeSet<&String> = names.filter(|name| !name.is_empty()).collect();
    names
        .into_iter()
        .enumerate()
        .map(|(at, name)| (name.clone(), format!("{what} {}", words::letters(at))))
        .collect()
}

fn hide_schedule(freight: &mut Freight, schedules: &BTreeMap<String, String>) {
    if let Freight::Schedule(name) = freight {
        *name = schedules.get(name).cloned().unwrap_or_default();
    }
}
