//! Fast fading: a steady wave among many weak ones.

use crate::{
    numeric::{portable, random::Random},
    simulate::{Refusal, refusal::within},
};

/// Fading of a power that is averaged over several independent samples.
///
/// Each sample is a steady wave in Gaussian noise ([`crate::sources::RICE1944`]) with mean power 1: K is the power of the
/// steady wave over that of the rest. K = 0 is Rayleigh fading, whose single sample scatters by 5.57 dB.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fading {
    /// K as a ratio of powers, 0 to 10⁶.
    pub steady: f64,
    /// Independent samples whose powers are averaged, 1 to 100,000; 0 for no fading at all.
    pub samples: u32,
}

impl Fading {
    /// No fading.
    pub const NONE: Self = Self { steady: 0.0, samples: 0 };

    /// # Errors
    /// Numbers outside of their ranges.
    pub(super) fn checked(&self) -> Result<(), Refusal> {
        within("a ratio K of the steady wave", self.steady, 0.0..=1e6, "write 0 (none) to 1000000")?;
        within("a number of samples", f64::from(self.samples), 0.0..=1e5, "write 0 (no fading) to 100000")
    }

    /// Variance of the averaged power, whose mean is 1: (1 + 2K)/(1 + K)²/samples.
    pub fn variance(&self) -> f64 {
        let k = self.steady;
        let of_one = (1.0 + 2.0 * k) / ((1.0 + k) * (1.0 + k));
        if self.samples == 0 { 0.0 } else { of_one / f64::from(self.samples) }
    }

    /// Mean power of the samples, as a ratio to the true mean.
    ///
    /// The sum of M sampled powers is a non-central chi-squared variable of 2M degrees of freedom. All steady parts may be
    /// turned into one of its 2M directions, so that two normal numbers and a gamma variable suffice.
    pub fn draw(&self, random: &mut Random) -> f64 {
        if self.samples == 0 {
            return 1.0;
        }
        let (m, k) = (f64::from(self.samples), self.steady);
        // In units of twice the noise power of one quadrature.
        let steady = (m * k).sqrt();
        let (a, b) = (random.normal() * HALF, random.normal() * HALF);
        let sum = (steady + a) * (steady + a) + b * b + random.exponentials(self.samples - 1);
        sum / (m * (1.0 + k))
    }

    /// The same in decibels.
    pub fn draw_db(&self, random: &mut Random) -> f64 {
        portable::to_db(self.draw(random))
    }
}

/// Standard deviation of each quadrature where the mean power of the noise is 1.
const HALF: f64 = std::f64::consts::FRAC_1_SQRT_2;
