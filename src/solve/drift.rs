//! An emitter that moves: does a place that drifts evenly explain the bearings better than one that stands still?
//!
//! Seen from an emitter that moves with velocity v, the stands move by −v: an emitter at x at the moment t₀ is at x + v (t − t₀),
//! and its direction from a stand s is that of x from s − v (t − t₀). So each velocity is a problem of an emitter that stands
//! still, and everything that is known of reversed and foreign bearings holds.

use nalgebra::{Matrix2, Vector2};

use crate::{
    geodesy::Place,
    instant::Instant,
    north::TrueBearing,
    numeric::quadrature,
    solve::{
        density::Density,
        fit::Fit,
        front::Fronts,
        modes::{Peak, climb, starts},
        options::{CompassPrior, FrontPrior, Loss, Options},
        scene::Scene,
    },
};

/// A place that drifts.
#[derive(Clone, Debug)]
pub struct Drift {
    /// Logarithm of the evidence for a place that drifts over that for one that stands still (a Bayes factor).
    pub gain: f64,
    /// Metres per second toward east and north.
    pub velocity: [f64; 2],
    /// Its covariance (east-east, east-north, north-north).
    pub velocity_covariance: [f64; 3],
    /// Where it was at the last bearing.
    pub place: Place,
    /// Covariance of that place, square metres, the velocity's part included.
    pub covariance: [f64; 3],
    /// Time of the last bearing.
    pub at: Instant,
}

/// Place and velocity are four unknowns; two more bearings check them.
const LEAST_BEARINGS: usize = 6;

/// With more bearings than this the test is left out.
const MOST_BEARINGS: usize = 300;

/// Speeds that are thought possible, metres per second: as likely in each equal step of their logarithm, in any direction. A
/// slow walk around a yard to a fast car. Common practice, no source.
const SPEEDS: (f64, f64) = (0.02, 40.0);

/// A Bayes factor of 10: "strong" ([`crate::sources::JEFFREYS1961`]). Few emitters move while they are looked for.
const CLEAR: f64 = std::f64::consts::LN_10;

/// Directions and least drift over the whole time, metres, that are tried; each further drift is half as far again.
const DIRECTIONS: usize = 16;
const LEAST_DRIFT_M: f64 = 60.0;

/// Velocities from which the best is sought, and steps of that search.
const STARTS: usize = 3;
const STEPS: usize = 60;

/// Gauss nodes of each component of the velocity.
const NODES: usize = 5;

/// Places from which each velocity's best is climbed.
const PLACES: usize = 3;

impl Drift {
    /// Whether a place that drifts explains the bearings better by a factor of 10.
    pub fn clear(&self) -> bool {
        self.gain >= CLEAR
    }
}

/// Tries a drift on the bearings of a fit, which must be those of its problem. `None` with a classic loss, fewer than six bearings
/// or more than 300, a bearing without a time, all at one time, or where standing still explains them as well.
pub fn drift(fit: &Fit, bearings: &[TrueBearing]) -> Option<Drift> {
    let possible = fit.scene.flat && fit.options.loss == Loss::Mixture;
    if !possible || !(LEAST_BEARINGS..=MOST_BEARINGS).contains(&bearings.len()) {
        return None;
    }
    let search = Search::of(fit, bearings)?;
    let still = search.best(&Vector2::zeros())?;
    let mut found = search.screened(&still);
    found.truncate(STARTS);
    let settled = found.into_iter().filter_map(|v| search.settled(v));
    let (velocity, peak) = settled.max_by(|a, b| a.1.log_mass().total_cmp(&b.1.log_mass()))?;
    search.told(&velocity, &peak, &still, bearings)
}

/// Bearings with their times.
struct Search {
    /// Bearings alone, with right compasses.
    scene: Scene,
    options: Options,
    /// Seconds after the last bearing: zero and less.
    seconds: Vec<f64>,
    /// Seconds between the first and the last.
    span: f64,
}

impl Search {
    fn of(fit: &Fit, bearings: &[TrueBearing]) -> Option<Self> {
        let utc = |b: &TrueBearing| Some(b.read().time.as_ref()?.utc().as_millisecond() as f64 / 1e3);
        let times: Option<Vec<f64>> = bearings.iter().map(utc).collect();
        let times = times?;
        let last = times.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let seconds: Vec<f64> = times.into_iter().map(|t| t - last).collect();
        let span = -seconds.iter().copied().fold(0.0, f64::min);
        let front = FrontPrior { probability: 0.0, ..fit.options.front };
        let options = Options { front, compass: CompassPrior::none(), ..fit.options };
        let mut scene = fit.scene.clone().with_right_compasses();
        (scene.fronts, scene.others) = (Fronts::default(), Vec::new().into());
        (span >= 1.0).then_some(Self { scene, options, seconds, span })
    }

    /// The stands as an emitter of this velocity sees them.
    fn seen(&self, velocity: &Vector2<f64>) -> Scene {
        // The plane is flat here, so that the stands' places on the globe are not asked for.
        let mut scene = self.scene.clone();
        for (sight, t) in scene.sights.iter_mut().zip(&self.seconds) {
            sight.east -= velocity.x * t;
            sight.north -= velocity.y * t;
        }
        scene
    }

    /// The peak of the greatest mass at a velocity.
    fn best(&self, velocity: &Vector2<f64>) -> Option<Peak> {
        let scene = self.seen(velocity);
        let density = Density::new(&scene, &self.options);
        let peaks = starts(&density, PLACES).into_iter().filter_map(|s| climb(&density, s));
        peaks.max_by(|a, b| a.log_mass().total_cmp(&b.log_mass()))
    }

    /// Velocities of a coarse net that explain the bearings better than `still`, the best first.
    fn screened(&self, still: &Peak) -> Vec<Vector2<f64>> {
        let farthest = (SPEEDS.1 * self.span).min(0.5 * self.scene.within);
        let mut drifts = vec![LEAST_DRIFT_M];
        while let Some(last) = drifts.last().filter(|d| **d * 1.5 < farthest) {
            drifts.push(last * 1.5);
        }
        let mut ranked: Vec<(f64, Vector2<f64>)> = Vec::new();
        for drift in drifts {
            for k in 0..DIRECTIONS {
                let (s, c) = (std::f64::consts::TAU * k as f64 / DIRECTIONS as f64).sin_cos();
                let velocity = Vector2::new(s, c) * (drift / self.span);
                let scene = self.seen(&velocity);
                let density = Density::new(&scene, &self.options);
                if let Some(top) = starts(&density, 1).first() {
                    ranked.push((density.at_point(top.x, top.y) + prior(&velocity), velocity));
                }
            }
        }
        // A cut of two lines lies about one standard deviation beside the peak.
        ranked.retain(|(log, _)| *log > still.log - 1.0 + prior(&Vector2::new(SPEEDS.1, 0.0)));
        ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
        ranked.into_iter().map(|(_, v)| v).collect()
    }

    /// Logarithm of what is maximised: the mass of the peak times the prior of the velocity.
    fn score(&self, velocity: &Vector2<f64>) -> Option<(f64, Peak)> {
        let speed = velocity.norm();
        if !(SPEEDS.0..=SPEEDS.1).contains(&speed) {
            return None;
        }
        let peak = self.best(velocity)?;
        Some((peak.log_mass() + prior(velocity), peak))
    }

    /// The best velocity near a start: a pattern search with halving steps.
    fn settled(&self, start: Vector2<f64>) -> Option<(Vector2<f64>, Peak)> {
        let (mut at, (mut score, mut peak)) = (start, self.score(&start)?);
        let mut step = 0.3 * start.norm();
        let least = 1.0 / self.span;
        for _ in 0..STEPS {
            let ways = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)];
            let tried = ways.map(|(e, n)| at + Vector2::new(e, n) * step);
            let better = tried
                .into_iter()
                .filter_map(|v| self.score(&v).map(|(s, p)| (s, v, p)))
                .max_by(|a, b| a.0.total_cmp(&b.0))
                .filter(|b| b.0 > score);
            match better {
                Some((s, v, p)) => (score, at, peak) = (s, v, p),
                None if step < least => break,
                None => step *= 0.5,
            }
        }
        Some((at, peak))
    }

    /// Evidence, places and velocities, averaged over the velocities about the best one.
    fn told(
        &self,
        velocity: &Vector2<f64>,
        peak: &Peak,
        still: &Peak,
        bearings: &[TrueBearing],
    ) -> Option<Drift> {
        let spread = self.spread(velocity, peak)?;
        let top = peak.log_mass() + prior(velocity);
        let one = quadrature::standard_normal(NODES);
        let nodes = one.iter().flat_map(|a| one.iter().map(move |b| (Vector2::new(a.0, b.0), a.1 * b.1)));
        let mut moments = Moments::default();
        for (z, weight) in nodes {
            let v = velocity + spread * z;
            let Some(here) = self.near(&v, peak) else { continue };
            let ratio = here.log_mass() + prior(&v) - top + 0.5 * z.norm_squared();
            moments.add(weight * ratio.exp(), &v, &here);
        }
        let gain = top + std::f64::consts::TAU.ln() + spread.determinant().ln() + moments.mass.ln()
            - still.log_mass();
        let at = bearings.iter().filter_map(|b| b.read().time.clone()).max_by_key(|t| t.utc())?;
        let (velocity, velocity_covariance) = moments.velocity();
        let (place, covariance) = moments.place();
        let place = self.scene.place(place.x, place.y);
        let velocity = [velocity.x, velocity.y];
        Some(Drift { gain, velocity, velocity_covariance, place, covariance, at })
    }

    /// A square root of the covariance of the velocity, from the curvature at the best one; `None` where it has none.
    fn spread(&self, velocity: &Vector2<f64>, peak: &Peak) -> Option<Matrix2<f64>> {
        let mass = |v: Vector2<f64>| self.near(&v, peak).map(|p| p.log_mass());
        let h = (0.1 * velocity.norm()).max(3.0 / self.span);
        let [e, n] = [Vector2::new(h, 0.0), Vector2::new(0.0, h)];
        let here = peak.log_mass();
        let second =
            |d: Vector2<f64>| Some((2.0 * here - mass(velocity + d)? - mass(velocity - d)?) / (h * h));
        let across = mass(velocity + e + n)? + mass(velocity - e - n)?
            - mass(velocity + e - n)?
            - mass(velocity - e + n)?;
        let mixed = -across / (4.0 * h * h);
        let information = Matrix2::new(second(e)?, mixed, mixed, second(n)?);
        Some(information.try_inverse()?.cholesky()?.l())
    }

    /// The peak of a velocity that is near another one's.
    fn near(&self, velocity: &Vector2<f64>, peak: &Peak) -> Option<Peak> {
        let scene = self.seen(velocity);
        climb(&Density::new(&scene, &self.options), peak.at)
    }
}

/// Weighted sums over velocities.
#[derive(Default)]
struct Moments {
    mass: f64,
    velocity: Vector2<f64>,
    velocity_squares: Matrix2<f64>,
    place: Vector2<f64>,
    place_squares: Matrix2<f64>,
}

impl Moments {
    fn add(&mut self, weight: f64, velocity: &Vector2<f64>, peak: &Peak) {
        self.mass += weight;
        self.velocity += weight * velocity;
        self.velocity_squares += weight * velocity * velocity.transpose();
        self.place += weight * peak.at;
        self.place_squares += weight * (peak.at * peak.at.transpose() + peak.covariance);
    }

    /// Mean velocity with its covariance.
    fn velocity(&self) -> (Vector2<f64>, [f64; 3]) {
        self.of(&self.velocity, &self.velocity_squares)
    }

    /// Mean place with its covariance.
    fn place(&self) -> (Vector2<f64>, [f64; 3]) {
        self.of(&self.place, &self.place_squares)
    }

    fn of(&self, sum: &Vector2<f64>, squares: &Matrix2<f64>) -> (Vector2<f64>, [f64; 3]) {
        let mean = sum / self.mass;
        let m = squares / self.mass - mean * mean.transpose();
        (mean, [m[(0, 0)], m[(0, 1)], m[(1, 1)]])
    }
}

/// Logarithm of the prior density of a velocity, per (m/s)²: even in the logarithm of speed and in direction.
fn prior(velocity: &Vector2<f64>) -> f64 {
    let range = (SPEEDS.1 / SPEEDS.0).ln();
    -(std::f64::consts::TAU * velocity.norm_squared() * range).ln()
}
