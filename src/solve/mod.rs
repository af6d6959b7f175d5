//! From true bearings to a posterior over the emitter's place: the problem, the likelihood, the search
//! that covers wherever the emitter can be, its modes, and a record of every bearing's miss.
//!
//! Nothing here reads a file or a clock, and nothing is drawn by chance: the same problem with the same
//! options gives the same answer to the last bit.

mod audit;
mod compass;
mod cut;
mod density;
mod drift;
mod edge;
mod evidence;
mod fit;
mod front;
mod kinds;
pub mod levels;
mod lobe;
mod modes;
mod nodes;
mod options;
mod overturn;
mod pair;
pub mod plain;
pub(crate) mod predict;
mod record;
mod scene;
mod search;
pub mod sectors;
pub(crate) mod sketch;
mod specular;
mod spots;
pub mod swing;
mod tiles;
mod together;
pub(crate) mod tree;
mod turns;
mod wide;

pub use audit::{NorthHypothesis, audit};
pub use drift::{Drift, drift};
pub use evidence::Memory;
pub use fit::{Fit, Mode, fit};
pub use kinds::{Kind, Kinds, contradict, kinds};
pub use options::{CompassPrior, FrontPrior, Loss, Options, Problem, SolveError};
pub use overturn::{Move, Overturn, TURN_DEGREES, overturn};
pub use pair::{Belongs, Pair, pair};
pub use record::{Agreement, Judgement, Record, Residual, SharedError, Verdict};
pub use specular::{Bounce, Specular, specular};
pub use spots::{OffSpot, Spot, spots};
pub use together::{Crossing, crossings, together};
