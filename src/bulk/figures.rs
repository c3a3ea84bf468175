//! Figures of a price list between text and whole numbers: strict, as in rule tables, and without a detour.

/// Reads digits with an optional point and at most `decimals` of them, as whole units of the last decimal; of so few
/// letters none can overflow.
#[inline]
pub(super) fn read_units(text: &[u8], decimals: u32) -> Option<i64> {
    if text.is_empty()
        || text.len() > 18
        || text.first() == Some(&b'.')
        || text.last() == Some(&b'.')
    {
        return None;
    }
    let mut value: i64 = 0;
    let mut digits = text.iter();
    let mut seen = 0;
    for byte in digits.by_ref() {
        let digit = byte.wrapping_sub(b'0');
        if digit > 9 {
            if *byte != b'.' {
                return None;
            }
            break;
        }
        value = value.wrapping_mul(10).wrapping_add(i64::from(digit));
    }
    for byte in digits {
        match byte {
            b'0'..=b'9' if seen < decimals => {
                value = value.wrapping_mul(10).wrapping_add(i64::from(byte - b'0'));
                seen += 1;
            }
            b'0' => {}
            _ => return None,
        }
    }
    match decimals - seen {
        0 => Some(value),
        missing => value.checked_mul(10_i64.checked_pow(missing)?),
    }
}

/// The letters of the numbers from 00 to 99, the first in the lower byte.
const PAIRS: [u16; 100] = pairs();

const fn pairs() -> [u16; 100] {
    let mut all = [0; 100];
    let mut at = 0;
    while at < 100 {
        all[at as usize] = (b'0' as u16 + at / 10) | (b'0' as u16 + at % 10) << 8;
        at += 1;
    }
    all
}

/// Lines being written: what they hold, and room behind it.
#[derive(Debug, Default)]
pub(crate) struct Written {
    bytes: Vec<u8>,
    used: usize,
}

/// The longest figure: the digits of 64 bits, a sign, a point and a comma, and some air.
const LONGEST: usize = 24;

/// Room for the lines of an ordinary block.
const USUAL: usize = 1 << 18;

/// Minor units below this have eight letters at most.
const SHORT: u64 = 1_000_000;

impl Written {
    /// What has been written.
    pub(crate) fn bytes(&self) -> &[u8] {
        self.bytes.get(..self.used).unwrap_or_default()
    }

    /// Forgets what has been written, and keeps the room.
    pub(crate) fn clear(&mut self) {
        self.used = 0;
    }

    /// Makes room for `length` more bytes.
    #[inline]
    fn need(&mut self, length: usize) {
        let end = self.used.saturating_add(length);
        if end > self.bytes.len() {
            self.bytes.resize(end.saturating_add(end / 4).max(USUAL), 0);
        }
    }

    /// Gives back the room that a long line took.
    pub(crate) fn slim(&mut self) {
        if self.bytes.len() > 4 * USUAL {
            self.bytes = Vec::new();
            self.used = 0;
        }
    }

    /// Appends a text.
    #[inline]
    pub(super) fn text(&mut self, text: &[u8]) {
        self.need(text.len());
        let end = self.used.saturating_add(text.len());
        if let Some(room) = self.bytes.get_mut(self.used..end) {
            room.copy_from_slice(text);
            self.used = end;
        }
    }

    /// Appends figures in minor units as decimals, each with a comma behind it.
    #[inline]
    pub(super) fn figures(&mut self, figures: &[i64], digits: u32) {
        self.need(figures.len() * LONGEST);
        for units in figures {
            match u64::try_from(*units) {
                Ok(units) if units < SHORT && digits == 2 => self.short(units),
                _ => self.long(*units, digits),
            }
        }
    }

    /// Up to `9999.99,` in one piece of eight letters: all four digits are made, and those that are not there are pushed out.
    #[inline]
    fn short(&mut self, units: u64) {
        let (whole, part) = (units / 100, units % 100);
        let pair = |two: u64| u64::from(PAIRS[(two % 100) as usize]);
        let text = pair(whole / 100)
            | pair(whole) << 16
            | u64::from(b'.') << 32
            | pair(part) << 40
            | u64::from(b',') << 56;
        let idle = usize::from(whole < 1000) + usize::from(whole < 100) + usize::from(whole < 10);
        if let Some(room) = self
            .bytes
            .get_mut(self.used..)
            .and_then(<[u8]>::first_chunk_mut::<8>)
        {
            *room = (text >> (idle * 8)).to_le_bytes();
            self.used += 8 - idle;
        }
    }

    /// The same for any figure, from its end.
    fn long(&mut self, units: i64, digits: u32) {
        let mut letters = [b','; LONGEST];
        let mut at = LONGEST - 1;
        let mut put = |letter: u8| {
            at = at.saturating_sub(1);
            letters[at] = letter;
        };
        let (mut left, mut written) = (units.unsigned_abs(), 0);
        while left > 0 || written <= digits {
            if written == digits && digits > 0 {
                put(b'.');
            }
            put(b'0' + (left % 10) as u8);
            left /= 10;
            written += 1;
        }
        if units < 0 {
            put(b'-');
        }
        self.text(letters.get(at..).unwrap_or_default());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minor(units: i64, digits: u32) -> String {
        let mut written = Written::default();
        minor_in(&mut written, units, digits)
    }

    fn minor_in(written: &mut Written, units: i64, digits: u32) -> String {
        written.clear();
        written.figures(&[units], digits);
        String::from_utf8(written.bytes().to_vec())
            .unwrap()
            .strip_suffix(',')
            .unwrap()
            .to_owned()
    }

    /// At every change of a digit, what is written is what the standard library writes.
    #[test]
    fn figures_are_written_as_by_the_standard_library() {
        // room is made once: it takes longer than the figures
        let mut written = Written::default();
        let powers = (0..=17).map(|power| 10_i64.pow(power));
        let near = powers
            .flat_map(|power| [1, 2, 3, 5, 9].map(|times| power * times))
            .flat_map(|n| [n - 1, n, n + 1, n + 7]);
        for units in near
            .flat_map(|n| [n, -n])
            .chain([i64::MIN, i64::MAX, 123_456_789])
            .chain(0..12_000)
        {
            let (sign, size) = (if units < 0 { "-" } else { "" }, units.unsigned_abs());
            assert_eq!(
                minor_in(&mut written, units, 2),
                format!("{sign}{}.{:02}", size / 100, size % 100)
            );
            assert_eq!(minor_in(&mut written, units, 0), units.to_string());
        }
    }

    #[test]
    fn units_there_and_back() {
        for (text, decimals, units) in [
            ("12.5", 2, 1250),
            ("0.05", 2, 5),
            ("7", 2, 700),
            ("120", 0, 120),
            ("1.500", 2, 150),
            ("11.1", 1, 111),
        ] {
            assert_eq!(read_units(text.as_bytes(), decimals), Some(units), "{text}");
        }
        for text in [
            "",
            ".",
            "5.",
            ".5",
            "1,5",
            "-1",
            "1e3",
            "1.005",
            "9999999999999999999",
        ] {
            assert_eq!(read_units(text.as_bytes(), 2), None, "{text}");
        }
        assert_eq!(
            [minor(0, 2), minor(5, 2), minor(-1234, 2), minor(120, 0)],
            ["0.00", "0.05", "-12.34", "120"]
        );
        assert_eq!(
            [minor(i64::MIN, 2), minor(i64::MAX, 0), minor(100, 3)],
            ["-92233720368547758.08", "9223372036854775807", "0.100"]
        );
    }
}
