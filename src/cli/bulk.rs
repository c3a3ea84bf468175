//! `bulk` as a filter: reads a list block by block, prices the blocks on one or more threads, writes them in their order.
//!
//! Memory does not grow with the list: blocks come back to the reader once they are written. Owns the threads, the writing
//! and the progress on a terminal; reading is [`super::list`]'s, what a line costs is [`crate::bulk`]'s.

use std::cell::Cell;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, BufWriter, IsTerminal, Write};
use std::sync::{Arc, Condvar, Mutex};
use std::time::{Duration, Instant};

use super::exit::Exit;
use super::list::{Lines, List};
use super::world;
use crate::bulk::{Bad, BadLine, Block, Done, OUTPUT, Pricer, Setting};
use crate::text::words::{count, quoted};
use crate::text::{Diagnostic, Place, Problems, draw};

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
    pub(super) rejects: Option<&'a str>,
}

/// Lines on their way.
#[derive(Default)]
struct Batch {
    number: usize,
    lines: Lines,
    done: Done,
}

impl Batch {
    /// The line of the list that comes after these bytes of the result; bad lines are not in it.
    fn line_behind(&self, written: &[u8]) -> u64 {
        let ends = |bytes: &[u8]| bytes.iter().fold(0_u64, |sum, byte| sum.saturating_add(u64::from(*byte == b'\n')));
        let plain = self.lines.first.saturating_add(ends(written));
        self.done.bad.iter().fold(plain, |line, bad| if bad.line <= line { line.saturating_add(1 + ends(&bad.raw)) } else { line })
    }

    /// Gives back the room of a line or a consignment that was much longer than others are.
    fn slim(mut self) -> Batch {
        self.lines.slim();
        self.done.out.slim();
        self
    }

    fn price(&mut self, pricer: &mut Pricer<'_>, keep_going: bool) {
        self.done.clear();
        let Lines { bytes, first, returns, last, .. } = &self.lines;
        pricer.block(Block { bytes, first_line: *first, returns, last: *last, keep_going }, &mut self.done);
    }
}

/// Why a result could not be written.
struct Unwritten {
    error: io::Error,
    /// Which file; none for standard output.
    file: Option<String>,
    line: u64,
}

/// What is written, and what was bad.
struct Sink<'a> {
    path: &'a str,
    out: io::Stdout,
    rejects: Option<(&'a str, BufWriter<File>)>,
    bad: usize,
    priced: u64,
    gaps: Option<(u64, u64)>,
    progress: Progress,
}

impl Sink<'_> {
    /// Writes a batch; whether to go on.
    fn take(&mut self, batch: &Batch) -> Result<bool, Unwritten> {
        let Batch { lines, done, .. } = batch;
        self.write(batch)?;
        self.priced += done.priced;
        self.bad += done.bad.len();
        if let Some((count, first)) = done.gaps {
            let (before, earliest) = self.gaps.unwrap_or((0, first));
            self.gaps = Some((before + count, earliest));
        }
        for bad in &done.bad {
            let Some((path, file)) = &mut self.rejects else {
                self.complain(bad.line, &bad.why);
                continue;
            };
            reject(file, bad).map_err(|error| Unwritten { error, file: Some((*path).to_owned()), line: bad.line })?;
        }
        if let Some((line, why)) = lines.broken.as_ref().filter(|_| done.bad.is_empty() || self.rejects.is_some()) {
            self.bad += 1;
            self.say(Diagnostic::error(why.what.clone()).note("the list is not read on from here"), *line, why.column);
            return Ok(false);
        }
        if let Some(line) = done.unended {
            self.say(Diagnostic::warning("the list ends without a line end: if it was cut short, this line may be too"), line, "");
        }
        self.progress.tell(self.priced, lines.read);
        Ok(done.bad.is_empty() || self.rejects.is_some())
    }

    /// Writes the lines of a batch; when that ends on the way, from which line on they are missing at the latest: standard
    /// output may still hold some letters back.
    fn write(&mut self, batch: &Batch) -> Result<(), Unwritten> {
        const HELD_BACK: usize = 1 << 10;
        let bytes = batch.done.out.bytes();
        let mut at = 0;
        while let Some(rest) = bytes.get(at..).filter(|rest| !rest.is_empty()) {
            let error = match self.out.write(rest) {
                Ok(0) => io::Error::from(io::ErrorKind::WriteZero),
                Ok(taken) => {
                    at += taken;
                    continue;
                }
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => error,
            };
            let certain = bytes.get(..at.saturating_sub(HELD_BACK)).unwrap_or_default();
            return Err(Unwritten { error, file: None, line: batch.line_behind(certain) });
        }
        Ok(())
    }

    fn complain(&self, line: u64, bad: &BadLine) {
        self.say(Diagnostic::error(bad.what.clone()), line, bad.column);
    }

    fn say(&self, what: Diagnostic, line: u64, column: &str) {
        let place = Place {
            column: (!column.is_empty()).then(|| column.to_owned()),
            ..Place::line(Arc::from(self.path), usize::try_from(line).unwrap_or(0))
        };
        let mut problems = Problems::new();
        problems.push(what.at(place));
        self.progress.end();
        world::complain(&draw(&problems, world::colour_err()));
    }

    fn close(mut self) -> Result<Exit, Unwritten> {
        self.out.flush().map_err(|error| Unwritten { error, file: None, line: 0 })?;
        if let Some((path, file)) = &mut self.rejects {
            file.flush().map_err(|error| Unwritten { error, file: Some((*path).to_owned()), line: 0 })?;
        }
        self.progress.end();
        if let Some((count, first)) = self.gaps {
            let what = format!("no rate of duty is known for {}: the duty there stands at nought", lines(count));
            self.say(Diagnostic::warning(what).note("the place is the first of them"), first, "");
        }
        if self.bad > 0 {
            world::complain(&format!("{} not priced\n", count(self.bad, "line", "lines")));
            return Ok(Exit::Refused);
        }
        Ok(Exit::Done)
    }
}

fn lines(count: u64) -> String {
    if count == 1 { "1 line".to_owned() } else { format!("{count} lines") }
}

/// The number of a bad line, the reason, and the line as it came.
fn reject(file: &mut impl Write, bad: &Bad) -> io::Result<()> {
    let reason = bad.why.what.replace('"', "\"\"");
    write!(file, "{},\"{reason}\",", bad.line)?;
    file.write_all(&bad.raw)?;
    file.write_all(b"\n")
}

/// Lines, rate and time left, on a terminal.
struct Progress {
    started: Instant,
    told: Instant,
    size: Option<u64>,
    /// Whether its line is open.
    shown: Cell<bool>,
}

impl Progress {
    fn new(size: Option<u64>) -> Progress {
        let now = Instant::now();
        Progress { started: now, told: now, size, shown: Cell::new(false) }
    }

    fn tell(&mut self, lines: u64, read: u64) {
        if self.told.elapsed() < Duration::from_secs(1) || !io::stderr().is_terminal() {
            return;
        }
        self.told = Instant::now();
        self.shown.set(true);
        world::complain(&format!("\r{:<70}", pace(lines, read, self.size, self.started.elapsed())));
    }

    /// Ends its line, so that what is said next has one of its own.
    fn end(&self) {
        if self.shown.replace(false) {
            world::complain("\n");
        }
    }
}

/// Lines so far, how many a second, and how long the rest will take at the pace at which bytes were read.
fn pace(lines: u64, read: u64, size: Option<u64>, taken: Duration) -> String {
    let millis = taken.as_millis().max(1);
    let rate = u128::from(lines) * 1000 / millis;
    let left = size.filter(|size| *size > read && read > 0).map(|size| u128::from(size - read) * millis / u128::from(read) / 1000);
    let left = left.map(|seconds| format!(", about {seconds} s left")).unwrap_or_default();
    format!("{lines} lines, {rate} a second{left}")
}

/// Prices a list and writes it.
pub(super) fn price(stream: Stream<'_>, setting: &Setting<'_>) -> Result<Exit, Problems> {
    let mut pricer = Pricer::open(setting)?;
    let written = write_list(stream, setting, &mut pricer);
    // the run is over: what it has learnt is not taken apart piece by piece
    std::mem::forget(pricer);
    match written {
        Ok(exit) => Ok(exit),
        Err(Unwritten { error, file: None, .. }) if error.kind() == io::ErrorKind::BrokenPipe => Ok(Exit::Done),
        Err(Unwritten { error, file, line }) => {
            let what = file.map_or("the result".to_owned(), |file| quoted(&file));
            let from = if line == 0 { String::new() } else { format!(" from line {line} on") };
            world::complain(&format!("error: {what} cannot be written{from}: {error}\n"));
            Ok(Exit::Refused)
        }
    }
}

fn write_list(stream: Stream<'_>, setting: &Setting<'_>, pricer: &mut Pricer<'_>) -> Result<Exit, Unwritten> {
    let rejects = stream.rejects.map(|path| open_rejects(path, stream.path, &stream.header)).transpose()?;
    let sink = Sink { path: stream.path, out: io::stdout(), rejects, bad: 0, priced: 0, gaps: None, progress: Progress::new(stream.size) };
    let mut header = stream.header;
    OUTPUT.iter().for_each(|name| {
        header.push(b',');
        header.extend_from_slice(name.as_bytes());
    });
    header.push(b'\n');
    let mut out = &sink.out;
    out.write_all(&header).map_err(|error| Unwritten { error, file: None, line: 1 })?;
    if stream.jobs <= 1 { alone(stream.list, sink, pricer) } else { together(stream.list, sink, setting, pricer, stream.jobs) }
}

/// The file of bad lines, with its header: the line, the reason, and the list's own columns. It may not be the list.
fn open_rejects<'a>(path: &'a str, list: &str, header: &[u8]) -> Result<(&'a str, BufWriter<File>), Unwritten> {
    let refuse = |error: io::Error| Unwritten { error, file: Some(path.to_owned()), line: 0 };
    let whole = |path: &str| std::fs::canonicalize(path).ok();
    if whole(path).is_some_and(|place| whole(list) == Some(place)) {
        return Err(refuse(io::Error::other("it is the list itself")));
    }
    let mut file = BufWriter::new(File::create(path).map_err(refuse)?);
    file.write_all(b"line,reason,").and_then(|()| file.write_all(header)).and_then(|()| file.write_all(b"\n")).map_err(refuse)?;
    Ok((path, file))
}

fn alone(mut list: List, mut sink: Sink<'_>, pricer: &mut Pricer<'_>) -> Result<Exit, Unwritten> {
    let mut batch = Batch::default();
    let mut more = true;
    while more {
        more = list.fill(&mut batch.lines);
        batch.price(pricer, sink.rejects.is_some());
        more = sink.take(&batch)? && more;
        batch = batch.slim();
    }
    sink.close()
}

/// What the workers share: each reads its next batch, prices it, and hands it in, so that a batch stays with one
/// processor from its bytes to its result; whoever hands in the next in order writes it and those that waited for it.
struct Workshop<'a> {
    reading: Mutex<Reading>,
    writing: Mutex<Writing<'a>>,
    /// A batch was written, or nothing more will be.
    written: Condvar,
    keep_going: bool,
}

struct Reading {
    list: List,
    next: usize,
    more: bool,
}

struct Writing<'a> {
    sink: Sink<'a>,
    next: usize,
    /// Batches whose turn it is not yet.
    early: BTreeMap<usize, Batch>,
    /// Batches to be filled again; there are two for each worker, so that memory does not grow.
    idle: Vec<Batch>,
    /// Why it ended before the list did.
    over: Option<Result<(), Unwritten>>,
}

impl Workshop<'_> {
    /// Reads, prices and hands in batches until there are no more.
    fn work(&self, pricer: &mut Pricer<'_>) -> Option<()> {
        let _leaving = Leaving(self);
        let mut batch = Batch::default();
        loop {
            {
                let mut reading = self.reading.lock().ok()?;
                if !reading.more {
                    return None;
                }
                reading.more = reading.list.fill(&mut batch.lines);
                batch.number = reading.next;
                reading.next += 1;
            }
            batch.price(pricer, self.keep_going);
            batch = self.hand_in(batch)?;
        }
    }

    /// Writes a batch when its turn comes; another to be filled, or none when the end has come.
    fn hand_in(&self, batch: Batch) -> Option<Batch> {
        let mut writing = self.writing.lock().ok()?;
        writing.early.insert(batch.number, batch);
        writing.write_ready();
        self.written.notify_all();
        while writing.over.is_none() && writing.idle.is_empty() {
            writing = self.written.wait(writing).ok()?;
        }
        if writing.over.is_some() { None } else { writing.idle.pop() }
    }
}

/// A worker that is lost takes its batch with it: the others must not wait for it.
struct Leaving<'w, 'a>(&'w Workshop<'a>);

impl Drop for Leaving<'_, '_> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            if let Ok(mut writing) = self.0.writing.lock() {
                writing.over = Some(Err(lost()));
            }
            self.0.written.notify_all();
        }
    }
}

fn lost() -> Unwritten {
    Unwritten { error: io::Error::other("a thread that prices has ended"), file: None, line: 0 }
}

impl Writing<'_> {
    fn write_ready(&mut self) {
        while self.over.is_none()
            && let Some(batch) = self.early.remove(&self.next)
        {
            self.next += 1;
            match self.sink.take(&batch) {
                Ok(true) => self.idle.push(batch.slim()),
                Ok(false) => self.over = Some(Ok(())),
                Err(unwritten) => self.over = Some(Err(unwritten)),
            }
        }
    }
}

/// This thread and others take turns at reading and writing, and price side by side.
fn together(list: List, sink: Sink<'_>, setting: &Setting<'_>, pricer: &mut Pricer<'_>, jobs: usize) -> Result<Exit, Unwritten> {
    let keep_going = sink.rejects.is_some();
    let idle = (0..jobs).map(|_| Batch::default()).collect();
    let workshop = Workshop {
        reading: Mutex::new(Reading { list, next: 0, more: true }),
        writing: Mutex::new(Writing { sink, next: 0, early: BTreeMap::new(), idle, over: None }),
        written: Condvar::new(),
        keep_going,
    };
    std::thread::scope(|scope| {
        for _ in 1..jobs {
            let (law, workshop) = (pricer.law(), &workshop);
            scope.spawn(move || Pricer::beside(setting, law).and_then(|mut pricer| workshop.work(&mut pricer)));
        }
        workshop.work(pricer)
    });
    let Writing { sink, over, .. } = workshop.writing.into_inner().map_err(|_| lost())?;
    over.unwrap_or(Ok(()))?;
    sink.close()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn progress_says_the_rate_and_the_time_left_where_the_size_is_known() {
        let two = Duration::from_secs(2);
        assert_eq!(pace(1_000_000, 50, Some(200), two), "1000000 lines, 500000 a second, about 6 s left");
        assert_eq!(pace(1_000_000, 50, None, two), "1000000 lines, 500000 a second");
        assert_eq!(pace(7, 200, Some(200), Duration::ZERO), "7 lines, 7000 a second");
    }
}
