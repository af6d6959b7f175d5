//! Quantities as types: an [`Angle`] cannot be handed over as [`Metres`], and a [`Sigma`] is always
//! one standard deviation. Nothing here knows a place, a time or a file.

mod angle;
mod level;
mod scalar;
mod sigma;

pub use angle::{Angle, CircularMean, circular_mean};
pub use level::{Db, Dbm};
pub use scalar::{Hertz, Metres, SquareMetres, Watts};
pub use sigma::{Confidence, Sigma};
