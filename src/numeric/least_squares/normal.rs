//! The model as normal equations.

use super::{Model, Step};

/// The cost with its gradient and a positive definite matrix for its second derivatives: JᵀJ, or the exact Hessian
/// where the caller knows it and it is positive definite. For few, well scaled parameters; rounding takes twice the
/// digits that [`super::Triangle`] loses.
///
/// Parameters are eliminated from the first to the last (L D Lᵀ), so a nuisance parameter in front is eliminated
/// before the ones that matter, and [`Model::inverse`] holds their covariance with the nuisance accounted for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Normal<const N: usize> {
    /// The cost, half the sum of squared residuals.
    pub cost: f64,
    /// Its derivatives, Jᵀr.
    pub gradient: [f64; N],
    /// Its matrix of second derivatives, or JᵀJ. Only the lower triangle is read.
    pub curvature: [[f64; N]; N],
    /// The diagonal of JᵀJ.
    pub squares: [f64; N],
}

/// The factors of `matrix` = L D Lᵀ: below the diagonal the unit triangular L, on it the reciprocals of D; `None` unless
/// positive definite. A pivot that has lost all but a few of its last digits to rounding counts as zero. No roots: their
/// latency would be most of the time that two parameters take.
#[inline]
fn factors<const N: usize>(matrix: &[[f64; N]; N]) -> Option<[[f64; N]; N]> {
    let mut lower = *matrix;
    // Below the diagonal, L D.
    let mut scaled = *matrix;
    for j in 0..N {
        let pivot = matrix[j][j] - dot(&scaled[j][..j], &lower[j][..j]);
        // A pivot that is not a number is not greater either.
        let sound = pivot > 1e-15 * matrix[j][j];
        if !sound {
            return None;
        }
        lower[j][j] = 1.0 / pivot;
        for i in j + 1..N {
            scaled[i][j] = matrix[i][j] - dot(&scaled[i][..j], &lower[j][..j]);
            lower[i][j] = scaled[i][j] * lower[j][j];
        }
    }
    Some(lower)
}

#[inline]
fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// The solution x of L D Lᵀ x = `right`, for the result of [`factors`].
#[inline]
fn solve<const N: usize>(lower: &[[f64; N]; N], right: &[f64; N]) -> [f64; N] {
    let mut x = *right;
    for j in 0..N {
        x[j] -= dot(&lower[j][..j], &x[..j]);
    }
    for j in (0..N).rev() {
        let later: f64 = (j + 1..N).map(|k| lower[k][j] * x[k]).sum();
        x[j] = x[j] * lower[j][j] - later;
    }
    x
}

impl<const N: usize> Model<N> for Normal<N> {
    #[inline]
    fn cost(&self) -> f64 {
        self.cost
    }

    #[inline]
    fn scale(&self) -> [f64; N] {
        self.squares.map(f64::sqrt)
    }

    #[inline]
    fn step(&self, damping: f64, scale: &[f64; N]) -> Option<Step<N>> {
        let mut damped = self.curvature;
        for j in 0..N {
            damped[j][j] += damping * scale[j] * scale[j];
        }
        let by = solve(&factors(&damped)?, &self.gradient.map(|g| -g));
        // −g·δ − ½ δᵀHδ, with Hδ = −g − λD²δ.
        let mut promised = 0.0;
        for j in 0..N {
            promised -= 0.5 * self.gradient[j] * by[j];
            promised += 0.5 * damping * (scale[j] * by[j]).powi(2);
        }
        Some(Step { by, promised })
    }

    fn inverse(&self) -> Option<[[f64; N]; N]> {
        let lower = factors(&self.curvature)?;
        let mut columns = [[0.0; N]; N];
        for (j, column) in columns.iter_mut().enumerate() {
            let mut unit = [0.0; N];
            unit[j] = 1.0;
            *column = solve(&lower, &unit);
        }
        // Symmetric, so rows and columns are the same.
        Some(columns)
    }
}
