//! Derivatives by finite differences, for checking the analytic ones: too slow and too coarse to compute with.

/// How many times the step is halved.
const HALVINGS: usize = 10;

/// Derivative of `f` at `x` by central differences over ever shorter steps, extrapolated to no step at all
/// ([`crate::sources::RIDDERS1982`]), with an estimate of its absolute error.
///
/// `step` is the first and longest step, in the unit of `x`: a length over which `f` bends noticeably and is still
/// defined. About ten of the sixteen digits of `f` come through. Where `f` is not finite within a step, the shorter
/// ones are used; where it is nowhere finite the error is infinite.
pub fn slope(f: impl Fn(f64) -> f64, x: f64, step: f64) -> (f64, f64) {
    let mut best = (f64::NAN, f64::INFINITY);
    let mut above: Vec<f64> = Vec::new();
    for halving in 0..HALVINGS {
        let h = step / f64::powi(2.0, halving as i32);
        // What was added to x after rounding, not what was meant to be added.
        let (high, low) = (x + h, x - h);
        let mut row = vec![(f(high) - f(low)) / (high - low)];
        for (k, previous) in above.iter().enumerate() {
            let factor = f64::powi(4.0, k as i32 + 1);
            let finer = (factor * row[k] - previous) / (factor - 1.0);
            let error = (finer - row[k]).abs().max((finer - previous).abs());
            if error < best.1 {
                best = (finer, error);
            }
            row.push(finer);
        }
        above = row;
    }
    best
}

/// Largest disagreement of the `analytic` derivatives of `f` at `at` with differences, each relative to the greater
/// of the two, or to a slope that changes `f` by a millionth of itself over the first step where both are smaller.
///
/// `steps` are the first steps of [`slope`]. Below 1e-7 the derivatives may be called the same; a wrong sign or factor
/// gives 0.1 and more. Not a number wherever a derivative is not.
pub fn disagreement<const N: usize>(
    f: impl Fn(&[f64; N]) -> f64,
    at: &[f64; N],
    steps: &[f64; N],
    analytic: &[f64; N],
) -> f64 {
    let slight = 1e-6 * f(at).abs();
    (0..N).fold(0.0, |worst, j| {
        let along = |x: f64| {
            let mut p = *at;
            p[j] = x;
            f(&p)
        };
        let numeric = slope(along, at[j], steps[j]).0;
        let size = numeric.abs().max(analytic[j].abs()).max(slight / steps[j]).max(f64::MIN_POSITIVE);
        let off = (numeric - analytic[j]).abs() / size;
        // `f64::max` would drop what is not a number.
        if off > worst || off.is_nan() { off } else { worst }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// d sin = cos, d exp = exp, d ln x = 1/x.
    #[test]
    fn known_derivatives_come_out_to_ten_digits() {
        for x in [0.3, 1.0, 2.5] {
            for (name, f, exact) in [
                ("sin", f64::sin as fn(f64) -> f64, f64::cos(x)),
                ("exp", f64::exp, f64::exp(x)),
                ("ln", f64::ln, 1.0 / x),
            ] {
                let (found, error) = slope(f, x, 0.1 * x);
                assert!((found / exact - 1.0).abs() < 1e-10, "{name} at {x}: {found} ± {error:e}");
                assert!((found - exact).abs() <= 10.0 * error + 1e-13, "{name} at {x}: {found} ± {error:e}");
            }
        }
    }

    #[test]
    fn a_wrong_derivative_is_told_from_a_right_one() {
        let f = |p: &[f64; 2]| p[0] * (p[0] * p[1]).sin();
        let at: [f64; 2] = [1.3, 0.7];
        let (sin, cos) = (at[0] * at[1]).sin_cos();
        let right = [sin + at[0] * at[1] * cos, at[0] * at[0] * cos];
        let steps = [0.1, 0.1];
        assert!(disagreement(f, &at, &steps, &right) < 1e-9);
        assert!(disagreement(f, &at, &steps, &[right[0], -right[1]]) > 1.0);
        assert!(disagreement(f, &at, &steps, &[right[0] * 1.001, right[1]]) > 5e-4);
        assert!(disagreement(f, &at, &steps, &[f64::NAN, right[1]]).is_nan());
    }
}
