//! Simulated hunts: how many minutes pass until somebody who begins at the edge of an invented scene ([`crate::simulate`])
//! stands within [`MET_WITHIN`] of its emitter, by ways to go about it.
//!
//! All ways meet the same scene, start at the same corner, and have the same luck with their n-th bearing. A hunt follows from
//! the seed, the kind and the number of its scene alone, so that tables are the same to the last bit for any number of threads.
//!
//! ```
//! use azimark::trial::hunt::{self, Kind, Task, Way};
//!
//! let outcome = Task { kind: Kind::Open, number: 0 }.attempt(1)?;
//! let truth = outcome.ended(Way::Truth).unwrap();
//! assert!(truth.met && truth.bearings == 0);
//! # Ok::<(), azimark::simulate::Refusal>(())
//! ```

mod climb;
mod log;
mod outcome;
mod place;
mod plot;
mod row;
mod table;
mod walker;
mod way;

pub use crate::{plan::MET_WITHIN, simulate::Kind};
pub use log::{header, read};
pub use outcome::{Ended, Outcome, Task, run, tasks};
pub use place::{KINDS, Place};
pub use plot::plot;
pub use row::{Quantile, Ratio, Row, rows};
pub use table::{json, table};
pub use way::Way;

/// A hunt ends after so many minutes.
pub const MOST_MINUTES: f64 = 120.0;

/// A bearing takes so many minutes: the antenna turned twice, the compass read, the note written. Common practice, no source.
pub const BEARING_MINUTES: f64 = 2.0;

/// People walk 5 km/h, in metres a minute: common practice, no source.
pub const PACE: f64 = 5_000.0 / 60.0;
