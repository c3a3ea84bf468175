//! Figures of a price list between text and whole numbers: strict, as in rule tables, and without a detour.

/// Reads digits with an optional point and at most `decimals` of them, as whole units of the last decimal; of so few
/// letters none can overflow.
#[inline]
pub(super) fn read_units(text: &[u8], decimals: u32) -> Option<i64> {
    if text.is_empty() || text.len() > 18 || text.first() == Some(&b'.') || text.last() == Some(&b'.') {
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

/// The numbers from 00 to 99.
const PAIRS: &[u8; 200] = b"0001020304050607080910111213141516171819\
2021222324252627282930313233343536373839\
4041424344454647484950515253545556575859\
6061626364656667686970717273747576777879\
8081828384858687888990919293949596979899";

/// What stands behind a line, written from its end; its room is kept from line to line.
pub(super) struct Tail {
    bytes: [u8; LONGEST],
    at: usize,
}

/// Thirteen figures of at most 22 letters, their commas, and a word.
const LONGEST: usize = 384;

impl Tail {
    pub(super) fn new() -> Tail {
        Tail { bytes: [0; LONGEST], at: LONGEST }
    }

    /// Forgets what is there.
    #[inline]
    pub(super) fn clear(&mut self) {
        self.at = LONGEST;
    }

    /// Sets a text before what is there.
    #[inline]
    pub(super) fn text(&mut self, text: &[u8]) {
        let start = self.at.saturating_sub(text.len());
        if let Some(room) = self.bytes.get_mut(start..start + text.len()) {
            room.copy_from_slice(text);
        }
        self.at = start;
    }

    #[inline]
    fn put(&mut self, byte: u8) {
        self.at = self.at.saturating_sub(1);
        self.bytes[self.at] = byte;
    }

    /// Sets whole minor units, as a decimal, before what is there.
    #[inline]
    pub(super) fn minor(&mut self, units: i64, digits: u32) {
        if units == 0 && digits == 2 {
            return self.text(b"0.00");
        }
        let mut left = units.unsigned_abs();
        if digits == 2 {
            self.pair(left % 100);
            left /= 100;
        } else {
            self.fraction(&mut left, digits);
        }
        if digits > 0 {
            self.put(b'.');
        }
        while left >= 100 {
            self.pair(left % 100);
            left /= 100;
        }
        if left >= 10 {
            self.pair(left);
        } else {
            self.put(b'0' + (left % 10) as u8);
        }
        if units < 0 {
            self.put(b'-');
        }
    }

    /// Two digits.
    #[inline]
    fn pair(&mut self, two: u64) {
        self.at = self.at.saturating_sub(2);
        let at = usize::try_from(two * 2).unwrap_or(0);
        if let (Some(room), Some(digits)) = (self.bytes.get_mut(self.at..self.at + 2), PAIRS.get(at..at + 2)) {
            room.copy_from_slice(digits);
        }
    }

    fn fraction(&mut self, left: &mut u64, digits: u32) {
        for _ in 0..digits {
            self.put(b'0' + (*left % 10) as u8);
            *left /= 10;
        }
    }

    #[inline]
    pub(super) fn written(&self) -> &[u8] {
        self.bytes.get(self.at..).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minor(units: i64, digits: u32) -> String {
        let mut tail = Tail::new();
        tail.minor(units, digits);
        String::from_utf8(tail.written().to_vec()).unwrap()
    }

    /// At every change of a digit, what is written is what the standard library writes.
    #[test]
    fn figures_are_written_as_by_the_standard_library() {
        let powers = (0..=17).map(|power| 10_i64.pow(power));
        let near = powers.flat_map(|power| [1, 2, 3, 5, 9].map(|times| power * times)).flat_map(|n| [n - 1, n, n + 1, n + 7]);
        for units in near.flat_map(|n| [n, -n]).chain([i64::MIN, i64::MAX, 123_456_789]) {
            let (sign, size) = (if units < 0 { "-" } else { "" }, units.unsigned_abs());
            assert_eq!(minor(units, 2), format!("{sign}{}.{:02}", size / 100, size % 100));
            assert_eq!(minor(units, 0), units.to_string());
        }
    }

    #[test]
    fn units_there_and_back() {
        for (text, decimals, units) in
            [("12.5", 2, 1250), ("0.05", 2, 5), ("7", 2, 700), ("120", 0, 120), ("1.500", 2, 150), ("11.1", 1, 111)]
        {
            assert_eq!(read_units(text.as_bytes(), decimals), Some(units), "{text}");
        }
        for text in ["", ".", "5.", ".5", "1,5", "-1", "1e3", "1.005", "9999999999999999999"] {
            assert_eq!(read_units(text.as_bytes(), 2), None, "{text}");
        }
        assert_eq!([minor(0, 2), minor(5, 2), minor(-1234, 2), minor(120, 0)], ["0.00", "0.05", "-12.34", "120"]);
        assert_eq!([minor(i64::MIN, 2), minor(i64::MAX, 0), minor(100, 3)], ["-92233720368547758.08", "9223372036854775807", "0.100"]);
    }
}
