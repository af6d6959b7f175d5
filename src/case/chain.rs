//! The log: entries that hold on to each other ([`HABER1991`](crate::sources::HABER1991)).

use jiff::Timestamp;

use crate::case::{Digest, Entry, Event};

/// A log in which everything agrees.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Chain {
    text: String,
    entries: Vec<Entry>,
    last: Option<Digest>,
}

/// One line of a log, whether it agrees or not.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// What it says, where it can be read.
    pub entry: Option<Entry>,
    /// Whether what stands after it has its hash.
    pub backed: bool,
}

/// What does not agree in a log.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Line of the log, counted from 1, where one can be named.
    pub line: Option<u64>,
    /// What is the case, in a sentence.
    pub message: String,
}

impl Chain {
    /// Reads a log.
    ///
    /// # Errors
    /// The first thing that does not agree.
    pub fn read(bytes: &[u8]) -> Result<Self, Fault> {
        let (lines, faults) = examine(bytes);
        if let Some(fault) = faults.into_iter().next() {
            return Err(fault);
        }
        let text = String::from_utf8_lossy(bytes).into_owned();
        let body = text.trim_end_matches('\n').rfind('\n').map_or(0, |at| at + 1);
        let text = text[..body].to_owned();
        let last = text.lines().last().map(|line| Digest::of(line.as_bytes()));
        Ok(Self { text, entries: lines.into_iter().filter_map(|l| l.entry).collect(), last })
    }

    /// Adds an entry and gives it back.
    pub fn append(&mut self, time: Timestamp, by: &str, event: Event) -> Entry {
        let entry = Entry {
            entry: self.entries.len() as u64 + 1,
            time,
            by: by.to_owned(),
            before: self.last(),
            event,
        };
        // Strings, numbers and lists always serialise; JSON breaks no line.
        let line = serde_json::to_string(&entry).unwrap_or_default();
        self.last = Some(Digest::of(line.as_bytes()));
        self.text += &line;
        self.text.push('\n');
        self.entries.push(entry.clone());
        entry
    }

    /// The whole file: the entries and the closing line.
    pub fn text(&self) -> String {
        format!("{}{}\n", self.text, closing(self.entries.len(), self.last()))
    }

    /// The entries, oldest first.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// SHA-256 of the last line: given to somebody else, it shows later whether entries were changed or cut off.
    pub fn last(&self) -> Digest {
        self.last.unwrap_or(Digest::NONE)
    }
}

/// The line that ends a log: it has the count and the hash of the last entry, so that a missing end shows.
fn closing(entries: usize, last: Digest) -> String {
    format!("{{\"entries\":{entries},\"last\":\"{last}\"}}")
}

/// Looks at every line of a log and says what does not agree, in the order of the lines.
pub fn examine(bytes: &[u8]) -> (Vec<Line>, Vec<Fault>) {
    let mut faults = Vec::new();
    let (whole, ended) = match bytes.strip_suffix(b"\n") {
        Some(whole) => (whole, true),
        None => (bytes, false),
    };
    let mut lines: Vec<&[u8]> = whole.split(|b| *b == b'\n').collect();
    let close = lines.pop().unwrap_or_default();
    let digests: Vec<Digest> = lines.iter().map(|line| Digest::of(line)).collect();
    let entries: Vec<Option<Entry>> = lines.iter().map(|line| serde_json::from_slice(line).ok()).collect();
    let last = digests.last().copied().unwrap_or(Digest::NONE);
    let closed = ended && close == closing(lines.len(), last).as_bytes();
    let mut out = Vec::new();
    for (at, entry) in entries.iter().enumerate() {
        let after = entries
            .get(at + 1)
            .map_or(closed, |next| next.as_ref().is_some_and(|next| next.before == digests[at]));
        if let Some(message) =
            fault(at, entry.as_ref(), at.checked_sub(1).map_or(Digest::NONE, |b| digests[b]))
        {
            faults.push(Fault { line: Some(at as u64 + 1), message });
        }
        out.push(Line { entry: entry.clone(), backed: after });
    }
    if !closed {
        let message = format!(
            "the closing line is not that of {} entries that end in {}: it or an entry was changed, or entries are missing",
            lines.len(),
            last.short()
        );
        faults.push(Fault { line: Some(lines.len() as u64 + 1), message });
    }
    (out, faults)
}

/// What is wrong with the entry of a line after one with the hash `before`.
fn fault(at: usize, entry: Option<&Entry>, before: Digest) -> Option<String> {
    let number = at + 1;
    let Some(entry) = entry else { return Some(format!("entry {number} cannot be read")) };
    if entry.entry != number as u64 {
        return Some(format!(
            "it says entry {} where entry {number} belongs: entries are missing",
            entry.entry
        ));
    }
    if entry.before != before {
        return Some(match at {
            0 => "entry 1 says that another was before it".to_owned(),
            _ => format!("entry {number} does not have the hash of entry {at}: one of the two was changed"),
        });
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    fn three() -> Chain {
        let mut chain = Chain::default();
        for (second, text) in [(1, "one"), (2, "two\nlines"), (3, "=cmd <script>")] {
            let time = Timestamp::from_second(second).unwrap();
            chain.append(time, "tester", Event::Note { text: text.to_owned() });
        }
        chain
    }

    #[test]
    fn what_was_written_is_read() {
        let chain = three();
        assert_eq!(chain.text().lines().count(), 4);
        assert_eq!(Chain::read(chain.text().as_bytes()), Ok(chain));
    }

    /// The format itself, by hand: hashes of the lines as coreutils' sha256sum gives them would do.
    #[test]
    fn each_line_has_the_hash_of_the_one_before() {
        let text = three().text();
        let lines: Vec<&str> = text.lines().collect();
        assert!(lines[0].contains(&"0".repeat(64)));
        for pair in lines.windows(2) {
            assert!(pair[1].contains(&Digest::of(pair[0].as_bytes()).to_string()));
        }
        assert!(lines[3].starts_with("{\"entries\":3,"));
    }

    #[test]
    fn every_flipped_byte_shows() {
        let text = three().text().into_bytes();
        for at in 0..text.len() {
            for bit in 0..8 {
                let mut changed = text.clone();
                changed[at] ^= 1 << bit;
                assert!(Chain::read(&changed).is_err(), "byte {at}, bit {bit}");
            }
        }
    }

    #[test]
    fn a_missing_line_shows_wherever_it_was() {
        let text = three().text();
        for missing in 0..4 {
            let rest: Vec<&str> =
                text.lines().enumerate().filter(|(at, _)| *at != missing).map(|(_, l)| l).collect();
            assert!(Chain::read((rest.join("\n") + "\n").as_bytes()).is_err(), "line {missing}");
        }
        for end in 0..text.len() {
            assert!(Chain::read(&text.as_bytes()[..end]).is_err(), "cut at byte {end}");
        }
    }

    #[test]
    fn entries_before_a_change_are_still_backed() {
        let text = three().text().replace("two", "TWO");
        let (lines, faults) = examine(text.as_bytes());
        assert_eq!(lines.iter().map(|l| l.backed).collect::<Vec<_>>(), [true, false, true]);
        assert_eq!(faults.iter().map(|f| f.line).collect::<Vec<_>>(), [Some(3)]);
        assert!(faults[0].message.contains("entry 3 does not have the hash of entry 2"));
    }
}
