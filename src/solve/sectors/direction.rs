//! What the sectors of one site say about direction, whatever the distance.

use crate::{
    solve::{
        density::LANES,
        sectors::{Sectors, site::Site},
    },
    units::Angle,
};

/// Shares of the directions in which the emitter may lie from one site, by that site's sectors alone.
#[derive(Clone, Debug, PartialEq)]
pub struct SiteDirections {
    /// The site's sectors, by their index in what was given.
    pub sectors: Vec<usize>,
    /// Share of each direction, of equal steps clockwise from the plane's north; their sum is 1.
    pub shares: Vec<f64>,
}

impl SiteDirections {
    /// The middle direction of a share.
    pub fn direction(&self, index: usize) -> Angle {
        Angle::degrees(360.0 * index as f64 / self.shares.len() as f64)
    }
}

/// For every site with a sector that heard something, how likely each of `steps` directions is (at least 1; a multiple of 8
/// is cheapest) when all directions are alike beforehand. Level and distance are left open: only the differences between
/// the site's sectors count, so that a site of one sector repeats its antenna's pattern.
pub fn directions(sectors: &Sectors, steps: usize) -> Vec<SiteDirections> {
    let steps = steps.max(1);
    sectors.sites.iter().filter(|s| s.hears()).map(|site| shares(sectors, site, steps)).collect()
}

fn shares(sectors: &Sectors, site: &Site, steps: usize) -> SiteDirections {
    let alone = sectors.only(site);
    let mut logs = Vec::with_capacity(steps + LANES);
    for first in (0..steps).step_by(LANES) {
        let direction = std::array::from_fn(|l| std::f64::consts::TAU * (first + l) as f64 / steps as f64);
        logs.extend(alone.by_direction(&direction));
    }
    logs.truncate(steps);
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
    let sum: f64 = weights.iter().sum();
    SiteDirections { sectors: site.members.clone(), shares: weights.iter().map(|w| w / sum).collect() }
}
