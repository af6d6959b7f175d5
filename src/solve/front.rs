//! A place that foreign bearings share: what a plane front reflects comes from the mirror image of the emitter in it, one
//! place for all stands; a second emitter is one place too.
//!
//! The place q is integrated out. Foreign bearing i then has the density (1 − ρ)/2π + ρ f(Δᵢ(q)) instead of 1/2π, with ρ the
//! share of foreign bearings that point at q. Multiplied out, the product over the bearings is a sum over the sets that point at q.
//! Where two or more do, q is about a cut of their lines, so that this part is a sum over the cuts of pairs, each with the area that it
//! stands for: of one alone that is 2π times the root of the covariance's determinant (Laplace's method), of several that overlap what
//! the sum of their normal densities leaves to each. Lines that meet in one place count there a little more than an exact
//! integral lets them: regions hold more often for it (three nodes about each cut, 800 scenes a row, ten bearings, four of them toward one
//! front: 92 instead of 94 %). Where one bearing points at q or none does, q is anywhere, and the integral over the prior of the place is
//! known in closed form ([`unknown`]).

use nalgebra::{Matrix2, Vector2};

use std::f64::consts::TAU;

use crate::solve::{
    cut::{Ray, pairs},
    density::{Density, LANES, shares},
    lobe::{concentration, exp_negative, peak_squared},
    nodes::Nodes,
    options::{Loss, Options},
    scene::{Scene, Sight, TAIL},
    tree::batch,
};

/// A candidate for the shared place.
#[derive(Clone, Copy, Debug)]
pub struct Front {
    /// Metres east and north of the scene's centre.
    pub at: Vector2<f64>,
    /// Covariance of the place, square metres: zero where it is fixed.
    pub spread: Matrix2<f64>,
    /// Prior probability that foreign bearings share a place, and that it is about here.
    pub weight: f64,
    /// Share of the foreign bearings that then points there.
    pub share: f64,
}

/// A place that is shared needs two lines, and the emitter two others.
const LEAST_BEARINGS: usize = 4;

/// Candidates kept at most, and at most so many combinations with the other nodes.
const MOST_FRONTS: usize = 48;
const MOST_COMBINATIONS: usize = 1_600;

/// Candidates that raise the density by less than this part everywhere are left out. (With 3e-4 the region of five bearings, one of them
/// from anywhere, is ten times as large in the median, for the many alternatives that are each improbable.)
const LEAST_GAIN: f64 = 1e-3;

/// Places at which candidates are judged.
const JUDGES: usize = 2 * LANES;

/// What foreign bearings may share.
#[derive(Clone, Debug, Default)]
pub struct Fronts {
    /// Candidates for the place, toward which two bearings or more may point.
    pub places: Vec<Front>,
    /// Prior probability of a shared place toward which one bearing points, or none: it may be anywhere.
    pub lone: f64,
}

impl Fronts {
    /// Prior probability that foreign bearings share a place.
    pub fn weight(&self) -> f64 {
        self.lone + self.places.iter().map(|f| f.weight).sum::<f64>()
    }
}

impl Front {
    /// Density on the circle of a foreign bearing, the shared error of north turned by a sine and cosine.
    pub fn seen(&self, sight: &Sight, turn: (f64, f64)) -> f64 {
        (1.0 - self.share) / TAU + self.share * blurred(sight, &self.at, &self.spread, turn)
    }
}

/// Density of the reading if it points at a place.
pub(super) fn lobe(sight: &Sight, at: &Vector2<f64>, turn: (f64, f64)) -> f64 {
    blurred(sight, at, &Matrix2::zeros(), turn)
}

/// The same for a place that is known with this covariance.
fn blurred(sight: &Sight, at: &Vector2<f64>, spread: &Matrix2<f64>, turn: (f64, f64)) -> f64 {
    let d = at - Vector2::new(sight.east, sight.north);
    let square = d.norm_squared() + 1e-12;
    let inverse = 1.0 / square.sqrt();
    let cos = (sight.sin * d.x + sight.cos * d.y) * inverse;
    let sin = (sight.sin * d.y - sight.cos * d.x) * inverse;
    let across = Vector2::new(d.y, -d.x) / square;
    let unsure = (across.transpose() * spread * across)[0];
    let k = concentration(sight.sigma.powi(2) + sight.position / square + unsure);
    peak_squared(k).sqrt() * exp_negative(k * ((cos * turn.1 - sin * turn.0).min(1.0) - 1.0))
}

/// Candidates for a place that foreign bearings share, the weightiest first: none where the bearings cannot tell, or where
/// nothing speaks for one.
pub fn fronts(scene: &Scene, options: &Options) -> Fronts {
    let possible = options.loss == Loss::Mixture && options.front.probability > 0.0 && scene.flat;
    if !possible || scene.sights.len() < LEAST_BEARINGS {
        return Fronts::default();
    }
    let all = candidates(scene, options);
    if all.is_empty() {
        return Fronts::default();
    }
    let judges = judges(scene, options, &all);
    let scores = scores(scene, options, &all, &judges);
    let mut order: Vec<usize> = (0..all.len()).filter(|&i| scores[i] > LEAST_GAIN).collect();
    order.sort_by(|&a, &b| scores[b].total_cmp(&scores[a]));
    let nodes = Nodes::of(scene, options);
    let each = nodes.combinations(1) - nodes.combinations(0);
    order.truncate(MOST_FRONTS.min(MOST_COMBINATIONS / each));
    let places: Vec<Front> = order.into_iter().map(|i| all[i]).collect();
    let lone = options.front.probability - places.iter().map(|f| f.weight).sum::<f64>();
    Fronts { places, lone: lone.max(0.0) }
}

/// Cuts of pairs of lines with the prior of the areas that they stand for.
fn candidates(scene: &Scene, options: &Options) -> Vec<Front> {
    let ray = |s: &Sight| Ray { from: Vector2::new(s.east, s.north), sin: s.sin, cos: s.cos };
    let rays: Vec<Ray> = scene.sights.iter().map(ray).collect();
    let mut cuts = pairs(&rays);
    cuts.retain(|(_, p)| p.amax() < scene.within);
    let information: Vec<Matrix2<f64>> =
        cuts.iter().map(|(pair, p)| pair.iter().map(|&i| line(&scene.sights[i], p)).sum()).collect();
    let crowd = |at: &Vector2<f64>| -> f64 {
        let normal = |((_, p), i): (&([usize; 2], Vector2<f64>), &Matrix2<f64>)| {
            let d = at - p;
            (-0.5 * (d.transpose() * i * d)[0]).exp() * i.determinant().max(0.0).sqrt() / TAU
        };
        cuts.iter().zip(&information).map(normal).sum()
    };
    let weights: Vec<f64> = cuts.iter().map(|(_, p)| prior(scene, p) / crowd(p).max(1e-300)).collect();
    let whole = weights.iter().sum::<f64>().max(1.0);
    let front = |((_, at), w): (&([usize; 2], Vector2<f64>), &f64)| Front {
        at: *at,
        spread: Matrix2::zeros(),
        weight: options.front.probability * w / whole,
        share: options.front.share,
    };
    cuts.iter().zip(&weights).map(front).collect()
}

/// Information of one line about a place, per square metre.
fn line(sight: &Sight, at: &Vector2<f64>) -> Matrix2<f64> {
    let d = at - Vector2::new(sight.east, sight.north);
    let square = d.norm_squared().max(1e-6);
    let across = Vector2::new(d.y, -d.x);
    across * across.transpose() / (square * (sight.sigma.powi(2) * square + sight.position))
}

/// Density of the prior of the place, per square metre.
pub(super) fn prior(scene: &Scene, at: &Vector2<f64>) -> f64 {
    scene.knee / TAU * (scene.knee.powi(2) + (at - scene.middle).norm_squared()).powf(-TAIL)
}

/// Density on the circle of a bearing that points at a place of which nothing is known but its prior: over the circle it is even
/// from the prior's middle, and greater toward the middle from elsewhere.
///
/// ∫ p₀(s + t u) t dt over t ≥ 0 for the stand s and the direction u, with p₀ ∝ (a² + d²)^(−3/2):
/// a / 2π (√(a² + |s|²) + s·u).
pub(super) fn unknown(scene: &Scene, sight: &Sight) -> f64 {
    let from = Vector2::new(sight.east, sight.north) - scene.middle;
    let ahead = from.x * sight.sin + from.y * sight.cos;
    scene.knee / TAU / ((scene.knee.powi(2) + from.norm_squared()).sqrt() + ahead)
}

/// Places where the emitter may be, apart from each other: the likeliest cuts without a shared place.
fn judges(scene: &Scene, options: &Options, all: &[Front]) -> Vec<(f64, Vector2<f64>)> {
    let density = Density::new(scene, options);
    let mut ranked: Vec<(f64, Vector2<f64>)> = Vec::with_capacity(all.len());
    let places: Vec<[f64; 2]> = all.iter().map(|f| f.at.into()).collect();
    density.learn(&places);
    for (chunk, places) in all.chunks(LANES).zip(places.chunks(LANES)) {
        let logs = density.at(&batch(places.iter().copied()));
        ranked.extend(chunk.iter().zip(logs).map(|(f, log)| (log, f.at)));
    }
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut out: Vec<(f64, Vector2<f64>)> = Vec::with_capacity(JUDGES);
    for (log, at) in ranked {
        let information: Matrix2<f64> = scene.sights.iter().map(|s| line(s, &at)).sum();
        // Half of the standard deviation of two lines of the many.
        let near = |b: &Vector2<f64>| {
            let d = b - at;
            (d.transpose() * information * d)[0] < 0.25 * scene.sights.len() as f64
        };
        if out.len() < JUDGES && !out.iter().any(|(_, b)| near(b)) {
            out.push((log, at));
        }
    }
    out
}

/// By how much each candidate raises the density of the emitter's place, over the greatest density of any judge.
fn scores(scene: &Scene, options: &Options, all: &[Front], judges: &[(f64, Vector2<f64>)]) -> Vec<f64> {
    let nodes = Nodes::of(scene, options);
    let straight = (0.0, 1.0);
    let seen: Vec<Vec<f64>> =
        all.iter().map(|f| scene.sights.iter().map(|s| TAU * f.seen(s, straight)).collect()).collect();
    let mut gains = vec![f64::NEG_INFINITY; all.len()];
    let mut top = f64::NEG_INFINITY;
    for (_, at) in judges {
        let prior = prior(scene, at).ln();
        let direct: Vec<(f64, f64)> = scene
            .sights
            .iter()
            .map(|s| (lobe(s, at, straight), s.reversed * lobe(s, at, (0.0, -1.0))))
            .collect();
        let parts = |e: f64| -> Vec<(f64, f64)> {
            let part = |(s, (front, back)): (&Sight, &(f64, f64))| {
                let (p, foreign) = shares(s, e);
                (p * front + back, foreign / TAU)
            };
            scene.sights.iter().zip(&direct).map(part).collect()
        };
        for (e, weight) in &nodes.foreign {
            top = top.max(prior + weight.ln() + log_product(parts(*e).iter().map(|(own, f)| own + f)));
        }
        for (e, weight) in &nodes.shared {
            let parts = parts(*e);
            for ((gain, front), seen) in gains.iter_mut().zip(all).zip(&seen) {
                let product = log_product(parts.iter().zip(seen).map(|((own, f), s)| own + f * s));
                *gain = gain.max(prior + (weight * front.weight).ln() + product);
            }
        }
    }
    let top = gains.iter().copied().fold(top, f64::max);
    gains.iter().map(|g| (g - top).exp()).collect()
}

/// Logarithm of a product, taken once for a few factors: each lies between 1e-8 and 1e5.
fn log_product(factors: impl Iterator<Item = f64>) -> f64 {
    let (mut sum, mut product) = (0.0, 1.0f64);
    for (i, factor) in factors.enumerate() {
        product *= factor;
        if i % 16 == 15 {
            sum += product.ln();
            product = 1.0;
        }
    }
    sum + product.ln()
}
