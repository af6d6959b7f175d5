//! What a feature says when somebody points at it: HTML in which nothing that people wrote is markup.

use geojson::Feature;

use crate::export::{
    drawing::escaped,
    layers::{
        About,
        kinds::{Layer, in_words},
        xml::plain,
    },
};

/// Longest text that is shown of a cell, characters; the data beside hold all of it.
const LONGEST: usize = 600;

/// At most so much of a text, with an ellipsis.
pub fn clipped(text: &str) -> String {
    match text.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", &text[..end]),
        None => text.to_owned(),
    }
}

/// Text as HTML.
fn shown(text: &str) -> String {
    escaped(&plain(&clipped(text)).replace('\n', " "))
}

/// The name of a feature.
pub fn name_of(feature: &Feature, layer: &Layer) -> String {
    let named = [in_words(feature.property("name")), in_words(feature.property("team"))];
    let named = named.into_iter().find(|n| !n.is_empty());
    let ranked = || match feature.property("rank") {
        Some(rank) => format!("{} {rank}", layer.kind.replace('-', " ")),
        None => layer.title.to_owned(),
    };
    clipped(&named.unwrap_or_else(ranked))
}

/// A heading and a table of what the feature has.
pub fn balloon(feature: &Feature, layer: &Layer) -> String {
    let mut out = format!("<h3>{}</h3>", shown(&name_of(feature, layer)));
    out += &format!("<p>{}</p><table>", escaped(layer.about));
    for column in layer.columns.iter().filter(|c| !matches!(c.0, "name" | "marker-color")) {
        if let Some(value) = layer.value(feature, column) {
            let text = in_words(Some(value));
            if !text.is_empty() {
                out += &format!("<tr><td>{}</td><td>{}</td></tr>", escaped(column.2), shown(&text));
            }
        }
    }
    out + "</table>"
}

/// What there is to say about the whole.
pub fn whole(about: &About) -> String {
    let mut out = format!("<p>{}</p><table>", shown(&about.summary));
    for (name, text) in &about.facts {
        out += &format!("<tr><td>{}</td><td>{}</td></tr>", escaped(name), shown(text));
    }
    out + "</table>"
}
