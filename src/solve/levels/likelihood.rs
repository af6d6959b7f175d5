//! The marginal likelihood of a place.

use nalgebra::Vector2;

use crate::{
    check::{Heard, UsableLevel},
    geodesy::{Place, PlanePoint},
    numeric::quadrature,
    solve::{
        density::{Batch, LANES},
        evidence::Evidence,
        levels::{
            cells::{Cell, Reading, gather},
            columns::Columns,
            floor::below,
            kernel::{Kernel, Whitener, earlier},
            packed::{Lanes, MOST, Packed, square},
            priors::LevelPriors,
            summary::LevelFit,
        },
    },
    units::Dbm,
};

/// A log is gathered into at most this many cells.
const MOST_CELLS: usize = 160;

/// Nodes for the standard deviation of the shadowing.
const SPREADS: usize = 3;

/// The height is at most this part of the extent: a survey of a room has no emitter metres above it.
const LOW: f64 = 0.15;

/// A node must have this weight somewhere.
const COUNTS: f64 = 2e-3;

/// How far below the best of the places looked at, in log likelihood, a place still has a say in which nodes count.
const NEAR_BEST: f64 = 12.0;

/// Newton steps toward the best unknowns where some readings are below the floor.
const STEPS: usize = 2;

/// A level ready for the solver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LevelSight {
    /// Where it was taken.
    pub at: Place,
    /// The level at the antenna's connector; for a reading below the floor, the level that it is known to be below.
    pub level: Dbm,
    /// Whether only this is known: that it lies below `level`.
    pub below: bool,
    /// Which receiver, counted from 0.
    pub device: u16,
}

/// Usable levels as the solver takes them.
pub fn sights(levels: &[UsableLevel]) -> Vec<LevelSight> {
    let sight = |l: &UsableLevel| {
        let (level, below) = match l.heard {
            Heard::Signal { level, .. } => (level, false),
            Heard::Below(limit) => (limit, true),
        };
        LevelSight { at: l.at, level, below, device: u16::try_from(l.device).unwrap_or(u16::MAX) }
    };
    levels.iter().map(sight).collect()
}

/// Levels ready to judge places by.
#[derive(Clone, Debug)]
pub struct Levels {
    cells: Vec<Cell>,
    height: f64,
    temper: f64,
    /// Typical distance between neighbouring cells, metres.
    spacing: f64,
    /// How many of them are measured; the others are below the floor.
    measured: usize,
    columns: Columns,
    nodes: Vec<Node>,
    /// Root mean square distance of the cells from their centre, metres.
    extent: f64,
}

/// What one node says of the unknowns.
pub(super) struct Unknowns {
    /// Logarithm of its weight.
    pub log: f64,
    /// Level at one metre and exponent.
    pub mean: [f64; 2],
    /// Variance of the first, covariance, variance of the second.
    pub covariance: [f64; 3],
    /// Standard deviation of the shadowing, dB.
    pub sigma: f64,
    /// Its correlation.
    pub kernel: Kernel,
    /// Readings of their own that would tell as much about the mean.
    pub effective: f64,
}

/// One kernel with what it makes of the cells.
#[derive(Clone, Debug)]
struct Node {
    kernel: Kernel,
    whitener: Whitener,
    /// Whitened levels of the measured cells.
    levels: Vec<f64>,
    /// Their sum of squares.
    square: f64,
    log_determinant: f64,
    /// Standard deviations of the shadowing, dB, with the logarithm of their weights.
    sigmas: Vec<(f64, f64)>,
}

struct Evaluation<'a> {
    levels: &'a Levels,
    points: &'a Batch,
}

impl pulp::NullaryFnOnce for Evaluation<'_> {
    type Output = Lanes;

    #[inline(always)]
    fn call(self) -> Lanes {
        self.levels.summed(self.points)
    }
}

impl Levels {
    /// Gathers the readings into cells and factors the covariance of the shadowing for every kernel.
    pub fn new(readings: &[Reading], priors: &LevelPriors) -> Self {
        let cells = gather(readings, MOST_CELLS);
        let extent = extent(&cells);
        let priors = &LevelPriors { height: priors.height.min(LOW * extent).max(0.05), ..*priors };
        let measured = cells.iter().filter(|c| !c.below).count();
        let near = earlier(&cells);
        let kernels = priors.kernels(extent);
        let sigmas: Vec<(f64, f64)> = quadrature::standard_normal(SPREADS)
            .into_iter()
            .map(|(t, w)| (priors.shadowing.0 * (t * priors.shadowing.1).exp(), w.ln()))
            .collect();
        let nodes = kernels
            .iter()
            .map(|kernel| {
                let whitener = Whitener::new(&cells, &near, *kernel);
                let values: Vec<f64> = cells.iter().map(|c| c.level).collect();
                let levels = whitener.apply(&values, measured);
                let square = levels.iter().map(|v| v * v).sum();
                let log_determinant = whitener.log_determinant(measured);
                Node { kernel: *kernel, whitener, levels, square, log_determinant, sigmas: sigmas.clone() }
            })
            .collect();
        let mut out = Self {
            columns: Columns::new(&cells, priors, extent),
            height: priors.height,
            temper: coarse(priors.trust, cells.len()),
            spacing: extent * (6.0 / cells.len().max(1) as f64).sqrt(),
            extent,
            cells,
            measured,
            nodes,
        };
        out.prune();
        out
    }

    /// The cells that the readings were gathered into.
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// Logarithm of the likelihood of a place, everything else integrated out; a constant is left out. No readings give zero.
    pub fn log_likelihood(&self, place: PlanePoint) -> f64 {
        self.judge(&([place.east; LANES], [place.north; LANES]))[0]
    }

    /// The same for several places at once.
    fn judge(&self, points: &Batch) -> Lanes {
        if self.cells.is_empty() {
            return [0.0; LANES];
        }
        pulp::Arch::new().dispatch(Evaluation { levels: self, points }).map(|l| l * self.temper)
    }

    #[inline(always)]
    fn evaluate(&self, points: &Batch) -> Vec<Lanes> {
        let mut rows = Vec::with_capacity(self.cells.len());
        self.columns.rows(&self.cells, points, &mut rows);
        let mut logs: Vec<Lanes> = Vec::new();
        let mut scratch = vec![Floor::default(); self.cells.len() - self.measured];
        for node in &self.nodes {
            let sums = self.sums(node, &rows);
            self.given_measured(node, &rows, &mut scratch);
            for (sigma, weight) in &node.sigmas {
                let (mut log, _, _) = self.marginal(node, &sums, *sigma, &mut scratch);
                for l in 0..LANES {
                    log[l] += weight;
                }
                logs.push(log);
            }
        }
        logs
    }

    /// The sum over the nodes.
    #[inline(always)]
    fn summed(&self, points: &Batch) -> Lanes {
        let logs = self.evaluate(points);
        std::array::from_fn(|l| {
            let top = logs.iter().map(|v| v[l]).fold(f64::NEG_INFINITY, f64::max);
            if top == f64::NEG_INFINITY {
                return top;
            }
            top + logs.iter().map(|v| (v[l] - top).exp()).sum::<f64>().ln()
        })
    }

    /// What every node says of level and exponent at the first of the points.
    pub(super) fn unknowns(&self, points: &Batch) -> Vec<Unknowns> {
        if self.measured == 0 {
            return Vec::new();
        }
        let mut rows = Vec::new();
        self.columns.rows(&self.cells, points, &mut rows);
        let mut scratch = vec![Floor::default(); self.cells.len() - self.measured];
        let mut out = Vec::new();
        for node in &self.nodes {
            let sums = self.sums(node, &rows);
            self.given_measured(node, &rows, &mut scratch);
            let ones = node.whitener.apply(&vec![1.0; self.cells.len()], self.measured);
            let effective = ones.iter().map(|v| v * v).sum();
            for (sigma, weight) in &node.sigmas {
                let (log, mut factored, found) = self.marginal(node, &sums, *sigma, &mut scratch);
                let censored = self.measured < self.cells.len();
                let mean = if censored { found } else { factored.backward(&found) };
                let mut column = |i: usize| {
                    factored.b = [[0.0; LANES]; MOST];
                    factored.b[i] = [1.0; LANES];
                    factored.backward(&factored.forward())
                };
                let (first, second) = (column(0), column(1));
                out.push(Unknowns {
                    log: log[0] + weight,
                    mean: [mean[0][0], mean[1][0]],
                    covariance: [first[0][0], first[1][0], second[1][0]],
                    sigma: *sigma,
                    kernel: node.kernel,
                    effective,
                });
            }
        }
        out
    }

    /// Prior mean and standard deviation of the exponent.
    pub(super) fn exponent_prior(&self) -> (f64, f64) {
        (self.columns.mean[1], self.columns.deviation[1])
    }

    /// Power to which the likelihood is taken.
    pub(super) const fn power(&self) -> f64 {
        self.temper
    }

    /// Leaves out nodes that count nowhere: at each of some places over and around the survey, those that are not far worse
    /// than the best of these places, the weight of a node among all is taken, and the greatest of these must reach
    /// [`COUNTS`].
    fn prune(&mut self) {
        if self.measured == 0 {
            return;
        }
        let probes = self.probes();
        let mut logs: Vec<Vec<f64>> = Vec::with_capacity(probes.len());
        for chunk in probes.chunks(LANES) {
            let at = |l: usize| chunk.get(l).unwrap_or(&chunk[0]);
            let points = (std::array::from_fn(|l| at(l).0), std::array::from_fn(|l| at(l).1));
            let found = self.evaluate(&points);
            logs.extend((0..chunk.len()).map(|l| found.iter().map(|v| v[l]).collect::<Vec<f64>>()));
        }
        let top = |v: &Vec<f64>| v.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let best = logs.iter().map(top).fold(f64::NEG_INFINITY, f64::max);
        let near: Vec<&Vec<f64>> = logs.iter().filter(|v| top(v) > best - NEAR_BEST).collect();
        let mut slot = 0;
        for node in &mut self.nodes {
            node.sigmas.retain(|_| {
                slot += 1;
                near.iter().any(|v| v[slot - 1] > top(v) + COUNTS.ln())
            });
        }
        self.nodes.retain(|n| !n.sigmas.is_empty());
    }

    /// Places over and around the survey: beside the strongest cells, and on rings about the centre.
    fn probes(&self) -> Vec<(f64, f64)> {
        let mut out: Vec<(f64, f64)> = self.starts().iter().map(|p| (p.x, p.y)).collect();
        let n = self.cells.len() as f64;
        let mean = |f: fn(&Cell) -> f64| self.cells.iter().map(f).sum::<f64>() / n;
        let (east, north) = (mean(|c| c.at.east), mean(|c| c.at.north));
        out.push((east, north));
        for (ring, radius) in [0.5, 1.0, 2.0, 4.0].into_iter().enumerate() {
            for i in 0..8 {
                let angle = (f64::from(i) + 0.5 * ring as f64) * std::f64::consts::FRAC_PI_4;
                let far = radius * self.extent;
                out.push((east + far * angle.sin(), north + far * angle.cos()));
            }
        }
        out
    }

    /// Sums of products of the whitened rows of the measured cells.
    #[inline(always)]
    fn sums(&self, node: &Node, rows: &[[Lanes; MOST]]) -> Packed {
        let count = self.columns.count();
        let mut sums = Packed::zeros(count);
        for i in 0..self.measured {
            let row = whitened(node, rows, i, count);
            sums.add(&row, &[node.levels[i]; LANES], &[1.0; LANES]);
        }
        sums
    }

    /// Log of the density of the levels for one kernel and one standard deviation, with the unknowns integrated out.
    #[inline(always)]
    fn marginal(
        &self,
        node: &Node,
        sums: &Packed,
        sigma: f64,
        scratch: &mut [Floor],
    ) -> (Lanes, Packed, [Lanes; MOST]) {
        let count = self.columns.count();
        let precision: [f64; MOST] =
            std::array::from_fn(|i| self.columns.deviation.get(i).map_or(1.0, |d| d.powi(-2)));
        let pull: [f64; MOST] =
            std::array::from_fn(|i| self.columns.mean.get(i).map_or(0.0, |m| m * precision[i]));
        let inverse = sigma.powi(-2);
        let system = sums.with_prior(inverse, &precision, &pull);
        let mut factored = system.clone();
        let half_log = factored.factor();
        let forward = factored.forward();
        let fitted = square(&forward, count);
        let constant: f64 = node.square * inverse
            + (0..count).map(|i| self.columns.mean[i].powi(2) * precision[i]).sum::<f64>();
        let scale = 0.5 * node.log_determinant + self.measured as f64 * sigma.ln()
            - 0.5 * (0..count).map(|i| precision[i].ln()).sum::<f64>();
        if self.measured == self.cells.len() {
            let log = std::array::from_fn(|l| -0.5 * (constant - fitted[l]) - half_log[l] - scale);
            return (log, factored, forward);
        }
        let mut unknowns = factored.backward(&forward);
        for _ in 0..STEPS {
            let mut step = system.clone();
            // What is left on the right at the present unknowns, from the measured ones and the prior.
            system.residual(&unknowns, &mut step.b);
            self.censored(node, &unknowns, sigma, scratch, &mut step);
            step.factor();
            let change = step.backward(&step.forward());
            for i in 0..count {
                for l in 0..LANES {
                    unknowns[i][l] += change[i][l];
                }
            }
        }
        let mut last = system.clone();
        let tail = self.censored(node, &unknowns, sigma, scratch, &mut last);
        let quadratic = system.quadratic(&unknowns);
        let half_log = last.factor();
        let log = std::array::from_fn(|l| -0.5 * (constant + quadratic[l]) + tail[l] - half_log[l] - scale);
        (log, last, unknowns)
    }

    /// What the measured neighbours say of each cell below the floor, whatever the unknowns are.
    #[inline(always)]
    fn given_measured(&self, node: &Node, rows: &[[Lanes; MOST]], out: &mut [Floor]) {
        let count = self.columns.count();
        for i in self.measured..self.cells.len() {
            let here = &mut out[i - self.measured];
            here.base = rows[i];
            here.offset = 0.0;
            for (j, weight) in node.whitener.neighbours(i) {
                if j < self.measured {
                    here.offset += weight * self.cells[j].level;
                }
                for c in 0..count {
                    for l in 0..LANES {
                        here.base[c][l] -= weight * rows[j][c][l];
                    }
                }
            }
        }
    }

    /// Sum of the log probabilities that the cells below the floor are there, given the measured ones and each other: in their
    /// order, each given its neighbours, and those of them that are below the floor themselves stand at their expected levels.
    /// Adds their derivatives to `system`.
    #[inline(always)]
    fn censored(
        &self,
        node: &Node,
        unknowns: &[Lanes; MOST],
        sigma: f64,
        floor: &mut [Floor],
        system: &mut Packed,
    ) -> Lanes {
        let count = self.columns.count();
        let mut total = [0.0; LANES];
        for i in 0..floor.len() {
            let (earlier, rest) = floor.split_at_mut(i);
            let here = &mut rest[0];
            let mut row = here.base;
            let mut expected = predicted(&here.base, unknowns, count);
            for l in 0..LANES {
                expected[l] += here.offset;
            }
            for (j, weight) in node.whitener.neighbours(self.measured + i) {
                let Some(other) = j.checked_sub(self.measured).map(|j| &earlier[j]) else { continue };
                for l in 0..LANES {
                    expected[l] += weight * other.level[l];
                }
                for c in 0..count {
                    for l in 0..LANES {
                        row[c][l] += weight * other.row[c][l];
                    }
                }
            }
            let deviation = sigma / node.whitener.scale[self.measured + i];
            let (mut pull, mut taken) = ([0.0; LANES], [0.0; LANES]);
            let level = self.cells[self.measured + i].level;
            for l in 0..LANES {
                let (log, ratio, part) = below((level - expected[l]) / deviation);
                total[l] += log;
                pull[l] = -ratio;
                taken[l] = part;
                here.level[l] = expected[l] - deviation * ratio;
            }
            let inverse = 1.0 / deviation;
            for c in 0..count {
                for l in 0..LANES {
                    here.row[c][l] = row[c][l] * (1.0 - taken[l]);
                    row[c][l] *= inverse;
                }
            }
            system.add(&row, &pull, &taken);
        }
        total
    }
}

/// How far within a disc the likelihood may rise above its value at the centre: a strong reading explained by an emitter
/// right beside it. Twice the most that was seen on many surveys.
const HIDDEN: f64 = 6.0;

/// The same for a disc that is at most half as wide as the nearest reading is far.
const FAR: f64 = 1.0;

/// A likelihood of levels varies on a length of this part of the distance to the nearest reading: the level does by
/// 10 n log₁₀ of the ratio of distances.
const PART: f64 = 0.7;

impl Levels {
    /// Distance to the nearest measured cell, metres.
    fn nearest(&self, points: &Batch) -> Lanes {
        let mut least = [f64::INFINITY; LANES];
        for cell in &self.cells[..self.measured] {
            for l in 0..LANES {
                let (dx, dy) = (cell.at.east - points.0[l], cell.at.north - points.1[l]);
                least[l] = least[l].min(dx * dx + dy * dy);
            }
        }
        least.map(f64::sqrt)
    }
}

impl Evidence for Levels {
    fn at(&self, points: &Batch) -> Lanes {
        self.judge(points)
    }

    fn finest(&self, points: &Batch, radius: f64) -> Lanes {
        self.nearest(points).map(|near| PART * (near - radius).max(0.0).hypot(self.height))
    }

    fn hidden(&self, points: &Batch, radius: f64) -> Lanes {
        // Among the readings, a disc that holds several of them may hide anything.
        self.nearest(points).map(|near| match near < 2.0 * radius {
            true if radius > self.spacing => f64::INFINITY,
            true => HIDDEN,
            false => FAR,
        })
    }

    fn law(&self, place: PlanePoint) -> Option<LevelFit> {
        self.fitted(place)
    }

    fn starts(&self) -> Vec<Vector2<f64>> {
        let mut strongest: Vec<&Cell> = self.cells[..self.measured].iter().collect();
        strongest.sort_by(|a, b| b.level.total_cmp(&a.level));
        // Beside the reading, not on it: there the direction to it is not defined.
        strongest.iter().take(3).map(|c| Vector2::new(c.at.east + 0.3 * self.height, c.at.north)).collect()
    }
}

/// Where a cell below the floor is expected to be, and how that moves with the unknowns.
#[derive(Clone, Debug)]
struct Floor {
    /// Its row less those of its neighbours.
    base: [Lanes; MOST],
    /// What its measured neighbours' levels add.
    offset: f64,
    level: Lanes,
    row: [Lanes; MOST],
}

impl Default for Floor {
    fn default() -> Self {
        Self { base: [[0.0; LANES]; MOST], offset: 0.0, level: [0.0; LANES], row: [[0.0; LANES]; MOST] }
    }
}

/// Power of the likelihood in a coarsened posterior ([`crate::sources::MILLER2019`]).
fn coarse(trust: f64, cells: usize) -> f64 {
    if trust.is_finite() { trust / (trust + cells as f64) } else { 1.0 }
}

/// Root mean square distance of the cells from their centre.
fn extent(cells: &[Cell]) -> f64 {
    let n = cells.len() as f64;
    let mean = |f: fn(&Cell) -> f64| cells.iter().map(f).sum::<f64>() / n;
    let (east, north) = (mean(|c| c.at.east), mean(|c| c.at.north));
    let square = |c: &Cell| (c.at.east - east).powi(2) + (c.at.north - north).powi(2);
    (cells.iter().map(square).sum::<f64>() / n).sqrt()
}

#[inline(always)]
fn predicted(row: &[Lanes; MOST], unknowns: &[Lanes; MOST], count: usize) -> Lanes {
    let mut sum = [0.0; LANES];
    for c in 0..count {
        for l in 0..LANES {
            sum[l] += row[c][l] * unknowns[c][l];
        }
    }
    sum
}

/// A row less what its neighbours say, in standard deviations of what they leave.
#[inline(always)]
fn whitened(node: &Node, rows: &[[Lanes; MOST]], i: usize, count: usize) -> [Lanes; MOST] {
    let mut row = rows[i];
    for (j, weight) in node.whitener.neighbours(i) {
        for c in 0..count {
            for l in 0..LANES {
                row[c][l] -= weight * rows[j][c][l];
            }
        }
    }
    let scale = node.whitener.scale[i];
    for c in 0..count {
        for l in 0..LANES {
            row[c][l] *= scale;
        }
    }
    row
}

#[cfg(test)]
mod tests;
