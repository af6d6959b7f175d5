//! Statistical loss through the clutter about an antenna well below the roofs ([`crate::sources::P2108`], § 3.2).

use std::f64::consts::LN_10;

use crate::{
    numeric::special::normal_quantile,
    radio::{
        free_space,
        link::{Line, Link},
        validity::{Along, Span, Validity},
    },
    units::Confidence,
};

/// The loss is not let grow beyond its value at this distance.
const FARTHEST_KM: f64 = 2.0;

/// 0.5 to 67 GHz, from 0.25 km on for clutter at one end of the path.
pub(super) const VALIDITY: Validity = Validity {
    frequency: Span::new(0.5e9, 67e9),
    distance: Span::new(250.0, f64::INFINITY),
    along: Along::Ground,
    upper: Span::ANY,
    lower: Span::ANY,
};

/// Loss at `km` that the share of locations with normal quantile `z` stays below, with its derivative.
fn clutter(ghz: f64, km: f64, z: f64) -> Line {
    let (sigma_l, sigma_s, rate) = (4f64, 6f64, 23.9);
    let tone = ghz.log10();
    let long = -2.0 * (10f64.powf(-5.0 * tone - 12.5) + 10f64.powf(-16.5)).log10();
    let short = 32.98 + rate * km.log10() + 3.0 * tone;
    let (weight_l, weight_s) = (10f64.powf(-0.2 * long), 10f64.powf(-0.2 * short));
    let sum = weight_l + weight_s;
    let variance = (sigma_l.powi(2) * weight_l + sigma_s.powi(2) * weight_s) / sum;
    let sigma = variance.sqrt();
    // Only `short` varies with distance.
    let d_weight = -0.2 * LN_10 * rate * weight_s;
    let d_variance = d_weight * weight_l * (sigma_s.powi(2) - sigma_l.powi(2)) / (sum * sum);
    Line { db: -5.0 * sum.log10() + z * sigma, slope: rate * weight_s / sum + z * d_variance / (2.0 * sigma) }
}

/// Clutter at one end alone, without the path.
pub(super) fn line(link: &Link, locations: Confidence) -> Line {
    // A Confidence lies strictly between 0 and 1, where the quantile exists.
    let z = normal_quantile(locations.value()).unwrap_or(f64::NAN);
    let ghz = link.frequency.value() / 1e9;
    let here = clutter(ghz, link.distance.value() / 1e3, z);
    let most = Line { slope: 0.0, ..clutter(ghz, FARTHEST_KM, z) };
    if here.db < most.db { here } else { most }
}

/// Free space plus clutter at one end.
pub(super) fn over_free_space(link: &Link, locations: Confidence) -> Line {
    free_space::line(link) + line(link, locations)
}
