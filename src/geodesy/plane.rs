//! The one local plane of a problem: azimuthal equidistant at the centre of the stands.

use crate::{
    geodesy::{Place, course, destination, geodesic::course_and_width},
    units::{Angle, Metres},
};

/// A point of a [`Plane`], in metres from its centre. Without its plane it means nothing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlanePoint {
    /// Metres toward the centre's true east.
    pub east: f64,
    /// Metres toward the centre's true north.
    pub north: f64,
}

/// An azimuthal equidistant plane on WGS 84: a place lies at its geodesic distance and azimuth from the centre
/// ([`crate::sources::KARNEY2013`], section 8). True at any latitude, across 180° and at the poles.
///
/// Distances and directions *from the centre* are exact to about 1e-8 m. Elsewhere the plane is slightly
/// bent. A straight ray that leaves a stand in the direction of [`Plane::azimuth_in_plane`] points away from
/// the true geodesic azimuth of the places on it by no more than this (measured over all azimuths at
/// latitudes 0°, 47° and 80°):
///
/// | stand and place within | largest error of azimuth |
/// |---|---|
/// | 1 km | 1.0e-6° |
/// | 10 km | 1.0e-4° |
/// | 50 km | 2.5e-3° |
/// | 100 km | 1.0e-2° |
///
/// Places at the far side of the Earth (beyond about 19 900 km) have no useful point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plane {
    centre: Place,
}

impl Plane {
    /// The plane at the middle of `places`: the direction of the sum of their unit vectors (geodetic normals).
    ///
    /// `None` for no place at all, and where the vectors cancel so that no middle exists (a sum shorter than
    /// 1e-9 per place, for example two antipodal places).
    pub fn centred_on(places: &[Place]) -> Option<Self> {
        let mut sum = [0.0; 3];
        for place in places {
            let (lat, lon) = (place.lat_degrees().to_radians(), place.lon_degrees().to_radians());
            sum[0] += lat.cos() * lon.cos();
            sum[1] += lat.cos() * lon.sin();
            sum[2] += lat.sin();
        }
        let across = sum[0].hypot(sum[1]);
        if across.hypot(sum[2]) <= 1e-9 * places.len() as f64 {
            return None;
        }
        let lat = sum[2].atan2(across).to_degrees().clamp(-90.0, 90.0);
        let lon = sum[1].atan2(sum[0]).to_degrees();
        Place::from_lat_lon_degrees(lat, lon).map(|centre| Self { centre })
    }

    /// The centre, whose point is (0, 0).
    pub const fn centre(&self) -> Place {
        self.centre
    }

    /// The point of `place`.
    pub fn to_plane(&self, place: Place) -> PlanePoint {
        let from_centre = course(self.centre, place);
        let (sin, cos) = from_centre.departure.to_radians().sin_cos();
        let distance = from_centre.distance.value();
        PlanePoint { east: distance * sin, north: distance * cos }
    }

    /// The place of a point. The point must be finite; otherwise the centre comes back.
    pub fn to_place(&self, point: PlanePoint) -> Place {
        debug_assert!(point.east.is_finite() && point.north.is_finite(), "a point of the plane is finite");
        let azimuth = Angle::radians(point.east.atan2(point.north));
        destination(self.centre, azimuth, Metres::new(point.east.hypot(point.north))).0
    }

    /// The direction on the plane, clockwise from its north, in which the geodesic that leaves `at` at the true
    /// `azimuth` sets out.
    ///
    /// Exact: along the ray from the centre the plane keeps lengths; across it, it stretches them by distance ÷
    /// reduced length ([`crate::sources::KARNEY2013`] section 8). At the centre it is the azimuth itself.
    pub fn azimuth_in_plane(&self, at: Place, azimuth: Angle) -> Angle {
        let (from_centre, width) = course_and_width(self.centre, at);
        let off_ray = azimuth.miss_from(from_centre.arrival).to_radians();
        let distance = from_centre.distance.value();
        // Below a metre the stretch differs from 1 by less than 1e-14, and the division would not be defined at 0.
        let stretch = if distance > 1.0 { distance / width.value() } else { 1.0 };
        let turned = (stretch * off_ray.sin()).atan2(off_ray.cos());
        from_centre.departure.turned(Angle::radians(turned))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn place(lat: f64, lon: f64) -> Place {
        Place::from_lat_lon_degrees(lat, lon).unwrap()
    }

    /// Largest angle between a straight ray of the plane and the geodesic azimuth of the places on it, with the
    /// stand at `reach` from the centre and the places as far from the centre as from the stand.
    fn worst_azimuth(lat: f64, reach: f64) -> f64 {
        let plane = Plane::centred_on(&[place(lat, 10.0)]).unwrap();
        let mut worst: f64 = 0.0;
        for around in 0..12 {
            let (stand, _) = destination(
                plane.centre(),
                Angle::degrees(30.0 * f64::from(around) + 7.0),
                Metres::new(reach),
            );
            let at = plane.to_plane(stand);
            for degrees in 0..36 {
                let azimuth = Angle::degrees(10.0 * f64::from(degrees) + 3.0);
                let (sin, cos) = plane.azimuth_in_plane(stand, azimuth).to_radians().sin_cos();
                let far = PlanePoint { east: at.east + reach * sin, north: at.north + reach * cos };
                if far.east.hypot(far.north) > reach {
                    continue;
                }
                let seen = course(stand, plane.to_place(far)).departure;
                worst = worst.max(seen.miss_from(azimuth).to_degrees().abs());
            }
        }
        worst
    }

    #[test]
    fn a_straight_ray_keeps_the_true_azimuth_as_well_as_the_table_says() {
        for (km, limit) in [(1.0, 1.0e-6), (10.0, 1.0e-4), (50.0, 2.5e-3), (100.0, 1.0e-2)] {
            for lat in [0.0, 47.0, 80.0] {
                let worst = worst_azimuth(lat, 1e3 * km);
                println!("{km} km, latitude {lat}: {worst:.2e}°");
                assert!(worst < limit, "{km} km, latitude {lat}: {worst:e}");
            }
        }
    }

    #[test]
    fn points_and_places_are_inverses_everywhere() {
        for (lat, lon) in [(0.0, 179.999), (70.0, -150.0), (89.99, 30.0), (-90.0, 0.0), (47.0, 8.0)] {
            let plane = Plane::centred_on(&[place(lat, lon)]).unwrap();
            for (east, north) in [(0.0, 0.0), (1.0, -2.0), (3e3, 4e4), (-2e5, 1e5), (4e6, -3e6)] {
                let back = plane.to_plane(plane.to_place(PlanePoint { east, north }));
                // Twice the 15 nm that the geodesic algorithm states, and longitudes near a pole are no worse.
                let off = (back.east - east).hypot(back.north - north);
                assert!(off < 5e-8, "{lat} {lon} {east} {north}: {off:e}");
            }
        }
    }

    #[test]
    fn the_centre_lies_between_stands_on_both_sides_of_180_degrees() {
        let plane = Plane::centred_on(&[place(-17.0, 179.9), place(-17.0, -179.9)]).unwrap();
        assert!((plane.centre().lon_degrees().abs() - 180.0).abs() < 1e-9);
        let west = plane.to_plane(place(-17.0, 179.9));
        assert!(west.east < -10_000.0 && west.east > -11_000.0);
    }

    #[test]
    fn stands_around_a_pole_have_the_pole_as_centre() {
        let around: Vec<Place> = (0..4).map(|k| place(89.9, 90.0 * f64::from(k))).collect();
        let plane = Plane::centred_on(&around).unwrap();
        assert!((plane.centre().lat_degrees() - 90.0).abs() < 1e-9);
        // 0.1° of latitude at the pole is 11.17 km (meridian arc of WGS 84).
        for stand in &around {
            let p = plane.to_plane(*stand);
            assert!((p.east.hypot(p.north) - 11_169.4).abs() < 1.0);
        }
        // All stands look at the pole along 000°; on the plane these are four different directions inward.
        for stand in &around {
            let p = plane.to_plane(*stand);
            let inward = Angle::radians((-p.east).atan2(-p.north));
            let direction = plane.azimuth_in_plane(*stand, Angle::ZERO);
            assert!(direction.miss_from(inward).to_degrees().abs() < 1e-7);
        }
    }

    #[test]
    fn no_centre_where_the_places_cancel() {
        assert_eq!(Plane::centred_on(&[]), None);
        assert_eq!(Plane::centred_on(&[place(10.0, 20.0), place(-10.0, -160.0)]), None);
        assert!(Plane::centred_on(&[place(0.0, 0.0), place(0.0, 179.0)]).is_some());
    }

    #[test]
    fn at_the_centre_an_azimuth_stays_what_it_is() {
        for (lat, lon) in [(47.0, 8.0), (-90.0, 0.0), (90.0, 45.0)] {
            let here = place(lat, lon);
            let plane = Plane::centred_on(&[here]).unwrap();
            let direction = plane.azimuth_in_plane(plane.centre(), Angle::degrees(33.0));
            assert!(direction.miss_from(Angle::degrees(33.0)).to_degrees().abs() < 1e-9);
        }
    }
}
