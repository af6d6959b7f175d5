//! The physics of invented scenes against theory: random fields, fading, noise, mirror images, shares; and that a seed gives the
//! same files again. Tolerances are five standard errors of the number of draws unless a reason stands beside them.

mod bearings;
mod cases;
mod fields;
mod levels;
mod refusals;
mod towns;

use azimark::geodesy::PlanePoint;

fn point(east: f64, north: f64) -> PlanePoint {
    PlanePoint { east, north }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn variance(values: &[f64]) -> f64 {
    let m = mean(values);
    mean(&values.iter().map(|v| (v - m).powi(2)).collect::<Vec<_>>())
}

/// Five standard errors of a share.
fn of_share(share: f64, count: usize) -> f64 {
    5.0 * (share * (1.0 - share) / count as f64).sqrt()
}
