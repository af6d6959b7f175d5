//! Whatever is thrown at the readers: they neither panic nor lose a row in silence, and what they give has a meaning.

use std::collections::HashSet;

use azimark::{
    finding::Severity,
    ingest::{NorthLabel, Reading, Settings, StatedGrid, bearings, ground},
    observe::ReadBearing,
};
use proptest::{
    collection::vec,
    prelude::{Just, Strategy, any, prop_assert, prop_oneof, proptest},
    sample::select,
};

use crate::{DEMO, HEAD};

/// Every number of a row that is used can be used, and the row says where it stood.
fn assert_sound(read: &Reading<ReadBearing>) {
    for row in &read.rows {
        assert!(row.stand.at.lat_degrees().abs() <= 90.0 && row.stand.at.lon_degrees().abs() <= 180.0);
        assert!((0.0..360.0).contains(&row.read.to_degrees()), "{row:?}");
        assert!(row.stand.sigma.is_none_or(|s| s.to_metres() < 1e6), "{row:?}");
        assert!(row.stand.height.is_none_or(|h| h.value().is_finite()), "{row:?}");
        assert!(row.frequency.is_none_or(|f| f.value() > 0.0 && f.value().is_finite()), "{row:?}");
        assert!(row.front.into_iter().chain(row.back).all(|l| l.value().is_finite()), "{row:?}");
        assert!(!row.id.is_empty() && !row.origin.file.is_empty());
    }
    let ids: HashSet<&str> = read.rows.iter().map(|row| row.id.as_str()).collect();
    assert_eq!(ids.len(), read.rows.len(), "every bearing has its own name");
    for finding in &read.findings {
        assert!(finding.severity != Severity::Refused || finding.hint.is_some(), "{finding}");
        assert!(!finding.to_string().lines().any(|l| l.chars().any(char::is_control)), "{finding}");
    }
}

fn settings() -> impl Strategy<Value = Settings> {
    let north =
        select(vec![None, Some(NorthLabel::True), Some(NorthLabel::Magnetic), Some(NorthLabel::Grid)]);
    let zone = select(vec![None, Some("America/Los_Angeles"), Some("UTC"), Some("nowhere")]);
    let grid = select(vec![None, Some("33T"), Some("UTM 60 south"), Some("EPSG:2056")]);
    (north, zone, grid).prop_map(|(north, zone, grid)| Settings {
        north,
        zone: zone.map(str::to_owned),
        grid: grid.and_then(StatedGrid::from_text),
        ..Settings::default()
    })
}

/// Cells that people write, and some that nobody should.
fn cell() -> impl Strategy<Value = String> {
    let written = select(vec![
        "",
        "47.5",
        "8.25",
        "-118,36",
        "47°30'N",
        "8 15 E",
        "S 33 51",
        "91",
        "1e308",
        "-0",
        "NaN",
        "inf",
        "055M",
        "69T",
        "400",
        "true",
        "magnetic",
        "grid",
        "A",
        "z",
        "11TLN96770117",
        "33T",
        "33S",
        "33 south",
        "EPSG:32633",
        "2056",
        "396777",
        "5201175",
        "33T 396777 5201175",
        "2026-03-17T15:40:00Z",
        "17.03.2026 08:40",
        "03/04/2026",
        "08:40",
        "#1",
        "a",
        "a (line 4)",
        "−5",
        "°",
        "\u{202e}x",
        "1;2",
        "x\u{1b}[2J",
    ]);
    prop_oneof![4 => written.prop_map(str::to_owned), 1 => any::<String>()]
}

fn header() -> impl Strategy<Value = &'static str> {
    select(vec![
        "id",
        "team",
        "date",
        "time",
        "time_utc",
        "place",
        "lat",
        "lon",
        "Breite",
        "Länge",
        "easting",
        "northing",
        "x_ft",
        "zone",
        "epsg",
        "position",
        "mgrs",
        "hdop",
        "position sigma",
        "swing1",
        "swing2_gon",
        "bearing",
        "bearing_true",
        "Peilung magn. [°]",
        "bearing [strich]",
        "north",
        "sigma",
        "class",
        "front_dbm",
        "back",
        "height_ft",
        "freq_khz",
        "remarks",
        "",
        "mood",
        "lat_rad",
    ])
}

/// Headers at random, or those that a bearing needs and some more.
fn head() -> impl Strategy<Value = Vec<&'static str>> {
    let needed = vec(header(), 0..8).prop_map(|more| [vec!["lat", "lon", "bearing_true"], more].concat());
    prop_oneof![vec(header(), 1..14), needed]
}

fn table() -> impl Strategy<Value = (char, Vec<&'static str>, Vec<Vec<String>>, &'static str)> {
    let end = select(vec!["\n", "\r\n", "\r"]);
    (select(vec![',', ';', '\t']), head(), vec(vec(cell(), 1..15), 0..6), end)
}

/// A row of a table: its cells in quotes where they need them.
fn quoted(cells: &[String], delimiter: char) -> String {
    let cell = |text: &String| format!("\"{}\"", text.replace('"', "\"\""));
    cells.iter().map(cell).collect::<Vec<_>>().join(&delimiter.to_string())
}

fn json() -> impl Strategy<Value = String> {
    let number =
        select(vec!["8.25", "47.5", "-118", "1e308", "0", "\"8\"", "null", "[]"]).prop_map(str::to_owned);
    let position = vec(number, 0..4).prop_map(|numbers| format!("[{}]", numbers.join(",")));
    let line = vec(position.clone(), 0..4).prop_map(|line| format!("[{}]", line.join(",")));
    let lines = vec(line.clone(), 0..3).prop_map(|lines| format!("[{}]", lines.join(",")));
    let shape = |kind: &'static str, coordinates: proptest::strategy::BoxedStrategy<String>| {
        coordinates.prop_map(move |c| format!(r#"{{"type":"{kind}","coordinates":{c}}}"#)).boxed()
    };
    let geometry = prop_oneof![
        4 => shape("Point", position.clone().boxed()),
        1 => shape("LineString", line.clone().boxed()),
        1 => shape("Polygon", lines.clone().boxed()),
        1 => shape("MultiLineString", lines.clone().boxed()),
        1 => shape("MultiPolygon", lines.prop_map(|l| format!("[{l}]")).boxed()),
        1 => Just("null".to_owned()),
    ];
    let value = prop_oneof![
        cell().prop_map(|text| format!("{text:?}")),
        Just("55".to_owned()),
        Just("{}".to_owned())
    ];
    let property = (header(), value).prop_map(|(key, value)| format!("{key:?}:{value}"));
    let feature = (geometry, vec(property, 0..5)).prop_map(|(geometry, properties)| {
        format!(r#"{{"type":"Feature","geometry":{geometry},"properties":{{{}}}}}"#, properties.join(","))
    });
    vec(feature, 0..4)
        .prop_map(|all| format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, all.join(",")))
}

proptest! {
    #[test]
    fn no_bytes_panic_the_readers(bytes: Vec<u8>, settings in settings()) {
        assert_sound(&bearings("x", &bytes, &settings));
        let _ = ground("x", &bytes);
    }

    #[test]
    fn no_text_under_a_header_panics_the_reader(text: String, settings in settings()) {
        assert_sound(&bearings("x", format!("{HEAD}{text}").as_bytes(), &settings));
    }

    #[test]
    fn no_change_to_the_demo_file_panics_the_reader(at in 0..DEMO.len(), byte: u8, cut in 0..DEMO.len()) {
        let mut changed = DEMO.to_vec();
        changed[at] = byte;
        changed.truncate(cut);
        let read = bearings("x", &changed, &Settings::default());
        prop_assert!(read.rows.len() <= 10);
        assert_sound(&read);
    }

    /// A row becomes a bearing, or a refusal names its line, or the file as a whole is refused.
    #[test]
    fn no_row_of_a_table_is_lost_in_silence((delimiter, head, rows, end) in table(), settings in settings()) {
        let head: Vec<String> = head.into_iter().map(str::to_owned).collect();
        let mut lines = vec![quoted(&head, delimiter)];
        let plain = |c: &String| c.replace(['\n', '\r'], " ");
        let rows: Vec<Vec<String>> = rows.iter().map(|row| row.iter().map(plain).collect()).collect();
        lines.extend(rows.iter().map(|row| quoted(row, delimiter)));
        let read = bearings("x", lines.join(end).as_bytes(), &settings);
        assert_sound(&read);
        let refused: Vec<_> = read.findings.iter().filter(|f| f.severity == Severity::Refused).collect();
        let lines_of = |line: u64| refused.iter().any(|f| f.origin.as_ref().and_then(|o| o.line) == Some(line));
        let codes = ["empty", "columns-missing", "unit-unknown", "zone-unknown", "north-unlabelled"];
        let whole = read.rows.is_empty() && refused.iter().any(|f| codes.contains(&f.code));
        let unlabelled = refused.iter().any(|f| f.code == "north-unlabelled");
        for (row, line) in rows.iter().zip(2..) {
            let empty = row.iter().all(|c| c.trim().is_empty());
            let used = read.rows.iter().any(|r| r.origin.line == Some(line));
            prop_assert!(empty || used || lines_of(line) || unlabelled || whole, "line {line}: {:?}", read.findings);
        }
    }

    #[test]
    fn no_feature_of_geojson_is_lost_in_silence(text in json(), settings in settings()) {
        let read = bearings("x", text.as_bytes(), &settings);
        assert_sound(&read);
        prop_assert!(!read.rows.is_empty() || !read.findings.is_empty());
        let _ = ground("x", text.as_bytes());
    }

    #[test]
    fn no_cut_of_geojson_panics_the_readers(text in json(), cut: proptest::sample::Index) {
        let bytes = &text.as_bytes()[..cut.index(text.len())];
        assert_sound(&bearings("x", bytes, &Settings::default()));
        let _ = ground("x", bytes);
    }
}
