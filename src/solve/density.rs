//! The posterior density at points of the plane, with the shared error of north, the scale of errors and the
//! foreign share integrated out; and an upper bound for it over a whole cell.
//!
//! p(x) ∝ p₀(x) Σₙ wₙ Π_c Σ_k w_k Πᵢ [ (1 − εᵢ − βᵢ) f(Δᵢ) + βᵢ f(Δᵢ − 180°) + εᵢ/2π ], with Δᵢ the miss of bearing i at
//! nodes n and k, n those that all bearings share and k the error of crew c's compass, i the bearings of that crew, f the lobe of [`super::lobe`], εᵢ the foreign share after front and back levels, βᵢ the chance of
//! being reversed, and p₀ ∝ (a² + d²)^(−3/2), the bivariate Cauchy density about the stands' centre.

//!
//! A foreign bearing may share a place with others. Most places are seen by a few bearings only: for the rest a foreign bearing
//! has the even density (1 − ρ)/2π whatever the place, so that the product over all bearings is taken once, and each place
//! corrects it by the bearings that may point there. A place toward which one bearing points, or none, may be anywhere: with aᵢ the
//! density of bearing i where it does not point there and bᵢ where it does, its position integrated out, that is Π aᵢ + Σᵢ bᵢ Πⱼ≠ᵢ aⱼ,
//! which is kept as its two parts: parts of two sets of bearings are (n₁, l₁) and (n₂, l₂), those of both together (n₁n₂, l₁n₂ + n₁l₂).

mod look;
mod nodal;
mod product;
#[cfg(test)]
mod tests;

use std::f64::consts::TAU;

use crate::solve::{
    density::product::{Evaluation, Weighing},
    front::{Front, Fronts, unknown},
    lobe::{concentration, peak_squared},
    nodes::{Node, Nodes},
    options::{Loss, Options},
    scene::{Scene, Sight},
    wide::widest,
};

/// How many points are evaluated side by side.
pub const LANES: usize = 8;

/// A number for each of the points.
pub(crate) type Lanes = [f64; LANES];

/// Points of the plane side by side: metres east, metres north.
pub type Batch = (Lanes, Lanes);

/// Products of this many factors stay within the range of a double: each lies between 1e-8 and 1e4.
const CHUNK: usize = 24;

/// A bearing is taken to see a shared place where that raises its foreign density by more than this part.
const SEES: f64 = 1e-5;

/// The density of one scene, ready to evaluate.
#[derive(Clone, Debug)]
pub struct Density<'a> {
    pub(super) scene: &'a Scene,
    /// Weights of the combinations of nodes that all bearings share: by error of north, by scale, then `slots` of them.
    weights: Vec<f64>,
    crews: Vec<Crew>,
    bearings: Vec<Prepared>,
    /// Number of scale nodes.
    scales: usize,
    /// Foreign nodes without a place that foreign bearings share, and for each such place foreign nodes; then, where there are such
    /// places, those of one toward which no bearing points, and of one toward which one does.
    slots: usize,
    /// Number of places that foreign bearings may share.
    places: usize,
    /// Foreign nodes of a place that is shared.
    each: usize,
    /// Whether a shared place may be anywhere, with one bearing that points at it.
    lone: bool,
    /// Density of a foreign bearing that does not see a shared place.
    even: f64,
    loss: Loss,
}

/// Bearings of one compass.
#[derive(Clone, Debug)]
struct Crew {
    /// Weights of the errors of the compass.
    compass: Vec<f64>,
    /// Numbers of the bearings.
    members: Vec<usize>,
}

/// What the inner loop needs of a bearing at every node.
#[derive(Clone, Debug)]
struct Prepared {
    /// Sine and cosine of the shared error: by error of the compass, then of north.
    turns: Vec<(f64, f64)>,
    /// Variances of the reading and of the stand's position, by scale node: where readings are worse than stated, positions
    /// often are too (streets between high buildings).
    variances: Vec<(f64, f64)>,
    /// Greatest density of the lobe, by scale node.
    highest: Vec<f64>,
    /// Probability of being direct, and density of being foreign, by foreign node without a shared place.
    plain: Vec<(f64, f64)>,
    /// Probabilities of being direct and foreign, by foreign node with a shared place.
    shared: Vec<(f64, f64)>,
    /// Density of pointing at a shared place that may be anywhere, times its share.
    lone: f64,
    /// By turn: the shared places that it may point at, with what these add to the even density.
    pointing: Vec<Vec<(usize, f64)>>,
}

impl<'a> Density<'a> {
    /// Prepares the nodes for `scene`.
    pub fn new(scene: &'a Scene, options: &Options) -> Self {
        let mixture = options.loss == Loss::Mixture;
        let nodes = Nodes::of(scene, options);
        let none = Fronts::default();
        let fronts = if mixture { &scene.fronts } else { &none };
        let places = fronts.places.len();
        let share = fronts.places.first().map_or(0.0, |f| f.share);
        let even = (1.0 - share) / TAU;
        let prepared = |s: &Sight| {
            let lone = share * unknown(scene, s);
            Prepared { lone, ..prepare(s, &nodes, mixture, (&fronts.places, even)) }
        };
        let bearings = scene.sights.iter().map(prepared).collect();
        let each = if places > 0 { nodes.shared.len() } else { 0 };
        let lone = fronts.lone > 0.0 && places > 0;
        let groups = places + if lone { 2 } else { 0 };
        let slots = nodes.foreign.len() + groups * each;
        let mut weights = Vec::with_capacity(nodes.north.len() * nodes.scale.len() * slots);
        for n in &nodes.north {
            for s in &nodes.scale {
                weights.extend(nodes.foreign.iter().map(|f| n.1 * s.1 * f.1 * (1.0 - fronts.weight())));
                let alone = std::iter::repeat_n(fronts.lone, groups - places);
                for weight in fronts.places.iter().map(|f| f.weight).chain(alone) {
                    weights.extend(nodes.shared.iter().map(|f| n.1 * s.1 * f.1 * weight));
                }
            }
        }
        let members = |crew: usize| (0..scene.sights.len()).filter(move |&i| scene.sights[i].whose == crew);
        let crew = |(number, compass): (usize, &Vec<Node>)| Crew {
            compass: compass.iter().map(|c| c.1).collect(),
            members: members(number).collect(),
        };
        let crews = nodes.compass.iter().enumerate().map(crew).collect();
        let scales = nodes.scale.len();
        Self { scene, weights, crews, bearings, scales, slots, places, each, lone, even, loss: options.loss }
    }

    /// What `look` finds with the bearings alone.
    pub fn of_bearings<T>(&self, look: impl FnOnce(&Density) -> T) -> T {
        let scene = Scene { others: Vec::new().into(), ..self.scene.clone() };
        look(&Density { scene: &scene, ..self.clone() })
    }

    /// Natural logarithm of the density (up to a constant) at each point.
    pub fn at(&self, points: &Batch) -> Lanes {
        let mut logs = widest(Evaluation::<false> { density: self, points, radius: 0.0 });
        self.add_others(&mut logs, points);
        logs
    }

    /// Tells other evidence which places will be asked for, metres east and north: it judges those that are new to it side by side.
    pub fn learn(&self, places: &[[f64; 2]]) {
        self.scene.others.iter().for_each(|evidence| evidence.learn(places));
    }

    /// Adds what other evidence than bearings says.
    fn add_others(&self, logs: &mut Lanes, points: &Batch) {
        for evidence in self.scene.others.iter() {
            for (log, other) in logs.iter_mut().zip(evidence.at(points)) {
                *log += other;
            }
        }
    }

    /// An upper bound of the log density over the discs of `radius` metres around each point.
    pub fn bound(&self, points: &Batch, radius: f64) -> Lanes {
        let mut logs = widest(Evaluation::<true> { density: self, points, radius });
        self.add_others(&mut logs, points);
        for evidence in self.scene.others.iter() {
            for (log, more) in logs.iter_mut().zip(evidence.hidden(points, radius)) {
                *log += more;
            }
        }
        logs
    }

    /// The finest length on which the density can vary at each point: the least cross-range error of any bearing at the
    /// nearest point of the disc of `radius`, over the square root of their number.
    pub fn finest(&self, points: &Batch, radius: f64) -> Lanes {
        let mut least = [f64::INFINITY; LANES];
        for sight in &self.scene.sights {
            let variance = (sight.sigma * (-2.0 * sight.spread).exp()).powi(2);
            for l in 0..LANES {
                let (dx, dy) = (points.0[l] - sight.east, points.1[l] - sight.north);
                let near = ((dx * dx + dy * dy).sqrt() - radius).max(0.0);
                least[l] = least[l].min(variance * near * near + sight.position);
            }
        }
        let count = self.scene.sights.len().max(1) as f64;
        let mut finest = least.map(|v| (v / count).sqrt());
        for evidence in self.scene.others.iter() {
            for (length, other) in finest.iter_mut().zip(evidence.finest(points, radius)) {
                *length = length.min(other);
            }
        }
        finest
    }

    /// The log density at one point.
    pub fn at_point(&self, east: f64, north: f64) -> f64 {
        let points = ([east; LANES], [north; LANES]);
        let mut logs = self.prior::<false>(&points, 0.0);
        self.evaluate::<f64, false>((east, north), 0.0, &mut logs[..1]);
        if !self.scene.others.is_empty() {
            self.add_others(&mut logs, &points);
        }
        logs[0]
    }

    /// By crew, by error of its compass: how probable that error is for an emitter at each point, by that crew's bearings.
    pub fn compass_weights(&self, points: &Batch) -> Vec<Vec<Lanes>> {
        widest(Weighing { density: self, points })
    }
}

fn prepare(sight: &Sight, nodes: &Nodes, mixture: bool, (fronts, even): (&[Front], f64)) -> Prepared {
    let offsets = nodes.offsets(sight.whose);
    let turns: Vec<(f64, f64)> =
        offsets.iter().map(|n| (n.north * sight.shared + n.compass).sin_cos()).collect();
    let pointing = |turn: &(f64, f64)| -> Vec<(usize, f64)> {
        let more = |(j, f): (usize, &Front)| (j, f.seen(sight, *turn) - even);
        fronts.iter().enumerate().map(more).filter(|(_, more)| more.abs() > SEES * even).collect()
    };
    let variances: Vec<(f64, f64)> = nodes
        .scale
        .iter()
        .map(|n| (n.0 * sight.spread).exp().powi(2))
        .map(|f| (f * sight.sigma.powi(2), f * sight.position))
        .collect();
    let plain = |f: &Node| {
        let (direct, foreign) = if mixture { shares(sight, f.0) } else { (1.0, 0.0) };
        (direct, foreign / TAU)
    };
    let shared = if fronts.is_empty() { &[] } else { nodes.shared.as_slice() };
    Prepared {
        highest: variances.iter().map(|v| peak_squared(concentration(v.0)).sqrt()).collect(),
        plain: nodes.foreign.iter().map(plain).collect(),
        shared: shared.iter().map(|f| shares(sight, f.0)).collect(),
        lone: 0.0,
        pointing: turns.iter().map(pointing).collect(),
        variances,
        turns,
    }
}

/// Probabilities of being direct and of being foreign where a share `e` of the bearings is foreign on average.
pub(super) fn shares(sight: &Sight, e: f64) -> (f64, f64) {
    let odds = e / (1.0 - e) * sight.foreign_odds;
    let foreign = (1.0 - sight.reversed) * odds / (1.0 + odds);
    (1.0 - sight.reversed - foreign, foreign)
}
