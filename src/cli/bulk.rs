//! `bulk` as a filter: reads a list block by block, prices the blocks on one or more threads, writes them in their order.
//!
//! Memory does not grow with the list: blocks are filled again once they are written. Owns the threads; reading is
//! [`super::list`]'s, writing is [`super::sink`]'s, what a line costs is [`crate::bulk`]'s.

use std::collections::BTreeMap;
use std::io;
use std::sync::{Condvar, Mutex};

use super::exit::Exit;
use super::list::List;
use super::sink::{Batch, Sink, Unwritten};
use super::stream::Stream;
use super::world;
use crate::bulk::{Pricer, Setting};
use crate::text::words::{list, quoted};
use crate::text::{Problems, Severity, draw};

/// Prices a list and writes it.
pub(super) fn price(stream: Stream<'_>, setting: &Setting<'_>) -> Result<Exit, Problems> {
    let mut pricer = Pricer::open(setting)?;
    unknown_choices(&stream.choices, &pricer)?;
    let written = write_list(stream, setting, &mut pricer);
    // the run is over: what it has learnt is not taken apart piece by piece
    std::mem::forget(pricer);
    match written {
        Ok(exit) => Ok(exit),
        Err(Unwritten {
            error, file: None, ..
        }) if error.kind() == io::ErrorKind::BrokenPipe => Ok(Exit::Done),
        Err(Unwritten { error, file, line }) => {
            let what = file.map_or("the result".to_owned(), |file| quoted(&file));
            let from = if line == 0 {
                String::new()
            } else {
                format!(" from line {line} on")
            };
            world::complain(&format!("error: {what} cannot be written{from}: {error}\n"));
            Ok(Exit::Refused)
        }
    }
}

/// A choice that is typed and changes nothing, by its name or its value, is refused; one that a book says is warned of.
fn unknown_choices(typed: &[String], pricer: &Pricer<'_>) -> Result<(), Problems> {
    let known = pricer.law();
    let known = known.choices();
    let mut problems = Problems::new();
    for unknown in pricer.unknown_choices() {
        let problem = unknown.problem(if typed.contains(&unknown.choice) {
            Severity::Error
        } else {
            Severity::Warning
        });
        problems.push(match unknown.near {
            Some(_) => problem,
            None if known.contains(unknown.choice.as_str()) => problem,
            None if known.is_empty() => problem.note("there it asks for none"),
            None => problem.note(format!(
                "its choices are {}",
                list(&known.iter().collect::<Vec<_>>(), "and")
            )),
        });
    }
    if problems.refuse() {
        return Err(problems);
    }
    if problems.iter().next().is_some() {
        world::complain(&draw(&problems, world::colour_err()));
    }
    Ok(())
}

fn write_list(
    stream: Stream<'_>,
    setting: &Setting<'_>,
    pricer: &mut Pricer<'_>,
) -> Result<Exit, Unwritten> {
    let sink = Sink::open(&stream)?;
    if stream.jobs <= 1 {
        alone(stream.list, sink, pricer)
    } else {
        together(stream.list, sink, setting, pricer, stream.jobs)
    }
}

fn alone(mut list: List, mut sink: Sink<'_>, pricer: &mut Pricer<'_>) -> Result<Exit, Unwritten> {
    let mut batch = Batch::default();
    let mut more = true;
    while more {
        more = list.fill(&mut batch.lines);
        batch.price(pricer, sink.keeps_going());
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
        if writing.over.is_some() {
            None
        } else {
            writing.idle.pop()
        }
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
    Unwritten {
        error: io::Error::other("a thread that prices has ended"),
        file: None,
        line: 0,
    }
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
fn together(
    list: List,
    sink: Sink<'_>,
    setting: &Setting<'_>,
    pricer: &mut Pricer<'_>,
    jobs: usize,
) -> Result<Exit, Unwritten> {
    let keep_going = sink.keeps_going();
    let idle = (0..jobs).map(|_| Batch::default()).collect();
    let workshop = Workshop {
        reading: Mutex::new(Reading {
            list,
            next: 0,
            more: true,
        }),
        writing: Mutex::new(Writing {
            sink,
            next: 0,
            early: BTreeMap::new(),
            idle,
            over: None,
        }),
        written: Condvar::new(),
        keep_going,
    };
    std::thread::scope(|scope| {
        for _ in 1..jobs {
            let (law, workshop) = (pricer.law(), &workshop);
            scope.spawn(move || {
                Pricer::beside(setting, law).and_then(|mut pricer| workshop.work(&mut pricer))
            });
        }
        workshop.work(pricer)
    });
    let Writing { sink, over, .. } = workshop.writing.into_inner().map_err(|_| lost())?;
    over.unwrap_or(Ok(()))?;
    sink.close()
}
