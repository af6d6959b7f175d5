//! The model as the triangular factor of the Jacobian.

use super::{Model, Step};

/// The triangular factor R of the Jacobian J = QR with z = Qᵀr, built one row at a time by plane rotations
/// ([`crate::sources::GOLUB2013`], section 5.2.5): the condition of the problem is not squared, as it is in the
/// normal equations, and no row has to be kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Triangle<const N: usize> {
    rows: [[f64; N]; N],
    right: [f64; N],
    cost: f64,
}

impl<const N: usize> Default for Triangle<N> {
    fn default() -> Self {
        Self::new()
    }
}

impl<const N: usize> Triangle<N> {
    /// Without residuals yet.
    pub const fn new() -> Self {
        Self { rows: [[0.0; N]; N], right: [0.0; N], cost: 0.0 }
    }

    /// Adds a residual with its derivatives by each parameter.
    pub fn add(&mut self, residual: f64, derivatives: &[f64; N]) {
        self.cost += 0.5 * residual * residual;
        self.rotate_in(residual, *derivatives);
    }

    fn rotate_in(&mut self, mut residual: f64, mut row: [f64; N]) {
        for j in 0..N {
            if row[j] == 0.0 {
                continue;
            }
            let length = self.rows[j][j].hypot(row[j]);
            let (c, s) = (self.rows[j][j] / length, row[j] / length);
            for (kept, new) in self.rows[j][j..].iter_mut().zip(&mut row[j..]) {
                (*kept, *new) = (c * *kept + s * *new, c * *new - s * *kept);
            }
            let kept = self.right[j];
            self.right[j] = c * kept + s * residual;
            residual = c * residual - s * kept;
        }
    }

    /// The solution x of R x = `right`; `None` where R has a zero on its diagonal.
    fn solve(&self, right: &[f64; N]) -> Option<[f64; N]> {
        let mut x = *right;
        for j in (0..N).rev() {
            let sum: f64 = (j + 1..N).map(|k| self.rows[j][k] * x[k]).sum();
            x[j] = (x[j] - sum) / self.rows[j][j];
        }
        x.iter().all(|v| v.is_finite()).then_some(x)
    }
}

impl<const N: usize> Model<N> for Triangle<N> {
    fn cost(&self) -> f64 {
        self.cost
    }

    /// The columns of R are as long as those of J.
    fn scale(&self) -> [f64; N] {
        std::array::from_fn(|j| self.rows[..=j].iter().fold(0.0, |sum: f64, row| sum.hypot(row[j])))
    }

    fn step(&self, damping: f64, scale: &[f64; N]) -> Option<Step<N>> {
        let mut damped = *self;
        if damping > 0.0 {
            for j in 0..N {
                let mut row = [0.0; N];
                row[j] = damping.sqrt() * scale[j];
                damped.rotate_in(0.0, row);
            }
        }
        let by = damped.solve(&damped.right)?.map(|x| -x);
        // The promise −g·δ − ½ δᵀJᵀJδ, written with the damped equations as a sum of squares.
        let mut promised = 0.0;
        for j in 0..N {
            let along: f64 = (j..N).map(|k| self.rows[j][k] * by[k]).sum();
            promised += 0.5 * along * along + damping * (scale[j] * by[j]).powi(2);
        }
        Some(Step { by, promised })
    }

    fn inverse(&self) -> Option<[[f64; N]; N]> {
        let mut columns = [[0.0; N]; N];
        for (j, column) in columns.iter_mut().enumerate() {
            let mut unit = [0.0; N];
            unit[j] = 1.0;
            *column = self.solve(&unit)?;
        }
        // (RᵀR)⁻¹ = R⁻¹R⁻ᵀ; `columns` holds the columns of R⁻¹.
        Some(std::array::from_fn(|i| std::array::from_fn(|k| columns.iter().map(|c| c[i] * c[k]).sum())))
    }
}
