//! Do the bearings themselves exclude places far out, or is it only the prior that does?

use std::f64::consts::TAU;

use nalgebra::Vector2;

use crate::solve::{
    density::{Density, LANES},
    modes::Peak,
    scene::{Scene, TAIL},
    tree::batch,
};

/// The likeliest place far out, judged without the prior of the place.
#[derive(Clone, Copy, Debug)]
pub struct Edge {
    /// Logarithm of its likelihood over the greatest likelihood of any peak; zero or more when no peak beats it.
    pub log_ratio: f64,
    /// Direction from the centre, radians clockwise from the plane's north.
    pub direction: f64,
}

/// The circle that is looked at has this part of the search square's half-width.
const REACH: f64 = 0.5;

/// Directions looked at, evenly around, beside those of the bearings themselves.
const AROUND: u32 = 120;

/// Looks around a circle of half the search square's half-width: every three degrees, and along every bearing and its reverse,
/// then closer around the best.
pub fn edge(density: &Density, peaks: &[(Peak, f64)]) -> Edge {
    let scene = density.scene;
    let (radius, directions) = around(scene);
    let mut best = best(density, radius, &directions).unwrap_or((f64::NEG_INFINITY, 0.0));
    let mut step = TAU / f64::from(AROUND);
    for _ in 0..4 {
        // As many as are evaluated side by side; the middle one is known.
        let close: Vec<f64> =
            (-4..=4).filter(|i| *i != 0).map(|i| best.1 + step * f64::from(i) / 4.0).collect();
        best = self::best(density, radius, &close).filter(|found| found.0 > best.0).unwrap_or(best);
        step /= 4.0;
    }
    let within = peaks.iter().map(|(p, _)| p.log - prior(scene, &p.at));
    let log_ratio = best.0 - within.fold(f64::NEG_INFINITY, f64::max);
    Edge { log_ratio, direction: best.1 }
}

/// The circle's radius, and the directions to look in.
pub(super) fn around(scene: &Scene) -> (f64, Vec<f64>) {
    let radius = REACH * scene.within;
    let mut directions: Vec<f64> = (0..AROUND).map(|i| TAU * f64::from(i) / f64::from(AROUND)).collect();
    for sight in &scene.sights {
        directions.extend(crossings(sight.east, sight.north, sight.sin, sight.cos, radius));
    }
    (radius, directions)
}

/// Directions from the centre in which a line leaves the circle, ahead and behind.
fn crossings(east: f64, north: f64, sin: f64, cos: f64, radius: f64) -> [f64; 2] {
    let along = east * sin + north * cos;
    let across = east * cos - north * sin;
    let half = (radius * radius - across * across).max(0.0).sqrt();
    [half - along, -half - along].map(|t| (east + t * sin).atan2(north + t * cos))
}

/// Greatest log likelihood on the circle, and its direction.
fn best(density: &Density, radius: f64, directions: &[f64]) -> Option<(f64, f64)> {
    let places: Vec<[f64; 2]> = directions.iter().map(|d| [radius * d.sin(), radius * d.cos()]).collect();
    density.learn(&places);
    let mut found = Vec::with_capacity(directions.len());
    for (chunk, places) in directions.chunks(LANES).zip(places.chunks(LANES)) {
        let logs = density.at(&batch(places.iter().copied()));
        let bare = |(log, at): (f64, &[f64; 2])| log - prior(density.scene, &Vector2::new(at[0], at[1]));
        found.extend(logs.into_iter().zip(places).map(bare).zip(chunk.iter().copied()));
    }
    // Of several as great ones the first.
    found.into_iter().rev().max_by(|a, b| a.0.total_cmp(&b.0))
}

/// Log of the prior of the place, up to a constant.
pub(super) fn prior(scene: &Scene, at: &Vector2<f64>) -> f64 {
    -TAIL * (scene.knee.powi(2) + (at - scene.middle).norm_squared()).ln()
}
