//! The main lobe of a directional antenna.

use crate::units::{Angle, Db};

/// A lobe that is a parabola in decibels down to a floor, A(θ) = min(12 (θ/θ₃)², A_m) ([`crate::sources::TR38901`],
/// Table 7.3-1). It is 3 dB down at half the half-power beamwidth, by construction. Side lobes are not modelled; real
/// antennas have some between the lobe's edge and the floor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lobe {
    beamwidth: Angle,
    floor: Db,
}

impl Lobe {
    /// From the full half-power beamwidth and the front-to-back ratio. `None` unless the beamwidth lies above 0° and at
    /// most at 360°, and the ratio is finite and above 0 dB.
    pub fn new(beamwidth: Angle, front_to_back: Db) -> Option<Self> {
        let degrees = beamwidth.to_degrees();
        let ratio = front_to_back.value();
        (degrees > 0.0 && degrees <= 360.0 && ratio > 0.0 && ratio.is_finite())
            .then_some(Self { beamwidth, floor: front_to_back })
    }

    /// Attenuation against the lobe's axis at `off` from it; `off` may be any finite angle and is wrapped.
    pub fn attenuation(&self, off: Angle) -> Db {
        let share = off.wrapped().to_radians() / self.beamwidth.to_radians();
        Db::new((12.0 * share * share).min(self.floor.value()))
    }

    /// Derivative of [`Lobe::attenuation`] by the angle, in dB per radian: zero on the axis and on the floor; at the corner
    /// between lobe and floor, that of the floor.
    pub fn slope(&self, off: Angle) -> f64 {
        if self.attenuation(off).value() >= self.floor.value() {
            return 0.0;
        }
        24.0 * off.wrapped().to_radians() / self.beamwidth.to_radians().powi(2)
    }

    /// Angle from the axis at which the floor is reached, θ₃ √(A_m/12); at most 180°.
    pub fn edge(&self) -> Angle {
        let edge = self.beamwidth.to_radians() * (self.floor.value() / 12.0).sqrt();
        Angle::radians(edge.min(std::f64::consts::PI))
    }
}
