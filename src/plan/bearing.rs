//! One more bearing from a stand: how much it tells, and what would be left.

use std::f64::consts::TAU;

use crate::{
    geodesy::PlanePoint,
    plan::belief::{Belief, Left},
    solve::predict::{EVEN, Lobe},
    units::Confidence,
};

/// A bearing from one stand, point by point of the belief.
pub struct Seen<'b> {
    belief: &'b Belief,
    /// Sine and cosine of the direction that would be read.
    toward: Vec<(f64, f64)>,
    /// Variance with the stand's position seen from that range.
    variance: Vec<f64>,
    /// By how much a blocked sight adds to the foreign share.
    blocked: f64,
}

impl<'b> Seen<'b> {
    /// From `stand`; `blocked` is the share of sights that something stands in.
    pub fn from(belief: &'b Belief, stand: PlanePoint, blocked: f64) -> Self {
        let mut toward = Vec::with_capacity(belief.at.len());
        let mut variance = Vec::with_capacity(belief.at.len());
        for (p, reading) in belief.at.iter().zip(&belief.reading) {
            let (dx, dy) = (p.east - stand.east, p.north - stand.north);
            let square = (dx * dx + dy * dy).max(1.0);
            let (sin, cos) = (dx / square.sqrt(), dy / square.sqrt());
            let (s, c) = if reading.turn == 0.0 { (0.0, 1.0) } else { reading.turn.sin_cos() };
            toward.push((sin * c + cos * s, cos * c - sin * s));
            variance.push(reading.variance + belief.hand.position / square);
        }
        Self { belief, toward, variance, blocked: blocked * FOREIGN_BEHIND }
    }

    fn shares(&self, i: usize) -> (f64, f64) {
        let reading = &self.belief.reading[i];
        let more = reading.direct * self.blocked;
        (reading.direct - more, reading.foreign + more)
    }

    /// Nats that the bearing tells of the place (mutual information of reading and place), and the distribution of the reading
    /// over equal parts of the circle from north. By as much the logarithm of the area shrinks on the average.
    pub fn told(&self) -> (f64, Vec<f64>) {
        let least = self.variance.iter().copied().fold(f64::INFINITY, f64::min).sqrt();
        let bins = ((BINS_A_SIGMA * TAU / least).ceil()).clamp(120.0, 1_440.0) as usize;
        let width = TAU / bins as f64;
        // Points of like variance share a lobe: steps of a fifth in sigma.
        let class = |v: f64| ((v.sqrt() / least).ln() / 1.2f64.ln()).round().clamp(0.0, 24.0) as usize;
        let mut classes: Vec<Option<Vec<f64>>> = vec![None; 25];
        let (mut direct, mut foreign) = (0.0, 0.0);
        for i in 0..self.toward.len() {
            let (d, f) = self.shares(i);
            let mass = self.belief.mass[i];
            let (sin, cos) = self.toward[i];
            let at = sin.atan2(cos).rem_euclid(TAU) / width;
            let slots = classes[class(self.variance[i])].get_or_insert_with(|| vec![0.0; bins]);
            // Shared between the two nearest middles of bins: a whole bin would hide narrow lobes' places.
            let (low, part) = ((at - 0.5).floor(), (at - 0.5) - (at - 0.5).floor());
            let low = (low.rem_euclid(bins as f64)) as usize % bins;
            slots[low] += mass * (1.0 - part);
            slots[(low + 1) % bins] += mass * part;
            direct += mass * d;
            foreign += mass * f;
        }
        let reversed = self.belief.hand.reversed;
        let mut all = vec![foreign * width * EVEN; bins];
        let mut given = 0.0;
        for (k, slots) in classes.iter().enumerate() {
            let Some(slots) = slots else { continue };
            let lobe = Kernel::new(least * 1.2f64.powi(k as i32), width, bins);
            lobe.spread(slots, direct, reversed, &mut all);
            // A reading whose place is known.
            let mut one = vec![foreign * width * EVEN; bins];
            let mut unit = vec![0.0; bins];
            unit[0] = 1.0;
            lobe.spread(&unit, direct, reversed, &mut one);
            given += slots.iter().sum::<f64>() * entropy(&one);
        }
        let sum: f64 = all.iter().sum();
        all.iter_mut().for_each(|p| *p /= sum);
        ((entropy(&all) - given).max(0.0), all)
    }

    /// Masses of the points after a reading of `azimuth`, radians on the plane.
    pub fn after(&self, azimuth: f64) -> Vec<f64> {
        let (sin, cos) = azimuth.sin_cos();
        let reversed = self.belief.hand.reversed;
        (0..self.toward.len())
            .map(|i| {
                let lobe = Lobe::of(self.variance[i]);
                let cosine = sin * self.toward[i].0 + cos * self.toward[i].1;
                let (direct, foreign) = self.shares(i);
                let density = direct * lobe.at(cosine) + reversed * lobe.at(-cosine) + foreign * EVEN;
                self.belief.mass[i] * density
            })
            .collect()
    }

    /// What is left, at the middles of equal shares of what may be read.
    pub fn left(&self, readings: &[f64], count: usize, confidence: Confidence) -> Vec<Left> {
        quantiles(readings, count)
            .into_iter()
            .map(|azimuth| self.belief.left(&self.after(azimuth), confidence))
            .collect()
    }
}

/// Of the bearings whose straight way is blocked, so many more are foreign. Common practice, no source.
const FOREIGN_BEHIND: f64 = 0.3;

/// Bins of a bearing's distribution for each standard deviation.
const BINS_A_SIGMA: f64 = 2.5;

/// A lobe in bins.
struct Kernel {
    weights: Vec<f64>,
}

impl Kernel {
    fn new(sigma: f64, width: f64, bins: usize) -> Self {
        let reach = ((4.5 * sigma / width).ceil() as usize).min(bins / 2 - 1);
        let lobe = Lobe::of(sigma * sigma);
        let mut weights: Vec<f64> =
            (0..=2 * reach).map(|i| lobe.at((i.abs_diff(reach) as f64 * width).cos())).collect();
        let sum: f64 = weights.iter().sum();
        weights.iter_mut().for_each(|w| *w /= sum);
        Self { weights }
    }

    /// Adds the lobes of all slots, in front and behind.
    fn spread(&self, slots: &[f64], direct: f64, reversed: f64, out: &mut [f64]) {
        let (bins, reach) = (slots.len(), self.weights.len() / 2);
        for (i, mass) in slots.iter().enumerate().filter(|s| *s.1 > 0.0) {
            for (j, weight) in self.weights.iter().enumerate() {
                let at = (i + bins + j - reach) % bins;
                out[at] += mass * direct * weight;
                out[(at + bins / 2) % bins] += mass * reversed * weight;
            }
        }
    }
}

fn entropy(shares: &[f64]) -> f64 {
    shares.iter().filter(|p| **p > 0.0).map(|p| -p * p.ln()).sum()
}

/// The middles of `count` equal shares of a distribution over equal parts of the circle, radians.
fn quantiles(shares: &[f64], count: usize) -> Vec<f64> {
    let width = TAU / shares.len() as f64;
    let (mut held, mut bin) = (0.0, 0);
    (0..count)
        .map(|q| {
            let wanted = (q as f64 + 0.5) / count as f64;
            while bin + 1 < shares.len() && held + shares[bin] < wanted {
                held += shares[bin];
                bin += 1;
            }
            let part = if shares[bin] > 0.0 { (wanted - held) / shares[bin] } else { 0.5 };
            (bin as f64 + part.clamp(0.0, 1.0)) * width
        })
        .collect()
}
