//! The marginal likelihood of a place.

use nalgebra::{Matrix4, Vector4};

use crate::{
    geodesy::PlanePoint,
    solve::levels::kernel::{Kernel, Whitener, earlier},
};

/// A level that was measured, on the plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Where.
    pub at: PlanePoint,
    /// Level in dBm.
    pub level: f64,
}

/// What is taken for granted about the emitter and the paths, each as a mean and one standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LevelPriors {
    /// Level at one metre, dBm. So wide that it says nothing.
    pub start: (f64, f64),
    /// Path-loss exponent.
    pub exponent: (f64, f64),
    /// One standard deviation of each of the two harmonics of the emitter's pattern, dB; zero for one that radiates alike
    /// in all directions.
    pub pattern: f64,
    /// Standard deviation of the shadowing: median in dB, and spread of its logarithm.
    pub shadowing: (f64, f64),
    /// Height of the emitter above the readings, metres, for the slant distance.
    pub height: f64,
}

impl Default for LevelPriors {
    /// Exponent 3.0 ± 0.5 and shadowing about 6 dB: outdoor paths near the ground, common practice; a pattern of 5 dB per
    /// harmonic covers an antenna with a front-to-back ratio of 15 to 20 dB. No source.
    fn default() -> Self {
        Self { start: (-30.0, 40.0), exponent: (3.0, 0.5), pattern: 5.0, shadowing: (6.0, 0.35), height: 5.0 }
    }
}

/// Nodes of decorrelation distance (metres), of the part that neighbours do not share, and of the shadowing (in spreads of
/// its logarithm), each with equal weights: wide brackets of what surveys report, 5 to 200 m and a tenth to a half.
const DECORRELATION: [f64; 5] = [6.0, 15.0, 40.0, 100.0, 250.0];
const OWN: [f64; 2] = [0.1, 0.45];
/// Gauss–Hermite nodes and weights of the standard normal, five points.
const SPREAD: [(f64, f64); 5] = [
    (-2.856_970_013_872_805_6, 0.011_257_411_327_720_7),
    (-1.355_626_179_974_265_8, 0.222_075_922_005_612_6),
    (0.0, 0.533_333_333_333_333_3),
    (1.355_626_179_974_265_8, 0.222_075_922_005_612_6),
    (2.856_970_013_872_805_6, 0.011_257_411_327_720_7),
];

/// Levels ready to judge places by.
#[derive(Clone, Debug)]
pub struct Levels {
    readings: Vec<Reading>,
    priors: LevelPriors,
    nodes: Vec<Node>,
}

/// One kernel with what it makes of the readings.
#[derive(Clone, Debug)]
struct Node {
    whitener: Whitener,
    levels: Vec<f64>,
    ones: Vec<f64>,
}

impl Levels {
    /// Factors the covariance for every kernel. Cost grows with the square of the number of readings for the neighbours, and
    /// linearly for the rest: a few thousand are no burden.
    pub fn new(readings: Vec<Reading>, priors: LevelPriors) -> Self {
        let points: Vec<PlanePoint> = readings.iter().map(|r| r.at).collect();
        let near = earlier(&points);
        let levels: Vec<f64> = readings.iter().map(|r| r.level).collect();
        let kernels =
            DECORRELATION.iter().flat_map(|d| OWN.iter().map(|o| Kernel { decorrelation: *d, own: *o }));
        let nodes = kernels.map(|kernel| Node::new(&points, &near, kernel, &levels)).collect();
        Self { readings, priors, nodes }
    }

    /// Logarithm of the likelihood of a place, everything else integrated out; a constant is left out. No readings give zero.
    pub fn log_likelihood(&self, place: PlanePoint) -> f64 {
        if self.readings.is_empty() {
            return 0.0;
        }
        let columns = self.columns(place);
        let mut white = [Vec::new(), Vec::new(), Vec::new()];
        let mut logs: Vec<f64> = Vec::with_capacity(self.nodes.len() * SPREAD.len());
        for node in &self.nodes {
            for (column, out) in columns.iter().zip(&mut white) {
                node.whitener.apply(column, out);
            }
            let sums = Sums::of(node, &white);
            for (spread, weight) in SPREAD {
                let sigma = self.priors.shadowing.0 * (spread * self.priors.shadowing.1).exp();
                logs.push(weight.ln() + self.marginal(&sums, node, sigma));
            }
        }
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        top + logs.iter().map(|l| (l - top).exp()).sum::<f64>().ln()
    }

    /// −10 log₁₀ of the slant distance, and sine and cosine of the direction from the place to each reading.
    fn columns(&self, place: PlanePoint) -> [Vec<f64>; 3] {
        let mut out = [Vec::new(), Vec::new(), Vec::new()];
        for reading in &self.readings {
            let (dx, dy) = (reading.at.east - place.east, reading.at.north - place.north);
            let flat = dx.hypot(dy);
            out[0].push(-5.0 * (flat * flat + self.priors.height.powi(2) + 1e-6).log10());
            // Straight below, the direction means nothing, and the pattern's harmonic fades with it.
            let inverse = 1.0 / flat.hypot(self.priors.height.max(1e-3));
            out[1].push(dx * inverse);
            out[2].push(dy * inverse);
        }
        out
    }

    /// Log of the normal density of the levels with the four linear parameters integrated out.
    fn marginal(&self, sums: &Sums, node: &Node, sigma: f64) -> f64 {
        let p = &self.priors;
        let deviations = Vector4::new(p.start.1, p.exponent.1, p.pattern.max(1e-6), p.pattern.max(1e-6));
        let mean = Vector4::new(p.start.0, p.exponent.0, 0.0, 0.0);
        let precision = Matrix4::from_diagonal(&deviations.map(|d| d.powi(-2)));
        let inverse = sigma.powi(-2);
        let normal = sums.normal * inverse + precision;
        let right = sums.right * inverse + precision * mean;
        let Some(cholesky) = normal.cholesky() else { return f64::NEG_INFINITY };
        let fitted = cholesky.solve(&right);
        let rest = sums.square * inverse + mean.dot(&(precision * mean)) - right.dot(&fitted);
        let log_determinant: f64 = 2.0 * cholesky.l().diagonal().iter().map(|d| d.ln()).sum::<f64>()
            + 2.0 * deviations.iter().map(|d| d.ln()).sum::<f64>();
        let count = self.readings.len() as f64;
        -0.5 * (rest + log_determinant + node.whitener.log_determinant + 2.0 * count * sigma.ln())
    }
}

impl Node {
    fn new(points: &[PlanePoint], near: &[Vec<u32>], kernel: Kernel, levels: &[f64]) -> Self {
        let whitener = Whitener::new(points, near, kernel);
        let (mut white, mut ones) = (Vec::new(), Vec::new());
        whitener.apply(levels, &mut white);
        whitener.apply(&vec![1.0; levels.len()], &mut ones);
        Self { whitener, levels: white, ones }
    }
}

/// Sums of products of the whitened columns.
struct Sums {
    normal: Matrix4<f64>,
    right: Vector4<f64>,
    square: f64,
}

impl Sums {
    fn of(node: &Node, white: &[Vec<f64>; 3]) -> Self {
        let columns = [&node.ones, &white[0], &white[1], &white[2]];
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        let mut normal = Matrix4::zeros();
        for i in 0..4 {
            for j in 0..=i {
                normal[(i, j)] = dot(columns[i], columns[j]);
                normal[(j, i)] = normal[(i, j)];
            }
        }
        let right = Vector4::from_fn(|i, _| dot(columns[i], &node.levels));
        Self { normal, right, square: dot(&node.levels, &node.levels) }
    }
}

#[cfg(test)]
mod tests {
    use nalgebra::{Cholesky, DMatrix, DVector};

    use super::*;
    use crate::numeric::random::Random;

    /// The same by the definition: levels are normal with mean Hμ and covariance H V Hᵀ + Σ, written out as dense matrices,
    /// and summed over the nodes. With at most twelve readings the sparse factor is exact.
    #[test]
    fn the_marginal_is_that_of_the_dense_normal_density() {
        let mut random = Random::seeded(11);
        let readings: Vec<Reading> = (0..10)
            .map(|_| {
                let at = PlanePoint { east: 300.0 * random.uniform(), north: 200.0 * random.uniform() };
                Reading { at, level: -80.0 + 8.0 * random.normal() }
            })
            .collect();
        let priors = LevelPriors { height: 4.0, ..LevelPriors::default() };
        let levels = Levels::new(readings.clone(), priors);
        let dense = |place: PlanePoint| {
            let columns = levels.columns(place);
            let h = DMatrix::from_fn(10, 4, |i, j| if j == 0 { 1.0 } else { columns[j - 1][i] });
            let v = DMatrix::from_diagonal(&DVector::from_vec(vec![1600.0, 0.25, 25.0, 25.0]));
            let mean = &h * DVector::from_vec(vec![-30.0, 3.0, 0.0, 0.0]);
            let rest = DVector::from_fn(10, |i, _| readings[i].level) - mean;
            let mut total = 0.0;
            for decorrelation in DECORRELATION {
                for own in OWN {
                    for (spread, weight) in SPREAD {
                        let variance = (6.0 * (0.35 * spread).exp()).powi(2);
                        let shadow = DMatrix::from_fn(10, 10, |i, j| {
                            let (a, b) = (readings[i].at, readings[j].at);
                            let apart = (a.east - b.east).hypot(a.north - b.north);
                            let shared = (1.0 - own) * (-apart / decorrelation).exp();
                            variance * if i == j { 1.0 } else { shared }
                        });
                        let factor = Cholesky::new(&h * &v * h.transpose() + shadow).unwrap();
                        let log_root: f64 = factor.l().diagonal().iter().map(|d| d.ln()).sum();
                        total += weight * (-0.5 * rest.dot(&factor.solve(&rest)) - log_root).exp();
                    }
                }
            }
            total.ln()
        };
        let places = [(0.0, 0.0), (150.0, 90.0), (-400.0, 700.0), (299.0, 10.0)];
        let at = |p: (f64, f64)| PlanePoint { east: p.0, north: p.1 };
        let reference = (levels.log_likelihood(at(places[0])), dense(at(places[0])));
        for place in places {
            let ours = levels.log_likelihood(at(place)) - reference.0;
            assert!((ours - (dense(at(place)) - reference.1)).abs() < 1e-8, "{place:?}");
        }
    }

    #[test]
    fn no_readings_say_nothing() {
        let levels = Levels::new(Vec::new(), LevelPriors::default());
        assert_eq!(levels.log_likelihood(PlanePoint { east: 1.0, north: 2.0 }), 0.0);
    }
}
