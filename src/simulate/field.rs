//! Correlated shadowing over the plane: a Gaussian field with correlation exp(−δ/D)
//! ([`crate::sources::GUDMUNDSON1991`]).

use crate::{
    geodesy::PlanePoint,
    numeric::{portable, random::Random},
    simulate::{Refusal, refusal::within},
    units::Metres,
};

/// So many points at most are correlated exactly; more cost minutes and gigabytes.
pub const MOST_EXACT: usize = 2_000;

/// Waves of the spectral method where the caller names no number.
pub const WAVES: usize = 1_024;

/// How a field is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Exact up to [`MOST_EXACT`] points, [`WAVES`] waves beyond.
    Automatic,
    /// By the Cholesky factor of the correlation matrix: exact on the points, time ∝ points³ once and points² for each draw.
    Exact,
    /// As a sum of so many waves drawn from the spectrum ([`crate::sources::MATERN1986`], [`crate::sources::RAHIMI2007`]):
    /// time ∝ points · waves. Over many draws the correlation is exact. Each draw is Gaussian with a correlation of its own
    /// that scatters about the wanted one. The wave numbers are drawn one from each of as many equally likely layers, which
    /// keeps the scatter small: with 1,024 waves its standard deviation is at most 0.010 up to 6 D (measured), and
    /// 1/√(2 · 1024) = 0.022 far beyond.
    Waves(usize),
}

/// Points prepared for drawing fields of standard deviation 1.
#[derive(Clone, Debug)]
pub struct Field {
    points: Vec<PlanePoint>,
    decorrelation: f64,
    how: How,
}

#[derive(Clone, Debug)]
enum How {
    /// Rows of the lower Cholesky factor, one after the other.
    Factor(Vec<f64>),
    Waves(usize),
}

impl Field {
    /// Prepares `points` for fields whose correlation falls to 1/e over `decorrelation`. Points may coincide.
    ///
    /// # Errors
    /// A decorrelation distance that is not finite and positive; more than [`MOST_EXACT`] points for the exact method; no
    /// waves, or more than a million.
    pub fn new(points: Vec<PlanePoint>, decorrelation: Metres, method: Method) -> Result<Self, Refusal> {
        let d = decorrelation.value();
        within("a decorrelation distance in metres", d, 1e-3..=1e7, "write 0.001 to 10000000, such as 20")?;
        let how = match method {
            Method::Automatic if points.len() > MOST_EXACT => How::Waves(WAVES),
            Method::Automatic => How::Factor(factor(&points, d)),
            Method::Exact => {
                let hint = "the exact method takes up to 2000: use waves";
                within("a number of points", points.len() as f64, 0.0..=MOST_EXACT as f64, hint)?;
                How::Factor(factor(&points, d))
            }
            Method::Waves(count) => {
                within("a number of waves", count as f64, 1.0..=1e6, "write 1 to 1000000, such as 1024")?;
                How::Waves(count)
            }
        };
        Ok(Self { points, decorrelation: d, how })
    }

    /// A field at the points, of mean 0 and standard deviation 1.
    pub fn draw(&self, random: &mut Random) -> Vec<f64> {
        match &self.how {
            How::Factor(rows) => {
                let white: Vec<f64> = self.points.iter().map(|_| random.normal()).collect();
                (0..self.points.len()).map(|i| dot(&rows[start(i)..=start(i) + i], &white[..=i])).collect()
            }
            How::Waves(count) => {
                let mut out = vec![0.0; self.points.len()];
                for wave in waves(random, *count, self.decorrelation) {
                    wave.add(&self.points, &mut out);
                }
                out
            }
        }
    }
}

/// Where row `i` of a packed lower triangle begins.
const fn start(i: usize) -> usize {
    i * (i + 1) / 2
}

/// Four sums side by side, in an order that does not depend on the machine.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut lanes = [0.0; 8];
    let (mut left, mut right) = (a.chunks_exact(8), b.chunks_exact(8));
    for (x, y) in left.by_ref().zip(right.by_ref()) {
        for k in 0..8 {
            lanes[k] += x[k] * y[k];
        }
    }
    let rest: f64 = left.remainder().iter().zip(right.remainder()).map(|(x, y)| x * y).sum();
    lanes.iter().sum::<f64>() + rest
}

/// The lower Cholesky factor of the correlation matrix. Where points coincide the matrix is singular: what is left on the
/// diagonal is rounding, and taken for zero, which makes their values equal.
fn factor(points: &[PlanePoint], decorrelation: f64) -> Vec<f64> {
    let mut rows = vec![0.0; start(points.len())];
    for (i, p) in points.iter().enumerate() {
        let (done, row) = rows.split_at_mut(start(i));
        for (j, q) in points[..i].iter().enumerate() {
            let apart = portable::hypot(p.east - q.east, p.north - q.north);
            let above = &done[start(j)..=start(j) + j];
            let left = portable::exp(-apart / decorrelation) - dot(&row[..j], &above[..j]);
            row[j] = if above[j] > 0.0 { left / above[j] } else { 0.0 };
        }
        let left = 1.0 - dot(&row[..i], &row[..i]);
        row[i] = if left > 1e-12 { left.sqrt() } else { 0.0 };
    }
    rows
}

/// One draw of a field as a sum of waves: it has a value at any point, whichever are asked for and in whatever order.
#[derive(Clone, Debug)]
pub(super) struct Everywhere(Vec<Wave>);

impl Everywhere {
    /// Draws a field of standard deviation 1 whose correlation falls to 1/e over `decorrelation`.
    pub fn draw(random: &mut Random, count: usize, decorrelation: Metres) -> Self {
        Self(waves(random, count, decorrelation.value()))
    }

    /// Its value at a point.
    pub fn at(&self, point: PlanePoint) -> f64 {
        let mut out = [0.0];
        self.0.iter().for_each(|wave| wave.add(&[point], &mut out));
        out[0]
    }
}

/// A plane wave with a cosine and a sine part.
#[derive(Clone, Debug)]
struct Wave {
    east: f64,
    north: f64,
    cosine: f64,
    sine: f64,
}

impl Wave {
    fn add(&self, points: &[PlanePoint], out: &mut [f64]) {
        for (p, sum) in points.iter().zip(out) {
            let (sin, cos) = portable::sin_cos(self.east * p.east + self.north * p.north);
            *sum += self.cosine * cos + self.sine * sin;
        }
    }
}

/// Waves of the spectrum of exp(−δ/D).
fn waves(random: &mut Random, count: usize, decorrelation: f64) -> Vec<Wave> {
    let amplitude = (1.0 / count as f64).sqrt();
    vectors(random, count, decorrelation)
        .into_iter()
        .map(|(east, north)| {
            let (cosine, sine) = (amplitude * random.normal(), amplitude * random.normal());
            Wave { east, north, cosine, sine }
        })
        .collect()
}

/// Wave numbers with the distribution 1 − (1 + k²D²)^(−1/2), the integral of 2πk times the spectral density
/// ([`crate::sources::MATERN1986`]), as vectors.
fn vectors(random: &mut Random, count: usize, decorrelation: f64) -> Vec<(f64, f64)> {
    // Each direction alone is even over the circle, and neighbours in wave number lie far apart in direction: the golden
    // section of the half circle.
    let first = random.uniform();
    (0..count)
        .map(|i| {
            let below = (i as f64 + random.uniform()) / count as f64;
            let k = (1.0 / ((1.0 - below) * (1.0 - below)) - 1.0).sqrt() / decorrelation;
            let turn = (first + 0.618_033_988_749_895 * i as f64).fract();
            let (sin, cos) = portable::sin_cos(std::f64::consts::PI * turn);
            (k * sin, k * cos)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Standard deviation of the correlation of one draw of [`WAVES`] waves about the wanted one, as stated above.
    const SCATTER: f64 = 0.010;

    /// The correlation that 1,024 waves have, mean of cos(k·δ), against exp(−δ/D): its root mean square error over 300 draws
    /// at distances from 0.02 to 6 D in two directions. Drawn without layers it would be √(½ (1 + ρ(2δ)) − ρ²)/32, the
    /// standard deviation of a cosine over the root of the number of waves: 0.019 at 1 D.
    #[test]
    fn the_correlation_of_a_draw_scatters_no_more_than_stated() {
        let mut random = Random::seeded(17);
        let distances = [0.02, 0.1, 0.3, 0.7, 1.0, 1.5, 2.5, 4.0, 6.0];
        let mut squares = [0.0; 9];
        let mut means = [0.0; 9];
        let draws = 300;
        for draw in 0..draws {
            let waves = vectors(&mut random, WAVES, 1.0);
            for (k, delta) in distances.iter().enumerate() {
                let (east, north) = if draw % 2 == 0 { (*delta, 0.0) } else { (0.6 * delta, 0.8 * delta) };
                let sum: f64 = waves.iter().map(|(e, n)| (e * east + n * north).cos()).sum();
                let off = sum / WAVES as f64 - (-delta).exp();
                squares[k] += off * off / f64::from(draws);
                means[k] += off / f64::from(draws);
            }
        }
        for (k, delta) in distances.iter().enumerate() {
            let scatter = squares[k].sqrt();
            println!("{delta} D: scatter {scatter:.5}, mean {:.5}", means[k]);
            assert!(scatter < SCATTER, "{delta}: {scatter}");
            // Right on average: five standard errors.
            assert!(means[k].abs() < 5.0 * scatter / f64::from(draws).sqrt() + 1e-9, "{delta}: {}", means[k]);
        }
    }
}
