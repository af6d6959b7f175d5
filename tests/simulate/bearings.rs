//! Bearings: their errors are those that the plan asks for.

use azimark::{
    geodesy::course,
    north,
    observe::{NorthReference, OperatorClass, Quality},
    simulate::{
        self, BearingPlan, Bearings, Cause, Compass, Duty, Emitter, Foreign, Kind, Plan, Positioning, Scene,
        Stands, Stated, Way,
    },
    units::{Angle, Db, Dbm, Metres, Sigma},
};

use crate::{mean, of_share, point, variance};

fn many() -> BearingPlan {
    BearingPlan { seed: 61, count: 4000, ..BearingPlan::default() }
}

/// Misses of the readings from the direction to the emitter, in degrees; magnetic ones with the plan's declination.
fn misses(bearings: &Bearings, declination: f64) -> Vec<f64> {
    let pairs = bearings.readings.iter().zip(&bearings.told);
    let miss = |(r, t): (&azimark::observe::ReadBearing, &simulate::Told)| {
        r.read.turned(Angle::degrees(declination)).miss_from(t.toward).to_degrees()
    };
    pairs.map(miss).collect()
}

fn has_deviation(misses: &[f64], sigma: f64) {
    let root = (misses.len() as f64).sqrt();
    assert!(mean(misses).abs() < 5.0 * sigma / root, "mean {}", mean(misses));
    let ratio = variance(misses) / (sigma * sigma);
    assert!((ratio - 1.0).abs() < 5.0 * 2f64.sqrt() / root, "{sigma}: {}", variance(misses).sqrt());
}

/// Classes are honest, and a factor makes them wrong by as much; the mean of three swings is as good as one reading.
#[test]
fn readings_scatter_as_their_class_says_times_the_factor() {
    for (factor, swings) in [(1.0, 0), (2.0, 0), (0.5, 0), (1.0, 3)] {
        let plan = BearingPlan { factor, swings, ..many() };
        let bearings = simulate::bearings(&plan).unwrap();
        has_deviation(&misses(&bearings, 0.0), 5.0 * factor);
        assert!(bearings.readings.iter().all(|b| b.quality == Quality::Class(OperatorClass::B)));
        assert!(bearings.readings.iter().all(|b| b.swings.len() == swings));
    }
    let sigma = Sigma::<Angle>::degrees(3.0).unwrap();
    let stated = simulate::bearings(&BearingPlan { stated: Stated::Sigma(sigma), ..many() }).unwrap();
    has_deviation(&misses(&stated, 0.0), 3.0);
    assert_eq!(stated.readings[0].quality, Quality::Sigma(sigma));
    let silent = simulate::bearings(&BearingPlan { stated: Stated::Nothing(sigma), ..many() }).unwrap();
    assert_eq!(silent.readings[0].quality, Quality::Unstated);
}

#[test]
fn without_errors_a_bearing_is_the_geodesic_azimuth() {
    let plan = BearingPlan { factor: 0.0, ..many() };
    let bearings = simulate::bearings(&plan).unwrap();
    for (read, told) in bearings.readings.iter().zip(&bearings.told) {
        let toward = course(read.stand.at, bearings.truth);
        assert!(read.read.miss_from(toward.departure).to_degrees().abs() < 1e-9);
        assert!((100.0 - 1e-6..=1000.0 + 1e-6).contains(&toward.distance.value()));
        assert_eq!((told.cause, told.reversed), (Cause::Way(Way::Direct), false));
    }
    // Even in area: half of the ring's area lies within √((100² + 1000²)/2) = 710.6 m.
    let near =
        bearings.readings.iter().filter(|b| course(b.stand.at, bearings.truth).distance.value() < 710.6);
    assert!((near.count() as f64 / 4000.0 - 0.5).abs() < of_share(0.5, 4000));
}

/// Magnetic readings: true less declination (east positive), rounded to whole degrees, and `north` undoes it with the
/// declination by hand.
#[test]
fn a_compass_reads_from_magnetic_north_in_whole_degrees() {
    let declination = Angle::degrees(13.9);
    let plan = BearingPlan {
        declination: Some(declination),
        rounding: Angle::degrees(1.0),
        swings: 3,
        factor: 0.0,
        ..many()
    };
    let bearings = simulate::bearings(&plan).unwrap();
    assert!(misses(&bearings, 13.9).iter().all(|m| m.abs() <= 0.5 + 1e-6));
    for read in &bearings.readings {
        assert_eq!(read.north, NorthReference::Magnetic);
        let degrees = read.read.to_degrees();
        assert!((degrees - degrees.round()).abs() < 1e-9 && degrees < 360.0);
    }
    let by_hand = (declination, Sigma::<Angle>::degrees(0.5).unwrap());
    let settings = north::Settings { declination: Some(by_hand), ..north::Settings::default() };
    let resolved = north::resolve(&bearings.readings, &settings);
    for (t, told) in resolved.bearings.iter().zip(&bearings.told) {
        assert!(t.azimuth().miss_from(told.toward).to_degrees().abs() <= 0.5 + 1e-6);
    }
}

#[test]
fn compasses_err_together_by_team_and_by_place() {
    let exact = BearingPlan { factor: 0.0, ..many() };
    let common = Compass { common: Angle::degrees(7.0), ..Compass::EXACT };
    let bearings = simulate::bearings(&BearingPlan { compass: common, ..exact.clone() }).unwrap();
    assert!(misses(&bearings, 0.0).iter().all(|m| (m - 7.0).abs() < 1e-9));
    // Teams take turns, and each has one error.
    let team = Compass { team: Angle::degrees(3.0), ..Compass::EXACT };
    let plan = BearingPlan { compass: team, teams: 800, ..exact.clone() };
    let found = misses(&simulate::bearings(&plan).unwrap(), 0.0);
    assert!((800..4000).all(|i| (found[i] - found[i - 800]).abs() < 1e-9));
    has_deviation(&found[..800], 3.0);
    let pulled = Compass { pulled: 0.25, pull: Angle::degrees(12.0), ..Compass::EXACT };
    let found = misses(&simulate::bearings(&BearingPlan { compass: pulled, ..exact }).unwrap(), 0.0);
    let off: Vec<f64> = found.iter().copied().filter(|m| m.abs() > 1e-9).collect();
    assert!((off.len() as f64 / 4000.0 - 0.25).abs() < of_share(0.25, 4000), "{}", off.len());
    has_deviation(&off, 12.0);
}

/// Reversed bearings are 180° off and their back is the stronger by the antenna's 18 dB; the others' front is.
#[test]
fn reversed_bearings_have_their_share_and_tell_it_by_their_levels() {
    let noise = Dbm::new(-160.0);
    let plan = BearingPlan { reversed: 0.3, factor: 0.0, levels: true, noise, ..many() };
    let bearings = simulate::bearings(&plan).unwrap();
    let mut count = 0;
    for (i, miss) in misses(&bearings, 0.0).iter().enumerate() {
        let reversed = bearings.told[i].reversed;
        count += u32::from(reversed);
        assert!((miss.abs() - if reversed { 180.0 } else { 0.0 }).abs() < 1e-9);
        let (front, back) = (bearings.readings[i].front.unwrap(), bearings.readings[i].back.unwrap());
        let ratio = if reversed { back - front } else { front - back };
        // Both are written to a tenth; noise lies 40 dB below the weakest.
        assert!((ratio.value() - 18.0).abs() < 0.25, "{ratio:?}");
    }
    assert!((f64::from(count) / 4000.0 - 0.3).abs() < of_share(0.3, 4000), "{count}");
}

#[test]
fn foreign_bearings_come_from_anywhere_or_from_one_reflector() {
    let anywhere = BearingPlan { foreign: 0.4, factor: 0.0, ..many() };
    let found = simulate::bearings(&anywhere).unwrap();
    let foreign: Vec<f64> = misses(&found, 0.0)
        .into_iter()
        .zip(&found.told)
        .filter(|(_, t)| t.cause == Cause::Foreign)
        .map(|(m, _)| m)
        .collect();
    assert!((foreign.len() as f64 / 4000.0 - 0.4).abs() < of_share(0.4, 4000));
    // Even over the circle: each quarter has a quarter.
    for quarter in 0..4 {
        let low = -180.0 + 90.0 * f64::from(quarter);
        let share =
            foreign.iter().filter(|m| (low..low + 90.0).contains(*m)).count() as f64 / foreign.len() as f64;
        assert!((share - 0.25).abs() < of_share(0.25, foreign.len()), "{quarter}: {share}");
    }
    let reflector = point(400.0, -250.0);
    let shared = BearingPlan { elsewhere: Foreign::Reflector(reflector), ..anywhere };
    let found = simulate::bearings(&shared).unwrap();
    for (read, told) in found.readings.iter().zip(&found.told).filter(|(_, t)| t.cause == Cause::Foreign) {
        let toward = course(told.at, found.plane.to_place(reflector)).departure;
        assert!(read.read.miss_from(toward).to_degrees().abs() < 1e-9);
    }
}

/// A sector of stands, named stands, and errors of positions with the spread that is stated of them.
#[test]
fn stands_lie_where_they_are_meant_to() {
    let stands = Stands::Around {
        range: (Metres::new(500.0), Metres::new(600.0)),
        from: Angle::degrees(350.0),
        width: Angle::degrees(40.0),
    };
    let bearings = simulate::bearings(&BearingPlan { stands, factor: 0.0, ..many() }).unwrap();
    for told in &bearings.told {
        let out = course(bearings.truth, told.at).departure;
        assert!((0.0..=40.0).contains(&out.turned(Angle::degrees(10.0)).to_degrees()), "{out:?}");
    }
    let points = vec![point(100.0, 0.0), point(0.0, -200.0)];
    let plan = BearingPlan { stands: Stands::At(points.clone()), count: 2, factor: 0.0, ..many() };
    let bearings = simulate::bearings(&plan).unwrap();
    let back = |i: usize| bearings.plane.to_plane(bearings.told[i].at);
    assert!((0..2).all(|i| (back(i).east - points[i].east).hypot(back(i).north - points[i].north) < 1e-6));
    let positioning = Positioning { sigma: Metres::new(5.0), ..Positioning::EXACT };
    let bearings = simulate::bearings(&BearingPlan { positioning, factor: 0.0, ..many() }).unwrap();
    let east: Vec<f64> = bearings
        .readings
        .iter()
        .zip(&bearings.told)
        .map(|(r, t)| bearings.plane.to_plane(r.stand.at).east - bearings.plane.to_plane(t.at).east)
        .collect();
    has_deviation(&east, 5.0);
    let stated: Vec<f64> = bearings.readings.iter().map(|r| r.stand.sigma.unwrap().to_metres()).collect();
    assert!((mean(&stated) - 5.0).abs() < 0.1, "{}", mean(&stated));
}

/// The nearer of two emitters is read; one that is off the air is waited for.
#[test]
fn the_strongest_emitter_on_the_air_is_read() {
    let (west, east) = (Emitter::at(point(-300.0, 0.0)), Emitter::at(point(300.0, 0.0)));
    let stands = Stands::Around {
        range: (Metres::new(100.0), Metres::new(900.0)),
        from: Angle::ZERO,
        width: Angle::degrees(360.0),
    };
    let plan = BearingPlan { emitters: vec![west, east], stands, count: 400, ..many() };
    let bearings = simulate::bearings(&plan).unwrap();
    let nearer = |at: azimark::geodesy::PlanePoint| usize::from(at.east > 0.0);
    assert!(bearings.told.iter().all(|t| t.emitter == nearer(bearings.plane.to_plane(t.at))));
    assert!((0..2).all(|k| bearings.told.iter().filter(|t| t.emitter == k).count() > 50));
    let seldom = Emitter { duty: Duty::Cycle { on: 60.0, off: 3000.0, passed: 60.0 }, ..west };
    let plan = BearingPlan { emitters: vec![seldom], count: 5, ..many() };
    let bearings = simulate::bearings(&plan).unwrap();
    let start = plan.start.as_second();
    for read in &bearings.readings {
        let after = (read.time.as_ref().unwrap().utc().as_second() - start) as f64;
        assert!(seldom.duty.on_air(after), "{after}");
    }
}

/// What façades do to bearings in the two kinds of towns: some reflections and corners, in most scenes direct or straight.
/// Their shares are printed.
#[test]
fn towns_give_reflections_and_corners() {
    for kind in [Kind::Street, Kind::Canyon] {
        let mut causes = std::collections::BTreeMap::new();
        let mut wrong = 0;
        for seed in 0..60 {
            let plan = Plan { bearings: 20, ..Plan::of(kind, seed) };
            let bearings = Scene::new(&plan).unwrap().take_bearings().unwrap();
            for told in &bearings.told {
                *causes.entry(told.cause.word()).or_insert(0) += 1;
                wrong += u32::from(told.arrival.miss_from(told.toward).to_degrees().abs() > 15.0);
                let straight = matches!(told.cause, Cause::Way(Way::Direct | Way::Blocked));
                // The straight way comes from the emitter itself.
                assert!(!straight || told.arrival.miss_from(told.toward).to_degrees().abs() < 1e-4);
            }
        }
        println!("{}: {causes:?} of 1200; {wrong} come from more than 15° off", kind.word());
        assert!(causes["reflected"] > 5 && causes["direct"] > 12, "{causes:?}");
        assert_eq!(causes.contains_key("around corners"), kind == Kind::Canyon);
    }
}

/// With shadowing of 8 dB on each way the one read is the strongest, so that front levels scatter, and stay reproducible.
#[test]
fn shadowing_of_the_ways_is_in_the_levels() {
    let plan = BearingPlan { shadowing: Db::new(8.0), levels: true, factor: 0.0, ..many() };
    let (a, b) = (simulate::bearings(&plan).unwrap(), simulate::bearings(&plan).unwrap());
    assert_eq!(a, b);
    let clear = simulate::bearings(&BearingPlan { shadowing: Db::new(0.0), ..plan }).unwrap();
    let gain: Vec<f64> = a
        .readings
        .iter()
        .zip(&clear.readings)
        .map(|(a, b)| a.front.unwrap().value() - b.front.unwrap().value())
        .collect();
    // Tenths of a decibel and noise 10 dB below the weakest widen this by less than a hundredth.
    let root = 4000f64.sqrt();
    assert!((variance(&gain) / 64.0 - 1.0).abs() < 5.0 * 2f64.sqrt() / root + 0.02, "{}", variance(&gain));
}
