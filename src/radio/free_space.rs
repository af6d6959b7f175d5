//! Free space, and the power law in distance that stands for everything else.

use std::f64::consts::PI;

use crate::{
    radio::{
        link::{Line, Link},
        validity::{Along, Span, Validity},
    },
    units::{Db, Hertz, Metres},
};

/// Free-space loss between isotropic antennas, 20 log10(4πd/λ), which is 32.45 + 20 log f + 20 log d in MHz and km
/// ([`crate::sources::P525`]). `frequency` and `distance` must be positive; the formula holds in the far field, beyond
/// about λ/2π, where it gives 6 dB.
pub fn free_space_loss(frequency: Hertz, distance: Metres) -> Db {
    Db::new(20.0 * (4.0 * PI * distance.value() / frequency.wavelength().value()).log10())
}

pub(super) fn line(link: &Link) -> Line {
    Line::of_slant(free_space_loss(link.frequency, link.slant()).value(), 20.0, link)
}

/// Beyond λ/2π, where the reactive near field ends.
pub(super) fn validity(frequency: Hertz) -> Validity {
    let near = frequency.wavelength().value() / (2.0 * PI);
    Validity {
        frequency: Span::ANY,
        distance: Span::new(near, f64::INFINITY),
        along: Along::Slant,
        upper: Span::ANY,
        lower: Span::ANY,
    }
}

/// A power law in the slant distance: loss at a reference distance and exponent n, L = L₀ + 10 n log10(d/d₀)
/// ([`crate::sources::RAPPAPORT2002`], § 4.9).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PowerLaw {
    /// Distance d₀ of the reference; the law is not asked closer than that.
    pub reference: Metres,
    /// Loss at the reference.
    pub loss: Db,
    /// Exponent: 2 in free space.
    pub exponent: f64,
}

impl PowerLaw {
    /// The law that starts from free space at 1 m.
    pub fn from_one_metre(frequency: Hertz, exponent: f64) -> Self {
        let reference = Metres::new(1.0);
        Self { reference, loss: free_space_loss(frequency, reference), exponent }
    }

    pub(super) fn line(&self, link: &Link) -> Line {
        let decades = (link.slant().value() / self.reference.value()).log10();
        let per_decade = 10.0 * self.exponent;
        Line::of_slant(self.loss.value() + per_decade * decades, per_decade, link)
    }

    pub(super) fn validity(&self) -> Validity {
        Validity {
            frequency: Span::ANY,
            distance: Span::new(self.reference.value(), f64::INFINITY),
            along: Along::Slant,
            upper: Span::ANY,
            lower: Span::ANY,
        }
    }
}
