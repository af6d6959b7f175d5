//! Files as people write them: the demo case's two files of bearings, and broken ones.

use azimark::{
    finding::Severity,
    ingest::{Settings, bearings},
    observe::NorthReference,
};

const DEMO: &[u8] = include_bytes!("../fixtures/demo/bearings.csv");
const OTHER: &[u8] = include_bytes!("../fixtures/demo/bearings_other_team.csv");

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

const HEAD: &str = "id,time,lat,lon,bearing_deg,north_reference,sigma_deg,class,hdop,remarks\n";

/// Rows under [`HEAD`], and the finding that each must give: severity, code, line, column.
type Broken = (&'static str, Severity, &'static str, Option<u64>, Option<u64>);

const BROKEN: &[Broken] = &[
    ("a,,47,8,55,true,2,,,", Severity::Assumed, "", None, None),
    ("a,,97,8,55,true,2,,,", Severity::Refused, "coordinate", Some(2), Some(3)),
    ("a,,47,188,55,true,2,,,", Severity::Refused, "coordinate", Some(2), Some(4)),
    ("a,,47 61,8,55,true,2,,,", Severity::Refused, "coordinate", Some(2), Some(3)),
    ("a,,47.5 30,8,55,true,2,,,", Severity::Refused, "coordinate", Some(2), Some(3)),
    ("a,,47 E,8,55,true,2,,,", Severity::Refused, "coordinate", Some(2), Some(3)),
    ("a,,-47 N,8,55,true,2,,,", Severity::Refused, "coordinate", Some(2), Some(3)),
    ("a,,forty,8,55,true,2,,,", Severity::Refused, "coordinate", Some(2), Some(3)),
    ("a,,,8,55,true,2,,,", Severity::Refused, "coordinate-missing", Some(2), None),
    ("a,,47,,55,true,2,,,", Severity::Refused, "coordinate-missing", Some(2), None),
    ("a,,47,8,361,true,2,,,", Severity::Refused, "bearing-out-of-range", Some(2), Some(5)),
    ("a,,47,8,-5,true,2,,,", Severity::Refused, "bearing-out-of-range", Some(2), Some(5)),
    ("a,,47,8,NE,true,2,,,", Severity::Refused, "not-a-number", Some(2), Some(5)),
    ("a,,47,8,nan,true,2,,,", Severity::Refused, "not-a-number", Some(2), Some(5)),
    ("a,,47,8,inf,true,2,,,", Severity::Refused, "not-a-number", Some(2), Some(5)),
    ("a,,47,8,,true,2,,,", Severity::Refused, "bearing-missing", Some(2), None),
    ("a,,47,8,55,compass,2,,,", Severity::Refused, "north-unknown", Some(2), Some(6)),
    ("a,,47,8,55,,2,,,", Severity::Refused, "north-unlabelled", None, None),
    ("a,,47,8,55,true,0,,,", Severity::Refused, "sigma-out-of-range", Some(2), Some(7)),
    ("a,,47,8,55,true,-2,,,", Severity::Refused, "sigma-out-of-range", Some(2), Some(7)),
    ("a,,47,8,55,true,120,,,", Severity::Refused, "sigma-out-of-range", Some(2), Some(7)),
    ("a,,47,8,55,true,two,,,", Severity::Refused, "not-a-number", Some(2), Some(7)),
    ("a,,47,8,55,true,,Z,,", Severity::Doubtful, "class-unknown", Some(2), Some(8)),
    ("a,,47,8,55,true,2,,x,", Severity::Refused, "not-a-number", Some(2), Some(9)),
    ("a,yesterday,47,8,55,true,2,,,", Severity::Doubtful, "time-unknown", Some(2), Some(2)),
    ("a,03/04/2026 10:00,47,8,55,true,2,,,", Severity::Doubtful, "time-unknown", Some(2), Some(2)),
    ("a,2026-03-17 08:40,47,8,55,true,2,,,", Severity::Assumed, "zone-missing", None, None),
    ("a,,47,8,55,true,2,,", Severity::Refused, "cells-differ", Some(2), None),
    ("a,,47,8,55,true,2,,,one, two", Severity::Assumed, "remark-joined", Some(2), Some(10)),
    ("a,,47,8,55,true,2,,,\na,,47,8,55,true,2,,,", Severity::Doubtful, "id-repeated", Some(3), Some(1)),
    ("\n\na,,47,8,400,true,2,,,", Severity::Refused, "bearing-out-of-range", Some(4), Some(5)),
];

#[test]
fn every_broken_row_is_named_with_its_place() {
    for (rows, severity, code, line, column) in BROKEN {
        let text = format!("{HEAD}{rows}\n");
        let read = bearings("notes.csv", text.as_bytes(), &Settings::default());
        if code.is_empty() {
            assert_eq!((read.rows.len(), read.findings.len()), (1, 0), "{rows}: {:?}", read.findings);
            continue;
        }
        let found = read.findings.iter().find(|f| f.code == *code);
        let found = found.unwrap_or_else(|| panic!("{rows}: {:?}", read.findings));
        let origin = found.origin.as_ref().expect("findings of a reader say where");
        assert_eq!(
            (found.severity, origin.line, origin.column),
            (*severity, *line, *column),
            "{rows}: {found}"
        );
        if *severity == Severity::Refused {
            assert!(found.hint.is_some(), "{rows}: a refusal says what to do");
            assert!(read.rows.is_empty(), "{rows}: a refused row is not used");
        }
    }
}

/// Whole files that are no table of bearings.
#[test]
fn files_that_are_no_table_get_one_clear_answer() {
    let cases: [(&[u8], &str); 9] = [
        (b"", "empty"),
        (b"\n\n\n", "empty"),
        (b"%PDF-1.7 ...", "not-text"),
        (b"PK\x03\x04rest", "not-text"),
        (b"\x89PNG\r\n", "not-text"),
        (b"SQLite format 3\0", "not-text"),
        (b"a\0b\0\0c", "not-text"),
        (b"x,y\n1,2\n", "columns-missing"),
        (b"lat,lon\n1,2\n", "columns-missing"),
    ];
    for (bytes, code) in cases {
        let read = bearings("odd", bytes, &Settings::default());
        let codes: Vec<&str> = read.findings.iter().map(|f| f.code).collect();
        assert_eq!((codes, read.rows.len()), (vec![code], 0), "{bytes:?}");
    }
}

#[test]
fn dialects_encodings_and_languages_are_told_apart() {
    let utf16: Vec<u8> =
        "\u{feff}lat\tlon\tbearing\n47,5\t8,25\t055M\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    let cases: [&[u8]; 4] = [
        &utf16,
        b"\xef\xbb\xbflat;lon;bearing\r\n47,5;8,25;055\xc2\xb0M\r\n",
        "latitude;longitude;relèvement magnétique (°)\n47°30'N;8°15'E;55,0\n".as_bytes(),
        b"Breite;L\xe4nge;Peilung magn. [\xb0]\n47,5;8,25;55\n",
    ];
    for bytes in cases {
        let read = bearings("x", bytes, &Settings::default());
        assert_eq!(read.rows.len(), 1, "{:?}", read.findings);
        let row = &read.rows[0];
        assert!(
            (row.stand.at.lat_degrees() - 47.5).abs() < 1e-12
                && (row.stand.at.lon_degrees() - 8.25).abs() < 1e-12
        );
        assert!((row.read.to_degrees() - 55.0).abs() < 1e-12);
        assert_eq!(row.north, NorthReference::Magnetic);
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

proptest::proptest! {
    #[test]
    fn no_bytes_panic_the_reader(bytes: Vec<u8>) {
        let _ = bearings("x", &bytes, &Settings::default());
    }

    #[test]
    fn no_change_to_the_demo_file_panics_the_reader(at in 0..DEMO.len(), byte: u8, cut in 0..DEMO.len()) {
        let mut changed = DEMO.to_vec();
        changed[at] = byte;
        changed.truncate(cut);
        let read = bearings("x", &changed, &Settings::default());
        proptest::prop_assert!(read.rows.len() <= 10);
    }
}
