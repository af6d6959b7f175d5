//! From where to where a team has a street.

use std::collections::BTreeMap;

use crate::{
    divide::{net::apart, town::Search},
    geodesy::PlanePoint,
    streets::Streets,
};

/// Nearer than this to a corner one is at it, metres.
const AT_CORNER: f64 = 5.0;

/// For one street the runs that hang together: `Grove Street to 60 m past Elm Street`. `own` are stretches of one name; those across
/// open ground have no run.
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
        let inside: Vec<PlanePoint> = corners.iter().map(|c| net.corners[*c]).collect();
        let ends: Vec<End> = ends
            .filter_map(|c| search.edges[at[c][0]].map(|e| End::of(town, e, net.corners[*c], &inside)))
            .collect();
        if let [a, b] = ends.as_slice()
            && let Some(text) = within_a_block(town, a, b)
        {
            out.push(text);
            seen.extend(corners);
            continue;
        }
        // On both sides of one corner the distance alone would not tell which is which.
        let twice = |e: &End| ends.iter().filter(|o| o.near(town).0 == e.near(town).0).count() > 1;
        let mut names: Vec<String> = ends.iter().map(|e| e.name(town, twice(e))).collect();
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

/// The end of a run.
struct End {
    /// The edge of the town that it lies on, and metres along that.
    edge: usize,
    along: f64,
    /// Whether the run holds the edge's first corner, and its last.
    holds: [bool; 2],
}

impl End {
    /// A point of an edge; `inside` are the corners of the run.
    fn of(town: &Streets, edge: usize, point: PlanePoint, inside: &[PlanePoint]) -> Self {
        let line = &town.edges()[edge].polyline;
        let holds = |corner: Option<&PlanePoint>| {
            corner.is_some_and(|c| inside.iter().any(|p| apart(*p, *c) < AT_CORNER))
        };
        Self { edge, along: along(line, point), holds: [holds(line.first()), holds(line.last())] }
    }

    /// The corner of its edge that is nearer: its number, metres to it, whether the run holds it; and the number of the other one.
    fn near(&self, town: &Streets) -> (usize, f64, bool, usize) {
        let e = &town.edges()[self.edge];
        let ahead = (e.length.value() - self.along).max(0.0);
        if self.along <= ahead {
            (e.from, self.along, self.holds[0], e.to)
        } else {
            (e.to, ahead, self.holds[1], e.from)
        }
    }

    /// `Elm Street`, `60 m past Elm Street` where the run holds that corner, `60 m short of Elm Street` where it does not, `its end`; with
    /// the next corner where the side has to be told: `60 m past Elm Street on the side of Fir Street`.
    fn name(&self, town: &Streets, sided: bool) -> String {
        let own = &town.edges()[self.edge].name;
        let (near, metres, holds, far) = self.near(town);
        let here = corner(town, near, own);
        if metres < AT_CORNER {
            return here;
        }
        let past = if holds { "past" } else { "short of" };
        let side = if sided { format!(" on the side of {}", corner(town, far, own)) } else { String::new() };
        format!("{metres:.0} m {past} {here}{side}")
    }
}

/// A run within one block, without one of its corners: `20 m to 60 m from Elm Street toward Fir Street`, or `the first 60 m from Elm
/// Street toward Fir Street`.
fn within_a_block(town: &Streets, a: &End, b: &End) -> Option<String> {
    if a.edge != b.edge || a.holds == [true, true] {
        return None;
    }
    let e = &town.edges()[a.edge];
    let length = e.length.value();
    let (low, high) = (a.along.min(b.along), a.along.max(b.along));
    // From the corner that the run holds, else from the nearer one.
    let from_last = a.holds[1] || (!a.holds[0] && length - high < low);
    let (here, there) = if from_last { (e.to, e.from) } else { (e.from, e.to) };
    let (here, there) = (corner(town, here, &e.name), corner(town, there, &e.name));
    let (low, high) = if from_last { (length - high, length - low) } else { (low, high) };
    Some(match low < AT_CORNER {
        true if 2.0 * high > length => format!("{here} to {:.0} m short of {there}", length - high),
        true => format!("the first {high:.0} m from {here} toward {there}"),
        false => format!("{low:.0} m to {high:.0} m from {here} toward {there}"),
    })
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
