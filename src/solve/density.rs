//! The posterior density at points of the plane, with the shared error of north, the scale of errors and the
//! foreign share integrated out; and an upper bound for it over a whole cell.
//!
//! p(x) ∝ p₀(x) Σₙ wₙ Π_c Σ_k w_k Πᵢ [ (1 − εᵢ − βᵢ) f(Δᵢ) + βᵢ f(Δᵢ − 180°) + εᵢ/2π ], with Δᵢ the miss of bearing i at
//! nodes n and k, n those that all bearings share and k the error of crew c's compass, i the bearings of that crew, f the lobe of [`super::lobe`], εᵢ the foreign share after front and back levels, βᵢ the chance of
//! being reversed, and p₀ ∝ (a² + d²)^(−3/2), the bivariate Cauchy density about the stands' centre.

//!
//! A foreign bearing may share a place with others. Most places are seen by a few bearings only: for the rest a foreign bearing
//! has the even density (1 − ρ)/2π whatever the place, so that the product over all bearings is taken once, and each place
//! corrects it by the bearings that may point there.

mod look;
mod nodal;
#[cfg(test)]
mod tests;

use std::f64::consts::TAU;

use crate::solve::{
    density::look::{Look, Shape},
    front::Front,
    lobe::{concentration, peak_squared},
    nodes::{Node, Nodes},
    options::{Loss, Options},
    scene::{Scene, Sight, TAIL},
};

/// How many points are evaluated side by side.
pub const LANES: usize = 8;

/// A number for each of the points.
pub(crate) type Lanes = [f64; LANES];

const ONE: Lanes = [1.0; LANES];

/// Points of the plane side by side: metres east, metres north.
pub type Batch = (Lanes, Lanes);

/// Products of this many factors stay within the range of a double: each lies between 1e-8 and 1e4.
const CHUNK: usize = 24;

/// A bearing is taken to see a shared place where that raises its foreign density by more than this part.
const SEES: f64 = 1e-6;

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
    /// Foreign nodes without a place that foreign bearings share, and for each such place foreign nodes.
    slots: usize,
    /// Number of places that foreign bearings may share.
    places: usize,
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

/// One call of [`Density::evaluate`], to be run with the widest vectors that the processor has. Wider vectors give the
/// same bits: no multiplication is fused with an addition.
struct Evaluation<'d, 's, 'p, const BOUND: bool> {
    density: &'d Density<'s>,
    points: &'p Batch,
    radius: f64,
}

impl<const BOUND: bool> pulp::NullaryFnOnce for Evaluation<'_, '_, '_, BOUND> {
    type Output = Lanes;

    #[inline(always)]
    fn call(self) -> Self::Output {
        self.density.evaluate::<BOUND>(self.points, self.radius)
    }
}

/// The same for [`Density::compass_weights`].
struct Weighing<'d, 's, 'p> {
    density: &'d Density<'s>,
    points: &'p Batch,
}

impl pulp::NullaryFnOnce for Weighing<'_, '_, '_> {
    type Output = Vec<Vec<Lanes>>;

    #[inline(always)]
    fn call(self) -> Self::Output {
        self.density.weigh(self.points)
    }
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
    /// By turn: the shared places that it may point at, with what these add to the even density.
    pointing: Vec<Vec<(usize, f64)>>,
}

/// Views of the bearings on a batch of points.
struct Views {
    looks: Vec<Look>,
    /// By bearing, then by scale.
    shapes: Vec<Shape>,
    radius: f64,
}

/// Room for one block of slots.
struct Room {
    /// A product for each slot.
    slots: Vec<Lanes>,
    /// Products without any shared place seen, by foreign node.
    even: Vec<Lanes>,
    /// Cosines of the misses of some bearings from front and back lobe at one turn.
    misses: Vec<(Lanes, Lanes)>,
}

impl<'a> Density<'a> {
    /// Prepares the nodes for `scene`.
    pub fn new(scene: &'a Scene, options: &Options) -> Self {
        let mixture = options.loss == Loss::Mixture;
        let nodes = Nodes::of(scene, options);
        let fronts = if mixture { scene.fronts.as_slice() } else { &[] };
        let even = (1.0 - fronts.first().map_or(0.0, |f| f.share)) / TAU;
        let bearings = scene.sights.iter().map(|s| prepare(s, &nodes, mixture, (fronts, even))).collect();
        let shared: f64 = fronts.iter().map(|f| f.weight).sum();
        let slots = nodes.foreign.len() + fronts.len() * nodes.shared.len();
        let mut weights = Vec::with_capacity(nodes.north.len() * nodes.scale.len() * slots);
        for n in &nodes.north {
            for s in &nodes.scale {
                weights.extend(nodes.foreign.iter().map(|f| n.1 * s.1 * f.1 * (1.0 - shared)));
                for front in fronts {
                    weights.extend(nodes.shared.iter().map(|f| n.1 * s.1 * f.1 * front.weight));
                }
            }
        }
        let members = |crew: usize| (0..scene.sights.len()).filter(move |&i| scene.sights[i].whose == crew);
        let crew = |(number, compass): (usize, &Vec<Node>)| Crew {
            compass: compass.iter().map(|c| c.1).collect(),
            members: members(number).collect(),
        };
        let crews = nodes.compass.iter().enumerate().map(crew).collect();
        let (scales, places) = (nodes.scale.len(), fronts.len());
        Self { scene, weights, crews, bearings, scales, slots, places, even, loss: options.loss }
    }

    /// Natural logarithm of the density (up to a constant) at each point.
    pub fn at(&self, points: &Batch) -> Lanes {
        let mut logs = pulp::Arch::new().dispatch(Evaluation::<false> { density: self, points, radius: 0.0 });
        self.add_others(&mut logs, points);
        logs
    }

    /// Tells other evidence which places will be asked for, metres east and north.
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
        self.at(&([east; LANES], [north; LANES]))[0]
    }

    /// By crew, by error of its compass: how probable that error is for an emitter at each point, by that crew's bearings.
    pub fn compass_weights(&self, points: &Batch) -> Vec<Vec<Lanes>> {
        pulp::Arch::new().dispatch(Weighing { density: self, points })
    }

    #[inline(always)]
    fn evaluate<const BOUND: bool>(&self, points: &Batch, radius: f64) -> Lanes {
        let mut logs = self.prior::<BOUND>(points, radius);
        if let Loss::Classic(loss) = self.loss {
            self.classic::<BOUND>(loss, points, radius, &mut logs);
            return logs;
        }
        let views = self.views::<BOUND>(points, radius);
        let mut room = self.room();
        let mut total = vec![ONE; self.weights.len()];
        let mut mean = vec![[0.0; LANES]; self.weights.len()];
        let mut taken = 0;
        for crew in &self.crews {
            mean.fill([0.0; LANES]);
            if crew.members.len() > CHUNK {
                let all = self.products::<BOUND>(crew, &views, &mut room, &mut logs);
                for (part, weight) in all.chunks_exact(mean.len()).zip(&crew.compass) {
                    add(&mut mean, part, *weight);
                }
            } else {
                self.averaged::<BOUND>(crew, &views, &mut room, &mut mean);
            }
            taken += crew.members.len();
            if taken > CHUNK {
                rescale(&mut mean, &mut logs);
                rescale(&mut total, &mut logs);
                taken = crew.members.len();
            }
            multiply(&mut total, &mean);
        }
        let mut sums = [0.0; LANES];
        for (part, weight) in total.iter().zip(&self.weights) {
            for l in 0..LANES {
                sums[l] += weight * part[l];
            }
        }
        for l in 0..LANES {
            logs[l] += sums[l].ln();
        }
        logs
    }

    /// The same for a classic loss; there is no error of the compass then.
    #[inline(always)]
    fn classic<const BOUND: bool>(
        &self,
        loss: crate::numeric::loss::Loss,
        points: &Batch,
        radius: f64,
        logs: &mut Lanes,
    ) {
        let mut products: Vec<Lanes> = self.weights.iter().map(|w| [*w; LANES]).collect();
        for (sight, prepared) in self.scene.sights.iter().zip(&self.bearings) {
            let look = Look::at(sight, self.scene, points);
            for (product, turn) in products.iter_mut().zip(&prepared.turns) {
                for l in 0..LANES {
                    let sigma = (sight.sigma.powi(2) + sight.position * look.inverse_square[l]).sqrt();
                    let (c, s) = look.turned::<BOUND>(l, *turn, radius);
                    product[l] *= (-loss.rho(s.atan2(c) / sigma)).exp().max(1e-300);
                }
            }
            rescale(&mut products, logs);
        }
        for l in 0..LANES {
            logs[l] += products.iter().map(|p| p[l]).sum::<f64>().ln();
        }
    }

    #[inline(always)]
    fn weigh(&self, points: &Batch) -> Vec<Vec<Lanes>> {
        let views = self.views::<false>(points, 0.0);
        let mut room = self.room();
        let mut unused = [0.0; LANES];
        let mut out = Vec::with_capacity(self.crews.len());
        for crew in &self.crews {
            let all = self.products::<false>(crew, &views, &mut room, &mut unused);
            let mut sums = Vec::with_capacity(crew.compass.len());
            let mut whole = [0.0; LANES];
            for (part, compass) in all.chunks_exact(self.weights.len()).zip(&crew.compass) {
                let mut sum = [0.0; LANES];
                for (part, weight) in part.iter().zip(&self.weights) {
                    for l in 0..LANES {
                        sum[l] += compass * weight * part[l];
                    }
                }
                for l in 0..LANES {
                    whole[l] += sum[l];
                }
                sums.push(sum);
            }
            for sum in &mut sums {
                for l in 0..LANES {
                    sum[l] /= whole[l];
                }
            }
            out.push(sums);
        }
        out
    }

    fn room(&self) -> Room {
        let each = self.bearings.first().map_or(0, |b| b.shared.len());
        Room {
            slots: vec![ONE; self.slots],
            even: vec![ONE; each],
            misses: Vec::with_capacity(CHUNK.min(self.bearings.len())),
        }
    }

    #[inline(always)]
    fn views<const BOUND: bool>(&self, points: &Batch, radius: f64) -> Views {
        let mut looks = Vec::with_capacity(self.bearings.len());
        let mut shapes = Vec::with_capacity(self.bearings.len() * self.scales);
        for (sight, prepared) in self.scene.sights.iter().zip(&self.bearings) {
            let look = Look::at(sight, self.scene, points);
            for (variances, highest) in prepared.variances.iter().zip(&prepared.highest) {
                shapes.push(Shape::of::<BOUND>(&look, *variances, *highest, radius));
            }
            looks.push(look);
        }
        Views { looks, shapes, radius }
    }

    /// Adds to `mean` the likelihood of a crew's few bearings, averaged over the errors of its compass.
    #[inline(always)]
    fn averaged<const BOUND: bool>(&self, crew: &Crew, views: &Views, room: &mut Room, mean: &mut [Lanes]) {
        let norths = self.weights.len() / (self.scales * self.slots);
        for (k, weight) in crew.compass.iter().enumerate() {
            for north in 0..norths {
                let turn = k * norths + north;
                self.turn::<BOUND>(&crew.members, views, room, turn);
                for scale in 0..self.scales {
                    self.block(&crew.members, views, room, (turn, scale));
                    let first = (north * self.scales + scale) * self.slots;
                    add(&mut mean[first..first + self.slots], &room.slots, *weight);
                }
            }
        }
    }

    /// The likelihood of a crew's bearings at each combination of its nodes.
    #[inline(always)]
    fn products<const BOUND: bool>(
        &self,
        crew: &Crew,
        views: &Views,
        room: &mut Room,
        logs: &mut Lanes,
    ) -> Vec<Lanes> {
        let mut all = vec![ONE; crew.compass.len() * self.weights.len()];
        let turns = crew.compass.len() * self.weights.len() / (self.scales * self.slots);
        for some in crew.members.chunks(CHUNK) {
            let mut blocks = all.chunks_exact_mut(self.slots);
            for turn in 0..turns {
                self.turn::<BOUND>(some, views, room, turn);
                for scale in 0..self.scales {
                    self.block(some, views, room, (turn, scale));
                    if let Some(block) = blocks.next() {
                        multiply(block, &room.slots);
                    }
                }
            }
            rescale(&mut all, logs);
        }
        all
    }

    /// Misses of some bearings at one error of direction.
    #[inline(always)]
    fn turn<const BOUND: bool>(&self, some: &[usize], views: &Views, room: &mut Room, turn: usize) {
        room.misses.clear();
        for &i in some {
            room.misses.push(views.looks[i].lobes::<BOUND>(self.bearings[i].turns[turn], views.radius));
        }
    }

    /// The likelihood of some bearings at one error of direction and one scale of errors, for every slot.
    #[inline(always)]
    fn block(&self, some: &[usize], views: &Views, room: &mut Room, (turn, scale): (usize, usize)) {
        room.slots.fill(ONE);
        room.even.fill(ONE);
        let each = room.even.len();
        for (&i, (toward, away)) in some.iter().zip(&room.misses) {
            let (front, back) = views.shapes[i * self.scales + scale].densities(toward, away);
            let (sight, prepared) = (&self.scene.sights[i], &self.bearings[i]);
            let plain = prepared.plain.len();
            for (product, (direct, foreign)) in room.slots.iter_mut().zip(&prepared.plain) {
                // In locals of its own: through the slice the compiler takes one lane at a time.
                let mut lanes = *product;
                for l in 0..LANES {
                    lanes[l] *= direct * front[l] + (sight.reversed * back[l] + foreign);
                }
                *product = lanes;
            }
            let pointing = &prepared.pointing[turn];
            for (e, (direct, foreign)) in prepared.shared.iter().enumerate() {
                let mut factor = [0.0; LANES];
                let mut lanes = room.even[e];
                for l in 0..LANES {
                    factor[l] = direct * front[l] + (sight.reversed * back[l] + foreign * self.even);
                    lanes[l] *= factor[l];
                }
                room.even[e] = lanes;
                if pointing.is_empty() {
                    continue;
                }
                for l in 0..LANES {
                    factor[l] = foreign / factor[l];
                }
                for (place, more) in pointing {
                    let slot = plain + place * each + e;
                    let mut lanes = room.slots[slot];
                    for l in 0..LANES {
                        lanes[l] *= 1.0 + factor[l] * more;
                    }
                    room.slots[slot] = lanes;
                }
            }
        }
        // What is left over at the front is without a shared place.
        let Room { slots, even, .. } = room;
        for places in slots.rchunks_exact_mut(each.max(1)).take(self.places) {
            multiply(places, even);
        }
    }

    /// Log of the prior density of the place (and, for bounds, its greatest value in the disc).
    #[inline(always)]
    fn prior<const BOUND: bool>(&self, points: &Batch, radius: f64) -> Lanes {
        let knee = self.scene.knee.powi(2);
        let mut out = [0.0; LANES];
        for l in 0..LANES {
            let d = (points.0[l] - self.scene.middle.x).hypot(points.1[l] - self.scene.middle.y);
            let d = if BOUND { (d - radius).max(0.0) } else { d };
            out[l] = -TAIL * (knee + d * d).ln();
        }
        out
    }
}

#[inline(always)]
fn multiply(products: &mut [Lanes], by: &[Lanes]) {
    for (product, factor) in products.iter_mut().zip(by) {
        let mut lanes = *product;
        for l in 0..LANES {
            lanes[l] *= factor[l];
        }
        *product = lanes;
    }
}

#[inline(always)]
fn add(sums: &mut [Lanes], parts: &[Lanes], weight: f64) {
    for (sum, part) in sums.iter_mut().zip(parts) {
        let mut lanes = *sum;
        for l in 0..LANES {
            lanes[l] += weight * part[l];
        }
        *sum = lanes;
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

/// Divides each lane's products by their greatest and adds its logarithm to the lane.
fn rescale(products: &mut [Lanes], logs: &mut Lanes) {
    for l in 0..LANES {
        let top = products.iter().map(|p| p[l]).fold(0.0, f64::max);
        logs[l] += top.ln();
        for product in products.iter_mut() {
            product[l] /= top;
        }
    }
}
