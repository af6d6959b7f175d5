//! stub
use crate::{
    geodesy::{Place, course, destination},
    units::{Angle, Metres},
};
/// p
#[derive(Clone, Copy, Debug)]
pub struct PlanePoint {
    /// e
    pub east: f64,
    /// n
    pub north: f64,
}
/// p
#[derive(Clone, Copy, Debug)]
pub struct Plane {
    c: Place,
}
impl Plane {
    /// c
    pub fn centred_on(p: &[Place]) -> Option<Self> {
        let n = p.len() as f64;
        Some(Self {
            c: Place::from_lat_lon_degrees(
                p.iter().map(|q| q.lat_degrees()).sum::<f64>() / n,
                p.iter().map(|q| q.lon_degrees()).sum::<f64>() / n,
            )?,
        })
    }
    /// t
    pub fn to_plane(&self, p: Place) -> PlanePoint {
        let c = course(self.c, p);
        let a = c.departure.to_radians();
        PlanePoint { east: c.distance.value() * a.sin(), north: c.distance.value() * a.cos() }
    }
    /// t
    pub fn to_place(&self, p: PlanePoint) -> Place {
        destination(self.c, Angle::radians(p.east.atan2(p.north)), Metres::new(p.east.hypot(p.north))).0
    }
    /// a
    pub fn azimuth_in_plane(&self, at: Place, az: Angle) -> Angle {
        let a = self.to_plane(at);
        let b = self.to_plane(destination(at, az, Metres::new(1.0)).0);
        Angle::radians((b.east - a.east).atan2(b.north - a.north))
    }
}
