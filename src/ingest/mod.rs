//! Field notes: bytes in, rows and findings out. No file is opened here, and no row is dropped without a finding.

mod amount;
mod columns;
mod counters;
mod decode;
mod direction;
mod features;
mod grid;
mod ground;
mod header;
mod json;
mod kind;
mod level_cells;
mod level_once;
mod levels;
mod lines;
mod log;
mod measure;
mod names;
mod once;
mod passes;
mod position;
mod row;
mod sector_level;
mod sector_names;
mod sector_once;
mod sectors;
mod shared;
mod sheet;
mod swing_groups;
mod swings;
mod table;
mod teams;
pub mod tiles;
mod time;
mod town;
mod track;
mod vocabulary;
mod written;

use std::borrow::Cow;

use crate::{
    finding::Finding,
    ingest::{log::Log, sheet::Sheet, vocabulary::Vocabulary},
    observe::{Counter, LevelReading, LevelUnit, Pass, ReadBearing, Sector, Swing, SwingAntenna, Switch},
    radio::noise::Averaging,
};

pub use decode::MAX_BYTES;
pub use grid::{NorthLabel, StatedGrid};
pub use ground::Ground;
pub use kind::{Kind, kind};
pub use row::METRES_PER_HDOP;
pub use teams::NamedPlace;
pub use town::{Mapped, Shape};
pub use track::{Join, join, track};

/// Larger logs of levels are refused; a million rows have about 80 MB.
pub const MAX_LEVEL_BYTES: usize = 512 << 20;

/// More rows of levels are not read.
pub const MOST_LEVELS: usize = 5_000_000;

/// More rows of sectors are not read; the largest networks have some hundred sites in one place's reach.
pub const MOST_SECTORS: usize = 10_000;

/// How the antenna that measured a field strength is described.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Antenna {
    /// Antenna factor across 50 Ω, dB/m.
    Factor(f64),
    /// Gain, dBi.
    Gain(f64),
}

/// Whether a column of levels holds the attenuator.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PadIn {
    /// It is added already.
    Level,
    /// It is not.
    NotLevel,
}

/// What the caller states about levels.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct LevelSettings {
    /// Unit of levels that do not say theirs.
    pub unit: Option<LevelUnit>,
    /// Whether a column called level, beside one of attenuators, holds them.
    pub attenuator: Option<PadIn>,
    /// The antenna that measured a field strength.
    pub antenna: Option<Antenna>,
    /// Loss of the cable, dB.
    pub cable_loss: Option<f64>,
    /// Floor of the receiver, in the unit of the level.
    pub floor: Option<f64>,
}

/// What the caller states about a file; whatever is stated is not guessed.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Settings {
    /// North of bearings that do not say theirs.
    pub north: Option<NorthLabel>,
    /// IANA time zone of local times, such as `America/Los_Angeles`.
    pub zone: Option<String>,
    /// Grid of eastings and northings that do not say theirs.
    pub grid: Option<StatedGrid>,
    /// What is stated about levels.
    pub levels: LevelSettings,
    /// How levels of sectors that do not say it were averaged.
    pub averaging: Option<Averaging>,
    /// The antenna of swings that do not say theirs.
    pub swings: SwingAntenna,
}

/// Rows of a file and what there is to tell about it.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading<T> {
    /// The rows that can be used.
    pub rows: Vec<T>,
    /// Assumptions, doubts, and what was refused.
    pub findings: Vec<Finding>,
}

/// One moment as people write it, such as `2026-03-17T15:40Z` or `17.03.2026 08:40` in an IANA zone.
///
/// # Errors
/// What is wrong with it, and what to write: an unknown zone, no zone for a local time, an hour that the clocks skip or repeat, a date
/// alone, or anything that is no moment.
pub fn instant(text: &str, zone: Option<&str>) -> Result<jiff::Timestamp, String> {
    let zone = match zone {
        Some(name) => {
            Some((jiff::tz::TimeZone::get(name).map_err(|e| format!("{name}: {e}"))?, name.to_owned()))
        }
        None => None,
    };
    let write = "write a date and a time such as 2026-03-17T15:40Z";
    match time::moment(text, zone.as_ref()) {
        time::Moment::Known(instant) => Ok(instant.utc()),
        time::Moment::Local(_) => {
            Err(format!("{text}: this local time names no zone: state --zone, or {write}"))
        }
        time::Moment::Skipped(_) => Err(format!("{text}: the clocks went forward over this hour: {write}")),
        time::Moment::Twice(_, a, b) => Err(format!("{text}: this hour occurs twice: write {a} or {b}")),
        time::Moment::Day(_) => Err(format!("{text}: the time of the day is missing: {write}")),
        time::Moment::Unread(_) | time::Moment::Unknown => {
            Err(format!("{}: this is no date and time: {write}", crate::finding::clipped(text)))
        }
    }
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
        Some(text) => table::read(name, text, settings, &mut log),
        None => Vec::new(),
    };
    Reading { rows, findings: log.into_findings(name) }
}

/// Reads a log of levels from a delimited text file, in every way of writing that [`bearings`] knows.
///
/// A level needs a unit, in its header, in a column or stated; it is never guessed. Attenuator and cable are added once.
/// Rows without any place are kept, with `at` empty.
pub fn levels(name: &str, bytes: &[u8], settings: &Settings) -> Reading<LevelReading> {
    let mut rows = Vec::new();
    let findings = each_level(name, bytes, settings, |reading| rows.push(reading));
    Reading { rows, findings }
}

/// Hands out the rows of a log of levels one by one, and keeps none: beside the bytes, memory does not grow with the
/// rows, unless the text is not UTF-8 or its lines end in `\r`, which costs one copy of it.
pub fn each_level(
    name: &str,
    bytes: &[u8],
    settings: &Settings,
    mut take: impl FnMut(LevelReading),
) -> Vec<Finding> {
    let mut log = Log::default();
    let limit = (MAX_LEVEL_BYTES, "split the log: five million rows fit");
    if let Some(text) = decode::text_within(name, bytes, limit, &mut log) {
        levels_of(name, text, settings, &mut log, &mut take);
    }
    log.into_findings(name)
}

fn levels_of(
    name: &str,
    text: Cow<'_, str>,
    settings: &Settings,
    log: &mut Log,
    take: &mut impl FnMut(LevelReading),
) {
    let text = lines::plain_ends(text);
    if json::meant(&text) {
        features::levels(name, &text, settings, log, take);
        return;
    }
    let Some(table) = table::Table::open(name, &text, Vocabulary::Levels, log) else { return };
    let Some(sheet) = Sheet::new(name, &table.columns, settings, Some(table.delimiter()), log) else {
        return;
    };
    let mut reader = levels::Reader::new(&sheet);
    let limit = (MOST_LEVELS, "split the log");
    table::each(&sheet, table.records, limit, log, |record, line, log| {
        if let Some(reading) = reader.read(record, line, log) {
            take(reading);
        }
    });
    reader.finish(log);
}

/// Reads a table of sectors from a delimited text file, in every way of writing that [`bearings`] knows.
///
/// A sector needs a place, an azimuth with its north, a half-power beamwidth (or the word omni), and what it heard: the
/// interference by itself, or a floor with the rise above it or the level with noise and interference together. Rises and
/// levels are split into noise and interference by [`crate::radio::noise::Rise`]; a rise of zero, or below what its last
/// digit tells, says only that the interference stays below that.
pub fn sectors(name: &str, bytes: &[u8], settings: &Settings) -> Reading<Sector> {
    let mut log = Log::default();
    let mut rows = Vec::new();
    if let Some(text) = decode::text(name, bytes, &mut log) {
        sectors_of(name, text, settings, &mut log, &mut rows);
    }
    Reading { rows, findings: log.into_findings(name) }
}

fn sectors_of(name: &str, text: Cow<'_, str>, settings: &Settings, log: &mut Log, rows: &mut Vec<Sector>) {
    let text = lines::plain_ends(text);
    let Some(table) = table::Table::open(name, &text, Vocabulary::Sectors, log) else { return };
    let Some(sheet) = Sheet::new(name, &table.columns, settings, Some(table.delimiter()), log) else {
        return;
    };
    let mut reader = sectors::Reader::new(&sheet);
    let limit = (MOST_SECTORS, "split the table, or leave out sectors far from those that are disturbed");
    table::each(&sheet, table.records, limit, log, |record, line, log| {
        rows.extend(reader.read(record, line, log))
    });
    reader.finish(log);
}

/// Reads levels against headings of antennas turned on the spot: a delimited text file with one row per heading, in every
/// way of writing that [`bearings`] and [`levels`] know.
///
/// Rows of one stand are one swing: those that name the same stand (or else the same identifier), or that follow one
/// another at the same position. Rows of different instruments or frequencies are swings of their own. A swing with fewer
/// than three different headings is refused; one whose headings leave a wide gap is told.
pub fn swings(name: &str, bytes: &[u8], settings: &Settings) -> Reading<Swing> {
    let mut log = Log::default();
    let rows = match decode::text(name, bytes, &mut log) {
        Some(text) => swings::read(name, text, settings, &mut log),
        None => Vec::new(),
    };
    Reading { rows, findings: log.into_findings(name) }
}

/// Reads counters of receivers that stay in their place, or the log of a monitor: a delimited text file with times and levels
/// or rises in decibels, in every way of writing that [`levels`] knows. A row without a time that can be told is refused.
pub fn counters(name: &str, bytes: &[u8], settings: &Settings) -> Reading<Counter> {
    let mut log = Log::default();
    let limit = (MAX_LEVEL_BYTES, "split the log: five million rows fit");
    let rows = match decode::text_within(name, bytes, limit, &mut log) {
        Some(text) => counters::counters(name, text, settings, &mut log),
        None => Vec::new(),
    };
    Reading { rows, findings: log.into_findings(name) }
}

/// Reads when a suspect was switched: a delimited text file with times and the words on and off.
pub fn switches(name: &str, bytes: &[u8], settings: &Settings) -> Reading<Switch> {
    let mut log = Log::default();
    let rows = match decode::text(name, bytes, &mut log) {
        Some(text) => counters::switches(name, text, settings, &mut log),
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

/// Reads the record of searches without a find.
pub fn passes(name: &str, text: &str) -> Reading<Pass> {
    let mut log = Log::default();
    let rows = passes::passes(name, text, &mut log);
    Reading { rows, findings: log.into_findings(name) }
}

/// Reads a table of teams: name, lat, lon.
pub fn teams(name: &str, bytes: &[u8]) -> Reading<teams::NamedPlace> {
    let mut log = Log::default();
    let rows = match decode::text(name, bytes, &mut log) {
        Some(text) => teams::teams(name, &text, &mut log),
        None => Vec::new(),
    };
    Reading { rows, findings: log.into_findings(name) }
}

/// Reads the things of a town with their tags from a GeoJSON file: streets, buildings, lines of power.
pub fn town(name: &str, bytes: &[u8]) -> Reading<Mapped> {
    let mut log = Log::default();
    let rows = match decode::text(name, bytes, &mut log) {
        Some(text) => town::town(name, &text, &mut log),
        None => Vec::new(),
    };
    Reading { rows, findings: log.into_findings(name) }
}
