//! How each layer is drawn. Colours differ in brightness and lines in width and dashes, so that a copy in grey still tells them
//! apart.

use geojson::Feature;

use crate::export::{
    layers::kinds::{LAYERS, layer_of},
    readings::COLOURS,
};

/// How a feature is drawn.
pub struct Style {
    /// Its name.
    pub name: &'static str,
    /// The layer.
    pub layer: &'static str,
    /// The column that decides, and the value it must have; empty where all features look alike.
    pub when: (&'static str, &'static str),
    /// Colour of lines and of points, `#rrggbb`.
    pub stroke: &'static str,
    /// Width of lines, pixels.
    pub width: f64,
    /// Dashes and gaps, pixels; empty for a whole line.
    #[cfg_attr(not(feature = "gpkg"), expect(dead_code, reason = "KML knows no dashes"))]
    pub dashes: &'static str,
    /// Colour of areas; empty where they are not filled.
    pub fill: &'static str,
    /// Opacity of areas, 0 to 1.
    pub opacity: f64,
    /// Size of points beside the usual one.
    pub point: f64,
    /// Size of names beside the usual one; 0 hides them.
    pub label: f64,
}

const fn line(
    name: &'static str,
    layer: &'static str,
    when: (&'static str, &'static str),
    stroke: &'static str,
    width: f64,
    dashes: &'static str,
) -> Style {
    Style { name, layer, when, stroke, width, dashes, fill: "", opacity: 0.0, point: 0.0, label: 0.0 }
}

const fn area(
    name: &'static str,
    layer: &'static str,
    when: (&'static str, &'static str),
    (stroke, width, dashes): (&'static str, f64, &'static str),
    (fill, opacity): (&'static str, f64),
) -> Style {
    Style { fill, opacity, ..line(name, layer, when, stroke, width, dashes) }
}

const fn point(
    name: &'static str,
    layer: &'static str,
    stroke: &'static str,
    point: f64,
    label: f64,
) -> Style {
    Style { point, label, ..line(name, layer, ("", ""), stroke, 1.0, "") }
}

const fn reading(name: &'static str, step: usize) -> Style {
    let style = point(name, "readings", COLOURS[step], 0.4, 0.0);
    Style { when: ("marker-color", COLOURS[step]), ..style }
}

/// All styles.
pub const STYLES: [Style; 23] = [
    area("region-95", "regions", ("confidence", "0.95"), ("#4a3000", 1.8, ""), ("#ffe08a", 0.45)),
    area("region-90", "regions", ("confidence", "0.9"), ("#4a3000", 1.3, "6 3"), ("#ffc44d", 0.45)),
    area("region-50", "regions", ("confidence", "0.5"), ("#4a3000", 1.6, "1.5 3"), ("#f59a1b", 0.55)),
    area("region-of-two", "regions_of_two", ("", ""), ("#2b2f77", 1.8, "6 3"), ("#8f95d8", 0.35)),
    area("ellipse", "ellipse", ("", ""), ("#666666", 1.2, "2 4"), ("", 0.0)),
    area("part", "parts", ("", ""), ("#35456c", 2.0, ""), ("#35456c", 0.12)),
    line("street", "streets", ("", ""), "#35456c", 1.0, ""),
    line("route", "routes", ("", ""), "#0b5c66", 3.0, "8 3"),
    point("meeting", "meetings", "#35456c", 0.6, 0.0),
    area("sector", "sectors", ("", ""), ("#666970", 1.0, ""), ("#666970", 0.10)),
    line("bearing-direct", "bearings", ("verdict", "direct"), "#0b5c66", 3.0, ""),
    line("bearing-reversed", "bearings", ("verdict", "reversed"), "#9b7bd6", 2.0, "2 4"),
    line("bearing-foreign", "bearings", ("verdict", "foreign"), "#b0283a", 1.0, "8 6"),
    reading("reading-1", 0),
    reading("reading-2", 1),
    reading("reading-3", 2),
    reading("reading-4", 3),
    reading("reading-5", 4),
    reading("reading-6", 5),
    point("stand", "stands", "#0b2a33", 0.8, 0.8),
    point("place-of-two", "places_of_two", "#2b2f77", 1.0, 1.0),
    point("next-stand", "next_stands", "#2c7a2c", 1.0, 0.9),
    point("place", "places", "#000000", 1.1, 1.0),
];

/// The style of a feature.
pub fn style_of(feature: &Feature) -> Option<&'static Style> {
    let layer = &LAYERS[layer_of(feature)?];
    STYLES.iter().find(|s| {
        let (column, wanted) = s.when;
        let is = || feature.property(column).is_some_and(|v| super::kinds::in_words(Some(v)) == wanted);
        s.layer == layer.name && (column.is_empty() || is())
    })
}
