//! What a bearing that is still to be taken would read, for an emitter at each place: the same mixture as in the density, with
//! what the bearings so far tell of the shared error, the scale of errors and the foreign share.

use std::f64::consts::TAU;

use crate::solve::{
    density::Density,
    fit::Fit,
    lobe::{concentration, exp_negative, peak_squared},
    nodes::Nodes,
    options::Options,
    scene::{Scene, Sight},
};

/// A bearing that is still to be taken, by the hand that took the others.
#[derive(Clone, Copy, Debug)]
pub struct Hand {
    /// One standard deviation of a reading, radians.
    pub sigma: f64,
    /// Standard deviation of the logarithm of its scale.
    pub spread: f64,
    /// Variance of the stand's position, square metres.
    pub position: f64,
    /// Error that it shares with the others, radians.
    pub shared: f64,
    /// Probability of being reversed.
    pub reversed: f64,
}

/// What it would read for an emitter at one place.
#[derive(Clone, Copy, Debug)]
pub struct Reading {
    /// What has to be added to the azimuth of the place, radians.
    pub turn: f64,
    /// Variance about that, without the stand's position, radians squared.
    pub variance: f64,
    /// Probability of being direct.
    pub direct: f64,
    /// Probability of being foreign.
    pub foreign: f64,
}

impl Fit {
    /// The hand that took the bearings so far.
    pub(crate) fn hand(&self) -> Hand {
        hand(&self.scene, &self.options)
    }

    /// What a bearing of `hand` would read for emitters at points of the mesh's plane.
    pub(crate) fn readings(&self, hand: &Hand, points: &[[f64; 2]]) -> Vec<Reading> {
        readings(&self.scene, &self.options, hand, points)
    }
}

/// The hand: medians of the bearings so far, else ±5° (class B) and what the options say.
pub(super) fn hand(scene: &Scene, options: &Options) -> Hand {
    let median = |f: fn(&Sight) -> f64, otherwise: f64| {
        let mut values: Vec<f64> = scene.sights.iter().map(f).collect();
        values.sort_by(f64::total_cmp);
        values.get(values.len() / 2).copied().unwrap_or(otherwise)
    };
    Hand {
        sigma: median(|s| s.sigma, 5f64.to_radians()),
        spread: median(|s| s.spread, options.class_spread),
        position: median(|s| s.position, options.position.to_metres().powi(2)),
        shared: median(|s| s.shared, 0.0),
        reversed: options.reversed,
    }
}

/// What a bearing of `hand` would read for emitters at points of the scene's plane. A mixture of nodes is replaced by one lobe
/// of the same mean and variance.
pub(super) fn readings(scene: &Scene, options: &Options, hand: &Hand, points: &[[f64; 2]]) -> Vec<Reading> {
    let density = Density::new(scene, options);
    let nodes = Nodes::of(scene, options);
    points.iter().map(|p| reading(hand, &nodes, &density.node_weights(p[0], p[1]))).collect()
}

fn reading(hand: &Hand, nodes: &Nodes, weights: &[f64]) -> Reading {
    let (mut turn, mut square, mut foreign) = (0.0, 0.0, 0.0);
    let offsets = nodes.offsets(0);
    let chunk = weights.len() / (offsets.len() * nodes.scale.len()).max(1);
    let mut chunks = weights.chunks(chunk.max(1));
    for offset in &offsets {
        // A shared error is what has to be added to the readings to make them true.
        let by = -(offset.north * hand.shared + offset.compass);
        for scale in &nodes.scale {
            let variance = (hand.sigma * (scale.0 * hand.spread).exp()).powi(2);
            // Shares of foreign bearings without a common place, then those of each common place: a new one is taken as
            // coming from anywhere.
            let shares = nodes.foreign.iter().chain(nodes.shared.iter().cycle());
            for (w, share) in chunks.next().unwrap_or(&[]).iter().zip(shares) {
                turn += w * by;
                square += w * (by * by + variance);
                foreign += w * share.0;
            }
        }
    }
    let foreign = (1.0 - hand.reversed) * foreign.clamp(0.0, 1.0);
    let variance = (square - turn * turn).max(1e-12);
    Reading { turn, variance, direct: 1.0 - hand.reversed - foreign, foreign }
}

/// A lobe on the circle, ready to evaluate by the cosine of the miss.
#[derive(Clone, Copy, Debug)]
pub struct Lobe {
    concentration: f64,
    peak: f64,
}

impl Lobe {
    /// Of a variance in radians squared.
    pub fn of(variance: f64) -> Self {
        let k = concentration(variance);
        Self { concentration: k, peak: peak_squared(k).max(0.0).sqrt() }
    }

    /// The density per radian.
    #[inline(always)]
    pub fn at(self, cosine: f64) -> f64 {
        self.peak * exp_negative((self.concentration * (cosine - 1.0)).min(0.0))
    }
}

/// The even density on the circle, per radian.
pub const EVEN: f64 = 1.0 / TAU;
