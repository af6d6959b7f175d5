//! Lines and outlines of a base map, to draw on.

use geojson::{GeometryValue, Position};

use crate::{
    finding::{Finding, Origin},
    geodesy::Place,
    ingest::{json, log::Log},
};

/// Lines and outlines of a base map.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ground {
    /// Lines such as streets.
    pub lines: Vec<Vec<Place>>,
    /// Outer rings of outlines such as buildings.
    pub areas: Vec<Vec<Place>>,
}

/// Lines and outlines of a GeoJSON text, whatever their properties. Positions that are no places, and features that are
/// neither, are passed over, and told.
pub fn ground(name: &str, text: &str, log: &mut Log) -> Ground {
    let (mut out, mut lost, mut passed) = (Ground::default(), 0, 0);
    let mut places = |line: &[Position]| -> Vec<Place> {
        let found: Vec<Place> = line.iter().filter_map(place).collect();
        lost += line.len() - found.len();
        found
    };
    for (_, feature) in json::features(name, text, log).unwrap_or_default() {
        match feature.geometry.map(|g| g.value) {
            Some(GeometryValue::LineString { coordinates }) => out.lines.push(places(&coordinates)),
            Some(GeometryValue::MultiLineString { coordinates }) => {
                out.lines.extend(coordinates.iter().map(|l| places(l)));
            }
            Some(GeometryValue::Polygon { coordinates }) => {
                out.areas.extend(coordinates.first().map(|r| places(r)));
            }
            Some(GeometryValue::MultiPolygon { coordinates }) => {
                out.areas.extend(coordinates.iter().filter_map(|p| p.first()).map(|r| places(r)));
            }
            _ => passed += 1,
        }
    }
    if lost > 0 {
        let message = format!("{lost} position(s) are not longitude and latitude and are not drawn");
        log.tell(Finding::doubtful("positions-lost", message).at(Origin::file(name)));
    }
    if passed > 0 {
        let message = format!("{passed} feature(s) are neither lines nor outlines and are not drawn");
        log.tell(Finding::assumed("features-passed-over", message).at(Origin::file(name)));
    }
    out
}

fn place(position: &Position) -> Option<Place> {
    match position.as_slice() {
        [lon, lat, ..] => Place::from_lat_lon_degrees(*lat, *lon),
        _ => None,
    }
}
