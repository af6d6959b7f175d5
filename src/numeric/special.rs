//! Special functions: the Fresnel integrals' tail, and tail and quantile of the normal distribution.

use std::f64::consts::{FRAC_PI_2, PI};

use nalgebra::Complex;
use statrs::{
    distribution::{ContinuousCDF, Normal},
    function::erf::erfc,
};

/// From here the continued fraction takes over from the power series, whose terms grow with x².
const SERIES_BELOW: f64 = 1.75;

/// Depth at which the continued fraction is cut. At `SERIES_BELOW`, where it converges slowest, 40 levels leave less
/// than 1e-17 (measured against mpmath in 40 digits); fewer are needed beyond.
const LEVELS: u32 = 40;

/// The tail of the Fresnel integrals, ½ − C(x) and ½ − S(x), which is ∫ cos(πt²/2) dt and ∫ sin(πt²/2) dt from `x` to
/// infinity ([`crate::sources::DLMF`], § 7.2). Taking the tail and not C and S keeps all digits where the tail is small.
///
/// Any finite `x`; absolute error below 1e-14 for |x| ≤ 10. Beyond, the phase πx²/2 loses digits as the square of x, but
/// the length of the pair does not. Not a number for an `x` that is not finite.
pub fn fresnel_tail(x: f64) -> (f64, f64) {
    let tail = if x < 0.0 {
        // C and S are odd.
        Complex::new(1.0, 1.0) - upper_tail(-x)
    } else {
        upper_tail(x)
    };
    (tail.re, tail.im)
}

/// ∫ exp(iπt²/2) dt from `x` ≥ 0 to infinity.
fn upper_tail(x: f64) -> Complex<f64> {
    if x < SERIES_BELOW {
        Complex::new(0.5, 0.5) - series(x)
    } else {
        Complex::from_polar(x, FRAC_PI_2 * x * x) * fraction(x)
    }
}

/// C(x) + i S(x) = Σ (iπ/2)^k x^(2k+1) / (k! (2k+1)), [`crate::sources::DLMF`] 7.6.4 and 7.6.6 in one sum.
fn series(x: f64) -> Complex<f64> {
    let step = Complex::new(0.0, FRAC_PI_2 * x * x);
    let mut power = Complex::new(x, 0.0);
    let mut sum = power;
    let mut k = 0.0;
    while power.norm() > f64::EPSILON * 1e-3 * sum.norm() {
        k += 1.0;
        power *= step / k;
        sum += power / (2.0 * k + 1.0);
    }
    sum
}

/// The continued fraction of the complementary error function, [`crate::sources::DLMF`] 7.9.2, at z² = −iπx²/2,
/// evaluated from its far end.
fn fraction(x: f64) -> Complex<f64> {
    let level = |k: f64| Complex::new(1.0 + 4.0 * k, -PI * x * x);
    let mut value = level(LEVELS.into());
    for k in (0..LEVELS).rev().map(f64::from) {
        value = level(k) - (2.0 * k + 1.0) * (2.0 * k + 2.0) / value;
    }
    value.inv()
}

/// e^(x²/2) times the probability that a standard normal variable exceeds `x` ≥ 0: ½ erfcx(x/√2)
/// ([`crate::sources::DLMF`], § 7.2; its limit for large x is 1/(x√(2π)), § 7.12). The factor keeps it of ordinary size
/// where the tail itself has no double.
///
/// t = 1/(1 + 0.28 x) times a polynomial in t fitted to the exact function, relative error below 7e-9 for all x ≥ 0.
/// Free of branches, so that the compiler can evaluate several at once; without meaning for x < 0.
#[inline(always)]
pub fn scaled_tail(x: f64) -> f64 {
    const C: [f64; 11] = [
        0.111_703_837_834_799_74,
        0.111_704_047_518_589_5,
        0.102_935_729_290_592_98,
        0.085_635_731_404_089_45,
        0.059_199_345_941_518_655,
        0.045_909_547_869_618_23,
        -0.029_618_141_186_231_836,
        0.081_371_232_347_392_44,
        -0.126_027_009_881_514_25,
        0.071_564_545_985_987_15,
        -0.014_378_864_174_260_127,
    ];
    let t = 1.0 / (1.0 + 0.28 * x);
    // Written out: within a loop over lanes a loop over coefficients would keep the lanes apart.
    let high = C[6] + t * (C[7] + t * (C[8] + t * (C[9] + t * C[10])));
    t * (C[0] + t * (C[1] + t * (C[2] + t * (C[3] + t * (C[4] + t * (C[5] + t * high))))))
}

/// The value that a standard normal variable stays below with probability `p`; `None` unless 0 < `p` < 1.
pub fn normal_quantile(p: f64) -> Option<f64> {
    (p > 0.0 && p < 1.0).then(|| Normal::standard().inverse_cdf(p))
}

/// Natural logarithm of the probability that a standard normal variable stays below `x`; any finite `x`.
pub fn log_normal_cdf(x: f64) -> f64 {
    // Where the probability itself loses its digits, its asymptotic series ([`crate::sources::DLMF`] 7.12.1) has them.
    const FAR: f64 = -12.0;
    if x > FAR {
        return (0.5 * erfc(-x / std::f64::consts::SQRT_2)).ln();
    }
    let s = 1.0 / (x * x);
    let series = 1.0 - s * (1.0 - 3.0 * s * (1.0 - 5.0 * s * (1.0 - 7.0 * s * (1.0 - 9.0 * s))));
    -0.5 * x * x - (-x * (2.0 * PI).sqrt()).ln() + series.ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed with mpmath 1.4.1 (30 digits): ½ − fresnelc(x), ½ − fresnels(x), on both sides of the change of method
    /// and on it. Tolerance: about ten units in the last place of the series' largest term, 4.
    #[test]
    fn the_tail_of_the_fresnel_integrals_has_its_known_values() {
        let table = [
            (-3.0, 1.105_720_789_297_685_7, 0.996_312_998_967_375),
            (-0.7, 1.159_652_351_904_510_3, 0.672_136_457_863_477_4),
            (0.0, 0.5, 0.5),
            (0.5, 0.007_655_774_128_553_607, 0.435_267_567_140_000_7),
            (1.7499, 0.178_074_728_207_954_14, 0.000_515_804_247_335_886_6),
            (1.75, 0.178_064_953_850_462_14, 0.000_615_325_409_325_448_4),
            (1.7501, 0.178_055_124_779_833_62, 0.000_714_841_182_540_976_6),
            (2.0, 0.011_746_593_924_659_245, 0.156_584_321_636_301_76),
            (5.0, -0.063_631_188_704_012_23, 0.000_808_618_082_883_113_2),
            (10.0, 0.000_101_305_794_484_276_39, 0.031_830_021_415_117_76),
        ];
        for (x, c, s) in table {
            let (tail_c, tail_s) = fresnel_tail(x);
            assert!((tail_c - c).abs() < 1e-14 && (tail_s - s).abs() < 1e-14, "{x}: {tail_c} {tail_s}");
        }
    }

    /// The asymptotic length 1/(πx) ([`crate::sources::DLMF`] 7.12) less its next term, 3/(2π²x⁴) of itself.
    #[test]
    fn far_out_the_tail_has_its_asymptotic_length() {
        for x in [30.0, 1e3, 1e6] {
            let (c, s) = fresnel_tail(x);
            let (length, next) = (c.hypot(s) * PI * x, 1.5 / (PI * x * x).powi(2));
            assert!((length - 1.0).abs() < 2.0 * next + 4.0 * f64::EPSILON, "{x}: {length}");
        }
        assert!(fresnel_tail(f64::INFINITY).0.is_nan());
    }

    /// Computed with mpmath 1.4.1 (30 digits): log(ncdf(x)).
    #[test]
    fn logarithms_of_normal_probabilities_have_their_known_values() {
        let table = [
            (-300.0, -45_006.622_732_118_66),
            (-38.0, -726.557_216_018_820_1),
            (-10.0, -53.231_285_150_512_47),
            (-3.0, -6.607_726_221_510_349),
            (-1.0, -1.841_021_645_009_263_6),
            (-0.1, -0.776_154_592_730_273_3),
            (0.0, -std::f64::consts::LN_2),
            (0.3, -0.481_410_161_588_481_2),
            (1.0, -0.172_753_779_023_449_88),
            (2.5, -0.006_229_025_485_860_002),
            (6.0, -9.865_876_455_243_758e-10),
        ];
        for (x, log) in table {
            let off = log_normal_cdf(x) - log;
            assert!(off.abs() < 1e-12 + 1e-10 * log.abs(), "{x}: {off:e}");
            if x <= 0.0 {
                let fitted = scaled_tail(-x).ln() - 0.5 * x * x - log;
                assert!(fitted.abs() < 7e-9 + 4.0 * f64::EPSILON * log.abs(), "{x}: {fitted:e}");
            }
        }
        assert_eq!(log_normal_cdf(40.0), 0.0);
    }

    /// Computed with mpmath 1.4.1: √2 erfinv(2p − 1).
    #[test]
    fn normal_quantiles_have_their_known_values() {
        let table = [
            (1e-6, -4.753_424_308_822_899),
            (0.025, -1.959_963_984_540_054_3),
            (0.5, 0.0),
            (0.9, 1.281_551_565_544_600_6),
            (0.999, 3.090_232_306_167_813_6),
        ];
        for (p, z) in table {
            assert!((normal_quantile(p).unwrap() - z).abs() < 1e-14, "{p}");
        }
        assert_eq!(normal_quantile(0.0), None);
        assert_eq!(normal_quantile(1.0), None);
        assert_eq!(normal_quantile(f64::NAN), None);
    }

    /// ln of `ncdf` of mpmath 1.4.1 (40 digits), on both sides of the change to the asymptotic series.
    const LOG_CDF: [(f64, f64); 7] = [
        (3.0, -0.001_350_809_964_748),
        (0.0, -std::f64::consts::LN_2),
        (-1.5, -2.705_944_400_823_89),
        (-8.0, -35.013_437_159_914_55),
        (-11.9, -74.207_418_051_248_3),
        (-12.1, -76.623_861_242_513_2),
        (-30.0, -454.321_243_956_343),
    ];

    #[test]
    fn the_logarithm_of_the_normal_distribution_keeps_its_digits() {
        for (x, log) in LOG_CDF {
            assert!((log_normal_cdf(x) / log - 1.0).abs() < 1e-10, "{x}: {}", log_normal_cdf(x));
        }
    }
}
