//! A division as GeoJSON, and a team's route as GPX 1.1.

use std::fmt::Write as _;

use geojson::{Feature, FeatureCollection, GeometryValue, JsonObject, Position};
use serde_json::json;

use crate::{
    divide::{Division, Part},
    export::{
        drawing::escaped,
        features::{area, feature, written},
        outline, rounded,
    },
    report,
};

/// GeoJSON of a division: for each team a `part` (its outline, with `team`, `probability`, `minutes`, `length_m` and the names of its `streets`), its `street` lines,
/// its `route`, and `meeting` points with its neighbours.
pub fn division(division: &Division) -> String {
    let mut features: Vec<Feature> = Vec::new();
    for (k, part) in division.parts.iter().enumerate() {
        features.push(outline_of(part));
        features.push(lines("street", part, &part.lines));
        features.push(lines("route", part, std::slice::from_ref(&part.route)));
        features.extend(part.meets.iter().filter(|m| m.part > k).map(|meets| {
            let points = meets.corners.iter().map(|c| Position::from(outline::position(*c))).collect();
            let value = GeometryValue::MultiPoint { coordinates: points };
            let other = &division.parts[meets.part].team.name;
            let streets = &meets.streets;
            feature(value, json!({ "kind": "meeting", "teams": [part.team.name, other], "streets": streets }))
        }));
    }
    // A team with nothing to draw of a kind has no feature of it.
    features.retain(|f| f.geometry.as_ref().is_some_and(|g| !empty(&g.value)));
    let findings: Vec<String> = division.findings.iter().map(ToString::to_string).collect();
    let body = json!({
        "version": env!("CARGO_PKG_VERSION"),
        "probability": rounded(division.held(), 4),
        "unevenness": rounded(division.unevenness, 4),
        "findings": findings,
    });
    let told = JsonObject::from_iter([("azimark".to_owned(), body)]);
    written(&FeatureCollection { bbox: None, features, foreign_members: Some(told) })
}

fn empty(value: &GeometryValue) -> bool {
    match value {
        GeometryValue::MultiLineString { coordinates } => coordinates.is_empty(),
        GeometryValue::MultiPolygon { coordinates } => coordinates.is_empty(),
        _ => false,
    }
}

fn outline_of(part: &Part) -> Feature {
    let rings = part.outline.iter().map(|p| {
        let mut rings = p.iter().cloned();
        (rings.next().unwrap_or_default(), rings.collect())
    });
    feature(
        area(rings),
        json!({
            "kind": "part",
            "name": part.team.name,
            "team": part.team.name,
            "probability": rounded(part.probability, 4),
            "minutes": rounded(part.minutes, 1),
            "length_m": rounded(part.length.value(), 0),
            "route_minutes": rounded(part.route_minutes, 1),
            "hazards": part.hazards,
            "streets": part.streets.iter().map(|s| s.name.as_str()).collect::<Vec<_>>(),
        }),
    )
}

fn lines(kind: &str, part: &Part, lines: &[Vec<crate::geodesy::Place>]) -> Feature {
    let pieces = lines.iter().flat_map(|l| outline::line(l));
    let coordinates = pieces.map(|l| l.into_iter().map(Position::from).collect()).collect();
    let length = if kind == "route" { part.route_length } else { part.length };
    feature(
        GeometryValue::MultiLineString { coordinates },
        json!({ "kind": kind, "team": part.team.name, "length_m": rounded(length.value(), 0) }),
    )
}

/// A team's route as GPX 1.1, a route with its points in order.
pub fn gpx(division: &Division, k: usize) -> String {
    let part = &division.parts[k];
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    out += "<gpx version=\"1.1\" creator=\"azimark\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n";
    let name = escaped(&part.team.name);
    let about = escaped(&report::radio(division, k));
    let _ = writeln!(out, "<rte><name>{name}</name><desc>{about}</desc>");
    for place in &part.route {
        let [lon, lat] = outline::position(*place);
        let _ = writeln!(out, "<rtept lat=\"{lat:.7}\" lon=\"{lon:.7}\"/>");
    }
    out + "</rte>\n</gpx>\n"
}
