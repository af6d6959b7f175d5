//! Levels: logs as people write them, the demo's and broken ones; tracks; labels.

mod anything;
mod broken;
mod clock;
mod labels;
mod long;
mod quality;
mod sectors;
mod solving;
mod stories;
mod swings;
mod tracks;
mod usable;

use azimark::{
    finding::Severity,
    ingest::{Antenna, Kind, LevelSettings, PadIn, Settings, kind, levels},
    observe::{FixKind, Level, LevelReading, LevelUnit, Load},
};

const WALK: &[u8] = include_bytes!("../../fixtures/demo/walk_log.csv");
const MONITOR: &[u8] = include_bytes!("../../fixtures/demo/reference_monitor_10s.csv");
const CLOSE: &[u8] = include_bytes!("../../fixtures/demo/close_in.csv");

/// Rows of a file that must give nothing but assumptions.
fn clean(name: &str, bytes: &[u8], settings: &Settings) -> Vec<LevelReading> {
    let read = levels(name, bytes, settings);
    assert!(read.findings.iter().all(|f| f.severity == Severity::Assumed), "{:#?}", read.findings);
    read.rows
}

fn dbm(row: &LevelReading) -> f64 {
    row.level.measured().expect("a level was measured").value()
}

#[test]
fn the_demo_walk_reads_without_options() {
    let rows = clean("walk_log.csv", WALK, &Settings::default());
    assert_eq!(rows.len(), 600);
    let without: Vec<u64> = rows.iter().filter(|r| r.at.is_none()).map(|r| r.written.line).collect();
    assert_eq!(without, [221, 222]);
    assert_eq!(rows[219].fix.kind, Some(FixKind::NoFix));
    // Row 327: -65.7 dBm behind 20 dB.
    let padded = &rows[326];
    assert_eq!((dbm(padded), padded.attenuator.map(|a| a.value())), (-45.7, Some(20.0)));
    assert!(padded.attenuator_in_raw);
    assert_eq!(rows[0].time.as_ref().map(ToString::to_string), Some("2026-03-17T17:05:00Z".to_owned()));
    assert_eq!(rows[0].fix.hdop, Some(1.1));
}

#[test]
fn the_demo_monitor_and_close_in_levels_read_without_options() {
    let rows = clean("monitor.csv", MONITOR, &Settings::default());
    assert_eq!((rows.len(), rows[1].device.as_deref(), dbm(&rows[1])), (6480, Some("VC-021-3"), -91.1));
    assert_eq!(rows[0].bandwidth.map(|b| b.to_mhz()), Some(9.0));
    let rows = clean("close_in.csv", CLOSE, &Settings::default());
    assert_eq!((rows.len(), rows[1].stand.as_str(), dbm(&rows[1])), (15, "N side, 4th Avenue alley", -48.2));
}

/// The same walk with only what the receiver shows: the attenuator is added once, and gives the corrected level.
#[test]
fn the_attenuator_is_added_once() {
    let text = std::str::from_utf8(WALK).unwrap();
    let without: Vec<&str> = text.lines().map(|l| l.rsplit_once(',').unwrap().0).collect();
    let shown = levels("x", without.join("\n").as_bytes(), &Settings::default());
    assert!(shown.findings.iter().any(|f| f.code == "attenuator-added"));
    for (a, b) in shown.rows.iter().zip(&clean("x", WALK, &Settings::default())) {
        assert!((dbm(a) - dbm(b)).abs() < 1e-9, "{:?}", a.written);
    }
    let bare = "lat,lon,level_dbm,attenuator_db\n47,8,-60,20\n";
    for (stated, expected) in [(PadIn::Level, -60.0), (PadIn::NotLevel, -40.0)] {
        let levels = LevelSettings { attenuator: Some(stated), ..LevelSettings::default() };
        let rows = clean("x", bare.as_bytes(), &Settings { levels, ..Settings::default() });
        assert_eq!(dbm(&rows[0]), expected);
    }
}

/// dBm = dBµV − 90 − 10 log10 R from Joule's law: 106.9897 at 50 Ω, 108.7506 at 75 Ω.
#[test]
fn units_in_four_languages_and_several_places() {
    for (text, expected, unit) in [
        ("level_dbm\n-77\n", -77.0, LevelUnit::Dbm),
        ("level_dbuv\n30\n", -76.989_700_043, LevelUnit::Microvolt(Load::Ohm50)),
        ("Pegel [dBµV 75 Ohm];lat\n30,5;\n", -78.250_612_634, LevelUnit::Microvolt(Load::Ohm75)),
        ("niveau (dBm)\n\u{2212}77\n", -77.0, LevelUnit::Dbm),
        ("nivel,unidad\n30,dBuV\n", -76.989_700_043, LevelUnit::Microvolt(Load::Ohm50)),
        ("rssi,unit\n-77,dBm\n", -77.0, LevelUnit::Dbm),
        ("power_dbm_200khz\n-77\n", -77.0, LevelUnit::Dbm),
        ("level [dBµV/m],antenna factor_db/m\n50,20\n", -76.989_700_043, LevelUnit::MicrovoltPerMetre),
        ("indicated_dbm,cable_loss_db\n-80,3\n", -77.0, LevelUnit::Dbm),
    ] {
        let rows = clean("x", text.as_bytes(), &Settings::default());
        assert!((dbm(&rows[0]) - expected).abs() < 1e-8, "{text}: {}", dbm(&rows[0]));
        assert_eq!(rows[0].raw.map(|r| r.unit), Some(unit), "{text}");
    }
    let unit = Some(LevelUnit::Microvolt(Load::Ohm75));
    let stated = LevelSettings { unit, antenna: Some(Antenna::Factor(1.0)), ..LevelSettings::default() };
    let rows = clean("x", b"level\n30\n", &Settings { levels: stated, ..Settings::default() });
    assert!((dbm(&rows[0]) + 78.750_612_634).abs() < 1e-8);
}

#[test]
fn floors_and_words_for_off() {
    let text = "level_dbm,floor_dbm\n-113,-114\n-114,-114\n<-110,-114\noff,-114\naus,\n";
    let rows = clean("x", text.as_bytes(), &Settings::default());
    let found: Vec<Level> = rows.iter().map(|r| r.level).collect();
    let d = azimark::units::Dbm::new;
    let (floor, below) = (Level::BelowFloor(d(-114.0)), Level::BelowFloor(d(-110.0)));
    assert_eq!(found, [Level::Measured(d(-113.0)), floor, below, Level::OffAir, Level::OffAir]);
}

#[test]
fn kinds_of_files_are_told_apart() {
    let demo = |name: &str| std::fs::read(format!("fixtures/demo/{name}")).unwrap();
    for (name, expected) in [
        ("bearings.csv", Kind::Bearings),
        ("bearings_other_team.csv", Kind::Bearings),
        ("walk_log.csv", Kind::Levels),
        ("reference_monitor_10s.csv", Kind::Levels),
        ("close_in.csv", Kind::Levels),
        ("sectors.csv", Kind::Sectors),
        ("walk.gpx", Kind::Track),
        ("walk_first_60.nmea", Kind::Track),
        ("SOURCE.md", Kind::Unknown),
    ] {
        assert_eq!(kind(&demo(name)), expected, "{name}");
    }
    for bytes in [&b""[..], b"\0\x01\x02", b"a,b\n", b"<html>", b"{}", b"%PDF-1.4"] {
        assert_eq!(kind(bytes), Kind::Unknown, "{bytes:?}");
    }
}
