//! Levels, fields, noise, mixtures, lobes and path loss against published and independently computed figures.
//!
//! READ: seen in the source named. Computed: made with the program named, not with this project's code. From memory: a
//! printed figure that nobody opened again. Where a figure is printed to so many digits, the tolerance is half a unit of
//! the last one.

use azimark::{
    radio::{Link, Loss, Model, PathLossError},
    units::{Hertz, Metres},
};

#[path = "radio/fixed.rs"]
mod fixed;
#[path = "radio/levels.rs"]
mod levels;
#[path = "radio/limits.rs"]
mod limits;
#[path = "radio/networks.rs"]
mod networks;
#[path = "radio/patterns.rs"]
mod patterns;
#[path = "radio/priors.rs"]
mod priors;
#[path = "radio/short_paths.rs"]
mod short_paths;

/// Rounding of a double in sums of a few hundred decibels.
const ROUNDING: f64 = 1e-11;

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected}");
}

fn link(mhz: f64, metres: f64, upper: f64, lower: f64) -> Link {
    Link {
        frequency: Hertz::mhz(mhz),
        distance: Metres::new(metres),
        upper: Metres::new(upper),
        lower: Metres::new(lower),
    }
}

/// The loss, deliberately extrapolated where the model's source does not cover the path.
fn anyhow(model: &Model, link: &Link) -> Loss {
    match model.loss(link) {
        Ok(loss) => loss,
        Err(PathLossError::Outside { extrapolated, .. }) => extrapolated.unwrap(),
        Err(other) => panic!("{model:?} {link:?}: {other}"),
    }
}

fn rows(text: &str) -> Vec<Vec<String>> {
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    reader.records().map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect()
}

fn number(text: &str) -> f64 {
    text.parse().unwrap()
}
