//! True, magnetic and grid north against published figures and independent computations.

use azimark::{
    finding::Severity,
    geodesy::{GridFrame, Place, Utm},
    ingest::{self, bearings},
    north::{Compass, NorthError, Settings, TrueBearing, declination, declination_at, resolve},
    units::{Angle, Metres, Sigma},
};
use jiff::civil::{Date, date};

fn rows(text: &'static str) -> impl Iterator<Item = Vec<f64>> {
    text.lines().skip(1).map(|line| line.split(',').map(|cell| cell.parse().expect("a number")).collect())
}

fn place(lat: f64, lon: f64) -> Place {
    Place::from_lat_lon_degrees(lat, lon).expect("inside the range of a place")
}

fn miss(found: Angle, expected_degrees: f64) -> f64 {
    found.miss_from(Angle::degrees(expected_degrees)).to_degrees().abs()
}

/// The day in which a moment of decimal years lies, and by how many years it begins earlier: at most one day.
fn day_of(year: f64) -> (Date, f64) {
    let first = date(year.floor() as i16, 1, 1);
    let days = f64::from(first.days_in_year());
    let whole = (year.fract() * days).floor();
    (first.saturating_add(jiff::Span::new().days(whole as i64)), year.fract() - whole / days)
}

/// The model is evaluated in single precision: components of up to 60,000 nT carry steps of 0.004 nT, and some twenty of
/// them add up. Across a horizontal field H that is an angle of 0.02 nT / H: 0.0001° at 12,000 nT, 0.0006° at 2,000 nT.
const COMPONENT_NT: f64 = 0.02;

/// The hundred official test values of the World Magnetic Model 2025 (WMM2025; fixtures/magnetic/SOURCE.md), with heights.
/// D is printed to 0.01° and must agree to half of that; atan2(Y, X) gives it to 1e-6° and must agree to the model's
/// single precision. The file's rates carry both from the file's moment to the beginning of the day: half a day at most.
#[test]
fn all_official_values_of_the_magnetic_model_are_met() {
    let (mut met, mut refused) = (0, 0);
    for row in rows(include_str!("../fixtures/magnetic/wmm2025_test_values.csv")) {
        let [year, height, lat, lon, printed, _, horizontal, x, y, _, _, rate, _, dh, ..] = row[..] else {
            panic!("eighteen columns: {row:?}");
        };
        let (day, early) = day_of(year);
        let found = declination_at(place(lat, lon), Metres::km(height), day);
        if horizontal < 2_000.0 {
            assert_eq!(found, Err(NorthError::NearMagneticPole), "{row:?}");
            refused += 1;
            continue;
        }
        let found = found.unwrap_or_else(|e| panic!("{row:?}: {e}"));
        let limit = (COMPONENT_NT / horizontal).to_degrees();
        let exact = y.atan2(x).to_degrees() - rate * early;
        assert!(miss(found.angle, exact) < limit, "{row:?}: {:e}, limit {limit:e}", miss(found.angle, exact));
        assert!(miss(found.angle, printed - rate * early) < 0.005 + limit, "{row:?}: {:?}", found.angle);
        // H comes from single precision too, with steps of 0.002 nT and the same sum of terms.
        assert!((found.horizontal_nt - (horizontal - dh * early)).abs() < 2.0 * COMPONENT_NT, "{row:?}");
        met += 1;
    }
    assert_eq!((met, refused), (98, 2));
}

/// Eight towns at two dates by pygeomag 1.1.0 (the same model in double precision) and ppigrf 2.1.0 (IGRF-14, another
/// model of the same field; fixtures/magnetic/SOURCE.md). The second date is half a day beyond the beginning of 2 July; no
/// declination there changes by more than 0.3° in a year, which is 0.0005° in half a day. The two models differ by 0.034°
/// at most: an eighth of the standard error that is stated for either.
#[test]
fn towns_agree_with_an_independent_evaluation_and_with_another_model() {
    let mut count = 0;
    for row in rows(include_str!("../fixtures/magnetic/declination_wmm2025_igrf14.csv")) {
        let [lat, lon, height, year, wmm, _, _, igrf, ..] = row[..] else { panic!("ten columns: {row:?}") };
        let (day, early) = day_of(year);
        let found = declination_at(place(lat, lon), Metres::km(height), day).unwrap();
        assert!(miss(found.angle, wmm) < 1e-4 + 0.3 * early, "{row:?}: {:?}", found.angle);
        assert!(miss(found.angle, igrf) < 0.035, "{row:?}: {:?}", found.angle);
        assert!(miss(found.angle, igrf) < found.sigma.to_degrees() / 7.0, "{row:?}");
        count += 1;
    }
    assert_eq!(count, 16);
    // Boulder, 40° N 105.25° W, 1.6 km, 2025.0: 7.793238° east.
    let boulder = declination_at(place(40.0, -105.25), Metres::km(1.6), date(2025, 1, 1)).unwrap();
    assert!(miss(boulder.angle, 7.793_238) < 1e-5, "{boulder:?}");
}

/// Heights of stands are not asked for, as they do not matter: where a compass is of use, a kilometre changes the
/// declination by less than a twentieth of its error.
#[test]
fn a_kilometre_of_height_does_not_matter() {
    let day = date(2027, 6, 15);
    let mut widest = 0.0f64;
    for lat in (-85..=85).step_by(5) {
        for lon in (-180..180).step_by(10) {
            let at = place(f64::from(lat), f64::from(lon));
            let Ok(low) = declination(at, day) else { continue };
            let high = declination_at(at, Metres::km(1.0), day).unwrap();
            if low.compass() == Compass::Usable {
                let turned = low.angle.miss_from(high.angle).to_degrees().abs();
                assert!(turned < low.sigma.to_degrees() / 20.0, "{at:?}: {turned}");
                widest = widest.max(turned);
            }
        }
    }
    assert!((0.005..0.03).contains(&widest), "the documentation says 0.03°: {widest}");
}

/// √(0.26² + (5417/H)²)° for H in nanotesla (WMM2025, section 3.4). By hand, for two of the official rows:
/// H = 24300.76 nT, 5417/H = 0.222915, √(0.0676 + 0.049691) = 0.342478.
#[test]
fn the_error_of_the_declination_grows_towards_the_poles() {
    let asia = declination_at(place(43.0, 93.0), Metres::km(65.0), date(2025, 1, 1)).unwrap();
    assert!((asia.sigma.to_degrees() - 0.342_478).abs() < 1e-6, "{asia:?}");
    assert_eq!(asia.compass(), Compass::Usable);
    // H = 2164.29 nT: 5417/H = 2.502905; the compass is unreliable below 6,000 nT.
    let arctic = declination_at(place(80.0, -96.0), Metres::km(48.0), date(2025, 1, 1)).unwrap();
    assert!((arctic.sigma.to_degrees() - 2.516_373).abs() < 1e-5, "{arctic:?}");
    assert_eq!(arctic.compass(), Compass::Unreliable);
}

#[test]
fn the_model_is_used_within_its_span_only() {
    let town = place(46.955, -118.36);
    for day in [date(2025, 1, 1), date(2028, 2, 29), date(2028, 12, 31), date(2029, 12, 31)] {
        assert!(declination(town, day).is_ok(), "{day}");
    }
    for day in [date(2024, 12, 31), date(2030, 1, 1), date(1, 1, 1), date(9999, 12, 31), date(-1, 1, 1)] {
        let error = declination(town, day).unwrap_err();
        assert_eq!(error, NorthError::OutOfDate(day));
        let span = "is outside the span of the World Magnetic Model 2025, 2025-01-01 to 2029-12-31";
        assert_eq!(error.to_string(), format!("the date {day} {span}"));
    }
    for height in [-2.0, 851.0, f64::NAN, f64::INFINITY] {
        let found = declination_at(town, Metres::km(height), date(2026, 1, 1));
        assert_eq!(found, Err(NorthError::TooHigh), "{height}");
    }
}

/// Places inside of the zones where the horizontal field is below 2,000 nT; the northern one takes in the geographic pole,
/// the southern one does not.
#[test]
fn near_a_magnetic_pole_there_is_no_declination() {
    for (lat, lon) in [(85.7, 139.0), (-63.8, 135.0), (90.0, 0.0), (90.0, 77.0)] {
        let found = declination(place(lat, lon), date(2026, 3, 17));
        assert_eq!(found, Err(NorthError::NearMagneticPole), "{lat} {lon}");
    }
    assert!(declination(place(-90.0, 0.0), date(2026, 3, 17)).is_ok_and(|d| d.horizontal_nt > 16_000.0));
}

const HEAD: &str = "id,lat,lon,bearing,north,time\n";

/// Bearings of a table brought to true north, with what is told: severity, code, message.
fn resolved(rows: &str, settings: &Settings) -> (Vec<TrueBearing>, Vec<(Severity, &'static str, String)>) {
    let read = bearings("notes.csv", format!("{HEAD}{rows}").as_bytes(), &ingest::Settings::default());
    assert!(read.findings.is_empty(), "{:?}", read.findings);
    let out = resolve(&read.rows, settings);
    let told = out.findings.iter().map(|f| (f.severity, f.code, f.message.clone())).collect();
    (out.bearings, told)
}

/// The declination that is added is the model's at the stand and on the day.
#[test]
fn a_magnetic_bearing_gains_the_declination_of_its_stand_and_day() {
    let (found, told) =
        resolved("a,46.955,-118.36,350,magnetic,2026-03-17T15:40:00Z\n", &Settings::default());
    let model = declination(place(46.955, -118.36), date(2026, 3, 17)).unwrap();
    // East of true north, so that 350° becomes 003°.
    assert!((13.0..15.0).contains(&model.angle.to_degrees()), "{model:?}");
    assert_eq!(found[0].correction(), model.angle);
    assert!(miss(found[0].azimuth(), 350.0 + model.angle.to_degrees()) < 1e-9);
    assert_eq!(found[0].shared_sigma(), Some(model.sigma));
    let [(Severity::Assumed, "declination", message)] = &told[..] else { panic!("{told:?}") };
    assert!(message.contains("EAST") && message.contains("World Magnetic Model 2025"), "{message}");
    // A true bearing stays what it is, and has no error of north.
    let (found, told) = resolved("a,46.955,-118.36,350,true,\n", &Settings::default());
    assert!(miss(found[0].azimuth(), 350.0) < 1e-12 && told.is_empty());
    assert_eq!((found[0].correction(), found[0].shared_sigma()), (Angle::ZERO, None));
}

#[test]
fn a_declination_by_hand_is_used_instead_of_the_model() {
    let sigma = Sigma::<Angle>::degrees(0.5).unwrap();
    let by_hand = Settings { declination: Some((Angle::degrees(-2.5), sigma)), ..Settings::default() };
    // Without a date, out of the model's date, and beside the magnetic pole: where the model has nothing to say.
    let rows = "a,46.955,-118.36,1,magnetic,\nb,46.955,-118.36,1,magnetic,2031-01-01\n\
                c,85.7,139,1,magnetic,2026-03-17T15:40:00Z\n";
    let (found, told) = resolved(rows, &by_hand);
    assert_eq!(found.len(), 3);
    for bearing in &found {
        assert!(miss(bearing.azimuth(), 358.5) < 1e-9, "{bearing:?}");
        assert_eq!(bearing.shared_sigma(), Some(sigma));
    }
    let message = "declination 2.5° WEST ± 0.5° (stated by hand) was added to 3 magnetic bearing(s)";
    assert_eq!(told, [(Severity::Assumed, "declination", message.to_owned())]);
}

#[test]
fn what_has_no_declination_is_refused_with_its_reason() {
    for (row, code, part) in [
        ("a,46.955,-118.36,1,magnetic,", "declination-needs-a-date", "bearing a is magnetic and has no date"),
        (
            "a,46.955,-118.36,1,magnetic,2031-01-01",
            "no-declination",
            "bearing a: the date 2031-01-01 is outside",
        ),
        ("a,85.7,139,1,magnetic,2026-03-17", "no-declination", "bearing a: a compass is of no use here"),
    ] {
        let read = bearings("notes.csv", format!("{HEAD}{row}\n").as_bytes(), &ingest::Settings::default());
        let out = resolve(&read.rows, &Settings::default());
        let [found] = &out.findings[..] else { panic!("{row}: {:?}", out.findings) };
        assert_eq!((found.severity, found.code, out.bearings.len()), (Severity::Refused, code, 0), "{row}");
        assert!(found.message.starts_with(part) && found.hint.is_some(), "{found}");
        assert_eq!(found.origin.as_ref().and_then(|o| o.line), Some(2));
    }
    // The date of the case stands in for a bearing's own, not over it.
    let dated = Settings { date: Some(date(2026, 3, 17)), ..Settings::default() };
    let (found, _) =
        resolved("a,46.955,-118.36,1,magnetic,\nb,46.955,-118.36,1,magnetic,2029-03-17\n", &dated);
    let model = |day| declination(place(46.955, -118.36), day).unwrap().angle;
    assert_eq!(found[0].correction(), model(date(2026, 3, 17)));
    assert_eq!(found[1].correction(), model(date(2029, 3, 17)));
}

/// A bearing that says no north does not become one, whatever else is known.
#[test]
fn an_unlabelled_north_is_never_guessed() {
    let text = format!("{HEAD}a,46.955,-118.36,70,,2026-03-17T15:40:00Z\n");
    let read = bearings("notes.csv", text.as_bytes(), &ingest::Settings::default());
    assert!(read.rows.is_empty());
    let [found] = &read.findings[..] else { panic!("{:?}", read.findings) };
    assert_eq!((found.severity, found.code), (Severity::Refused, "north-unlabelled"));
}

/// Flinders Peak to Buninyong, Geocentric Datum of Australia technical manual: true azimuth 306°52′05.37″, convergence
/// 1°35′03.65″ in size. The manual counts it with the opposite sign; here it is positive where grid north lies east of true
/// north, as it does west of the central meridian in the south. The bearing on the grid, from the eastings and northings
/// of both, misses the curve of the line by less than 0.006° over 55 km.
#[test]
fn a_grid_bearing_gains_the_convergence_of_utm() {
    let dms = |d: f64, m: f64, s: f64| d + m / 60.0 + s / 3600.0;
    let peak = place(-dms(37.0, 57.0, 3.720_30), dms(144.0, 25.0, 29.524_40));
    let buninyong = place(-dms(37.0, 39.0, 10.156_10), dms(143.0, 55.0, 35.383_90));
    let (here, there) = (Utm::of(peak).unwrap(), Utm::in_zone(buninyong, 55));
    let on_grid = (there.easting() - here.easting()).atan2(there.northing() - here.northing()).to_degrees();
    let row = format!(
        "a,{},{},{:.9},grid,\n",
        peak.lat_degrees(),
        peak.lon_degrees(),
        Angle::degrees(on_grid).compass().to_degrees()
    );
    let (found, told) = resolved(&row, &Settings::default());
    assert!(told.is_empty(), "{told:?}");
    assert!(
        miss(found[0].correction(), dms(1.0, 35.0, 3.65)) < 0.005 / 3600.0,
        "{:?}",
        found[0].correction()
    );
    assert!(miss(found[0].azimuth(), dms(306.0, 52.0, 5.37)) < 0.006, "{:?}", found[0].azimuth());
    // The wrong sign would miss by twice the convergence.
    assert!(miss(found[0].azimuth(), on_grid - dms(1.0, 35.0, 3.65)) > 3.0);
    assert_eq!(GridFrame::Utm { zone: 55 }.convergence(peak).unwrap(), found[0].correction());
}

/// Convergence by pyproj 3.7.2 (PROJ 9.5.1): for ETRS89 / UTM 32N and Washington South (feet) the projection's own factor,
/// whose ellipsoid GRS 80 is WGS 84 to 1e-10. For Swiss LV95 the factor counts from the north of the old datum, which lies
/// 0.0007° off; there, the azimuth of a hundred metres of northing on WGS 84, at its southern end: 50 m of it bend by less
/// than 1e-6° as close to the centre of the projection.
#[cfg(feature = "epsg")]
#[test]
fn a_grid_bearing_gains_the_convergence_of_its_own_grid() {
    for (code, easting, northing, convergence) in [
        (25832, 691_875.824, 5_335_949.633, 1.922_113_868),
        (2286, 1_900_003.595, 300_000.895, 0.744_047_203),
        (2056, 2_599_999.816, 1_199_999.693, -0.000_696_675),
    ] {
        let text = format!("easting,northing,epsg,bearing\n{easting},{northing},{code},55G\n");
        let read = bearings("x", text.as_bytes(), &ingest::Settings::default());
        let found = resolve(&read.rows, &Settings::default());
        assert!(found.findings.is_empty(), "{:?}", found.findings);
        let turn = found.bearings[0].correction().to_degrees();
        assert!((turn - convergence).abs() < 1e-6, "EPSG:{code}: {turn:.9}");
        assert!(miss(found.bearings[0].azimuth(), 55.0 + convergence) < 1e-6);
    }
}

/// Without the register a bearing from the north of such a grid is refused, not taken for true.
#[cfg(not(feature = "epsg"))]
#[test]
fn the_north_of_a_grid_that_is_not_built_in_is_refused() {
    let found = GridFrame::Epsg(2056).convergence(place(46.95, 7.44));
    assert_eq!(found, Err(azimark::geodesy::GridError::NotBuiltIn));
}
