//! Records of a list in its bytes: where each begins and ends, and its fields.
//!
//! As RFC 4180 has it: a field that begins with a quotation mark runs to the next single one, line ends included; anywhere
//! else the mark is a letter like any other. A line ends with LF, CRLF or CR; an empty line is no record. Bytes without
//! quotation marks and carriage returns are gone through eight at a time.

/// Where the fields of one record lie; kept from record to record.
#[derive(Debug, Clone, Default)]
pub(crate) struct Bounds {
    fields: Vec<(usize, usize)>,
    /// The fields without their quotation marks, where the record has any.
    text: Vec<u8>,
    quoted: bool,
}

/// One record.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Record<'a> {
    /// As it came, without its line end.
    pub(crate) raw: &'a [u8],
    text: &'a [u8],
    fields: &'a [(usize, usize)],
}

/// Where a record ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Scan {
    /// Where its bytes end.
    pub(crate) end: usize,
    /// Where the next begins.
    pub(crate) next: usize,
    /// How many lines it takes.
    pub(crate) lines: u64,
    /// Whether its line end was met.
    pub(crate) ended: bool,
    /// Whether every quotation mark is closed.
    pub(crate) closed: bool,
}

impl<'a> Record<'a> {
    /// A record found by [`scan`].
    pub(crate) fn new(bytes: &'a [u8], start: usize, scan: Scan, bounds: &'a Bounds) -> Record<'a> {
        let text = if bounds.quoted {
            bounds.text.as_slice()
        } else {
            bytes
        };
        Record {
            raw: bytes.get(start..scan.end).unwrap_or_default(),
            text,
            fields: &bounds.fields,
        }
    }

    /// How many fields it has.
    pub(crate) fn len(&self) -> usize {
        self.fields.len()
    }

    /// Whether it is an empty line, which is no record.
    pub(crate) fn is_empty(&self) -> bool {
        self.raw.is_empty()
    }

    /// A field; empty where there is none.
    #[inline]
    pub(crate) fn get(&self, at: usize) -> &'a [u8] {
        self.fields
            .get(at)
            .and_then(|(start, end)| self.text.get(*start..*end))
            .unwrap_or_default()
    }

    /// All fields.
    pub(crate) fn fields(&self) -> impl Iterator<Item = &'a [u8]> {
        (0..self.len()).map(|at| self.get(at))
    }
}

/// Whether bytes hold neither quotation marks nor carriage returns.
pub(crate) fn is_plain(bytes: &[u8]) -> bool {
    memchr::memchr2(b'"', b'\r', bytes).is_none()
}

/// Finds the end of the record that starts at a byte, and its fields.
#[inline]
pub(crate) fn scan(bytes: &[u8], start: usize, plain: bool, bounds: &mut Bounds) -> Scan {
    bounds.fields.clear();
    bounds.quoted = !plain;
    if plain {
        plainly(bytes, start, &mut bounds.fields)
    } else {
        carefully(bytes, start, bounds)
    }
}

const LOW: u64 = 0x7f7f_7f7f_7f7f_7f7f;
const COMMAS: u64 = 0x2c2c_2c2c_2c2c_2c2c;
const LINE_ENDS: u64 = 0x0a0a_0a0a_0a0a_0a0a;

/// The top bit of every byte that is zero.
#[inline]
fn zeros(eight: u64) -> u64 {
    !(((eight & LOW) + LOW) | eight | LOW)
}

#[inline]
fn plainly(bytes: &[u8], start: usize, fields: &mut Vec<(usize, usize)>) -> Scan {
    let (mut field, mut at) = (start, start);
    while let Some(eight) = bytes.get(at..).and_then(<[u8]>::first_chunk::<8>) {
        let eight = u64::from_le_bytes(*eight);
        let mut marks = zeros(eight ^ COMMAS) | zeros(eight ^ LINE_ENDS);
        while marks != 0 {
            let mark = at + (marks.trailing_zeros() / 8) as usize;
            fields.push((field, mark));
            if bytes.get(mark) == Some(&b'\n') {
                return Scan {
                    end: mark,
                    next: mark + 1,
                    lines: 1,
                    ended: true,
                    closed: true,
                };
            }
            field = mark + 1;
            marks &= marks - 1;
        }
        at += 8;
    }
    while let Some(byte) = bytes.get(at) {
        if matches!(byte, b',' | b'\n') {
            fields.push((field, at));
            field = at + 1;
        }
        if *byte == b'\n' {
            return Scan {
                end: at,
                next: at + 1,
                lines: 1,
                ended: true,
                closed: true,
            };
        }
        at += 1;
    }
    fields.push((field, at));
    Scan {
        end: at,
        next: at,
        lines: 1,
        ended: false,
        closed: true,
    }
}

fn carefully(bytes: &[u8], start: usize, bounds: &mut Bounds) -> Scan {
    let Bounds { fields, text, .. } = bounds;
    text.clear();
    let (mut at, mut lines) = (start, 1);
    loop {
        let field = text.len();
        let mut closed = true;
        if bytes.get(at) == Some(&b'"') {
            (at, closed) = quoted(bytes, at + 1, text);
            lines += text
                .get(field..)
                .unwrap_or_default()
                .iter()
                .fold(0_u64, |sum, byte| sum + u64::from(*byte == b'\n'));
        }
        while let Some(byte) = bytes
            .get(at)
            .filter(|byte| !matches!(byte, b',' | b'\n' | b'\r'))
        {
            text.push(*byte);
            at += 1;
        }
        fields.push((field, text.len()));
        if closed && bytes.get(at) == Some(&b',') {
            at += 1;
            continue;
        }
        let width = match (bytes.get(at), bytes.get(at + 1)) {
            (None, _) => 0,
            (Some(b'\r'), Some(b'\n')) => 2,
            _ => 1,
        };
        return Scan {
            end: at,
            next: at + width,
            lines,
            ended: width > 0,
            closed,
        };
    }
}

/// Copies a quoted field from behind its opening mark; where it ends, and whether it does.
fn quoted(bytes: &[u8], mut at: usize, text: &mut Vec<u8>) -> (usize, bool) {
    while let Some(byte) = bytes.get(at) {
        if *byte == b'"' {
            if bytes.get(at + 1) != Some(&b'"') {
                return (at + 1, true);
            }
            at += 1;
        }
        text.push(*byte);
        at += 1;
    }
    (at, false)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn records(bytes: &[u8]) -> Vec<(Vec<String>, u64, bool)> {
        let (mut at, mut bounds, mut found) = (0, Bounds::default(), Vec::new());
        let plain = is_plain(bytes);
        while at < bytes.len() {
            let one = scan(bytes, at, plain, &mut bounds);
            let record = Record::new(bytes, at, one, &bounds);
            found.push((
                record
                    .fields()
                    .map(|f| String::from_utf8_lossy(f).into_owned())
                    .collect(),
                one.lines,
                one.closed,
            ));
            at = one.next;
        }
        found
    }

    /// What the csv crate reads, byte by byte of a list with everything in it, is read here.
    #[test]
    fn reads_as_the_csv_crate_does() {
        let marks = [b',', b'\n', b'"', b'\r', b'a', b' ', b'"', b',', b'0'];
        let mut state = 7_u64;
        for round in 0..20_000 {
            let text: Vec<u8> = (0..round % 40)
                .map(|_| {
                    state = state
                        .wrapping_mul(6_364_136_223_846_793_005)
                        .wrapping_add(1);
                    marks[usize::try_from((state >> 33) % (marks.len() as u64)).unwrap()]
                })
                .collect();
            let mut reader = csv::ReaderBuilder::new()
                .has_headers(false)
                .flexible(true)
                .from_reader(text.as_slice());
            let theirs: Vec<Vec<String>> = reader
                .byte_records()
                .map(|r| {
                    r.unwrap()
                        .iter()
                        .map(|f| String::from_utf8_lossy(f).into_owned())
                        .collect()
                })
                .collect();
            let ours: Vec<Vec<String>> = records(&text)
                .into_iter()
                .map(|(fields, _, _)| fields)
                .filter(|f| *f != [""])
                .collect();
            let theirs: Vec<Vec<String>> = theirs.into_iter().filter(|f| *f != [""]).collect();
            assert_eq!(ours, theirs, "{:?}", String::from_utf8_lossy(&text));
        }
    }

    #[test]
    fn the_fast_way_reads_as_the_careful_one() {
        let text = b"1,2026-03-02,Alder,,9.99,\n\n,,,\n12345678,1234567,,x\nlast,one";
        let (mut at, mut fast, mut careful) = (0, Bounds::default(), Bounds::default());
        while at < text.len() {
            let (one, other) = (
                scan(text, at, true, &mut fast),
                scan(text, at, false, &mut careful),
            );
            assert_eq!(one, other);
            let (a, b) = (
                Record::new(text, at, one, &fast),
                Record::new(text, at, other, &careful),
            );
            assert!(a.fields().eq(b.fields()));
            at = one.next;
        }
    }

    #[test]
    fn an_open_mark_is_seen_and_lines_inside_are_counted() {
        assert_eq!(
            records(b"\"a\nb\",c\nd,\"e"),
            [
                (vec!["a\nb".to_owned(), "c".to_owned()], 2, true),
                (vec!["d".to_owned(), "e".to_owned()], 1, false)
            ]
        );
    }
}
