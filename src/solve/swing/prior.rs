//! What is taken for granted about an antenna of which nothing is stated. Every figure here is printed with the answer.

use crate::{
    observe::SwingAntenna,
    radio::{Family, Pattern},
    units::{Angle, Db},
};

/// Degrees of freedom of the prior of the readings' scatter, and the scatter itself in dB: people and reflections make
/// 1 to 4 dB. Common practice, no source.
pub const SCATTER_FREEDOM: f64 = 3.0;
/// See [`SCATTER_FREEDOM`].
pub const SCATTER_DB: f64 = 2.5;

/// A log-normal prior.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LogNormal {
    /// Median.
    pub median: f64,
    /// Standard deviation of the natural logarithm.
    pub spread: f64,
}

/// Priors of one family's pattern.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prior {
    /// The family.
    pub family: Family,
    /// Its share among antennas.
    pub share: f64,
    /// Beamwidth in radians; only a lobe has one.
    pub beamwidth: LogNormal,
    /// Depth in decibels.
    pub depth: LogNormal,
}

impl Prior {
    /// The priors of the antenna stated, one for each family that may be meant.
    ///
    /// Of an antenna that is not stated six in ten have a main lobe. Beamwidth 60° (68 % within 42° and 85°), or as stated
    /// within 10 %; front-to-back ratio 15 dB (10 to 22 dB); nulls 20 dB deep (12 to 33 dB); the body's shadow 10 dB (7 to
    /// 15 dB). Common practice, no source.
    pub fn of(antenna: &SwingAntenna) -> Vec<Self> {
        let width = |median: Angle, spread| LogNormal { median: median.to_radians(), spread };
        let beamwidth = antenna.beamwidth.map_or(width(Angle::degrees(60.0), 0.35), |b| width(b, 0.1));
        let prior = |family, share, median, spread| Self {
            family,
            share,
            beamwidth,
            depth: LogNormal { median, spread },
        };
        let all = [
            prior(Family::Lobe, 0.6, 15.0, 0.4),
            prior(Family::Cardioid, 0.15, 20.0, 0.5),
            prior(Family::FigureOfEight, 0.15, 20.0, 0.5),
            prior(Family::Body, 0.1, 10.0, 0.4),
        ];
        // Only a lobe has a beamwidth that anybody states.
        let meant = antenna.family.or(antenna.beamwidth.map(|_| Family::Lobe));
        match meant {
            Some(family) => {
                all.into_iter().filter(|p| p.family == family).map(|p| Self { share: 1.0, ..p }).collect()
            }
            None => all.to_vec(),
        }
    }

    /// The pattern at the given numbers of prior standard deviations from the medians of beamwidth and depth.
    pub fn pattern(&self, z: [f64; 2]) -> Option<Pattern> {
        let beamwidth = self.beamwidth.median * (self.beamwidth.spread * z[0]).exp();
        let depth = self.depth.median * (self.depth.spread * z[1]).exp();
        // A beam of 360° is no beam, and no null is deeper than 80 dB.
        Pattern::new(self.family, Angle::radians(beamwidth), Db::new(depth)).filter(|_| depth < 80.0)
    }
}
