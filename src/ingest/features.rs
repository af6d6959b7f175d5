//! Bearings and levels from GeoJSON: points with a bearing or a level among their properties.

use std::collections::HashSet;

use csv::StringRecord;
use geojson::{Feature, GeometryValue, JsonValue, Position, feature::Id};

use crate::{
    finding::{Finding, Origin},
    ingest::{
        Settings,
        columns::{self, Columns},
        header,
        json::{self, Numbered},
        levels::Reader as LevelReader,
        log::Log,
        names::Field,
        row::Reader,
        sheet::Sheet,
        table::MOST_ROWS,
        vocabulary::Vocabulary,
    },
    observe::{LevelReading, ReadBearing},
};

/// Properties without meaning for a bearing that are named one by one.
const NAMED_UNUSED: usize = 30;

/// Reads bearings from point features. Their properties are cells under the same names as a table's columns.
pub fn read(name: &str, text: &str, settings: &Settings, log: &mut Log) -> Vec<ReadBearing> {
    let Some(features) = json::features(name, text, log) else { return Vec::new() };
    let points = points(name, &features, Field::Bearing, log);
    if points.is_empty() {
        let hint = "bearings are points with the property bearing_deg";
        let message = "the file holds no points";
        log.tell(Finding::refused("empty", message).at(Origin::file(name)).hint(hint));
        return Vec::new();
    }
    let keys = Keys::of(name, &points, Vocabulary::Bearings, log);
    let Some(columns) = header::columns(&keys.headers, &Origin::file(name), Vocabulary::Bearings, log) else {
        return Vec::new();
    };
    let Some(sheet) = Sheet::new(name, &columns, settings, None, log) else { return Vec::new() };
    let mut rows = Reader::new(&sheet);
    let mut out = Vec::new();
    for (number, position, feature) in points {
        out.extend(rows.read(&keys.record(position, feature), number, log));
    }
    rows.finish(&out, log);
    out
}

/// Hands out the levels of point features, as [`read`] reads bearings.
pub fn levels(
    name: &str,
    text: &str,
    settings: &Settings,
    log: &mut Log,
    take: &mut impl FnMut(LevelReading),
) {
    let Some(features) = json::features(name, text, log) else { return };
    let points = points(name, &features, Field::Level, log);
    let keys = Keys::of(name, &points, Vocabulary::Levels, log);
    let Some(columns) = header::columns(&keys.headers, &Origin::file(name), Vocabulary::Levels, log) else {
        return;
    };
    let Some(sheet) = Sheet::new(name, &columns, settings, None, log) else { return };
    let mut rows = LevelReader::new(&sheet);
    for (number, position, feature) in points {
        if let Some(reading) = rows.read(&keys.record(position, feature), number, log) {
            take(reading);
        }
    }
    rows.finish(log);
}

type Point<'f> = (u64, &'f Position, &'f Feature);

/// The points among the features. What has the field that matters and is no point is refused, the rest passed over.
fn points<'f>(name: &str, features: &'f [Numbered], meant: Field, log: &mut Log) -> Vec<Point<'f>> {
    let (vocabulary, what) =
        if meant == Field::Level { (Vocabulary::Levels, "level") } else { (Vocabulary::Bearings, "bearing") };
    let (mut out, mut passed) = (Vec::new(), 0);
    for (number, feature) in features {
        match feature.geometry.as_ref().map(|g| &g.value) {
            Some(GeometryValue::Point { .. }) if out.len() == MOST_ROWS => {
                let message = format!("the file has more than {MOST_ROWS} points: what follows is not read");
                let hint = &format!("split the file, or leave out what is no {what}");
                log.tell(
                    Finding::refused("too-many-rows", message).at(json::origin(name, *number)).hint(hint),
                );
                break;
            }
            Some(GeometryValue::Point { coordinates }) => out.push((*number, coordinates, feature)),
            _ if keys(feature).any(|key| columns::field_of(key, vocabulary) == Some(meant)) => {
                let message = format!("the feature has a {what} and is no point: where was it taken?");
                let hint = "give it the geometry of a point with [longitude, latitude]";
                log.tell_row(
                    Finding::refused("coordinate-missing", message)
                        .at(json::origin(name, *number))
                        .hint(hint),
                );
            }
            _ => passed += 1,
        }
    }
    if passed > 0 {
        let message = format!("{passed} feature(s) are no points and were passed over");
        log.tell(Finding::assumed("features-passed-over", message).at(Origin::file(name)));
    }
    out
}

fn keys(feature: &Feature) -> impl Iterator<Item = &String> {
    feature.properties.iter().flatten().map(|(key, _)| key)
}

/// The properties that are read, under the headers of a table.
struct Keys {
    /// Latitude and longitude of the geometry, then names of properties, then perhaps the features' own identifier.
    headers: Vec<String>,
    /// How many of the headers are properties.
    properties: usize,
}

impl Keys {
    fn of(name: &str, points: &[Point], vocabulary: Vocabulary, log: &mut Log) -> Self {
        let mut headers = vec!["latitude".to_owned(), "longitude".to_owned()];
        let (mut seen, mut unused) = (HashSet::new(), 0);
        for key in points.iter().flat_map(|(_, _, feature)| keys(feature)) {
            if !seen.insert(key) {
                continue;
            }
            let known = columns::field_of(key, vocabulary).is_some();
            unused += usize::from(!known);
            // A file may give every feature properties of its own: only some that are not used are carried along.
            if known || unused <= NAMED_UNUSED {
                headers.push(key.clone());
            }
        }
        if unused > NAMED_UNUSED {
            let message = format!("{} more properties are not used", unused - NAMED_UNUSED);
            log.tell(Finding::assumed("columns-unused", message).at(Origin::file(name)));
        }
        let properties = headers.len() - 2;
        let own = points.iter().any(|(_, _, feature)| feature.id.is_some());
        if own && !Columns::of(&headers, vocabulary).named(Field::Id) {
            headers.push("id".to_owned());
        }
        Self { headers, properties }
    }

    fn record(&self, position: &Position, feature: &Feature) -> StringRecord {
        let coordinate = |i: usize| position.as_slice().get(i).map_or(String::new(), ToString::to_string);
        let mut cells = vec![coordinate(1), coordinate(0)];
        let (properties, own) = self.headers[2..].split_at(self.properties);
        cells.extend(properties.iter().map(|key| {
            let value = feature.properties.as_ref().and_then(|p| p.get(key));
            match value {
                None | Some(JsonValue::Null) => String::new(),
                Some(JsonValue::String(text)) => text.clone(),
                Some(other) => other.to_string(),
            }
        }));
        cells.extend(own.iter().map(|_| match &feature.id {
            Some(Id::String(text)) => text.clone(),
            Some(Id::Number(number)) => number.to_string(),
            None => String::new(),
        }));
        StringRecord::from(cells)
    }
}
