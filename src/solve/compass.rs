//! An error that the bearings of one crew share beyond what was stated: steel beside the hand, a bent needle, a habit. Rare, and
//! then of many degrees.
//!
//! It is integrated out over nodes, for each crew by itself. Where the stands lie all round the emitter the lines of a wrong node do
//! not meet, and the node is left out where that holds for every crew; where they lie to one side every node counts, and the region tells so.

use nalgebra::Vector2;

use crate::solve::{
    cut::{Ray, cuts},
    front::lobe,
    options::{Loss, Options},
    scene::{Scene, Sight},
};

/// A node: an error in radians, to be added to the readings, with its prior probability.
pub type Compass = (f64, f64);

/// How far the nodes reach, in standard deviations of the prior.
const REACH: f64 = 2.0;

/// Nodes on either side, at most: their distance is then a fifth of the standard deviation of the prior.
const MOST: i32 = 12;

/// Nodes are at most this part of a typical bearing's error apart.
const APART: f64 = 0.8;

/// Nodes that weigh less than this part of the weightiest anywhere are left out.
const LEAST: f64 = 1e-3;

/// Errors are taken as so much larger while nodes are judged, for their scale is not known yet.
const LOOSE: f64 = 1.5;

/// Share of foreign bearings while nodes are judged.
const FOREIGN: f64 = 0.2;

/// Nodes of the error that counts somewhere; one of zero with all probability where the bearings share a wider error anyway, or
/// are too few to tell.
pub fn compasses(scene: &Scene, options: &Options) -> Vec<Compass> {
    let prior = options.compass;
    let wide = scene.sights.iter().any(|s| s.shared >= prior.sigma.to_radians());
    let mixture = options.loss == Loss::Mixture;
    if !mixture || wide || prior.probability <= 0.0 || scene.sights.len() < 2 || !scene.flat {
        return vec![(0.0, 1.0)];
    }
    let all = nodes(scene, options);
    let mut counts = vec![false; all.len()];
    for crew in 0..scene.crews {
        let own: Vec<&Sight> = scene.sights.iter().filter(|s| s.whose == crew).collect();
        let scores: Vec<f64> =
            all.iter().map(|node| node.1.ln() + best(&own, scene.within, node.0)).collect();
        let top = scores.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        counts.iter_mut().zip(&scores).for_each(|(c, s)| *c |= *s >= top + LEAST.ln());
    }
    all.into_iter().zip(counts).filter(|(_, counts)| *counts).map(|(node, _)| node).collect()
}

/// Nodes of the prior: zero, and a normal density in even steps.
fn nodes(scene: &Scene, options: &Options) -> Vec<Compass> {
    let (p, sigma) = (options.compass.probability, options.compass.sigma.to_radians());
    let mut errors: Vec<f64> = scene.sights.iter().map(|s| s.sigma).collect();
    errors.sort_by(f64::total_cmp);
    let typical = errors[errors.len() / 2];
    let each = ((REACH * sigma / (APART * typical)).ceil() as i32).clamp(3, MOST);
    let step = REACH * sigma / f64::from(each);
    let weight = |k: i32| (-0.5 * (f64::from(k) * step / sigma).powi(2)).exp();
    let sum: f64 = (-each..=each).map(weight).sum();
    (-each..=each)
        .map(|k| (f64::from(k) * step, p * weight(k) / sum + if k == 0 { 1.0 - p } else { 0.0 }))
        .collect()
}

/// Logarithm of the greatest likelihood of any cut of two lines, with all of these bearings turned.
fn best(sights: &[&Sight], within: f64, turn: f64) -> f64 {
    let (sin, cos) = turn.sin_cos();
    let rays: Vec<Ray> = sights
        .iter()
        .map(|s| Ray {
            from: Vector2::new(s.east, s.north),
            sin: s.sin * cos + s.cos * sin,
            cos: s.cos * cos - s.sin * sin,
        })
        .collect();
    let at = |place: &Vector2<f64>| -> f64 {
        let one = |s: &&Sight| {
            let loose = Sight { sigma: LOOSE * s.sigma, ..(*s).clone() };
            let (direct, back) = (lobe(&loose, place, (sin, cos)), lobe(&loose, place, (-sin, -cos)));
            let right = (1.0 - FOREIGN) * ((1.0 - s.reversed) * direct + s.reversed * back);
            (right + FOREIGN / std::f64::consts::TAU).ln()
        };
        sights.iter().map(one).sum()
    };
    let places = cuts(&rays);
    let found = places.iter().filter(|p| p.amax() < within).map(at);
    // Without any cut every bearing but one is foreign.
    found.fold(-(sights.len() as f64) * 3.0, f64::max)
}
