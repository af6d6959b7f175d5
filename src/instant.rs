//! An instant in UTC together with the text it was read from. Nothing here reads the clock.

use std::fmt;

/// A moment in UTC, with the words it was read from and the zone those words were taken in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Instant {
    utc: jiff::Timestamp,
    text: String,
    zone: Option<String>,
}

impl Instant {
    /// From a UTC timestamp and the text as read; `zone` is the IANA zone or offset used, if the text was local.
    pub fn new(utc: jiff::Timestamp, text: &str, zone: Option<String>) -> Self {
        Self { utc, text: text.to_owned(), zone }
    }

    /// The moment itself.
    pub const fn utc(&self) -> jiff::Timestamp {
        self.utc
    }

    /// The text as read.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The zone that the text was taken in, when it was local.
    pub fn zone(&self) -> Option<&str> {
        self.zone.as_deref()
    }
}

impl fmt::Display for Instant {
    /// RFC 3339 in UTC, such as `2026-03-17T15:40:00Z`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.utc)
    }
}
