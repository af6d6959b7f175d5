//! Geodesics on WGS 84, by Karney's algorithms ([`crate::sources::KARNEY2013`]).

use geographiclib_rs::{DirectGeodesic, Geodesic, InverseGeodesic};

use crate::{
    geodesy::Place,
    units::{Angle, Metres},
};

/// The geodesic from one place to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Course {
    /// Length.
    pub distance: Metres,
    /// Azimuth at the start, clockwise from true north, in [0°, 360°).
    pub departure: Angle,
    /// Azimuth at the end (still looking forward), clockwise from true north, in [0°, 360°).
    pub arrival: Angle,
}

/// Shortest geodesic from `from` to `to`.
///
/// Accurate to about 1e-8 m and, where the places are further apart than a metre, 1e-12 rad times
/// (radius ÷ distance). For coincident places the distance is zero and the azimuths are 000°; for
/// antipodal places one of the shortest paths is returned.
pub fn course(from: Place, to: Place) -> Course {
    let (distance, azi1, azi2, _): (f64, f64, f64, f64) =
        Geodesic::wgs84().inverse(from.lat_degrees(), from.lon_degrees(), to.lat_degrees(), to.lon_degrees());
    Course {
        distance: Metres::new(distance),
        departure: Angle::degrees(azi1).compass(),
        arrival: Angle::degrees(azi2).compass(),
    }
}

/// The place reached from `from` along the geodesic that leaves it at `azimuth`, and the azimuth on
/// arrival. A negative distance goes backward.
pub fn destination(from: Place, azimuth: Angle, distance: Metres) -> (Place, Angle) {
    let (lat, lon, azi): (f64, f64, f64) = Geodesic::wgs84().direct(
        from.lat_degrees(),
        from.lon_degrees(),
        azimuth.to_degrees(),
        distance.value(),
    );
    let place = Place::from_lat_lon_degrees(lat, lon).expect("a geodesic ends on the ellipsoid");
    (place, Angle::degrees(azi).compass())
}
