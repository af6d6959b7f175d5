//! What a solver gets: noise taken off, weak readings censored, the rest counted by reason.

use azimark::{
    check::{self, Heard, Label, Prepared},
    ingest::{Settings, levels},
    observe::LevelReading,
};

use crate::{MONITOR, WALK, clean};

fn prepared(rows: &[LevelReading]) -> Prepared {
    check::usable(rows, &check::levels(rows, &[]).labels)
}

fn read(text: &str) -> Vec<LevelReading> {
    levels("log.csv", text.as_bytes(), &Settings::default()).rows
}

/// Expected: ISO 3744, correction K₁ = −10 lg(1 − 10^(−0.1 ΔL)) for background noise, as its tables have it: 1.3 dB at 6 dB,
/// 0.5 dB at 10 dB, 0.1 dB at 15 dB and, in ISO 3746, 3.0 dB at 3 dB; each rounded to a tenth.
#[test]
fn noise_is_taken_off_as_iso_3744_takes_background_off() {
    let rows = read(
        "lat,lon,level_dbm,floor_dbm\n47,8,-108,-114\n47,8,-104,-114\n47,8,-99,-114\n47,8,-110.98,-114\n",
    );
    let found = prepared(&rows);
    let corrections: Vec<f64> = found
        .levels
        .iter()
        .zip(&rows)
        .map(|(used, read)| match used.heard {
            Heard::Signal { level, .. } => (read.level.measured().unwrap() - level).value(),
            Heard::Below(_) => f64::NAN,
        })
        .collect();
    for (correction, expected) in corrections.iter().zip([1.3, 0.5, 0.1, 3.0]) {
        assert!((correction - expected).abs() <= 0.05, "{corrections:?}");
    }
    assert_eq!(found.findings.iter().map(|f| f.code).collect::<Vec<_>>(), ["noise-taken-off"]);
}

/// The power of signal and noise together is that of the reading: 10^-7 + 10^-7 mW is −66.99 dBm.
#[test]
fn a_signal_as_strong_as_the_noise_is_the_weakest_that_counts() {
    let at = |level: f64| {
        prepared(&read(&format!("lat,lon,level_dbm,floor_dbm\n47,8,{level},-70\n"))).levels[0].heard
    };
    let Heard::Signal { level, sigma } = at(-66.98) else { panic!("just above half") };
    assert!((level.value() + 70.0).abs() < 0.03, "{level:?}");
    // r = ½: √1.25/½ = 2.236.
    assert!((sigma.to_db() - 2.236).abs() < 0.02, "{sigma:?}");
    let floor = azimark::units::Dbm::new(-70.0);
    assert_eq!(at(-67.0), Heard::Below(floor));
    assert_eq!(at(-70.0), Heard::Below(floor));
    assert_eq!(at(-80.0), Heard::Below(floor));
    let Heard::Signal { level, sigma } = at(-20.0) else { panic!("far above") };
    assert!((level.value() + 20.0).abs() < 1e-4 && (sigma.to_db() - 1.0).abs() < 1e-4);
}

/// The growth of the error, from the definition: half the difference of the corrected level for reading and floor each
/// moved by a hundredth of a decibel either way.
#[test]
fn the_error_of_a_corrected_level_is_that_of_its_derivatives() {
    let signal = |read: f64, floor: f64| 10.0 * (10f64.powf(read / 10.0) - 10f64.powf(floor / 10.0)).log10();
    for read in [-66.0, -64.0, -60.0, -50.0] {
        let by_read = (signal(read + 0.01, -70.0) - signal(read - 0.01, -70.0)) / 0.02;
        let by_floor = (signal(read, -69.99) - signal(read, -70.01)) / 0.02;
        let rows = read_one(read);
        let Heard::Signal { sigma, .. } = prepared(&rows).levels[0].heard else { panic!("{read}") };
        // Central differences of a hundredth are good to 1e-4 here.
        assert!((sigma.to_db() - by_read.hypot(by_floor)).abs() < 1e-3, "{read}: {sigma:?}");
    }
}

fn read_one(level: f64) -> Vec<LevelReading> {
    read(&format!("lat,lon,level_dbm,floor_dbm\n47,8,{level},-70\n"))
}

#[test]
fn all_readings_of_the_demo_are_used_or_counted() {
    let walk = clean("walk_log.csv", WALK, &Settings::default());
    let monitor = clean("monitor.csv", MONITOR, &Settings::default());
    let found = check::usable(&walk, &check::levels(&walk, &monitor).labels);
    assert_eq!(found.levels.len(), 543);
    assert_eq!(found.left_out, [(Label::OffAir, 50), (Label::NoPlace, 2), (Label::Jump, 5)]);
    assert_eq!((found.devices.len(), found.below), (1, 0));
    // On air nothing lies nearer to the floor than 6 dB: -10 lg(1 - 10^-0.6) = 1.26 dB at most.
    let most = found.findings.iter().find(|f| f.code == "noise-taken-off").unwrap();
    let value: f64 = most.message.split("off, ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap();
    assert!(value <= 1.3, "{most}");
    // HDOP 1.1 times 5 m.
    let first = &found.levels[0];
    assert!((first.position.unwrap().to_metres() - 5.5).abs() < 1e-12 && first.index == 0);
    assert!(found.findings.iter().any(|f| f.code == "position-from-hdop"));
}

#[test]
fn receivers_are_numbered_and_words_for_off_are_no_weak_signal() {
    let rows = read(
        "device,lat,lon,position sigma_m,level_dbm\nx,47,8,3,-60\ny,47,8,,-61\nx,47,8,,<-110\n,47,8,,off\n,47,8,,-64\n",
    );
    let found = prepared(&rows);
    assert_eq!(found.devices, ["x", "y", "log.csv"]);
    assert_eq!(found.levels.iter().map(|l| l.device).collect::<Vec<_>>(), [0, 1, 0, 2]);
    assert_eq!(found.left_out, [(Label::OffAir, 1)]);
    assert_eq!(found.levels[2].heard, Heard::Below(azimark::units::Dbm::new(-110.0)));
    assert_eq!(found.levels[0].position.map(|s| s.to_metres()), Some(3.0));
    assert_eq!(found.levels[1].position, None);
    assert_eq!(found.below, 1);
}
