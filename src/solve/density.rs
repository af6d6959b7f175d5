//! The posterior density at points of the plane, with the shared error of north, the scale of errors and the
//! foreign share integrated out; and an upper bound for it over a whole cell.
//!
//! p(x) ∝ p₀(x) Σₙ wₙ Π_c Σ_k w_k Πᵢ [ (1 − εᵢ − βᵢ) f(Δᵢ) + βᵢ f(Δᵢ − 180°) + εᵢ/2π ], with Δᵢ the miss of bearing i at
//! nodes n and k, n those that all bearings share and k the error of crew c's compass, i the bearings of that crew, f the lobe of [`super::lobe`], εᵢ the foreign share after front and back levels, βᵢ the chance of
//! being reversed, and p₀ ∝ (a² + d²)^(−3/2), the bivariate Cauchy density about the stands' centre.

use std::f64::consts::TAU;

use crate::solve::{
    front::Front,
    lobe::{concentration, exp_negative, peak_squared},
    nodes::{Node, Nodes},
    options::{Loss, Options},
    scene::{Scene, Sight, TAIL, geodesic_miss},
};

/// How many points are evaluated side by side.
pub const LANES: usize = 8;

/// Points of the plane side by side: metres east, metres north.
pub type Batch = ([f64; LANES], [f64; LANES]);

/// Above this concentration (errors below about 13°) a lobe is below e^−18 of its peak at right angles to it, a
/// hundred-thousandth of the least foreign density that matters, and is taken as zero on the other side.
const SHARP: f64 = 18.0;

/// Products of this many factors stay within the range of a double: each lies between 1e-8 and 1e4.
const RESCALE_EVERY: usize = 24;

/// The density of one scene, ready to evaluate.
#[derive(Clone, Debug)]
pub struct Density<'a> {
    pub(super) scene: &'a Scene,
    /// Weights of the combinations of nodes that all bearings share.
    weights: Vec<f64>,
    /// Weights of the errors of one compass.
    compass: Vec<f64>,
    bearings: Vec<Prepared>,
    loss: Loss,
}

/// One call of [`Density::evaluate`], to be run with the widest vectors that the processor has. Wider vectors give the
/// same bits: no multiplication is fused with an addition.
struct Evaluation<'d, 's, 'p, const BOUND: bool> {
    density: &'d Density<'s>,
    points: &'p Batch,
    radius: f64,
}

impl<const BOUND: bool> pulp::NullaryFnOnce for Evaluation<'_, '_, '_, BOUND> {
    type Output = [f64; LANES];

    #[inline(always)]
    fn call(self) -> Self::Output {
        self.density.evaluate::<BOUND>(self.points, self.radius)
    }
}

/// Probability of a bearing of being direct and of being reversed, at each combination of nodes.
type Parts = Vec<(f64, f64)>;

/// What the inner loop needs of a bearing at every node.
#[derive(Clone, Debug)]
struct Prepared {
    /// Sine and cosine of the shared error, by offset node.
    turns: Vec<(f64, f64)>,
    /// Variances of the reading and of the stand's position, by scale node: where readings are worse than stated, positions
    /// often are too (streets between high buildings).
    variances: Vec<(f64, f64)>,
    /// Weights of direct and of foreign, the latter as density on the circle: by offset node; in each, by foreign
    /// node without a place that foreign bearings share, then for each such place by foreign node.
    shares: Vec<Vec<(f64, f64)>>,
}

impl<'a> Density<'a> {
    /// Prepares the nodes for `scene`.
    pub fn new(scene: &'a Scene, options: &Options) -> Self {
        let mixture = options.loss == Loss::Mixture;
        let nodes = Nodes::of(scene, options);
        let fronts = if mixture { scene.fronts.as_slice() } else { &[] };
        let bearings = scene.sights.iter().map(|s| prepare(s, &nodes, mixture, fronts)).collect();
        let shared: f64 = fronts.iter().map(|f| f.weight).sum();
        let mut weights = Vec::with_capacity(nodes.combinations(fronts.len()) / nodes.compass.len());
        for n in &nodes.north {
            for s in &nodes.scale {
                weights.extend(nodes.foreign.iter().map(|f| n.1 * s.1 * f.1 * (1.0 - shared)));
                for front in fronts {
                    weights.extend(nodes.shared.iter().map(|f| n.1 * s.1 * f.1 * front.weight));
                }
            }
        }
        let compass = nodes.compass.iter().map(|c| c.1).collect();
        Self { scene, weights, compass, bearings, loss: options.loss }
    }

    /// Natural logarithm of the density (up to a constant) at each point.
    pub fn at(&self, points: &Batch) -> [f64; LANES] {
        let mut logs = pulp::Arch::new().dispatch(Evaluation::<false> { density: self, points, radius: 0.0 });
        self.add_others(&mut logs, points);
        logs
    }

    /// Tells other evidence which places will be asked for, metres east and north.
    pub fn learn(&self, places: &[[f64; 2]]) {
        self.scene.others.iter().for_each(|evidence| evidence.learn(places));
    }

    /// Adds what other evidence than bearings says.
    fn add_others(&self, logs: &mut [f64; LANES], points: &Batch) {
        for evidence in self.scene.others.iter() {
            for (log, other) in logs.iter_mut().zip(evidence.at(points)) {
                *log += other;
            }
        }
    }

    /// An upper bound of the log density over the discs of `radius` metres around each point.
    pub fn bound(&self, points: &Batch, radius: f64) -> [f64; LANES] {
        let mut logs = pulp::Arch::new().dispatch(Evaluation::<true> { density: self, points, radius });
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
    pub fn finest(&self, points: &Batch, radius: f64) -> [f64; LANES] {
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
        self.at(&([east; LANES], [north; LANES]))[0]
    }

    #[inline(always)]
    fn evaluate<const BOUND: bool>(&self, points: &Batch, radius: f64) -> [f64; LANES] {
        let mut logs = self.prior::<BOUND>(points, radius);
        let combinations = self.combinations();
        let mut all = vec![[1.0; LANES]; combinations * self.scene.crews];
        for (i, (sight, prepared)) in self.scene.sights.iter().zip(&self.bearings).enumerate() {
            let look = Look::at(sight, self.scene, points);
            let products = &mut all[sight.whose * combinations..][..combinations];
            match self.loss {
                Loss::Mixture => self.multiply::<BOUND>(products, sight, prepared, &look, radius),
                Loss::Classic(loss) => {
                    for (product, turn) in products.iter_mut().zip(&prepared.turns) {
                        for l in 0..LANES {
                            let sigma =
                                (sight.sigma.powi(2) + sight.position * look.inverse_square[l]).sqrt();
                            let (c, s) = look.turned::<BOUND>(l, *turn, radius);
                            product[l] *= (-loss.rho(s.atan2(c) / sigma)).exp().max(1e-300);
                        }
                    }
                }
            }
            if (i + 1) % RESCALE_EVERY == 0 || self.loss != Loss::Mixture {
                all.chunks_exact_mut(combinations).for_each(|products| rescale(products, &mut logs));
            }
        }
        let sums = self.summed(&all);
        for l in 0..LANES {
            logs[l] += sums[l].ln();
        }
        logs
    }

    /// Number of combinations of nodes for one crew.
    fn combinations(&self) -> usize {
        self.compass.len() * self.weights.len()
    }

    /// Averages over the errors of each crew's compass, then over the nodes that all bearings share.
    #[inline(always)]
    fn summed(&self, all: &[[f64; LANES]]) -> [f64; LANES] {
        let shared = self.weights.len();
        let mut sums = [0.0; LANES];
        for (i, weight) in self.weights.iter().enumerate() {
            let mut product = [*weight; LANES];
            for crew in all.chunks_exact(self.combinations()) {
                let mut mean = [0.0; LANES];
                for (k, w) in self.compass.iter().enumerate() {
                    for l in 0..LANES {
                        mean[l] += w * crew[k * shared + i][l];
                    }
                }
                for l in 0..LANES {
                    product[l] *= mean[l];
                }
            }
            for l in 0..LANES {
                sums[l] += product[l];
            }
        }
        sums
    }

    /// Multiplies every combination's product by this bearing's factor.
    #[inline(always)]
    fn multiply<const BOUND: bool>(
        &self,
        products: &mut [[f64; LANES]],
        sight: &Sight,
        prepared: &Prepared,
        look: &Look,
        radius: f64,
    ) {
        let mut slots = products.chunks_exact_mut(prepared.shares[0].len());
        for (turn, shares) in prepared.turns.iter().zip(&prepared.shares) {
            let (toward, away) = look.lobes::<BOUND>(*turn, radius);
            for (variance, position) in &prepared.variances {
                let (front, back) = if BOUND {
                    look.highest(*variance, *position, &toward, &away, radius)
                } else {
                    look.densities(*variance, *position, &toward)
                };
                let slot = slots.next().expect("one slot per offset and scale node");
                for (product, (direct, foreign)) in slot.iter_mut().zip(shares) {
                    // In locals of its own: through the slice the compiler takes one lane at a time.
                    let mut lanes = *product;
                    for l in 0..LANES {
                        lanes[l] *= direct * front[l] + (sight.reversed * back[l] + foreign);
                    }
                    *product = lanes;
                }
            }
        }
    }

    /// Log of the prior density of the place (and, for bounds, its greatest value in the disc).
    #[inline(always)]
    fn prior<const BOUND: bool>(&self, points: &Batch, radius: f64) -> [f64; LANES] {
        let knee = self.scene.knee.powi(2);
        std::array::from_fn(|l| {
            let d = points.0[l].hypot(points.1[l]);
            let d = if BOUND { (d - radius).max(0.0) } else { d };
            -TAIL * (knee + d * d).ln()
        })
    }

    /// For each crew the weight of every combination of nodes given the place, its compass's errors first; and the probability of each
    /// bearing being direct and being reversed at each of them.
    fn at_nodes(&self, east: f64, north: f64) -> (Vec<Vec<f64>>, Vec<Parts>) {
        let points = ([east; LANES], [north; LANES]);
        let prior: Vec<f64> = self.compass.iter().flat_map(|w| vec![w.ln(); self.weights.len()]).collect();
        let mut logs = vec![prior; self.scene.crews];
        let mut parts: Vec<Parts> = Vec::with_capacity(self.bearings.len());
        for (sight, prepared) in self.scene.sights.iter().zip(&self.bearings) {
            let look = Look::at(sight, self.scene, &points);
            let logs = &mut logs[sight.whose];
            let mut here = Vec::with_capacity(logs.len());
            for (turn, shares) in prepared.turns.iter().zip(&prepared.shares) {
                let (toward, away) = look.lobes::<false>(*turn, 0.0);
                for (variance, position) in &prepared.variances {
                    let k = concentration(variance + position * look.inverse_square[0]);
                    let peak = peak_squared(k).sqrt();
                    let front = peak * exp_negative(k * (toward[0] - 1.0));
                    let back = peak * exp_negative(k * (away[0] - 1.0)) * sight.reversed;
                    for (direct, foreign) in shares {
                        let total = direct * front + back + foreign;
                        logs[here.len()] += total.ln();
                        here.push((direct * front / total, back / total));
                    }
                }
            }
            parts.push(here);
        }
        (self.posterior_of_nodes(&logs), parts)
    }

    /// Weights for each crew from the logarithms of each crew's own products.
    fn posterior_of_nodes(&self, logs: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let shared = self.weights.len();
        let total =
            |crew: &Vec<f64>, i: usize| log_sum((0..self.compass.len()).map(|k| crew[k * shared + i]));
        let sums: Vec<Vec<f64>> =
            logs.iter().map(|crew| (0..shared).map(|i| total(crew, i)).collect()).collect();
        let all: Vec<f64> = (0..shared)
            .map(|i| self.weights[i].ln() + sums.iter().map(|crew| crew[i]).sum::<f64>())
            .collect();
        let of = |(crew, sums): (&Vec<f64>, &Vec<f64>)| {
            let log = |(c, log): (usize, &f64)| log + all[c % shared] - sums[c % shared];
            normalised(&crew.iter().enumerate().map(log).collect::<Vec<f64>>())
        };
        logs.iter().zip(&sums).map(of).collect()
    }

    /// The probability of each bearing being direct and being reversed given the place, averaged over the nodes.
    pub fn verdicts(&self, east: f64, north: f64) -> Vec<(f64, f64)> {
        let (weights, parts) = self.at_nodes(east, north);
        parts
            .iter()
            .zip(&self.scene.sights)
            .map(|(p, sight)| {
                let weights = &weights[sight.whose];
                let mean =
                    |f: fn(&(f64, f64)) -> f64| p.iter().zip(weights).map(|(x, w)| f(x) * w).sum::<f64>();
                (mean(|x| x.0), mean(|x| x.1))
            })
            .collect()
    }

    /// The weight of every combination of nodes given the place, for the crew with the most bearings; they sum to 1. Errors of
    /// the compass come first, then those of north, then scales, then foreign shares.
    pub fn node_weights(&self, east: f64, north: f64) -> Vec<f64> {
        self.at_nodes(east, north).0.swap_remove(0)
    }
}

/// Logarithm of the sum of numbers given by their logarithms.
fn log_sum(logs: impl Iterator<Item = f64> + Clone) -> f64 {
    let top = logs.clone().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY { top } else { top + logs.map(|l| (l - top).exp()).sum::<f64>().ln() }
}

/// Weights that sum to 1 from their logarithms.
fn normalised(logs: &[f64]) -> Vec<f64> {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let sum: f64 = weights.iter().sum();
    weights.iter().map(|w| w / sum).collect()
}

fn prepare(sight: &Sight, nodes: &Nodes, mixture: bool, fronts: &[Front]) -> Prepared {
    let turns: Vec<(f64, f64)> =
        nodes.offsets().iter().map(|n| (n.north * sight.shared + n.compass).sin_cos()).collect();
    let shares = |turn: &(f64, f64)| {
        let at = |f: &Node, density: f64| {
            let (direct, foreign) = if mixture { shares(sight, f.0) } else { (1.0, 0.0) };
            (direct, foreign * density)
        };
        let mut all: Vec<(f64, f64)> = nodes.foreign.iter().map(|f| at(f, 1.0 / TAU)).collect();
        for front in fronts {
            let seen = front.seen(sight, *turn);
            all.extend(nodes.shared.iter().map(|f| at(f, seen)));
        }
        all
    };
    Prepared {
        variances: nodes
            .scale
            .iter()
            .map(|n| (n.0 * sight.spread).exp().powi(2))
            .map(|f| (f * sight.sigma.powi(2), f * sight.position))
            .collect(),
        shares: turns.iter().map(shares).collect(),
        turns,
    }
}

/// Probabilities of being direct and of being foreign where a share `e` of the bearings is foreign on average.
pub(super) fn shares(sight: &Sight, e: f64) -> (f64, f64) {
    let odds = e / (1.0 - e) * sight.foreign_odds;
    let foreign = (1.0 - sight.reversed) * odds / (1.0 + odds);
    (1.0 - sight.reversed - foreign, foreign)
}

/// Divides each lane's products by their greatest and adds its logarithm to the lane.
fn rescale(products: &mut [[f64; LANES]], logs: &mut [f64; LANES]) {
    for l in 0..LANES {
        let top = products.iter().map(|p| p[l]).fold(0.0, f64::max);
        logs[l] += top.ln();
        for product in products.iter_mut() {
            product[l] /= top;
        }
    }
}

/// One stand's view of a batch of points.
struct Look {
    /// Cosine of the miss.
    cos: [f64; LANES],
    /// Sine of the miss (measured minus computed).
    sin: [f64; LANES],
    /// 1/r², per square metre.
    inverse_square: [f64; LANES],
    /// Factor by which the Earth's curvature widens the angle that a disc subtends.
    slack: f64,
}

impl Look {
    #[inline(always)]
    fn at(sight: &Sight, scene: &Scene, points: &Batch) -> Self {
        let mut look =
            Self { cos: [0.0; LANES], sin: [0.0; LANES], inverse_square: [0.0; LANES], slack: 1.0 };
        if scene.flat {
            for l in 0..LANES {
                let (dx, dy) = (points.0[l] - sight.east, points.1[l] - sight.north);
                let inverse_square = 1.0 / (dx * dx + dy * dy + 1e-12);
                let inverse = inverse_square.sqrt();
                look.cos[l] = (sight.sin * dx + sight.cos * dy) * inverse;
                look.sin[l] = (sight.sin * dy - sight.cos * dx) * inverse;
                look.inverse_square[l] = inverse_square;
            }
        } else {
            look.slack = 1.7;
            for l in 0..LANES {
                let (miss, distance) = geodesic_miss(sight, scene.place(points.0[l], points.1[l]));
                (look.sin[l], look.cos[l]) = miss.sin_cos();
                look.inverse_square[l] = 1.0 / (distance * distance + 1e-12);
            }
        }
        look
    }

    /// Densities of the front and the back lobe for the cosine of the miss.
    #[inline(always)]
    fn densities(&self, variance: f64, position: f64, toward: &[f64; LANES]) -> ([f64; LANES], [f64; LANES]) {
        let mut k = [0.0; LANES];
        for l in 0..LANES {
            k[l] = concentration(variance + position * self.inverse_square[l]);
        }
        let (mut front, mut back) = ([0.0; LANES], [0.0; LANES]);
        if k.iter().all(|k| *k > SHARP) {
            // Only the lobe on whose side the point lies counts: one exponential instead of two.
            for l in 0..LANES {
                let height = peak_squared(k[l]).sqrt() * exp_negative(k[l] * (toward[l].abs() - 1.0));
                let ahead = f64::from(u8::from(toward[l] >= 0.0));
                front[l] = height * ahead;
                back[l] = height * (1.0 - ahead);
            }
        } else {
            for l in 0..LANES {
                let peak = peak_squared(k[l]).sqrt();
                front[l] = peak * exp_negative(k[l] * (toward[l] - 1.0));
                back[l] = peak * exp_negative(k[l] * (-toward[l] - 1.0));
            }
        }
        (front, back)
    }

    /// The greatest values of [`Look::densities`] over discs: nearer by `radius` the lobe is wider, further off it is
    /// narrower and higher.
    #[inline(always)]
    fn highest(
        &self,
        variance: f64,
        position: f64,
        toward: &[f64; LANES],
        away: &[f64; LANES],
        radius: f64,
    ) -> ([f64; LANES], [f64; LANES]) {
        let high = peak_squared(concentration(variance)).sqrt();
        let (mut front, mut back) = ([0.0; LANES], [0.0; LANES]);
        for l in 0..LANES {
            let wide = concentration(variance + position * self.nearest_inverse_square(l, radius));
            front[l] = high * exp_negative(wide * (toward[l] - 1.0));
            back[l] = high * exp_negative(wide * (away[l] - 1.0));
        }
        (front, back)
    }

    /// 1/r² at the nearest point of the disc, or a huge figure when the disc holds the stand.
    #[inline(always)]
    fn nearest_inverse_square(&self, l: usize, radius: f64) -> f64 {
        let r = 1.0 / self.inverse_square[l].sqrt();
        let near = (r - radius).max(1e-3);
        1.0 / (near * near)
    }

    /// Cosine and sine of the miss after the shared error; for bounds, of the least miss in the disc.
    #[inline(always)]
    fn turned<const BOUND: bool>(&self, l: usize, turn: (f64, f64), radius: f64) -> (f64, f64) {
        let c = self.cos[l] * turn.1 - self.sin[l] * turn.0;
        let s = self.sin[l] * turn.1 + self.cos[l] * turn.0;
        if !BOUND {
            return (c, s);
        }
        let least = least_miss(c, s, radius * self.inverse_square[l].sqrt() * self.slack);
        (least, (1.0 - least * least).max(0.0).sqrt())
    }

    /// Cosines of the miss from the front lobe and from the back lobe.
    #[inline(always)]
    fn lobes<const BOUND: bool>(&self, turn: (f64, f64), radius: f64) -> ([f64; LANES], [f64; LANES]) {
        let mut toward = [0.0; LANES];
        let mut away = [0.0; LANES];
        for l in 0..LANES {
            let c = self.cos[l] * turn.1 - self.sin[l] * turn.0;
            toward[l] = c;
            away[l] = -c;
            if BOUND {
                let s = self.sin[l] * turn.1 + self.cos[l] * turn.0;
                let sine = radius * self.inverse_square[l].sqrt() * self.slack;
                toward[l] = least_miss(c, s, sine);
                away[l] = least_miss(-c, s, sine);
            }
        }
        (toward, away)
    }
}

/// Cosine of the least miss within a disc that subtends ± asin(`sine`), for a miss of cosine `c` and sine `s`.
#[inline(always)]
fn least_miss(c: f64, s: f64, sine: f64) -> f64 {
    if sine >= 1.0 {
        return 1.0;
    }
    let cosine = (1.0 - sine * sine).sqrt();
    if c >= cosine { 1.0 } else { c * cosine + s.abs() * sine }
}
