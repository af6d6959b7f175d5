//! KML 2.3 ([`KML23`](crate::sources::KML23)): a folder for each layer, styles, and a balloon for each feature. The order of elements is
//! that of the schema.

use geojson::{Feature, GeometryValue, Position};
use serde_json::Value;

use crate::export::layers::{
    Layers,
    balloon::{balloon, clipped, name_of, whole},
    kinds::{Column, Holds, LAYERS, Layer, in_words},
    style::{STYLES, Style, style_of},
    xml::Xml,
};

/// The document.
pub fn kml(layers: &Layers) -> Vec<u8> {
    let mut xml = Xml::new();
    let root = [("xmlns", "http://www.opengis.net/kml/2.2"), ("version", "2.3")];
    xml.element("kml", &root, |xml| {
        xml.element("Document", &[], |xml| {
            xml.text("name", "azimark: where an emitter is to be searched");
            xml.text("open", "1");
            // What is shown in a list of places is no markup, but programs differ.
            xml.text_with("Snippet", &[("maxLines", "2")], &clipped(&layers.about.summary).replace('<', "‹"));
            xml.text("description", &whole(&layers.about));
            STYLES.iter().for_each(|style| one_style(style, xml));
            let drawn = || LAYERS.iter().zip(&layers.features).filter(|(_, features)| !features.is_empty());
            drawn().for_each(|(layer, _)| schema(layer, xml));
            drawn().for_each(|(layer, features)| folders(layer, features, xml));
        });
    });
    xml.finish()
}

/// `aabbggrr` of a colour and an opacity.
fn colour(rgb: &str, opacity: f64) -> String {
    let part = |i: usize| rgb.get(i..i + 2).unwrap_or("00").to_owned();
    format!("{:02x}{}{}{}", (255.0 * opacity).round() as u8, part(5), part(3), part(1))
}

fn one_style(style: &Style, xml: &mut Xml) {
    xml.element("Style", &[("id", style.name)], |xml| {
        if style.point > 0.0 {
            xml.element("IconStyle", &[], |xml| {
                xml.text("color", &colour(style.stroke, 1.0));
                xml.text("scale", &style.point.to_string());
            });
            xml.element("LabelStyle", &[], |xml| xml.text("scale", &style.label.to_string()));
        } else {
            xml.element("LineStyle", &[], |xml| {
                xml.text("color", &colour(style.stroke, 1.0));
                xml.text("width", &style.width.to_string());
            });
        }
        if style.point == 0.0 {
            xml.element("PolyStyle", &[], |xml| {
                xml.text("color", &colour(style.fill, style.opacity));
                xml.text("fill", if style.fill.is_empty() { "0" } else { "1" });
            });
        }
        // Only the description, whose markup is this program's: a name that people wrote is not taken for markup there.
        xml.element("BalloonStyle", &[], |xml| xml.text("text", "$[description]"));
    });
}

fn schema(layer: &Layer, xml: &mut Xml) {
    xml.element("Schema", &[("name", layer.name), ("id", &data_of(layer))], |xml| {
        for column in data(layer) {
            let holds = match column.1 {
                Holds::Text => "string",
                Holds::Real => "double",
                Holds::Whole => "int",
                Holds::Flag => "bool",
            };
            xml.element("SimpleField", &[("type", holds), ("name", column.0)], |xml| {
                xml.text("displayName", column.2);
            });
        }
    });
}

/// The identifier of a schema; styles have theirs among the same names.
fn data_of(layer: &Layer) -> String {
    format!("data-{}", layer.name)
}

/// Columns beside those that a placemark has anyway.
fn data(layer: &Layer) -> impl Iterator<Item = &Column> {
    layer.columns.iter().filter(|c| c.0 != "name")
}

/// Direct, reversed and foreign bearings lie in folders of their own: KML knows no dashes, and whoever reads in grey can switch them.
fn folders(layer: &Layer, features: &[Feature], xml: &mut Xml) {
    if layer.kind != "bearing" {
        return folder(layer, layer.title, features.iter(), xml);
    }
    for verdict in ["direct", "reversed", "foreign"] {
        let of = || features.iter().filter(|f| in_words(f.property("verdict")) == verdict);
        if of().next().is_some() {
            folder(layer, &format!("{}, {verdict}", layer.title), of(), xml);
        }
    }
}

fn folder<'f>(layer: &Layer, title: &str, features: impl Iterator<Item = &'f Feature>, xml: &mut Xml) {
    xml.element("Folder", &[], |xml| {
        xml.text("name", title);
        xml.text("description", layer.about);
        features.for_each(|feature| placemark(layer, feature, xml));
    });
}

fn placemark(layer: &Layer, feature: &Feature, xml: &mut Xml) {
    let Some(geometry) = &feature.geometry else { return };
    xml.element("Placemark", &[], |xml| {
        xml.text("name", &name_of(feature, layer));
        if layer.kind == "ellipse" {
            xml.text("visibility", "0");
        }
        xml.text_with("Snippet", &[("maxLines", "0")], "");
        xml.text("description", &balloon(feature, layer));
        if let Some(style) = style_of(feature) {
            xml.text("styleUrl", &format!("#{}", style.name));
        }
        xml.element("ExtendedData", &[], |xml| {
            xml.element("SchemaData", &[("schemaUrl", &format!("#{}", data_of(layer)))], |xml| {
                for column in data(layer) {
                    if let Some(value) = layer.value(feature, column) {
                        let text = match value {
                            Value::Bool(yes) => if *yes { "1" } else { "0" }.to_owned(),
                            other => in_words(Some(other)),
                        };
                        xml.text_with("SimpleData", &[("name", column.0)], &text);
                    }
                }
            });
        });
        drawing(&geometry.value, xml);
    });
}

fn drawing(value: &GeometryValue, xml: &mut Xml) {
    match value {
        GeometryValue::Point { coordinates } => point(coordinates, xml),
        GeometryValue::LineString { coordinates } => line(coordinates, xml),
        GeometryValue::Polygon { coordinates } => polygon(coordinates, xml),
        GeometryValue::MultiPoint { coordinates } => many(coordinates, xml, point),
        GeometryValue::MultiLineString { coordinates } => many(coordinates, xml, |c, xml| line(c, xml)),
        GeometryValue::MultiPolygon { coordinates } => many(coordinates, xml, |c, xml| polygon(c, xml)),
        GeometryValue::GeometryCollection { geometries } => {
            many(geometries, xml, |g, xml| drawing(&g.value, xml));
        }
    }
}

/// One drawing as it is, several in one.
fn many<T>(parts: &[T], xml: &mut Xml, each: impl Fn(&T, &mut Xml)) {
    match parts {
        [one] => each(one, xml),
        _ => xml.element("MultiGeometry", &[], |xml| parts.iter().for_each(|part| each(part, xml))),
    }
}

fn coordinates(of: &[Position], xml: &mut Xml) {
    let pairs: Vec<String> = of.iter().map(|p| format!("{},{}", p[0], p[1])).collect();
    xml.text("coordinates", &pairs.join(" "));
}

fn point(at: &Position, xml: &mut Xml) {
    xml.element("Point", &[], |xml| coordinates(std::slice::from_ref(at), xml));
}

fn line(of: &[Position], xml: &mut Xml) {
    xml.element("LineString", &[], |xml| {
        xml.text("tessellate", "1");
        coordinates(of, xml);
    });
}

fn polygon(rings: &[Vec<Position>], xml: &mut Xml) {
    let Some((outer, holes)) = rings.split_first() else { return };
    let ring = |name: &str, ring: &[Position], xml: &mut Xml| {
        xml.element(name, &[], |xml| xml.element("LinearRing", &[], |xml| coordinates(ring, xml)));
    };
    xml.element("Polygon", &[], |xml| {
        xml.text("tessellate", "1");
        ring("outerBoundaryIs", outer, xml);
        holes.iter().for_each(|hole| ring("innerBoundaryIs", hole, xml));
    });
}
