//! Samples of one receiver in order of time.

use std::{collections::BTreeMap, sync::Arc};

use jiff::Timestamp;

use crate::{finding::Finding, observe::Counter};

/// A value and when its interval began.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// When.
    pub at: Timestamp,
    /// Level or rise, dB.
    pub db: f64,
}

/// Samples of one receiver, each later than the one before.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    receiver: Option<Arc<str>>,
    samples: Vec<Sample>,
    step: f64,
}

impl Series {
    /// The receiver, when named.
    pub fn receiver(&self) -> Option<&str> {
        self.receiver.as_deref()
    }

    /// The samples; at least two.
    pub fn samples(&self) -> &[Sample] {
        &self.samples
    }

    /// The ordinary time from sample to sample, seconds: the median; positive.
    pub const fn step(&self) -> f64 {
        self.step
    }

    /// How long a sample holds, seconds: until the next, but no longer than the ordinary step.
    pub fn holds(&self, index: usize) -> f64 {
        let next = self
            .samples
            .get(index + 1)
            .map(|s| super::seconds(s.at) - super::seconds(self.samples[index].at));
        next.map_or(self.step, |gap| gap.min(self.step))
    }

    /// When the last sample ends.
    pub fn end(&self) -> Timestamp {
        super::after(self.samples[self.samples.len() - 1].at, self.step)
    }

    /// The samples whose whole interval lies within; `None` where these are fewer than two.
    pub fn within(&self, from: Option<Timestamp>, to: Option<Timestamp>) -> Option<Self> {
        let ends = |i: usize| super::after(self.samples[i].at, self.holds(i));
        let inside = |i: &usize| {
            from.is_none_or(|from| self.samples[*i].at >= from) && to.is_none_or(|to| ends(*i) <= to)
        };
        let samples: Vec<Sample> = (0..self.samples.len()).filter(inside).map(|i| self.samples[i]).collect();
        (samples.len() > 1).then(|| Self { receiver: self.receiver.clone(), samples, step: self.step })
    }

    /// From the first sample to the end of the last, in days.
    pub fn days(&self) -> f64 {
        (super::seconds(self.end()) - super::seconds(self.samples[0].at)) / 86_400.0
    }
}

/// The series of each receiver, in order of their names. Of several values of one receiver and moment the first counts.
pub fn series(counters: &[Counter]) -> (Vec<Series>, Vec<Finding>) {
    let mut all: BTreeMap<Option<Arc<str>>, Vec<Sample>> = BTreeMap::new();
    for counter in counters {
        all.entry(counter.receiver.clone()).or_default().push(Sample { at: counter.at, db: counter.db });
    }
    let (mut out, mut findings) = (Vec::new(), Vec::new());
    for (receiver, mut samples) in all {
        let name = receiver.as_deref().map_or_else(|| "the receiver".to_owned(), crate::finding::clipped);
        let before = samples.len();
        samples.sort_by_key(|s| s.at);
        samples.dedup_by_key(|s| s.at);
        if samples.len() < before {
            let message =
                format!("{name}: {} value(s) repeat a time: the first counts", before - samples.len());
            let hint = "are these two receivers? then give them a column of names";
            findings.push(Finding::doubtful("time-repeated", message).hint(hint));
        }
        let mut gaps: Vec<f64> =
            samples.windows(2).map(|w| super::seconds(w[1].at) - super::seconds(w[0].at)).collect();
        gaps.sort_by(f64::total_cmp);
        let Some(step) = gaps.get(gaps.len() / 2).copied() else {
            let message = format!("{name} has a single value: it is not used");
            findings.push(Finding::doubtful("one-value", message).hint("a log has many values over days"));
            continue;
        };
        out.push(Series { receiver, samples, step });
    }
    (out, findings)
}
