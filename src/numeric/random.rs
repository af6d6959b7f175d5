//! Seeded chance: xoshiro256++ ([`crate::sources::BLACKMAN2021`]), started by splitmix64.

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
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

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
}
