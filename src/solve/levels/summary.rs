//! What the levels say of the emitter and the paths, for an emitter at one place.

use crate::{
    geodesy::PlanePoint,
    solve::{
        density::LANES,
        levels::{cells::Cell, likelihood::Levels},
        tree::log_sum,
    },
    units::{Db, Dbm, Metres},
};

/// The law of distance as fitted for one place, averaged over what is not known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LevelFit {
    /// Readings that went in.
    pub readings: usize,
    /// How many of them are below the floor.
    pub below: usize,
    /// Cells that they were gathered into.
    pub cells: usize,
    /// How many readings with shadowing of their own would tell as much about the mean level as the measured cells do.
    pub effective: f64,
    /// Level at one metre, with its standard deviation.
    pub start: (Dbm, Db),
    /// Exponent near the emitter, with its standard deviation.
    pub exponent: (f64, f64),
    /// Correlation of the errors of the two.
    pub correlation: f64,
    /// Prior mean and standard deviation of the exponent.
    pub exponent_prior: (f64, f64),
    /// Standard deviation of the shadowing.
    pub shadowing: Db,
    /// Distance over which most of it is shared.
    pub decorrelation: Metres,
    /// Part of the variance that neighbours do not share.
    pub own: f64,
    /// Power to which the likelihood was taken in irregular surroundings.
    pub power: f64,
    /// Probability that the surroundings are regular, so that it was not.
    pub regular: f64,
}

impl LevelFit {
    /// The level that the law gives at a distance, without bends and shadowing.
    pub fn at(&self, distance: Metres) -> Dbm {
        Dbm::new(self.start.0.value() - 10.0 * self.exponent.0 * distance.value().max(0.1).log10())
    }

    /// Whether the exponent lies more than two standard deviations of its prior from the prior's mean: then the law of distance
    /// is not what was assumed.
    pub fn strained(&self) -> bool {
        (self.exponent.0 - self.exponent_prior.0).abs() > 2.0 * self.exponent_prior.1
    }
}

impl Levels {
    /// The law of distance for an emitter at `place`; `None` without any measured level.
    pub fn fitted(&self, place: PlanePoint) -> Option<LevelFit> {
        let points = ([place.east; LANES], [place.north; LANES]);
        let found = self.unknowns(&points);
        let top = found.iter().map(|u| u.log).fold(f64::NEG_INFINITY, f64::max);
        if found.is_empty() || !top.is_finite() {
            return None;
        }
        let weights: Vec<f64> = found.iter().map(|u| (u.log - top).exp()).collect();
        let sum: f64 = weights.iter().sum();
        let mean = |value: &dyn Fn(usize) -> f64| {
            weights.iter().enumerate().map(|(i, w)| w * value(i)).sum::<f64>() / sum
        };
        let start = mean(&|i| found[i].mean[0]);
        let exponent = mean(&|i| found[i].mean[1]);
        // The variance of a mixture: within the parts, and between them.
        let within = |a: usize, b: usize, slot: usize| {
            mean(&|i| found[i].covariance[slot] + found[i].mean[a] * found[i].mean[b])
                - [start, exponent][a] * [start, exponent][b]
        };
        let (ss, se, ee) = (within(0, 0, 0), within(0, 1, 1), within(1, 1, 2));
        let count = |c: &&Cell| c.readings;
        let logs = |regular: bool| log_sum(found.iter().filter(move |u| u.regular == regular).map(|u| u.log));
        Some(LevelFit {
            readings: self.cells().iter().map(|c| count(&c)).sum(),
            below: self.cells().iter().filter(|c| c.below).map(|c| count(&c)).sum(),
            cells: self.cells().len(),
            effective: mean(&|i| found[i].effective),
            start: (Dbm::new(start), Db::new(ss.max(0.0).sqrt())),
            exponent: (exponent, ee.max(0.0).sqrt()),
            correlation: se / (ss * ee).max(1e-300).sqrt(),
            exponent_prior: self.exponent_prior(),
            shadowing: Db::new(mean(&|i| found[i].sigma)),
            decorrelation: Metres::new(mean(&|i| found[i].kernel.decorrelation.ln()).exp()),
            own: mean(&|i| found[i].kernel.own),
            power: self.power(),
            regular: self.weighing.share(logs(true), logs(false)),
        })
    }
}
