//! Search, then polish: a posterior over the whole square, its peaks and their shares of the mass.

use nalgebra::Vector2;

use crate::solve::{
    density::{Density, LANES},
    modes::{Peak, basins, climb, starts},
    tree::{Known, Mesh, batch, log_sum, mesh},
};

/// The posterior with its peaks.
#[derive(Clone, Debug)]
pub struct Posterior {
    /// The mesh of the whole square.
    pub mesh: Mesh,
    /// Polished peaks with their shares of the mass, greatest share first.
    pub peaks: Vec<(Peak, f64)>,
}

/// Peaks below this share of the mass are not told as stories.
const TOLD: f64 = 0.02;

/// Steps of the spatial median; each halves what is left at least roughly.
const MEDIAN_STEPS: usize = 60;

/// Searches the whole square.
pub fn search(density: &Density, cells: f64) -> Posterior {
    let (first, mesh) = meshed(density, cells);
    let basins = basins(&mesh);
    let mut peaks: Vec<(Peak, f64)> = Vec::new();
    for (i, basin) in basins.iter().enumerate() {
        if i > 0 && basin.share < TOLD {
            break;
        }
        let near = first.iter().find(|p| p.distance_squared(&basin.top) < 1.0).cloned();
        let Some(peak) = near.or_else(|| climb(density, basin.top)) else { continue };
        match peaks.iter_mut().find(|(p, _)| p.distance_squared(&peak.at) < 0.25) {
            Some(same) => same.1 += basin.share,
            None => peaks.push((peak, basin.share)),
        }
    }
    peaks.sort_by(|a, b| b.1.total_cmp(&a.1));
    Posterior { mesh, peaks }
}

/// First peaks, and the mesh. Where levels or sectors speak, a rough mesh does for the peaks what climbing would at a higher price;
/// how much mass there is at least, the peaks of the bearings tell, and the places that levels hold likely.
fn meshed(density: &Density, cells: f64) -> (Vec<Peak>, Mesh) {
    let others = !density.scene.others.is_empty();
    let first = if others { density.of_bearings(|d| first(d, 1)) } else { first(density, 3) };
    let mesh = match others {
        false => mesh(density, guess(&first), &[], cells),
        true => {
            let mut known = covered(density);
            known.extend(first.iter().map(|p| {
                let log = density.at_point(p.at.x, p.at.y);
                Known { at: [p.at.x, p.at.y], log, mass: log - p.log + p.log_mass() }
            }));
            known.retain(|k| k.log.is_finite() && k.mass.is_finite());
            let mass = log_sum(known.iter().map(|k| k.mass));
            mesh(density, Some(mass).filter(|m| m.is_finite()), &known, cells)
        }
    };
    (if others { Vec::new() } else { first }, mesh)
}

/// The places that other evidence than bearings holds likely; none where none of it knows.
fn covered(density: &Density) -> Vec<Known> {
    let others = &density.scene.others;
    let Some((own, places)) = others.iter().map(|e| e.masses()).enumerate().find(|m| !m.1.is_empty()) else {
        return Vec::new();
    };
    density.of_bearings(|bare| {
        let mut out = Vec::with_capacity(places.len());
        for chunk in places.chunks(LANES) {
            let points = batch(chunk.iter().map(|m| m.at));
            let mut logs = bare.at(&points);
            for (_, evidence) in others.iter().enumerate().filter(|(i, _)| *i != own) {
                logs.iter_mut().zip(evidence.at(&points)).for_each(|(log, other)| *log += other);
            }
            out.extend(chunk.iter().zip(logs).map(|(m, log)| Known {
                log: m.log + log,
                mass: m.mass + log,
                ..*m
            }));
        }
        out
    })
}

/// Logarithm of the mass that these peaks show there is at least; `None` without any.
pub(super) fn guess(peaks: &[Peak]) -> Option<f64> {
    most(peaks.iter().map(Peak::log_mass))
}

fn most(masses: impl Iterator<Item = f64>) -> Option<f64> {
    masses.filter(|m| m.is_finite()).max_by(f64::total_cmp)
}

/// Peaks above some of the likeliest cuts of lines.
pub(super) fn first(density: &Density, cuts: usize) -> Vec<Peak> {
    starts(density, cuts).into_iter().filter_map(|s| climb(density, s)).collect()
}

/// Logarithm of the integral of the density over the square, as [`search`] finds it.
pub fn evidence(density: &Density, cells: f64) -> f64 {
    meshed(density, cells).1.evidence
}

impl Posterior {
    /// The point from which the mean distance to the emitter is least (the spatial median), by Weiszfeld's iteration from the
    /// mean, metres east and north of the centre. Unlike the mean it does not follow a thin tail far out.
    pub fn median(&self) -> Vector2<f64> {
        let mut at = self.mean();
        let leaves: Vec<(Vector2<f64>, f64)> = self
            .mesh
            .leaves
            .iter()
            .filter(|leaf| leaf.mass > 1e-7)
            .map(|leaf| {
                let p = self.mesh.points[leaf.centre as usize];
                (Vector2::new(p[0], p[1]), leaf.mass)
            })
            .collect();
        for _ in 0..MEDIAN_STEPS {
            let (mut weight, mut sum) = (0.0, Vector2::zeros());
            for (p, mass) in &leaves {
                let w = mass / (p - at).norm().max(1e-6);
                weight += w;
                sum += w * p;
            }
            at = sum / weight;
        }
        at
    }

    /// Posterior mean, metres east and north of the centre.
    pub fn mean(&self) -> Vector2<f64> {
        self.mesh.leaves.iter().fold(Vector2::zeros(), |sum, leaf| {
            let p = self.mesh.points[leaf.centre as usize];
            sum + Vector2::new(p[0], p[1]) * leaf.mass
        })
    }
}
