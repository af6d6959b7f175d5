//! Clocks of log and track: stated, estimated, proposed, and where nothing can be told.

use azimark::{
    check,
    finding::{Finding, Severity},
    ingest::{Settings, levels, track},
    numeric::random::Random,
    observe::{LevelReading, Track},
};

use crate::{WALK, clean};

const GPX: &[u8] = include_bytes!("../../fixtures/demo/walk.gpx");

/// `2026-03-17T10:00:00Z` and so many seconds.
fn time(seconds: f64) -> String {
    let ms = (seconds * 1e3).round() as i64;
    let (day, ms) = (17 + ms.div_euclid(86_400_000), ms.rem_euclid(86_400_000));
    let s = ms / 1000;
    format!("2026-03-{day:02}T{:02}:{:02}:{:02}.{:03}Z", s / 3600, s / 60 % 60, s % 60, ms % 1000)
}

/// Ten o'clock.
const TEN: f64 = 36_000.0;

fn gpx(points: &[(f64, f64, f64)]) -> Track {
    let points: String = points
        .iter()
        .map(|(t, lat, lon)| {
            format!("<trkpt lat=\"{lat:.7}\" lon=\"{lon:.7}\"><time>{}</time></trkpt>", time(*t))
        })
        .collect();
    let text = format!("<gpx><trk><trkseg>{points}</trkseg></trk></gpx>");
    let (found, findings) = track("t.gpx", text.as_bytes(), None);
    assert!(findings.is_empty(), "{findings:?}");
    found
}

/// Time, level, and perhaps a place.
type Read = (f64, f64, Option<(f64, f64)>);

/// A log of such rows.
fn log(rows: &[Read]) -> Vec<LevelReading> {
    let mut text = String::from("time_utc,lat,lon,level_dbm\n");
    for (t, level, at) in rows {
        let at = at.map_or(",".to_owned(), |(lat, lon)| format!("{lat:.7},{lon:.7}"));
        text += &format!("{},{at},{level:.1}\n", time(*t));
    }
    levels("log.csv", text.as_bytes(), &Settings::default()).rows
}

fn only<'f>(findings: &'f [Finding], code: &str) -> &'f Finding {
    let all: Vec<&Finding> = findings.iter().filter(|f| f.code == code).collect();
    assert_eq!(all.len(), 1, "{code}: {findings:#?}");
    all[0]
}

fn codes(findings: &[Finding]) -> Vec<&str> {
    findings.iter().map(|f| f.code).collect()
}

/// Metres per degree of latitude and of longitude near 47° (WGS 84: 111.18 and 76.06 km), good to a metre over a kilometre.
const LAT_M: f64 = 111_176.0;
const LON_M: f64 = 76_056.0;

fn place(east: f64, north: f64) -> (f64, f64) {
    (47.0 + north / LAT_M, 8.0 + east / LON_M)
}

/// Ten minutes northward at 1.2 m/s, a fix each second.
fn straight(second: f64) -> (f64, f64) {
    place(0.0, 1.2 * second)
}

fn straight_track() -> Track {
    let point = |i: u32| {
        let (lat, lon) = straight(f64::from(i));
        (TEN + f64::from(i), lat, lon)
    };
    gpx(&(0..600).map(point).collect::<Vec<_>>())
}

/// Places in the log, each off by 4 m: the clock that is 37 s slow is told to within three of its own deviations, and
/// the rows without a place are placed with it.
#[test]
fn places_in_the_log_tell_the_offset() {
    let mut random = Random::seeded(3);
    let rows: Vec<Read> = (60..500)
        .step_by(4)
        .map(|i| {
            let (lat, lon) = straight(f64::from(i));
            let at = (i % 8 == 0)
                .then(|| (lat + 4.0 / LAT_M * random.normal(), lon + 4.0 / LON_M * random.normal()));
            (TEN + f64::from(i) - 37.0, -70.0, at)
        })
        .collect();
    let mut readings = log(&rows);
    let findings = check::place(&mut readings, &[straight_track()], None);
    let found = only(&findings, "clock-offset-estimated");
    assert!(found.message.contains("own places") && found.severity == Severity::Doubtful, "{found}");
    let added = stated_in(&found.message);
    let sigma = deviation_in(&found.message);
    assert!((added - 37.0).abs() < 3.0 * sigma && sigma <= 3.0, "{found}");
    // Each reading that was placed lies where the walker was, but for the clock's error at 1.2 m/s.
    for (reading, (t, ..)) in readings.iter().zip(&rows) {
        let (lat, _) = straight(t - TEN + 37.0);
        let off = (reading.at.unwrap().lat_degrees() - lat).abs() * LAT_M;
        assert!(off < 20.0, "{off}");
    }
    assert_eq!(codes(&findings), ["clock-offset-estimated", "joined"]);
}

/// The first signed number of a message.
fn stated_in(message: &str) -> f64 {
    let start = message.find(['+', '-']).unwrap();
    message[start..].split(' ').next().unwrap().parse().unwrap()
}

fn deviation_in(message: &str) -> f64 {
    message.split("deviation ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap()
}

/// Every place is there already: nothing is moved, and the clocks are still compared.
#[test]
fn a_log_with_all_its_places_is_left_alone_and_a_skew_is_told() {
    for (offset, expected) in [(0.0, &[][..]), (45.0, &["clock-skew"]), (3600.0, &["clock-skew"])] {
        let row = |i: u32| (TEN + f64::from(i) - offset, -70.0, Some(straight(f64::from(i))));
        // An hour away the log would not overlap: the track goes on for two hours.
        let long: Vec<(f64, f64, f64)> = (0..9000)
            .map(|i| {
                let (lat, lon) = straight(f64::from(i).min(600.0));
                (TEN - 4000.0 + f64::from(i), lat, lon)
            })
            .collect();
        let track = if offset == 3600.0 { shifted(&long) } else { straight_track() };
        let mut readings = log(&(60..500).step_by(4).map(row).collect::<Vec<_>>());
        let before = readings.clone();
        let findings = check::place(&mut readings, &[track], None);
        assert_eq!(readings, before);
        assert_eq!(codes(&findings), expected, "{findings:#?}");
        if let Some(found) = findings.first() {
            assert!((stated_in(&found.message) - offset).abs() < 2.0, "{found}");
            let hour = found.message.contains("daylight saving");
            assert_eq!(hour, offset == 3600.0, "{found}");
        }
    }
}

/// The walk at its own time, with a wait of more than an hour before and after it.
fn shifted(long: &[(f64, f64, f64)]) -> Track {
    let points: Vec<(f64, f64, f64)> = long
        .iter()
        .map(|(t, ..)| {
            let (lat, lon) = straight((t - TEN).clamp(0.0, 600.0));
            (*t, lat, lon)
        })
        .collect();
    gpx(&points)
}

#[test]
fn an_hour_is_proposed_and_not_applied() {
    let row = |i: u32| (TEN + f64::from(i) - 3600.0, -70.0, None);
    let rows: Vec<_> = (60..500).step_by(4).map(row).collect();
    let mut readings = log(&rows);
    let findings = check::place(&mut readings, &[straight_track()], None);
    assert_eq!(codes(&findings), ["clock-hours", "join-before"]);
    assert!(findings[0].message.contains("+3600 s") && findings[0].message.contains("daylight saving"));
    assert!(findings[0].hint.as_ref().unwrap().contains("--clock-offset=3600"));
    assert!(readings.iter().all(|r| r.at.is_none()), "nothing is placed by a proposal");
    // Stated, it is applied.
    let findings = check::place(&mut readings, &[straight_track()], Some(3600.0));
    assert_eq!(codes(&findings), ["joined"]);
    assert!(readings.iter().all(|r| r.at.is_some()));
}

/// A straight walk passes no place twice: what the clocks are apart is not told, and none is added.
#[test]
fn from_times_alone_nothing_is_told() {
    let row = |i: u32| (TEN + f64::from(i), -70.0 - f64::from(i % 9), None);
    let mut readings = log(&(60..500).step_by(4).map(row).collect::<Vec<_>>());
    let findings = check::place(&mut readings, &[straight_track()], None);
    assert_eq!(codes(&findings), ["clock-offset-unknown", "joined"]);
    assert!(findings[0].message.contains("0 s are added") && findings[0].severity == Severity::Assumed);
    assert!(findings[1].message.contains("110 reading(s)"), "{}", findings[1]);
}

/// A stated offset is used whatever the places say, and the contradiction is told.
#[test]
fn a_stated_offset_is_used_and_contradicted() {
    let row = |i: u32| (TEN + f64::from(i), -70.0, i.is_multiple_of(8).then(|| straight(f64::from(i))));
    let mut readings = log(&(60..500).step_by(4).map(row).collect::<Vec<_>>());
    let findings = check::place(&mut readings, &[straight_track()], Some(30.0));
    assert_eq!(codes(&findings), ["clock-offset-differs", "joined"]);
    assert!(findings[0].message.starts_with("30 s are stated"), "{}", findings[0]);
    assert!(findings[1].message.contains("30 s added"), "{}", findings[1]);
}

#[test]
fn of_several_tracks_the_one_that_covers_the_log_is_used_and_another_contradicts() {
    let row = |i: u32| (TEN + f64::from(i), -70.0, None);
    let rows: Vec<_> = (60..500).step_by(4).map(row).collect();
    let other = |east: f64, range: std::ops::Range<u32>| {
        let point = |i: u32| {
            let (lat, lon) = place(east, 1.2 * f64::from(i));
            (TEN + f64::from(i), lat, lon)
        };
        gpx(&range.map(point).collect::<Vec<_>>())
    };
    // The second begins where the first ends.
    let mut readings = log(&rows);
    let findings = check::place(&mut readings, &[other(0.0, 300..600), other(0.0, 0..320)], Some(0.0));
    assert_eq!(codes(&findings), ["joined", "joined"]);
    assert!(readings.iter().all(|r| r.at.is_some()));
    for (east, expected) in [(40.0, &["joined"][..]), (60.0, &["joined", "tracks-differ"])] {
        let mut readings = log(&rows);
        let findings = check::place(&mut readings, &[other(east, 100..200), straight_track()], Some(0.0));
        assert_eq!(codes(&findings), expected, "{findings:#?}");
        let lon = readings[20].at.unwrap().lon_degrees();
        assert!((lon - 8.0).abs() < 1e-9, "the longer track places: {lon}");
    }
}

/// Shadowing that is smooth over about 20 m, with one standard deviation of 6 dB: sixty waves in all directions.
struct Shadow(Vec<(f64, f64, f64)>);

impl Shadow {
    fn new(random: &mut Random) -> Self {
        let wave =
            |r: &mut Random| (r.normal() / 20.0, r.normal() / 20.0, std::f64::consts::TAU * r.uniform());
        Self((0..60).map(|_| wave(random)).collect())
    }

    fn at(&self, east: f64, north: f64) -> f64 {
        let waves = self.0.iter().map(|(x, y, phase)| (x * east + y * north + phase).cos());
        6.0 * (2.0 / 60.0f64).sqrt() * waves.sum::<f64>()
    }
}

/// Forty minutes on the streets of a small town, blocks of 80 m, turning by chance: where, at each second.
fn stroll(random: &mut Random) -> Vec<(f64, f64)> {
    let (mut at, mut out) = ((2i32, 2i32), Vec::new());
    let mut last = (0, 0);
    while out.len() < 2400 {
        let ways = [(1, 0), (-1, 0), (0, 1), (0, -1)];
        let way = ways[(4.0 * random.uniform()) as usize % 4];
        let next = (at.0 + way.0, at.1 + way.1);
        if !(0..5).contains(&next.0) || !(0..5).contains(&next.1) || way == (-last.0, -last.1) {
            continue;
        }
        for step in 0..66 {
            let along = f64::from(step) / 66.0;
            let coordinate = |from: i32, by: i32| 80.0 * (f64::from(from) + along * f64::from(by));
            out.push((coordinate(at.0, way.0), coordinate(at.1, way.1)));
        }
        (at, last) = (next, way);
    }
    out
}

/// Levels alone, where streets are passed again. Whatever is applied must be right: within three of its own standard
/// deviations in every trial, and where nothing repeats nothing is applied.
#[test]
fn levels_of_repeated_passes_tell_the_offset_honestly() {
    let (mut applied, mut squares, mut outside) = (0, 0.0, 0);
    for seed in 0..40 {
        let mut random = Random::seeded(100 + seed);
        let (way, shadow) = (stroll(&mut random), Shadow::new(&mut random));
        let offset = (240.0 * (random.uniform() - 0.5)).round();
        let (mut fix, mut gps) = (Vec::new(), (0.0, 0.0));
        for (second, (east, north)) in way.iter().enumerate() {
            // A receiver's error wanders: 3 m, over half a minute.
            let wander = |e: f64, r: &mut Random| 0.967 * e + 3.0 * 0.255 * r.normal();
            gps = (wander(gps.0, &mut random), wander(gps.1, &mut random));
            let (lat, lon) = place(east + gps.0, north + gps.1);
            fix.push((TEN + second as f64, lat, lon));
        }
        let rows: Vec<_> = (150..2250)
            .step_by(2)
            .map(|second| {
                let (east, north) = way[second];
                let distance = (east - 190.0).hypot(north - 130.0).hypot(6.0);
                let level = -30.0 - 30.0 * distance.log10() + shadow.at(east, north) + 2.0 * random.normal();
                (TEN + second as f64 - offset, level, None)
            })
            .collect();
        let findings = check::place(&mut log(&rows), &[gpx(&fix)], None);
        let told = &findings[0];
        if told.code == "clock-offset-estimated" || told.code == "clocks-agree" {
            let miss = (stated_in(&told.message) - offset) / deviation_in(&told.message);
            applied += 1;
            squares += miss * miss;
            outside += usize::from(miss.abs() > 3.0);
        } else {
            assert_eq!(told.code, "clock-offset-unknown");
        }
    }
    println!("{applied} applied, mean square {}", squares / f64::from(applied));
    assert_eq!(outside, 0, "an offset that is applied is right");
    assert!(applied >= 20, "{applied} of 40: mostly it can be told");
    // The mean square of normal misses in their own deviations is 1; 2.3 is its 99.9 % limit for twenty of them (chi-square
    // quantile 45.3/20), and less only says that the deviation is stated wide.
    assert!(squares / f64::from(applied) < 2.3, "{}", squares / f64::from(applied));
}

/// The demo's walk without its places: its own clock agrees with its track.
#[test]
fn the_demo_walk_is_never_moved_from_its_own_clock_by_more_than_it_says() {
    let with = clean("walk_log.csv", WALK, &Settings::default());
    let mut without = with.clone();
    without.iter_mut().for_each(|r| r.at = None);
    let (track, _) = track("walk.gpx", GPX, None);
    let findings = check::place(&mut without, &[track], None);
    let told = &findings[0];
    println!("{told}");
    assert!(["clocks-agree", "clock-offset-unknown"].contains(&told.code), "{told}");
    assert!(with.iter().zip(&without).all(|(a, b)| a.at == b.at));
}
