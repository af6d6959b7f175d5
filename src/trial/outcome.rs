//! What came of a scene, also as a line of a file.

use serde_json::{Map, Value, json};

use crate::trial::{Class, Found, Method, run::Task};

/// What came of a scene.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// Which scene.
    pub task: Task,
    /// The Cramér–Rao bound of the distance, metres.
    pub bound: Option<f64>,
    /// What each method of the class made of it, in the class's order.
    pub found: Vec<Found>,
}

impl Outcome {
    /// The outcome as one line of JSON, without its end.
    pub fn line(&self) -> String {
        let found: Vec<Value> = self.found.iter().map(written).collect();
        let class = self.task.class.word();
        json!({"class": class, "number": self.task.number, "bound_m": self.bound, "found": found}).to_string()
    }

    /// The outcome of a line; `None` for any other text.
    pub fn of_line(line: &str) -> Option<Self> {
        let value: Value = serde_json::from_str(line).ok()?;
        let map = value.as_object()?;
        let class = Class::from_word(map.get("class")?.as_str()?)?;
        let number = u32::try_from(map.get("number")?.as_u64()?).ok()?;
        let bound = optional(map.get("bound_m")?)?;
        let found: Vec<Found> =
            map.get("found")?.as_array()?.iter().map(|v| read(v.as_object()?)).collect::<Option<_>>()?;
        let methods = found.iter().map(|f| f.method);
        methods.eq(class.methods().iter().copied()).then_some(Self {
            task: Task { class, number },
            bound,
            found,
        })
    }
}

fn written(found: &Found) -> Value {
    let region = |r: &Option<(bool, f64)>| r.map_or(Value::Null, |(held, area)| json!([held, area]));
    let regions: Vec<Value> = found.regions.iter().map(region).collect();
    json!({
        "method": found.method.word(),
        "miss_m": found.miss,
        "confident": found.confident,
        "regions": regions,
        "ms": found.ms,
    })
}

/// A number that is not below zero, or null.
fn optional(value: &Value) -> Option<Option<f64>> {
    if value.is_null() {
        return Some(None);
    }
    value.as_f64().filter(|v| *v >= 0.0).map(Some)
}

fn read(map: &Map<String, Value>) -> Option<Found> {
    let list = map.get("regions")?.as_array().filter(|l| l.len() == 4)?;
    let mut regions = [None; 4];
    for (slot, value) in regions.iter_mut().zip(list) {
        if !value.is_null() {
            let pair = value.as_array().filter(|p| p.len() == 2)?;
            *slot = Some((pair[0].as_bool()?, optional(&pair[1])??));
        }
    }
    Some(Found {
        method: Method::from_word(map.get("method")?.as_str()?)?,
        miss: optional(map.get("miss_m")?)?,
        confident: map.get("confident")?.as_bool()?,
        regions,
        ms: optional(map.get("ms")?)??,
    })
}
