//! Units: what a header may carry beside the name, and which of it fits a field.

use crate::ingest::names::Field;

/// What a unit measures, or what else a header may say about its numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Degrees, and ways of writing them.
    Degrees,
    /// Other angles.
    Turn,
    /// A length.
    Length,
    /// A frequency.
    Frequency,
    /// A level.
    Level,
    /// A voltage above a microvolt, in decibels.
    Voltage,
    /// A field strength above a microvolt per metre, in decibels.
    Strength,
    /// A ratio of powers.
    Ratio,
    /// A gain over an isotropic antenna.
    Gain,
    /// Decibels per metre.
    Factor,
    /// The load that a voltage is measured across.
    Load,
    /// A name of WGS 84, the only datum that is read as it stands.
    Datum,
    /// Numbers that grow toward the north.
    Northward,
    /// Numbers that grow toward the east.
    Eastward,
    /// Heights above ground.
    Ground,
    /// Universal time.
    Utc,
}

/// What a header may carry as its last words or in brackets, with the factor to degrees, metres, megahertz or decibels.
/// A gon is a four-hundredth of a turn; a mil is taken as a 6,400th, the artillery's, and that is told.
pub const UNITS: [(&str, Kind, f64); 49] = [
    ("deg", Kind::Degrees, 1.0),
    ("°", Kind::Degrees, 1.0),
    ("degrees", Kind::Degrees, 1.0),
    ("dd", Kind::Degrees, 1.0),
    ("dm", Kind::Degrees, 1.0),
    ("dms", Kind::Degrees, 1.0),
    ("gon", Kind::Turn, 0.9),
    ("mil", Kind::Turn, 360.0 / 6400.0),
    ("mils", Kind::Turn, 360.0 / 6400.0),
    ("rad", Kind::Turn, 180.0 / std::f64::consts::PI),
    ("m", Kind::Length, 1.0),
    ("meter", Kind::Length, 1.0),
    ("metre", Kind::Length, 1.0),
    ("meters", Kind::Length, 1.0),
    ("metres", Kind::Length, 1.0),
    ("ft", Kind::Length, 0.3048),
    ("feet", Kind::Length, 0.3048),
    ("km", Kind::Length, 1000.0),
    ("hz", Kind::Frequency, 1e-6),
    ("khz", Kind::Frequency, 1e-3),
    ("mhz", Kind::Frequency, 1.0),
    ("ghz", Kind::Frequency, 1e3),
    ("dbm", Kind::Level, 1.0),
    ("db", Kind::Ratio, 1.0),
    ("dbµv", Kind::Voltage, 1.0),
    ("dbμv", Kind::Voltage, 1.0),
    ("dbuv", Kind::Voltage, 1.0),
    ("dbµv/m", Kind::Strength, 1.0),
    ("dbμv/m", Kind::Strength, 1.0),
    ("dbuv/m", Kind::Strength, 1.0),
    ("dbi", Kind::Gain, 1.0),
    ("db/m", Kind::Factor, 1.0),
    ("50", Kind::Load, 1.0),
    ("75", Kind::Load, 1.0),
    ("50ohm", Kind::Load, 1.0),
    ("75ohm", Kind::Load, 1.0),
    ("ohm", Kind::Load, 1.0),
    ("ω", Kind::Load, 1.0),
    ("ohms", Kind::Load, 1.0),
    ("wgs84", Kind::Datum, 1.0),
    ("wgs", Kind::Datum, 1.0),
    ("84", Kind::Datum, 1.0),
    ("n", Kind::Northward, 1.0),
    ("°n", Kind::Northward, 1.0),
    ("e", Kind::Eastward, 1.0),
    ("°e", Kind::Eastward, 1.0),
    ("agl", Kind::Ground, 1.0),
    ("utc", Kind::Utc, 1.0),
    ("gmt", Kind::Utc, 1.0),
];

/// Metres per unit of length.
pub fn length(unit: &str) -> Option<f64> {
    UNITS.iter().find(|(name, kind, _)| *name == unit && *kind == Kind::Length).map(|(.., factor)| *factor)
}

/// Megahertz of a bandwidth in one word: `200khz`, `9mhz`.
pub fn bandwidth(word: &str) -> Option<f64> {
    let digits = word.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let (_, kind, factor) = UNITS.iter().find(|(name, ..)| *name == &word[digits.len()..])?;
    let plain = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    let value = digits.parse::<f64>().ok().filter(|v| plain && *v > 0.0 && *v < 1e6)?;
    (*kind == Kind::Frequency).then_some(value * factor)
}

impl Field {
    /// Factor of a unit in a column of this field; `None` where it does not fit. A position of one cell is not scaled.
    pub fn factor(self, unit: &str) -> Option<f64> {
        // The bandwidth of a level may stand beside its name: `level_dbm_200khz`.
        if self.is_level() && bandwidth(unit).is_some() {
            return Some(1.0);
        }
        let (_, kind, factor) = UNITS.iter().find(|(name, ..)| *name == unit)?;
        let fits = self.kinds().contains(kind) && (self != Self::Position || *factor == 1.0);
        fits.then_some(*factor)
    }

    /// Whether its column holds levels with a unit of their own.
    pub const fn is_level(self) -> bool {
        matches!(self, Self::Level | Self::Indicated | Self::Floor | Self::Interference)
    }

    /// Whether its column may name a north: the bearing, and its swings.
    pub const fn is_direction(self) -> bool {
        matches!(self, Self::Bearing | Self::Swing)
    }

    /// The kinds of unit that a column's numbers may have; none where it holds words or plain numbers.
    const fn kinds(self) -> &'static [Kind] {
        match self {
            Self::Latitude => &[Kind::Degrees, Kind::Datum, Kind::Northward],
            Self::Longitude => &[Kind::Degrees, Kind::Datum, Kind::Eastward],
            Self::Position => &[Kind::Degrees, Kind::Datum, Kind::Length],
            Self::Easting => &[Kind::Length, Kind::Eastward],
            Self::Northing => &[Kind::Length, Kind::Northward],
            Self::PositionSigma => &[Kind::Length],
            Self::Height => &[Kind::Length, Kind::Ground],
            Self::Swing | Self::Bearing | Self::Sigma | Self::Beamwidth => &[Kind::Degrees, Kind::Turn],
            Self::Front | Self::Back => &[Kind::Level, Kind::Ratio],
            Self::Frequency | Self::Bandwidth => &[Kind::Frequency],
            // A field strength may be written in words: dbuv m.
            Self::Level | Self::Indicated | Self::Floor | Self::Interference => {
                &[Kind::Level, Kind::Ratio, Kind::Voltage, Kind::Strength, Kind::Load, Kind::Length]
            }
            Self::Attenuator | Self::CableLoss | Self::Rise => &[Kind::Ratio],
            Self::Gain => &[Kind::Gain, Kind::Ratio],
            Self::AntennaFactor => &[Kind::Factor, Kind::Ratio, Kind::Length],
            Self::Time => &[Kind::Utc],
            _ => &[],
        }
    }

    /// Whether its numbers mean nothing as long as a word in its header is not understood.
    pub const fn measures(self) -> bool {
        !matches!(self, Self::Time) && !self.kinds().is_empty()
    }
}
