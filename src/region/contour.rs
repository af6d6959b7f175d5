//! Level lines of the posterior mesh.
//!
//! Each cell is cut into triangles that fan out from its centre to its corners and to whatever vertices finer
//! neighbours put on its edges, so that neighbouring cells agree on every edge and level lines never break.

use std::collections::HashMap;

use crate::solve::tree::{Leaf, Mesh, Quick, key};

/// Closed rings of plane points (metres east, north) around everything above `level` (log density), with the
/// higher side on the left: outer rings run counter-clockwise, holes clockwise.
pub fn rings(mesh: &Mesh, level: f64) -> Vec<Vec<[f64; 2]>> {
    let mut next: HashMap<u64, ([f64; 2], u64), Quick> = HashMap::default();
    let top = mesh.logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    for leaf in &mesh.leaves {
        let Some(corners) = leaf.corners else { continue };
        if far_from(mesh, leaf, corners, level) {
            continue;
        }
        let rim = rim(mesh, leaf, corners);
        let values = rim.iter().chain(std::iter::once(&leaf.centre)).map(|v| mesh.logs[*v as usize] > level);
        let above = values.filter(|a| *a).count();
        if above == 0 || above == rim.len() + 1 {
            continue;
        }
        for (i, &a) in rim.iter().enumerate() {
            let b = rim[(i + 1) % rim.len()];
            segment(mesh, [leaf.centre, a, b], level, top, &mut next);
        }
    }
    stitch(next)
}

/// A cell whose centre and corners lie on one side of the level by more than this (in log density) has no vertex of a finer
/// neighbour on the other side: cells are cut until they span less than that, or hold next to nothing.
const CLEAR: f64 = 3.0;

fn far_from(mesh: &Mesh, leaf: &Leaf, corners: [u32; 4], level: f64) -> bool {
    let values = corners.map(|v| mesh.logs[v as usize] - level);
    let centre = mesh.logs[leaf.centre as usize] - level;
    values.iter().all(|v| *v > CLEAR) && centre > CLEAR
        || values.iter().all(|v| *v < -CLEAR) && centre < -CLEAR
}

/// The vertices around a cell, counter-clockwise: its corners and every vertex of finer neighbours between them.
fn rim(mesh: &Mesh, leaf: &Leaf, corners: [u32; 4]) -> Vec<u32> {
    let side = 1u32 << (28 - leaf.level);
    let (w, s) = (leaf.west, leaf.south);
    let at = [(w, s), (w + side, s), (w + side, s + side), (w, s + side)];
    let mut out = Vec::with_capacity(8);
    for i in 0..4 {
        out.push(corners[i]);
        between(mesh, at[i], at[(i + 1) % 4], &mut out);
    }
    out
}

/// Vertices strictly between two lattice points, found by halving.
fn between(mesh: &Mesh, a: (u32, u32), b: (u32, u32), out: &mut Vec<u32>) {
    if a.0.abs_diff(b.0).max(a.1.abs_diff(b.1)) < 2 {
        return;
    }
    let middle = (a.0 / 2 + b.0 / 2 + (a.0 & b.0 & 1), a.1 / 2 + b.1 / 2 + (a.1 & b.1 & 1));
    if let Some(&v) = mesh.lattice.get(&key(middle.0, middle.1)) {
        between(mesh, a, middle, out);
        out.push(v);
        between(mesh, middle, b, out);
    }
}

/// Adds the level line through a counter-clockwise triangle: from the edge where it enters to the edge where it
/// leaves, the higher side on the left.
fn segment(
    mesh: &Mesh,
    triangle: [u32; 3],
    level: f64,
    top: f64,
    next: &mut HashMap<u64, ([f64; 2], u64), Quick>,
) {
    let above = triangle.map(|v| mesh.logs[v as usize] > level);
    let (mut enter, mut leave) = (None, None);
    for i in 0..3 {
        let j = (i + 1) % 3;
        match (above[i], above[j]) {
            // Walking the rim counter-clockwise from high to low: the line starts here, so that the high side,
            // which lies behind, ends up on its left.
            (true, false) => enter = Some((triangle[i], triangle[j])),
            (false, true) => leave = Some((triangle[i], triangle[j])),
            _ => {}
        }
    }
    if let (Some((a, b)), Some((c, d))) = (enter, leave) {
        next.insert(edge(a, b), (crossing(mesh, a, b, level, top), edge(c, d)));
    }
}

fn edge(a: u32, b: u32) -> u64 {
    key(a.min(b), a.max(b))
}

/// Where the level is crossed between two vertices. The root of the depth below the highest point is taken as linear: for
/// a normal peak it is, along every ray from the peak, whereas the log density itself would put the line too far in.
fn crossing(mesh: &Mesh, a: u32, b: u32, level: f64, top: f64) -> [f64; 2] {
    let depth = |log: f64| (top - log).max(0.0).sqrt();
    let (da, db) = (depth(mesh.logs[a as usize]), depth(mesh.logs[b as usize]));
    let t = (depth(level) - da) / (db - da);
    let (p, q) = (mesh.points[a as usize], mesh.points[b as usize]);
    [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]
}

/// Follows the segments from edge to edge into rings, in an order that does not depend on hashing.
///
/// A line that runs through a cell of negligible mass, which has no corners to cut it by, arrives in pieces; each
/// end is then joined to the nearest beginning.
fn stitch(mut next: HashMap<u64, ([f64; 2], u64), Quick>) -> Vec<Vec<[f64; 2]>> {
    let mut reached: Vec<u64> = next.values().map(|(_, to)| *to).collect();
    reached.sort_unstable();
    let mut edges: Vec<u64> = next.keys().copied().collect();
    // Beginnings of open pieces first: nothing leads to them.
    edges.sort_unstable_by_key(|e| (reached.binary_search(e).is_ok(), *e));
    let (mut rings, mut pieces) = (Vec::new(), Vec::new());
    for first in edges {
        let mut line = Vec::new();
        let mut at = first;
        while let Some((point, to)) = next.remove(&at) {
            line.push(point);
            at = to;
        }
        match line.len() {
            0 => {}
            _ if at == first => rings.push(line),
            _ => pieces.push(line),
        }
    }
    rings.extend(joined(pieces));
    rings.retain(|r| r.len() >= 3);
    rings
}

/// Joins open pieces into rings, each end to the nearest beginning that is still free.
fn joined(mut pieces: Vec<Vec<[f64; 2]>>) -> Vec<Vec<[f64; 2]>> {
    let mut rings = Vec::new();
    while let Some(mut line) = pieces.pop() {
        loop {
            let end = line[line.len() - 1];
            let gap = |p: &[f64; 2]| (p[0] - end[0]).hypot(p[1] - end[1]);
            let nearest =
                (0..pieces.len()).min_by(|a, b| gap(&pieces[*a][0]).total_cmp(&gap(&pieces[*b][0])));
            match nearest.filter(|n| gap(&pieces[*n][0]) < gap(&line[0])) {
                Some(n) => line.extend(pieces.swap_remove(n)),
                None => break,
            }
        }
        rings.push(line);
    }
    rings
}

/// Signed area of a ring on the plane, square metres; positive when it runs counter-clockwise.
pub fn signed_area(ring: &[[f64; 2]]) -> f64 {
    let Some(&o) = ring.first() else { return 0.0 };
    let mut twice = 0.0;
    for (i, a) in ring.iter().enumerate() {
        let b = ring[(i + 1) % ring.len()];
        twice += (a[0] - o[0]) * (b[1] - o[1]) - (b[0] - o[0]) * (a[1] - o[1]);
    }
    0.5 * twice
}

/// Whether a point lies inside a ring (even-odd rule).
pub fn inside(ring: &[[f64; 2]], point: [f64; 2]) -> bool {
    let mut odd = false;
    for (i, a) in ring.iter().enumerate() {
        let b = ring[(i + 1) % ring.len()];
        let straddles = (a[1] > point[1]) != (b[1] > point[1]);
        if straddles && point[0] < a[0] + (point[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]) {
            odd = !odd;
        }
    }
    odd
}
