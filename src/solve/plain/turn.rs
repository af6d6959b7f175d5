//! The angle of a direction, several at once.

use std::f64::consts::{FRAC_PI_8, PI};

use super::blocks::{LANES, Lanes};

/// Coefficients of (arctan(t)/t − 1)/t² as a polynomial in t², interpolated at the Chebyshev points of 0 ≤ t² ≤ 1/16 with
/// 40 digits (mpmath 1.4.1): arctan to a relative 1.8e-17 before rounding.
const ARCTAN: [f64; 8] = [
    -0.333_333_333_333_333_03,
    0.199_999_999_999_385_87,
    -0.142_857_142_650_333_02,
    0.111_111_084_523_690_65,
    -0.090_907_407_429_527_62,
    0.076_864_913_361_720_22,
    -0.065_543_062_721_287_51,
    0.047_262_582_468_376_94,
];

/// Tangents of odd sixteenths of a half-turn: halfway between the directions from which a wide miss is measured.
const BETWEEN: [f64; 4] =
    [0.198_912_367_379_658, 0.668_178_637_919_298_9, 1.496_605_762_665_489, 5.027_339_492_125_847];

/// Sines of 0 to 4 eighths of a half-turn, from which a wide miss is measured.
const SINES: [f64; 5] =
    [0.0, 0.382_683_432_365_089_8, std::f64::consts::FRAC_1_SQRT_2, 0.923_879_532_511_286_7, 1.0];

/// atan2(`across`, `along`) of each lane, in [−π, π], to two units in the last place. Misses are small as a rule; a block that
/// holds one beyond 14° measures each lane from the nearest eighth of a half-turn. No lane depends on another.
#[inline(always)]
pub fn turns(across: &Lanes, along: &Lanes) -> Lanes {
    let mut tangent = [0.0; LANES];
    let mut narrow = true;
    for l in 0..LANES {
        tangent[l] = across[l] / along[l];
        narrow &= across[l].abs() <= 0.25 * along[l];
    }
    if narrow { tangent.map(arctan) } else { all_around(across, along) }
}

/// Of a tangent up to a quarter.
#[inline(always)]
fn arctan(t: f64) -> f64 {
    let z = t * t;
    // Two half-length chains in z² run side by side.
    let y = z * z;
    let even = ARCTAN[0] + y * (ARCTAN[2] + y * (ARCTAN[4] + y * ARCTAN[6]));
    let odd = ARCTAN[1] + y * (ARCTAN[3] + y * (ARCTAN[5] + y * ARCTAN[7]));
    t + t * z * (even + z * odd)
}

/// All lanes, without branches. A lane below the first bound is measured from zero, so that it comes out as in a block of
/// small misses.
#[inline(never)]
fn all_around(across: &Lanes, along: &Lanes) -> Lanes {
    let mut out = [0.0; LANES];
    for l in 0..LANES {
        let (a, b) = (across[l].abs(), along[l].abs());
        let (mut sin, mut cos, mut from) = (SINES[0], SINES[4], 0.0);
        for (k, bound) in BETWEEN.iter().enumerate() {
            let beyond = a > bound * b;
            sin = if beyond { SINES[k + 1] } else { sin };
            cos = if beyond { SINES[3 - k] } else { cos };
            from = if beyond { (k + 1) as f64 * FRAC_PI_8 } else { from };
        }
        let acute = from + arctan((a * cos - b * sin) / (b * cos + a * sin));
        let turn = if along[l] < 0.0 { PI - acute } else { acute };
        out[l] = turn.copysign(across[l]);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the standard library's function.
    #[test]
    fn the_arctangent_agrees_with_the_standard_library_all_around_the_circle() {
        let mut worst: f64 = 0.0;
        for i in -36_000..=36_000 {
            let angle = f64::from(i) * PI / 36_000.0;
            let (s, c) = (1e3 * angle.sin(), 1e3 * angle.cos());
            let exact = s.atan2(c);
            let found = turns(&[s; LANES], &[c; LANES])[LANES - 1];
            worst = worst.max((found - exact).abs() / exact.abs().max(f64::MIN_POSITIVE));
        }
        assert!(worst <= 2.0 * f64::EPSILON, "{worst:e}");
    }

    #[test]
    fn one_wide_miss_leaves_its_neighbours_as_they_are() {
        let (mut across, along) = ([0.01; LANES], [1.0; LANES]);
        let alone = turns(&across, &along);
        across[1] = -3.0;
        let beside = turns(&across, &along);
        assert_eq!(beside[0], alone[0]);
        assert!((beside[1] - f64::atan2(-3.0, 1.0)).abs() < 4e-16);
    }

    #[test]
    fn the_axes_come_out_exactly() {
        for (s, c) in
            [(0.0, 1.0), (1.0, 0.0), (-1.0, 0.0), (0.0, -1.0), (-0.0, -1.0), (-0.0, 1.0), (1.0, 1.0)]
        {
            assert_eq!(turns(&[s; LANES], &[c; LANES])[0], s.atan2(c), "{s} {c}");
        }
    }
}
