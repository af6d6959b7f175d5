//! Broken logs and tracks from reading to what a solver would get: every finding of each, in order, and how many readings
//! remain.

use azimark::{
    check,
    finding::Finding,
    ingest::{MAX_LEVEL_BYTES, Settings, levels, track},
};

/// Severity, code, line:column and value.
fn in_short(finding: &Finding) -> String {
    let mut out = format!("{} {}", finding.severity.word(), finding.code);
    let Some(origin) = &finding.origin else { return out };
    if let Some(line) = origin.line {
        out += &format!(" {line}");
    }
    if let Some(column) = origin.column {
        out += &format!(":{column}");
    }
    if let Some(value) = &origin.value {
        out += &format!(" {value:?}");
    }
    out
}

/// All findings about a log and a track (which may be empty), and how many readings a solver would get.
fn story(log: &[u8], gpx: &[u8], settings: &Settings) -> (Vec<String>, usize) {
    let mut read = levels("log.csv", log, settings);
    let mut told = read.findings;
    let mut tracks = Vec::new();
    if !gpx.is_empty() {
        let (found, mut findings) = track("track", gpx, None);
        told.append(&mut findings);
        tracks.push(found);
    }
    told.append(&mut check::place(&mut read.rows, &tracks, None));
    let mut labelled = check::levels(&read.rows, &[]);
    told.append(&mut labelled.findings);
    let prepared = check::usable(&read.rows, &labelled.labels);
    let left_out: usize = prepared.left_out.iter().map(|(_, count)| count).sum();
    assert_eq!(prepared.levels.len() + left_out, read.rows.len(), "every reading is used or counted");
    for finding in &told {
        let refused = finding.severity == azimark::finding::Severity::Refused;
        assert!(!refused || finding.hint.is_some(), "a refusal says what to do: {finding}");
    }
    (told.iter().map(in_short).collect(), prepared.levels.len())
}

/// What every log without a column of receivers and of floors is told.
const PLAIN: [&str; 2] = ["assumed floor-unknown", "assumed receiver-unnamed"];

/// Without those two, which say nothing of what is broken.
fn all_told(cases: &[(&str, &[&str], usize)], gpx: &[u8]) {
    let mut wrong = String::new();
    for (log, expected, used) in cases {
        let (told, left) = story(log.as_bytes(), gpx, &Settings::default());
        let told: Vec<&str> =
            told.iter().map(String::as_str).filter(|t| !PLAIN.iter().any(|p| t.starts_with(p))).collect();
        if (&told[..], left) != (*expected, *used) {
            wrong += &format!("{log:?}\n  {told:?}, {left}\n");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

#[test]
fn broken_logs_tell_this_and_nothing_else() {
    all_told(
        &[
            ("lat,lon,level\n47,8,-77\n", &["refused unit-missing 2"], 0),
            ("lat,lon,level\n47,8,30\n47,8,31\n", &["refused unit-missing 2"], 0),
            ("lat,lon,level_dbm,level_dbuv\n47,8,-77,30\n", &["assumed columns-unused 1"], 1),
            ("lat,lon,level,unit\n47,8,-77,dBm\n47,8,30,dBuV\n", &["assumed load-assumed"], 2),
            ("lat,lon,level,unit\n47,8,-77,dBm\n47,8,30,\n", &["refused unit-missing 3"], 1),
            ("lat,lon,level_dbm,unit\n47,8,30,dBuV\n", &["refused units-differ 2:4 \"dBuV\""], 0),
            ("lat,lon,level_dbuv\n47,8,30\n", &["assumed load-assumed"], 1),
            ("lat,lon,level [dBuV/m]\n47,8,40\n", &["refused antenna-missing 2", "assumed load-assumed"], 0),
            (
                "lat,lon,level [dBuV/m],gain_dbi\n47,8,40,2\n",
                &["refused antenna-missing 2", "assumed load-assumed"],
                0,
            ),
            (
                "lat,lon,indicated_dbm,attenuator_db\n47,8,-60,twenty\n",
                &["refused not-a-number 2:4 \"twenty\""],
                0,
            ),
            ("lat,lon,indicated_dbm,attenuator_db\n47,8,-60,20 dB\n", &["assumed attenuator-added"], 1),
            (
                "lat;lon;level_dbm\n47,1;8;-77,5\n47.2;8;-77.5\n47,3;8;-1.077,5\n",
                &["assumed delimiter", "refused not-a-number 4:3 \"-1.077,5\""],
                2,
            ),
            ("lat,lon,level_dbm\n47,8,-77,5\n47,8,\"-77,5\"\n", &["refused cells-differ 2"], 1),
            (
                "time_utc,lat,lon,level_dbm\n2026-03-17T10:00:09Z,47,8,-60\n2026-03-17T10:00:01Z,47,8,-61\n",
                &["doubtful time-goes-back 3"],
                2,
            ),
            (
                "time_utc,lat,lon,level_dbm\n2026-03-17T10:00:09Z,47,8,-60\n2026-03-17T10:00:09Z,47,8,-60\n",
                &["doubtful level-repeated 3"],
                1,
            ),
            (
                "time_utc,lat,lon,level_dbm\n23:59:59,47,8,-60\n00:00:01,47,8,-61\n",
                &["doubtful time-unknown 2:1 \"23:59:59\"", "doubtful time-unknown 3:1 \"00:00:01\""],
                2,
            ),
            ("lat,lon,level_dbm\n47,8,-60\n47.1,8,-61\n47.2,8,-62\n0,0,-63\n", &["doubtful place-zero 5"], 3),
            (
                "lat,lon,level_dbm\n47,8,-60\n47.1,8,-61\n47.2,8,-62\n8,47,-63\n",
                &["doubtful misplaced 5", "doubtful place-swapped 5"],
                3,
            ),
            (
                "lat,lon,level_dbm\n47,8,-60\n47.1,8,-61\n47.2,8,-62\n60,30,-63\n",
                &["doubtful place-far 5"],
                3,
            ),
            (
                "lat,lon,level_dbm\n47,8,nan\n47,8,inf\n47,8,-999\n47,8,-1e308\n",
                &[
                    "refused not-a-number 2:3 \"nan\"",
                    "refused not-a-number 3:3 \"inf\"",
                    "refused level-out-of-range 4:3 \"-999\"",
                    "refused level-out-of-range 5:3 \"-1e308\"",
                ],
                0,
            ),
            (
                "lat,lon,level_dbm\n47,8,-200\n47,8,-70\n47,8,-200\n47,8,-71\n47,8,-80\n",
                &["doubtful level-filler 2", "doubtful level-below-heat 2"],
                3,
            ),
            (
                "lat,lon,level_dbm\n47,8,-127\n47,8,-70\n47,8,-127\n47,8,-71\n47,8,-80\n",
                &["doubtful level-filler 2"],
                3,
            ),
            ("lat,lon,level_dbm\n", &["refused no-rows"], 0),
            ("lat,lon,level_dbm", &["refused no-rows"], 0),
            (
                "lat,lon,level_dbm\nlat,lon,level_dbm\n47,8,-60\n",
                &[
                    "refused coordinate 2:1 \"lat\"",
                    "refused coordinate 2:2 \"lon\"",
                    "refused not-a-number 2:3 \"level_dbm\"",
                ],
                1,
            ),
            ("lat,lon,level_dbm\n47,8,#VALUE!\n47,8,-60\n", &["refused not-a-number 2:3 \"#VALUE!\""], 1),
            ("lat,lon,level_dbm\n47,8,3/5\n", &["refused not-a-number 2:3 \"3/5\""], 0),
            (
                "lat,lon,level_dbm\n47,8,\u{2013}77\n47,8,\u{2212}77\n",
                &["refused not-a-number 2:3 \"\u{2013}77\""],
                1,
            ),
            (
                "lat,lon,level_dbm\n47,8,\u{ff0d}\u{ff17}\u{ff17}\n",
                &["refused not-a-number 2:3 \"\u{ff0d}\u{ff17}\u{ff17}\""],
                0,
            ),
            (
                "lat,lon,level_dbm,hdop,fix\n47,8,-60,20,1\n47,8,-61,1,0\n",
                &["assumed fix-numbers", "doubtful level-without-fix 3", "doubtful poor-fix 2"],
                1,
            ),
            ("lat,lon,level_dbm\n47,8,-60\n\"47,8,-61\n47,8,-62\n", &["refused quote-open 3"], 1),
            (
                "lat,lon,level_dbm\n47,8,\"-60\n-61\"\n",
                &["doubtful cell-over-lines 2:3 \"-60\\\\n-61\"", "refused not-a-number 2:3 \"-60\\\\n-61\""],
                0,
            ),
            ("<html><body>-77</body></html>", &["refused columns-missing 1"], 0),
            ("{\"level\": -77}", &["refused not-geojson"], 0),
            ("lat,lon,level_dbm\n47,8,-60\0\n", &["refused not-text"], 0),
            ("lat,lon,time,level_dbm\n47,8,2026-03-17 10:00,-60\n", &["assumed zone-missing"], 1),
            ("lat,lon,level_dbm,floor_dbm\n47,8,-113,-114\n47,8,-111,-114\n47,8,-110,-114\n", &[], 3),
            (
                "lat,lon,level_dbm,rbw_khz\n47,8,-125,200\n47,8,-110,200\n",
                &["doubtful level-below-heat 2"],
                1,
            ),
        ],
        b"",
    );
}

/// A track of ten minutes from ten o'clock, one fix each second, northward.
fn gpx(from: i64, seconds: i64) -> String {
    let points: String = (0..seconds)
        .map(|i| {
            let utc = jiff::Timestamp::from_second(1_773_741_600 + from + i).unwrap();
            format!("<trkpt lat=\"{:.6}\" lon=\"8\"><time>{utc}</time></trkpt>", 47.0 + 1e-5 * i as f64)
        })
        .collect();
    format!("<gpx><trk><trkseg>{points}</trkseg></trk></gpx>")
}

const AT: &str = "time_utc,level_dbm\n";

#[test]
fn logs_and_tracks_that_do_not_fit_tell_this_and_nothing_else() {
    all_told(
        &[
            // Ten o'clock is inside, 9:59 and 10:10 are not.
            (
                "time_utc,level_dbm\n2026-03-17T09:59:00Z,-60\n2026-03-17T10:00:30Z,-61\n2026-03-17T10:10:00Z,-62\n",
                &[
                    "assumed no-place 2",
                    "assumed clock-offset-unknown",
                    "assumed joined 3",
                    "doubtful join-before 2",
                    "doubtful join-after 4",
                    "doubtful level-without-place 2",
                ],
                1,
            ),
            (
                "time_utc,level_dbm\n2026-03-17T10:05:00Z,-60\n2026-03-17T10:05:30Z,-61\n",
                &["assumed no-place 2", "assumed clock-offset-unknown", "assumed joined 2"],
                2,
            ),
            (
                "time_utc,level_dbm\n2026-04-17T10:05:00Z,-60\n2026-04-17T10:05:30Z,-61\n",
                &[
                    "assumed no-place 2",
                    "doubtful clock-no-overlap",
                    "doubtful join-after 2",
                    "doubtful level-without-place 2",
                ],
                0,
            ),
            (
                "time_utc,level_dbm\n2026-03-17T09:05:00Z,-60\n2026-03-17T09:05:30Z,-61\n",
                &[
                    "assumed no-place 2",
                    "doubtful clock-hours",
                    "doubtful join-before 2",
                    "doubtful level-without-place 2",
                ],
                0,
            ),
            (
                "time_utc,level_dbm\n2026-03-17T11:05:00Z,-60\n2026-03-17T11:05:30Z,-61\n",
                &[
                    "assumed no-place 2",
                    "doubtful clock-hours",
                    "doubtful join-after 2",
                    "doubtful level-without-place 2",
                ],
                0,
            ),
            (
                "time_utc,level_dbm\n2026-03-17T15:50:00Z,-60\n2026-03-17T15:50:30Z,-61\n",
                &[
                    "assumed no-place 2",
                    "doubtful clock-hours",
                    "doubtful join-after 2",
                    "doubtful level-without-place 2",
                ],
                0,
            ),
            (
                "time,level_dbm\n2026-03-17 10:05:00,-60\n2026-03-17 10:05:30,-61\n",
                &[
                    "assumed no-place 2",
                    "assumed zone-missing",
                    "doubtful join-no-time 2",
                    "doubtful level-without-place 2",
                ],
                0,
            ),
            (
                "level_dbm\n-60\n-61\n",
                &["assumed no-place 2", "doubtful join-no-time 2", "doubtful level-without-place 2"],
                0,
            ),
            (AT, &["refused no-rows"], 0),
        ],
        gpx(0, 600).as_bytes(),
    );
}

const ROW: &[u8] = b"time_utc,level_dbm\n2026-03-17T10:00:03Z,-60\n";

/// `$`, the text, and its checksum: the exclusive or of its characters (NMEA 0183, 5.3.1).
fn sentences(texts: &[&str]) -> String {
    let line = |t: &&str| format!("${t}*{:02X}\n", t.bytes().fold(0, |sum, b| sum ^ b));
    texts.iter().map(line).collect()
}

#[test]
fn broken_tracks_tell_this_and_nothing_else() {
    let point = |time: &str| format!("<trkpt lat=\"47\" lon=\"8\"><time>{time}</time></trkpt>");
    let (three, five) = (point("2026-03-17T10:00:03Z"), point("2026-03-17T10:00:05Z"));
    let track = |inner: &str| format!("<gpx><trk><trkseg>{inner}</trkseg></trk></gpx>");
    let bomb = "<!DOCTYPE gpx [<!ENTITY a \"ha\"><!ENTITY b \"&a;&a;&a;\">]>";
    let a = |second: u32| format!("GPRMC,1000{second:02},A,4700.0,N,00800.0,E,,,170326,,,A");
    let (rmc3, rmc5) = (a(3), a(5));
    let cases: Vec<(String, &[&str], usize)> = vec![
        (
            format!("<gpx><trk><trkseg>{three}<trkpt lat=\"4"),
            &[
                "assumed no-place 2",
                "refused xml-broken 1",
                "assumed clock-offset-unknown",
                "assumed joined 2",
            ],
            1,
        ),
        (
            format!("<gpx><trk><trkseg>{three}</trk></gpx>"),
            &[
                "assumed no-place 2",
                "refused xml-broken 1",
                "assumed clock-offset-unknown",
                "assumed joined 2",
            ],
            1,
        ),
        (
            format!("{bomb}{}", track(&three)),
            &["assumed no-place 2", "assumed xml-dtd 1", "assumed clock-offset-unknown", "assumed joined 2"],
            1,
        ),
        (
            format!("{bomb}{}", track(&(three.clone() + &point("&b;")))),
            &[
                "assumed no-place 2",
                "assumed xml-dtd 1",
                "refused gpx-value 1 \"\u{fffd}\"",
                "assumed clock-offset-unknown",
                "assumed joined 2",
            ],
            1,
        ),
        (
            track(&(three.clone() + &point("&undefined;"))),
            &[
                "assumed no-place 2",
                "refused gpx-value 1 \"\u{fffd}\"",
                "assumed clock-offset-unknown",
                "assumed joined 2",
            ],
            1,
        ),
        (
            format!("<!DOCTYPE gpx SYSTEM \"file:///etc/hostname\">{}", track(&three)),
            &["assumed no-place 2", "assumed xml-dtd 1", "assumed clock-offset-unknown", "assumed joined 2"],
            1,
        ),
        (
            track("<trkpt lat=\"47\" lon=\"8\"/>"),
            &[
                "assumed no-place 2",
                "refused time-missing 1",
                "refused empty",
                "doubtful track-unused",
                "doubtful level-without-place 2",
            ],
            0,
        ),
        (
            track(&(three.clone() + "<trkpt lat=\"8,5\" lon=\"47\"/>")),
            &[
                "assumed no-place 2",
                "refused gpx-place 1 \"8,5\"",
                "assumed clock-offset-unknown",
                "assumed joined 2",
            ],
            1,
        ),
        (
            track(&(five.clone() + &three)),
            &[
                "assumed no-place 2",
                "doubtful track-order 1",
                "assumed clock-offset-unknown",
                "assumed joined 2",
            ],
            1,
        ),
        (
            "<kml><Placemark/></kml>".to_owned(),
            &[
                "assumed no-place 2",
                "refused not-gpx",
                "doubtful track-unused",
                "doubtful level-without-place 2",
            ],
            0,
        ),
        (
            "<gpx></gpx>".to_owned(),
            &[
                "assumed no-place 2",
                "refused empty",
                "doubtful track-unused",
                "doubtful level-without-place 2",
            ],
            0,
        ),
        (
            "<gpx".to_owned(),
            &[
                "assumed no-place 2",
                "refused xml-broken 1",
                "refused not-gpx",
                "doubtful track-unused",
                "doubtful level-without-place 2",
            ],
            0,
        ),
        (
            sentences(&[&rmc3, &rmc5]).replace("4700.0", "4700.1"),
            &[
                "assumed no-place 2",
                "refused checksum 1 \"$GPRMC,100003,A,4700.1,N,00800.0,E,,,170326,,,A*78\"",
                "refused checksum 2 \"$GPRMC,100005,A,4700.1,N,00800.0,E,,,170326,,,A*7E\"",
                "refused empty",
                "doubtful track-unused",
                "doubtful level-without-place 2",
            ],
            0,
        ),
        (
            sentences(&[&rmc3.replace(",A,4", ",V,4"), &rmc5.replace(",A,4", ",V,4")]),
            &[
                "assumed no-place 2",
                "assumed track-without-fix 1",
                "assumed two-digit-year",
                "doubtful track-unused",
                "doubtful level-without-place 2",
            ],
            0,
        ),
        (
            sentences(&[&rmc3, &rmc3.replace("GPRMC", "GLRMC").replace("4700.0", "4700.9"), &rmc5]),
            &[
                "assumed no-place 2",
                "doubtful sentences-differ 2",
                "assumed two-digit-year",
                "assumed clock-offset-unknown",
                "assumed joined 2",
            ],
            1,
        ),
        (
            sentences(&["GPGSV,1,1,00", "GPTXT,hello"]),
            &[
                "assumed no-place 2",
                "refused empty",
                "assumed sentences-passed-over 1",
                "doubtful track-unused",
                "doubtful level-without-place 2",
            ],
            0,
        ),
        (
            sentences(&[&rmc3, &rmc5.replace("170326", "310226")]),
            &[
                "assumed no-place 2",
                "refused nmea-field 2:10 \"310226\"",
                "assumed two-digit-year",
                "assumed clock-offset-unknown",
                "assumed joined 2",
            ],
            1,
        ),
        (
            format!("{}\u{0}", sentences(&[&rmc3])),
            &[
                "assumed no-place 2",
                "refused not-text",
                "doubtful track-unused",
                "doubtful level-without-place 2",
            ],
            0,
        ),
        (
            "$".to_owned(),
            &[
                "assumed no-place 2",
                "refused checksum-missing 1 \"$\"",
                "refused empty",
                "doubtful track-unused",
                "doubtful level-without-place 2",
            ],
            0,
        ),
    ];
    let mut wrong = String::new();
    for (text, expected, used) in &cases {
        let (told, left) = story(ROW, text.as_bytes(), &Settings::default());
        let told: Vec<&str> =
            told.iter().map(String::as_str).filter(|t| !PLAIN.iter().any(|p| t.starts_with(p))).collect();
        if (&told[..], left) != (*expected, *used) {
            wrong += &format!("{text:?}\n  {told:?}, {left}\n");
        }
    }
    assert!(wrong.is_empty(), "{wrong}");
}

/// Files that no text editor makes.
#[test]
fn hostile_sizes_and_encodings_end_with_one_sentence() {
    let first = |bytes: &[u8]| {
        let read = levels("log.csv", bytes, &Settings::default());
        (read.findings.first().map(in_short), read.rows.len())
    };
    let told = |text: &str| Some(text.to_owned());
    let utf16 = |text: &str| -> Vec<u8> {
        [0xff, 0xfe].into_iter().chain(text.encode_utf16().flat_map(u16::to_le_bytes)).collect()
    };
    assert_eq!(first(&utf16("lat,lon,level_dbm\n47,8,-60\n")).1, 1);
    let mut odd = utf16("lat,lon,level_dbm\n47,8,-60\n");
    odd.pop();
    assert_eq!(first(&odd), (told("refused not-text"), 0));
    assert_eq!(first("a,".repeat(400_000).as_bytes()), (told("refused too-many-columns 1"), 0));
    assert_eq!(first("a,".repeat(1_000_000).as_bytes()), (told("refused line-too-long 1"), 0));
    // Zeroed memory is not touched before its length is judged.
    assert_eq!(first(&vec![0; MAX_LEVEL_BYTES + 1]), (told("refused file-too-large"), 0));
    let (none, findings) = track("track", &vec![0; MAX_LEVEL_BYTES + 1], None);
    assert_eq!((none.fixes.len(), findings[0].code), (0, "file-too-large"));
    let wide = format!("lat,lon,level_dbm\n{}\n", "47,8,-60,".repeat(200));
    assert_eq!(first(wide.as_bytes()), (told("refused cells-differ 2"), 0));
}
