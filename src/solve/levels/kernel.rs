//! Correlated shadowing, whitened.

use nalgebra::{Cholesky, DMatrix, DVector};

use crate::solve::levels::cells::Cell;

/// How many earlier cells stand for all of them.
const NEIGHBOURS: usize = 10;

/// A correlation of shadowing over distance: (1 − ν) [(1 − ω) exp(−δ/D) + ω exp(−δ/D′)] between two readings δ apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kernel {
    /// D: distance over which the shared part falls to 1/e, metres.
    pub decorrelation: f64,
    /// ν: part of the variance that neighbours do not share, above 0 and at most 1.
    pub own: f64,
    /// ω: part of what is shared that reaches farther.
    pub wide_share: f64,
    /// D′: how far, metres.
    pub wide: f64,
}

impl Kernel {
    /// Correlation of the shared part.
    fn shared(&self, apart: f64) -> f64 {
        let near = (-apart / self.decorrelation).exp();
        let shape = if self.wide_share > 0.0 {
            (1.0 - self.wide_share) * near + self.wide_share * (-apart / self.wide).exp()
        } else {
            near
        };
        (1.0 - self.own) * shape
    }

    /// Variance of the mean of a cell's readings, in units of the variance of one.
    fn variance(&self, cell: &Cell) -> f64 {
        let n = cell.count;
        if n <= 1.0 {
            return 1.0;
        }
        let pairs = cell.pairs.iter().map(|d| self.shared(*d)).sum::<f64>() / cell.pairs.len() as f64;
        let single = 1.0 / n;
        (1.0 - self.own) * single + (1.0 - single) * pairs + self.own * single * cell.loss
    }
}

/// The inverse Cholesky factor of a correlation matrix, each row given a few earlier cells ([`crate::sources::VECCHIA1988`]).
#[derive(Clone, Debug, Default)]
pub struct Whitener {
    /// 1/√(variance given the neighbours), by row.
    pub scale: Vec<f64>,
    /// Where the neighbours of each row start.
    pub start: Vec<usize>,
    /// Earlier rows.
    pub index: Vec<u32>,
    /// Their weights.
    pub weight: Vec<f64>,
}

impl Whitener {
    /// Factors the kernel over the cells; `earlier` are the neighbours of each in some order of them, measured ones before the
    /// others.
    pub fn new(cells: &[Cell], earlier: &[Vec<u32>], kernel: Kernel) -> Self {
        let mut out = Self { start: vec![0], ..Self::default() };
        let variances: Vec<f64> = cells.iter().map(|c| kernel.variance(c)).collect();
        for (i, near) in earlier.iter().enumerate() {
            let (weights, variance) = conditional(cells, &variances, i, near, kernel);
            out.scale.push(1.0 / variance.sqrt());
            out.index.extend(near);
            out.weight.extend(weights.iter());
            out.start.push(out.index.len());
        }
        out
    }

    /// Neighbours of a row with their weights.
    #[inline(always)]
    pub fn neighbours(&self, row: usize) -> impl Iterator<Item = (usize, f64)> + '_ {
        let range = self.start[row]..self.start[row + 1];
        self.index[range.clone()].iter().map(|j| *j as usize).zip(self.weight[range].iter().copied())
    }

    /// The first `rows` whitened values: uncorrelated, with variance 1 where the kernel is right.
    pub fn apply(&self, values: &[f64], rows: usize) -> Vec<f64> {
        (0..rows)
            .map(|i| {
                let expected: f64 = self.neighbours(i).map(|(j, w)| w * values[j]).sum();
                (values[i] - expected) * self.scale[i]
            })
            .collect()
    }

    /// Logarithm of the determinant of the correlation matrix of the first `rows`.
    pub fn log_determinant(&self, rows: usize) -> f64 {
        -2.0 * self.scale[..rows].iter().map(|s| s.ln()).sum::<f64>()
    }
}

/// Weights of the neighbours and the variance that they leave.
fn conditional(
    cells: &[Cell],
    variances: &[f64],
    row: usize,
    near: &[u32],
    kernel: Kernel,
) -> (DVector<f64>, f64) {
    let at = |i: usize| near[i] as usize;
    let among = DMatrix::from_fn(near.len(), near.len(), |i, j| {
        if i == j { variances[at(i)] } else { kernel.shared(cells[at(i)].apart(&cells[at(j)])) }
    });
    let toward = DVector::from_fn(near.len(), |i, _| kernel.shared(cells[at(i)].apart(&cells[row])));
    // The part of its own keeps the matrix positive definite, even for readings at one spot; cells whose means vary less
    // than their centres suggest are the exception, and then the row stands alone.
    let whole = variances[row];
    let weights = Cholesky::new(among).map_or_else(|| DVector::zeros(near.len()), |c| c.solve(&toward));
    let left = whole - weights.dot(&toward);
    if left > 1e-3 * whole { (weights, left) } else { (DVector::zeros(near.len()), whole) }
}

/// The cells with the nearest earlier ones of each, the first `measured` laid along a curve that fills the plane: cells that are
/// neighbours are then mostly kept close together, which is what judging a place spends its time on.
pub fn gathered(cells: Vec<Cell>, measured: usize) -> (Vec<Cell>, Vec<Vec<u32>>) {
    let near = earlier(&cells);
    let least = |f: fn(&Cell) -> f64| cells.iter().map(f).fold(f64::INFINITY, f64::min);
    let greatest = |f: fn(&Cell) -> f64| cells.iter().map(f).fold(f64::NEG_INFINITY, f64::max);
    let (west, south) = (least(|c| c.at.east), least(|c| c.at.north));
    let side = (greatest(|c| c.at.east) - west).max(greatest(|c| c.at.north) - south).max(1e-3);
    let step = |v: f64| (65_535.0 * v / side) as u64;
    let mut order: Vec<usize> = (0..cells.len()).collect();
    order[..measured].sort_by_key(|i| {
        let at = cells[*i].at;
        (spread_bits(step(at.east - west)) | spread_bits(step(at.north - south)) << 1, *i)
    });
    let mut place = vec![0; order.len()];
    for (new, old) in order.iter().enumerate() {
        place[*old] = new as u32;
    }
    let renamed = |old: &usize| {
        let mut names: Vec<u32> = near[*old].iter().map(|j| place[*j as usize]).collect();
        names.sort_unstable();
        names
    };
    (order.iter().map(|i| cells[*i].clone()).collect(), order.iter().map(renamed).collect())
}

/// A zero between every two of the lower sixteen bits.
fn spread_bits(value: u64) -> u64 {
    (0..16).map(|bit| (value >> bit & 1) << (2 * bit)).sum()
}

/// For every cell its nearest earlier ones.
pub fn earlier(cells: &[Cell]) -> Vec<Vec<u32>> {
    (0..cells.len())
        .map(|i| {
            let mut near: Vec<(f64, u32)> = (0..i).map(|j| (cells[i].apart(&cells[j]), j as u32)).collect();
            if near.len() > NEIGHBOURS {
                near.select_nth_unstable_by(NEIGHBOURS, |a, b| a.0.total_cmp(&b.0));
                near.truncate(NEIGHBOURS);
            }
            let mut near: Vec<u32> = near.into_iter().map(|n| n.1).collect();
            near.sort_unstable();
            near
        })
        .collect()
}
