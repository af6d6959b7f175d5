//! How the plain fix behaves: against another solver, under turns, with a shared offset, and where there is no answer.

use azimark::{
    geodesy::PlanePoint,
    numeric::{
        loss::{CAUCHY, HUBER, Loss, TUKEY},
        random::Random,
    },
    solve::plain::{Line, Method, PlainError, PlainFix, PlainProblem},
    units::{Angle, Sigma},
};
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{Dyn, Matrix, OMatrix, OVector, Owned, U2, Vector2};

use crate::{azimuth, distance, drms, line, problem};

const METHODS: [Method; 8] = [
    Method::Pseudolinear,
    Method::Stansfield,
    Method::StansfieldOnce,
    Method::Gaussian,
    Method::VonMises,
    Method::Robust(Loss::Huber(HUBER)),
    Method::Robust(Loss::Tukey(TUKEY)),
    Method::Robust(Loss::Cauchy(CAUCHY)),
];

/// Standardised misses for the other solver.
struct Other {
    lines: Vec<Line>,
    at: Vector2<f64>,
}

impl LeastSquaresProblem<f64, Dyn, U2> for Other {
    type ParameterStorage = Owned<f64, U2>;
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, U2>;

    fn set_params(&mut self, at: &OVector<f64, U2>) {
        self.at = *at;
    }

    fn params(&self) -> OVector<f64, U2> {
        self.at
    }

    fn residuals(&self) -> Option<OVector<f64, Dyn>> {
        let miss = |l: &Line| {
            let seen = (self.at.x - l.stand.east).atan2(self.at.y - l.stand.north);
            l.azimuth.miss_from(Angle::radians(seen)).to_radians() / l.sigma.to_radians()
        };
        Some(OVector::<f64, Dyn>::from_iterator(self.lines.len(), self.lines.iter().map(miss)))
    }

    fn jacobian(&self) -> Option<OMatrix<f64, Dyn, U2>> {
        let mut out = Matrix::zeros_generic(Dyn(self.lines.len()), U2);
        for (i, l) in self.lines.iter().enumerate() {
            let d = self.at - Vector2::new(l.stand.east, l.stand.north);
            let scale = d.norm_squared() * l.sigma.to_radians();
            (out[(i, 0)], out[(i, 1)]) = (-d.y / scale, d.x / scale);
        }
        Some(out)
    }
}

fn scene(random: &mut Random, n: usize, sigma: f64) -> (Vec<Line>, (f64, f64)) {
    let mut point = || (3000.0 * (random.uniform() - 0.5), 3000.0 * (random.uniform() - 0.5));
    let target = point();
    let stands: Vec<(f64, f64)> = std::iter::repeat_with(point)
        .filter(|s| (s.0 - target.0).hypot(s.1 - target.1) > 200.0)
        .take(n)
        .collect();
    let read = |s: &(f64, f64)| line(s.0, s.1, azimuth(*s, target) + sigma * random.normal(), sigma);
    (stands.iter().map(read).collect(), target)
}

/// The slope of the Gaussian cost at a place, in its own standard deviations.
fn slope(lines: &[Line], fix: &PlainFix) -> f64 {
    let (mut east, mut north) = (0.0, 0.0);
    for l in lines {
        let (de, dn) = (fix.at.east - l.stand.east, fix.at.north - l.stand.north);
        let miss = l.azimuth.miss_from(Angle::radians(de.atan2(dn))).to_radians();
        let pull = miss / l.sigma.to_radians().powi(2) / (de * de + dn * dn);
        (east, north) = (east - pull * dn, north + pull * de);
    }
    let [ee, en, nn] = fix.covariance;
    (east * east * ee + 2.0 * east * north * en + north * north * nn).sqrt()
}

/// The levenberg-marquardt crate, an independent port of MINPACK, polishes our minimum of the Gaussian cost: it must not move
/// it, and from the target it must find no lower one. The other solver judges by the cost, whose least place
/// rounding hides within some 1e-7 standard deviations; the slope tells more, and vanishes at ours.
#[test]
fn another_solver_finds_no_better_place() {
    let mut random = Random::seeded(77);
    let (mut compared, mut worst, mut steepest): (u32, f64, f64) = (0, 0.0, 0.0);
    for trial in 0..300 {
        let (lines, target) = scene(&mut random, 4 + trial % 9, 3.0);
        let Ok(ours) = problem(&lines).solve(Method::Gaussian) else { continue };
        steepest = steepest.max(slope(&lines, &ours));
        for start in [(ours.at.east, ours.at.north), target] {
            let other = Other { lines: lines.clone(), at: Vector2::new(start.0, start.1) };
            let (theirs, report) = LevenbergMarquardt::new().minimize(other);
            let gap = report.objective_function - ours.cost;
            assert!(
                gap > -1e-9 * ours.cost.max(1.0),
                "{trial}: {} is less than {}",
                report.objective_function,
                ours.cost
            );
            if gap < 1e-6 {
                worst = worst.max(distance(&ours, (theirs.at.x, theirs.at.y)) / drms(&ours));
                compared += 1;
            }
        }
    }
    println!("{compared} places compared: {worst:.1e} deviations apart, slope at ours {steepest:.1e}");
    assert!(compared > 500 && worst < 3e-7 && steepest < 1e-9, "{compared} {worst:e} {steepest:e}");
}

/// Turning the whole scene turns the place and its ellipse, for every method.
#[test]
fn a_turned_scene_has_the_turned_answer() {
    let mut random = Random::seeded(8);
    for _ in 0..40 {
        let (lines, _) = scene(&mut random, 6, 2.0);
        let turn: f64 = 360.0 * random.uniform();
        let (sin, cos) = turn.to_radians().sin_cos();
        let turned = |east: f64, north: f64| (east * cos + north * sin, north * cos - east * sin);
        let moved: Vec<Line> = lines
            .iter()
            .map(|l| {
                let (east, north) = turned(l.stand.east, l.stand.north);
                // Bearings beyond a full circle are as good as any.
                line(east, north, l.azimuth.to_degrees() + turn + 720.0, l.sigma.to_degrees())
            })
            .collect();
        for method in METHODS {
            let (a, b) = (problem(&lines).solve(method).unwrap(), problem(&moved).solve(method).unwrap());
            assert!(distance(&b, turned(a.at.east, a.at.north)) < 1e-6, "{method:?}");
            let trace = |c: [f64; 3]| c[0] + c[2];
            assert!((trace(a.covariance) / trace(b.covariance) - 1.0).abs() < 1e-8, "{method:?}");
            assert!((a.chi_square - b.chi_square).abs() < 1e-8 * a.chi_square.max(1.0), "{method:?}");
        }
    }
}

/// With a free correction the place, the correction and the covariance are those of the problem of three unknowns: checked
/// against the normal equations of all three at the answer, and against a common error that was put in.
#[test]
fn a_shared_offset_is_found_and_accounted_for() {
    let stands = [(0.0, 1000.0), (900.0, 300.0), (700.0, -700.0), (-600.0, -900.0), (-1000.0, 200.0)];
    let target = (50.0, 80.0);
    let lines: Vec<Line> = stands.iter().map(|s| line(s.0, s.1, azimuth(*s, target) - 6.0, 1.0)).collect();
    let wide = Sigma::<Angle>::degrees(1000.0).unwrap();
    for method in [Method::Gaussian, Method::VonMises, Method::Robust(Loss::Tukey(TUKEY))] {
        let free = problem(&lines).with_offset(wide).solve(method).unwrap();
        assert!(distance(&free, target) < 1e-3, "{method:?}: {:?}", free.at);
        assert!((free.offset.unwrap().to_degrees() - 6.0).abs() < 1e-4, "{method:?}");
        assert_eq!(problem(&lines).solve(method).unwrap().offset, None);
    }
    let prior = 3.0f64;
    let fix =
        problem(&lines).with_offset(Sigma::<Angle>::degrees(prior).unwrap()).solve(Method::Gaussian).unwrap();
    let shift = fix.offset.unwrap().to_radians();
    let mut matrix = nalgebra::Matrix3::zeros();
    let (mut slope, mut chi_square) = (nalgebra::Vector3::zeros(), 0.0);
    let mut add = |gradient: nalgebra::Vector3<f64>, standardised: f64| {
        matrix += gradient * gradient.transpose();
        slope += gradient * standardised;
        chi_square += standardised * standardised;
    };
    for l in &lines {
        let (de, dn) = (fix.at.east - l.stand.east, fix.at.north - l.stand.north);
        let (r2, sigma) = (de * de + dn * dn, l.sigma.to_radians());
        let miss = Angle::radians(l.azimuth.to_radians() + shift).miss_from(Angle::radians(de.atan2(dn)));
        add(nalgebra::Vector3::new(-dn / r2, de / r2, 1.0) / sigma, miss.to_radians() / sigma);
    }
    let keen = 1.0 / prior.to_radians();
    add(nalgebra::Vector3::new(0.0, 0.0, keen), shift * keen);
    let inverse = matrix.try_inverse().unwrap();
    for (found, exact) in fix.covariance.iter().zip([inverse[(0, 0)], inverse[(0, 1)], inverse[(1, 1)]]) {
        assert!((found / exact - 1.0).abs() < 1e-9, "{:?}", fix.covariance);
    }
    assert!((fix.chi_square / chi_square - 1.0).abs() < 1e-9);
    // The slope of the cost vanishes, in standard deviations.
    assert!((slope.transpose() * inverse * slope)[0] < 1e-16, "{slope}");
    // A tight prior leaves the place where it was without the freedom.
    let tight =
        problem(&lines).with_offset(Sigma::<Angle>::degrees(1e-6).unwrap()).solve(Method::Gaussian).unwrap();
    let fixed = problem(&lines).solve(Method::Gaussian).unwrap();
    assert!(distance(&tight, (fixed.at.east, fixed.at.north)) < 1e-6);
}

/// With exact bearings the place is the same with and without the freedom, and the freedom widens the covariance in every
/// direction.
#[test]
fn a_free_offset_never_narrows_the_ellipse() {
    let stands = [(0.0, 1000.0), (900.0, 300.0), (700.0, -700.0)];
    let lines: Vec<Line> = stands.iter().map(|s| line(s.0, s.1, azimuth(*s, (50.0, 80.0)), 1.0)).collect();
    let fixed = problem(&lines).solve(Method::Gaussian).unwrap().covariance;
    let free = problem(&lines).with_offset(Sigma::<Angle>::degrees(3.0).unwrap());
    let free = free.solve(Method::Gaussian).unwrap().covariance;
    let [ee, en, nn] = std::array::from_fn(|i| free[i] - fixed[i]);
    assert!(ee > 0.0 && nn > 0.0 && ee * nn - en * en > -1e-6 * ee * nn, "{fixed:?} {free:?}");
}

#[test]
fn lines_without_an_answer_are_refused_by_name() {
    let all = |lines: &[Line], expected: &[PlainError]| {
        for method in METHODS {
            let found = problem(lines).solve(method).unwrap_err();
            assert!(expected.contains(&found), "{method:?}: {found:?}");
        }
    };
    assert_eq!(PlainProblem::new(&[line(0.0, 0.0, 0.0, 1.0)]).unwrap_err(), PlainError::TooFew { have: 1 });
    let broken = [line(0.0, 0.0, 0.0, 1.0), line(0.0, f64::NAN, 0.0, 1.0)];
    assert_eq!(PlainProblem::new(&broken).unwrap_err(), PlainError::NotFinite { line: 1 });
    let parallel = [line(0.0, 0.0, 40.0, 2.0), line(500.0, 0.0, 40.0, 2.0), line(900.0, 50.0, 220.0, 2.0)];
    all(&parallel, &[PlainError::Parallel]);
    let same = [line(3.0, 4.0, 40.0, 2.0), line(3.0, 4.0, 80.0, 2.0), line(3.0, 4.0, 130.0, 2.0)];
    all(&same, &[PlainError::OnStand]);
    // Lines that run apart cut behind the stands, where the misses are 180°: linear methods do not know that.
    let apart = [line(-500.0, 0.0, 330.0, 2.0), line(500.0, 0.0, 30.0, 2.0)];
    for method in METHODS
        .iter()
        .filter(|m| !matches!(m, Method::Pseudolinear | Method::Stansfield | Method::StansfieldOnce))
    {
        let found = problem(&apart).solve(*method);
        assert_eq!(found.unwrap_err(), PlainError::NoMinimum, "{method:?}");
    }
}

/// Three lines meet at the fourth stand, whose own bearing then fits whatever it reads.
#[test]
fn a_place_on_a_stand_is_never_the_answer() {
    let target = (100.0, 200.0);
    for turned in [0.0, 70.0, 200.0] {
        let stands = [(0.0, 1000.0), (900.0, 300.0), (-800.0, -500.0)];
        let mut lines: Vec<Line> = stands.iter().map(|s| line(s.0, s.1, azimuth(*s, target), 2.0)).collect();
        lines.push(line(target.0, target.1, turned, 2.0));
        for method in METHODS {
            match problem(&lines).solve(method) {
                Ok(fix) => {
                    let near = lines
                        .iter()
                        .map(|l| distance(&fix, (l.stand.east, l.stand.north)))
                        .fold(1e9, f64::min);
                    assert!(near > 1.0, "{method:?}, {turned}°: {near} m from a stand");
                }
                Err(e) => {
                    assert!(matches!(e, PlainError::OnStand | PlainError::NoMinimum), "{method:?}: {e:?}")
                }
            }
        }
        let polished = problem(&lines).polish(Method::Gaussian, PlanePoint { east: 100.0, north: 200.0 });
        assert_eq!(polished.unwrap_err(), PlainError::OnStand);
    }
}

/// Random scenes with a quarter of the bearings from anywhere: whatever comes out is a place that is off the stands, with a
/// covariance that is one.
#[test]
fn hostile_scenes_give_a_place_or_an_error() {
    let mut random = Random::seeded(13);
    let mut answered = 0;
    for trial in 0..500 {
        let (mut lines, _) = scene(&mut random, 3 + trial % 20, 3.0);
        for l in &mut lines {
            if random.uniform() < 0.25 {
                l.azimuth = Angle::degrees(720.0 * random.uniform() - 360.0);
            }
        }
        for method in METHODS {
            let Ok(fix) = problem(&lines).solve(method) else { continue };
            let near =
                lines.iter().map(|l| distance(&fix, (l.stand.east, l.stand.north))).fold(1e9, f64::min);
            assert!(near > 1.0, "{trial} {method:?}");
            let [ee, en, nn] = fix.covariance;
            assert!(ee > 0.0 && ee * nn > en * en, "{trial} {method:?}: {:?}", fix.covariance);
            assert!(fix.chi_square >= 0.0 && fix.cost.is_finite());
            answered += 1;
        }
    }
    assert!(answered > 3_500, "{answered}");
}

/// With five of twelve bearings from anywhere, Tukey's loss with several starts stays near the answer of the good seven alone,
/// which least squares does not. An independent study of the same kind in Python had the good ones' median times 1.12 and
/// their 90th percentile times 1.13, and least squares at twenty times; its scenes were others, so only the first is held to,
/// the second to 1.25. And a start at the emitter itself, the best one can wish for, seldom finds a lower cost.
#[test]
fn several_starts_find_the_place_among_many_foreign_bearings() {
    let mut random = Random::seeded(40);
    let (mut tukey, mut good, mut squares, mut beaten) = (Vec::new(), Vec::new(), Vec::new(), 0);
    let method = Method::Robust(Loss::Tukey(TUKEY));
    for _ in 0..1_000 {
        let (mut lines, target) = scene(&mut random, 12, 3.0);
        let (foreign, rest) = lines.split_at_mut(5);
        for l in foreign {
            l.azimuth = Angle::degrees(360.0 * random.uniform());
        }
        let rest = rest.to_vec();
        let miss = |lines: &[Line], method| {
            problem(lines).solve(method).map_or(f64::INFINITY, |fix| distance(&fix, target))
        };
        tukey.push(miss(&lines, method));
        squares.push(miss(&lines, Method::Gaussian));
        good.push(miss(&rest, Method::Gaussian));
        let found = problem(&lines).solve(method).map_or(f64::INFINITY, |fix| fix.cost);
        let start = PlanePoint { east: target.0, north: target.1 };
        let wished = problem(&lines).polish(method, start).map_or(f64::INFINITY, |fix| fix.cost);
        beaten += usize::from(wished < found - 1e-6);
    }
    let beaten = beaten as f64 / tukey.len() as f64;
    let at = |all: &mut Vec<f64>, share: f64| {
        all.sort_by(f64::total_cmp);
        all[(share * all.len() as f64) as usize]
    };
    for (share, times) in [(0.5, 1.12), (0.9, 1.25)] {
        let (t, g, s) = (at(&mut tukey, share), at(&mut good, share), at(&mut squares, share));
        println!("miss at {share}: Tukey {t:.1} m, the good ones alone {g:.1} m, least squares {s:.1} m");
        assert!(t < times * g && t < 0.1 * s, "{share}: {t} {g} {s}");
    }
    println!("a start at the emitter does better in {:.1} %", 100.0 * beaten);
    assert!(beaten < 0.02, "{beaten}");
}
