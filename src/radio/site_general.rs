//! Site-general losses of short paths out of doors ([`crate::sources::P1411`]) and indoors ([`crate::sources::P1238`]):
//! L = 10 α log d + β + 10 γ log f, slant distance in metres, frequency in GHz.

use crate::{
    radio::{
        link::{Line, Link},
        validity::{Along, Span, Validity},
    },
    units::{Db, Sigma},
};

/// Which row of the tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Site {
    /// P.1411, both ends below the roofs, in sight.
    StreetClear,
    /// P.1411, both ends below the roofs, out of sight, among high buildings.
    StreetBlockedHigh,
    /// P.1411, both ends below the roofs, out of sight, among low buildings and suburbs.
    StreetBlockedLow,
    /// P.1411, both ends below the roofs, out of sight, among houses.
    StreetBlockedHouses,
    /// P.1411, one end above the roofs, in sight.
    RoofClear,
    /// P.1411, one end above the roofs, out of sight, among high buildings.
    RoofBlockedHigh,
    /// P.1238, office, in sight.
    OfficeClear,
    /// P.1238, office, out of sight.
    OfficeBlocked,
    /// P.1238, corridor, in sight.
    CorridorClear,
    /// P.1238, corridor, out of sight.
    CorridorBlocked,
    /// P.1238, industrial hall, in sight.
    IndustryClear,
    /// P.1238, industrial hall, out of sight.
    IndustryBlocked,
}

/// The coefficients of a row.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coefficients {
    /// Exponent of distance.
    pub alpha: f64,
    /// Loss at 1 m and 1 GHz, dB.
    pub beta: f64,
    /// Exponent of frequency.
    pub gamma: f64,
    /// Standard deviation about the loss, dB.
    pub sigma: f64,
    /// Frequencies, GHz.
    pub ghz: Span,
    /// Slant distances, metres.
    pub metres: Span,
}

const fn row(abcs: [f64; 4], ghz: (f64, f64), metres: (f64, f64)) -> Coefficients {
    let [alpha, beta, gamma, sigma] = abcs;
    let (ghz, metres) = (Span::new(ghz.0, ghz.1), Span::new(metres.0, metres.1));
    Coefficients { alpha, beta, gamma, sigma, ghz, metres }
}

impl Site {
    /// The row's coefficients and limits.
    pub const fn coefficients(self) -> Coefficients {
        match self {
            Self::StreetClear => row([2.12, 29.2, 2.11, 5.06], (0.8, 82.0), (5.0, 660.0)),
            Self::StreetBlockedHigh => row([4.0, 10.2, 2.36, 7.6], (0.8, 82.0), (30.0, 715.0)),
            Self::StreetBlockedLow => row([5.06, -4.68, 2.02, 9.33], (10.0, 73.0), (30.0, 250.0)),
            Self::StreetBlockedHouses => row([3.01, 18.8, 2.07, 3.07], (0.8, 73.0), (30.0, 170.0)),
            Self::RoofClear => row([2.29, 28.6, 1.96, 3.48], (2.2, 73.0), (55.0, 1200.0)),
            Self::RoofBlockedHigh => row([4.39, -6.27, 2.3, 6.89], (2.2, 66.5), (260.0, 1200.0)),
            Self::OfficeClear => row([1.46, 34.62, 2.03, 3.76], (0.3, 83.5), (2.0, 27.0)),
            Self::OfficeBlocked => row([2.46, 29.53, 2.38, 5.04], (0.3, 82.0), (4.0, 30.0)),
            Self::CorridorClear => row([1.63, 28.12, 2.25, 4.07], (0.3, 83.5), (2.0, 160.0)),
            Self::CorridorBlocked => row([2.77, 29.27, 2.48, 7.63], (0.625, 83.5), (4.0, 94.0)),
            Self::IndustryClear => row([2.31, 24.52, 2.06, 2.69], (0.625, 70.28), (2.0, 101.0)),
            Self::IndustryBlocked => row([3.79, 21.01, 1.34, 9.05], (0.625, 70.28), (5.0, 108.0)),
        }
    }

    pub(super) fn line(self, link: &Link) -> Line {
        let c = self.coefficients();
        let (ghz, slant) = (link.frequency.value() / 1e9, link.slant().value());
        let per_decade = 10.0 * c.alpha;
        Line::of_slant(per_decade * slant.log10() + c.beta + 10.0 * c.gamma * ghz.log10(), per_decade, link)
    }

    pub(super) fn validity(self) -> Validity {
        let c = self.coefficients();
        Validity {
            frequency: c.ghz.times(1e9),
            distance: c.metres,
            along: Along::Slant,
            upper: Span::ANY,
            lower: Span::ANY,
        }
    }

    pub(super) fn shadowing(self) -> Option<Sigma<Db>> {
        Sigma::db(self.coefficients().sigma)
    }
}
