//! Levels as features: coloured points with their distance, measured and expected level.

use geojson::{Feature, GeometryValue, Position};
use serde_json::{Value, json};

use crate::{
    export::{features::feature, outline, rounded},
    report::{Against, Answer},
};

/// Colours from weak to strong, dark to bright, which also tell apart in grey: steps of the cividis map.
pub(super) const COLOURS: [&str; 6] = ["#00224e", "#35456c", "#666970", "#948e77", "#c8b866", "#fee838"];

/// One point for each level that was used.
pub(super) fn readings(answer: &Answer) -> Vec<Feature> {
    let against = answer.against();
    let heard = || against.iter().filter(|a| !a.below).map(|a| a.level.value());
    let least = heard().fold(f64::INFINITY, f64::min);
    let greatest = heard().fold(f64::NEG_INFINITY, f64::max);
    let used = answer.levels.levels.iter().zip(&against);
    used.map(|(level, a)| {
        let value = GeometryValue::Point { coordinates: Position::from(outline::position(a.at)) };
        let mut properties = row(a);
        properties["kind"] = json!("reading");
        properties["origin"] = json!(level.written.origin().to_string());
        properties["device"] = json!(answer.levels.devices.get(level.device));
        properties["marker-color"] = json!(colour(a, least, greatest));
        feature(value, properties)
    })
    .collect()
}

/// A level against its distance.
pub(super) fn row(a: &Against) -> Value {
    json!({
        "distance_m": rounded(a.distance.value(), 1),
        "level_dbm": rounded(a.level.value(), 2),
        "below_floor": a.below,
        "expected_dbm": a.expected.map_or(Value::Null, |e| rounded(e.value(), 2)),
    })
}

fn colour(a: &Against, least: f64, greatest: f64) -> &'static str {
    let steps = COLOURS.len() as f64;
    let part = (a.level.value() - least) / (greatest - least).max(1e-9);
    let step = if a.below { 0.0 } else { (part * steps).floor().clamp(0.0, steps - 1.0) };
    COLOURS[step as usize]
}
