//! Any bytes as a log of levels, and what is read of it labelled: no panic.

#![no_main]

use azimark::{
    check,
    ingest::{Settings, levels},
};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let read = levels("x", bytes, &Settings::default());
    assert!(read.findings.len() < 2_000);
    assert_eq!(check::levels(&read.rows, &[]).labels.len(), read.rows.len());
});
