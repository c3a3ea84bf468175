//! A price list as the command line gives it: the list, its header, and what becomes of its bad lines.

use super::list::List;
use super::reads::Reads;
use super::target::Identity;

/// A list whose header has been read, and what becomes of its bad lines.
pub(super) struct Stream<'a> {
    /// As named in messages.
    pub(super) path: &'a str,
    /// Its lines.
    pub(super) list: List,
    /// Its header as it stands.
    pub(super) header: Vec<u8>,
    /// How many bytes there are, when that is known.
    pub(super) size: Option<u64>,
    /// Threads that price.
    pub(super) jobs: usize,
    /// Where bad lines go with their reasons; none to stop at the first.
    pub(super) rejects: Option<Rejects<'a>>,
    /// The choices that the command line names.
    pub(super) choices: Vec<String>,
    /// Whether cells are written as they came, with no guard against formulas.
    pub(super) plain_cells: bool,
}

/// Where bad lines go, and what they may not overwrite.
pub(super) struct Rejects<'a> {
    /// The file as named.
    pub(super) path: &'a str,
    /// Which file the list is.
    pub(super) list: Option<Identity>,
    /// What a later run would read as tables.
    pub(super) reads: Reads,
}
