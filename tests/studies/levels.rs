//! How often the region of a walk log holds the emitter, with shadowing that neighbours share. The scenes have physics of
//! their own: walks along blocks, an exponential correlation by a dense factor, errors of the receiver on top.

use azimark::{
    geodesy::PlanePoint,
    numeric::random::Random,
    solve::levels::{LevelPriors, Levels, Reading},
};

/// A walk of `count` readings, `step` metres apart, that turns at random every 80 m.
fn walk(random: &mut Random, count: usize, step: f64) -> Vec<PlanePoint> {
    let (mut east, mut north, mut heading) = (0.0, 0.0, 0u32);
    let per_block = (80.0 / step) as usize;
    let mut out = Vec::with_capacity(count);
    for i in 0..count {
        if i % per_block.max(1) == 0 {
            heading = (heading + [1, 3, 0][(random.uniform() * 3.0) as usize % 3]) % 4;
        }
        let (de, dn) = [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)][heading as usize];
        east += step * de;
        north += step * dn;
        out.push(PlanePoint { east, north });
    }
    out
}

/// Shadowing with standard deviation `sigma` and exponential correlation, by the dense Cholesky factor.
fn shadowing(random: &mut Random, points: &[PlanePoint], sigma: f64, decorrelation: f64) -> Vec<f64> {
    let n = points.len();
    let mut factor = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let apart = (points[i].east - points[j].east).hypot(points[i].north - points[j].north);
            let mut sum = (-apart / decorrelation).exp() + if i == j { 1e-9 } else { 0.0 };
            for k in 0..j {
                sum -= factor[i][k] * factor[j][k];
            }
            factor[i][j] = if i == j { sum.sqrt() } else { sum / factor[j][j] };
        }
    }
    let white: Vec<f64> = (0..n).map(|_| random.normal()).collect();
    (0..n).map(|i| sigma * (0..=i).map(|k| factor[i][k] * white[k]).sum::<f64>()).collect()
}

/// Whether the 95 % highest-posterior set, on a grid over the disc that the emitter is drawn from, holds it.
fn held(levels: &Levels, emitter: PlanePoint, radius: f64) -> bool {
    let truth = levels.log_likelihood(emitter);
    let cells = 20;
    let (mut above, mut all) = (0.0, 0.0);
    let mut logs = Vec::new();
    for i in 0..cells {
        for j in 0..cells {
            let at = |k: i32| radius * (2.0 * (f64::from(k) + 0.5) / f64::from(cells) - 1.0);
            let place = PlanePoint { east: at(i), north: at(j) };
            if place.east.hypot(place.north) <= radius {
                logs.push(levels.log_likelihood(place));
            }
        }
    }
    let top = logs.iter().copied().fold(truth, f64::max);
    for log in logs {
        all += (log - top).exp();
        above += if log > truth { (log - top).exp() } else { 0.0 };
    }
    above <= 0.95 * all
}

#[test]
fn a_walk_logs_region_holds_the_emitter_with_correlated_shadowing() {
    let long = std::env::var_os("AZIMARK_LONG").is_some();
    let trials = if long { 200 } else { 4 };
    let (mut total, mut all) = (0, 0);
    for (s, sigma) in [4.0, 6.0, 8.0].into_iter().enumerate() {
        for (d, decorrelation) in [10.0, 20.0, 50.0].into_iter().enumerate() {
            let mut random = Random::seeded(5000 + 10 * s as u64 + d as u64);
            let mut inside = 0;
            for _ in 0..trials {
                let points = walk(&mut random, 120, 5.0);
                let radius = 400.0;
                let (r, a) = (radius * random.uniform().sqrt(), std::f64::consts::TAU * random.uniform());
                let emitter = PlanePoint { east: r * a.sin(), north: r * a.cos() };
                let exponent = 2.5 + 1.5 * random.uniform();
                let shadow = shadowing(&mut random, &points, sigma, decorrelation);
                let readings: Vec<Reading> = points
                    .iter()
                    .zip(shadow)
                    .map(|(at, s)| {
                        let flat = (at.east - emitter.east).hypot(at.north - emitter.north);
                        let slant = flat.hypot(5.0);
                        let level = -20.0 - 10.0 * exponent * slant.log10() + s + 1.5 * random.normal();
                        Reading { at: *at, level, below: false, device: 0 }
                    })
                    .collect();
                let levels = Levels::new(&readings, &LevelPriors::default());
                inside += u32::from(held(&levels, emitter, radius));
            }
            println!(
                "sigma {sigma} dB, decorrelation {decorrelation} m: {:.1} %",
                100.0 * f64::from(inside) / f64::from(trials)
            );
            total += inside;
            all += trials;
        }
    }
    let share = f64::from(total) / f64::from(all);
    println!("levels: all {:.2} %", 100.0 * share);
    let error = 3.0 * (0.95f64 * 0.05 / f64::from(all)).sqrt();
    assert!((share - 0.95).abs() < 0.03 + error, "{share}");
}
