//! Entries that keep what was computed from files of the case, beside its conclusions.

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::case::Digest;

/// What a result was computed from, and where its figures lie.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// Version of the program.
    pub version: String,
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
