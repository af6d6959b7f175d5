//! Quantiles and tail probabilities.

use statrs::distribution::{ChiSquared, ContinuousCDF, StudentsT};

/// Probability that a χ² variable of `freedom` degrees exceeds `x`; 1 for `x` ≤ 0, and 1 when `freedom` is not a
/// positive number.
pub fn chi_square_tail(x: f64, freedom: f64) -> f64 {
    ChiSquared::new(freedom).map_or(1.0, |d| d.sf(x.max(0.0)))
}

/// The half-axis of a two-dimensional normal distribution's ellipse of probability `p`, in standard deviations:
/// √(−2 ln(1 − p)), exact.
pub fn ellipse_scale(p: f64) -> f64 {
    (-2.0 * (-p).ln_1p()).sqrt()
}

/// The same when sigma was estimated from `freedom` residuals: √(2 F) with F the quantile of the F distribution of 2
/// and `freedom` degrees, (ν/2)((1 − p)^(−2/ν) − 1) in closed form.
pub fn ellipse_scale_estimated(p: f64, freedom: f64) -> f64 {
    (freedom * (-(2.0 / freedom) * (-p).ln_1p()).exp_m1()).sqrt()
}

/// Half-width that holds a share `p` of Student's t distribution with `freedom` degrees of freedom: 1.96 for 0.95 and many
/// degrees. `None` unless 0 < `p` < 1 and `freedom` is positive.
pub fn student_half_width(p: f64, freedom: f64) -> Option<f64> {
    let t = StudentsT::new(0.0, 1.0, freedom).ok()?;
    (p > 0.0 && p < 1.0).then(|| t.inverse_cdf(0.5 + 0.5 * p))
}

/// Probability that a variable of Student's t distribution with `freedom` degrees of freedom lies farther from zero than `x`, to
/// either side; 1 when `freedom` is not positive.
pub fn student_tails(x: f64, freedom: f64) -> f64 {
    StudentsT::new(0.0, 1.0, freedom).map_or(1.0, |t| 2.0 * t.cdf(-x.abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Digits from the closed form in 40-digit arithmetic (mpmath 1.4).
    #[test]
    fn the_ellipse_scale_has_its_known_values() {
        for (p, k) in [(0.5, 1.177_410_022_52), (0.9, 2.145_966_026_29), (0.95, 2.447_746_830_68)] {
            assert!((ellipse_scale(p) / k - 1.0).abs() < 1e-11, "{p}");
        }
    }

    /// √(2 F₂,ν(0.95)) for ν = 1, 2, 3, 5, 10, 30 (mpmath 1.4); the first three are also in any table of F.
    #[test]
    fn small_samples_widen_the_ellipse_as_the_table_of_f_says() {
        let table = [
            (1.0, 19.974_984_355),
            (2.0, 6.164_414_003),
            (3.0, 4.370_833_901_2),
            (5.0, 3.401_803_946),
            (10.0, 2.864_549_184_5),
            (30.0, 2.575_200_769_3),
        ];
        for (freedom, k) in table {
            assert!((ellipse_scale_estimated(0.95, freedom) / k - 1.0).abs() < 1e-9, "{freedom}");
        }
    }

    /// χ² with 2 degrees of freedom is exponential: the tail is exp(−x/2) exactly.
    #[test]
    fn the_tail_of_chi_square_with_two_degrees_is_exponential() {
        for x in [0.0, 0.5, 5.991_464_547_107_98, 30.0] {
            assert!((chi_square_tail(x, 2.0) / (-x / 2.0f64).exp() - 1.0).abs() < 1e-9, "{x}");
        }
        assert_eq!(chi_square_tail(3.0, 0.0), 1.0);
    }

    /// Table of Student's t, two-sided 95 %, in any handbook of statistics: 12.706, 3.182, 2.228, 2.042 for 1, 3, 10, 30
    /// degrees of freedom.
    #[test]
    fn students_t_has_the_values_of_its_table() {
        for (freedom, t) in [(1.0, 12.706), (3.0, 3.182), (10.0, 2.228), (30.0, 2.042)] {
            assert!((student_half_width(0.95, freedom).unwrap() - t).abs() < 6e-4, "{freedom}");
            assert!((student_tails(student_half_width(0.95, freedom).unwrap(), freedom) - 0.05).abs() < 1e-9);
        }
        assert_eq!(student_half_width(0.95, 0.0), None);
        assert_eq!(student_half_width(1.0, 3.0), None);
    }
}
