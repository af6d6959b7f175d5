//! What is asked of the solver, what it takes for granted, and how it can fail to answer.

use std::num::NonZero;

use crate::{
    north::{TrueBearing, TrueSector},
    numeric::loss,
    solve::{
        evidence::Memory,
        levels::{LevelPriors, LevelSight},
        scene::LEAST_LEVELS,
        sectors::SectorPriors,
    },
    units::{Angle, Metres, Sigma},
};

/// The observations of one search.
#[derive(Clone, Copy, Debug, Default)]
pub struct Problem<'a> {
    /// Bearings brought to true north.
    pub bearings: &'a [TrueBearing],
    /// Levels, with what is known of those below the floor.
    pub levels: &'a [LevelSight],
    /// Sectors of receivers that stand still, brought to true north.
    pub sectors: &'a [TrueSector],
    /// Half-width of the square around the stands that is searched; `None` for the greater of 50 km and five
    /// times the largest distance of a stand from the stands' centre.
    pub within: Option<Metres>,
    /// What is kept of problems solved before; the answer is the same without.
    pub memory: Option<&'a Memory>,
    /// At most so many threads judge places by levels, where the memory did not have these levels already; `None` for as many as
    /// there are processors, up to four. The answer is the same to the last bit.
    pub threads: Option<NonZero<usize>>,
}

/// How a miss is judged.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Loss {
    /// The default: each bearing may be direct, reversed or foreign (a reflection, another emitter, a slip),
    /// with the foreign share, a common scale of the stated errors and a shared error of north integrated out.
    #[default]
    Mixture,
    /// A classic loss on the standardised miss with the stated errors taken as exact; a shared error of north
    /// is integrated out as before.
    Classic(loss::Loss),
}

/// What the solver takes for granted. Every figure here is printed with the answer that rests on it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Options {
    /// How a miss is judged.
    pub loss: Loss,
    /// Prior share of foreign bearings: a Beta distribution with these two shapes; its mean is a/(a+b).
    /// Common practice, no source: one bearing in ten on average, but most surveys have none.
    pub foreign: (f64, f64),
    /// A place that foreign bearings may share.
    pub front: FrontPrior,
    /// An error that the bearings of one compass may share.
    pub compass: CompassPrior,
    /// Prior probability that a bearing is reversed (front and back confused) when front and back levels say
    /// nothing. Common practice, no source.
    pub reversed: f64,
    /// Error of a bearing for which nothing was stated: median of a log-normal prior. The three figures for unstated errors
    /// follow from 87 hand-held bearings at 149 MHz to transmitters at known places (M. Rizzuto et al., Oecologia 2021,
    /// doi 10.1007/s00442-021-04965-0, open data): 18° in all (robust), 8 % beyond 45°; 15° of it a bearing's own, 13°
    /// shared by the bearings of one case.
    pub unstated: Sigma<Angle>,
    /// Standard deviation of the natural logarithm of the common scale of unstated errors.
    pub unstated_spread: f64,
    /// Error that all bearings without a stated quality share: compass and habit of one observer.
    pub unstated_shared: Sigma<Angle>,
    /// The same spread for errors stated as a class letter: surveys are known whose bearings are twice as bad as their letters
    /// say.
    pub class_spread: f64,
    /// The same spread for errors stated in degrees.
    pub sigma_spread: f64,
    /// Error of a stand's position where nothing was stated.
    pub position: Sigma<Metres>,
    /// How finely the posterior is resolved: no cell of the final mesh holds more than 1/`cells` of the mass.
    pub cells: f64,
    /// What is taken for granted about levels.
    pub levels: LevelPriors,
    /// What is taken for granted about sectors.
    pub sectors: SectorPriors,
}

/// What is taken for granted of a place that foreign bearings share: the mirror image of the emitter in a front that reflects,
/// or another emitter. Common practice, no source.
///
/// Foreign bearings are thought to be a third then, and hardly more than a half: where more bearings point at the front than at the
/// emitter nothing tells which is which, and to allow for it makes the first place the wrong one more often.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FrontPrior {
    /// Probability that there is one.
    pub probability: f64,
    /// Share of the foreign bearings that then points there.
    pub share: f64,
    /// Share of all bearings that is then foreign: a Beta distribution with these two shapes.
    pub foreign: (f64, f64),
}

impl Default for FrontPrior {
    fn default() -> Self {
        Self { probability: 0.7, share: 0.92, foreign: (8.0, 14.0) }
    }
}

/// What is taken for granted of an error that the bearings of one compass share beyond what was stated: of the only one, or of each
/// team's. Common practice, no source:
/// a vehicle or a fence beside every stand, a bent needle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CompassPrior {
    /// Probability that there is one.
    pub probability: f64,
    /// Its standard deviation then.
    pub sigma: Sigma<Angle>,
}

impl CompassPrior {
    /// Compasses that are as right as stated.
    pub fn none() -> Self {
        Self { probability: 0.0, ..Self::default() }
    }
}

impl Default for CompassPrior {
    fn default() -> Self {
        Self { probability: 0.6, sigma: Sigma::<Angle>::degrees(13.0).expect("positive") }
    }
}

impl Default for Options {
    fn default() -> Self {
        Self {
            loss: Loss::Mixture,
            foreign: (0.4, 3.6),
            front: FrontPrior::default(),
            compass: CompassPrior::default(),
            reversed: 0.02,
            unstated: Sigma::<Angle>::degrees(16.0).expect("positive"),
            unstated_spread: 0.4,
            unstated_shared: Sigma::<Angle>::degrees(12.0).expect("positive"),
            class_spread: 0.45,
            sigma_spread: 0.1,
            position: Sigma::<Metres>::metres(10.0).expect("positive"),
            cells: 120.0,
            levels: LevelPriors::default(),
            sectors: SectorPriors::default(),
        }
    }
}

/// Spread of the stated errors while treatments of north are compared.
const AUDIT_SPREAD: f64 = 0.15;

impl Options {
    /// The same for comparing treatments of north ([`crate::solve::audit`]).
    pub(super) fn for_audit(&self) -> Self {
        Self { compass: CompassPrior::none(), class_spread: self.class_spread.min(AUDIT_SPREAD), ..*self }
    }
}

/// Why there is no fit.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum SolveError {
    /// No usable observation of any kind.
    Nothing,
    /// Fewer usable bearings than a place needs.
    TooFew {
        /// Bearings given.
        have: usize,
        /// Bearings needed.
        need: usize,
    },
    /// Fewer usable levels than a place needs.
    TooFewLevels {
        /// Levels given.
        have: usize,
        /// Levels needed.
        need: usize,
    },
    /// Sectors alone of which fewer than two hear the emitter.
    TooFewSectors {
        /// Sectors that hear it.
        have: usize,
    },
    /// No reading rose above its floor.
    NothingHeard {
        /// Readings given.
        readings: usize,
    },
    /// The stands are spread so far over the globe that they have no centre.
    NoFrame,
    /// A stand lies outside of the square to search.
    StandsOutside {
        /// Half-width of the square.
        within: Metres,
        /// Distance of the farthest stand from the stands' centre.
        reach: Metres,
    },
}

impl std::fmt::Display for SolveError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Nothing => write!(
                f,
                "nothing that was given can be used; a place needs at least 2 bearings from different stands, or {LEAST_LEVELS} \
                 levels from different spots"
            ),
            Self::TooFew { have, need } => {
                let bearings = if *have == 1 { "bearing" } else { "bearings" };
                write!(f, "{have} usable {bearings}, and a place needs at least {need} from different stands")
            }
            Self::TooFewLevels { have, need } => {
                let levels = if *have == 1 { "level" } else { "levels" };
                write!(f, "{have} usable {levels}, and a place needs at least {need} from different spots")
            }
            Self::TooFewSectors { have } => {
                let hear = if *have == 1 { "sector hears" } else { "sectors hear" };
                write!(f, "{have} {hear} the emitter, and a place needs at least two")
            }
            Self::NothingHeard { readings } => {
                write!(f, "none of the {readings} readings rose above its floor: nothing was heard")
            }
            Self::NoFrame => {
                write!(f, "the stands are spread so far over the globe that they have no common centre")
            }
            Self::StandsOutside { within, reach } => write!(
                f,
                "the stands reach {:.0} m from their centre, and only {:.0} m are to be searched: search farther",
                reach.value(),
                within.value()
            ),
        }
    }
}

impl std::error::Error for SolveError {}
