//! Directories of an archive: columns of varints (PMTiles, version 3).

/// Where a tile, a run of equal tiles or another directory lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry {
    number: u64,
    /// Tiles one after another that are the same; none for another directory.
    pub run: u64,
    /// Bytes.
    pub length: u64,
    /// Where it begins in its section.
    pub at: u64,
}

/// No directory has more entries.
const MOST: u64 = 4_000_000;

struct Numbers<'a>(std::slice::Iter<'a, u8>);

impl Numbers<'_> {
    fn next(&mut self) -> Option<u64> {
        let mut out = 0_u64;
        for shift in (0..64).step_by(7) {
            let byte = *self.0.next()?;
            let part = u64::from(byte & 0x7f);
            if shift == 63 && part > 1 {
                return None;
            }
            out |= part << shift;
            if byte < 0x80 {
                return Some(out);
            }
        }
        None
    }

    fn many(&mut self, count: u64) -> Option<Vec<u64>> {
        (0..count).map(|_| self.next()).collect()
    }
}

/// The entries of an unpacked directory, by number; `None` where it is damaged.
pub fn entries(bytes: &[u8]) -> Option<Vec<Entry>> {
    let mut numbers = Numbers(bytes.iter());
    let count = numbers.next().filter(|c| (1..=MOST).contains(c) && *c <= bytes.len() as u64)?;
    let (steps, runs) = (numbers.many(count)?, numbers.many(count)?);
    let (lengths, places) = (numbers.many(count)?, numbers.many(count)?);
    let (mut number, mut end) = (0_u64, None);
    let mut out = Vec::with_capacity(steps.len());
    for (((step, run), length), place) in steps.into_iter().zip(runs).zip(lengths).zip(places) {
        number = number.checked_add(step)?;
        let at = if place == 0 { end? } else { place - 1 };
        end = Some(at.checked_add(length)?);
        out.push(Entry { number, run, length, at });
    }
    out.is_sorted_by_key(|e| e.number).then_some(out)
}

/// The entry that holds the tile of a number.
pub fn find(entries: &[Entry], number: u64) -> Option<Entry> {
    let after = entries.partition_point(|e| e.number <= number);
    let entry = *entries.get(after.checked_sub(1)?)?;
    (entry.run == 0 || number - entry.number < entry.run).then_some(entry)
}
