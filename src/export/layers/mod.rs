//! The answer in layers for other programs: KML, GPX, GeoPackage, CSV and GeoJSON are written from the same features, so that they tell
//! the same. [`LAYERS.md`](https://docs.rs/crate/azimark/latest/source/src/export/LAYERS.md) names layers and columns.

mod balloon;
mod csv;
mod divided;
#[cfg(feature = "gpkg")]
mod gpkg;
mod gpx;
mod kinds;
mod kml;
mod share;
mod style;
#[cfg(feature = "gpkg")]
mod symbols;
mod tables;
#[cfg(feature = "gpkg")]
mod wkb;
mod xml;

use geojson::{Feature, FeatureCollection};
use serde_json::json;

use crate::{
    export::{advice, features},
    finding::Severity,
    observe::LevelReading,
    plan::Advice,
    report::{Answer, Form, Made},
};

pub use divided::Divided;
#[cfg(feature = "gpkg")]
pub use gpkg::GeoPackageFailed;
use kinds::{LAYERS, layer_of};
use share::Roles;
use tables::Table;

/// What goes out.
pub struct Outgoing<'a> {
    /// The answer.
    pub answer: &'a Answer,
    /// The levels as they were read, with places where a track gave them.
    pub readings: &'a [LevelReading],
    /// Levels of a receiver that stood still.
    pub monitor: &'a [LevelReading],
    /// Where to stand next.
    pub advice: Option<&'a Advice>,
    /// A division of the search.
    pub divided: Divided,
    /// How it was made.
    pub made: &'a Made,
    /// Whom it is for.
    pub form: Form,
}

/// Words about the whole.
struct About {
    summary: String,
    /// Names and texts: form, program, inputs, what was taken for granted.
    facts: Vec<(&'static str, String)>,
    /// The latest observation, RFC 3339 with milliseconds.
    #[cfg_attr(not(feature = "gpkg"), expect(dead_code, reason = "only a GeoPackage states it"))]
    latest: String,
}

/// A walk along which levels were read: stretches of places with their times.
struct Walk {
    name: String,
    stretches: Vec<Vec<([f64; 2], String)>>,
}

/// The answer in layers.
pub struct Layers {
    /// By layer of [`LAYERS`].
    features: Vec<Vec<Feature>>,
    walks: Vec<Walk>,
    tables: Vec<Table>,
    about: About,
    members: geojson::JsonObject,
    /// What could not be written as it is, in sentences.
    pub told: Vec<String>,
}

impl Layers {
    /// Gathers what goes out, in its form.
    pub fn of(out: Outgoing) -> Self {
        let answer = out.answer;
        let mut roles = Roles::default();
        let mut all = features::features(answer);
        all.extend(out.advice.into_iter().flat_map(advice::proposed));
        all.extend(out.divided.0);
        let mut features: Vec<Vec<Feature>> = LAYERS.iter().map(|_| Vec::new()).collect();
        // Bearings come before stands, so that roles are given in the order of the notes.
        for feature in all {
            let Some(layer) = layer_of(&feature) else { continue };
            let kept = match out.form {
                Form::Full => Some(feature),
                Form::Shared => share::shared(feature, answer, &mut roles),
            };
            features[layer].extend(kept);
        }
        let mut told = Vec::new();
        let tables = tables::tables(answer, (out.readings, out.monitor), out.form, &mut roles, &mut told);
        let walks = walks(out.readings, out.form);
        let about = about(answer, out.readings, out.made, out.form);
        let mut members = features::told(answer);
        if out.form.shared() {
            members["azimark"] = json!({ "version": env!("CARGO_PKG_VERSION") });
            members["azimark"]["summary"] = json!(about.summary);
        }
        members["azimark"]["made"] =
            about.facts.iter().map(|(name, text)| ((*name).to_owned(), json!(text))).collect();
        Self { features, walks, tables, about, members, told }
    }

    /// GeoJSON (RFC 7946), one line a feature.
    pub fn geojson(&self) -> String {
        let features = self.features.iter().flatten().cloned().collect();
        features::written(&FeatureCollection {
            bbox: None,
            features,
            foreign_members: Some(self.members.clone()),
        })
    }

    /// KML 2.3 (OGC 12-007r2).
    pub fn kml(&self) -> Vec<u8> {
        kml::kml(self)
    }

    /// GPX 1.1: stands, places and next stands as waypoints, routes as routes, walks and the rims of regions as tracks.
    pub fn gpx(&self) -> Vec<u8> {
        gpx::gpx(self)
    }

    /// An OGC GeoPackage.
    ///
    /// # Errors
    /// Where SQLite has no memory left.
    #[cfg(feature = "gpkg")]
    pub fn gpkg(&self) -> Result<Vec<u8>, GeoPackageFailed> {
        gpkg::gpkg(self)
    }

    /// CSV: the name of each table and its text.
    pub fn csv(&self) -> Vec<(&'static str, String)> {
        csv::csv(self)
    }

    /// What the tables of CSV may be called.
    pub fn tables() -> impl Iterator<Item = &'static str> {
        csv::names()
    }

    /// How many features there are.
    pub fn count(&self) -> usize {
        self.features.iter().map(Vec::len).sum()
    }
}

/// Which form it is.
fn form_in_words(form: Form) -> &'static str {
    match form {
        Form::Full => "full form: exact places, remarks and devices are in it; --share makes one to pass on",
        Form::Shared => {
            "form for sharing: places are rounded to a thousandth of a degree (111 m or less), areas are the squares of that size \
             which they touch, teams and bearings are numbered, and remarks, devices, files and names are left out"
        }
    }
}

fn about(answer: &Answer, readings: &[LevelReading], made: &Made, form: Form) -> About {
    let summary = form.allowed(answer, &answer.summary());
    let mut facts = vec![("form", form_in_words(form).to_owned())];
    facts.push(("program", format!("azimark {}", made.version)));
    if !form.shared() {
        facts.push(("command", format!("azimark {}", made.command)));
    }
    let of = |(i, (name, sha)): (usize, &(String, crate::case::Digest))| match form {
        Form::Full => format!("{name} SHA-256 {sha}"),
        Form::Shared => format!("file {} SHA-256 {sha}", i + 1),
    };
    let inputs: Vec<String> = made.inputs.iter().enumerate().map(of).collect();
    facts.push(("inputs", inputs.join("; ")));
    let open: Vec<String> =
        answer.regions.iter().filter_map(|r| r.as_ref().err()).map(ToString::to_string).collect();
    facts.push(("not determined", open.join("; ")));
    if !form.shared() {
        let assumed: Vec<String> = answer.assumptions();
        facts.push(("assumed", assumed.join("; ")));
        let findings: Vec<String> = answer
            .findings
            .iter()
            .filter(|f| f.severity != Severity::Assumed)
            .map(ToString::to_string)
            .collect();
        facts.push(("findings", findings.join("; ")));
    }
    facts.retain(|(_, text)| !text.is_empty());
    let seen = answer.bearings.iter().filter_map(|b| b.read().time.as_ref());
    let latest = seen.chain(readings.iter().filter_map(|r| r.time.as_ref())).map(|t| t.utc()).max();
    // Without any time the beginning of Unix time stands for "not known"; the clock never does.
    let latest = latest
        .map_or("1970-01-01T00:00:00.000Z".to_owned(), |t| t.strftime("%Y-%m-%dT%H:%M:%S%.3fZ").to_string());
    About { summary, facts, latest }
}

/// A pause longer than this begins a new stretch of a walk, seconds.
const PAUSE_S: i64 = 300;

/// The walk of each receiver, in the order of its times.
fn walks(readings: &[LevelReading], form: Form) -> Vec<Walk> {
    let mut devices: Vec<Option<&str>> = Vec::new();
    for reading in readings.iter().filter(|r| r.at.is_some() && r.time.is_some()) {
        if !devices.contains(&reading.device.as_deref()) {
            devices.push(reading.device.as_deref());
        }
    }
    let mut out = Vec::new();
    for (i, device) in devices.iter().enumerate().take(100) {
        let mut points: Vec<_> = readings
            .iter()
            .filter(|r| r.device.as_deref() == *device)
            .filter_map(|r| Some((r.time.as_ref()?, r.at?)))
            .collect();
        points.sort_by_key(|(time, _)| time.utc());
        let mut stretches: Vec<Vec<([f64; 2], String)>> = Vec::new();
        let mut before = None;
        for (time, at) in points {
            let now = time.utc().as_second();
            if before.is_none_or(|b| now - b > PAUSE_S) {
                stretches.push(Vec::new());
            }
            before = Some(now);
            let place = match form {
                Form::Full => at.lon_lat(),
                Form::Shared => at.lon_lat().map(share::on_grid),
            };
            let Some(stretch) = stretches.last_mut() else { continue };
            if !(form.shared() && stretch.last().is_some_and(|(p, _)| *p == place)) {
                stretch.push((place, time.to_string()));
            }
        }
        let name = match (form, device) {
            (Form::Full, Some(device)) => format!("walk with {device}"),
            _ => format!("walk {}", i + 1),
        };
        out.push(Walk { name, stretches });
    }
    out
}
