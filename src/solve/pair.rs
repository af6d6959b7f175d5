//! Two emitters on one channel: do two places explain the bearings better than one, and which bearing belongs to which?

use nalgebra::{Matrix2, Vector2};

use std::f64::consts::TAU;

use crate::solve::{
    compass::compasses,
    cut::{Ray, cuts},
    density::Density,
    fit::{Fit, laid_out},
    front::{Front, Fronts, lobe, prior},
    modes::{Peak, climb},
    options::{FrontPrior, Loss, Options, Problem},
    scene::{Scene, Sight},
    search::evidence,
};

/// Two places for the bearings of one search.
#[derive(Clone, Debug)]
pub struct Pair {
    /// Logarithm of the evidence for two places over that for one (a Bayes factor).
    pub gain: f64,
    /// What each bearing belongs to, in the order given.
    pub belongs: Vec<Belongs>,
    /// Of each place the scene in which the other one is integrated out; the one with more bearings first.
    scenes: [Scene; 2],
    options: Options,
}

/// Probabilities of what a bearing points at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Belongs {
    /// Of the first and of the second place.
    pub to: [f64; 2],
}

impl Belongs {
    /// 0 or 1 for the place that it belongs to with more than half of the probability; `None` for neither.
    pub fn place(self) -> Option<usize> {
        self.to.iter().position(|p| *p > 0.5)
    }
}

/// Each place needs three bearings: two meet anywhere.
const LEAST_EACH: usize = 3;
const LEAST_BEARINGS: usize = 2 * LEAST_EACH;

/// With more bearings than this the test is left out.
const MOST_BEARINGS: usize = 300;

/// Least logarithm of the Bayes factor: a factor of √10, above which evidence is called substantial ([`crate::sources::JEFFREYS1961`]).
/// Of 400 scenes with one emitter none comes near it (the highest of them is below 0.5), of 100 with two bearings in five from
/// anywhere none does.
const CLEAR: f64 = 0.5 * std::f64::consts::LN_10;

/// Candidates for a place, and pairs of them that are polished.
const MOST_CANDIDATES: usize = 80;
const MOST_STARTS: usize = 4;

/// Turns of polishing one place while the other stays.
const TURNS: usize = 6;

/// Shares of the bearings that belong to the second place, tried when pairs of candidates are ranked.
const SHARES: [f64; 3] = [0.25, 0.5, 0.75];

/// What is taken for granted of two places: a bearing belongs to the second with any probability (a Beta distribution with both
/// shapes 2), and one in twenty of those that do not belong to the first belongs to neither. Common practice, no source.
const TWO: FrontPrior = FrontPrior { probability: 1.0, share: 0.95, foreign: (2.0, 2.0) };

impl Pair {
    /// Whether two places are clearly better than one: by a factor of √10, with three bearings or more for each.
    pub fn clear(&self) -> bool {
        self.gain >= CLEAR && (0..2).all(|k| self.count(k) >= LEAST_EACH)
    }

    /// Each place, with the other one integrated out; the one with more bearings first. Solved at every call.
    pub fn places(&self) -> [Fit; 2] {
        self.scenes.clone().map(|scene| laid_out(scene, &self.options))
    }

    /// How many bearings belong to place 0 or 1.
    pub fn count(&self, place: usize) -> usize {
        self.belongs.iter().filter(|b| b.place() == Some(place)).count()
    }
}

/// Tries two places on the bearings of a problem that `stated` is the fit of. `None` with fewer than six bearings or more than
/// 300, with a classic loss, beyond 100 km, or where no second place has a peak.
///
/// The evidence of one place is the posterior's; foreign bearings are then spread over the circle. That of two is Laplace's
/// approximation about the best pair, each place with its conditional covariance.
pub fn pair(problem: &Problem, options: &Options, stated: &Fit) -> Option<Pair> {
    let count = problem.bearings.len();
    if options.loss != Loss::Mixture || !(LEAST_BEARINGS..=MOST_BEARINGS).contains(&count) {
        return None;
    }
    let single = Options { front: FrontPrior { probability: 0.0, ..options.front }, ..*options };
    let scene = alone(problem, &single, stated)?;
    if !scene.flat {
        return None;
    }
    let one = match stated.scene.others.is_empty() && stated.scene.fronts.places.is_empty() {
        true => stated.log_evidence(),
        false => evidence(&Density::new(&scene, &single), single.cells),
    };
    let options = Options { front: TWO, ..*options };
    let polished = starts(&scene).into_iter().filter_map(|s| polish(&scene, &options, s));
    let best = polished.max_by(|a, b| a.log.total_cmp(&b.log))?;
    let scenes = [0, 1].map(|k| beside(&scene, &best.peaks[1 - k]));
    let verdicts = [0, 1].map(|k| {
        let at = best.peaks[k].at;
        Density::new(&scenes[k], &options).verdicts(at.x, at.y)
    });
    let belongs: Vec<Belongs> =
        (0..count).map(|i| Belongs { to: [0, 1].map(|k| shared(&verdicts[k][i])) }).collect();
    let pair = Pair { gain: best.log - one, scenes, options, belongs };
    Some(if pair.count(1) > pair.count(0) { pair.swapped() } else { pair })
}

impl Pair {
    fn swapped(self) -> Self {
        let [a, b] = self.scenes;
        let belongs = self.belongs.iter().map(|b| Belongs { to: [b.to[1], b.to[0]] }).collect();
        Self { scenes: [b, a], belongs, ..self }
    }
}

/// The bearings of a problem alone, without places that foreign ones may share.
fn alone(problem: &Problem, options: &Options, stated: &Fit) -> Option<Scene> {
    if stated.scene.others.is_empty() {
        return Some(Scene { fronts: Fronts::default(), ..stated.scene.clone() });
    }
    let within = problem.within.or(Some(stated.within()));
    let alone = Problem { levels: &[], sectors: &[], within, ..*problem };
    Some(compasses(Scene::of(&alone, options).ok()?, options))
}

/// Probability of pointing at the place, reversed or not.
fn shared((direct, reversed): &(f64, f64)) -> f64 {
    direct + reversed
}

/// The scene of one place while the other is known as well as its peak says.
fn beside(scene: &Scene, other: &Peak) -> Scene {
    let mut scene = scene.clone();
    scene.fronts = one(front(other, other.covariance));
    scene
}

/// One place and no other.
fn one(front: Front) -> Fronts {
    Fronts { places: vec![front], lone: 0.0 }
}

const fn front(other: &Peak, spread: Matrix2<f64>) -> Front {
    Front { at: other.at, spread, weight: 1.0, share: TWO.share }
}

/// A pair of places, polished.
struct Polished {
    /// Log evidence of two places with peaks here.
    log: f64,
    peaks: [Peak; 2],
}

/// Polishes one place while the other stays, in turn.
fn polish(scene: &Scene, options: &Options, start: [Vector2<f64>; 2]) -> Option<Polished> {
    let mut scene = scene.clone();
    let fixed = |at: Vector2<f64>| Front { at, spread: Matrix2::zeros(), weight: 1.0, share: TWO.share };
    let [mut first, mut second] = start;
    let mut last: Option<[Peak; 2]> = None;
    for _ in 0..TURNS {
        scene.fronts = one(fixed(second));
        let a = climb(&Density::new(&scene, options), first)?;
        scene.fronts = one(fixed(a.at));
        let b = climb(&Density::new(&scene, options), second)?;
        let still = a.distance_squared(&first) + b.distance_squared(&second) < 1e-4;
        (first, second) = (a.at, b.at);
        last = Some([a, b]);
        if still {
            break;
        }
    }
    let peaks = last?;
    // The first with its prior is in the density; the second brings its own prior and the width of its peak. Which of the
    // two is called first does not matter, hence the factor 2.
    scene.fronts = one(fixed(peaks[1].at));
    let height = Density::new(&scene, options).at_point(peaks[0].at.x, peaks[0].at.y);
    let area = |p: &Peak| TAU.ln() + 0.5 * p.covariance.determinant().ln();
    let log = height + area(&peaks[0]) + area(&peaks[1]) + prior(&scene, &peaks[1].at).ln() + 2f64.ln();
    log.is_finite().then_some(Polished { log, peaks })
}

/// Pairs of cuts that explain the bearings best, apart from each other.
fn starts(scene: &Scene) -> Vec<[Vector2<f64>; 2]> {
    let ray = |s: &Sight| Ray { from: Vector2::new(s.east, s.north), sin: s.sin, cos: s.cos };
    let rays: Vec<Ray> = scene.sights.iter().map(ray).collect();
    let mut all = cuts(&rays);
    all.retain(|p| p.amax() < scene.within);
    let seen = |p: &Vector2<f64>| -> Vec<f64> {
        let ways = |s: &Sight| {
            let [ahead, behind] = [1.0, -1.0].map(|cos| lobe(s, p, (0.0, cos)));
            (1.0 - s.reversed) * ahead + s.reversed * behind
        };
        scene.sights.iter().map(|s| TAU * ways(s)).collect()
    };
    let mut candidates: Vec<(f64, Vector2<f64>, Vec<f64>)> = all
        .into_iter()
        .map(|p| {
            let seen = seen(&p);
            let score = seen.iter().map(|f| (0.5 + 0.5 * f).ln()).sum::<f64>() + prior(scene, &p).ln();
            (score, p, seen)
        })
        .collect();
    candidates.sort_by(|a, b| b.0.total_cmp(&a.0));
    candidates.truncate(MOST_CANDIDATES);
    let mut ranked: Vec<(f64, usize, usize)> = Vec::new();
    for i in 0..candidates.len() {
        for j in i + 1..candidates.len() {
            let priors = (prior(scene, &candidates[i].1) * prior(scene, &candidates[j].1)).ln();
            let score = SHARES.map(|w| together(&candidates[i].2, &candidates[j].2, w));
            ranked.push((priors + score.into_iter().fold(f64::NEG_INFINITY, f64::max), i, j));
        }
    }
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut out: Vec<[Vector2<f64>; 2]> = Vec::with_capacity(MOST_STARTS);
    for (_, i, j) in ranked {
        let (a, b) = (candidates[i].1, candidates[j].1);
        let near = |p: &Vector2<f64>, q: &Vector2<f64>| (p - q).norm() < 0.02 * p.norm() + 20.0;
        let known = |[p, q]: &[Vector2<f64>; 2]| (near(p, &a) && near(q, &b)) || (near(p, &b) && near(q, &a));
        if out.len() < MOST_STARTS && !near(&a, &b) && !out.iter().any(known) {
            out.push([a, b]);
        }
    }
    out
}

/// Log likelihood of the bearings over that of an even spread, with a share `w` for the second of two places.
fn together(a: &[f64], b: &[f64], w: f64) -> f64 {
    a.iter().zip(b).map(|(a, b)| (0.05 + 0.95 * ((1.0 - w) * a + w * b)).ln()).sum()
}
