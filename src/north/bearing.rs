//! Bearings brought to true north.

use crate::{
    finding::Finding,
    observe::{NorthReference, ReadBearing},
    units::{Angle, Sigma},
};

/// A bearing from true north. Only [`resolve`] makes one: holding it is the proof that north was settled.
#[derive(Clone, Debug, PartialEq)]
pub struct TrueBearing {
    read: ReadBearing,
    azimuth: Angle,
    correction: Angle,
    shared: Option<Sigma<Angle>>,
}

impl TrueBearing {
    /// The bearing as it was written down.
    pub const fn read(&self) -> &ReadBearing {
        &self.read
    }

    /// Direction clockwise from true north, in [0°, 360°).
    pub const fn azimuth(&self) -> Angle {
        self.azimuth
    }

    /// What was added to the reading: declination for a magnetic one, convergence for a grid one, zero for
    /// a true one (east positive).
    pub const fn correction(&self) -> Angle {
        self.correction
    }

    /// Uncertainty of the correction, an error that every magnetic bearing of the place shares;
    /// `None` where the correction is exact.
    pub const fn shared_sigma(&self) -> Option<Sigma<Angle>> {
        self.shared
    }
}

/// What the reader of the compass may state for all bearings at once.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Settings {
    /// Date for bearings without a time of their own.
    pub date: Option<jiff::civil::Date>,
    /// Declination by hand (east positive) with its standard deviation, instead of the model's.
    pub declination: Option<(Angle, Sigma<Angle>)>,
}

/// Bearings brought to true north, and what there is to tell about it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Resolved {
    /// In the order given; refused ones are missing and named in `findings`.
    pub bearings: Vec<TrueBearing>,
    /// Assumptions made and bearings refused.
    pub findings: Vec<Finding>,
}

/// Brings every bearing to true north.
pub fn resolve(bearings: &[ReadBearing], _settings: &Settings) -> Resolved {
    let bearings = bearings
        .iter()
        .filter(|b| b.north == NorthReference::True)
        .map(|b| TrueBearing { read: b.clone(), azimuth: b.read, correction: Angle::ZERO, shared: None })
        .collect();
    Resolved { bearings, findings: Vec::new() }
}
