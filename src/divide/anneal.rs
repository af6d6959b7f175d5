//! A search for a better division: pieces change their parts while a temperature falls.

use crate::{
    divide::pieces::Pieces,
    numeric::{
        portable::{exp, ln},
        random::Random,
    },
};

/// Shares of probability per minute within this of equal (nearly as a logarithm) cost nothing; and within this where parts are split
/// further, which the halves must be even in spite of.
pub(super) const EVEN: f64 = 0.03;
pub(super) const EVENER: f64 = 0.015;

/// Minutes within this share of equal cost nothing.
const ALIKE: f64 = 0.1;

/// What a departure of 1 from equal costs, squared, on the scale on which the first division's boundary costs 1: probability
/// per minute first, then minutes, then boundary.
const PER_MINUTE: f64 = 4_000.0;
pub(super) const MINUTES: f64 = 60.0;

/// Proposals for each piece, and the most and fewest of all: what a division for 5,000 pieces may cost.
const PER_PIECE: usize = 400;
const FEWEST: usize = 20_000;
const MOST: usize = 400_000;

/// Parts are good enough when their probability per minute is within this of equal, and their minutes within that.
const GOOD: (f64, f64) = (0.04, 0.15);

/// A division underway.
pub(super) struct State<'p> {
    pieces: &'p Pieces,
    /// For each piece its part.
    pub(super) part: Vec<u32>,
    probability: Vec<f64>,
    minutes: Vec<f64>,
    count: Vec<usize>,
    /// What each part costs.
    costs: Vec<f64>,
    /// Probability per minute of the whole.
    mean: f64,
    /// Minutes of a part if all had the same.
    share: f64,
    /// What a metre of boundary costs.
    metre: f64,
    /// Shares of probability per minute within this of equal cost nothing.
    pub(super) free: f64,
    /// What a departure of 1 from equal minutes costs, squared.
    pub(super) alike: f64,
    /// When a search last came by each piece.
    seen: Vec<u32>,
    now: u32,
    /// Pieces on boundaries, and where each stands among them.
    rim: Vec<u32>,
    rank: Vec<u32>,
}

const NOT: u32 = u32::MAX;

impl<'p> State<'p> {
    /// `mean` is the probability per minute that every part should have, `metre` what a metre of boundary costs.
    pub(super) fn new(pieces: &'p Pieces, part: Vec<u32>, parts: usize, (mean, metre): (f64, f64)) -> Self {
        let (mut probability, mut minutes, mut count) = (vec![0.0; parts], vec![0.0; parts], vec![0; parts]);
        for (piece, k) in pieces.all().iter().zip(&part) {
            probability[*k as usize] += piece.probability;
            minutes[*k as usize] += piece.minutes;
            count[*k as usize] += 1;
        }
        let all: f64 = minutes.iter().sum();
        let mut out = Self {
            mean,
            share: all / parts as f64,
            metre,
            free: EVEN,
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
            costs: Vec::new(),
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
            // Nearly the logarithm of their ratio.
            let due = self.mean * minutes;
            over(2.0 * (probability - due) / (probability + due), self.free)
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
        let before = self.costs[a] + self.costs[b];
        let after = self.cost(self.probability[a] - probability, self.minutes[a] - minutes)
            + self.cost(self.probability[b] + probability, self.minutes[b] + minutes);
        after - before + self.metre * boundary
    }

    /// Moves them.
    fn take(&mut self, moved: &[u32], to: u32) {
        let from = self.part[moved[0] as usize];
        for &i in moved {
            let piece = self.pieces.all()[i as usize];
            self.probability[from as usize] -= piece.probability;
            self.minutes[from as usize] -= piece.minutes;
            self.count[from as usize] -= 1;
            self.probability[to as usize] += piece.probability;
            self.minutes[to as usize] += piece.minutes;
            self.count[to as usize] += 1;
            self.part[i as usize] = to;
        }
        for k in [from as usize, to as usize] {
            self.costs[k] = self.cost(self.probability[k], self.minutes[k]);
        }
        for &i in moved {
            self.place(i as usize);
            for at in 0..self.pieces.touching(i as usize).len() {
                self.place(self.pieces.touching(i as usize)[at].0 as usize);
            }
        }
    }

    /// The piece with what would hang loose without it: the smaller sides of its part. Empty if nothing would stay.
    ///
    /// All sides are followed in turn, a piece of each at a time, until they have met or only one has not come to its end: few steps where
    /// a way around a block joins them, else about as many as the smaller sides have pieces.
    fn bundle(&mut self, piece: u32) -> Vec<u32> {
        let (own, pieces, first) = (self.part[piece as usize], self.pieces, self.now + 1);
        let mut sides: Vec<Side> = Vec::new();
        for &(j, _) in pieces.touching(piece as usize) {
            if self.part[j as usize] == own {
                self.seen[j as usize] = first + sides.len() as u32;
                sides.push(Side { found: vec![j], at: 0, with: sides.len() });
            }
        }
        self.now = first + sides.len() as u32;
        self.seen[piece as usize] = self.now;
        let mut apart = sides.len();
        while apart > 1 {
            for s in 0..sides.len() {
                let Some(&i) = sides[s].found.get(sides[s].at) else { continue };
                sides[s].at += 1;
                for &(j, _) in pieces.touching(i as usize) {
                    if self.part[j as usize] != own || j == piece {
                        continue;
                    }
                    if self.seen[j as usize] < first {
                        self.seen[j as usize] = first + s as u32;
                        sides[s].found.push(j);
                    } else if Side::meet(&mut sides, s, (self.seen[j as usize] - first) as usize) {
                        apart -= 1;
                    }
                }
            }
            if apart > 1 && Side::going(&sides) <= 1 {
                break;
            }
        }
        if apart == 1 {
            return vec![piece];
        }
        Side::smaller(&sides, piece)
    }

    /// Cost of the whole.
    pub(super) fn whole(&self) -> f64 {
        let parts =
            (0..self.minutes.len()).map(|k| self.cost(self.probability[k], self.minutes[k])).sum::<f64>();
        parts + self.metre * self.pieces.boundary(&self.part)
    }

    /// Largest departure of a part's probability per minute from that of the whole, as a ratio minus 1.
    pub(super) fn off(&self) -> f64 {
        let ratio = |k: usize| self.probability[k] / self.minutes[k] / self.mean;
        let all = 0..self.minutes.len();
        if self.mean > 0.0 { all.map(|k| (ratio(k) - 1.0).abs()).fold(0.0, f64::max) } else { 0.0 }
    }

    /// Whether parts are good enough.
    pub(super) fn good(&self) -> bool {
        (0..self.minutes.len()).all(|k| {
            let even =
                self.mean <= 0.0 || (self.probability[k] / self.minutes[k] / self.mean - 1.0).abs() < GOOD.0;
            even && (self.minutes[k] / self.share - 1.0).abs() < GOOD.1
        })
    }

    /// A search that begins at the temperature `warm`.
    pub(super) fn anneal(&mut self, seed: u64, warm: f64) {
        let mut random = Random::seeded(seed);
        let rounds = (PER_PIECE * self.pieces.len()).clamp(FEWEST, MOST);
        let cold = 0.000_2;
        let mut temperature = warm;
        let cooling = exp(ln(cold / warm) / (rounds as f64 / 64.0));
        self.costs =
            (0..self.minutes.len()).map(|k| self.cost(self.probability[k], self.minutes[k])).collect();
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
        if to != self.part[piece as usize] {
            self.attempt(piece, to, -temperature * ln(random.uniform().max(1e-300)));
        }
    }

    /// Moves a piece with what hangs on it if that costs less than `bar`.
    fn attempt(&mut self, piece: u32, to: u32, bar: f64) -> bool {
        let from = self.part[piece as usize];
        if to == from || self.count[from as usize] <= 1 {
            return false;
        }
        let alone = self.change(&[piece], to);
        if alone > bar + 2.0 {
            return false;
        }
        if self.spared(piece) {
            if alone < bar {
                self.take(&[piece], to);
            }
            return alone < bar;
        }
        let bundle = self.bundle(piece);
        if bundle.is_empty() || bundle.len() >= self.count[from as usize] || self.change(&bundle, to) >= bar {
            return false;
        }
        self.take(&bundle, to);
        true
    }

    /// Whether all that it touches of its part touch one another without it, seen at a glance.
    fn spared(&self, piece: u32) -> bool {
        let own = self.part[piece as usize];
        let mut near = self
            .pieces
            .touching(piece as usize)
            .iter()
            .map(|t| t.0)
            .filter(|j| self.part[*j as usize] == own);
        let Some(first) = near.next() else { return false };
        near.all(|j| self.pieces.touching(first as usize).iter().any(|t| t.0 == j))
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

/// What hangs together behind a piece, as far as it was followed.
struct Side {
    found: Vec<u32>,
    /// How many of those found were followed.
    at: usize,
    /// The least number of a side that it has met, by way of others; its own if none.
    with: usize,
}

impl Side {
    fn of(sides: &[Self], mut s: usize) -> usize {
        while sides[s].with != s {
            s = sides[s].with;
        }
        s
    }

    /// Notes that two sides are one; whether that is new.
    fn meet(sides: &mut [Self], a: usize, b: usize) -> bool {
        let (a, b) = (Self::of(sides, a), Self::of(sides, b));
        sides[a.max(b)].with = a.min(b);
        a != b
    }

    /// How many have not come to their end.
    fn going(sides: &[Self]) -> usize {
        let open = |s: usize| {
            (0..sides.len()).any(|t| Self::of(sides, t) == s && sides[t].at < sides[t].found.len())
        };
        (0..sides.len()).filter(|s| sides[*s].with == *s && open(*s)).count()
    }

    /// The piece and all sides but the one that goes on, or else the largest.
    fn smaller(sides: &[Self], piece: u32) -> Vec<u32> {
        let of: Vec<usize> = (0..sides.len()).map(|s| Self::of(sides, s)).collect();
        let size = |g: usize| -> (bool, usize) {
            let own = || (0..sides.len()).filter(|s| of[*s] == g);
            (own().any(|s| sides[s].at < sides[s].found.len()), own().map(|s| sides[s].found.len()).sum())
        };
        let kept = (0..sides.len()).rev().max_by_key(|g| size(*g));
        let Some(kept) = kept else { return Vec::new() };
        let mut out = vec![piece];
        for s in (0..sides.len()).filter(|s| Self::of(sides, *s) != kept) {
            out.extend(&sides[s].found);
        }
        out
    }
}
