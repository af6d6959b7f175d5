//! The marginal likelihood of a place.

use nalgebra::Vector2;

use crate::{
    check::{Heard, UsableLevel},
    geodesy::{Place, PlanePoint},
    solve::{
        density::{Batch, LANES},
        evidence::Evidence,
        levels::{
            cells::{Cell, Reading, gather},
            columns::Columns,
            kernel::{Kernel, gathered},
            marginal::{Found, Marginal},
            node::Node,
            packed::{Lanes, MOST},
            priors::LevelPriors,
            summary::LevelFit,
            weighing::{self, SCALES, Weighing, ring},
        },
        tree::Known,
        wide::widest,
    },
    units::Dbm,
};

/// A log is gathered into at most this many cells.
const MOST_CELLS: usize = 160;

/// The height is at most this part of the extent: a survey of a room has no emitter metres above it.
const LOW: f64 = 0.15;

/// A node must have this part of the density of the strongest one somewhere.
const COUNTS: f64 = 7e-3;

/// The same while the best place is still looked for.
const MAY_COUNT: f64 = 1e-3;

/// How far below the best of the places looked at, in log likelihood, a place still has a say in which nodes count.
const NEAR_BEST: f64 = 12.0;

/// Rounds of the search for the best place, each over half the distance of the one before.
const ROUNDS: usize = 5;

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
    /// How regular and irregular surroundings are weighed against each other.
    pub(super) weighing: Weighing,
    /// Typical distance between neighbouring cells, metres.
    spacing: f64,
    /// How many of them are measured; the others are below the floor.
    pub(super) measured: usize,
    columns: Columns,
    pub(super) nodes: Vec<Node>,
    /// Prior of the standard deviation of the shadowing: median in dB, and deviation of its logarithm.
    spread: (f64, f64),
    /// Scales of irregularity.
    irregular: [f64; SCALES],
    /// Root mean square distance of the cells from their centre, metres.
    pub(super) extent: f64,
    /// See [`Evidence::masses`].
    pub(super) masses: Vec<Known>,
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
    /// Whether it stands for regular surroundings.
    pub regular: bool,
}

/// What each kernel and scale of irregularity says of eight places: logarithms of the density and of the standard deviation of the shadowing.
pub(super) type Judged = Vec<(Lanes, Lanes)>;

struct Evaluation<'a, const N: usize> {
    levels: &'a Levels,
    points: &'a Batch,
}

impl<const N: usize> pulp::WithSimd for Evaluation<'_, N> {
    type Output = Judged;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, simd: S) -> Judged {
        let mut marginal = self.levels.marginal::<S, N>(simd, self.points);
        // A loop, for a closure would be compiled for the narrowest vectors.
        let mut out = Vec::with_capacity(self.levels.nodes.len());
        let mut found = Vec::new();
        for node in &self.levels.nodes {
            found.clear();
            marginal.add(node, &mut found);
            for f in &found {
                out.push((f.log, f.log_sigma));
            }
        }
        out
    }
}

/// The same for [`Levels::unknowns`].
struct Fitting<'a, const N: usize> {
    levels: &'a Levels,
    points: &'a Batch,
}

impl<const N: usize> pulp::WithSimd for Fitting<'_, N> {
    type Output = Vec<Unknowns>;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, simd: S) -> Self::Output {
        let Self { levels, points } = self;
        let mut marginal = levels.marginal::<S, N>(simd, points);
        let mut found = Vec::new();
        let mut out = Vec::with_capacity(levels.nodes.len());
        for node in &levels.nodes {
            found.clear();
            marginal.add(node, &mut found);
            for (found, scale) in found.iter_mut().zip(&node.scales) {
                out.push(told(found, node, (scale.0, levels.weighing.log_prior(scale.0))));
            }
        }
        out
    }
}

impl Levels {
    /// Gathers the readings into cells and factors the covariance of the shadowing for every kernel.
    pub fn new(readings: &[Reading], priors: &LevelPriors) -> Self {
        let cells = gather(readings, MOST_CELLS);
        let measured = cells.iter().filter(|c| !c.below).count();
        let (cells, near) = gathered(cells, measured);
        let extent = extent(&cells);
        let priors = &LevelPriors { height: priors.height.min(LOW * extent).max(0.05), ..*priors };
        let kernels = priors.kernels(extent);
        let start = priors.shadowing.0.ln();
        let weighing = Weighing::new(priors, cells.len());
        let scales: Vec<(usize, f64)> = weighing.scales().map(|i| (i, start)).collect();
        let nodes = kernels.iter().map(|k| Node::new(&cells, &near, *k, measured, scales.clone())).collect();
        let mut out = Self {
            columns: Columns::new(&cells, priors, extent),
            height: priors.height,
            weighing,
            spacing: extent * (6.0 / cells.len().max(1) as f64).sqrt(),
            extent,
            cells,
            measured,
            nodes,
            spread: priors.shadowing,
            irregular: weighing::factors(priors),
            masses: Vec::new(),
        };
        let best = out.prune();
        out.level(best);
        out
    }

    /// The cells that the readings were gathered into.
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// Logarithm of the likelihood of a place, everything else integrated out; a constant is left out. No readings give zero.
    pub fn log_likelihood(&self, place: PlanePoint) -> f64 {
        self.log_likelihoods(&[place])[0]
    }

    /// The same for many places, in their order; each is the same to the last bit whatever stands beside it.
    pub fn log_likelihoods(&self, places: &[PlanePoint]) -> Vec<f64> {
        let mut out = Vec::with_capacity(places.len());
        for chunk in places.chunks(LANES) {
            let at = |l: usize| chunk.get(l).unwrap_or(&chunk[0]);
            let points = (std::array::from_fn(|l| at(l).east), std::array::from_fn(|l| at(l).north));
            out.extend_from_slice(&self.judge(&points)[..chunk.len()]);
        }
        out
    }

    /// The same for several places at once.
    fn judge(&self, points: &Batch) -> Lanes {
        if self.cells.is_empty() {
            return [0.0; LANES];
        }
        let found = self.evaluate(points);
        let (regular, irregular) = self.split(&found);
        std::array::from_fn(|l| self.weighing.joined(regular[l], irregular[l]))
    }

    /// Systems of a few sizes are compiled; the next larger one takes zeros for the rest.
    pub(super) fn evaluate(&self, points: &Batch) -> Judged {
        match self.columns.count() {
            ..=3 => widest(Evaluation::<3> { levels: self, points }),
            4..=9 => widest(Evaluation::<9> { levels: self, points }),
            10..=12 => widest(Evaluation::<12> { levels: self, points }),
            _ => widest(Evaluation::<MOST> { levels: self, points }),
        }
    }

    #[inline(always)]
    fn marginal<S: pulp::Simd, const N: usize>(&self, simd: S, points: &Batch) -> Marginal<'_, S, N> {
        Marginal::new(simd, &self.cells, self.measured, &self.columns, (self.spread, &self.irregular), points)
    }

    /// What every node says of level and exponent at the first of the points.
    pub(super) fn unknowns(&self, points: &Batch) -> Vec<Unknowns> {
        if self.measured == 0 {
            return Vec::new();
        }
        match self.columns.count() {
            ..=9 => widest(Fitting::<9> { levels: self, points }),
            _ => widest(Fitting::<MOST> { levels: self, points }),
        }
    }

    /// Prior mean and standard deviation of the exponent.
    pub(super) fn exponent_prior(&self) -> (f64, f64) {
        (self.columns.mean[1], self.columns.deviation[1])
    }

    /// Power to which the likelihood is taken in irregular surroundings.
    pub(super) const fn power(&self) -> f64 {
        self.weighing.power()
    }

    /// Leaves out nodes that count nowhere: at places over and around the survey, and about the best of these, unless far worse than
    /// it, the density of a node over that of the strongest one is taken; the greatest of these must reach [`COUNTS`]. Returns the
    /// best of them.
    fn prune(&mut self) -> (f64, f64) {
        if self.measured == 0 {
            return (0.0, 0.0);
        }
        let mut probes = self.probed(&self.probes());
        self.keep(&mut probes, MAY_COUNT);
        let mut reach = 0.35 * self.extent;
        for _ in 0..ROUNDS {
            let Some((east, north)) = best(&probes).map(|p| p.at) else { break };
            probes.extend(self.probed(&ring((east, north), reach)));
            reach *= 0.5;
        }
        self.keep(&mut probes, COUNTS);
        best(&probes).map_or((0.0, 0.0), |p| p.at)
    }

    /// What every node says of some places.
    fn probed(&self, places: &[(f64, f64)]) -> Vec<Probe> {
        let mut out = Vec::with_capacity(places.len());
        for chunk in places.chunks(LANES) {
            let at = |l: usize| chunk.get(l).unwrap_or(&chunk[0]);
            let points = (std::array::from_fn(|l| at(l).0), std::array::from_fn(|l| at(l).1));
            let found = self.evaluate(&points);
            out.extend(chunk.iter().enumerate().map(|(l, at)| {
                let said: Vec<(f64, f64)> = found.iter().map(|v| (v.0[l], v.1[l])).collect();
                Probe { at: *at, log: said.iter().map(|s| s.0).fold(f64::NEG_INFINITY, f64::max), said }
            }));
        }
        out
    }

    /// Keeps the nodes whose weight reaches `least` somewhere.
    fn keep(&mut self, probes: &mut [Probe], least: f64) {
        let Some(top) = best(probes).map(|p| p.log) else { return };
        let weight = |p: &Probe, i: usize| (p.said[i].0 - p.log).exp();
        let near = || probes.iter().filter(|p| p.log > top - NEAR_BEST);
        // Where it is strongest its search for the deviation begins.
        let first = |i: usize| near().max_by(|a, b| a.said[i].0.total_cmp(&b.said[i].0));
        let counts = |i: usize| near().any(|p| weight(p, i) > least);
        let mut slot = 0;
        let mut kept = Vec::new();
        for node in &mut self.nodes {
            let mut strongest: Vec<(f64, usize, (usize, f64))> = Vec::new();
            for scale in &node.scales {
                if let Some(probe) = first(slot).filter(|_| counts(slot)) {
                    strongest.push((probe.said[slot].0, slot, (scale.0, probe.said[slot].1)));
                }
                slot += 1;
            }
            // The first one is looked at more closely than the others, which begin where it ends.
            strongest.sort_by(|a, b| b.0.total_cmp(&a.0));
            kept.extend(strongest.iter().map(|s| s.1));
            node.scales = strongest.iter().map(|s| s.2).collect();
        }
        self.nodes.retain(|n| !n.scales.is_empty());
        for probe in probes {
            probe.said = kept.iter().map(|i| probe.said[*i]).collect();
        }
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
}

/// What every node says of one place: logarithms of the density and of the standard deviation of the shadowing.
struct Probe {
    at: (f64, f64),
    /// Logarithm of the greatest density of any node.
    log: f64,
    said: Vec<(f64, f64)>,
}

/// The place with the greatest density.
fn best(probes: &[Probe]) -> Option<&Probe> {
    probes.iter().max_by(|a, b| a.log.total_cmp(&b.log))
}

/// How far within a disc the likelihood may rise above its value at the centre: a strong reading explained by an emitter
/// right beside it. Twice the most that was seen on many surveys.
const HIDDEN: f64 = 6.0;

/// The same for a disc that is at most half as wide as the nearest reading is far.
const FAR: f64 = 1.0;

/// A likelihood of levels varies on a length of this part of the distance to the nearest reading: the level does by
/// 10 n log₁₀ of the ratio of distances.
const PART: f64 = 0.7;

/// Over a disc of this part of the distance to the nearest cell the logarithm of the likelihood may follow a polynomial: its
/// derivatives of order k are those of logarithms of distances, the k-th power of the inverse distance.
const SMOOTH: f64 = 0.6;

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

    fn quietest(&self) -> Option<Dbm> {
        let heard = self.cells().iter().filter(|c| !c.below).map(|c| c.level);
        heard.min_by(f64::total_cmp).map(Dbm::new)
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

    fn is_smooth(&self, at: [f64; 2], radius: f64) -> bool {
        let far = |c: &Cell| (c.at.east - at[0]).powi(2) + (c.at.north - at[1]).powi(2);
        let nearest = self.cells.iter().map(far).fold(f64::INFINITY, f64::min) + self.height.powi(2);
        radius <= SMOOTH * nearest.sqrt()
    }

    fn masses(&self) -> &[Known] {
        &self.masses
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

/// What one node says of level and exponent at the first place, with its scale of irregularity and the logarithm of the prior
/// probability of that.
fn told<const N: usize>(found: &mut Found<N>, node: &Node, (scale, prior): (usize, f64)) -> Unknowns {
    let mut column = |i: usize| {
        found.factored.b = [[0.0; LANES]; N];
        found.factored.b[i] = [1.0; LANES];
        found.factored.backward(&found.factored.forward())
    };
    let (first, second) = (column(0), column(1));
    Unknowns {
        log: found.log[0] + prior,
        mean: [found.unknowns[0][0], found.unknowns[1][0]],
        covariance: [first[0][0], first[1][0], second[1][0]],
        sigma: found.log_sigma[0].exp(),
        kernel: node.kernel,
        effective: node.effective(),
        regular: Weighing::is_regular(scale),
    }
}

/// Root mean square distance of the cells from their centre.
fn extent(cells: &[Cell]) -> f64 {
    let n = cells.len() as f64;
    let mean = |f: fn(&Cell) -> f64| cells.iter().map(f).sum::<f64>() / n;
    let (east, north) = (mean(|c| c.at.east), mean(|c| c.at.north));
    let square = |c: &Cell| (c.at.east - east).powi(2) + (c.at.north - north).powi(2);
    (cells.iter().map(square).sum::<f64>() / n).sqrt()
}

#[cfg(test)]
mod tests;
