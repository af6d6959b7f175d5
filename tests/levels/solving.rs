//! From levels to an area: the invented demo case, a street that leaves a mirror place, kinds that contradict each other.

use std::num::NonZero;

use azimark::{
    check,
    geodesy::{Place, course, destination},
    ingest, north,
    region::Region,
    solve::{self, Fit, Kind, Options, Problem, SolveError, levels::LevelSight},
    units::{Angle, Confidence, Dbm, Metres},
};

fn read(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/fixtures/demo/{name}", env!("CARGO_MANIFEST_DIR"))).expect("a fixture")
}

/// Where the demo's invented emitter stands (fixtures/demo/SOURCE.md).
fn truth() -> Place {
    Place::from_lat_lon_degrees(46.956_061, -118.356_637).expect("a place")
}

fn demo_walk() -> Vec<LevelSight> {
    let settings = ingest::Settings::default();
    let log = ingest::levels("walk_log.csv", &read("walk_log.csv"), &settings).rows;
    let monitor = ingest::levels("monitor.csv", &read("reference_monitor_10s.csv"), &settings).rows;
    let labelled = check::levels(&log, &monitor);
    let prepared = check::usable(&log, &labelled.labels);
    let left: Vec<usize> = prepared.left_out.iter().map(|l| l.1).collect();
    assert_eq!(
        (prepared.levels.len(), left.iter().sum::<usize>()),
        (543, 57),
        "50 off air, 5 jumps, 2 without fix"
    );
    solve::levels::sights(&prepared.levels)
}

fn fit(problem: &Problem) -> Fit {
    solve::fit(problem, &Options::default()).expect("a fit")
}

fn miss(fit: &Fit) -> f64 {
    course(fit.quoted(), truth()).distance.value()
}

/// Everything that an answer says of the place, to the last bit.
fn bits(fit: &Fit) -> Vec<u64> {
    let place = |p: Place| [p.lat_degrees(), p.lon_degrees()];
    let mut out: Vec<f64> = [fit.quoted(), fit.mean(), fit.median()].into_iter().flat_map(place).collect();
    for mode in fit.modes() {
        out.extend(place(mode.place));
        out.push(mode.share);
        out.extend(mode.covariance.into_iter().flatten());
    }
    out.push(fit.log_evidence());
    for region in Region::several(fit, &[Confidence::P50, Confidence::P90, Confidence::P95]) {
        let Ok(region) = region else { continue };
        out.extend(region.parts().iter().flat_map(|p| p.outer()).flat_map(place));
    }
    out.into_iter().map(f64::to_bits).collect()
}

/// Threads share out the places that levels judge; none of them may see what another did.
#[test]
fn the_answer_is_the_same_to_the_last_bit_with_any_number_of_threads() {
    // Every ninth reading: enough for the mesh to be shared out, and quick.
    let levels: Vec<LevelSight> = demo_walk().into_iter().step_by(9).collect();
    let rows = ingest::bearings("bearings.csv", &read("bearings.csv"), &ingest::Settings::default()).rows;
    let bearings = north::resolve(&rows, &north::Settings::default()).bearings;
    let with = |bearings: &[_], threads: usize| {
        bits(&fit(&Problem {
            bearings,
            levels: &levels,
            threads: NonZero::new(threads),
            ..Problem::default()
        }))
    };
    for bearings in [&bearings[..], &[]] {
        let one = with(bearings, 1);
        assert!(one.len() > 100, "regions were compared");
        assert!(one == with(bearings, 2) && one == with(bearings, 4));
    }
    let alone = |threads| {
        let all = Problem { bearings: &bearings, threads: NonZero::new(threads), ..Problem::default() };
        bits(&fit(&all))
    };
    assert!(alone(1) == alone(2) && alone(1) == alone(4));
}

/// The place that a plain fit of this log gives lies 38 m (levels well above the floor) to 93 m off (correlation allowed for,
/// truth outside of its 95 % ellipse).
#[test]
fn the_demo_walk_alone_and_with_bearings_holds_the_emitter() {
    let levels = demo_walk();
    let alone = fit(&Problem { levels: &levels, ..Problem::default() });
    assert!(miss(&alone) < 60.0, "{}", miss(&alone));
    assert!(Region::of(&alone, Confidence::P95).expect("a region").holds(&alone, truth()));
    let law = alone.law().expect("levels have a law");
    assert_eq!((law.readings, law.below), (543, 0));
    assert!(law.effective < 0.25 * 543.0, "neighbours share their shadow: {}", law.effective);

    let rows = ingest::bearings("bearings.csv", &read("bearings.csv"), &ingest::Settings::default()).rows;
    let bearings = north::resolve(&rows, &north::Settings::default()).bearings;
    let problem = Problem { bearings: &bearings, levels: &levels, ..Problem::default() };
    let both = fit(&problem);
    assert!(miss(&both) < 40.0, "{}", miss(&both));
    let region = Region::of(&both, Confidence::P95).expect("a region");
    assert!(region.holds(&both, truth()));
    assert!(region.area().value() < 5_300.0, "smaller than that of the bearings alone, 0.53 ha");
    let kinds = solve::kinds(&problem, &Options::default(), &both);
    assert_eq!(kinds.alone.iter().map(|k| k.0).collect::<Vec<_>>(), [Kind::Bearings, Kind::Levels]);
    assert!(kinds.p.is_some_and(|p| p > 0.05) && !kinds.conflict(), "{:?}", kinds.p);
}

/// Levels of an emitter of −20 dBm at one metre and exponent 3, without any error.
fn heard(emitter: Place, at: Place) -> LevelSight {
    let distance = course(emitter, at).distance.value();
    let level = Dbm::new(-20.0 - 30.0 * distance.max(1.0).log10());
    LevelSight { at, level, below: false, device: 0 }
}

fn here() -> Place {
    Place::from_lat_lon_degrees(48.0, 11.0).expect("a place")
}

fn off(from: Place, east: f64, north: f64) -> Place {
    let azimuth = Angle::radians(east.atan2(north)).compass();
    destination(from, azimuth, Metres::new(east.hypot(north))).0
}

/// Places left and right of a straight line of readings differ in no distance: both must be told, with like shares.
#[test]
fn one_street_leaves_the_mirror_place() {
    let emitter = off(here(), 40.0, 120.0);
    let levels: Vec<LevelSight> =
        (-20..=20).map(|i| heard(emitter, off(here(), 20.0 * f64::from(i), 0.0))).collect();
    let fit = fit(&Problem { levels: &levels, ..Problem::default() });
    let mirror = off(here(), 40.0, -120.0);
    let near = |place: Place| {
        let close = fit.modes().iter().filter(|m| course(m.place, place).distance.value() < 60.0);
        close.map(|m| m.share).sum::<f64>()
    };
    let (true_side, other_side) = (near(emitter), near(mirror));
    assert!(true_side > 0.2 && (true_side / other_side - 1.0).abs() < 0.1, "{true_side} {other_side}");
}

/// Bearings that meet half a kilometre from where the levels peak: both are shown, and the test says so.
#[test]
fn kinds_that_mean_two_places_contradict_each_other() {
    let emitter = off(here(), 0.0, 0.0);
    let spots = (0..12)
        .flat_map(|i| (0..12).map(move |j| (f64::from(i) * 40.0 - 220.0, f64::from(j) * 40.0 - 220.0)));
    let levels: Vec<LevelSight> = spots.map(|(e, n)| heard(emitter, off(here(), e, n))).collect();
    let notes = |other: Place| {
        let mut csv = "id,lat,lon,bearing_deg,north,sigma_deg\n".to_owned();
        for (id, (e, n)) in
            [(-900.0, -300.0), (100.0, -1100.0), (1000.0, 200.0), (300.0, 900.0)].into_iter().enumerate()
        {
            let stand = off(here(), e, n);
            let bearing = course(stand, other).departure.compass().to_degrees();
            csv +=
                &format!("{id},{:.6},{:.6},{bearing:.2},true,2\n", stand.lat_degrees(), stand.lon_degrees());
        }
        let rows = ingest::bearings("b.csv", csv.as_bytes(), &ingest::Settings::default()).rows;
        north::resolve(&rows, &north::Settings::default()).bearings
    };
    for (other, contradict) in [(off(here(), 350.0, 350.0), true), (emitter, false)] {
        let bearings = notes(other);
        assert_eq!(bearings.len(), 4);
        let problem = Problem { bearings: &bearings, levels: &levels, ..Problem::default() };
        let kinds = solve::kinds(&problem, &Options::default(), &fit(&problem));
        assert_eq!(kinds.conflict(), contradict, "{:?}", kinds.p);
        assert_eq!(kinds.alone.len(), 2);
    }
}

#[test]
fn what_levels_cannot_tell_is_refused_with_a_reason() {
    let few: Vec<LevelSight> =
        (0..4).map(|i| heard(here(), off(here(), 30.0 + 10.0 * f64::from(i), 0.0))).collect();
    let error = |levels: &[LevelSight]| {
        solve::fit(&Problem { levels, ..Problem::default() }, &Options::default()).expect_err("refused")
    };
    assert_eq!(error(&few), SolveError::TooFewLevels { have: 4, need: 5 });
    let silent: Vec<LevelSight> = (0..9)
        .map(|i| LevelSight {
            below: true,
            level: Dbm::new(-110.0),
            ..heard(here(), off(here(), 50.0 * f64::from(i), 9.0))
        })
        .collect();
    assert_eq!(error(&silent), SolveError::NothingHeard { readings: 9 });
}

/// A hundred readings at one spot, and readings that are all alike: an answer or a refusal, nothing else.
#[test]
fn readings_without_any_spread_have_an_end() {
    let one_spot = vec![heard(off(here(), 100.0, 0.0), here()); 100];
    let alike: Vec<LevelSight> = (0..60)
        .map(|i| LevelSight {
            level: Dbm::new(-80.0),
            ..heard(here(), off(here(), 25.0 * f64::from(i), 3.0))
        })
        .collect();
    for levels in [one_spot, alike] {
        let fit = fit(&Problem { levels: &levels, ..Problem::default() });
        if let Ok(region) = Region::of(&fit, Confidence::P95) {
            assert!(region.area().value() > 1e4, "such readings leave a wide area: {:?}", region.area());
        }
    }
}
