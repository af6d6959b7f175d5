//! Sectors on the plane.

use crate::{
    geodesy::{Plane, PlanePoint},
    north::TrueSector,
    observe::Level,
    radio::Lobe,
    solve::sectors::SectorPriors,
    units::{Angle, Db},
};

/// What a sector heard, referred to an isotropic antenna in its place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Heard {
    /// Interference of this level, dBm, with one standard deviation of the measurement itself, dB.
    Above {
        /// Level.
        level: f64,
        /// Its error.
        error: f64,
    },
    /// None above this level, dBm.
    Below {
        /// The limit.
        limit: f64,
    },
}

/// A sector as the likelihood sees it. All numbers are finite.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SectorSight {
    /// Where the antenna is.
    pub at: PlanePoint,
    /// Height of the antenna above the emitter, metres, in either sense.
    pub height: f64,
    /// Direction of the axis on the plane, clockwise from its north, and the lobe about it; `None` for an antenna that
    /// looks in all directions.
    pub beam: Option<(Angle, Lobe)>,
    /// What it heard.
    pub heard: Heard,
}

/// Sectors laid out on a plane. A gain that is not stated is taken as the mean of those that are, or zero: alike for all,
/// it makes no difference.
pub fn sights(sectors: &[TrueSector], plane: &Plane, priors: &SectorPriors) -> Vec<SectorSight> {
    let stated: Vec<f64> = sectors.iter().filter_map(|s| s.sector().gain).map(Db::value).collect();
    let usual = if stated.is_empty() { 0.0 } else { stated.iter().sum::<f64>() / stated.len() as f64 };
    sectors.iter().map(|sector| sight(sector, usual, plane, priors)).collect()
}

fn sight(sector: &TrueSector, usual: f64, plane: &Plane, priors: &SectorPriors) -> SectorSight {
    let read = sector.sector();
    let beam = sector.axis().and_then(|(azimuth, beamwidth)| {
        let lobe = Lobe::new(beamwidth, Db::new(priors.front_to_back))?;
        Some((plane.azimuth_in_plane(read.at, azimuth), lobe))
    });
    let gain = read.gain.map_or(usual, Db::value) - read.feeder_loss.map_or(0.0, Db::value);
    let height = read.height.map_or(priors.antenna, |h| h.value()) - priors.emitter;
    SectorSight { at: plane.to_plane(read.at), height, beam, heard: heard(sector, gain, priors) }
}

fn heard(sector: &TrueSector, gain: f64, priors: &SectorPriors) -> Heard {
    let read = sector.sector();
    let level = match read.interference {
        Level::BelowFloor(limit) => Err(limit.value()),
        Level::Measured(level) => Ok(level.value()),
        // A sector that is off has no row; taken as one that tells nothing.
        Level::OffAir => Err(f64::MAX.log10()),
    };
    // Interference over noise at the least rise that can be told.
    let ratio = |rise: f64| Db::of_ratio(Db::new(rise).to_ratio() - 1.0).value();
    let least = read.floor.map(|floor| floor.value() + ratio(priors.least_rise));
    match (level, read.rise) {
        (Ok(level), Some(rise)) if rise.value() < priors.least_rise => {
            Heard::Below { limit: least.unwrap_or(level).max(level) - gain }
        }
        (Ok(level), rise) => {
            // d(level)/d(rise) of I = N + 10 log10(10^(R/10) − 1): near the floor a rise tells little of the level.
            let slope = rise.map_or(1.0, |r| 1.0 / (1.0 - Db::new(-r.value()).to_ratio()));
            Heard::Above { level: level - gain, error: priors.rise * slope }
        }
        (Err(limit), _) => Heard::Below { limit: least.map_or(limit, |l| l.max(limit)) - gain },
    }
}
