//! The offset at which the log's own places lie on the track.

use crate::check::clock::{
    path::{Path, Slot},
    profile::{Estimate, estimate, offsets},
};

/// Fewer places tell nothing.
const FEWEST: usize = 10;

/// Errors of satellite receivers last about this long: places closer in time count as one. Common practice, no source.
const ERRORS_LAST_S: f64 = 30.0;

/// Places that agree to this are the same receiver's: they cannot agree better than they are written, 1e-5 degrees.
const SAME_M: f64 = 1.0;

/// So much of the places must lie on the track at an offset, of as many as at the best one.
const SHARE: f64 = 0.8;

/// The offset, from the misses between places of log and track, taken as normal with a variance of their own, once for
/// each thirty seconds. `None` where fewer than ten places lie on the track.
pub fn by_positions(slots: &[Slot], path: &Path, around: f64) -> Option<Estimate> {
    let own: Vec<(f64, crate::geodesy::PlanePoint)> =
        slots.iter().filter_map(|s| Some((s.time, s.at?))).collect();
    let misses = |offset: f64| {
        own.iter().fold((0usize, 0.0), |(count, sum), (time, at)| match path.at(time + offset) {
            Some(there) => {
                (count + 1, sum + (there.east - at.east).powi(2) + (there.north - at.north).powi(2))
            }
            None => (count, sum),
        })
    };
    let all: Vec<(f64, (usize, f64))> = offsets(around).map(|o| (o, misses(o))).collect();
    let most = all.iter().map(|a| a.1.0).max().filter(|n| *n >= FEWEST)?;
    let apart = own.chunk_by(|a, b| (a.0 / ERRORS_LAST_S).floor() == (b.0 / ERRORS_LAST_S).floor()).count();
    let independent = (apart * most / own.len()).max(1) as f64;
    // Two coordinates each: minus their number, once, times the logarithm of the mean square.
    let log = |(count, sum): (usize, f64)| -independent * (sum / count as f64 + SAME_M * SAME_M).ln();
    let enough = |count: usize| count as f64 >= SHARE * most as f64;
    let profile: Vec<(f64, f64)> =
        all.into_iter().filter(|(_, m)| enough(m.0)).map(|(o, m)| (o, log(m))).collect();
    estimate(&profile)
}
