//! Figures of a price list between text and whole numbers: strict, as in rule tables, and without a detour.

/// Reads digits with an optional point and at most `decimals` of them, as whole units of the last decimal.
pub(super) fn read_units(text: &[u8], decimals: u32) -> Option<i64> {
    let mut value: i64 = 0;
    let mut seen: Option<u32> = None;
    if text.is_empty() || text.len() > 18 || text.first() == Some(&b'.') || text.last() == Some(&b'.') {
        return None;
    }
    for byte in text {
        match (byte, seen) {
            (b'0'..=b'9', None) => value = value.checked_mul(10)?.checked_add(i64::from(byte - b'0'))?,
            (b'0'..=b'9', Some(so_far)) if so_far < decimals => {
                value = value.checked_mul(10)?.checked_add(i64::from(byte - b'0'))?;
                seen = Some(so_far + 1);
            }
            (b'0', Some(_)) => {}
            (b'.', None) => seen = Some(0),
            _ => return None,
        }
    }
    value.checked_mul(10_i64.checked_pow(decimals - seen.unwrap_or(0).min(decimals))?)
}

/// Appends whole minor units as a decimal.
pub(super) fn push_minor(units: i64, digits: u32, out: &mut Vec<u8>) {
    let mut text = [b'0'; 24];
    let mut at = text.len();
    let mut left = units.unsigned_abs();
    let mut written = 0;
    while left > 0 || written <= digits {
        if written == digits && digits > 0 {
            at -= 1;
            text[at] = b'.';
        }
        at -= 1;
        text[at] = b'0' + u8::try_from(left % 10).unwrap_or(0);
        left /= 10;
        written += 1;
    }
    if units < 0 {
        out.push(b'-');
    }
    out.extend_from_slice(&text[at..]);
}

/// Appends a field, in quotation marks where it needs them.
pub(super) fn push_field(field: &[u8], out: &mut Vec<u8>) {
    if !field.iter().any(|byte| matches!(byte, b',' | b'"' | b'\n' | b'\r')) {
        out.extend_from_slice(field);
        return;
    }
    out.push(b'"');
    for byte in field {
        if *byte == b'"' {
            out.push(b'"');
        }
        out.push(*byte);
    }
    out.push(b'"');
}

#[cfg(test)]
mod tests {
    use super::*;

    fn minor(units: i64, digits: u32) -> String {
        let mut out = Vec::new();
        push_minor(units, digits, &mut out);
        String::from_utf8(out).unwrap()
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
    }
}
