//! Styles as OGC Symbology Encoding 1.1.0 ([`SYMBOLOGY`](crate::sources::SYMBOLOGY)): one document for each layer.

use crate::export::layers::{
    kinds::Layer,
    style::{STYLES, Style},
    xml::Xml,
};

/// The document of a layer.
pub fn symbols(layer: &Layer, column: impl Fn(&str) -> String) -> String {
    let mut xml = Xml::new();
    let root = [
        ("version", "1.1.0"),
        ("xmlns:se", "http://www.opengis.net/se"),
        ("xmlns:ogc", "http://www.opengis.net/ogc"),
    ];
    xml.element("se:FeatureTypeStyle", &root, |xml| {
        xml.text("se:FeatureTypeName", layer.name);
        STYLES.iter().filter(|s| s.layer == layer.name).for_each(|s| rule(s, &column, xml));
    });
    String::from_utf8(xml.finish()).unwrap_or_default()
}

fn rule(style: &Style, column: &impl Fn(&str) -> String, xml: &mut Xml) {
    xml.element("se:Rule", &[], |xml| {
        xml.text("se:Name", style.name);
        let (name, value) = style.when;
        if !name.is_empty() {
            xml.element("ogc:Filter", &[], |xml| {
                xml.element("ogc:PropertyIsEqualTo", &[], |xml| {
                    xml.text("ogc:PropertyName", &column(name));
                    xml.text("ogc:Literal", value);
                });
            });
        }
        if style.point > 0.0 {
            point(style, xml);
        } else if style.fill.is_empty() && style.layer != "ellipse" {
            xml.element("se:LineSymbolizer", &[], |xml| stroke(style, xml));
        } else {
            xml.element("se:PolygonSymbolizer", &[], |xml| {
                if !style.fill.is_empty() {
                    fill(style.fill, style.opacity, xml);
                }
                stroke(style, xml);
            });
        }
    });
}

fn point(style: &Style, xml: &mut Xml) {
    xml.element("se:PointSymbolizer", &[], |xml| {
        xml.element("se:Graphic", &[], |xml| {
            xml.element("se:Mark", &[], |xml| {
                xml.text("se:WellKnownName", if style.layer == "places" { "cross" } else { "circle" });
                fill(style.stroke, 1.0, xml);
            });
            xml.text("se:Size", &(10.0 * style.point).to_string());
        });
    });
}

fn parameter(name: &str, value: &str, xml: &mut Xml) {
    xml.text_with("se:SvgParameter", &[("name", name)], value);
}

fn fill(colour: &str, opacity: f64, xml: &mut Xml) {
    xml.element("se:Fill", &[], |xml| {
        parameter("fill", colour, xml);
        parameter("fill-opacity", &opacity.to_string(), xml);
    });
}

fn stroke(style: &Style, xml: &mut Xml) {
    xml.element("se:Stroke", &[], |xml| {
        parameter("stroke", style.stroke, xml);
        parameter("stroke-width", &style.width.to_string(), xml);
        if !style.dashes.is_empty() {
            parameter("stroke-dasharray", style.dashes, xml);
        }
    });
}
