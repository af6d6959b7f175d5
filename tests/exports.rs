//! What goes out, read by tools that others wrote: GDAL (`ogrinfo`), libxml2 (`xmllint`) with the published schemas, and SQLite.

use std::{
    fs,
    path::{Path, PathBuf},
    process::{Command, Output},
};

use serde_json::Value;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/demo/bearings.csv");
const WALK: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/demo/walk_log.csv");
const SCHEMAS: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/schemas");

fn azimark(folder: &Path, arguments: &[&str]) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_azimark"));
    program.current_dir(folder).args(arguments).output().expect("the program runs")
}

/// What a tool prints; it must be there and end well.
fn tool(name: &str, package: &str, arguments: &[&str]) -> String {
    let output = Command::new(name).args(arguments).output();
    let output = output.unwrap_or_else(|e| panic!("{name}: {e}; install it: apt-get install {package}"));
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{name} {arguments:?}: {told}");
    String::from_utf8_lossy(&output.stdout).into_owned() + &told
}

/// The beginning of the walk of the demo: what is written of a reading does not depend on how many there are.
fn walk(folder: &Path) -> String {
    let log = fs::read_to_string(WALK).unwrap();
    let some: Vec<&str> = log.lines().take(121).collect();
    fs::write(folder.join("walk.csv"), some.join("\n")).unwrap();
    "walk.csv".to_owned()
}

fn ogrinfo(arguments: &[&str]) -> String {
    let told = tool("ogrinfo", "gdal-bin", arguments);
    assert!(!told.contains("Warning") && !told.contains("ERROR"), "{told}");
    told
}

fn xmllint(arguments: &[&str]) -> String {
    tool("xmllint", "libxml2-utils", arguments)
}

fn sqlite(file: &Path, sql: &str) -> String {
    tool("sqlite3", "sqlite3", &["-readonly", text(file), sql]).trim().to_owned()
}

fn folder(name: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("exports").join(name);
    let _ = fs::remove_dir_all(&path);
    fs::create_dir_all(&path).unwrap();
    path
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// Exports and says where the file is; whether the answer is complete does not matter here.
fn export(folder: &Path, inputs: &[&str], file: &str, options: &[&str]) -> PathBuf {
    let line = [&["export"], inputs, &["-o", file], options].concat();
    let output = azimark(folder, &line);
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(matches!(output.status.code(), Some(0 | 1)), "{line:?}: {said}");
    assert!(String::from_utf8_lossy(&output.stdout).starts_with("written: "), "{line:?}: {said}");
    folder.join(file)
}

/// How many features a layer has, by GDAL.
fn count(file: &Path, layer: &str) -> usize {
    let told = ogrinfo(&["-ro", "-so", text(file), layer]);
    let line = told.lines().find_map(|l| l.strip_prefix("Feature Count: "));
    line.unwrap_or_else(|| panic!("{told}")).parse().unwrap()
}

/// West, south, east and north of a layer, by GDAL.
fn extent(file: &Path, layer: &str) -> [f64; 4] {
    let told = ogrinfo(&["-ro", "-so", text(file), layer]);
    let line = told.lines().find_map(|l| l.strip_prefix("Extent: ")).unwrap_or_else(|| panic!("{told}"));
    let figures: Vec<f64> = line
        .split(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '-')))
        .filter_map(|w| w.parse().ok())
        .collect();
    figures.try_into().unwrap_or_else(|f| panic!("{line}: {f:?}"))
}

fn valid_kml(file: &Path) {
    // The schema that a package carries is that of 2.2, whose root has no version.
    let plain = file.with_extension("2.2.kml");
    let kml = fs::read_to_string(file).unwrap();
    assert!(kml.contains(" version=\"2.3\">"));
    fs::write(&plain, kml.replacen(" version=\"2.3\"", "", 1)).unwrap();
    xmllint(&["--noout", "--nonet", "--schema", &format!("{SCHEMAS}/ogckml22.xsd"), text(&plain)]);
}

fn valid_gpx(file: &Path) {
    xmllint(&["--noout", "--nonet", "--schema", &format!("{SCHEMAS}/gpx.xsd"), text(file)]);
}

fn valid_gpkg(file: &Path) {
    // OGC 12-128r17, requirements 2, 6 and 7: the application's number, an intact file, no foreign key without its row.
    assert_eq!(sqlite(file, "PRAGMA application_id"), 0x4750_4B47.to_string());
    assert_eq!(sqlite(file, "PRAGMA user_version"), "10300");
    assert_eq!(sqlite(file, "PRAGMA integrity_check"), "ok");
    assert_eq!(sqlite(file, "PRAGMA foreign_key_check"), "");
    // Requirement 11: the three systems that must be there.
    assert_eq!(sqlite(file, "SELECT group_concat(srs_id) FROM gpkg_spatial_ref_sys"), "-1,0,4326");
    // Every table that is named is there, and every column that is explained.
    let lost = "SELECT count(*) FROM gpkg_contents WHERE table_name NOT IN (SELECT name FROM sqlite_master)";
    assert_eq!(sqlite(file, lost), "0");
    let lost = "SELECT count(*) FROM gpkg_data_columns d WHERE column_name NOT IN (SELECT name FROM pragma_table_info(d.table_name))";
    assert_eq!(sqlite(file, lost), "0");
}

/// Areas that GDAL's geometry engine calls valid, of all.
fn valid_areas(file: &Path, layer: &str) -> (usize, usize) {
    let sql = format!("SELECT sum(ST_IsValid(geom)) AS good, count(*) AS n FROM {layer}");
    let told = ogrinfo(&["-ro", "-dialect", "sqlite", "-sql", &sql, text(file)]);
    let of = |name: &str| {
        let line =
            told.lines().find(|l| l.trim_start().starts_with(name)).unwrap_or_else(|| panic!("{told}"));
        line.rsplit(' ').next().unwrap().parse().unwrap()
    };
    (of("good "), of("n "))
}

#[test]
fn kml_is_valid_and_gdal_finds_every_layer() {
    let here = folder("kml");
    let file = export(&here, &[DEMO], "a.kml", &[]);
    valid_kml(&file);
    let told = ogrinfo(&["-ro", "-so", text(&file)]);
    assert!(told.contains("LIBKML"), "{told}");
    for (layer, features) in
        [("Areas to search", 3), ("Bearings, direct", 8), ("Bearings, foreign", 2), ("Stands", 10)]
    {
        assert_eq!(count(&file, layer), features, "{layer}: {told}");
    }
    let foreign = ogrinfo(&["-ro", text(&file), "Bearings, foreign"]);
    assert!(
        foreign.contains("id (String) = B06") && foreign.contains("verdict (String) = foreign"),
        "{foreign}"
    );
    assert!(foreign.contains("peak broad and moves as I step sideways"), "{foreign}");
    assert!(foreign.contains("LINESTRING"), "{foreign}");
    let styles = fs::read_to_string(&file).unwrap();
    for used in styles.lines().filter_map(|l| l.trim().strip_prefix("<styleUrl>#")) {
        let name = used.split('<').next().unwrap();
        assert!(styles.contains(&format!("<Style id=\"{name}\">")), "{name}");
    }
    // The demo's stands: the least and greatest of its table.
    let [west, south, east, north] = extent(&file, "Stands");
    assert_eq!([west, south, east, north], [-118.384335, 46.944681, -118.335018, 46.970735]);
}

const DIVISION: &str = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","geometry":{"type":"MultiPolygon","coordinates":[[[[-118.36,46.95],[-118.36,46.96],[-118.35,46.96],[-118.35,46.95],[-118.36,46.95]]]]},
 "properties":{"kind":"part","name":"North & <South>","team":"North & <South>","probability":0.5,"minutes":31.5,"length_m":2500}},
{"type":"Feature","geometry":{"type":"MultiLineString","coordinates":[[[-118.36,46.95],[-118.355,46.955],[-118.35,46.96]]]},
 "properties":{"kind":"route","team":"North & <South>","length_m":1300}}]}"#;

#[test]
fn gpx_is_valid_and_holds_stands_routes_rims_and_walks() {
    let here = folder("gpx");
    fs::write(here.join("division.geojson"), DIVISION).unwrap();
    let options = ["--division", "division.geojson", "--next", "2"];
    let file = export(&here, &[DEMO, &walk(&here)], "a.gpx", &options);
    valid_gpx(&file);
    let places =
        xmllint(&["--xpath", "count(//*[local-name()='wpt'][*[local-name()='type']='place'])", text(&file)]);
    let stands =
        xmllint(&["--xpath", "count(//*[local-name()='wpt'][*[local-name()='type']='stand'])", text(&file)]);
    assert_eq!((places.trim(), stands.trim()), ("1", "10"));
    assert_eq!((count(&file, "routes"), count(&file, "route_points")), (1, 3));
    // Three rims and the walk of one receiver.
    assert_eq!(count(&file, "tracks"), 4);
    let route = ogrinfo(&["-ro", text(&file), "routes"]);
    assert!(route.contains("name (String) = North & <South>"), "{route}");
    // The walk can be read again as a track.
    let again = azimark(&here, &["check", "a.gpx"]);
    assert!(String::from_utf8_lossy(&again.stdout).contains("fix"), "{again:?}");
}

#[cfg(feature = "gpkg")]
#[test]
fn geopackage_is_intact_and_gdal_finds_every_layer() {
    let here = folder("gpkg");
    fs::write(here.join("division.geojson"), DIVISION).unwrap();
    let file = export(&here, &[DEMO, &walk(&here)], "a.gpkg", &["--division", "division.geojson"]);
    valid_gpkg(&file);
    let told = ogrinfo(&["-ro", "-so", text(&file)]);
    let readings: usize = sqlite(&file, "SELECT count(*) FROM readings").parse().unwrap();
    assert!(readings > 100, "{readings}");
    for (layer, shape, features) in [
        ("regions", "Multi Polygon", 3),
        ("parts", "Multi Polygon", 1),
        ("routes", "Multi Line String", 1),
        ("bearings", "Multi Line String", 10),
        ("readings", "Point", readings),
        ("stands", "Point", 10),
        ("places", "Point", 1),
    ] {
        assert!(told.contains(&format!(": {layer} ({shape})")), "{layer}: {told}");
        assert_eq!(count(&file, layer), features, "{layer}");
    }
    assert_eq!(valid_areas(&file, "regions"), (3, 3));
    // The envelope that the contents state is the one that GDAL computes.
    let [west, south, east, north] = extent(&file, "regions");
    let stated =
        sqlite(&file, "SELECT min_x, min_y, max_x, max_y FROM gpkg_contents WHERE table_name = 'regions'");
    let stated: Vec<f64> = stated.split('|').map(|v| v.parse().unwrap()).collect();
    for (stated, found) in stated.iter().zip([west, south, east, north]) {
        assert!((stated - found).abs() < 1e-6, "{stated} {found}");
    }
    // How it was made: the file's hash as another program computes it.
    let hash = tool("sha256sum", "coreutils", &[DEMO]);
    let metadata =
        sqlite(&file, "SELECT metadata FROM gpkg_metadata JOIN gpkg_metadata_reference ON md_file_id = id");
    assert!(
        metadata.contains(hash.split(' ').next().unwrap()) && metadata.contains("\"assumed\""),
        "{metadata}"
    );
    // No clock: the latest observation stands for the last change.
    let times = sqlite(&file, "SELECT DISTINCT last_change FROM gpkg_contents");
    assert_eq!(times, "2026-03-17T18:28:00.000Z");
    // Symbols are well formed.
    let symbols = here.join("symbols.xml");
    fs::write(&symbols, sqlite(&file, "SELECT symbology_encoding FROM symbols WHERE layer = 'bearings'"))
        .unwrap();
    let rules = xmllint(&["--xpath", "count(//*[local-name()='Rule'])", text(&symbols)]);
    assert_eq!(rules.trim(), "3");
}

/// RFC 7946: outer rings counter-clockwise (3.1.6), closed, and nothing beyond 180° (3.1.9).
fn right_hand(geojson: &Value) -> usize {
    let mut rings = 0;
    for feature in geojson["features"].as_array().unwrap() {
        let geometry = &feature["geometry"];
        if geometry["type"] != "MultiPolygon" {
            continue;
        }
        for polygon in geometry["coordinates"].as_array().unwrap() {
            for (i, ring) in polygon.as_array().unwrap().iter().enumerate() {
                let points: Vec<(f64, f64)> = ring
                    .as_array()
                    .unwrap()
                    .iter()
                    .map(|p| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
                    .collect();
                assert!(points.len() >= 4 && points.first() == points.last());
                assert!(points.iter().all(|p| p.0.abs() <= 180.0 && p.1.abs() <= 90.0));
                let twice: f64 = points.windows(2).map(|w| w[0].0 * w[1].1 - w[1].0 * w[0].1).sum();
                assert_eq!(twice > 0.0, i == 0, "{points:?}");
                rings += 1;
            }
        }
    }
    rings
}

fn json(path: &Path) -> Value {
    serde_json::from_str(&fs::read_to_string(path).unwrap()).unwrap()
}

/// Three stands on both sides of the 180° meridian whose lines meet near 180° E, 17° S: each looks at that place along a parallel or a
/// meridian, or halfway between them.
const FIJI: &str = "id,lat,lon,bearing_deg,north,class\nW,-17.0,179.9,90,true,A\nE,-17.0,-179.9,270,true,A\nS,-17.1,180.0,0,true,A\n";

#[test]
fn at_180_degrees_nothing_runs_around_the_globe() {
    let here = folder("fiji");
    fs::write(here.join("notes.csv"), FIJI).unwrap();
    for options in [&[][..], &["--share"][..]] {
        let file = export(&here, &["notes.csv"], "a.geojson", options);
        let value = json(&file);
        assert!(right_hand(&value) >= 6, "three regions, each cut at 180°");
        let kml = export(&here, &["notes.csv"], "a.kml", options);
        valid_kml(&kml);
        // Every part lies on one side: none is wider than two degrees.
        for line in fs::read_to_string(&kml).unwrap().lines() {
            let Some(list) = line.trim().strip_prefix("<coordinates>") else { continue };
            let list = list.trim_end_matches("</coordinates>");
            let lons = || list.split(' ').map(|p| p.split(',').next().unwrap().parse::<f64>().unwrap());
            let (low, high) =
                (lons().fold(f64::INFINITY, f64::min), lons().fold(f64::NEG_INFINITY, f64::max));
            assert!(high - low < 2.0 && low >= -180.0 && high <= 180.0, "{list}");
        }
        let gpx = export(&here, &["notes.csv"], "a.gpx", options);
        // Its schema ends before 180.
        valid_gpx(&gpx);
        assert!(fs::read_to_string(&gpx).unwrap().contains("lon=\"-180.0000000\""));
        #[cfg(feature = "gpkg")]
        {
            let gpkg = export(&here, &["notes.csv"], "a.gpkg", options);
            valid_gpkg(&gpkg);
            assert_eq!(valid_areas(&gpkg, "regions"), (3, 3));
        }
    }
}

/// A remark of a million bytes, markup, formulae, paths, characters that steer a terminal.
fn hostile() -> String {
    let long = "x".repeat(900_000);
    let mut out = String::from("id,team,place,lat,lon,bearing_deg,north,class,remarks\n");
    let rows = [
        ("<script>alert(1)</script>", "=cmd|' /C calc'!A0", "../../x", "]]><script>alert(2)</script>"),
        ("=1+1", "@SUM(A1)", "$[description]", "\u{1b}[31m\u{202e}\u{7}red"),
        ("-2", "+3", "\"><img src=x onerror=alert(3)>", long.as_str()),
    ];
    for ((id, team, place, remarks), (lat, lon, bearing)) in
        rows.iter().zip([(47.0, 8.0131, 270), (46.991, 8.0, 0), (46.994, 7.991, 45)])
    {
        let cell = |t: &str| format!("\"{}\"", t.replace('"', "\"\""));
        let [id, team, place, remarks] = [id, team, place, remarks].map(|t| cell(t));
        out += &format!("{id},{team},{place},{lat},{lon},{bearing},true,B,{remarks}\n");
    }
    out
}

#[test]
fn what_people_wrote_stays_inert() {
    let here = folder("hostile");
    let name = "=<b>notes&.csv";
    fs::write(here.join(name), hostile()).unwrap();
    let kml = export(&here, &[name], "a.kml", &[]);
    valid_kml(&kml);
    // What a viewer takes for markup is the description, once the XML is read: no element in it but this program's own.
    let balloons = xmllint(&["--huge", "--xpath", "//*[local-name()='description']/text()", text(&kml)]);
    let read = balloons.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&");
    let mut words: Vec<&str> = read.split('<').skip(1).map(|t| t.split(['>', ' ']).next().unwrap()).collect();
    words.sort_unstable();
    words.dedup();
    let own = ["/h3", "/p", "/table", "/td", "/tr", "h3", "p", "table", "td", "tr"];
    assert_eq!(words, own, "every other < is written as an entity");
    assert!(read.contains("&lt;script&gt;"), "it is shown as text");
    assert!(fs::metadata(&kml).unwrap().len() < 2_000_000);
    let gpx = export(&here, &[name], "a.gpx", &[]);
    valid_gpx(&gpx);
    // No character that steers a terminal is left in any file.
    for file in [&kml, &gpx] {
        let bytes = fs::read_to_string(file).unwrap();
        assert!(!bytes.contains(['\u{1b}', '\u{202e}', '\u{7}']) && !bytes.contains("<script"));
    }
    let folder = export(&here, &[name], "tables", &["--to", "csv"]);
    let names: Vec<String> =
        fs::read_dir(&folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    assert!(names.contains(&"bearings.csv".to_owned()));
    // Nothing but the tables: no name of a stand or a team becomes the name of a file.
    let plain = |n: &String| {
        n.strip_suffix(".csv").is_some_and(|n| n.chars().all(|c| c.is_ascii_lowercase() || c == '_'))
    };
    assert!(names.iter().all(plain), "{names:?}");
    for name in names {
        let table = fs::read_to_string(folder.join(&name)).unwrap();
        // A cell begins at the beginning of a line or after a comma, with or without its quotes.
        for cell in table.split(['\n', ',']).map(|c| c.trim_start_matches('"')) {
            let number = cell.parse::<f64>().is_ok();
            assert!(
                number || !cell.starts_with(['=', '+', '-', '@', '\t']),
                "{name}: {}",
                &cell[..cell.len().min(80)]
            );
        }
        assert!(!table.contains(['\u{1b}', '\u{202e}', '\u{7}']));
    }
    #[cfg(feature = "gpkg")]
    {
        let gpkg = export(&here, &[name], "a.gpkg", &[]);
        valid_gpkg(&gpkg);
        assert_eq!(sqlite(&gpkg, "SELECT max(length(remarks)) FROM bearings"), "900000");
        let hits = sqlite(&gpkg, "SELECT count(*) FROM bearings WHERE instr(remarks, char(27)) > 0");
        assert_eq!(hits, "0");
    }
    // Names of places are never names of files.
    let outside = here.parent().unwrap().parent().unwrap();
    assert!(!outside.join("x").exists() && !here.join("x").exists());
}

#[test]
fn the_same_notes_give_the_same_bytes() {
    let here = folder("same");
    let mut files = vec!["a.kml", "a.gpx", "a.geojson"];
    if cfg!(feature = "gpkg") {
        files.push("a.gpkg");
    }
    for file in files {
        let first = fs::read(export(&here, &[DEMO], file, &[])).unwrap();
        fs::remove_file(here.join(file)).unwrap();
        let second = fs::read(export(&here, &[DEMO], file, &[])).unwrap();
        assert!(first == second, "{file}");
    }
}

/// The answer to tables that were written is the answer to the notes, figure for figure.
#[test]
fn tables_are_read_again_to_the_same_fix() {
    let here = folder("again");
    let tables = export(&here, &[DEMO, &walk(&here)], "tables", &["--to", "csv"]);
    let located = |files: &[&str]| -> Value {
        let line = [&["locate", "--format", "json"], files].concat();
        serde_json::from_slice(&azimark(&here, &line).stdout).unwrap()
    };
    let before = located(&[DEMO, "walk.csv"]);
    let after = located(&[text(&tables.join("bearings.csv")), text(&tables.join("levels.csv"))]);
    for member in ["places", "quoted", "regions", "agreement", "levels", "kinds", "complete"] {
        assert_eq!(before[member], after[member], "{member}");
    }
    let refused = after["findings"].as_array().unwrap().iter().filter(|f| f["severity"] == "refused").count();
    assert_eq!(refused, 0);
    // Every property of the features has its column somewhere in the tables.
    let features = json(&export(&here, &[DEMO, &walk(&here)], "a.geojson", &[]));
    let mut heads = String::from(",");
    for table in fs::read_dir(&tables).unwrap() {
        heads += fs::read_to_string(table.unwrap().path()).unwrap().lines().next().unwrap();
        heads.push(',');
    }
    for feature in features["features"].as_array().unwrap() {
        for name in feature["properties"].as_object().unwrap().keys().filter(|k| *k != "kind") {
            assert!(heads.contains(&format!(",{name},")), "{name}: {heads}");
        }
    }
}

/// Digits behind the point of every number in a text.
fn decimals(text: &str) -> usize {
    let numbers = text.split(|c: char| !(c.is_ascii_digit() || c == '.'));
    numbers.filter_map(|n| n.split_once('.')).map(|(_, d)| d.len()).max().unwrap_or(0)
}

#[test]
fn the_form_to_share_holds_no_exact_place_and_nobodys_words() {
    let here = folder("share");
    let notes = fs::read_to_string(DEMO).unwrap().replace(",T,", ",Tamara,");
    fs::write(here.join("bearings.csv"), notes).unwrap();
    let full = json(&export(&here, &["bearings.csv", &walk(&here)], "full.geojson", &[]));
    let inputs = ["bearings.csv", "walk.csv"];
    let file = export(&here, &inputs, "a.geojson", &["--share"]);
    let shared = json(&file);
    assert!(right_hand(&shared) > 0);
    let tables = export(&here, &inputs, "tables", &["--to", "csv", "--share"]);
    let mut texts = vec![fs::read_to_string(&file).unwrap()];
    texts.extend(
        ["a.kml", "a.gpx"].map(|f| fs::read_to_string(export(&here, &inputs, f, &["--share"])).unwrap()),
    );
    texts.push(fs::read_to_string(tables.join("about.csv")).unwrap());
    for text in &texts {
        assert!(text.contains("form for sharing"));
    }
    texts.extend(fs::read_dir(&tables).unwrap().map(|e| fs::read_to_string(e.unwrap().path()).unwrap()));
    for text in &texts {
        for words in ["Tamara", "Quarry", "two peaks", "County Road", "bearings.csv", "walk.csv", "B06"] {
            assert!(!text.contains(words), "{words}: {}", &text[..200]);
        }
    }
    // Places have at most three decimals; probabilities and levels have more.
    let places: Vec<String> = shared["features"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| f["geometry"]["coordinates"].to_string())
        .collect();
    assert_eq!(places.iter().map(|p| decimals(p)).max(), Some(3));
    for line in texts[1].lines().filter_map(|l| l.trim().strip_prefix("<coordinates>")) {
        assert!(decimals(line) <= 3, "{line}");
    }
    let teams: Vec<&Value> =
        shared["features"].as_array().unwrap().iter().map(|f| &f["properties"]["team"]).collect();
    assert!(teams.iter().any(|t| **t == "team 1"), "{teams:?}");
    // What is drawn for a region holds all of the region.
    let outer = |value: &Value, share: f64| -> Vec<(f64, f64)> {
        let region =
            value["features"].as_array().unwrap().iter().find(|f| f["properties"]["confidence"] == share);
        let ring = region.unwrap()["geometry"]["coordinates"][0][0].as_array().unwrap().clone();
        ring.iter().map(|p| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap())).collect()
    };
    let around = outer(&shared, 0.95);
    assert!(outer(&full, 0.95).iter().all(|p| inside(*p, &around)), "{around:?}");
}

/// Whether a point lies in a ring, by counting crossings.
fn inside((x, y): (f64, f64), ring: &[(f64, f64)]) -> bool {
    let crossings = ring.windows(2).filter(|w| {
        let ((x0, y0), (x1, y1)) = (w[0], w[1]);
        (y0 > y) != (y1 > y) && x < x0 + (y - y0) / (y1 - y0) * (x1 - x0)
    });
    crossings.count() % 2 == 1
}

#[test]
fn a_write_that_fails_leaves_the_older_file() {
    let here = folder("whole");
    fs::copy(DEMO, here.join("notes.csv")).unwrap();
    for file in ["a.kml", "tables"] {
        let at = if file == "tables" { here.join("tables/bearings.csv") } else { here.join(file) };
        fs::create_dir_all(at.parent().unwrap()).unwrap();
        fs::write(&at, "older").unwrap();
        // A folder where the new file is to be written first: no write can succeed.
        let mut part = at.clone().into_os_string();
        part.push(".part");
        fs::create_dir(&part).unwrap();
        let output = azimark(
            &here,
            &["export", "notes.csv", "-o", file, "--to", if file == "tables" { "csv" } else { "kml" }],
        );
        assert_eq!(output.status.code(), Some(2));
        assert!(String::from_utf8_lossy(&output.stderr).contains("could not be written"), "{output:?}");
        assert_eq!(fs::read_to_string(&at).unwrap(), "older");
    }
    // Notes are not overwritten, and a folder is not taken for notes.
    let output = azimark(&here, &["export", "notes.csv", "-o", "notes.csv", "--table", "record"]);
    assert_eq!(output.status.code(), Some(2), "{output:?}");
    assert_eq!(fs::read(here.join("notes.csv")).unwrap(), fs::read(DEMO).unwrap());
    for line in [
        &["export", "notes.csv", "-o", "x.txt"][..],
        &["export", "notes.csv", "-o", "x.csv"],
        &["export", "notes.csv", "-o", "x.csv", "--table", "none"],
        &["export", "tables", "notes.csv", "-o", "x.kml"],
        &["export", "notes.csv", "-o", "x.kml", "--division", "notes.csv"],
    ] {
        let output = azimark(&here, line);
        assert_eq!(output.status.code(), Some(2), "{line:?}: {output:?}");
    }
}

#[test]
fn a_case_goes_out_as_it_was_concluded() {
    let here = folder("case");
    for line in [
        &["case", "new", "harbour", "--title", "Noise", "--by", "spectrum manager"][..],
        &["case", "add", "harbour", DEMO, "--by", "technician"],
        &["case", "conclude", "harbour", "--by", "spectrum manager"],
    ] {
        let output = azimark(&here, line);
        assert!(matches!(output.status.code(), Some(0 | 1)), "{line:?}: {output:?}");
    }
    let file = export(&here, &["harbour"], "a.geojson", &[]);
    let of_case = json(&file);
    let direct = json(&export(&here, &[DEMO], "b.geojson", &[]));
    let coordinates = |v: &Value| -> Vec<Value> {
        v["features"].as_array().unwrap().iter().map(|f| f["geometry"]["coordinates"].clone()).collect()
    };
    assert_eq!(coordinates(&of_case), coordinates(&direct));
    assert!(of_case["azimark"]["made"]["command"].as_str().unwrap().contains("locate"));
    let inside = azimark(&here, &["export", "harbour", "-o", "harbour/a.kml"]);
    assert_eq!(inside.status.code(), Some(2), "{inside:?}");
    let options = azimark(&here, &["export", "harbour", "--north", "true", "-o", "a.kml"]);
    assert_eq!(options.status.code(), Some(2), "{options:?}");
    let verified = azimark(&here, &["case", "verify", "harbour"]);
    assert_eq!(verified.status.code(), Some(0), "{verified:?}");
}
