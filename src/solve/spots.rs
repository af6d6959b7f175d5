//! Stands at which all bearings are off the same way: iron beside the stand pulls the needle there, and a team's other stands do not
//! show it.
//!
//! What a stand's own bearings say is held against the place that the others give without them. Only a stand with two bearings or more
//! that agree among themselves can be told from a stand with a single wrong one.

use nalgebra::Vector2;

use crate::{
    numeric::quantile,
    solve::{
        density::Density,
        fit::{Fit, solved},
        options::Loss,
        record::even,
        scene::{Scene, Sight},
        turns::{missed, turns},
    },
    units::{Angle, Sigma},
};

/// A stand with several bearings, against the place that the other stands give.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// Numbers of its bearings, in the order given.
    pub bearings: Vec<usize>,
    /// Mean of what they are off (measured minus computed), the error of the crew's compass taken off.
    pub off: Angle,
    /// Standard deviation of that: their own errors, and how well the others know the direction.
    pub sigma: Sigma<Angle>,
    /// Judgement.
    pub judged: OffSpot,
}

/// Whether a stand's bearings are off.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OffSpot {
    /// By more than three standard deviations.
    Off,
    /// By less.
    Right,
    /// The others do not know the direction well enough to tell.
    Untold,
}

/// Bearings from within so many metres are of one stand.
const ONE_STAND_M: f64 = 15.0;

/// A stand is judged by at least so many bearings of others, and has at least so many itself.
const LEAST_OTHERS: usize = 3;
const LEAST_OWN: usize = 2;

/// So many stands are judged, at most; each costs a fit.
const MOST_STANDS: usize = 12;

/// With more bearings than this stands are not judged.
const MOST_BEARINGS: usize = 100;

/// Off by more than so many standard deviations.
const CLEAR: f64 = 3.0;

/// Errors are taken as so much larger than stated, for class letters are not exact.
const LOOSE: f64 = 1.5;

/// Bearings of one stand differ where such differences have less than this probability.
const DIFFER: f64 = 0.01;

/// Where the others know the direction worse than this, they cannot tell, degrees.
const UNTOLD_DEGREES: f64 = 15.0;

/// Places that stand for what the others say.
const SAMPLES: usize = 64;

/// Judges every stand that has several bearings which agree with each other. Nothing with a classic loss, beyond 100 km or with more
/// than a hundred bearings.
pub fn spots(fit: &Fit) -> Vec<Spot> {
    let scene = &fit.scene;
    let possible = scene.flat && fit.options.loss == Loss::Mixture;
    if !possible || scene.sights.len() > MOST_BEARINGS {
        return Vec::new();
    }
    let mut stands = gathered(&scene.sights);
    stands.retain(|own| own.len() >= LEAST_OWN && scene.sights.len() - own.len() >= LEAST_OTHERS);
    stands.truncate(MOST_STANDS);
    stands.into_iter().filter_map(|own| judged(fit, own)).collect()
}

/// Numbers of bearings by stand.
fn gathered(sights: &[Sight]) -> Vec<Vec<usize>> {
    let mut out: Vec<Vec<usize>> = Vec::new();
    for (i, sight) in sights.iter().enumerate() {
        let near = |other: &Sight| (other.east - sight.east).hypot(other.north - sight.north) < ONE_STAND_M;
        match out.iter_mut().find(|stand| near(&sights[stand[0]])) {
            Some(stand) => stand.push(i),
            None => out.push(vec![i]),
        }
    }
    out
}

/// `None` where the stand's bearings differ among themselves, or point back.
fn judged(fit: &Fit, own: Vec<usize>) -> Option<Spot> {
    let mut rest: Scene = fit.scene.clone();
    rest.sights =
        (0..rest.sights.len()).filter(|i| !own.contains(i)).map(|i| rest.sights[i].clone()).collect();
    let others = solved(rest, &fit.options);
    let turns = turns(&others, &Density::new(&others.scene, &others.options));
    let turn = |s: &Sight| turns.get(s.whose).copied().unwrap_or(0.0);
    let misses = |at: &Vector2<f64>| -> Vec<(f64, f64)> {
        own.iter()
            .map(|i| &fit.scene.sights[*i])
            .map(|s| (missed(s, at).0 + turn(s), missed(s, at).1))
            .collect()
    };
    let (mut mean, mut square, mut within) = (0.0, 0.0, 0.0);
    for (p, share) in even(others.mesh(), SAMPLES) {
        let (off, variance) = agreed(&misses(&Vector2::new(p[0], p[1])))?;
        mean += share * off;
        square += share * off * off;
        within += share * LOOSE.powi(2) * variance;
    }
    if mean.abs() > std::f64::consts::FRAC_PI_2 {
        return None;
    }
    let direction = (square - mean * mean).max(0.0);
    let sigma = (direction + within).sqrt();
    let judged = match () {
        () if direction.sqrt() > UNTOLD_DEGREES.to_radians() => OffSpot::Untold,
        () if mean.abs() > CLEAR * sigma => OffSpot::Off,
        () => OffSpot::Right,
    };
    Some(Spot { bearings: own, off: Angle::radians(mean), sigma: Sigma::<Angle>::radians(sigma)?, judged })
}

/// Weighted mean of misses about the first one, and its variance; `None` where they differ by more than their errors.
fn agreed(misses: &[(f64, f64)]) -> Option<(f64, f64)> {
    let first = misses.first()?.0;
    let about = |miss: f64| Angle::radians(miss - first).wrapped().to_radians();
    let weight: f64 = misses.iter().map(|m| 1.0 / m.1).sum();
    let mean = misses.iter().map(|m| about(m.0) / m.1).sum::<f64>() / weight;
    let chi_square: f64 = misses.iter().map(|m| (about(m.0) - mean).powi(2) / m.1).sum();
    let p = quantile::chi_square_tail(chi_square / LOOSE.powi(2), misses.len() as f64 - 1.0);
    let off = Angle::radians(first + mean).wrapped().to_radians();
    (p > DIFFER).then_some((off, 1.0 / weight))
}
