//! How alike the shadowing is at two places.

use crate::units::Metres;

/// Correlation of shadowing over the distance δ of two readings, (1 − ν) exp(−δ/D): 1 for a reading with itself
/// ([`crate::sources::GUDMUNDSON1991`], who has ν = 0).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ShadowCorrelation {
    decorrelation: Metres,
    own: f64,
}

impl ShadowCorrelation {
    /// From the distance D over which the shared part falls to 1/e and the part ν of the variance that is each reading's
    /// own, such as fast fading. `None` unless D is finite and positive and ν lies in 0 to 1.
    pub fn new(decorrelation: Metres, own: f64) -> Option<Self> {
        let d = decorrelation.value();
        (d.is_finite() && d > 0.0 && (0.0..=1.0).contains(&own)).then_some(Self { decorrelation, own })
    }

    /// From a correlation that was measured at one distance, with no part of its own: D = −δ/ln ρ. `None` unless the
    /// correlation lies strictly between 0 and 1 and the distance is finite and positive.
    pub fn of_measured(correlation: f64, apart: Metres) -> Option<Self> {
        if !(correlation > 0.0 && correlation < 1.0) {
            return None;
        }
        Self::new(Metres::new(-apart.value() / correlation.ln()), 0.0)
    }

    /// Distance over which the shared part falls to 1/e.
    pub const fn decorrelation(self) -> Metres {
        self.decorrelation
    }

    /// Part of the variance that is each reading's own.
    pub const fn own(self) -> f64 {
        self.own
    }

    /// Correlation of two different readings `apart` from each other; at no distance, 1 − ν.
    pub fn between(self, apart: Metres) -> f64 {
        (1.0 - self.own) * (-apart.value() / self.decorrelation.value()).exp()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// READ in a text on signal processing that quotes Gudmundson: suburbs at 900 MHz, 0.82 over 100 m. From memory: streets
    /// at 1.7 GHz, 0.3 over 10 m. D computed with Python: 503.90288 m and 8.3058355 m, to half a unit of the last digit.
    #[test]
    fn the_distances_of_the_source_follow_from_its_correlations() {
        for (correlation, apart, distance, digit) in
            [(0.82, 100.0, 503.902_88, 5e-6), (0.3, 10.0, 8.305_835_5, 5e-8)]
        {
            let found = ShadowCorrelation::of_measured(correlation, Metres::new(apart)).unwrap();
            assert!((found.decorrelation().value() - distance).abs() <= digit, "{found:?}");
            // Back again, and squared at twice the distance.
            assert!((found.between(Metres::new(apart)) - correlation).abs() < 1e-15);
            assert!((found.between(Metres::new(2.0 * apart)) - correlation * correlation).abs() < 1e-15);
        }
    }

    #[test]
    fn what_is_no_correlation_is_refused() {
        for wrong in [0.0, 1.0, -0.2, f64::NAN] {
            assert_eq!(ShadowCorrelation::of_measured(wrong, Metres::new(10.0)), None);
        }
        for (d, own) in [(0.0, 0.1), (f64::INFINITY, 0.1), (30.0, -0.1), (30.0, 1.1), (30.0, f64::NAN)] {
            assert_eq!(ShadowCorrelation::new(Metres::new(d), own), None);
        }
        let half = ShadowCorrelation::new(Metres::new(30.0), 0.5).unwrap();
        assert!((half.between(Metres::new(0.0)) - 0.5).abs() < 1e-15);
    }
}
