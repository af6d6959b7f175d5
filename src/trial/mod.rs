//! The trial: how near the stated place is and how often the stated regions hold the emitter, by classes of invented scenes
//! ([`crate::simulate`]) and methods. What is claimed of coverage is measured here, with every trouble by itself; the figures
//! of a long run stand in `src/trial/COVERAGE.md`.
//!
//! A scene follows from the trial's seed, its class and its number alone, so that a table is the same to the last bit whatever
//! the number of threads, and a trial that was broken off goes on where it stopped. Numbers are rounded as they are kept in
//! [`Outcome`], so that a table of stored outcomes is that of fresh ones. Only times differ, and tables leave them out.
//!
//! ```
//! use azimark::trial::{self, Class};
//!
//! let tasks = trial::tasks(&[Class::Clean], 2, 0);
//! let mut outcomes = Vec::new();
//! trial::run(1, &tasks, 2, &|| 0.0, &mut |outcome| {
//!     outcomes.push(outcome);
//!     true
//! })?;
//! let rows = trial::rows(&outcomes);
//! assert_eq!((rows[0].class, rows[0].scenes), (Class::Clean, 2));
//! # Ok::<(), azimark::simulate::Refusal>(())
//! ```
//!
//! [`hunt`] measures something else on such scenes: the minutes until somebody stands at the emitter.

mod class;
mod draw;
pub mod hunt;
mod log;
mod method;
mod outcome;
mod plot;
mod row;
mod run;
mod share;
mod table;

pub use class::{Class, Group};
pub use draw::{Drawn, Evidence, draw};
pub use log::{Flaw, Log, header, read};
pub use method::{Found, Method};
pub use outcome::Outcome;
pub use plot::plot;
pub use row::{Row, rows};
pub use run::{Task, run, tasks};
pub use share::Share;
pub use table::{json, table};

/// Confidences of the regions that are looked at; the last only to tell an answer that is confident and wrong.
pub const CONFIDENCES: [f64; 4] = [0.5, 0.9, 0.95, 0.99];

/// One place is called confident when it holds more than this share of the probability.
pub const CONFIDENT: f64 = 0.9;

/// The version whose figures these are.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");
