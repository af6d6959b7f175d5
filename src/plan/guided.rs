//! Ways of waves along streets: where houses close the streets, what is not in sight comes around corners, and arrives from the
//! last of them ([`crate::sources::P1411`]).

use std::collections::BinaryHeap;

use crate::{geodesy::PlanePoint, numeric::queue::Waiting, streets::Streets};

/// A way with one corner more must be shorter by so many metres: 20 dB at an exponent of 4 to 5 are a factor of 3 in distance,
/// which for the ways of a town is about that. Common practice, no source.
const A_CORNER_M: f64 = 200.0;

/// More corners than this let nothing through.
const MOST_CORNERS: u8 = 4;

/// A street that turns by less than this goes straight on, as the cosine: 30°.
const STRAIGHT_ON: f64 = 0.866;

/// Somebody so near to a crossing looks into all its streets.
const AT_CROSSING_M: f64 = 12.0;

/// How a wave comes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Came {
    /// Length of the way.
    pub metres: f64,
    /// Corners on it.
    pub corners: u8,
    /// The corner that it comes from as the receiver sees it; none without corners.
    pub from: Option<PlanePoint>,
}

impl Came {
    fn cost(&self) -> f64 {
        self.metres + A_CORNER_M * f64::from(self.corners)
    }
}

/// Ways from everywhere along streets to one place.
#[derive(Clone, Debug)]
pub(super) struct Ways {
    /// For each edge the best way that enters it where it begins, and where it ends.
    into: Vec<[Option<Came>; 2]>,
    lengths: Vec<f64>,
    /// The edge of the place and how far along it lies.
    own: (usize, f64),
}

impl Ways {
    /// To a place on the streets' plane; `None` without streets.
    pub fn to(streets: &Streets, place: PlanePoint) -> Option<Self> {
        let on = streets.nearest_point(place)?;
        let edges = streets.edges();
        let lengths: Vec<f64> = edges.iter().map(|e| e.length.value()).collect();
        let along = on.along.value();
        let mut out = Self { into: vec![[None; 2]; edges.len()], lengths, own: (on.edge, along) };
        let mut queue = BinaryHeap::new();
        let ahead = out.lengths[on.edge] - along;
        let ends = [(edges[on.edge].to, ahead), (edges[on.edge].from, along)];
        for (node, metres) in ends.into_iter().filter(|e| e.1 <= AT_CROSSING_M) {
            for (edge, side) in beginning_at(streets, node) {
                out.offer(edge, side, Came { metres, corners: 0, from: None }, &mut queue);
            }
        }
        // Along the own street, as if it were entered behind the place.
        for (side, back) in [(0, along), (1, ahead)] {
            out.offer(on.edge, side, Came { metres: -back, corners: 0, from: None }, &mut queue);
        }
        while let Some(Waiting { cost, what: (edge, side) }) = queue.pop() {
            let Some(came) = out.into[edge][side].filter(|c| c.cost() >= cost) else { continue };
            let node = if side == 0 { edges[edge].to } else { edges[edge].from };
            let metres = came.metres + out.lengths[edge];
            let leaving = heading(streets, edge, side, true);
            for (next, other) in beginning_at(streets, node) {
                if next == edge && other != side {
                    continue;
                }
                let entering = heading(streets, next, other, false);
                let turns = leaving.0 * entering.0 + leaving.1 * entering.1 < STRAIGHT_ON;
                let corners = came.corners + u8::from(turns);
                if corners <= MOST_CORNERS {
                    let from = came.from.or(turns.then(|| streets.nodes()[node].point));
                    out.offer(next, other, Came { metres, corners, from }, &mut queue);
                }
            }
        }
        Some(out)
    }

    fn offer(
        &mut self,
        edge: usize,
        side: usize,
        came: Came,
        queue: &mut BinaryHeap<Waiting<(usize, usize)>>,
    ) {
        let known = &mut self.into[edge][side];
        if known.is_none_or(|k| came.cost() < k.cost()) {
            *known = Some(came);
            queue.push(Waiting { cost: came.cost(), what: (edge, side) });
        }
    }

    /// From a point of a street.
    pub fn from(&self, edge: usize, along: f64) -> Option<Came> {
        if edge == self.own.0 {
            return Some(Came { metres: (along - self.own.1).abs(), corners: 0, from: None });
        }
        let way =
            |side: usize, more: f64| self.into[edge][side].map(|c| Came { metres: c.metres + more, ..c });
        let (a, b) = (way(0, along), way(1, self.lengths[edge] - along));
        match (a, b) {
            (Some(a), Some(b)) => Some(if a.cost() <= b.cost() { a } else { b }),
            (a, b) => a.or(b),
        }
    }
}

/// Edges that can be gone along from a node, each with the side that it is entered on.
fn beginning_at(streets: &Streets, node: usize) -> Vec<(usize, usize)> {
    let mut out = Vec::new();
    for &edge in streets.at_node(node) {
        let e = &streets.edges()[edge];
        out.extend((e.from == node).then_some((edge, 0)));
        out.extend((e.to == node).then_some((edge, 1)));
    }
    out
}

/// Direction of travel where an edge is entered or left; `side` 0 goes as the edge runs.
fn heading(streets: &Streets, edge: usize, side: usize, leaving: bool) -> (f64, f64) {
    let line = &streets.edges()[edge].polyline;
    let last = line.len() - 1;
    let (a, b) = match (side, leaving) {
        (0, false) => (line[0], line[1]),
        (0, true) => (line[last - 1], line[last]),
        (_, false) => (line[last], line[last - 1]),
        (_, true) => (line[1], line[0]),
    };
    let (e, n) = (b.east - a.east, b.north - a.north);
    let length = e.hypot(n).max(1e-9);
    (e / length, n / length)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn on_street(streets: &Streets, point: PlanePoint) -> Option<(usize, f64)> {
        streets.nearest_point(point).map(|on| (on.edge, on.along.value()))
    }

    fn town() -> Streets {
        let line = |name: &str, a: (f64, f64), b: (f64, f64)| {
            let deg = |m: f64| m / 111_195.0;
            format!(
                r#"{{"type":"Feature","properties":{{"highway":"residential","name":"{name}"}},"geometry":{{"type":"LineString","coordinates":[[{},{}],[{},{}]]}}}}"#,
                deg(a.0),
                deg(a.1),
                deg(b.0),
                deg(b.1)
            )
        };
        let all = [
            line("south", (0.0, 0.0), (400.0, 0.0)),
            line("north", (0.0, 300.0), (400.0, 300.0)),
            line("west", (0.0, 0.0), (0.0, 300.0)),
            line("east", (400.0, 0.0), (400.0, 300.0)),
        ];
        let text = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, all.join(","));
        Streets::read("town.geojson", text.as_bytes()).0
    }

    /// A round of four streets: from the middle of one to the middle of the next the wave turns once and is seen from that corner.
    #[test]
    fn what_is_around_a_corner_comes_from_the_corner() {
        let streets = town();
        let at = |e: f64, n: f64| {
            let place = crate::geodesy::Place::from_lat_lon_degrees(n / 111_195.0, e / 111_195.0).unwrap();
            streets.plane().to_plane(place)
        };
        let ways = Ways::to(&streets, at(100.0, 0.0)).unwrap();
        let from = |p: PlanePoint| {
            let (edge, along) = on_street(&streets, p).unwrap();
            ways.from(edge, along).unwrap()
        };
        let own = from(at(350.0, 0.0));
        assert!(own.corners == 0 && own.from.is_none() && (own.metres - 250.0).abs() < 2.0, "{own:?}");
        let once = from(at(0.0, 200.0));
        let corner = at(0.0, 0.0);
        let seen = once.from.unwrap();
        assert!(once.corners == 1 && (once.metres - 300.0).abs() < 2.0, "{once:?}");
        assert!((seen.east - corner.east).hypot(seen.north - corner.north) < 1.0, "{seen:?}");
        let twice = from(at(50.0, 300.0));
        assert!(twice.corners == 2 && (twice.metres - 450.0).abs() < 3.0, "{twice:?}");
        // At a crossing one looks into both streets.
        let ways = Ways::to(&streets, at(5.0, 0.0)).unwrap();
        let (edge, along) = on_street(&streets, at(0.0, 200.0)).unwrap();
        assert_eq!(ways.from(edge, along).unwrap().corners, 0);
    }
}
