//! What comes of a price list: its lines written in their order, bad ones set apart or said.

use std::collections::BTreeMap;
use std::io::{self, Write};
use std::path::Path;
use std::sync::Arc;

use super::exit::Exit;
use super::far::FarDays;
use super::list::Lines;
use super::pace::Progress;
use super::stream::{Rejects, Stream};
use super::target::{followed, identity, is_output};
use super::world;
use super::write::Growing;
use crate::bulk::{Bad, BadLine, Block, Done, EndedRow, OUTPUT, OpenCode, Pricer, guarded};
use crate::landed::own_rows;
use crate::report::{BAD_LINES, is_bad_lines};
use crate::text::words::count;
use crate::text::{Diagnostic, Location, Problems, draw, guarded_within, visible};

/// Lines on their way.
#[derive(Default)]
pub(super) struct Batch {
    /// Which it is.
    pub(super) number: usize,
    /// Its lines.
    pub(super) lines: Lines,
    done: Done,
}

impl Batch {
    /// The line of the list that comes after these bytes of the result; bad lines are not in it.
    fn line_behind(&self, written: &[u8]) -> u64 {
        let ends =
            |bytes: &[u8]| u64::try_from(memchr::memchr_iter(b'\n', bytes).count()).unwrap_or(0);
        let plain = self.lines.first.saturating_add(ends(written));
        self.done.bad.iter().fold(plain, |line, bad| {
            if bad.line <= line {
                line.saturating_add(1 + ends(&bad.raw))
            } else {
                line
            }
        })
    }

    /// Gives back the room of a line or a consignment that was much longer than others are.
    pub(super) fn slim(mut self) -> Batch {
        self.lines.slim();
        self.done.out.slim();
        self
    }

    /// Prices its lines.
    pub(super) fn price(&mut self, pricer: &mut Pricer<'_>, keep_going: bool) {
        self.done.clear();
        let Lines {
            bytes,
            first,
            returns,
            last,
            ..
        } = &self.lines;
        pricer.block(
            Block {
                bytes,
                first_line: *first,
                returns,
                last: *last,
                keep_going,
            },
            &mut self.done,
        );
    }
}

/// Why a result could not be written.
pub(super) struct Unwritten {
    /// What the system says.
    pub(super) error: io::Error,
    /// Which file; none for standard output.
    pub(super) file: Option<String>,
    /// From which line on.
    pub(super) line: u64,
}

/// What is written, and what was bad.
pub(super) struct Sink<'a> {
    path: &'a str,
    out: io::Stdout,
    rejects: Option<(&'a str, Growing)>,
    plain_cells: bool,
    bad: usize,
    priced: u64,
    gaps: Option<(u64, u64)>,
    ended: Option<(u64, u64)>,
    massless: Option<(u64, u64)>,
    /// Days that the tables say little of: in words, with the first line of each.
    far: FarDays,
    /// Digits that stop above rows which differ, with the first line that has them.
    open: BTreeMap<String, (u64, OpenCode)>,
    /// Rows that ended and would have touched lines, with the first of those.
    ended_rows: BTreeMap<EndedRow, u64>,
    progress: Progress,
}

impl<'a> Sink<'a> {
    /// Writes the header, and makes the file of bad lines where there is to be one.
    pub(super) fn open(stream: &Stream<'a>) -> Result<Sink<'a>, Unwritten> {
        let shown = if stream.plain_cells {
            stream.header.as_slice().into()
        } else {
            guarded(&stream.header)
        };
        let rejects = stream
            .rejects
            .as_ref()
            .map(|rejects| open_rejects(rejects, &shown))
            .transpose()?;
        let progress = Progress::new(stream.size);
        let mut sink = Sink {
            path: stream.path,
            out: io::stdout(),
            rejects,
            plain_cells: stream.plain_cells,
            bad: 0,
            priced: 0,
            gaps: None,
            ended: None,
            massless: None,
            far: FarDays::default(),
            open: BTreeMap::new(),
            ended_rows: BTreeMap::new(),
            progress,
        };
        let header = [&*shown, b",", OUTPUT.join(",").as_bytes(), b"\n"].concat();
        sink.out.write_all(&header).map_err(|error| Unwritten {
            error,
            file: None,
            line: 1,
        })?;
        Ok(sink)
    }

    /// Whether bad lines are set apart, rather than the end.
    pub(super) fn keeps_going(&self) -> bool {
        self.rejects.is_some()
    }
}

impl Sink<'_> {
    /// Writes a batch; whether to go on.
    pub(super) fn take(&mut self, batch: &Batch) -> Result<bool, Unwritten> {
        let Batch { lines, done, .. } = batch;
        self.write(batch)?;
        self.priced += done.priced;
        self.bad += done.bad.len();
        self.note(done);
        for bad in &done.bad {
            let Some((path, file)) = &mut self.rejects else {
                self.complain(bad.line, &bad.why);
                continue;
            };
            reject(file, bad, self.plain_cells).map_err(|error| Unwritten {
                error,
                file: Some((*path).to_owned()),
                line: bad.line,
            })?;
        }
        let goes_on = done.bad.is_empty() || self.rejects.is_some();
        if let Some((line, why)) = lines.broken.as_ref().filter(|_| goes_on) {
            self.bad += 1;
            self.say(
                Diagnostic::error(why.what.clone()).note("the list was not read beyond this"),
                *line,
                why.column,
            );
            return Ok(false);
        }
        if let Some(line) = done.unended {
            self.say(
                Diagnostic::warning(
                    "the list ends without a line end: if it was cut short, this line may be too",
                ),
                line,
                "",
            );
        }
        self.progress.tell(self.priced, lines.read);
        Ok(goes_on)
    }

    /// Keeps what the messages at the end need: how often each thing was met, and where first.
    fn note(&mut self, done: &Done) {
        let counted = [
            (&mut self.gaps, done.gaps),
            (&mut self.ended, done.ended),
            (&mut self.massless, done.massless),
        ];
        for (own, found) in counted {
            if let Some((count, first)) = found {
                let (before, earliest) = own.unwrap_or((0, first));
                *own = Some((before + count, earliest));
            }
        }
        for (line, far) in &done.far {
            self.far.note(*line, far);
        }
        for (line, open) in &done.open {
            self.open
                .entry(open.digits.clone())
                .or_insert_with(|| (*line, open.clone()));
        }
        for (line, row) in &done.ended_rows {
            self.ended_rows.entry(row.clone()).or_insert(*line);
        }
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
            let certain = bytes
                .get(..at.saturating_sub(HELD_BACK))
                .unwrap_or_default();
            return Err(Unwritten {
                error,
                file: None,
                line: batch.line_behind(certain),
            });
        }
        Ok(())
    }

    /// Says once for each code that the dearest of the rows below it counts.
    fn say_open(&self) {
        const SHOWN: usize = 20;
        let mut codes: Vec<&(u64, OpenCode)> = self.open.values().collect();
        codes.sort_by_key(|(line, _)| *line);
        for (
            line,
            OpenCode {
                digits,
                rows,
                hangs,
            },
        ) in codes.iter().take(SHOWN)
        {
            let rows = own_rows(rows);
            let what = format!(
                "the commodity code `{digits}` is too short to settle the rate{rows}: the highest is counted, and {hangs} of this line depends on it"
            );
            let note = "this is the first line with it; enter the whole code in `commodity`";
            self.say(Diagnostic::warning(what).note(note), *line, "commodity");
        }
        if let Some(more) = codes.len().checked_sub(SHOWN).filter(|more| *more > 0) {
            world::complain(&format!(
                "warning: {} too short to settle the rate\n",
                count(more, "more commodity code is", "more commodity codes are")
            ));
        }
    }

    /// Says once for each row of law that ended which it is.
    fn say_ended(&self) {
        const SHOWN: usize = 20;
        let mut rows: Vec<(&EndedRow, &u64)> = self.ended_rows.iter().collect();
        rows.sort_by_key(|(_, line)| **line);
        for (row, line) in rows.iter().take(SHOWN) {
            let what = format!(
                "{} (`{}`) ended {} and is not in the sums; what followed is unknown",
                row.kind, row.id, row.on
            );
            let note = format!(
                "the row is {}; this is the first line that it would have changed",
                row.row
            );
            self.say(Diagnostic::warning(what).note(note), **line, "");
        }
        if rows.len() > SHOWN {
            let more = count(
                rows.len() - SHOWN,
                "more row that ended is",
                "more rows that ended are",
            );
            world::complain(&format!(
                "warning: {more} not in the sums; `landwaiter rates --gaps` names them\n"
            ));
        }
    }

    fn complain(&self, line: u64, bad: &BadLine) {
        self.say(Diagnostic::error(bad.what.clone()), line, bad.column);
    }

    fn say(&self, what: Diagnostic, line: u64, column: &str) {
        let place = Location {
            column: (!column.is_empty()).then(|| column.to_owned()),
            ..Location::line(Arc::from(self.path), usize::try_from(line).unwrap_or(0))
        };
        let mut problems = Problems::new();
        problems.push(what.at(place));
        self.progress.end();
        world::complain(&draw(&problems, world::colour_err()));
    }

    /// Says how many lines lack a rate, bear what has ended, or have no mass where freight needs one.
    fn say_counted(&mut self) {
        let first_of_them = "this is the first of them";
        if let Some((count, first)) = self.gaps {
            let what = format!(
                "no rate of duty is known for {}: the duty there is counted as 0",
                lines(count)
            );
            self.say(Diagnostic::warning(what).note(first_of_them), first, "");
        }
        if let Some((count, first)) = self.ended {
            let what = format!(
                "a duty, tax or fee for {} has ended; what followed is unknown and not in the sums",
                lines(count)
            );
            self.say(Diagnostic::warning(what).note(first_of_them), first, "");
            self.say_ended();
        }
        if let Some((count, first)) = self.massless {
            let what = format!(
                "`mass_g` is missing for {}, whose shipping depends on it: the weight there is counted as 0",
                lines(count)
            );
            let note = "this is the first of them, or the first of its consignment";
            self.say(Diagnostic::warning(what).note(note), first, "mass_g");
        }
    }

    /// How many lines were not priced, and what to do about them.
    fn unpriced(&self) -> String {
        let bad = count(self.bad, "line was", "lines were");
        let were = if self.priced == 1 { "was" } else { "were" };
        let priced = format!("{} {were}", lines(self.priced));
        match &self.rejects {
            Some((path, _)) => format!(
                "{bad} not priced: {} holds {} with the reason. {priced} priced.\n",
                visible(path),
                if self.bad == 1 { "it" } else { "each" }
            ),
            None => format!(
                "{bad} not priced, and the run ended there: {priced} priced. Correct the line, or add `--keep-going bad.csv` to set such lines aside.\n"
            ),
        }
    }

    /// Brings the rest to its place, and says what there is to say at the end.
    pub(super) fn close(mut self) -> Result<Exit, Unwritten> {
        self.out.flush().map_err(|error| Unwritten {
            error,
            file: None,
            line: 0,
        })?;
        if let Some((path, file)) = &mut self.rejects {
            file.finish().map_err(|error| Unwritten {
                error,
                file: Some((*path).to_owned()),
                line: 0,
            })?;
        }
        self.progress.end();
        self.say_counted();
        self.far
            .warnings()
            .into_iter()
            .for_each(|(line, warning)| self.say(warning, line, "date"));
        self.say_open();
        if self.bad > 0 {
            world::complain(&self.unpriced());
            return Ok(Exit::Refused);
        }
        Ok(Exit::Done)
    }
}

fn lines(count: u64) -> String {
    if count == 1 {
        "1 line".to_owned()
    } else {
        format!("{count} lines")
    }
}

/// The number of a bad line, the reason, and the line, as it came or guarded.
fn reject(file: &mut impl Write, bad: &Bad, plain: bool) -> io::Result<()> {
    let shown = visible(&bad.why.what);
    let reason = if plain {
        shown
    } else {
        guarded_within(&shown).into_owned().into()
    }
    .replace('"', "\"\"");
    write!(file, "{},\"{reason}\",", bad.line)?;
    file.write_all(&if plain {
        bad.raw.as_slice().into()
    } else {
        guarded(&bad.raw)
    })?;
    file.write_all(b"\n")
}

/// The file of bad lines, with its header: the line, the reason, and the list's own columns. It takes its place at the end of
/// the run, over an older file of bad lines only; it may be neither the list nor the result, nor what a run reads as a table.
fn open_rejects<'a>(rejects: &Rejects<'a>, header: &[u8]) -> Result<(&'a str, Growing), Unwritten> {
    let refuse = |error: io::Error| Unwritten {
        error,
        file: Some(rejects.path.to_owned()),
        line: 0,
    };
    let path = Path::new(rejects.path);
    if rejects.list.is_some() && identity(path) == rejects.list {
        return Err(refuse(io::Error::other("it is the list itself")));
    }
    if is_output(path) {
        return Err(refuse(io::Error::other(
            "the result goes there; say another name, such as `bad.csv`",
        )));
    }
    let place = followed(path).map_err(refuse)?;
    if let Some(why) = rejects.reads.would_read(&place) {
        return Err(refuse(io::Error::other(why)));
    }
    let mut file = Growing::open(path, is_bad_lines).map_err(|refusal| refuse(refusal.into()))?;
    let head = [BAD_LINES.as_bytes(), header, b"\n"];
    head.iter()
        .try_for_each(|bytes| file.write_all(bytes))
        .map_err(refuse)?;
    Ok((rejects.path, file))
}
