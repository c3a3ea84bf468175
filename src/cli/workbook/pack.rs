//! The package a spreadsheet is: a zip archive in memory, whose files are unpacked as they are read. What its directory says
//! of sizes is not believed; what comes out is counted.

use std::collections::BTreeMap;
use std::io::{self, BufRead, Read};

use flate2::Crc;
use flate2::bufread::DeflateDecoder;

use super::bounds::{Budget, FREE, MOST_FILES, MOST_RATIO, MOST_TAG, MOST_UNPACKED};

/// The archive and its directory.
pub(super) struct Pack<'a> {
    bytes: &'a [u8],
    files: BTreeMap<String, Entry>,
}

/// A file as the directory has it.
#[derive(Clone, Copy)]
struct Entry {
    flags: u16,
    method: u16,
    crc: u32,
    packed: u64,
    start: u64,
}

const NO_ZIP: &str = "the file is no .xlsx and no .ods, or is damaged; one that is protected by a password is saved again without it";

fn short(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_le_bytes(*bytes.get(at..)?.first_chunk()?))
}

fn long(bytes: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(*bytes.get(at..)?.first_chunk()?))
}

fn wide(bytes: &[u8], at: usize) -> Option<u64> {
    Some(u64::from_le_bytes(*bytes.get(at..)?.first_chunk()?))
}

impl<'a> Pack<'a> {
    /// Reads the directory.
    pub(super) fn open(bytes: &'a [u8]) -> Result<Pack<'a>, String> {
        let mut at = directory(bytes).ok_or(NO_ZIP)?;
        let mut files = BTreeMap::new();
        while bytes
            .get(at..)
            .is_some_and(|rest| rest.starts_with(b"PK\x01\x02"))
        {
            let (name, entry, next) = entry(bytes, at).ok_or(NO_ZIP)?;
            files.entry(name).or_insert(entry);
            at = next;
            if files.len() > MOST_FILES {
                return Err(format!("it is packed from more than {MOST_FILES} files"));
            }
        }
        if files.is_empty() {
            Err(NO_ZIP.to_owned())
        } else {
            Ok(Pack { bytes, files })
        }
    }

    /// Whether it holds a file of this name.
    pub(super) fn holds(&self, name: &str) -> bool {
        self.files.contains_key(&name.to_lowercase())
    }

    /// A file, to be read; the error says why it cannot be.
    pub(super) fn file(&self, name: &str, budget: &'a Budget) -> Result<Unpacked<'a>, String> {
        let entry = *self
            .files
            .get(&name.to_lowercase())
            .ok_or_else(|| format!("`{name}` is missing in it"))?;
        if entry.flags & 1 != 0 {
            return Err("it is protected by a password: save it again without one".to_owned());
        }
        let data = self.data(entry).ok_or(NO_ZIP)?;
        let source: Box<dyn Read + 'a> = match entry.method {
            0 => Box::new(data),
            8 => Box::new(DeflateDecoder::new(data)),
            method => {
                return Err(format!(
                    "`{name}` is packed in a way that is not read (method {method}): save the file again"
                ));
            }
        };
        let packed = u64::try_from(data.len()).unwrap_or(u64::MAX);
        let buffer = vec![0; 1 << 16];
        Ok(Unpacked {
            source,
            buffer,
            start: 0,
            end: 0,
            packed,
            out: 0,
            since: 0,
            crc: Crc::new(),
            wanted: entry.crc,
            budget,
        })
    }

    /// The packed bytes of a file.
    fn data(&self, entry: Entry) -> Option<&'a [u8]> {
        let rest = self.bytes.get(usize::try_from(entry.start).ok()?..)?;
        if !rest.starts_with(b"PK\x03\x04") {
            return None;
        }
        let data =
            rest.get(30 + usize::from(short(rest, 26)?) + usize::from(short(rest, 28)?)..)?;
        let length = usize::try_from(entry.packed)
            .unwrap_or(usize::MAX)
            .min(data.len());
        data.get(..length)
    }
}

/// Where the directory begins: told at the end of the archive, behind which there may be a note of up to 64 KiB.
fn directory(bytes: &[u8]) -> Option<usize> {
    let from = bytes.len().saturating_sub(22 + (1 << 16));
    let end = from + memchr::memmem::rfind(bytes.get(from..)?, b"PK\x05\x06")?;
    let start = long(bytes, end + 16)?;
    if start != u32::MAX {
        return usize::try_from(start).ok();
    }
    let locator = end.checked_sub(20).filter(|at| {
        bytes
            .get(*at..)
            .is_some_and(|rest| rest.starts_with(b"PK\x06\x07"))
    })?;
    let wide_end = usize::try_from(wide(bytes, locator + 8)?).ok()?;
    usize::try_from(wide(bytes, wide_end.checked_add(48)?)?).ok()
}

/// One row of the directory: the file's name in small letters, where it lies, and where the next row begins.
fn entry(bytes: &[u8], at: usize) -> Option<(String, Entry, usize)> {
    let row = bytes.get(at..)?;
    let (name, extra, note) = (
        usize::from(short(row, 28)?),
        usize::from(short(row, 30)?),
        usize::from(short(row, 32)?),
    );
    let text = String::from_utf8_lossy(row.get(46..46 + name)?).to_lowercase();
    let mut entry = Entry {
        flags: short(row, 8)?,
        method: short(row, 10)?,
        crc: long(row, 16)?,
        packed: u64::from(long(row, 20)?),
        start: u64::from(long(row, 42)?),
    };
    let unpacked = long(row, 24)?;
    widen(&mut entry, unpacked, row.get(46 + name..46 + name + extra)?);
    Some((text, entry, at + 46 + name + extra + note))
}

/// Sizes and places of 64 bits, where a row has them.
fn widen(entry: &mut Entry, unpacked: u32, mut extra: &[u8]) {
    while let (Some(id), Some(size)) = (short(extra, 0), short(extra, 2)) {
        let (from, to) = (4, 4 + usize::from(size));
        if id == 1 {
            let mut at = from + if unpacked == u32::MAX { 8 } else { 0 };
            for figure in [&mut entry.packed, &mut entry.start] {
                if *figure == u64::from(u32::MAX) {
                    *figure = wide(extra, at).unwrap_or(u64::MAX);
                    at += 8;
                }
            }
            return;
        }
        extra = extra.get(to..).unwrap_or_default();
    }
}

/// A file of the package that is unpacked as it is read, and counted.
pub(super) struct Unpacked<'a> {
    source: Box<dyn Read + 'a>,
    buffer: Vec<u8>,
    start: usize,
    end: usize,
    packed: u64,
    out: u64,
    /// Bytes read since a tag began.
    pub(super) since: u64,
    crc: Crc,
    wanted: u32,
    pub(super) budget: &'a Budget,
}

impl Unpacked<'_> {
    /// Unpacks the next piece; nothing is left when it is empty.
    fn refill(&mut self) -> io::Result<()> {
        let length = self.source.read(&mut self.buffer)?;
        (self.start, self.end) = (0, length);
        if length == 0 {
            return if self.crc.sum() == self.wanted {
                Ok(())
            } else {
                Err(io::Error::other("the file is damaged"))
            };
        }
        self.crc
            .update(self.buffer.get(..length).unwrap_or_default());
        let length = u64::try_from(length).unwrap_or(u64::MAX);
        self.out += length;
        self.budget
            .unpacked
            .set(self.budget.unpacked.get() + length);
        if self.budget.unpacked.get() > MOST_UNPACKED {
            return Err(io::Error::other(format!(
                "it unpacks to more than {} MiB",
                MOST_UNPACKED >> 20
            )));
        }
        if self.out > FREE && self.out / MOST_RATIO > self.packed {
            return Err(io::Error::other(format!(
                "a file in it unpacks to more than {MOST_RATIO} times its size"
            )));
        }
        Ok(())
    }
}

impl Read for Unpacked<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        let from = self.fill_buf()?;
        let length = from.len().min(out.len());
        out.iter_mut().zip(from).for_each(|(to, byte)| *to = *byte);
        self.consume(length);
        Ok(length)
    }
}

impl BufRead for Unpacked<'_> {
    fn fill_buf(&mut self) -> io::Result<&[u8]> {
        if self.start == self.end {
            if self.since > MOST_TAG {
                return Err(io::Error::other(format!(
                    "a tag or a text in it is longer than {} MiB",
                    MOST_TAG >> 20
                )));
            }
            self.refill()?;
        }
        Ok(self.buffer.get(self.start..self.end).unwrap_or_default())
    }

    fn consume(&mut self, length: usize) {
        self.start = self.start.saturating_add(length).min(self.end);
        self.since += u64::try_from(length).unwrap_or(0);
    }
}
