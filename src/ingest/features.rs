//! GeoJSON (RFC 7946): points with a bearing among their properties, and lines and outlines to draw on.

use csv::StringRecord;
use geojson::{Feature, FeatureCollection, GeoJson, GeometryValue, JsonValue, Position};

use crate::{
    finding::{Finding, Origin},
    geodesy::Place,
    ingest::{Settings, columns::Columns, row::Reader, sheet::Sheet, table},
    observe::ReadBearing,
};

/// Whether a text is meant as GeoJSON: a table's header never begins with a brace.
pub fn meant(text: &str) -> bool {
    text.trim_start_matches('\u{feff}').trim_start().starts_with('{')
}

/// Reads bearings from point features. Their properties are cells under the same names as a table's columns.
pub fn read(name: &str, text: &str, settings: &Settings, findings: &mut Vec<Finding>) -> Vec<ReadBearing> {
    let Some(features) = parsed(name, text, findings) else { return Vec::new() };
    let points: Vec<(u64, &Position, &Feature)> = features
        .iter()
        .zip(1..)
        .filter_map(|(feature, number)| match &feature.geometry.as_ref()?.value {
            GeometryValue::Point { coordinates } => Some((number, coordinates, feature)),
            _ => None,
        })
        .collect();
    let passed = features.len() - points.len();
    if passed > 0 {
        let message = format!("{passed} feature(s) are no points and were passed over");
        findings.push(Finding::assumed("features-passed-over", message).at(Origin::file(name)));
    }
    let mut headers = vec!["latitude".to_owned(), "longitude".to_owned()];
    for key in points.iter().flat_map(|(_, _, f)| f.properties.iter().flatten().map(|(key, _)| key)) {
        if !headers.contains(key) {
            headers.push(key.clone());
        }
    }
    let columns = Columns::of(&headers);
    if points.is_empty() {
        let hint = "bearings are points with the property bearing_deg";
        let message = "the file holds no points";
        findings.push(Finding::refused("empty", message).at(Origin::file(name)).hint(hint));
        return Vec::new();
    }
    if !table::usable(name, &columns, findings) {
        return Vec::new();
    }
    let sheet = table::sheet(name, &columns, settings, false, findings);
    let Some(sheet) = sheet.map(|s| Sheet { features: true, ..s }) else { return Vec::new() };
    let mut rows = Reader::new(&sheet);
    let mut out = Vec::new();
    for (number, position, feature) in points {
        let record = record(&headers, position, feature);
        out.extend(rows.read(&record, number, findings));
    }
    rows.finish(&out, findings);
    out
}

fn record(headers: &[String], position: &Position, feature: &Feature) -> StringRecord {
    let coordinate = |i: usize| position.as_slice().get(i).map_or(String::new(), ToString::to_string);
    let mut cells = vec![coordinate(1), coordinate(0)];
    cells.extend(headers[2..].iter().map(|key| {
        let value = feature.properties.as_ref().and_then(|p| p.get(key));
        match value {
            None | Some(JsonValue::Null) => String::new(),
            Some(JsonValue::String(text)) => text.clone(),
            Some(other) => other.to_string(),
        }
    }));
    StringRecord::from(cells)
}

fn parsed(name: &str, text: &str, findings: &mut Vec<Finding>) -> Option<Vec<Feature>> {
    let refused = |message: String, hint: &str| {
        Finding::refused("not-geojson", message).at(Origin::file(name)).hint(hint)
    };
    match text.trim_start_matches('\u{feff}').parse::<GeoJson>() {
        Ok(GeoJson::FeatureCollection(FeatureCollection { features, .. })) => Some(features),
        Ok(GeoJson::Feature(feature)) => Some(vec![feature]),
        Ok(GeoJson::Geometry(_)) => {
            findings.push(refused(
                "the file is a bare geometry, without properties".to_owned(),
                "use features with properties",
            ));
            None
        }
        Err(error) => {
            let message = format!("this is not GeoJSON: {}", crate::finding::clipped(&error.to_string()));
            findings.push(refused(message, "a table begins with a header line, GeoJSON with a brace"));
            None
        }
    }
}

/// Lines and outlines of a base map.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ground {
    /// Lines such as streets.
    pub lines: Vec<Vec<Place>>,
    /// Outer rings of outlines such as buildings.
    pub areas: Vec<Vec<Place>>,
}

/// Lines and outlines of a GeoJSON text, whatever their properties; positions that are no places are passed over, and
/// told.
pub fn ground(name: &str, text: &str, findings: &mut Vec<Finding>) -> Ground {
    let mut out = Ground::default();
    let mut lost = 0;
    let mut places = |line: &[Position]| -> Vec<Place> {
        let found: Vec<Place> = line
            .iter()
            .filter_map(|p| Place::from_lat_lon_degrees(*p.as_slice().get(1)?, *p.as_slice().first()?))
            .collect();
        lost += line.len() - found.len();
        found
    };
    for feature in parsed(name, text, findings).unwrap_or_default() {
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
            _ => {}
        }
    }
    if lost > 0 {
        let message = format!("{lost} position(s) are not longitude and latitude and are not drawn");
        findings.push(Finding::doubtful("positions-lost", message).at(Origin::file(name)));
    }
    out
}
