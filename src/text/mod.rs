//! Where things came from and how to complain: files as text, tables of cells that know their place, and problems
//! as data until they are drawn.
//!
//! Uses only `units`. Reads no files: callers hand in bytes and a name.

mod cell;
pub(crate) mod check_sum;
mod columns;
mod diagnostic;
mod formula;
mod marks;
mod render;
pub(crate) mod second_names;
mod sheet;
mod source;
mod split;
mod visible;
pub(crate) mod words;
pub(crate) mod written;

// What may be used from outside.
pub use self::{
    diagnostic::{Diagnostic, Problems, Severity},
    render::draw,
};

pub(crate) use cell::{Cell, Row, Spot};
pub(crate) use columns::Columns;
pub(crate) use diagnostic::{Location, REPORT, position};
pub(crate) use formula::{begins_formula, guarded_within, is_number};
pub(crate) use sheet::Sheet;
pub(crate) use source::{decode, encode_like};
pub(crate) use visible::{is_unseen, visible, visible_json, visible_name};
