//! Sectors with their azimuths brought to true north.

use crate::{
    finding::Finding,
    north::bearing::{Direction, Settings, contradicted, correction, told},
    observe::{Beam, Sector},
    units::{Angle, Sigma},
};

/// A sector whose azimuth counts from true north. Only [`resolve_sectors`] makes one.
#[derive(Clone, Debug, PartialEq)]
pub struct TrueSector {
    sector: Sector,
    axis: Option<(Angle, Angle)>,
}

impl TrueSector {
    /// The sector as it was written down.
    pub const fn sector(&self) -> &Sector {
        &self.sector
    }

    /// Azimuth of the main lobe clockwise from true north, in [0°, 360°), and the full half-power beamwidth; `None` for an
    /// antenna that looks in all directions.
    pub const fn axis(&self) -> Option<(Angle, Angle)> {
        self.axis
    }
}

/// Sectors brought to true north, and what there is to tell about it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ResolvedSectors {
    /// In the order given; refused ones are missing and named in `findings`.
    pub sectors: Vec<TrueSector>,
    /// Assumptions made and sectors refused.
    pub findings: Vec<Finding>,
}

/// Brings the azimuth of every sector to true north, by the same rules as [`crate::north::resolve`] does bearings.
pub fn resolve_sectors(sectors: &[Sector], settings: &Settings) -> ResolvedSectors {
    let mut out = ResolvedSectors::default();
    let mut applied: Vec<(Angle, Sigma<Angle>)> = Vec::new();
    for sector in sectors {
        let axis = match (direction(sector), sector.beam) {
            (Some(direction), Beam::Sector { azimuth, beamwidth, .. }) => {
                match correction(&direction, settings) {
                    Ok((correction, shared)) => {
                        applied.extend(shared.map(|s| (correction, s)));
                        Some((azimuth.turned(correction), beamwidth))
                    }
                    Err(finding) => {
                        out.findings.push((*finding).at(sector.origin()));
                        continue;
                    }
                }
            }
            _ => None,
        };
        out.sectors.push(TrueSector { sector: sector.clone(), axis });
    }
    out.findings.extend(told(&applied, "azimuth(s) of sectors", settings));
    out.findings.extend(contradicted(sectors.iter().filter_map(direction), settings));
    out
}

fn direction(sector: &Sector) -> Option<Direction<'_>> {
    let Beam::Sector { north, .. } = sector.beam else { return None };
    let date = sector.civil_date();
    Some(Direction { what: "azimuth of sector", id: &sector.id, at: sector.at, north, date })
}
