//! The logarithm of several numbers side by side.

use std::f64::consts::{LN_2, SQRT_2};

/// How many readings are evaluated side by side.
pub const LANES: usize = 8;

/// One figure for each of the readings side by side.
pub type Lanes = [f64; LANES];

/// Natural logarithm of each lane. Each must be a normal positive number; for others the result is meaningless, but there is
/// one. With x = 2ᵉ m and √½ ≤ m < √2, ln m = 2 artanh s with s = (m − 1)/(m + 1), |s| ≤ 0.1716, by the first twelve terms of
/// its power series, of which the next is below 1e-19. No branches, so that the compiler takes several lanes at once.
#[inline(always)]
pub fn ln(x: &Lanes) -> Lanes {
    let mut out = [0.0; LANES];
    for l in 0..LANES {
        let bits = x[l].to_bits();
        let mantissa = f64::from_bits((bits & 0x000f_ffff_ffff_ffff) | 0x3ff0_0000_0000_0000);
        // The exponent as the low digits of 2⁵² + exponent: there is no conversion of integers to take lanes at once with.
        let exponent =
            f64::from_bits((bits >> 52) | 0x4330_0000_0000_0000) - 4_503_599_627_370_496.0 - 1023.0;
        let high = if mantissa > SQRT_2 { 1.0 } else { 0.0 };
        let m = mantissa * (1.0 - 0.5 * high);
        let s = (m - 1.0) / (m + 1.0);
        let z = s * s;
        // Two half-length chains in z² run side by side.
        let y = z * z;
        let even = 1.0 + y * (1.0 / 5.0 + y * (1.0 / 9.0 + y * (1.0 / 13.0 + y * (1.0 / 17.0 + y / 21.0))));
        let odd =
            1.0 / 3.0 + y * (1.0 / 7.0 + y * (1.0 / 11.0 + y * (1.0 / 15.0 + y * (1.0 / 19.0 + y / 23.0))));
        out[l] = (exponent + high) * LN_2 + 2.0 * s * (even + z * odd);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the standard library's function, over all sizes that squares of distances can have.
    #[test]
    fn the_logarithm_agrees_with_the_standard_library() {
        let mut worst: f64 = 0.0;
        for i in 0..400_000 {
            let x = 1e-12 * 1.000_17f64.powi(i);
            if x > 1e16 {
                break;
            }
            let found = ln(&[x; LANES])[LANES - 1];
            worst = worst.max((found - x.ln()).abs() / x.ln().abs().max(1.0));
        }
        assert!(worst <= 2.0 * f64::EPSILON, "{worst:e}");
        assert_eq!(ln(&[1.0; LANES]), [0.0; LANES]);
    }

    #[test]
    fn lanes_do_not_mix() {
        let x: Lanes = std::array::from_fn(|l| 0.7 + 3.0 * l as f64);
        let found = ln(&x);
        for l in 0..LANES {
            assert!((found[l] - x[l].ln()).abs() < 1e-15);
        }
    }
}
