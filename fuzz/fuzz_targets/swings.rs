//! Any bytes as levels against headings, and what is read of it fitted: no panic, and a bearing or a reason for none.

#![no_main]

use azimark::{
    export,
    finding::Severity,
    ingest::{NorthLabel, Settings, swings},
    solve::swing::bearings,
};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let settings = Settings { north: Some(NorthLabel::True), ..Settings::default() };
    let mut read = swings("x", bytes, &settings);
    assert!(read.findings.len() < 2_000);
    // Each fit costs milliseconds: a few of them are enough.
    read.rows.truncate(4);
    let turned = bearings(&read.rows);
    for fit in &turned.fits {
        let sound = fit.direction.is_none_or(|d| (0.0..360.0).contains(&d.bearing.to_degrees()));
        assert!(sound && (fit.direction.is_some() || !fit.findings.is_empty()));
    }
    for finding in read.findings.iter().chain(&turned.findings) {
        assert!(finding.severity != Severity::Refused || finding.hint.is_some());
    }
    assert!(export::polar(&read.rows, &turned.fits).ends_with("</svg>\n"));
});
