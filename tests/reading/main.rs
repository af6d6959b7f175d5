//! Files as people write them: the demo case's two files of bearings, and broken ones.

mod anything;
mod broken;
mod dialects;
mod doubts;
mod maps;
mod places;
mod tiles;

use azimark::{
    finding::Severity,
    ingest::{Settings, bearings},
    observe::NorthReference,
};

const DEMO: &[u8] = include_bytes!("../../fixtures/demo/bearings.csv");
const OTHER: &[u8] = include_bytes!("../../fixtures/demo/bearings_other_team.csv");

const HEAD: &str = "id,time,lat,lon,bearing_deg,north_reference,sigma_deg,class,hdop,remarks\n";

#[test]
fn the_demo_file_reads_without_options() {
    let read = bearings("bearings.csv", DEMO, &Settings::default());
    assert_eq!(read.rows.len(), 10, "{:?}", read.findings);
    assert!(read.findings.iter().all(|f| f.severity == Severity::Assumed), "{:?}", read.findings);
    let b03 = &read.rows[2];
    assert_eq!((b03.id.as_str(), b03.swings.len(), b03.north), ("B03", 3, NorthReference::Magnetic));
    assert_eq!(b03.front.map(|l| l.value()), Some(-89.4));
    assert_eq!(b03.time.as_ref().map(ToString::to_string), Some("2026-03-17T16:11:00Z".to_owned()));
}

/// The German file writes minutes with four decimals: half a unit there is 0.1 m, less than 1e-6 degrees.
#[test]
fn the_other_teams_latin_1_file_gives_the_same_stands() {
    let ours = bearings("bearings.csv", DEMO, &Settings::default());
    let theirs = bearings("other.csv", OTHER, &Settings::default());
    assert_eq!(theirs.rows.len(), 2, "{:?}", theirs.findings);
    for row in &theirs.rows {
        let same = ours.rows.iter().find(|r| r.id == row.id).unwrap();
        assert!((same.stand.at.lat_degrees() - row.stand.at.lat_degrees()).abs() < 1.5e-6);
        assert!((same.stand.at.lon_degrees() - row.stand.at.lon_degrees()).abs() < 1.5e-6);
        assert_eq!((same.read, same.north, same.front), (row.read, row.north, row.front));
        assert_eq!(row.date, Some(jiff::civil::date(2026, 3, 17)));
    }
}

/// Clocks in Los Angeles went forward on 8 March 2026 at 02:00 and back on 1 November 2026 at 02:00.
#[test]
fn an_hour_that_is_skipped_or_occurs_twice_is_asked_about() {
    let zone = Settings { zone: Some("America/Los_Angeles".to_owned()), ..Settings::default() };
    for (text, code) in [("2026-03-08 02:30", "time-skipped"), ("2026-11-01 01:30", "time-twice")] {
        let text = format!("{HEAD}a,{text},47,8,55,true,2,,,\n");
        let read = bearings("x", text.as_bytes(), &zone);
        assert_eq!(read.rows.len(), 1);
        assert!(read.rows[0].time.is_none() && read.rows[0].date.is_some());
        assert!(read.findings.iter().any(|f| f.code == code), "{:?}", read.findings);
    }
    let text = format!("{HEAD}a,2026-03-17 08:40,47,8,55,true,2,,,\n");
    let read = bearings("x", text.as_bytes(), &zone);
    assert_eq!(read.rows[0].time.as_ref().map(ToString::to_string), Some("2026-03-17T15:40:00Z".to_owned()));
}
