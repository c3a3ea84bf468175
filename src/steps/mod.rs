//! What a builder does with a book after the sums: each step takes the book and a wish, and gives the edits of the tables that write
//! it down. Nothing is read or written here, and no sum is formed that another room does not form already.

mod built;
mod find;
mod placed;
mod plan;
mod receive;
mod seen;
mod take;
mod told;
mod weigh;

pub(crate) use self::{
    find::offer,
    placed::{Placed, cancelled, placed},
    plan::plan,
    receive::{Arrival, Claim, Received, claim, claims, receive},
    seen::{Seen, seen},
    take::{Taken, take},
    told::{Leads, Sums, leads},
    weigh::{OnScale, weigh},
};

use crate::book::Part;
use crate::book::edit::{Edit, Find, Value};

/// Changes of tables, by table.
pub(crate) type Edits = Vec<(&'static str, Edit)>;

/// Cells that change, by column.
type Cells = Vec<(String, Value)>;

/// Cells of a row of `parts.csv` that say something else.
fn set(row: &Part, cells: Cells) -> (&'static str, Edit) {
    ("parts", Edit::Set(Find::Line(row.at.row().line()), cells))
}

/// A cell with a text.
fn text(column: &str, text: impl Into<String>) -> (String, Value) {
    (column.to_owned(), Value::Text(text.into()))
}

/// A cell with a number.
fn number(column: &str, number: impl ToString) -> (String, Value) {
    (column.to_owned(), Value::Number(number.to_string()))
}

#[cfg(test)]
mod tests;

#[cfg(test)]
pub(crate) use self::tests::changed;
