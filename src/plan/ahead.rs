//! Looking ahead: hunts are played from each stand that may come next, and the stand with the fewest minutes on the average wins.
//!
//! A play draws the emitter from the belief, and what its bearings read from the mixture that the solver assumes. After the
//! first move everybody goes on alike: part of the way toward the likeliest place, a bearing, and so on, and what was passed
//! without meeting the emitter is crossed out. So a stand is worth what it spares this simple walker: bearings while closing
//! in, wrong stories followed, and search are all counted in minutes. The same emitters and the same luck are played from every
//! stand, in equal shares of the belief, so that few plays tell stands apart.

use std::f64::consts::TAU;

use crate::{
    geodesy::PlanePoint,
    numeric::random::Random,
    plan::{belief::Belief, next::Search, picture::MET_WITHIN},
    solve::predict::EVEN,
};

/// So many points of the belief are played with.
const POINTS: usize = 360;

/// Bearings of a play; then the rest of the way is counted and [`GIVEN_UP`] minutes.
const BEARINGS: usize = 7;
const GIVEN_UP: f64 = 10.0;

/// Part of the way that is walked before the next bearing, its least and its greatest length in metres.
const PART: f64 = 0.8;
const LEGS: (f64, f64) = (200.0, 800.0);

/// Streets at right angles make ways longer by 4/π on the average over all directions.
pub const DETOUR: f64 = 4.0 / std::f64::consts::PI;

/// A move that may come next.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    /// The way, from where it begins to where it leads: at least one point.
    pub way: Vec<PlanePoint>,
    /// Minutes on foot.
    pub minutes: f64,
    /// Whether a bearing is taken there.
    pub bearing: bool,
    /// Share of foreign bearings there by point of the belief ([`Ahead::points`]); empty where it is the same for all.
    pub foreign: Vec<f64>,
    /// Number of the stand that it leads to, among those that may be proposed.
    pub candidate: Option<usize>,
}

impl Move {
    /// Where it leads.
    pub fn to(&self) -> PlanePoint {
        self.way[self.way.len() - 1]
    }

    /// Minutes after which a point is met on the way, if it is.
    fn meets(&self, point: PlanePoint) -> Option<f64> {
        let length: f64 = self.way.windows(2).map(|w| apart(w[0], w[1])).sum();
        if length <= 0.0 {
            return passes(self.to(), self.to(), point).map(|_| 0.0);
        }
        let mut walked = 0.0;
        for w in self.way.windows(2) {
            let step = apart(w[0], w[1]);
            if let Some(share) = passes(w[0], w[1], point) {
                return Some((walked + share * step) / length * self.minutes);
            }
            walked += step;
        }
        None
    }
}

/// What a play is drawn from.
pub struct Ahead<'a> {
    search: &'a Search,
    detour: f64,
    at: Vec<PlanePoint>,
    mass: Vec<f64>,
    /// Logarithms of mass by area.
    height: Vec<f64>,
    /// Logarithms of the area that each point stands for.
    area: Vec<f64>,
    streets: bool,
    variance: f64,
    position: f64,
    foreign: f64,
    plays: Vec<Luck>,
}

/// An emitter and the luck of the bearings.
struct Luck {
    emitter: PlanePoint,
    /// Errors in standard deviations.
    errors: [f64; BEARINGS],
    /// Which of the belief's points the emitter is.
    index: usize,
    /// A bearing is foreign where this is below the share of foreign ones; and the direction that it then has.
    foreign: [(f64, f64); BEARINGS],
}

impl<'a> Ahead<'a> {
    /// From a belief; `plays` are prepared.
    pub fn new(belief: &Belief, search: &'a Search, streets: bool, plays: usize) -> Self {
        let (at, mass, height) = thinned(belief);
        let area = mass.iter().zip(&height).map(|(m, h)| m.ln() - h).collect();
        let reading = belief.typical();
        let hand = &belief.hand;
        let foreign = (reading.foreign + hand.reversed).min(0.95);
        let shares: Vec<usize> = equal_shares(&mass, plays);
        let plays = (0..plays).map(|k| {
            let mut random = Random::stream(PLAYED, k as u64);
            let errors = std::array::from_fn(|_| random.normal());
            let foreign = std::array::from_fn(|_| (random.uniform(), TAU * random.uniform()));
            Luck { emitter: at[shares[k]], index: shares[k], errors, foreign }
        });
        let plays = plays.collect();
        let detour = if streets { DETOUR } else { 1.0 };
        Self {
            search,
            detour,
            at,
            mass,
            height,
            area,
            streets,
            variance: reading.variance,
            position: hand.position,
            foreign,
            plays,
        }
    }

    /// Minutes until the emitter is met in each of some plays.
    pub fn minutes(&self, first: &Move, plays: std::ops::Range<usize>) -> Vec<f64> {
        self.plays[plays].iter().map(|luck| self.play(first, luck)).collect()
    }

    /// Share of the plays in which a move meets the emitter by itself.
    pub fn met(&self, first: &Move) -> f64 {
        let met = self.plays.iter().filter(|luck| first.meets(luck.emitter).is_some()).count();
        met as f64 / self.plays.len().max(1) as f64
    }

    /// The same for two people who both take a bearing: once both are read, the one nearer to the likeliest place goes on.
    pub fn minutes_of_two(&self, moves: [&Move; 2], plays: std::ops::Range<usize>) -> Vec<f64> {
        self.plays[plays].iter().map(|luck| self.play_two(moves, luck)).collect()
    }

    fn play(&self, first: &Move, luck: &Luck) -> f64 {
        if let Some(minutes) = first.meets(luck.emitter) {
            return minutes;
        }
        let mut height = self.height.clone();
        self.cross_out(&mut height, &first.way);
        let mut minutes = first.minutes;
        if first.bearing {
            minutes += self.search.bearing_minutes;
            let share = first.foreign.get(luck.index).copied().unwrap_or(self.foreign);
            self.weigh(&mut height, first.to(), self.read(first.to(), share, luck, 0), &first.foreign);
        }
        self.go_on(height, first.to(), minutes, usize::from(first.bearing), luck)
    }

    fn play_two(&self, moves: [&Move; 2], luck: &Luck) -> f64 {
        if let Some(first) = moves.iter().filter_map(|m| m.meets(luck.emitter)).reduce(f64::min) {
            return first;
        }
        let mut height = self.height.clone();
        for (k, m) in moves.into_iter().enumerate() {
            self.cross_out(&mut height, &m.way);
            let share = m.foreign.get(luck.index).copied().unwrap_or(self.foreign);
            self.weigh(&mut height, m.to(), self.read(m.to(), share, luck, k), &m.foreign);
        }
        let minutes = moves[0].minutes.max(moves[1].minutes) + self.search.bearing_minutes;
        let goal = self.likeliest(&height).unwrap_or(moves[0].to());
        let [a, b] = moves.map(Move::to);
        let nearer = if apart(a, goal) <= apart(b, goal) { a } else { b };
        self.go_on(height, nearer, minutes, 2, luck)
    }

    /// Part of the way toward the likeliest place, a bearing, and so on, from the `k`-th bearing on.
    fn go_on(
        &self,
        mut height: Vec<f64>,
        mut at: PlanePoint,
        mut minutes: f64,
        k: usize,
        luck: &Luck,
    ) -> f64 {
        let pace = self.search.pace.value();
        for k in k..=BEARINGS {
            let Some(goal) = self.likeliest(&height) else { break };
            let way = apart(at, goal) * self.detour;
            let leg = if way <= LEGS.0 { way } else { (PART * way).clamp(LEGS.0, LEGS.1) };
            let share = if way > 0.0 { leg / way } else { 1.0 };
            let to = PlanePoint {
                east: at.east + share * (goal.east - at.east),
                north: at.north + share * (goal.north - at.north),
            };
            if let Some(part) = passes(at, to, luck.emitter) {
                return minutes + part * leg / pace;
            }
            self.cross_out(&mut height, &[at, to]);
            minutes += leg / pace;
            at = to;
            if k < BEARINGS {
                minutes += self.search.bearing_minutes;
                self.weigh(&mut height, at, self.read(at, self.foreign, luck, k), &[]);
            }
        }
        minutes + apart(at, luck.emitter) * self.detour / pace + GIVEN_UP
    }

    fn read(&self, at: PlanePoint, foreign: f64, luck: &Luck, k: usize) -> f64 {
        let (e, n) = (luck.emitter.east - at.east, luck.emitter.north - at.north);
        let sigma = (self.variance + self.position / (e * e + n * n).max(1.0)).sqrt();
        let (drawn, elsewhere) = luck.foreign[k];
        if drawn < foreign { elsewhere } else { e.atan2(n) + sigma * luck.errors[k] }
    }

    /// Adds the logarithm of the likelihood of a reading.
    fn weigh(&self, height: &mut [f64], stand: PlanePoint, azimuth: f64, foreign: &[f64]) {
        let (sin, cos) = azimuth.sin_cos();
        for (i, (height, p)) in height.iter_mut().zip(&self.at).enumerate() {
            if *height == f64::NEG_INFINITY {
                continue;
            }
            let foreign = foreign.get(i).copied().unwrap_or(self.foreign);
            let (e, n) = (p.east - stand.east, p.north - stand.north);
            let square = (e * e + n * n).max(1.0);
            let cosine = (sin * e + cos * n) / square.sqrt();
            let variance = self.variance + self.position / square;
            let lobe = ((cosine - 1.0) / variance).exp() / (TAU * variance).sqrt();
            *height += ((1.0 - foreign) * lobe + foreign * EVEN).ln();
        }
    }

    /// Where one goes: the highest point of the belief; on open ground, where the density is highest beside the stand
    /// whatever the range, the place with the least mean distance to the emitter.
    fn likeliest(&self, height: &[f64]) -> Option<PlanePoint> {
        let best = (0..height.len()).max_by(|a, b| height[*a].total_cmp(&height[*b]))?;
        if height[best] == f64::NEG_INFINITY {
            return None;
        }
        if self.streets {
            return Some(self.at[best]);
        }
        let log = |i: usize| height[i] + self.area[i];
        let top = (0..height.len()).map(log).fold(f64::NEG_INFINITY, f64::max);
        let mass: Vec<f64> = (0..height.len()).map(|i| (log(i) - top).exp()).collect();
        let middle = median(&self.at, &mass);
        // Nobody goes where he has been: what is left lies around it.
        let nearest = (0..height.len())
            .filter(|i| mass[*i] > 1e-3)
            .min_by(|a, b| apart(self.at[*a], middle).total_cmp(&apart(self.at[*b], middle)));
        nearest.map(|i| self.at[i])
    }

    /// Nothing is where somebody passed.
    fn cross_out(&self, height: &mut [f64], way: &[PlanePoint]) {
        for w in way.windows(2) {
            for (height, p) in height.iter_mut().zip(&self.at) {
                if passes(w[0], w[1], *p).is_some() {
                    *height = f64::NEG_INFINITY;
                }
            }
        }
    }

    /// The share of foreign bearings where nothing tells it point by point.
    pub const fn foreign(&self) -> f64 {
        self.foreign
    }

    /// The points that the belief is played with.
    pub fn points(&self) -> &[PlanePoint] {
        &self.at
    }

    /// The likeliest place.
    pub fn goal(&self) -> Option<PlanePoint> {
        self.likeliest(&self.height)
    }

    /// Mean distance of the emitter from a point, metres.
    pub fn mean_distance(&self, from: PlanePoint) -> f64 {
        self.at.iter().zip(&self.mass).map(|(p, m)| m * apart(*p, from)).sum()
    }
}

/// Chance of the plays: always the same.
const PLAYED: u64 = 0x0A_4EAD;

/// The part of a straight way after which a point is met, if it is.
fn passes(from: PlanePoint, to: PlanePoint, point: PlanePoint) -> Option<f64> {
    let (e, n) = (to.east - from.east, to.north - from.north);
    let square = e * e + n * n;
    let (pe, pn) = (point.east - from.east, point.north - from.north);
    let share = if square > 0.0 { ((pe * e + pn * n) / square).clamp(0.0, 1.0) } else { 0.0 };
    let off = (pe - share * e).hypot(pn - share * n);
    (off <= MET_WITHIN.value() + 5.0).then_some(share)
}

/// Points that carry the belief: all of them where they are few, else equal shares of the mass.
fn thinned(belief: &Belief) -> (Vec<PlanePoint>, Vec<f64>, Vec<f64>) {
    let height = |i: usize| (belief.mass[i] / belief.area[i]).ln();
    let some: Vec<usize> = (0..belief.at.len()).filter(|i| belief.mass[*i] > 1e-9).collect();
    if some.len() <= POINTS {
        let mass = some.iter().map(|i| belief.mass[*i]).collect();
        return (some.iter().map(|i| belief.at[*i]).collect(), mass, some.into_iter().map(height).collect());
    }
    let mut shares = equal_shares(&belief.mass, POINTS);
    let count = shares.len() as f64;
    let mut mass = Vec::new();
    let mut kept: Vec<usize> = Vec::new();
    for i in shares.drain(..) {
        if kept.last() == Some(&i) {
            *mass.last_mut().expect("one for each") += 1.0 / count;
        } else {
            kept.push(i);
            mass.push(1.0 / count);
        }
    }
    (kept.iter().map(|i| belief.at[*i]).collect(), mass, kept.iter().map(|i| height(*i)).collect())
}

/// The point with the least mean distance to the points (spatial median), by a few of Weiszfeld's steps from the mean.
pub(super) fn median(at: &[PlanePoint], mass: &[f64]) -> PlanePoint {
    let mut middle = PlanePoint { east: 0.0, north: 0.0 };
    for step in 0..MEDIAN_STEPS {
        let (mut sum, mut east, mut north) = (0.0, 0.0, 0.0);
        for (p, mass) in at.iter().zip(mass) {
            let w = if step == 0 { *mass } else { mass / (apart(*p, middle) + 1.0) };
            sum += w;
            east += w * p.east;
            north += w * p.north;
        }
        middle = PlanePoint { east: east / sum, north: north / sum };
    }
    middle
}

/// Steps of the spatial median.
const MEDIAN_STEPS: usize = 6;

/// Indices at the middles of so many equal shares of the mass.
pub(super) fn equal_shares(mass: &[f64], count: usize) -> Vec<usize> {
    let sum: f64 = mass.iter().sum();
    let (mut held, mut at) = (0.0, 0);
    (0..count)
        .map(|k| {
            let wanted = sum * (k as f64 + 0.5) / count as f64;
            while at + 1 < mass.len() && held + mass[at] < wanted {
                held += mass[at];
                at += 1;
            }
            at
        })
        .collect()
}

fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    (a.east - b.east).hypot(a.north - b.north)
}
