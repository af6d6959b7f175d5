//! What many repetitions must show, with seeded chance.

use azimark::{
    numeric::random::Random,
    solve::plain::{Line, Method},
};

use crate::{azimuth, distance, drms, line, problem};

/// Lines from `stands` toward `target` with normal errors of `sigma` degrees.
fn noisy(stands: &[(f64, f64)], target: (f64, f64), sigma: f64, random: &mut Random) -> Vec<Line> {
    stands.iter().map(|s| line(s.0, s.1, azimuth(*s, target) + sigma * random.normal(), sigma)).collect()
}

/// The bound of the exact bearings: root of the trace of the covariance at the target.
fn bound(stands: &[(f64, f64)], target: (f64, f64), sigma: f64) -> f64 {
    let exact: Vec<Line> = stands.iter().map(|s| line(s.0, s.1, azimuth(*s, target), sigma)).collect();
    drms(&problem(&exact).solve(Method::Gaussian).unwrap())
}

/// The triangle of three lines with independent errors of median zero holds the place with probability 1/4, whatever the
/// angles and errors (R. G. Stuart, "Probabilities in a Gaussian cocked hat", Journal of Navigation 72 (2019)). The corners
/// are the fixes of each pair.
#[test]
fn the_cocked_hat_holds_the_place_one_time_in_four() {
    let mut random = Random::seeded(2019);
    let (trials, mut inside) = (200_000, 0);
    for _ in 0..trials {
        let turn = 360.0 * random.uniform();
        let lines: Vec<Line> = [(0.0, 900.0, 1.0), (50.0, 1500.0, 0.6), (130.0, 700.0, 2.0)]
            .iter()
            .map(|(from, range, sigma)| {
                let (sin, cos) = f64::to_radians(from + turn).sin_cos();
                let stand = (range * sin, range * cos);
                line(stand.0, stand.1, azimuth(stand, (0.0, 0.0)) + sigma * random.normal(), *sigma)
            })
            .collect();
        let corner = |i: usize, j: usize| {
            let at = problem(&[lines[i], lines[j]]).solve(Method::Pseudolinear).unwrap().at;
            (at.east, at.north)
        };
        let corners = [corner(0, 1), corner(1, 2), corner(2, 0)];
        let side = |i: usize| {
            let (a, b) = (corners[i], corners[(i + 1) % 3]);
            a.0 * b.1 - a.1 * b.0 > 0.0
        };
        inside += u32::from(side(0) == side(1) && side(1) == side(2));
    }
    let share = f64::from(inside) / f64::from(trials);
    // Three binomial standard errors.
    let tolerance = 3.0 * (0.25 * 0.75 / f64::from(trials)).sqrt();
    println!("cocked hat: {share:.5} ± {tolerance:.5}");
    assert!((share - 0.25).abs() < tolerance, "{share}");
}

/// Root mean square error over the bound with 50 bearings of 4° from a base of 1 km at a place 1.5 km off, and the mean error
/// along the range. Expected ratios from 20,000 trials in Python with numpy, ±2 %; the bound, 82.0125 m, computed there too.
/// The standard error of a ratio over our 20,000 trials is 0.5 % to 0.7 %.
#[test]
fn linear_methods_are_biased_toward_the_stands_and_maximum_likelihood_is_not() {
    let stands: Vec<(f64, f64)> = (0..50).map(|i| (-500.0 + 1000.0 * f64::from(i) / 49.0, 0.0)).collect();
    let target = (0.0, 1500.0);
    let bound = bound(&stands, target, 4.0);
    assert!((bound - 82.0125).abs() < 5e-5, "{bound}");
    let mut random = Random::seeded(1992);
    let trials = 20_000;
    let methods = [
        (Method::Pseudolinear, 2.234, -170.9),
        (Method::StansfieldOnce, 2.301, -176.6),
        (Method::Gaussian, 1.0117, 3.4),
    ];
    let mut sums = [(0.0, 0.0); 3];
    for _ in 0..trials {
        let problem = problem(&noisy(&stands, target, 4.0, &mut random));
        let start = problem.solve(Method::Pseudolinear).unwrap().at;
        for ((method, ..), (squares, bias)) in methods.iter().zip(&mut sums) {
            // From the pseudolinear place: the search over all cuts finds the same minimum at ten times the cost.
            let fix = problem.polish(*method, start).unwrap();
            *squares += distance(&fix, target).powi(2);
            *bias += fix.at.north - target.1;
        }
    }
    for ((method, ratio, mean), (squares, bias)) in methods.iter().zip(sums) {
        let found = (squares / f64::from(trials)).sqrt() / bound;
        let bias = bias / f64::from(trials);
        println!("{method:?}: RMSE/CRLB {found:.4} (expected {ratio}), bias {bias:.1} m (expected {mean})");
        assert!((found / ratio - 1.0).abs() < 0.02, "{method:?}: {found}");
        // Two per cent of the root mean square error.
        assert!((bias - mean).abs() < 0.02 * ratio * bound, "{method:?}: {bias}");
    }
}

/// Five bearings of 2° about the place: an efficient method comes within 3 % of the bound (common practice, no source); the
/// standard error of the ratio over 20,000 trials is 0.4 %.
#[test]
fn five_good_bearings_reach_the_bound() {
    let stands = [(0.0, 900.0), (1100.0, 200.0), (600.0, -800.0), (-700.0, -700.0), (-1000.0, 400.0)];
    let target = (40.0, -60.0);
    let bound = bound(&stands, target, 2.0);
    let mut random = Random::seeded(5);
    for method in [Method::Gaussian, Method::VonMises] {
        let (trials, mut squares, mut chi) = (20_000, 0.0, 0.0);
        for _ in 0..trials {
            let fix = problem(&noisy(&stands, target, 2.0, &mut random)).solve(method).unwrap();
            squares += distance(&fix, target).powi(2);
            chi += fix.chi_square;
        }
        let ratio = (squares / f64::from(trials)).sqrt() / bound;
        let chi = chi / f64::from(trials);
        println!("{method:?}: RMSE/CRLB {ratio:.4}, mean χ² {chi:.3} with 3 degrees of freedom");
        assert!(ratio < 1.03 && ratio > 0.98, "{method:?}: {ratio}");
        // The mean of χ² with three degrees is 3, its standard error here √6/√20,000 = 0.017.
        assert!((chi - 3.0).abs() < 0.07, "{method:?}: {chi}");
    }
}
