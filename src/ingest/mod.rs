//! Field notes: bytes in, rows and findings out. No file is opened here, and no row is dropped without a finding.

mod columns;
mod decode;
mod direction;
mod features;
mod grid;
mod position;
mod row;
mod sheet;
mod table;
mod time;

use crate::{finding::Finding, observe::ReadBearing};

pub use decode::MAX_BYTES;
pub use features::Ground;
pub use grid::{NorthLabel, StatedGrid};

/// What the caller states about a file; whatever is stated is not guessed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Settings {
    /// North of bearings that do not say theirs.
    pub north: Option<NorthLabel>,
    /// IANA time zone of local times, such as `America/Los_Angeles`.
    pub zone: Option<String>,
    /// Grid of eastings and northings that do not say theirs.
    pub grid: Option<StatedGrid>,
}

/// Rows of a file and what there is to tell about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading<T> {
    /// The rows that can be used.
    pub rows: Vec<T>,
    /// Assumptions, doubts, and what was refused.
    pub findings: Vec<Finding>,
}

/// At most this many findings are kept for one file; a last one says how many more there were.
const MOST_FINDINGS: usize = 1_000;

/// Reads bearings from a delimited text file, or from the points of a GeoJSON file.
///
/// Delimiter (`,` `;` tab), decimal mark, encoding (UTF-8, UTF-16, Windows-1252) and columns (English, German, French,
/// Spanish names) are recognised and, where the file does not say, listed as assumptions. Stands may be written in
/// degrees (decimal, minutes, seconds), UTM, as a grid square, or as easting and northing of a stated grid. `name` is
/// only used in findings.
pub fn bearings(name: &str, bytes: &[u8], settings: &Settings) -> Reading<ReadBearing> {
    let mut findings = Vec::new();
    let rows = match decode::text(name, bytes, &mut findings) {
        Some(text) if features::meant(&text) => features::read(name, &text, settings, &mut findings),
        Some(text) => table::read(name, &text, settings, &mut findings),
        None => Vec::new(),
    };
    if findings.len() > MOST_FINDINGS {
        let more = findings.len() - MOST_FINDINGS;
        findings.truncate(MOST_FINDINGS);
        findings
            .push(Finding::refused("more-findings", format!("{name} gave {more} more findings like these")));
    }
    Reading { rows, findings }
}

/// Reads lines and outlines of a base map from a GeoJSON file.
pub fn ground(name: &str, bytes: &[u8]) -> (Ground, Vec<Finding>) {
    let mut findings = Vec::new();
    let ground = match decode::text(name, bytes, &mut findings) {
        Some(text) => features::ground(name, &text, &mut findings),
        None => Ground::default(),
    };
    (ground, findings)
}
