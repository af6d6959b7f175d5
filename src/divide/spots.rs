//! From where to where a team has a street.

use std::collections::BTreeMap;

use crate::{
    divide::{net::apart, town::Search},
    geodesy::PlanePoint,
    streets::Streets,
};

/// Nearer than this to a corner one is at it, metres.
const AT_CORNER: f64 = 5.0;

/// For one street the runs that hang together: `Grove Street to 60 m from Elm Street toward Fir Street`. `own` are stretches of
/// one name; those across open ground have no run.
pub(super) fn runs(search: &Search, town: &Streets, own: &[usize]) -> Vec<String> {
    let net = &search.net;
    let mut at: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for &i in own.iter().filter(|i| search.edges[**i].is_some()) {
        for end in net.stretches[i].ends {
            at.entry(end).or_default().push(i);
        }
    }
    let mut seen: Vec<usize> = Vec::new();
    let mut out = Vec::new();
    for &first in at.keys() {
        if seen.contains(&first) {
            continue;
        }
        let mut corners = vec![first];
        let mut next = 0;
        while let Some(&corner) = corners.get(next) {
            for i in &at[&corner] {
                let other = net.other(*i, corner);
                if !corners.contains(&other) {
                    corners.push(other);
                }
            }
            next += 1;
        }
        let ends = corners.iter().filter(|c| at[*c].len() % 2 == 1);
        let mut names: Vec<String> =
            ends.filter_map(|c| search.edges[at[c][0]].map(|e| spot(town, e, net.corners[*c]))).collect();
        names.sort();
        out.push(match names.as_slice() {
            [] => "all round".to_owned(),
            [a, b] => format!("{a} to {b}"),
            many => format!("between {}", many.join(", ")),
        });
        seen.extend(corners);
    }
    out
}

/// A point of an edge: `Elm Street`, `60 m from Elm Street toward Fir Street`, `its end`.
fn spot(town: &Streets, edge: usize, point: PlanePoint) -> String {
    let e = &town.edges()[edge];
    let along = along(&e.polyline, point);
    let ahead = (e.length.value() - along).max(0.0);
    let ((near, metres), (far, _)) =
        if along <= ahead { ((e.from, along), (e.to, ahead)) } else { ((e.to, ahead), (e.from, along)) };
    let (here, there) = (corner(town, near, &e.name), corner(town, far, &e.name));
    if metres < AT_CORNER { here } else { format!("{metres:.0} m from {here} toward {there}") }
}

fn corner(town: &Streets, node: usize, own: &str) -> String {
    let others: Vec<&str> = town.names_at(node).into_iter().filter(|n| *n != own).take(2).collect();
    match (others.is_empty(), town.at_node(node).len()) {
        (false, _) => others.join(" / "),
        (true, 1) => "its end".to_owned(),
        (true, _) => "a corner of its own".to_owned(),
    }
}

/// Metres along a line to its point nearest to another.
fn along(line: &[PlanePoint], point: PlanePoint) -> f64 {
    let (mut before, mut best) = (0.0, (f64::INFINITY, 0.0));
    for w in line.windows(2) {
        let (e, n) = (w[1].east - w[0].east, w[1].north - w[0].north);
        let length = apart(w[0], w[1]);
        let dot = (point.east - w[0].east) * e + (point.north - w[0].north) * n;
        let t = if length > 0.0 { (dot / (length * length)).clamp(0.0, 1.0) } else { 0.0 };
        let near = PlanePoint { east: w[0].east + t * e, north: w[0].north + t * n };
        let off = apart(near, point);
        if off < best.0 {
            best = (off, before + t * length);
        }
        before += length;
    }
    best.1
}
