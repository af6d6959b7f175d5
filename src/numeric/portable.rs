//! Elementary functions whose bits are the same on every machine.
//!
//! The standard library hands these to the mathematics library of the operating system, whose last bits differ from one
//! system to the next. What is drawn from a seed and written to a file must not. Sums, products, quotients and square roots
//! are exact to the last bit everywhere already (IEEE 754). The `libm` crate stays within a unit in the last place.

/// Exponential.
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// Natural logarithm.
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// Error function.
pub fn erf(x: f64) -> f64 {
    libm::erf(x)
}

/// Logarithm to base 10.
pub fn log10(x: f64) -> f64 {
    libm::log10(x)
}

/// Cosine of an angle in radians.
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}

/// Sine and cosine of an angle in radians.
pub fn sin_cos(x: f64) -> (f64, f64) {
    libm::sincos(x)
}

/// The angle whose tangent is y/x, by the quadrant of both, in (−π, π].
pub fn atan2(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

/// Length of a plane vector, √(x² + y²). Without the care that the standard library takes for numbers near the ends of the
/// range: meant for metres.
pub fn hypot(x: f64, y: f64) -> f64 {
    (x * x + y * y).sqrt()
}

/// Decibels of a ratio of powers: minus infinity for zero, not a number for a negative one.
pub fn to_db(ratio: f64) -> f64 {
    10.0 * libm::log10(ratio)
}

/// The ratio of powers of a number of decibels.
pub fn from_db(db: f64) -> f64 {
    exp(db * (std::f64::consts::LN_10 / 10.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The bits of these functions at some arguments, as this crate's version of them gives: a change would change every
    /// written scene. The values themselves agree with the standard library's to two units in the last place.
    #[test]
    fn the_functions_are_those_of_the_standard_library_to_the_last_place_but_one() {
        for i in 1..2000 {
            let x = 0.013 * f64::from(i);
            let pairs = [
                (exp(-x), (-x).exp()),
                (ln(x), x.ln()),
                (log10(x), x.log10()),
                (cos(x), x.cos()),
                (sin_cos(x).0, x.sin()),
                (sin_cos(x).1, x.cos()),
                (atan2(x, 2.0), x.atan2(2.0)),
                (hypot(x, 3.0), x.hypot(3.0)),
                (to_db(x), 10.0 * x.log10()),
            ];
            for (ours, theirs) in pairs {
                assert!((ours - theirs).abs() <= 4.5e-16 * theirs.abs().max(1e-3), "{x}: {ours} {theirs}");
            }
            // Rounding of the exponent, up to 6 here, costs as many units more.
            let (ours, theirs) = (from_db(x), 10f64.powf(x / 10.0));
            assert!((ours / theirs - 1.0).abs() < 3e-15, "{x}: {ours} {theirs}");
        }
    }
}
