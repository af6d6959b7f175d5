//! The record of searches without a find: one JSON object on each line.

use serde_json::{Map, Value};

use crate::{
    finding::{Finding, Origin},
    geodesy::Place,
    ingest::log::Log,
    observe::{Covered, Emitter, Pass},
    units::Metres,
};

/// Reads the lines of a record; a line that is not understood is refused with what is wrong.
pub fn passes(name: &str, text: &str, log: &mut Log) -> Vec<Pass> {
    let mut out = Vec::new();
    for (number, line) in text.lines().enumerate().filter(|(_, l)| !l.trim().is_empty()) {
        match serde_json::from_str::<Map<String, Value>>(line)
            .map_err(|e| e.to_string())
            .and_then(|m| pass(&m))
        {
            Ok(pass) => out.push(pass),
            Err(why) => log.tell_row(
                Finding::refused("pass", format!("this pass is not understood: {why}"))
                    .at(Origin::line(name, number as u64 + 1))
                    .hint("each line is one pass as azimark searched writes it"),
            ),
        }
    }
    out
}

fn pass(map: &Map<String, Value>) -> Result<Pass, String> {
    let text = |key: &str| map.get(key).and_then(Value::as_str).unwrap_or("").to_owned();
    let share = |key: &str| -> Result<Option<f64>, String> {
        match map.get(key) {
            None | Some(Value::Null) => Ok(None),
            Some(v) => match v.as_f64().filter(|p| (0.0..=1.0).contains(p)) {
                Some(p) => Ok(Some(p)),
                None => Err(format!("{key} is {v}: from 0 to 1")),
            },
        }
    };
    let emitter = match map.get("emitter").and_then(Value::as_str) {
        Some("on") => Emitter::On,
        Some("off") => Emitter::Off,
        Some("unknown") => Emitter::Unknown(share("chance_on")?.ok_or("chance_on is missing")?),
        _ => return Err("emitter must be on, off or unknown".to_owned()),
    };
    let detection = share("pod")?;
    let covered = match (map.get("area"), map.get("track")) {
        (Some(area), None) => Covered::Area {
            rings: lines(area, 3).ok_or("area must be lists of at least three [longitude, latitude]")?,
            detection: detection.ok_or("pod is missing")?,
        },
        (None, Some(track)) => {
            let range = map.get("range_m").and_then(Value::as_f64).filter(|r| (0.1..=1e5).contains(r));
            Covered::Track {
                lines: lines(track, 2).ok_or("track must be lists of at least two [longitude, latitude]")?,
                range: Metres::new(range.ok_or("range_m must be from 0.1 to 100000")?),
                detection,
            }
        }
        _ => return Err("it needs either area or track".to_owned()),
    };
    Ok(Pass { team: text("team"), time: text("time"), covered, emitter })
}

fn lines(value: &Value, least: usize) -> Option<Vec<Vec<Place>>> {
    let place = |v: &Value| {
        let pair = v.as_array()?;
        Place::from_lat_lon_degrees(pair.get(1)?.as_f64()?, pair.first()?.as_f64()?)
    };
    let line = |v: &Value| v.as_array()?.iter().map(place).collect::<Option<Vec<Place>>>();
    let out = value.as_array()?.iter().map(line).collect::<Option<Vec<Vec<Place>>>>()?;
    (!out.is_empty() && out.iter().all(|l| l.len() >= least)).then_some(out)
}
