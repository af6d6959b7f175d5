//! Pieces of a search area that touch one another: stretches of street, or cells of open ground.

use crate::geodesy::PlanePoint;

/// One piece: what cannot be shared between two teams.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// Its middle.
    pub at: PlanePoint,
    /// Minutes that it takes to search it once; above 0.
    pub minutes: f64,
    /// Probability that the emitter is nearest to it; at least 0.
    pub probability: f64,
}

/// Pieces with their neighbours.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pieces {
    all: Vec<Piece>,
    touching: Vec<Vec<(u32, f64)>>,
}

impl Pieces {
    /// Pieces that do not touch yet.
    pub fn new(all: Vec<Piece>) -> Self {
        let touching = vec![Vec::new(); all.len()];
        Self { all, touching }
    }

    /// Notes that two pieces touch, with the metres of boundary that a cut between them makes. Pieces that are not there, and a
    /// piece with itself, are passed over; what is noted twice adds up.
    pub fn touch(&mut self, a: usize, b: usize, metres: f64) {
        if a == b || a.max(b) >= self.all.len() {
            return;
        }
        for (from, to) in [(a, b), (b, a)] {
            match self.touching[from].iter_mut().find(|(other, _)| *other as usize == to) {
                Some((_, sum)) => *sum += metres,
                None => self.touching[from].push((to as u32, metres)),
            }
        }
    }

    /// How many there are.
    pub const fn len(&self) -> usize {
        self.all.len()
    }

    /// Whether there is none.
    pub const fn is_empty(&self) -> bool {
        self.all.is_empty()
    }

    /// The pieces in their order.
    pub fn all(&self) -> &[Piece] {
        &self.all
    }

    /// Neighbours of a piece, with the metres of boundary between the two.
    pub fn touching(&self, piece: usize) -> &[(u32, f64)] {
        &self.touching[piece]
    }

    /// Probability per minute of all of them together.
    pub fn probability_per_minute(&self) -> f64 {
        let sum = |f: fn(&Piece) -> f64| self.all.iter().map(f).sum::<f64>();
        sum(|p| p.probability) / sum(|p| p.minutes)
    }

    /// Some of them, in the order given, as they touch one another.
    pub fn only(&self, some: &[usize]) -> Self {
        let mut number = vec![u32::MAX; self.len()];
        for (new, old) in some.iter().enumerate() {
            number[*old] = new as u32;
        }
        let here =
            |(j, metres): &(u32, f64)| Some((number[*j as usize], *metres)).filter(|t| t.0 != u32::MAX);
        Self {
            all: some.iter().map(|i| self.all[*i]).collect(),
            touching: some.iter().map(|i| self.touching[*i].iter().filter_map(here).collect()).collect(),
        }
    }

    /// Metres of boundary between pieces that `part` puts into different parts.
    pub fn boundary(&self, part: &[u32]) -> f64 {
        let across = |i: usize| self.touching[i].iter().filter(move |(j, _)| part[*j as usize] != part[i]);
        0.5 * (0..self.len()).flat_map(across).map(|(_, metres)| metres).sum::<f64>()
    }

    /// Connected groups among pieces for which `among` holds: for each piece its group, and how many groups there are.
    pub fn groups(
        &self,
        among: impl Fn(usize) -> bool,
        same: impl Fn(usize, usize) -> bool,
    ) -> (Vec<u32>, u32) {
        let mut group = vec![u32::MAX; self.len()];
        let (mut count, mut open) = (0, Vec::new());
        for first in 0..self.len() {
            if group[first] != u32::MAX || !among(first) {
                continue;
            }
            group[first] = count;
            open.push(first);
            while let Some(i) = open.pop() {
                for &(j, _) in &self.touching[i] {
                    let j = j as usize;
                    if group[j] == u32::MAX && among(j) && same(i, j) {
                        group[j] = count;
                        open.push(j);
                    }
                }
            }
            count += 1;
        }
        (group, count)
    }
}
