//! What else than bearings speaks of the place: levels, sectors. Each judges a place apart from the others.

use nalgebra::{Matrix2, Vector2};

use crate::{
    geodesy::PlanePoint,
    solve::{
        density::{Batch, LANES},
        levels::LevelFit,
    },
    units::Dbm,
};

/// Evidence of another kind than bearings, ready to judge places of the plane by.
pub trait Evidence: std::fmt::Debug + Send + Sync {
    /// Natural logarithm of the likelihood at each point, up to a constant.
    fn at(&self, points: &Batch) -> [f64; LANES];

    /// The finest length, metres, on which it can vary within the disc of `radius` around each point.
    fn finest(&self, points: &Batch, radius: f64) -> [f64; LANES];

    /// How far above its value at each point it can lie within the disc of `radius` around it; asked where it may vary more
    /// finely than the disc shows.
    fn hidden(&self, points: &Batch, radius: f64) -> [f64; LANES];

    /// The law of distance for an emitter at a place, from evidence that has one.
    fn law(&self, place: PlanePoint) -> Option<LevelFit> {
        let _ = place;
        None
    }

    /// The lowest level that it heard, from evidence that is made of levels.
    fn quietest(&self) -> Option<Dbm> {
        None
    }

    /// Places worth starting a search from, metres east and north.
    fn starts(&self) -> Vec<Vector2<f64>>;

    /// A scale for steps at a point: about the information there, per square metre.
    fn information(&self, at: &Vector2<f64>) -> Matrix2<f64> {
        let length = self.finest(&([at.x; LANES], [at.y; LANES]), 0.0)[0];
        Matrix2::identity() / length.powi(2)
    }
}
