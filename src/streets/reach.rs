//! Ways on foot: nearest street, shortest walks.

use std::collections::BinaryHeap;

use crate::{
    geodesy::{Place, PlanePoint},
    numeric::queue::Waiting,
    streets::{
        Edge, Streets,
        line::{between, point_at, project},
    },
    units::Metres,
};

/// How fast somebody gets on.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Pace(f64);

impl Pace {
    /// 80 m a minute (4.8 km/h), a brisk walk: common practice, no source.
    pub const WALKING: Self = Self(80.0);

    /// Metres a minute; `None` unless finite and above zero.
    pub fn metres_a_minute(value: f64) -> Option<Self> {
        (value.is_finite() && value > 0.0).then_some(Self(value))
    }

    /// The figure in metres a minute.
    pub const fn value(self) -> f64 {
        self.0
    }

    /// Minutes for a distance.
    pub const fn minutes(self, distance: Metres) -> f64 {
        distance.value() / self.0
    }
}

/// A point on a street.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnStreet {
    /// Index of the edge.
    pub edge: usize,
    /// Metres along it from where it begins.
    pub along: Metres,
    /// Where.
    pub point: PlanePoint,
    /// Distance of the place that was asked for from the street.
    pub off: Metres,
}

/// The shortest walks from one place to everywhere.
#[derive(Clone, Debug)]
pub struct Reach {
    /// Where the walks begin: the point of the street nearest to the place.
    pub start: OnStreet,
    pace: Pace,
    /// Metres to each node; infinite where no street leads.
    metres: Vec<f64>,
    /// The edge over which each node is reached.
    over: Vec<Option<usize>>,
}

impl Streets {
    /// The point of a street nearest to a place; `None` without streets.
    pub fn nearest(&self, place: Place) -> Option<OnStreet> {
        self.nearest_point(self.plane.to_plane(place))
    }

    /// The same for a point of the plane.
    pub fn nearest_point(&self, point: PlanePoint) -> Option<OnStreet> {
        self.nearest_where(point, |_| true)
    }

    /// The nearest among the edges that `counts` admits.
    pub(super) fn nearest_where(
        &self,
        point: PlanePoint,
        counts: impl Fn(usize) -> bool,
    ) -> Option<OnStreet> {
        let distance = |i: usize| {
            let (edge, _, segment) = self.segments[i];
            if counts(edge) { project(point, segment).1 } else { f64::INFINITY }
        };
        let (found, off) = self.boxes.nearest(point, distance)?;
        let (edge, before, (a, b)) = self.segments[found];
        let (t, _) = project(point, (a, b));
        let along = before + t * (a.east - b.east).hypot(a.north - b.north);
        Some(OnStreet { edge, along: Metres::new(along), point: between(a, b, t), off: Metres::new(off) })
    }

    /// Shortest walks from a place along the streets (Dijkstra's algorithm): first straight to the nearest street, then along
    /// the streets. `None` without streets.
    pub fn reach(&self, from: Place, pace: Pace) -> Option<Reach> {
        let start = self.nearest(from)?;
        let edge = &self.edges[start.edge];
        let mut reach = Reach {
            start,
            pace,
            metres: vec![f64::INFINITY; self.nodes.len()],
            over: vec![None; self.nodes.len()],
        };
        let mut queue = BinaryHeap::new();
        let off = start.off.value();
        let ends = [
            (edge.from, off + start.along.value()),
            (edge.to, off + edge.length.value() - start.along.value()),
        ];
        for (node, metres) in ends {
            if metres < reach.metres[node] {
                reach.metres[node] = metres;
                reach.over[node] = Some(start.edge);
                queue.push(Waiting { cost: metres, what: node });
            }
        }
        while let Some(Waiting { cost: metres, what: node }) = queue.pop() {
            if metres > reach.metres[node] {
                continue;
            }
            for &edge in self.at_node(node) {
                let e = &self.edges[edge];
                let other = if e.from == node { e.to } else { e.from };
                let there = metres + e.length.value();
                if there < reach.metres[other] {
                    reach.metres[other] = there;
                    reach.over[other] = Some(edge);
                    queue.push(Waiting { cost: there, what: other });
                }
            }
        }
        Some(reach)
    }

    /// Minutes on foot from a place to every node; infinite where no street leads. Empty without streets.
    pub fn minutes_from(&self, from: Place, pace: Pace) -> Vec<f64> {
        self.reach(from, pace).map_or_else(Vec::new, |r| r.metres.iter().map(|m| m / pace.value()).collect())
    }
}

impl Reach {
    /// Minutes to a node; `None` where no street leads.
    pub fn to_node(&self, node: usize) -> Option<f64> {
        self.metres.get(node).filter(|m| m.is_finite()).map(|m| m / self.pace.value())
    }

    /// Minutes to a point of a street, and from there straight over its `off`; `None` where no street leads.
    pub fn to(&self, streets: &Streets, on: OnStreet) -> Option<f64> {
        let edge = &streets.edges[on.edge];
        let (along, off) = (on.along.value(), on.off.value());
        let mut least =
            (self.metres[edge.from] + along).min(self.metres[edge.to] + edge.length.value() - along);
        if on.edge == self.start.edge {
            least = least.min(self.start.off.value() + (along - self.start.along.value()).abs());
        }
        least.is_finite().then(|| (least + off) / self.pace.value())
    }

    /// Edges of the shortest walk to a node, in the order of walking; the first is walked in part only. Empty where no street
    /// leads.
    pub fn path_to(&self, streets: &Streets, node: usize) -> Vec<usize> {
        self.steps_to(streets, node).into_iter().map(|(edge, _)| edge).collect()
    }

    /// Points of the shortest walk to a point of a street, from the point of the street where it begins to that one; `None` where
    /// no street leads.
    pub fn way(&self, streets: &Streets, on: OnStreet) -> Option<Vec<PlanePoint>> {
        let edge = &streets.edges[on.edge];
        let along = on.along.value();
        let by_from = self.metres[edge.from] + along;
        let by_to = self.metres[edge.to] + edge.length.value() - along;
        let straight = (on.edge == self.start.edge)
            .then(|| self.start.off.value() + (along - self.start.along.value()).abs());
        let mut points = vec![self.start.point];
        if straight.is_some_and(|s| s <= by_from.min(by_to)) {
            points.extend(stretch(edge, self.start.along.value(), along));
            return Some(points);
        }
        let (node, from) = if by_from <= by_to { (edge.from, 0.0) } else { (edge.to, edge.length.value()) };
        if !self.metres[node].is_finite() {
            return None;
        }
        for (index, end) in self.steps_to(streets, node) {
            let e = &streets.edges[index];
            let start = self.start.along.value();
            let loops = e.from == e.to;
            let onward = if loops { start > 0.5 * e.length.value() } else { end == e.to };
            let goes_to = if onward { e.length.value() } else { 0.0 };
            let begins = if index == self.start.edge { start } else { e.length.value() - goes_to };
            points.extend(stretch(e, begins, goes_to));
        }
        points.extend(stretch(edge, from, along));
        Some(points)
    }

    /// Edges of the shortest walk to a node, each with the node at its end; the first is walked in part only.
    fn steps_to(&self, streets: &Streets, node: usize) -> Vec<(usize, usize)> {
        let mut out = Vec::new();
        let mut at = node;
        while let Some(edge) = self.over.get(at).copied().flatten() {
            out.push((edge, at));
            let e = &streets.edges[edge];
            let before = if e.from == at { e.to } else { e.from };
            if edge == self.start.edge || self.metres[before] >= self.metres[at] {
                break;
            }
            at = before;
        }
        out.reverse();
        out
    }
}

/// Points of an edge from one distance along it to another, the first left out.
fn stretch(edge: &Edge, from: f64, to: f64) -> Vec<PlanePoint> {
    let mut before = 0.0;
    let mut inner = Vec::new();
    for pair in edge.polyline.windows(2) {
        before += (pair[0].east - pair[1].east).hypot(pair[0].north - pair[1].north);
        if before > from.min(to) && before < from.max(to) {
            inner.push(pair[1]);
        }
    }
    if to < from {
        inner.reverse();
    }
    inner.push(point_at(&edge.polyline, to));
    inner
}
