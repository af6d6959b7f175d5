//! Peaks of the posterior: where to start, how to climb, and how much of the mass belongs to each.

use nalgebra::{Matrix2, Vector2};

use crate::solve::{
    cut::{Ray, best_apart, cuts},
    density::{Density, LANES},
    lobe::concentration,
    scene::{Scene, TAIL},
    tree::{Mesh, key},
};

/// A polished peak.
#[derive(Clone, Debug)]
pub struct Peak {
    /// Metres east and north of the scene's centre.
    pub at: Vector2<f64>,
    /// Log density there.
    pub log: f64,
    /// Inverse of the negative Hessian of the log density.
    pub covariance: Matrix2<f64>,
}

impl Peak {
    /// Logarithm of the mass of a normal peak of this height and width.
    pub fn log_mass(&self) -> f64 {
        self.log + 0.5 * self.covariance.determinant().ln() + std::f64::consts::TAU.ln()
    }

    /// Squared distance in standard deviations of this peak.
    pub fn distance_squared(&self, to: &Vector2<f64>) -> f64 {
        let d = to - self.at;
        self.covariance.try_inverse().map_or(f64::INFINITY, |i| (d.transpose() * i * d)[0])
    }
}

/// Points where two bearings cut (ahead of both stands), the likeliest first, no two within a few metres per
/// kilometre of each other.
pub fn starts(density: &Density, keep: usize) -> Vec<Vector2<f64>> {
    let scene = density.scene;
    let rays: Vec<Ray> = scene
        .sights
        .iter()
        .map(|s| Ray { from: Vector2::new(s.east, s.north), sin: s.sin, cos: s.cos })
        .collect();
    let mut cuts = cuts(&rays);
    cuts.retain(|p| p.amax() < scene.within);
    let mut ranked: Vec<(f64, Vector2<f64>)> = Vec::with_capacity(cuts.len());
    for chunk in cuts.chunks(LANES) {
        let mut batch = ([0.0; LANES], [0.0; LANES]);
        for l in 0..LANES {
            let p = chunk.get(l).unwrap_or(&chunk[0]);
            (batch.0[l], batch.1[l]) = (p.x, p.y);
        }
        let logs = density.at(&batch);
        ranked.extend(chunk.iter().zip(logs).map(|(p, l)| (-l, *p)));
    }
    let mut out = best_apart(ranked, keep);
    out.extend(scene.others.iter().flat_map(|e| e.starts()));
    out
}

/// Fisher information of the place at a point: each bearing counts by its probability of being direct, the
/// shared error of north is a parameter with its prior, and the prior of the place adds its curvature.
pub fn information(density: &Density, at: &Vector2<f64>, weights: &[f64]) -> Matrix2<f64> {
    let scene = density.scene;
    let mut sum = Matrix2::zeros();
    let mut mixed = Vector2::zeros();
    let mut shared = 0.0;
    for (sight, weight) in scene.sights.iter().zip(weights) {
        let d = at - Vector2::new(sight.east, sight.north);
        let r2 = d.norm_squared().max(1e-6);
        let gradient = Vector2::new(d.y, -d.x) / r2;
        let k = weight * concentration(sight.sigma.powi(2) + sight.position / r2);
        sum += k * gradient * gradient.transpose();
        mixed += k * sight.shared * gradient;
        shared += k * sight.shared.powi(2);
    }
    let others: Matrix2<f64> = scene.others.iter().map(|e| e.information(at)).sum();
    sum - mixed * mixed.transpose() / (1.0 + shared) + prior_information(scene, at) + others
}

/// Curvature of the prior of the place, taken as the same in all directions so that it is never negative.
pub fn prior_information(scene: &Scene, at: &Vector2<f64>) -> Matrix2<f64> {
    Matrix2::identity() * (TAIL / (scene.knee.powi(2) + (at - scene.middle).norm_squared()))
}

/// Climbs from `start` to the nearest peak by damped Newton steps on the log density; the derivatives are
/// central differences over a fiftieth of the local standard deviation, which leaves the peak in place to about
/// 1e-4 standard deviations. `None` when the climb leaves the square or meets no curvature.
pub fn climb(density: &Density, start: Vector2<f64>) -> Option<Peak> {
    let mut at = start;
    let mut damping = 1e-3;
    let mut fisher = fisher(density, &at);
    let mut here = Local::at(density, &at, &fisher)?;
    for _ in 0..60 {
        let curvature = here.curvature(&fisher);
        let mut accepted = false;
        for _ in 0..12 {
            let damped = curvature + fisher * damping;
            let step = limited(damped.try_inverse()? * here.gradient, &fisher);
            let to = at + step;
            if to.amax() >= density.scene.within {
                return None;
            }
            let length = (step.transpose() * fisher * step)[0].sqrt();
            // The slopes there come with the height: where the step is taken, which is nearly always, the next one needs them.
            let there = Local::at(density, &to, &fisher).filter(|there| there.height - here.height >= -1e-9);
            if let Some(there) = there {
                (at, here) = (to, there);
                fisher = self::fisher(density, &at);
                damping = (damping * 0.1).max(1e-9);
                accepted = true;
            }
            if length < 1e-4 {
                return here.peak(at, &fisher);
            }
            if accepted {
                break;
            }
            damping = (damping * 10.0).max(1e-3);
        }
        if !accepted {
            break;
        }
    }
    here.peak(at, &fisher)
}

/// Fisher information of the place at a point, bearings weighed by what they are taken for there.
fn fisher(density: &Density, at: &Vector2<f64>) -> Matrix2<f64> {
    let verdicts = density.verdicts(at.x, at.y);
    let weights: Vec<f64> = verdicts.iter().map(|v| v.0 + v.1).collect();
    information(density, at, &weights)
}

/// A step of at most three standard deviations.
fn limited(step: Vector2<f64>, fisher: &Matrix2<f64>) -> Vector2<f64> {
    let length = (step.transpose() * fisher * step)[0].sqrt();
    if length > 3.0 { step * (3.0 / length) } else { step }
}

/// Log density with its gradient and Hessian by central differences.
struct Local {
    height: f64,
    gradient: Vector2<f64>,
    hessian: Matrix2<f64>,
}

impl Local {
    /// One batch of points for all: the middle, two along each axis, and two along the diagonal.
    fn at(density: &Density, at: &Vector2<f64>, fisher: &Matrix2<f64>) -> Option<Self> {
        let h = 0.02 / fisher.symmetric_eigenvalues().max().sqrt();
        if !h.is_finite() {
            return None;
        }
        let (mut east, mut north) = ([at.x; LANES], [at.y; LANES]);
        let offsets = [(1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1)];
        for (l, (dx, dy)) in offsets.into_iter().enumerate() {
            east[l] += h * f64::from(dx);
            north[l] += h * f64::from(dy);
        }
        let f = density.at(&(east, north));
        let height = f[6];
        let gradient = Vector2::new(f[0] - f[1], f[2] - f[3]) / (2.0 * h);
        let (xx, yy) = (f[0] + f[1] - 2.0 * height, f[2] + f[3] - 2.0 * height);
        let xy = 0.5 * (f[4] + f[5] - 2.0 * height - xx - yy);
        let hessian = Matrix2::new(xx, xy, xy, yy) / (h * h);
        gradient.iter().all(|g| g.is_finite()).then_some(Self { height, gradient, hessian })
    }

    /// The peak that was reached here.
    fn peak(&self, at: Vector2<f64>, fisher: &Matrix2<f64>) -> Option<Peak> {
        let covariance = self.curvature(fisher).try_inverse()?;
        Some(Peak { at, log: self.height, covariance })
    }

    /// Minus the Hessian where it is positive definite, else the Fisher information.
    fn curvature(&self, fisher: &Matrix2<f64>) -> Matrix2<f64> {
        let negative = -self.hessian;
        let sound = negative.trace() > 0.0 && negative.determinant() > 1e-6 * fisher.determinant();
        if sound { negative } else { *fisher }
    }
}

/// A peak of the mesh with the mass around it.
#[derive(Clone, Debug)]
pub struct Basin {
    /// The highest vertex.
    pub top: Vector2<f64>,
    /// Share of the whole mass.
    pub share: f64,
}

/// Two peaks are told apart when the saddle between them lies lower than the smaller one by this factor's
/// logarithm: a dip of less than a fifth is not a second story.
const DIP: f64 = 0.2;

/// Divides the mass among the peaks of the mesh: cells are taken from the highest to the lowest, each joins the
/// highest neighbouring basin, and basins that meet without a real dip between them become one.
pub fn basins(mesh: &Mesh) -> Vec<Basin> {
    let neighbours = neighbours(mesh);
    let mut order: Vec<u32> = (0..mesh.leaves.len() as u32).collect();
    order.sort_by(|a, b| mesh.leaves[*b as usize].height.total_cmp(&mesh.leaves[*a as usize].height));
    let mut basin_of: Vec<u32> = vec![u32::MAX; mesh.leaves.len()];
    let mut parent: Vec<u32> = Vec::new();
    let mut tops: Vec<u32> = Vec::new();
    for &leaf in &order {
        let height = mesh.leaves[leaf as usize].height;
        let mut around: Vec<u32> = neighbours[leaf as usize]
            .iter()
            .filter(|n| basin_of[**n as usize] != u32::MAX)
            .map(|n| root(&mut parent, basin_of[*n as usize]))
            .collect();
        around.sort_unstable_by(|a, b| {
            mesh.leaves[tops[*b as usize] as usize]
                .height
                .total_cmp(&mesh.leaves[tops[*a as usize] as usize].height)
        });
        around.dedup();
        let Some(&highest) = around.first() else {
            parent.push(parent.len() as u32);
            tops.push(leaf);
            basin_of[leaf as usize] = parent.len() as u32 - 1;
            continue;
        };
        basin_of[leaf as usize] = highest;
        for &other in &around[1..] {
            if mesh.leaves[tops[other as usize] as usize].height - height < DIP {
                parent[other as usize] = highest;
            }
        }
    }
    let mut shares = vec![0.0; parent.len()];
    for (leaf, basin) in mesh.leaves.iter().zip(&basin_of) {
        let r = root(&mut parent, *basin);
        shares[r as usize] += leaf.mass;
    }
    let mut out: Vec<Basin> = (0..parent.len())
        .filter(|b| parent[*b] == *b as u32)
        .map(|b| {
            let p = mesh.points[mesh.leaves[tops[b] as usize].centre as usize];
            Basin { top: Vector2::new(p[0], p[1]), share: shares[b] }
        })
        .collect();
    out.sort_by(|a, b| b.share.total_cmp(&a.share));
    out
}

fn root(parent: &mut [u32], mut at: u32) -> u32 {
    while parent[at as usize] != at {
        parent[at as usize] = parent[parent[at as usize] as usize];
        at = parent[at as usize];
    }
    at
}

/// For every leaf the leaves that share an edge with it, from the finer side: across each edge of a leaf lies
/// either a leaf at least as coarse (found by walking up the levels) or finer ones (which find this leaf).
fn neighbours(mesh: &Mesh) -> Vec<Vec<u32>> {
    let depth = 28;
    let mut by_cell = std::collections::HashMap::with_capacity_and_hasher(
        mesh.leaves.len(),
        crate::solve::tree::Quick::default(),
    );
    let name =
        |west: u32, south: u32, level: u32| key(west, south) ^ (u64::from(level) << 58 | u64::from(level));
    for (i, leaf) in mesh.leaves.iter().enumerate() {
        by_cell.insert(name(leaf.west, leaf.south, leaf.level), i as u32);
    }
    let mut out = vec![Vec::new(); mesh.leaves.len()];
    let most = 1u32 << depth;
    for (i, leaf) in mesh.leaves.iter().enumerate() {
        let side = 1u32 << (depth - leaf.level);
        let beside = [
            leaf.west.checked_sub(1).map(|x| (x, leaf.south)),
            Some((leaf.west + side, leaf.south)).filter(|p| p.0 < most),
            leaf.south.checked_sub(1).map(|y| (leaf.west, y)),
            Some((leaf.west, leaf.south + side)).filter(|p| p.1 < most),
        ];
        for (x, y) in beside.into_iter().flatten() {
            let found = (3..=leaf.level).rev().find_map(|level| {
                let mask = !((1u32 << (depth - level)) - 1);
                by_cell.get(&name(x & mask, y & mask, level)).copied()
            });
            if let Some(other) = found {
                out[i].push(other);
                out[other as usize].push(i as u32);
            }
        }
    }
    out
}
