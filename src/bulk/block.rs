//! A run of lines: cut into records and consignments, each priced and written, and what was bad set apart.

use super::record::{Bounds, Record, Scan, is_plain, scan};
use super::{BadLine, EndedRow, Far, OpenCode, Pricer, Wants, Written, may_need_guard};

/// A field longer than this is refused.
pub(crate) const LONGEST_FIELD: usize = 1 << 20;

/// A consignment of more lines than this is refused: memory does not grow with the list.
pub(crate) const MOST_LINES: usize = 1000;

/// Lines of a list, whole records all, and no consignment cut.
#[derive(Debug, Clone, Copy)]
pub struct Block<'a> {
    /// Their bytes.
    pub bytes: &'a [u8],
    /// The number of the first in its list.
    pub first_line: u64,
    /// Where consignments begin that were over before.
    pub returns: &'a [usize],
    /// Whether the list ends with them.
    pub last: bool,
    /// Whether bad lines are set apart, rather than the end.
    pub keep_going: bool,
}

/// A bad line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bad {
    /// Its number in the list.
    pub(crate) line: u64,
    /// Why.
    pub(crate) why: BadLine,
    /// As it came.
    pub(crate) raw: Vec<u8>,
}

/// What became of a block, kept from one to the next.
#[derive(Debug, Default)]
pub struct Done {
    /// The lines to be written.
    pub(crate) out: Written,
    /// How many they are.
    pub(crate) priced: u64,
    /// The bad ones.
    pub bad: Vec<Bad>,
    /// Consignments to which a duty applies whose rate is not known, and the line of the first.
    pub gaps: Option<(u64, u64)>,
    /// Consignments that a duty, tax or fee would have touched had its row not ended, and the line of the first.
    pub ended: Option<(u64, u64)>,
    /// How many lines have freight that hangs on a mass nobody has told, and the first of them.
    pub(crate) massless: Option<(u64, u64)>,
    /// Days that the tables say little of, each with the first line that has it.
    pub(crate) far: Vec<(u64, Far)>,
    /// Digits that stop above rows which differ, met for the first time, each with its line.
    pub(crate) open: Vec<(u64, OpenCode)>,
    /// Rows that ended and would have touched these lines, met for the first time, each with its line.
    pub(crate) ended_rows: Vec<(u64, EndedRow)>,
    /// The last line, when it is whole but its line end is missing.
    pub(crate) unended: Option<u64>,
}

impl Done {
    /// Forgets the block before.
    pub(crate) fn clear(&mut self) {
        self.out.clear();
        self.bad.clear();
        self.priced = 0;
        self.gaps = None;
        self.ended = None;
        self.massless = None;
        self.far.clear();
        self.open.clear();
        self.ended_rows.clear();
        self.unended = None;
    }
}

/// A record that waits for the rest of its consignment.
struct Held {
    start: usize,
    scan: Scan,
    bounds: Bounds,
    line: u64,
}

/// Going through one block.
struct Walk<'w, 'a> {
    block: Block<'w>,
    pricer: &'w mut Pricer<'a>,
    done: &'w mut Done,
    plain: bool,
    text: bool,
}

impl Pricer<'_> {
    /// Prices the lines of a block in their order; at a bad line it stops, unless it is to keep going.
    pub fn block(&mut self, block: Block<'_>, done: &mut Done) {
        let plain = is_plain(block.bytes);
        let text = std::str::from_utf8(block.bytes).is_ok();
        let grouped = self.setting.columns.consignment;
        self.guard = !self.setting.plain_cells && may_need_guard(block.bytes);
        let mut walk = Walk {
            block,
            pricer: self,
            done,
            plain,
            text,
        };
        match grouped {
            None => walk.singly(),
            Some(column) => walk.together(column),
        }
    }
}

impl Walk<'_, '_> {
    fn singly(&mut self) {
        let mut bounds = std::mem::take(&mut self.pricer.bounds);
        let (mut at, mut line) = (0, self.block.first_line);
        while at < self.block.bytes.len() {
            let scan = scan(self.block.bytes, at, self.plain, &mut bounds);
            let record = Record::new(self.block.bytes, at, scan, &bounds);
            if !record.is_empty() {
                let priced = self
                    .sound(&record, scan)
                    .and_then(|()| self.pricer.one(&record, &mut self.done.out));
                match priced {
                    Ok(wants) => {
                        self.count(line, scan);
                        self.note(wants, line);
                    }
                    Err(why) => {
                        if !self.refuse(&record, line, scan, why) {
                            break;
                        }
                    }
                }
            }
            line += scan.lines;
            at = scan.next;
        }
        self.pricer.bounds = bounds;
    }

    fn note(&mut self, wants: Wants, line: u64) {
        self.done
            .open
            .extend(self.pricer.untold.drain(..).map(|open| (line, open)));
        self.done
            .ended_rows
            .extend(self.pricer.ended.untold.drain(..).map(|row| (line, row)));
        self.done
            .far
            .extend(self.pricer.far.drain(..).map(|far| (line, far)));
        let done = &mut *self.done;
        let counted = [
            (u64::from(wants.rate), &mut done.gaps),
            (u64::from(wants.ended > 0), &mut done.ended),
            (wants.massless, &mut done.massless),
        ];
        for (more, found) in counted.into_iter().filter(|(more, _)| *more > 0) {
            let (count, first) = found.unwrap_or((0, line));
            *found = Some((count + more, first));
        }
    }

    fn count(&mut self, line: u64, scan: Scan) {
        self.done.priced += 1;
        if !scan.ended {
            self.done.unended = Some(line);
        }
    }

    /// Whether a record can be looked at: text, every quotation mark closed, no field too long.
    #[inline]
    fn sound(&self, record: &Record<'_>, scan: Scan) -> Result<(), BadLine> {
        if self.text && scan.closed && record.raw.len() <= LONGEST_FIELD {
            return Ok(());
        }
        unsound(record, scan)
    }

    /// Sets a bad line apart; whether to go on.
    fn refuse(&mut self, record: &Record<'_>, line: u64, scan: Scan, mut why: BadLine) -> bool {
        if self.block.last && !scan.ended && scan.closed {
            why.what
                .push_str("; the list ends within this line: was it cut short?");
        }
        self.done.bad.push(Bad {
            line,
            why,
            raw: record.raw.to_vec(),
        });
        self.block.keep_going
    }

    /// Adjacent lines of one consignment are priced together.
    fn together(&mut self, column: usize) {
        let mut held: Vec<Held> = Vec::new();
        let mut label: Vec<u8> = Vec::new();
        let (mut at, mut line) = (0, self.block.first_line);
        while at < self.block.bytes.len() {
            let mut bounds = Bounds::default();
            let scan = scan(self.block.bytes, at, self.plain, &mut bounds);
            let record = Record::new(self.block.bytes, at, scan, &bounds);
            if !record.is_empty() {
                let own = record.get(column);
                if own.is_empty() || own != label.as_slice() {
                    if !self.consignment(&held) {
                        return;
                    }
                    held.clear();
                    label = own.to_vec();
                }
                held.push(Held {
                    start: at,
                    scan,
                    bounds,
                    line,
                });
            }
            line += scan.lines;
            at = scan.next;
        }
        self.consignment(&held);
    }

    /// Prices what was held; whether to go on.
    fn consignment(&mut self, held: &[Held]) -> bool {
        let bytes = self.block.bytes;
        let records: Vec<Record<'_>> = held
            .iter()
            .map(|one| Record::new(bytes, one.start, one.scan, &one.bounds))
            .collect();
        let Some(first) = held.first() else {
            return true;
        };
        let (place, why) = match self.try_together(first.start, &records, held) {
            Ok(wants) => {
                held.iter().for_each(|one| self.count(one.line, one.scan));
                self.note(wants, first.line);
                return true;
            }
            Err(bad) => bad,
        };
        for (at, (one, record)) in held.iter().zip(&records).enumerate() {
            let bad = at == place;
            if bad || self.block.keep_going {
                let why = if bad {
                    why.clone()
                } else {
                    BadLine::new("", "another line of the same consignment is bad")
                };
                self.refuse(record, one.line, one.scan, why);
            }
        }
        self.block.keep_going
    }

    fn try_together(
        &mut self,
        start: usize,
        records: &[Record<'_>],
        held: &[Held],
    ) -> Result<Wants, (usize, BadLine)> {
        if self.block.returns.contains(&start) {
            let column = self.pricer.setting.columns.consignment.unwrap_or(0);
            let label = records
                .first()
                .map(|record| String::from_utf8_lossy(record.get(column)).into_owned())
                .unwrap_or_default();
            let shown = crate::text::words::quoted(&label);
            return Err((
                0,
                BadLine::new(
                    "consignment",
                    format!("consignment {shown} comes back: put its lines together"),
                ),
            ));
        }
        if records.len() > MOST_LINES {
            return Err((
                MOST_LINES,
                BadLine::new(
                    "consignment",
                    format!("a consignment of more than {MOST_LINES} lines is not priced"),
                ),
            ));
        }
        for (at, (record, one)) in records.iter().zip(held).enumerate() {
            self.sound(record, one.scan).map_err(|why| (at, why))?;
        }
        match records {
            [record] => self
                .pricer
                .one(record, &mut self.done.out)
                .map_err(|why| (0, why)),
            several => self.pricer.several(several, &mut self.done.out),
        }
    }
}

#[cold]
fn unsound(record: &Record<'_>, scan: Scan) -> Result<(), BadLine> {
    if record.fields().any(|field| field.len() > LONGEST_FIELD) {
        return Err(BadLine::new("", "a field is longer than 1 MiB"));
    }
    if !scan.closed {
        return Err(BadLine::new(
            "",
            "a quotation mark is opened and never closed: the list was cut short, or has one mark too many",
        ));
    }
    match std::str::from_utf8(record.raw) {
        Ok(_) => Ok(()),
        Err(error) => {
            let at = error.valid_up_to();
            let byte = record.raw.get(at).copied().unwrap_or(0);
            Err(BadLine::new(
                "",
                format!(
                    "the line is not UTF-8 text: byte {} of it is 0x{byte:02X}",
                    at + 1
                ),
            ))
        }
    }
}
