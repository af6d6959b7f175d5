//! Evidence of a place from the sectors that a signal disturbs, and from those that it does not.
//!
//! The interference at sector j of site s, referred to an isotropic antenna (level − gain + feeder loss), is
//! P₀ − 10 n log₁₀ d_s − A_j(φ_s − azimuth_j) + S_s + e_j: level at one metre P₀ and exponent n unknown, d the slant
//! distance, A the attenuation of the antenna off its axis ([`crate::radio::Lobe`]), S the shadowing that all sectors of
//! one site share, e what each has of its own. P₀, n and all S are integrated out under printed priors; so the
//! differences between the sectors of one site are a weak bearing, and those between sites a ratio of distances, free of
//! the unknown power. A sector that hears nothing counts by the probability that its level stays below what it can tell
//! ([`crate::sources::TOBIN1958`]).

mod direction;
mod joint;
mod sight;
mod site;
#[cfg(test)]
mod tests;

pub use direction::{SiteDirections, directions};
pub use joint::Sectors;
pub use sight::{Heard, SectorSight, sights};

/// What is taken for granted about the emitter, the paths and the antennas; means with one standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectorPriors {
    /// Level at one metre in dBm at an isotropic antenna. So wide that it says nothing.
    pub start: (f64, f64),
    /// Path-loss exponent.
    pub exponent: (f64, f64),
    /// Standard deviation of what all sectors of a site share, dB: shadowing, and that the emitter does not radiate
    /// alike toward all sites.
    pub site: f64,
    /// Standard deviation of what each sector has of its own on its axis, dB.
    pub sector: f64,
    /// By how much a real antenna departs from its pattern, as a share of the attenuation off its axis: one standard
    /// deviation, added in quadrature.
    pub pattern: f64,
    /// Greatest attenuation off the axis, dB; the pattern's share makes it uncertain as well.
    pub front_to_back: f64,
    /// Standard deviation of a rise above the floor, dB: floors wander.
    pub rise: f64,
    /// A rise below this is not told from none, dB.
    pub least_rise: f64,
    /// Height of an antenna above the emitter where no height is stated, metres.
    pub antenna: f64,
    /// Height of the emitter above ground, metres.
    pub emitter: f64,
}

impl Default for SectorPriors {
    /// Shadowing of 8 dB, of which half the variance is common to all sites and all of it to the sectors of one
    /// ([`crate::sources::TR36942`]), leaves 5.7 dB to each site: 6 dB. Front-to-back 25 dB, less than the 30 dB of
    /// [`crate::sources::TR38901`], since reflections fill the back. The rest is common practice, no source; with 3 dB for
    /// each sector and a tenth of its attenuation, regions of simulated networks with other antennas, shadowing of 4 to 8 dB
    /// and emitters that point somewhere hold what they state (`tests/studies`); with 2 dB they would not.
    fn default() -> Self {
        Self {
            start: (-30.0, 40.0),
            exponent: (3.5, 0.5),
            site: 6.0,
            sector: 3.0,
            pattern: 0.1,
            front_to_back: 25.0,
            rise: 0.3,
            least_rise: 0.5,
            antenna: 30.0,
            emitter: 5.0,
        }
    }
}

impl std::fmt::Display for SectorPriors {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "level at 1 m {:.0} ± {:.0} dBm, exponent {} ± {}, {} dB shared by the sectors of a site, {} dB of each and {:.0} % of its attenuation off the axis, front-to-back {:.0} dB, rises to {} dB and none told below {} dB",
            self.start.0,
            self.start.1,
            self.exponent.0,
            self.exponent.1,
            self.site,
            self.sector,
            100.0 * self.pattern,
            self.front_to_back,
            self.rise,
            self.least_rise
        )
    }
}
