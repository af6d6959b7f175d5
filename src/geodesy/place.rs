//! A place on the WGS 84 ellipsoid.

/// A place on the WGS 84 ellipsoid: geodetic latitude and longitude.
///
/// Latitude in [−90°, 90°], longitude in (−180°, 180°]; both finite. The order of the two numbers is in
/// the name of every constructor and getter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    lat: f64,
    lon: f64,
}

impl Place {
    /// From degrees; longitudes in [−540°, 540°] are wrapped. `None` when not finite or out of range.
    pub fn from_lat_lon_degrees(lat: f64, lon: f64) -> Option<Self> {
        if !(lat.abs() <= 90.0 && lon.abs() <= 540.0) {
            return None;
        }
        let turned = lon - 360.0 * (lon / 360.0).round();
        let lon = if turned <= -180.0 { 180.0 } else { turned };
        Some(Self { lat, lon })
    }

    /// Latitude in degrees, north positive.
    pub const fn lat_degrees(self) -> f64 {
        self.lat
    }

    /// Longitude in degrees, east positive, in (−180°, 180°].
    pub const fn lon_degrees(self) -> f64 {
        self.lon
    }

    /// `[longitude, latitude]` in degrees, the order of RFC 7946.
    pub const fn lon_lat(self) -> [f64; 2] {
        [self.lon, self.lat]
    }
}
