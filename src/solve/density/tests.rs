//! The density against the sum that it stands for, written out term by term.

use std::f64::consts::TAU;

use crate::{
    ingest, north,
    solve::{
        compass::compasses,
        density::{Density, LANES, shares},
        front::{Front, Fronts, fronts, unknown},
        lobe::{concentration, exp_negative, peak_squared},
        nodes::Nodes,
        options::{FrontPrior, Options, Problem},
        scene::{Scene, Sight, TAIL},
        search::evidence,
        tree::batch,
    },
};

/// `count` bearings of three teams around an emitter one kilometre off; some point at a place beside it, and one is reversed.
fn scene(count: usize, options: &Options) -> Scene {
    let mut notes = String::from("id,team,lat,lon,bearing_deg,north,class\n");
    for i in 0..count {
        let around = TAU * i as f64 / count as f64 + 0.3;
        let (east, north) = (1000.0 * around.sin(), 1000.0 * around.cos());
        let (x, y) = if i % 4 == 1 { (400.0, -250.0) } else { (0.0, 0.0) };
        let turned = if i == 2 { 180.0 } else { 4.0 * (2.3 * i as f64).sin() };
        let bearing = ((x - east).atan2(y - north).to_degrees() + turned).rem_euclid(360.0);
        let (lat, lon) = (47.0 + north / 111_200.0, 8.0 + east / 75_900.0);
        notes += &format!("b{i},T{},{lat:.6},{lon:.6},{bearing:.1},true,B\n", i % 3);
    }
    let read = ingest::bearings("notes.csv", notes.as_bytes(), &ingest::Settings::default());
    let bearings = north::resolve(&read.rows, &north::Settings::default()).bearings;
    let scene = Scene::of(&Problem { bearings: &bearings, ..Problem::default() }, options).unwrap();
    let mut scene = compasses(scene, options);
    scene.fronts = fronts(&scene, options);
    scene
}

/// A bearing's lobe at a place, all errors of direction added up in `turn`.
fn lobe(sight: &Sight, at: [f64; 2], turn: f64, scale: f64) -> f64 {
    let (e, n) = (at[0] - sight.east, at[1] - sight.north);
    let miss = sight.sin.atan2(sight.cos) - e.atan2(n) + turn;
    let factor = (2.0 * scale * sight.spread).exp();
    let k = concentration(factor * (sight.sigma.powi(2) + sight.position / (e * e + n * n)));
    peak_squared(k).sqrt() * exp_negative((k * (miss.cos() - 1.0)).min(0.0))
}

/// Logarithm of the likelihood of one crew's bearings at the nodes, for foreign bearings of this density.
fn crew(scene: &Scene, crew: usize, term: &dyn Fn(&Sight, f64) -> f64) -> f64 {
    let at = |compass: f64| -> f64 {
        scene.sights.iter().filter(|s| s.whose == crew).map(|s| term(s, compass).ln()).sum()
    };
    let logs: Vec<f64> = scene.compasses[crew].iter().map(|c| c.1.ln() + at(c.0)).collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    top + logs.iter().map(|l| (l - top).exp()).sum::<f64>().ln()
}

/// The logarithm of the density by its formula.
fn written_out(scene: &Scene, options: &Options, at: [f64; 2]) -> f64 {
    let nodes = Nodes::of(scene, options);
    let mut logs = Vec::new();
    for north in &nodes.north {
        for scale in &nodes.scale {
            let mut add =
                |weight: f64, e: f64, lone: Option<&Sight>, foreign: &dyn Fn(&Sight, f64) -> f64| {
                    let term = |s: &Sight, compass: f64| {
                        let turn = north.0 * s.shared + compass;
                        let (direct, share) = shares(s, e);
                        if lone.is_some_and(|l| std::ptr::eq(l, s)) {
                            return share * options.front.share * unknown(scene, s);
                        }
                        let ways = direct * lobe(s, at, turn, scale.0)
                            + s.reversed * lobe(s, at, turn + std::f64::consts::PI, scale.0);
                        ways + share * foreign(s, turn)
                    };
                    let likelihood: f64 = (0..scene.crews).map(|c| crew(scene, c, &term)).sum();
                    logs.push((north.1 * scale.1 * weight).ln() + likelihood);
                };
            for f in &nodes.foreign {
                add(f.1 * (1.0 - scene.fronts.weight()), f.0, None, &|_, _| 1.0 / TAU);
            }
            for front in &scene.fronts.places {
                for f in &nodes.shared {
                    add(f.1 * front.weight, f.0, None, &|s, turn| front.seen(s, turn.sin_cos()));
                }
            }
            for f in nodes.shared.iter().filter(|_| !scene.fronts.places.is_empty()) {
                let even = (1.0 - options.front.share) / TAU;
                for lone in std::iter::once(None).chain(scene.sights.iter().map(Some)) {
                    add(f.1 * scene.fronts.lone, f.0, lone, &|_, _| even);
                }
            }
        }
    }
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let square = (at[0] - scene.middle.x).powi(2) + (at[1] - scene.middle.y).powi(2);
    let prior = -TAIL * (scene.knee.powi(2) + square).ln();
    top + logs.iter().map(|l| (l - top).exp()).sum::<f64>().ln() + prior
}

const PLACES: [[f64; 2]; 5] =
    [[3.0, -7.0], [390.0, -260.0], [-700.0, 900.0], [12_000.0, -3_000.0], [80.0, 45.0]];

#[test]
fn blocks_and_corrected_products_are_the_sum_written_out() {
    // Of 90 bearings each team has more than one chunk of products.
    for count in [3, 12, 90] {
        let options =
            Options { front: FrontPrior { probability: 0.4, ..FrontPrior::default() }, ..Options::default() };
        let scene = scene(count, &options);
        assert!(count < 12 || !scene.fronts.places.is_empty() && scene.fronts.lone > 0.1);
        let density = Density::new(&scene, &options);
        for at in PLACES {
            let (here, there) = (density.at_point(at[0], at[1]), written_out(&scene, &options, at));
            // A bearing that hardly sees a shared place is wrong by a hundred-thousandth at most.
            assert!((here - there).abs() < 1e-5 * (count as f64 + 5.0), "{count} at {at:?}: {here}, {there}");
        }
    }
}

#[test]
fn a_disc_holds_nothing_above_its_bound() {
    let options = Options::default();
    let scene = scene(12, &options);
    let density = Density::new(&scene, &options);
    for radius in [3.0, 60.0, 1500.0] {
        let bounds = density.bound(&batch(PLACES.into_iter()), radius);
        for (at, bound) in PLACES.iter().zip(bounds) {
            for i in 0..40 {
                let (s, c) = (0.7 * f64::from(i)).sin_cos();
                let r = radius * (f64::from(i) / 40.0).sqrt();
                let inside = density.at_point(at[0] + r * s, at[1] + r * c);
                assert!(inside <= bound + 1e-9, "{inside} above {bound} within {radius} of {at:?}");
            }
        }
    }
}

/// The probability of pointing at the place is one less the part of the density that is left when the bearing does not.
#[test]
fn verdicts_are_parts_of_the_density() {
    let options = Options::default();
    let scene = scene(12, &options);
    let density = Density::new(&scene, &options);
    let at = [30.0, -20.0];
    for verdict in density.verdicts(at[0], at[1]) {
        assert!(verdict.0 >= 0.0 && verdict.1 >= 0.0 && verdict.0 + verdict.1 <= 1.0 + 1e-12);
    }
    let weights: f64 = density.node_weights(at[0], at[1]).iter().sum();
    assert!((weights - 1.0).abs() < 1e-12);
    // Without places that are seen, and with one that may be anywhere, in every direction alike.
    let hidden = |f: &Front| Front { weight: 1e-15, ..*f };
    let anywhere = Fronts { places: scene.fronts.places.iter().map(hidden).collect(), lone: 0.6 };
    assert!(!anywhere.places.is_empty());
    for fronts in [Fronts::default(), anywhere] {
        turned_away(&Scene { fronts, knee: 1e12, ..scene.clone() }, &options, at);
    }
}

/// A bearing that is turned away to where nothing is seen of it loses its lobes and keeps its foreign part.
fn turned_away(gone: &Scene, options: &Options, at: [f64; 2]) {
    let whole = Density::new(gone, options);
    for (i, alone) in whole.verdicts(at[0], at[1]).iter().enumerate() {
        let mut away = gone.clone();
        away.sights[i].sigma = 1e-4;
        let (sin, cos) = (away.sights[i].sin, away.sights[i].cos);
        (away.sights[i].sin, away.sights[i].cos) = (cos, -sin);
        away.sights[i].position = 0.0;
        let without = Density::new(&away, options).at_point(at[0], at[1]);
        let left = (without - whole.at_point(at[0], at[1])).exp();
        assert!((1.0 - alone.0 - alone.1 - left).abs() < 1e-6, "{i}: {alone:?} and {left}");
    }
}

#[test]
fn errors_of_a_compass_that_are_left_out_do_not_count() {
    let options = Options::default();
    for count in [6, 12] {
        let pruned = scene(count, &options);
        let mut whole = pruned.clone();
        whole.compasses = vec![crate::solve::compass::nodes(&pruned, &options); whole.crews];
        let nodes = |s: &Scene| s.compasses.iter().map(Vec::len).sum::<usize>();
        assert!(nodes(&pruned) <= nodes(&whole));
        let [a, b] = [&pruned, &whole].map(|s| evidence(&Density::new(s, &options), 120.0));
        // Each team's nodes below a thousandth of its weightiest, of errors taken as half as large again.
        assert!(
            (a - b).abs() < 0.01,
            "{count}: {a} and {b} with {} of {} nodes",
            nodes(&pruned),
            nodes(&whole)
        );
        assert_eq!(pruned.crews, if count < 9 { 1 } else { 3 });
    }
}

#[test]
fn lanes_do_not_know_each_other() {
    let options = Options::default();
    let scene = scene(12, &options);
    let density = Density::new(&scene, &options);
    let points = batch((0..LANES).map(|l| [50.0 * l as f64, -30.0 * l as f64]));
    for (l, log) in density.at(&points).into_iter().enumerate() {
        assert_eq!(log, density.at_point(points.0[l], points.1[l]));
    }
}

/// ∫ p₀ along the ray of a reading, by steps; over all readings of a stand the densities make up 1.
#[test]
fn a_place_anywhere_is_seen_as_its_prior_says() {
    let options = Options::default();
    let mut scene = scene(12, &options);
    scene.middle = nalgebra::Vector2::new(120.0, -80.0);
    for sight in &mut scene.sights.clone()[..3] {
        let (mut sum, steps) = (0.0, 720);
        for i in 0..steps {
            (sight.sin, sight.cos) = (TAU * f64::from(i) / f64::from(steps)).sin_cos();
            sum += unknown(&scene, sight) * TAU / f64::from(steps);
        }
        assert!((sum - 1.0).abs() < 1e-9, "{sum}");
        // Even steps of z = ln(1 + t/a) reach e¹⁶ prior scales, beyond which 1e-7 of the prior lies.
        let along = |z: f64| {
            let t = scene.knee * (z.exp() - 1.0);
            let at = nalgebra::Vector2::new(sight.east + t * sight.sin, sight.north + t * sight.cos);
            let square = scene.knee.powi(2) + (at - scene.middle).norm_squared();
            scene.knee / TAU * square.powf(-TAIL) * t * scene.knee * z.exp()
        };
        let integral: f64 = (0..160_000).map(|i| 1e-4 * along(1e-4 * (f64::from(i) + 0.5))).sum();
        assert!((integral / unknown(&scene, sight) - 1.0).abs() < 1e-6, "{integral}");
    }
}
