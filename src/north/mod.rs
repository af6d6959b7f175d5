//! From the north somebody read to true north. Nothing here guesses an unlabelled north: a
//! [`crate::observe::ReadBearing`] always says which north it was read from.

mod bearing;

pub use bearing::{Resolved, Settings, TrueBearing, resolve};
