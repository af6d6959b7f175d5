//! GeoJSON (RFC 7946): stands, bearing rays, places, regions and the customary ellipse.

use geojson::{Feature, FeatureCollection, Geometry, GeometryValue, JsonObject, Position};
use serde_json::{Value, json};

use crate::{
    export::{
        outline::{self, Coordinates},
        readings, rounded, sectors,
    },
    finding::Finding,
    geodesy::{Place, course, destination},
    north::TrueBearing,
    observe::NorthReference,
    region::{Ellipse, Region, Ring, Scale},
    report::{Answer, OneOfTwo},
    solve::{Mode, Residual},
    units::{Angle, Confidence, Metres},
};

/// The answer as a GeoJSON feature collection, one line per feature. Coordinates are WGS 84, longitude first.
///
/// Every feature has `kind`: `region` (with `confidence` and `area_m2`), `ellipse`, `bearing` (with `id`, `verdict`
/// and `probability_direct`), `reading` (with `distance_m`, `level_dbm`, `expected_dbm` and a `marker-color`), `sector`, `stand`, `place` (with `share`), and where two places explain the bearings
/// better than one, `place-of-two` and `region-of-two` (with `number` and the identifiers of its `bearings`). Regions come first, so that maps draw them below the
/// rest; a region that the data do not determine is absent and named in the collection's `azimark` member.
pub fn geojson(answer: &Answer) -> String {
    let features = features(answer);
    written(&FeatureCollection { bbox: None, features, foreign_members: Some(told(answer)) })
}

/// The same for drawing alone: of more than `most` readings an even part, with how many there are in `readings_of` of the
/// collection's `azimark` member.
pub fn geojson_thinned(answer: &Answer, most: usize) -> String {
    let used = answer.levels.levels.len();
    let step = used.div_ceil(most.max(1)).max(1);
    let mut number = 0;
    let mut kept = features(answer);
    kept.retain(|f| {
        let reading = f.property("kind").is_some_and(|k| k == "reading");
        number += usize::from(reading);
        !reading || (most > 0 && (number - 1).is_multiple_of(step))
    });
    let mut members = told(answer);
    if step > 1 && most > 0 {
        members["azimark"]["readings_of"] = json!(used);
    }
    written(&FeatureCollection { bbox: None, features: kept, foreign_members: Some(members) })
}

/// Everything of an answer that a map can draw, in the order in which it is drawn.
pub(super) fn features(answer: &Answer) -> Vec<Feature> {
    let mut features: Vec<Feature> = Vec::new();
    features.extend(answer.regions.iter().rev().flatten().map(|r| region(answer, r)));
    features.extend(ellipse(answer));
    let rays = answer.bearings.iter().zip(&answer.record.residuals);
    features.extend(rays.map(|(bearing, residual)| ray(answer, bearing, residual)));
    features.extend(readings::readings(answer));
    features.extend(sectors::wedges(&answer.sectors, reach_of_sectors(answer)));
    features.extend(stands(&answer.bearings));
    features.extend(answer.two.iter().flat_map(|two| two.places.iter().enumerate()).flat_map(of_two));
    features.extend(answer.fit.modes().iter().enumerate().map(|(rank, mode)| place(rank + 1, mode)));
    features
}

/// A collection without features, where there is no place at all; its `azimark` member says why.
pub fn geojson_without(summary: &str, findings: &[Finding]) -> String {
    let findings: Vec<String> = findings.iter().map(ToString::to_string).collect();
    let body = json!({ "version": env!("CARGO_PKG_VERSION"), "summary": summary, "findings": findings });
    let told = JsonObject::from_iter([("azimark".to_owned(), body)]);
    written(&FeatureCollection { bbox: None, features: Vec::new(), foreign_members: Some(told) })
}

/// One feature per line: readable, and a change in one feature is a change in one line.
pub(super) fn written(collection: &FeatureCollection) -> String {
    let mut out = String::from("{\"type\":\"FeatureCollection\",\n");
    for (name, value) in collection.foreign_members.iter().flatten() {
        out += &format!("{}:{value},\n", Value::from(name.as_str()));
    }
    let lines: Vec<String> = collection.features.iter().map(ToString::to_string).collect();
    out += "\"features\":[\n";
    out += &lines.join(",\n");
    out += "\n]}\n";
    out
}

/// What a map cannot draw: program, findings, regions that are not determined.
pub(super) fn told(answer: &Answer) -> JsonObject {
    let open: Vec<String> =
        answer.regions.iter().filter_map(|r| r.as_ref().err()).map(ToString::to_string).collect();
    let findings: Vec<String> = answer.findings.iter().map(ToString::to_string).collect();
    let body = json!({
        "version": env!("CARGO_PKG_VERSION"),
        "summary": answer.summary(),
        "not_determined": open,
        "findings": findings,
    });
    JsonObject::from_iter([("azimark".to_owned(), body)])
}

pub(super) fn feature(value: GeometryValue, properties: Value) -> Feature {
    let properties = match properties {
        Value::Object(map) => Some(map),
        _ => None,
    };
    let geometry = Some(Geometry::new(value));
    Feature { bbox: None, geometry, id: None, properties, foreign_members: None }
}

fn point(place: Place) -> GeometryValue {
    GeometryValue::Point { coordinates: Position::from(outline::position(place)) }
}

fn positions(line: Vec<Coordinates>) -> Vec<Position> {
    line.into_iter().map(Position::from).collect()
}

pub(super) fn area(parts: impl Iterator<Item = (Ring, Vec<Ring>)>) -> GeometryValue {
    let coordinates = parts
        .flat_map(|(outer, holes)| outline::polygons(&outer, &holes))
        .map(|polygon| polygon.into_iter().map(positions).collect())
        .collect();
    GeometryValue::MultiPolygon { coordinates }
}

fn region(answer: &Answer, region: &Region) -> Feature {
    let value = area(region.parts().iter().map(|p| (p.outer(), p.holes())));
    let percent = 100.0 * region.confidence().value();
    feature(
        value,
        json!({
            "kind": "region",
            "name": format!("{percent:.0} % region"),
            "confidence": region.confidence().value(),
            "area_m2": rounded(region.area().value(), 0),
            "parts": region.parts().len(),
            "doubtful": answer.doubtful(),
            "summary": answer.summary(),
        }),
    )
}

/// One of two places with its region.
fn of_two((rank, one): (usize, &OneOfTwo)) -> Vec<Feature> {
    let number = rank + 1;
    let about = |kind: &str, name: &str| json!({ "kind": kind, "name": format!("{name} {number} of two"), "number": number, "bearings": one.bearings });
    let mut out = Vec::new();
    if let Ok(region) = &one.region {
        let value = area(region.parts().iter().map(|p| (p.outer(), p.holes())));
        out.push(feature(value, about("region-of-two", "95 % region of place")));
    }
    out.push(feature(point(one.place), about("place-of-two", "place")));
    out
}

fn ellipse(answer: &Answer) -> Option<Feature> {
    let centre = answer.fit.modes().first()?.place;
    let wide = answer.ellipse?.widened(Confidence::P95, answer.scale);
    // An ellipse of more than a thousand kilometres is no figure that a map could show.
    (wide.semi_major.value() < 1e6).then(|| {
        let scale = match answer.scale {
            Scale::Known => "chi-square, stated errors",
            Scale::Estimated { .. } => "F, errors estimated from the misses",
        };
        let ring = around(centre, &wide);
        feature(
            area(std::iter::once((ring, Vec::new()))),
            json!({
                "kind": "ellipse",
                "name": "customary 95 % ellipse of the first place",
                "confidence": 0.95,
                "semi_major_m": rounded(wide.semi_major.value(), 1),
                "semi_minor_m": rounded(wide.semi_minor.value(), 1),
                "azimuth_deg": rounded(wide.azimuth.to_degrees(), 1),
                "area_m2": rounded(wide.area().value(), 0),
                "scale": scale,
            }),
        )
    })
}

/// Wedges are drawn a little past the quoted place.
fn reach_of_sectors(answer: &Answer) -> Metres {
    let place = answer.fit.quoted();
    let far = answer.sectors.iter().map(|s| course(s.sector().at, place).distance.value());
    Metres::new((PAST * far.fold(0.0, f64::max)).clamp(200.0, 100_000.0))
}

/// 120 points around the ellipse, counter-clockwise.
fn around(centre: Place, ellipse: &Ellipse) -> Ring {
    (0..120)
        .map(|i| {
            let (sin, cos) = (f64::from(i) * std::f64::consts::TAU / 120.0).sin_cos();
            let (along, across) = (ellipse.semi_major.value() * cos, -ellipse.semi_minor.value() * sin);
            let azimuth = ellipse.azimuth.turned(Angle::radians(across.atan2(along)));
            destination(centre, azimuth, Metres::new(along.hypot(across))).0
        })
        .collect()
}

/// How far past the quoted place a ray is drawn.
const PAST: f64 = 1.3;

fn ray(answer: &Answer, bearing: &TrueBearing, residual: &Residual) -> Feature {
    let read = bearing.read();
    let from = read.stand.at;
    let reach = answer.fit.modes().first().map_or(1_000.0, |m| course(from, m.place).distance.value());
    let length = (PAST * reach).clamp(200.0, answer.fit.within().value());
    // A point every 5 km keeps the drawn line on the geodesic to within 3 m at mid latitudes.
    let steps = (length / 5_000.0).ceil().clamp(1.0, 200.0) as u32;
    let places: Vec<Place> = (0..=steps)
        .map(|i| {
            let along = Metres::new(length * f64::from(i) / f64::from(steps));
            destination(from, bearing.azimuth(), along).0
        })
        .collect();
    let mut lines: Vec<Vec<Position>> = outline::line(&places).into_iter().map(positions).collect();
    let value = match lines.len() {
        1 => GeometryValue::LineString { coordinates: lines.remove(0) },
        _ => GeometryValue::MultiLineString { coordinates: lines },
    };
    feature(value, properties(bearing, residual))
}

fn properties(bearing: &TrueBearing, residual: &Residual) -> Value {
    let read = bearing.read();
    json!({
        "kind": "bearing",
        "name": format!("{} {}", read.id, residual.verdict.word()),
        "id": read.id,
        "verdict": residual.verdict.word(),
        "probability_direct": rounded(residual.direct, 4),
        "probability_reversed": rounded(residual.reversed, 4),
        "probability_foreign": rounded(residual.foreign, 4),
        "read_deg": rounded(read.read.to_degrees(), 2),
        "north": north(read.north),
        "true_deg": rounded(bearing.azimuth().to_degrees(), 2),
        "computed_deg": rounded(residual.computed.to_degrees(), 2),
        "miss_deg": rounded(residual.miss.to_degrees(), 2),
        "sigma_deg": rounded(residual.sigma.to_degrees(), 2),
        "range_m": rounded(residual.range.value(), 0),
        "shift_without_m": residual.shift_without.map_or(Value::Null, |m| rounded(m.value(), 1)),
        "team": read.team,
        "time_utc": read.time.as_ref().map(ToString::to_string),
        "remarks": read.remarks,
        "origin": read.origin.to_string(),
    })
}

/// The word for a north.
pub fn north(north: NorthReference) -> &'static str {
    match north {
        NorthReference::True => "true",
        NorthReference::Magnetic => "magnetic",
        NorthReference::Grid(_) => "grid",
    }
}

/// One point per stand, with the bearings taken there.
fn stands(bearings: &[TrueBearing]) -> Vec<Feature> {
    let mut seen: Vec<(Place, Vec<&TrueBearing>)> = Vec::new();
    for bearing in bearings {
        let at = bearing.read().stand.at;
        match seen.iter_mut().find(|(place, _)| *place == at) {
            Some((_, here)) => here.push(bearing),
            None => seen.push((at, vec![bearing])),
        }
    }
    seen.iter()
        .map(|(at, here)| {
            let stand = &here[0].read().stand;
            let ids: Vec<&str> = here.iter().map(|b| b.read().id.as_str()).collect();
            let name = if stand.name.is_empty() { ids.join(", ") } else { stand.name.clone() };
            feature(
                point(*at),
                json!({
                    "kind": "stand",
                    "name": name,
                    "bearings": ids,
                    "sigma_m": stand.sigma.map_or(Value::Null, |s| rounded(s.to_metres(), 1)),
                    "height_m": stand.height.map_or(Value::Null, |h| rounded(h.value(), 1)),
                }),
            )
        })
        .collect()
}

fn place(rank: usize, mode: &Mode) -> Feature {
    feature(
        point(mode.place),
        json!({
            "kind": "place",
            "name": format!("place {rank}, share {:.0} %", 100.0 * mode.share),
            "rank": rank,
            "share": rounded(mode.share, 4),
            "nearest_stand_m": rounded(mode.nearest_stand.value(), 0),
        }),
    )
}
