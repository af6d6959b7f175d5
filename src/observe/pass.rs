//! A search that found nothing.

use crate::{geodesy::Place, units::Metres};

/// Whether the emitter was on during a pass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Emitter {
    /// It was heard or seen to be on.
    On,
    /// It was off: nobody could have found it.
    Off,
    /// Not known; with this probability it was on.
    Unknown(f64),
}

impl Emitter {
    /// Probability that it was on.
    pub const fn chance(self) -> f64 {
        match self {
            Self::On => 1.0,
            Self::Off => 0.0,
            Self::Unknown(chance) => chance,
        }
    }
}

/// What a pass covered.
#[derive(Clone, Debug, PartialEq)]
pub enum Covered {
    /// An area: outer rings of its pieces, with the probability of detection of an emitter in it.
    Area {
        /// The rings; the last place of each is not a repetition of the first.
        rings: Vec<Vec<Place>>,
        /// Probability of detection.
        detection: f64,
    },
    /// A track walked: stretches of it, with the distance within which the emitter is noticed.
    Track {
        /// The stretches.
        lines: Vec<Vec<Place>>,
        /// Detection range.
        range: Metres,
        /// Stated probability of detection within that range; where absent it follows from coverage.
        detection: Option<f64>,
    },
}

/// A search that found nothing.
#[derive(Clone, Debug, PartialEq)]
pub struct Pass {
    /// Who searched; may be empty.
    pub team: String,
    /// When, as written; may be empty.
    pub time: String,
    /// Where, and how well.
    pub covered: Covered,
    /// Whether the emitter was on.
    pub emitter: Emitter,
}
