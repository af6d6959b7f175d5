//! What is asked.

use serde::{Deserialize, Serialize};

use crate::{ingest::Kind, live::Conditions};

/// A file in a request.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct File {
    /// Its name, for findings.
    pub name: String,
    /// What it holds: `bearings`, `levels`, `sectors`, `swings`, `track` or `map`.
    pub kind: String,
    /// Its text, where it is UTF-8; else each of its bytes as the character of that number, with `by_bytes`.
    pub text: String,
    /// Whether the text stands for bytes.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub by_bytes: bool,
}

/// A team, and where it is.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Seat {
    /// Name or number.
    pub name: String,
    /// Latitude and longitude, where known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<[f64; 2]>,
}

/// What is asked of the solver.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Request {
    /// What was observed.
    pub files: Vec<File>,
    /// The log of a receiver that stood still.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub monitor: Option<File>,
    /// Map of the town, for walks to the next stand.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub town: Option<File>,
    /// What is stated for all files.
    #[serde(default)]
    pub conditions: Conditions,
    /// Latitude and longitude of whoever asks where to stand next; the last stand where absent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<[f64; 2]>,
    /// Whether the reply tells where to stand next.
    #[serde(default)]
    pub advice: bool,
    /// Teams to divide the search between; none where the reply tells nothing of a division.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub teams: Vec<Seat>,
    /// Whether levels and sectors are left aside, which is much quicker.
    #[serde(default)]
    pub bearings_only: bool,
    /// Whether only the first answer is wanted: places and regions are those of the whole one, and the checks are still to come.
    #[serde(default)]
    pub first: bool,
    /// Whether levels are left out of the map and of the table of the answer, for whoever asks has them from an earlier reply; what
    /// they say is in both all the same.
    #[serde(default)]
    pub briefly: bool,
}

/// Words for kinds of files.
const KINDS: [(Kind, &str); 5] = [
    (Kind::Bearings, "bearings"),
    (Kind::Levels, "levels"),
    (Kind::Sectors, "sectors"),
    (Kind::Swings, "swings"),
    (Kind::Track, "track"),
];

/// The word for a kind; a file whose kind does not show is read as bearings.
pub fn kind_word(kind: Kind) -> &'static str {
    KINDS.iter().find(|(k, _)| *k == kind).map_or("bearings", |(_, word)| word)
}

impl File {
    /// A file of these bytes.
    pub fn new(name: &str, kind: &str, bytes: &[u8]) -> Self {
        let (text, by_bytes) = match std::str::from_utf8(bytes) {
            Ok(text) => (text.to_owned(), false),
            Err(_) => (bytes.iter().map(|b| char::from(*b)).collect(), true),
        };
        Self { name: name.to_owned(), kind: kind.to_owned(), text, by_bytes }
    }

    /// Its bytes.
    pub fn bytes(&self) -> Vec<u8> {
        if self.by_bytes {
            return self.text.chars().map(|c| u8::try_from(u32::from(c)).unwrap_or(b'?')).collect();
        }
        self.text.clone().into_bytes()
    }

    /// What it holds, where that is something to observe.
    pub fn kind(&self) -> Option<Kind> {
        KINDS.iter().find(|(_, word)| *word == self.kind).map(|(k, _)| *k)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_that_are_no_utf_8_come_back_as_they_were() {
        for bytes in [&b"L\xe4nge;1,5\n"[..], b"plain", b"", &[0, 255, 128], "µ§".as_bytes()] {
            let file = File::new("a", "bearings", bytes);
            let text = serde_json::to_string(&file).unwrap();
            let back: File = serde_json::from_str(&text).unwrap();
            assert_eq!(back.bytes(), bytes);
            assert_eq!(back.kind(), Some(Kind::Bearings));
        }
    }
}
