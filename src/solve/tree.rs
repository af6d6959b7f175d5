//! The posterior over the whole square, on a mesh of square cells that is fine where the mass is.
//!
//! A cell is left as it is when an upper bound of its mass is negligible, or when it holds little mass and
//! the density hardly varies over it; otherwise it is cut in four. The bound is rigorous on the plane, so that
//! no separate peak is passed over however narrow it is.

use std::collections::HashMap;

use crate::solve::{
    density::{Batch, Density, LANES},
    tiles::Tiles,
};

/// Cells are addressed on a lattice of 2^28 steps per side: 0.4 mm for a square of 100 km.
const DEPTH: u32 = 28;

/// A cell whose bound on the mass is below this share of the whole is left alone. With at most a few thousand
/// such cells at once the mass left out of the refinement stays below 0.1 %.
const NEGLIGIBLE: f64 = 1e-7;

/// A cell whose half-diagonal is at most this many of the finest lengths on which the density can vary shows by its corners and
/// centre whatever it holds: no place in it is further than 0.71 half-diagonals from one of them, where a normal peak of that length
/// still has e⁻² of its height; a bound above them by less is not looked into either.
const SMOOTH: f64 = 2.8;

/// Greatest number of cells; reached only by problems that hardly constrain the place. The mesh is then
/// coarser than asked for, never incomplete.
const MOST_CELLS: usize = 200_000;

/// A cell of the finished mesh.
#[derive(Clone, Copy, Debug)]
pub struct Leaf {
    /// Vertex at the centre.
    pub centre: u32,
    /// South-west, south-east, north-east, north-west vertices; absent for cells of negligible mass.
    pub corners: Option<[u32; 4]>,
    /// Lattice coordinates of the south-west corner.
    pub west: u32,
    /// See `west`.
    pub south: u32,
    /// The cell's side is 2^(28 − level) lattice steps.
    pub level: u32,
    /// Share of the posterior mass.
    pub mass: f64,
    /// Log density averaged over the cell, on the scale of [`Mesh::logs`].
    pub height: f64,
}

/// The finished mesh.
#[derive(Clone, Debug)]
pub struct Mesh {
    /// Vertices: metres east and north of the centre.
    pub points: Vec<[f64; 2]>,
    /// Log density at each vertex, relative to a common constant.
    pub logs: Vec<f64>,
    /// Corner vertices by lattice coordinates.
    pub lattice: HashMap<u64, u32, Quick>,
    /// All leaves; together they cover the square once.
    pub leaves: Vec<Leaf>,
    /// Half-width of the square.
    pub half: f64,
    /// Logarithm of the integral of the density over the square, on the scale of `logs`.
    pub evidence: f64,
}

/// A hasher for lattice keys: one multiplication spreads the bits well enough.
#[derive(Clone, Copy, Debug, Default)]
pub struct Quick(u64);

impl std::hash::BuildHasher for Quick {
    type Hasher = Self;
    fn build_hasher(&self) -> Self {
        Self(0)
    }
}

impl std::hash::Hasher for Quick {
    fn finish(&self) -> u64 {
        self.0
    }
    fn write_u32(&mut self, key: u32) {
        self.write_u64(u64::from(key));
    }
    fn write(&mut self, bytes: &[u8]) {
        for b in bytes {
            self.write_u64(u64::from(*b));
        }
    }
    fn write_u64(&mut self, key: u64) {
        let mixed = (self.0 ^ key).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        self.0 = mixed ^ (mixed >> 32);
    }
}

/// Key of a lattice point.
pub fn key(x: u32, y: u32) -> u64 {
    (u64::from(x) << 32) | u64::from(y)
}

#[derive(Clone, Copy)]
struct Cell {
    west: u32,
    south: u32,
    level: u32,
    /// Upper bound of the log density, from the parent.
    ceiling: f64,
    /// Whether the parent's bound was far above its values, so that this cell's own is worth computing.
    wary: bool,
}

/// Cells of the first, rough mesh where levels or sectors speak: their posterior may be many times wider than its peaks show.
const ROUGH_CELLS: f64 = 4.0;

/// A place of which something is known before the mesh is built.
#[derive(Clone, Copy, Debug)]
pub struct Known {
    /// Metres east and north.
    pub at: [f64; 2],
    /// Logarithm of the density, or of one factor of it.
    pub log: f64,
    /// Logarithm of the mass that the place stands for, of the same.
    pub mass: f64,
}

/// Builds the mesh. `guess` is the logarithm of the mass as far as known beforehand, `known` are places that it must look into,
/// `cells` how finely the mass is resolved.
pub fn mesh(density: &Density, guess: Option<f64>, known: &[Known], cells: f64) -> Mesh {
    density.of_bearings(|bare| meshed(Builder::new(density, bare, known), guess, cells))
}

fn meshed(mut builder: Builder, guess: Option<f64>, cells: f64) -> Mesh {
    let mut reference = guess;
    builder.wary = !builder.others.is_empty();
    if builder.wary {
        reference = Some(builder.roughly(guess));
    }
    loop {
        let evidence = builder.run(reference, cells);
        // The mesh is fine enough when the reference was not much above the truth.
        match reference {
            Some(_) if builder.greatest > evidence + 1.2 => {
                (reference, builder.wary) = (Some(evidence), false)
            }
            None => reference = Some(evidence),
            _ => return builder.finish(evidence),
        }
    }
}

/// Vertices and bounds stay from one run to the next, so that none is evaluated twice.
struct Builder<'a> {
    density: &'a Density<'a>,
    /// The density of the bearings alone.
    bare: &'a Density<'a>,
    /// What else speaks of the place.
    others: Vec<Tiles<'a>>,
    /// Places that must be looked into.
    known: &'a [Known],
    half: f64,
    step: f64,
    reference: Option<f64>,
    /// Whether the reference may be far too low, so that what is found on the way counts too: where levels speak, peaks of the
    /// bearings may lie where nothing is, and a mesh for so little mass would be fine everywhere.
    wary: bool,
    /// The greatest reference of this run.
    greatest: f64,
    share: f64,
    points: Vec<[f64; 2]>,
    logs: Vec<f64>,
    /// The part of others in these.
    said: Vec<f64>,
    lattice: HashMap<u64, u32, Quick>,
    /// By vertex, what is known of the cell whose centre it is: it is the centre of one only.
    around: HashMap<u32, Around, Quick>,
    leaves: Vec<Leaf>,
}

/// What is known of a cell beside its values.
#[derive(Clone, Copy)]
struct Around {
    /// Whether the density may vary within it on a length that its values do not show.
    rough: bool,
    /// Upper bound of the log density, where it was asked for.
    bound: f64,
}

impl<'a> Builder<'a> {
    fn new(density: &'a Density<'a>, bare: &'a Density<'a>, known: &'a [Known]) -> Self {
        let half = density.scene.within;
        Self {
            density,
            bare,
            others: density.scene.others.iter().map(|e| Tiles::new(&**e, half)).collect(),
            known,
            half,
            step: 2.0 * half / f64::from(1u32 << DEPTH),
            reference: None,
            wary: false,
            greatest: f64::NEG_INFINITY,
            share: 1.0,
            points: Vec::with_capacity(4096),
            logs: Vec::with_capacity(4096),
            said: Vec::with_capacity(4096),
            lattice: HashMap::with_capacity_and_hasher(4096, Quick::default()),
            around: HashMap::default(),
            leaves: Vec::with_capacity(2048),
        }
    }

    /// The logarithm of the mass as a rough mesh finds it.
    fn roughly(&mut self, guess: Option<f64>) -> f64 {
        let found = self.run(guess, ROUGH_CELLS);
        // The guess was too high, or a peak met by chance in the middle of a large cell was taken for the whole of it for a while.
        if self.greatest > found + 1.2 { self.run(Some(found), ROUGH_CELLS) } else { found }
    }

    /// Covers the square anew, and returns the logarithm of the mass found.
    fn run(&mut self, reference: Option<f64>, cells: f64) -> f64 {
        (self.reference, self.share) = (reference, 1.0 / cells);
        self.greatest = f64::NEG_INFINITY;
        self.leaves.clear();
        let side = 1u32 << (DEPTH - 3);
        let mut front: Vec<Cell> = (0..64)
            .map(|i| Cell {
                west: (i % 8) * side,
                south: (i / 8) * side,
                level: 3,
                ceiling: f64::INFINITY,
                wary: true,
            })
            .collect();
        while !front.is_empty() {
            front = self.level(&front);
        }
        log_sum(self.leaves.iter().map(|l| l.mass))
    }

    /// Log of the area of a cell.
    fn log_area(&self, level: u32) -> f64 {
        2.0 * (2.0 * self.half / f64::from(1u32 << level)).ln()
    }

    fn level(&mut self, cells: &[Cell]) -> Vec<Cell> {
        let level = cells[0].level;
        let area = self.log_area(level);
        let side = 1u32 << (DEPTH - level);
        let centres: Vec<u32> =
            self.evaluate(cells.iter().map(|c| (c.west + side / 2, c.south + side / 2)).collect());
        let (bounds, rough) = self.bounds(cells, &centres, side);
        let mut reference = self.reference.unwrap_or_else(|| self.running(&centres, area));
        if self.wary {
            reference = reference.max(self.running(&centres, area));
        }
        self.greatest = self.greatest.max(reference);
        let alive: Vec<usize> =
            (0..cells.len()).filter(|&i| bounds[i] + area > reference + NEGLIGIBLE.ln()).collect();
        let corners = self.corners(cells, &alive, side);
        let room = self.leaves.len() + 4 * alive.len() < MOST_CELLS && level < DEPTH - 1;
        let mut next = Vec::new();
        let mut at = 0;
        for (i, cell) in cells.iter().enumerate() {
            let corner = (alive.get(at) == Some(&i)).then(|| {
                at += 1;
                corners[at - 1]
            });
            let look =
                Look::of(self.logs[centres[i] as usize], corner.map(|c| c.map(|v| self.logs[v as usize])));
            if corner.is_some()
                && room
                && look.wants_cutting(rough[i].then_some(bounds[i]), area - reference, self.share)
            {
                let wary = rough[i] && bounds[i] > look.top + 0.5;
                let half = side / 2;
                for (dx, dy) in [(0, 0), (half, 0), (half, half), (0, half)] {
                    next.push(Cell {
                        west: cell.west + dx,
                        south: cell.south + dy,
                        level: level + 1,
                        ceiling: bounds[i],
                        wary,
                    });
                }
            } else {
                self.leaves.push(Leaf {
                    centre: centres[i],
                    corners: corner,
                    west: cell.west,
                    south: cell.south,
                    level,
                    mass: look.height + area,
                    height: look.height,
                });
            }
        }
        next
    }

    /// Mass found so far, for want of a better reference: the present cells by their centres, and the leaves.
    fn running(&self, centres: &[u32], area: f64) -> f64 {
        let here = centres.iter().map(|&c| self.logs[c as usize] + area);
        log_sum(here.chain(self.leaves.iter().map(|l| l.mass))) - 3.0
    }

    /// Upper bounds of the log density over each cell, and whether the density may vary within the cell on a length that
    /// its five samples do not show. Once it cannot, the parent's bound stays and nothing can hide.
    fn bounds(&mut self, cells: &[Cell], centres: &[u32], side: u32) -> (Vec<f64>, Vec<bool>) {
        let radius = f64::from(side) * self.step * std::f64::consts::FRAC_1_SQRT_2;
        let wary: Vec<usize> = (0..cells.len()).filter(|&i| cells[i].wary).collect();
        let fresh: Vec<u32> =
            wary.iter().map(|&i| centres[i]).filter(|c| !self.around.contains_key(c)).collect();
        self.look_around(&fresh, radius);
        let mut bounds: Vec<f64> = cells.iter().map(|c| c.ceiling).collect();
        let mut rough = vec![false; cells.len()];
        for i in wary {
            if let Some(around) = self.around.get(&centres[i]) {
                rough[i] = around.rough;
                bounds[i] = bounds[i].min(around.bound);
            }
            // What is known to be there may be more than evidence other than bearings could tell.
            let most = self.known_in(&cells[i], side);
            if most > bounds[i].min(self.logs[centres[i] as usize] + 0.5) {
                (bounds[i], rough[i]) = (bounds[i].max(most), true);
            }
        }
        (bounds, rough)
    }

    /// The greatest density that is known of a place in a cell.
    fn known_in(&self, cell: &Cell, side: u32) -> f64 {
        let coordinate = |i: u32| f64::from(i) * self.step - self.half;
        let (west, south) = (coordinate(cell.west), coordinate(cell.south));
        let side = f64::from(side) * self.step;
        let inside = |k: &&Known| {
            let (east, north) = (k.at[0] - west, k.at[1] - south);
            east >= 0.0 && east <= side && north >= 0.0 && north <= side
        };
        self.known.iter().filter(inside).map(|k| k.log).fold(f64::NEG_INFINITY, f64::max)
    }

    /// Learns what is around the centres of cells; smooth ones need no bound.
    fn look_around(&mut self, centres: &[u32], radius: f64) {
        let mut rough = Vec::with_capacity(centres.len());
        for chunk in centres.chunks(LANES) {
            let batch = batch(chunk.iter().map(|&c| self.points[c as usize]));
            for (&centre, finest) in chunk.iter().zip(self.density.finest(&batch, radius)) {
                let around = Around { rough: radius > SMOOTH * finest, bound: f64::INFINITY };
                self.around.insert(centre, around);
                if around.rough {
                    rough.push(centre);
                }
            }
        }
        for chunk in rough.chunks(LANES) {
            let batch = batch(chunk.iter().map(|&c| self.points[c as usize]));
            for (&centre, bound) in chunk.iter().zip(self.bound(&batch, radius)) {
                let bound = bound + self.said[centre as usize];
                self.around.insert(centre, Around { rough: true, bound });
            }
        }
    }

    /// Upper bounds of the log density over discs, less what others say of their centres.
    fn bound(&self, batch: &Batch, radius: f64) -> [f64; LANES] {
        let mut out = self.bare.bound(batch, radius);
        for evidence in self.density.scene.others.iter() {
            for (bound, hidden) in out.iter_mut().zip(evidence.hidden(batch, radius)) {
                *bound += hidden;
            }
        }
        out
    }

    fn corners(&mut self, cells: &[Cell], alive: &[usize], side: u32) -> Vec<[u32; 4]> {
        let wanted: Vec<(u32, u32)> = alive
            .iter()
            .flat_map(|&i| {
                let (w, s) = (cells[i].west, cells[i].south);
                [(w, s), (w + side, s), (w + side, s + side), (w, s + side)]
            })
            .collect();
        let found = self.evaluate(wanted);
        found.chunks_exact(4).map(|c| [c[0], c[1], c[2], c[3]]).collect()
    }

    /// Vertices at the lattice points, evaluated where they are new.
    fn evaluate(&mut self, wanted: Vec<(u32, u32)>) -> Vec<u32> {
        let first = self.points.len();
        let mut out = Vec::with_capacity(wanted.len());
        for (x, y) in wanted {
            let fresh = self.points.len() as u32;
            let vertex = *self.lattice.entry(key(x, y)).or_insert(fresh);
            if vertex == fresh {
                self.points
                    .push([f64::from(x) * self.step - self.half, f64::from(y) * self.step - self.half]);
            }
            out.push(vertex);
        }
        self.said.resize(self.points.len(), 0.0);
        for tiles in &mut self.others {
            for (sum, value) in self.said[first..].iter_mut().zip(tiles.values(&self.points[first..])) {
                *sum += value;
            }
        }
        for start in (first..self.points.len()).step_by(LANES) {
            let end = (start + LANES).min(self.points.len());
            let logs = self.bare.at(&batch(self.points[start..end].iter().copied()));
            self.logs.extend((start..end).map(|i| logs[i - start] + self.said[i]));
        }
        out
    }

    fn finish(mut self, evidence: f64) -> Mesh {
        for leaf in &mut self.leaves {
            leaf.mass = (leaf.mass - evidence).exp();
        }
        Mesh {
            points: self.points,
            logs: self.logs,
            lattice: self.lattice,
            leaves: self.leaves,
            half: self.half,
            evidence,
        }
    }
}

/// What the values at the centre and corners of a cell show.
struct Look {
    top: f64,
    spread: f64,
    height: f64,
}

impl Look {
    fn of(centre: f64, corners: Option<[f64; 4]>) -> Self {
        let Some(corners) = corners else {
            return Self { top: centre, spread: 0.0, height: centre };
        };
        let top = corners.iter().copied().fold(centre, f64::max);
        let low = corners.iter().copied().fold(centre, f64::min);
        // Exact for quadratic densities: two thirds of the centre and a twelfth of each corner.
        let mean =
            (2.0 / 3.0) * (centre - top).exp() + corners.iter().map(|c| (c - top).exp() / 12.0).sum::<f64>();
        Self { top, spread: top - low, height: top + mean.ln() }
    }

    /// `scale` is the log of (cell area ÷ whole mass).
    /// `bound` is the upper bound for a cell that may hide something.
    fn wants_cutting(&self, bound: Option<f64>, scale: f64, share: f64) -> bool {
        let most = (self.top + scale).exp();
        let varied = if most > 0.1 * share { 1.2 } else { 3.0 };
        let hidden = bound.is_some_and(|b| (b + scale).exp() > share && b - self.top > 2.0);
        most > share || hidden || (self.spread > varied && most > 3e-3 * share)
    }
}

/// Up to [`LANES`] points side by side; the last is repeated to fill.
pub fn batch(points: impl Iterator<Item = [f64; 2]>) -> Batch {
    let mut out = ([0.0; LANES], [0.0; LANES]);
    let mut last = 0;
    for (l, p) in points.enumerate() {
        (out.0[l], out.1[l]) = (p[0], p[1]);
        last = l;
    }
    for l in last + 1..LANES {
        (out.0[l], out.1[l]) = (out.0[last], out.1[last]);
    }
    out
}

/// ln Σ e^x.
pub fn log_sum(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let top = values.clone().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY { top } else { top + values.map(|v| (v - top).exp()).sum::<f64>().ln() }
}
