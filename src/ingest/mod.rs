//! Field notes: bytes in, rows and findings out. No file is opened here, and no row is dropped without a finding.

mod columns;
mod decode;
mod direction;
mod features;
mod grid;
mod ground;
mod header;
mod json;
mod lines;
mod log;
mod names;
mod once;
mod position;
mod row;
mod sheet;
mod table;
mod time;
mod written;

use crate::{finding::Finding, ingest::log::Log, observe::ReadBearing};

pub use decode::MAX_BYTES;
pub use grid::{NorthLabel, StatedGrid};
pub use ground::Ground;

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

/// Reads bearings from a delimited text file, or from the points of a GeoJSON file.
///
/// Delimiter (`,` `;` tab), decimal mark, encoding (UTF-8, UTF-16, Windows-1252) and columns (English, German, French,
/// Spanish names) are recognised and, where the file does not say, listed as assumptions. Stands may be written in
/// degrees (decimal, minutes, seconds), UTM, as a grid square, or as easting and northing of a stated grid. `name` is
/// only used in findings.
pub fn bearings(name: &str, bytes: &[u8], settings: &Settings) -> Reading<ReadBearing> {
    let mut log = Log::default();
    let rows = match decode::text(name, bytes, &mut log) {
        Some(text) if json::meant(&text) => features::read(name, &text, settings, &mut log),
        Some(text) => table::read(name, &text, settings, &mut log),
        None => Vec::new(),
    };
    Reading { rows, findings: log.into_findings(name) }
}

/// Reads lines and outlines of a base map from a GeoJSON file.
pub fn ground(name: &str, bytes: &[u8]) -> (Ground, Vec<Finding>) {
    let mut log = Log::default();
    let ground = match decode::text(name, bytes, &mut log) {
        Some(text) => ground::ground(name, &text, &mut log),
        None => Ground::default(),
    };
    (ground, log.into_findings(name))
}
