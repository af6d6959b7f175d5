//! Broken rows and files, and the finding that each of them must give.

use azimark::{
    finding::{Finding, Severity},
    ingest::{MAX_BYTES, NorthLabel, Reading, Settings, StatedGrid, bearings},
    observe::ReadBearing,
};

/// A table of broken texts: what is read, the finding in short, and a part of its message. The finding in short is
/// severity, code, line:column (`-` where there is none) and the value in quotes where one is given.
type Cases = &'static [(&'static str, &'static str, &'static str)];

/// Reads `head` and each text behind it. Apart from assumptions (unless one is expected), the finding must be the only
/// one; a refused row is not used, and a refusal says what to do.
fn all_named(head: &str, cases: Cases, settings: &Settings) {
    for (text, short, part) in cases {
        let read = bearings("notes.csv", format!("{head}{text}\n").as_bytes(), settings);
        assert_named(text, &read, short, part);
    }
}

fn assert_named(text: &str, read: &Reading<ReadBearing>, short: &str, part: &str) {
    let expected_assumption = short.starts_with("assumed");
    let found: Vec<&Finding> = read
        .findings
        .iter()
        .filter(|f| f.severity != Severity::Assumed || (expected_assumption && in_short(f) == short))
        .collect();
    assert_eq!(
        found.iter().map(|f| in_short(f)).collect::<Vec<_>>(),
        [short],
        "{text}: {:#?}",
        read.findings
    );
    assert!(found[0].message.contains(part), "{text}: {}", found[0]);
    if found[0].severity == Severity::Refused {
        assert!(found[0].hint.is_some(), "{text}: a refusal says what to do");
        assert!(read.rows.is_empty(), "{text}: a refused row is not used");
    } else {
        assert!(!read.rows.is_empty(), "{text}: a row that is not refused is used");
    }
}

fn in_short(finding: &Finding) -> String {
    let origin = finding.origin.as_ref().expect("findings of a reader say where");
    let number = |n: Option<u64>| n.map_or("-".to_owned(), |n| n.to_string());
    let value = origin.value.as_ref().map_or(String::new(), |v| format!(" {v:?}"));
    format!(
        "{} {} {}:{}{value}",
        finding.severity.word(),
        finding.code,
        number(origin.line),
        number(origin.column)
    )
}

const HEAD: &str = "id,time,lat,lon,bearing_deg,north_reference,sigma_deg,class,hdop,remarks\n";

#[test]
fn a_sound_row_gives_no_finding() {
    let read =
        bearings("notes.csv", format!("{HEAD}a,,47,8,55,true,2,,,\n").as_bytes(), &Settings::default());
    assert_eq!((read.rows.len(), read.findings), (1, Vec::new()));
}

#[test]
fn broken_coordinates_are_named() {
    const CASES: Cases = &[
        ("a,,97,8,55,true,2,,,", "refused coordinate 2:3 \"97\"", "beyond 90 degrees"),
        ("a,,-90.0001,8,55,true,2,,,", "refused coordinate 2:3 \"-90.0001\"", "beyond 90 degrees"),
        ("a,,47,188,55,true,2,,,", "refused coordinate 2:4 \"188\"", "180 degrees of longitude"),
        ("a,,1e300,8,55,true,2,,,", "refused coordinate 2:3 \"1e300\"", "not a number of degrees"),
        ("a,,4700000000000000,8,55,true,2,,,", "refused coordinate 2:3 \"4700000000000000\"", "beyond 90"),
        ("a,,47 61,8,55,true,2,,,", "refused coordinate 2:3 \"47 61\"", "run from 0 to below 60"),
        ("a,,47 30 60,8,55,true,2,,,", "refused coordinate 2:3 \"47 30 60\"", "run from 0 to below 60"),
        ("a,,47.5 30,8,55,true,2,,,", "refused coordinate 2:3 \"47.5 30\"", "only the last may have"),
        ("a,,47 30.5 10,8,55,true,2,,,", "refused coordinate 2:3 \"47 30.5 10\"", "only the last"),
        ("a,,47 30 10 5,8,55,true,2,,,", "refused coordinate 2:3 \"47 30 10 5\"", "not a number of degrees"),
        ("a,,47'30°,8,55,true,2,,,", "refused coordinate 2:3 \"47'30°\"", "each before its own mark"),
        ("a,,30',8,55,true,2,,,", "refused coordinate 2:3 \"30'\"", "each before its own mark"),
        ("a,,47°30″,8,55,true,2,,,", "refused coordinate 2:3 \"47°30″\"", "each before its own mark"),
        ("a,,47 E,8,55,true,2,,,", "refused coordinate 2:3 \"47 E\"", "the letter E does not belong"),
        ("a,,47,8 N,55,true,2,,,", "refused coordinate 2:4 \"8 N\"", "the letter N does not belong"),
        ("a,,-47 N,8,55,true,2,,,", "refused coordinate 2:3 \"-47 N\"", "the letter N"),
        ("a,,47 N S,8,55,true,2,,,", "refused coordinate 2:3 \"47 N S\"", "the letter S"),
        ("a,,47,8 O,55,true,2,,,", "refused coordinate 2:4 \"8 O\"", "the letter O"),
        ("a,,47,1E1,55,true,2,,,", "refused coordinate 2:4 \"1E1\"", "not a number of degrees"),
        ("a,,forty,8,55,true,2,,,", "refused coordinate 2:3 \"forty\"", "the letter f"),
        ("a,,47..5,8,55,true,2,,,", "refused coordinate 2:3 \"47..5\"", "not a number of degrees"),
        ("a,,47,8;15,55,true,2,,,", "refused coordinate 2:4 \"8;15\"", "not a number of degrees"),
        ("a,,nan,8,55,true,2,,,", "refused coordinate 2:3 \"nan\"", "the letter a"),
        ("a,,47,inf,55,true,2,,,", "refused coordinate 2:4 \"inf\"", "the letter i"),
        ("a,,,8,55,true,2,,,", "refused coordinate-missing 2:3 \"\"", "no latitude"),
        ("a,,47,,55,true,2,,,", "refused coordinate-missing 2:4 \"\"", "no longitude"),
    ];
    all_named(HEAD, CASES, &Settings::default());
}

#[test]
fn broken_directions_and_norths_are_named() {
    const CASES: Cases = &[
        ("a,,47,8,361,true,2,,,", "refused bearing-out-of-range 2:5 \"361\"", "from 0 to 360"),
        ("a,,47,8,360.001,true,2,,,", "refused bearing-out-of-range 2:5 \"360.001\"", "from 0 to 360"),
        ("a,,47,8,-5,true,2,,,", "refused bearing-out-of-range 2:5 \"-5\"", "from 0 to 360"),
        ("a,,47,8,1e308,true,2,,,", "refused bearing-out-of-range 2:5 \"1e308\"", "from 0 to 360"),
        ("a,,47,8,1e999,true,2,,,", "refused not-a-number 2:5 \"1e999\"", "not a number"),
        ("a,,47,8,NE,true,2,,,", "refused not-a-number 2:5 \"NE\"", "not a number"),
        ("a,,47,8,N45E,true,2,,,", "refused not-a-number 2:5 \"N45E\"", "not a number"),
        ("a,,47,8,nan,true,2,,,", "refused not-a-number 2:5 \"nan\"", "not a number"),
        ("a,,47,8,inf,true,2,,,", "refused not-a-number 2:5 \"inf\"", "not a number"),
        ("a,,47,8,0x37,true,2,,,", "refused not-a-number 2:5 \"0x37\"", "not a number"),
        ("a,,47,8,5 5,true,2,,,", "refused not-a-number 2:5 \"5 5\"", "not a number"),
        ("a,,47,8,٥٥,true,2,,,", "refused not-a-number 2:5 \"٥٥\"", "not a number"),
        ("a,,47,8,\"1,234\",true,2,,,", "refused not-a-number 2:5 \"1,234\"", "not a number"),
        ("a,,47,8,55 furlongs,true,2,,,", "refused not-a-number 2:5 \"55 furlongs\"", "not a number"),
        ("a,,47,8,,true,2,,,", "refused bearing-missing 2:5 \"\"", "no bearing"),
        ("a,,47,8,55,polar,2,,,", "refused north-unknown 2:6 \"polar\"", "not one of the three norths"),
        ("a,,47,8,55M,true,2,,,", "refused norths-differ 2:6 \"true\"", "the bearing itself says magnetic"),
        ("a,,47,8,55 G,true,2,,,", "refused norths-differ 2:6 \"true\"", "the bearing itself says grid"),
        ("a,,47,8,55,,2,,,", "refused north-unlabelled -:-", "1 bearing(s) do not say which north"),
        ("a,,85,8,55,grid,2,,,", "refused grid-north-unknown 2:-", "no UTM grid at this latitude"),
    ];
    all_named(HEAD, CASES, &Settings::default());
    const MAGNETIC: Cases = &[
        (
            "47,8,55,true",
            "refused norths-differ 2:4 \"true\"",
            "the header of the bearings says magnetic, and the row true",
        ),
        ("47,8,55T,", "refused norths-differ 2:3 \"55T\"", "the header of the bearings says magnetic"),
    ];
    all_named("lat,lon,magnetic bearing,north\n", MAGNETIC, &Settings::default());
    const SWINGS: Cases = &[
        ("47,8,10,190,", "refused not-one-direction 2:3 \"10\"", "180° apart"),
        ("47,8,10,190,10", "refused not-one-direction 2:3 \"10\"", "180° apart"),
        ("47,8,10,120,", "refused not-one-direction 2:3 \"10\"", "110° apart"),
        ("47,8,10,x,", "refused not-a-number 2:4 \"x\"", "not a number"),
        ("47,8,350,10,20", "doubtful swings-differ 2:5 \"20\"", "from the mean of its swings, 0.0°"),
    ];
    let north = Settings { north: Some(NorthLabel::True), ..Settings::default() };
    all_named("lat,lon,swing1,swing2,bearing\n", SWINGS, &north);
}

#[test]
fn broken_errors_classes_times_and_names_are_named() {
    const CASES: Cases = &[
        ("a,,47,8,55,true,0,,,", "refused sigma-out-of-range 2:7 \"0\"", "above 0"),
        ("a,,47,8,55,true,-2,,,", "refused sigma-out-of-range 2:7 \"-2\"", "above 0"),
        ("a,,47,8,55,true,120,,,", "refused sigma-out-of-range 2:7 \"120\"", "at most at 90 degrees"),
        ("a,,47,8,55,true,two,,,", "refused not-a-number 2:7 \"two\"", "not a number"),
        ("a,,47,8,55,true,±2,,,", "refused not-a-number 2:7 \"±2\"", "not a number"),
        ("a,,47,8,55,true,,Z,,", "doubtful class-unknown 2:8 \"Z\"", "taken as not stated"),
        ("a,,47,8,55,true,2,,x,", "refused not-a-number 2:9 \"x\"", "not a number"),
        ("a,,47,8,55,true,2,,0,", "refused position-error 2:9 \"0\"", "above zero"),
        ("a,,47,8,55,true,2,,1e9,", "refused position-error 2:9 \"1e9\"", "at most at 20000"),
        ("a,yesterday,47,8,55,true,2,,,", "doubtful time-unknown 2:2 \"yesterday\"", "told for certain"),
        ("a,15:40,47,8,55,true,2,,,", "doubtful time-unknown 2:2 \"15:40\"", "told for certain"),
        ("a,03/04/2026 10:00,47,8,55,true,2,,,", "doubtful time-unknown 2:2 \"03/04/2026 10:00\"", "told"),
        ("a,17.03.26,47,8,55,true,2,,,", "doubtful time-unknown 2:2 \"17.03.26\"", "told for certain"),
        ("a,2026-02-30T10:00Z,47,8,55,true,2,,,", "doubtful time-unknown 2:2 \"2026-02-30T10:00Z\"", "told"),
        (
            "a,2026-03-17 25:00,47,8,55,true,2,,,",
            "doubtful time-unread 2:2 \"2026-03-17 25:00\"",
            "only the date",
        ),
        (
            "a,2026-03-17T08:40[Europe/Zurich],47,8,55,true,2,,,",
            "doubtful time-unknown 2:2 \"2026-03-17T08:40[Europe/Zurich]\"",
            "told for certain",
        ),
        ("a,2026-03-17 08:40,47,8,55,true,2,,,", "assumed zone-missing -:-", "only their dates are used"),
        (
            "a,,47,8,55,true,2,,,\na,,47,8,55,true,2,,,",
            "doubtful id-repeated 3:1 \"a\"",
            "this one is called a (line 3)",
        ),
    ];
    all_named(HEAD, CASES, &Settings::default());
    const RADIO: Cases = &[
        ("47,8,55,-5,,,", "refused frequency-out-of-range 2:4 \"-5\"", "no radio wave"),
        ("47,8,55,0,,,", "refused frequency-out-of-range 2:4 \"0\"", "no radio wave"),
        ("47,8,55,1e9,,,", "refused frequency-out-of-range 2:4 \"1e9\"", "no radio wave"),
        ("47,8,55,145,loud,,", "doubtful value-left-out 2:5 \"loud\"", "left out"),
        ("47,8,55,145,-80,S9,", "doubtful value-left-out 2:6 \"S9\"", "left out"),
        ("47,8,55,145,,,1e306", "doubtful value-left-out 2:7 \"1e306\"", "left out"),
    ];
    let north = Settings { north: Some(NorthLabel::True), ..Settings::default() };
    all_named("lat,lon,bearing,freq,front_dbm,back_dbm,height_km\n", RADIO, &north);
    let nowhere = Settings { zone: Some("Mars/Olympus".to_owned()), ..Settings::default() };
    const ZONE: Cases =
        &[("a,,47,8,55,true,2,,,", "refused zone-unknown -:-", "the time zone Mars/Olympus is not known")];
    all_named(HEAD, ZONE, &nowhere);
}

#[test]
fn broken_cells_quotes_and_lines_are_named() {
    const CASES: Cases = &[
        ("a,,47,8,55,true,2,,", "refused cells-differ 2:-", "the row has 9 cells and the header 10"),
        ("47,5;8,5", "refused cells-differ 2:-", "the row has 3 cells"),
        ("a,,47,8,55,true,2,,,one, two", "assumed remark-joined 2:10 \"one, two\"", "part of the remark"),
        ("\n\na,,47,8,400,true,2,,,", "refused bearing-out-of-range 4:5 \"400\"", "from 0 to 360"),
        ("# x\n\n#1\na,,47,8,400,true,2,,,", "refused bearing-out-of-range 5:5 \"400\"", "from 0 to 360"),
        (
            "#1,,47,8,55,true,2,,,\na,,47,8,55,true,2,,,",
            "assumed comments 2:-",
            "1 line(s) that begin with #",
        ),
        ("a,,47,8,55,true,2,,,\"strong\nb,,47,8,56,true,2,,,", "refused quote-open 2:-", "is not closed"),
        (
            "a,,47,8,55,true,2,,,\"strong\nb,,47,8,56,true,2,,,weak\"",
            "doubtful cell-over-lines 2:10 \"strong\\\\nb,,47,8,56,true,2,,,weak\"",
            "the cell runs over 2 lines",
        ),
        ("a,,47,8,55,true,2,,,\"two\nlines\"\nb,,47,8,56,true,2,,,\"x", "", ""),
    ];
    let (last, others) = CASES.split_last().expect("the table is not empty");
    for (text, short, part) in others {
        let read = bearings("notes.csv", format!("{HEAD}{text}\n").as_bytes(), &Settings::default());
        assert_named(text, &read, short, part);
    }
    // Rows behind a cell of two lines keep their line; those before an open quotation are used.
    let read = bearings("notes.csv", format!("{HEAD}{}", last.0).as_bytes(), &Settings::default());
    let found: Vec<String> = read.findings.iter().map(in_short).collect();
    assert_eq!(found, ["doubtful cell-over-lines 2:10 \"two\\\\nlines\"", "refused quote-open 4:-"]);
    assert_eq!(read.rows.len(), 1);
}

#[test]
fn broken_grids_are_named() {
    const ZONES: Cases = &[
        ("396777,5201175,,55", "refused grid-unstated 2:-", "do not say of which grid"),
        ("396777,5201175,11,55", "refused grid-unknown 2:3 \"11\"", "names no grid"),
        ("396777,5201175,61T,55", "refused grid-unknown 2:3 \"61T\"", "names no grid"),
        ("396777,5201175,11I,55", "refused grid-unknown 2:3 \"11I\"", "names no grid"),
        ("396777,5201175,11+,55", "refused grid-unknown 2:3 \"11+\"", "names no grid"),
        ("396777,4000000,11S,55", "refused hemisphere 2:2 \"4000000\"", "the band S of the northern one"),
        ("396777,5201175,11C,55", "refused band-differs 2:2 \"5201175\"", "not in band C"),
        ("396777,5201175,11U,55", "refused band-differs 2:2 \"5201175\"", "latitude 46.96, not in band U"),
        ("5201175,396777,11T,55", "refused grid-position 2:2 \"396777\"", "outside of a UTM zone"),
        ("396777,-5201175,11T,55", "refused grid-position 2:2 \"-5201175\"", "outside of a UTM zone"),
        ("396777,9999999,11 north,55", "refused grid-position 2:2 \"9999999\"", "outside of a UTM zone"),
        ("396777,,11T,55", "refused coordinate-missing 2:2 \"\"", "no northing"),
        (",5201175,11T,55", "refused coordinate-missing 2:1 \"\"", "no easting"),
        ("396777 deg,5201175,11T,55", "refused not-a-number 2:1 \"396777 deg\"", "not a number"),
        ("inf,5201175,11T,55", "refused not-a-number 2:1 \"inf\"", "not a number"),
    ];
    let north = Settings { north: Some(NorthLabel::True), ..Settings::default() };
    all_named("easting,northing,zone,bearing\n", ZONES, &north);
    const CODES: Cases = &[
        ("396777,5201175,32611,12T,55", "refused grids-differ 2:4 \"12T\"", "name different grids"),
        ("396777,5201175,32611,11 south,55", "refused grids-differ 2:4 \"11 south\"", "different grids"),
        ("396777,5201175,Swiss,,55", "refused grid-unknown 2:3 \"Swiss\"", "names no grid"),
        ("396777,5201175,EPSG:+5,,55", "refused grid-unknown 2:3 \"EPSG:+5\"", "names no grid"),
        ("396777,5201175,EPSG:99999999999,,55", "refused grid-unknown 2:3 \"EPSG:99999999999\"", "no grid"),
    ];
    all_named("easting,northing,epsg,zone,bearing\n", CODES, &north);
    let stated = Settings { grid: StatedGrid::from_text("11T"), ..north.clone() };
    const STATED: Cases =
        &[("5201175,396777,55", "refused grid-position 2:2 \"396777\"", "outside of a UTM zone")];
    all_named("easting,northing,bearing\n", STATED, &stated);
}

/// A code that the register does not have, or that is no grid of the plane; without the register, that this build has
/// none.
#[test]
fn unknown_codes_are_named() {
    let north = Settings { north: Some(NorthLabel::True), ..Settings::default() };
    for code in ["EPSG:1", "EPSG:4326", "EPSG:4979", "EPSG:4978", "EPSG:5773", "EPSG:9518"] {
        let text = format!("easting,northing,epsg,bearing\n8.5,47.5,{code},55\n");
        let read = bearings("notes.csv", text.as_bytes(), &north);
        let part = if cfg!(feature = "epsg") { "is not a grid" } else { "no other grids" };
        assert_named(code, &read, "refused grid-position 2:2 \"47.5\"", part);
    }
}

#[test]
fn broken_positions_of_one_cell_are_named() {
    const CASES: Cases = &[
        ("somewhere,55", "refused coordinate 2:1 \"somewhere\"", "zone, band, two letters"),
        ("46.955,55", "refused coordinate 2:1 \"46.955\"", "not a position"),
        ("8 E 47 N,55", "refused coordinate 2:1 \"8 E 47 N\"", "the latitude: the letter E"),
        ("97 8,55", "refused coordinate 2:1 \"97 8\"", "the latitude: this is beyond"),
        ("47 N 188 E,55", "refused coordinate 2:1 \"47 N 188 E\"", "the longitude: this is beyond"),
        ("47 61 N 8 E,55", "refused coordinate 2:1 \"47 61 N 8 E\"", "the latitude: minutes and seconds"),
        ("11TLN9677011,55", "refused coordinate 2:1 \"11TLN9677011\"", "even number of digits"),
        ("61TLN96770117,55", "refused coordinate 2:1 \"61TLN96770117\"", "zone, band, two letters"),
        ("11TLI96770117,55", "refused coordinate 2:1 \"11TLI96770117\"", "no square with these letters"),
        ("11NLN96770117,55", "refused coordinate 2:1 \"11NLN96770117\"", "no square with these letters"),
        ("32XNG1234567890,55", "refused coordinate 2:1 \"32XNG1234567890\"", "no square with these letters"),
        ("11THN96770117,55", "refused coordinate 2:1 \"11THN96770117\"", "no square with these letters"),
        ("ZAH1234512345,55", "refused coordinate 2:1 \"ZAH1234512345\"", "the polar grids are not read"),
        ("11TLN9601,55", "doubtful coarse-position 2:1 \"11TLN9601\"", "a square of 1000 m"),
        (
            "11T 5201175 396777,55",
            "refused grid-position 2:1 \"11T 5201175 396777\"",
            "outside of a UTM zone",
        ),
        ("11S 396777 4000000,55", "refused hemisphere 2:1 \"11S 396777 4000000\"", "S may mean"),
        ("11T 396777N 5201175N,55", "refused coordinate 2:1 \"11T 396777N 5201175N\"", "the latitude"),
        ("11 396777 5201175,55", "refused coordinate 2:1 \"11 396777 5201175\"", "not a position"),
        (",55", "refused coordinate-missing 2:1 \"\"", "no position"),
    ];
    let north = Settings { north: Some(NorthLabel::True), ..Settings::default() };
    all_named("position,bearing\n", CASES, &north);
}

/// A unit that a column cannot have, or that nobody knows, makes its numbers meaningless: they are not used.
#[test]
fn units_that_are_not_understood_are_named() {
    const HEADERS: Cases = &[
        ("lat,lon,bearing [strich]\n47,8,55", "refused unit-unknown 1:3 \"bearing [strich]\"", "no unit"),
        ("lat,lon,bearing_m\n47,8,55", "refused unit-unknown 1:3 \"bearing_m\"", "no unit that belongs here"),
        (
            "lat,lon,bearing (true magnetic)\n47,8,55",
            "refused unit-unknown 1:3 \"bearing (true magnetic)\"",
            "no unit",
        ),
        ("lat_rad,lon_rad,bearing\n.8,.1,55", "", ""),
        ("lat,lon (W),bearing\n47,118,55", "refused unit-unknown 1:2 \"lon (W)\"", "no unit"),
        ("lat (NAD27),lon,bearing\n47,118,55", "refused unit-unknown 1:1 \"lat (NAD27)\"", "no unit"),
        ("lat (E),lon,bearing\n47,8,55", "refused unit-unknown 1:1 \"lat (E)\"", "no unit"),
        ("position (ft),bearing\n47 8,55", "refused unit-unknown 1:1 \"position (ft)\"", "no unit"),
    ];
    let north = Settings { north: Some(NorthLabel::True), ..Settings::default() };
    for (text, short, part) in HEADERS.iter().filter(|c| !c.1.is_empty()) {
        let read = bearings("notes.csv", text.as_bytes(), &north);
        assert_named(text, &read, short, part);
    }
    let read = bearings("notes.csv", HEADERS[3].0.as_bytes(), &north);
    let found: Vec<String> = read.findings.iter().map(in_short).collect();
    assert_eq!(
        found,
        ["refused unit-unknown 1:1 \"lat_rad\"", "refused unit-unknown 1:2 \"lon_rad\""],
        "{:?}",
        read.findings
    );
    let read = bearings("notes.csv", b"lat,lon,true bearing,swing1 (mag)\n47,8,55,55\n", &north);
    let found: Vec<String> = read.findings.iter().map(in_short).collect();
    assert_eq!(found, ["refused unit-unknown 1:4 \"swing1 (mag)\"", "assumed north-from-header 1:-"]);
    // The first column that is understood counts.
    let read = bearings("notes.csv", b"lat_rad,lat,lon,bearing,bearing_m\n.8,47,8,55,55\n", &north);
    let found: Vec<String> = read.findings.iter().map(in_short).collect();
    assert_eq!(found, ["refused unit-unknown 1:1 \"lat_rad\"", "assumed columns-unused 1:-"]);
    assert_eq!((read.rows.len(), read.rows[0].stand.at.lat_degrees()), (1, 47.0));
    // A column that a bearing can do without is left out, and the rest is used.
    let read = bearings("notes.csv", b"lat,lon,bearing,front [dBuV]\n47,8,55,40\n", &north);
    assert_eq!(
        read.findings.iter().map(in_short).collect::<Vec<_>>(),
        ["refused unit-unknown 1:4 \"front [dBuV]\""]
    );
    assert_eq!((read.rows.len(), read.rows[0].front), (1, None));
}

/// Whole files that are no table of bearings.
#[test]
fn files_that_are_no_table_get_one_clear_answer() {
    let long = [b"lat,lon,bearing\n1,2,".to_vec(), vec![b'5'; 1 << 20], b"\n".to_vec()].concat();
    let wide = format!("lat,lon,bearing{}\n", ",x".repeat(300));
    let cases: &[(&[u8], &str, &str)] = &[
        (b"", "refused empty -:-", "holds no table"),
        (b"\n\n\n", "refused empty -:-", "holds no table"),
        (b",,,\n", "refused empty -:-", "holds no table"),
        (b"\xef\xbb\xbf", "refused empty -:-", "holds no table"),
        (b"# only a comment\n", "refused empty -:-", "holds no table"),
        (b"%PDF-1.7 ...", "refused not-text -:-", "a PDF"),
        (b"PK\x03\x04rest", "refused not-text -:-", "a spreadsheet file"),
        (b"\x89PNG\r\n", "refused not-text -:-", "a picture"),
        (b"\xff\xd8\xff\xe0", "refused not-text -:-", "a picture"),
        (b"SQLite format 3\0", "refused not-text -:-", "a database"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1", "refused not-text -:-", "an old spreadsheet"),
        (b"a\0b\0\0c", "refused not-text -:-", "no text"),
        (b"\xff\xfel\0a\0t\0\x00\xd8,\0", "refused not-text -:-", "damaged text"),
        (b"\xff\xfel\0a\0t\0,", "refused not-text -:-", "damaged text"),
        (b"\xef\xbb\xbflat,lon,bearing\n\xff,8,55", "refused not-text -:-", "damaged text"),
        (b"x,y\n1,2\n", "refused columns-missing 1:-", "no column for bearing"),
        (b"lat,lon\n1,2\n", "refused columns-missing 1:-", "no column for bearing"),
        (b"\n# c\nlat,bearing\n1,2\n", "refused columns-missing 3:-", "no column for longitude"),
        (b"47,8,55\n47,8,56\n", "refused columns-missing 1:-", "no column for latitude, longitude, bearing"),
        (b"[1,2]\n", "refused columns-missing 1:-", "no column for latitude"),
        (b"lat,lon,\"bearing\n47,8,55\n", "refused quote-open 1:-", "not closed"),
        (&long, "refused line-too-long 2:-", "more than a million characters"),
        (wide.as_bytes(), "refused too-many-columns 1:-", "303 columns, more than 300"),
    ];
    for (bytes, short, part) in cases {
        let read = bearings("odd", bytes, &Settings::default());
        let shown = String::from_utf8_lossy(&bytes[..bytes.len().min(40)]).into_owned();
        assert_named(&shown, &read, short, part);
    }
    let large = [b"{".to_vec(), vec![b' '; 16 << 20]].concat();
    assert_named(
        "large",
        &bearings("x", &large, &Settings::default()),
        "refused file-too-large -:-",
        "16 MiB",
    );
    let large = vec![b'a'; MAX_BYTES + 1];
    assert_named(
        "large",
        &bearings("large", &large, &Settings::default()),
        "refused file-too-large -:-",
        "64 MiB",
    );
}

/// A million bad rows give a thousand findings and the count of the rest; more rows than anybody takes are not read.
#[test]
fn a_bad_file_gives_no_more_than_one_can_read() {
    let text = format!("{HEAD}{}", "x\n".repeat(50_000));
    let read = bearings("notes.csv", text.as_bytes(), &Settings::default());
    let last = read.findings.last().expect("there are findings");
    assert_eq!((read.findings.len(), last.code), (1_001, "more-findings"));
    assert!(last.message.contains("49000 more"), "{last}");
    let text = format!("lat,lon,bearing_true\n{}", "1,2,3\n".repeat(100_001));
    let read = bearings("notes.csv", text.as_bytes(), &Settings::default());
    assert_eq!(read.rows.len(), 100_000);
    let found = read.findings.iter().find(|f| f.code == "too-many-rows").expect("it is told");
    assert_eq!(in_short(found), "refused too-many-rows 100002:-");
    // GeoJSON: as many points, as many features that are none, and a feature with as many properties.
    let point = format!(r#"{{{POINT},"properties":{{"bearing":"5T"}}}},"#);
    for (features, rows, codes) in [
        (point.repeat(100_001), 100_000, vec!["too-many-rows"]),
        ("7,".repeat(100_001), 0, vec!["more-findings", "too-many-rows", "empty"]),
    ] {
        let text =
            format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, features.trim_end_matches(','));
        let read = bearings("x", text.as_bytes(), &Settings::default());
        assert_eq!(read.rows.len(), rows);
        for code in codes {
            assert!(read.findings.iter().any(|f| f.code == code), "{code}");
        }
        assert!(read.findings.len() < 1_010);
    }
    let keys: String = (0..1_000).map(|k| format!(r#","k{k}":{k}"#)).collect();
    let text = format!(r#"{{{POINT},"properties":{{"bearing":"5T"{keys}}}}}"#);
    let read = bearings("x", text.as_bytes(), &Settings::default());
    assert_eq!(read.rows.len(), 1);
    assert_eq!(read.findings[0].message, "970 more properties are not used");
}

const POINT: &str = r#""type":"Feature","geometry":{"type":"Point","coordinates":[8,47]}"#;

/// GeoJSON: features have numbers instead of lines, and their values names instead of columns.
#[test]
fn broken_geojson_is_named() {
    let collection = |features: &str| format!(r#"{{"type":"FeatureCollection","features":[{features}]}}"#);
    let point = |properties: &str| collection(&format!(r#"{{{POINT},"properties":{{{properties}}}}}"#));
    let at = |geometry: &str| {
        let properties = r#"{"bearing":55,"north":"true"}"#;
        collection(&format!(r#"{{"type":"Feature","geometry":{geometry},"properties":{properties}}}"#))
    };
    let cases: Vec<(String, &str, &str)> = vec![
        ("{".to_owned(), "refused not-geojson 1:1", "not JSON: EOF"),
        ("{\n\"type\": nothing}".to_owned(), "refused not-geojson 2:10", "not JSON"),
        (collection("")[..40].to_owned(), "refused not-geojson 1:40", "not JSON: EOF"),
        ("{}".to_owned(), "refused not-geojson -:-", "not GeoJSON: "),
        (r#"{"type":"Tapestry"}"#.to_owned(), "refused not-geojson -:-", "not GeoJSON: "),
        (r#"{"type":"FeatureCollection"}"#.to_owned(), "refused not-geojson -:-", "not GeoJSON: "),
        (r#"{"type":"Point","coordinates":[8,47]}"#.to_owned(), "refused not-geojson -:-", "a bare geometry"),
        ("[".repeat(10_000).replacen('[', "{\"a\":[", 1), "refused not-geojson 1:132", "recursion limit"),
        (collection(""), "refused empty -:-", "holds no points"),
        (point(""), "refused columns-missing -:-", "no column for bearing"),
        (point(r#""course":55"#), "refused columns-missing -:-", "no column for bearing"),
        (point(r#""bearing":null,"north":"true""#), "refused bearing-missing -:- \"\"", "no bearing"),
        (
            point(r#""bearing":{"deg":55},"north":"true""#),
            "refused not-a-number -:- \"{\\\"deg\\\":55}\"",
            "not a number",
        ),
        (point(r#""bearing":[55],"north":"true""#), "refused not-a-number -:- \"[55]\"", "not a number"),
        (point(r#""bearing":true,"north":"true""#), "refused not-a-number -:- \"true\"", "not a number"),
        (point(r#""bearing":"55,5","north":"true""#), "refused not-a-number -:- \"55,5\"", "not a number"),
        (point(r#""bearing":400,"north":"true""#), "refused bearing-out-of-range -:- \"400\"", "0 to 360"),
        (point(r#""bearing":55"#), "refused north-unlabelled -:-", "do not say which north"),
        (point(r#""bearing":1e999"#), "refused not-geojson 1:136", "number out of range"),
        (at(r#"{"type":"Point","coordinates":[8,97]}"#), "refused coordinate -:- \"97\"", "beyond 90"),
        (at(r#"{"type":"Point","coordinates":[188,47]}"#), "refused coordinate -:- \"188\"", "beyond 90"),
    ];
    for (text, short, part) in cases {
        let read = bearings("notes.geojson", text.as_bytes(), &Settings::default());
        assert_named(&text[..text.len().min(200)], &read, short, part);
    }
    // One bad feature does not cost the others.
    for (geometry, code, part) in [
        ("null", "coordinate-missing", "has a bearing and is no point"),
        (r#"{"type":"LineString","coordinates":[[8,47],[9,47]]}"#, "coordinate-missing", "is no point"),
        (r#"{"type":"Point","coordinates":["8","47"]}"#, "not-a-feature", "not a feature"),
        (r#"{"type":"Point","coordinates":[8]}"#, "not-a-feature", "not a feature"),
        (r#"{"type":"Point","coordinates":[]}"#, "not-a-feature", "not a feature"),
        (r#"{"type":"Point"}"#, "not-a-feature", "not a feature"),
        (r#"{"type":"Point","coordinates":null}"#, "not-a-feature", "not a feature"),
    ] {
        let sound = at(r#"{"type":"Point","coordinates":[8,47]}"#);
        let broken = at(geometry);
        let inner = |text: &str| text[40..text.len() - 2].to_owned();
        let text = collection(&format!("{},{}", inner(&sound), inner(&broken)));
        let read = bearings("notes.geojson", text.as_bytes(), &Settings::default());
        let [found] = &read.findings[..] else { panic!("{geometry}: {:?}", read.findings) };
        assert_eq!((found.code, found.severity, read.rows.len()), (code, Severity::Refused, 1), "{geometry}");
        assert!(found.message.contains(part) && found.hint.is_some(), "{found}");
        assert_eq!(
            found.origin.as_ref().map(ToString::to_string),
            Some("notes.geojson, feature 2".to_owned())
        );
    }
}

/// GeoJSON of 2008 may name another coordinate system.
#[test]
fn another_coordinate_system_is_refused() {
    let text = |crs: &str| {
        format!(
            r#"{{"type":"FeatureCollection","crs":{crs},"features":[{{{POINT},"properties":{{"bearing":"55T"}}}}]}}"#
        )
    };
    let named = |name: &str| text(&format!(r#"{{"type":"name","properties":{{"name":"{name}"}}}}"#));
    for sound in ["urn:ogc:def:crs:OGC:1.3:CRS84", "urn:ogc:def:crs:EPSG::4326"] {
        let read = bearings("x", named(sound).as_bytes(), &Settings::default());
        assert_eq!((read.rows.len(), read.findings.len()), (1, 0), "{:?}", read.findings);
    }
    for foreign in [named("urn:ogc:def:crs:EPSG::4267"), text(r#"{"type":"link"}"#), text("7")] {
        let read = bearings("x", foreign.as_bytes(), &Settings::default());
        assert_named(&foreign, &read, "refused system-unknown -:-", "only WGS 84 is read");
    }
}
