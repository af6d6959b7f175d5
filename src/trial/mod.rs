//! The trial: how near the stated place is and how often the stated regions hold the emitter, by classes of invented scenes
//! ([`crate::simulate`]) and methods. What is claimed of coverage is measured here, with every trouble by itself; COVERAGE.md
//! has the table.
//!
//! A scene follows from the trial's seed, its class and its number alone, so that a table is the same whatever the number of
//! threads, and a trial that was broken off goes on where it stopped.
//!
//! ```
//! use azimark::trial::{self, Class};
//!
//! let mut outcomes = Vec::new();
//! trial::run(1, &[(Class::Clean, 0), (Class::Clean, 1)], 2, &mut |found| {
//!     outcomes.extend(found);
//!     true
//! })?;
//! let rows = trial::rows(&outcomes);
//! assert_eq!((rows[0].class, rows[0].scenes), (Class::Clean, 2));
//! # Ok::<(), azimark::simulate::Refusal>(())
//! ```

mod chart;
mod class;
mod draw;
mod outcome;
mod row;
mod run;
mod share;

pub use chart::chart;
pub use class::{Class, Group};
pub use draw::{Drawn, draw};
pub use outcome::{Method, Outcome, outcomes};
pub use row::{Row, overall, rows, table};
pub use run::{header, read, run};
pub use share::Share;

/// Confidences of the regions that are looked at; the last only to tell an answer that is confident and wrong.
pub const CONFIDENCES: [f64; 4] = [0.5, 0.9, 0.95, 0.99];

/// One place is called confident when it holds more than this share of the probability.
pub const CONFIDENT: f64 = 0.9;
