//! Quantities as types: an [`Angle`] cannot be handed over as [`Metres`], and a [`Sigma`] is always
//! one standard deviation. Nothing here knows a place, a time or a file.

#[macro_use]
mod scalar;

mod angle;
mod field;
mod level;
mod sigma;

pub use angle::{Angle, CircularMean, circular_mean};
pub use field::{DbMicrovolt, DbMicrovoltPerMetre, DbPerMetre};
pub use level::{Db, Dbm};
pub use scalar::{Hertz, Metres, Ohms, SquareMetres, Watts, WattsPerSquareMetre};
pub use sigma::{Confidence, Sigma};
