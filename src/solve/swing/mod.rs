//! A bearing from an antenna turned on the spot: the antenna's pattern is fitted to levels against headings.
//!
//! level(θ) = A − attenuation(θ − θ₀; beamwidth, depth) + error, with a pattern of [`crate::radio::Pattern`]. Everything
//! that is heard takes part, slopes and nulls as well as peaks; what lies below the receiver's floor counts as below it
//! ([`crate::sources::TOBIN1958`]). The steps:
//!
//! 1. *Cells.* A long log is brought to cells of 3°: neighbours in a swing share their error and must not count twice.
//! 2. *Posterior of the heading.* On a grid over the whole circle, for every family of patterns that may be meant, level,
//!    beamwidth and depth are fitted by damped least squares, and integrated out by the normal approximation around that
//!    fit; the scatter of the readings has a scaled inverse χ² prior and is integrated out too, which widens the answer as
//!    Student's t does where readings are few ([`crate::sources::GELMAN2013`]). The grid is refined where the mass is.
//! 3. *Direction.* The mean of the likeliest stretch; sigma is half of the distance from it that holds 95.45 % of the whole
//!    posterior, and never below [`LEAST_SIGMA`].
//! 4. *Doubts.* No pattern at all, two lobes, and two-way antennas are weighed by their evidence, the logarithm of the
//!    integral of likelihood times prior, of which BIC is the large-sample approximation.

mod bearing;
mod bound;
mod cells;
mod doubts;
mod fit;
mod model;
mod posterior;
mod prior;
mod two;

pub use bearing::{Turned, bearing, bearings};
pub use bound::bound;
pub use fit::{Direction, FrontToBack, LEAST_SIGMA, Null, Peak, SwingFit, fit};
