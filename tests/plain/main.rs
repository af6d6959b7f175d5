//! The plain fix from bearings, and the customary figures about it, against published and independently computed values.

mod behaviour;
mod cases;
mod constants;
mod levels;
mod scales;
mod statistics;
mod theory;

use azimark::{
    geodesy::PlanePoint,
    region::Ellipse,
    solve::plain::{Line, PlainFix, PlainProblem},
    units::{Angle, Sigma},
};

/// A line from metres east, metres north, degrees, degrees.
fn line(east: f64, north: f64, azimuth: f64, sigma: f64) -> Line {
    Line {
        stand: PlanePoint { east, north },
        azimuth: Angle::degrees(azimuth),
        sigma: Sigma::<Angle>::degrees(sigma).unwrap(),
    }
}

/// Azimuth in degrees of `to` from a stand.
fn azimuth(stand: (f64, f64), to: (f64, f64)) -> f64 {
    (to.0 - stand.0).atan2(to.1 - stand.1).to_degrees()
}

fn problem(lines: &[Line]) -> PlainProblem {
    PlainProblem::new(lines).unwrap()
}

fn ellipse(fix: &PlainFix) -> Ellipse {
    Ellipse::one_sigma(fix.covariance).unwrap()
}

fn distance(fix: &PlainFix, to: (f64, f64)) -> f64 {
    (fix.at.east - to.0).hypot(fix.at.north - to.1)
}

/// Distance root mean square of the linear covariance.
fn drms(fix: &PlainFix) -> f64 {
    (fix.covariance[0] + fix.covariance[2]).sqrt()
}
