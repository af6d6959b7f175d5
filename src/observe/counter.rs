//! What a receiver that stays in its place counts, and when somebody switched a suspect.

use std::sync::Arc;

/// A value of a counter or of a monitor's log.
#[derive(Clone, Debug, PartialEq)]
pub struct Counter {
    /// The receiver or sector, when named.
    pub receiver: Option<Arc<str>>,
    /// When its interval began, or when the sample was taken.
    pub at: jiff::Timestamp,
    /// Level or rise in decibels: only differences between values of one receiver are used.
    pub db: f64,
    /// Line of the file, counted from 1.
    pub line: u64,
}

/// A suspect switched on or off.
#[derive(Clone, Debug, PartialEq)]
pub struct Switch {
    /// When.
    pub at: jiff::Timestamp,
    /// Whether it was on from then.
    pub on: bool,
    /// Line of the file, counted from 1.
    pub line: u64,
}
