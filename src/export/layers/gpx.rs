//! GPX 1.1 ([`GPX11`](crate::sources::GPX11)) for a receiver in the hand: stands, places and next stands as waypoints, routes of teams as
//! routes, walks and the rims of regions as tracks. The order of elements is that of the schema.

use geojson::{Feature, GeometryValue, Position};

use crate::export::layers::{
    Layers,
    balloon::{clipped, name_of},
    kinds::{LAYERS, Layer, in_words},
    xml::Xml,
};

/// Layers that become waypoints.
const WAYPOINTS: [&str; 3] = ["place", "next-stand", "stand"];

/// The document.
pub fn gpx(layers: &Layers) -> Vec<u8> {
    let mut xml = Xml::new();
    let root = [("xmlns", "http://www.topografix.com/GPX/1/1"), ("version", "1.1"), ("creator", "azimark")];
    let of = |kind: &str| {
        let at = LAYERS.iter().position(|l| l.kind == kind);
        at.map(|i| (&LAYERS[i], layers.features[i].as_slice()))
    };
    xml.element("gpx", &root, |xml| {
        xml.element("metadata", &[], |xml| {
            xml.text("name", "azimark: where an emitter is to be searched");
            let facts: Vec<String> =
                layers.about.facts.iter().map(|(name, text)| format!("{name}: {}", clipped(text))).collect();
            xml.text("desc", &format!("{}\n{}", layers.about.summary, facts.join("\n")));
        });
        for (layer, features) in WAYPOINTS.into_iter().filter_map(of) {
            features.iter().for_each(|f| waypoint(layer, f, xml));
        }
        if let Some((_, features)) = of("route") {
            features.iter().for_each(|f| route(f, xml));
        }
        if let Some((layer, features)) = of("region") {
            features.iter().for_each(|f| rim(layer, f, xml));
        }
        walks(layers, xml);
    });
    xml.finish()
}

/// Seven decimals; 180° east is written as west, because the schema ends before it.
fn at(of: [f64; 2]) -> [String; 2] {
    let lon = if of[0] >= 180.0 { -180.0 } else { of[0] };
    [format!("{:.7}", of[1]), format!("{lon:.7}")]
}

fn place(element: &str, position: [f64; 2], xml: &mut Xml, inside: impl FnOnce(&mut Xml)) {
    let [lat, lon] = at(position);
    xml.element(element, &[("lat", &lat), ("lon", &lon)], inside);
}

fn pair(p: &Position) -> [f64; 2] {
    [p[0], p[1]]
}

fn waypoint(layer: &Layer, feature: &Feature, xml: &mut Xml) {
    let Some(GeometryValue::Point { coordinates }) = feature.geometry.as_ref().map(|g| &g.value) else {
        return;
    };
    place("wpt", pair(coordinates), xml, |xml| {
        xml.text("name", &name_of(feature, layer));
        let told: Vec<String> = layer
            .columns
            .iter()
            .filter(|c| !matches!(c.0, "name" | "lat_deg" | "lon_deg"))
            .filter_map(|c| Some(format!("{}: {}", c.2, clipped(&in_words(Some(layer.value(feature, c)?))))))
            .collect();
        xml.text("desc", &told.join("; "));
        xml.text("type", layer.kind);
    });
}

fn route(feature: &Feature, xml: &mut Xml) {
    let team = clipped(&in_words(feature.property("team")));
    for (i, line) in lines(feature).enumerate() {
        xml.element("rte", &[], |xml| {
            xml.text("name", &if i == 0 { team.clone() } else { format!("{team}, piece {}", i + 1) });
            xml.text("type", "route");
            line.iter().for_each(|p| place("rtept", pair(p), xml, |_| ()));
        });
    }
}

fn lines(feature: &Feature) -> impl Iterator<Item = &Vec<Position>> {
    let lines: &[Vec<Position>] = match feature.geometry.as_ref().map(|g| &g.value) {
        Some(GeometryValue::LineString { coordinates }) => std::slice::from_ref(coordinates),
        Some(GeometryValue::MultiLineString { coordinates }) => coordinates,
        _ => &[],
    };
    lines.iter()
}

/// GPX knows no areas: the rim is what a receiver can show.
fn rim(layer: &Layer, feature: &Feature, xml: &mut Xml) {
    let Some(GeometryValue::MultiPolygon { coordinates }) = feature.geometry.as_ref().map(|g| &g.value)
    else {
        return;
    };
    xml.element("trk", &[], |xml| {
        xml.text("name", &format!("rim of the {}", name_of(feature, layer)));
        xml.text("desc", "not a walk: the edge of the area to search");
        xml.text("type", "region");
        for ring in coordinates.iter().flatten() {
            xml.element("trkseg", &[], |xml| ring.iter().for_each(|p| place("trkpt", pair(p), xml, |_| ())));
        }
    });
}

fn walks(layers: &Layers, xml: &mut Xml) {
    for walk in &layers.walks {
        xml.element("trk", &[], |xml| {
            xml.text("name", &clipped(&walk.name));
            xml.text("type", "walk");
            for stretch in &walk.stretches {
                xml.element("trkseg", &[], |xml| {
                    for (position, time) in stretch {
                        place("trkpt", *position, xml, |xml| xml.text("time", time));
                    }
                });
            }
        });
    }
}
