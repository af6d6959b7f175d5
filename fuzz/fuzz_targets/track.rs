//! Any bytes as a track (GPX or NMEA 0183): no panic, and times that never go back.

#![no_main]

use azimark::ingest::track;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let (track, findings) = track("x", bytes, None);
    assert!(findings.len() < 2_000);
    assert!(track.fixes.windows(2).all(|w| w[0].time <= w[1].time));
});
