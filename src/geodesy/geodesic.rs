//! Geodesics on WGS 84, by Karney's algorithms ([`crate::sources::KARNEY2013`]).

use std::sync::LazyLock;

use geographiclib_rs::{DirectGeodesic, Geodesic, InverseGeodesic};

use crate::{
    geodesy::Place,
    units::{Angle, Metres},
};

/// The ellipsoid with its series coefficients, which are worth computing once only.
static WGS84: LazyLock<Geodesic> = LazyLock::new(Geodesic::wgs84);

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
    course_and_width(from, to).0
}

/// The shortest geodesic, and its reduced length: by how many metres its end moves sideways per radian of
/// turning the departure ([`crate::sources::KARNEY2013`] eq. 38).
pub(super) fn course_and_width(from: Place, to: Place) -> (Course, Metres) {
    let (distance, azi1, azi2, reduced, _): (f64, f64, f64, f64, f64) =
        WGS84.inverse(from.lat_degrees(), from.lon_degrees(), to.lat_degrees(), to.lon_degrees());
    let course = Course {
        distance: Metres::new(distance),
        departure: Angle::degrees(azi1).compass(),
        arrival: Angle::degrees(azi2).compass(),
    };
    (course, Metres::new(reduced))
}

/// The place reached from `from` along the geodesic that leaves it at `azimuth`, and the azimuth on
/// arrival. A negative distance goes backward.
///
/// Accurate to about 1e-8 m. A distance or an azimuth that is not a number or is infinite has no end: then
/// the start is given back, with an azimuth that is not a number.
pub fn destination(from: Place, azimuth: Angle, distance: Metres) -> (Place, Angle) {
    let (lat, lon, azi): (f64, f64, f64) =
        WGS84.direct(from.lat_degrees(), from.lon_degrees(), azimuth.to_degrees(), distance.value());
    // Rounding may leave a latitude beside a pole just above 90°.
    match Place::from_lat_lon_degrees(lat.clamp(-90.0, 90.0), lon) {
        Some(place) => (place, Angle::degrees(azi).compass()),
        None => (from, Angle::radians(f64::NAN)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(lat: f64, lon: f64) -> Place {
        Place::from_lat_lon_degrees(lat, lon).unwrap()
    }

    #[test]
    fn wellington_to_salamanca_is_as_the_library_documents_it() {
        // Documentation of GeographicLib's inverse problem: 19959679.267 m; further digits recomputed with
        // geographiclib 2.1. Tolerance 1e-7 m: ten times the algorithm's stated 15 nm.
        let c = course(place(-41.32, 174.81), place(40.96, -5.50));
        assert!((c.distance.value() - 19_959_679.267_353_82).abs() < 1e-7);
        assert!((c.departure.to_degrees() - 161.067_669_986_16).abs() < 1e-10);
        assert!((c.arrival.to_degrees() - 18.825_195_123_247).abs() < 1e-10);
    }

    #[test]
    fn the_near_antipodal_example_is_solved() {
        // KARNEY2013, section 5: (-30, 0) to (29.9, 179.8).
        let c = course(place(-30.0, 0.0), place(29.9, 179.8));
        assert!((c.distance.value() - 19_989_832.827_609_53).abs() < 1e-7);
        assert!((c.departure.to_degrees() - 161.890_524_736).abs() < 1e-8);
        assert!((c.arrival.to_degrees() - 18.090_737_246).abs() < 1e-8);
    }

    #[test]
    fn ten_thousand_kilometres_from_40_north_end_where_the_paper_says() {
        // KARNEY2013, table 2: direct problem from latitude 40°, azimuth 30°, 10 000 km.
        let (end, azimuth) = destination(place(40.0, 0.0), Angle::degrees(30.0), Metres::km(10_000.0));
        assert!((end.lat_degrees() - 41.793_310_205_06).abs() < 1e-10);
        assert!((end.lon_degrees() - 137.844_900_043_77).abs() < 1e-10);
        assert!((azimuth.to_degrees() - 149.090_169_318_07).abs() < 1e-10);
    }

    #[test]
    fn a_destination_without_meaning_keeps_the_start_and_has_no_azimuth() {
        let start = place(47.0, 8.0);
        for (azimuth, distance) in
            [(f64::NAN, 1.0), (0.0, f64::NAN), (0.0, f64::INFINITY), (f64::INFINITY, 1.0)]
        {
            let (end, arrival) = destination(start, Angle::radians(azimuth), Metres::new(distance));
            assert_eq!(end, start);
            assert!(arrival.to_radians().is_nan());
        }
        destination(start, Angle::degrees(1e300), Metres::new(1e300));
    }
}
