//! Areas that hold the emitter with a stated probability, and the customary figures beside them. A region
//! exists only where the data determine one; nothing here invents a covariance.

mod contour;
mod ellipse;
mod highest;

pub use ellipse::{Ellipse, Scale};
pub use highest::{NotDetermined, Part, Region, Ring};
