//! Places to stand: along streets, else on rings of open ground.

use crate::{
    geodesy::{Place, Plane, PlanePoint},
    streets::{OnStreet, Pace, Streets},
    units::Metres,
};

/// No more stands than this are tried.
pub const MOST_STANDS: usize = 2_000;

/// Stands along a street lie at least so far apart.
const STEP_M: f64 = 25.0;

/// Nobody walks farther than this for one bearing.
const FARTHEST_MINUTES: f64 = 90.0;

/// A place to stand.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// Where.
    pub place: Place,
    /// The same on the plane of the problem.
    pub point: PlanePoint,
    /// Minutes on foot.
    pub minutes: f64,
    /// Where in words; empty on open ground.
    pub name: String,
}

/// Along the streets that can be reached from a place.
pub fn along(streets: &Streets, from: Place, pace: Pace, plane: &Plane) -> Vec<Candidate> {
    let Some(reach) = streets.reach(from, pace) else { return Vec::new() };
    let within = |edge: usize| {
        let e = &streets.edges()[edge];
        [e.from, e.to].iter().any(|n| reach.to_node(*n).is_some_and(|m| m <= FARTHEST_MINUTES))
    };
    let edges: Vec<usize> = (0..streets.edges().len()).filter(|e| within(*e)).collect();
    let length: f64 = edges.iter().map(|e| streets.edges()[*e].length.value()).sum();
    let step = STEP_M.max(length / (0.6 * MOST_STANDS as f64));
    let mut out = Vec::new();
    let mut seen = vec![false; streets.nodes().len()];
    for edge in edges {
        let e = &streets.edges()[edge];
        let parts = (e.length.value() / step).floor().max(1.0);
        for k in 0..=parts as usize {
            let along = e.length.value() * k as f64 / parts;
            let end = if k == 0 { Some(e.from) } else { (k == parts as usize).then_some(e.to) };
            if end.is_some_and(|n| std::mem::replace(&mut seen[n], true)) {
                continue;
            }
            let point = streets.point_on(edge, Metres::new(along));
            let on = OnStreet { edge, along: Metres::new(along), point, off: Metres::new(0.0) };
            let Some(minutes) = reach.to(streets, on) else { continue };
            let place = streets.plane().to_place(point);
            let name = end.map_or_else(|| between(streets, edge, along), |n| corner(streets, n));
            out.push(Candidate { place, point: plane.to_plane(place), minutes, name });
        }
    }
    // Towns of many short streets have more corners than can be tried: every so many of them.
    let keep = out.len().div_ceil(MOST_STANDS).max(1);
    out.into_iter().step_by(keep).collect()
}

/// `Elm Street / 2nd Avenue`, or `the end of Quarry Road`.
fn corner(streets: &Streets, node: usize) -> String {
    match (streets.names_at(node).as_slice(), streets.at_node(node).len()) {
        ([only], 1) => format!("the end of {only}"),
        ([only], _) => (*only).to_owned(),
        (names, _) => names[..names.len().min(3)].join(" / "),
    }
}

/// `Elm Street, 60 m from 2nd Avenue`.
fn between(streets: &Streets, edge: usize, along: f64) -> String {
    let e = &streets.edges()[edge];
    let ahead = e.length.value() - along;
    let (node, metres) = if along <= ahead { (e.from, along) } else { (e.to, ahead) };
    let other = streets.names_at(node).into_iter().find(|n| *n != e.name);
    match other {
        Some(other) => format!("{}, {metres:.0} m from {other}", e.name),
        None => e.name.clone(),
    }
}

/// Directions of each ring.
const AROUND: usize = 24;

/// Rings of open ground: about `from`, and about `goal`, which is `reach` metres wide.
pub fn rings(from: PlanePoint, goal: PlanePoint, reach: f64, pace: Pace, plane: &Plane) -> Vec<Candidate> {
    let way = (from.east - goal.east).hypot(from.north - goal.north);
    let farthest = (1.5 * way).max(3.0 * reach).clamp(200.0, FARTHEST_MINUTES * pace.value());
    let mut out = Vec::new();
    for (centre, nearest) in [(from, 60.0), (goal, (0.5 * reach).clamp(40.0, 0.5 * farthest))] {
        for ring in 0..RINGS {
            let radius = nearest * (farthest / nearest).powf(ring as f64 / (RINGS - 1) as f64);
            for k in 0..AROUND {
                let (sin, cos) = (std::f64::consts::TAU * k as f64 / AROUND as f64).sin_cos();
                let point =
                    PlanePoint { east: centre.east + radius * sin, north: centre.north + radius * cos };
                let minutes = (point.east - from.east).hypot(point.north - from.north) / pace.value();
                if minutes <= FARTHEST_MINUTES {
                    out.push(Candidate { place: plane.to_place(point), point, minutes, name: String::new() });
                }
            }
        }
    }
    out
}

/// Rings about each centre.
const RINGS: usize = 10;
