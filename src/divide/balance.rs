//! Contiguous parts with the same probability per minute of walking and about the same minutes, with short boundaries.

use crate::divide::{
    anneal::{EVEN, EVENER, MINUTES, State},
    bound::most_even,
    pieces::Pieces,
    start,
};

/// Divides pieces into `parts` connected parts: for each piece its part. The same pieces and seed give the same parts, numbered in the
/// order of the first pieces that they hold.
///
/// The first division is made by straight cuts (`start::cut`); then pieces on boundaries, with whatever they alone hold to
/// their part, move to neighbours by simulated annealing ([`crate::sources::KIRKPATRICK1983`]) and at the end only where
/// that improves; the best of several searches stays. `None` if there are fewer pieces than parts, no part, or pieces that do not all
/// hang together.
pub fn balance(pieces: &Pieces, parts: usize, seed: u64) -> Option<Vec<u32>> {
    if parts == 0 || pieces.len() < parts || pieces.groups(|_| true, |_, _| true).1 != 1 {
        return None;
    }
    let first = start::cut(pieces, parts);
    let found = if parts > 1 { best(pieces, &first, parts, seed) } else { first };
    Some(in_order(found, parts))
}

/// Parts numbered by their first pieces.
fn in_order(mut part: Vec<u32>, parts: usize) -> Vec<u32> {
    let mut number = vec![None; parts];
    let mut next = 0..;
    for k in &mut part {
        *k = *number[*k as usize].get_or_insert_with(|| next.next().unwrap_or(*k));
    }
    part
}

/// The best of what the searches find.
fn best(pieces: &Pieces, first: &[u32], parts: usize, seed: u64) -> Vec<u32> {
    let search = Search::new(pieces, first, parts);
    let found = search.even(first, seed);
    let again = found.even && pieces.len() <= MOST_AGAIN;
    if again { search.again(first, found, seed).part } else { found.part }
}

/// What a search came to.
struct Found {
    part: Vec<u32>,
    even: bool,
    good: bool,
    cost: f64,
}

impl Found {
    fn better(self, other: Self) -> Self {
        if (!other.even, other.cost) < (!self.even, self.cost) { other } else { self }
    }
}

/// Searches for a division into so many parts, whose costs can be compared.
struct Search<'p> {
    pieces: &'p Pieces,
    parts: usize,
    /// The probability per minute that every part should have.
    mean: f64,
    /// What a metre of boundary costs.
    metre: f64,
    /// Shares of probability per minute within this of equal cost nothing.
    free: f64,
}

impl<'p> Search<'p> {
    fn new(pieces: &'p Pieces, first: &[u32], parts: usize) -> Self {
        let boundary = pieces.boundary(first);
        let metre = if boundary > 0.0 { 1.0 / boundary } else { 0.0 };
        Self { pieces, parts, mean: pieces.probability_per_minute(), metre, free: EVEN }
    }

    fn state(&self, part: &[u32]) -> State<'p> {
        let goal = (self.mean, self.metre);
        let mut state = State::new(self.pieces, part.to_vec(), self.parts, goal);
        state.free = self.free;
        state
    }

    /// One search; unlike minutes cost `alike` in it.
    fn one(&self, from: &[u32], seed: u64, warm: f64, alike: f64) -> Found {
        let mut state = self.state(from);
        state.alike = alike;
        state.anneal(seed, warm);
        self.known(state.part)
    }

    fn known(&self, part: Vec<u32>) -> Found {
        let state = self.state(&part);
        Found { even: state.off() <= EVEN_ENOUGH, good: state.good(), cost: state.whole(), part }
    }

    /// A division that is even, if one is found.
    fn even(&self, first: &[u32], seed: u64) -> Found {
        let found = self.first(first, seed);
        let pieces = self.pieces;
        if found.even || pieces.len() > MOST_AGAIN || most_even(pieces, self.parts) < self.parts {
            return found;
        }
        match by_splitting(self, seed) {
            Some(part) => self.known(part),
            None => self.unlike(first, found, &LATER, seed),
        }
    }

    /// From temperatures that rise until the parts are good, or after two where there are many pieces, even.
    fn first(&self, from: &[u32], seed: u64) -> Found {
        let mut found = self.one(from, seed, WARM[0], MINUTES);
        for (k, warm) in WARM.into_iter().enumerate().skip(1) {
            let many = self.pieces.len() > MOST_AGAIN;
            if found.good || (found.even && many && k > 1) {
                break;
            }
            found = found.better(self.one(from, seed.wrapping_add(k as u64), warm, MINUTES));
        }
        found
    }

    /// Few searches, until the parts are even.
    fn some(&self, from: &[u32], seed: u64) -> Found {
        let [(warm, alike), others @ ..] = SOME;
        self.unlike(from, self.one(from, seed, warm, alike), &others, seed)
    }

    /// With minutes that may be unlike, until the parts are even.
    fn unlike(&self, from: &[u32], mut found: Found, ways: &[(f64, f64)], seed: u64) -> Found {
        for (k, (warm, alike)) in ways.iter().enumerate() {
            if found.even {
                break;
            }
            found = found.better(self.one(from, seed.wrapping_add(10 + k as u64), *warm, *alike));
        }
        found
    }

    /// With other chance, in turn from the first division and from the best so far.
    fn again(&self, first: &[u32], mut found: Found, seed: u64) -> Found {
        for (k, warm) in AGAIN.into_iter().enumerate() {
            let from = if k % 2 == 0 { first } else { &found.part };
            let other = self.one(from, seed.wrapping_add(20 + k as u64), warm, MINUTES);
            found = found.better(other);
        }
        found
    }
}

/// An even division made by splitting: begun with as many parts as are found even, of which then one after the other is split into two
/// that are even. Where streets leave few ways into a hill of probability, two parts find theirs though all together do not. `None` where
/// no such division was found.
fn by_splitting(whole: &Search, seed: u64) -> Option<Vec<u32>> {
    let mut tries = 0;
    for fewer in 1..whole.parts {
        let cut = start::cut(whole.pieces, fewer);
        let search = Search { free: EVENER, ..Search::new(whole.pieces, &cut, fewer) };
        for chance in (0..2).map(|k| seed.wrapping_add(100 * k)) {
            let found = if fewer > 1 { search.some(&cut, chance) } else { search.known(cut.clone()) };
            if !found.even || tries == TRIES {
                break;
            }
            tries += 1;
            let grown = (fewer..whole.parts).try_fold(found.part, |part, k| one_more(whole, part, k, chance));
            if grown.is_some() {
                return grown;
            }
        }
    }
    None
}

/// One of `parts` parts, the one with the most minutes that can be, in two even ones; then all are brought nearer to each other in
/// minutes.
fn one_more(whole: &Search, mut part: Vec<u32>, parts: usize, seed: u64) -> Option<Vec<u32>> {
    let pieces = whole.pieces;
    let mut order: Vec<(f64, u32, Vec<usize>)> = Vec::new();
    for k in 0..parts as u32 {
        let own: Vec<usize> = (0..part.len()).filter(|i| part[*i] == k).collect();
        order.push((own.iter().map(|i| pieces.all()[*i].minutes).sum(), k, own));
    }
    order.sort_by(|a, b| b.0.total_cmp(&a.0));
    let halves = order.into_iter().filter(|o| o.2.len() > 1).find_map(|(_, _, own)| {
        let inner = pieces.only(&own);
        let cut = start::cut(&inner, 2);
        let found =
            Search { mean: whole.mean, free: EVENER, ..Search::new(&inner, &cut, 2) }.some(&cut, seed);
        found.even.then_some((own, found.part))
    });
    let (own, half) = halves?;
    for (i, half) in own.into_iter().zip(half) {
        if half == 1 {
            part[i] = parts as u32;
        }
    }
    let search = Search { free: EVENER, ..Search::new(pieces, &part, parts + 1) };
    let nearer = search.one(&part, seed, COOL, MINUTES);
    Some(search.known(part).better(nearer).part)
}

/// So many even divisions into fewer parts are split at most.
const TRIES: usize = 8;

/// Temperature of a search that keeps what is there.
const COOL: f64 = 0.02;

/// Temperatures of searches that split, and what unlike minutes cost in them.
const SOME: [(f64, f64); 3] = [(2.0, MINUTES), (2.0, 6.0), (10.0, 1.0)];

/// Temperatures of the searches among which the best is taken.
const AGAIN: [f64; 4] = [0.5, 0.05, 2.0, 0.05];

/// Where parts stay uneven, teams may walk longer or shorter than others: further temperatures, and what unlike minutes then cost.
/// Not for more pieces than this, which take long and hardly ever need it.
const LATER: [(f64, f64); 4] = [(2.0, 6.0), (10.0, 6.0), (0.5, 6.0), (2.0, 1.0)];
const MOST_AGAIN: usize = 2_000;

/// Parts whose probability per minute is within this of equal are even.
pub const EVEN_ENOUGH: f64 = 0.05;

/// Temperatures to begin with, one after the other until the parts are even: the first keeps what the straight cuts made, the
/// others leave it behind, which a narrow hill of probability near the edge of the streets needs.
const WARM: [f64; 4] = [0.08, 2.0, 10.0, 30.0];

/// Largest departure of a part's probability per minute from that of the whole, as a ratio minus 1; 0 where there is no
/// probability at all.
pub fn unevenness(pieces: &Pieces, part: &[u32], parts: usize) -> f64 {
    State::new(pieces, part.to_vec(), parts, (pieces.probability_per_minute(), 0.0)).off()
}

/// The largest number of parts, fewer than `parts`, that can be even; `None` where no number is, or where there are so many pieces
/// that finding out would take long.
pub fn even_with_fewer(pieces: &Pieces, parts: usize) -> Option<usize> {
    let even = |k: &usize| {
        let first = start::cut(pieces, *k);
        Search::new(pieces, &first, *k).even(&first, 1).even
    };
    let most = most_even(pieces, parts);
    (2..parts.min(most + 1)).rev().take(MOST_FEWER).filter(|_| pieces.len() <= MOST_AGAIN).find(even)
}

/// So many smaller numbers of parts are tried.
const MOST_FEWER: usize = 8;
