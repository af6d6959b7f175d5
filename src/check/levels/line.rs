//! Readings along one street: which side of it the emitter is on cannot be told.

use crate::{
    check::levels::{Label, Labels, at_share},
    finding::Finding,
    geodesy::{Plane, PlanePoint},
    numeric::quantile::chi_square_tail,
    observe::LevelReading,
    units::Angle,
};

/// So many places are enough to see a line.
const MOST: usize = 5_000;

/// With fewer readings everything is a line.
const FEWEST: usize = 5;

/// Readings all within this distance are one spot.
const ONE_SPOT_M: f64 = 25.0;

/// Exponent, shadowing and the distance over which it changes, as a street in a town has them: an exponent of 3 and 6 dB are
/// common practice, 20 m lies within the 10 to 50 m of TR 38.901 ([`crate::sources::TR38901`], Table 7.5-6).
const EXPONENT: f64 = 3.0;
const SHADOWING_DB: f64 = 6.0;
const SHARED_M: f64 = 20.0;

/// An emitter nearer to the line than this is beside the street itself.
const NEAREST_M: f64 = 20.0;

/// Tells where readings lie on one line, or at one spot. On an exact line a place and its mirror image have the same
/// distance from every reading, and so the same levels (geometry; no source needed). Readings a little off the line are
/// judged by what they could tell at best: the likelihood ratio between an emitter and its mirror image, each with its power
/// free, over several distances and positions. Where none reaches the 95 % limit of chi-square with one degree of freedom,
/// the sides cannot be told apart.
pub fn tell(readings: &[LevelReading], labels: &[Labels]) -> Option<Finding> {
    let used: Vec<usize> = (0..readings.len())
        .filter(|i| readings[*i].at.is_some() && !labels[*i].iter().any(Label::leaves_out))
        .collect();
    let stride = used.len().div_ceil(MOST).max(1);
    let places: Vec<_> = used.iter().step_by(stride).filter_map(|i| readings[*i].at).collect();
    let plane = Plane::centred_on(&places).filter(|_| places.len() >= FEWEST)?;
    let points: Vec<PlanePoint> = places.iter().map(|p| plane.to_plane(*p)).collect();
    let at = readings[*used.first()?].written.origin();
    let (axis, turned) = along(&points);
    let length = reach(turned.iter().map(|p| p.0));
    if length < ONE_SPOT_M {
        let message = format!(
            "all {} readings were taken within {length:.0} m: they tell no direction and no distance",
            used.len()
        );
        let hint = "walk on, around whatever is loud, and log on the way";
        return Some(Finding::doubtful("levels-one-spot", message).at(at).hint(hint));
    }
    if chi_square_tail(told_apart(&turned, length), 1.0) < 0.05 {
        return None;
    }
    let width = reach(turned.iter().map(|p| p.1));
    let (one, other) = (axis.compass().to_degrees(), (axis.compass().to_degrees() + 180.0) % 360.0);
    let message = format!(
        "all {} readings lie on one line, {length:.0} m long and {width:.0} m wide, {one:03.0}°T to {other:03.0}°T: levels cannot separate power from distance across this line, and the mirror place beyond it fits as well",
        used.len()
    );
    let hint = "log levels on a street beside it too, or take a bearing";
    Some(Finding::doubtful("levels-one-line", message).at(at).hint(hint))
}

/// Length of the middle 95 % of some values.
fn reach(values: impl Iterator<Item = f64>) -> f64 {
    let mut sorted: Vec<f64> = values.collect();
    sorted.sort_by(f64::total_cmp);
    let at = |share| at_share(&sorted, share).unwrap_or(0.0);
    at(0.975) - at(0.025)
}

/// The direction of the greatest spread, and the points along and across it, from their mean.
fn along(points: &[PlanePoint]) -> (Angle, Vec<(f64, f64)>) {
    let n = points.len() as f64;
    let (east, north) = points.iter().fold((0.0, 0.0), |(e, n), p| (e + p.east, n + p.north));
    let (east, north) = (east / n, north / n);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in points {
        let (x, y) = (p.east - east, p.north - north);
        (xx, xy, yy) = (xx + x * x, xy + x * y, yy + y * y);
    }
    // Half the angle of the second moments, clockwise from north.
    let axis = Angle::radians(0.5 * (2.0 * xy).atan2(yy - xx));
    let (sin, cos) = axis.to_radians().sin_cos();
    let turned = points
        .iter()
        .map(|p| {
            let (x, y) = (p.east - east, p.north - north);
            (x * sin + y * cos, x * cos - y * sin)
        })
        .collect();
    (axis, turned)
}

/// The greatest likelihood ratio (twice its logarithm) between an emitter beside the line and its mirror image.
fn told_apart(points: &[(f64, f64)], length: f64) -> f64 {
    let independent = (points.len() as f64).min(1.0 + length / SHARED_M);
    let ratio = |along: f64, across: f64| {
        let apart = |p: &(f64, f64)| {
            let squared = |side: f64| (p.0 - along).powi(2) + (p.1 - side).powi(2) + 1.0;
            5.0 * EXPONENT * (squared(-across) / squared(across)).log10()
        };
        let n = points.len() as f64;
        let mean = points.iter().map(apart).sum::<f64>() / n;
        let square = points.iter().map(|p| (apart(p) - mean).powi(2)).sum::<f64>() / n;
        independent * square / SHADOWING_DB.powi(2)
    };
    let distances = [0.05, 0.1, 0.25, 0.5, 1.0].map(|share| (share * length).max(NEAREST_M));
    let positions = [-0.5, -0.25, 0.0, 0.25, 0.5].map(|share| share * length);
    let all = distances.iter().flat_map(|d| positions.iter().map(|p| ratio(*p, *d)));
    all.fold(0.0, f64::max)
}
