//! Entries that keep what was computed from files of the case, beside its conclusions.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::case::Digest;

/// What a result was computed from, and where its figures lie.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// Version of the program.
    pub version: String,
    /// The command and its options, without the case and with the names of files among the originals; absent in entries of
    /// earlier versions.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub command: Option<Vec<String>>,
    /// Files that it was computed from, names among the originals.
    pub read: Vec<String>,
    /// Of the list of all that was read, as in [`crate::case::Concluded`].
    pub inputs_sha256: Digest,
    /// Name of the file with all figures, among the results.
    pub result: String,
    /// Of its bytes.
    pub result_sha256: Digest,
}

/// Before compared with after.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Closed {
    /// Files and figures.
    #[serde(flatten)]
    pub kept: Kept,
    /// When the cause was switched off or put right.
    pub corrected: Timestamp,
    /// Zone in which hours and weekdays counted.
    pub zone: String,
    /// The receiver, where it has a name.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub receiver: Option<String>,
    /// What was found, in sentences.
    pub summary: Vec<String>,
    /// After minus before in decibels, over the same hours of the same weekdays.
    pub change_db: f64,
    /// Lower end of its 95 % interval.
    pub low_db: f64,
    /// Upper end of its 95 % interval.
    pub high_db: f64,
    /// Hours of the week compared.
    pub hours: u64,
    /// Who agreed that it is over; empty where nobody is named.
    pub agreed: Vec<Agreed>,
}

/// Somebody agreed.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Agreed {
    /// Who, by role.
    pub who: String,
    /// When, as written.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub when: Option<String>,
    /// With which words.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub remark: Option<String>,
}

/// When it was on.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Timed {
    /// Files and figures.
    #[serde(flatten)]
    pub kept: Kept,
    /// Zone in which hours and weekdays counted.
    pub zone: String,
    /// The receiver, where it has a name.
    #[serde(skip_serializing_if = "Option::is_none", default)]
    pub receiver: Option<String>,
    /// Time of the first value.
    pub from: Timestamp,
    /// Time of the last.
    pub to: Timestamp,
    /// What was found, in sentences.
    pub summary: Vec<String>,
    /// What the test by switching gave, in sentences; empty where there was none.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub switched: Vec<String>,
    /// Days on which each hour of the week was observed and the sum of the shares of time on, by weekday from Monday and by
    /// hour; empty where on and off could not be told apart.
    #[serde(skip_serializing_if = "Vec::is_empty", default)]
    pub week: Vec<Vec<(f64, f64)>>,
}
