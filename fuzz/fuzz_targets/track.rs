//! Any bytes as a track (GPX or NMEA 0183): no panic, times that never go back, and a log that is joined to it.

#![no_main]

use azimark::{
    check,
    ingest::{Settings, levels, track},
};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let (track, findings) = track("x", bytes, None);
    assert!(findings.len() < 2_000);
    assert!(track.fixes.windows(2).all(|w| w[0].time <= w[1].time));
    let log = b"time_utc,level_dbm\n2026-03-17T10:00:03Z,-60\n2026-03-17T10:00:09Z,-61\n";
    check::place(&mut levels("log", log, &Settings::default()).rows, &[track], None);
});
