//! The customary linear view: a normal posterior of the place, and what one more reading does to it.

use crate::{
    region::Ellipse,
    units::{Angle, Db, Metres, Sigma},
};

/// Covariance of a place on the plane, square metres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// East-east.
    pub ee: f64,
    /// East-north.
    pub en: f64,
    /// North-north.
    pub nn: f64,
}

impl Spread {
    /// From an ellipse of one standard deviation: half-axes, and the azimuth of the longer one.
    pub fn of_axes(major: Metres, minor: Metres, azimuth: Angle) -> Self {
        let (sin, cos) = azimuth.to_radians().sin_cos();
        let (a, b) = (major.value().powi(2), minor.value().powi(2));
        Self { ee: a * sin * sin + b * cos * cos, en: (a - b) * sin * cos, nn: a * cos * cos + b * sin * sin }
    }

    /// Determinant, m⁴.
    pub fn determinant(&self) -> f64 {
        self.ee * self.nn - self.en * self.en
    }

    /// Trace, m²: the expected squared distance from the mean.
    pub fn trace(&self) -> f64 {
        self.ee + self.nn
    }

    /// The ellipse of one standard deviation; `None` unless positive definite.
    pub fn ellipse(&self) -> Option<Ellipse> {
        Ellipse::one_sigma([self.ee, self.en, self.nn])
    }

    /// After one more bearing of the mean from a stand at `range`, in the direction `toward` it: information uuᵀ/(rσ)² with u
    /// across the line ([`crate::sources::BISHOP2010`]).
    pub fn after_bearing(&self, toward: Angle, range: Metres, sigma: Sigma<Angle>) -> Self {
        let (sin, cos) = toward.to_radians().sin_cos();
        self.after((cos, -sin), 1.0 / (range.value() * sigma.to_radians()).powi(2))
    }

    /// After one more level of known power and exponent from a stand at `range`: it tells the distance along the line, by
    /// 10 n/(r ln 10) dB a metre.
    pub fn after_level(&self, toward: Angle, range: Metres, exponent: f64, sigma: Sigma<Db>) -> Self {
        let (sin, cos) = toward.to_radians().sin_cos();
        let slope = 10.0 * exponent / (range.value() * std::f64::consts::LN_10);
        self.after((sin, cos), (slope / sigma.to_db()).powi(2))
    }

    /// After information of so much per square metre along a unit vector (east, north): C − C u uᵀ C/(1/i + uᵀ C u).
    fn after(&self, (east, north): (f64, f64), information: f64) -> Self {
        let (a, b) = (self.ee * east + self.en * north, self.en * east + self.nn * north);
        let gain = information / (1.0 + information * (a * east + b * north));
        Self { ee: self.ee - gain * a * a, en: self.en - gain * a * b, nn: self.nn - gain * b * b }
    }
}
