//! The layers that go out: what each holds, and the columns that its features have.

use geojson::Feature;
use serde_json::Value;

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    /// Words.
    Text,
    /// A number.
    Real,
    /// A whole number.
    Whole,
    /// Yes or no.
    Flag,
}

/// What is drawn for each feature.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// One point.
    Point,
    /// Several points.
    Points,
    /// Lines.
    Lines,
    /// Areas with holes.
    Areas,
}

/// A column: its name (with its unit), what it holds, and what it means.
pub struct Column(pub &'static str, pub Holds, pub &'static str);

/// A layer.
pub struct Layer {
    /// The `kind` of its features.
    pub kind: &'static str,
    /// Its name.
    pub name: &'static str,
    /// Its name for people.
    pub title: &'static str,
    /// What it holds, in a sentence.
    pub about: &'static str,
    /// What is drawn.
    pub shape: Shape,
    /// Columns beside the drawing.
    pub columns: &'static [Column],
}

use Holds::{Flag, Real, Text, Whole};

const NAME: Column = Column("name", Text, "name for a map");
const NUMBER: Column = Column("number", Whole, "1 or 2 of the two");
const BEARINGS: Column = Column("bearings", Text, "identifiers of its bearings");
const TEAM: Column = Column("team", Text, "who it is for");
const TIME: Column = Column("time_utc", Text, "when, UTC (RFC 3339)");
const REMARKS: Column = Column("remarks", Text, "remarks as written");
const ORIGIN: Column = Column("origin", Text, "file and line that it was read from");

/// All layers, in the order in which they are drawn: what lies below comes first.
pub const LAYERS: [Layer; 14] = [
    Layer {
        kind: "region",
        name: "regions",
        title: "Areas to search",
        about: "highest-posterior regions: each holds the emitter with its confidence, if the assumptions hold",
        shape: Shape::Areas,
        columns: &[
            NAME,
            Column("confidence", Real, "probability that the region holds the emitter"),
            Column("area_m2", Real, "area, square metres"),
            Column("parts", Whole, "number of separate parts"),
            Column("doubtful", Flag, "whether the answer has a serious doubt: see summary"),
            Column("summary", Text, "the answer in sentences"),
        ],
    },
    Layer {
        kind: "region-of-two",
        name: "regions_of_two",
        title: "Areas of two places",
        about: "where two places explain the bearings better than one: the 95 % region of each",
        shape: Shape::Areas,
        columns: &[NAME, NUMBER, BEARINGS],
    },
    Layer {
        kind: "ellipse",
        name: "ellipse",
        title: "Customary ellipse",
        about: "customary linear 95 % ellipse of the first place; the regions are what to search",
        shape: Shape::Areas,
        columns: &[
            NAME,
            Column("confidence", Real, "stated probability"),
            Column("semi_major_m", Real, "longer half-axis, metres"),
            Column("semi_minor_m", Real, "shorter half-axis, metres"),
            Column("azimuth_deg", Real, "azimuth of the longer axis, degrees from true north"),
            Column("area_m2", Real, "area, square metres"),
            Column("scale", Text, "how it was widened"),
        ],
    },
    Layer {
        kind: "part",
        name: "parts",
        title: "Parts of the search",
        about: "the part of the area that each team searches",
        shape: Shape::Areas,
        columns: &[
            NAME,
            TEAM,
            Column("probability", Real, "probability that the part holds the emitter"),
            Column("minutes", Real, "minutes to search it"),
            Column("length_m", Real, "length of its streets or lanes, metres"),
            Column("route_minutes", Real, "minutes of its route"),
            Column("hazards", Text, "hazards that the map names there"),
            Column("streets", Text, "its streets, those that hold most first"),
        ],
    },
    Layer {
        kind: "street",
        name: "streets",
        title: "Streets of each part",
        about: "the streets or lanes of each part",
        shape: Shape::Lines,
        columns: &[TEAM, Column("length_m", Real, "length, metres")],
    },
    Layer {
        kind: "route",
        name: "routes",
        title: "Routes",
        about: "the walk of each team",
        shape: Shape::Lines,
        columns: &[TEAM, Column("length_m", Real, "length, metres")],
    },
    Layer {
        kind: "meeting",
        name: "meetings",
        title: "Where parts meet",
        about: "corners where a team's part meets its neighbour's",
        shape: Shape::Points,
        columns: &[
            Column("teams", Text, "the two teams"),
            Column("streets", Text, "streets that meet there"),
        ],
    },
    Layer {
        kind: "sector",
        name: "sectors",
        title: "Sectors",
        about: "the half-power wedge of each sector",
        shape: Shape::Areas,
        columns: &[
            NAME,
            Column("id", Text, "identifier"),
            Column("site", Text, "its mast"),
            Column("read_deg", Real, "azimuth as written, degrees"),
            Column("north", Text, "north that it counts from"),
            Column("true_deg", Real, "azimuth from true north, degrees"),
            Column("beamwidth_deg", Real, "half-power beamwidth, degrees"),
            Column("interference", Text, "above the floor, not above, off"),
            Column("interference_dbm", Real, "level of the interference, dBm"),
            Column("rise_db", Real, "rise above the floor, decibels"),
            Column("floor_dbm", Real, "floor of the receiver, dBm"),
            TIME,
            REMARKS,
            ORIGIN,
        ],
    },
    Layer {
        kind: "bearing",
        name: "bearings",
        title: "Bearings",
        about: "each bearing from its stand past the place, with what became of it",
        shape: Shape::Lines,
        columns: &[
            NAME,
            Column("id", Text, "identifier"),
            Column("verdict", Text, "direct, reversed or foreign"),
            Column("probability_direct", Real, "probability that it points to the emitter"),
            Column("probability_reversed", Real, "probability that it points away from it"),
            Column(
                "probability_foreign",
                Real,
                "probability that it is of something else, such as a reflection",
            ),
            Column("read_deg", Real, "as read, degrees"),
            Column("north", Text, "north that it was read from"),
            Column("true_deg", Real, "from true north, degrees"),
            Column("computed_deg", Real, "from the stand to the place, degrees from true north"),
            Column("miss_deg", Real, "measured minus computed, degrees, positive clockwise"),
            Column("sigma_deg", Real, "one standard deviation as used, degrees"),
            Column("range_m", Real, "distance to the place, metres"),
            Column("shift_without_m", Real, "how far the place moves without it, metres"),
            TEAM,
            TIME,
            REMARKS,
            ORIGIN,
        ],
    },
    Layer {
        kind: "reading",
        name: "readings",
        title: "Readings of the level",
        about: "each level that was used, with what the law of distance gives there",
        shape: Shape::Point,
        columns: &[
            Column("distance_m", Real, "distance from the quoted place, metres"),
            Column("level_dbm", Real, "level, dBm"),
            Column("below_floor", Flag, "whether the level is only known to lie below that"),
            Column("expected_dbm", Real, "level by the law of distance, dBm"),
            Column("device", Text, "receiver"),
            Column("marker-color", Text, "colour, weak to strong"),
            ORIGIN,
        ],
    },
    Layer {
        kind: "stand",
        name: "stands",
        title: "Stands",
        about: "where bearings were taken",
        shape: Shape::Point,
        columns: &[
            NAME,
            BEARINGS,
            Column("sigma_m", Real, "one standard deviation of the position, metres"),
            Column("height_m", Real, "height of the antenna above ground, metres"),
        ],
    },
    Layer {
        kind: "place-of-two",
        name: "places_of_two",
        title: "Two places",
        about: "where two places explain the bearings better than one: each of them",
        shape: Shape::Point,
        columns: &[NAME, NUMBER, BEARINGS],
    },
    Layer {
        kind: "next-stand",
        name: "next_stands",
        title: "Where to stand next",
        about: "stands from which a next bearing is likely to lead to the emitter soonest",
        shape: Shape::Point,
        columns: &[
            NAME,
            Column("rank", Whole, "1 is the best"),
            Column("walk_minutes", Real, "minutes on foot"),
            Column("total_minutes", Real, "expected minutes until somebody stands at the emitter"),
            Column(
                "expected_area_m2",
                Real,
                "expected area left to search, never more than now, square metres",
            ),
            Column("usual_area_m2", Real, "median of the area of the 95 % region afterwards, square metres"),
            Column("wide_area_m2", Real, "the area that it exceeds in one case of ten, square metres"),
            Column("log_determinant", Real, "logarithm of the determinant of the covariance afterwards"),
            Column("information_nats", Real, "information that it is expected to give, nats"),
            Column("toward_deg_true", Real, "direction of the likeliest place, degrees from true north"),
            Column("range_m", Real, "distance of the likeliest place, metres"),
            Column("sigma_deg", Real, "one standard deviation of a bearing from there, degrees"),
            Column("probability_heard", Real, "probability that the emitter is heard there"),
            Column("share_blocked", Real, "share of the sights that something stands in"),
            Column("cuts", Text, "the earlier bearing that it cuts best, and the angle"),
            Column("why", Text, "reason in a word"),
            Column("lat_deg", Real, "latitude, degrees"),
            Column("lon_deg", Real, "longitude, degrees"),
        ],
    },
    Layer {
        kind: "place",
        name: "places",
        title: "Likeliest places",
        about: "peaks of the posterior with their shares; the regions say how far off they may be",
        shape: Shape::Point,
        columns: &[
            NAME,
            Column("rank", Whole, "1 has the greatest share"),
            Column("share", Real, "share of the probability"),
            Column("nearest_stand_m", Real, "distance to the nearest stand, metres"),
        ],
    },
];

/// The layer that a feature belongs to; `None` for one that is not drawn.
pub fn layer_of(feature: &Feature) -> Option<usize> {
    let kind = feature.property("kind")?.as_str()?;
    LAYERS.iter().position(|l| l.kind == kind)
}

/// A property in words; empty where there is nothing.
pub fn in_words(value: Option<&Value>) -> String {
    match value {
        None | Some(Value::Null) => String::new(),
        Some(Value::String(text)) => text.clone(),
        Some(Value::Bool(yes)) => if *yes { "yes" } else { "no" }.to_owned(),
        Some(Value::Array(many)) => {
            many.iter().map(|v| in_words(Some(v))).collect::<Vec<String>>().join(", ")
        }
        Some(Value::Object(map)) => map
            .iter()
            .map(|(name, v)| format!("{name} {}", in_words(Some(v))))
            .collect::<Vec<String>>()
            .join(", "),
        Some(number) => number.to_string(),
    }
}

impl Layer {
    /// What a feature has in a column.
    pub fn value<'f>(&self, feature: &'f Feature, column: &Column) -> Option<&'f Value> {
        feature.property(column.0).filter(|v| !v.is_null())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::layers::style::STYLES;

    #[test]
    fn the_document_names_every_layer_and_column_and_each_has_a_style() {
        let told = include_str!("../LAYERS.md");
        for layer in &LAYERS {
            let row =
                told.lines().find(|l| l.starts_with(&format!("| `{}` (`{}`) |", layer.name, layer.kind)));
            let columns = row.and_then(|r| r.split('|').nth(3)).unwrap_or_else(|| panic!("{}", layer.name));
            let named: Vec<&str> = columns.trim().split(", ").map(|c| c.trim_matches('`')).collect();
            assert_eq!(named, layer.columns.iter().map(|c| c.0).collect::<Vec<_>>(), "{}", layer.name);
            assert!(STYLES.iter().any(|s| s.layer == layer.name), "{}", layer.name);
        }
        assert!(STYLES.iter().all(|s| LAYERS.iter().any(|l| l.name == s.layer)));
    }
}
