//! Geodesics against published figures and independent computations.

use azimark::{
    geodesy::{Place, course, destination},
    units::{Angle, Metres},
};

fn rows(text: &'static str) -> impl Iterator<Item = Vec<f64>> {
    text.lines().skip(1).map(|line| line.split(',').map(|cell| cell.parse().expect("a number")).collect())
}

fn place(lat: f64, lon: f64) -> Place {
    Place::from_lat_lon_degrees(lat, lon).expect("inside the range of a place")
}

fn miss(found: Angle, expected_degrees: f64) -> f64 {
    found.miss_from(Angle::degrees(expected_degrees)).to_degrees().abs()
}

/// Rounding to f64: 180° has steps of 3e-14°, and a handful of operations follows.
const ROUNDING_DEGREES: f64 = 2e-13;

/// The algorithm states 15 nm (KARNEY2013); positions of 1e-14° add 1 nm.
const NANOMETRES_15: f64 = 1.5e-8;

/// A hundred of Karney's GeodTest geodesics, computed by him in high precision (fixtures/geodesy/SOURCE.md). An azimuth
/// turned by α moves the end sideways by α times the reduced length m12: where that is short (neighbours, and places
/// nearly opposite one another) 15 nm of position are a large angle, and where it is nothing any azimuth will do.
#[test]
fn distances_and_azimuths_agree_with_karneys_test_set() {
    let mut count = 0;
    for row in rows(include_str!("../fixtures/geodesy/geodtest_100.csv")) {
        let [lat1, lon1, azi1, lat2, lon2, azi2, s12, _, m12, _] = row[..] else {
            panic!("ten columns: {row:?}")
        };
        let found = course(place(lat1, lon1), place(lat2, lon2));
        let off = (found.distance.value() - s12).abs();
        assert!(off < NANOMETRES_15, "{row:?}: {off:e} m");
        let limit = ROUNDING_DEGREES + (NANOMETRES_15 / m12.abs()).to_degrees();
        let turned = miss(found.departure, azi1).max(miss(found.arrival, azi2));
        assert!(turned < limit, "{row:?}: {turned:e} degrees, limit {limit:e}");
        count += 1;
    }
    assert_eq!(count, 100);
}

/// The same set as direct problems. Beside a pole the meridians converge: an azimuth there is as uncertain as the
/// longitude.
#[test]
fn destinations_agree_with_karneys_test_set() {
    let mut count = 0;
    for row in rows(include_str!("../fixtures/geodesy/geodtest_100.csv")) {
        let [lat1, lon1, azi1, lat2, lon2, azi2, s12, ..] = row[..] else { panic!("ten columns: {row:?}") };
        let (end, arrival) = destination(place(lat1, lon1), Angle::degrees(azi1), Metres::new(s12));
        let off = course(end, place(lat2, lon2)).distance.value();
        assert!(off < NANOMETRES_15, "{row:?}: {off:e} m");
        let from_pole = 6.36e6 * (90.0 - lat2.abs()).to_radians();
        let limit = ROUNDING_DEGREES + (NANOMETRES_15 / from_pole).to_degrees();
        let turned = miss(arrival, azi2);
        assert!(turned < limit, "{row:?}: {turned:e} degrees, limit {limit:e}");
        count += 1;
    }
    assert_eq!(count, 100);
}

/// 24 direct problems of 50 m to 60 km at any latitude, by geographiclib 2.1 (fixtures/geodesy/SOURCE.md), printed to
/// 1e-13° (10 nm) and 1e-12°. Back again, an azimuth over 50 m is no better than 10 nm / 50 m = 1e-8°.
#[test]
fn short_distances_agree_with_an_independent_library() {
    let mut count = 0;
    for row in rows(include_str!("../fixtures/geodesy/geodesic_short_range.csv")) {
        let [lat1, lon1, azi1, s12, lat2, lon2, azi2] = row[..] else { panic!("seven columns: {row:?}") };
        let start = place(lat1, lon1);
        let (end, arrival) = destination(start, Angle::degrees(azi1), Metres::new(s12));
        assert!((end.lat_degrees() - lat2).abs() < 1e-12, "{row:?}: {end:?}");
        assert!(miss(Angle::degrees(end.lon_degrees()), lon2) < 1e-12, "{row:?}: {end:?}");
        assert!(miss(arrival, azi2) < 1e-11, "{row:?}: {arrival:?}");
        let back = course(start, place(lat2, lon2));
        assert!((back.distance.value() - s12).abs() < 2e-8, "{row:?}: {back:?}");
        assert!(miss(back.departure, azi1) < (2e-8 / s12).to_degrees(), "{row:?}: {back:?}");
        count += 1;
    }
    assert_eq!(count, 24);
}

fn dms(degrees: f64, minutes: f64, seconds: f64) -> f64 {
    degrees + minutes / 60.0 + seconds / 3600.0
}

/// Flinders Peak to Buninyong, Geocentric Datum of Australia technical manual: printed to the millimetre and to 0.01″. The
/// manual's ellipsoid is GRS 80, whose flattening differs from WGS 84's by 1.6e-11: a thousandth of a millimetre here.
#[test]
fn flinders_peak_to_buninyong_is_as_the_manual_prints_it() {
    let peak = place(-dms(37.0, 57.0, 3.720_30), dms(144.0, 25.0, 29.524_40));
    let buninyong = place(-dms(37.0, 39.0, 10.156_10), dms(143.0, 55.0, 35.383_90));
    let there = course(peak, buninyong);
    assert!((there.distance.value() - 54_972.271).abs() < 5e-4, "{there:?}");
    let hundredth = 0.005 / 3600.0;
    assert!(miss(there.departure, dms(306.0, 52.0, 5.37)) < hundredth, "{there:?}");
    let back = course(buninyong, peak);
    assert!(miss(back.departure, dms(127.0, 10.0, 25.07)) < hundredth, "{back:?}");
}
