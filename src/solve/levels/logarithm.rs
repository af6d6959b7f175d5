//! Natural logarithms of several numbers side by side.

use crate::solve::{density::LANES, levels::packed::Lanes};

/// ln x for a positive normal number, relative error below 1e-14 away from 1 and absolute error below 1e-15 near it. Free of
/// branches, so that the compiler can evaluate several at once; zero and less, and what is not finite, give no meaning.
///
/// x = 2ᵏ m with m within √½ … √2; ln m = 2 artanh t, t = (m − 1)/(m + 1), by its series up to t¹⁷: with |t| < 0.1716 the first
/// term left out is below 3e-16.
#[inline(always)]
pub fn ln(x: f64) -> f64 {
    const SQRT_HALF: u64 = 0x3fe6_a09e_667f_3bcd;
    const MANTISSA: u64 = 0x000f_ffff_ffff_ffff;
    // Adding 2^52 + 2^51 to a small integer puts it into the low bits, and back.
    const SHIFT: u64 = 0x4338_0000_0000_0000;
    let offset = x.to_bits().wrapping_sub(SQRT_HALF);
    // An arithmetic shift of 64 bits is not in every vector unit: shift, then extend the sign by hand.
    let exponent = (offset >> 52) ^ 0x800;
    let k = f64::from_bits(SHIFT | exponent) - f64::from_bits(SHIFT | 0x800);
    let m = f64::from_bits((offset & MANTISSA).wrapping_add(SQRT_HALF));
    let t = (m - 1.0) / (m + 1.0);
    let s = t * t;
    let series = 1.0
        + s * (1.0 / 3.0
            + s * (1.0 / 5.0
                + s * (1.0 / 7.0
                    + s * (1.0 / 9.0 + s * (1.0 / 11.0 + s * (1.0 / 13.0 + s * (1.0 / 15.0 + s / 17.0)))))));
    k * std::f64::consts::LN_2 + 2.0 * t * series
}

/// The same of each lane.
#[inline(always)]
pub fn ln_lanes(x: &Lanes) -> Lanes {
    let mut out = [0.0; LANES];
    for l in 0..LANES {
        out[l] = ln(x[l]);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_logarithm_is_that_of_the_standard_library() {
        let mut x: f64 = 1e-300;
        while x < 1e300 {
            for y in [x, 1.0 + x.fract() * 1e-3, 1.0 - x.fract() * 1e-3] {
                let exact = y.ln();
                assert!((ln(y) - exact).abs() <= 1e-15 + 1e-14 * exact.abs(), "{y}: {} {exact}", ln(y));
            }
            x *= 1.37;
        }
        assert_eq!(ln(1.0), 0.0);
        assert_eq!(ln(f64::MIN_POSITIVE), f64::MIN_POSITIVE.ln());
    }
}
