//! Values of dear evidence over the plane, by polynomials where it follows them.
//!
//! A mesh asks for the same smooth function at places closer and closer together. Where it is smooth, some values over a square and
//! a polynomial through them give the others: of total degree five, by least squares over thirty-two places (Padua points of degree
//! six, [`crate::sources::CALIARI2005`], and four more), so that what is left over tells whether the function follows it. A square
//! where it does not is cut in four, and places that are few in theirs are asked for one by one.

use std::{collections::HashMap, sync::OnceLock};

use nalgebra::{DMatrix, SVD};

use crate::solve::{density::LANES, evidence::Evidence, tree::batch};

/// Degree of the polynomials.
const DEGREE: usize = 5;

/// How many terms that makes.
const TERMS: usize = (DEGREE + 1) * (DEGREE + 2) / 2;

/// Places that a square is judged by: a multiple of [`LANES`].
const NODES: usize = 32;

/// A square with fewer places is not worth [`NODES`] of its own, unless finer ones follow, as they mostly do.
const WORTH: usize = 20;

/// The polynomial may be off by this in the logarithm of a density near the greatest known, a tenth of what the mesh itself loses.
const OFF: f64 = 0.02;

/// And by this much more for each unit below that.
const OFF_BELOW: f64 = 0.01;

/// No square is smaller than 2⁻²⁴ of the whole.
const DEEPEST: u32 = 24;

/// Squares of the plane: how often the whole was halved, and which of those from west and south.
type Name = (u32, u32, u32);

/// What is known of a square.
enum Square {
    /// Its quarters are looked at instead.
    Cut,
    /// The evidence follows this polynomial.
    Follows([f64; TERMS]),
}

/// Values of evidence over a square of the plane about the origin.
pub struct Tiles<'a> {
    evidence: &'a dyn Evidence,
    half: f64,
    known: HashMap<Name, Square>,
    /// The greatest value so far.
    top: f64,
}

impl<'a> Tiles<'a> {
    /// Nothing asked yet; `half` is the half-width of the square.
    pub fn new(evidence: &'a dyn Evidence, half: f64) -> Self {
        Self { evidence, half, known: HashMap::new(), top: f64::NEG_INFINITY }
    }

    /// Logarithms of the likelihood at places, metres east and north.
    pub fn values(&mut self, places: &[[f64; 2]]) -> Vec<f64> {
        let mut out = vec![f64::NAN; places.len()];
        let mut alone = Vec::new();
        let mut open = vec![((0, 0, 0), (0..places.len()).collect::<Vec<usize>>())];
        while !open.is_empty() {
            let mut wanted = Vec::new();
            while let Some((name, inside)) = open.pop() {
                match self.known.get(&name) {
                    Some(Square::Follows(terms)) => {
                        inside
                            .iter()
                            .for_each(|i| out[*i] = polynomial(terms, self.within(name, places[*i])));
                    }
                    Some(Square::Cut) => open.extend(self.quarters(name, &inside, places)),
                    None if inside.len() < WORTH || name.0 >= DEEPEST => alone.extend(inside),
                    None if self.is_smooth(name) => wanted.push((name, inside)),
                    None => {
                        self.known.insert(name, Square::Cut);
                        open.push((name, inside));
                    }
                }
            }
            self.judge(wanted.iter().map(|w| w.0).collect());
            open = wanted;
        }
        alone.sort_unstable();
        let asked: Vec<[f64; 2]> = alone.iter().map(|i| places[*i]).collect();
        for (i, value) in alone.iter().zip(self.asked(&asked)) {
            out[*i] = value;
        }
        out
    }

    /// What the evidence itself says.
    fn asked(&mut self, places: &[[f64; 2]]) -> Vec<f64> {
        self.evidence.learn(places);
        let mut out = Vec::with_capacity(places.len() + LANES);
        for chunk in places.chunks(LANES) {
            out.extend(&self.evidence.at(&batch(chunk.iter().copied()))[..chunk.len()]);
        }
        self.top = out.iter().copied().fold(self.top, f64::max);
        out
    }

    /// Middle and half-width of a square.
    fn square(&self, (level, west, south): Name) -> ([f64; 2], f64) {
        let side = 2.0 * self.half / f64::from(1u32 << level);
        let middle = |i: u32| (f64::from(i) + 0.5) * side - self.half;
        ([middle(west), middle(south)], 0.5 * side)
    }

    fn is_smooth(&self, name: Name) -> bool {
        let (middle, half) = self.square(name);
        self.evidence.is_smooth(middle, half * std::f64::consts::SQRT_2)
    }

    /// A place as seen in a square, from −1 to 1.
    fn within(&self, name: Name, place: [f64; 2]) -> [f64; 2] {
        let (middle, half) = self.square(name);
        [0, 1].map(|i| (place[i] - middle[i]) / half)
    }

    fn quarters(
        &self,
        (level, west, south): Name,
        inside: &[usize],
        places: &[[f64; 2]],
    ) -> impl Iterator<Item = (Name, Vec<usize>)> + use<> {
        let middle = self.square((level, west, south)).0;
        let mut parts: [Vec<usize>; 4] = Default::default();
        for i in inside {
            let [east, north] = [0, 1].map(|c| usize::from(places[*i][c] > middle[c]));
            parts[2 * north + east].push(*i);
        }
        parts.into_iter().enumerate().filter(|p| !p.1.is_empty()).map(move |(quarter, part)| {
            let (east, north) = (quarter as u32 % 2, quarter as u32 / 2);
            ((level + 1, 2 * west + east, 2 * south + north), part)
        })
    }

    /// Finds out whether the evidence follows polynomials over some squares.
    fn judge(&mut self, names: Vec<Name>) {
        let solver = solver();
        let mut nodes = Vec::with_capacity(names.len() * NODES);
        for name in &names {
            let (middle, half) = self.square(*name);
            nodes.extend(solver.nodes.iter().map(|n| [0, 1].map(|i| middle[i] + half * n[i])));
        }
        let values = self.asked(&nodes);
        for (name, values) in names.into_iter().zip(values.chunks_exact(NODES)) {
            let terms = solver.terms(values);
            let best = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let most = OFF + OFF_BELOW * (self.top - best);
            let off = |(n, v): (&[f64; 2], &f64)| (polynomial(&terms, *n) - v).abs();
            let follows = solver.nodes.iter().zip(values).map(off).all(|o| o <= most);
            self.known.insert(name, if follows { Square::Follows(terms) } else { Square::Cut });
        }
    }
}

/// Chebyshev polynomials of a number.
fn chebyshev(x: f64) -> [f64; DEGREE + 1] {
    let mut out = [1.0; DEGREE + 1];
    out[1] = x;
    for i in 2..=DEGREE {
        out[i] = 2.0 * x * out[i - 1] - out[i - 2];
    }
    out
}

/// The terms of a polynomial at a point.
fn basis([x, y]: [f64; 2]) -> [f64; TERMS] {
    let (x, y) = (chebyshev(x), chebyshev(y));
    let mut out = [0.0; TERMS];
    let mut term = 0;
    for i in 0..=DEGREE {
        for j in 0..=DEGREE - i {
            out[term] = x[i] * y[j];
            term += 1;
        }
    }
    out
}

fn polynomial(terms: &[f64; TERMS], at: [f64; 2]) -> f64 {
    basis(at).iter().zip(terms).map(|(b, t)| b * t).sum()
}

/// Least squares over the nodes of a square.
struct Solver {
    nodes: [[f64; 2]; NODES],
    /// Terms from values, row by row.
    inverse: DMatrix<f64>,
}

impl Solver {
    fn terms(&self, values: &[f64]) -> [f64; TERMS] {
        std::array::from_fn(|t| self.inverse.row(t).iter().zip(values).map(|(m, v)| m * v).sum())
    }
}

fn solver() -> &'static Solver {
    static SOLVER: OnceLock<Solver> = OnceLock::new();
    SOLVER.get_or_init(|| {
        let nodes = nodes();
        let matrix = DMatrix::from_fn(NODES, TERMS, |n, t| basis(nodes[n])[t]);
        let inverse = SVD::new(matrix, true, true)
            .pseudo_inverse(1e-9)
            .unwrap_or_else(|_| DMatrix::zeros(TERMS, NODES));
        Solver { nodes, inverse }
    })
}

/// Padua points of degree one more than that of the polynomials, and four more about the middle.
fn nodes() -> [[f64; 2]; NODES] {
    let next = DEGREE + 1;
    let cosine = |i: usize, of: usize| (std::f64::consts::PI * i as f64 / of as f64).cos();
    let padua = (0..=next).flat_map(|j| {
        (0..=next + 1).filter(move |k| (j + k) % 2 == 0).map(move |k| [cosine(j, next), cosine(k, next + 1)])
    });
    let more = [[0.3, 0.1], [-0.1, 0.3], [-0.3, -0.1], [0.1, -0.3]];
    let all: Vec<[f64; 2]> = padua.chain(more).collect();
    std::array::from_fn(|i| all[i])
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use nalgebra::Vector2;

    use super::*;
    use crate::solve::density::Batch;

    /// Levels of an emitter heard at the origin: smooth beside it, and not over it.
    #[derive(Debug)]
    struct One {
        asked: AtomicUsize,
        /// A disc is said to be smooth up to this part of its distance: more than 1 is too much.
        part: f64,
    }

    fn value(x: f64, y: f64) -> f64 {
        let d = 4.0 * (0.01 + x * x + y * y).ln();
        -0.5 * (d - 9.0).powi(2)
    }

    impl Evidence for One {
        fn at(&self, points: &Batch) -> [f64; LANES] {
            self.asked.fetch_add(1, Ordering::Relaxed);
            std::array::from_fn(|l| value(points.0[l], points.1[l]))
        }

        fn finest(&self, _: &Batch, _: f64) -> [f64; LANES] {
            [1.0; LANES]
        }

        fn hidden(&self, _: &Batch, _: f64) -> [f64; LANES] {
            [0.0; LANES]
        }

        fn is_smooth(&self, at: [f64; 2], radius: f64) -> bool {
            radius < self.part * at[0].hypot(at[1])
        }

        fn starts(&self) -> Vec<Vector2<f64>> {
            Vec::new()
        }
    }

    fn is_held(part: f64) {
        let one = One { asked: AtomicUsize::default(), part };
        let mut tiles = Tiles::new(&one, 16.0);
        let places: Vec<[f64; 2]> = (0..14_400)
            .map(|i| [-7.9 + 0.13 * f64::from(i % 120), -7.9 + 0.13 * f64::from(i / 120)])
            .collect();
        let found = tiles.values(&places);
        for (place, found) in places.iter().zip(&found) {
            let exact = value(place[0], place[1]);
            // Twice what the nodes may be off by, for places between them may be off by more; in figures, so that nobody allows
            // more unnoticed: at the peak, whose height is 0, a fifth of what the mesh itself loses.
            assert!((found - exact).abs() < 0.04 - 0.02 * exact, "{place:?}: {found} {exact}");
        }
        let asked = one.asked.load(Ordering::Relaxed) * LANES;
        assert!(asked < places.len() / 4, "{asked}");
        // What is known is known.
        assert_eq!(tiles.values(&places[..3 * WORTH]), found[..3 * WORTH]);
    }

    #[test]
    fn values_are_those_of_the_evidence_with_far_fewer_questions() {
        is_held(0.5);
    }

    /// Where the evidence takes itself for smoother than it is, what is left over tells.
    #[test]
    fn what_no_polynomial_follows_is_cut() {
        is_held(1.5);
    }

    /// A polynomial of that degree comes out as it is.
    #[test]
    fn a_polynomial_is_found_exactly() {
        let of = |[x, y]: [f64; 2]| 1.0 + 2.0 * x - y + x * y - 0.5 * x.powi(3) * y.powi(2) + y.powi(5);
        let solver = solver();
        let values: Vec<f64> = solver.nodes.iter().map(|n| of(*n)).collect();
        let terms = solver.terms(&values);
        for at in [[0.37, -0.91], [-0.2, 0.6], [1.0, 1.0]] {
            assert!((polynomial(&terms, at) - of(at)).abs() < 1e-10);
        }
    }
}
