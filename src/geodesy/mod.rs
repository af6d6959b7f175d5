//! Places on the WGS 84 ellipsoid, geodesics between them, grids and the texts that people write
//! coordinates in. No function here takes or gives a bare pair of numbers for a place.

mod geodesic;
mod grid;
mod place;
mod plane;
pub mod text;

pub use geodesic::{Course, course, destination};
pub use grid::GridFrame;
pub use place::Place;
pub use plane::{Plane, PlanePoint};
