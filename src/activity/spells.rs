//! When it was on: the state of each sample, the share of its time, and spells of activity.

use jiff::Timestamp;

use crate::activity::{Series, TwoLevels, after, seconds};

/// Samples at least this far apart are taken for averages over their interval, seconds: common practice, no source.
const AVERAGED: f64 = 300.0;

/// A share of an interval below this is not told from nothing: common practice, no source.
const SMALL_SHARE: f64 = 0.05;

/// Samples further apart than so many ordinary steps leave open what was between them.
const GAP_STEPS: f64 = 1.5;

/// A time in which it was on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spell {
    /// When it came on.
    pub from: Timestamp,
    /// When it went off.
    pub to: Timestamp,
    /// Whether the log shows it coming on, and not only that it was on when the log began or went on after a gap.
    pub begins: bool,
    /// Whether the log shows it going off.
    pub ends: bool,
}

impl Spell {
    /// Its length, seconds.
    pub fn length(&self) -> f64 {
        seconds(self.to) - seconds(self.from)
    }
}

/// Whether each sample is on: above the upper threshold, or above the lower one after a sample that was on. After a gap the
/// middle decides.
pub fn states(series: &Series, levels: &TwoLevels) -> Vec<bool> {
    let middle = 0.5 * (levels.rises_above + levels.falls_below);
    let mut out: Vec<bool> = Vec::with_capacity(series.samples().len());
    for (i, sample) in series.samples().iter().enumerate() {
        let threshold = match out.last() {
            Some(_) if gap(series, i) => middle,
            Some(true) => levels.falls_below,
            Some(false) => levels.rises_above,
            None => middle,
        };
        out.push(sample.db > threshold);
    }
    out
}

/// The share of each sample's interval in which it was on. Averages of powers over five minutes and more tell it: the average
/// lies between that of off and that of on. Shorter samples are on or off.
pub fn shares(series: &Series, levels: &TwoLevels, states: &[bool]) -> Vec<f64> {
    if series.step() < AVERAGED {
        return states.iter().map(|on| f64::from(u8::from(*on))).collect();
    }
    let power = |db: f64| 10f64.powf((db - levels.off) / 10.0);
    let on = power(levels.on) - 1.0;
    // What scatters about the two levels is no share.
    let share = |db: f64| match (power(db) - 1.0) / on {
        s if s < SMALL_SHARE => 0.0,
        s if s > 1.0 - SMALL_SHARE => 1.0,
        s => s,
    };
    series.samples().iter().map(|s| share(s.db)).collect()
}

/// Spells of activity. Their ends are as fine as the samples; averages that are partly on beside a spell refine them.
pub fn spells(series: &Series, states: &[bool], shares: &[f64]) -> Vec<Spell> {
    let samples = series.samples();
    let mut out: Vec<Spell> = Vec::new();
    let mut i = 0;
    while i < samples.len() {
        if !states[i] {
            i += 1;
            continue;
        }
        let first = i;
        while i + 1 < samples.len() && states[i + 1] && !gap(series, i + 1) {
            i += 1;
        }
        let before = first.checked_sub(1).filter(|_| !gap(series, first));
        let next = Some(i + 1).filter(|n| *n < samples.len() && !gap(series, *n));
        // A part of the interval before the first: that is where it came on.
        let begin = before.filter(|b| shares[*b] > 0.0 && !states[*b]).unwrap_or(first);
        let from = after(samples[begin].at, series.holds(begin) * (1.0 - shares[begin]));
        let to = match next.filter(|n| shares[*n] > 0.0) {
            Some(n) => after(samples[n].at, series.holds(n) * shares[n]),
            None if i > first => after(samples[i].at, series.holds(i) * shares[i]),
            None => after(samples[i].at, series.holds(i)),
        };
        out.push(Spell { from, to, begins: before.is_some(), ends: next.is_some() });
        i += 1;
    }
    out
}

/// Whether something is missing before a sample.
fn gap(series: &Series, index: usize) -> bool {
    let samples = series.samples();
    let apart = |i: usize| seconds(samples[index].at) - seconds(samples[i].at);
    index.checked_sub(1).is_some_and(|i| apart(i) > GAP_STEPS * series.step())
}
