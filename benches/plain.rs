//! The plain fix, timed against the levenberg-marquardt crate (a port of MINPACK's lmder) in the same run: the same bearings,
//! the same residuals with analytic derivatives, the same starts, each with its own rule for stopping; that both end at the same
//! place is checked first.
//!
//! `polish` is the work from a given start; `prepare_and_polish` lays the lines out first; `solve` adds the search over the cuts of
//! the lines. Each sample solves [`SCENES`] different scenes, so that no branch is learnt by heart; divide by that number.

use azimark::{
    geodesy::PlanePoint,
    numeric::{
        loss::{Loss, TUKEY},
        random::Random,
    },
    solve::plain::{Line, Method, PlainProblem},
    units::{Angle, Sigma},
};
use divan::{Bencher, black_box, counter::ItemsCount};
use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{Dyn, Matrix, OMatrix, OVector, Owned, U2, Vector2};

/// Scenes in a sample.
const SCENES: usize = 64;

fn main() {
    agree(5);
    agree(50);
    divan::main();
}

struct Scene {
    lines: Vec<Line>,
    start: PlanePoint,
}

/// Bearings of 3° from stands within 1.5 km of the target, and a start 200 m off in each coordinate (one deviation).
fn scenes(count: usize) -> Vec<Scene> {
    let mut random = Random::seeded(5);
    (0..SCENES).map(|_| scene(&mut random, count)).collect()
}

fn scene(random: &mut Random, count: usize) -> Scene {
    let lines = (0..count)
        .map(|i| {
            // Stands all around, so that every scene is a sound one.
            let around = std::f64::consts::TAU * (i as f64 + random.uniform()) / count as f64;
            let range = 300.0 + 1200.0 * random.uniform();
            let stand = PlanePoint { east: range * around.sin(), north: range * around.cos() };
            let azimuth = (-stand.east).atan2(-stand.north).to_degrees() + 3.0 * random.normal();
            Line { stand, azimuth: Angle::degrees(azimuth), sigma: Sigma::<Angle>::degrees(3.0).unwrap() }
        })
        .collect();
    Scene { lines, start: PlanePoint { east: 200.0 * random.normal(), north: 200.0 * random.normal() } }
}

#[derive(Clone)]
struct Reference {
    lines: Vec<Line>,
    turns: Vec<(f64, f64)>,
    at: Vector2<f64>,
}

impl Reference {
    fn new(scene: &Scene) -> Self {
        let turns = scene.lines.iter().map(|l| l.azimuth.to_radians().sin_cos()).collect();
        Self { lines: scene.lines.clone(), turns, at: Vector2::new(scene.start.east, scene.start.north) }
    }
}

impl LeastSquaresProblem<f64, Dyn, U2> for Reference {
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
        let miss = |(l, (sin, cos)): (&Line, &(f64, f64))| {
            let (de, dn) = (self.at.x - l.stand.east, self.at.y - l.stand.north);
            (sin * dn - cos * de).atan2(sin * de + cos * dn) / l.sigma.to_radians()
        };
        let all = self.lines.iter().zip(&self.turns).map(miss);
        Some(OVector::<f64, Dyn>::from_iterator(self.lines.len(), all))
    }

    fn jacobian(&self) -> Option<OMatrix<f64, Dyn, U2>> {
        let mut out = Matrix::zeros_generic(Dyn(self.lines.len()), U2);
        for (i, l) in self.lines.iter().enumerate() {
            let (de, dn) = (self.at.x - l.stand.east, self.at.y - l.stand.north);
            let inverse = 1.0 / ((de * de + dn * dn) * l.sigma.to_radians());
            (out[(i, 0)], out[(i, 1)]) = (-dn * inverse, de * inverse);
        }
        Some(out)
    }
}

/// Before anything is timed: both must end at the same place.
fn agree(count: usize) {
    let (mut worst, mut steps, mut evaluations): (f64, u32, usize) = (0.0, 0, 0);
    for scene in scenes(count) {
        let ours = PlainProblem::new(&scene.lines).unwrap().polish(Method::Gaussian, scene.start).unwrap();
        let (theirs, report) = LevenbergMarquardt::new().minimize(Reference::new(&scene));
        assert!(report.termination.was_successful(), "{report:?}");
        steps += ours.steps;
        evaluations += report.number_of_evaluations;
        worst = worst.max((ours.at.east - theirs.at.x).hypot(ours.at.north - theirs.at.y));
    }
    let each = |sum: f64| sum / SCENES as f64;
    println!(
        "{count} bearings, {SCENES} scenes: both agree within {worst:.1e} m; {:.1} steps here, {:.1} evaluations there",
        each(f64::from(steps)),
        each(evaluations as f64)
    );
    assert!(worst < 1e-5, "{worst}");
}

#[divan::bench(args = [5, 50])]
fn polish(bencher: Bencher, count: usize) {
    let scenes = scenes(count);
    let problems: Vec<PlainProblem> = scenes.iter().map(|s| PlainProblem::new(&s.lines).unwrap()).collect();
    bencher.counter(ItemsCount::new(SCENES)).bench_local(|| {
        for (problem, scene) in problems.iter().zip(&scenes) {
            let _ = black_box(problem.polish(Method::Gaussian, black_box(scene.start)));
        }
    });
}

#[divan::bench(args = [5, 50])]
fn polish_von_mises(bencher: Bencher, count: usize) {
    let scenes = scenes(count);
    let problems: Vec<PlainProblem> = scenes.iter().map(|s| PlainProblem::new(&s.lines).unwrap()).collect();
    bencher.counter(ItemsCount::new(SCENES)).bench_local(|| {
        for (problem, scene) in problems.iter().zip(&scenes) {
            let _ = black_box(problem.polish(Method::VonMises, black_box(scene.start)));
        }
    });
}

#[divan::bench(args = [5, 50])]
fn prepare_and_polish(bencher: Bencher, count: usize) {
    let scenes = scenes(count);
    bencher.counter(ItemsCount::new(SCENES)).bench_local(|| {
        for scene in &scenes {
            let problem = PlainProblem::new(black_box(&scene.lines)).unwrap();
            let _ = black_box(problem.polish(Method::Gaussian, scene.start));
        }
    });
}

#[divan::bench(args = [5, 50])]
fn reference_crate(bencher: Bencher, count: usize) {
    let problems: Vec<Reference> = scenes(count).iter().map(Reference::new).collect();
    bencher.counter(ItemsCount::new(SCENES)).with_inputs(|| problems.clone()).bench_local_values(
        |problems| {
            for problem in problems {
                black_box(LevenbergMarquardt::new().minimize(problem));
            }
        },
    );
}

#[divan::bench(args = [5, 50])]
fn solve(bencher: Bencher, count: usize) {
    let scenes = scenes(count);
    bencher.counter(ItemsCount::new(SCENES)).bench_local(|| {
        for scene in &scenes {
            let problem = PlainProblem::new(black_box(&scene.lines)).unwrap();
            let _ = black_box(problem.solve(Method::Gaussian));
        }
    });
}

#[divan::bench(args = [5, 50])]
fn solve_tukey(bencher: Bencher, count: usize) {
    let scenes = scenes(count);
    bencher.counter(ItemsCount::new(SCENES)).bench_local(|| {
        for scene in &scenes {
            let problem = PlainProblem::new(black_box(&scene.lines)).unwrap();
            let _ = black_box(problem.solve(Method::Robust(Loss::Tukey(TUKEY))));
        }
    });
}
