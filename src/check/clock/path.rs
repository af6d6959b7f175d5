//! A track on a plane, and readings beside it: what the estimates of a clock's offset work on.

use crate::{
    check::levels::seconds,
    geodesy::{Plane, PlanePoint},
    ingest::Join,
    observe::{Fix, Level, LevelReading, Track},
};

/// Readings of so many seconds are averaged to one: on foot five metres, less than the cells that passes are compared in.
const SLOT_S: f64 = 4.0;

/// So many slots are looked at; they last four hours and a half.
const MOST_SLOTS: usize = 4_000;

/// A track between two times.
pub struct Path {
    /// The plane of its points.
    pub plane: Plane,
    points: Vec<Point>,
    longest_gap: f64,
}

struct Point {
    time: f64,
    at: PlanePoint,
    stretch: u32,
}

/// What was read within one slot of time.
#[derive(Clone, Copy, Debug)]
pub struct Slot {
    /// Seconds since 1970, by the log's clock.
    pub time: f64,
    /// Mean level, dBm; `None` where only places were written.
    pub level: Option<f64>,
    /// The first place that the log has in it.
    pub at: Option<PlanePoint>,
}

impl Path {
    /// The part of a track from one time to another, in seconds since 1970; `None` where fewer than two fixes lie there.
    pub fn of(track: &Track, from: f64, to: f64) -> Option<Self> {
        let time = |fix: &Fix| fix.time.as_millisecond() as f64 / 1e3;
        let first = track.fixes.partition_point(|f| time(f) < from);
        let end = track.fixes.partition_point(|f| time(f) <= to).max(first);
        let inside = &track.fixes[first..end];
        let places: Vec<_> = inside.iter().map(|f| f.at).collect();
        let plane = Plane::centred_on(&places).filter(|_| places.len() > 1)?;
        let point = |fix: &Fix| Point { time: time(fix), at: plane.to_plane(fix.at), stretch: fix.stretch };
        let longest_gap = Join::default().longest_gap_ms as f64 / 1e3;
        Some(Self { plane, points: inside.iter().map(point).collect(), longest_gap })
    }

    /// Where the track is at a time; nowhere beyond its ends, in gaps and between stretches, as in [`crate::ingest::join`].
    pub fn at(&self, time: f64) -> Option<PlanePoint> {
        let after = self.points.partition_point(|p| p.time < time);
        let next = self.points.get(after)?;
        if next.time == time {
            return Some(next.at);
        }
        let last = &self.points[after.checked_sub(1)?];
        let span = next.time - last.time;
        if last.stretch != next.stretch || span > self.longest_gap {
            return None;
        }
        let share = (time - last.time) / span;
        let between = |a: f64, b: f64| a + share * (b - a);
        Some(PlanePoint {
            east: between(last.at.east, next.at.east),
            north: between(last.at.north, next.at.north),
        })
    }
}

/// First and last time of readings, seconds since 1970.
pub fn span(readings: &[LevelReading]) -> Option<(f64, f64)> {
    let times = readings.iter().filter_map(seconds);
    times.fold(None, |span, t| {
        let (first, last) = span.unwrap_or((t, t));
        Some((f64::min(first, t), f64::max(last, t)))
    })
}

/// The readings with a time, in slots, by time.
pub fn slots(readings: &[LevelReading], plane: &Plane) -> Vec<Slot> {
    let mut timed: Vec<(f64, &LevelReading)> =
        readings.iter().filter_map(|r| Some((seconds(r)?, r))).collect();
    timed.sort_by(|a, b| a.0.total_cmp(&b.0));
    let same = |a: &(f64, &LevelReading), b: &(f64, &LevelReading)| {
        (a.0 / SLOT_S).floor() == (b.0 / SLOT_S).floor() && a.1.device == b.1.device
    };
    timed.chunk_by(same).take(MOST_SLOTS).map(|chunk| slot(chunk, plane)).collect()
}

fn slot(chunk: &[(f64, &LevelReading)], plane: &Plane) -> Slot {
    let levels: Vec<f64> = chunk.iter().filter_map(|(_, r)| level(r)).collect();
    let placed = chunk.iter().find_map(|(time, r)| Some((*time, r.at?)));
    let mean = |values: &mut dyn Iterator<Item = f64>, count: usize| values.sum::<f64>() / count as f64;
    let time = match placed {
        // A place belongs to its own time, a mean level to the mean of times.
        Some((time, _)) => time,
        None => mean(&mut chunk.iter().map(|c| c.0), chunk.len()),
    };
    Slot {
        time,
        level: (!levels.is_empty()).then(|| mean(&mut levels.iter().copied(), levels.len())),
        at: placed.map(|(_, at)| plane.to_plane(at)),
    }
}

/// What a reading tells of the emitter; one below the floor counts as at it.
fn level(reading: &LevelReading) -> Option<f64> {
    match reading.level {
        Level::Measured(level) | Level::BelowFloor(level) => Some(level.value()),
        Level::OffAir => None,
    }
}
