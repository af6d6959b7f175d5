//! The density of the levels for one kernel at eight places, with the linear unknowns and the standard deviation of the
//! shadowing integrated out.
//!
//! The unknowns given that deviation: exactly, for measured cells. Cells below the floor: Φ((floor − expected)/deviation),
//! integrated by Laplace's approximation about the best unknowns. The logarithm of the deviation: by Laplace's approximation
//! about its best value at each place, which is found by Newton steps along with the unknowns.

use pulp::Simd;

use crate::solve::{
    density::{Batch, LANES},
    levels::{
        cells::Cell,
        columns::Columns,
        floor::below,
        logarithm::ln,
        node::Node,
        packed::{BLOCK, Lanes, Packed, dot},
    },
    wide::{add_row, part, parts, put},
};

/// Newton steps toward the best standard deviation of measured cells.
const STEPS: usize = 3;

/// Newton steps toward the best unknowns where some cells are below the floor.
const CENSORED_STEPS: usize = 2;

/// The same for further scales of irregularity, which begin where the first one ended.
const FURTHER_STEPS: usize = 2;

/// The longest step of the logarithm of the deviation.
const LONGEST: f64 = 0.7;

/// The cells at eight places.
pub struct Marginal<'a, S, const N: usize> {
    simd: S,
    cells: &'a [Cell],
    measured: usize,
    /// Rows of derivatives by the unknowns.
    rows: Vec<[Lanes; N]>,
    /// Priors of the unknowns, by scale of irregularity.
    priors: Vec<Prior<N>>,
    /// Mean and precision of the logarithm of the deviation.
    spread: (f64, f64),
    /// Of the cells below the floor: rows less those of their neighbours.
    base: Vec<[Lanes; N]>,
    /// Where they are expected to be, and how that moves with the unknowns.
    expected: Vec<Lanes>,
    moves: Vec<[Lanes; N]>,
}

/// A normal prior of the unknowns.
struct Prior<const N: usize> {
    /// Precisions, and these times the means.
    precision: [f64; N],
    pull: [f64; N],
    /// Σ mean² · precision, and half the logarithm of the determinant of the precisions.
    constant: f64,
    half_log_precision: f64,
}

impl<const N: usize> Prior<N> {
    fn new(columns: &Columns, factor: f64) -> Self {
        let (precision, pull) = columns.priors(factor);
        let (mut constant, mut half_log_precision) = (0.0, 0.0);
        for i in 0..N {
            constant += pull[i] * pull[i] / precision[i];
            half_log_precision += 0.5 * precision[i].ln();
        }
        Self { precision, pull, constant, half_log_precision }
    }
}

/// What one kernel makes of the places at one scale of irregularity.
pub struct Found<const N: usize> {
    /// Logarithm of the density.
    pub log: Lanes,
    /// The best unknowns.
    pub unknowns: [Lanes; N],
    /// The factor of their inverse covariance.
    pub factored: Packed<N>,
    /// Logarithm of the best standard deviation of the shadowing.
    pub log_sigma: Lanes,
}

/// Sums over the cells below the floor: log probability, its derivative by the logarithm of the deviation, and the curvature.
struct Tail {
    log: Lanes,
    slope: Lanes,
    curvature: Lanes,
}

impl<'a, S: Simd, const N: usize> Marginal<'a, S, N> {
    /// Lays out the rows at the places of a batch. `spread` is the prior of the deviation: median in dB, and deviation of its
    /// logarithm; `irregular` the scales of irregularity.
    #[inline(always)]
    pub fn new(
        simd: S,
        cells: &'a [Cell],
        measured: usize,
        columns: &Columns,
        (spread, irregular): ((f64, f64), &[f64]),
        points: &Batch,
    ) -> Self {
        let mut rows = Vec::with_capacity(cells.len());
        columns.rows(cells, points, &mut rows);
        let below = cells.len() - measured;
        Self {
            simd,
            cells,
            measured,
            rows,
            priors: irregular.iter().map(|factor| Prior::new(columns, *factor)).collect(),
            spread: (spread.0.ln(), spread.1.max(1e-3).powi(-2)),
            base: vec![[[0.0; LANES]; N]; below],
            expected: vec![[0.0; LANES]; below],
            moves: vec![[[0.0; LANES]; N]; below],
        }
    }

    /// Adds what a kernel makes of the places, at each of its scales of irregularity.
    #[inline(always)]
    pub fn add(&mut self, node: &Node, out: &mut Vec<Found<N>>) {
        let sums = self.sums(node);
        let censored = self.measured < self.cells.len();
        if censored {
            self.given_neighbours(node);
        }
        let mut before: Option<([Lanes; N], Lanes)> = None;
        for &(scale, start) in &node.scales {
            let mut log_sigma = [start; LANES];
            if censored {
                let (unknowns, log_sigma, steps) = match before {
                    Some((unknowns, log_sigma)) => (unknowns, log_sigma, FURTHER_STEPS),
                    None => {
                        let first = self.exact(node, &sums, scale, &mut log_sigma);
                        (first.unknowns, log_sigma, CENSORED_STEPS)
                    }
                };
                let found = self.with_floor(node, &sums, scale, (unknowns, log_sigma), steps);
                before = before.or(Some((found.unknowns, found.log_sigma)));
                out.push(found);
            } else {
                for _ in 0..STEPS {
                    self.exact(node, &sums, scale, &mut log_sigma);
                }
                out.push(self.exact(node, &sums, scale, &mut log_sigma));
            }
        }
    }

    /// Sums of products of the whitened rows of the measured cells.
    #[inline(always)]
    fn sums(&self, node: &Node) -> Packed<N> {
        let mut sums = Packed::zeros();
        let (mut rows, mut values) = ([[[0.0; LANES]; N]; BLOCK], [[0.0; LANES]; BLOCK]);
        for first in (0..self.measured).step_by(BLOCK) {
            let count = BLOCK.min(self.measured - first);
            for k in 0..count {
                let i = first + k;
                let mut row = self.less_neighbours(node, i);
                let scale = node.whitener.scale[i];
                row[0] = [node.ones[i]; LANES];
                let factor = self.simd.splat_f64s(scale);
                for index in 0..parts::<S>() {
                    for c in 1..N {
                        let scaled = self.simd.mul_f64s(part::<S>(&row[c], index), factor);
                        put::<S>(&mut row[c], index, scaled);
                    }
                }
                rows[k] = row;
                values[k] = [node.levels[i]; LANES];
            }
            sums.add(self.simd, &rows[..count], &[[1.0; LANES]; BLOCK], &values);
        }
        sums
    }

    /// A row less what its neighbours say; the first column is left as it is.
    #[inline(always)]
    fn less_neighbours(&self, node: &Node, i: usize) -> [Lanes; N] {
        let mut out = self.rows[i];
        for index in 0..parts::<S>() {
            let mut sums = [self.simd.splat_f64s(0.0); N];
            for c in 1..N {
                sums[c] = part::<S>(&out[c], index);
            }
            for (j, weight) in node.whitener.neighbours(i) {
                add_row(self.simd, &mut sums, &self.rows[j], -weight, index, 1);
            }
            for c in 1..N {
                put::<S>(&mut out[c], index, sums[c]);
            }
        }
        out
    }

    /// The density with the unknowns integrated out at `log_sigma`, with Laplace's approximation for the latter, which is
    /// moved toward its best value afterwards.
    #[inline(always)]
    fn exact(&self, node: &Node, sums: &Packed<N>, scale: usize, log_sigma: &mut Lanes) -> Found<N> {
        let prior = &self.priors[scale];
        let inverse = inverse_square(log_sigma);
        let mut factored = sums.with_prior(&inverse, &prior.precision, &prior.pull);
        let half_log = factored.factor();
        let forward = factored.forward();
        let unknowns = factored.backward(&forward);
        let misfit = sums.quadratic(&unknowns);
        let fitted = dot(&forward, &forward);
        let free = factored.trace_of_inverse(&prior.precision);
        let mut log = [0.0; LANES];
        let mut next = *log_sigma;
        for l in 0..LANES {
            let square = (node.square + misfit[l]) * inverse[l];
            let quadratic = node.square * inverse[l] + prior.constant - fitted[l];
            let (gain, change) = self.spread(square, N as f64 - free[l], log_sigma[l], 0.0, 0.0);
            log[l] =
                -0.5 * quadratic - half_log[l] + gain + prior.half_log_precision - 0.5 * node.log_determinant;
            next[l] += change;
        }
        let found = Found { log, unknowns, factored, log_sigma: *log_sigma };
        *log_sigma = next;
        found
    }

    /// The part of the log density that depends on the logarithm s of the deviation, with Laplace's approximation about its
    /// best value, and the Newton step toward that. `square` is the whitened sum of squares, `free` the unknowns that the
    /// cells determine, `slope` and `curvature` those of the cells below the floor.
    #[inline(always)]
    fn spread(&self, square: f64, free: f64, s: f64, slope: f64, curvature: f64) -> (f64, f64) {
        let (mean, precision) = self.spread;
        let count = self.measured as f64;
        let off = s - mean;
        let gradient = square + free - count - off * precision + slope;
        let bent = (2.0 * square + curvature).max(0.5 * count) + precision;
        let log = -count * s - 0.5 * precision * off * off - 0.5 * ln(bent / precision);
        let change = gradient / bent;
        (log + 0.5 * gradient * change, change.clamp(-LONGEST, LONGEST))
    }

    /// Rows of the cells below the floor given their neighbours.
    #[inline(always)]
    fn given_neighbours(&mut self, node: &Node) {
        for i in self.measured..self.cells.len() {
            let mut base = self.less_neighbours(node, i);
            base[0] = [node.given[i - self.measured].0; LANES];
            self.base[i - self.measured] = base;
        }
    }

    /// The density with cells below the floor, from first unknowns and deviation, after `left` steps.
    #[inline(always)]
    fn with_floor(
        &mut self,
        node: &Node,
        sums: &Packed<N>,
        scale: usize,
        (mut unknowns, mut log_sigma): ([Lanes; N], Lanes),
        mut left: usize,
    ) -> Found<N> {
        loop {
            let inverse = inverse_square(&log_sigma);
            let prior = &self.priors[scale];
            let system = sums.with_prior(&inverse, &prior.precision, &prior.pull);
            let product = system.times(&unknowns);
            let mut step = system.clone();
            let mut quadratic = [0.0; LANES];
            for i in 0..N {
                for l in 0..LANES {
                    quadratic[l] += unknowns[i][l] * (product[i][l] - 2.0 * system.b[i][l]);
                    step.b[i][l] = system.b[i][l] - product[i][l];
                }
            }
            let (constant, half_log_precision) = (prior.constant, prior.half_log_precision);
            let tail = self.censored(node, &unknowns, &log_sigma, &mut step);
            let half_log = step.factor();
            let forward = step.forward();
            let change = step.backward(&forward);
            let misfit = sums.quadratic(&unknowns);
            let free = step.trace_of_inverse(&self.priors[scale].precision);
            let decrement = dot(&forward, &forward);
            let mut log = [0.0; LANES];
            let mut moved = [0.0; LANES];
            for l in 0..LANES {
                let square = (node.square + misfit[l]) * inverse[l];
                let (gain, change) =
                    self.spread(square, N as f64 - free[l], log_sigma[l], tail.slope[l], tail.curvature[l]);
                let whole = node.square * inverse[l] + constant + quadratic[l];
                log[l] = -0.5 * whole + tail.log[l] - half_log[l] + gain + half_log_precision
                    - 0.5 * node.log_determinant
                    + 0.5 * decrement[l];
                moved[l] = change;
            }
            if left == 0 {
                return Found { log, unknowns, factored: step, log_sigma };
            }
            left -= 1;
            for l in 0..LANES {
                log_sigma[l] += moved[l];
                for i in 0..N {
                    unknowns[i][l] += change[i][l];
                }
            }
        }
    }

    /// Sum of the log probabilities that the cells below the floor are there, given the measured ones and each other: in their
    /// order, each given its neighbours, and those of them that are below the floor themselves stand at their expected levels.
    /// Adds their derivatives to `system`.
    #[inline(always)]
    fn censored(
        &mut self,
        node: &Node,
        unknowns: &[Lanes; N],
        log_sigma: &Lanes,
        system: &mut Packed<N>,
    ) -> Tail {
        let mut tail = Tail { log: [0.0; LANES], slope: [0.0; LANES], curvature: [0.0; LANES] };
        let mut sigma = [0.0; LANES];
        for l in 0..LANES {
            sigma[l] = log_sigma[l].exp();
        }
        let (mut rows, mut pulls, mut weights) =
            ([[[0.0; LANES]; N]; BLOCK], [[0.0; LANES]; BLOCK], [[0.0; LANES]; BLOCK]);
        for i in 0..self.base.len() {
            let mut row = self.base[i];
            let mut expected = dot(&row, unknowns);
            for l in 0..LANES {
                expected[l] += node.given[i].1;
            }
            for (j, weight) in node.whitener.neighbours(self.measured + i) {
                if let Some(j) = j.checked_sub(self.measured) {
                    for l in 0..LANES {
                        expected[l] += weight * self.expected[j][l];
                    }
                }
            }
            for index in 0..parts::<S>() {
                let mut sums = [self.simd.splat_f64s(0.0); N];
                for c in 0..N {
                    sums[c] = part::<S>(&row[c], index);
                }
                for (j, weight) in node.whitener.neighbours(self.measured + i) {
                    if let Some(j) = j.checked_sub(self.measured) {
                        add_row(self.simd, &mut sums, &self.moves[j], weight, index, 0);
                    }
                }
                for c in 0..N {
                    put::<S>(&mut row[c], index, sums[c]);
                }
            }
            let own = 1.0 / node.whitener.scale[self.measured + i];
            let level = self.cells[self.measured + i].level;
            let (mut pull, mut taken, mut left) = ([0.0; LANES], [0.0; LANES], [0.0; LANES]);
            for l in 0..LANES {
                let deviation = sigma[l] * own;
                let inverse = 1.0 / deviation;
                let z = (level - expected[l]) * inverse;
                let (log, ratio, part) = below(z);
                tail.log[l] += log;
                tail.slope[l] -= ratio * z;
                tail.curvature[l] += z * (part * z - ratio);
                pull[l] = -ratio * inverse;
                taken[l] = part * inverse * inverse;
                left[l] = 1.0 - part;
                expected[l] -= deviation * ratio;
            }
            self.expected[i] = expected;
            for index in 0..parts::<S>() {
                let left = part::<S>(&left, index);
                for c in 0..N {
                    let moved = self.simd.mul_f64s(part::<S>(&row[c], index), left);
                    put::<S>(&mut self.moves[i][c], index, moved);
                }
            }
            let k = i % BLOCK;
            (rows[k], pulls[k], weights[k]) = (row, pull, taken);
            if k + 1 == BLOCK || i + 1 == self.base.len() {
                system.add(self.simd, &rows[..=k], &weights, &pulls);
            }
        }
        tail
    }
}

/// 1/σ² from the logarithm of σ.
#[inline(always)]
fn inverse_square(log_sigma: &Lanes) -> Lanes {
    let mut out = [0.0; LANES];
    for l in 0..LANES {
        out[l] = (-2.0 * log_sigma[l]).exp();
    }
    out
}
