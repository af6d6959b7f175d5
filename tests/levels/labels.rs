//! Labels: the demo's, and each of them provoked and just not provoked.

use azimark::{
    check::{self, Label},
    ingest::{Settings, levels},
    observe::LevelReading,
};

use crate::{CLOSE, MONITOR, WALK, clean};

fn read(text: &[u8]) -> Vec<LevelReading> {
    levels("log.csv", text, &Settings::default()).rows
}

/// Lines of the readings that have a label.
fn lines(rows: &[LevelReading], monitor: &[LevelReading], label: Label) -> Vec<u64> {
    let found = check::levels(rows, monitor);
    let with = rows.iter().zip(&found.labels).filter(|(_, l)| l.has(label)).map(|(r, _)| r.written.line);
    let with: Vec<u64> = with.collect();
    let told = found.findings.iter().find(|f| f.code == label.code());
    assert_eq!(told.is_some(), !with.is_empty(), "a label is told when it is given, and only then");
    if let Some(finding) = told {
        assert_eq!(finding.origin.as_ref().and_then(|o| o.line), with.first().copied());
        assert!(finding.message.starts_with(&format!("{} reading(s)", with.len())), "{finding}");
    }
    with
}

/// The demo's case: rows 259 to 308 while the emitter was off, five rows that jump, two without a fix.
#[test]
fn the_demo_rows_that_tell_nothing_are_labelled_and_no_others() {
    let walk = clean("walk_log.csv", WALK, &Settings::default());
    let monitor = clean("monitor.csv", MONITOR, &Settings::default());
    assert_eq!(lines(&walk, &monitor, Label::OffAir), (260..=309).collect::<Vec<u64>>());
    assert_eq!(lines(&walk, &monitor, Label::Jump), [216, 217, 218, 233, 234]);
    assert_eq!(lines(&walk, &monitor, Label::PoorFix), [216, 217, 218, 233, 234]);
    assert_eq!(lines(&walk, &monitor, Label::NoPlace), [221, 222]);
    for none in [Label::MaybeOffAir, Label::NoFix, Label::Compressed, Label::Product, Label::Stuck] {
        assert_eq!(lines(&walk, &monitor, none), [0; 0], "{none:?}");
    }
    let found = check::levels(&walk, &monitor);
    assert_eq!((0..600).filter(|i| found.left_out(*i)).count(), 57);
}

/// Without the monitor the same rows are doubted, and stay in.
#[test]
fn without_a_monitor_the_demo_pause_is_only_doubted() {
    let walk = clean("walk_log.csv", WALK, &Settings::default());
    assert_eq!(lines(&walk, &[], Label::MaybeOffAir), (260..=309).collect::<Vec<u64>>());
    let found = check::levels(&walk, &[]);
    assert_eq!((0..600).filter(|i| found.left_out(*i)).count(), 7);
}

/// Under the roof antenna -25.7 dBm without attenuator stand against -24.0 behind 20 and 40 dB: overloaded.
#[test]
fn the_demo_reading_that_does_not_follow_the_attenuator_is_compressed() {
    let rows = clean("close_in.csv", CLOSE, &Settings::default());
    assert_eq!(lines(&rows, &[], Label::Compressed), [14]);
}

#[test]
fn a_product_made_in_the_receiver_falls_three_times_as_fast() {
    for (shown, expected) in [("-30\n", &[2][..]), ("-70\n", &[][..]), ("-69.5\n", &[][..])] {
        // 20 dB more bring a true signal from -70 to -90, a product of third order from -30 to -90.
        let text = format!("place,indicated_dbm,attenuator_db\na,{},0\na,-90,20\n", shown.trim());
        assert_eq!(lines(&read(text.as_bytes()), &[], Label::Product), expected, "{shown}");
    }
}

/// A walk north with 1.1 m/s, one reading each ten seconds, where `odd` lies 1 km east.
fn walk(odd: std::ops::Range<usize>, hdop: &str) -> Vec<LevelReading> {
    let mut text = String::from("time_utc,lat,lon,hdop,level_dbm\n");
    for i in 0..60 {
        let lon = if odd.contains(&i) { 8.0132 } else { 8.0 };
        let (minute, second) = (i / 6, 10 * (i % 6));
        text += &format!(
            "2026-03-17T10:{minute:02}:{second:02}Z,{},{lon},{hdop},{}\n",
            47.0 + 1e-4 * i as f64,
            -60 - (i % 7) as i32
        );
    }
    read(text.as_bytes())
}

#[test]
fn a_place_that_leaps_away_and_back_is_a_jump_and_one_that_stays_is_not() {
    assert_eq!(lines(&walk(20..23, "1"), &[], Label::Jump), [22, 23, 24]);
    assert_eq!(lines(&walk(20..20, "1"), &[], Label::Jump), [0; 0]);
    // Away for longer than a minute.
    for odd in [20..40, 40..60] {
        let rows = walk(odd, "1");
        assert_eq!(lines(&rows, &[], Label::Jump), [0; 0]);
        assert!(check::levels(&rows, &[]).findings.iter().any(|f| f.code == "leap"));
    }
    assert_eq!(lines(&walk(0..0, "5"), &[], Label::PoorFix), [0; 0]);
    assert_eq!(lines(&walk(0..0, "5.1"), &[], Label::PoorFix).len(), 60);
}

#[test]
fn places_without_a_fix_words_for_off_and_times_that_go_back_are_told() {
    let text = "time_utc,lat,lon,fix,level_dbm\n2026-03-17T10:00:10Z,47,8,0,-60\n2026-03-17T10:00:00Z,47,8,1,off\n\
                2026-03-17T10:00:20Z,47,8,1,-60\n2026-03-17T10:00:05Z,47,8,1,-60\n";
    let rows = read(text.as_bytes());
    assert_eq!(lines(&rows, &[], Label::NoFix), [2]);
    assert_eq!(lines(&rows, &[], Label::OffAir), [3]);
    let found = check::levels(&rows, &[]);
    let back = found.findings.iter().find(|f| f.code == "time-goes-back").unwrap();
    assert_eq!(back.origin.as_ref().and_then(|o| o.line), Some(5));
}

#[test]
fn a_receiver_at_its_limit_piles_up_and_a_dead_one_never_changes() {
    let log = |level: &dyn Fn(usize) -> f64, n: usize| {
        let rows: Vec<String> = (0..n).map(|i| format!("{}", level(i))).collect();
        read(format!("level_dbm\n{}\n", rows.join("\n")).as_bytes())
    };
    let clipped = log(&|i| (-70.0 + i as f64 * 0.5).min(-40.0), 100);
    assert_eq!(lines(&clipped, &[], Label::Compressed).len(), 41);
    assert_eq!(lines(&log(&|i| -70.0 + i as f64 * 0.3, 100), &[], Label::Compressed), [0; 0]);
    assert_eq!(lines(&log(&|_| -70.0, 20), &[], Label::Stuck).len(), 20);
    assert_eq!(lines(&log(&|_| -70.0, 19), &[], Label::Stuck), [0; 0]);
    assert_eq!(lines(&log(&|i| -70.0 - f64::from(u8::from(i == 7)) * 0.1, 20), &[], Label::Stuck), [0; 0]);
}

#[test]
fn a_monitor_that_says_nothing_or_contradicts_itself_is_told() {
    let walk = walk(0..0, "1");
    let log = |level: &dyn Fn(usize, usize) -> f64, until: usize| {
        let mut text = String::from("time_utc,device,level_dbm\n");
        for (i, device) in (0..until).flat_map(|i| [(i, 0), (i, 1)]) {
            text += &format!("2026-03-17T10:{:02}:00Z,m{device},{}\n", i, level(i, device));
        }
        read(text.as_bytes())
    };
    let codes = |monitor: &[LevelReading]| -> Vec<&'static str> {
        check::levels(&walk, monitor).findings.iter().map(|f| f.code).collect()
    };
    let steady = log(&|i, _| -80.0 - i as f64 * 0.1, 10);
    assert!(codes(&steady).contains(&"monitor-one-level"));
    // Both off from minute 4 to minute 6: three minutes of six readings.
    let both = log(&|i, _| if (4..7).contains(&i) { -100.0 } else { -80.0 }, 10);
    assert_eq!(lines(&walk, &both, Label::OffAir), (26..44).collect::<Vec<u64>>());
    let one = log(&|i, d| if i >= 5 - d { -100.0 } else { -80.0 }, 10);
    assert!(codes(&one).contains(&"monitors-disagree"));
    assert_eq!(lines(&walk, &one, Label::OffAir), (32..62).collect::<Vec<u64>>());
    // The last sample, of minute 4, holds for three minutes.
    let short = log(&|i, _| if i < 2 { -100.0 } else { -80.0 }, 5);
    assert!(codes(&short).contains(&"monitor-silent"));
}
