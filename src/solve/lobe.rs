//! The density of a bearing's miss on the circle: a von Mises lobe whose width grows as the emitter comes
//! near the stand.

use std::f64::consts::TAU;

use crate::solve::wide::Real;

/// Concentration of the von Mises lobe whose circular variance is that of a normal error of variance
/// `v` (radians squared) wrapped on the circle: A(κ) = exp(−v/2).
///
/// Within 0.1 % of the exact solution for v < 0.1 (σ < 18°), 11 % at σ = 60°, and it vanishes as v grows,
/// so that a bearing taken within metres of the emitter says nothing about direction.
#[inline(always)]
pub fn concentration<R: Real>(v: R) -> R {
    (v * 0.5 + 1.0) / (v * (v * 0.05 * v * v + 1.0))
}

/// Square of the peak density of a von Mises lobe, (2π e^{−κ} I₀(κ))⁻², as a rational function of κ fitted to
/// 0.4 % over all κ ≥ 0, with the right limits at both ends: 1/(4π²) for κ = 0 and (κ − ¼ − 3/(32κ))/2π for
/// large κ.
#[inline(always)]
pub fn peak_squared<R: Real>(k: R) -> R {
    const A0: f64 = 0.25 + 1.0 / TAU;
    const A1: f64 = -0.389_287_66;
    const B1: f64 = 0.769_466_59;
    const B2: f64 = 0.083_231_89;
    const B3: f64 = 0.688_532_27;
    let above = k * (k.same(A1) - k * (3.0 / 32.0 * B3)) + A0;
    let below = k * (k * (k * B3 + B2) + B1) + 1.0;
    (k - 0.25 + above / below) / k.same(TAU)
}

/// e^y for y ≤ 0, relative error below 3e-10; zero below −700.
#[inline(always)]
pub fn exp_negative<R: Real>(y: R) -> R {
    const SHIFT: f64 = 6_755_399_441_055_744.0; // 1.5 · 2^52: adding it rounds to an integer in the low bits
    const LOG2E: f64 = std::f64::consts::LOG2_E;
    const LN2_HIGH: f64 = 6.931_471_803_691_238e-1;
    const LN2_LOW: f64 = 1.908_214_929_270_588e-10;
    let clamped = y.greater(y.same(-700.0));
    let shifted = clamped * LOG2E + SHIFT;
    let n = shifted - SHIFT;
    let r = (clamped - n * LN2_HIGH) - n * LN2_LOW;
    // Taylor polynomial of degree 8 on |r| <= ln(2)/2: the first term left out, r^9/9!, is 2e-10.
    let mut p = r * (1.0 / 40320.0) + 1.0 / 5040.0;
    for term in [1.0 / 720.0, 1.0 / 120.0, 1.0 / 24.0, 1.0 / 6.0, 0.5, 1.0, 1.0] {
        p = r * p + term;
    }
    y.at_least(y.same(-700.0), p * shifted.power_of_two(), y.same(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_exponential_agrees_with_the_standard_library() {
        let mut worst: f64 = 0.0;
        for i in 0..=70_000 {
            let y = -f64::from(i) * 0.0099;
            worst = worst.max((exp_negative(y) / y.exp() - 1.0).abs());
        }
        // The first term left out of the polynomial, (ln 2 / 2)^9 / 9!, over the least value, 2^(-1/2): 2.83e-10.
        assert!(worst < 2.9e-10, "{worst}");
        assert_eq!(exp_negative(-800.0), 0.0);
        assert_eq!(exp_negative(f64::NEG_INFINITY), 0.0);
    }

    /// Integral over the circle of the lobe with this peak must be 1; trapezoid on a periodic function.
    #[test]
    fn the_lobe_integrates_to_one() {
        for v in [1e-4, 1e-3, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 30.0] {
            let k = concentration(v);
            let n = 100_000;
            let sum: f64 =
                (0..n).map(|i| exp_negative(k * ((TAU * f64::from(i) / f64::from(n)).cos() - 1.0))).sum();
            let integral = sum * TAU / f64::from(n) * peak_squared(k).sqrt();
            assert!((integral - 1.0).abs() < 4.5e-3, "v {v}: {integral}");
        }
    }

    /// Circular variance of a wrapped normal: 1 − exp(−v/2) (Mardia and Jupp, Directional Statistics, 2000, 3.5.9).
    #[test]
    fn the_lobe_has_the_circular_variance_of_the_normal_error() {
        for v in [1e-3, 0.01, 0.03, 0.1] {
            let k = concentration(v);
            let n = 100_000;
            let (mut sum, mut resultant) = (0.0, 0.0);
            for i in 0..n {
                let c = (TAU * f64::from(i) / f64::from(n)).cos();
                let f = exp_negative(k * (c - 1.0));
                sum += f;
                resultant += f * c;
            }
            let variance = 1.0 - resultant / sum;
            assert!((variance / (1.0 - (-v / 2.0f64).exp()) - 1.0).abs() < 3e-3, "v {v}");
        }
    }
}
