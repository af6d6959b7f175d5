//! Off and on: two groups of levels, and a threshold between them that does not flutter.

/// Levels are put into bins of this width, dB; their number is bounded whatever a file holds.
const BIN: f64 = 0.1;

/// The groups' middles lie at least so many decibels apart (the power doubles), and so many times their own spread: common
/// practice, no source.
const APART_DB: f64 = 3.0;
const APART_SPREADS: f64 = 4.0;

/// A level is on above the middle plus this share of the gap, and off below the middle less as much: common practice, no
/// source.
const HYSTERESIS: f64 = 0.1;

/// Standard deviations of a normal distribution per median absolute deviation.
const PER_MAD: f64 = 1.482_602_218_505_602;

/// The two levels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoLevels {
    /// Median of the lower group, dB.
    pub off: f64,
    /// Median of the upper group, dB.
    pub on: f64,
    /// Where the two groups part, dB.
    pub split: f64,
    /// Spread of the two together, dB.
    pub spread: f64,
    /// What rises above this is on, dB.
    pub rises_above: f64,
    /// What falls below this is off, dB.
    pub falls_below: f64,
}

/// Parts levels where the two groups' own variance is least ([`crate::sources::OTSU1979`]); their medians are off and on, and
/// the threshold is the middle with a hysteresis of a tenth of the gap either way. `None` where the groups are less than 3 dB
/// or four of their own spreads apart: then there is one level.
pub fn two_levels(values: impl Iterator<Item = f64>) -> Option<TwoLevels> {
    let mut bins = std::collections::BTreeMap::<i32, f64>::new();
    for value in values.filter(|v| v.abs() <= 1_000.0) {
        *bins.entry((value / BIN).round() as i32).or_default() += 1.0;
    }
    let bins: Vec<(f64, f64)> = bins.into_iter().map(|(bin, count)| (f64::from(bin) * BIN, count)).collect();
    let at = split(&bins)?;
    let (low, high) = bins.split_at(at);
    let (off, on) = (median(low)?, median(high)?);
    let (a, b) = (mad(low, off)?, mad(high, on)?);
    let spread = PER_MAD * (0.5 * (a * a + b * b)).sqrt();
    let gap = on - off;
    let middle = 0.5 * (on + off);
    let apart = gap >= APART_DB && gap >= APART_SPREADS * spread;
    apart.then_some(TwoLevels {
        off,
        on,
        split: 0.5 * (low[at - 1].0 + high[0].0),
        spread,
        rises_above: middle + HYSTERESIS * gap,
        falls_below: middle - HYSTERESIS * gap,
    })
}

/// Number of bins of the lower group where the variance between the groups is greatest.
fn split(bins: &[(f64, f64)]) -> Option<usize> {
    let total: f64 = bins.iter().map(|b| b.1).sum();
    let sum: f64 = bins.iter().map(|b| b.0 * b.1).sum();
    let (mut weight, mut part) = (0.0, 0.0);
    let mut best: Option<(usize, f64)> = None;
    for (i, (value, count)) in bins.iter().enumerate().take(bins.len().saturating_sub(1)) {
        weight += count;
        part += value * count;
        let apart = part / weight - (sum - part) / (total - weight);
        let between = weight * (total - weight) * apart * apart;
        if best.is_none_or(|(_, b)| between > b) {
            best = Some((i + 1, between));
        }
    }
    best.map(|(at, _)| at)
}

/// The value in the middle of weighted ones that ascend.
fn median(bins: &[(f64, f64)]) -> Option<f64> {
    let half = 0.5 * bins.iter().map(|b| b.1).sum::<f64>();
    let mut so_far = 0.0;
    bins.iter()
        .find(|(_, count)| {
            so_far += count;
            so_far >= half
        })
        .map(|b| b.0)
}

fn mad(bins: &[(f64, f64)], middle: f64) -> Option<f64> {
    let mut misses: Vec<(f64, f64)> = bins.iter().map(|(v, c)| ((v - middle).abs(), *c)).collect();
    misses.sort_by(|a, b| a.0.total_cmp(&b.0));
    median(&misses)
}
