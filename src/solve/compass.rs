//! An error that the bearings of one crew share beyond what was stated: steel beside the hand, a bent needle, a habit. Rare, and
//! then of many degrees.
//!
//! It is integrated out over nodes, for each crew by itself. Where the stands lie all round the emitter the lines of a wrong node do
//! not meet, and the node is left out where that holds for every crew; where they lie to one side every node counts, and the region tells so.

use nalgebra::Vector2;

use crate::solve::{
    cut::{Ray, cuts},
    density::{Density, LANES},
    edge,
    front::lobe,
    options::{Loss, Options},
    scene::{Scene, Sight},
    search::{first, guess},
    tree::{batch, mesh},
};

/// A node: an error in radians, to be added to the readings, with its prior probability.
pub type Compass = (f64, f64);

/// How far the nodes reach, in standard deviations of the prior.
const REACH: f64 = 2.0;

/// Nodes on either side, at most: their distance is then a fifth of the standard deviation of the prior.
const MOST: i32 = 12;

/// Nodes are at most this part of a typical bearing's error apart.
const APART: f64 = 0.8;

/// Nodes whose lines meet with less than this part of the likelihood of the best of their crew are left out.
const LEAST: f64 = 1e-3;

/// And those that weigh less than this part of their crew's nodes at every place that has a say: with exact errors it would be far
/// less.
const LEAST_WEIGHT: f64 = 3e-3;

/// Errors are taken as so much larger while nodes are judged, for their scale is not known yet.
const LOOSE: f64 = 1.5;

/// And their scale as spread by so much at most, so that few nodes do.
const SPREAD: f64 = 0.225;

/// Share of foreign bearings while nodes are judged by cuts of lines.
const FOREIGN: f64 = 0.2;

/// How finely the posterior is resolved while nodes are judged: no cell holds more than this part of it.
const CELLS: f64 = 12.0;

/// Nodes are judged at places whose density is within this much, in its logarithm, of the greatest. Errors are taken as larger
/// there, so that it stands for more than twice as much. (A limit of 9 and a least weight of 1e-3 leave a sixth more nodes for three
/// teams, and areas of 95 % regions that differ by 0.4 % at most in 24 scenes; a limit of 5 shrinks some by 2 %.)
const NEAR: f64 = 6.0;

/// And far out within this much of the greatest likelihood: what lies below never makes a region open.
const FAR: f64 = 3.0;

/// The scene with the errors that each crew's compass may have: those that count somewhere, or right compasses where the bearings
/// share a wider error anyway, or are too few to tell.
///
/// A node counts where the crew's own lines, turned by it, meet nearly as well as turned by any; and where, in a rough posterior
/// from all bearings, it is not improbable at every place that has a say.
pub fn compasses(mut scene: Scene, options: &Options) -> Scene {
    let prior = options.compass;
    let wide = scene.sights.iter().any(|s| s.shared >= prior.sigma.to_radians());
    let mixture = options.loss == Loss::Mixture;
    if !mixture || wide || prior.probability <= 0.0 || scene.sights.len() < 2 || !scene.flat {
        return scene.with_right_compasses();
    }
    let all = nodes(&scene, options);
    let met = |crew: usize| -> Vec<Compass> {
        let own: Vec<&Sight> = scene.sights.iter().filter(|s| s.whose == crew).collect();
        let scores: Vec<f64> =
            all.iter().map(|node| node.1.ln() + best(&own, scene.within, node.0)).collect();
        let top = scores.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let counts = all.iter().zip(&scores).filter(|(_, s)| **s >= top + LEAST.ln());
        counts.map(|(node, _)| *node).collect()
    };
    scene.compasses = (0..scene.crews).map(met).collect();
    let weights = judged(&scene, options);
    for (nodes, weights) in scene.compasses.iter_mut().zip(weights) {
        let mut weights = weights.into_iter();
        nodes.retain(|_| weights.next().is_none_or(|w| w >= LEAST_WEIGHT));
    }
    scene
}

/// By crew, the greatest weight of each of its nodes at any place that has a say.
fn judged(scene: &Scene, options: &Options) -> Vec<Vec<f64>> {
    let mut rough = scene.clone();
    rough.others = Vec::new().into();
    for sight in &mut rough.sights {
        (sight.sigma, sight.spread, sight.shared) = (LOOSE * sight.sigma, sight.spread.min(SPREAD), 0.0);
    }
    let density = Density::new(&rough, options);
    let mut weights: Vec<Vec<f64>> = scene.compasses.iter().map(|nodes| vec![0.0; nodes.len()]).collect();
    for chunk in places(&density).chunks(LANES) {
        for (most, found) in weights.iter_mut().zip(density.compass_weights(&batch(chunk.iter().copied()))) {
            for (most, found) in most.iter_mut().zip(found) {
                *most = found.into_iter().fold(*most, f64::max);
            }
        }
    }
    weights
}

/// Places that have a say: vertices of a rough mesh, and places far out that fit nearly as well as any.
fn places(density: &Density) -> Vec<[f64; 2]> {
    let mesh = mesh(density, guess(&first(density, 1)), &[], CELLS);
    let likely = |(p, log): (&[f64; 2], &f64)| log - edge::prior(density.scene, &Vector2::new(p[0], p[1]));
    let top = mesh.logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let most = mesh.points.iter().zip(&mesh.logs).map(likely).fold(f64::NEG_INFINITY, f64::max);
    let near = mesh.points.iter().zip(&mesh.logs).filter(|(_, log)| **log >= top - NEAR);
    let mut out: Vec<[f64; 2]> = near.map(|(p, _)| *p).collect();
    let (radius, directions) = edge::around(density.scene);
    let ring: Vec<[f64; 2]> = directions.iter().map(|d| [radius * d.sin(), radius * d.cos()]).collect();
    for chunk in ring.chunks(LANES) {
        let logs = density.at(&batch(chunk.iter().copied()));
        out.extend(chunk.iter().zip(&logs).filter(|at| likely(*at) >= most - FAR).map(|(p, _)| *p));
    }
    out
}

/// Nodes of the prior: zero, and a normal density in even steps.
pub(super) fn nodes(scene: &Scene, options: &Options) -> Vec<Compass> {
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
