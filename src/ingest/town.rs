//! What a map of a town holds: lines, outlines and points with their tags.

use std::collections::BTreeMap;

use geojson::{GeometryValue, JsonValue, Position};

use crate::{
    finding::Finding,
    geodesy::Place,
    ingest::{json, log::Log},
};

/// Where a thing of a town lies.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A line, such as a street.
    Line(Vec<Place>),
    /// The outer ring of an outline, such as a building; the last place is not a repetition of the first.
    Area(Vec<Place>),
    /// A point, such as a mast.
    Point(Place),
}

/// A thing of a town with its tags, as OpenStreetMap and others write them: `highway`, `name`, `building`, `material`.
#[derive(Clone, Debug, PartialEq)]
pub struct Mapped {
    /// Number of its feature in the file, from 1.
    pub number: u64,
    /// Its properties; numbers and truth values as text, keys in lower case.
    pub tags: BTreeMap<String, String>,
    /// Where.
    pub shape: Shape,
}

/// The things of a GeoJSON text. A position that is no longitude and latitude costs its line or outline, and is told.
pub fn town(name: &str, text: &str, log: &mut Log) -> Vec<Mapped> {
    let mut out = Vec::new();
    for (number, feature) in json::features(name, text, log).unwrap_or_default() {
        let Some(geometry) = feature.geometry else { continue };
        let tags: BTreeMap<String, String> = feature
            .properties
            .iter()
            .flatten()
            .filter_map(|(key, value)| text_of(value).map(|v| (key.to_lowercase(), v)))
            .collect();
        match shapes(&geometry.value) {
            Some(shapes) => {
                out.extend(shapes.into_iter().map(|shape| Mapped { number, tags: tags.clone(), shape }));
            }
            None => {
                let message = "a position here is not longitude and latitude in degrees";
                let hint = "correct it: [longitude, latitude], with latitude from -90 to 90";
                let at = json::origin(name, number);
                log.tell_row(Finding::refused("position-out-of-range", message).at(at).hint(hint));
            }
        }
    }
    out
}

fn text_of(value: &JsonValue) -> Option<String> {
    match value {
        JsonValue::String(text) => Some(text.trim().to_owned()),
        JsonValue::Number(number) => Some(number.to_string()),
        JsonValue::Bool(yes) => Some(if *yes { "yes" } else { "no" }.to_owned()),
        _ => None,
    }
}

/// Simple shapes of a geometry; `None` where a position is none. Geometries of geometries are passed over.
fn shapes(geometry: &GeometryValue) -> Option<Vec<Shape>> {
    let line = |l: &Vec<Position>| places(l).map(Shape::Line);
    let area = |p: &Vec<Vec<Position>>| ring(p.first()?).map(Shape::Area);
    match geometry {
        GeometryValue::Point { coordinates } => Some(vec![Shape::Point(place(coordinates)?)]),
        GeometryValue::MultiPoint { coordinates } => {
            coordinates.iter().map(|p| place(p).map(Shape::Point)).collect()
        }
        GeometryValue::LineString { coordinates } => Some(vec![line(coordinates)?]),
        GeometryValue::MultiLineString { coordinates } => coordinates.iter().map(line).collect(),
        GeometryValue::Polygon { coordinates } => Some(vec![area(coordinates)?]),
        GeometryValue::MultiPolygon { coordinates } => coordinates.iter().map(area).collect(),
        GeometryValue::GeometryCollection { .. } => Some(Vec::new()),
    }
}

fn ring(positions: &[Position]) -> Option<Vec<Place>> {
    let mut out = places(positions)?;
    if out.len() > 1 && out.first() == out.last() {
        out.pop();
    }
    Some(out)
}

fn places(positions: &[Position]) -> Option<Vec<Place>> {
    positions.iter().map(place).collect()
}

fn place(position: &Position) -> Option<Place> {
    match position.as_slice() {
        [lon, lat, ..] => Place::from_lat_lon_degrees(*lat, *lon),
        _ => None,
    }
}
