//! Seeded chance: xoshiro256++ ([`crate::sources::BLACKMAN2021`]), started by splitmix64. With the functions of
//! [`crate::numeric::portable`] a seed gives the same bits on every machine.

use crate::numeric::portable;

/// A generator whose whole sequence follows from its seed.
#[derive(Clone, Debug)]
pub struct Random([u64; 4]);

impl Random {
    /// The sequence of a seed.
    pub fn seeded(seed: u64) -> Self {
        let mut state = seed;
        Self(std::array::from_fn(|_| {
            state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let z = (state ^ (state >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            z ^ (z >> 31)
        }))
    }

    /// A sequence of its own for each `stream` of a seed: what is drawn from one does not shift another. The seed is
    /// mixed before the stream is added, so that streams of neighbouring seeds do not meet.
    pub fn stream(seed: u64, stream: u64) -> Self {
        let mixed = Self::seeded(seed).next();
        Self::seeded(mixed.wrapping_add(stream.wrapping_mul(0xD134_2543_DE82_EF95)))
    }

    fn next(&mut self) -> u64 {
        let s = &mut self.0;
        let out = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let t = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= t;
        s[3] = s[3].rotate_left(45);
        out
    }

    /// Uniform in [0, 1), in steps of 2⁻⁵³.
    pub fn uniform(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Standard normal, by Box and Muller's transform.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * portable::ln(1.0 - self.uniform())).sqrt();
        radius * portable::cos(std::f64::consts::TAU * self.uniform())
    }

    /// Uniform between two ends; the lower one where they coincide.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// Uniform among 0, 1, …, `count` − 1, to within `count` · 2⁻⁵³; 0 where there is nothing to choose from.
    pub fn index(&mut self, count: usize) -> usize {
        ((self.uniform() * count as f64) as usize).min(count.saturating_sub(1))
    }

    /// Whether something of this probability happens: never at 0 or below, always at 1 or above.
    pub fn happens(&mut self, probability: f64) -> bool {
        self.uniform() < probability
    }

    /// A sum of `count` exponentially distributed numbers of mean 1: a gamma variable of that whole shape. Few are added by
    /// the logarithm of a product of uniform numbers; many are drawn at once by rejection
    /// ([`crate::sources::MARSAGLIA2000`]). Both are exact.
    pub fn exponentials(&mut self, count: u32) -> f64 {
        if count < FEW {
            let product: f64 = (0..count).map(|_| 1.0 - self.uniform()).product();
            return -portable::ln(product);
        }
        let d = f64::from(count) - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let root = 1.0 + c * x;
            let v = root * root * root;
            let u = 1.0 - self.uniform();
            if v > 0.0 && portable::ln(u) < 0.5 * x * x + d * (1.0 - v + portable::ln(v)) {
                return d * v;
            }
        }
    }
}

/// Fewer exponential numbers than this are added one by one.
const FEW: u32 = 8;

#[cfg(test)]
mod tests {
    use super::*;

    /// Moments of the uniform and normal distributions, within five standard errors of 200,000 draws.
    #[test]
    fn the_moments_are_those_of_the_distributions() {
        let mut random = Random::seeded(7);
        let n = 200_000;
        let root = f64::from(n).sqrt();
        let mean: f64 = (0..n).map(|_| random.uniform()).sum::<f64>() / f64::from(n);
        assert!((mean - 0.5).abs() < 5.0 / 12f64.sqrt() / root);
        let draws: Vec<f64> = (0..n).map(|_| random.normal()).collect();
        let moment = |k: i32| draws.iter().map(|x| x.powi(k)).sum::<f64>() / f64::from(n);
        assert!(moment(1).abs() < 5.0 / root);
        assert!((moment(2) - 1.0).abs() < 5.0 * 2f64.sqrt() / root);
        assert!((moment(4) - 3.0).abs() < 5.0 * 96f64.sqrt() / root);
    }

    /// Mean and variance of a gamma variable of whole shape are the shape, within five standard errors of 50,000 draws
    /// (variance of the variance: (2 + 6/shape) shape²/n, from the kurtosis 6/shape).
    #[test]
    fn sums_of_exponentials_have_the_moments_of_a_gamma_variable() {
        let mut random = Random::seeded(11);
        let n = 50_000;
        for shape in [1u32, 3, 7, 8, 40, 100_000] {
            let draws: Vec<f64> = (0..n).map(|_| random.exponentials(shape)).collect();
            let (mean, root) = (draws.iter().sum::<f64>() / f64::from(n), f64::from(n).sqrt());
            let variance = draws.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / f64::from(n);
            let k = f64::from(shape);
            assert!((mean - k).abs() < 5.0 * k.sqrt() / root, "{shape}: {mean}");
            assert!((variance - k).abs() < 5.0 * k * (2.0 + 6.0 / k).sqrt() / root, "{shape}: {variance}");
        }
        assert_eq!(random.exponentials(0), 0.0);
    }

    /// Streams of one seed, and the same stream of neighbouring seeds, are uncorrelated: 5/√n.
    #[test]
    fn streams_do_not_follow_one_another() {
        let n = 20_000;
        let draws = |seed, stream| {
            let mut random = Random::stream(seed, stream);
            (0..n).map(|_| random.normal()).collect::<Vec<f64>>()
        };
        let reference = draws(1, 0);
        assert_eq!(reference, draws(1, 0));
        for (seed, stream) in [(1, 1), (1, 2), (2, 0), (0, 1)] {
            let product: f64 = reference.iter().zip(draws(seed, stream)).map(|(a, b)| a * b).sum();
            assert!((product / f64::from(n)).abs() < 5.0 / f64::from(n).sqrt(), "{seed} {stream}");
        }
    }

    #[test]
    fn choices_stay_within_their_bounds() {
        let mut random = Random::seeded(3);
        let mut seen = [false; 7];
        (0..1000).for_each(|_| seen[random.index(7)] = true);
        assert!(seen.iter().all(|s| *s));
        assert_eq!(random.index(0), 0);
        assert!((0..1000).all(|_| (2.0..5.0).contains(&random.between(2.0, 5.0))));
        assert!((0..1000).all(|_| !random.happens(0.0) && random.happens(1.0)));
    }
}
