//! From repeated readings of a level to a field strength, its comparison with a limit, and where its formulae hold.

use std::f64::consts::PI;

use crate::{
    numeric::{
        quantile::student_tails,
        uncertainty::{Repeated, repeated},
    },
    units::{Db, DbMicrovoltPerMetre, Hertz, Metres},
};

/// In what readings are averaged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Domain {
    /// Decibels, as a person averages figures on a sheet.
    Decibels,
    /// Powers, as a detector of mean power does.
    Power,
    /// Field strengths or voltages, as an average detector does.
    Voltage,
}

impl Domain {
    /// The word for a sheet.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Decibels => "decibels",
            Self::Power => "powers",
            Self::Voltage => "field strengths",
        }
    }

    /// Decibels for a tenfold quantity; `None` where decibels themselves are averaged.
    const fn decade(self) -> Option<f64> {
        match self {
            Self::Decibels => None,
            Self::Power => Some(10.0),
            Self::Voltage => Some(20.0),
        }
    }
}

/// The mean of readings in decibels, averaged in a domain, with its standard deviation in decibels by the slope of the logarithm:
/// 10/ln 10 · s/mean for powers. `None` for fewer than two readings.
///
/// The deviation of one reading is in decibels too. Readings that scatter by many decibels have a mean power that the slope at the mean
/// does not describe: above 3 dB or so decibels are the better domain.
pub fn mean_level(readings: &[f64], domain: Domain) -> Option<Repeated> {
    let Some(decade) = domain.decade() else { return repeated(readings) };
    // Relative to the strongest, so that no reading leaves the range of a double.
    let top = readings.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let linear: Vec<f64> = readings.iter().map(|r| 10f64.powf((r - top) / decade)).collect();
    let found = repeated(&linear)?;
    let slope = decade / std::f64::consts::LN_10 / found.mean;
    Some(Repeated {
        mean: top + decade * found.mean.log10(),
        deviation: slope * found.deviation,
        error: slope * found.error,
        freedom: found.freedom,
    })
}

/// Greatest error by mismatch in decibels, between an antenna and a receiver with these magnitudes of reflection:
/// −20 log(1 − |Γ₁||Γ₂|), the larger side ([`crate::sources::HARRIS1981`]). Its distribution is U-shaped. `None` outside of [0, 1).
pub fn mismatch_limit(antenna: f64, receiver: f64) -> Option<Db> {
    let fits = |g: f64| (0.0..1.0).contains(&g);
    (fits(antenna) && fits(receiver)).then(|| Db::new(-20.0 * (1.0 - antenna * receiver).log10()))
}

/// How a field is supposed to fall with distance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fall {
    /// As in free space: 20 dB for ten times the distance.
    FreeSpace,
    /// With this path loss exponent: ten times that in decibels for ten times the distance.
    Exponent(f64),
}

/// The field at another distance, if it falls as supposed. Both distances must be positive.
pub fn at_distance(field: DbMicrovoltPerMetre, from: Metres, to: Metres, fall: Fall) -> DbMicrovoltPerMetre {
    let exponent = match fall {
        Fall::FreeSpace => 2.0,
        Fall::Exponent(n) => n,
    };
    field + Db::new(10.0 * exponent * (from.value() / to.value()).log10())
}

/// Where the formulae of the far field begin ([`crate::sources::BALANIS2005`], § 2.2.4).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FarField {
    /// λ/2π: nearer, the reactive field of a small antenna is as strong as its radiation.
    pub reactive: Metres,
    /// 2 D²/λ for an antenna of the largest dimension D, where that is known.
    pub of_size: Option<Metres>,
}

impl FarField {
    /// For a frequency and, where it is known, the larger antenna's largest dimension.
    pub fn of(frequency: Hertz, size: Option<Metres>) -> Self {
        let wavelength = frequency.wavelength().value();
        Self {
            reactive: Metres::new(wavelength / (2.0 * PI)),
            of_size: size.map(|d| Metres::new(2.0 * d.value() * d.value() / wavelength)),
        }
    }

    /// The distance from which they hold, as far as is known.
    pub fn from(&self) -> Metres {
        Metres::new(self.of_size.map_or(0.0, Metres::value).max(self.reactive.value()))
    }
}

/// How a measured value is compared with an upper limit ([`crate::sources::JCGM106`], [`crate::sources::ILACG8`]).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// By the measured value alone; the risk is shared.
    Simple,
    /// It is within the limit only if it lies below by more than U.
    GuardedAcceptance,
    /// It exceeds the limit only if it lies above by more than U.
    GuardedRejection,
    /// Below by more than U, above by more than U, or neither.
    NonBinary,
}

/// What the comparison says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Decision {
    /// Within the limit.
    Within,
    /// Above the limit.
    Above,
    /// Nearer to the limit than U: neither.
    NotTold,
}

impl Rule {
    /// The decision on `field` with expanded uncertainty `expanded`.
    pub fn decide(self, field: DbMicrovoltPerMetre, expanded: Db, limit: DbMicrovoltPerMetre) -> Decision {
        let over = (field - limit).value();
        let u = expanded.value();
        let (within, above) = match self {
            Self::Simple => (over <= 0.0, over > 0.0),
            Self::GuardedAcceptance => (over <= -u, over > -u),
            Self::GuardedRejection => (over <= u, over > u),
            Self::NonBinary => (over <= -u, over > u),
        };
        match (within, above) {
            (true, _) => Decision::Within,
            (_, true) => Decision::Above,
            _ => Decision::NotTold,
        }
    }
}

/// Probability that the true field lies above the limit, with nothing known but the measurement: the tail of Student's t
/// ([`crate::sources::JCGM106`], 7.2 has it for a normal distribution). `standard` must be positive.
pub fn probability_above(over: Db, standard: Db, freedom: f64) -> f64 {
    let tail = 0.5 * student_tails(over.value() / standard.value(), freedom.min(1e5));
    if over.value() > 0.0 { 1.0 - tail } else { tail }
}
