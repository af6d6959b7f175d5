//! Map grids: easting and northing to places, and where grid north lies.

use crate::{
    geodesy::{Place, epsg, utm},
    units::Angle,
};

/// Which map grid a coordinate or a grid bearing belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GridFrame {
    /// Universal Transverse Mercator on WGS 84: zone 1 to 60.
    Utm {
        /// Zone number, 1 to 60.
        zone: u8,
    },
    /// A projected grid by its EPSG code.
    Epsg(u32),
}

/// A place from a grid, and how it came about.
#[derive(Clone, Debug, PartialEq)]
pub struct FromGrid {
    /// The place on WGS 84.
    pub place: Place,
    /// The operation that was chosen, in the words of the library.
    pub operation: String,
    /// Its stated accuracy in metres.
    pub accuracy: f64,
    /// Length of the grid's unit in metres: 1 for most, about 0.3048 for grids in feet.
    pub unit: f64,
}

/// Why a grid position has no place.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum GridError {
    /// The code is not in the register, or is no grid of the plane with eastings and northings.
    UnknownCode(u32),
    /// The position lies more than 5 degrees outside of the area that the grid was made for.
    Outside(u32),
    /// No operation of known accuracy leads from there to WGS 84, or back.
    NoOperation(u32),
    /// This build has no register of grids.
    NotBuiltIn,
}

impl std::fmt::Display for GridError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::UnknownCode(code) => {
                write!(f, "EPSG:{code} is not a grid with eastings and northings that the register knows")
            }
            Self::NoOperation(code) => {
                write!(f, "no operation of known accuracy leads from grid EPSG:{code} to WGS 84 here")
            }
            Self::Outside(code) => write!(f, "this position lies outside of what grid EPSG:{code} covers"),
            Self::NotBuiltIn => write!(f, "this build reads UTM and MGRS but no other grids (feature epsg)"),
        }
    }
}

impl std::error::Error for GridError {}

impl GridFrame {
    /// Convergence at a place: the azimuth of grid north from true north, positive where it lies east, so that true
    /// bearing = grid bearing + convergence.
    ///
    /// For UTM by Krüger's series; for an EPSG grid from a step of 100 m along grid north, within 1e-6° of the formulas.
    ///
    /// # Errors
    /// [`GridError`] for an EPSG grid that is not known, does not cover the place, or is not built in.
    pub fn convergence(self, place: Place) -> Result<Angle, GridError> {
        match self {
            Self::Utm { zone } => Ok(utm::convergence(place, zone)),
            Self::Epsg(code) => epsg::convergence(code, place),
        }
    }
}

/// The place of an easting and northing in an EPSG grid, in the grid's own unit, by PROJ with its own choice of datum
/// operation. Datum grid files are not part of the build, so that the operation may be a coarser one; it is named with its
/// accuracy.
///
/// # Errors
/// [`GridError`], never a guess of another grid.
pub fn from_epsg(code: u32, easting: f64, northing: f64) -> Result<FromGrid, GridError> {
    epsg::place(code, easting, northing)
}
