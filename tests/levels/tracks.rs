//! Tracks: NMEA 0183 and GPX 1.1, sound and broken, and what is joined to them.

use azimark::{
    finding::{Finding, Severity},
    geodesy::course,
    ingest::{Join, Settings, join, levels, track},
    observe::{FixKind, Track},
};
use jiff::civil::date;

use crate::{WALK, clean};

const GPX: &[u8] = include_bytes!("../../fixtures/demo/walk.gpx");
const NMEA: &[u8] = include_bytes!("../../fixtures/demo/walk_first_60.nmea");

/// `$`, the text, and its checksum: the exclusive or of its characters (NMEA 0183, 5.3.1).
fn sentence(text: &str) -> String {
    format!("${text}*{:02X}", text.bytes().fold(0, |sum, b| sum ^ b))
}

fn nmea(texts: &[&str]) -> (Track, Vec<Finding>) {
    let lines: Vec<String> = texts.iter().map(|t| sentence(t)).collect();
    track("x.nmea", lines.join("\r\n").as_bytes(), None)
}

fn times(track: &Track) -> Vec<String> {
    track.fixes.iter().map(|f| f.time.to_string()).collect()
}

fn near(track: &Track, index: usize, lat: f64, lon: f64) {
    let at = track.fixes[index].at;
    let miss = (at.lat_degrees() - lat).abs().max((at.lon_degrees() - lon).abs());
    // Doubles of up to 180 degrees, divided and added once each: a few units in the last place.
    assert!(miss < 1e-12, "{at:?}");
}

/// Expected: pynmea2 1.19.0, `parse(line, check=True)`, latitude and longitude.
#[test]
fn the_classic_pair_reads_as_pynmea2_reads_it() {
    let pair = b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\n\
                 $GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\n";
    let (found, findings) = track("x", pair, None);
    near(&found, 0, 48.1173, 11.516666666666667);
    assert_eq!(times(&found), ["1994-03-23T12:35:19Z"]);
    let quality = found.fixes[0].quality;
    assert_eq!(
        (quality.kind, quality.hdop, quality.satellites),
        (Some(FixKind::Satellites), Some(0.9), Some(8))
    );
    assert!(findings.iter().all(|f| f.severity == Severity::Assumed), "{findings:?}");
}

/// Expected: pynmea2 1.19.0, and the walk log itself to half a unit of the fifth decimal of a minute (8.4e-8 degrees)
/// and of its own seventh decimal of a degree.
#[test]
fn the_demo_nmea_gives_the_walk() {
    let (found, findings) = track("walk.nmea", NMEA, None);
    assert_eq!(found.fixes.len(), 60, "{findings:?}");
    near(&found, 0, 46.95500216666667, -118.3599965);
    near(&found, 19, 46.95586566666667, -118.359998);
    near(&found, 59, 46.95682733333334, -118.36120516666666);
    let walk = clean("walk_log.csv", WALK, &Settings::default());
    for (fix, row) in found.fixes.iter().zip(&walk) {
        let at = row.at.unwrap();
        assert!((fix.at.lat_degrees() - at.lat_degrees()).abs() < 1.4e-7, "{fix:?}");
        assert!((fix.at.lon_degrees() - at.lon_degrees()).abs() < 1.4e-7, "{fix:?}");
        assert_eq!(Some(fix.time), row.time.as_ref().map(|t| t.utc()));
        assert_eq!(fix.quality.hdop, row.fix.hdop);
    }
}

/// Expected: pynmea2 1.19.0 for the places of these sentences; the day turns between them.
#[test]
fn midnight_talkers_and_the_southern_hemisphere() {
    let gga = "GNGGA,000000.50,3351.5000,S,15112.5000,E,2,12,0.6,10,M,,M,,";
    let rmc = "GLRMC,235959.75,A,3351.5000,S,15112.5000,E,1,2,311225,,,D";
    let (found, findings) = nmea(&[rmc, gga]);
    near(&found, 0, -33.858333333333334, 151.20833333333334);
    near(&found, 1, -33.858333333333334, 151.20833333333334);
    assert_eq!(times(&found), ["2025-12-31T23:59:59.75Z", "2026-01-01T00:00:00.5Z"]);
    assert_eq!(found.fixes[1].quality.kind, Some(FixKind::Differential));
    assert!(findings.iter().all(|f| f.severity == Severity::Assumed), "{findings:?}");
    // A GGA before the first RMC belongs to the day before, when midnight lies between.
    let early = "GPGGA,235958,3351.5000,S,15112.5000,E,1,12,0.6,10,M,,M,,";
    let late = "GPRMC,000001,A,3351.5000,S,15112.5000,E,1,2,010126,,,A";
    assert_eq!(times(&nmea(&[early, late]).0), ["2025-12-31T23:59:58Z", "2026-01-01T00:00:01Z"]);
}

#[test]
fn without_rmc_the_first_day_is_asked_for() {
    let lines = [
        sentence("GPGGA,235958,4807.0,N,01131.0,E,1,8,0.9,,M,,M,,"),
        sentence("GPGGA,000002,4807.0,N,01131.0,E,1,8,0.9,,M,,M,,"),
    ]
    .join("\n");
    let (none, findings) = track("x", lines.as_bytes(), None);
    assert!(none.fixes.is_empty() && findings.iter().any(|f| f.code == "date-missing"), "{findings:?}");
    let (found, _) = track("x", lines.as_bytes(), Some(date(2026, 2, 28)));
    assert_eq!(times(&found), ["2026-02-28T23:59:58Z", "2026-03-01T00:00:02Z"]);
}

#[test]
fn nothing_is_placed_across_a_status_v() {
    let (found, findings) = nmea(&[
        "GPRMC,100000,A,4700.0,N,00800.0,E,,,170326,,,A",
        "GPRMC,100002,V,,,,,,,170326,,,N",
        "GPGGA,100003,4700.0,N,00800.0,E,0,0,99.99,,M,,M,,",
        "GPRMC,100004,A,4700.1,N,00800.0,E,,,170326,,,A",
        "GPGSV,1,1,00",
        "PGRME,15.0,M,45.0,M,25.0,M",
    ]);
    assert_eq!(found.fixes.len(), 2);
    let short = |code: &str| {
        let found =
            findings.iter().find(|f| f.code == code).unwrap_or_else(|| panic!("{code}: {findings:?}"));
        (found.message.split(' ').next().unwrap().to_owned(), found.origin.as_ref().and_then(|o| o.line))
    };
    assert_eq!(short("track-without-fix"), ("2".to_owned(), Some(2)));
    assert_eq!(short("sentences-passed-over"), ("2".to_owned(), Some(5)));
    let mut rows = levels("x", b"time_utc,level_dbm\n2026-03-17T10:00:03Z,-60\n", &Settings::default()).rows;
    let told = join(&mut rows, &found, &Join::default());
    assert_eq!((rows[0].at, told[0].code), (None, "join-break"));
}

/// Each broken sentence, behind a sound one, gives this finding at line 2, and the sound one is used.
#[test]
fn broken_sentences_are_named() {
    let sound = sentence("GPRMC,100000,A,4700.0,N,00800.0,E,,,170326,,,A");
    let fields = [
        ("GPRMC,10000,A,4700.0,N,00800.0,E,,,170326", "RMC field 1", "10000"),
        ("GPRMC,246000,A,4700.0,N,00800.0,E,,,170326", "RMC field 1", "246000"),
        ("GPRMC,100001,X,4700.0,N,00800.0,E,,,170326", "RMC field 2", "X"),
        ("GPRMC,100001,A,4760.0,N,00800.0,E,,,170326", "RMC field 3", "4760.0"),
        ("GPRMC,100001,A,9100.0,N,00800.0,E,,,170326", "RMC field 3", "9100.0"),
        ("GPRMC,100001,A,470.0,N,00800.0,E,,,170326", "RMC field 3", "470.0"),
        ("GPRMC,100001,A,47-0.0,N,00800.0,E,,,170326", "RMC field 3", "47-0.0"),
        ("GPRMC,100001,A,,,,,,,170326", "RMC field 3", ""),
        ("GPRMC,100001,A,4700.0,E,00800.0,E,,,170326", "RMC field 4", "E"),
        ("GPRMC,100001,A,4700.0,N,18100.0,E,,,170326", "RMC field 5", "18100.0"),
        ("GPRMC,100001,A,4700.0,N,0800.0,E,,,170326", "RMC field 5", "0800.0"),
        ("GPRMC,100001,A,4700.0,N,00800.0,O,,,170326", "RMC field 6", "O"),
        ("GPRMC,100001,A,4700.0,N,00800.0,E,,,320326", "RMC field 9", "320326"),
        ("GPRMC,100001,A,4700.0,N,00800.0,E,,,", "RMC field 9", ""),
        ("GPGGA,100001,4700.0,N,00800.0,E,9,8,0.9", "GGA field 6", "9"),
        ("GPGGA,100001,4700.0,N,00800.0,E,,8,0.9", "GGA field 6", ""),
        ("GPGGA,100001,4700.0,N,00800.0,E,1,x,0.9", "GGA field 7", "x"),
        ("GPGGA,100001,4700.0,N,00800.0,E,1,8,-1", "GGA field 8", "-1"),
        ("GPGGA,100001,4700.0,N,00800.0,E,1,8,nan", "GGA field 8", "nan"),
    ];
    for (text, field, value) in fields {
        let (found, findings) = track("x", format!("{sound}\n{}\n", sentence(text)).as_bytes(), None);
        let finding = refused(&findings, "nmea-field", text);
        let origin = finding.origin.as_ref().unwrap();
        let stands = (origin.line, origin.field.as_deref(), origin.value.as_deref());
        assert_eq!(stands, (Some(2), Some(field), Some(value)), "{text}");
        assert_eq!(found.fixes.len(), 1, "{text}");
    }
    for (line, code, part) in [
        (
            "$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*48",
            "checksum",
            "the text gives 47",
        ),
        (
            "$GPGGA,123519,4807.039,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47",
            "checksum",
            "the text gives 46",
        ),
        ("$GPRMC,1*+7", "checksum", "says +7"),
        ("$GPRMC,1*", "checksum", "the text gives"),
        ("$GPGGA,123519,4807.038,N,011", "checksum-missing", "no checksum"),
        ("hello", "not-a-sentence", "no sentence"),
        ("$GPTXT,ä*00", "not-a-sentence", "no sentence"),
    ] {
        let (found, findings) = track("x", format!("{sound}\n{line}\n").as_bytes(), None);
        let finding = refused(&findings, code, line);
        assert!(finding.message.contains(part), "{finding}");
        assert_eq!((finding.origin.as_ref().unwrap().line, found.fixes.len()), (Some(2), 1), "{line}");
    }
}

/// The only refusal, which has this code and says what to do.
fn refused<'f>(findings: &'f [Finding], code: &str, text: &str) -> &'f Finding {
    let all: Vec<&Finding> = findings.iter().filter(|f| f.severity == Severity::Refused).collect();
    assert_eq!(all.iter().map(|f| f.code).collect::<Vec<_>>(), [code], "{text}: {findings:#?}");
    assert!(all[0].hint.is_some(), "{text}");
    all[0]
}

/// Both files write seven decimals of a degree: they are the same to the bit.
#[test]
fn the_demo_gpx_is_the_walk() {
    let (found, findings) = track("walk.gpx", GPX, None);
    assert!(findings.is_empty(), "{findings:?}");
    let walk = clean("walk_log.csv", WALK, &Settings::default());
    let placed: Vec<_> = walk.iter().filter(|r| r.at.is_some()).collect();
    assert_eq!((found.fixes.len(), placed.len()), (598, 598));
    for (fix, row) in found.fixes.iter().zip(placed) {
        assert_eq!((Some(fix.at), fix.quality.hdop), (row.at, row.fix.hdop));
        assert_eq!(Some(fix.time), row.time.as_ref().map(|t| t.utc()));
    }
    assert_eq!(found.fixes[0].written.line, 3);
}

const POINT: &str = "<trkpt lat=\"47\" lon=\"8\"><time>2026-03-17T10:00:00Z</time></trkpt>";

fn gpx(inner: &str) -> (Track, Vec<Finding>) {
    track("x.gpx", format!("<gpx version=\"1.1\">\n{inner}\n</gpx>").as_bytes(), None)
}

#[test]
fn broken_points_are_named() {
    let time = "<time>2026-03-17T10:00:05Z</time>";
    for (point, code, field, value) in [
        (format!("<trkpt lat=\"91\" lon=\"8\">{time}</trkpt>"), "gpx-place", Some("lat"), Some("91")),
        (format!("<trkpt lat=\"47\" lon=\"-181\">{time}</trkpt>"), "gpx-place", Some("lon"), Some("-181")),
        (format!("<trkpt lat=\"47,5\" lon=\"8\">{time}</trkpt>"), "gpx-place", Some("lat"), Some("47,5")),
        (format!("<trkpt lat=\"nan\" lon=\"8\">{time}</trkpt>"), "gpx-place", Some("lat"), Some("nan")),
        (format!("<trkpt lat=\"1e1\" lon=\"8\">{time}</trkpt>"), "gpx-place", Some("lat"), Some("1e1")),
        (format!("<trkpt lon=\"8\">{time}</trkpt>"), "gpx-place", Some("lat"), Some("")),
        (format!("<trkpt lat=\"4\" lat=\"5\" lon=\"8\">{time}</trkpt>"), "gpx-place", Some("lat"), Some("5")),
        ("<trkpt lat=\"47\" lon=\"8\"/>".to_owned(), "time-missing", None, None),
        (
            "<trkpt lat=\"47\" lon=\"8\"><time>noon</time></trkpt>".to_owned(),
            "gpx-value",
            Some("time"),
            Some("noon"),
        ),
        (
            "<trkpt lat=\"47\" lon=\"8\"><time>2026-03-17</time></trkpt>".to_owned(),
            "gpx-value",
            Some("time"),
            Some("2026-03-17"),
        ),
        (
            format!("<trkpt lat=\"47\" lon=\"8\">{time}<hdop>-1</hdop></trkpt>"),
            "gpx-value",
            Some("hdop"),
            Some("-1"),
        ),
        (
            // Half of the number must not be read.
            format!("<trkpt lat=\"47\" lon=\"8\">{time}<hdop>1&#48;</hdop></trkpt>"),
            "gpx-value",
            Some("hdop"),
            Some("1\u{fffd}"),
        ),
        (
            format!("<trkpt lat=\"47\" lon=\"8\">{time}<sat>x</sat></trkpt>"),
            "gpx-value",
            Some("sat"),
            Some("x"),
        ),
        (
            format!("<trkpt lat=\"47\" lon=\"8\">{time}<fix>4d</fix></trkpt>"),
            "gpx-value",
            Some("fix"),
            Some("4d"),
        ),
    ] {
        let (found, findings) = gpx(&format!("<trk><trkseg>{POINT}\n{point}</trkseg></trk>"));
        let finding = refused(&findings, code, &point);
        let origin = finding.origin.as_ref().unwrap();
        assert_eq!((origin.field.as_deref(), origin.value.as_deref()), (field, value), "{point}");
        assert_eq!((origin.line, found.fixes.len()), (Some(3), 1), "{point}");
    }
    for (text, code, fixes) in [
        (format!("<gpx><trk><trkseg>{POINT}"), "xml-broken", 1),
        (format!("<gpx><trk><trkseg>{POINT}</trk></gpx>"), "xml-broken", 1),
        (format!("<gpx><trk><trkseg>{POINT}<a &</trkseg></trk></gpx>"), "xml-broken", 1),
        ("<html></html>".to_owned(), "not-gpx", 0),
        ("<gpx></gpx>".to_owned(), "empty", 0),
        (String::new(), "empty", 0),
    ] {
        let (found, findings) = track("x", text.as_bytes(), None);
        refused(&findings, code, &text);
        assert_eq!(found.fixes.len(), fixes, "{text}");
    }
}

#[test]
fn routes_waypoints_namespaces_and_extensions() {
    let (found, findings) =
        gpx("<wpt lat=\"47\" lon=\"8\"><time>2026-03-17T09:00:00+01:00</time><fix>3d</fix></wpt>\
         <rte><rtept lat=\"47\" lon=\"8\"><time>2026-03-17T09:00:00</time><sat>7</sat></rtept></rte>\
         <trk><trkseg><trkpt lat=\"47\" lon=\"8\"><extensions><time>x</time></extensions>\
         <time>2026-03-17T10:00:00Z</time><fix>none</fix></trkpt></trkseg></trk>");
    assert_eq!(times(&found), ["2026-03-17T08:00:00Z", "2026-03-17T09:00:00Z"]);
    assert_ne!(found.fixes[0].stretch, found.fixes[1].stretch);
    assert_eq!(found.fixes[0].quality.kind, Some(FixKind::Full));
    assert_eq!(found.fixes[1].quality.satellites, Some(7));
    let codes: Vec<&str> = findings.iter().map(|f| f.code).collect();
    assert_eq!(codes, ["track-without-fix", "gpx-utc"]);
    let prefixed = "<g:gpx xmlns:g=\"http://www.topografix.com/GPX/1/1\"><g:wpt lat=\"47\" lon=\"8\">\
                    <g:time>2026-03-17T10:00:00Z</g:time></g:wpt></g:gpx>";
    assert_eq!(track("x", prefixed.as_bytes(), None).0.fixes.len(), 1);
}

#[test]
fn times_out_of_order_and_twice_are_told() {
    let point = |lat: f64, second: u32| {
        format!("<trkpt lat=\"{lat}\" lon=\"8\"><time>2026-03-17T10:00:{second:02}Z</time></trkpt>\n")
    };
    let points = [point(47.0, 5), point(47.1, 1), point(47.2, 5)].concat();
    let (found, findings) = gpx(&format!("<trk><trkseg>{points}</trkseg></trk>"));
    let lats: Vec<f64> = found.fixes.iter().map(|f| f.at.lat_degrees()).collect();
    assert_eq!(lats, [47.1, 47.0]);
    let codes: Vec<&str> = findings.iter().map(|f| f.code).collect();
    assert_eq!(codes, ["track-order", "fix-repeated"]);
}

/// The demo's log without its positions, joined to its track: every position comes back to the bit. Rows 220 and 221 have
/// no fix; the track has a gap of 12 s there.
#[test]
fn a_log_without_positions_gets_them_from_the_track_and_none_across_the_gap() {
    let with = clean("walk_log.csv", WALK, &Settings::default());
    let mut without = with.clone();
    without.iter_mut().for_each(|r| r.at = None);
    let (found, _) = track("walk.gpx", GPX, None);
    let told = join(&mut without, &found, &Join::default());
    assert!(with.iter().zip(&without).all(|(a, b)| a.at == b.at));
    let codes: Vec<&str> = told.iter().map(|f| f.code).collect();
    assert_eq!(codes, ["joined", "join-gap"]);
    assert!(told[1].message.starts_with("2 reading(s)"), "{}", told[1]);
    assert_eq!(told[1].origin.as_ref().and_then(|o| o.line), Some(221));
}

/// Half-way in time is half-way on the geodesic.
#[test]
fn a_clock_that_is_behind_is_set_right() {
    let log = "time_utc,level_dbm\n2026-03-17T09:59:02Z,-60\n2026-03-17T09:58:00Z,-60\n2026-03-17T11:00:00Z,-60\n,-60\n";
    let mut rows = levels("x", log.as_bytes(), &Settings::default()).rows;
    let points = "<trkpt lat=\"47\" lon=\"8\"><time>2026-03-17T10:00:00Z</time><hdop>1</hdop></trkpt>\
                  <trkpt lat=\"47.001\" lon=\"8.001\"><time>2026-03-17T10:00:04Z</time><hdop>3</hdop></trkpt>";
    let (found, _) = gpx(&format!("<trk><trkseg>{points}</trkseg></trk>"));
    let told = join(&mut rows, &found, &Join { clock_offset_ms: 60_000, ..Join::default() });
    let at = rows[0].at.unwrap();
    let (before, after) = (course(found.fixes[0].at, at).distance, course(at, found.fixes[1].at).distance);
    // Geodesics are good to 1e-8 m.
    assert!((before.value() - after.value()).abs() < 1e-7);
    assert!(
        (before.value() * 2.0 - course(found.fixes[0].at, found.fixes[1].at).distance.value()).abs() < 1e-7
    );
    assert_eq!(rows[0].fix.hdop, Some(3.0));
    let codes: Vec<&str> = told.iter().map(|f| f.code).collect();
    assert_eq!(codes, ["joined", "join-no-time", "join-before", "join-after"]);
    assert!(told[0].message.contains("60 s added to the log's times"), "{}", told[0]);
}
