//! A division that `divide` wrote, read again to go out with the answer.

use geojson::{Feature, GeoJson, Geometry, GeometryValue, Position};

use crate::{
    export::{features::area, outline},
    finding::{Finding, Origin},
    geodesy::Place,
};

/// Parts, streets, routes and meeting points.
#[derive(Default)]
pub struct Divided(pub(super) Vec<Feature>);

/// Kinds of features that a division has.
const KINDS: [&str; 4] = ["part", "street", "route", "meeting"];

impl Divided {
    /// Reads the GeoJSON of a division. Lines and areas are cut and turned as RFC 7946 asks, whoever edited them.
    ///
    /// # Errors
    /// A text that is no GeoJSON, has none of these features, or has one whose drawing is broken.
    pub fn read(name: &str, text: &str) -> Result<Self, Box<Finding>> {
        let refused = |code, message: String| {
            let hint = "name the division.geojson that azimark divide --output wrote";
            Box::new(Finding::refused(code, message).at(Origin::file(name)).hint(hint))
        };
        let parsed: GeoJson =
            text.parse().map_err(|e| refused("division-unreadable", format!("this is no GeoJSON: {e}")))?;
        let GeoJson::FeatureCollection(collection) = parsed else {
            return Err(refused("division-empty", "there is no collection of features in it".to_owned()));
        };
        let mut out = Vec::new();
        for (i, mut feature) in collection.features.into_iter().enumerate() {
            let kind = feature.property("kind").and_then(|k| k.as_str());
            if !kind.is_some_and(|k| KINDS.contains(&k)) {
                continue;
            }
            let value = feature.geometry.take().and_then(|g| drawn(&g.value));
            let Some(value) = value else {
                let message = format!("feature {} has no drawing that its kind can have", i + 1);
                return Err(refused("division-broken", message));
            };
            feature.geometry = Some(Geometry::new(value));
            out.push(feature);
        }
        if out.is_empty() {
            return Err(refused("division-empty", "no part, street, route or meeting is in it".to_owned()));
        }
        Ok(Self(out))
    }
}

fn places(line: &[Position]) -> Option<Vec<Place>> {
    line.iter().map(|p| Place::from_lat_lon_degrees(*p.as_slice().get(1)?, *p.as_slice().first()?)).collect()
}

/// The drawing in the form that all features of its kind have; `None` where a place is none.
fn drawn(value: &GeometryValue) -> Option<GeometryValue> {
    match value {
        GeometryValue::LineString { coordinates } => lines(std::slice::from_ref(coordinates)),
        GeometryValue::MultiLineString { coordinates } => lines(coordinates),
        GeometryValue::Polygon { coordinates } => areas(std::slice::from_ref(coordinates)),
        GeometryValue::MultiPolygon { coordinates } => areas(coordinates),
        GeometryValue::Point { coordinates } => points(std::slice::from_ref(coordinates)),
        GeometryValue::MultiPoint { coordinates } => points(coordinates),
        GeometryValue::GeometryCollection { .. } => None,
    }
}

fn points(of: &[Position]) -> Option<GeometryValue> {
    let coordinates = places(of)?.into_iter().map(|p| Position::from(outline::position(p))).collect();
    Some(GeometryValue::MultiPoint { coordinates })
}

fn lines(of: &[Vec<Position>]) -> Option<GeometryValue> {
    let mut coordinates = Vec::new();
    for line in of {
        let pieces = outline::line(&places(line)?);
        coordinates.extend(pieces.into_iter().map(|l| l.into_iter().map(Position::from).collect::<Vec<_>>()));
    }
    Some(GeometryValue::MultiLineString { coordinates })
}

fn areas(of: &[Vec<Vec<Position>>]) -> Option<GeometryValue> {
    let mut parts = Vec::new();
    for rings in of {
        let mut rings = rings.iter().map(|r| places(r)).collect::<Option<Vec<_>>>()?.into_iter();
        parts.push((rings.next()?, rings.collect()));
    }
    Some(area(parts.into_iter()))
}
