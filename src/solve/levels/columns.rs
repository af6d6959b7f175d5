//! What the levels depend on linearly, given the place.

use std::f64::consts::LN_10;

use crate::solve::{
    density::{Batch, LANES},
    levels::{
        cells::Cell,
        logarithm::ln,
        packed::{Lanes, MOST},
        priors::LevelPriors,
    },
};

/// Where the law of distance may bend: decades from the extent of the survey.
const KNOTS: [f64; 3] = [-0.8, -0.4, 0.0];

/// Receivers beyond the first that have a difference of their own.
const DEVICES: usize = 3;

/// The unknowns with their priors.
#[derive(Clone, Debug)]
pub struct Columns {
    /// Harmonics that are used.
    harmonics: usize,
    bend: bool,
    /// Receivers with an unknown difference from the first.
    devices: Vec<u16>,
    /// Prior means.
    pub mean: Vec<f64>,
    /// Prior standard deviations.
    pub deviation: Vec<f64>,
    height_squared: f64,
    /// Decimal logarithms of the distances at which the law of distance may bend.
    knots: [f64; KNOTS.len()],
}

impl Columns {
    /// Chooses the unknowns for these cells.
    pub fn new(cells: &[Cell], priors: &LevelPriors, extent: f64) -> Self {
        let harmonics = priors.pattern.iter().rposition(|s| *s > 0.0).map_or(0, |i| i + 1);
        let mut mean = vec![priors.start.0, priors.exponent.0];
        let mut deviation = vec![priors.start.1, priors.exponent.1];
        for sigma in &priors.pattern[..harmonics] {
            deviation.extend([sigma.max(1e-6); 2]);
        }
        if priors.bend > 0.0 {
            deviation.extend([priors.bend; KNOTS.len()]);
        }
        let devices = receivers(cells);
        deviation.extend(devices.iter().map(|_| priors.device.max(1e-6)));
        deviation.truncate(MOST);
        mean.resize(deviation.len(), 0.0);
        let height_squared = priors.height.powi(2) + 1e-6;
        Self {
            harmonics,
            bend: priors.bend > 0.0,
            devices,
            mean,
            deviation,
            height_squared,
            knots: KNOTS.map(|k| k + extent.max(0.1).log10()),
        }
    }

    /// Number of unknowns.
    pub fn count(&self) -> usize {
        self.mean.len()
    }

    /// One row for each cell, at each place of a batch; what is beyond [`Columns::count`] is zero.
    #[inline(always)]
    pub fn rows<const N: usize>(&self, cells: &[Cell], points: &Batch, out: &mut Vec<[Lanes; N]>) {
        out.clear();
        for cell in cells {
            let mut row = [[0.0; LANES]; N];
            row[0] = [1.0; LANES];
            let (mut sin, mut cos) = ([0.0; LANES], [0.0; LANES]);
            let mut decades = [0.0; LANES];
            for l in 0..LANES {
                let (dx, dy) = (cell.at.east - points.0[l], cell.at.north - points.1[l]);
                let square = dx * dx + dy * dy + self.height_squared;
                decades[l] = (-5.0 / LN_10) * ln(square);
                // Straight below, the direction means nothing, and what depends on it fades.
                let inverse = 1.0 / square.sqrt();
                (sin[l], cos[l]) = (dx * inverse, dy * inverse);
            }
            row[1] = decades;
            self.turn(&mut row, &sin, &cos);
            if self.bend {
                for (i, knot) in self.knots.iter().enumerate() {
                    if let Some(hinge) = row.get_mut(2 + 2 * self.harmonics + i) {
                        for l in 0..LANES {
                            hinge[l] = (decades[l] + 10.0 * knot).min(0.0);
                        }
                    }
                }
            }
            for (i, device) in self.devices.iter().enumerate() {
                if let Some(own) = row.get_mut(self.count() - self.devices.len() + i) {
                    *own = [f64::from(u8::from(cell.device == *device)); LANES];
                }
            }
            out.push(row);
        }
    }

    /// Sines and cosines of the multiples of an angle.
    #[inline(always)]
    fn turn<const N: usize>(&self, row: &mut [Lanes; N], sin: &Lanes, cos: &Lanes) {
        let (mut s, mut c) = (*sin, *cos);
        for k in 0..self.harmonics.min((N - 2) / 2) {
            row[2 + 2 * k] = s;
            row[3 + 2 * k] = c;
            for l in 0..LANES {
                (s[l], c[l]) = (s[l] * cos[l] + c[l] * sin[l], c[l] * cos[l] - s[l] * sin[l]);
            }
        }
    }

    /// Precisions and pulls of the priors where what is irregular has `factor` times its standard deviations; what is beyond
    /// [`Columns::count`] is held at zero.
    pub fn priors<const N: usize>(&self, factor: f64) -> ([f64; N], [f64; N]) {
        let irregular = 2..self.count() - self.devices.len();
        let precision: [f64; N] = std::array::from_fn(|i| {
            let factor = if irregular.contains(&i) { factor } else { 1.0 };
            self.deviation.get(i).map_or(1.0, |d| (factor * d).powi(-2))
        });
        let pull = std::array::from_fn(|i| self.mean.get(i).map_or(0.0, |m| m * precision[i]));
        (precision, pull)
    }
}

/// Receivers other than the one with most cells, those with most cells first.
fn receivers(cells: &[Cell]) -> Vec<u16> {
    let mut counts: std::collections::BTreeMap<u16, usize> = std::collections::BTreeMap::new();
    for cell in cells {
        *counts.entry(cell.device).or_default() += 1;
    }
    let mut order: Vec<(u16, usize)> = counts.into_iter().collect();
    order.sort_by_key(|(device, count)| (std::cmp::Reverse(*count), *device));
    order.into_iter().skip(1).filter(|d| d.1 >= 3).take(DEVICES).map(|d| d.0).collect()
}
