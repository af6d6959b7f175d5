//! What a thing of a town is, by its tags.

use std::collections::BTreeMap;

use crate::units::Metres;

pub type Tags = BTreeMap<String, String>;

/// Ways that nobody walks, among values of `highway`.
const NOT_WALKED: [&str; 8] = [
    "motorway",
    "motorway_link",
    "trunk_link",
    "construction",
    "proposed",
    "raceway",
    "bus_guideway",
    "abandoned",
];

/// Words for streets under `layer`, `kind`, `type` or `class`.
const STREET_WORDS: [&str; 14] = [
    "street", "streets", "road", "roads", "path", "track", "footway", "way", "lane", "alley", "square",
    "highway", "strasse", "rue",
];

/// Keys that make a line something else than a street.
const OTHER_KEYS: [&str; 13] = [
    "railway",
    "waterway",
    "power",
    "barrier",
    "boundary",
    "communication",
    "telecom",
    "aerialway",
    "pipeline",
    "natural",
    "man_made",
    "building",
    "landuse",
];

/// What a line is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// A street that people walk.
    Walked,
    /// A street that is closed to people on foot.
    Closed,
    /// No street.
    Other,
}

/// A value, in lower case.
fn value(tags: &Tags, key: &str) -> String {
    tags.get(key).map(|v| v.to_lowercase()).unwrap_or_default()
}

/// The word by which maps that are not OpenStreetMap's say what a thing is.
fn kind(tags: &Tags) -> String {
    ["layer", "kind", "type", "class"]
        .iter()
        .map(|k| value(tags, k))
        .find(|v| !v.is_empty() && v.parse::<f64>().is_err())
        .unwrap_or_default()
}

/// Whether a line is a street.
pub fn way(tags: &Tags) -> Way {
    let highway = value(tags, "highway");
    let kind = kind(tags);
    let street = !highway.is_empty() || STREET_WORDS.contains(&kind.as_str());
    let bare = kind.is_empty() && OTHER_KEYS.iter().all(|k| !tags.contains_key(*k));
    if !street && !bare {
        return Way::Other;
    }
    let foot = value(tags, "foot");
    let allowed = ["yes", "designated", "permissive"].contains(&foot.as_str());
    let forbidden = ["no", "private"];
    let shut = forbidden.contains(&value(tags, "access").as_str()) || forbidden.contains(&foot.as_str());
    if (shut || NOT_WALKED.contains(&highway.as_str())) && !allowed { Way::Closed } else { Way::Walked }
}

/// On what level a way runs: those on different levels cross without meeting.
pub fn level(tags: &Tags) -> i32 {
    let raised = |key: &str| tags.get(key).is_some_and(|v| !v.is_empty() && v != "no");
    let layer = tags.get("layer").and_then(|v| v.parse::<f64>().ok()).map(|v| v.clamp(-9.0, 9.0) as i32);
    match layer {
        Some(layer) if layer != 0 => layer,
        _ if raised("bridge") => 1,
        _ if raised("tunnel") => -1,
        _ => 0,
    }
}

/// Its name, else its number, else what kind of way it is.
pub fn name(tags: &Tags) -> String {
    let given = ["name", "ref"].iter().find_map(|k| tags.get(*k)).filter(|v| !v.is_empty());
    let highway = value(tags, "highway");
    match given {
        Some(name) => name.clone(),
        None if highway.is_empty() => "unnamed street".to_owned(),
        None => format!("unnamed {}", highway.replace('_', " ")),
    }
}

/// What turns a compass.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HazardKind {
    /// A line of power.
    Power,
    /// A wire fence, a guard rail, a telephone wire.
    Wire,
    /// A railway.
    Railway,
    /// A building or tank of metal.
    Metal,
    /// Something that the map itself calls a hazard.
    Stated,
}

impl HazardKind {
    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Power => "power line",
            Self::Wire => "wire fence",
            Self::Railway => "railway",
            Self::Metal => "metal building",
            Self::Stated => "hazard",
        }
    }

    /// From how far on it no longer turns a compass, or for a hazard that the map states, how far to keep off.
    ///
    /// Lines of power 55 m, wires 10 m and vehicles 18 m ([`crate::sources::FM32526`]); for railways and metal buildings the
    /// figure for vehicles is taken: common practice, no source.
    pub const fn keep_off(self) -> Metres {
        match self {
            Self::Power => Metres::new(55.0),
            Self::Wire => Metres::new(10.0),
            Self::Railway | Self::Metal | Self::Stated => Metres::new(18.0),
        }
    }
}

/// What a thing does to a compass, with the distance to keep; `None` where nothing is known.
pub fn hazard(tags: &Tags) -> Option<(HazardKind, Metres)> {
    let kind = kind(tags);
    let is = |key: &str, words: &[&str]| words.contains(&value(tags, key).as_str());
    let found = if kind == "hazard" || kind == "hazards" || tags.contains_key("hazard") {
        HazardKind::Stated
    } else if is("power", &["line", "minor_line", "substation", "transformer"]) || kind == "power" {
        HazardKind::Power
    } else if is("barrier", &["fence", "guard_rail", "wire_fence"])
        || is("communication", &["line"])
        || kind == "fence"
    {
        HazardKind::Wire
    } else if kind == "railway"
        || is("railway", &["rail", "tram", "light_rail", "narrow_gauge", "subway", "yes"])
    {
        HazardKind::Railway
    } else if metal(tags) {
        HazardKind::Metal
    } else {
        return None;
    };
    let stated =
        ["keep_off_m", "keep_m"].iter().find_map(|k| tags.get(*k)).and_then(|v| v.parse::<f64>().ok());
    let keep = stated.filter(|v| (0.0..=1_000.0).contains(v)).map_or(found.keep_off(), Metres::new);
    Some((found, keep))
}

/// What a building is made of, as far as the map says.
pub fn material(tags: &Tags) -> Option<String> {
    ["material", "building:material", "building:facade:material", "building:cladding"]
        .iter()
        .map(|k| value(tags, k))
        .find(|v| !v.is_empty())
}

/// Whether it is made of metal.
pub fn metal(tags: &Tags) -> bool {
    let words = ["metal", "steel", "iron", "tin", "alumin", "zinc", "corrugated"];
    material(tags).is_some_and(|m| words.iter().any(|w| m.contains(w)))
}

/// Whether an outline is a building.
pub fn building(tags: &Tags) -> bool {
    let kind = kind(tags);
    kind == "building" || kind == "buildings" || tags.get("building").is_some_and(|v| v != "no")
}
