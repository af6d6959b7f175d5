//! Any bytes as a file of bearings: no panic, and every bearing that comes out can be used.

#![no_main]

use azimark::{
    finding::Severity,
    ingest::{NorthLabel, Settings, StatedGrid, bearings},
};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    // The first byte chooses what the caller states.
    let (choice, bytes) = bytes.split_first().map_or((0, bytes), |(first, rest)| (*first, rest));
    let settings = Settings {
        north: (choice & 1 > 0).then_some(NorthLabel::Grid),
        zone: (choice & 2 > 0).then(|| "America/Los_Angeles".to_owned()),
        grid: (choice & 4 > 0).then(|| StatedGrid::from_text("33T")).flatten(),
        ..Settings::default()
    };
    let read = bearings("x", bytes, &settings);
    for row in &read.rows {
        assert!(row.stand.at.lat_degrees().abs() <= 90.0 && row.stand.at.lon_degrees().abs() <= 180.0);
        assert!((0.0..360.0).contains(&row.read.to_degrees()));
    }
    for finding in &read.findings {
        assert!(finding.severity != Severity::Refused || finding.hint.is_some());
        assert!(!finding.to_string().lines().any(|line| line.chars().any(char::is_control)));
    }
});
