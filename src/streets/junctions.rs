//! Where ways meet: shared coordinates, ends on other ways, crossings on the same level.

use std::collections::HashMap;

use crate::{
    geodesy::PlanePoint,
    streets::{
        boxes::{Bounds, Boxes},
        build::SNAP,
        line::{apart, between, crossing, project},
    },
};

/// A way on the plane.
pub struct Way {
    pub points: Vec<PlanePoint>,
    pub level: i32,
    pub name: String,
    pub feature: u64,
}

/// A segment of a way.
struct Segment {
    way: usize,
    index: usize,
    ends: (PlanePoint, PlanePoint),
}

/// More crossings than this make a file no map of streets.
const MOST_PAIRS: usize = 20_000_000;

/// By way, the places where it is cut: index of the segment, share of its length, point.
pub type Cuts = Vec<Vec<(usize, f64, PlanePoint)>>;

/// Finds the cuts; `None` where there are too many.
pub fn cuts(ways: &[Way]) -> Option<Cuts> {
    let mut cuts: Cuts = ways.iter().map(ends).collect();
    let segments: Vec<Segment> = ways
        .iter()
        .enumerate()
        .flat_map(|(way, w)| {
            let windows = w.points.windows(2).enumerate();
            windows.map(move |(index, p)| Segment { way, index, ends: (p[0], p[1]) })
        })
        .collect();
    let bounds: Vec<Bounds> =
        segments.iter().map(|s| Bounds::around(&[s.ends.0, s.ends.1], 0.5 * SNAP.value())).collect();
    let boxes = Boxes::new(&bounds);
    let mut pairs = 0;
    for (i, s) in segments.iter().enumerate() {
        boxes.near(&bounds[i], |j| {
            pairs += 1;
            if j > i && pairs <= MOST_PAIRS {
                meet(s, &segments[j], ways, &mut cuts);
            }
        });
        if pairs > MOST_PAIRS {
            return None;
        }
    }
    for way in &mut cuts {
        way.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    }
    Some(cuts)
}

/// A way is always cut at its ends.
fn ends(way: &Way) -> Vec<(usize, f64, PlanePoint)> {
    let last = way.points.len() - 1;
    vec![(0, 0.0, way.points[0]), (last - 1, 1.0, way.points[last])]
}

/// Cuts two segments where they meet.
fn meet(s: &Segment, u: &Segment, ways: &[Way], cuts: &mut Cuts) {
    let follow = s.way == u.way && s.index.abs_diff(u.index) < 2;
    if follow {
        return;
    }
    let level = ways[s.way].level == ways[u.way].level;
    let mut touched = false;
    for (own, other) in [(s, u), (u, s)] {
        for (end, p) in [(0.0, own.ends.0), (1.0, own.ends.1)] {
            let (t, off) = project(p, other.ends);
            let shared = apart(p, other.ends.0).min(apart(p, other.ends.1)) <= SAME;
            if (level && off <= SNAP.value()) || shared {
                touched = true;
                cuts[own.way].push((own.index, end, p));
                cuts[other.way].push((other.index, t, p));
            }
        }
    }
    if let Some((t, v)) = crossing(s.ends, u.ends).filter(|_| level && !touched) {
        let p = between(s.ends.0, s.ends.1, t);
        cuts[s.way].push((s.index, t, p));
        cuts[u.way].push((u.index, v, p));
    }
}

/// Coordinates of one node written twice: seven decimals of a degree are 11 mm.
const SAME: f64 = 0.03;

/// Nodes by where they are: points within [`SNAP`] of an earlier one are that one.
#[derive(Default)]
pub struct Snapped {
    pub points: Vec<PlanePoint>,
    cells: HashMap<(i64, i64), Vec<usize>>,
}

impl Snapped {
    /// The node of a point.
    pub fn node(&mut self, p: PlanePoint) -> usize {
        let snap = SNAP.value();
        let cell = ((p.east / snap).floor() as i64, (p.north / snap).floor() as i64);
        let around = (-1..=1).flat_map(|i| (-1..=1).map(move |j| (cell.0 + i, cell.1 + j)));
        let near = around
            .filter_map(|c| self.cells.get(&c))
            .flatten()
            .map(|n| (*n, apart(self.points[*n], p)))
            .filter(|(_, d)| *d <= snap)
            .min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
        if let Some((node, _)) = near {
            return node;
        }
        self.points.push(p);
        self.cells.entry(cell).or_default().push(self.points.len() - 1);
        self.points.len() - 1
    }
}
