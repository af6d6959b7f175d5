//! From things of a map to the graph.

use std::collections::HashMap;

use crate::{
    finding::{Finding, Origin},
    geodesy::{Place, Plane, PlanePoint},
    ingest::{Mapped, Shape},
    streets::{
        Edge, Node, Streets,
        boxes::{Bounds, Boxes},
        islands,
        junctions::{Cuts, Snapped, Way, cuts},
        line::{apart, length, point_at},
        tags, town,
    },
    units::Metres,
};

/// Ends of ways nearer than this to another way meet it; drawn maps are seldom closer.
pub const SNAP: Metres = Metres::new(1.0);

/// More pieces of streets than this are not taken: a region of a hundred thousand people has about as many.
pub const MOST_SEGMENTS: usize = 300_000;

pub fn build(name: &str, things: &[Mapped]) -> (Streets, Vec<Finding>) {
    let mut findings = Vec::new();
    let tell = |finding: Finding| finding.at(Origin::file(name));
    let sorted = sort(things);
    let places: Vec<Place> = sorted.walked.iter().flat_map(|(_, places)| places.iter().copied()).collect();
    let anywhere: Vec<Place> = things.iter().filter_map(first).collect();
    let nowhere = Place::from_lat_lon_degrees(0.0, 0.0).expect("literal in range");
    let plane = Plane::centred_on(&places)
        .or_else(|| Plane::centred_on(&anywhere))
        .or_else(|| Plane::centred_on(&[nowhere]))
        .expect("one place has a middle");
    findings.extend(sorted.findings().into_iter().map(tell));
    let ways = ways(&sorted.walked, &plane);
    let many = ways.iter().map(|w| w.points.len() - 1).sum::<usize>() > MOST_SEGMENTS;
    let cuts = if many { None } else { cuts(&ways) };
    if cuts.is_none() {
        let message =
            format!("more than {MOST_SEGMENTS} pieces of streets, or too many crossings, are not read");
        findings.push(tell(
            Finding::refused("too-many-streets", message).hint("cut the map to the area of the search"),
        ));
    }
    let mut graph = Graph::default();
    graph.add(&ways, &cuts.unwrap_or_default());
    if graph.twice > 0 {
        let message = format!("{} piece(s) of streets are drawn twice; each counts once", graph.twice);
        findings.push(tell(Finding::doubtful("streets-twice", message)));
    }
    let streets = graph.finish(plane, things);
    if streets.edges.is_empty() && !many {
        let hint = "streets are lines with a highway tag, or with \"street\" as layer or kind";
        findings.push(tell(Finding::doubtful("no-streets", "the map holds no streets to walk").hint(hint)));
    }
    findings.extend(islands::tell(&streets).into_iter().map(tell));
    (streets, findings)
}

fn first(thing: &Mapped) -> Option<Place> {
    match &thing.shape {
        Shape::Line(places) | Shape::Area(places) => places.first().copied(),
        Shape::Point(place) => Some(*place),
    }
}

/// Lines that are streets, and how many of the rest there are.
#[derive(Default)]
struct Sorted<'a> {
    walked: Vec<(&'a Mapped, &'a [Place])>,
    closed: usize,
    short: usize,
}

fn sort(things: &[Mapped]) -> Sorted<'_> {
    let mut out = Sorted::default();
    for thing in things {
        // An outline with a highway tag is a square: people walk around it.
        let places = match &thing.shape {
            Shape::Line(places) => places,
            Shape::Area(places) if thing.tags.contains_key("highway") => places,
            _ => continue,
        };
        match tags::way(&thing.tags) {
            tags::Way::Walked if places.len() < 2 => out.short += 1,
            tags::Way::Walked => out.walked.push((thing, places)),
            tags::Way::Closed => out.closed += 1,
            tags::Way::Other => {}
        }
    }
    out
}

impl Sorted<'_> {
    fn findings(&self) -> Vec<Finding> {
        let mut out = Vec::new();
        if self.closed > 0 {
            let message =
                format!("{} way(s) are private, or closed to people on foot, and are not used", self.closed);
            out.push(Finding::assumed("ways-closed", message));
        }
        if self.short > 0 {
            let message = format!("{} street(s) have fewer than two positions and are not used", self.short);
            out.push(Finding::doubtful("street-without-length", message));
        }
        out
    }
}

/// Ways on the plane, without repeated points.
fn ways(walked: &[(&Mapped, &[Place])], plane: &Plane) -> Vec<Way> {
    let mut out = Vec::new();
    for (thing, places) in walked {
        let mut points: Vec<PlanePoint> = places.iter().map(|p| plane.to_plane(*p)).collect();
        if matches!(thing.shape, Shape::Area(_)) {
            points.push(points[0]);
        }
        points.dedup_by(|a, b| apart(*a, *b) < 1e-6);
        if points.len() > 1 {
            let (level, name) = (tags::level(&thing.tags), tags::name(&thing.tags));
            out.push(Way { points, level, name, feature: thing.number });
        }
    }
    out
}

#[derive(Default)]
struct Graph {
    snapped: Snapped,
    edges: Vec<Edge>,
    known: HashMap<(usize, usize), Vec<usize>>,
    twice: usize,
}

impl Graph {
    fn add(&mut self, ways: &[Way], cuts: &Cuts) {
        for (way, cuts) in ways.iter().zip(cuts) {
            let mut from: Option<(usize, (usize, f64, PlanePoint))> = None;
            for cut in cuts {
                let node = self.snapped.node(cut.2);
                if let Some((start, begun)) = from {
                    self.piece(way, (start, begun), (node, *cut));
                }
                from = Some((node, *cut));
            }
        }
    }

    /// The piece of a way between two cuts.
    fn piece(
        &mut self,
        way: &Way,
        (from, start): (usize, (usize, f64, PlanePoint)),
        (to, end): (usize, (usize, f64, PlanePoint)),
    ) {
        let mut polyline = vec![self.snapped.points[from]];
        polyline.extend_from_slice(&way.points[start.0 + 1..=end.0.max(start.0)]);
        polyline.push(self.snapped.points[to]);
        polyline.dedup_by(|a, b| apart(*a, *b) < 1e-6);
        let length = length(&polyline);
        // Two cuts at one node with hardly any street between them.
        if polyline.len() < 2 || (from == to && length <= 2.0 * SNAP.value()) {
            return;
        }
        let middle = point_at(&polyline, 0.5 * length);
        let alike = self.known.entry((from.min(to), from.max(to))).or_default();
        let same = |e: &Edge| {
            (e.length.value() - length).abs() <= SNAP.value()
                && apart(point_at(&e.polyline, 0.5 * e.length.value()), middle) <= SNAP.value()
        };
        if alike.iter().any(|e| same(&self.edges[*e])) {
            self.twice += 1;
            return;
        }
        alike.push(self.edges.len());
        let (name, feature) = (way.name.clone(), way.feature);
        self.edges.push(Edge { from, to, length: Metres::new(length), name, polyline, feature });
    }

    fn finish(self, plane: Plane, things: &[Mapped]) -> Streets {
        let nodes: Vec<Node> =
            self.snapped.points.iter().map(|p| Node { place: plane.to_place(*p), point: *p }).collect();
        let mut at_node = vec![Vec::new(); nodes.len()];
        let mut segments = Vec::new();
        for (i, edge) in self.edges.iter().enumerate() {
            at_node[edge.from].push(i);
            at_node[edge.to].push(i);
            let mut along = 0.0;
            for w in edge.polyline.windows(2) {
                segments.push((i, along, (w[0], w[1])));
                along += apart(w[0], w[1]);
            }
        }
        let bounds: Vec<Bounds> = segments.iter().map(|s| Bounds::around(&[s.2.0, s.2.1], 0.0)).collect();
        Streets {
            plane,
            nodes,
            edges: self.edges,
            at_node,
            segments,
            boxes: Boxes::new(&bounds),
            hazards: things.iter().filter_map(|t| town::hazard(t, &plane)).collect(),
            outlines: things.iter().filter_map(|t| town::outline(t, &plane)).collect(),
        }
    }
}
