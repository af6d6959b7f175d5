//! The plain fix from levels, in the same scenes as `levels_reference.py` solves with scipy: run both, one after the other, and
//! compare (DEVELOPERS.md). `polish` is the work from one given start, as there; `solve` chooses its starts and lays nothing out
//! anew; `whole` lays the readings out first.

use azimark::{
    geodesy::PlanePoint,
    solve::plain::levels::{Law, PlainLevels, Reading},
    units::{Dbm, Sigma},
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
