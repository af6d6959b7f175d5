//! An emitter that moves while it is looked for, and one that stands still.

use azimark::{
    geodesy::PlanePoint,
    north,
    numeric::random::Random,
    simulate::{self, BearingPlan, Emitter, Stands, Stated},
    solve::{self, Options, Problem, drift},
    trial::{Class, Evidence, draw},
    units::{Angle, Metres, Sigma},
};

use super::long;

#[derive(Default)]
struct Count {
    told: u32,
    /// The ellipse of 95 % of the last place, and of the velocity, holds the true one.
    held: [u32; 2],
}

/// Squared distance in standard deviations.
fn squared([e, n]: [f64; 2], [ee, en, nn]: [f64; 3]) -> f64 {
    (nn * e * e - 2.0 * en * e * n + ee * n * n) / (ee * nn - en * en)
}

/// χ² of two degrees of freedom, 95 %.
const P95: f64 = 5.991;

/// Sixteen bearings of 4°, 12 minutes apart, from stands 200 m to 1 km off; the emitter drifts so far in all.
fn study(seed: u64, drifts: (f64, f64)) -> Count {
    let scenes = if long() { 300 } else { 40 };
    let mut random = Random::seeded(seed);
    let mut count = Count::default();
    for _ in 0..scenes {
        let (s, c) = (std::f64::consts::TAU * random.uniform()).sin_cos();
        let speed = random.between(drifts.0, drifts.1) / (15.0 * 720.0);
        let velocity = PlanePoint { east: speed * s, north: speed * c };
        let plan = BearingPlan {
            seed: (random.uniform() * 9e15) as u64,
            count: 16,
            stands: Stands::Around {
                range: (Metres::new(200.0), Metres::new(1000.0)),
                from: Angle::degrees(random.between(0.0, 360.0)),
                width: Angle::degrees(random.between(180.0, 360.0)),
            },
            stated: Stated::Sigma(Sigma::<Angle>::degrees(4.0).unwrap()),
            emitters: vec![Emitter { velocity, ..Emitter::at(PlanePoint { east: 0.0, north: 0.0 }) }],
            ..BearingPlan::default()
        };
        let drawn = simulate::bearings(&plan).unwrap();
        let bearings = north::resolve(&drawn.readings, &north::Settings::default()).bearings;
        let problem = Problem { bearings: &bearings, ..Problem::default() };
        let fit = solve::fit(&problem, &Options::default()).unwrap();
        let Some(found) = drift(&fit, &bearings).filter(|d| d.clear()) else { continue };
        count.told += 1;
        let (last, at) = (drawn.emitters[0].place(15.0 * 720.0), drawn.plane.to_plane(found.place));
        let off = [at.east - last.east, at.north - last.north];
        count.held[0] += u32::from(squared(off, found.covariance) < P95);
        let off = [found.velocity[0] - velocity.east, found.velocity[1] - velocity.north];
        count.held[1] += u32::from(squared(off, found.velocity_covariance) < P95);
    }
    let share = |n: u32, of: u32| 100.0 * f64::from(n) / f64::from(of.max(1));
    println!(
        "drift of {:.0} to {:.0} m: told in {:.1} %; of these the place held in {:.1} %, the velocity in {:.1} %",
        drifts.0,
        drifts.1,
        share(count.told, scenes),
        share(count.held[0], count.told),
        share(count.held[1], count.told),
    );
    count
}

#[test]
fn an_emitter_that_moves_is_told_and_one_that_stands_still_is_not() {
    let scenes = if long() { 300.0 } else { 40.0 };
    let still = study(41, (0.0, 1e-9));
    study(42, (100.0, 300.0));
    let moves = study(43, (400.0, 2_000.0));
    assert!(f64::from(still.told) <= 0.03 * scenes, "{}", still.told);
    assert!(f64::from(moves.told) >= 0.9 * scenes, "{}", moves.told);
    for held in moves.held {
        // Three standard deviations of a count below 95 %.
        let n = f64::from(moves.told);
        assert!(f64::from(held) >= 0.95 * n - 3.0 * (0.95 * 0.05 * n).sqrt(), "{held} of {n}");
    }
}

#[test]
fn other_troubles_are_seldom_taken_for_a_drift() {
    let scenes = if long() { 100 } else { 20 };
    use Class::{Clean, CompassRound, Foreign25, Foreign40, Reversed, SigmaDouble, Street, TwoEmitters};
    for class in [Clean, Foreign25, Foreign40, SigmaDouble, CompassRound, Reversed, Street, TwoEmitters] {
        let told = (0..scenes).filter(|&number| {
            let Evidence::Bearings(read) = draw(6, class, number).unwrap().evidence else { unreachable!() };
            let bearings = north::resolve(&read, &north::Settings::default()).bearings;
            let problem = Problem { bearings: &bearings, ..Problem::default() };
            let fit = solve::fit(&problem, &Options::default()).unwrap();
            drift(&fit, &bearings).is_some_and(|d| d.clear())
        });
        let told = told.count() as f64 / f64::from(scenes);
        println!("{}: a drift told in {:.1} %", class.word(), 100.0 * told);
        assert!(told <= 0.1, "{}: {told:.3}", class.word());
    }
}
