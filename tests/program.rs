//! The built program as its user runs it: what it prints, what it writes, how it ends.

use std::{
    fs,
    io::Write,
    path::{Path, PathBuf},
    process::{Command, Output, Stdio},
};

fn azimark(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_azimark")).args(arguments).output().expect("the program runs")
}

/// The program run in a folder: names of files there need no path, and what is printed does not depend on where the tests run.
fn azimark_in(folder: &Path, arguments: &[&str]) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_azimark"));
    program.current_dir(folder).args(arguments).output().expect("the program runs")
}

fn code(output: &Output) -> i32 {
    output.status.code().expect("the program ends by itself")
}

fn printed(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

/// What was printed with its lines joined: where a line breaks depends on how long the name of
/// the folder is in which the tests run.
fn unwrapped(output: &Output) -> String {
    printed(output).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn said(output: &Output) -> String {
    String::from_utf8(output.stderr.clone()).expect("UTF-8")
}

/// An empty folder of its own for a test.
fn folder(name: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&path);
    fs::create_dir_all(&path).unwrap();
    path
}

fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/demo/bearings.csv");
const OTHER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/demo/bearings_other_team.csv");

#[test]
fn the_demo_writes_its_case_and_answers_first() {
    let here = folder("demo");
    let output = azimark(&["demo", text(&here)]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    assert!(printed(&output).starts_with("Search 9"), "{}", printed(&output));
    for name in ["bearings.csv", "bearings_other_team.csv", "town.geojson", "answer.geojson", "answer.svg"] {
        assert!(here.join(name).is_file(), "{name}");
    }
    // A second run finds its own files; a changed one is left alone.
    assert_eq!(code(&azimark(&["demo", text(&here)])), 0);
    fs::write(here.join("bearings.csv"), "mine").unwrap();
    let refused = azimark(&["demo", text(&here)]);
    assert_eq!(code(&refused), 2);
    assert!(said(&refused).contains("name another folder"));
    assert_eq!(fs::read_to_string(here.join("bearings.csv")).unwrap(), "mine");
}

/// Ten stands in two rows; by turns they point at one of two places 500 m apart, rounded to whole degrees (a plane is enough for
/// that over a kilometre).
fn two_emitters() -> String {
    let (metre_north, metre_east) = (1.0 / 111_170.0, 1.0 / 76_060.0);
    let mut out = String::from("id,lat,lon,bearing,north,class\n");
    for i in 0..10 {
        let (east, north) = (250.0 * f64::from(i / 2), if i % 4 < 2 { -400.0 } else { 500.0 });
        let toward = if i % 2 == 0 { 250.0 } else { 750.0 };
        let read = f64::atan2(toward - east, -north).to_degrees().rem_euclid(360.0);
        let (lat, lon) = (47.0 + metre_north * north, 8.0 + metre_east * east);
        out += &format!("B{i},{lat:.6},{lon:.6},{read:.0},true,A\n");
    }
    out
}

#[test]
fn two_emitters_are_told_with_their_bearings() {
    let here = folder("two");
    fs::write(here.join("bearings.csv"), two_emitters()).unwrap();
    let told = unwrapped(&azimark_in(&here, &["locate", "bearings.csv"]));
    assert!(told.contains("TWO PLACES explain these bearings better than one"), "{told}");
    let (even, odd) = ("; B0, B2, B4, B6, B8", "; B1, B3, B5, B7, B9");
    assert!(told.contains(even) && told.contains(odd), "{told}");
    let json = printed(&azimark_in(&here, &["locate", "bearings.csv", "--format", "json"]));
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let mut east: Vec<f64> = (0..2)
        .map(|k| (json["two_places"]["places"][k]["lon_deg"].as_f64().unwrap() - 8.0) * 76_060.0)
        .collect();
    east.sort_by(f64::total_cmp);
    // Half a degree at 500 m is 4 m, and the least distance of a stand's error of 10 m counts too.
    assert!((east[0] - 250.0).abs() < 20.0 && (east[1] - 750.0).abs() < 20.0, "{east:?}");
    let map = printed(&azimark_in(&here, &["locate", "bearings.csv", "--format", "geojson"]));
    assert_eq!(map.matches("\"kind\":\"region-of-two\"").count(), 2);
    let demo = printed(&azimark(&["locate", DEMO, "--format", "json"]));
    assert!(demo.contains("\"two_places\": null"), "the demo has one emitter and two reflections");
}

#[test]
fn an_emitter_that_moves_is_told_with_speed_and_direction() {
    let here = folder("moves");
    // East at 0.1 m/s, 360 m an hour; twelve stands to both sides of its way, read every ten minutes to whole degrees.
    let (metre_north, metre_east) = (1.0 / 111_170.0, 1.0 / 76_060.0);
    let mut notes = String::from("id,lat,lon,bearing,north,class,time\n");
    for i in 0..12 {
        let (east, north) = (200.0 * f64::from(i % 5), if i % 2 == 0 { -500.0 } else { 450.0 });
        let at = 60.0 * f64::from(i);
        let read = f64::atan2(at - east, -north).to_degrees().rem_euclid(360.0);
        let (lat, lon) = (47.0 + metre_north * north, 8.0 + metre_east * east);
        let time = format!("2026-03-17T{:02}:{:02}:00Z", 10 + i / 6, 10 * (i % 6));
        notes += &format!("B{i},{lat:.6},{lon:.6},{read:.0},true,A,{time}\n");
    }
    fs::write(here.join("bearings.csv"), notes).unwrap();
    let told = unwrapped(&azimark_in(&here, &["locate", "bearings.csv"]));
    assert!(told.contains("AN EMITTER THAT MOVES explains these bearings better"), "{told}");
    let json = printed(&azimark_in(&here, &["locate", "bearings.csv", "--format", "json"]));
    let json: serde_json::Value = serde_json::from_str(&json).unwrap();
    let number = |v: &serde_json::Value| v.as_f64().unwrap();
    let (velocity, spread) =
        (&json["drift"]["velocity_east_north_m_s"], &json["drift"]["velocity_covariance_m2_s2"]);
    for (value, truth, variance) in [(&velocity[0], 0.1, &spread[0]), (&velocity[1], 0.0, &spread[2])] {
        // Rounding leaves less than a sixth of the 2° that class A states.
        assert!((number(value) - truth).abs() < number(variance).sqrt(), "{json:#}");
    }
    let last = (number(&json["drift"]["lon_deg"]) - 8.0) * 76_060.0;
    assert!((last - 660.0).abs() < 2.0 * number(&json["drift"]["covariance_m2"][0]).sqrt(), "{last}");
}

/// The data that `azimark map` put into a page.
fn in_page(path: &Path) -> serde_json::Value {
    let page = fs::read_to_string(path).unwrap();
    let data = page.split_once("<p>").unwrap().1.split_once("</p>").unwrap().0;
    serde_json::from_str(data).unwrap()
}

#[test]
fn a_map_holds_the_answer_of_locate_and_notes_that_give_it_again() {
    let here = folder("map");
    let town = concat!(env!("CARGO_MANIFEST_DIR"), "/maps/demo-town.geojson");
    let walk = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/demo/walk_log.csv");
    fs::write(here.join("page.html"), "<p>\"the data of the case\"</p>").unwrap();
    let title = "</p><script>alert(1)</script>";
    let filled = ["--page", "page.html", "-o", "map.html"];
    let line = [&["map", DEMO, "--map", town, "--title", title][..], &filled].concat();
    let output = azimark_in(&here, &line);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let data = in_page(&here.join("map.html"));
    assert_eq!((data["schema"].as_str(), data["title"].as_str()), (Some("azimark-map/2"), Some(title)));
    assert!(
        printed(&output)
            .starts_with(data["reply"]["answer"]["summary"].as_str().unwrap().split(' ').next().unwrap())
    );
    assert!(!data["reply"]["advice"]["stands"].as_array().unwrap().is_empty());

    // The same figures as those of locate from the same file, but for where each row was written.
    let located = |file: &str| -> serde_json::Value {
        serde_json::from_str(&printed(&azimark_in(&here, &["locate", file, "--format", "json"]))).unwrap()
    };
    let there = located(DEMO);
    for member in ["places", "quoted", "regions", "ellipse", "agreement", "cautions"] {
        assert_eq!(data["reply"]["answer"][member], there[member], "{member}");
    }
    // The notes in the page are a table of the same bearings.
    let cells = |row: &serde_json::Value| -> String {
        let quoted = |c: &serde_json::Value| format!("\"{}\"", c.as_str().unwrap().replace('"', "\"\""));
        row.as_array().unwrap().iter().map(quoted).collect::<Vec<_>>().join(",")
    };
    let rows = data["notes"]["rows"].as_array().unwrap();
    let table: Vec<String> = std::iter::once(&data["notes"]["columns"]).chain(rows).map(cells).collect();
    fs::write(here.join("notes.csv"), table.join("\n")).unwrap();
    assert_eq!(located("notes.csv")["regions"], there["regions"]);

    // Other kinds come along whole, and so does a file whose identifiers are taken.
    fs::write(here.join("twice.csv"), "id,lat,lon,bearing,north\nB01,46.955,-118.3843,85,true\n").unwrap();
    fs::write(
        here.join("grid.csv"),
        "id,easting,northing,zone,bearing,north\nG1,396500,5201000,11T,70,grid\n",
    )
    .unwrap();
    let output = azimark_in(&here, &[&["map", DEMO, walk, "grid.csv", "twice.csv"][..], &filled].concat());
    assert_eq!(code(&output), 0, "{}", said(&output));
    let data = in_page(&here.join("map.html"));
    let files: Vec<&str> =
        data["request"]["files"].as_array().unwrap().iter().map(|f| f["kind"].as_str().unwrap()).collect();
    assert_eq!(files, ["bearings"], "a grid north of the stand's own zone is said by the table");
    // The log is a table too, with one of the page's own behind it.
    let logs = data["logs"].as_array().unwrap();
    assert_eq!(logs.iter().map(|l| l["rows"].as_array().unwrap().len()).collect::<Vec<_>>(), [600, 0]);
    assert_eq!(logs[1]["name"], "levels_here.csv");
    assert_eq!(data["notes"]["rows"].as_array().unwrap().len(), 11);
    assert!(data["reply"]["answer"]["levels"]["readings"].as_u64().unwrap() > 500);
}

#[test]
fn a_map_has_the_parts_of_teams_and_the_tiles_around_the_case() {
    let here = folder("map-teams");
    let town = concat!(env!("CARGO_MANIFEST_DIR"), "/maps/demo-town.geojson");
    let tiles = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/tiles/town.pmtiles");
    fs::write(here.join("page.html"), "<p>\"the data of the case\"</p>").unwrap();
    let filled = ["--page", "page.html", "-o", "map.html"];
    let line = [&["map", DEMO, "--map", town, "--map", tiles, "--teams", "2"][..], &filled].concat();
    let output = azimark_in(&here, &line);
    assert_eq!(code(&output), 0, "{}", said(&output));
    assert!(
        said(&output).contains("tiles around the stands are in the page, to zoom 15"),
        "{}",
        said(&output)
    );
    let data = in_page(&here.join("map.html"));
    assert!(data["tiles"]["tiles"].as_array().unwrap().len() > 5);
    assert_eq!(data["tiles"]["attribution"], "invented town, CC0");
    // The same division as that of divide with the same streets.
    let line = ["divide", DEMO, "--streets", town, "--teams", "2", "--output", "parts"];
    assert_eq!(code(&azimark_in(&here, &line)), 0);
    let there: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(here.join("parts/division.geojson")).unwrap()).unwrap();
    assert_eq!(data["reply"]["division"]["features"], there["features"]);
    assert!(there["features"][0]["properties"]["streets"][0].as_str().is_some_and(|s| !s.is_empty()));
    // A division as a file is drawn as it is, and one that is none is refused.
    let line = [&["map", DEMO, "--division", "parts/division.geojson"][..], &filled].concat();
    assert_eq!(code(&azimark_in(&here, &line)), 0);
    assert_eq!(in_page(&here.join("map.html"))["division"]["features"], there["features"]);
    for (more, why) in [
        (["--division", town], "no part, street"),
        (["--teams", "0"], "state 1 to 60 teams"),
        (["--map", "cut.pmtiles"], "cut.pmtiles"),
    ] {
        fs::write(here.join("cut.pmtiles"), &fs::read(tiles).unwrap()[..500]).unwrap();
        let output = azimark_in(&here, &[&["map", DEMO][..], &more, &filled].concat());
        assert_eq!(code(&output), 2, "{more:?}");
        assert!(said(&output).contains(why), "{}", said(&output));
    }
}

#[test]
fn a_map_says_why_it_is_not_written() {
    let here = folder("no-map");
    fs::write(here.join("empty.html"), "<p>").unwrap();
    fs::write(here.join("broken.geojson"), "{\"type\":\"FeatureCollection\",\"features\":[{]").unwrap();
    fs::write(here.join("page.html"), "\"the data of the case\"").unwrap();
    for (line, why) in [
        (vec!["-o", "map.html", "--page", "empty.html"], "no place for a case"),
        (vec!["-o", "map.txt", "--page", "page.html"], "the page is written as .html"),
        (vec!["-o", "map.html", "--page", "none.html"], "could not be opened"),
        (vec!["-o", "map.html", "--page", "page.html", "--map", "broken.geojson"], "broken.geojson"),
    ] {
        let output = azimark_in(&here, &[&["map", DEMO][..], &line].concat());
        assert_eq!(code(&output), 2, "{line:?}");
        assert!(said(&output).contains(why), "{line:?}: {}", said(&output));
        assert!(!here.join("map.html").exists());
    }
    // Refused rows are told, and the rest is on the map.
    fs::write(here.join("some.csv"), "id,lat,lon,bearing,north\na,46.955,-118.384,84,true\nb,46.97,-118.36,175,true\nc,99,-118.335,267,true\n")
        .unwrap();
    let output = azimark_in(&here, &["map", "some.csv", "--page", "page.html", "-o", "map.html"]);
    assert_eq!(code(&output), 1);
    assert!(said(&output).contains("refused") && here.join("map.html").is_file(), "{}", said(&output));
}

/// RFC 7946 by an independent reader of it, and the property names that others rely on.
#[test]
fn the_map_file_has_the_promised_features() {
    let here = folder("map");
    let map = here.join("answer.geojson");
    let output = azimark(&["locate", DEMO, "--output", text(&map)]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let parsed: geojson::GeoJson = fs::read_to_string(&map).unwrap().parse().unwrap();
    let collection: geojson::FeatureCollection = parsed.try_into().unwrap();
    let of = |kind: &str| {
        let kind = kind.to_owned();
        collection.features.iter().filter(move |f| f.property("kind").unwrap() == kind.as_str())
    };
    let confidences: Vec<f64> =
        of("region").map(|f| f.property("confidence").unwrap().as_f64().unwrap()).collect();
    assert_eq!(confidences, [0.95, 0.9, 0.5]);
    assert!(of("region").all(|f| f.property("area_m2").unwrap().as_f64().unwrap() > 100.0));
    assert_eq!((of("stand").count(), of("bearing").count(), of("ellipse").count()), (10, 10, 1));
    assert!(of("place").all(|f| f.property("share").unwrap().as_f64().is_some()));
    for bearing in of("bearing") {
        let verdict = bearing.property("verdict").unwrap().as_str().unwrap();
        let id = bearing.property("id").unwrap().as_str().unwrap();
        assert_eq!(verdict == "foreign", ["B06", "B07"].contains(&id), "{id} {verdict}");
        assert!((0.0..=1.0).contains(&bearing.property("probability_direct").unwrap().as_f64().unwrap()));
    }
    for feature in of("region") {
        let geojson::GeometryValue::MultiPolygon { coordinates } = &feature.geometry.as_ref().unwrap().value
        else {
            panic!("a region is an area");
        };
        let ring = &coordinates[0][0];
        let area: f64 = ring.windows(2).map(|w| w[0][0] * w[1][1] - w[1][0] * w[0][1]).sum();
        assert!(area > 0.0, "counter-clockwise");
        assert_eq!(ring.first(), ring.last());
    }
    let written = fs::read_to_string(&map).unwrap();
    let digits = written
        .split([',', '[', ']'])
        .filter_map(|n| n.split_once('.'))
        .filter(|(a, _)| a.parse::<i32>().is_ok());
    assert!(
        digits.clone().count() > 100
            && digits.clone().all(|(_, d)| d.len() <= 7 || d.parse::<u64>().is_err())
    );
}

const WALK: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/demo/walk_log.csv");

/// Free space loses 20 log f + 20 log d − 147.55 dB (ITU-R P.525): 25.5 dB at 450 MHz and 1 m, exponent 2.
#[test]
fn a_fixed_law_of_distance_is_told_and_levels_are_drawn_against_distance() {
    let figure = folder("profile").join("levels.svg");
    let model = ["--model", "free-space", "--environment", "open", "--frequency", "450MHz"];
    let output = azimark(&[&["locate", WALK, "--profile", text(&figure)], &model[..]].concat());
    let all = unwrapped(&output);
    assert!(all.contains("ITU-R P.525") && all.contains("loss 25.5 dB at 1 m, exponent 2.00"), "{all}");
    assert!(fs::read_to_string(&figure).unwrap().contains("<svg"));
    let refused = |arguments: &[&str], why: &str| {
        let output = azimark(&[&["locate", WALK], arguments].concat());
        assert_eq!(code(&output), 2, "{arguments:?}");
        assert!(said(&output).contains(why), "{}", said(&output));
    };
    refused(&["--model", "free-space"], "--environment");
    refused(&["--model", "free-space", "--environment", "open"], "450MHz");
    let indoors = ["--model", "hata", "--environment", "indoor", "--frequency", "450MHz"];
    refused(&indoors, "it is for open, suburban, urban");
}

#[test]
fn json_is_one_document_on_standard_output() {
    let output = azimark(&["locate", DEMO, "--format", "json"]);
    assert_eq!(code(&output), 0);
    let value: serde_json::Value = serde_json::from_str(&printed(&output)).unwrap();
    assert_eq!(value["schema"], "azimark-answer/1");
    assert_eq!(value["bearings"].as_array().unwrap().len(), 10);
    assert_eq!(value["bearings"][5]["verdict"], "foreign");
    assert!(value["regions"][2]["area_m2"].as_f64().unwrap() > 1_000.0);
}

#[test]
fn the_same_bearing_in_two_files_counts_once() {
    let both = azimark(&["locate", DEMO, OTHER, "--format", "json"]);
    assert_eq!(code(&both), 0, "{}", said(&both));
    let value: serde_json::Value = serde_json::from_str(&printed(&both)).unwrap();
    assert_eq!(value["bearings"].as_array().unwrap().len(), 10);
    assert_eq!(said(&both).matches("bearing-repeated").count(), 2, "{}", said(&both));
}

#[test]
fn a_row_that_is_refused_ends_with_1_and_the_rest_is_answered() {
    let here = folder("refused");
    let notes = fs::read_to_string(DEMO).unwrap().replace("-118.384335", "-1183.84335");
    fs::write(here.join("b.csv"), notes).unwrap();
    let output = azimark_in(&here, &["locate", "b.csv"]);
    assert_eq!(code(&output), 1);
    assert!(printed(&output).starts_with("Search "));
    assert!(
        unwrapped(&output).contains("b.csv:2:6: refused [coordinate] lon_wgs84 \"-1183.84335\""),
        "{}",
        printed(&output)
    );
}

#[test]
fn standard_input_is_read_and_too_little_is_said_plainly() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_azimark"))
        .args(["locate", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(b"lat,lon,bearing_deg,north\n47,8,10,true\n").unwrap();
    let output = child.wait_with_output().unwrap();
    assert_eq!(code(&output), 1);
    assert!(printed(&output).starts_with("No place: 1 usable bearing"), "{}", printed(&output));
}

#[test]
fn where_every_row_is_refused_no_kind_is_missed_more_than_another() {
    let here = folder("nothing");
    fs::write(here.join("walk.csv"), "time,lat,lon,level_dbm\n2026-05-01T10:00:00Z,95,8,-70\n").unwrap();
    let output = azimark_in(&here, &["locate", "walk.csv"]);
    assert_eq!(code(&output), 1);
    let why = "No place: nothing that was given can be used; a place needs at least 2 bearings";
    assert!(unwrapped(&output).contains(why), "{}", printed(&output));
    assert!(said(&output).contains("walk.csv:2:2: refused [coordinate] lat \"95\""), "{}", said(&output));
}

#[test]
fn what_cannot_run_ends_with_2_and_says_why() {
    let here = folder("usage");
    for (arguments, words) in [
        (vec!["locate", "no-such-file.csv"], "could not be opened"),
        (vec!["locate", text(&here)], "is a folder"),
        (vec!["locate", DEMO, "--output", "answer.doc"], "the ending says what to write"),
        (vec!["locate", DEMO, "--output", "no/such/folder/x.json"], "could not be written"),
        (vec!["locate", DEMO, "--north", "up"], "write true, magnetic or grid"),
        (vec!["locate", DEMO, "--date", "17.3.26"], "year-month-day"),
        (vec!["locate", DEMO, "--within", "30"], "write a length in m or km"),
        (vec!["locate", DEMO, "--zone", "Mars/Base"], "not known"),
        (vec!["locate", DEMO, "--map", DEMO], "not-geojson"),
        (vec!["locate", DEMO, "--output", DEMO], "the ending says what to write"),
        (vec!["exposure", "--frequency", "841.5", "--eirp", "60dBm"], "with its unit"),
        (vec!["exposure", "--frequency", "1kHz", "--eirp", "1W"], "outside the tables"),
        (vec!["north", "97", "8", "2026-03-17"], "beyond 90 degrees"),
        (vec!["nonsense"], "unrecognized subcommand"),
    ] {
        let output = azimark(&arguments);
        assert_eq!(code(&output), 2, "{arguments:?}: {}", said(&output));
        assert!(said(&output).contains(words), "{arguments:?}: {}", said(&output));
        // An answer that is there is printed even when a file cannot be written.
        assert_eq!(printed(&output).is_empty(), words != "could not be written", "{arguments:?}");
    }
}

#[test]
fn notes_are_never_overwritten_and_old_answers_are_named() {
    let here = folder("kept");
    let notes = here.join("notes.txt");
    fs::copy(DEMO, &notes).unwrap();
    let same = here.join("..").join("kept").join("notes.txt");
    let output = azimark(&["locate", text(&notes), "--output", text(&same)]);
    assert_eq!(code(&output), 2);
    assert!(said(&output).contains("one of the files to read"), "{}", said(&output));
    assert_eq!(fs::read(&notes).unwrap(), fs::read(DEMO).unwrap());
    let (one, old) = (here.join("one.csv"), here.join("old.json"));
    fs::write(&one, "lat,lon,bearing_deg,north\n47,8,10,true\n").unwrap();
    fs::write(&old, "{}").unwrap();
    let output = azimark(&["locate", text(&one), "--output", text(&old)]);
    assert_eq!(code(&output), 1);
    assert!(said(&output).contains("not written"), "{}", said(&output));
    let near = azimark(&["locate", DEMO, "--within", "30m"]);
    assert_eq!(code(&near), 1);
    assert!(printed(&near).contains("search farther"), "{}", printed(&near));
    // Where there is no place, programs still get a document in the format that they asked for.
    let none = azimark(&["locate", text(&one), "--format", "json"]);
    let value: serde_json::Value = serde_json::from_str(&printed(&none)).unwrap();
    assert_eq!(
        (code(&none), &value["complete"], &value["schema"]),
        (1, &false.into(), &"azimark-answer/1".into())
    );
    let none = azimark(&["locate", text(&one), "--format", "geojson"]);
    let parsed: Result<geojson::GeoJson, _> = printed(&none).parse();
    assert!(matches!(parsed, Ok(geojson::GeoJson::FeatureCollection(c)) if c.features.is_empty()));
}

/// Rows that are pasted twice, and a file that is given twice, are one survey.
#[test]
fn copies_do_not_make_the_area_smaller() {
    let here = folder("copies");
    let notes = fs::read_to_string(DEMO).unwrap();
    let rows: Vec<&str> = notes.lines().collect();
    fs::write(here.join("twice.csv"), [&rows[..], &rows[1..]].concat().join("\n")).unwrap();
    let area = |arguments: &[&str]| {
        let output = azimark(arguments);
        let value: serde_json::Value = serde_json::from_str(&printed(&output)).unwrap();
        value["regions"][2]["area_m2"].as_f64().unwrap()
    };
    let once = area(&["locate", DEMO, "--format", "json"]);
    assert_eq!(once, area(&["locate", DEMO, DEMO, "--format", "json"]));
    assert_eq!(once, area(&["locate", text(&here.join("twice.csv")), "--format", "json"]));
}

/// The demo's declination is 13.9° east: the wrong letter must show in the first lines.
#[test]
fn a_declination_with_the_wrong_letter_is_contradicted() {
    let output = azimark(&["locate", DEMO, "--declination", "13.9W"]);
    let text = printed(&output).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        text.contains("DOUBTFUL: the declination stated") || text.contains("DOUBTFUL: the bearings fit"),
        "{text}"
    );
    assert!(text.contains("the World Magnetic Model gives 13.9° EAST"), "{text}");
}

#[test]
fn check_reads_without_solving() {
    let output = azimark(&["check", DEMO]);
    assert_eq!(code(&output), 0);
    assert!(
        printed(&output).starts_with("10 bearings can be used.\n0 refusals, 0 doubts"),
        "{}",
        printed(&output)
    );
    let picture = folder("binary").join("photo.csv");
    fs::write(&picture, [b"\x89PNG\r\n\x1a\n".as_slice(), &[0, 1, 2, 255, 0, 7].repeat(200)].concat())
        .unwrap();
    let binary = azimark(&["check", text(&picture)]);
    assert_eq!(code(&binary), 1);
    assert!(printed(&binary).contains("not-text"), "{}", printed(&binary));
}

/// The demo's walk: 50 rows while the emitter was off, five jumps and two rows without a fix are labelled, no others.
#[test]
fn check_labels_a_log_of_levels() {
    let demo = |name: &str| format!("{}/fixtures/demo/{name}", env!("CARGO_MANIFEST_DIR"));
    let (walk, monitor) = (demo("walk_log.csv"), demo("reference_monitor_10s.csv"));
    let output = azimark(&["check", &walk, "--monitor", &monitor]);
    assert_eq!(code(&output), 0, "{}{}", printed(&output), said(&output));
    assert!(
        printed(&output).contains("600 readings of levels; 543 can be used, 57 would be left out"),
        "{}",
        printed(&output)
    );
}

/// All files of the demo case at once, told apart by their columns: the answer, each kind alone, the law of distance, and
/// features of every kind on the map.
#[test]
fn locate_takes_bearings_levels_and_sectors_together() {
    let demo = |name: &str| format!("{}/fixtures/demo/{name}", env!("CARGO_MANIFEST_DIR"));
    let (walk, sectors, monitor) =
        (demo("walk_log.csv"), demo("sectors.csv"), demo("reference_monitor_10s.csv"));
    let here = folder("together");
    let (json, map) = (here.join("a.json"), here.join("a.geojson"));
    let output = azimark(&[
        "locate",
        DEMO,
        &walk,
        &sectors,
        "--monitor",
        &monitor,
        "--output",
        text(&json),
        "--output",
        text(&map),
    ]);
    assert_eq!(code(&output), 0, "{}{}", printed(&output), said(&output));
    let told = unwrapped(&output);
    assert!(told.starts_with("Search 4"), "{told}");
    for words in
        ["543 readings used", "57 left out", "bearings alone:", "levels alone:", "sectors alone:", "agree"]
    {
        assert!(told.contains(words), "{words}: {told}");
    }
    let value: serde_json::Value = serde_json::from_str(&fs::read_to_string(&json).unwrap()).unwrap();
    assert_eq!(value["levels"]["table"].as_array().unwrap().len(), 543);
    assert_eq!(value["levels"]["left_out"]["off-air"], 50);
    assert_eq!(value["sectors"].as_array().unwrap().len(), 9);
    assert_eq!(value["kinds"]["conflict"], false);
    let parsed: geojson::GeoJson = fs::read_to_string(&map).unwrap().parse().unwrap();
    let collection: geojson::FeatureCollection = parsed.try_into().unwrap();
    let count = |kind: &str| {
        collection.features.iter().filter(|f| f.property("kind").is_some_and(|k| k == kind)).count()
    };
    assert_eq!((count("reading"), count("sector"), count("bearing")), (543, 9, 10));
    // What a file is may be said, and then it is read as that.
    let wrong = azimark(&["locate", "--as", &format!("levels={DEMO}")]);
    assert_eq!(code(&wrong), 1, "{}", printed(&wrong));
    assert!(said(&wrong).contains("refused"), "{}", said(&wrong));
    assert_eq!(code(&azimark(&["locate", "--as", &format!("tea={DEMO}")])), 2);
    let place = azimark(&["locate", &walk, "--environment", "street"]);
    assert_eq!(code(&place), 2);
    assert!(said(&place).contains("--frequency"), "{}", said(&place));
}

/// The demo's walk without its places, joined to its track: all but the two rows without a fix are placed.
#[test]
fn check_joins_a_log_without_places_to_its_track() {
    let demo = |name: &str| format!("{}/fixtures/demo/{name}", env!("CARGO_MANIFEST_DIR"));
    let walk = fs::read_to_string(demo("walk_log.csv")).unwrap();
    let cells = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        [cells[1], cells[8]].join(",")
    };
    let bare: Vec<String> = walk.lines().map(cells).collect();
    let here = folder("joined").join("bare.csv");
    fs::write(&here, bare.join("\n")).unwrap();
    let output = azimark(&["check", text(&here), &demo("walk.gpx"), "--clock-offset=0"]);
    assert_eq!(code(&output), 0, "{}{}", printed(&output), said(&output));
    let told = unwrapped(&output);
    assert!(told.contains("600 readings of levels; 593 can be used, 7 would be left out"), "{told}");
    assert!(
        told.contains("598 reading(s) were placed by the track") && told.contains("[join-gap] 2"),
        "{told}"
    );
    assert!(said(&output).is_empty(), "no bar without a terminal: {}", said(&output));
    // Half a minute too late the last rows lie beyond the track.
    let output = azimark(&["check", text(&here), &demo("walk.gpx"), "--clock-offset", "-30"]);
    assert!(unwrapped(&output).contains("with -30 s added to the log's times"), "{}", unwrapped(&output));
    let output = azimark(&["check", text(&here), "--clock-offset", "37"]);
    assert!(printed(&output).contains("clock-offset-unused"), "{}", printed(&output));
    let floor = azimark(&["check", &demo("walk_log.csv"), "--floor", "-114"]);
    assert!(!printed(&floor).contains("floor-unknown"), "{}", printed(&floor));
    assert_eq!(code(&azimark(&["check", text(&here), "--clock-offset", "soon"])), 2);
}

/// Declination of the demo's place and day by an independent implementation of the model (pygeomag 1.1.0): 13.93° east.
#[test]
fn north_writes_east_and_west_out() {
    let output = azimark(&["north", "46.956", "-118.357", "2026-03-17"]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let text = printed(&output);
    assert!(text.contains("13.9° EAST of true north"), "{text}");
    assert!(text.contains("UTM zone 11T") && text.contains("1.0° WEST of true north"), "{text}");
    let late = azimark(&["north", "46°57'N", "118 21 25 W", "2031-01-01"]);
    assert_eq!(code(&late), 1);
    assert!(printed(&late).replace('\n', " ").contains("2025-01-01 to 2029-12-31"), "{}", printed(&late));
}

#[test]
fn exposure_states_limits_and_never_calls_anything_safe() {
    let output = azimark(&["exposure", "--frequency", "841.5MHz", "--eirp", "60dBm"]);
    assert_eq!(code(&output), 0);
    let text = printed(&output);
    // 1 kW at 841.5 MHz: the strictest is f/200 W/m² with ground reflection, √(2560/4π/4.2075) = 6.96 m, shown a tenth
    // beyond; 47 CFR 1.1310 gives √(1000/4π/5.61) = 3.77 m in free space.
    assert!(text.starts_with("Stay beyond 7.7 m in the main beam"), "{text}");
    assert!(text.contains("5.61 W/m²    30 min        4.2 m"), "{text}");
    assert!(!text.to_lowercase().contains("safe"));
}

#[test]
fn help_completions_and_manual_name_every_command() {
    let commands = ["locate", "check", "demo", "simulate", "north", "exposure", "completions", "manual"];
    for arguments in [vec!["--help"], vec!["completions", "bash"], vec!["manual"]] {
        let output = azimark(&arguments);
        assert_eq!(code(&output), 0, "{arguments:?}");
        let text = printed(&output).to_lowercase();
        assert!(commands.iter().all(|c| text.contains(c)), "{arguments:?}");
    }
    assert_eq!(code(&azimark(&[])), 2);
}

/// A reader that closes early, as `head` does, is no failure.
#[test]
fn a_closed_pipe_is_no_failure() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_azimark"))
        .args(["locate", DEMO])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(code(&output), 0, "{}", said(&output));
}

/// Every kind of scene is written, located and checked; the same seed gives the same files, and nothing is written over.
#[test]
fn simulate_writes_a_case_that_the_other_commands_read() {
    let here = folder("simulate");
    for scene in ["open", "suburb", "street", "canyon", "indoor"] {
        let case = here.join(scene);
        let line = ["simulate", "--seed", "11", "--scene", scene, "--readings", "200", text(&case)];
        let output = azimark(&line);
        assert_eq!(code(&output), 0, "{}", said(&output));
        assert!(printed(&output).contains("azimark locate"), "{}", printed(&output));
        let located = azimark(&["locate", text(&case.join("bearings.csv"))]);
        assert!(code(&located) <= 1, "{scene}: {}", said(&located));
        assert!(printed(&located).contains("B12"), "{}", printed(&located));
        let checked = azimark(&["check", text(&case.join("walk_log.csv"))]);
        assert_eq!(code(&checked), 0, "{scene}: {}{}", printed(&checked), said(&checked));
        assert!(printed(&checked).contains("200 readings of levels"), "{}", printed(&checked));
        // Again into the same folder: the same case is there.
        assert_eq!(code(&azimark(&line)), 0);
        let again = here.join(format!("{scene}-again"));
        azimark(&["simulate", "--seed", "11", "--scene", scene, "--readings", "200", text(&again)]);
        for name in ["bearings.csv", "walk_log.csv", "sectors.csv", "truth.json"] {
            assert_eq!(
                fs::read(case.join(name)).unwrap(),
                fs::read(again.join(name)).unwrap(),
                "{scene} {name}"
            );
        }
    }
    let drawn = here.join("answer.svg");
    let (notes, town) = (here.join("street/bearings.csv"), here.join("street/town.geojson"));
    let line = ["locate", text(&notes), "--map", text(&town), "--output", text(&drawn)];
    assert!(code(&azimark(&line)) <= 1 && drawn.is_file());
}

#[test]
fn simulate_refuses_nonsense_and_folders_with_other_content() {
    let here = folder("simulate-refused");
    fs::write(here.join("bearings.csv"), "mine").unwrap();
    let refused = azimark(&["simulate", "--seed", "1", text(&here)]);
    assert_eq!(code(&refused), 2);
    assert!(said(&refused).contains("holds other files: name a new folder"), "{}", said(&refused));
    assert_eq!(fs::read(here.join("bearings.csv")).unwrap(), b"mine");
    assert_eq!(fs::read_dir(&here).unwrap().count(), 1);
    let file = azimark(&["simulate", "--seed", "1", text(&here.join("bearings.csv"))]);
    assert!(code(&file) == 2 && said(&file).contains("is a file: name a folder"), "{}", said(&file));
    let new = here.join("new");
    for (arguments, told) in [
        (["--bearings", "0"], "a number of bearings of 0 makes no sense: write 1 to 10000"),
        (["--readings", "20001"], "write 1 to 20000"),
        (["--emitters", "0"], "a number of emitters of 0"),
        (["--foreign", "101"], "write a share from 0 to 100"),
        (["--frequency", "1Hz"], "write 1 MHz to 100 GHz"),
        (["--scene", "moon"], "possible values: open, suburb, street, canyon, indoor"),
    ] {
        let output = azimark(&[&["simulate", "--seed", "1", text(&new)], &arguments[..]].concat());
        assert_eq!(code(&output), 2, "{arguments:?}");
        assert!(said(&output).contains(told), "{arguments:?}: {}", said(&output));
        assert!(!new.exists());
    }
    assert!(said(&azimark(&["simulate", text(&new)])).contains("--seed"));
}

/// Levels against headings of two stands: a lobe toward 60° magnetic, one of the headings, and nothing but noise.
#[test]
fn a_swing_gives_its_bearing_first_and_draws_it() {
    let here = folder("swing");
    let (file, plot) = (here.join("swings.csv"), here.join("swings.svg"));
    let lobe = |h: f64| {
        let off: f64 = (h - 60.0 + 540.0) % 360.0 - 180.0;
        -62.0 - (12.0 * (off / 60.0).powi(2)).min(15.0)
    };
    let head = "stand,lat,lon,heading_deg,north,level_dbm,time\n";
    let row = |name: &str, h: f64, level: f64| {
        format!("{name},46.955013,-118.384335,{h},magnetic,{level:.1},2026-03-17T15:40:00Z\n")
    };
    let sound: String = (0..12).map(|i| 30.0 * f64::from(i)).map(|h| row("Quarry", h, lobe(h))).collect();
    fs::write(&file, format!("{head}{sound}")).unwrap();
    let output = azimark(&["swing", text(&file), "--plot", text(&plot)]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    // 13.9° of declination there and then (World Magnetic Model 2025).
    assert!(
        printed(&output).starts_with("Quarry (12 levels): the signal comes from 060°M ± "),
        "{}",
        printed(&output)
    );
    assert!(unwrapped(&output).contains("from true north 074°T."), "{}", printed(&output));
    assert!(fs::read_to_string(&plot).unwrap().ends_with("</svg>\n"));
    // A log of a swing is no file of bearings, and a check reads it.
    assert_eq!(code(&azimark(&["check", text(&file)])), 0);
    let json = azimark(&["swing", text(&file), "--format", "json", "--antenna", "yagi", "--beamwidth", "60"]);
    let parsed: serde_json::Value = serde_json::from_str(&printed(&json)).unwrap();
    assert_eq!((parsed["swings"][0]["points"].as_array().unwrap().len(), code(&json)), (12, 0));
    // Levels of a lobe are none of a loop, whose bearing has a reverse; a swing without a direction is no answer, and a drawing is not written over notes.
    assert_eq!(code(&azimark(&["swing", text(&file), "--antenna", "loop"])), 1);
    let eight = |h: f64| -60.0 + 10.0 * (0.01 + (h - 60.0).to_radians().cos().powi(2)).log10();
    let turned: String = (0..12).map(|i| 30.0 * f64::from(i)).map(|h| row("Loop", h, eight(h))).collect();
    fs::write(&file, format!("{head}{turned}")).unwrap();
    let output = azimark(&["swing", text(&file), "--antenna", "loop"]);
    assert!(unwrapped(&output).contains("or from the reverse"), "{}", printed(&output));
    let even: String =
        (0..8).map(|i| row("Mast", 45.0 * f64::from(i), -30.0 - 0.1 * f64::from(i % 3))).collect();
    fs::write(&file, format!("{head}{even}")).unwrap();
    let output = azimark(&["swing", text(&file)]);
    assert!(printed(&output).starts_with("Mast (8 levels): no direction"), "{}", printed(&output));
    assert_eq!((code(&output), code(&azimark(&["swing", text(&file), "--plot", text(&file)]))), (1, 2));
    assert_eq!(code(&azimark(&["swing", text(&here.join("missing.csv"))])), 2);
}

/// The reasoning names every bearing, why the two reflected ones may be wrong, and what would change the answer.
#[test]
fn locate_explains_itself() {
    let output = azimark(&["locate", DEMO, "--explain"]);
    assert_eq!(code(&output), 0, "{}", said(&output));
    let told = unwrapped(&output);
    for words in [
        "What each observation says",
        "B01: read 070°M, which is 084°T",
        "B06: direct with a probability of 0 %; the note says \"strong; peak broad and moves as I step sideways\"",
        "What would change this",
        "without B08 the place moves",
        "if all bearings were off by 5° the same way, the place would move by",
        "with every error twice as large",
    ] {
        assert!(told.contains(words), "{words}: {told}");
    }
    // The errors doubled: four times the area where all is linear, and at least twice with reflections in doubt.
    assert!(told.contains("95 % area grows from 9600 m² to 1.7 ha"), "{told}");
    let json = azimark(&["locate", DEMO, "--format", "json", "--explain"]);
    assert!(serde_json::from_str::<serde_json::Value>(&printed(&json)).is_ok());
    assert!(said(&json).contains("What would change this"));
}

/// A trial that was broken off within a line goes on where it stopped and prints what it would have printed.
#[test]
fn a_trial_goes_on_where_it_stopped() {
    let here = folder("trial");
    let kept = here.join("kept.jsonl");
    let asked = ["trial", "--classes", "clean,reversed", "--scenes", "3", "--seed", "9"];
    let run = |more: &[&str]| azimark_in(&here, &[&asked, more].concat());
    let whole = run(&["--threads", "2"]);
    assert_eq!(code(&whole), 0, "{}", said(&whole));
    assert!(printed(&whole).contains("Posterior, 95 % regions of all classes together"));
    let resume = ["--resume", "kept.jsonl", "--threads", "1"];
    assert_eq!(printed(&run(&resume)), printed(&whole));
    let lines = fs::read_to_string(&kept).unwrap();
    assert_eq!(lines.lines().count(), 7);
    // The last scene and a half are lost.
    let cut = lines.trim_end().rfind('\n').unwrap() - 40;
    fs::write(&kept, &lines[..cut]).unwrap();
    let again = run(&[&resume[..], &["--output", "a.json", "--output", "a.svg"]].concat());
    assert_eq!(printed(&again), printed(&whole));
    assert!(said(&again).contains("ends within a line"), "{}", said(&again));
    assert!(said(&again).contains("4 scenes taken from the file, 2 left to do"), "{}", said(&again));
    assert_eq!(fs::read_to_string(&kept).unwrap().lines().count(), 7);
    let value: serde_json::Value =
        serde_json::from_str(&fs::read_to_string(here.join("a.json")).unwrap()).unwrap();
    assert_eq!(value["rows"].as_array().unwrap().len(), 6);
    assert_eq!(value["rows"][0]["regions"][2]["held"]["of"], 3);
    assert!(fs::read_to_string(here.join("a.svg")).unwrap().ends_with("</svg>\n"));
    // What is not its own is left as it is.
    let other = azimark_in(&here, &["trial", "--classes", "clean", "--seed", "8", "--resume", "kept.jsonl"]);
    assert_eq!(code(&other), 2);
    fs::write(here.join("notes.txt"), "my notes").unwrap();
    assert_eq!(code(&run(&["--resume", "notes.txt"])), 2);
    assert_eq!(fs::read_to_string(here.join("notes.txt")).unwrap(), "my notes");
    let picture = run(&["--output", "a.png"]);
    assert_eq!(code(&picture), 2);
    assert!(said(&picture).contains(".json or .svg"), "{}", said(&picture));
}

/// Two bearings of the demo point at the mirror images in the elevator and in the implement dealer's hall (fixtures/demo/SOURCE.md):
/// with its map both are told, in words and for programs, and without it neither is.
#[test]
fn a_map_explains_reflections() {
    let here = folder("reflections");
    assert_eq!(code(&azimark(&["demo", text(&here)])), 0);
    let town = here.join("town.geojson");
    let told = unwrapped(&azimark(&["locate", DEMO, "--map", text(&town), "--explain"]));
    for words in [
        "B06: it points at the mirror image behind the façade of grain elevator (steel)",
        "B07: it points at the mirror image behind the façade of implement dealer",
        "counted as reflections, and not as bearings from anywhere, they leave a 95 % area of",
    ] {
        assert!(told.contains(words), "{told}");
    }
    let json = azimark(&["locate", DEMO, "--map", text(&town), "--format", "json"]);
    let value: serde_json::Value = serde_json::from_str(&printed(&json)).unwrap();
    let explained = value["reflections"]["explained"].as_array().unwrap();
    let ids: Vec<&str> = explained.iter().filter_map(|b| b["bearing"].as_str()).collect();
    assert_eq!(ids, ["B06", "B07"]);
    let area = |region: &serde_json::Value| region["area_m2"].as_f64().unwrap();
    assert!(area(&value["reflections"]["counted"]["region_95"]) < area(&value["regions"][2]));
    let without = azimark(&["locate", DEMO, "--format", "json"]);
    let value: serde_json::Value = serde_json::from_str(&printed(&without)).unwrap();
    assert!(value["reflections"].is_null());
}

/// Regions of twelve bearings of 3° against the same posterior summed on a grid by numpy (`benches/posterior_reference.py`, which
/// prints these areas): 160 cells a side leave about a hundredth of the area open.
#[test]
fn regions_are_those_of_the_same_posterior_on_a_grid() {
    let mut notes = String::from("id,lat,lon,bearing_deg,north,sigma_deg\n");
    let emitter = azimark::geodesy::Place::from_lat_lon_degrees(47.0, 8.0).unwrap();
    for i in 0..12 {
        let around = azimark::units::Angle::degrees(30.0 * f64::from(i) + 17.0);
        let kilometre = azimark::units::Metres::new(1_000.0);
        let (stand, back) = azimark::geodesy::destination(emitter, around, kilometre);
        let bearing = (back.to_degrees() + 540.0 + 3.0 * (1.7 * f64::from(i)).sin()).rem_euclid(360.0);
        notes += &format!("b{i},{},{},{bearing},true,3\n", stand.lat_degrees(), stand.lon_degrees());
    }
    let here = folder("grid").join("notes.csv");
    fs::write(&here, notes).unwrap();
    let value: serde_json::Value =
        serde_json::from_str(&printed(&azimark(&["locate", text(&here), "--format", "json"]))).unwrap();
    for (region, area) in value["regions"].as_array().unwrap().iter().zip([1887.0, 6427.0, 8459.0]) {
        let own = region["area_m2"].as_f64().unwrap();
        assert!((own / area - 1.0).abs() < 0.02, "{own} against {area}");
    }
}
