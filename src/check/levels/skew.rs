//! Whether the clocks of a log and of the monitor agree on when the emitter was off.

use crate::{
    check::{
        clock::{Estimate, estimate, offsets},
        levels::{off_air::Monitors, seconds},
    },
    finding::Finding,
    observe::{Level, LevelReading},
};

/// So many readings are looked at; of longer logs each second, third and so on.
const MOST: usize = 4_000;

/// Both groups have at least so many readings.
const FEWEST: usize = 8;

/// Levels in a log change with the place, over so many seconds on foot: they count as one. Common practice, no source.
const SHARED_S: f64 = 30.0;

/// An offset must leave this share of the readings within the monitor's times, of as many as at the best.
const SHARE: f64 = 0.8;

/// The offset of the log's clock at which its levels part best into those of "on" and "off" by the monitor, taken as normal
/// about two means with one variance. It is told where it stands out, differs from zero, and exceeds the interval of the
/// monitor; it is never applied.
pub fn tell(readings: &[LevelReading], monitors: &Monitors) -> Option<Finding> {
    let stride = readings.len().div_ceil(MOST).max(1);
    let level = |r: &LevelReading| match r.level {
        Level::Measured(l) | Level::BelowFloor(l) => Some(l.value()),
        Level::OffAir => None,
    };
    let timed: Vec<(f64, f64)> =
        readings.iter().step_by(stride).filter_map(|r| Some((seconds(r)?, level(r)?))).collect();
    let found = by_monitor(&timed, monitors)?;
    let apart = found.settled() && found.excludes(0.0) && found.seconds.abs() > monitors.interval();
    apart.then(|| {
        let message = format!(
            "the levels fall and rise together with the monitor's best with {:+.1} s added to the log's times (one standard deviation {:.1} s): the clocks differ",
            found.seconds, found.sigma
        );
        let hint = "nothing is added: correct the times of one of them, or rows at the edges of a pause are labelled wrongly";
        let at = readings.first().map(|r| crate::finding::Origin::file(&r.written.file)).unwrap_or_default();
        Finding::doubtful("clock-skew", message).at(at).hint(hint)
    })
}

fn by_monitor(timed: &[(f64, f64)], monitors: &Monitors) -> Option<Estimate> {
    let slot = |t: &(f64, f64)| (t.0 / SHARED_S).floor();
    let independent = timed.chunk_by(|a, b| slot(a) == slot(b)).count() as f64;
    let at = |offset| parted(timed, monitors, offset).map(|(count, variance)| (offset, count, variance));
    let all: Vec<(f64, usize, f64)> = offsets(0.0).filter_map(at).collect();
    let most = all.iter().map(|a| a.1).max()?;
    let enough = |count: usize| count as f64 >= SHARE * most as f64;
    let log = |variance: f64| -0.5 * independent * (variance + 1e-4).ln();
    estimate(&all.iter().filter(|a| enough(a.1)).map(|(o, _, v)| (*o, log(*v))).collect::<Vec<_>>())
}

/// How many readings the monitors judge at an offset, and the variance within the two groups.
fn parted(timed: &[(f64, f64)], monitors: &Monitors, offset: f64) -> Option<(usize, f64)> {
    let mut groups = [(0usize, 0.0, 0.0); 2];
    for (time, level) in timed {
        if let Some(off) = monitors.off_at(time + offset) {
            let (count, sum, square) = &mut groups[usize::from(off)];
            (*count, *sum, *square) = (*count + 1, *sum + level, *square + level * level);
        }
    }
    let count = groups[0].0 + groups[1].0;
    let within: f64 = groups.iter().map(|(n, sum, square)| square - sum * sum / *n as f64).sum();
    groups.iter().all(|g| g.0 >= FEWEST).then(|| (count, (within / count as f64).max(0.0)))
}
