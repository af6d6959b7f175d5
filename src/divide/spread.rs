//! The posterior as many small cells, which passes without a find thin out.

use crate::{
    divide::theory,
    geodesy::{Place, Plane, PlanePoint},
    numeric::portable::exp,
    solve::{
        Fit,
        tree::{Leaf, Mesh},
    },
    units::Metres,
};

/// A cell of the posterior.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cell {
    /// Its middle.
    pub at: PlanePoint,
    /// Length of its sides.
    pub side: Metres,
    /// Probability that the emitter is in it.
    pub probability: f64,
}

/// The posterior as cells; their probabilities add up to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    plane: Plane,
    cells: Vec<Cell>,
}

/// Cells are cut until their sides are about this long, or into 64.
const FINE: f64 = 15.0;

/// Cells with less probability than this are left out; all of them together hold next to nothing.
const NOTHING: f64 = 1e-9;

impl Spread {
    /// The posterior of a fit. Within a cell of its mesh the log density is interpolated from its corners and its centre.
    pub fn of(fit: &Fit) -> Self {
        let mesh = fit.mesh();
        let mut cells = Vec::new();
        for leaf in mesh.leaves.iter().filter(|l| l.mass > NOTHING) {
            cut(mesh, leaf, &mut cells);
        }
        Self::new(fit.plane(), cells)
    }

    /// Cells brought to a sum of 1; those without probability are left out.
    pub fn new(plane: Plane, mut cells: Vec<Cell>) -> Self {
        cells.retain(|c| c.probability > 0.0);
        let whole: f64 = cells.iter().map(|c| c.probability).sum();
        for cell in &mut cells {
            cell.probability /= whole;
        }
        Self { plane, cells }
    }

    /// The plane of the cells.
    pub const fn plane(&self) -> Plane {
        self.plane
    }

    /// The cells.
    pub fn cells(&self) -> &[Cell] {
        &self.cells
    }

    /// A place on the plane.
    pub fn point(&self, place: Place) -> PlanePoint {
        self.plane.to_plane(place)
    }

    /// Probability of what `within` holds.
    pub fn held(&self, within: impl Fn(PlanePoint) -> bool) -> f64 {
        self.cells.iter().filter(|c| within(c.at)).map(|c| c.probability).sum()
    }

    /// A pass that found nothing: each cell falls by its probability of detection ([`theory::pass`]). Gives the probability that the
    /// pass had of finding it; `None`, with nothing changed, where nothing would be left.
    pub fn pass(&mut self, detection: impl Fn(PlanePoint) -> f64) -> Option<f64> {
        let held: Vec<f64> = self.cells.iter().map(|c| c.probability).collect();
        let found: Vec<f64> = self.cells.iter().map(|c| detection(c.at)).collect();
        let passed = theory::pass(&held, &found)?;
        for (cell, left) in self.cells.iter_mut().zip(passed.left) {
            cell.probability = left;
        }
        Some(passed.success)
    }
}

fn cut(mesh: &Mesh, leaf: &Leaf, out: &mut Vec<Cell>) {
    let side = 2.0 * mesh.half / f64::from(1u32 << leaf.level.min(28));
    let centre = mesh.points[leaf.centre as usize];
    let whole = Cell {
        at: PlanePoint { east: centre[0], north: centre[1] },
        side: Metres::new(side),
        probability: leaf.mass,
    };
    let (Some(corners), true) = (leaf.corners, side > FINE && leaf.mass > 1e-6) else {
        out.push(whole);
        return;
    };
    let count = ((side / FINE).ceil() as usize).min(8);
    let logs = corners.map(|v| mesh.logs[v as usize]);
    let middle = mesh.logs[leaf.centre as usize];
    let step = |i: usize| (2.0 * i as f64 + 1.0) / count as f64 - 1.0;
    let mut fine: Vec<(f64, f64, f64)> = Vec::with_capacity(count * count);
    for row in 0..count {
        for column in 0..count {
            let (u, v) = (step(column), step(row));
            fine.push((u, v, fan(logs, middle, u, v)));
        }
    }
    let top = fine.iter().map(|f| f.2).fold(f64::NEG_INFINITY, f64::max);
    let shares: Vec<f64> = fine.iter().map(|f| exp(f.2 - top)).collect();
    let sum: f64 = shares.iter().sum();
    out.extend(fine.iter().zip(shares).map(|((u, v, _), share)| Cell {
        at: PlanePoint { east: centre[0] + 0.5 * side * u, north: centre[1] + 0.5 * side * v },
        side: Metres::new(side / count as f64),
        probability: leaf.mass * share / sum,
    }));
}

/// Interpolates between the centre and the nearest edge of the square [−1, 1]²; corners from the south-west, counter-clockwise.
fn fan(corners: [f64; 4], centre: f64, u: f64, v: f64) -> f64 {
    let m = u.abs().max(v.abs());
    if m == 0.0 {
        return centre;
    }
    let (p, q) = (0.5 * (u / m + 1.0), 0.5 * (v / m + 1.0));
    let south = corners[0] * (1.0 - p) + corners[1] * p;
    let north = corners[3] * (1.0 - p) + corners[2] * p;
    centre + m * (south * (1.0 - q) + north * q - centre)
}
