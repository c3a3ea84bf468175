//! Labels met before, in memory that does not grow: beyond a number of them they move to a temporary file.
//!
//! A label is kept as 128 bits of a digest; two labels that share them would be taken for one, which is not to be expected
//! before 10^18 labels.

use std::collections::BTreeSet;
use std::fs::File;
use std::hash::{DefaultHasher, Hasher};
use std::io::{self, Read, Seek, SeekFrom, Write};

/// At most this many labels are kept in memory.
const IN_MEMORY: usize = 1 << 16;

/// Labels in one bucket of the file.
const BUCKET: usize = 128;

/// Bytes of one label.
const WIDTH: usize = 16;

/// Labels met before.
#[derive(Default)]
pub(super) struct Seen {
    few: BTreeSet<u128>,
    many: Option<Many>,
}

/// Labels in a file: buckets of slots, each label in the first free slot from its own bucket on; zero is a free slot.
struct Many {
    file: File,
    buckets: u64,
    count: u64,
}

impl Seen {
    /// Notes a label; whether it is new.
    pub(super) fn insert(&mut self, label: &[u8]) -> io::Result<bool> {
        self.note(digest(label), IN_MEMORY)
    }

    fn note(&mut self, digest: u128, in_memory: usize) -> io::Result<bool> {
        if let Some(many) = &mut self.many {
            return many.insert(digest);
        }
        let new = self.few.insert(digest);
        if self.few.len() > in_memory {
            let mut many = Many::new(u64::try_from(in_memory * 4 / BUCKET).unwrap_or(1).max(1))?;
            for digest in std::mem::take(&mut self.few) {
                many.insert(digest)?;
            }
            self.many = Some(many);
        }
        Ok(new)
    }
}

/// Two sums of a label, neither of them zero.
fn digest(label: &[u8]) -> u128 {
    let half = |seed: u8| {
        let mut hasher = DefaultHasher::new();
        hasher.write_u8(seed);
        hasher.write(label);
        u128::from(hasher.finish())
    };
    (half(1) << 64 | half(2)).max(1)
}

impl Many {
    fn new(buckets: u64) -> io::Result<Many> {
        let mut file = tempfile::tempfile()?;
        let bytes = io::repeat(0).take(buckets * u64::try_from(BUCKET * WIDTH).unwrap_or(0));
        io::copy(&mut { bytes }, &mut file)?;
        Ok(Many {
            file,
            buckets,
            count: 0,
        })
    }

    fn insert(&mut self, digest: u128) -> io::Result<bool> {
        if (self.count + 1) * 2 > self.buckets * u64::try_from(BUCKET).unwrap_or(1) {
            self.grow()?;
        }
        let mut bucket = u64::try_from(digest >> 64).unwrap_or(0) % self.buckets;
        let mut bytes = [0; BUCKET * WIDTH];
        loop {
            let start = bucket * u64::try_from(BUCKET * WIDTH).unwrap_or(0);
            self.file.seek(SeekFrom::Start(start))?;
            self.file.read_exact(&mut bytes)?;
            for (slot, found) in bytes.as_chunks::<WIDTH>().0.iter().enumerate() {
                let found = u128::from_le_bytes(*found);
                if found == digest {
                    return Ok(false);
                }
                if found == 0 {
                    self.file.seek(SeekFrom::Start(
                        start + u64::try_from(slot * WIDTH).unwrap_or(0),
                    ))?;
                    self.file.write_all(&digest.to_le_bytes())?;
                    self.count += 1;
                    return Ok(true);
                }
            }
            bucket = (bucket + 1) % self.buckets;
        }
    }

    /// Moves all labels to a file of four times the size.
    fn grow(&mut self) -> io::Result<()> {
        let mut larger = Many::new(self.buckets * 4)?;
        let mut bytes = [0; BUCKET * WIDTH];
        self.file.seek(SeekFrom::Start(0))?;
        for _ in 0..self.buckets {
            self.file.read_exact(&mut bytes)?;
            for found in bytes.as_chunks::<WIDTH>().0 {
                let found = u128::from_le_bytes(*found);
                if found != 0 {
                    larger.insert(found)?;
                }
            }
        }
        *self = larger;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_is_new_once_in_memory_and_in_the_file() {
        let mut seen = Seen::default();
        let labels: Vec<String> = (0..3000).map(|at| format!("C{at}")).collect();
        for label in &labels {
            assert!(
                seen.note(digest(label.as_bytes()), 100).unwrap(),
                "{label} is new"
            );
        }
        assert!(seen.many.is_some());
        for label in labels.iter().rev() {
            assert!(
                !seen.note(digest(label.as_bytes()), 100).unwrap(),
                "{label} was there"
            );
        }
        assert!(seen.note(digest(b"C3000"), 100).unwrap());
    }
}
