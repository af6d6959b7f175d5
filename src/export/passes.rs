//! A search without a find as a line of JSON, for a record that several add up in.

use serde_json::{Map, Value, json};

use crate::{
    export::outline::position,
    geodesy::Place,
    observe::{Covered, Emitter, Pass},
};

/// One line, with its line end.
pub fn pass(pass: &Pass) -> String {
    let mut out = Map::new();
    let mut put = |key: &str, value: Value| out.insert(key.to_owned(), value);
    put("team", json!(pass.team));
    put("time", json!(pass.time));
    let word = match pass.emitter {
        Emitter::On => "on",
        Emitter::Off => "off",
        Emitter::Unknown(_) => "unknown",
    };
    put("emitter", json!(word));
    if let Emitter::Unknown(chance) = pass.emitter {
        put("chance_on", json!(chance));
    }
    match &pass.covered {
        Covered::Area { rings, detection } => {
            put("pod", json!(detection));
            put("area", lines(rings));
        }
        Covered::Track { lines: track, range, detection } => {
            put("range_m", json!(range.value()));
            if let Some(detection) = detection {
                put("pod", json!(detection));
            }
            put("track", lines(track));
        }
    }
    format!("{}\n", Value::Object(out))
}

fn lines(lines: &[Vec<Place>]) -> Value {
    let line = |l: &Vec<Place>| l.iter().map(|p| json!(position(*p))).collect::<Vec<Value>>();
    json!(lines.iter().map(line).collect::<Vec<Vec<Value>>>())
}
