//! The plain fix from levels, in the same scenes as `levels_reference.py` solves with scipy: run both, one after the other, and
//! compare (DEVELOPERS.md). `polish` is the work from one given start, as there; `solve` chooses its starts and lays nothing out
//! anew; `whole` lays the readings out first. `joint` is the answer of the program: levels and bearings in one posterior, with
//! peaks and regions, beside numpy's on a grid; for how it grows, `AZIMARK_LONG=1` takes counts up to a million.

use azimark::{
    geodesy::{Place, Plane, PlanePoint},
    ingest, north,
    region::Region,
    solve::{
        self, Options, Problem,
        levels::LevelSight,
        plain::levels::{Law, PlainLevels, Reading},
    },
    units::{Confidence, Dbm, Sigma},
};
use divan::{Bencher, black_box};

const COUNTS: [usize; 4] = [100, 5_000, 20_000, 200_000];

fn main() {
    for count in COUNTS {
        let levels = PlainLevels::new(&readings(count), &Law::default()).unwrap();
        let (best, one) = (levels.solve().unwrap(), levels.polish(START).unwrap());
        println!(
            "{count} readings: east {:.4} north {:.4} start {:.4} exponent {:.5}, {} steps from its start, {} from the given one",
            best.at.east,
            best.at.north,
            best.law.start.value(),
            best.law.exponent,
            best.steps,
            one.steps
        );
        let apart = (best.at.east - one.at.east).hypot(best.at.north - one.at.north);
        assert!(apart < 1e-3, "both must end at the same place: {apart} m");
    }
    for count in [5_000, 20_000] {
        let (levels, bearings) = evidence(count);
        let problem = Problem { levels: &levels, bearings: &bearings, ..Problem::default() };
        let fit = solve::fit(&problem, &Options::default()).expect("a fit");
        let area = Region::of(&fit, Confidence::P95).expect("a region").area();
        println!("{count} readings and 5 bearings: 95 % in {:.0} m²", area.value());
    }
    divan::main();
}

/// Where the single descents begin.
const START: PlanePoint = PlanePoint { east: 250.0, north: -100.0 };

/// A spiral walk of steps of 2 m about the middle, an emitter 120 m east and 90 m north, −20 dBm at 1 m, exponent 3, and
/// errors of 6 dB made by a linear congruence (Numerical Recipes, from memory) and the sum of twelve: the same numbers in
/// every language.
fn readings(count: usize) -> Vec<Reading> {
    let mut state: u32 = 12_345;
    let mut uniform = || {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        f64::from(state) / 4_294_967_296.0
    };
    let scale = 600.0 / (count as f64).sqrt();
    (0..count)
        .map(|i| {
            let turn = 2.399_963_229_728_653 * i as f64;
            let radius = scale * (i as f64 + 0.5).sqrt();
            let (east, north) = (radius * turn.sin(), radius * turn.cos());
            let error = 6.0 * ((0..12).map(|_| uniform()).sum::<f64>() - 6.0);
            let distance = (east - 120.0).hypot(north - 90.0).max(1.0);
            Reading {
                at: PlanePoint { east, north },
                level: Dbm::new(-20.0 - 30.0 * distance.log10() + error),
                sigma: Sigma::db(6.0).unwrap(),
            }
        })
        .collect()
}

#[divan::bench(args = COUNTS)]
fn polish(bencher: Bencher, count: usize) {
    let levels = PlainLevels::new(&readings(count), &Law::default()).unwrap();
    bencher.bench_local(|| black_box(levels.polish(black_box(START))));
}

#[divan::bench(args = COUNTS)]
fn solve(bencher: Bencher, count: usize) {
    let levels = PlainLevels::new(&readings(count), &Law::default()).unwrap();
    bencher.bench_local(|| black_box(levels.solve()));
}

#[divan::bench(args = COUNTS)]
fn whole(bencher: Bencher, count: usize) {
    let readings = readings(count);
    bencher.bench_local(|| PlainLevels::new(black_box(&readings), &Law::default()).unwrap().solve());
}

/// The readings as the solver takes them, those below −105 dBm below the floor, and five bearings of 4° to the emitter.
fn evidence(count: usize) -> (Vec<LevelSight>, Vec<north::TrueBearing>) {
    const FLOOR: f64 = -105.0;
    let centre = Place::from_lat_lon_degrees(47.0, 8.0).expect("a place");
    let plane = Plane::centred_on(&[centre]).expect("a plane");
    let levels = readings(count).into_iter().map(|r| {
        let below = r.level.value() < FLOOR;
        let level = if below { Dbm::new(FLOOR) } else { r.level };
        LevelSight { at: plane.to_place(r.at), level, below, device: 0 }
    });
    let mut text = String::from("id,lat,lon,bearing_deg,north,sigma_deg\n");
    for i in 0..5 {
        let turn = 1.2566 * f64::from(i) + 0.3;
        let (east, north) = (120.0 + 500.0 * turn.sin(), 90.0 + 500.0 * turn.cos());
        let stand = plane.to_place(PlanePoint { east, north });
        let bearing = (turn.to_degrees() + 180.0 + 3.0 * (1.7 * f64::from(i)).sin()).rem_euclid(360.0);
        text += &format!("b{i},{},{},{bearing},true,4\n", stand.lat_degrees(), stand.lon_degrees());
    }
    let rows = ingest::bearings("bearings.csv", text.as_bytes(), &ingest::Settings::default()).rows;
    (levels.collect(), north::resolve(&rows, &north::Settings::default()).bearings)
}

/// Counts of the joint answer.
fn joint_counts() -> Vec<usize> {
    match std::env::var_os("AZIMARK_LONG") {
        Some(_) => vec![100, 1_000, 5_000, 10_000, 20_000, 100_000, 1_000_000],
        None => vec![5_000, 20_000],
    }
}

#[divan::bench(args = joint_counts(), sample_count = 3, sample_size = 1)]
fn joint(bencher: Bencher, count: usize) {
    let (levels, bearings) = evidence(count);
    let problem = Problem { levels: &levels, bearings: &bearings, ..Problem::default() };
    bencher.bench_local(|| {
        let fit = solve::fit(black_box(&problem), &Options::default()).expect("a fit");
        Region::several(&fit, &[Confidence::P50, Confidence::P90, Confidence::P95])
    });
}
