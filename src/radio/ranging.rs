//! What one received level tells about the distance of its emitter, when its power and the exponent are known.

use std::f64::consts::LN_10;

use crate::units::{Angle, Db, Sigma};

/// Relative error of the distance behind a level of standard deviation `level` under the exponent n: σ ln 10 / (10 n)
/// ([`crate::sources::PATWARI2003`]; its reciprocal there is b). To first order: at 8 dB and n = 3 it is 0.61, and the
/// distance is log-normal rather than normal.
///
/// `None` unless the exponent is finite and positive.
pub fn relative_range_error(level: Sigma<Db>, exponent: f64) -> Option<f64> {
    let error = level.to_db() * LN_10 / (10.0 * exponent);
    (exponent > 0.0 && error.is_finite() && error > 0.0).then_some(error)
}

/// Error of the bearing that carries as much information across the line of sight as the level does along it: the
/// relative error of distance taken as radians. `None` as [`relative_range_error`].
pub fn bearing_of_equal_information(level: Sigma<Db>, exponent: f64) -> Option<Sigma<Angle>> {
    relative_range_error(level, exponent).and_then(Sigma::<Angle>::radians)
}
