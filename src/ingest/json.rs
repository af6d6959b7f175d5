//! GeoJSON (RFC 7946) as features, whatever they are used for.

use geojson::{Feature, GeoJson, JsonObject, JsonValue};

use crate::{
    finding::{Finding, Origin, clipped},
    ingest::{log::Log, table::MOST_ROWS},
};

/// A feature and its number in the file, from 1.
pub type Numbered = (u64, Feature);

/// Larger texts are refused: taken apart, a text of GeoJSON fills up to fifty times its own size.
const LARGEST: usize = 16 << 20;

/// Whether a text is meant as GeoJSON: a table's header never begins with a brace.
pub fn meant(text: &str) -> bool {
    text.trim_start().starts_with('{')
}

/// The features of a text; `None` after a refusal. A feature that is none is refused by its number, the others are kept.
pub fn features(name: &str, text: &str, log: &mut Log) -> Option<Vec<Numbered>> {
    if text.len() > LARGEST {
        let message = format!("a file of GeoJSON may have {} MiB", LARGEST >> 20);
        let hint = "cut it to the area and to what is needed";
        log.tell(Finding::refused("file-too-large", message).at(Origin::file(name)).hint(hint));
        return None;
    }
    let (features, others) = match text.parse::<GeoJson>() {
        Ok(GeoJson::FeatureCollection(all)) => ((1..).zip(all.features).collect(), all.foreign_members),
        Ok(GeoJson::Feature(one)) => {
            let others = one.foreign_members.clone();
            (vec![(1, one)], others)
        }
        Ok(GeoJson::Geometry(_)) => {
            let message = "the file is a bare geometry, without properties";
            log.tell(refused(name, message).hint("use features with properties"));
            return None;
        }
        Err(error) => one_by_one(name, text, &error.to_string(), log)?,
    };
    if let Some(finding) = foreign_system(name, others.as_ref()) {
        log.tell(finding);
        return None;
    }
    Some(features)
}

/// What can be saved of a text that as a whole is no GeoJSON for the given reason: the sound ones of its features.
fn one_by_one(
    name: &str,
    text: &str,
    reason: &str,
    log: &mut Log,
) -> Option<(Vec<Numbered>, Option<JsonObject>)> {
    let hint = "a table begins with a header line, GeoJSON with a brace";
    let mut object = match serde_json::from_str::<JsonValue>(text) {
        Ok(JsonValue::Object(object)) => object,
        Ok(_) => return None,
        Err(error) => {
            let mut origin = Origin::line(name, error.line() as u64);
            origin.column = Some(error.column() as u64);
            let message = format!("this is not JSON: {}", clipped(&error.to_string()));
            log.tell(Finding::refused("not-geojson", message).at(origin).hint(hint));
            return None;
        }
    };
    let Some(JsonValue::Array(values)) = object.remove("features") else {
        log.tell(refused(name, &format!("this is not GeoJSON: {}", clipped(reason))).hint(hint));
        return None;
    };
    let mut sound = Vec::new();
    let surplus = values.len().saturating_sub(MOST_ROWS);
    if surplus > 0 {
        let message = format!("some features are none, and of the others the last {surplus} are not read");
        let hint = "correct what is told first, then read the file again";
        log.tell(Finding::refused("too-many-rows", message).at(Origin::file(name)).hint(hint));
    }
    for (number, value) in (1..).zip(values.into_iter().take(MOST_ROWS)) {
        match serde_json::from_value::<Feature>(value) {
            Ok(feature) => sound.push((number, feature)),
            Err(error) => {
                let message = format!("this is not a feature of GeoJSON: {}", clipped(&error.to_string()));
                let hint = "a point has the coordinates [longitude, latitude], two numbers in degrees";
                log.tell_row(Finding::refused("not-a-feature", message).at(origin(name, number)).hint(hint));
            }
        }
    }
    Some((sound, Some(object)))
}

/// Where a feature stands.
pub fn origin(name: &str, number: u64) -> Origin {
    Origin::file(&format!("{name}, feature {number}"))
}

fn refused(name: &str, message: &str) -> Finding {
    Finding::refused("not-geojson", message).at(Origin::file(name))
}

/// GeoJSON of 2008 could name another coordinate system, and some programs still do. Only WGS 84 is read as it stands.
fn foreign_system(name: &str, others: Option<&JsonObject>) -> Option<Finding> {
    let crs = others?.get("crs").filter(|crs| !crs.is_null())?;
    let named = crs.pointer("/properties/name").and_then(JsonValue::as_str);
    if named.is_some_and(|n| n.ends_with("CRS84") || n.ends_with(":4326")) {
        return None;
    }
    let what = named.map_or_else(|| clipped(&crs.to_string()), clipped);
    let message = format!("the file names the coordinate system {what}, and only WGS 84 is read");
    let hint = "export it again in WGS 84 (EPSG:4326), longitude and latitude in degrees";
    Some(Finding::refused("system-unknown", message).at(Origin::file(name)).hint(hint))
}
