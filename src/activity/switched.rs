//! A suspect is switched off and on while the victim's monitor runs: does the level follow?

use crate::{
    activity::{Series, seconds},
    observe::Switch,
};

/// The level is tried this late after the switch at most, seconds: clocks by hand and averaging.
const LATEST: f64 = 120.0;

/// A single switch is judged over this time before and after it, seconds.
const AROUND: f64 = 300.0;

/// More shifts than this are thinned out evenly.
const MOST_SHIFTS: usize = 5_000;

/// Fewer shifts than this give no probability: even the best could not be rare.
const FEWEST_SHIFTS: usize = 19;

/// With a lesser correlation the level does not follow; with a greater one it does, if chance is excluded: common practice,
/// no source.
const UNLIKE: f64 = 0.2;
const LIKE: f64 = 0.5;
const LEVEL: f64 = 0.05;

/// Off, on, off: with fewer changes something else may have happened at the same moment.
const FEWEST_CHANGES: usize = 3;

/// What a test shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The level goes with the switch each time, and chance is excluded.
    Follows,
    /// It goes with the switch, but too few changes or too short a log do not exclude coincidence.
    CoincidenceNotExcluded,
    /// It does not go with the switch.
    DoesNotFollow,
    /// Neither.
    Unclear,
}

/// A test by switching.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Switched {
    /// Changes of state.
    pub changes: usize,
    /// Those after which the level changed as it should by at least half of what it does on the whole.
    pub matched: usize,
    /// How much later than the switch the level changes, seconds; negative where it is earlier.
    pub lag: f64,
    /// Samples compared.
    pub samples: usize,
    /// Point-biserial correlation between the switch and the level, at that lag.
    pub r: f64,
    /// Share of shifted times that agree as well; `None` where the log is too short to shift them.
    pub p: Option<f64>,
    /// Shifted times that were tried.
    pub shifts: usize,
    /// Mean level while on, dB.
    pub on: f64,
    /// Mean level while off, dB.
    pub off: f64,
    /// The level that a twentieth of the whole log stays below, dB: what is left when everything is off.
    pub quiet: f64,
    /// What follows.
    pub verdict: Verdict,
}

/// Why there is no test.
pub type Refusal = (&'static str, String, &'static str);

/// Compares the monitor with the times of the switch.
///
/// The lag is the one with the greatest correlation, from two minutes early to two minutes late but at most half of the usual
/// time between changes. For the probability the same times are laid over other parts of the log, where nobody switched, with
/// the same search for the best lag: how often does chance agree as well? Shifts keep what is alike from sample to sample,
/// which permuting samples would destroy ([`crate::sources::GOOD2005`]).
pub fn switched(series: &Series, switches: &[Switch]) -> Result<Switched, Refusal> {
    let test = Test::of(series, switches)?;
    let (lag, best) = test.best(0.0).ok_or((
        "switch-outside",
        "the monitor's log has no two levels to compare at the times of the switch".to_owned(),
        "are the times of both in UTC, and of the same day?",
    ))?;
    let shifts = test.shifts();
    let as_good = shifts.iter().filter_map(|s| test.best(*s)).filter(|(_, b)| b.r >= best.r - 1e-12).count();
    let p = (shifts.len() >= FEWEST_SHIFTS).then(|| (1 + as_good) as f64 / (1 + shifts.len()) as f64);
    let matched = test.matched(lag, 0.5 * (best.on - best.off));
    let changes = test.times.len();
    let verdict = match p {
        _ if best.r < UNLIKE => Verdict::DoesNotFollow,
        // Whatever the numbers say: something else may have happened at the same moment.
        _ if changes < FEWEST_CHANGES => Verdict::CoincidenceNotExcluded,
        None if best.r >= LIKE => Verdict::CoincidenceNotExcluded,
        Some(p) if best.r >= LIKE && p <= LEVEL && matched == changes => Verdict::Follows,
        _ => Verdict::Unclear,
    };
    let quiet = test.quiet();
    let Best { r, on, off, samples } = best;
    Ok(Switched { changes, matched, lag, samples, r, p, shifts: shifts.len(), on, off, quiet, verdict })
}

/// Times of change over a log with running sums.
struct Test {
    at: Vec<f64>,
    db: Vec<f64>,
    /// Sums of levels and of their squares before each sample, less the mean.
    sums: Vec<(f64, f64)>,
    mean: f64,
    step: f64,
    /// Times of change, and whether it was on after the first.
    times: Vec<f64>,
    first_on: bool,
    margin: f64,
}

#[derive(Clone, Copy)]
struct Best {
    r: f64,
    on: f64,
    off: f64,
    samples: usize,
}

impl Test {
    fn of(series: &Series, switches: &[Switch]) -> Result<Self, Refusal> {
        let mut ordered: Vec<&Switch> = switches.iter().collect();
        ordered.sort_by_key(|s| s.at);
        ordered.dedup_by_key(|s| s.on);
        let first_on = ordered.first().map(|s| s.on).ok_or((
            "no-switch",
            "no switching can be used".to_owned(),
            "write one row for each change: time_utc, state",
        ))?;
        let times: Vec<f64> = ordered.iter().map(|s| seconds(s.at)).collect();
        let mut apart: Vec<f64> = times.windows(2).map(|w| w[1] - w[0]).collect();
        apart.sort_by(f64::total_cmp);
        let step = series.step();
        if let Some(least) = apart.first().filter(|a| **a < 2.0 * step) {
            let message =
                format!("two changes lie {least:.0} s apart, and the monitor has a value every {step:.0} s");
            return Err(("switch-undersampled", message, "leave each state for three values at least"));
        }
        let margin = apart.get(apart.len() / 2).copied().unwrap_or(AROUND.max(3.0 * step));
        let at: Vec<f64> = series.samples().iter().map(|s| seconds(s.at)).collect();
        let db: Vec<f64> = series.samples().iter().map(|s| s.db).collect();
        let mean = db.iter().sum::<f64>() / db.len() as f64;
        let mut sums = vec![(0.0, 0.0)];
        for value in &db {
            let (a, b) = sums[sums.len() - 1];
            sums.push((a + value - mean, b + (value - mean) * (value - mean)));
        }
        Ok(Self { at, db, sums, mean, step, times, first_on, margin })
    }

    fn begin(&self) -> f64 {
        self.times[0] - self.margin
    }

    fn end(&self) -> f64 {
        self.times[self.times.len() - 1] + self.margin
    }

    /// Lags to try: whole steps.
    fn lags(&self) -> impl Iterator<Item = f64> + '_ {
        let most = (LATEST.min(0.5 * self.margin) / self.step).floor().min(1_000.0) as i32;
        (-most..=most).map(|k| f64::from(k) * self.step)
    }

    /// The lag with the greatest correlation, of the times shifted by `shift`; of equals the one nearest to none.
    fn best(&self, shift: f64) -> Option<(f64, Best)> {
        let mut out: Option<(f64, Best)> = None;
        for lag in self.lags() {
            let Some(found) = self.compared(shift + lag) else { continue };
            let better =
                |(l, b): &(f64, Best)| found.r > b.r + 1e-12 || found.r > b.r - 1e-12 && lag.abs() < l.abs();
            if out.as_ref().is_none_or(better) {
                out = Some((lag, found));
            }
        }
        out
    }

    /// Spans of samples between the changes, with their state.
    fn spans(&self, shift: f64) -> Vec<(usize, usize, bool)> {
        let index = |time: f64| self.at.partition_point(|t| *t < time + shift);
        let edges: Vec<usize> = std::iter::once(self.begin())
            .chain(self.times.iter().copied())
            .chain(std::iter::once(self.end()))
            .map(index)
            .collect();
        edges.windows(2).enumerate().map(|(i, w)| (w[0], w[1], (i % 2 == 1) == self.first_on)).collect()
    }

    /// Point-biserial correlation; `None` where a state has no sample or the level never changes.
    fn compared(&self, shift: f64) -> Option<Best> {
        let (mut n, mut sum, mut squares) = ([0.0; 2], [0.0; 2], 0.0);
        for (from, to, on) in self.spans(shift) {
            n[usize::from(on)] += (to - from) as f64;
            sum[usize::from(on)] += self.sums[to].0 - self.sums[from].0;
            squares += self.sums[to].1 - self.sums[from].1;
        }
        let total = n[0] + n[1];
        let mean = (sum[0] + sum[1]) / total;
        let variance = squares / total - mean * mean;
        if n[0] < 2.0 || n[1] < 2.0 || variance <= 1e-9 {
            return None;
        }
        let (off, on) = (sum[0] / n[0], sum[1] / n[1]);
        let r = (on - off) * (n[0] * n[1]).sqrt() / (total * variance.sqrt());
        Some(Best { r, on: on + self.mean, off: off + self.mean, samples: total as usize })
    }

    /// Shifts that lay the whole test over another part of the log, clear of where it was.
    fn shifts(&self) -> Vec<f64> {
        let (begin, end) = (self.begin() - LATEST, self.end() + LATEST);
        let Some((first, last)) = self.at.first().zip(self.at.last()) else { return Vec::new() };
        let early = ((begin - first) / self.step).floor().max(0.0) as usize;
        let late = ((last - end) / self.step).floor().max(0.0) as usize;
        let clear = ((end - begin) / self.step).ceil() as usize;
        let all = early.saturating_sub(clear) + late.saturating_sub(clear);
        let thin = all.div_ceil(MOST_SHIFTS).max(1);
        let steps = |most: usize| (clear + 1..=most).step_by(thin).map(|k| k as f64 * self.step);
        steps(early).map(|s| -s).chain(steps(late)).collect()
    }

    /// Changes after which the mean level changes the right way by at least so much.
    fn matched(&self, lag: f64, least: f64) -> usize {
        let means: Vec<Option<(f64, bool)>> = self
            .spans(lag)
            .into_iter()
            .map(|(from, to, on)| {
                let sum = self.sums[to].0 - self.sums[from].0;
                (to > from).then(|| (sum / (to - from) as f64, on))
            })
            .collect();
        let right = |w: &&[Option<(f64, bool)>]| match (w[0], w[1]) {
            (Some((a, _)), Some((b, on))) => (if on { b - a } else { a - b }) >= least,
            _ => false,
        };
        means.windows(2).filter(right).count()
    }

    fn quiet(&self) -> f64 {
        let mut all = self.db.clone();
        all.sort_by(f64::total_cmp);
        all[all.len() / 20]
    }
}
