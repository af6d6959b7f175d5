//! Any bytes as a log of levels, and what is read of it labelled and prepared: no panic.

#![no_main]

use azimark::{
    check,
    ingest::{Settings, levels},
};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let read = levels("x", bytes, &Settings::default());
    assert!(read.findings.len() < 2_000);
    let labelled = check::levels(&read.rows, &[]);
    assert_eq!(labelled.labels.len(), read.rows.len());
    let prepared = check::usable(&read.rows, &labelled.labels);
    let left_out: usize = prepared.left_out.iter().map(|(_, count)| count).sum();
    assert_eq!(prepared.levels.len() + left_out, read.rows.len());
});
