//! Universal Transverse Mercator on WGS 84, by Krüger's series to the sixth order ([`crate::sources::KARNEY2011`]).

use crate::{geodesy::Place, units::Angle};

/// Equatorial radius and flattening of WGS 84.
const RADIUS_M: f64 = 6_378_137.0;
const FLATTENING: f64 = 1.0 / 298.257_223_563;

/// Scale on the central meridian, false easting, and false northing of the southern hemisphere.
const SCALE: f64 = 0.9996;
const FALSE_EASTING_M: f64 = 500_000.0;
const FALSE_NORTHING_M: f64 = 10_000_000.0;

/// Latitude bands of 8° from 80° S, the last of 12°.
const BANDS: &[u8; 20] = b"CDEFGHJKLMNPQRSTUVWX";

/// Third flattening n, and the powers of n that the series use.
const N: f64 = FLATTENING / (2.0 - FLATTENING);

/// Coefficients α of the forward series and β of the inverse one (Karney 2011 eqs. 35 and 36), each a polynomial in n
/// from its lowest power on.
const FORWARD: [&[f64]; 6] = [
    &[0.5, -2.0 / 3.0, 5.0 / 16.0, 41.0 / 180.0, -127.0 / 288.0, 7_891.0 / 37_800.0],
    &[13.0 / 48.0, -3.0 / 5.0, 557.0 / 1_440.0, 281.0 / 630.0, -1_983_433.0 / 1_935_360.0],
    &[61.0 / 240.0, -103.0 / 140.0, 15_061.0 / 26_880.0, 167_603.0 / 181_440.0],
    &[49_561.0 / 161_280.0, -179.0 / 168.0, 6_601_661.0 / 7_257_600.0],
    &[34_729.0 / 80_640.0, -3_418_889.0 / 1_995_840.0],
    &[212_378_941.0 / 319_334_400.0],
];
const INVERSE: [&[f64]; 6] = [
    &[0.5, -2.0 / 3.0, 37.0 / 96.0, -1.0 / 360.0, -81.0 / 512.0, 96_199.0 / 604_800.0],
    &[1.0 / 48.0, 1.0 / 15.0, -437.0 / 1_440.0, 46.0 / 105.0, -1_118_711.0 / 3_870_720.0],
    &[17.0 / 480.0, -37.0 / 840.0, -209.0 / 4_480.0, 5_569.0 / 90_720.0],
    &[4_397.0 / 161_280.0, -11.0 / 504.0, -830_251.0 / 7_257_600.0],
    &[4_583.0 / 161_280.0, -108_847.0 / 3_991_680.0],
    &[20_648_693.0 / 638_668_800.0],
];

/// A position in UTM. Northings of the southern hemisphere count from 10,000 km at the equator.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Utm {
    zone: u8,
    south: bool,
    easting: f64,
    northing: f64,
}

impl Utm {
    /// From a zone (1 to 60), hemisphere, easting and northing in metres. `None` beyond what the grid is used for:
    /// eastings of 0 to 1,000 km, northings of 0 to 10,000 km (0 to 9,350 km in the north).
    pub fn new(zone: u8, south: bool, easting: f64, northing: f64) -> Option<Self> {
        let most = if south { FALSE_NORTHING_M } else { 9_350_000.0 };
        let sound = (1..=60).contains(&zone)
            && (0.0..=1_000_000.0).contains(&easting)
            && (0.0..=most).contains(&northing);
        sound.then_some(Self { zone, south, easting, northing })
    }

    /// The position of a place in the zone that its longitude (and the exceptions of Norway and Svalbard) gives; `None`
    /// north of 84° and south of 80° S, where the polar grid takes over.
    pub fn of(place: Place) -> Option<Self> {
        zone_of(place).map(|zone| Self::in_zone(place, zone))
    }

    /// The position in a stated zone, 1 to 60; accurate to a nanometre within 35° of its central meridian.
    pub fn in_zone(place: Place, zone: u8) -> Self {
        let (xi, eta, _) = project(place, zone);
        let south = place.lat_degrees() < 0.0;
        let northing = SCALE * rectifying_radius() * xi + if south { FALSE_NORTHING_M } else { 0.0 };
        let easting = FALSE_EASTING_M + SCALE * rectifying_radius() * eta;
        Self { zone, south, easting, northing }
    }

    /// Zone, 1 to 60.
    pub const fn zone(self) -> u8 {
        self.zone
    }

    /// Metres east, 500,000 on the central meridian.
    pub const fn easting(self) -> f64 {
        self.easting
    }

    /// Metres north of the equator, or of a line 10,000 km south of it in the southern hemisphere.
    pub const fn northing(self) -> f64 {
        self.northing
    }

    /// Zone and latitude band, such as `11T`.
    pub fn zone_and_band(self) -> String {
        format!("{}{}", self.zone, band(self.place().lat_degrees()))
    }

    /// The place.
    pub fn place(self) -> Place {
        let north = self.northing - if self.south { FALSE_NORTHING_M } else { 0.0 };
        let scale = SCALE * rectifying_radius();
        let (xi, eta) = (north / scale, (self.easting - FALSE_EASTING_M) / scale);
        let (mut xi1, mut eta1) = (xi, eta);
        for (j, beta) in series(&INVERSE).into_iter().enumerate() {
            let k = 2.0 * (j + 1) as f64;
            xi1 -= beta * (k * xi).sin() * (k * eta).cosh();
            eta1 -= beta * (k * xi).cos() * (k * eta).sinh();
        }
        let (sinh, cos) = (eta1.sinh(), xi1.cos());
        let lat = geographic(xi1.sin() / sinh.hypot(cos)).atan().to_degrees();
        let lon = central_meridian(self.zone) + sinh.atan2(cos).to_degrees();
        // The ranges of `new` keep latitude and longitude inside theirs.
        Place::from_lat_lon_degrees(lat.clamp(-90.0, 90.0), lon).expect("inside the range of a place")
    }
}

/// Convergence at a place in a zone: the azimuth of grid north from true north, positive where grid north lies east
/// (Karney 2011 eqs. 24 to 26): true bearing = grid bearing + convergence.
pub fn convergence(place: Place, zone: u8) -> Angle {
    Angle::radians(project(place, zone).2)
}

/// The zone of a place by its longitude, with the exceptions of south-west Norway and of Svalbard.
pub fn zone_of(place: Place) -> Option<u8> {
    let (lat, lon) = (place.lat_degrees(), place.lon_degrees());
    if !(-80.0..84.0).contains(&lat) {
        return None;
    }
    let plain = (((lon + 180.0) / 6.0).floor() as i32).rem_euclid(60) as u8 + 1;
    Some(match (lat, lon) {
        (56.0..64.0, 3.0..12.0) => 32,
        (72.0.., 0.0..9.0) => 31,
        (72.0.., 9.0..21.0) => 33,
        (72.0.., 21.0..33.0) => 35,
        (72.0.., 33.0..42.0) => 37,
        _ => plain,
    })
}

/// Letter of the latitude band.
pub fn band(lat: f64) -> char {
    let index = ((lat + 80.0) / 8.0).floor().clamp(0.0, 19.0) as usize;
    char::from(BANDS[index])
}

/// Southern and northern edge of a band, degrees; `None` for a letter that is no band.
pub fn band_edges(letter: char) -> Option<(f64, f64)> {
    let index = BANDS.iter().position(|b| char::from(*b) == letter)?;
    let south = -80.0 + 8.0 * index as f64;
    Some((south, if letter == 'X' { 84.0 } else { south + 8.0 }))
}

fn central_meridian(zone: u8) -> f64 {
    6.0 * f64::from(zone) - 183.0
}

/// A = a/(1+n) (1 + n²/4 + n⁴/64 + n⁶/256), Karney 2011 eq. 14.
fn rectifying_radius() -> f64 {
    RADIUS_M / (1.0 + N) * (1.0 + N.powi(2) / 4.0 + N.powi(4) / 64.0 + N.powi(6) / 256.0)
}

fn series(table: &[&[f64]; 6]) -> [f64; 6] {
    std::array::from_fn(|j| table[j].iter().rev().fold(0.0, |sum, c| sum * N + c) * N.powi(j as i32 + 1))
}

fn eccentricity() -> f64 {
    (FLATTENING * (2.0 - FLATTENING)).sqrt()
}

/// Tangent of the conformal latitude, from that of the geographic latitude (Karney 2011 eqs. 7 to 9).
fn conformal(tau: f64) -> f64 {
    let e = eccentricity();
    let sigma = (e * (e * tau / tau.hypot(1.0)).atanh()).sinh();
    tau * sigma.hypot(1.0) - sigma * tau.hypot(1.0)
}

/// The inverse of [`conformal`] by Newton's method (Karney 2011 eqs. 19 to 21); three steps reach full precision.
fn geographic(conformal_tau: f64) -> f64 {
    let e2 = eccentricity().powi(2);
    let mut tau = conformal_tau / (1.0 - e2);
    for _ in 0..5 {
        let there = conformal(tau);
        let step = (conformal_tau - there) / there.hypot(1.0) * (1.0 + (1.0 - e2) * tau * tau)
            / ((1.0 - e2) * tau.hypot(1.0));
        tau += step;
    }
    tau
}

/// ξ, η and the convergence in radians.
fn project(place: Place, zone: u8) -> (f64, f64, f64) {
    let tau = conformal(place.lat_degrees().to_radians().tan());
    let turn = Angle::degrees(place.lon_degrees() - central_meridian(zone)).wrapped().to_radians();
    let (sin, cos) = turn.sin_cos();
    let (xi1, eta1) = (tau.atan2(cos), (sin / tau.hypot(cos)).asinh());
    let (mut xi, mut eta, mut p, mut q) = (xi1, eta1, 1.0, 0.0);
    for (j, alpha) in series(&FORWARD).into_iter().enumerate() {
        let k = 2.0 * (j + 1) as f64;
        let ((s, c), (sh, ch)) = ((k * xi1).sin_cos(), ((k * eta1).sinh(), (k * eta1).cosh()));
        xi += alpha * s * ch;
        eta += alpha * c * sh;
        p += k * alpha * c * ch;
        q += k * alpha * s * sh;
    }
    let convergence = (tau / tau.hypot(1.0) * sin).atan2(cos) + q.atan2(p);
    (xi, eta, convergence)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geodesy::course;

    /// Twelve places by PROJ 9.5.1 (fixtures/geodesy/SOURCE.md): eastings and northings printed to 1e-6 m.
    #[test]
    fn positions_and_convergence_agree_with_an_independent_library() {
        let mut rows = 0;
        for line in include_str!("../../fixtures/geodesy/utm_convergence.csv").lines().skip(1) {
            let v: Vec<&str> = line.split(',').collect();
            let f = |i: usize| v[i].parse::<f64>().unwrap();
            let place = Place::from_lat_lon_degrees(f(0), f(1)).unwrap();
            let zone: u8 = v[2].parse().unwrap();
            let utm = Utm::in_zone(place, zone);
            assert!((utm.easting() - f(4)).abs() < 2e-6, "{line}: {}", utm.easting());
            assert!((utm.northing() - f(5)).abs() < 2e-6, "{line}: {}", utm.northing());
            let turn = convergence(place, zone).to_degrees();
            // The library takes its convergence from finite differences, good to a few 1e-10 degrees.
            assert!((turn - f(7)).abs() < 1e-9, "{line}: {turn:.13}");
            let back = Utm::new(zone, v[3] == "S", utm.easting(), utm.northing()).unwrap().place();
            // A hundredth of a micrometre on the ground.
            let off = course(place, back).distance.value();
            assert!(off < 1e-8, "{line}: {off:e}");
            rows += 1;
        }
        assert_eq!(rows, 12);
    }

    /// Flinders Peak, Geocentric Datum of Australia technical manual (on GRS 80, whose flattening differs from WGS 84's
    /// in the eighth digit: 0.1 mm of northing): 273741.297 E, 5796489.777 N, zone 55, convergence 1°35'03.65".
    #[test]
    fn flinders_peak_has_its_published_grid_position() {
        let lat = -(37.0 + 57.0 / 60.0 + 3.720_30 / 3600.0);
        let place = Place::from_lat_lon_degrees(lat, 144.0 + 25.0 / 60.0 + 29.524_40 / 3600.0).unwrap();
        let utm = Utm::of(place).unwrap();
        assert_eq!(utm.zone_and_band(), "55H");
        assert!((utm.easting() - 273_741.297).abs() < 1e-3 && (utm.northing() - 5_796_489.777).abs() < 1e-3);
        let published = 1.0 + 35.0 / 60.0 + 3.65 / 3600.0;
        assert!((convergence(place, 55).to_degrees() - published).abs() < 2e-6);
    }

    #[test]
    fn zones_keep_the_exceptions_of_norway_and_svalbard() {
        let zone = |lat, lon| zone_of(Place::from_lat_lon_degrees(lat, lon).unwrap());
        assert_eq!(zone(60.0, 5.0), Some(32));
        assert_eq!(zone(78.0, 15.0), Some(33));
        assert_eq!(zone(46.95, -118.36), Some(11));
        assert_eq!(zone(0.0, 180.0), Some(1));
        assert_eq!(zone(0.0, -179.9), Some(1));
        assert_eq!((zone(84.1, 0.0), zone(-80.1, 0.0)), (None, None));
    }
}
