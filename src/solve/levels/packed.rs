//! Small symmetric systems, eight side by side.

use crate::solve::density::LANES;

/// One number for each of the places that are judged together.
pub type Lanes = [f64; LANES];

/// Greatest number of unknowns.
pub const MOST: usize = 16;

const SIZE: usize = MOST * (MOST + 1) / 2;

/// A symmetric matrix and a right-hand side.
#[derive(Clone, Debug)]
pub struct Packed {
    n: usize,
    /// Lower triangle, row by row.
    a: [Lanes; SIZE],
    /// Right-hand side.
    pub b: [Lanes; MOST],
}

#[inline(always)]
const fn slot(i: usize, j: usize) -> usize {
    i * (i + 1) / 2 + j
}

impl Packed {
    /// Zeros for `n` unknowns.
    #[inline(always)]
    pub const fn zeros(n: usize) -> Self {
        Self { n, a: [[0.0; LANES]; SIZE], b: [[0.0; LANES]; MOST] }
    }

    /// Adds an observation: its row of derivatives, its whitened value, and how much of it counts.
    #[inline(always)]
    pub fn add(&mut self, row: &[Lanes; MOST], value: &Lanes, weight: &Lanes) {
        for i in 0..self.n {
            let mut scaled = row[i];
            for l in 0..LANES {
                self.b[i][l] += row[i][l] * value[l];
                scaled[l] *= weight[l];
            }
            for j in 0..=i {
                let cell = &mut self.a[slot(i, j)];
                for l in 0..LANES {
                    cell[l] += scaled[l] * row[j][l];
                }
            }
        }
    }

    /// The same system with every entry times `factor`, plus `precision` on the diagonal and `pull` on the right.
    #[inline(always)]
    pub fn with_prior(&self, factor: f64, precision: &[f64], pull: &[f64]) -> Self {
        let mut out = self.clone();
        for i in 0..self.n {
            for j in 0..=i {
                for l in 0..LANES {
                    out.a[slot(i, j)][l] *= factor;
                }
            }
            for l in 0..LANES {
                out.a[slot(i, i)][l] += precision[i];
                out.b[i][l] = out.b[i][l] * factor + pull[i];
            }
        }
        out
    }

    /// A x, before [`Packed::factor`].
    #[inline(always)]
    fn times(&self, x: &[Lanes; MOST]) -> [Lanes; MOST] {
        let mut out = [[0.0; LANES]; MOST];
        for i in 0..self.n {
            for j in 0..self.n {
                let cell = self.a[if j <= i { slot(i, j) } else { slot(j, i) }];
                for l in 0..LANES {
                    out[i][l] += cell[l] * x[j][l];
                }
            }
        }
        out
    }

    /// b − A x, before [`Packed::factor`].
    #[inline(always)]
    pub fn residual(&self, x: &[Lanes; MOST], out: &mut [Lanes; MOST]) {
        let product = self.times(x);
        for i in 0..self.n {
            for l in 0..LANES {
                out[i][l] = self.b[i][l] - product[i][l];
            }
        }
    }

    /// xᵀA x − 2 bᵀx, before [`Packed::factor`].
    #[inline(always)]
    pub fn quadratic(&self, x: &[Lanes; MOST]) -> Lanes {
        let product = self.times(x);
        let mut sum = [0.0; LANES];
        for i in 0..self.n {
            for l in 0..LANES {
                sum[l] += x[i][l] * (product[i][l] - 2.0 * self.b[i][l]);
            }
        }
        sum
    }

    /// Replaces the matrix by its Cholesky factor, and returns half of the logarithm of its determinant. A matrix that is not
    /// positive definite gives infinity.
    #[inline(always)]
    pub fn factor(&mut self) -> Lanes {
        let mut product = [1.0; LANES];
        for i in 0..self.n {
            for j in 0..=i {
                let mut sum = self.a[slot(i, j)];
                for k in 0..j {
                    let (left, right) = (self.a[slot(i, k)], self.a[slot(j, k)]);
                    for l in 0..LANES {
                        sum[l] -= left[l] * right[l];
                    }
                }
                if i == j {
                    for l in 0..LANES {
                        sum[l] = sum[l].max(0.0).sqrt();
                        product[l] *= sum[l];
                    }
                } else {
                    let below = self.a[slot(j, j)];
                    for l in 0..LANES {
                        sum[l] /= below[l];
                    }
                }
                self.a[slot(i, j)] = sum;
            }
        }
        product.map(|p| if p > 0.0 { p.ln() } else { f64::INFINITY })
    }

    /// After [`Packed::factor`]: L⁻¹b, whose length is that of b in the metric of the inverse.
    #[inline(always)]
    pub fn forward(&self) -> [Lanes; MOST] {
        let mut x = self.b;
        for i in 0..self.n {
            for j in 0..i {
                let (left, known) = (self.a[slot(i, j)], x[j]);
                for l in 0..LANES {
                    x[i][l] -= left[l] * known[l];
                }
            }
            for l in 0..LANES {
                x[i][l] /= self.a[slot(i, i)][l];
            }
        }
        x
    }

    /// After [`Packed::factor`]: the solution, from what [`Packed::forward`] gave.
    #[inline(always)]
    pub fn backward(&self, forward: &[Lanes; MOST]) -> [Lanes; MOST] {
        let mut x = *forward;
        for i in (0..self.n).rev() {
            for j in i + 1..self.n {
                let (left, known) = (self.a[slot(j, i)], x[j]);
                for l in 0..LANES {
                    x[i][l] -= left[l] * known[l];
                }
            }
            for l in 0..LANES {
                x[i][l] /= self.a[slot(i, i)][l];
            }
        }
        x
    }
}

/// Sum of squares over the first `n`.
#[inline(always)]
pub fn square(x: &[Lanes; MOST], n: usize) -> Lanes {
    let mut sum = [0.0; LANES];
    for row in x.iter().take(n) {
        for l in 0..LANES {
            sum[l] += row[l] * row[l];
        }
    }
    sum
}

#[cfg(test)]
mod tests {
    use nalgebra::{DMatrix, DVector};

    use super::*;

    /// Against nalgebra's dense factor.
    #[test]
    fn the_packed_solution_is_that_of_the_dense_system() {
        let n = 5;
        let rows: Vec<[f64; 5]> =
            (0..9).map(|i| std::array::from_fn(|j| f64::from((i * 7 + j as i32 * 3) % 11) - 4.5)).collect();
        let mut packed = Packed::zeros(n);
        let (mut matrix, mut right) = (DMatrix::<f64>::zeros(n, n), DVector::<f64>::zeros(n));
        for (i, row) in rows.iter().enumerate() {
            let value = i as f64 - 2.0;
            let lanes: [Lanes; MOST] = std::array::from_fn(|c| [row.get(c).copied().unwrap_or(0.0); LANES]);
            packed.add(&lanes, &[value; LANES], &[1.0; LANES]);
            let v = DVector::from_row_slice(row);
            matrix += &v * v.transpose();
            right += value * v;
        }
        let mut packed = packed.with_prior(0.5, &[0.3; 5], &[0.1; 5]);
        let matrix: DMatrix<f64> = 0.5 * matrix + 0.3 * DMatrix::<f64>::identity(n, n);
        let right = 0.5 * right + DVector::from_element(n, 0.1);
        let half_log = packed.factor();
        let forward = packed.forward();
        let x = packed.backward(&forward);
        let exact = matrix.clone().cholesky().unwrap().solve(&right);
        for i in 0..n {
            assert!((x[i][3] - exact[i]).abs() < 1e-12);
        }
        assert!((half_log[0] - 0.5 * matrix.determinant().ln()).abs() < 1e-12);
        assert!((square(&forward, n)[7] - right.dot(&exact)).abs() < 1e-12);
    }
}
