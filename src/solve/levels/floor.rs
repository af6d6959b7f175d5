//! The normal distribution's lower tail, for readings of which only a floor is known.

use std::f64::consts::SQRT_2;

use crate::solve::{levels::logarithm::ln, lobe::exp_negative};

/// Φ(u) in three forms: its logarithm; λ = φ/Φ, the mean by which a standard normal variable that is known to lie below u
/// lies below zero; and λ(u + λ), the part of its variance that this knowledge takes away, between 0 and 1.
///
/// From Chebyshev's fit of erfc with a relative error below 1.2e-7 everywhere ([`crate::sources::PRESS1992`], 6.2), which
/// keeps its digits far out where erfc itself would underflow.
#[inline(always)]
pub fn below(u: f64) -> (f64, f64, f64) {
    const ROOT: f64 = 0.398_942_280_401_432_7; // 1/√(2π)
    let x = u.abs() / SQRT_2;
    let t = 1.0 / (1.0 + 0.5 * x);
    let fit = -1.265_512_23
        + t * (1.000_023_68
            + t * (0.374_091_96
                + t * (0.096_784_18
                    + t * (-0.186_288_06
                        + t * (0.278_868_07
                            + t * (-1.135_203_98
                                + t * (1.488_515_87 + t * (-0.822_152_23 + t * 0.170_872_77))))))));
    // ½ erfcx(x), so that Φ(−|u|) is this times e^(−u²/2).
    let scaled = 0.5 * t * exp_negative(fit);
    let bell = exp_negative(-0.5 * u * u);
    let above = (scaled * bell).min(0.5);
    // Without a branch, so that several can be evaluated at once.
    let weak = ln(scaled) - 0.5 * u * u;
    let strong = ln(1.0 - above);
    let (log, ratio) = if u < 0.0 { (weak, ROOT / scaled) } else { (strong, ROOT * bell / (1.0 - above)) };
    (log, ratio, (ratio * (u + ratio)).clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use statrs::distribution::{Continuous, ContinuousCDF, Normal};

    use super::*;

    /// Against statrs; far out against Mills' ratio, φ/Φ(−x) → x + 1/x − 2/x³.
    #[test]
    fn the_lower_tail_keeps_its_digits() {
        let normal = Normal::standard();
        for i in -80..=80 {
            let u = f64::from(i) * 0.1;
            let (log, ratio, taken) = below(u);
            let exact = normal.cdf(u);
            assert!((log - exact.ln()).abs() < 2e-7, "{u}: {log} {}", exact.ln());
            let lambda = normal.pdf(u) / exact;
            assert!((ratio / lambda - 1.0).abs() < 3e-7, "{u}");
            assert!((taken - lambda * (u + lambda)).abs() < 2e-5, "{u}: {taken}");
        }
        for u in [-20.0, -300.0] {
            let x: f64 = -u;
            // The next term of the series, 10/x⁵, and the fit's own error.
            assert!((below(u).1 - (x + 1.0 / x - 2.0 / x.powi(3))).abs() < 10.0 / x.powi(5) + 2e-7 * x);
        }
        assert_eq!(below(40.0), (0.0, 0.0, 0.0));
    }
}
