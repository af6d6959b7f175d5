//! The answer in open formats: GeoJSON for maps, JSON for programs, and a drawing for people without either. Nothing
//! is computed here that the answer does not hold.

mod activity;
mod advice;
mod closure;
mod division;
mod drawing;
mod features;
mod field_sheet;
mod labels;
mod layers;
mod level_notes;
mod notes;
mod outline;
mod passes;
mod polar;
mod profile;
mod readings;
mod schema;
mod sectors;
mod spots;
mod swings;
mod week;

pub use activity::{ACTIVITY_SCHEMA, ActivityParts, activity_json};
pub use advice::{ADVICE_SCHEMA, advice_geojson, advice_json};
pub use closure::{CLOSURE_SCHEMA, ClosureParts, closure_json};
pub use division::{division, gpx};
pub use drawing::{Background, close_up, drawing};
pub use features::{geojson, geojson_thinned, geojson_without};
pub use field_sheet::{FIELD_SCHEMA, field_json};
#[cfg(feature = "gpkg")]
pub use layers::GeoPackageFailed;
pub use layers::{Divided, Layers, Outgoing};
pub use notes::Notes;
pub use passes::pass;
pub use polar::polar;
pub use profile::{FitLine, Heard, ProfilePoint, profile};
pub use schema::{SCHEMA, json, json_thinned, json_without};
pub use sectors::sectors;
pub use swings::{SWINGS_SCHEMA, swings_json};
pub use week::week;

/// A JSON number, or null where the value is not finite.
fn rounded(value: f64, digits: i32) -> serde_json::Value {
    let scale = 10f64.powi(digits);
    let shown = (value * scale).round() / scale;
    // Turns −0.0 into 0.0: a reader would wonder about the sign.
    serde_json::Number::from_f64(shown + 0.0).map_or(serde_json::Value::Null, serde_json::Value::Number)
}
