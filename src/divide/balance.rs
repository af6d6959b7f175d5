//! Contiguous parts with the same probability per minute of walking and about the same minutes, with short boundaries.

use crate::{
    divide::{bound::most_even, pieces::Pieces, start},
    numeric::{
        portable::{exp, ln},
        random::Random,
    },
};

/// Shares of probability per minute within this of equal (as a logarithm) cost nothing.
const EVEN: f64 = 0.015;

/// Minutes within this share of equal cost nothing.
const ALIKE: f64 = 0.05;

/// What a departure of 1 from equal costs, squared, on the scale on which the first division's boundary costs 1: probability
/// per minute first, then minutes, then boundary.
const PER_MINUTE: f64 = 4_000.0;
const MINUTES: f64 = 60.0;

/// Proposals for each piece, and the most and fewest of all: what a division for 5,000 pieces may cost.
const PER_PIECE: usize = 400;
const FEWEST: usize = 60_000;
const MOST: usize = 400_000;

/// Divides pieces into `parts` connected parts: for each piece its part. The same pieces and seed give the same parts.
///
/// The first division is made by straight cuts (`start::cut`); then pieces on boundaries, with whatever they alone hold to
/// their part, move to neighbours by simulated annealing ([`crate::sources::KIRKPATRICK1983`]) and at the end only where
/// that improves. `None` if there are fewer pieces than parts, no part, or pieces that do not all hang together.
pub fn balance(pieces: &Pieces, parts: usize, seed: u64) -> Option<Vec<u32>> {
    balance_longer(pieces, parts, seed, 1)
}

/// The same with `times` as many proposals: what a longer search would find.
pub fn balance_longer(pieces: &Pieces, parts: usize, seed: u64, times: usize) -> Option<Vec<u32>> {
    if parts == 0 || pieces.len() < parts || pieces.groups(|_| true, |_, _| true).1 != 1 {
        return None;
    }
    let first = start::cut(pieces, parts);
    if parts == 1 {
        return Some(first);
    }
    let mean = pieces.probability_per_minute();
    let found = annealed(pieces, &first, parts, mean, seed, times, &WARM);
    if found.even || pieces.len() > MOST_AGAIN || most_even(pieces, parts) < parts {
        return Some(found.part);
    }
    let split = (0..SPLITS).find_map(|k| by_splitting(pieces, parts, seed.wrapping_add(100 * k), times));
    Some(split.unwrap_or(found.part))
}

/// So many times, with other chance, divisions with fewer parts are split.
const SPLITS: u64 = 4;

/// What a search came to.
struct Found {
    part: Vec<u32>,
    even: bool,
    cost: f64,
}

/// The best of several searches that begin alike; `mean` is the probability per minute that every part should have.
fn annealed(
    pieces: &Pieces,
    first: &[u32],
    parts: usize,
    mean: f64,
    seed: u64,
    times: usize,
    warm: &[f64],
) -> Found {
    let mut best: Option<Found> = None;
    let unlike = LATER.into_iter().filter(|_| pieces.len() <= MOST_AGAIN);
    let attempts = warm.iter().map(|warm| (*warm, MINUTES)).chain(unlike);
    for (attempt, (hot, minutes)) in attempts.enumerate() {
        // Parts that are even by now are not given up for parts of unlike minutes.
        if minutes < MINUTES && !warm.is_empty() && best.as_ref().is_some_and(|b| b.even) {
            break;
        }
        let mut state = State { alike: minutes, mean, ..State::new(pieces, first.to_vec(), parts) };
        state.anneal(seed.wrapping_add(attempt as u64), times, hot);
        let (even, good) = (state.off() <= EVEN_ENOUGH, state.good());
        state.alike = MINUTES;
        let cost = state.whole();
        if best.as_ref().is_none_or(|b| (!even, cost) < (!b.even, b.cost)) {
            best = Some(Found { even, cost, part: state.part });
        }
        if good {
            break;
        }
    }
    best.unwrap_or_else(|| Found { part: first.to_vec(), even: false, cost: f64::INFINITY })
}

/// An even division with one part fewer, of which one part is split into two that are even: where streets leave few ways into a hill of
/// probability, two parts find theirs though all together do not. The parts are then brought nearer to each other in minutes.
/// `None` where no such division was found.
fn by_splitting(pieces: &Pieces, parts: usize, seed: u64, times: usize) -> Option<Vec<u32>> {
    let mean = pieces.probability_per_minute();
    if parts <= 2 {
        return None;
    }
    let found = annealed(pieces, &start::cut(pieces, parts - 1), parts - 1, mean, seed, times, &WARM);
    let fewer = if found.even { found.part } else { by_splitting(pieces, parts - 1, seed, times)? };
    let minutes = |k: u32| -> f64 {
        (0..fewer.len()).filter(|i| fewer[*i] == k).map(|i| pieces.all()[i].minutes).sum()
    };
    let mut order: Vec<(f64, u32)> = (0..parts as u32 - 1).map(|k| (minutes(k), k)).collect();
    order.sort_by(|a, b| b.0.total_cmp(&a.0));
    for (_, k) in order {
        let own: Vec<usize> = (0..fewer.len()).filter(|i| fewer[*i] == k).collect();
        if own.len() < 2 {
            continue;
        }
        let inner = pieces.only(&own);
        let halves = annealed(&inner, &start::cut(&inner, 2), 2, mean, seed, times, &WARM);
        if !halves.even {
            continue;
        }
        let mut part = fewer.clone();
        for (i, half) in own.iter().zip(halves.part) {
            if half == 1 {
                part[*i] = parts as u32 - 1;
            }
        }
        let found = annealed(pieces, &part, parts, mean, seed, times, &[]);
        if found.even {
            part = found.part;
        }
        return Some(part);
    }
    None
}

/// Where parts stay uneven, teams may walk longer or shorter than others: further temperatures, and what unlike minutes then cost.
/// Not for more pieces than this, which take long and hardly ever need it.
const LATER: [(f64, f64); 6] = [(2.0, 6.0), (10.0, 6.0), (0.08, 6.0), (0.5, 6.0), (2.0, 1.0), (10.0, 1.0)];
const MOST_AGAIN: usize = 2_000;

/// Parts whose probability per minute is within this of equal are even.
pub const EVEN_ENOUGH: f64 = 0.05;

/// Temperatures to begin with, one after the other until the parts are even: the first keeps what the straight cuts made, the
/// others leave it behind, which a narrow hill of probability near the edge of the streets needs.
const WARM: [f64; 4] = [0.08, 2.0, 10.0, 30.0];

/// Parts are good enough when their probability per minute is within this of equal, and their minutes within that.
const GOOD: (f64, f64) = (0.04, 0.15);

/// Largest departure of a part's probability per minute from that of the whole, as a ratio minus 1; 0 where there is no
/// probability at all.
pub fn unevenness(pieces: &Pieces, part: &[u32], parts: usize) -> f64 {
    State::new(pieces, part.to_vec(), parts).off()
}

/// The largest number of parts, fewer than `parts`, that can be even; `None` where no number is, or where there are so many pieces
/// that finding out would take long.
pub fn even_with_fewer(pieces: &Pieces, parts: usize) -> Option<usize> {
    let even =
        |k: &usize| balance(pieces, *k, 1).is_some_and(|part| unevenness(pieces, &part, *k) <= EVEN_ENOUGH);
    let most = most_even(pieces, parts);
    (2..parts.min(most + 1)).rev().take(MOST_FEWER).filter(|_| pieces.len() <= MOST_AGAIN).find(even)
}

/// So many smaller numbers of parts are tried.
const MOST_FEWER: usize = 8;

struct State<'p> {
    pieces: &'p Pieces,
    part: Vec<u32>,
    probability: Vec<f64>,
    minutes: Vec<f64>,
    count: Vec<usize>,
    /// Probability per minute of the whole.
    mean: f64,
    /// Minutes of a part if all had the same.
    share: f64,
    /// What a metre of boundary costs.
    metre: f64,
    /// What a departure of 1 from equal minutes costs, squared.
    alike: f64,
    /// When a search last came by each piece.
    seen: Vec<u32>,
    now: u32,
    /// Pieces on boundaries, and where each stands among them.
    rim: Vec<u32>,
    rank: Vec<u32>,
}

const NOT: u32 = u32::MAX;

impl<'p> State<'p> {
    fn new(pieces: &'p Pieces, part: Vec<u32>, parts: usize) -> Self {
        let (mut probability, mut minutes, mut count) = (vec![0.0; parts], vec![0.0; parts], vec![0; parts]);
        for (piece, k) in pieces.all().iter().zip(&part) {
            probability[*k as usize] += piece.probability;
            minutes[*k as usize] += piece.minutes;
            count[*k as usize] += 1;
        }
        let all: f64 = minutes.iter().sum();
        let boundary = pieces.boundary(&part);
        let mut out = Self {
            mean: pieces.probability_per_minute(),
            share: all / parts as f64,
            metre: if boundary > 0.0 { 1.0 / boundary } else { 0.0 },
            alike: MINUTES,
            seen: vec![0; pieces.len()],
            now: 0,
            rim: Vec::new(),
            rank: vec![NOT; pieces.len()],
            pieces,
            part,
            probability,
            minutes,
            count,
        };
        for i in 0..pieces.len() {
            out.place(i);
        }
        out
    }

    /// What a part of this probability and these minutes costs.
    fn cost(&self, probability: f64, minutes: f64) -> f64 {
        let over = |departure: f64, free: f64| (departure.abs() - free).max(0.0);
        let alike = over(minutes / self.share - 1.0, ALIKE);
        let even = if self.mean > 0.0 {
            let ratio = probability / minutes / self.mean;
            over(ln(ratio.max(1e-3)), EVEN)
        } else {
            0.0
        };
        PER_MINUTE * even * even + self.alike * alike * alike
    }

    /// Puts a piece onto the rim or takes it off.
    fn place(&mut self, i: usize) {
        let outer = self.pieces.touching(i).iter().any(|(j, _)| self.part[*j as usize] != self.part[i]);
        match (outer, self.rank[i]) {
            (true, NOT) => {
                self.rank[i] = self.rim.len() as u32;
                self.rim.push(i as u32);
            }
            (false, rank) if rank != NOT => {
                self.rim.swap_remove(rank as usize);
                if let Some(moved) = self.rim.get(rank as usize) {
                    self.rank[*moved as usize] = rank;
                }
                self.rank[i] = NOT;
            }
            _ => {}
        }
    }

    /// What moving these pieces of one part to another adds to the cost.
    fn change(&mut self, moved: &[u32], to: u32) -> f64 {
        let from = self.part[moved[0] as usize];
        let (mut probability, mut minutes, mut boundary) = (0.0, 0.0, 0.0);
        self.now += 1;
        for &i in moved {
            self.seen[i as usize] = self.now;
        }
        for &i in moved {
            let piece = &self.pieces.all()[i as usize];
            probability += piece.probability;
            minutes += piece.minutes;
            for &(j, metres) in self.pieces.touching(i as usize) {
                let theirs = self.part[j as usize];
                if theirs == to {
                    boundary -= metres;
                } else if theirs == from && self.seen[j as usize] != self.now {
                    boundary += metres;
                }
            }
        }
        let (a, b) = (from as usize, to as usize);
        let before =
            self.cost(self.probability[a], self.minutes[a]) + self.cost(self.probability[b], self.minutes[b]);
        let after = self.cost(self.probability[a] - probability, self.minutes[a] - minutes)
            + self.cost(self.probability[b] + probability, self.minutes[b] + minutes);
        after - before + self.metre * boundary
    }

    /// Moves them.
    fn take(&mut self, moved: &[u32], to: u32) {
        for &i in moved {
            let (piece, from) = (self.pieces.all()[i as usize], self.part[i as usize] as usize);
            self.probability[from] -= piece.probability;
            self.minutes[from] -= piece.minutes;
            self.count[from] -= 1;
            self.probability[to as usize] += piece.probability;
            self.minutes[to as usize] += piece.minutes;
            self.count[to as usize] += 1;
            self.part[i as usize] = to;
        }
        for &i in moved {
            self.place(i as usize);
            for at in 0..self.pieces.touching(i as usize).len() {
                self.place(self.pieces.touching(i as usize)[at].0 as usize);
            }
        }
    }

    /// The piece with what would hang loose without it: the smaller sides of its part. Empty if nothing would stay.
    fn bundle(&mut self, piece: u32) -> Vec<u32> {
        let own = self.part[piece as usize];
        let pieces = self.pieces;
        let beside = || pieces.touching(piece as usize).iter().map(|(j, _)| *j);
        let mut sides: Vec<Vec<u32>> = Vec::new();
        self.now += 1;
        self.seen[piece as usize] = self.now;
        let mut missing = beside().filter(|j| self.part[*j as usize] == own).count();
        for first in beside() {
            if self.part[first as usize] != own || self.seen[first as usize] == self.now {
                continue;
            }
            let mut side = vec![first];
            self.seen[first as usize] = self.now;
            let mut at = 0;
            while at < side.len() {
                if pieces.touching(side[at] as usize).iter().any(|(j, _)| *j == piece) {
                    missing -= 1;
                    if missing == 0 && sides.is_empty() {
                        return vec![piece];
                    }
                }
                for &(j, _) in pieces.touching(side[at] as usize) {
                    if self.part[j as usize] == own && self.seen[j as usize] != self.now {
                        self.seen[j as usize] = self.now;
                        side.push(j);
                    }
                }
                at += 1;
            }
            sides.push(side);
        }
        let Some(largest) = (0..sides.len()).max_by_key(|s| (sides[*s].len(), sides.len() - s)) else {
            return Vec::new();
        };
        sides.swap_remove(largest);
        let mut out = vec![piece];
        out.extend(sides.into_iter().flatten());
        out
    }

    /// Cost of the whole.
    fn whole(&self) -> f64 {
        let parts =
            (0..self.minutes.len()).map(|k| self.cost(self.probability[k], self.minutes[k])).sum::<f64>();
        parts + self.metre * self.pieces.boundary(&self.part)
    }

    /// Largest departure of a part's probability per minute from that of the whole, as a ratio minus 1.
    fn off(&self) -> f64 {
        let ratio = |k: usize| self.probability[k] / self.minutes[k] / self.mean;
        let all = 0..self.minutes.len();
        if self.mean > 0.0 { all.map(|k| (ratio(k) - 1.0).abs()).fold(0.0, f64::max) } else { 0.0 }
    }

    fn good(&self) -> bool {
        (0..self.minutes.len()).all(|k| {
            let even =
                self.mean <= 0.0 || (self.probability[k] / self.minutes[k] / self.mean - 1.0).abs() < GOOD.0;
            even && (self.minutes[k] / self.share - 1.0).abs() < GOOD.1
        })
    }

    fn anneal(&mut self, seed: u64, times: usize, warm: f64) {
        let mut random = Random::seeded(seed);
        let rounds = (PER_PIECE * self.pieces.len()).clamp(FEWEST, MOST) * times;
        let cold = 0.000_2;
        let mut temperature = warm;
        let cooling = exp(ln(cold / warm) / (rounds as f64 / 64.0));
        for round in 0..rounds {
            if round % 64 == 63 {
                temperature *= cooling;
            }
            self.propose(&mut random, temperature);
        }
        // What still improves is found by trying every piece of the rim.
        for _ in 0..50 {
            if !self.settle() {
                break;
            }
        }
    }

    fn propose(&mut self, random: &mut Random, temperature: f64) {
        if self.rim.is_empty() {
            return;
        }
        let piece = self.rim[random.index(self.rim.len())];
        let near = self.pieces.touching(piece as usize);
        let (other, _) = near[random.index(near.len())];
        let to = self.part[other as usize];
        let bar = -temperature * ln(random.uniform().max(1e-300));
        self.attempt(piece, to, bar);
    }

    /// Moves a piece with what hangs on it if that costs less than `bar`.
    fn attempt(&mut self, piece: u32, to: u32, bar: f64) -> bool {
        let from = self.part[piece as usize];
        if to == from || self.count[from as usize] <= 1 || self.change(&[piece], to) > bar + 2.0 {
            return false;
        }
        let bundle = self.bundle(piece);
        if bundle.is_empty() || bundle.len() >= self.count[from as usize] || self.change(&bundle, to) >= bar {
            return false;
        }
        self.take(&bundle, to);
        true
    }

    fn settle(&mut self) -> bool {
        let mut rim = self.rim.clone();
        rim.sort_unstable();
        let mut better = false;
        for piece in rim {
            for at in 0..self.pieces.touching(piece as usize).len() {
                let to = self.part[self.pieces.touching(piece as usize)[at].0 as usize];
                better |= self.attempt(piece, to, -1e-9);
            }
        }
        better
    }
}
