//! Small symmetric systems, eight side by side.

use pulp::Simd;

pub(crate) use crate::solve::density::Lanes;
use crate::solve::{
    density::LANES,
    levels::logarithm::ln_lanes,
    wide::{part, parts, put},
};

/// Greatest number of unknowns.
pub const MOST: usize = 18;

/// Sums of products are kept in registers for so many unknowns by as many others; [`Packed`] takes multiples of it.
const TILE: usize = 3;

/// Observations that are added together.
pub const BLOCK: usize = 8;

/// A symmetric matrix of N unknowns, of which the lower triangle is used, and a right-hand side.
#[derive(Clone, Debug)]
pub struct Packed<const N: usize> {
    a: [[Lanes; N]; N],
    /// Right-hand side.
    pub b: [Lanes; N],
}

impl<const N: usize> Packed<N> {
    /// Zeros.
    #[inline(always)]
    pub const fn zeros() -> Self {
        Self { a: [[[0.0; LANES]; N]; N], b: [[0.0; LANES]; N] }
    }

    /// Adds up to [`BLOCK`] observations: rows of derivatives, what to multiply them by in the matrix and, on the right-hand side,
    /// the values that go with them.
    #[inline(always)]
    pub fn add<S: Simd>(&mut self, simd: S, rows: &[[Lanes; N]], weights: &[Lanes], values: &[Lanes]) {
        const { assert!(N.is_multiple_of(TILE)) };
        for index in 0..parts::<S>() {
            for i in 0..N / TILE {
                for j in 0..=i {
                    self.add_tile(simd, (i, j), rows, weights, index);
                }
                let mut sums = [simd.splat_f64s(0.0); TILE];
                for (row, value) in rows.iter().zip(values) {
                    let value = part::<S>(value, index);
                    for a in 0..TILE {
                        let product = simd.mul_f64s(part::<S>(&row[TILE * i + a], index), value);
                        sums[a] = simd.add_f64s(sums[a], product);
                    }
                }
                for a in 0..TILE {
                    let to = &mut self.b[TILE * i + a];
                    put::<S>(to, index, simd.add_f64s(part::<S>(to, index), sums[a]));
                }
            }
        }
    }

    /// The part of [`Packed::add`] for some unknowns by some others; what lies above the diagonal is never looked at.
    #[inline(always)]
    fn add_tile<S: Simd>(
        &mut self,
        simd: S,
        (i, j): (usize, usize),
        rows: &[[Lanes; N]],
        weights: &[Lanes],
        index: usize,
    ) {
        let mut sums = [[simd.splat_f64s(0.0); TILE]; TILE];
        for (row, weight) in rows.iter().zip(weights) {
            let weight = part::<S>(weight, index);
            for a in 0..TILE {
                let own = simd.mul_f64s(part::<S>(&row[TILE * i + a], index), weight);
                for b in 0..TILE {
                    let product = simd.mul_f64s(own, part::<S>(&row[TILE * j + b], index));
                    sums[a][b] = simd.add_f64s(sums[a][b], product);
                }
            }
        }
        for a in 0..TILE {
            for b in 0..TILE {
                let to = &mut self.a[TILE * i + a][TILE * j + b];
                put::<S>(to, index, simd.add_f64s(part::<S>(to, index), sums[a][b]));
            }
        }
    }

    /// The same system with every entry times `factor`, plus `precision` on the diagonal and `pull` on the right.
    #[inline(always)]
    pub fn with_prior(&self, factor: &Lanes, precision: &[f64; N], pull: &[f64; N]) -> Self {
        let mut out = self.clone();
        for i in 0..N {
            for j in 0..=i {
                for l in 0..LANES {
                    out.a[i][j][l] *= factor[l];
                }
            }
            for l in 0..LANES {
                out.a[i][i][l] += precision[i];
                out.b[i][l] = out.b[i][l] * factor[l] + pull[i];
            }
        }
        out
    }

    /// A x, before [`Packed::factor`].
    #[inline(always)]
    pub fn times(&self, x: &[Lanes; N]) -> [Lanes; N] {
        let mut out = [[0.0; LANES]; N];
        for i in 0..N {
            for j in 0..N {
                let cell = if j <= i { self.a[i][j] } else { self.a[j][i] };
                for l in 0..LANES {
                    out[i][l] += cell[l] * x[j][l];
                }
            }
        }
        out
    }

    /// xᵀA x − 2 bᵀx, before [`Packed::factor`].
    #[inline(always)]
    pub fn quadratic(&self, x: &[Lanes; N]) -> Lanes {
        let product = self.times(x);
        let mut sum = [0.0; LANES];
        for i in 0..N {
            for l in 0..LANES {
                sum[l] += x[i][l] * (product[i][l] - 2.0 * self.b[i][l]);
            }
        }
        sum
    }

    /// Replaces the matrix by its Cholesky factor with the diagonal inverted, and returns half of the logarithm of its
    /// determinant. A matrix that is not positive definite gives infinity.
    #[inline(always)]
    pub fn factor(&mut self) -> Lanes {
        let mut product = [1.0; LANES];
        for i in 0..N {
            for j in 0..=i {
                let mut sum = self.a[i][j];
                for k in 0..j {
                    let (left, right) = (self.a[i][k], self.a[j][k]);
                    for l in 0..LANES {
                        sum[l] -= left[l] * right[l];
                    }
                }
                if i == j {
                    for l in 0..LANES {
                        let root = sum[l].max(0.0).sqrt();
                        product[l] *= root;
                        sum[l] = 1.0 / root;
                    }
                } else {
                    let inverse = self.a[j][j];
                    for l in 0..LANES {
                        sum[l] *= inverse[l];
                    }
                }
                self.a[i][j] = sum;
            }
        }
        let mut log = ln_lanes(&product);
        for l in 0..LANES {
            if !(product[l] > 0.0 && product[l].is_finite()) {
                log[l] = f64::INFINITY;
            }
        }
        log
    }

    /// After [`Packed::factor`]: L⁻¹b, whose length is that of b in the metric of the inverse.
    #[inline(always)]
    pub fn forward(&self) -> [Lanes; N] {
        let mut x = self.b;
        for i in 0..N {
            for j in 0..i {
                let (left, known) = (self.a[i][j], x[j]);
                for l in 0..LANES {
                    x[i][l] -= left[l] * known[l];
                }
            }
            for l in 0..LANES {
                x[i][l] *= self.a[i][i][l];
            }
        }
        x
    }

    /// After [`Packed::factor`]: the solution, from what [`Packed::forward`] gave.
    #[inline(always)]
    pub fn backward(&self, forward: &[Lanes; N]) -> [Lanes; N] {
        let mut x = *forward;
        for i in (0..N).rev() {
            for j in i + 1..N {
                let (left, known) = (self.a[j][i], x[j]);
                for l in 0..LANES {
                    x[i][l] -= left[l] * known[l];
                }
            }
            for l in 0..LANES {
                x[i][l] *= self.a[i][i][l];
            }
        }
        x
    }

    /// After [`Packed::factor`]: Σ wᵢ (A⁻¹)ᵢᵢ, by the columns of L⁻¹.
    #[inline(always)]
    pub fn trace_of_inverse(&self, weights: &[f64; N]) -> Lanes {
        let mut sum = [0.0; LANES];
        for c in 0..N {
            let mut column = [[0.0; LANES]; N];
            column[c] = self.a[c][c];
            for i in c + 1..N {
                for j in c..i {
                    let (left, known) = (self.a[i][j], column[j]);
                    for l in 0..LANES {
                        column[i][l] -= left[l] * known[l];
                    }
                }
                for l in 0..LANES {
                    column[i][l] *= self.a[i][i][l];
                }
            }
            for i in c..N {
                for l in 0..LANES {
                    sum[l] += weights[c] * column[i][l] * column[i][l];
                }
            }
        }
        sum
    }
}

/// Σ xᵢ yᵢ.
#[inline(always)]
pub fn dot<const N: usize>(x: &[Lanes; N], y: &[Lanes; N]) -> Lanes {
    let mut sum = [0.0; LANES];
    for i in 0..N {
        for l in 0..LANES {
            sum[l] += x[i][l] * y[i][l];
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
        const N: usize = 6;
        let simd = pulp::Scalar::new();
        let rows: Vec<[f64; N]> =
            (0..9).map(|i| std::array::from_fn(|j| f64::from((i * 7 + j as i32 * 3) % 11) - 4.5)).collect();
        let mut packed = Packed::<N>::zeros();
        let (mut matrix, mut right) = (DMatrix::<f64>::zeros(N, N), DVector::<f64>::zeros(N));
        for (i, row) in rows.iter().enumerate() {
            let (value, weight) = (i as f64 - 2.0, 1.0 + 0.5 * i as f64);
            packed.add(simd, &[row.map(|v| [v; LANES])], &[[weight; LANES]], &[[value; LANES]]);
            let v = DVector::from_row_slice(row);
            matrix += weight * &v * v.transpose();
            right += value * v;
        }
        let (most, blocks) =
            (rows.iter().map(|r| r.map(|v| [v; LANES])).collect::<Vec<_>>(), &mut Packed::<N>::zeros());
        let of = |f: fn(f64) -> f64| (0..rows.len()).map(|i| [f(i as f64); LANES]).collect::<Vec<_>>();
        blocks.add(simd, &most, &of(|i| 1.0 + 0.5 * i), &of(|i| i - 2.0));
        assert!(
            (blocks.b[3][2] - packed.b[3][2]).abs() < 1e-12
                && (blocks.a[4][1][5] - packed.a[4][1][5]).abs() < 1e-12
        );
        let mut packed = packed.with_prior(&[0.5; LANES], &[0.3; N], &[0.1; N]);
        let matrix: DMatrix<f64> = 0.5 * matrix + 0.3 * DMatrix::<f64>::identity(N, N);
        let right = 0.5 * right + DVector::from_element(N, 0.1);
        let whole = packed.clone();
        let half_log = packed.factor();
        let forward = packed.forward();
        let x = packed.backward(&forward);
        let exact = matrix.clone().cholesky().unwrap().solve(&right);
        for i in 0..N {
            assert!((x[i][3] - exact[i]).abs() < 1e-12);
        }
        assert!((half_log[0] - 0.5 * matrix.determinant().ln()).abs() < 1e-12);
        assert!((dot(&forward, &forward)[7] - right.dot(&exact)).abs() < 1e-12);
        assert!((whole.quadratic(&x)[1] + right.dot(&exact)).abs() < 1e-12);
        let weights = std::array::from_fn(|i| i as f64 + 1.0);
        let inverse = matrix.try_inverse().unwrap();
        let trace: f64 = (0..N).map(|i| weights[i] * inverse[(i, i)]).sum();
        assert!((packed.trace_of_inverse(&weights)[2] - trace).abs() < 1e-12);
    }
}
