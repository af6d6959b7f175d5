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
const PART: f64 = 0.6;
const LEGS: (f64, f64) = (80.0, 400.0);

/// Streets at right angles make ways longer by 4/π on the average over all directions.
pub const DETOUR: f64 = 4.0 / std::f64::consts::PI;

/// A move that may come next.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Move {
    /// Where it leads.
    pub to: PlanePoint,
    /// Minutes on foot.
    pub minutes: f64,
    /// Whether a bearing is taken there.
    pub bearing: bool,
}

/// What a play is drawn from.
pub struct Ahead<'a> {
    from: PlanePoint,
    search: &'a Search,
    detour: f64,
    at: Vec<PlanePoint>,
    mass: Vec<f64>,
    /// Logarithms of mass by area.
    height: Vec<f64>,
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
    /// Directions of foreign bearings.
    foreign: [Option<f64>; BEARINGS],
}

impl<'a> Ahead<'a> {
    /// From a belief, for somebody at a point; `plays` are prepared.
    pub fn new(belief: &Belief, from: PlanePoint, search: &'a Search, streets: bool, plays: usize) -> Self {
        let (at, mass, height) = thinned(belief);
        let reading = belief.reading[0];
        let hand = &belief.hand;
        let foreign = (reading.foreign + hand.reversed).min(0.95);
        let shares: Vec<usize> = equal_shares(&mass, plays);
        let plays = (0..plays).map(|k| {
            let mut random = Random::stream(PLAYED, k as u64);
            let errors = std::array::from_fn(|_| random.normal());
            let foreign =
                std::array::from_fn(|_| (random.uniform() < foreign).then_some(TAU * random.uniform()));
            // Each share of the belief has its own luck, whichever way the points are listed.
            Luck { emitter: at[shares[k]], errors, foreign }
        });
        let plays = plays.collect();
        let detour = if streets { DETOUR } else { 1.0 };
        Self {
            from,
            search,
            detour,
            at,
            mass,
            height,
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

    fn play(&self, first: &Move, luck: &Luck) -> f64 {
        let (x, pace) = (luck.emitter, self.search.pace.value());
        let mut height = self.height.clone();
        let (mut at, mut minutes) = (first.to, first.minutes);
        if let Some(share) = passes(self.from, first.to, x) {
            return share * first.minutes;
        }
        self.cross_out(&mut height, self.from, at);
        let mut bearing = first.bearing;
        for k in 0..BEARINGS {
            if bearing {
                minutes += self.search.bearing_minutes;
                self.weigh(&mut height, at, self.read(at, luck, k));
            }
            bearing = true;
            let Some(goal) = self.likeliest(&height) else { break };
            let straight = apart(at, goal);
            let way = straight * self.detour;
            let leg = if way <= LEGS.0 { way } else { (PART * way).clamp(LEGS.0, LEGS.1) };
            let share = if way > 0.0 { leg / way } else { 1.0 };
            let to = PlanePoint {
                east: at.east + share * (goal.east - at.east),
                north: at.north + share * (goal.north - at.north),
            };
            if let Some(part) = passes(at, to, x) {
                return minutes + part * leg / pace;
            }
            self.cross_out(&mut height, at, to);
            minutes += leg / pace;
            at = to;
        }
        minutes + apart(at, x) * self.detour / pace + GIVEN_UP
    }

    fn read(&self, at: PlanePoint, luck: &Luck, k: usize) -> f64 {
        let (e, n) = (luck.emitter.east - at.east, luck.emitter.north - at.north);
        let sigma = (self.variance + self.position / (e * e + n * n).max(1.0)).sqrt();
        luck.foreign[k].unwrap_or_else(|| e.atan2(n) + sigma * luck.errors[k])
    }

    /// Adds the logarithm of the likelihood of a reading.
    fn weigh(&self, height: &mut [f64], stand: PlanePoint, azimuth: f64) {
        let (sin, cos) = azimuth.sin_cos();
        let foreign = self.foreign * EVEN;
        let direct = 1.0 - self.foreign;
        for (height, p) in height.iter_mut().zip(&self.at) {
            let (e, n) = (p.east - stand.east, p.north - stand.north);
            let square = (e * e + n * n).max(1.0);
            let cosine = (sin * e + cos * n) / square.sqrt();
            let variance = self.variance + self.position / square;
            let lobe = ((cosine - 1.0) / variance).exp() / (TAU * variance).sqrt();
            *height += (direct * lobe + foreign).ln();
        }
    }

    fn likeliest(&self, height: &[f64]) -> Option<PlanePoint> {
        let best = (0..height.len()).max_by(|a, b| height[*a].total_cmp(&height[*b]))?;
        (height[best] > f64::NEG_INFINITY).then(|| self.at[best])
    }

    /// Nothing is where somebody passed.
    fn cross_out(&self, height: &mut [f64], from: PlanePoint, to: PlanePoint) {
        for (height, p) in height.iter_mut().zip(&self.at) {
            if passes(from, to, *p).is_some() {
                *height = f64::NEG_INFINITY;
            }
        }
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

/// Indices at the middles of so many equal shares of the mass.
fn equal_shares(mass: &[f64], count: usize) -> Vec<usize> {
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
