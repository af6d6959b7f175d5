//! Correlated shadowing, whitened.

use nalgebra::{Cholesky, DMatrix, DVector};

use crate::geodesy::PlanePoint;

/// How many earlier readings stand for all of them. The exponential kernel is Markov along a line, so that few suffice.
const NEIGHBOURS: usize = 12;

/// A correlation of shadowing between readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kernel {
    /// Distance over which the shared part falls to 1/e, metres.
    pub decorrelation: f64,
    /// Part of the variance that neighbours do not share, above 0 and at most 1.
    pub own: f64,
}

impl Kernel {
    fn correlation(&self, apart: f64) -> f64 {
        (1.0 - self.own) * (-apart / self.decorrelation).exp()
    }
}

/// The inverse Cholesky factor of a correlation matrix, one sparse row for each reading.
#[derive(Clone, Debug)]
pub struct Whitener {
    rows: Vec<Row>,
    /// Logarithm of the determinant of the correlation matrix.
    pub log_determinant: f64,
}

#[derive(Clone, Debug)]
struct Row {
    /// 1/√(variance given the neighbours).
    scale: f64,
    /// Earlier readings with their weights.
    neighbours: Vec<(u32, f64)>,
}

impl Whitener {
    /// Factors the kernel over the readings, in their order; `earlier` are the neighbours of each.
    pub fn new(points: &[PlanePoint], earlier: &[Vec<u32>], kernel: Kernel) -> Self {
        let mut log_determinant = 0.0;
        let rows = points
            .iter()
            .zip(earlier)
            .map(|(point, near)| {
                let (weights, variance) = conditional(points, point, near, kernel);
                log_determinant += variance.ln();
                let neighbours = near.iter().copied().zip(weights.iter().copied()).collect();
                Row { scale: 1.0 / variance.sqrt(), neighbours }
            })
            .collect();
        Self { rows, log_determinant }
    }

    /// The whitened values: uncorrelated, with variance 1 where the kernel is right.
    pub fn apply(&self, values: &[f64], out: &mut Vec<f64>) {
        out.clear();
        out.extend(self.rows.iter().zip(values).map(|(row, value)| {
            let expected: f64 = row.neighbours.iter().map(|(j, w)| w * values[*j as usize]).sum();
            (value - expected) * row.scale
        }));
    }
}

/// Weights of the neighbours and the variance that they leave.
fn conditional(
    points: &[PlanePoint],
    point: &PlanePoint,
    near: &[u32],
    kernel: Kernel,
) -> (DVector<f64>, f64) {
    let apart = |a: &PlanePoint, b: &PlanePoint| (a.east - b.east).hypot(a.north - b.north);
    let at = |i: usize| &points[near[i] as usize];
    let among = DMatrix::from_fn(near.len(), near.len(), |i, j| {
        if i == j { 1.0 } else { kernel.correlation(apart(at(i), at(j))) }
    });
    let toward = DVector::from_fn(near.len(), |i, _| kernel.correlation(apart(at(i), point)));
    // The part of its own keeps the matrix positive definite, even for readings at one spot.
    let weights = Cholesky::new(among).map_or_else(|| DVector::zeros(near.len()), |c| c.solve(&toward));
    let variance = (1.0 - weights.dot(&toward)).max(kernel.own * 0.5);
    (weights, variance)
}

/// For every point its nearest earlier ones.
pub fn earlier(points: &[PlanePoint]) -> Vec<Vec<u32>> {
    (0..points.len())
        .map(|i| {
            let squared = |j: usize| {
                (points[i].east - points[j].east).powi(2) + (points[i].north - points[j].north).powi(2)
            };
            let mut near: Vec<usize> = (0..i).collect();
            if near.len() > NEIGHBOURS {
                near.select_nth_unstable_by(NEIGHBOURS, |a, b| squared(*a).total_cmp(&squared(*b)));
                near.truncate(NEIGHBOURS);
            }
            near.sort_unstable();
            near.into_iter().map(|j| j as u32).collect()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::random::Random;

    /// Few readings have all earlier ones as neighbours: then the sparse factor is the exact one, and the sum of squares and
    /// the determinant are those of the dense matrix.
    #[test]
    fn with_all_neighbours_the_factor_is_exact() {
        let mut random = Random::seeded(7);
        let points: Vec<PlanePoint> = (0..NEIGHBOURS)
            .map(|_| PlanePoint { east: 100.0 * random.uniform(), north: 100.0 * random.uniform() })
            .collect();
        let kernel = Kernel { decorrelation: 40.0, own: 0.2 };
        let dense = DMatrix::from_fn(points.len(), points.len(), |i, j| {
            let apart = (points[i].east - points[j].east).hypot(points[i].north - points[j].north);
            if i == j { 1.0 } else { kernel.correlation(apart) }
        });
        let values: Vec<f64> = (0..points.len()).map(|_| random.normal()).collect();
        let exact = DVector::from_vec(values.clone());
        let cholesky = Cholesky::new(dense).unwrap();
        let whitener = Whitener::new(&points, &earlier(&points), kernel);
        let mut white = Vec::new();
        whitener.apply(&values, &mut white);
        let sum: f64 = white.iter().map(|w| w * w).sum();
        assert!((sum / exact.dot(&cholesky.solve(&exact)) - 1.0).abs() < 1e-12);
        let log_determinant: f64 = cholesky.l().diagonal().iter().map(|d| 2.0 * d.ln()).sum();
        assert!((whitener.log_determinant - log_determinant).abs() < 1e-12);
    }
}
