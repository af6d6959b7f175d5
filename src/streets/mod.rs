//! The streets of a town as a graph, with what else its map tells somebody who walks there with a compass.
//!
//! Ways meet where they share a coordinate, where one ends on another, and where they cross on the same level (bridges and
//! tunnels do not meet what they cross). All lengths are metres on one plane around the streets.
//!
//! ```
//! use azimark::streets::{Pace, Streets};
//!
//! let town = r#"{"type":"FeatureCollection","features":[
//!   {"type":"Feature","properties":{"highway":"residential","name":"Elm Street"},
//!    "geometry":{"type":"LineString","coordinates":[[8.0,47.0],[8.0,47.01]]}},
//!   {"type":"Feature","properties":{"highway":"footway","name":"Mill Path"},
//!    "geometry":{"type":"LineString","coordinates":[[8.0,47.005],[8.01,47.005]]}}]}"#;
//! let (streets, findings) = Streets::read("town.geojson", town.as_bytes());
//! assert!(findings.is_empty());
//! assert_eq!((streets.nodes().len(), streets.edges().len()), (4, 3));
//! let reach = streets.reach(streets.nodes()[0].place, Pace::WALKING).unwrap();
//! assert!(reach.to_node(1).is_some());
//! ```

mod boxes;
mod build;
mod facade;
mod islands;
mod junctions;
pub(crate) mod line;
mod reach;
mod tags;
mod town;

pub use build::{MOST_SEGMENTS, SNAP};
pub use facade::{Facade, facades};
pub use islands::Island;
pub use reach::{OnStreet, Pace, Reach};
pub use tags::HazardKind;
pub use town::{Hazard, Outline};

use crate::{
    finding::Finding,
    geodesy::{Place, Plane, PlanePoint},
    ingest,
    units::Metres,
};

/// An end of a street, or a junction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Node {
    /// Where.
    pub place: Place,
    /// The same on the plane of the streets.
    pub point: PlanePoint,
}

/// A street from one node to the next.
#[derive(Clone, Debug, PartialEq)]
pub struct Edge {
    /// Index of the node where it begins.
    pub from: usize,
    /// Index of the node where it ends; that where it begins, for a loop.
    pub to: usize,
    /// Length along the street.
    pub length: Metres,
    /// Name of the street, else its number, else `unnamed footway`.
    pub name: String,
    /// Its course from the node where it begins to that where it ends, at least two points.
    pub polyline: Vec<PlanePoint>,
    /// Number of the feature that it comes from, from 1.
    pub feature: u64,
}

/// The streets of a town, what turns a compass there, and its buildings.
#[derive(Clone, Debug)]
pub struct Streets {
    plane: Plane,
    nodes: Vec<Node>,
    edges: Vec<Edge>,
    /// By node, the edges that begin or end there.
    at_node: Vec<Vec<usize>>,
    /// Edge of each segment, its distance along the edge, and the segment.
    segments: Vec<(usize, f64, (PlanePoint, PlanePoint))>,
    boxes: boxes::Boxes,
    hazards: Vec<Hazard>,
    outlines: Vec<Outline>,
}

impl Streets {
    /// Reads a GeoJSON file. Without any street the graph is empty, and a finding says so.
    pub fn read(name: &str, bytes: &[u8]) -> (Self, Vec<Finding>) {
        let reading = ingest::town(name, bytes);
        let refused = reading.rows.is_empty() && !reading.findings.is_empty();
        let (streets, mut told) = Self::of(name, &reading.rows);
        let mut findings = reading.findings;
        if !refused {
            findings.append(&mut told);
        }
        (streets, findings)
    }

    /// The graph of things that were read; `name` is only used in findings.
    pub fn of(name: &str, things: &[ingest::Mapped]) -> (Self, Vec<Finding>) {
        build::build(name, things)
    }

    /// The plane of every [`PlanePoint`] here.
    pub const fn plane(&self) -> Plane {
        self.plane
    }

    /// Ends and junctions.
    pub fn nodes(&self) -> &[Node] {
        &self.nodes
    }

    /// Streets between nodes.
    pub fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// Edges that begin or end at a node; a loop is listed twice. Empty for an index that is none.
    pub fn at_node(&self, node: usize) -> &[usize] {
        self.at_node.get(node).map_or(&[], Vec::as_slice)
    }

    /// What turns a compass, or is called a hazard.
    pub fn hazards(&self) -> &[Hazard] {
        &self.hazards
    }

    /// Buildings.
    pub fn outlines(&self) -> &[Outline] {
        &self.outlines
    }

    /// Buildings of metal: they reflect.
    pub fn reflectors(&self) -> impl Iterator<Item = &Outline> {
        self.outlines.iter().filter(|o| o.metal)
    }

    /// Length of all streets.
    pub fn length(&self) -> Metres {
        Metres::new(self.edges.iter().map(|e| e.length.value()).sum())
    }

    /// The point at `along` metres from where an edge begins, kept between its ends.
    pub fn point_on(&self, edge: usize, along: Metres) -> PlanePoint {
        line::point_at(&self.edges[edge].polyline, along.value())
    }

    /// The names of the streets that meet at a node, each once, in the order of the edges.
    pub fn names_at(&self, node: usize) -> Vec<&str> {
        let mut out: Vec<&str> = Vec::new();
        for edge in self.at_node(node) {
            let name = self.edges[*edge].name.as_str();
            if !out.contains(&name) {
                out.push(name);
            }
        }
        out
    }
}
