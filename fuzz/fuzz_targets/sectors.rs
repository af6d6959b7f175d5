//! Any bytes as a table of sectors, checked and weighed at a place: no panic, and a number.

#![no_main]

use azimark::{
    check,
    geodesy::{Plane, PlanePoint},
    ingest::{Settings, sectors},
    north,
    solve::sectors::{SectorPriors, Sectors, sights},
};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let read = sectors("x", bytes, &Settings::default());
    assert!(read.findings.len() < 2_000);
    let found = north::resolve_sectors(&read.rows, &north::Settings::default());
    let usable = check::sectors(found.sectors).usable;
    let places: Vec<_> = usable.iter().map(|s| s.sector().at).collect();
    let Some(plane) = Plane::centred_on(&places) else { return };
    let priors = SectorPriors::default();
    let sectors = Sectors::new(sights(&usable, &plane, &priors), priors);
    assert!(sectors.log_likelihood(PlanePoint { east: 100.0, north: -50.0 }).is_finite());
});
