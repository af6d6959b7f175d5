//! Entries of the log.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::case::{Closed, Digest, Kept, Measured, OwnSystem, Timed};

/// One entry. Once written it is never changed: what turns out wrong is corrected by a later entry.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Its number, counted from 1.
    pub entry: u64,
    /// When it was written, by the clock of the machine.
    pub time: Timestamp,
    /// Who wrote it, by role and not by name.
    pub by: String,
    /// SHA-256 of the line before, without its end; zeros before the first.
    pub before: Digest,
    /// What happened.
    #[serde(flatten)]
    pub event: Event,
}

/// What happened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "what", rename_all = "lowercase")]
pub enum Event {
    /// The case was opened.
    Opened {
        /// Of `case.toml` as it was written.
        case_sha256: Digest,
    },
    /// A file was copied in.
    Added(Added),
    /// Something was noted.
    Note {
        /// In words.
        text: String,
    },
    /// An answer was computed and kept.
    Concluded(Box<Concluded>),
    /// Before was compared with after.
    Closed(Box<Closed>),
    /// A field strength was measured.
    Measured(Box<Measured>),
    /// It was looked at when it is on.
    Timed(Box<Timed>),
    /// The own system was tried.
    #[serde(rename = "own-system")]
    OwnSystem(Box<OwnSystem>),
    /// Something that a newer version wrote.
    #[serde(other)]
    Unknown,
}

/// A file that was copied in, with what is known of where it comes from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Added {
    /// Its name among the originals.
    pub file: String,
    /// Its name where it came from, if that is another.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub came_as: Option<String>,
    /// Its length in bytes.
    pub bytes: u64,
    /// Of its bytes.
    pub sha256: Digest,
    /// What recorded it.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub device: Option<String>,
    /// Seconds to add to the device's times to get UTC, if its clock was compared.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub clock_offset_s: Option<f64>,
    /// When it was recorded.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub acquired: Option<Timestamp>,
    /// Who recorded it, by role.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub acquired_by: Option<String>,
    /// What it was handed over for.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub purpose: Option<String>,
}

/// An answer and all that is needed to compute it again.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Concluded {
    /// Version of the program.
    pub version: String,
    /// Options of `azimark locate`, without the files.
    pub options: Vec<String>,
    /// Files that were given to it, names among the originals.
    pub files: Vec<String>,
    /// Every file that it read, files named by options included.
    pub read: Vec<String>,
    /// Of the list of all that it read: for each file its SHA-256, two spaces, its name, and a line feed.
    pub inputs_sha256: Digest,
    /// Name of the answer among the results.
    pub result: String,
    /// Of the answer's bytes.
    pub result_sha256: Digest,
    /// The answer in a few sentences.
    pub summary: String,
    /// Latitude of the quoted place, degrees.
    pub lat_deg: f64,
    /// Longitude of the quoted place, degrees.
    pub lon_deg: f64,
    /// Area of the 95 % region in square metres, where the data determine one.
    pub region95_m2: Option<f64>,
}

impl Event {
    /// What was computed from files of the case and kept beside the conclusions.
    pub fn kept(&self) -> Option<&Kept> {
        match self {
            Self::Closed(c) => Some(&c.kept),
            Self::Measured(m) => Some(&m.kept),
            Self::Timed(t) => Some(&t.kept),
            _ => None,
        }
    }
}

impl Concluded {
    /// The digest of a list of inputs; the order in which they are given does not count.
    pub fn digest_of_inputs(inputs: &[(String, Digest)]) -> Digest {
        let mut lines: Vec<String> = inputs.iter().map(|(name, sha)| format!("{sha}  {name}\n")).collect();
        lines.sort_unstable();
        lines.dedup();
        Digest::of(lines.concat().as_bytes())
    }
}
