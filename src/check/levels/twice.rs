//! Readings that are written down twice.

use std::cmp::Ordering;

use crate::{
    check::levels::{Label, Labelled, seconds},
    observe::{Level, LevelReading},
};

/// Labels what has receiver, time, place and level of an earlier reading, in the same file or in another: it would count
/// twice. Without a time nothing is a repetition: somebody may have stood still.
pub fn label(readings: &[LevelReading], out: &mut Labelled) {
    let mut timed: Vec<(f64, usize)> =
        readings.iter().enumerate().filter_map(|(i, r)| Some((seconds(r)?, i))).collect();
    // By time alone first: few have the same one, and those are compared in full.
    timed.sort_by(|a, b| a.0.total_cmp(&b.0));
    for same in timed.chunk_by_mut(|a, b| a.0 == b.0).filter(|c| c.len() > 1) {
        same.sort_by(|a, b| order(&readings[a.1], &readings[b.1]).then(a.1.cmp(&b.1)));
        for pair in same.windows(2) {
            if order(&readings[pair[0].1], &readings[pair[1].1]) == Ordering::Equal {
                out.labels[pair[1].1].add(Label::Repeated);
            }
        }
    }
}

fn order(a: &LevelReading, b: &LevelReading) -> Ordering {
    let place = |r: &LevelReading| r.at.map_or((f64::NAN, f64::NAN), |p| (p.lat_degrees(), p.lon_degrees()));
    let level = |r: &LevelReading| match r.level {
        Level::Measured(l) => (0, l.value()),
        Level::BelowFloor(l) => (1, l.value()),
        Level::OffAir => (2, 0.0),
    };
    let ((lat, lon), (kind, value)) = (place(a), level(a));
    let ((other_lat, other_lon), (other_kind, other_value)) = (place(b), level(b));
    a.device
        .cmp(&b.device)
        .then(a.stand.cmp(&b.stand))
        .then(lat.total_cmp(&other_lat))
        .then(lon.total_cmp(&other_lon))
        .then(kind.cmp(&other_kind))
        .then(value.total_cmp(&other_value))
}
