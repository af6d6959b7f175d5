//! From the north somebody read to true north. Nothing here guesses an unlabelled north: a
//! [`crate::observe::ReadBearing`] always says which north it was read from.

mod bearing;
mod declination;
mod hypothesis;
mod sector;

pub use bearing::{Resolved, Settings, TrueBearing, correction_in_words, in_words, resolve};
pub use declination::{Compass, Declination, NorthError, declination, declination_at};
pub use hypothesis::{Hypothesis, Treatment, hypotheses, untried};
pub use sector::{ResolvedSectors, TrueSector, resolve_sectors};
