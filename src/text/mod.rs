//! Where things came from and how to complain: files as text, tables of cells that know their place, and problems
//! as data until they are drawn.
//!
//! Uses only `units`. Reads no files: callers hand in bytes and a name.

mod cell;
mod columns;
mod diagnostic;
mod formula;
mod marks;
mod render;
mod second_names;
mod sheet;
mod source;
mod split;
mod visible;
pub mod words;

pub use cell::{Cell, Row, Spot};
pub use columns::Columns;
pub use diagnostic::{Diagnostic, Place, Problems, Severity, position};
pub use formula::{begins_formula, guarded_within, is_number};
pub use render::draw;
pub use sheet::Sheet;
pub use source::{decode, encode_like};
pub use visible::{is_unseen, visible, visible_json, visible_name};
