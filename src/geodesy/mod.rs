//! Places on the WGS 84 ellipsoid, geodesics between them, grids and the texts that people write
//! coordinates in. No function here takes or gives a bare pair of numbers for a place.

mod epsg;
mod geodesic;
mod grid;
pub mod mgrs;
mod place;
mod plane;
pub mod plus_code;
pub mod text;
mod utm;

pub use geodesic::{Course, course, destination};
pub use grid::{FromGrid, GridError, GridFrame, from_epsg};
pub use place::Place;
pub use plane::{Plane, PlanePoint};
pub use utm::{Utm, band_edges, zone_of};
