//! How a level falls with distance: laws of their own, that no solver shares.

use crate::{
    numeric::portable,
    simulate::{Refusal, refusal::within},
    units::{Db, Hertz, Metres},
};

/// Nearer than this the laws stay as they are: a radio wave of 300 MHz has no far field there.
const NEAREST_M: f64 = 1.0;

/// Median loss over distance. Both begin with free space at 1 m ([`crate::sources::P525`]).
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// One exponent at all distances: 2 in free space, up to 4.5 in towns.
    Exponent(f64),
    /// Two exponents that meet at a breakpoint ([`crate::sources::FEUERSTEIN1994`]).
    TwoSlopes {
        /// Exponent up to the breakpoint.
        near: f64,
        /// Where it bends, metres of slant distance.
        breakpoint: Metres,
        /// Exponent beyond.
        far: f64,
    },
}

impl Law {
    /// # Errors
    /// Exponents outside of 1 to 6, breakpoints outside of 1 m to 100 km.
    pub(super) fn checked(&self) -> Result<(), Refusal> {
        let exponent = |n: f64| within("an exponent", n, 1.0..=6.0, "write 1 to 6; free space has 2");
        match *self {
            Self::Exponent(n) => exponent(n),
            Self::TwoSlopes { near, breakpoint, far } => {
                exponent(near)?;
                exponent(far)?;
                let hint = "write 1 to 100000 m, such as 200";
                within("a breakpoint in metres", breakpoint.value(), 1.0..=1e5, hint)
            }
        }
    }

    /// Loss over `distance`; nearer than 1 m, that at 1 m.
    pub fn loss(&self, frequency: Hertz, distance: Metres) -> Db {
        let d = distance.value().max(NEAREST_M);
        let decades = portable::log10(d);
        let over_one_metre = match *self {
            Self::Exponent(n) => 10.0 * n * decades,
            Self::TwoSlopes { near, breakpoint, far } => {
                let bend = portable::log10(breakpoint.value());
                10.0 * near * decades.min(bend) + 10.0 * far * (decades - bend).max(0.0)
            }
        };
        Db::new(at_one_metre(frequency) + over_one_metre)
    }
}

/// (4π · 1 m/λ)² in decibels.
fn at_one_metre(frequency: Hertz) -> f64 {
    20.0 * portable::log10(4.0 * std::f64::consts::PI / frequency.wavelength().value())
}
