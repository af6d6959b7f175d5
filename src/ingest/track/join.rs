//! Places for levels that have none, from a track of the same time.

use jiff::{SignedDuration, Timestamp};

use crate::{
    finding::Finding,
    geodesy::{Place, course, destination},
    ingest::level_once::Rows,
    observe::{Fix, FixQuality, LevelReading, Track, Written},
    units::Metres,
};

/// What the caller states about a track and a log.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Join {
    /// Milliseconds to add to the log's times to get those of the track; what the log's clock is behind.
    pub clock_offset_ms: i64,
    /// Fixes further apart than this, in milliseconds, have a gap between them, in which nothing is placed.
    pub longest_gap_ms: i64,
}

impl Default for Join {
    /// Clocks that agree, and gaps from 10 s on: a walker makes 15 m in that time. Common practice, no source.
    fn default() -> Self {
        Self { clock_offset_ms: 0, longest_gap_ms: 10_000 }
    }
}

/// Why a reading got no place.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Unplaced {
    NoTime,
    Before,
    After,
    Gap,
    Break,
}

const REASONS: [(Unplaced, &str, &str); 5] = [
    (Unplaced::NoTime, "join-no-time", "have no time"),
    (Unplaced::Before, "join-before", "were taken before the track begins"),
    (Unplaced::After, "join-after", "were taken after the track ends"),
    (Unplaced::Gap, "join-gap", "fall into a gap of the track"),
    (Unplaced::Break, "join-break", "fall between two stretches of the track, without a fix"),
];

/// Gives readings without a place that of the track at their time: on the geodesic between the fixes before and after, in
/// proportion to the time. Readings that have a place keep it. Every reading stays, those that got no place are told with
/// the reason.
pub fn join(readings: &mut [LevelReading], track: &Track, how: &Join) -> Vec<Finding> {
    let mut placed = Rows::default();
    let mut unplaced = [Rows::default(); REASONS.len()];
    for reading in readings.iter_mut().filter(|r| r.at.is_none()) {
        let time = reading.time.as_ref().map(|t| t.utc());
        let time = time.and_then(|t| t.checked_add(SignedDuration::from_millis(how.clock_offset_ms)).ok());
        match time.map_or(Err(Unplaced::NoTime), |t| at(track, t, how)) {
            Ok((place, quality)) => {
                (reading.at, reading.fix) = (Some(place), quality);
                placed.add(reading.written.line);
            }
            Err(why) => {
                unplaced[REASONS.iter().position(|r| r.0 == why).unwrap_or(0)].add(reading.written.line)
            }
        }
    }
    findings(readings, how, placed, unplaced)
}

fn findings(
    readings: &[LevelReading],
    how: &Join,
    placed: Rows,
    unplaced: [Rows; REASONS.len()],
) -> Vec<Finding> {
    let Some(file) = readings.first().map(|r| r.written.clone()) else { return Vec::new() };
    let origin = |line| Written { line, ..file.clone() }.origin();
    let seconds = |ms: i64| ms as f64 / 1e3;
    let mut out = Vec::new();
    if let Some((count, first)) = placed.some() {
        let message = format!(
            "{count} reading(s) were placed by the track, between fixes at most {} s apart, with {} s added to the log's times",
            seconds(how.longest_gap_ms),
            seconds(how.clock_offset_ms)
        );
        out.push(Finding::assumed("joined", message).at(origin(first)));
    }
    for ((_, code, what), rows) in REASONS.into_iter().zip(unplaced) {
        if let Some((count, first)) = rows.some() {
            let message = format!("{count} reading(s) {what}: they stay without a place");
            let hint = "check the clocks of log and track, and whether the track belongs to the log";
            out.push(Finding::doubtful(code, message).at(origin(first)).hint(hint));
        }
    }
    out
}

/// The place at a time, and how well it is known: as the worse of the fixes on either side.
fn at(track: &Track, time: Timestamp, how: &Join) -> Result<(Place, FixQuality), Unplaced> {
    let after = track.fixes.partition_point(|f| f.time < time);
    let Some(next) = track.fixes.get(after) else { return Err(Unplaced::After) };
    if next.time == time {
        return Ok((next.at, next.quality));
    }
    let Some(last) = after.checked_sub(1).and_then(|i| track.fixes.get(i)) else {
        return Err(Unplaced::Before);
    };
    let span = (next.time.as_millisecond() - last.time.as_millisecond()).max(1);
    if last.stretch != next.stretch {
        return Err(Unplaced::Break);
    }
    if span > how.longest_gap_ms {
        return Err(Unplaced::Gap);
    }
    let share = (time.as_millisecond() - last.time.as_millisecond()) as f64 / span as f64;
    Ok((between(last, next, share), worse(last.quality, next.quality)))
}

fn between(last: &Fix, next: &Fix, share: f64) -> Place {
    let way = course(last.at, next.at);
    destination(last.at, way.departure, Metres::new(way.distance.value() * share)).0
}

/// What only one fix says is not known of a place between two.
fn worse(a: FixQuality, b: FixQuality) -> FixQuality {
    FixQuality {
        kind: a.kind.filter(|_| a.kind == b.kind),
        hdop: a.hdop.zip(b.hdop).map(|(a, b)| a.max(b)),
        satellites: a.satellites.zip(b.satellites).map(|(a, b)| a.min(b)),
    }
}
