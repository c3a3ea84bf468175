//! A price list being read: its header, then block after block of whole lines, no consignment cut.
//!
//! Blocks are of one size however long the list; only a line or a consignment longer than that makes one grow, up to a
//! limit at which the list is refused.

use std::io::Read;
use std::sync::Arc;

use super::consignment_log::Seen;
use crate::bulk::{BadLine, Bounds, Columns, LONGEST_FIELD, MOST_LINES, Record, is_plain, scan};
use crate::text::{Diagnostic, Location};

/// Bytes in one block, more or less.
const BLOCK: usize = 1 << 16;

/// A line, or a consignment, of more bytes than this is refused.
const LONGEST: usize = 4 * LONGEST_FIELD;

/// A list.
pub(super) struct List {
    bytes: Box<dyn Read + Send>,
    /// Read already, and not yet handed out.
    ahead: Vec<u8>,
    /// The line that comes next.
    line: u64,
    /// Which column holds the consignment.
    consignment: Option<usize>,
    /// Consignments that are over.
    seen: Seen,
    /// Whether all is read.
    dry: bool,
    /// Bytes read so far.
    read: u64,
}

/// Some lines of a list.
#[derive(Default)]
pub(super) struct Lines {
    /// Their bytes.
    pub(super) bytes: Vec<u8>,
    /// The number of the first.
    pub(super) first: u64,
    /// Where consignments begin that were over before.
    pub(super) returns: Vec<usize>,
    /// Whether they are the last.
    pub(super) last: bool,
    /// Why the list cannot be read on behind them.
    pub(super) broken: Option<(u64, BadLine)>,
    /// Bytes of the list read when they were.
    pub(super) read: u64,
}

impl Lines {
    /// Gives back the room that a long line took.
    pub(super) fn slim(&mut self) {
        if self.bytes.capacity() > 8 * BLOCK {
            self.bytes = Vec::new();
        }
    }
}

impl List {
    /// Reads the header: the list, its header as it stands, and the columns.
    pub(super) fn open(
        path: &str,
        bytes: Box<dyn Read + Send>,
    ) -> Result<(List, Vec<u8>, Columns), Diagnostic> {
        let refuse = |what: String| Diagnostic::error(what).at(Location::line(Arc::from(path), 1));
        let mut list = List {
            bytes,
            ahead: Vec::new(),
            line: 1,
            consignment: None,
            seen: Seen::default(),
            dry: false,
            read: 0,
        };
        let mut bounds = Bounds::default();
        loop {
            let mut bytes = std::mem::take(&mut list.ahead);
            let more = bytes.len() + BLOCK;
            list.read_on(&mut bytes, more)
                .map_err(|error| refuse(format!("the list cannot be read: {error}")))?;
            if list.line == 1 && bytes.starts_with(b"\xef\xbb\xbf") {
                bytes.drain(..3);
            }
            let found = scan(&bytes, 0, false, &mut bounds);
            let whole = found.ended && found.closed && (list.dry || found.next < bytes.len());
            if bytes.is_empty() {
                return Err(refuse(
                    "the list is empty: it needs a header line".to_owned(),
                ));
            }
            if whole || (list.dry && found.closed) {
                let record = Record::new(&bytes, 0, found, &bounds);
                if std::str::from_utf8(record.raw).is_err() {
                    return Err(refuse("the header is not UTF-8 text".to_owned()));
                }
                let columns = Columns::find(&record).map_err(refuse)?;
                let header = record.raw.to_vec();
                list.line += found.lines;
                list.ahead = bytes.split_off(found.next);
                list.consignment = columns.consignment;
                return Ok((list, header, columns));
            }
            if list.dry || bytes.len() > LONGEST {
                return Err(refuse(
                    "the header does not end: it has one quotation mark too many".to_owned(),
                ));
            }
            list.ahead = bytes;
        }
    }

    /// Reads until there are `target` bytes, or all.
    fn read_on(&mut self, bytes: &mut Vec<u8>, target: usize) -> std::io::Result<()> {
        let before = bytes.len();
        let wanted = target.saturating_sub(before);
        bytes.reserve(wanted);
        let read = Read::by_ref(&mut self.bytes)
            .take(u64::try_from(wanted).unwrap_or(u64::MAX))
            .read_to_end(bytes);
        let got = bytes.len() - before;
        self.read += u64::try_from(got).unwrap_or(0);
        self.dry = self.dry || got < wanted;
        read.map(drop)
    }

    /// Fills a block; whether there may be more.
    pub(super) fn fill(&mut self, lines: &mut Lines) -> bool {
        lines.bytes.clear();
        lines.returns.clear();
        lines.broken = None;
        lines.first = self.line;
        lines.bytes.append(&mut self.ahead);
        let mut target = BLOCK;
        let cut = loop {
            let fault = self.read_on(&mut lines.bytes, target).err();
            let whole = self.dry && fault.is_none();
            let cut = if whole {
                Ok(lines.bytes.len())
            } else {
                self.cut(&lines.bytes)
            };
            let cut = cut.and_then(|cut| self.note(lines, cut));
            match (fault, cut) {
                (Some(error), cut) => {
                    lines.broken = Some((
                        0,
                        BadLine::new("", format!("the list cannot be read beyond this: {error}")),
                    ));
                    break cut.unwrap_or(0);
                }
                (None, Err(why)) => {
                    lines.broken = Some((0, why));
                    self.dry = true;
                    break 0;
                }
                (None, Ok(0)) if !self.dry => {
                    target = lines.bytes.len() + BLOCK.max(lines.bytes.len());
                }
                (None, Ok(cut)) => break cut,
            }
        };
        self.ahead
            .extend_from_slice(lines.bytes.get(cut..).unwrap_or_default());
        lines.bytes.truncate(cut);
        self.line += ends(&lines.bytes);
        if let Some((line, _)) = &mut lines.broken {
            *line = self.line;
            self.ahead.clear();
        }
        lines.last = self.dry && self.ahead.is_empty();
        lines.read = self.read;
        !lines.last
    }

    /// Where the last whole line ends, or the last consignment that is over; zero when none is.
    fn cut(&self, bytes: &[u8]) -> Result<usize, BadLine> {
        if self.consignment.is_none() && memchr::memchr(b'"', bytes).is_none() {
            let cut = memchr::memrchr(b'\n', bytes).map_or(0, |at| at + 1);
            return if cut == 0 { endless(bytes) } else { Ok(cut) };
        }
        let (mut at, mut cut, mut label, mut bounds) = (0, 0, None, Bounds::default());
        let plain = is_plain(bytes);
        let mut in_one = 0;
        while at < bytes.len() {
            let found = scan(bytes, at, plain, &mut bounds);
            if !found.ended
                || !found.closed
                || (found.next == bytes.len() && bytes.last() == Some(&b'\r'))
            {
                break;
            }
            in_one += 1;
            match self.consignment {
                None => cut = found.next,
                Some(_) if found.end == at => {}
                Some(column) => {
                    let own = Record::new(bytes, at, found, &bounds).get(column).to_vec();
                    if own.is_empty() || label.as_ref() != Some(&own) {
                        (cut, in_one) = (at, 1);
                    }
                    label = Some(own);
                }
            }
            at = found.next;
        }
        if cut == 0 && in_one > MOST_LINES && bytes.len() > LONGEST {
            return Err(BadLine::new(
                "consignment",
                format!("a consignment of more than {MOST_LINES} lines is not priced"),
            ));
        }
        if cut == 0 { endless(bytes) } else { Ok(cut) }
    }

    /// Notes the consignments that begin before the cut, and which of them were over before.
    fn note(&mut self, lines: &mut Lines, cut: usize) -> Result<usize, BadLine> {
        let Some(column) = self.consignment else {
            return Ok(cut);
        };
        let (mut at, mut label, mut bounds) = (0, Vec::new(), Bounds::default());
        let plain = is_plain(&lines.bytes);
        while at < cut {
            let found = scan(&lines.bytes, at, plain, &mut bounds);
            let record = Record::new(&lines.bytes, at, found, &bounds);
            if record.is_empty() {
                at = found.next;
                continue;
            }
            let own = record.get(column);
            if !own.is_empty() && own != label.as_slice() {
                let new = self.seen.insert(own).map_err(|error| {
                    BadLine::new(
                        "consignment",
                        format!(
                            "the consignments so far cannot be noted in a temporary file: {error}"
                        ),
                    )
                })?;
                if !new {
                    lines.returns.push(at);
                }
            }
            label = own.to_vec();
            at = found.next;
        }
        Ok(cut)
    }
}

/// A line that does not end, or not yet.
fn endless(bytes: &[u8]) -> Result<usize, BadLine> {
    if bytes.len() <= LONGEST {
        return Ok(0);
    }
    let mut bounds = Bounds::default();
    let found = scan(bytes, 0, false, &mut bounds);
    let long = Record::new(bytes, 0, found, &bounds)
        .fields()
        .any(|field| field.len() > LONGEST_FIELD);
    let hint = if found.closed {
        ""
    } else {
        "; perhaps a quotation mark is opened and never closed"
    };
    let what = if long {
        "a field is longer than 1 MiB"
    } else {
        "the line is longer than 4 MiB"
    };
    Err(BadLine::new("", format!("{what}{hint}")))
}

/// How many line ends there are: LF, CRLF or CR.
fn ends(bytes: &[u8]) -> u64 {
    let feeds = u64::try_from(memchr::memchr_iter(b'\n', bytes).count()).unwrap_or(0);
    if memchr::memchr(b'\r', bytes).is_none() {
        return feeds;
    }
    let bare = bytes
        .iter()
        .zip(bytes.iter().skip(1).chain([&b' ']))
        .filter(|(one, next)| **one == b'\r' && **next != b'\n');
    feeds + u64::try_from(bare.count()).unwrap_or(0)
}
