//! Plain fixes from levels, alone and with bearings.

use azimark::{
    geodesy::PlanePoint,
    numeric::random::Random,
    radio::{ShadowCorrelation, Span, bearing_of_equal_information},
    region::Ellipse,
    solve::plain::{
        Line, Method,
        levels::{Bound, Law, LevelError, LevelFix, MOST_SHARED, PlainLevels, Reading, Term, Unknown},
    },
    units::{Confidence, Db, Dbm, Metres, Sigma},
};
use serde_json::Value;

use crate::{azimuth, line, problem};

fn reading(east: f64, north: f64, level: f64, sigma: f64) -> Reading {
    Reading { at: PlanePoint { east, north }, level: Dbm::new(level), sigma: Sigma::<Db>::db(sigma).unwrap() }
}

fn known(start: f64, exponent: f64) -> Law {
    Law { start: Term::Known(Dbm::new(start)), exponent: Term::Known(exponent), ..Law::default() }
}

/// Levels of an emitter of −12 dBm at 1 m and exponent 3.2, without error.
fn exact(spots: &[(f64, f64)], emitter: (f64, f64), sigma: f64) -> Vec<Reading> {
    let level = |s: &(f64, f64)| -12.0 - 32.0 * (s.0 - emitter.0).hypot(s.1 - emitter.1).log10();
    spots.iter().map(|s| reading(s.0, s.1, level(s), sigma)).collect()
}

fn off(fix: &LevelFix, to: (f64, f64)) -> f64 {
    (fix.at.east - to.0).hypot(fix.at.north - to.1)
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| value.as_str().unwrap().parse().unwrap())
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

struct File(Value);

impl File {
    fn open() -> Self {
        Self(serde_json::from_str(include_str!("../../fixtures/levels/rss_hybrid_fixes.json")).unwrap())
    }

    fn readings(&self) -> Vec<Reading> {
        let (spots, levels) = (self.0["rss_points_E_N"].as_array().unwrap(), numbers(&self.0["rss_dBm"]));
        let sigma = number(&self.0["rss_sigma_dB"]);
        let spot = |(s, l): (&Value, f64)| reading(number(&s[0]), number(&s[1]), l, sigma);
        spots.iter().zip(levels).map(spot).collect()
    }

    fn lines(&self) -> Vec<Line> {
        let sigma = number(&self.0["bearing_sigma_deg"]);
        let all = self.0["bearings_E_N_deg"].as_array().unwrap();
        all.iter().map(|b| line(number(&b[0]), number(&b[1]), number(&b[2]), sigma)).collect()
    }

    fn case(&self, name: &str) -> &Value {
        let cases = self.0["cases"].as_array().unwrap();
        cases.iter().find(|c| c["name"] == name).unwrap()
    }
}

/// A place to 1e-5 m, the rest as nearly as that lets it.
fn matches(name: &str, case: &Value, fix: &LevelFix, free: &[Unknown]) {
    let solution = numbers(&case["solution"]);
    assert!(off(fix, (solution[0], solution[1])) < 1e-5, "{name}: {fix:?}");
    for (unknown, exact) in free[2..].iter().zip(&solution[2..]) {
        let found = if *unknown == Unknown::Start { fix.law.start.value() } else { fix.law.exponent };
        assert!((found - exact).abs() < 1e-6, "{name} {unknown:?}: {found}, not {exact}");
    }
    assert!((fix.chi_square - number(&case["chi2"])).abs() < 1e-9, "{name}: χ² {}", fix.chi_square);
    let ellipse = Ellipse::one_sigma(fix.place()).unwrap();
    let close = |what: &str, found: f64, key: &str| {
        let exact = number(&case[key]);
        assert!((found / exact - 1.0).abs() < 1e-7, "{name}: {what} {found}, not {exact}");
    };
    close("longer half-axis", ellipse.semi_major.value(), "semi_major_1sigma");
    close("shorter half-axis", ellipse.semi_minor.value(), "semi_minor_1sigma");
    close("azimuth", ellipse.azimuth.to_degrees(), "azimuth_major_deg");
    close("circular error", ellipse.circular_error(Confidence::P50).value(), "cep50_exact");
    let covariance: Vec<Vec<f64>> = case["cov"].as_array().unwrap().iter().map(numbers).collect();
    for (i, a) in free.iter().enumerate() {
        let deviation = covariance[i][i].sqrt();
        assert!((fix.deviation(*a).unwrap() / deviation - 1.0).abs() < 1e-7, "{name}: deviation of {a:?}");
        for (j, b) in free.iter().enumerate() {
            let exact = covariance[i][j] / (deviation * covariance[j][j].sqrt());
            let found = fix.correlation(*a, *b).unwrap();
            assert!(
                (found - exact).abs() < 1e-7,
                "{name}: correlation of {a:?} and {b:?} {found}, not {exact}"
            );
        }
    }
}

const PLACE: [Unknown; 2] = [Unknown::East, Unknown::North];
const ALL: [Unknown; 4] = [Unknown::East, Unknown::North, Unknown::Start, Unknown::Exponent];

/// fixtures/levels/rss_hybrid_fixes.json: R1 to R5.
#[test]
fn the_five_reference_fixes_from_levels_come_out() {
    let file = File::open();
    let solve = |law: Law| PlainLevels::new(&file.readings(), &law).unwrap().solve().unwrap();
    let prior = Term::Prior { mean: 3.0, sigma: 0.5 };
    let n = Law { exponent: Term::Known(3.2), ..Law::default() };
    let told = |name: &str, law: Law, free: &[Unknown], freedom: u32| {
        let fix = solve(law);
        matches(name, file.case(name), &fix, free);
        assert_eq!((fix.freedom, fix.law.bound), (freedom, None), "{name}");
        fix
    };
    let both = told("R1_P0_and_n_known", known(-12.0, 3.2), &PLACE, 6);
    assert_eq!(
        (both.deviation(Unknown::Start), both.correlation(Unknown::East, Unknown::Exponent)),
        (None, None)
    );
    told("R2_n_known", n, &ALL[..3], 5);
    told("R3_P0_n_free", Law::default(), &ALL, 4);
    told("R4_n_prior", Law { exponent: prior, ..Law::default() }, &ALL, 5);
    let shared = ShadowCorrelation::new(Metres::new(100.0), 0.0).unwrap();
    let all = PlainLevels::new(&file.readings(), &Law::default()).unwrap();
    let fix = all.with_shared(shared).unwrap().solve().unwrap();
    matches("R5_correlated_shadowing", file.case("R5_correlated_shadowing"), &fix, &ALL);
}

/// The same file: H0 to H2.
#[test]
fn the_three_reference_fixes_with_bearings_come_out() {
    let file = File::open();
    let case = file.case("H0_bearings_only");
    let fix = problem(&file.lines()).solve(Method::Gaussian).unwrap();
    let solution = numbers(&case["solution"]);
    assert!((fix.at.east - solution[0]).hypot(fix.at.north - solution[1]) < 1e-5, "{fix:?}");
    assert!((fix.chi_square - number(&case["chi2"])).abs() < 1e-9);
    for (name, exponent, freedom) in
        [("H1_hybrid", Term::Free, 7), ("H2_hybrid_n_prior", Term::Prior { mean: 3.0, sigma: 0.5 }, 8)]
    {
        let levels = PlainLevels::new(&file.readings(), &Law { exponent, ..Law::default() }).unwrap();
        let fix = levels.with_lines(&file.lines()).unwrap().solve().unwrap();
        matches(name, file.case(name), &fix, &ALL);
        assert_eq!(fix.freedom, freedom, "{name}");
    }
}

/// Rappaport 2002, example 4.9 (inputs and printed results from memory): 0, −20, −35 and −70 dBm at 100, 200, 1000 and 3000 m,
/// the first one taken for exact. Printed: n = 4.4, J = 6525 − 2887.8 n + 327.153 n², σ² = 38.09, σ = 6.17 dB, −57.24 dBm at
/// 2 km. Computed with Python without rounding: n 4.413103484, J 151.6362075, σ 6.157032716, −57.41580006 dBm.
#[test]
fn the_textbook_regression_comes_out() {
    let along = [(100.0, 0.0), (200.0, -20.0), (1000.0, -35.0), (3000.0, -70.0)];
    let readings: Vec<Reading> = along.map(|(d, level)| reading(d, 0.0, level, 1.0)).to_vec();
    let law = Law { reference: Metres::new(100.0), start: Term::Known(Dbm::new(0.0)), ..Law::default() };
    let fit =
        PlainLevels::new(&readings, &law).unwrap().law_at(PlanePoint { east: 0.0, north: 0.0 }).unwrap();
    let n = fit.law.exponent;
    assert!((n - 4.413_103_484).abs() < 5e-10, "{n}");
    assert!((fit.chi_square - 151.636_207_5).abs() < 5e-8, "{}", fit.chi_square);
    let sigma = (fit.chi_square / 4.0).sqrt();
    assert!((sigma - 6.157_032_716).abs() < 5e-10, "{sigma}");
    let at_2_km = fit.law.start.value() - 10.0 * n * 20f64.log10();
    assert!((at_2_km + 57.415_800_06).abs() < 5e-9, "{at_2_km}");
    // The book rounds n to 4.4 first: 0.3 % in n, 0.3 dB in the level.
    assert!(
        (n / 4.4 - 1.0).abs() < 0.01
            && (sigma / 6.17 - 1.0).abs() < 0.01
            && (at_2_km / -57.24 - 1.0).abs() < 0.01
    );
    // The variance of a slope with the intercept known is σ²/Σg².
    let squares: f64 = along.iter().map(|(d, _)| (10.0 * (d / 100.0).log10()).powi(2)).sum();
    assert!((fit.covariance[1][1] * squares - 1.0).abs() < 1e-12);
    assert_eq!(fit.covariance[0], [0.0, 0.0]);
}

/// Patwari et al. 2003 (abstract READ; 0.27 L from memory): one emitter in the middle of a square of four receivers of side L,
/// level at 1 m and exponent known, σ/n = 1.7 dB. Computed with Python: b = 2.554673423, √(trace) = 0.2767895007 L.
#[test]
fn in_the_middle_of_a_square_the_bound_is_0_27_of_its_side() {
    let side = 80.0;
    let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
    let readings = exact(&corners, (0.5 * side, 0.5 * side), 1.7 * 3.2);
    let fix = PlainLevels::new(&readings, &known(-12.0, 3.2)).unwrap().solve().unwrap();
    assert!(off(&fix, (40.0, 40.0)) < 1e-6, "{fix:?}");
    let [ee, en, nn] = fix.place();
    assert!(((ee + nn).sqrt() / side - 0.276_789_500_7).abs() < 1e-9 && en.abs() < 1e-9, "{ee} {en} {nn}");
}

/// With level and exponent known, a level tells along its line of sight what a bearing of σ ln 10/(10 n) radians tells across
/// it: the covariances are each other's turned by a right angle. Exact readings, so that both fixes are the emitter's place.
#[test]
fn levels_are_bearings_turned_by_a_right_angle() {
    let spots = [(0.0, 0.0), (350.0, 60.0), (820.0, -40.0), (1100.0, 420.0), (-90.0, 430.0)];
    let emitter = (560.0, 470.0);
    for (sigma, seed) in [(6.0, 3.5), (4.0, 3.2), (8.0, 4.0)] {
        let angle = bearing_of_equal_information(Sigma::db(sigma).unwrap(), 3.2).unwrap().to_degrees();
        let lines: Vec<Line> = spots.iter().map(|s| line(s.0, s.1, azimuth(*s, emitter), angle)).collect();
        let bearings = problem(&lines).solve(Method::Gaussian).unwrap();
        let readings = exact(&spots, emitter, sigma);
        let levels = PlainLevels::new(&readings, &known(-12.0, 3.2)).unwrap().solve().unwrap();
        assert!(off(&levels, emitter) < 1e-6, "{seed} {levels:?}");
        let ([ee, en, nn], [a, b, c]) = (levels.place(), bearings.covariance);
        for (level, bearing) in [(ee, c), (en, -b), (nn, a)] {
            assert!((level - bearing).abs() < 1e-10 * (a + c), "{level} {bearing}");
        }
        // Together they tell the same in every direction from each spot: Σ 1/(σ r)² along both axes.
        let both = PlainLevels::new(&readings, &known(-12.0, 3.2)).unwrap().with_lines(&lines).unwrap();
        let [ee, en, nn] = both.solve().unwrap().place();
        let information: f64 = spots
            .iter()
            .map(|s| ((s.0 - emitter.0).hypot(s.1 - emitter.1) * angle.to_radians()).powi(-2))
            .sum();
        for (found, exact) in [(ee, 1.0 / information), (nn, 1.0 / information), (en, 0.0)] {
            assert!((found - exact).abs() < 1e-10 / information, "{found} {exact}");
        }
    }
}

/// A random scene: a walk of `count` readings, emitter, and levels with errors of `sigma` dB.
fn walk(random: &mut Random, count: usize, sigma: f64) -> (Vec<Reading>, (f64, f64)) {
    let emitter = (600.0 * random.uniform(), 600.0 * random.uniform());
    let exponent = 2.5 + 1.5 * random.uniform();
    let mut at = (600.0 * random.uniform(), 600.0 * random.uniform());
    let mut turn = 6.0 * random.uniform();
    let readings = (0..count)
        .map(|_| {
            turn += 0.5 * random.normal();
            at = (at.0 + 25.0 * f64::sin(turn), at.1 + 25.0 * f64::cos(turn));
            let distance = (at.0 - emitter.0).hypot(at.1 - emitter.1).max(1.0);
            reading(at.0, at.1, -20.0 - 10.0 * exponent * distance.log10() + sigma * random.normal(), sigma)
        })
        .collect();
    (readings, emitter)
}

/// Chance starts find nothing lower than the search's own do, in scenes of 12 and of 900 readings; the latter are more than
/// decide where to begin.
#[test]
fn no_start_by_chance_finds_a_lower_place() {
    let mut random = Random::seeded(41);
    let (mut scenes, mut missed, mut tried) = (0, 0, 0);
    for trial in 0..120 {
        let (readings, _) = walk(&mut random, if trial % 4 == 0 { 900 } else { 12 }, 5.0);
        let levels = PlainLevels::new(&readings, &Law::default()).unwrap();
        let Ok(ours) = levels.solve() else { continue };
        scenes += 1;
        let mut lower = false;
        for _ in 0..60 {
            let about = readings[(random.uniform() * readings.len() as f64) as usize % readings.len()].at;
            let start = PlanePoint {
                east: about.east + 250.0 * random.normal(),
                north: about.north + 250.0 * random.normal(),
            };
            let Ok(theirs) = levels.polish(start) else { continue };
            tried += 1;
            lower |= theirs.chi_square < ours.chi_square - 1e-6;
        }
        missed += usize::from(lower);
        assert!(ours.rivals.iter().all(|r| r.chi_square >= ours.chi_square));
    }
    println!("{scenes} scenes, {tried} starts by chance, {missed} scenes with a lower place");
    assert!(scenes > 80 && tried > 1_000 && missed == 0, "{scenes} {tried} {missed}");
}

/// All readings along one street, and an emitter beside it: the mirror place on the other side fits exactly as well.
#[test]
fn a_street_has_a_mirror_place() {
    let street: Vec<(f64, f64)> = (0..20).map(|i| (30.0 * f64::from(i), 100.0)).collect();
    let fix =
        PlainLevels::new(&exact(&street, (250.0, 160.0), 3.0), &Law::default()).unwrap().solve().unwrap();
    let mirror = fix.rivals.first().unwrap();
    assert!(
        (fix.at.east - 250.0).abs() < 1e-3 && ((fix.at.north - 100.0).abs() - 60.0).abs() < 1e-3,
        "{fix:?}"
    );
    assert!((mirror.at.east - 250.0).abs() < 1e-3, "{mirror:?}");
    assert!((mirror.at.north + fix.at.north - 200.0).abs() < 1e-3, "{mirror:?}");
    assert!(mirror.chi_square < 1e-9 && fix.chi_square < 1e-9);
}

/// Levels of exponent 0.6, as in a wave guide: the fit holds the exponent at its lower bound and says so.
#[test]
fn an_exponent_at_its_bound_is_told() {
    let spots = [(0.0, 0.0), (350.0, 60.0), (820.0, -40.0), (1100.0, 420.0), (-90.0, 430.0), (300.0, 900.0)];
    let flat = |s: &(f64, f64)| -40.0 - 6.0 * (s.0 - 500.0).hypot(s.1 - 300.0).log10();
    let readings: Vec<Reading> = spots.iter().map(|s| reading(s.0, s.1, flat(s), 0.2)).collect();
    let lines = [line(0.0, 0.0, azimuth((0.0, 0.0), (500.0, 300.0)), 1.0), line(1100.0, 420.0, 258.7, 1.0)];
    let fix =
        |law: &Law| PlainLevels::new(&readings, law).unwrap().with_lines(&lines).unwrap().solve().unwrap();
    let held = fix(&Law::default());
    assert_eq!((held.law.exponent, held.law.bound), (1.0, Some(Bound::Lower)));
    assert_eq!(held.deviation(Unknown::Exponent), None);
    let fixed = fix(&Law { exponent: Term::Known(1.0), ..Law::default() });
    assert!(off(&held, (fixed.at.east, fixed.at.north)) < 1e-6 && fixed.law.bound.is_none());
    let wide = fix(&Law { bounds: Span::new(0.1, 8.0), ..Law::default() });
    assert!((wide.law.exponent - 0.6).abs() < 0.2 && wide.law.bound.is_none(), "{wide:?}");
    let low = fix(&Law { bounds: Span::new(0.1, 0.3), ..Law::default() });
    assert_eq!(low.law.bound, Some(Bound::Upper));
}

/// Height enters as slant distance: readings right around a mast, with and without its 40 m.
#[test]
fn height_counts_in_the_distance() {
    let spots = [(30.0, 5.0), (-25.0, 20.0), (4.0, -50.0), (90.0, 60.0), (-70.0, -80.0), (10.0, 120.0)];
    let slant = |s: &(f64, f64)| f64::hypot(s.0 - 7.0, s.1 - 3.0).hypot(40.0);
    let readings: Vec<Reading> =
        spots.iter().map(|s| reading(s.0, s.1, -12.0 - 32.0 * slant(s).log10(), 2.0)).collect();
    let law = |height: f64| Law { height: Metres::new(height), ..known(-12.0, 3.2) };
    let right = PlainLevels::new(&readings, &law(40.0)).unwrap().solve().unwrap();
    assert!(off(&right, (7.0, 3.0)) < 1e-5 && right.chi_square < 1e-10, "{right:?}");
    let wrong = PlainLevels::new(&readings, &law(0.0)).unwrap().solve().unwrap();
    assert!(wrong.chi_square > 5.0, "{wrong:?}");
}

#[test]
fn moving_and_turning_the_scene_moves_and_turns_the_fix() {
    let file = File::open();
    let before = PlainLevels::new(&file.readings(), &Law::default()).unwrap().solve().unwrap();
    let (sin, cos) = 0.7f64.sin_cos();
    let moved = |p: PlanePoint| PlanePoint {
        east: 500_000.0 + p.east * cos + p.north * sin,
        north: 4_649_776.0 + p.north * cos - p.east * sin,
    };
    let readings: Vec<Reading> = file.readings().iter().map(|r| Reading { at: moved(r.at), ..*r }).collect();
    let after = PlainLevels::new(&readings, &Law::default()).unwrap().solve().unwrap();
    let expected = moved(before.at);
    assert!(off(&after, (expected.east, expected.north)) < 1e-6);
    assert!((after.law.exponent - before.law.exponent).abs() < 1e-9);
    let trace = |f: &LevelFix| f.place()[0] + f.place()[2];
    assert!((trace(&after) / trace(&before) - 1.0).abs() < 1e-7);
}

#[test]
fn levels_that_give_no_fix_say_why() {
    let three = [(0.0, 0.0), (100.0, 0.0), (0.0, 100.0)];
    let fails = |readings: &[Reading], law: &Law| {
        let error = PlainLevels::new(readings, law).and_then(|p| p.solve()).unwrap_err();
        assert!(!error.to_string().is_empty());
        error
    };
    let free = Law::default();
    assert_eq!(fails(&[], &free), LevelError::TooFew { have: 0, need: 4 });
    assert_eq!(fails(&exact(&three, (40.0, 40.0), 3.0), &free), LevelError::TooFew { have: 3, need: 4 });
    let nan = [reading(0.0, 0.0, -70.0, 3.0), reading(1.0, f64::NAN, -70.0, 3.0)];
    assert_eq!(fails(&nan, &free), LevelError::NotFinite { reading: 1 });
    // All at one spot, alike everywhere, and stronger with every step to the east.
    let spot: Vec<Reading> = (0..9).map(|i| reading(5.0, 5.0, -70.0 - f64::from(i % 3), 3.0)).collect();
    assert_eq!(fails(&spot, &free), LevelError::NoMinimum);
    let alike: Vec<Reading> =
        (0..9).map(|i| reading(60.0 * f64::from(i % 3), 70.0 * f64::from(i / 3), -70.0, 3.0)).collect();
    assert_eq!(fails(&alike, &free), LevelError::NoMinimum);
    let good = exact(&[(0.0, 0.0), (90.0, 0.0), (0.0, 80.0), (70.0, 70.0), (40.0, 20.0)], (30.0, 44.0), 3.0);
    for law in [
        Law { reference: Metres::new(0.0), ..free },
        Law { exponent: Term::Known(f64::NAN), ..free },
        Law { exponent: Term::Prior { mean: 3.0, sigma: 0.0 }, ..free },
        Law { start: Term::Known(Dbm::new(f64::INFINITY)), ..free },
        Law { bounds: Span::new(3.0, 2.0), ..free },
        Law { bounds: Span::new(0.0, 2.0), ..free },
        Law { height: Metres::new(f64::NAN), ..free },
    ] {
        assert!(matches!(fails(&good, &law), LevelError::Law(_)), "{law:?}");
    }
    let levels = PlainLevels::new(&good, &free).unwrap();
    let bad = levels.clone().with_lines(&[line(0.0, 0.0, f64::INFINITY, 3.0)]);
    assert!(matches!(bad, Err(LevelError::NotFiniteLine { line: 0 })));
    // On a reading there is no start.
    assert_eq!(levels.polish(good[0].at), Err(LevelError::NoMinimum));
    assert_eq!(levels.law_at(good[0].at), Err(LevelError::NotDetermined));
}

#[test]
fn shared_shadowing_has_its_limits() {
    let whole = ShadowCorrelation::new(Metres::new(30.0), 0.0).unwrap();
    let mut readings =
        exact(&[(0.0, 0.0), (90.0, 0.0), (0.0, 80.0), (70.0, 70.0), (40.0, 20.0)], (30.0, 44.0), 3.0);
    readings.push(readings[1]);
    let levels = PlainLevels::new(&readings, &Law::default()).unwrap();
    assert!(matches!(levels.clone().with_shared(whole), Err(LevelError::Redundant)));
    let partly = ShadowCorrelation::new(Metres::new(30.0), 0.2).unwrap();
    assert!(levels.with_shared(partly).unwrap().solve().is_ok());
    let many: Vec<Reading> = (0..=MOST_SHARED).map(|i| reading(i as f64, 0.0, -70.0, 3.0)).collect();
    let levels = PlainLevels::new(&many, &Law::default()).unwrap();
    assert!(matches!(levels.with_shared(whole), Err(LevelError::TooMany { have: 1_001 })));
}

/// Whatever finite numbers come in, an answer or a reason comes out.
#[test]
fn no_numbers_break_it() {
    let mut random = Random::seeded(3);
    let sizes = [0.0, 1e-300, 1e-9, 1.0, 1e3, 1e7, 1e12, 1e200, 1e307];
    let pick = |random: &mut Random| {
        let size = sizes[(random.uniform() * 9.0) as usize % 9];
        size * 2.0 * (random.uniform() - 0.5)
    };
    let (mut fixes, mut errors) = (0, 0);
    for _ in 0..400 {
        let n = 1 + (random.uniform() * 12.0) as usize;
        let readings: Vec<Reading> = (0..n)
            .map(|_| {
                let sigma = pick(&mut random).abs().max(1e-300);
                reading(pick(&mut random), pick(&mut random), pick(&mut random), sigma)
            })
            .collect();
        match PlainLevels::new(&readings, &Law::default()).and_then(|p| p.solve()) {
            Ok(fix) => {
                fixes += 1;
                assert!((fix.at.east + fix.at.north + fix.chi_square).is_finite(), "{fix:?}");
            }
            Err(_) => errors += 1,
        }
    }
    assert_eq!(fixes + errors, 400);
}
