//! The form for others: places to a thousandth of a degree (111 m or less), areas as the squares of that size which they touch, and
//! neither remarks, devices, files nor names.

use std::collections::BTreeMap;

use geo::{
    BooleanOps, BoundingRect, Coord, LineString, MultiPolygon, Orient, Polygon, Rect, orient::Direction,
    unary_union,
};
use geojson::{Feature, GeometryValue, Position};
use serde_json::{Value, json};

use crate::{
    export::rounded,
    report::{Answer, Form},
};

/// Degrees of the grid that places are rounded to.
pub const STEP: f64 = 0.001;

/// Most rows of squares that an area is covered by; a greater area has greater squares.
const MOST_ROWS: f64 = 200.0;

/// Lengths are rounded to this, metres: exact distances between rounded places would give the places back.
const STEP_M: f64 = 100.0;

/// Properties that are dropped: what people wrote, and what names their things.
const DROPPED: [&str; 9] =
    ["remarks", "device", "origin", "site", "hazards", "streets", "lat_deg", "lon_deg", "cuts"];

/// Lengths between places.
const LENGTHS: [&str; 4] = ["distance_m", "range_m", "nearest_stand_m", "shift_without_m"];

/// Directions between places.
const DIRECTIONS: [&str; 3] = ["computed_deg", "miss_deg", "toward_deg_true"];

/// A number on the grid, written as the decimal that it is.
pub fn on_grid(degrees: f64) -> f64 {
    (degrees / STEP).round() / (1.0 / STEP).round() + 0.0
}

/// Names for people and things, in the order in which they come.
#[derive(Default)]
pub struct Roles(BTreeMap<(&'static str, String), String>);

impl Roles {
    /// `team 2` for the second team that is met.
    pub fn of(&mut self, what: &'static str, name: &str) -> String {
        let next = 1 + self.0.keys().filter(|(w, _)| *w == what).count();
        self.0.entry((what, name.to_owned())).or_insert_with(|| format!("{what} {next}")).clone()
    }
}

/// The feature as others get it; `None` where nothing of it is left.
pub fn shared(mut feature: Feature, answer: &Answer, roles: &mut Roles) -> Option<Feature> {
    // On a grid of 100 m the ellipse says nothing that the regions do not.
    if feature.property("kind").is_some_and(|k| k == "ellipse") {
        return None;
    }
    let geometry = feature.geometry.take()?;
    feature.geometry = Some(geojson::Geometry::new(coarse(geometry.value)?));
    let properties = feature.properties.as_mut()?;
    properties.retain(|name, _| !DROPPED.contains(&name.as_str()));
    let kind = properties.get("kind").and_then(Value::as_str).unwrap_or("").to_owned();
    for (name, value) in properties.iter_mut() {
        let number = value.as_f64();
        match (name.as_str(), number) {
            (n, Some(v)) if LENGTHS.contains(&n) => *value = rounded((v / STEP_M).round() * STEP_M, 0),
            (n, Some(v)) if DIRECTIONS.contains(&n) => *value = rounded(v, 0),
            ("summary", _) => *value = json!(Form::Shared.allowed(answer, value.as_str().unwrap_or(""))),
            _ => {}
        }
    }
    let word = |p: &geojson::JsonObject, name: &str| p.get(name).and_then(Value::as_str).map(str::to_owned);
    if let Some(team) = word(properties, "team") {
        properties["team"] = json!(roles.of("team", &team));
    }
    if let Some(ids) = properties.get("bearings").and_then(Value::as_array) {
        let ids: Vec<String> =
            ids.iter().filter_map(Value::as_str).map(|id| roles.of("bearing", id)).collect();
        if kind == "stand" {
            properties["name"] = json!(format!("stand of {}", ids.join(", ")));
        }
        properties["bearings"] = json!(ids);
    }
    match kind.as_str() {
        "region" | "region-of-two" => {
            let name = word(properties, "name").unwrap_or_default();
            properties["name"] = json!(format!("{name}, as the squares that it touches"));
        }
        "bearing" => {
            let id = roles.of("bearing", &word(properties, "id").unwrap_or_default());
            properties["name"] = json!(format!("{id} {}", word(properties, "verdict").unwrap_or_default()));
            properties["id"] = json!(id);
        }
        "sector" => {
            let id = roles.of("sector", &word(properties, "id").unwrap_or_default());
            (properties["name"], properties["id"]) = (json!(id), json!(id));
        }
        "next-stand" => properties["name"] = json!(format!("next stand {}", properties["rank"])),
        _ => {}
    }
    Some(feature)
}

/// The same drawing on the grid.
fn coarse(value: GeometryValue) -> Option<GeometryValue> {
    let point = |p: &Position| Position::from([on_grid(p[0]), on_grid(p[1])]);
    let line = |l: &Vec<Position>| {
        let mut out: Vec<Position> = l.iter().map(point).collect();
        out.dedup();
        // A line that is shorter than the grid keeps its two ends.
        if out.len() == 1 {
            out.push(out[0].clone());
        }
        out
    };
    Some(match value {
        GeometryValue::Point { coordinates } => GeometryValue::Point { coordinates: point(&coordinates) },
        GeometryValue::MultiPoint { coordinates } => {
            GeometryValue::MultiPoint { coordinates: coordinates.iter().map(point).collect() }
        }
        GeometryValue::LineString { coordinates } => {
            GeometryValue::LineString { coordinates: line(&coordinates) }
        }
        GeometryValue::MultiLineString { coordinates } => {
            GeometryValue::MultiLineString { coordinates: coordinates.iter().map(line).collect() }
        }
        GeometryValue::MultiPolygon { coordinates } => {
            GeometryValue::MultiPolygon { coordinates: covered(&coordinates) }
        }
        _ => return None,
    })
}

type Rings = Vec<Vec<Position>>;

/// The squares that the areas touch, joined: a region so drawn holds at least what the region held.
fn covered(areas: &[Rings]) -> Vec<Rings> {
    let ring = |r: &Vec<Position>| r.iter().map(|p| Coord { x: p[0], y: p[1] }).collect::<LineString>();
    let polygons: Vec<Polygon> = areas
        .iter()
        .filter_map(|rings| {
            let (outer, holes) = rings.split_first()?;
            Some(Polygon::new(ring(outer), holes.iter().map(ring).collect()))
        })
        .collect();
    let whole = MultiPolygon(polygons);
    let Some(bounds) = whole.bounding_rect() else { return Vec::new() };
    let mut steps = 1.0;
    while bounds.height() / (steps * STEP) > MOST_ROWS {
        steps *= 2.0;
    }
    let per_degree = (1.0 / STEP).round() / steps;
    let edge = |n: f64, most: f64| (n / per_degree).clamp(-most, most);
    let below = |v: f64| (v * per_degree).floor();
    let above = |v: f64| (v * per_degree).ceil();
    let mut squares: Vec<Polygon> = Vec::new();
    for row in
        below(bounds.min().y) as i64..(above(bounds.max().y) as i64).max(below(bounds.min().y) as i64 + 1)
    {
        let (south, north) = (edge(row as f64, 90.0), edge(row as f64 + 1.0, 90.0));
        let band = Rect::new(Coord { x: -180.0, y: south }, Coord { x: 180.0, y: north }).to_polygon();
        for part in whole.intersection(&MultiPolygon(vec![band])) {
            let Some(b) = part.bounding_rect() else { continue };
            let (west, east) = (below(b.min().x), above(b.max().x).max(below(b.min().x) + 1.0));
            let corner = |x: f64, y: f64| Coord { x: edge(x, 180.0), y };
            squares.push(Rect::new(corner(west, south), corner(east, north)).to_polygon());
        }
    }
    let joined = unary_union(&squares).orient(Direction::Default);
    let back = |l: &LineString| l.coords().map(|c| Position::from([six(c.x), six(c.y)])).collect::<Vec<_>>();
    joined.iter().map(|p| std::iter::once(p.exterior()).chain(p.interiors()).map(back).collect()).collect()
}

/// What joining leaves of rounding is taken off.
fn six(degrees: f64) -> f64 {
    (degrees * 1e6).round() / 1e6 + 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(west: f64, south: f64, size: f64) -> Rings {
        let at = |x: f64, y: f64| Position::from([west + x * size, south + y * size]);
        vec![vec![at(0.0, 0.0), at(1.0, 0.0), at(1.0, 1.0), at(0.0, 1.0), at(0.0, 0.0)]]
    }

    fn spans(rings: &Rings) -> [f64; 4] {
        let xs = || rings[0].iter().map(|p| p[0]);
        let ys = || rings[0].iter().map(|p| p[1]);
        let (low, high) = (f64::INFINITY, f64::NEG_INFINITY);
        [
            xs().fold(low, f64::min),
            ys().fold(low, f64::min),
            xs().fold(high, f64::max),
            ys().fold(high, f64::max),
        ]
    }

    /// An area smaller than a square of the grid becomes the square around it; the corners are those of the grid.
    #[test]
    fn an_area_becomes_the_squares_that_it_touches() {
        let small = covered(&[square(8.0102, 47.0103, 0.0004)]);
        assert_eq!((small.len(), spans(&small[0])), (1, [8.010, 47.010, 8.011, 47.011]));
        let across = covered(&[square(-8.0102, -47.0103, 0.0004)]);
        assert_eq!(spans(&across[0]), [-8.011, -47.011, -8.009, -47.009]);
        let apart = covered(&[square(8.0, 47.0, 0.0005), square(8.1, 47.0, 0.0005)]);
        assert_eq!(apart.len(), 2);
    }

    #[test]
    fn a_great_area_has_at_most_so_many_rows() {
        let great = covered(&[square(0.0, 0.0, 3.7)]);
        let [west, south, east, north] = spans(&great[0]);
        assert!(west <= 0.0 && south <= 0.0 && (3.7..3.8).contains(&east) && (3.7..3.8).contains(&north));
    }

    #[test]
    fn names_become_roles_in_the_order_in_which_they_come() {
        let mut roles = Roles::default();
        let given = ["Ann", "Bob", "Ann"].map(|n| roles.of("team", n));
        assert_eq!(given, ["team 1", "team 2", "team 1"]);
        assert_eq!(roles.of("bearing", "Ann"), "bearing 1");
    }
}
