//! `bulk` as a filter: reads a list in batches, prices them on one or more threads, writes them in their order.
//!
//! Memory does not grow with the list: batches come back to the reader once they are written. Owns the streams, the threads
//! and the progress on a terminal; what a line costs is [`crate::bulk`]'s.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::File;
use std::io::{self, BufWriter, IsTerminal, Read, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, channel, sync_channel};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use super::exit::Exit;
use super::world;
use crate::bulk::{BadLine, Columns, OUTPUT, Pricer, Setting};
use crate::text::words::count;
use crate::text::{Diagnostic, Place, Problems, draw};

/// Records in one batch, unless a consignment runs on.
const BATCH: usize = 2048;

/// A field longer than this is refused.
const LONGEST_FIELD: usize = 1 << 20;

/// A list, and what becomes of its bad lines.
pub(super) struct Stream<'a> {
    /// As named in messages.
    pub(super) path: &'a str,
    /// Its bytes.
    pub(super) bytes: Box<dyn Read + Send>,
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
    records: Vec<csv::ByteRecord>,
    lines: Vec<u64>,
    used: usize,
    /// Where each consignment starts among the records.
    groups: Vec<usize>,
    /// A problem met in reading after these records.
    broken: Option<(u64, BadLine)>,
    out: Vec<u8>,
    bad: Vec<(u64, BadLine, Option<csv::ByteRecord>)>,
    read: u64,
}

impl Batch {
    fn clear(&mut self) {
        self.used = 0;
        self.groups.clear();
        self.lines.clear();
        self.broken = None;
        self.out.clear();
        self.bad.clear();
    }

    /// Prices every consignment; at a bad line it stops, unless bad lines are kept apart.
    fn price(&mut self, pricer: &mut Pricer<'_>, keep_going: bool) {
        for at in 0..self.groups.len() {
            let start = self.groups.get(at).copied().unwrap_or(0);
            let end = self.groups.get(at + 1).copied().unwrap_or(self.used);
            let Some(group) = self.records.get(start..end) else { return };
            let Err((offset, bad)) = pricer.price(group, &mut self.out) else { continue };
            if !keep_going {
                self.bad.push((self.lines.get(start + offset).copied().unwrap_or(0), bad, None));
                self.broken = None;
                return;
            }
            for (other, record) in group.iter().enumerate() {
                let why = BadLine { column: "", what: "another line of its consignment is bad".to_owned() };
                let line = self.lines.get(start + other).copied().unwrap_or(0);
                self.bad.push((line, if other == offset { bad.clone() } else { why }, Some(record.clone())));
            }
        }
    }
}

/// The list being read.
struct Source<'a> {
    reader: csv::Reader<Box<dyn Read + Send>>,
    columns: &'a Columns,
    line: u64,
    /// The first record of the next consignment, read already.
    ahead: Option<(csv::ByteRecord, u64)>,
    /// Consignments that are over: one that comes back is an error.
    over: BTreeSet<Vec<u8>>,
    ended: bool,
}

impl Source<'_> {
    /// Fills a batch to its size and the end of a consignment; whether there may be more.
    fn fill(&mut self, batch: &mut Batch, number: usize) -> bool {
        batch.clear();
        batch.number = number;
        while !self.ended {
            if batch.used == batch.records.len() {
                batch.records.push(csv::ByteRecord::new());
            }
            let at = batch.used;
            let Some(line) = self.next_into(&mut batch.records[at], &mut batch.broken) else { break };
            let joined = at > 0 && self.same_consignment(&batch.records[at - 1], &batch.records[at]);
            if !joined {
                if batch.used >= BATCH {
                    self.ahead = Some((batch.records[at].clone(), line));
                    break;
                }
                if let Some(bad) = self.begin(&batch.records[at]) {
                    batch.broken = Some((line, bad));
                    self.ended = true;
                    break;
                }
                batch.groups.push(at);
            }
            batch.lines.push(line);
            batch.used += 1;
        }
        batch.read = self.reader.position().byte();
        !self.ended
    }

    /// Reads the next record; its line, or none at the end or at a problem, which is noted.
    fn next_into(&mut self, record: &mut csv::ByteRecord, broken: &mut Option<(u64, BadLine)>) -> Option<u64> {
        if let Some((ahead, line)) = self.ahead.take() {
            *record = ahead;
            return Some(line);
        }
        let line = self.line;
        let what = match self.reader.read_byte_record(record) {
            Ok(true) if record.as_slice().len() > LONGEST_FIELD && record.iter().any(|field| field.len() > LONGEST_FIELD) => {
                "a field is longer than 1 MiB".to_owned()
            }
            Ok(true) => {
                let inside = record.as_slice().iter().filter(|byte| **byte == b'\n').count();
                self.line += 1 + u64::try_from(inside).unwrap_or(0);
                return Some(line);
            }
            Ok(false) => {
                self.ended = true;
                return None;
            }
            Err(error) => format!("the list cannot be read on: {error}"),
        };
        *broken = Some((line, BadLine { column: "", what }));
        self.ended = true;
        None
    }

    fn label<'r>(&self, record: &'r csv::ByteRecord) -> &'r [u8] {
        self.columns.consignment.and_then(|at| record.get(at)).unwrap_or_default()
    }

    fn same_consignment(&self, one: &csv::ByteRecord, other: &csv::ByteRecord) -> bool {
        let label = self.label(one);
        !label.is_empty() && label == self.label(other)
    }

    /// Notes the consignment a record begins; one that was over before is an error.
    fn begin(&mut self, record: &csv::ByteRecord) -> Option<BadLine> {
        let label = self.label(record);
        if label.is_empty() || self.over.insert(label.to_vec()) {
            return None;
        }
        let shown = crate::text::words::quoted(&String::from_utf8_lossy(label));
        Some(BadLine { column: "consignment", what: format!("consignment {shown} comes back: its lines must stand together") })
    }
}

/// What is written, and what was bad.
struct Sink<'a> {
    path: &'a str,
    out: BufWriter<io::Stdout>,
    rejects: Option<BufWriter<File>>,
    keep_going: bool,
    bad: usize,
    priced: usize,
    progress: Progress,
}

impl Sink<'_> {
    /// Writes a batch; whether to go on.
    fn take(&mut self, batch: &Batch) -> io::Result<bool> {
        self.out.write_all(&batch.out)?;
        self.priced += batch.used;
        for (line, bad, record) in &batch.bad {
            self.bad += 1;
            match (&mut self.rejects, record) {
                (Some(file), Some(record)) => reject(file, record, *line, bad)?,
                _ => self.complain(*line, bad),
            }
        }
        if let Some((line, bad)) = &batch.broken {
            self.bad += 1;
            self.complain(*line, bad);
            return Ok(false);
        }
        self.progress.tell(self.priced, batch.read);
        Ok(batch.bad.is_empty() || self.keep_going)
    }

    fn complain(&self, line: u64, bad: &BadLine) {
        let place = Place {
            column: (!bad.column.is_empty()).then(|| bad.column.to_owned()),
            ..Place::line(Arc::from(self.path), usize::try_from(line).unwrap_or(0))
        };
        let mut problems = Problems::new();
        problems.push(Diagnostic::error(bad.what.clone()).at(place));
        world::complain(&draw(&problems, world::colour_err()));
    }

    fn close(mut self) -> io::Result<Exit> {
        self.out.flush()?;
        if let Some(file) = &mut self.rejects {
            file.flush()?;
        }
        self.progress.end();
        if self.bad > 0 {
            world::complain(&format!("{} not priced\n", count(self.bad, "line", "lines")));
            return Ok(Exit::Refused);
        }
        Ok(Exit::Done)
    }
}

/// A bad line as it came, with its number and the reason.
fn reject(file: &mut impl Write, record: &csv::ByteRecord, line: u64, bad: &BadLine) -> io::Result<()> {
    let mut writer = csv::WriterBuilder::new().flexible(true).from_writer(Vec::new());
    let reason = [line.to_string().into_bytes(), bad.what.clone().into_bytes()];
    let fields = record.iter().map(<[u8]>::to_vec).chain(reason);
    writer.write_record(fields).map_err(io::Error::other)?;
    file.write_all(&writer.into_inner().map_err(|error| io::Error::other(error.to_string()))?)
}

/// Lines, rate and time left, on a terminal.
struct Progress {
    started: Instant,
    told: Instant,
    size: Option<u64>,
    shown: bool,
}

impl Progress {
    fn new(size: Option<u64>) -> Progress {
        let now = Instant::now();
        Progress { started: now, told: now, size, shown: false }
    }

    fn tell(&mut self, lines: usize, read: u64) {
        if self.told.elapsed() < Duration::from_secs(1) || !io::stderr().is_terminal() {
            return;
        }
        self.told = Instant::now();
        self.shown = true;
        let millis = self.started.elapsed().as_millis().max(1);
        let rate = u128::try_from(lines).unwrap_or(0) * 1000 / millis;
        let left = self.size.filter(|size| *size > read && read > 0).map(|size| u128::from(size - read) * millis / u128::from(read) / 1000);
        let left = left.map(|seconds| format!(", about {seconds} s left")).unwrap_or_default();
        world::complain(&format!("\r{lines} lines, {rate} a second{left}   "));
    }

    fn end(&self) {
        if self.shown {
            world::complain("\n");
        }
    }
}

/// Reads the header of a list and finds its columns.
pub(super) fn open(stream: Stream<'_>) -> Result<(Opened<'_>, Columns), Diagnostic> {
    let at = |line| Place::line(Arc::from(stream.path), line);
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).buffer_capacity(1 << 17).from_reader(stream.bytes);
    let mut header = csv::ByteRecord::new();
    match reader.read_byte_record(&mut header) {
        Ok(true) => {}
        Ok(false) => return Err(Diagnostic::error("the list is empty: expected a header line").at(at(1))),
        Err(error) => return Err(Diagnostic::error(format!("the list cannot be read: {error}")).at(at(1))),
    }
    let columns = Columns::find(&header).map_err(|what| Diagnostic::error(what).at(at(1)))?;
    Ok((Opened { path: stream.path, reader, header, size: stream.size, jobs: stream.jobs.max(1), rejects: stream.rejects }, columns))
}

/// A list whose header has been read.
pub(super) struct Opened<'a> {
    path: &'a str,
    reader: csv::Reader<Box<dyn Read + Send>>,
    header: csv::ByteRecord,
    size: Option<u64>,
    jobs: usize,
    rejects: Option<&'a str>,
}

/// Prices a list and writes it.
pub(super) fn price(list: Opened<'_>, setting: &Setting<'_>) -> Result<Exit, Problems> {
    let mut pricer = Pricer::open(setting)?;
    match write_list(list, setting, &mut pricer) {
        Ok(exit) => Ok(exit),
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(Exit::Done),
        Err(error) => {
            world::complain(&format!("error: the result cannot be written: {error}\n"));
            Ok(Exit::Refused)
        }
    }
}

fn write_list(list: Opened<'_>, setting: &Setting<'_>, pricer: &mut Pricer<'_>) -> io::Result<Exit> {
    let mut sink = Sink {
        path: list.path,
        out: BufWriter::with_capacity(1 << 17, io::stdout()),
        rejects: list.rejects.map(File::create).transpose()?.map(BufWriter::new),
        keep_going: list.rejects.is_some(),
        bad: 0,
        priced: 0,
        progress: Progress::new(list.size),
    };
    write_header(&list.header, &mut sink.out)?;
    let source = Source { reader: list.reader, columns: setting.columns, line: 2, ahead: None, over: BTreeSet::new(), ended: false };
    if list.jobs == 1 {
        alone(source, &mut sink, pricer)?;
    } else {
        together(source, &mut sink, setting, list.jobs)?;
    }
    sink.close()
}

fn write_header(header: &csv::ByteRecord, out: &mut impl Write) -> io::Result<()> {
    let mut writer = csv::WriterBuilder::new().from_writer(Vec::new());
    let names = header.iter().map(<[u8]>::to_vec).chain(OUTPUT.iter().map(|name| name.as_bytes().to_vec()));
    writer.write_record(names).map_err(io::Error::other)?;
    out.write_all(&writer.into_inner().map_err(|error| io::Error::other(error.to_string()))?)
}

fn alone(mut source: Source<'_>, sink: &mut Sink<'_>, pricer: &mut Pricer<'_>) -> io::Result<()> {
    let mut batch = Batch::default();
    let mut more = true;
    while more {
        more = source.fill(&mut batch, 0);
        batch.price(pricer, sink.keep_going);
        more = sink.take(&batch)? && more;
    }
    Ok(())
}

/// One thread reads, others price, this one writes in order.
fn together(mut source: Source<'_>, sink: &mut Sink<'_>, setting: &Setting<'_>, jobs: usize) -> io::Result<()> {
    let stop = AtomicBool::new(false);
    let keep_going = sink.keep_going;
    std::thread::scope(|scope| {
        let (to_work, work) = sync_channel::<Batch>(jobs * 2);
        let (to_write, done) = channel::<Batch>();
        let (give_back, empty) = channel::<Batch>();
        (0..jobs * 4).for_each(|_| drop(give_back.send(Batch::default())));
        let stop = &stop;
        scope.spawn(move || {
            let mut number = 0;
            let mut more = true;
            while more && !stop.load(Ordering::Relaxed) {
                let Ok(mut batch) = empty.recv() else { return };
                more = source.fill(&mut batch, number);
                number += 1;
                if to_work.send(batch).is_err() {
                    return;
                }
            }
        });
        let work = Arc::new(Mutex::new(work));
        for _ in 0..jobs {
            let (work, to_write) = (work.clone(), to_write.clone());
            scope.spawn(move || {
                let Ok(mut pricer) = Pricer::open(setting) else { return };
                while let Some(mut batch) = next(&work) {
                    batch.price(&mut pricer, keep_going);
                    if to_write.send(batch).is_err() {
                        return;
                    }
                }
            });
        }
        drop(to_write);
        let written = in_order(&done, sink, |batch| drop(give_back.send(batch)));
        stop.store(true, Ordering::Relaxed);
        drop(done);
        written
    })
}

fn next(work: &Mutex<Receiver<Batch>>) -> Option<Batch> {
    work.lock().ok()?.recv().ok()
}

/// Writes batches by their numbers, holding back those that are early.
fn in_order(done: &Receiver<Batch>, sink: &mut Sink<'_>, give_back: impl Fn(Batch)) -> io::Result<()> {
    let mut early: BTreeMap<usize, Batch> = BTreeMap::new();
    let mut next = 0;
    for batch in done {
        early.insert(batch.number, batch);
        while let Some(batch) = early.remove(&next) {
            next += 1;
            if !sink.take(&batch)? {
                return Ok(());
            }
            give_back(batch);
        }
    }
    Ok(())
}
