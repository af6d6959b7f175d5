//! The customary figures beside the region: the linear ellipse and the circular error.

use crate::{
    numeric::quantile::{ellipse_scale, ellipse_scale_estimated},
    units::{Angle, Confidence, Metres, SquareMetres},
};

/// How the ellipse of one standard deviation was widened.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Scale {
    /// Errors known: √χ²₂(P) = √(−2 ln(1 − P)).
    Known,
    /// Errors estimated from the residuals: √(2 F₂,ν(P)).
    Estimated {
        /// ν, degrees of freedom.
        freedom: f64,
    },
}

/// An error ellipse of a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ellipse {
    /// Longer half-axis.
    pub semi_major: Metres,
    /// Shorter half-axis.
    pub semi_minor: Metres,
    /// Azimuth of the longer axis, clockwise from north, in [0°, 180°); 0° for a circle.
    pub azimuth: Angle,
}

impl Ellipse {
    /// One standard deviation, from a covariance (east-east, east-north, north-north, square metres): eigenvalues and
    /// eigenvectors of a symmetric 2 × 2 matrix in closed form. `None` unless positive definite.
    pub fn one_sigma([ee, en, nn]: [f64; 3]) -> Option<Self> {
        let mean = 0.5 * (ee + nn);
        let half = (0.5 * (ee - nn)).hypot(en);
        let determinant = ee * nn - en * en;
        if !(mean > 0.0 && determinant > 0.0) {
            return None;
        }
        let major = mean + half;
        // The product of the eigenvalues is the determinant: no cancellation for thin ellipses.
        let minor = determinant / major;
        let turn = 0.5 * (2.0 * en).atan2(nn - ee);
        let azimuth = Angle::degrees(turn.to_degrees().rem_euclid(180.0));
        Some(Self { semi_major: Metres::new(major.sqrt()), semi_minor: Metres::new(minor.sqrt()), azimuth })
    }

    /// The ellipse of one standard deviation widened to a confidence.
    pub fn widened(self, confidence: Confidence, scale: Scale) -> Self {
        let k = match scale {
            Scale::Known => ellipse_scale(confidence.value()),
            Scale::Estimated { freedom } => ellipse_scale_estimated(confidence.value(), freedom),
        };
        Self {
            semi_major: Metres::new(k * self.semi_major.value()),
            semi_minor: Metres::new(k * self.semi_minor.value()),
            ..self
        }
    }

    /// Its area, πab.
    pub fn area(&self) -> SquareMetres {
        SquareMetres::new(std::f64::consts::PI * self.semi_major.value() * self.semi_minor.value())
    }

    /// Radius of the circle about the centre that holds the stated probability of the normal distribution whose one-sigma
    /// ellipse this is (circular error probable where that is one half), exact: the probability within a circle, solved for the
    /// radius by halving. Absolute error below 1e-9 of the longer half-axis for every axis ratio, a line included, and probabilities from
    /// 5 %.
    pub fn circular_error(&self, confidence: Confidence) -> Metres {
        let (a, b) = (self.semi_major.value(), self.semi_minor.value());
        let (mut low, mut high) = (0.0, a * ellipse_scale(confidence.value()));
        for _ in 0..52 {
            let middle = 0.5 * (low + high);
            if inside_circle(a, b, middle) < confidence.value() { low = middle } else { high = middle }
        }
        Metres::new(0.5 * (low + high))
    }
}

/// Probability within `radius`: 1 − (1/2π) ∫ exp(−r²/2s(u)) du with s(u) = a² cos² u + b² sin² u, which is what remains when
/// the density is integrated over the radius and the angle is scaled by the axes. The integrand is periodic and smooth
/// even for b = 0, so that the trapezoid rule gains digits with every point.
fn inside_circle(a: f64, b: f64, radius: f64) -> f64 {
    const POINTS: u32 = 512;
    let (mean, half) = (0.5 * (a * a + b * b), 0.5 * (a - b) * (a + b));
    let outside: f64 = (0..=POINTS)
        .map(|i| {
            let s = mean + half * (std::f64::consts::PI * f64::from(i) / f64::from(POINTS)).cos();
            let end = if i == 0 || i == POINTS { 0.5 } else { 1.0 };
            end * (-0.5 * radius * radius / s.max(f64::MIN_POSITIVE)).exp()
        })
        .sum();
    1.0 - outside / f64::from(POINTS)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two bearings that cross at 30°, 1 km from each stand, 2° each: Stansfield's closed form gives half-axes of
    /// 95.366563847694 m and 25.553393767921 m along 15° (40-digit arithmetic).
    #[test]
    fn two_bearings_that_cross_at_30_degrees_have_the_known_ellipse() {
        let e = Ellipse::one_sigma([1_218.469_679_146_8, 2_110.451_391_764_5, 8_529.287_754_027_8]).unwrap();
        assert!((e.semi_major.value() / 95.366_563_847_694 - 1.0).abs() < 1e-11);
        assert!((e.semi_minor.value() / 25.553_393_767_921 - 1.0).abs() < 1e-11);
        assert!((e.azimuth.to_degrees() - 15.0).abs() < 1e-9);
    }

    /// Radii for 50 %, in units of the longer half-axis, by axis ratio (40-digit arithmetic; ratio 1 is √(2 ln 2)).
    #[test]
    fn the_circular_error_is_exact() {
        for (ratio, exact) in [
            (0.1, 0.681_985_088_272),
            (0.3, 0.749_935_121_542),
            (0.5, 0.870_417_428_244),
            (0.8, 1.057_692_582_25),
            (1.0, 1.177_410_022_52),
        ] {
            let e = Ellipse {
                semi_major: Metres::new(1.0),
                semi_minor: Metres::new(ratio),
                azimuth: Angle::ZERO,
            };
            assert!((e.circular_error(Confidence::P50).value() - exact).abs() < 1e-9, "{ratio}");
        }
    }

    #[test]
    fn a_matrix_that_is_no_covariance_has_no_ellipse() {
        assert_eq!(Ellipse::one_sigma([1.0, 1.0, 1.0]), None);
        assert_eq!(Ellipse::one_sigma([f64::NAN, 0.0, 1.0]), None);
    }
}
