//! What is taken for granted about the emitter and the paths.

use crate::{
    radio::{LevelPrior, Straight},
    solve::levels::kernel::Kernel,
};

/// Highest harmonic of the losses that depend on direction.
pub const HARMONICS: usize = 4;

/// No kind of place fixes the exponent better than this: paths of one survey differ among themselves by as much.
const LEAST_EXPONENT_SIGMA: f64 = 0.3;

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
    /// By how much losses by direction and bends may be more or less than the two before say: factors, each as likely as the
    /// others.
    pub irregular: [f64; 3],
    /// Prior probability that the surroundings are regular: no losses by direction, a law without bends, and readings that follow
    /// the model exactly, so that they count in full.
    pub regular: f64,
    /// Standard deviation of the shadowing: median in dB, and spread of its logarithm.
    pub shadowing: (f64, f64),
    /// Correlation distances of the shadowing, as parts of the survey's extent (root mean square distance from its centre),
    /// each as likely as the others.
    pub decorrelation: [f64; 4],
    /// Parts of the variance that neighbours do not share.
    pub own: [f64; 3],
    /// Parts of what is shared that reach across the survey.
    pub wide_share: [f64; 2],
    /// How far that is, as a part of the extent.
    pub wide: f64,
    /// α of the coarsened posterior where the surroundings are not regular: n cells count as much as nα/(α + n) would if the model
    /// were exact. Infinite for a model that is taken as exact.
    pub trust: f64,
    /// By how much receivers read differently, dB.
    pub device: f64,
    /// Height of the emitter above the readings and error of positions, metres: both keep the distance from being zero.
    pub height: f64,
}

impl Default for LevelPriors {
    /// Level at one metre: from a leaking cable to a transmitter of a hundred watts within two standard deviations. Exponent
    /// 3.0 ± 0.5 near by, outdoors near the ground, common practice. Losses by direction of 4 and 2 dB a harmonic stand for a
    /// front-to-back ratio of about 15 dB within two deviations. Shadowing, correlation parts and the trust in the model
    /// were chosen by coverage and evidence over 27 open walks at 462.7 MHz (University of Utah, Zenodo 7259895), where shadowing about the
    /// best law is 6.2 dB, 0.43 of it shared within 30 m and none beyond 300 m. The rest is common practice, no source.
    fn default() -> Self {
        Self {
            start: (-20.0, 22.0),
            exponent: (3.0, 0.5),
            pattern: [4.0, 2.0, 0.0, 0.0],
            bend: 1.0,
            irregular: [0.1, 0.5, 1.5],
            regular: 0.7,
            shadowing: (8.0, 0.3),
            decorrelation: [0.02, 0.05, 0.12, 0.3],
            own: [0.03, 0.15, 0.5],
            wide_share: [0.05, 0.25],
            wide: 2.0,
            trust: 250.0,
            device: 5.0,
            height: 5.0,
        }
    }
}

/// Power that nobody stated, dBm: 1 mW to 1 kW within one and a half deviations; own choice, as for kinds of place.
const POWER: (f64, f64) = (30.0, 20.0);

/// The exponent of a law that is taken as it is: so well known that no log says more.
const FIXED: f64 = 0.01;

/// Below this difference from a power law, dB, a model is one.
const STRAIGHT: f64 = 0.05;

impl LevelPriors {
    /// The same with a fixed law of distance: its exponent and loss at 1 m, the power unknown. A law that is no power law may bend
    /// as any other.
    pub fn of_law(self, law: &Straight) -> Self {
        let start = (POWER.0 - law.intercept.value(), POWER.1);
        let bend = if law.departure.value() < STRAIGHT { 0.0 } else { self.bend };
        let median = law.shadowing.map_or(self.shadowing.0, |s| s.to_db());
        Self { start, exponent: (law.exponent, FIXED), bend, shadowing: (median, self.shadowing.1), ..self }
    }

    /// The same with what is known of a kind of place: level at one metre (power that nobody stated less the loss over the
    /// first metre), exponent, shadowing.
    pub fn of_place(self, place: &LevelPrior) -> Self {
        let level = place.start();
        let start = (level.mean.value(), level.sigma.to_db());
        let (mean, deviation) = place.exponent();
        let exponent = (mean, deviation.max(LEAST_EXPONENT_SIGMA));
        let shadowing = (place.shadowing.median(), place.shadowing.deviation().max(self.shadowing.1));
        Self { start, exponent, shadowing, ..self }
    }

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
