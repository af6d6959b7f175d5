//! Gauss rules for expectations over a few distributions ([`crate::sources::GOLUB1969`]): nodes are eigenvalues of
//! the Jacobi matrix of the recurrence, weights the squares of the eigenvectors' first components.

use nalgebra::DMatrix;

/// Nodes and weights for the expectation over a standard normal variable; exact for polynomials of degree 2n − 1.
pub fn standard_normal(n: usize) -> Vec<(f64, f64)> {
    rule(n, |_| 0.0, |k| k)
}

/// Nodes and weights for the expectation over a Beta(a, b) share in (0, 1); exact for polynomials of degree 2n − 1.
/// `a` and `b` must be positive.
pub fn beta(a: f64, b: f64, n: usize) -> Vec<(f64, f64)> {
    // Jacobi polynomials on (−1, 1) with weight (1 − t)^(b−1) (1 + t)^(a−1), mapped to x = (1 + t)/2.
    let (p, q) = (b - 1.0, a - 1.0);
    let diagonal = |k: f64| {
        let s = 2.0 * k + p + q;
        let t = if k == 0.0 { (q - p) / (p + q + 2.0) } else { (q * q - p * p) / (s * (s + 2.0)) };
        0.5 * (1.0 + t)
    };
    let off = |k: f64| {
        let s = 2.0 * k + p + q;
        let square = if k == 1.0 {
            4.0 * (1.0 + p) * (1.0 + q) / ((2.0 + p + q).powi(2) * (3.0 + p + q))
        } else {
            4.0 * k * (k + p) * (k + q) * (k + p + q) / (s * s * (s + 1.0) * (s - 1.0))
        };
        0.25 * square
    };
    rule(n, diagonal, off)
}

/// `diagonal(k)` for k = 0.. and squared off-diagonals `off(k)` for k = 1.. of the Jacobi matrix.
fn rule(n: usize, diagonal: impl Fn(f64) -> f64, off: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    let mut matrix = DMatrix::zeros(n, n);
    for k in 0..n {
        matrix[(k, k)] = diagonal(k as f64);
        if k > 0 {
            let b = off(k as f64).sqrt();
            matrix[(k, k - 1)] = b;
            matrix[(k - 1, k)] = b;
        }
    }
    let eigen = matrix.symmetric_eigen();
    let mut nodes: Vec<(f64, f64)> =
        eigen.eigenvalues.iter().enumerate().map(|(i, x)| (*x, eigen.eigenvectors[(0, i)].powi(2))).collect();
    nodes.sort_by(|a, b| a.0.total_cmp(&b.0));
    nodes
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Moments of the standard normal: (2k − 1)!!.
    #[test]
    fn normal_moments_are_exact() {
        for n in 1..=9usize {
            let mut exact = 1.0;
            for k in 0..n {
                let found: f64 = standard_normal(n).iter().map(|(x, w)| w * x.powi(2 * k as i32)).sum();
                assert!((found / exact - 1.0).abs() < 1e-12, "n {n} moment {}: {found}", 2 * k);
                exact *= 2.0 * k as f64 + 1.0;
            }
        }
    }

    /// Moments of Beta(a, b): Π (a + i)/(a + b + i).
    #[test]
    fn beta_moments_are_exact() {
        for (a, b) in [(1.0, 9.0), (0.4, 3.6), (2.0, 5.0)] {
            for n in 1..=5usize {
                let mut exact = 1.0;
                for k in 0..2 * n {
                    let found: f64 = beta(a, b, n).iter().map(|(x, w)| w * x.powi(k as i32)).sum();
                    assert!((found / exact - 1.0f64).abs() < 1e-11, "{a} {b} n {n} moment {k}: {found}");
                    exact *= (a + k as f64) / (a + b + k as f64);
                }
            }
        }
    }
}
