//! Hata's formulas for a base station above the roofs ([`crate::sources::HATA1980`]) and their extension to 2 GHz
//! ([`crate::sources::COST231`]).

use crate::radio::{
    link::{Line, Link},
    validity::{Along, Span, Validity},
};

/// Which correction for the height of the lower antenna.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum City {
    /// Small or medium-sized.
    Small,
    /// Large; the metropolitan centre in the extension.
    Large,
}

/// What stands around the lower antenna.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Terrain {
    /// Built-up.
    Urban,
    /// Houses with gardens.
    Suburban,
    /// Open fields.
    Open,
}

pub(super) const VALIDITY: Validity = Validity {
    frequency: Span::new(150e6, 1500e6),
    distance: Span::new(1e3, 20e3),
    along: Along::Ground,
    upper: Span::new(30.0, 200.0),
    lower: Span::new(1.0, 10.0),
};

pub(super) const EXTENDED: Validity = Validity { frequency: Span::new(1500e6, 2000e6), ..VALIDITY };

/// The formula for a large city changes between 200 and 400 MHz, where Hata gives neither; common practice parts at 300.
const LARGE_CITY_SPLIT_MHZ: f64 = 300.0;

/// Correction a(h) for the height of the lower antenna, dB.
fn height_gain(city: City, mhz: f64, height: f64) -> f64 {
    let f = mhz.log10();
    match city {
        City::Small => (1.1 * f - 0.7) * height - (1.56 * f - 0.8),
        City::Large if mhz < LARGE_CITY_SPLIT_MHZ => 8.29 * (1.54 * height).log10().powi(2) - 1.1,
        City::Large => 3.2 * (11.75 * height).log10().powi(2) - 4.97,
    }
}

/// The form that both have in common: `constant` + `rate` log f − 13.82 log h − a + (44.9 − 6.55 log h) log d.
fn common(link: &Link, city: City, constant: f64, rate: f64) -> Line {
    let mhz = link.frequency.to_mhz();
    let height = link.upper.value().log10();
    let slope = 44.9 - 6.55 * height;
    let decades = (link.distance.value() / 1e3).log10();
    let gain = height_gain(city, mhz, link.lower.value());
    Line { db: constant + rate * mhz.log10() - 13.82 * height - gain + slope * decades, slope }
}

/// Hata's loss ([`crate::sources::HATA1980`]).
pub(super) fn line(link: &Link, terrain: Terrain, city: City) -> Line {
    let f = link.frequency.to_mhz().log10();
    let relief = match terrain {
        Terrain::Urban => 0.0,
        Terrain::Suburban => 2.0 * (f - 28f64.log10()).powi(2) + 5.4,
        Terrain::Open => 4.78 * f * f - 18.33 * f + 40.94,
    };
    common(link, city, 69.55, 26.16) + Line { db: -relief, slope: 0.0 }
}

/// Its extension ([`crate::sources::COST231`]): 3 dB more in a metropolitan centre.
pub(super) fn extended(link: &Link, city: City) -> Line {
    let centre = if city == City::Large { 3.0 } else { 0.0 };
    common(link, city, 46.3 + centre, 33.9)
}
