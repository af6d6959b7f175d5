//! Tracks: GPX 1.1 and NMEA 0183.

mod attributes;
mod epoch;
mod gpx;
mod join;
mod nmea;
mod sentence;
mod xsd;

use jiff::civil::Date;

use crate::{
    finding::{Finding, Origin},
    ingest::{MAX_LEVEL_BYTES, MOST_LEVELS, decode, level_once::Rows, log::Log},
    observe::{Fix, Track},
};

pub use join::{Join, join};

/// Reads a track from GPX 1.1 or from the RMC and GGA sentences of NMEA 0183.
///
/// `first_day` is only needed for NMEA without RMC, which has no dates. Fixes without a time are refused: they cannot be
/// joined to anything.
pub fn track(name: &str, bytes: &[u8], first_day: Option<Date>) -> (Track, Vec<Finding>) {
    let mut log = Log::default();
    let limit = (MAX_LEVEL_BYTES, "split the track");
    let fixes = match decode::text_within(name, bytes, limit, &mut log) {
        Some(text) if text.trim_start().starts_with('<') => gpx::read(name, &text, &mut log),
        Some(text) => nmea::read(name, &text, first_day, &mut log),
        None => Vec::new(),
    };
    let track = in_order(name, fixes, &mut log);
    (track, log.into_findings(name))
}

/// Fixes by time. Of several at one time the first is kept.
fn in_order(name: &str, mut fixes: Vec<Fix>, log: &mut Log) -> Track {
    if let Some(pair) = fixes.windows(2).find(|w| w[1].time < w[0].time) {
        let message = "the times of the track go back here: its fixes are put in order";
        let hint = "are these several tracks in one file?";
        log.tell(Finding::doubtful("track-order", message).at(pair[1].written.origin()).hint(hint));
    }
    // Stable: of one time the one written first comes first.
    fixes.sort_by_key(|f| f.time);
    let mut repeated = Rows::default();
    let mut kept: Vec<Fix> = Vec::with_capacity(fixes.len());
    for fix in fixes {
        match kept.last() {
            Some(last) if last.time == fix.time => repeated.add(fix.written.line),
            _ => kept.push(fix),
        }
    }
    if let Some((count, first)) = repeated.some() {
        let message = format!("{count} fix(es) have the time of another: the first of each time is used");
        let hint = "are two receivers in one file?";
        log.tell(Finding::doubtful("fix-repeated", message).at(Origin::line(name, first)).hint(hint));
    }
    Track { fixes: kept }
}

/// Whether a track may take one more fix; told once where it may not.
fn room(name: &str, count: usize, line: u64, log: &mut Log) -> bool {
    if count == MOST_LEVELS {
        let message = format!("the track has more than {MOST_LEVELS} fixes: what follows is not read");
        log.tell(
            Finding::refused("too-many-rows", message).at(Origin::line(name, line)).hint("split the track"),
        );
    }
    count < MOST_LEVELS
}
