//! A share of trials with the interval that chance leaves it.

/// So many of so many.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Share {
    /// How many it happened in.
    pub hits: u32,
    /// Of how many.
    pub of: u32,
}

/// Half-width that holds 95 % of the normal distribution.
const Z: f64 = 1.959_963_984_540_054;

impl Share {
    /// Counts one more trial.
    pub fn count(&mut self, hit: bool) {
        self.hits += u32::from(hit);
        self.of += 1;
    }

    /// The share; `None` without any trial.
    pub fn value(self) -> Option<f64> {
        (self.of > 0).then(|| f64::from(self.hits) / f64::from(self.of))
    }

    /// The interval of 95 % by Wilson's score ([`crate::sources::WILSON1927`]), which keeps within 0 and 1 and holds at shares
    /// near either; `None` without any trial.
    pub fn interval(self) -> Option<(f64, f64)> {
        let (p, n, z2) = (self.value()?, f64::from(self.of), Z * Z);
        let middle = (p + 0.5 * z2 / n) / (1.0 + z2 / n);
        let half = Z * (p * (1.0 - p) / n + 0.25 * z2 / (n * n)).sqrt() / (1.0 + z2 / n);
        // At the ends the bound is exact: rounding must not leave a hair.
        let low = if self.hits == 0 { 0.0 } else { middle - half };
        let high = if self.hits == self.of { 1.0 } else { middle + half };
        Some((low, high))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Digits of scipy 1.17.1, `binomtest(k, n).proportion_ci(method="wilson")`.
    #[test]
    fn the_interval_is_that_of_a_reference_library() {
        for (hits, of, low, high) in [
            (0, 10, 0.0, 0.277_532_799_862_889_26),
            (10, 10, 0.722_467_200_137_110_7, 1.0),
            (95, 100, 0.888_249_530_768_080_9, 0.978_456_320_845_632),
            (81, 263, 0.255_288_519_878_274_2, 0.366_209_576_982_800_04),
            (15, 148, 0.062_386_399_530_736_29, 0.160_487_241_723_308_03),
            (1, 500, 0.000_353_136_394_559_274_56, 0.011_240_706_705_146_757),
        ] {
            let (a, b) = Share { hits, of }.interval().unwrap();
            assert!((a - low).abs() < 1e-14 && (b - high).abs() < 1e-14, "{hits} of {of}: {a} {b}");
        }
    }

    #[test]
    fn nothing_tried_is_no_share() {
        assert_eq!((Share::default().value(), Share::default().interval()), (None, None));
        let mut share = Share::default();
        share.count(true);
        share.count(false);
        assert_eq!(share.value(), Some(0.5));
    }
}
