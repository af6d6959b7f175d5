//! Any text as a square of the grid: no panic, and a middle on the Earth.

#![no_main]

use azimark::geodesy::mgrs::square;
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Ok(found) = square(text) {
        assert!(found.middle.lat_degrees().abs() < 85.0);
        assert!((1.0..=100_000.0).contains(&found.side));
    }
});
