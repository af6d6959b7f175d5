//! What is taken for granted about the emitter and the paths.

use crate::solve::levels::kernel::Kernel;

/// Highest harmonic of the losses that depend on direction.
pub const HARMONICS: usize = 4;

/// What is taken for granted, each as a mean and one standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LevelPriors {
    /// Level at one metre, dBm.
    pub start: (f64, f64),
    /// Path-loss exponent.
    pub exponent: (f64, f64),
    /// Losses that depend on the direction from the emitter (its pattern, and what stands close by): one standard deviation of
    /// sine and cosine of each harmonic, dB; zero leaves the harmonic out.
    pub pattern: [f64; HARMONICS],
    /// Bend of the law of distance: dB per squared decade from the middle of the survey; zero leaves it out.
    pub bend: f64,
    /// Standard deviation of the shadowing: median in dB, and spread of its logarithm.
    pub shadowing: (f64, f64),
    /// Correlation distances of the shadowing, as parts of the survey's extent (root mean square distance from its centre),
    /// each as likely as the others.
    pub decorrelation: [f64; 4],
    /// Parts of the variance that neighbours do not share.
    pub own: [f64; 2],
    /// Parts of what is shared that reach across the survey.
    pub wide_share: [f64; 2],
    /// How far that is, as a part of the extent.
    pub wide: f64,
    /// α of the coarsened posterior: n cells count as much as nα/(α + n) would if the model were exact. Infinite for a model
    /// that is taken as exact.
    pub trust: f64,
    /// By how much receivers read differently, dB.
    pub device: f64,
    /// Height of the emitter above the readings and error of positions, metres: both keep the distance from being zero.
    pub height: f64,
}

impl Default for LevelPriors {
    fn default() -> Self {
        Self {
            start: (-30.0, 30.0),
            exponent: (3.0, 0.5),
            pattern: [4.0, 2.0, 0.0, 0.0],
            bend: 1.0,
            shadowing: (7.0, 0.4),
            decorrelation: [0.02, 0.07, 0.2, 0.6],
            own: [0.15, 0.5],
            wide_share: [0.2, 0.6],
            wide: 2.0,
            trust: 600.0,
            device: 5.0,
            height: 5.0,
        }
    }
}

impl LevelPriors {
    /// Every correlation of the shadowing that is thought of, for a survey of an extent in metres.
    pub fn kernels(&self, extent: f64) -> Vec<Kernel> {
        let mut out = Vec::new();
        for part in self.decorrelation {
            for own in self.own {
                for wide_share in self.wide_share {
                    let decorrelation = (part * extent).max(0.1);
                    out.push(Kernel { decorrelation, own, wide_share, wide: self.wide * extent.max(0.1) });
                }
            }
        }
        out
    }
}
