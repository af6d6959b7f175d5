//! When the emitter was off: by receivers that stood still, or else by runs at the floor.

use std::collections::BTreeMap;

use crate::{
    check::levels::{Label, Labelled, at_share, seconds},
    finding::{Finding, Origin},
    observe::{Level, LevelReading},
};

/// Two groups of a monitor's levels are on and off when their means lie this far apart, and this many times their own
/// spread: common practice, no source.
const APART_DB: f64 = 6.0;
const APART_SPREADS: f64 = 4.0;

/// A sample holds until the next, but not longer than this many of the monitor's ordinary intervals.
const HOLDS_INTERVALS: f64 = 3.0;

/// A run at the floor has at least so many readings, within this much of the lowest, and the medians of the five
/// readings on either side lie this much above it: common practice, no source.
const SHORTEST_RUN: usize = 8;
const FLOOR_BAND_DB: f64 = 3.0;
const DROP_DB: f64 = 12.0;
const BESIDE: usize = 5;

/// One receiver that stood still.
struct Monitor {
    /// Times, and whether it was quiet then.
    samples: Vec<(f64, bool)>,
    holds: f64,
}

/// What the monitors say at a time.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Heard {
    On,
    Off,
    Disagree,
    Nothing,
}

/// The receivers that stood still.
pub struct Monitors(Vec<Monitor>);

impl Monitors {
    /// Whether the emitter was off at a time; `None` where they disagree or have no sample.
    pub fn off_at(&self, time: f64) -> Option<bool> {
        match heard(&self.0, time) {
            Heard::On => Some(false),
            Heard::Off => Some(true),
            Heard::Disagree | Heard::Nothing => None,
        }
    }

    /// The longest of their ordinary intervals between samples, seconds.
    pub fn interval(&self) -> f64 {
        self.0.iter().map(|m| m.holds / HOLDS_INTERVALS).fold(0.0, f64::max)
    }
}

/// Labels what was taken while every monitor was quiet; the monitors, where they tell anything.
pub fn by_monitor(
    readings: &[LevelReading],
    monitor: &[LevelReading],
    out: &mut Labelled,
) -> Option<Monitors> {
    let file = Origin::file(&monitor.first()?.written.file);
    let monitors = monitors(monitor);
    if monitors.is_empty() {
        let message = "the monitor's levels do not fall into two groups, on and off: it says nothing";
        let hint = "a monitor is a log with times, of a receiver that hears the emitter and stands still";
        out.findings.push(Finding::doubtful("monitor-one-level", message).at(file).hint(hint));
        return None;
    }
    let (mut disagree, mut nothing) = (0, 0);
    for (reading, labels) in readings.iter().zip(&mut out.labels) {
        match seconds(reading).map_or(Heard::Nothing, |t| heard(&monitors, t)) {
            Heard::On => {}
            Heard::Off => labels.add(Label::OffAir),
            Heard::Disagree => disagree += 1,
            Heard::Nothing => nothing += 1,
        }
    }
    let message = format!(
        "{} receiver(s) that stood still tell when the emitter was off; each sample holds until the next",
        monitors.len()
    );
    out.findings.push(Finding::assumed("monitor-used", message).at(file.clone()));
    for (count, code, what) in [
        (disagree, "monitors-disagree", "were taken while the monitors disagree"),
        (nothing, "monitor-silent", "were taken when the monitor has no sample, or have no time"),
    ] {
        if count > 0 {
            let message = format!("{count} reading(s) {what}: used as if the emitter was on");
            let hint = "look at the monitor's log there";
            out.findings.push(Finding::doubtful(code, message).at(file.clone()).hint(hint));
        }
    }
    Some(Monitors(monitors))
}

fn heard(monitors: &[Monitor], time: f64) -> Heard {
    monitors.iter().filter_map(|m| m.quiet_at(time)).fold(Heard::Nothing, |so_far, quiet| {
        match (so_far, quiet) {
            (Heard::Nothing | Heard::Off, true) => Heard::Off,
            (Heard::Nothing | Heard::On, false) => Heard::On,
            _ => Heard::Disagree,
        }
    })
}

impl Monitor {
    fn quiet_at(&self, time: f64) -> Option<bool> {
        let after = self.samples.partition_point(|(t, _)| *t <= time);
        let (at, quiet) = self.samples[after.checked_sub(1)?];
        (time - at <= self.holds).then_some(quiet)
    }
}

fn monitors(readings: &[LevelReading]) -> Vec<Monitor> {
    let mut by_device: BTreeMap<Option<&str>, Vec<(f64, f64)>> = BTreeMap::new();
    for reading in readings {
        let level = match reading.level {
            Level::Measured(level) | Level::BelowFloor(level) => level.value(),
            Level::OffAir => continue,
        };
        if let Some(time) = seconds(reading) {
            by_device.entry(reading.device.as_deref()).or_default().push((time, level));
        }
    }
    by_device.into_values().filter_map(monitor).collect()
}

fn monitor(mut samples: Vec<(f64, f64)>) -> Option<Monitor> {
    samples.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut levels: Vec<f64> = samples.iter().map(|s| s.1).collect();
    levels.sort_by(f64::total_cmp);
    let threshold = threshold(&levels)?;
    let mut gaps: Vec<f64> = samples.windows(2).map(|w| w[1].0 - w[0].0).collect();
    gaps.sort_by(f64::total_cmp);
    let holds = HOLDS_INTERVALS * at_share(&gaps, 0.5)?;
    Some(Monitor { samples: samples.into_iter().map(|(t, l)| (t, l < threshold)).collect(), holds })
}

/// The level that parts sorted levels into two groups with the least scatter within, if they lie apart.
fn threshold(sorted: &[f64]) -> Option<f64> {
    let sums = |v: &[f64]| v.iter().fold((0.0, 0.0), |(s, q), x| (s + x, q + x * x));
    let n = sorted.len();
    let (total, squares) = sums(sorted);
    let (mut sum, mut square) = (0.0, 0.0);
    let mut best: Option<(f64, usize, f64)> = None;
    for cut in 1..n {
        sum += sorted[cut - 1];
        square += sorted[cut - 1] * sorted[cut - 1];
        let (low, high) = (cut as f64, (n - cut) as f64);
        let scatter = square - sum * sum / low + (squares - square) - (total - sum).powi(2) / high;
        if best.is_none_or(|(least, ..)| scatter < least) {
            best = Some((scatter, cut, (total - sum) / high - sum / low));
        }
    }
    let (scatter, cut, apart) = best?;
    let spread = (scatter.max(0.0) / n as f64).sqrt();
    let parted = apart > APART_DB && apart > APART_SPREADS * spread;
    parted.then(|| (sorted[cut - 1] + sorted[cut]) / 2.0)
}

/// Labels runs at the floor between strong readings as doubtful: a deep shadow looks the same.
pub fn by_runs(readings: &[LevelReading], walk: &[usize], out: &mut Labelled) {
    let level = |i: &usize| match readings[*i].level {
        Level::Measured(level) | Level::BelowFloor(level) => Some((*i, level.value())),
        Level::OffAir => None,
    };
    let levels: Vec<(usize, f64)> = walk.iter().filter_map(level).collect();
    let lowest = levels.iter().map(|l| l.1).fold(f64::INFINITY, f64::min);
    let low = |at: usize| levels[at].1 <= lowest + FLOOR_BAND_DB;
    let mut start = 0;
    while start < levels.len() {
        let end = (start..levels.len()).find(|i| !low(*i)).unwrap_or(levels.len());
        let strong = |part: &[(usize, f64)]| {
            let mut values: Vec<f64> = part.iter().map(|l| l.1).collect();
            values.sort_by(f64::total_cmp);
            at_share(&values, 0.5).is_some_and(|m| m > lowest + DROP_DB)
        };
        let (before, after) =
            (&levels[start.saturating_sub(BESIDE)..start], &levels[end..(end + BESIDE).min(levels.len())]);
        if end - start >= SHORTEST_RUN && strong(before) && strong(after) {
            levels[start..end].iter().for_each(|(i, _)| out.labels[*i].add(Label::MaybeOffAir));
        }
        start = end + 1;
    }
}
