//! Outlines of parts: a raster of who is nearest, and lines around each one's cells.

use std::collections::BTreeMap;

use crate::geodesy::PlanePoint;

/// A closed ring on the plane; the last point is not a repetition of the first.
pub type PlaneRing = Vec<PlanePoint>;

/// Cells of a raster by column and row, and the side of each.
#[derive(Clone, Debug)]
pub struct Raster {
    /// South-west corner of the cell (0, 0).
    pub origin: PlanePoint,
    /// Side of a cell, metres.
    pub side: f64,
    /// Which part each cell belongs to.
    pub cells: BTreeMap<(i32, i32), u32>,
}

/// More cells than this along a side of the raster are not drawn.
const MOST: f64 = 250.0;

impl Raster {
    /// The cells around points of several parts: each within `margin` metres belongs to the nearest point. Points should stand
    /// closer together than `margin`.
    pub fn around(points: &[(PlanePoint, u32)], margin: f64) -> Self {
        let span = |of: fn(&PlanePoint) -> f64| {
            let all = points.iter().map(|p| of(&p.0));
            all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)))
        };
        let ((west, east), (south, north)) = (span(|p| p.east), span(|p| p.north));
        let extent = (east - west).max(north - south) + 2.0 * margin;
        let side = if extent.is_finite() { (0.25 * margin).max(extent / MOST) } else { 1.0 };
        let origin = PlanePoint { east: west - margin, north: south - margin };
        let mut nearest: BTreeMap<(i32, i32), (f64, u32)> = BTreeMap::new();
        let reach = (margin / side).ceil() as i32;
        for (point, part) in points {
            let (x, y) = ((point.east - origin.east) / side, (point.north - origin.north) / side);
            for column in x as i32 - reach..=x as i32 + reach {
                for row in y as i32 - reach..=y as i32 + reach {
                    let far = side * (f64::from(column) + 0.5 - x).hypot(f64::from(row) + 0.5 - y);
                    let best = nearest.entry((column, row)).or_insert((f64::INFINITY, 0));
                    if far <= margin && far < best.0 {
                        *best = (far, *part);
                    }
                }
            }
        }
        nearest.retain(|_, best| best.0.is_finite());
        Self { origin, side, cells: nearest.into_iter().map(|(cell, best)| (cell, best.1)).collect() }
    }

    /// Rings around the cells of a part, through the middles of the cells' sides: outer rings counter-clockwise, holes clockwise.
    pub fn rings(&self, part: u32) -> Vec<PlaneRing> {
        let own = |c: i32, r: i32| self.cells.get(&(c, r)) == Some(&part);
        // Sides of cells with the own cell on the left, by the corner where each begins.
        let mut sides: BTreeMap<(i32, i32), Vec<(i32, i32)>> = BTreeMap::new();
        for (&(c, r), _) in self.cells.iter().filter(|(_, p)| **p == part) {
            let around = [
                ((c, r - 1), (c, r), (c + 1, r)),
                ((c + 1, r), (c + 1, r), (c + 1, r + 1)),
                ((c, r + 1), (c + 1, r + 1), (c, r + 1)),
                ((c - 1, r), (c, r + 1), (c, r)),
            ];
            for ((x, y), from, to) in around {
                if !own(x, y) {
                    sides.entry(from).or_default().push(to);
                }
            }
        }
        let mut out = Vec::new();
        while let Some((&first, _)) = sides.iter().next() {
            let mut ring = Vec::new();
            let (mut at, mut came) = (first, (0, 0));
            while let Some(next) = sides.get_mut(&at) {
                // Where two cells meet at a corner only, the line turns left and stays with its own cell.
                let left = |to: &(i32, i32)| came.0 * (to.1 - at.1) - came.1 * (to.0 - at.0);
                let pick = (0..next.len()).max_by_key(|i| left(&next[*i])).unwrap_or(0);
                let to = next.swap_remove(pick);
                if next.is_empty() {
                    sides.remove(&at);
                }
                ring.push(self.point(0.5 * f64::from(at.0 + to.0), 0.5 * f64::from(at.1 + to.1)));
                came = (to.0 - at.0, to.1 - at.1);
                at = to;
            }
            out.push(straightened(ring));
        }
        out.retain(|r| r.len() > 2);
        out
    }

    fn point(&self, column: f64, row: f64) -> PlanePoint {
        PlanePoint { east: self.origin.east + self.side * column, north: self.origin.north + self.side * row }
    }
}

/// Without the points on straight lines.
fn straightened(ring: PlaneRing) -> PlaneRing {
    let count = ring.len();
    let bends = |i: usize| {
        let (a, b, c) = (ring[(i + count - 1) % count], ring[i], ring[(i + 1) % count]);
        let turn = (b.east - a.east) * (c.north - b.north) - (b.north - a.north) * (c.east - b.east);
        turn.abs() > 1e-6
    };
    (0..count).filter(|i| bends(*i)).map(|i| ring[i]).collect()
}

/// Area with its sign: counter-clockwise positive.
pub fn signed_area(ring: &[PlanePoint]) -> f64 {
    let next = ring.iter().cycle().skip(1);
    0.5 * ring.iter().zip(next).map(|(a, b)| a.east * b.north - b.east * a.north).sum::<f64>()
}
