//! What is taken for granted about path loss before any level was measured, by the kind of place.

use std::fmt;

use crate::{
    radio::free_space::free_space_loss,
    units::{Db, Hertz, Metres, Sigma},
};

/// The kind of place that the levels were taken in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Environment {
    /// Fields, water, few obstacles; both antennas low.
    Open,
    /// Houses with gardens.
    Suburban,
    /// A built-up town, searched across streets and blocks.
    Urban,
    /// Along and around the corners of streets between façades.
    Street,
    /// Within one building.
    Indoor,
}

/// One end of the span of exponents that published figures give for a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct End {
    /// Exponent n of the power law that starts from free space at 1 m.
    pub exponent: f64,
    /// Whose figure it is.
    pub source: &'static str,
}

/// Prior of a power law in the slant distance that starts from free space at 1 m.
///
/// The exponent's mean is the middle of the span between two published figures and its standard deviation half the width
/// of that span, so that about a third of all places may lie outside it. That rule is this project's own choice.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    /// For which place.
    pub environment: Environment,
    /// The span's ends, lower first.
    pub ends: [End; 2],
    /// Loss of free space at 1 m at the frequency ([`crate::sources::P525`]): the intercept.
    pub intercept: Db,
    /// Standard deviation of shadowing about the law.
    pub shadowing: Sigma<Db>,
    /// Whose figure the shadowing is.
    pub shadowing_source: &'static str,
    /// Distance at which the correlation of shadowing has fallen to 1/e.
    pub decorrelation: Metres,
    /// Whose figure the decorrelation distance is.
    pub decorrelation_source: &'static str,
}

impl Prior {
    /// Mean of the exponent.
    pub fn exponent(&self) -> f64 {
        0.5 * (self.ends[0].exponent + self.ends[1].exponent)
    }

    /// Standard deviation of the exponent.
    pub fn exponent_deviation(&self) -> f64 {
        0.5 * (self.ends[1].exponent - self.ends[0].exponent)
    }
}

/// The figures that do not depend on the frequency: ends, shadowing, decorrelation.
struct Figures {
    ends: [End; 2],
    shadowing: (f64, &'static str),
    decorrelation: (f64, &'static str),
}

const fn end(exponent: f64, source: &'static str) -> End {
    End { exponent, source }
}

const OPEN: Figures = Figures {
    ends: [
        end(2.0, "free space (ITU-R P.525)"),
        end(3.2, "plane earth at 1 km, both antennas at 1.5 m, 150 MHz (Rappaport 2002, 4.52; from memory)"),
    ],
    shadowing: (6.0, "3GPP TR 38.901 Table 7.4.1-1, RMa in sight beyond the breakpoint"),
    decorrelation: (37.0, "3GPP TR 38.901 Table 7.5-6, RMa in sight"),
};

const SUBURBAN: Figures = Figures {
    ends: [
        end(2.8, "Hata suburban at 1 km, 900 MHz, mast of 30 m (Hata 1980; from memory)"),
        end(3.84, "Lee, suburban (quoted by Karn 1996)"),
    ],
    shadowing: (8.0, "3GPP TR 38.901 Table 7.4.1-1, SMa out of sight"),
    decorrelation: (50.0, "3GPP TR 38.901 Table 7.5-6, SMa out of sight"),
};

const URBAN: Figures = Figures {
    ends: [
        end(2.7, "lower end for urban areas (Rappaport 2002, Table 4.2; from memory)"),
        end(4.0, "middle for shadowed urban areas (Rappaport 2002, Table 4.2; from memory)"),
    ],
    shadowing: (7.8, "3GPP TR 38.901 Table 7.4.1-1, UMa out of sight, close-in form"),
    decorrelation: (50.0, "3GPP TR 38.901 Table 7.5-6, UMa out of sight"),
};

const STREET: Figures = Figures {
    ends: [
        end(2.1, "3GPP TR 38.901 Table 7.4.1-1, UMi in sight"),
        end(3.19, "3GPP TR 38.901 Table 7.4.1-1, UMi out of sight, close-in form"),
    ],
    shadowing: (8.2, "3GPP TR 38.901 Table 7.4.1-1, UMi out of sight, close-in form"),
    decorrelation: (13.0, "3GPP TR 38.901 Table 7.5-6, UMi out of sight"),
};

const INDOOR: Figures = Figures {
    ends: [
        end(1.73, "3GPP TR 38.901 Table 7.4.1-1, office in sight"),
        end(4.0, "lower end for obstructed paths in buildings (Rappaport 2002, Table 4.2; from memory)"),
    ],
    shadowing: (8.29, "3GPP TR 38.901 Table 7.4.1-1, office out of sight, close-in form"),
    decorrelation: (6.0, "3GPP TR 38.901 Table 7.5-6, office out of sight"),
};

impl Environment {
    /// All kinds.
    pub const ALL: [Self; 5] = [Self::Open, Self::Suburban, Self::Urban, Self::Street, Self::Indoor];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Suburban => "suburban",
            Self::Urban => "urban",
            Self::Street => "street",
            Self::Indoor => "indoor",
        }
    }

    /// The prior for this kind of place at `frequency` ([`crate::sources::TR38901`], [`crate::sources::RAPPAPORT2002`],
    /// [`crate::sources::LEE1982`], [`crate::sources::HATA1980`], [`crate::sources::P525`]; which of them gives which
    /// figure stands in the prior).
    ///
    /// `None` unless the frequency is finite and positive. The published figures span 0.15 to 100 GHz; below, sea and
    /// ground waves make any power law doubtful.
    pub fn prior(self, frequency: Hertz) -> Option<Prior> {
        let figures = match self {
            Self::Open => OPEN,
            Self::Suburban => SUBURBAN,
            Self::Urban => URBAN,
            Self::Street => STREET,
            Self::Indoor => INDOOR,
        };
        if !(frequency.value() > 0.0 && frequency.value().is_finite()) {
            return None;
        }
        Some(Prior {
            environment: self,
            ends: figures.ends,
            intercept: free_space_loss(frequency, Metres::new(1.0)),
            shadowing: Sigma::db(figures.shadowing.0)?,
            shadowing_source: figures.shadowing.1,
            decorrelation: Metres::new(figures.decorrelation.0),
            decorrelation_source: figures.decorrelation.1,
        })
    }
}

impl fmt::Display for Prior {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "Path loss taken for granted ({}): {:.1} dB at 1 m (free space), exponent {:.2} ± {:.2},",
            self.environment.word(),
            self.intercept.value(),
            self.exponent(),
            self.exponent_deviation()
        )?;
        writeln!(
            f,
            "  shadowing {:.1} dB, alike over {:.0} m.",
            self.shadowing.to_db(),
            self.decorrelation.value()
        )?;
        let [low, high] = self.ends;
        writeln!(f, "  exponent {}: {}", low.exponent, low.source)?;
        writeln!(f, "  exponent {}: {}", high.exponent, high.source)?;
        writeln!(f, "  shadowing: {}", self.shadowing_source)?;
        write!(f, "  decorrelation: {}", self.decorrelation_source)
    }
}
