//! How well each offset of a clock explains the data, and whether one of them stands out.

/// Offsets are looked at in steps of a second, up to ten minutes either way: clocks that people set by hand. What is off
/// by hours is another zone, and looked for apart. Common practice, no source.
pub const STEP_S: f64 = 1.0;
pub const REACH_S: f64 = 600.0;

/// Worse than this an offset is not told: on foot it is four metres, the error of a satellite receiver.
pub const WORST_SIGMA_S: f64 = 3.0;

/// The offset that a set of data tells, whether or not it is of use.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// Seconds to add to the log's times.
    pub seconds: f64,
    /// One standard deviation, other peaks of the likelihood included.
    pub sigma: f64,
    /// Whether the best offset lies at the end of those looked at.
    pub at_end: bool,
}

impl Estimate {
    /// Whether it can be used: one peak, narrow, within what was looked at.
    pub fn settled(&self) -> bool {
        !self.at_end && self.sigma <= WORST_SIGMA_S
    }

    /// Whether an offset differs from this one by more than three standard deviations and two seconds.
    pub fn excludes(&self, seconds: f64) -> bool {
        (self.seconds - seconds).abs() > (3.0 * self.sigma).max(2.0)
    }
}

/// The offsets looked at, around one.
pub fn offsets(around: f64) -> impl Iterator<Item = f64> {
    let half = (REACH_S / STEP_S) as i32;
    (-half..=half).map(move |i| around + STEP_S * f64::from(i))
}

/// Mean and standard deviation over the offsets, all alike before the data, from (offset, log-likelihood). The spread
/// covers every peak, so that a second one a minute away makes the estimate useless, as it should. The step of the
/// offsets and the whole seconds of most logs add the deviation of a uniform error, 1/√12 s each.
pub fn estimate(profile: &[(f64, f64)]) -> Option<Estimate> {
    let best = profile.iter().max_by(|a, b| a.1.total_cmp(&b.1)).filter(|b| b.1.is_finite())?;
    let weights: Vec<(f64, f64)> = profile.iter().map(|(o, log)| (*o, (log - best.1).exp())).collect();
    let total: f64 = weights.iter().map(|w| w.1).sum();
    let seconds = weights.iter().map(|(o, w)| o * w).sum::<f64>() / total;
    let variance = weights.iter().map(|(o, w)| (o - seconds).powi(2) * w).sum::<f64>() / total;
    let sigma = (variance + STEP_S * STEP_S / 12.0 + 1.0 / 12.0).sqrt();
    let ends = [profile.first()?.0, profile.last()?.0];
    let at_end = ends.iter().any(|end| (end - best.0).abs() <= 3.0 * sigma);
    Some(Estimate { seconds, sigma, at_end })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A normal likelihood gives back its mean and its deviation; 1/12 + 1/12 s² belong to step and seconds.
    #[test]
    fn a_normal_peak_gives_its_mean_and_deviation() {
        let peak = |o: f64| (o, -0.5 * ((o - 37.3) / 1.5f64).powi(2));
        let found = estimate(&offsets(0.0).map(peak).collect::<Vec<_>>()).unwrap();
        // The sum over whole seconds of a normal density of 1.5 s is its integral to exp(−2π²·1.5²), 1e-19.
        assert!((found.seconds - 37.3).abs() < 1e-9, "{found:?}");
        assert!((found.sigma - (1.5f64 * 1.5 + 1.0 / 6.0).sqrt()).abs() < 1e-9, "{found:?}");
        assert!(found.settled() && found.excludes(0.0) && !found.excludes(36.0));
    }

    #[test]
    fn two_peaks_or_one_at_the_end_settle_nothing() {
        let peak = |o: f64, at: f64, height: f64| height * (-0.5 * (o - at).powi(2)).exp();
        let two = |o: f64| (o, (peak(o, 0.0, 1.0) + peak(o, 60.0, 0.02) + 1e-300).ln());
        let found = estimate(&offsets(0.0).map(two).collect::<Vec<_>>()).unwrap();
        // A fiftieth of the mass 60 s away: 60·√(0.02·0.98/1.02²…) is more than eight seconds.
        assert!(found.sigma > 8.0 && !found.settled(), "{found:?}");
        let end = |o: f64| (o, -0.5 * (o - 599.0f64).powi(2));
        let found = estimate(&offsets(0.0).map(end).collect::<Vec<_>>()).unwrap();
        assert!(found.at_end && !found.settled(), "{found:?}");
        assert!(!estimate(&offsets(0.0).map(|o| (o, 0.0)).collect::<Vec<_>>()).unwrap().settled());
        assert_eq!(estimate(&[]), None);
    }
}
