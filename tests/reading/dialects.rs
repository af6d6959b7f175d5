//! One table in many hands: languages, units, delimiters, line ends and encodings give the same bearing.

use azimark::{
    finding::Severity,
    ingest::{NorthLabel, Settings, bearings},
    observe::{NorthReference, ReadBearing},
};

/// The bearing of a file that holds one, with the codes of what is told about it.
fn the_one(bytes: &[u8], settings: &Settings) -> (ReadBearing, Vec<&'static str>) {
    let mut read = bearings("notes.csv", bytes, settings);
    let shown = String::from_utf8_lossy(bytes);
    assert_eq!(read.rows.len(), 1, "{shown}: {:#?}", read.findings);
    assert!(read.findings.iter().all(|f| f.severity == Severity::Assumed), "{shown}: {:#?}", read.findings);
    (read.rows.remove(0), read.findings.iter().map(|f| f.code).collect())
}

/// 47.5° N 8.25° E, 055° magnetic.
fn assert_the_same(bytes: &[u8]) -> (ReadBearing, Vec<&'static str>) {
    let (row, codes) = the_one(bytes, &Settings::default());
    let shown = String::from_utf8_lossy(bytes);
    assert!((row.stand.at.lat_degrees() - 47.5).abs() < 1e-12, "{shown}: {:?}", row.stand);
    assert!((row.stand.at.lon_degrees() - 8.25).abs() < 1e-12, "{shown}: {:?}", row.stand);
    assert!((row.read.to_degrees() - 55.0).abs() < 1e-9, "{shown}: {:?}", row.read);
    assert_eq!(row.north, NorthReference::Magnetic, "{shown}");
    (row, codes)
}

#[test]
fn four_languages_name_the_same_columns() {
    for text in [
        "lat,lon,magnetic bearing\n47.5,8.25,55\n",
        "Latitude,Longitude,Bearing (magnetic)\n47.5,8.25,55\n",
        "LAT_DEG,LON_DEG,BEARING_DEG_MAGNETIC\n47.5,8.25,55\n",
        "lat (WGS84),lon (WGS 84),bearing (deg from magnetic north)\n47.5,8.25,55\n",
        "lat dd,lon dd,azimuth [°M]\n47.5,8.25,55\n",
        "Latitude (°N),Longitude (E),swing 1 (M),swing 2\n47.5,8.25,54,56\n",
        "lat,lon,bearing,north\n47.5,8.25,55,magnetic\n",
        "lat,lon,bearing\n47.5,8.25,055M\n",
        "lat,lon,bearing\n47.5,8.25,55° m\n",
        "Breite;Länge;Peilung missweisend\n47,5;8,25;55\n",
        "Breite;Laenge;Peilung magn. [°]\n47,5;8,25;55\n",
        "Breite;Länge;Peilung (magn.) [°]\n47,5;8,25;55\n",
        "Geographische Breite;Geographische Länge;Azimut;Nordbezug\n47,5;8,25;55;magnetisch\n",
        "latitude;longitude;relèvement magnétique (°)\n47,5;8,25;55\n",
        "latitude;longitude;gisement;nord\n47,5;8,25;55;magnetique\n",
        "latitud;longitud;rumbo magnético\n47,5;8,25;55\n",
        "latitud;longitud;marcación;norte\n47,5;8,25;55;magnetico\n",
    ] {
        assert_the_same(text.as_bytes());
    }
}

/// A gon is a four-hundredth of a turn (DIN 1301), a mil here a 6,400th (the artillery's); 55° = 61 1/9 gon =
/// 977 7/9 mil. A foot is 0.3048 m.
#[test]
fn units_of_a_header_are_brought_to_one() {
    assert_the_same(b"lat,lon,magnetic bearing [gon]\n47.5,8.25,61.11111111111\n");
    let (_, codes) = assert_the_same(b"lat,lon,magnetic bearing (mil)\n47.5,8.25,977.77777777778\n");
    assert!(codes.contains(&"mil"), "which mil is meant is an assumption: {codes:?}");
    assert_the_same(b"lat,lon,magnetic_bearing_rad\n47.5,8.25,0.9599310885969\n");
    assert_the_same(
        b"lat,lon,swing1_gon,swing2 [gon],magnetic bearing\n47.5,8.25,60,62.22222222222,\n".as_slice(),
    );
    let head =
        "lat,lon,magnetic bearing,sigma_gon,freq_khz,antenna_height_ft_agl,position_sigma_km,front_dbm\n";
    let (row, _) =
        assert_the_same(format!("{head}47.5,8.25,55,10,841500,6.56167979,0.02,-80.5\n").as_bytes());
    let azimark::observe::Quality::Sigma(sigma) = row.quality else { panic!("{:?}", row.quality) };
    assert!((sigma.to_degrees() - 9.0).abs() < 1e-9);
    assert!((row.frequency.unwrap().to_mhz() - 841.5).abs() < 1e-9);
    assert!((row.stand.height.unwrap().value() - 2.0).abs() < 1e-6);
    assert!((row.stand.sigma.unwrap().to_metres() - 20.0).abs() < 1e-9);
    assert_eq!(row.front.unwrap().value(), -80.5);
    for (header, text) in
        [("frequenz [MHz]", "841,5"), ("Frequenz_GHz", "0,8415"), ("fréquence (Hz)", "841500000")]
    {
        let (row, _) =
            assert_the_same(format!("lat;lon;bearing;{header}\n47,5;8,25;55M;{text}\n").as_bytes());
        assert!((row.frequency.unwrap().to_mhz() - 841.5).abs() < 1e-6, "{header}");
    }
}

#[test]
fn delimiters_quotes_and_decimal_marks_are_told_apart() {
    for (text, told) in [
        ("lat,lon,bearing\n47.5,8.25,55M\n", false),
        ("lat,lon,bearing\n\"47,5\",\"8,25\",55M\n", false),
        ("\"lat\",\"lon\",\"bearing\"\n\"47.5\",\"8.25\",\"55M\"\n", false),
        (" lat , lon , bearing \n 47.5 , 8.25 , 55M \n", false),
        ("lat;lon;bearing\n47,5;8,25;55M\n", true),
        ("lat;lon;bearing\n47.5;8.25;55M\n", true),
        ("lat\tlon\tbearing\n47,5\t8,25\t55,0 M\n", true),
        ("\n\n# notes of team A\nlat,lon,bearing\n\n47.5,8.25,55M\n,,\n\n", false),
        ("lat,lon,bearing,,\n47.5,8.25,55M,,\n", false),
        ("lat,lon,bearing\n47.5,8.25,55M", false),
    ] {
        let (_, codes) = assert_the_same(text.as_bytes());
        assert_eq!(codes.contains(&"delimiter"), told, "{text}: {codes:?}");
    }
}

const TABLE: &str = "Breite;Länge;Peilung magn. [°];Bemerkung\n47,5;8,25;55;Straße\n";

/// The same text in every encoding that spreadsheets write.
#[test]
fn encodings_are_recognised() {
    let little: Vec<u8> = TABLE.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let big: Vec<u8> = TABLE.encode_utf16().flat_map(u16::to_be_bytes).collect();
    // All of the table's characters have the same number in Latin-1, Windows-1252 and Unicode.
    let latin: Vec<u8> = TABLE.chars().map(|c| c as u8).collect();
    for (bytes, assumed) in [
        (TABLE.as_bytes().to_vec(), false),
        ([b"\xef\xbb\xbf", TABLE.as_bytes()].concat(), false),
        ([b"\xff\xfe", &little[..]].concat(), false),
        ([b"\xfe\xff", &big[..]].concat(), false),
        (little, false),
        (big, false),
        (latin, true),
    ] {
        let (row, codes) = assert_the_same(&bytes);
        assert_eq!(row.remarks, "Straße");
        assert_eq!(codes.contains(&"encoding"), assumed, "{bytes:?}");
    }
}

/// DOS writes two characters behind a line, Unix one, old Macs the other one; lines are counted alike.
#[test]
fn line_ends_of_all_systems_are_read() {
    for end in ["\n", "\r\n", "\r"] {
        let lines = ["lat,lon,bearing,remarks", "", "47.5,8.25,55M,a", "47.5,8.25,400,b", ""];
        let read = bearings("x", lines.join(end).as_bytes(), &Settings::default());
        assert_eq!((read.rows.len(), read.findings.len()), (1, 1), "{end:?}: {:?}", read.findings);
        assert_eq!((read.rows[0].origin.line, read.rows[0].remarks.as_str()), (Some(3), "a"), "{end:?}");
        assert_eq!(read.findings[0].origin.as_ref().unwrap().line, Some(4), "{end:?}");
    }
}

/// 17 March 2026, 08:40 in Los Angeles (seven hours behind, summer time since 8 March) is 15:40 UTC.
#[test]
fn times_are_read_in_one_cell_or_two() {
    let zone = Settings { zone: Some("America/Los_Angeles".to_owned()), ..Settings::default() };
    for (head, cell) in [
        ("time", "2026-03-17T15:40:00Z"),
        ("time", "2026-03-17T08:40:00-07:00"),
        ("time_utc", "2026-03-17 15:40"),
        ("time (UTC)", "17.03.2026 15:40"),
        ("Uhrzeit lokal", "17.03.2026 08:40:00"),
        ("local time", "17/03/2026 8:40"),
        ("heure", "2026-03-17T08:40"),
        ("date,time", "2026-03-17,08:40"),
        ("time,date", "08:40,03/17/2026"),
        ("datum,uhrzeit", "17.3.2026,8:40"),
        ("date,time_utc", "2026-03-17,15:40:00"),
    ] {
        let text = format!("lat,lon,bearing,{head}\n47.5,8.25,55M,{cell}\n");
        let (row, codes) = the_one(text.as_bytes(), &zone);
        assert_eq!(codes.contains(&"zone-from-header"), head.to_lowercase().contains("utc"), "{text}");
        let time = row.time.unwrap_or_else(|| panic!("{text}"));
        assert_eq!(time.to_string(), "2026-03-17T15:40:00Z", "{text}");
    }
    for (head, cell) in [("date", "2026-03-17"), ("time", "17.03.2026"), ("date,time", "2026-03-17,")] {
        let text = format!("lat,lon,bearing,{head}\n47.5,8.25,55M,{cell}\n");
        let (row, codes) = the_one(text.as_bytes(), &zone);
        assert_eq!((row.time, row.date), (None, Some(jiff::civil::date(2026, 3, 17))), "{text}");
        assert!(codes.is_empty(), "a date is no local time: {codes:?}");
    }
}

#[test]
fn what_is_not_used_is_told() {
    let text = "lat,lon,bearing,easting,northing,mood,,\n47.5,8.25,55M,1,2,good,stray,\n";
    let read = bearings("x", text.as_bytes(), &Settings::default());
    let told: Vec<(&str, &str)> = read.findings.iter().map(|f| (f.code, f.message.as_str())).collect();
    assert_eq!(
        told,
        [
            ("columns-unused", "columns not used: mood"),
            ("position-twice", "the position stands there more than once: not used are easting, northing"),
            ("columns-unnamed", "columns without a header are not used: 7"),
        ]
    );
    assert_eq!(read.rows.len(), 1);
}

/// The row's own word counts before the caller's, and a bearing without any is never given one.
#[test]
fn the_caller_states_the_north_only_of_bearings_that_do_not_say_theirs() {
    let text = "lat,lon,bearing,north\n47.5,8.25,55,\n47.5,8.25,55,grid\n47.5,8.25,55T,\n";
    let read = bearings("x", text.as_bytes(), &Settings::default());
    assert_eq!(read.rows.len(), 2);
    assert_eq!(read.findings.iter().map(|f| f.code).collect::<Vec<_>>(), ["north-unlabelled"]);
    let stated = Settings { north: Some(NorthLabel::Magnetic), ..Settings::default() };
    let norths: Vec<NorthReference> =
        bearings("x", text.as_bytes(), &stated).rows.iter().map(|r| r.north).collect();
    let zone_32 = azimark::geodesy::GridFrame::Utm { zone: 32 };
    assert_eq!(norths, [NorthReference::Magnetic, NorthReference::Grid(zone_32), NorthReference::True]);
}

/// GeoJSON: properties under the names of columns, the features' own identifiers.
#[test]
fn points_of_geojson_are_read_like_rows() {
    let point = |id: &str, properties: &str| {
        let geometry = r#""geometry":{"type":"Point","coordinates":[8.25,47.5,431]}"#;
        format!(r#"{{"type":"Feature",{id}{geometry},"properties":{{{properties}}}}}"#)
    };
    let features = [
        point("", r#""id":"a","Bearing (mag)":55,"swing1":54,"swing2":"56","mood":"good""#),
        point(r#""id":7,"#, r#""Bearing (mag)":"55""#),
        r#"{"type":"Feature","geometry":null,"properties":null}"#.to_owned(),
    ];
    for text in [
        format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.join(",")),
        format!("\u{feff}  {{\n\"features\":[{}],\"type\":\"FeatureCollection\"}}", features.join(",\n")),
    ] {
        let read = bearings("x.geojson", text.as_bytes(), &Settings::default());
        assert_eq!(read.rows.len(), 2, "{:?}", read.findings);
        assert_eq!(read.rows[0].id, "a");
        assert_eq!(read.rows[0].swings.len(), 2);
        assert_eq!(read.rows[1].id, "feature 2");
        for row in &read.rows {
            assert_eq!((row.stand.at.lat_degrees(), row.stand.at.lon_degrees()), (47.5, 8.25));
            assert_eq!(row.north, NorthReference::Magnetic);
        }
        let codes: Vec<&str> = read.findings.iter().map(|f| f.code).collect();
        assert_eq!(codes, ["features-passed-over", "columns-unused", "north-from-header"]);
    }
    let alone = point(r#""id":"b7","#, r#""bearing":"055M""#);
    let read = bearings("x.geojson", alone.as_bytes(), &Settings::default());
    assert_eq!((read.rows.len(), read.findings.len()), (1, 0), "{:?}", read.findings);
    assert_eq!(read.rows[0].id, "b7");
}
