//! Hazards and buildings.

use crate::{
    geodesy::{Plane, PlanePoint},
    ingest::{Mapped, Shape},
    streets::{
        line::{from_ring, project},
        tags::{self, HazardKind},
    },
    units::Metres,
};

/// Something that turns a compass, or that the map calls a hazard.
#[derive(Clone, Debug, PartialEq)]
pub struct Hazard {
    /// Its name, else the word for its kind.
    pub name: String,
    /// What it is.
    pub kind: HazardKind,
    /// How far to keep off.
    pub keep_off: Metres,
    shape: PlaneShape,
}

/// A building, or another outline of metal.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// Its name, else `building`.
    pub name: String,
    /// Its ring on the plane of the streets; the last point is not a repetition of the first.
    pub ring: Vec<PlanePoint>,
    /// Its height, where the map says it.
    pub height: Option<Metres>,
    /// Whether it is of metal: it reflects.
    pub metal: bool,
}

#[derive(Clone, Debug, PartialEq)]
enum PlaneShape {
    Line(Vec<PlanePoint>),
    Area(Vec<PlanePoint>),
    Point(PlanePoint),
}

impl Hazard {
    /// Distance from it; zero inside of an area.
    pub fn distance(&self, p: PlanePoint) -> Metres {
        Metres::new(match &self.shape {
            PlaneShape::Line(line) => {
                line.windows(2).map(|w| project(p, (w[0], w[1])).1).fold(f64::INFINITY, f64::min)
            }
            PlaneShape::Area(ring) => match from_ring(p, ring) {
                (_, true) => 0.0,
                (distance, false) => distance,
            },
            PlaneShape::Point(at) => (at.east - p.east).hypot(at.north - p.north),
        })
    }

    /// Whether a point is nearer than one should keep.
    pub fn reaches(&self, p: PlanePoint) -> bool {
        self.distance(p).value() < self.keep_off.value()
    }
}

/// The hazard that a thing is, if any.
pub fn hazard(thing: &Mapped, plane: &Plane) -> Option<Hazard> {
    let (kind, keep_off) = tags::hazard(&thing.tags)?;
    let named = ["name", "hazard"].iter().find_map(|k| thing.tags.get(*k)).filter(|n| !n.is_empty());
    let name = named.filter(|n| n.as_str() != "yes").cloned().unwrap_or_else(|| kind.word().to_owned());
    let on_plane = |places: &[_]| places.iter().map(|p| plane.to_plane(*p)).collect::<Vec<PlanePoint>>();
    let shape = match &thing.shape {
        Shape::Line(places) if places.len() > 1 => PlaneShape::Line(on_plane(places)),
        Shape::Area(places) if places.len() > 2 => PlaneShape::Area(on_plane(places)),
        Shape::Point(place) => PlaneShape::Point(plane.to_plane(*place)),
        Shape::Line(_) | Shape::Area(_) => return None,
    };
    Some(Hazard { name, kind, keep_off, shape })
}

/// The building that a thing is, if any.
pub fn outline(thing: &Mapped, plane: &Plane) -> Option<Outline> {
    let Shape::Area(places) = &thing.shape else { return None };
    let metal = tags::metal(&thing.tags);
    if places.len() < 3 || !(metal || tags::building(&thing.tags)) {
        return None;
    }
    let height = ["height_m", "height"].iter().find_map(|k| thing.tags.get(*k));
    let height = height.and_then(|h| h.trim_end_matches('m').trim().parse::<f64>().ok());
    Some(Outline {
        name: thing
            .tags
            .get("name")
            .filter(|n| !n.is_empty())
            .cloned()
            .unwrap_or_else(|| "building".to_owned()),
        ring: places.iter().map(|p| plane.to_plane(*p)).collect(),
        height: height.filter(|h| (0.0..=2_000.0).contains(h)).map(Metres::new),
        metal,
    })
}
