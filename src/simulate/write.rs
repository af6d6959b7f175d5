//! A scene as the files of a case: tables that the readers of this project take without any option, the streets, and the
//! truth in a file of its own.

use std::fmt::Write as _;

use serde_json::{Value, json};

use crate::{
    geodesy::{Place, Plane, PlanePoint},
    observe::{Level, LevelReading, NorthReference, Quality, ReadBearing},
    simulate::{Bearings, Cause, Duty, Emitter, Pattern, Refusal, Scene, SectorLevel, Town, Walk, Way},
    units::Dbm,
};

/// Name and version of the truth's schema.
pub const TRUTH: &str = "azimark-truth/1";

/// A file of a case.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct File {
    /// Its name.
    pub name: &'static str,
    /// Its text, UTF-8.
    pub text: String,
}

/// The files of a scene: `bearings.csv`, `walk_log.csv`, `sectors.csv`, `truth.json`, and `town.geojson` where the scene has
/// a town.
///
/// # Errors
/// Numbers of the plan that make no sense.
pub fn case(scene: &Scene) -> Result<Vec<File>, Refusal> {
    let (bearings, walk, sectors) = (scene.take_bearings()?, scene.take_walk()?, scene.take_sectors()?);
    let file = |name: &'static str, text: String| File { name, text };
    let mut out = vec![
        file("bearings.csv", bearing_table(&bearings.readings)),
        file("walk_log.csv", level_table(&walk.readings)),
        file("sectors.csv", sector_table(&sectors)),
        file("truth.json", truth(scene, &bearings, &walk)),
    ];
    let town = scene.town().map(|t| file("town.geojson", town_map(t, &walk.plane)));
    out.extend(town);
    Ok(out)
}

/// Degrees to about a centimetre.
fn degrees(place: Place) -> String {
    format!("{:.7},{:.7}", place.lat_degrees(), place.lon_degrees())
}

/// A table of bearings. Those of a grid's north, which no scene has, are written with an empty north.
pub fn bearing_table(rows: &[ReadBearing]) -> String {
    let swings = rows.iter().map(|r| r.swings.len()).max().unwrap_or(0);
    let mut out = "id,team,time_utc,lat_wgs84,lon_wgs84,position_sigma_m".to_owned();
    out.extend((1..=swings).map(|k| format!(",swing{k}_deg")));
    out.push_str(",bearing_deg,north_reference,operator_class,sigma_deg,front_dbm,back_dbm");
    out.push_str(",antenna_height_m_agl,freq_mhz,remarks\n");
    for row in rows {
        let _ = writeln!(out, "{}", bearing_row(row, swings));
    }
    out
}

fn bearing_row(row: &ReadBearing, swings: usize) -> String {
    let north = match row.north {
        NorthReference::True => "true",
        NorthReference::Magnetic => "magnetic",
        NorthReference::Grid(_) => "",
    };
    let (class, sigma) = match row.quality {
        Quality::Class(class) => (class.letter().to_string(), String::new()),
        Quality::Sigma(sigma) => (String::new(), format!("{:.2}", sigma.to_degrees())),
        Quality::Unstated => <(String, String)>::default(),
    };
    let level = |l: Option<Dbm>| l.map(|l| format!("{:.1}", l.value())).unwrap_or_default();
    let shown: Vec<String> =
        (0..swings).map(|k| row.swings.get(k).map(|s| angle(s.to_degrees())).unwrap_or_default()).collect();
    let cells = [
        row.id.clone(),
        row.team.clone().unwrap_or_default(),
        row.time.as_ref().map(ToString::to_string).unwrap_or_default(),
        degrees(row.stand.at),
        row.stand.sigma.map(|s| format!("{:.2}", s.to_metres())).unwrap_or_default(),
    ];
    let rest = [
        angle(row.read.to_degrees()),
        north.to_owned(),
        class,
        sigma,
        level(row.front),
        level(row.back),
        row.stand.height.map(|h| format!("{:.1}", h.value())).unwrap_or_default(),
        row.frequency.map(|f| format!("{}", f.to_mhz())).unwrap_or_default(),
        quoted(&row.remarks),
    ];
    cells.into_iter().chain(shown).chain(rest).collect::<Vec<_>>().join(",")
}

/// Degrees with up to two decimals, and never 360.00 for what lies a hair below.
fn angle(degrees: f64) -> String {
    let text = format!("{:.2}", ((degrees * 100.0).round() / 100.0).rem_euclid(360.0));
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A cell of free text.
fn quoted(text: &str) -> String {
    if text.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text.to_owned()
    }
}

/// A log of levels: what the receiver showed, the attenuator, and the level at the antenna with it; `<` and the floor where
/// there was nothing above it. Rows without a fix have no place.
pub fn level_table(rows: &[LevelReading]) -> String {
    let devices = rows.iter().any(|r| r.device.is_some());
    let mut out =
        "seq,time_utc,lat_wgs84,lon_wgs84,hdop,fix,indicated_dbm,attenuator_db,level_dbm".to_owned();
    out.push_str(if devices { ",device\n" } else { "\n" });
    for (i, row) in rows.iter().enumerate() {
        let pad = row.attenuator.map_or(0.0, |a| a.value());
        let shown = match row.level {
            Level::Measured(level) => [level.value() - pad, level.value()].map(|v| format!("{v:.1}")),
            Level::BelowFloor(floor) => [floor.value() - pad, floor.value()].map(|v| format!("<{v:.1}")),
            Level::OffAir => ["off".to_owned(), "off".to_owned()],
        };
        let place = row.at.map_or_else(|| ",".to_owned(), degrees);
        let hdop = row.fix.hdop.map(|h| format!("{h:.1}")).unwrap_or_default();
        let time = row.time.as_ref().map(ToString::to_string).unwrap_or_default();
        let fix = u8::from(row.at.is_some());
        let _ = write!(out, "{},{time},{place},{hdop},{fix},{},{pad:.0},{}", i + 1, shown[0], shown[1]);
        match row.device.as_deref().filter(|_| devices) {
            Some(device) => out.extend([",", &quoted(device), "\n"]),
            None => out.push_str(if devices { ",\n" } else { "\n" }),
        }
    }
    out
}

/// A table of sectors with their levels.
pub fn sector_table(rows: &[SectorLevel]) -> String {
    let mut out = "sector,lat_wgs84,lon_wgs84,antenna_height_m_agl,azimuth_deg_true,hpbw_deg,antenna_gain_dbi,feeder_loss_db,\
                   noise_floor_dbm,level_dbm,noise_rise_db\n"
        .to_owned();
    for row in rows {
        let _ = writeln!(
            out,
            "{},{},{:.0},{:.0},{:.0},{:.1},{:.1},{:.1},{:.1},{:.1}",
            row.name,
            degrees(row.at),
            row.height.value(),
            row.azimuth.to_degrees(),
            row.beamwidth.to_degrees(),
            row.gain.value(),
            row.feeder.value(),
            row.floor.value(),
            row.level.value(),
            row.rise.value()
        );
    }
    out
}

/// Streets and buildings for a map (RFC 7946).
pub fn town_map(town: &Town, plane: &Plane) -> String {
    let point = |east: f64, north: f64| {
        let place = plane.to_place(PlanePoint { east, north });
        place.lon_lat().map(|d| (d * 1e7).round() / 1e7)
    };
    let edge = town.streets().last().unwrap_or(0.0);
    let mut features = Vec::new();
    for (i, at) in town.streets().enumerate() {
        let (street, avenue) = ([point(at, -edge), point(at, edge)], [point(-edge, at), point(edge, at)]);
        features.push(line(&format!("Street {}", i + 1), street));
        features.push(line(&format!("Avenue {}", i + 1), avenue));
    }
    for (i, b) in town.buildings().enumerate() {
        let (l, h) = (b.low, b.high);
        let ring =
            [(l.east, l.north), (h.east, l.north), (h.east, h.north), (l.east, h.north), (l.east, l.north)];
        let ring = ring.map(|(east, north)| point(east, north));
        features.push(json!({
            "type": "Feature",
            "geometry": {"type": "Polygon", "coordinates": [ring]},
            "properties": {
                "name": format!("building {}", i + 1), "layer": "building",
                "height_m": tenth(b.height.value()), "reflection_loss_db": tenth(b.reflection.value()),
            },
        }));
    }
    format!("{:#}\n", json!({"type": "FeatureCollection", "features": features}))
}

fn line(name: &str, ends: [[f64; 2]; 2]) -> Value {
    json!({
        "type": "Feature",
        "geometry": {"type": "LineString", "coordinates": ends},
        "properties": {"name": name, "layer": "street"},
    })
}

fn tenth(value: f64) -> f64 {
    // Turns −0.0 into 0.0.
    (10.0 * value).round() / 10.0 + 0.0
}

/// What really was, for whoever wants to score an answer.
fn truth(scene: &Scene, bearings: &Bearings, walk: &Walk) -> String {
    let emitters: Vec<Value> = walk.emitters.iter().map(|e| emitter(e, &walk.plane)).collect();
    let physics: Vec<String> = scene.plan.kind.figures().iter().map(ToString::to_string).collect();
    let off: Vec<usize> =
        (0..walk.samples.len()).filter(|i| !walk.samples[*i].on_air).map(|i| i + 1).collect();
    let jumps: Vec<usize> =
        (0..walk.samples.len()).filter(|i| walk.samples[*i].jump).map(|i| i + 1).collect();
    let path: Vec<[f64; 2]> = walk.samples.iter().map(|s| lat_lon(s.at)).collect();
    let told: Vec<Value> =
        bearings.readings.iter().zip(&bearings.told).map(|(read, told)| bearing(read, told)).collect();
    let body = json!({
        "schema": TRUTH,
        "version": env!("CARGO_PKG_VERSION"),
        "about": "invented by azimark simulate; nothing here was measured",
        "seed": scene.plan.seed,
        "scene": scene.plan.kind.word(),
        "frequency_mhz": scene.plan.frequency.to_mhz(),
        "declination_deg": scene.plan.declination.map(|d| (100.0 * d.to_degrees()).round() / 100.0),
        "emitters": emitters,
        "bearings": told,
        "walk": {"off_air_seq": off, "jump_seq": jumps, "true_lat_lon": path},
        "physics": physics,
    });
    format!("{body:#}\n")
}

fn lat_lon(place: Place) -> [f64; 2] {
    [place.lat_degrees(), place.lon_degrees()].map(|d| (d * 1e7).round() / 1e7)
}

fn emitter(e: &Emitter, plane: &Plane) -> Value {
    let (pattern, axis) = match e.pattern {
        Pattern::Isotropic => ("isotropic", None),
        Pattern::Cardioid { axis, .. } => ("cardioid", Some(axis)),
        Pattern::Lobe { axis, .. } => ("lobe", Some(axis)),
    };
    let duty = match e.duty {
        Duty::Always => Value::Null,
        Duty::Cycle { on, off, passed } => {
            json!({"on_s": tenth(on), "off_s": tenth(off), "passed_s": tenth(passed)})
        }
    };
    let [lat, lon] = lat_lon(plane.to_place(e.at));
    json!({
        "lat": lat,
        "lon": lon,
        "height_m": tenth(e.height.value()),
        "eirp_dbm": tenth(e.eirp.value()),
        "pattern": pattern,
        "axis_deg_true": axis.map(|a| tenth(a.compass().to_degrees())),
        "duty": duty,
        "velocity_east_north_mps": [tenth(e.velocity.east), tenth(e.velocity.north)],
    })
}

fn bearing(read: &ReadBearing, told: &super::Told) -> Value {
    let corners = match told.cause {
        Cause::Way(Way::Around(corners)) => Some(corners),
        _ => None,
    };
    let degrees = |a: crate::units::Angle| tenth(a.to_degrees());
    json!({
        "id": read.id,
        "emitter": told.emitter + 1,
        "true_lat_lon": lat_lon(told.at),
        "toward_emitter_deg_true": degrees(told.toward),
        "arrival_deg_true": degrees(told.arrival),
        "cause": told.cause.word(),
        "corners": corners,
        "reversed": told.reversed,
        "compass_error_deg": degrees(told.compass),
        "reading_error_deg": degrees(told.reading),
    })
}
