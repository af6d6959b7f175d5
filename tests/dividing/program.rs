//! `azimark divide` and `azimark searched` as their user runs them, on the demo's case.

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Output},
};

use azimark::{geodesy::Place, ingest};
use geojson::{FeatureCollection, GeoJson, GeometryValue};

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/demo/bearings.csv");
const TOWN: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/maps/demo-town.geojson");

fn azimark(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_azimark"))
        .current_dir(folder)
        .args(arguments)
        .output()
        .expect("the program runs")
}

fn folder(name: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&path);
    fs::create_dir_all(&path).unwrap();
    path
}

fn printed(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8").split_whitespace().collect::<Vec<_>>().join(" ")
}

fn said(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("UTF-8")
}

fn collection(path: &Path) -> FeatureCollection {
    let parsed: GeoJson = fs::read_to_string(path).unwrap().parse().unwrap();
    parsed.try_into().unwrap()
}

fn signed(ring: &[geojson::Position]) -> f64 {
    ring.windows(2).map(|w| w[0][0] * w[1][1] - w[1][0] * w[0][1]).sum()
}

#[test]
fn three_teams_get_sheets_routes_and_a_map() {
    let here = folder("divide");
    fs::write(here.join("bearings.csv"), "id,lat,lon,bearing_deg,north_reference,class\na,46.9550,-118.3843,84,true,B\nb,46.9707,-118.3600,175,true,B\nc,46.9550,-118.3350,267,true,B\nd,46.9447,-118.3600,14,true,B\n").unwrap();
    fs::write(
        here.join("teams.csv"),
        "name,lat,lon\nFox,46.9528,-118.3647\nOwl & Co,46.9577,-118.3553\nLynx,,\n",
    )
    .unwrap();
    let output = azimark(
        &here,
        &["divide", "bearings.csv", "--streets", TOWN, "--teams", "teams.csv", "--output", "out"],
    );
    let text = printed(&output);
    assert_eq!(output.status.code(), Some(0), "{text} {}", said(&output));
    assert!(text.starts_with("3 teams search streets that hold the emitter with"), "{text}");
    assert!(text.contains("Each minute of walking has the same chance for every team"), "{text}");
    let map = collection(&here.join("out/division.geojson"));
    let of = |kind: &str| {
        map.features.iter().filter(|f| f.property("kind").is_some_and(|k| k == kind)).collect::<Vec<_>>()
    };
    assert_eq!((of("part").len(), of("street").len(), of("route").len()), (3, 3, 3));
    let held: f64 = of("part").iter().map(|f| f.property("probability").unwrap().as_f64().unwrap()).sum();
    assert!((0.90..=1.0).contains(&held), "{held}");
    let per_minute = of("part")
        .iter()
        .map(|f| {
            let figure = |name: &str| f.property(name).unwrap().as_f64().unwrap();
            figure("probability") / figure("minutes")
        })
        .collect::<Vec<f64>>();
    let mean = per_minute.iter().sum::<f64>() / 3.0;
    assert!(
        per_minute.iter().all(|p| (p / mean - 1.0).abs() < 0.06),
        "5 % of equal, and rounding: {per_minute:?}"
    );
    for part in of("part") {
        let Some(GeometryValue::MultiPolygon { coordinates }) = part.geometry.as_ref().map(|g| &g.value)
        else {
            panic!("a part is an area");
        };
        // RFC 7946, 3.1.6: outer rings counter-clockwise, closed.
        assert!(coordinates.iter().all(|p| signed(&p[0]) > 0.0 && p[0].first() == p[0].last()));
    }
    for name in ["01_fox", "02_owl___co", "03_lynx"] {
        let gpx = fs::read_to_string(here.join(format!("out/{name}.gpx"))).unwrap();
        assert!(gpx.matches("<rtept ").count() > 10 && gpx.contains("version=\"1.1\""));
        let about =
            gpx.split("<desc>").nth(1).unwrap().split("</desc>").next().unwrap().replace("&amp;", "&");
        assert!(about.is_ascii() && about.len() <= 160, "{}: {about}", about.len());
        let sheet = fs::read_to_string(here.join(format!("out/{name}.html"))).unwrap();
        for block in [
            "1. Incident name",
            "2. Operational period",
            "4. Operations personnel",
            "5. Resource",
            "6. Work assignment",
            "7. Special instructions",
            "8. Communications",
            "9. Prepared by",
        ] {
            assert!(sheet.contains(block), "{block}");
        }
    }
    let again = azimark(&here, &["divide", "bearings.csv", "--streets", TOWN, "--teams", "teams.csv"]);
    assert_eq!(again.stdout, output.stdout, "the same twice");
}

#[test]
fn what_cannot_be_divided_is_told() {
    let here = folder("undivided");
    fs::write(here.join("far.geojson"), r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"highway":"residential","name":"Elm Street"},"geometry":{"type":"LineString","coordinates":[[8.0,47.0],[8.0,47.01]]}}]}"#).unwrap();
    fs::write(here.join("empty.geojson"), r#"{"type":"FeatureCollection","features":[]}"#).unwrap();
    fs::write(here.join("teams.csv"), "name,lat,lon\nFox,96,8\nFox,47,8\nFox,47,8\n").unwrap();
    let code = |arguments: &[&str], words: &str| {
        let output = azimark(&here, arguments);
        let all = printed(&output) + &said(&output);
        assert!(all.contains(words), "{arguments:?}: {all}");
        output.status.code()
    };
    assert_eq!(code(&["divide", DEMO, "--streets", "far.geojson"], "is it the right town?"), Some(1));
    assert_eq!(code(&["divide", DEMO, "--streets", "empty.geojson"], "has no streets"), Some(2));
    assert_eq!(code(&["divide", DEMO, "--teams", "0"], "state 1 to 60 teams"), Some(2));
    assert_eq!(code(&["divide", DEMO, "--teams", "none.csv"], "a number or a CSV file"), Some(2));
    assert_eq!(code(&["divide", DEMO, "--teams", "teams.csv"], "the team Fox is named twice"), Some(1));
    assert_eq!(code(&["divide", DEMO, "--teams", "4"], "open ground is walked in lanes"), Some(0));
    assert_eq!(
        code(&["searched", DEMO], "there is no record searched.jsonl: begin one with a pass"),
        Some(2)
    );
}

/// Two passes over an area that holds everything halve nothing that was not covered; one while the emitter was off changes nothing.
#[test]
fn passes_add_up_in_their_record() {
    let here = folder("searched");
    let rows = ingest::bearings("demo", &fs::read(DEMO).unwrap(), &ingest::Settings::default()).rows;
    let at: Place = rows[0].stand.at;
    let [lon, lat] = at.lon_lat();
    let ring = [(-2.0, -2.0), (2.0, -2.0), (2.0, 2.0), (-2.0, 2.0), (-2.0, -2.0)]
        .map(|(x, y)| format!("[{},{}]", lon + x, lat + y))
        .join(",");
    let area = format!(
        r#"{{"type":"Feature","properties":{{}},"geometry":{{"type":"Polygon","coordinates":[[{ring}]]}}}}"#
    );
    fs::write(here.join("all.geojson"), area).unwrap();
    let pass = |more: &[&str]| {
        let mut arguments =
            vec!["searched", DEMO, "--area", "all.geojson", "--teams", "2", "--streets", TOWN];
        arguments.extend(more);
        let output = azimark(&here, &arguments);
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
        printed(&output)
    };
    let first = pass(&["--pod", "60", "--emitter", "on", "--team", "Fox"]);
    assert!(first.contains("POS of the pass 60.0 %, of all passes so far 60.0 %"), "{first}");
    let second = pass(&["--pod", "50", "--emitter", "unknown", "--chance-on", "50"]);
    // 1 − 0.4 × (1 − 0.5 × 0.5)
    assert!(second.contains("POS of the pass 25.0 %, of all passes so far 70.0 %"), "{second}");
    let third = pass(&["--pod", "90", "--emitter", "off", "--redivide"]);
    assert!(third.contains("POS of the pass 0.0 %, of all passes so far 70.0 %"), "{third}");
    assert!(third.contains("2 teams search streets"), "{third}");
    assert_eq!(fs::read_to_string(here.join("searched.jsonl")).unwrap().lines().count(), 3);
    let divided =
        azimark(&here, &["divide", DEMO, "--teams", "2", "--streets", TOWN, "--searched", "searched.jsonl"]);
    assert!(printed(&divided).contains("3 passes without a find counted"), "{}", printed(&divided));
    let certain =
        azimark(&here, &["searched", DEMO, "--area", "all.geojson", "--pod", "100", "--emitter", "on"]);
    assert_eq!(certain.status.code(), Some(2));
    assert!(said(&certain).contains("no search is certain"), "{}", said(&certain));
    fs::write(here.join("searched.jsonl"), "{\"emitter\":\"on\",\"pod\":3}\n").unwrap();
    let broken = azimark(&here, &["searched", DEMO]);
    assert_eq!(broken.status.code(), Some(1));
    let all = printed(&broken);
    assert!(all.contains("searched.jsonl:1") && all.contains("pod is 3"), "{all}");
}
