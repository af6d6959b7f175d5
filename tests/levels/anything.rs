//! Whatever is thrown at the readers, they end, and what they give has a meaning.

use azimark::{
    check::{self, Heard},
    finding::Severity,
    geodesy::{Plane, PlanePoint},
    ingest::{Join, LevelSettings, PadIn, Settings, join, kind, levels, sectors, swings, track},
    north,
    observe::{Level, LevelUnit, Load},
    solve::{
        sectors::{SectorPriors, Sectors, sights},
        swing::bearings,
    },
};
use proptest::{
    collection::vec,
    prelude::{Strategy, any, prop_assert, prop_oneof, proptest},
    sample::select,
};

fn header() -> impl Strategy<Value = &'static str> {
    select(vec![
        "level_dbm",
        "level",
        "Pegel [dBµV]",
        "indicated_dbm",
        "level [dBµV/m]",
        "rssi",
        "unit",
        "attenuator_db",
        "floor_dbm",
        "rbw_khz",
        "hdop",
        "fix",
        "sats",
        "time_utc",
        "lat",
        "lon",
        "position",
        "easting",
        "northing",
        "epsg",
        "device",
        "gain_dbi",
        "antenna factor",
        "cable loss",
        "freq_mhz",
        "remarks",
        "height",
        "azimuth",
        "azimuth_true",
        "beamwidth",
        "rise_db",
        "interference_dbm",
        "averaging",
        "",
    ])
}

fn cell() -> impl Strategy<Value = String> {
    let written = select(vec![
        "",
        "-77",
        "-77,5",
        "30",
        "<-114",
        "off",
        "1e308",
        "-0",
        "NaN",
        "47.5",
        "8.25",
        "dBm",
        "dBµV/m",
        "20",
        "0",
        "3d",
        "2026-03-17T15:40:00Z",
        "17.03.2026 08:40",
        "11TLN96770117",
        "\u{202e}x",
        "a\u{1b}[2J",
        "\"",
        "²",
    ]);
    prop_oneof![4 => written.prop_map(str::to_owned), 1 => any::<String>()]
}

fn settings() -> impl Strategy<Value = Settings> {
    let unit = select(vec![None, Some(LevelUnit::Dbm), Some(LevelUnit::Microvolt(Load::Ohm75))]);
    let pad = select(vec![None, Some(PadIn::Level), Some(PadIn::NotLevel)]);
    (unit, pad, select(vec![None, Some(-114.0), Some(f64::NAN)])).prop_map(|(unit, attenuator, floor)| {
        let levels = LevelSettings { unit, attenuator, floor, ..LevelSettings::default() };
        Settings { levels, ..Settings::default() }
    })
}

proptest! {
    #[test]
    fn any_bytes_end(bytes in vec(any::<u8>(), 0..400), settings in settings()) {
        kind(&bytes);
        levels("x", &bytes, &settings);
        sectors("x", &bytes, &settings);
        swings("x", &bytes, &settings);
        track("x", &bytes, None);
    }

    #[test]
    fn any_table_gives_levels_with_a_meaning(
        head in vec(header(), 1..8),
        rows in vec(vec(cell(), 1..9), 0..6),
        mark in select(vec![",", ";", "\t"]),
        settings in settings(),
    ) {
        let lines: Vec<String> = rows.iter().map(|r| r.join(mark)).collect();
        let text = format!("{}\n{}\n", head.join(mark), lines.join("\n"));
        let read = levels("x", text.as_bytes(), &settings);
        for row in &read.rows {
            let level = match row.level {
                Level::Measured(l) | Level::BelowFloor(l) => l.value(),
                Level::OffAir => 0.0,
            };
            prop_assert!((-204.0..=60.0).contains(&level), "{row:?}");
            prop_assert!(row.floor.is_none_or(|f| f.value().is_finite()), "{row:?}");
            prop_assert!(row.fix.hdop.is_none_or(|h| h > 0.0 && h < 100.0));
            prop_assert!(row.height.is_none_or(|h| h.value().is_finite()));
        }
        let labelled = check::levels(&read.rows, &read.rows);
        prop_assert!(labelled.labels.len() == read.rows.len());
        let prepared = check::usable(&read.rows, &labelled.labels);
        let left_out: usize = prepared.left_out.iter().map(|(_, count)| count).sum();
        prop_assert!(prepared.levels.len() + left_out == read.rows.len());
        for used in &prepared.levels {
            prop_assert!(used.device < prepared.devices.len());
            if let Heard::Signal { level, sigma } = used.heard {
                let read = read.rows[used.index].level.measured().unwrap();
                prop_assert!(level.value() <= read.value() + 1e-9 && level.value() >= read.value() - 3.02);
                prop_assert!(sigma.to_db() >= 1.0 && sigma.to_db() < 2.3);
            }
        }
        for finding in &read.findings {
            prop_assert!(finding.severity != Severity::Refused || finding.hint.is_some(), "{finding}");
            prop_assert!(!finding.to_string().lines().any(|l| l.chars().any(char::is_control)), "{finding}");
        }
    }

    /// What is read as sectors can be weighed at any place.
    #[test]
    fn any_table_gives_sectors_with_a_meaning(
        head in vec(header(), 0..5),
        rows in vec(vec(cell(), 8..13), 1..5),
        (east, north_m) in (-1e6..1e6f64, -1e6..1e6f64),
    ) {
        let head = [&["lat", "lon", "azimuth_true", "beamwidth", "floor_dbm", "rise_db", "level_dbm", "gain"], &head[..]].concat();
        // Beyond the columns of which each sector needs the first six, any cell; within, numbers that may be right.
        let plain = ["47.5", "8.25", "20", "65", "-102", "7.5"];
        let row = |cells: &Vec<String>| {
            let cell = |(i, c): (usize, &String)| match plain.get(i) {
                Some(p) if c.len() % 4 != 1 => (*p).to_owned(),
                _ => c.replace([';', '\n', '\r', '"'], ""),
            };
            cells.iter().enumerate().map(cell).take(head.len()).collect::<Vec<_>>().join(";")
        };
        let lines: Vec<String> = rows.iter().map(row).collect();
        let text = format!("{}\n{}\n", head.join(";"), lines.join("\n"));
        let read = sectors("x", text.as_bytes(), &Settings::default());
        prop_assert!(read.findings.iter().all(|f| f.severity != Severity::Refused || f.hint.is_some()));
        let found = north::resolve_sectors(&read.rows, &north::Settings::default()).sectors;
        let usable = check::sectors(found).usable;
        let places: Vec<_> = usable.iter().map(|s| s.sector().at).collect();
        let Some(plane) = Plane::centred_on(&places) else { return Ok(()) };
        let priors = SectorPriors::default();
        let weighed = Sectors::new(sights(&usable, &plane, &priors), priors);
        let log = weighed.log_likelihood(PlanePoint { east, north: north_m });
        prop_assert!(log.is_finite(), "{text}: {log}");
    }

    /// Headings and levels of every size, some of them broken: whatever is read gives a sound bearing, or a reason why not.
    #[test]
    fn any_swing_gives_a_bearing_or_a_reason(
        head in vec(header(), 0..3),
        rows in vec((-10..400i32, swing_level(), vec(cell(), 0..4)), 0..40),
    ) {
        let lines: Vec<String> =
            rows.iter().map(|(h, level, more)| format!("47,8,{h},{level},{}", more.join(","))).collect();
        let text = format!("lat,lon,heading_deg_true,level_dbm,{}\n{}\n", head.join(","), lines.join("\n"));
        let read = swings("x", text.as_bytes(), &Settings::default());
        let turned = bearings(&read.rows);
        prop_assert!(turned.fits.len() == read.rows.len());
        for bearing in &turned.bearings {
            prop_assert!((0.0..360.0).contains(&bearing.read.to_degrees()), "{bearing:?}");
            prop_assert!(bearing.front.is_none_or(|l| l.value().is_finite()), "{bearing:?}");
        }
        for fit in &turned.fits {
            let given = fit.direction.is_some_and(|d| (1.0..46.0).contains(&d.sigma.to_degrees()));
            prop_assert!(given || fit.findings.iter().any(|f| f.code == "no-direction"), "{fit:?}");
        }
        for finding in read.findings.iter().chain(&turned.findings) {
            prop_assert!(finding.severity != Severity::Refused || finding.hint.is_some(), "{finding}");
            prop_assert!(!finding.to_string().lines().any(|l| l.chars().any(char::is_control)), "{finding}");
        }
    }

    /// Pieces of sentences and of XML in any order, with right checksums.
    #[test]
    fn any_track_ends_in_order(
        pieces in vec(piece(), 0..40),
        xml in any::<bool>(),
        checked in any::<bool>(),
    ) {
        let text = if xml { format!("<{}", pieces.concat()) } else { lines(&pieces, checked) };
        let (found, findings) = track("x", text.as_bytes(), None);
        prop_assert!(found.fixes.windows(2).all(|w| w[0].time < w[1].time));
        prop_assert!(!found.fixes.is_empty() || !findings.is_empty(), "nothing is silent");
        prop_assert!(findings.iter().all(|f| f.severity != Severity::Refused || f.hint.is_some()));
        let mut rows = levels("x", b"time_utc,level_dbm\n2026-03-17T10:00:03Z,-60\n", &Settings::default()).rows;
        join(&mut rows, &found, &Join { clock_offset_ms: i64::MAX, longest_gap_ms: i64::MAX });
        let mut placed = rows.clone();
        join(&mut rows, &found, &Join::default());
        for stated in [None, Some(0.0), Some(-1e300), Some(f64::NAN)] {
            check::place(&mut placed, &[found.clone(), found.clone()], stated);
        }
    }
}

fn swing_level() -> impl Strategy<Value = String> {
    let usual = (-120..-20i32).prop_map(|l| l.to_string());
    let odd =
        select(vec!["-60", "-60", "<-100", "off", "-204", "60", "-60.0001", "x"]).prop_map(str::to_owned);
    prop_oneof![3 => usual, 1 => odd]
}

fn piece() -> impl Strategy<Value = String> {
    let written = select(vec![
        "GPRMC",
        "GPGGA",
        "100000",
        "235959.99",
        "000001",
        "A",
        "V",
        "4700.0",
        "N",
        "S",
        "00800.0",
        "E",
        "170326",
        "010100",
        "1",
        "0",
        "8",
        "0.9",
        ",",
        ",",
        ",",
        ",",
        "\n",
        "<gpx>",
        "</gpx>",
        "<trk>",
        "<trkseg>",
        "</trkseg>",
        "<trkpt lat=\"47\" lon=\"8\">",
        "</trkpt>",
        "<time>",
        "</time>",
        "2026-03-17T10:00:00Z",
        "<wpt/>",
        "&lt;",
        "<!DOCTYPE a [<!ENTITY b \"c\">]>",
        "&b;",
        "<![CDATA[x]]>",
        "<!--",
        "-->",
        "gpx>",
    ]);
    prop_oneof![9 => written.prop_map(str::to_owned), 1 => any::<String>()]
}

fn lines(pieces: &[String], checked: bool) -> String {
    let text = pieces.concat();
    let sum = |line: &str| line.bytes().fold(0, |sum, b| sum ^ b);
    let line = |line: &str| if checked { format!("${line}*{:02X}", sum(line)) } else { format!("${line}") };
    text.lines().map(line).collect::<Vec<_>>().join("\n")
}
