//! A plain simulated annealing of divisions, written apart from the product's as its yardstick: single pieces change to a neighbouring
//! part while the temperature falls (S. Kirkpatrick, C. D. Gelatt, M. P. Vecchi, "Optimization by Simulated Annealing", Science 220, 1983).

use azimark::{divide::Pieces, numeric::random::Random};

/// How far from equal a part may be, as ratios minus 1: in its probability per minute, and in its minutes.
#[derive(Clone, Copy)]
pub struct Limits {
    pub per_minute: f64,
    pub minutes: f64,
}

/// What an excess of 1 over the limits costs, where the first division's boundary costs 1.
const EXCESS: [f64; 2] = [60.0, 6.0];

struct State<'p> {
    pieces: &'p Pieces,
    limits: Limits,
    part: Vec<usize>,
    probability: Vec<f64>,
    minutes: Vec<f64>,
    count: Vec<usize>,
    boundary: f64,
    seen: Vec<usize>,
    now: usize,
}

impl<'p> State<'p> {
    /// Parts that grow from pieces far from each other, a ring of neighbours at a time.
    fn grown(pieces: &'p Pieces, parts: usize, limits: Limits, random: &mut Random) -> Self {
        let mut part = vec![usize::MAX; pieces.len()];
        let mut ring: Vec<usize> = vec![random.index(pieces.len())];
        while ring.len() < parts {
            let far = |i: usize| {
                let to = |j: &usize| {
                    let (a, b) = (pieces.all()[i].at, pieces.all()[*j].at);
                    if i == *j { -1.0 } else { (a.east - b.east).hypot(a.north - b.north) }
                };
                ring.iter().map(to).fold(f64::INFINITY, f64::min)
            };
            ring.push((0..pieces.len()).max_by(|a, b| far(*a).total_cmp(&far(*b))).unwrap());
        }
        ring.iter().enumerate().for_each(|(k, i)| part[*i] = k);
        while !ring.is_empty() {
            let mut next = Vec::new();
            for i in ring {
                for (j, _) in pieces.touching(i) {
                    if part[*j as usize] == usize::MAX {
                        part[*j as usize] = part[i];
                        next.push(*j as usize);
                    }
                }
            }
            ring = next;
        }
        let (mut probability, mut minutes, mut count) = (vec![0.0; parts], vec![0.0; parts], vec![0; parts]);
        for (piece, k) in pieces.all().iter().zip(&part) {
            probability[*k] += piece.probability;
            minutes[*k] += piece.minutes;
            count[*k] += 1;
        }
        let boundary = pieces.boundary(&part.iter().map(|k| *k as u32).collect::<Vec<u32>>());
        let seen = vec![0; pieces.len()];
        Self { pieces, limits, part, probability, minutes, count, boundary, seen, now: 0 }
    }

    /// What a part exceeds the limits by.
    fn excess(&self, probability: f64, minutes: f64, (mean, share): (f64, f64)) -> f64 {
        let even = (probability / minutes / mean - 1.0).abs() - self.limits.per_minute;
        let alike = (minutes / share - 1.0).abs() - self.limits.minutes;
        EXCESS[0] * even.max(0.0) + EXCESS[1] * alike.max(0.0)
    }

    /// Whether the part that a piece leaves still hangs together.
    fn holds_without(&mut self, piece: usize) -> bool {
        let own = self.part[piece];
        let mut missing: Vec<usize> = self
            .pieces
            .touching(piece)
            .iter()
            .map(|t| t.0 as usize)
            .filter(|j| self.part[*j] == own)
            .collect();
        let Some(first) = missing.pop() else { return false };
        self.now += 1;
        self.seen[piece] = self.now;
        self.seen[first] = self.now;
        let (mut open, mut at) = (vec![first], 0);
        while at < open.len() && !missing.is_empty() {
            for (j, _) in self.pieces.touching(open[at]) {
                let j = *j as usize;
                if self.part[j] == own && self.seen[j] != self.now {
                    self.seen[j] = self.now;
                    missing.retain(|m| *m != j);
                    open.push(j);
                }
            }
            at += 1;
        }
        missing.is_empty()
    }
}

/// The shortest boundary within the limits that so many moves come by; `None` where they come by none.
pub fn shortest(pieces: &Pieces, parts: usize, limits: Limits, moves: usize, seed: u64) -> Option<f64> {
    let mut random = Random::seeded(seed);
    let mut state = State::grown(pieces, parts, limits, &mut random);
    let goal = (pieces.probability_per_minute(), state.minutes.iter().sum::<f64>() / parts as f64);
    let scale = state.boundary;
    let mut excess: Vec<f64> =
        (0..parts).map(|k| state.excess(state.probability[k], state.minutes[k], goal)).collect();
    let (warm, cold) = (1.0f64, 1e-4f64);
    let mut temperature = warm;
    let mut best: Option<f64> = None;
    let mut made = 0;
    while made < moves {
        let i = random.index(pieces.len());
        let near = pieces.touching(i);
        let (from, to) = (state.part[i], state.part[near[random.index(near.len())].0 as usize]);
        made += 1;
        if made % 1024 == 0 {
            temperature = warm * (cold / warm).powf(made as f64 / moves as f64);
        }
        if from == to || state.count[from] == 1 {
            continue;
        }
        let piece = pieces.all()[i];
        let side = |k: usize| near.iter().filter(|t| state.part[t.0 as usize] == k).map(|t| t.1).sum::<f64>();
        let longer = side(from) - side(to);
        let left = state.excess(
            state.probability[from] - piece.probability,
            state.minutes[from] - piece.minutes,
            goal,
        );
        let gained =
            state.excess(state.probability[to] + piece.probability, state.minutes[to] + piece.minutes, goal);
        let change = longer / scale + left + gained - excess[from] - excess[to];
        if change > 0.0 && random.uniform() >= (-change / temperature).exp() || !state.holds_without(i) {
            continue;
        }
        state.part[i] = to;
        for (k, sign) in [(from, -1.0), (to, 1.0)] {
            state.probability[k] += sign * piece.probability;
            state.minutes[k] += sign * piece.minutes;
        }
        state.count[from] -= 1;
        state.count[to] += 1;
        (excess[from], excess[to]) = (left, gained);
        state.boundary += longer;
        if best.is_none_or(|b| state.boundary < b) && excess.iter().all(|e| *e <= 0.0) {
            best = Some(state.boundary);
        }
    }
    best
}
