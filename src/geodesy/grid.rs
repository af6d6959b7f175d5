//! Map grids: easting and northing to places, and where grid north lies.

use crate::{
    geodesy::{Place, utm},
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
    /// Its stated accuracy in metres, where there is one.
    pub accuracy: Option<f64>,
}

/// Why a grid position has no place.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum GridError {
    /// The code is not in the register, or is not a grid of the plane.
    UnknownCode(u32),
    /// The position lies outside what the grid's formulas cover.
    Outside(u32),
    /// This build has no register of grids.
    NotBuiltIn,
}

impl std::fmt::Display for GridError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::UnknownCode(code) => write!(f, "EPSG:{code} is not a grid that the register knows"),
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
    /// For UTM by Krüger's series; for an EPSG grid from a step of 100 m along grid north, which is exact to the curvature
    /// of the grid lines over that step (below 0.001°).
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

/// The place of an easting and northing in an EPSG grid, by PROJ with its own choice of datum operation. Datum grid
/// files are not part of the build, so that the operation may be a coarser one; it is named with its accuracy.
///
/// # Errors
/// [`GridError`], never a guess of another grid.
pub fn from_epsg(code: u32, easting: f64, northing: f64) -> Result<FromGrid, GridError> {
    epsg::place(code, easting, northing)
}

#[cfg(feature = "epsg")]
mod epsg {
    use super::{FromGrid, GridError};
    use crate::{
        geodesy::{Place, course},
        units::{Angle, Metres},
    };
    use proj::Proj;

    fn to_wgs84(code: u32) -> Result<Proj, GridError> {
        Proj::new_known_crs(&format!("EPSG:{code}"), "EPSG:4326", None)
            .map_err(|_| GridError::UnknownCode(code))
    }

    pub fn place(code: u32, easting: f64, northing: f64) -> Result<FromGrid, GridError> {
        let projection = to_wgs84(code)?;
        let (lon, lat) = projection.convert((easting, northing)).map_err(|_| GridError::Outside(code))?;
        let sound = lat.is_finite() && lon.is_finite();
        let place =
            Place::from_lat_lon_degrees(lat, lon).filter(|_| sound).ok_or(GridError::Outside(code))?;
        let info = projection.proj_info();
        let operation = info.description.unwrap_or_default();
        let accuracy = Some(info.accuracy).filter(|a| *a >= 0.0);
        Ok(FromGrid { place, operation, accuracy })
    }

    pub fn convergence(code: u32, at: Place) -> Result<Angle, GridError> {
        let back = Proj::new_known_crs("EPSG:4326", &format!("EPSG:{code}"), None)
            .map_err(|_| GridError::UnknownCode(code))?;
        let (e, n) =
            back.convert((at.lon_degrees(), at.lat_degrees())).map_err(|_| GridError::Outside(code))?;
        let step = 50.0;
        let (south, north) = (place(code, e, n - step)?.place, place(code, e, n + step)?.place);
        let along = course(south, north);
        debug_assert!(along.distance > Metres::new(0.0), "a step of the grid has a length");
        Ok(along.departure.wrapped())
    }
}

#[cfg(not(feature = "epsg"))]
mod epsg {
    use super::{FromGrid, GridError};
    use crate::{geodesy::Place, units::Angle};

    pub fn place(_: u32, _: f64, _: f64) -> Result<FromGrid, GridError> {
        Err(GridError::NotBuiltIn)
    }

    pub fn convergence(_: u32, _: Place) -> Result<Angle, GridError> {
        Err(GridError::NotBuiltIn)
    }
}
