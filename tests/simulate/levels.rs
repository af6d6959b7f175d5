//! Walks and sectors: power sums, noise, duty, floors, positions, routes.

use azimark::{
    geodesy::course,
    observe::{Level, LevelReading},
    radio::{Lobe, free_space_loss, noise::power_sum},
    simulate::{
        self, Attenuator, Below, Duty, Emitter, Fading, Law, Pattern, Positioning, Prepared, Propagation,
        Receiver, SectorPlan, WalkPlan, direction,
    },
    units::{Angle, Db, Dbm, Hertz, Metres},
};

use crate::{mean, of_share, point, variance};

/// A walk in which nothing is random but the route.
fn still() -> WalkPlan {
    WalkPlan {
        seed: 5,
        scatter: Metres::new(0.0),
        shadowing: Db::new(0.0),
        fading: Fading::NONE,
        receiver: Receiver { noise: Dbm::new(-190.0), samples: 100_000, ..Receiver::default() },
        ..WalkPlan::default()
    }
}

fn measured(reading: &LevelReading) -> f64 {
    reading.level.measured().expect("a measured level").value()
}

/// An exponent of 2 is free space, at any frequency and distance (ITU-R P.525 as `radio` has it); rounding only.
#[test]
fn an_exponent_of_two_is_free_space() {
    for mhz in [30.0, 162.0, 841.5, 2437.0] {
        for metres in [1.0, 7.3, 120.0, 4500.0] {
            let (f, d) = (Hertz::mhz(mhz), Metres::new(metres));
            let (ours, theirs) = (Law::Exponent(2.0).loss(f, d), free_space_loss(f, d));
            assert!((ours.value() - theirs.value()).abs() < 1e-9, "{mhz} {metres}: {ours:?} {theirs:?}");
        }
    }
}

/// Ten times the distance costs ten times the exponent in decibels, on either side of the breakpoint.
#[test]
fn two_slopes_meet_at_their_breakpoint() {
    let law = Law::TwoSlopes { near: 2.2, breakpoint: Metres::new(200.0), far: 3.9 };
    let at = |d: f64| law.loss(Hertz::mhz(900.0), Metres::new(d)).value();
    assert!((at(200.0) - at(20.0) - 22.0).abs() < 1e-9);
    assert!((at(2000.0) - at(200.0) - 39.0).abs() < 1e-9);
    assert!((at(200.001) - at(199.999)).abs() < 1e-3);
    assert_eq!(at(0.1), at(1.0));
}

/// The whole chain without chance: EIRP less free-space loss over the slant distance.
#[test]
fn a_walk_without_chance_reads_free_space() {
    let plan = WalkPlan { propagation: Propagation::open(2.0), ..still() };
    let walk = simulate::walk(&plan).unwrap();
    for (reading, sample) in walk.readings.iter().zip(&walk.samples) {
        let flat = course(sample.at, walk.truth).distance.value();
        let slant = flat.hypot(5.0 - 1.5);
        let wanted = 20.0 - free_space_loss(Hertz::mhz(900.0), Metres::new(slant)).value();
        // Geodesics instead of the plane: 1e-6 of the distance at most. Noise lies 70 dB below, and its beat with the signal,
        // averaged over 100,000 samples, scatters by 1e-5 dB.
        assert!((measured(reading) - wanted).abs() < 1e-3, "{flat} m: {} {wanted}", measured(reading));
        assert!((sample.power.value() - wanted).abs() < 1e-4);
    }
}

#[test]
fn the_powers_of_two_emitters_add() {
    let (a, b) = (Emitter::at(point(-150.0, 40.0)), Emitter::at(point(90.0, 200.0)));
    let powers = |emitters: Vec<Emitter>| {
        let plan = WalkPlan { emitters, ..still() };
        simulate::walk(&plan).unwrap().samples.iter().map(|s| s.power).collect::<Vec<Dbm>>()
    };
    let (first, second, both) = (powers(vec![a]), powers(vec![b]), powers(vec![a, b]));
    for i in 0..both.len() {
        let sum = power_sum(&[first[i], second[i]]).unwrap();
        assert!((both[i].value() - sum.value()).abs() < 1e-9, "{i}");
    }
    // Neither is negligible everywhere.
    assert!(first.iter().zip(&second).any(|(a, b)| (a.value() - b.value()).abs() < 1.0));
}

/// Noise alone, and a signal as strong as the noise: the mean power of the readings is N and 2 N. A reading averages M
/// samples: its relative variance is 1/M for noise, and 3/(4 M) for both together (Rice with K = 1).
#[test]
fn a_receiver_reads_the_sum_of_signal_and_noise() {
    let noise = -100.0;
    // 100 km off all readings of the walk have the same signal to 0.02 dB.
    let far = Emitter { eirp: Dbm::new(0.0), ..Emitter::at(point(0.0, 100_000.0)) };
    let loss = Law::Exponent(2.0).loss(Hertz::mhz(900.0), Metres::km(100.0)).value();
    let receiver = Receiver { noise: Dbm::new(noise), samples: 12, ..Receiver::default() };
    for (eirp, times, variance_of_one) in [(-100.0, 1.0, 1.0), (noise + loss, 2.0, 0.75)] {
        let plan = WalkPlan {
            count: 4000,
            propagation: Propagation::open(2.0),
            emitters: vec![Emitter { eirp: Dbm::new(eirp), ..far }],
            receiver,
            ..still()
        };
        let walk = simulate::walk(&plan).unwrap();
        let ratios: Vec<f64> =
            walk.readings.iter().map(|r| 10f64.powf((measured(r) - noise) / 10.0)).collect();
        let error = 5.0 * times * (variance_of_one / 12.0 / 4000f64).sqrt();
        // And the 0.02 dB of the signal: 0.005.
        assert!((mean(&ratios) - times).abs() < error + 0.005, "{times}: {}", mean(&ratios));
        let wanted = times * times * variance_of_one / 12.0;
        // Kurtosis below 9, as in the test of fading.
        assert!((variance(&ratios) / wanted - 1.0).abs() < 5.0 * (8.0f64 / 4000.0).sqrt(), "{times}");
    }
}

/// A cycle of 100 s on and 50 s off over 200 cycles: within one cycle's worth of readings.
#[test]
fn an_emitter_is_on_the_air_for_its_share_of_the_time() {
    let duty = Duty::Cycle { on: 100.0, off: 50.0, passed: 30.0 };
    let emitter = Emitter { duty, ..Emitter::at(point(50.0, 0.0)) };
    let receiver = Receiver { noise: Dbm::new(-110.0), ..Receiver::default() };
    let plan = WalkPlan {
        count: 6000,
        step: Metres::new(5.0),
        pace: 1.0,
        emitters: vec![emitter],
        receiver,
        ..still()
    };
    let walk = simulate::walk(&plan).unwrap();
    let on = walk.samples.iter().filter(|s| s.on_air).count() as f64 / 6000.0;
    assert!((on - duty.share()).abs() < 30.0 / 6000.0, "{on}");
    for (reading, sample) in walk.readings.iter().zip(&walk.samples) {
        // Off the air there is noise; 36 samples scatter by 0.7 dB, and nothing reaches seven times that.
        assert!(sample.on_air || (measured(reading) + 110.0).abs() < 5.0, "{reading:?}");
        assert_eq!(sample.on_air, sample.power.value().is_finite());
    }
}

/// The floor is set so that the share asked for lies below it. Noise 10 dB below the floor and 36 samples scatter readings
/// near it by 0.8 dB either way; with about 3 % of the readings in each decibel that moves 1 % at most.
#[test]
fn the_share_of_readings_below_the_floor_is_that_asked_for() {
    for share in [0.0, 0.2, 0.5, 0.9] {
        for seed in 0..5 {
            let receiver = Receiver { below: Below::Share(share), ..Receiver::default() };
            let plan = WalkPlan { seed, count: 1000, receiver, ..WalkPlan::default() };
            let walk = simulate::walk(&plan).unwrap();
            let below = walk.readings.iter().filter(|r| matches!(r.level, Level::BelowFloor(_))).count();
            let found = below as f64 / 1000.0;
            assert!((found - share).abs() < 0.02, "{share}, seed {seed}: {found}");
            let floor = walk.readings[0].floor.unwrap();
            assert!(walk.readings.iter().all(|r| r.level.measured().is_none_or(|l| l > floor)));
        }
    }
}

#[test]
fn a_receiver_has_steps_an_attenuator_and_one_offset() {
    let receiver = Receiver {
        step: Db::new(1.0),
        attenuator: Some(Attenuator { above: Dbm::new(-75.0), pad: Db::new(20.0) }),
        ..still().receiver
    };
    let walk = simulate::walk(&WalkPlan { receiver, ..still() }).unwrap();
    let mut padded = 0;
    for (reading, sample) in walk.readings.iter().zip(&walk.samples) {
        let pad = reading.attenuator.unwrap().value();
        assert_eq!(pad > 0.0, sample.power.value() > -75.0);
        padded += u32::from(pad > 0.0);
        let shown = reading.raw.unwrap().value;
        assert!((shown - shown.round()).abs() < 1e-9 && (measured(reading) - shown - pad).abs() < 1e-9);
        assert!((measured(reading) - sample.power.value()).abs() < 0.51);
    }
    assert!(padded > 5 && padded < 195, "{padded}");
    // One error for a whole walk, with the standard deviation asked for over many walks.
    let plan = WalkPlan {
        count: 20,
        receiver: Receiver { calibration: Db::new(3.0), ..still().receiver },
        ..still()
    };
    let prepared = Prepared::new(&plan).unwrap();
    let offsets: Vec<f64> = (0..2000)
        .map(|seed| {
            let walk = prepared.draw(seed);
            let off = |i: usize| measured(&walk.readings[i]) - walk.samples[i].power.value();
            assert!((off(0) - off(19)).abs() < 1e-3);
            off(0)
        })
        .collect();
    let root = 2000f64.sqrt();
    assert!(mean(&offsets).abs() < 15.0 / root, "{}", mean(&offsets));
    assert!((variance(&offsets) / 9.0 - 1.0).abs() < 5.0 * 2f64.sqrt() / root, "{}", variance(&offsets));
}

/// Shadowing of a walk has the variance asked for, and the level carries it whole.
#[test]
fn the_shadowing_of_walks_has_its_variance_and_is_in_the_level() {
    let plan = WalkPlan { count: 20, shadowing: Db::new(8.0), ..still() };
    let clear = simulate::walk(&still()).unwrap();
    let prepared = Prepared::new(&plan).unwrap();
    let mut first = Vec::new();
    for seed in 0..4000 {
        let walk = prepared.draw(seed);
        for i in [0, 19] {
            let (s, level) = (walk.samples[i].shadowing.value(), walk.samples[i].power.value());
            assert!((level - clear.samples[i].power.value() - s).abs() < 1e-9);
        }
        first.push(walk.samples[7].shadowing.value());
    }
    let root = 4000f64.sqrt();
    assert!((variance(&first) / 64.0 - 1.0).abs() < 5.0 * 2f64.sqrt() / root, "{}", variance(&first));
}

/// Errors of positions: standard deviation, correlation exp(−t/τ) in time (Gelb 1974), shares of jumps and lost fixes.
#[test]
fn positions_err_as_they_are_meant_to() {
    let off = |plan: &WalkPlan| -> Vec<Option<(f64, bool)>> {
        let walk = simulate::walk(plan).unwrap();
        let east = |r: &LevelReading, s: &simulate::Sample| {
            let c = course(s.at, r.at?);
            Some((c.distance.value() * c.departure.to_radians().sin(), s.jump))
        };
        walk.readings.iter().zip(&walk.samples).map(|(r, s)| east(r, s)).collect()
    };
    let plain = Positioning { sigma: Metres::new(4.0), correlation: 20.0, ..Positioning::EXACT };
    let plan = WalkPlan { count: 20_000, step: Metres::new(5.0), pace: 1.0, positioning: plain, ..still() };
    let errors: Vec<f64> = off(&plan).iter().map(|e| e.unwrap().0).collect();
    // Readings 5 s apart: ρ = exp(−1/4); such a series tells as much as n (1 − ρ²)/(1 + ρ²) independent ones of its variance.
    let rho = (-0.25f64).exp();
    let effective = 20_000.0 * (1.0 - rho * rho) / (1.0 + rho * rho);
    assert!((variance(&errors) / 16.0 - 1.0).abs() < 5.0 * (2.0 / effective).sqrt(), "{}", variance(&errors));
    let product: Vec<f64> = errors.windows(2).map(|w| w[0] * w[1]).collect();
    let lagged = mean(&product) / variance(&errors);
    assert!((lagged - rho).abs() < 5.0 * ((1.0 - rho * rho) / 20_000.0).sqrt(), "{lagged}");
    let troubled = Positioning { jumps: 0.05, lost: 0.1, sigma: Metres::new(0.0), ..plain };
    let places = off(&WalkPlan { positioning: troubled, ..plan });
    let jumps = places.iter().flatten().filter(|e| e.1).count() as f64;
    let found = jumps / places.iter().flatten().count() as f64;
    // Runs of two and of five on average: so many times fewer independent ones.
    assert!((found - 0.05).abs() < 2.5 * of_share(0.05, 20_000), "jumps {found}");
    let lost = places.iter().filter(|e| e.is_none()).count() as f64 / 20_000.0;
    assert!((lost - 0.1).abs() < 3.0 * of_share(0.1, 20_000), "lost {lost}");
    assert!(places.iter().flatten().all(|e| e.1 || e.0.abs() < 1e-6));
}

/// Every step has its length along the streets, every point lies on one, none beyond the extent, and ground is covered: of 100
/// stretches 79.5 are new on average, and 68.6 where somebody forgets what he has walked (standard deviations 6.3 and 7.1; the
/// same rules in Python 3 with its own generator, 2000 walks each). Forty walks tell the two apart by ten standard errors.
#[test]
fn walks_follow_the_streets_and_seldom_twice() {
    let mut stretches = Vec::new();
    for seed in 0..40 {
        let plan = WalkPlan { seed, count: 2000, ..still() };
        let walk = simulate::walk(&plan).unwrap();
        let points: Vec<_> = walk.samples.iter().map(|s| walk.plane.to_plane(s.at)).collect();
        let near = |x: f64| (x / 100.0 - (x / 100.0).round()).abs() < 1e-8;
        assert!(points.iter().all(|p| near(p.east) || near(p.north)));
        assert!(points.iter().all(|p| p.east.abs().max(p.north.abs()) < 400.001));
        for w in points.windows(2) {
            let step = (w[1].east - w[0].east).abs() + (w[1].north - w[0].north).abs();
            assert!((step - 5.0).abs() < 1e-6, "seed {seed}: {step}");
        }
        // The middle of a stretch names it; points on crossings belong to none.
        let named = points.iter().filter(|p| !(near(p.east) && near(p.north))).map(|p| {
            let middle =
                |x: f64| if near(x) { 2.0 * (x / 100.0).round() } else { 2.0 * (x / 100.0).floor() + 1.0 };
            (middle(p.east) as i64, middle(p.north) as i64)
        });
        stretches.push(named.collect::<std::collections::BTreeSet<_>>().len() as f64);
    }
    assert!((mean(&stretches) - 79.5).abs() < 5.0 * 6.4 / 40f64.sqrt(), "{}", mean(&stretches));
}

/// A cardioid and a lobe: nothing lost on the axis, the whole front-to-back ratio behind, and levels follow.
#[test]
fn a_directional_emitter_is_weak_behind() {
    let axis = Angle::degrees(30.0);
    let patterns = [
        Pattern::Cardioid { axis, front_to_back: Db::new(15.0) },
        Pattern::Lobe { axis, lobe: Lobe::new(Angle::degrees(65.0), Db::new(25.0)).unwrap() },
    ];
    for (pattern, ratio) in patterns.into_iter().zip([15.0, 25.0]) {
        assert!(pattern.gain(axis).value().abs() < 1e-9);
        assert!((pattern.gain(axis.reversed()).value() + ratio).abs() < 1e-9);
        let turned = |d: f64| pattern.gain(axis.turned(Angle::degrees(d))).value();
        assert!((turned(77.0) - turned(-77.0)).abs() < 1e-9 && turned(77.0) < 0.0);
        let aimed = Emitter { pattern, ..Emitter::at(point(0.0, 0.0)) };
        let plan = |emitter| WalkPlan { emitters: vec![emitter], ..still() };
        let (with, without) = (plan(aimed), plan(Emitter::at(point(0.0, 0.0))));
        let (with, without) = (simulate::walk(&with).unwrap(), simulate::walk(&without).unwrap());
        for (a, b) in with.samples.iter().zip(&without.samples) {
            let toward = direction(point(0.0, 0.0), with.plane.to_plane(a.at));
            let gain = a.power.value() - b.power.value();
            assert!((gain - pattern.gain(toward).value()).abs() < 1e-6, "{gain}");
        }
    }
}

#[test]
fn an_emitter_that_moves_is_where_its_velocity_takes_it() {
    let emitter = Emitter { velocity: point(0.5, -0.25), ..Emitter::at(point(-100.0, 50.0)) };
    let plan =
        WalkPlan { emitters: vec![emitter], propagation: Propagation::open(2.0), pace: 1.0, ..still() };
    let walk = simulate::walk(&plan).unwrap();
    let sample = &walk.samples[100];
    let here = walk.plane.to_plane(sample.at);
    let (east, north) = (-100.0 + 0.5 * 500.0 - here.east, 50.0 - 0.25 * 500.0 - here.north);
    let slant = east.hypot(north).hypot(3.5);
    let wanted = 20.0 - free_space_loss(Hertz::mhz(900.0), Metres::new(slant)).value();
    assert!((sample.power.value() - wanted).abs() < 1e-6);
}

/// Sectors without shadowing in free space: each level is the sum of floor and emitter behind lobe, gain and feeder.
#[test]
fn a_sectors_level_is_the_sum_of_floor_and_emitter() {
    let emitter = Emitter { eirp: Dbm::new(10.0), ..Emitter::at(point(120.0, -300.0)) };
    let plan = SectorPlan {
        seed: 9,
        emitters: vec![emitter],
        shadowing: Db::new(0.0),
        law: Law::Exponent(2.0),
        ..SectorPlan::default()
    };
    let sectors = simulate::sectors(&plan).unwrap();
    assert_eq!(sectors.len(), 9);
    let plane = azimark::geodesy::Plane::centred_on(&[plan.centre]).unwrap();
    let lobe = Lobe::new(plan.beamwidth, plan.front_to_back).unwrap();
    for s in &sectors {
        let way = course(s.at, plane.to_place(emitter.at));
        let slant = Metres::new(way.distance.value().hypot(40.0 - 5.0));
        let loss = free_space_loss(plan.frequency, slant).value();
        let level = 10.0 - loss + 17.0 - 2.0 - lobe.attenuation(way.departure.miss_from(s.azimuth)).value();
        let sum = power_sum(&[plan.floor, Dbm::new(level)]).unwrap().value();
        // Written to a tenth.
        assert!((s.level.value() - sum).abs() < 0.0501, "{}: {} {sum}", s.name, s.level.value());
        assert!((s.rise.value() - (s.level.value() + 102.0)).abs() < 1e-9);
    }
    assert!(sectors.iter().any(|s| s.rise.value() > 10.0));
}
