//! Any text as a coordinate: no panic, and nothing beyond the axis.

#![no_main]

use azimark::geodesy::text::{Axis, degrees};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|text: &str| {
    if let Ok(lat) = degrees(text, Axis::Latitude) {
        assert!(lat.abs() <= 90.0);
    }
    if let Ok(lon) = degrees(text, Axis::Longitude) {
        assert!(lon.abs() <= 180.0);
    }
});
