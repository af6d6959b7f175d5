//! Lines cut against one another: points from which a search may start.

use nalgebra::Vector2;

/// A line on the plane with a direction.
#[derive(Clone, Copy, Debug)]
pub struct Ray {
    /// Where it starts, metres east and north.
    pub from: Vector2<f64>,
    /// Sine of its azimuth.
    pub sin: f64,
    /// Cosine of its azimuth.
    pub cos: f64,
}

/// At most this many pairs of lines are cut against one another.
const MOST_PAIRS: usize = 160;

/// Points where two rays meet, ahead of both; of many rays only every so many-th pair. Rays that cross at less than
/// 1e-6 radians count as parallel.
pub fn cuts(rays: &[Ray]) -> Vec<Vector2<f64>> {
    pairs(rays).into_iter().map(|(_, p)| p).collect()
}

/// The same points, each with the two rays that meet there.
pub fn pairs(rays: &[Ray]) -> Vec<([usize; 2], Vector2<f64>)> {
    let n = rays.len();
    let stride = (n * n.saturating_sub(1) / 2).div_ceil(MOST_PAIRS).max(1);
    let pairs = (0..n).flat_map(|i| (i + 1..n).map(move |j| (i, j)));
    let some = pairs.skip(stride - 1).step_by(stride);
    some.filter_map(|(i, j)| Some(([i, j], meeting(&rays[i], &rays[j])?))).collect()
}

fn meeting(a: &Ray, b: &Ray) -> Option<Vector2<f64>> {
    let cross = a.sin * b.cos - a.cos * b.sin;
    let d = b.from - a.from;
    let along_a = (d.x * b.cos - d.y * b.sin) / cross;
    let along_b = (d.x * a.cos - d.y * a.sin) / cross;
    let ahead = cross.abs() >= 1e-6 && along_a > 0.0 && along_b > 0.0;
    ahead.then(|| a.from + along_a * Vector2::new(a.sin, a.cos))
}

/// The `keep` points of the least cost, no two within a few metres per kilometre of each other.
pub fn best_apart(mut ranked: Vec<(f64, Vector2<f64>)>, keep: usize) -> Vec<Vector2<f64>> {
    ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut out: Vec<Vector2<f64>> = Vec::with_capacity(keep);
    for (_, p) in ranked {
        let apart = 0.01 * p.norm() + 5.0;
        if out.len() < keep && out.iter().all(|q| (q - p).norm() > apart) {
            out.push(p);
        }
    }
    out
}
