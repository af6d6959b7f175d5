//! CSV ([`RFC4180`](crate::sources::RFC4180)) with the units in the names of the columns: the notes as they were read, to be read again,
//! and a table for each layer.

use geojson::{Feature, GeometryValue};
use serde_json::Value;

use crate::export::layers::{
    Layers,
    kinds::{Holds, LAYERS, Layer, Shape, in_words},
    tables::{Cell, Table},
    xml::plain,
};

/// Each table with its name.
pub fn csv(layers: &Layers) -> Vec<(&'static str, String)> {
    let mut out = vec![("about", written(&about(layers)))];
    out.extend(layers.tables.iter().map(|t| (t.name, written(t))));
    let drawn = LAYERS.iter().zip(&layers.features).filter(|(_, features)| !features.is_empty());
    out.extend(drawn.map(|(layer, features)| (name(layer), written(&table(layer, features)))));
    out
}

/// Which form it is, and how it was made.
fn about(layers: &Layers) -> Table {
    let row = |name: &str, text: &str| vec![Cell::Own(name.to_owned()), Cell::Written(text.to_owned())];
    let mut rows = vec![row("summary", &layers.about.summary)];
    rows.extend(layers.about.facts.iter().map(|(name, text)| row(name, text)));
    Table { name: "about", head: vec!["fact".to_owned(), "text".to_owned()], rows }
}

/// Names of all tables that there may be.
pub fn names() -> impl Iterator<Item = &'static str> {
    ["about", "bearings", "levels", "monitor"].into_iter().chain(LAYERS.iter().map(name))
}

/// The notes are called bearings: what became of each is their record.
fn name(layer: &Layer) -> &'static str {
    if layer.kind == "bearing" { "record" } else { layer.name }
}

fn table(layer: &Layer, features: &[Feature]) -> Table {
    // A place of its own has its coordinates in the first columns.
    let placed = layer.shape == Shape::Point;
    let mut head: Vec<String> =
        if placed { vec!["lat_deg".to_owned(), "lon_deg".to_owned()] } else { Vec::new() };
    let columns = || layer.columns.iter().filter(|c| !(placed && matches!(c.0, "lat_deg" | "lon_deg")));
    head.extend(columns().map(|c| c.0.to_owned()));
    let rows = features.iter().map(|feature| {
        let mut row: Vec<Cell> = Vec::new();
        if let Some(GeometryValue::Point { coordinates }) = feature.geometry.as_ref().map(|g| &g.value) {
            row.extend([coordinates[1], coordinates[0]].map(|d| Cell::Own(d.to_string())));
        }
        row.extend(columns().map(|column| match (column.1, layer.value(feature, column)) {
            (Holds::Text, value) => Cell::Written(in_words(value)),
            (_, Some(Value::Bool(yes))) => Cell::Own(if *yes { "yes" } else { "no" }.to_owned()),
            (_, value) => Cell::Own(in_words(value)),
        }));
        row
    });
    Table { name: name(layer), head, rows: rows.collect() }
}

fn written(table: &Table) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    // Writing to memory never fails, and every row is as long as the head.
    let _ = writer.write_record(&table.head);
    for row in &table.rows {
        let _ = writer.write_record(row.iter().map(|cell| match cell {
            Cell::Own(text) => text.clone(),
            Cell::Written(text) => inert(text),
        }));
    }
    String::from_utf8(writer.into_inner().unwrap_or_default()).unwrap_or_default()
}

/// A text that people wrote, such that no table program takes it for a formula: one that begins with `=`, `+`, `-`, `@`, a tabulator
/// or a line end gets an apostrophe before it. Common practice, no source.
fn inert(text: &str) -> String {
    let text = plain(text);
    if text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) { format!("'{text}") } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_looks_like_a_formula_gets_an_apostrophe() {
        for (text, cell) in
            [("=1+1", "'=1+1"), ("-1", "'-1"), ("@a", "'@a"), ("\t=1", "'\t=1"), ("a=1", "a=1"), ("", "")]
        {
            assert_eq!(inert(text), cell);
        }
    }
}
