//! Areas that hold the emitter with a stated probability, and the customary figures beside them. A region
//! exists only where the data determine one; nothing here invents a covariance.

mod contour;
mod highest;

pub use highest::{NotDetermined, Region, Ring};
