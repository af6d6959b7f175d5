//! What bearings are made from, and what really was at each.

use jiff::Timestamp;

use crate::{
    geodesy::{Place, Plane, PlanePoint},
    observe::{OperatorClass, ReadBearing},
    radio::Lobe,
    simulate::{Emitter, Positioning, Propagation, Way},
    units::{Angle, Db, Dbm, Metres, Sigma},
};

/// Where stands lie.
#[derive(Clone, Debug, PartialEq)]
pub enum Stands {
    /// Even in area within a ring sector about the first emitter; in a town, brought to the middle of a street.
    Around {
        /// Least and greatest range.
        range: (Metres, Metres),
        /// Direction from the emitter at which the sector begins, clockwise from the plane's north.
        from: Angle,
        /// How far it goes on clockwise: above 0° and at most 360°.
        width: Angle,
    },
    /// At these points.
    At(Vec<PlanePoint>),
}

/// What is stated about the errors of bearings.
#[derive(Clone, Debug, PartialEq)]
pub enum Stated {
    /// One of these classes, drawn for each bearing. They are honest where the plan's factor is 1.
    Classes(Vec<OperatorClass>),
    /// One standard deviation for all.
    Sigma(Sigma<Angle>),
    /// Nothing; the errors have this standard deviation.
    Nothing(Sigma<Angle>),
}

/// Bearings that come from elsewhere, whatever the town reflects.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Foreign {
    /// From any direction.
    Anywhere,
    /// From one reflector that all of them share.
    Reflector(PlanePoint),
}

/// Errors of compasses.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Compass {
    /// What is added to every bearing.
    pub common: Angle,
    /// Standard deviation of a further error of each team; 0 for none.
    pub team: Angle,
    /// Share of stands beside steel or a truck.
    pub pulled: f64,
    /// Standard deviation of what such a neighbour adds.
    pub pull: Angle,
}

/// What a set of bearings is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct BearingPlan {
    /// From it follows everything that is drawn.
    pub seed: u64,
    /// Middle of the scene's plane.
    pub centre: Place,
    /// Time of the first bearing; the next follow every 12 minutes.
    pub start: Timestamp,
    /// Bearings, 1 to 10,000; as many as there are stands where those are named.
    pub count: usize,
    /// Where they are taken.
    pub stands: Stands,
    /// What is stated about their errors.
    pub stated: Stated,
    /// True standard deviation of the readings over the stated one: 1 where the statement is right.
    pub factor: f64,
    /// Errors of the compasses.
    pub compass: Compass,
    /// Declination that truly holds, east positive: the bearings are read from magnetic north. `None`: from true north.
    pub declination: Option<Angle>,
    /// Teams that take turns.
    pub teams: usize,
    /// Swings of each bearing; 0 writes none.
    pub swings: usize,
    /// What readings are rounded to; 0 for nothing.
    pub rounding: Angle,
    /// Share of bearings that come from elsewhere.
    pub foreign: f64,
    /// From where.
    pub elsewhere: Foreign,
    /// Share of bearings that were read over the antenna's back.
    pub reversed: f64,
    /// Whether levels with the antenna's front and back toward the bearing are written.
    pub levels: bool,
    /// How waves spread.
    pub propagation: Propagation,
    /// Standard deviation of the shadowing of each way by itself, which decides which way is the strongest.
    pub shadowing: Db,
    /// The antenna in the hand.
    pub antenna: Lobe,
    /// Power of the receiver's noise, below which no level falls.
    pub noise: Dbm,
    /// Who transmits: one or more, on one channel. The strongest way of all is what is read.
    pub emitters: Vec<Emitter>,
    /// Each emitter is moved to a point within this distance of its place, even in area; 0 leaves it there.
    pub scatter: Metres,
    /// Errors of the stands' positions.
    pub positioning: Positioning,
    /// Height of the antenna above ground.
    pub height: Metres,
}

/// Where a wave that was read came from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cause {
    /// From the emitter on this way.
    Way(Way),
    /// From elsewhere.
    Foreign,
}

impl Cause {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Way(way) => way.word(),
            Self::Foreign => "foreign",
        }
    }
}

/// What really was at a bearing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Told {
    /// Where the stand really was.
    pub at: Place,
    /// Which emitter was read, by its number in the plan.
    pub emitter: usize,
    /// Direction to that emitter from there, clockwise from true north.
    pub toward: Angle,
    /// Direction that the wave came from.
    pub arrival: Angle,
    /// How it came.
    pub cause: Cause,
    /// It was read over the antenna's back.
    pub reversed: bool,
    /// What the compass added: common, of the team, and of the place.
    pub compass: Angle,
    /// What the reading added, without rounding.
    pub reading: Angle,
}

/// Bearings: what was written down, and what really was.
#[derive(Clone, Debug, PartialEq)]
pub struct Bearings {
    /// The notes.
    pub readings: Vec<ReadBearing>,
    /// Where the first emitter really was at the start.
    pub truth: Place,
    /// All emitters, with their places in `plane`.
    pub emitters: Vec<Emitter>,
    /// The plane of the scene.
    pub plane: Plane,
    /// What really was at each bearing.
    pub told: Vec<Told>,
}
