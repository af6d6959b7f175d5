//! Two emitters on one channel: each is found within its region, and one is not taken for two.

use azimark::{
    geodesy::{Place, PlanePoint},
    north,
    numeric::random::Random,
    region::Region,
    simulate::{self, BearingPlan, Emitter, Stands, Stated},
    solve::{self, Options, Problem, pair},
    trial::{Class, Evidence, draw},
    units::{Angle, Confidence, Db, Metres, Sigma},
};

use super::long;

/// Twelve bearings of 4°, stands 100 m to 1 km from the first emitter on a third of the circle or more; the second emitter 300 to
/// 800 m off; which of them is read where follows from the distance and 6 dB of shadowing.
fn plan(random: &mut Random, emitters: usize) -> BearingPlan {
    let turn = std::f64::consts::TAU * random.uniform();
    let off = random.between(300.0, 800.0);
    let mut places = vec![Emitter::at(PlanePoint { east: 0.0, north: 0.0 })];
    if emitters == 2 {
        places.push(Emitter::at(PlanePoint { east: off * turn.sin(), north: off * turn.cos() }));
    }
    BearingPlan {
        seed: (random.uniform() * 9e15) as u64,
        count: 12,
        stands: Stands::Around {
            range: (Metres::new(100.0), Metres::new(1000.0)),
            from: Angle::degrees(random.between(0.0, 360.0)),
            width: Angle::degrees(random.between(120.0, 360.0)),
        },
        stated: Stated::Sigma(Sigma::<Angle>::degrees(4.0).unwrap()),
        emitters: places,
        shadowing: Db::new(6.0),
        ..BearingPlan::default()
    }
}

#[derive(Default)]
struct Count {
    scenes: u32,
    split: u32,
    /// Each region of the pair holds another of the emitters.
    both: u32,
    /// Bearings that belong where they came from, of those that belong anywhere.
    right: (u32, u32),
}

fn study(seed: u64, scenes: u32, emitters: usize, least: usize) -> Count {
    let mut random = Random::seeded(seed);
    let mut count = Count::default();
    while count.scenes < scenes {
        let drawn = simulate::bearings(&plan(&mut random, emitters)).unwrap();
        let of_second = drawn.told.iter().filter(|t| t.emitter == 1).count();
        if emitters == 2 && !(least..=12 - least).contains(&of_second) {
            continue;
        }
        count.scenes += 1;
        let bearings = north::resolve(&drawn.readings, &north::Settings::default()).bearings;
        let problem = Problem { bearings: &bearings, ..Problem::default() };
        let options = Options::default();
        let stated = solve::fit(&problem, &options).unwrap();
        let Some(found) = pair(&problem, &options, &stated) else { continue };
        if !found.clear() {
            continue;
        }
        count.split += 1;
        let truths: Vec<Place> = drawn.emitters.iter().map(|e| drawn.plane.to_place(e.at)).collect();
        let places = found.places();
        let holds = |k: usize, truth: &Place| {
            Region::of(&places[k], Confidence::P95).is_ok_and(|r| r.holds(&places[k], *truth))
        };
        if emitters == 2 {
            let straight = holds(0, &truths[0]) && holds(1, &truths[1]);
            let crossed = holds(1, &truths[0]) && holds(0, &truths[1]);
            count.both += u32::from(straight || crossed);
            for (told, belongs) in drawn.told.iter().zip(&found.belongs) {
                if let Some(place) = belongs.place() {
                    count.right.1 += 1;
                    count.right.0 +=
                        u32::from(if straight { told.emitter == place } else { told.emitter != place });
                }
            }
        }
    }
    println!(
        "{emitters} emitters, {least} bearings or more each: {scenes} scenes, told apart {:.1} %, both held {:.1} %, \
         bearings told rightly {:.1} %",
        100.0 * f64::from(count.split) / f64::from(scenes),
        100.0 * f64::from(count.both) / f64::from(scenes),
        100.0 * f64::from(count.right.0) / f64::from(count.right.1.max(1)),
    );
    count
}

#[test]
fn two_emitters_are_told_apart_and_one_is_not_split() {
    let scenes = if long() { 400 } else { 60 };
    let one = study(11, scenes, 1, 0);
    let two = study(12, scenes, 2, 4);
    if long() {
        study(13, scenes, 2, 3);
        study(13, scenes, 2, 0);
    }
    let share = |n: u32| f64::from(n) / f64::from(scenes);
    assert!(share(one.split) <= 0.03, "one emitter is split in {:.3}", share(one.split));
    // 85 % are asked for; a count of 60 may fall short of a true 88 % by two of its standard deviations of 4.2 %.
    let least = if long() { 0.85 } else { 0.80 };
    assert!(share(two.both) >= least, "both are held in {:.3}", share(two.both));
    let right = f64::from(two.right.0) / f64::from(two.right.1);
    assert!(right >= 0.85, "bearings told rightly: {right:.3}");
}

/// Scenes of a class of the trial in which two places are told.
fn told_two(class: Class, scenes: u32) -> f64 {
    let count = (0..scenes).filter(|&number| {
        let Evidence::Bearings(read) = draw(5, class, number).unwrap().evidence else { unreachable!() };
        let bearings = north::resolve(&read, &north::Settings::default()).bearings;
        let problem = Problem { bearings: &bearings, ..Problem::default() };
        let options = Options::default();
        let stated = solve::fit(&problem, &options).unwrap();
        pair(&problem, &options, &stated).is_some_and(|found| found.clear())
    });
    let share = count.count() as f64 / f64::from(scenes);
    println!("{}: two places told in {:.1} %", class.word(), 100.0 * share);
    share
}

#[test]
fn other_troubles_are_seldom_taken_for_a_second_place() {
    let scenes = if long() { 100 } else { 20 };
    use Class::{
        Canyon, Clean, CompassRound, Foreign25, Foreign40, Near, Reflector, Reversed, SigmaDouble, Street,
    };
    for class in [Clean, Foreign25, Foreign40, SigmaDouble, CompassRound, Reversed, Near] {
        // One scene of the short form's 20.
        assert!(told_two(class, scenes) <= 0.05, "{}", class.word());
    }
    // A front shows the emitter twice: there two places are the truth, and only printed.
    if long() {
        for class in [Street, Canyon, Reflector] {
            told_two(class, scenes);
        }
    }
}
