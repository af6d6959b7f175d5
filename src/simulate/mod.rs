//! Seeded scenes with a physics of their own, to try solvers on: streets with façades that reflect and close off, emitters
//! that aim, switch and move, compasses that are wrong, receivers with a floor, positions that drift.
//!
//! Nothing here is shared with `solve`: a solver must not be tested on its own assumptions. What comes out are observations
//! as somebody would have written them down ([`crate::observe`]), with the truth beside them.
//!
//! Three ways in, each from a plan whose every number is open: [`bearings`], [`walk`] and [`sectors`]; their plans' defaults
//! are the plainest case, and a study adds one trouble at a time. [`Scene`] draws all three in one invented town, and
//! [`mod@write`] gives them as the files of a case.
//!
//! The same plan gives the same observations on every machine: chance is seeded, each part draws from a stream of its own,
//! and elementary functions are those of [`crate::numeric::portable`]. Only the last bits of places come from the
//! mathematics library of the system (geodesics): they are a millionth of what a written file shows.
//!
//! Left out: the polarisation of waves, reflections on the ground and by more than one façade, diffraction over roofs (it is
//! part of the loss behind buildings), receivers driven too hard.
//!
//! ```
//! use azimark::simulate::{self, BearingPlan, WalkPlan};
//!
//! let plan = BearingPlan { seed: 7, count: 12, reversed: 0.1, ..BearingPlan::default() };
//! let bearings = simulate::bearings(&plan)?;
//! assert_eq!(bearings.readings.len(), 12);
//!
//! let walk = simulate::walk(&WalkPlan { seed: 7, count: 300, ..WalkPlan::default() })?;
//! assert_eq!(walk.readings.len(), 300);
//! # Ok::<(), simulate::Refusal>(())
//! ```

mod bearing_plan;
mod bearings;
mod emitter;
mod fading;
mod field;
mod figures;
mod kind;
mod loss;
mod party;
mod plain;
mod positioning;
mod propagation;
mod receiver;
mod refusal;
mod route;
mod scene;
mod sectors;
mod stands;
mod town;
mod walk;
pub mod write;

pub use bearing_plan::{BearingPlan, Bearings, Cause, Compass, Foreign, Stands, Stated, Told};
pub use bearings::bearings;
pub use emitter::{Duty, Emitter, Pattern};
pub use fading::Fading;
pub use field::{Field, MOST_EXACT, Method, WAVES};
pub use figures::Figure;
pub use kind::Kind;
pub use loss::Law;
pub use party::{Party, Taken};
pub use positioning::Positioning;
pub use propagation::{Path, Propagation, Way, direction};
pub use receiver::{Attenuator, Below, Receiver};
pub use refusal::Refusal;
pub use scene::{Plan, Scene};
pub use sectors::{SectorLevel, SectorPlan, sectors};
pub use town::{Building, Spot, Town, TownPlan};
pub use walk::{MOST_READINGS, Prepared, Sample, Walk, WalkPlan, walk, within_disc};
