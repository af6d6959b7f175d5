//! From the north somebody read to true north. Nothing here guesses an unlabelled north: a
//! [`crate::observe::ReadBearing`] always says which north it was read from.

mod bearing;
mod declination;

pub use bearing::{Resolved, Settings, TrueBearing, convergence, in_words, resolve};
pub use declination::{Declination, NorthError, declination};
