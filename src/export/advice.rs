//! Where to stand next, for programs and maps.

use geojson::{Feature, FeatureCollection, GeometryValue, JsonObject, Position};
use serde_json::{Value, json};

use crate::{
    export::{
        features::{feature, written},
        outline, rounded,
    },
    geodesy::Place,
    plan::{Advice, Stand, Why},
};

/// Name and version of the schema.
pub const ADVICE_SCHEMA: &str = "azimark-advice/1";

/// The advice as JSON: `enough`, `look_minutes`, `area_m2`, `open_deg_true`, `goal`, and `stands` with their places, minutes,
/// areas (expected, and usual: the median) and reasons; angles in degrees from true north.
pub fn advice_json(advice: &Advice) -> String {
    let mut body = told(advice);
    body["stands"] = advice.stands.iter().enumerate().map(|(i, s)| stand(i + 1, s)).collect();
    format!("{body:#}\n")
}

/// The advice as GeoJSON: a point of `kind` `next-stand` for each stand, `goal` and `from`; what a map cannot draw is in the
/// collection's `azimark` member.
pub fn advice_geojson(advice: &Advice) -> String {
    let mut features = proposed(advice);
    for (team, stand) in advice.pair.iter().flat_map(|p| p.stands.into_iter().enumerate()) {
        features.push(point(stand, json!({ "kind": "team-stand", "team": team + 1 })));
    }
    features.push(point(advice.goal, json!({ "kind": "goal", "name": "likeliest" })));
    features.push(point(advice.from, json!({ "kind": "from", "name": "from here" })));
    let members = JsonObject::from_iter([("azimark".to_owned(), told(advice))]);
    written(&FeatureCollection { bbox: None, features, foreign_members: Some(members) })
}

/// A point for each proposed stand.
pub(super) fn proposed(advice: &Advice) -> Vec<Feature> {
    advice.stands.iter().enumerate().map(|(i, s)| point(s.at.place, stand(i + 1, s))).collect()
}

fn told(advice: &Advice) -> Value {
    let findings: Vec<String> = advice.findings.iter().map(ToString::to_string).collect();
    json!({
        "schema": ADVICE_SCHEMA,
        "version": env!("CARGO_PKG_VERSION"),
        "enough": advice.enough,
        "look_minutes": rounded(advice.look, 1),
        "look_meets": rounded(advice.look_meets, 2),
        "area_m2": advice.area.map(|a| rounded(a.value(), 0)),
        "open_deg_true": advice.open.map(|o| rounded(o.compass().to_degrees(), 1)),
        "goal": place(advice.goal),
        "from": place(advice.from),
        "tried": advice.tried,
        "two_teams": advice.pair.as_ref().map(|p| json!({
            "stands": p.stands.map(place),
            "walk_minutes": p.walks.map(|w| rounded(w, 1)),
            "minutes": rounded(p.minutes, 1),
            "one_team_minutes": rounded(p.alone, 1),
            "cut_deg": p.cut.map(|c| rounded(c.to_degrees(), 1)),
        })),
        "kinds": advice.kinds.map(|k| json!({
            "bearing_nats": rounded(k.bearing, 3),
            "bearing_minutes": rounded(k.bearing_minutes, 1),
            "levels_nats_at_least": rounded(k.levels, 3),
            "levels_minutes": rounded(k.levels_minutes, 1),
            "levels_pay": k.levels_pay(),
        })),
        "findings": findings,
    })
}

fn place(place: Place) -> Value {
    json!({ "lat_deg": rounded(place.lat_degrees(), 7), "lon_deg": rounded(place.lon_degrees(), 7) })
}

fn stand(rank: usize, stand: &Stand) -> Value {
    let why = match stand.why {
        Why::ClosesOpen(_) => "closes-open-direction",
        Why::OpenSide => "open-side",
        Why::AcrossLongAxis => "across-long-axis",
        Why::Wider => "wider",
        Why::Nearer => "nearer",
    };
    json!({
        "kind": "next-stand",
        "rank": rank,
        "name": stand.at.name,
        "lat_deg": rounded(stand.at.place.lat_degrees(), 7),
        "lon_deg": rounded(stand.at.place.lon_degrees(), 7),
        "walk_minutes": rounded(stand.at.minutes, 1),
        "total_minutes": rounded(stand.total, 1),
        "expected_area_m2": rounded(stand.area.value(), 0),
        "usual_area_m2": rounded(stand.usual_area.value(), 0),
        "wide_area_m2": rounded(stand.wide_area.value(), 0),
        "log_determinant": rounded(stand.log_determinant, 3),
        "information_nats": rounded(stand.told, 3),
        "toward_deg_true": rounded(stand.toward.compass().to_degrees(), 1),
        "range_m": rounded(stand.range.value(), 0),
        "sigma_deg": rounded(stand.sigma.to_degrees(), 1),
        "probability_heard": stand.heard.map(|h| rounded(h, 2)),
        "share_blocked": stand.blocked.map(|b| rounded(b, 2)),
        "cuts": stand.cut.as_ref().map(|c| json!({ "id": c.id, "angle_deg": rounded(c.angle.to_degrees(), 0) })),
        "why": why,
    })
}

fn point(at: Place, properties: Value) -> Feature {
    feature(GeometryValue::Point { coordinates: Position::from(outline::position(at)) }, properties)
}
