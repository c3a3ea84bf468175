//! Small numbers found by whole numbers: open addressing over two plain vectors, with no order that could reach a result.

use std::borrow::Borrow;
use std::hash::{DefaultHasher, Hash, Hasher};

/// Values by keys; the key zero is not used.
#[derive(Debug, Clone)]
pub(crate) struct Lookup {
    cells: Vec<(u64, u32)>,
    used: usize,
}

impl Default for Lookup {
    fn default() -> Lookup {
        Lookup {
            cells: vec![(0, 0); 64],
            used: 0,
        }
    }
}

impl Lookup {
    fn start(&self, key: u64) -> usize {
        let spread = key.wrapping_mul(0x9e37_79b9_7f4a_7c15);
        usize::try_from(spread >> 32).unwrap_or(0) & (self.cells.len() - 1)
    }

    /// The value of a key.
    pub(crate) fn get(&self, key: u64) -> Option<u32> {
        let mut at = self.start(key);
        loop {
            match self.cells.get(at) {
                Some((found, value)) if *found == key => return Some(*value),
                Some((0, _)) | None => return None,
                Some(_) => at = (at + 1) & (self.cells.len() - 1),
            }
        }
    }

    /// Sets the value of a key.
    pub(crate) fn insert(&mut self, key: u64, value: u32) {
        if (self.used + 1) * 2 > self.cells.len() {
            let old = std::mem::take(&mut self.cells);
            self.cells = vec![(0, 0); old.len() * 2];
            self.used = 0;
            let kept = old.into_iter().filter(|(key, _)| *key != 0);
            kept.for_each(|(key, value)| self.put(key, value));
        }
        self.put(key, value);
    }

    /// How many keys there are.
    pub(crate) fn len(&self) -> usize {
        self.used
    }

    fn put(&mut self, key: u64, value: u32) {
        let mut at = self.start(key);
        while self.cells[at].0 != 0 && self.cells[at].0 != key {
            at = (at + 1) & (self.cells.len() - 1);
        }
        self.used += usize::from(self.cells[at].0 == 0);
        self.cells[at] = (key, value);
    }
}

/// The same in half the room, for long tables: keys below 2^45, values below 2^19.
#[derive(Debug, Clone)]
pub(crate) struct Packed {
    cells: Vec<u64>,
    used: usize,
}

/// Bits of a value that is packed beside its key.
const VALUE: u32 = 19;

impl Default for Packed {
    fn default() -> Packed {
        Packed {
            cells: vec![0; 64],
            used: 0,
        }
    }
}

impl Packed {
    /// The place of a key, or of the free cell where it belongs.
    #[inline]
    fn place(&self, key: u64) -> usize {
        let spread = key.wrapping_mul(0x9e37_79b9_7f4a_7c15);
        let mut at = usize::try_from(spread >> 32).unwrap_or(0) & (self.cells.len() - 1);
        while self.cells[at] != 0 && self.cells[at] >> VALUE != key {
            at = (at + 1) & (self.cells.len() - 1);
        }
        at
    }

    /// The value of a key.
    #[inline]
    pub(crate) fn get(&self, key: u64) -> Option<u32> {
        let cell = self.cells[self.place(key)];
        if cell == 0 {
            None
        } else {
            u32::try_from(cell & ((1 << VALUE) - 1)).ok()
        }
    }

    /// Sets the value of a key; one that does not fit is not kept.
    pub(crate) fn insert(&mut self, key: u64, value: u32) {
        if key == 0 || key >> (u64::BITS - VALUE) != 0 || u64::from(value) >> VALUE != 0 {
            return;
        }
        if (self.used + 1) * 3 > self.cells.len() * 2 {
            let old = std::mem::take(&mut self.cells);
            self.cells = vec![0; old.len() * 2];
            for cell in old.into_iter().filter(|cell| *cell != 0) {
                let at = self.place(cell >> VALUE);
                self.cells[at] = cell;
            }
        }
        let at = self.place(key);
        self.used += usize::from(self.cells[at] == 0);
        self.cells[at] = key << VALUE | u64::from(value);
    }

    /// How many keys there are.
    pub(crate) fn len(&self) -> usize {
        self.used
    }
}

/// Things that are kept once each, found by what they say.
#[derive(Debug, Clone)]
pub(crate) struct Once<T> {
    kept: Vec<T>,
    digests: Lookup,
}

impl<T> Default for Once<T> {
    fn default() -> Once<T> {
        Once {
            kept: Vec::new(),
            digests: Lookup::default(),
        }
    }
}

impl<T: Hash + Eq> Once<T> {
    /// The place of one that is there, or the digest under which it will be found.
    pub(crate) fn find<Q: Hash + Eq + ?Sized>(&self, one: &Q) -> Result<u32, u64>
    where
        T: Borrow<Q>,
    {
        let mut hasher = DefaultHasher::new();
        one.hash(&mut hasher);
        let mut digest = hasher.finish().max(1);
        while let Some(at) = self.digests.get(digest) {
            if self.get(at).is_some_and(|kept| kept.borrow() == one) {
                return Ok(at);
            }
            digest = digest.wrapping_add(1).max(1);
        }
        Err(digest)
    }

    /// The place of one, which is kept when it is new.
    pub(crate) fn place(&mut self, one: T) -> u32 {
        self.find::<T>(&one)
            .unwrap_or_else(|digest| self.keep(digest, one))
    }

    /// Keeps one that was not found.
    pub(crate) fn keep(&mut self, digest: u64, one: T) -> u32 {
        let at = u32::try_from(self.kept.len()).unwrap_or(u32::MAX);
        self.kept.push(one);
        self.digests.insert(digest, at);
        at
    }

    /// The one at a place.
    pub(crate) fn get(&self, at: u32) -> Option<&T> {
        self.kept.get(usize::try_from(at).ok()?)
    }
}

/// A number for a text, the same on every machine; different texts may share one.
pub(crate) fn digest(text: &[u8], seed: u64) -> u64 {
    let mut sum = seed ^ u64::try_from(text.len()).unwrap_or(0);
    for piece in text.chunks(8) {
        let eight = piece
            .iter()
            .fold(0_u64, |sum, byte| sum << 8 | u64::from(*byte));
        sum = (sum.rotate_left(5) ^ eight).wrapping_mul(0x517c_c1b7_2722_0a95);
    }
    sum ^ (sum >> 29)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_what_was_put_in_and_nothing_else() {
        let mut lookup = Lookup::default();
        for key in 1..=10_000_u64 {
            lookup.insert(key * 64, u32::try_from(key).unwrap());
        }
        lookup.insert(64, 7);
        assert_eq!(
            (
                lookup.used,
                lookup.get(64),
                lookup.get(640_000),
                lookup.get(63)
            ),
            (10_000, Some(7), Some(10_000), None)
        );
    }

    #[test]
    fn packed_finds_the_same_and_keeps_nothing_that_does_not_fit() {
        let mut packed = Packed::default();
        for key in 1..=10_000_u64 {
            packed.insert(key * 676, u32::try_from(key % 500).unwrap());
        }
        packed.insert(676, 7);
        packed.insert(1 << 45, 1);
        packed.insert(5, 1 << 19);
        let found = [676, 6_760_000, 675, 1 << 45, 5].map(|key| packed.get(key));
        assert_eq!(
            (packed.len(), found),
            (10_000, [Some(7), Some(0), None, None, None])
        );
    }

    #[test]
    fn what_says_the_same_is_kept_once() {
        let mut once = Once::<Vec<u32>>::default();
        let places: Vec<u32> = (0..5000_u32)
            .map(|n| once.place(vec![n % 1000, 7]))
            .collect();
        assert!(places.iter().zip(0..).all(|(place, n)| *place == n % 1000));
        assert_eq!(
            (once.get(999), once.get(1000), once.find([12, 7].as_slice())),
            (Some(&vec![999, 7]), None, Ok(12))
        );
        assert!(once.find([12].as_slice()).is_err());
    }

    #[test]
    fn texts_that_differ_in_a_letter_or_in_length_differ() {
        let sums =
            [&b"S0001"[..], b"S0002", b"S0001\0", b"", b"S00010000000"].map(|text| digest(text, 1));
        assert!(
            sums.iter()
                .enumerate()
                .all(|(at, sum)| !sums[..at].contains(sum))
        );
    }
}
