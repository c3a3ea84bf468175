//! The check sum by which a file, or a piece of one, is known again.

/// The check sum of PNG and ZIP: CRC-32 (ISO/IEC 15948, annex D).
pub(crate) fn check_sum(bytes: &[u8]) -> u32 {
    sum_of(bytes.iter())
}

/// The check sum of bytes that are not in one piece.
pub(crate) fn sum_of<'a>(bytes: impl Iterator<Item = &'a u8>) -> u32 {
    let step = |sum: u32, byte: &u8| (sum >> 8) ^ STEPS[usize::from(sum.to_le_bytes()[0] ^ byte)];
    !bytes.fold(u32::MAX, step)
}

/// What each byte does to the sum, as annex D of the standard works it out beforehand.
const STEPS: [u32; 256] = {
    let mut steps = [0; 256];
    let (mut at, mut byte) = (0, 0_u32);
    while at < steps.len() {
        let (mut sum, mut bit) = (byte, 0);
        while bit < 8 {
            sum = if sum & 1 == 1 {
                (sum >> 1) ^ 0xEDB8_8320
            } else {
                sum >> 1
            };
            bit += 1;
        }
        steps[at] = sum;
        at += 1;
        byte += 1;
    }
    steps
};

#[cfg(test)]
mod tests {
    use super::*;

    /// The check value that publications of CRC-32 give for the nine digits.
    #[test]
    fn the_check_sum_is_the_published_one() {
        assert_eq!(check_sum(b"123456789"), 0xCBF4_3926);
    }
}
