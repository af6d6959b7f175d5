//! The readings as columns of plain numbers, and the sums over them as seen from a place.

use std::f64::consts::LN_10;

use nalgebra::Vector2;

use super::{
    law::{Fitted, Moments, Plain},
    logarithm::{LANES, Lanes, ln},
};
use crate::solve::{
    plain::levels::{Law, Reading},
    wide::widest,
};

/// 10 log10 x = `DECADES` ln x.
pub const DECADES: f64 = 10.0 / LN_10;

/// Readings side by side, filled up to whole blocks with readings of no weight.
#[derive(Clone, Debug)]
pub struct Columns {
    /// Metres east of the origin.
    pub east: Vec<f64>,
    /// Metres north of the origin.
    pub north: Vec<f64>,
    /// Levels above their weighted mean, dB.
    pub level: Vec<f64>,
    /// 1/σ² of each; zero for a filler.
    pub weight: Vec<f64>,
    /// Weighted mean of the levels, dBm.
    pub mean: f64,
    /// Sum of the weights.
    pub total: f64,
    /// How many readings there are.
    pub count: usize,
    /// Square of the height.
    height: f64,
    /// 10 log10 of the reference distance.
    reference: f64,
}

/// Sums over the readings about a place, at the law that fits best there. The symmetric ones hold east-east, east-north and
/// north-north. With r the miss, level − P + n g, and g = 10 log10(d/d₀):
#[derive(Clone, Copy, Debug)]
pub struct Survey {
    /// The law.
    pub law: Fitted,
    /// Mean of g.
    pub mean: f64,
    /// Σ w r².
    pub misses: f64,
    /// Σ w r ∇g.
    pub push: [f64; 2],
    /// Σ w ∇g.
    pub pull: [f64; 2],
    /// Σ w (g − mean) ∇g.
    pub lean: [f64; 2],
    /// Σ w ∇g ∇gᵀ.
    pub outer: [f64; 3],
    /// Σ w r ∇²g.
    pub bent: [f64; 3],
}

/// One look at the readings from a place, to be run with the widest vectors that the processor has; the bits stay the same.
struct Looking<'a> {
    columns: &'a Columns,
    law: &'a Plain,
    at: Vector2<f64>,
    logs: &'a mut Vec<f64>,
}

impl pulp::NullaryFnOnce for Looking<'_> {
    type Output = Option<Survey>;

    #[inline(always)]
    fn call(self) -> Self::Output {
        let moments = self.columns.moments(self.at, self.logs);
        let law = self.law.fit(&moments)?;
        let survey = self.columns.slopes(self.at, self.logs, law, moments.mean);
        // A place on a reading is infinitely near it: no number comes out.
        survey.misses.is_finite().then_some(survey)
    }
}

impl Columns {
    /// Lays the readings out about `centre`.
    pub fn new<'a>(
        readings: impl Iterator<Item = &'a Reading> + Clone,
        centre: Vector2<f64>,
        law: &Law,
    ) -> Self {
        let column = |f: &dyn Fn(&Reading) -> f64| -> Vec<f64> {
            let mut out: Vec<f64> = readings.clone().map(f).collect();
            // A filler stands where the first reading does.
            out.resize(out.len().next_multiple_of(LANES), out.first().copied().unwrap_or(0.0));
            out
        };
        let count = readings.clone().count();
        let mut weight = column(&|r| r.sigma.to_db().powi(-2));
        weight[count..].fill(0.0);
        let mut level = column(&|r| r.level.value());
        let total: f64 = weight.iter().sum();
        let mean = weight.iter().zip(&level).map(|(w, l)| w * l).sum::<f64>() / total;
        level.iter_mut().for_each(|l| *l -= mean);
        Self {
            east: column(&|r| r.at.east - centre.x),
            north: column(&|r| r.at.north - centre.y),
            level,
            weight,
            mean,
            total,
            count,
            height: law.height.value().powi(2),
            reference: DECADES * law.reference.value().ln(),
        }
    }

    /// The sums about a place; `None` where the cost is not defined. `logs` is room to work in.
    pub fn survey(&self, law: &Plain, at: Vector2<f64>, logs: &mut Vec<f64>) -> Option<Survey> {
        widest(Looking { columns: self, law, at, logs })
    }

    /// 10 log10(d/d₀) of each reading, fillers included, into `logs`.
    #[inline(always)]
    pub fn logs(&self, at: Vector2<f64>, logs: &mut Vec<f64>) {
        logs.clear();
        let blocks = self.east.chunks_exact(LANES).zip(self.north.chunks_exact(LANES));
        for (east, north) in blocks {
            let mut square = [0.0; LANES];
            for l in 0..LANES {
                let (de, dn) = (at.x - east[l], at.y - north[l]);
                square[l] = de * de + dn * dn + self.height;
            }
            let mut log = ln(&square);
            for l in 0..LANES {
                // The lanes' logarithm knows no zero.
                log[l] = if square[l] >= f64::MIN_POSITIVE { log[l] } else { f64::NEG_INFINITY };
                log[l] = 0.5 * DECADES * log[l] - self.reference;
            }
            logs.extend_from_slice(&log);
        }
    }

    /// Square of the slant distance of a reading.
    pub fn square(&self, at: Vector2<f64>, reading: usize) -> f64 {
        let (de, dn) = (at.x - self.east[reading], at.y - self.north[reading]);
        de * de + dn * dn + self.height
    }

    /// Σw(level − mean)²: twice what a place infinitely far away costs.
    pub fn scatter(&self) -> f64 {
        self.weight.iter().zip(&self.level).map(|(w, y)| w * y * y).sum()
    }

    #[inline(always)]
    fn moments(&self, at: Vector2<f64>, logs: &mut Vec<f64>) -> Moments {
        self.logs(at, logs);
        let weights = self.weight.chunks_exact(LANES);
        let mut sum = [0.0; LANES];
        for (w, g) in weights.clone().zip(logs.chunks_exact(LANES)) {
            for l in 0..LANES {
                sum[l] += w[l] * g[l];
            }
        }
        let mean = total(&sum) / self.total;
        let (mut spread, mut slope) = ([0.0; LANES], [0.0; LANES]);
        let levels = self.level.chunks_exact(LANES);
        for ((w, g), y) in weights.zip(logs.chunks_exact(LANES)).zip(levels) {
            for l in 0..LANES {
                let aside = w[l] * (g[l] - mean);
                spread[l] += aside * (g[l] - mean);
                slope[l] += aside * y[l];
            }
        }
        // Levels are counted from their mean.
        Moments { weight: self.total, level: self.mean, mean, spread: total(&spread), slope: total(&slope) }
    }

    /// ∇g = k δ/q and ∇²g = k (1/q − 2 δδᵀ/q²), with δ the place less the reading's, q = d² and k = 10/ln 10.
    #[inline(always)]
    fn slopes(&self, at: Vector2<f64>, logs: &[f64], law: Fitted, mean: f64) -> Survey {
        let (start, n) = (law.start - self.mean, law.exponent);
        let mut misses = [0.0; LANES];
        let mut pairs = [[0.0; LANES]; 6];
        let mut threes = [[0.0; LANES]; 6];
        let mut blocks = self.east.chunks_exact(LANES).zip(self.north.chunks_exact(LANES));
        let mut values = self.level.chunks_exact(LANES).zip(self.weight.chunks_exact(LANES));
        for g in logs.chunks_exact(LANES) {
            let (Some((east, north)), Some((y, w))) = (blocks.next(), values.next()) else { break };
            for l in 0..LANES {
                let (de, dn) = (at.x - east[l], at.y - north[l]);
                let inverse = 1.0 / (de * de + dn * dn + self.height);
                let scale = DECADES * inverse;
                let (ge, gn) = (scale * de, scale * dn);
                let r = y[l] - start + n * g[l];
                let wr = w[l] * r;
                let aside = w[l] * (g[l] - mean);
                misses[l] += wr * r;
                pairs[0][l] += wr * ge;
                pairs[1][l] += wr * gn;
                pairs[2][l] += w[l] * ge;
                pairs[3][l] += w[l] * gn;
                pairs[4][l] += aside * ge;
                pairs[5][l] += aside * gn;
                let (we, wn) = (w[l] * ge, w[l] * gn);
                threes[0][l] += we * ge;
                threes[1][l] += we * gn;
                threes[2][l] += wn * gn;
                let (ce, cn) = (2.0 * inverse * de, 2.0 * inverse * dn);
                threes[3][l] += wr * (scale - ce * ge);
                threes[4][l] -= wr * ce * gn;
                threes[5][l] += wr * (scale - cn * gn);
            }
        }
        let two = |k: usize| [total(&pairs[k]), total(&pairs[k + 1])];
        let three = |k: usize| [total(&threes[k]), total(&threes[k + 1]), total(&threes[k + 2])];
        Survey {
            law,
            mean,
            misses: total(&misses),
            push: two(0),
            pull: two(2),
            lean: two(4),
            outer: three(0),
            bent: three(3),
        }
    }
}

#[inline(always)]
fn total(lanes: &Lanes) -> f64 {
    lanes.iter().sum()
}
