//! Checks of a log as a whole: each provoked, and just not provoked.

use azimark::{
    check::{self, Heard, Label, Labelled},
    finding::Finding,
    ingest::{Settings, levels},
    numeric::random::Random,
    observe::LevelReading,
};

use crate::{MONITOR, WALK, clean};

fn read(text: &str) -> Vec<LevelReading> {
    levels("log.csv", text.as_bytes(), &Settings::default()).rows
}

fn labelled(rows: &[LevelReading]) -> Labelled {
    check::levels(rows, &[])
}

fn finding<'f>(found: &'f Labelled, code: &str) -> Option<&'f Finding> {
    found.findings.iter().find(|f| f.code == code)
}

fn lines(rows: &[LevelReading], label: Label) -> Vec<u64> {
    let found = labelled(rows);
    rows.iter().zip(&found.labels).filter(|(_, l)| l.has(label)).map(|(r, _)| r.written.line).collect()
}

/// Minutes and seconds after ten o'clock.
fn time(second: usize) -> String {
    format!("2026-03-17T{:02}:{:02}:{:02}Z", 10 + second / 3600, second / 60 % 60, second % 60)
}

/// Findings of the demo beside counted labels: nothing of these is doubted there but what is told.
#[test]
fn the_demo_walk_gives_few_doubts() {
    let walk = clean("walk_log.csv", WALK, &Settings::default());
    let monitor = clean("monitor.csv", MONITOR, &Settings::default());
    let found = check::levels(&walk, &monitor);
    let doubts: Vec<&str> = found
        .findings
        .iter()
        .filter(|f| f.severity == azimark::finding::Severity::Doubtful)
        .map(|f| f.code)
        .collect();
    let labels = ["off-air", "level-without-place", "position-jump", "poor-fix"];
    assert_eq!(doubts, [&["floor-estimated"][..], &labels].concat(), "{:#?}", found.findings);
    // The receiver's floor in the demo is -114.0 dBm in 200 kHz; the median of 50 readings that flutter by half a decibel.
    let floor = finding(&found, "floor-estimated").unwrap();
    assert!(floor.message.contains("50 reading(s)"), "{floor}");
    // A median of 50: 1.25 times 0.5 dB/√50, three of them.
    assert!((floor_in(floor) + 114.0).abs() < 0.3, "{floor}");
}

fn floor_in(floor: &Finding) -> f64 {
    floor.message.split("around ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap()
}

#[test]
fn places_at_zero_swapped_and_far_are_left_out() {
    let mut text = String::from("lat,lon,level_dbm\n");
    for i in 0..20 {
        text += &format!("47.{:03},8.{:03},{}\n", i, 2 * i, -60 - i);
    }
    text += "0,0,-70\n8.5,47.2,-71\n-47.1,8.1,-72\n48.2,16.4,-73\n47.3,8.1,-74\n";
    let rows = read(&text);
    assert_eq!(lines(&rows, Label::ZeroPlace), [22]);
    assert_eq!(lines(&rows, Label::Misplaced), [23, 24]);
    assert_eq!(lines(&rows, Label::Far), [25]);
    let found = labelled(&rows);
    assert_eq!((0..25).filter(|i| found.left_out(*i)).count(), 4);
    let hint = finding(&found, "misplaced").unwrap().hint.clone().unwrap();
    assert!(hint.starts_with("did you mean 47.20000, 8.50000?"), "{hint}");
    // A walk at 0, 0 is one, and a drive of 300 km has places far apart.
    let drive: String = (0..30).map(|i| format!("0,{},-70.{i}\n", f64::from(i) * 0.1)).collect();
    let rows = read(&format!("lat,lon,level_dbm\n{drive}"));
    for label in [Label::ZeroPlace, Label::Misplaced, Label::Far] {
        assert_eq!(lines(&rows, label), [0; 0], "{label:?}");
    }
}

#[test]
fn what_is_written_twice_counts_once_and_standing_still_is_no_repetition() {
    let row = |second: usize, level: f64| format!("{},47,8,{level}\n", time(second));
    let twice = [row(0, -60.0), row(1, -61.0), row(1, -61.0), row(1, -62.0), row(0, -60.0)].concat();
    let rows = read(&format!("time_utc,lat,lon,level_dbm\n{twice}"));
    assert_eq!(lines(&rows, Label::Repeated), [4, 6]);
    let still = read("lat,lon,level_dbm\n47,8,-60\n47,8,-60\n47,8,-60\n");
    assert_eq!(lines(&still, Label::Repeated), [0; 0]);
    // Two receivers may show the same at one time and place.
    let two = "time_utc,device,lat,lon,level_dbm\n2026-03-17T10:00:00Z,a,47,8,-60\n2026-03-17T10:00:00Z,b,47,8,-60\n";
    assert_eq!(lines(&read(two), Label::Repeated), [0; 0]);
}

/// Thermal noise at 290 K: -173.975 dBm in 1 Hz, so -120.96 dBm in 200 kHz (k of the SI, T₀ of ITU-R P.372).
#[test]
fn levels_below_heat_and_fillers_are_no_measurements() {
    let mut random = Random::seeded(5);
    let log = |header: &str, extra: &[&str], random: &mut Random| {
        let mut text = format!("{header}\n");
        (0..40).for_each(|_| text += &format!("{:.1}\n", -85.0 + 8.0 * random.normal()));
        extra.iter().for_each(|e| text += &format!("{e}\n"));
        read(&text)
    };
    let rows = log("level_dbm_200khz", &["-121.0", "-120.9"], &mut random);
    assert_eq!(lines(&rows, Label::BelowHeat), [42]);
    let rows = log("level_dbm", &["-174.1", "-173.9"], &mut random);
    assert_eq!(lines(&rows, Label::BelowHeat), [42]);
    for (extra, expected) in [
        (&["-200", "-200"][..], &[42, 43][..]),
        (&["-150", "-150", "-150"], &[42, 43, 44]),
        (&["0", "0"], &[42, 43]),
        (&["-150"], &[]),
        (&["-150", "-149"], &[]),
        (&["-115", "-115"], &[]),
    ] {
        let rows = log("level_dbm", extra, &mut random);
        assert_eq!(lines(&rows, Label::Filler), expected, "{extra:?}");
    }
}

/// A log with a pile of readings just above -104, and one that thins out downwards.
#[test]
fn a_floor_is_seen_where_readings_pile_up_and_nowhere_else() {
    let mut random = Random::seeded(9);
    let mut log = |noise: Option<f64>| {
        let mut text = String::from("lat,lon,indicated_dbm,attenuator_db,corrected_dbm\n");
        for i in 0..300 {
            let signal = -104.0 + 12.0 * random.normal();
            let shown = noise.map_or(signal, |n| {
                // Powers add; the noise itself flutters by 0.4 dB.
                let noise = n + 0.4 * random.normal();
                10.0 * (10f64.powf(signal / 10.0) + 10f64.powf(noise / 10.0)).log10()
            });
            let pad = if i % 3 == 0 { 10.0 } else { 0.0 };
            text += &format!("47,8,{shown:.1},{pad},{:.1}\n", shown + pad);
        }
        read(&text)
    };
    // Half of the signals are weaker than the noise: what piles up is noise and those, 0 to 2 dB above it.
    let rows = log(Some(-104.0));
    let floor = finding(&labelled(&rows), "floor-estimated").cloned().expect("a pile at the bottom");
    let value = floor_in(&floor);
    assert!((-104.5..-102.0).contains(&value), "{floor}");
    // Behind 10 dB of attenuator the floor at the antenna lies 10 dB higher.
    let prepared = check::usable(&rows, &labelled(&rows).labels);
    let limits = prepared.levels.iter().filter_map(|l| match l.heard {
        Heard::Below(limit) => Some((rows[l.index].attenuator.unwrap().value(), limit.value())),
        Heard::Signal { .. } => None,
    });
    let limits: Vec<(f64, f64)> = limits.collect();
    assert!(limits.iter().any(|l| l.0 == 10.0) && limits.iter().any(|l| l.0 == 0.0));
    assert!(limits.iter().all(|(pad, limit)| (limit - pad - value).abs() < 0.051), "{limits:?}");
    let none = labelled(&log(None));
    assert!(finding(&none, "floor-estimated").is_none() && finding(&none, "floor-unknown").is_some());
    let stated = read("level_dbm,floor_dbm\n-77,-114\n-78,-114\n");
    assert!(finding(&labelled(&stated), "floor-unknown").is_none());
}

/// Noise at -104 dBm, of which 0 to 2 dB are seen with weak signals, where the list states a floor.
#[test]
fn a_stated_floor_is_raised_to_a_pile_above_it_and_never_lowered() {
    let log = |stated: f64| {
        let mut random = Random::seeded(9);
        let mut text = String::from("lat,lon,level_dbm,floor_dbm\n");
        for _ in 0..300 {
            let (signal, noise) = (-104.0 + 12.0 * random.normal(), -104.0 + 0.4 * random.normal());
            let shown = 10.0 * (10f64.powf(signal / 10.0) + 10f64.powf(noise / 10.0)).log10();
            text += &format!("47,8,{shown:.1},{stated}\n");
        }
        read(&text)
    };
    let raised = log(-114.0);
    let found = labelled(&raised);
    let told = finding(&found, "floor-raised").expect("a pile above the stated floor");
    let value = floor_in(told);
    assert!((-104.5..-102.0).contains(&value), "{told}");
    let limits: Vec<f64> = check::usable(&raised, &found.labels)
        .levels
        .iter()
        .filter_map(|l| if let Heard::Below(limit) = l.heard { Some(limit.value()) } else { None })
        .collect();
    // Half of the signals are weaker than the noise; what is seen of them lies around the pile.
    assert!(limits.len() > 90 && limits.iter().all(|l| (l - value).abs() < 0.051), "{limits:?}");
    for stated in [-103.0, -95.0] {
        assert!(finding(&labelled(&log(stated)), "floor-raised").is_none(), "{stated}");
    }
}

/// A signal that lies still but for 1 dB, behind a pad that is switched every five readings; `falls` are the decibels by
/// which the receiver's display falls for each of the pad.
fn padded(falls: f64, switches: usize, at: &str) -> Vec<LevelReading> {
    let mut random = Random::seeded(17);
    let mut text = String::from("time_utc,lat,lon,indicated_dbm,attenuator_db\n");
    for i in 0..(5 * (switches + 1)) {
        let pad = if (i / 5) % 2 == 1 { 10.0 } else { 0.0 };
        let shown = -40.0 - falls * pad + 1.0 * random.normal();
        text += &format!("{},{at},{shown:.1},{pad}\n", time(4 * i));
    }
    read(&text)
}

/// A true signal falls by 1 dB for each, a product of second or third order by 2 or 3 (arithmetic of powers).
#[test]
fn the_attenuator_tells_signal_from_product_and_from_overload() {
    let codes = ["attenuator-product", "attenuator-scale", "attenuator-compression"];
    for (falls, expected) in [
        (1.0, None),
        (3.0, Some(codes[0])),
        (2.0, Some(codes[0])),
        (1.2, None),
        (1.4, Some(codes[1])),
        (0.5, Some(codes[2])),
        (0.0, Some(codes[2])),
    ] {
        let found = labelled(&padded(falls, 30, "47,8"));
        let told = found.findings.iter().find(|f| codes.contains(&f.code));
        assert_eq!(told.map(|f| f.code), expected, "{falls}: {:#?}", found.findings);
        if let Some(told) = told {
            assert!(told.message.contains("30 switches"), "{told}");
            let value: f64 =
                told.message.split("falls by ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
            // One standard deviation is √2·1 dB/(10 dB·√30) = 0.026; three of them.
            assert!((value - falls).abs() < 0.08, "{told}");
        }
    }
    // Without places it may be the walker's doing that a level falls too little, but not that it falls too much.
    let told = |falls| labelled(&padded(falls, 30, ",")).findings.iter().any(|f| codes.contains(&f.code));
    assert!(told(3.0) && !told(0.5));
    // Three switches say nothing.
    assert!(labelled(&padded(3.0, 3, "47,8")).findings.iter().all(|f| !codes.contains(&f.code)));
}

#[test]
fn a_receiver_that_freezes_on_the_way_is_labelled() {
    let log = |frozen: std::ops::Range<usize>, step: f64| {
        let mut text = String::from("time_utc,lat,lon,level_dbm\n");
        for i in 0..100 {
            let level = if frozen.contains(&i) { -75.0 } else { -60.0 - ((i * 37) % 41) as f64 };
            text += &format!("{},{:.6},8,{level}\n", time(4 * i), 47.0 + step * i as f64);
        }
        read(&text)
    };
    // 4.5e-5 degrees are 5 m: twenty readings are 95 m.
    assert_eq!(lines(&log(30..50, 4.5e-5), Label::Stuck), (32..52).collect::<Vec<u64>>());
    assert_eq!(lines(&log(30..49, 4.5e-5), Label::Stuck), [0; 0]);
    assert_eq!(lines(&log(30..60, 1e-5), Label::Stuck), [0; 0], "30 m in 30 readings may be one level");
}

/// Two receivers on one way, of which `b` reads 5 dB more.
#[test]
fn receivers_that_differ_are_told_with_their_difference() {
    let mut random = Random::seeded(21);
    let mut log = |more: f64, east: f64| {
        let mut text = String::from("device,lat,lon,level_dbm\n");
        for i in 0..60 {
            let shadow = 6.0 * random.normal();
            for (device, extra, lon) in [("a", 0.0, 8.0), ("b", more, 8.0 + east)] {
                let level = -80.0 + shadow + extra + random.normal();
                text += &format!("{device},{:.6},{lon},{level:.1}\n", 47.0 + 2e-4 * f64::from(i));
            }
        }
        read(&text)
    };
    let found = labelled(&log(5.0, 0.0));
    let told = finding(&found, "receivers-differ").expect("5 dB are told");
    let value: f64 = told.message.split("by ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    // 60 places, √2 dB each: 0.18 dB; three of them.
    // Of two with as many readings the last by name is the one that others are compared with.
    assert!(told.message.contains("differ from b: a by"), "{told}");
    assert!((value + 5.0).abs() < 0.6 && told.message.contains("60 places"), "{told}");
    assert!(finding(&labelled(&log(0.0, 0.0)), "receivers-differ").is_none());
    let apart = labelled(&log(5.0, 0.01));
    assert!(finding(&apart, "receivers-differ").is_none() && finding(&apart, "receivers-apart").is_some());
    let unnamed = labelled(&read("lat,lon,level_dbm\n47,8,-60\n"));
    assert!(finding(&unnamed, "receiver-unnamed").is_some());
}

/// One sample every 5 m over 600 m, as wide as `width` either way, with levels that spread by `spread`.
fn street(width: f64, spread: f64) -> Vec<LevelReading> {
    let mut random = Random::seeded(33);
    let mut text = String::from("lat,lon,level_dbm\n");
    for i in 0..120 {
        let across = width * (random.uniform() - 0.5);
        // 30° from north: 111.2 km and 76.1 km for a degree at 47°.
        let (along, turn) = (5.0 * f64::from(i), 30f64.to_radians());
        let (east, north) =
            (along * turn.sin() + across * turn.cos(), along * turn.cos() - across * turn.sin());
        let level = -80.0 + spread * random.normal();
        text += &format!("{:.7},{:.7},{level:.1}\n", 47.0 + north / 111_176.0, 8.0 + east / 76_056.0);
    }
    read(&text)
}

/// On an exact line a place and its mirror image are equally far from every reading.
#[test]
fn one_street_cannot_tell_its_two_sides_apart() {
    for (width, expected) in [(0.0, true), (8.0, true), (400.0, false)] {
        let found = labelled(&street(width, 8.0));
        let told = finding(&found, "levels-one-line");
        assert_eq!(told.is_some(), expected, "{width}: {told:?}");
        if let Some(told) = told {
            assert!(
                told.message.contains("mirror place") && told.message.contains("030°T to 210°T"),
                "{told}"
            );
            // The middle 95 % of 595 m.
            assert!(told.message.contains("565 m long") || told.message.contains("566 m"), "{told}");
        }
    }
    let spot: String = (0..9).map(|i| format!("47.00000{i},8,-{}\n", 60 + 5 * i)).collect();
    assert!(finding(&labelled(&read(&format!("lat,lon,level_dbm\n{spot}"))), "levels-one-spot").is_some());
}

/// 4 dB: standard deviation of shadowing in sight of the antenna (3GPP TR 38.901, Table 7.4.1-1, UMi and UMa).
#[test]
fn levels_that_vary_no_more_than_shadowing_are_told() {
    assert!(finding(&labelled(&street(400.0, 3.0)), "level-range-small").is_some());
    assert!(finding(&labelled(&street(400.0, 6.0)), "level-range-small").is_none());
}

/// The demo's monitor with its clock set wrong by two minutes, either way.
#[test]
fn a_monitor_whose_clock_is_wrong_is_told() {
    let walk = clean("walk_log.csv", WALK, &Settings::default());
    let monitor = clean("monitor.csv", MONITOR, &Settings::default());
    assert!(finding(&check::levels(&walk, &monitor), "clock-skew").is_none());
    for offset in [120i64, -120] {
        let late: Vec<LevelReading> = monitor
            .iter()
            .map(|r| {
                let time = r.time.as_ref().unwrap();
                let utc = time.utc().checked_add(jiff::SignedDuration::from_secs(offset)).unwrap();
                LevelReading { time: Some(azimark::instant::Instant::new(utc, "", None)), ..r.clone() }
            })
            .collect();
        let found = check::levels(&walk, &late);
        let told = finding(&found, "clock-skew").unwrap_or_else(|| panic!("{:#?}", found.findings));
        let shift: f64 =
            told.message.split("best with ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
        // The monitor has a sample each ten seconds.
        assert!((shift - offset as f64).abs() <= 10.0, "{told}");
    }
}
