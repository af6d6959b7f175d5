//! Levels beside an exact posterior of the same scenes, computed apart: dense factors of the covariance, every unknown summed over nodes of
//! the priors that the scenes are drawn from. Walks along blocks of 80 m, the emitter anywhere in the disc about the walk, shadowing with an
//! exponential correlation, exponent 2 to 4.5. Both are taken on the same grid over that disc, which tests what levels say of a place and
//! leaves the prior of the place out.

use azimark::{
    geodesy::{Place, Plane, PlanePoint},
    north,
    numeric::{loss, random::Random},
    region::Region,
    solve::{
        self, CompassPrior, Loss, Options, Problem,
        levels::{LevelPriors, LevelSight, Levels, Reading},
    },
    trial::Share,
    units::{Angle, Confidence, Dbm},
};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

const BLOCK_M: f64 = 80.0;
/// Of the emitter above the receiver.
const HEIGHT_M: f64 = 3.0;
/// Steps of the grid from the disc's centre to its edge.
const HALF: i32 = 20;
/// Scenes that share a walk.
const SHARING: u64 = 16;

/// A kind of scene.
#[derive(Clone, Copy)]
struct Row {
    readings: usize,
    step_m: f64,
    decorrelation_m: f64,
    sigma_db: f64,
    /// Share of the readings that lie below the floor.
    below: f64,
}

const fn row(readings: usize, step_m: f64, decorrelation_m: f64, sigma_db: f64, below: f64) -> Row {
    Row { readings, step_m, decorrelation_m, sigma_db, below }
}

const MEASURED: [Row; 6] = [
    row(200, 5.0, 5.0, 6.0, 0.0),
    row(200, 5.0, 20.0, 6.0, 0.0),
    row(200, 5.0, 50.0, 6.0, 0.0),
    row(200, 5.0, 100.0, 6.0, 0.0),
    row(50, 20.0, 20.0, 6.0, 0.0),
    row(200, 5.0, 20.0, 9.0, 0.0),
];

const WEAK: [Row; 3] =
    [row(200, 5.0, 2.0, 6.0, 0.4), row(200, 5.0, 25.0, 6.0, 0.4), row(200, 5.0, 25.0, 6.0, 0.7)];

fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    (a.east - b.east).hypot(a.north - b.north)
}

/// Ten times the logarithm of the slant distance: what an exponent of 1 loses.
fn loss_db(a: PlanePoint, b: PlanePoint) -> f64 {
    10.0 * apart(a, b).hypot(HEIGHT_M).log10()
}

/// Readings along streets, a new direction at every crossing, never back.
fn route(random: &mut Random, row: &Row) -> Vec<PlanePoint> {
    let (mut corner, mut toward, mut along) = ([0.0f64; 2], random.index(4), 0.0);
    let mut out = Vec::new();
    loop {
        toward = (toward + [0, 1, 3][random.index(3)]) % 4;
        let way = [[0.0, 1.0], [1.0, 0.0], [0.0, -1.0], [-1.0, 0.0]][toward];
        while along < BLOCK_M {
            out.push(PlanePoint { east: corner[0] + along * way[0], north: corner[1] + along * way[1] });
            if out.len() == row.readings {
                return out;
            }
            along += row.step_m;
        }
        along -= BLOCK_M;
        corner = [corner[0] + BLOCK_M * way[0], corner[1] + BLOCK_M * way[1]];
    }
}

/// The factor of exp(−δ/D), with a millionth on its diagonal for readings at one crossing.
fn factor(at: &[PlanePoint], decorrelation: f64) -> Cholesky<f64, Dyn> {
    let alike = |i: usize, j: usize| {
        let same = if i == j { 1e-6 } else { 0.0 };
        same + (-apart(at[i], at[j]) / decorrelation).exp()
    };
    Cholesky::new(DMatrix::from_fn(at.len(), at.len(), alike)).expect("positive definite")
}

struct Scene {
    at: Vec<PlanePoint>,
    levels: Vec<f64>,
    below: Vec<bool>,
    truth: PlanePoint,
    grid: Vec<PlanePoint>,
}

impl Scene {
    fn draw(row: &Row, number: u64) -> Self {
        let at = route(&mut Random::stream(number / SHARING, 1), row);
        let random = &mut Random::stream(number, 2);
        let n = at.len() as f64;
        let mean = |f: fn(&PlanePoint) -> f64| at.iter().map(f).sum::<f64>() / n;
        let middle = PlanePoint { east: mean(|p| p.east), north: mean(|p| p.north) };
        let radius = at.iter().map(|p| apart(*p, middle)).fold(0.0, f64::max);
        let (off, turn) = (radius * random.uniform().sqrt(), std::f64::consts::TAU * random.uniform());
        let place =
            |east: f64, north: f64| PlanePoint { east: middle.east + east, north: middle.north + north };
        let truth = place(off * turn.sin(), off * turn.cos());
        let exponent = random.between(2.0, 4.5);
        let white = DVector::from_fn(at.len(), |_, _| random.normal());
        let shadow = factor(&at, row.decorrelation_m).l() * white * row.sigma_db;
        let mut levels: Vec<f64> =
            at.iter().zip(shadow.iter()).map(|(p, s)| -20.0 - exponent * loss_db(*p, truth) + s).collect();
        let mut sorted = levels.clone();
        sorted.sort_by(f64::total_cmp);
        let floor = sorted[(row.below * n) as usize];
        let below: Vec<bool> = levels.iter().map(|l| *l < floor).collect();
        levels.iter_mut().for_each(|l| *l = l.max(floor));
        let step = radius / f64::from(HALF);
        let grid = (-HALF..=HALF)
            .flat_map(|i| (-HALF..=HALF).map(move |j| (f64::from(i), f64::from(j))))
            .map(|(i, j)| place(i * step, j * step))
            .filter(|p| apart(*p, middle) <= radius)
            .collect();
        Self { at, levels, below, truth, grid }
    }

    fn readings(&self) -> Vec<Reading> {
        let reading =
            |i: usize| Reading { at: self.at[i], level: self.levels[i], below: self.below[i], device: 0 };
        (0..self.at.len()).map(reading).collect()
    }

    /// The places of the grid, and last the emitter's own.
    fn places(&self) -> Vec<PlanePoint> {
        self.grid.iter().copied().chain([self.truth]).collect()
    }

    /// What our levels say of [`Scene::places`].
    fn ours(&self) -> Vec<f64> {
        Levels::new(&self.readings(), &LevelPriors::default()).log_likelihoods(&self.places())
    }

    /// What the exact posterior says of them, from the readings that are chosen.
    fn exact(&self, chosen: impl Fn(usize) -> bool) -> Vec<f64> {
        let kept = (0..self.at.len()).filter(|i| chosen(*i));
        let (at, levels): (Vec<PlanePoint>, Vec<f64>) = kept.map(|i| (self.at[i], self.levels[i])).unzip();
        exact(&at, &levels, &self.places())
    }

    /// What logarithms of a likelihood at [`Scene::places`] come to, with the disc as prior.
    fn judged(&self, logs: &[f64]) -> Judged {
        let (truth, logs) = logs.split_last().expect("places");
        let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let weights: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
        let whole: f64 = weights.iter().sum();
        let above: f64 = weights.iter().filter(|w| **w > (truth - top).exp()).sum();
        let mean = |f: fn(&PlanePoint) -> f64| {
            self.grid.iter().zip(&weights).map(|(p, w)| w * f(p)).sum::<f64>() / whole
        };
        let best = (0..logs.len()).max_by(|a, b| logs[*a].total_cmp(&logs[*b])).expect("a grid");
        Judged {
            held: above <= 0.95 * whole,
            mean: apart(PlanePoint { east: mean(|p| p.east), north: mean(|p| p.north) }, self.truth),
            peak: apart(self.grid[best], self.truth),
        }
    }
}

/// Whether the region of 95 % holds the emitter, and the misses of mean and peak, metres.
#[derive(Clone, Copy)]
struct Judged {
    held: bool,
    mean: f64,
    peak: f64,
}

fn log_sum(values: &[f64]) -> f64 {
    let top = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    top + values.iter().map(|v| (v - top).exp()).sum::<f64>().ln()
}

/// Logarithms of the exact likelihood of places, of readings that are all measured: correlation and scale of the shadowing on nodes that are
/// even in the logarithm, 3 to 200 m and 3 to 11 dB, the exponent on 25 between 2 and 4.5, the power flat and integrated out in closed form.
fn exact(at: &[PlanePoint], levels: &[f64], places: &[PlanePoint]) -> Vec<f64> {
    let losses = DMatrix::from_fn(at.len(), places.len(), |i, j| loss_db(at[i], places[j]));
    let free = at.len() as f64 - 1.0;
    let mut logs = vec![Vec::new(); places.len()];
    for node in 0..7 {
        let lower = factor(at, 3.0 * (200.0f64 / 3.0).powf(f64::from(node) / 6.0)).l();
        let half: f64 = lower.diagonal().iter().map(|d| d.ln()).sum();
        let inverse = lower.try_inverse().expect("a factor");
        let ones = &inverse * DVector::repeat(at.len(), 1.0);
        let levels = &inverse * DVector::from_column_slice(levels);
        let whole = ones.norm_squared();
        for (losses, logs) in (inverse * &losses).column_iter().zip(&mut logs) {
            // Sums of products, the part along the ones taken out: the power is whatever it is.
            let [oy, ox] = [ones.dot(&levels), losses.dot(&ones)];
            let yy = levels.norm_squared() - oy * oy / whole;
            let (xy, xx) = (losses.dot(&levels) - ox * oy / whole, losses.norm_squared() - ox * ox / whole);
            for k in 0..25 {
                let exponent = 2.0 + 0.1 * (f64::from(k) + 0.5);
                let squares = yy + 2.0 * exponent * xy + exponent * exponent * xx;
                logs.extend((0..4).map(|s| {
                    let sigma = 3.0 * (11.0f64 / 3.0).powf(f64::from(s) / 3.0);
                    -free * sigma.ln() - half - 0.5 * whole.ln() - squares / (2.0 * sigma * sigma)
                }));
            }
        }
    }
    logs.iter().map(|all| log_sum(all)).collect()
}

/// Scenes solved on every processor, in order.
fn each<T: Send>(count: u64, solve: impl Fn(u64) -> T + Sync) -> Vec<T> {
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get).min(4) as u64;
    let part = |t: u64| (t..count).step_by(threads as usize).map(|i| (i, solve(i))).collect::<Vec<_>>();
    let part = &part;
    let mut out: Vec<(u64, T)> = std::thread::scope(|scope| {
        let running: Vec<_> = (0..threads).map(|t| scope.spawn(move || part(t))).collect();
        running.into_iter().flat_map(|r| r.join().expect("no panic")).collect()
    });
    out.sort_by_key(|o| o.0);
    out.into_iter().map(|o| o.1).collect()
}

fn root_mean_square(misses: impl Iterator<Item = f64> + Clone) -> f64 {
    (misses.clone().map(|m| m * m).sum::<f64>() / misses.count() as f64).sqrt()
}

fn median(misses: impl Iterator<Item = f64>) -> f64 {
    let mut all: Vec<f64> = misses.collect();
    all.sort_by(f64::total_cmp);
    all[all.len() / 2]
}

/// Scenes of a row.
fn scenes() -> u64 {
    if super::long() { 400 } else { 24 }
}

/// The ratio of two root mean squares of the same scenes, and its standard error by leaving out one scene after the other.
fn ratio(pairs: &[(f64, f64)]) -> (f64, f64) {
    let sums = pairs.iter().fold((0.0, 0.0), |s, p| (s.0 + p.0 * p.0, s.1 + p.1 * p.1));
    let of = |s: (f64, f64)| (s.0 / s.1).sqrt();
    let n = pairs.len() as f64;
    let off = |p: &(f64, f64)| of((sums.0 - p.0 * p.0, sums.1 - p.1 * p.1)) - of(sums);
    let squares: f64 = pairs.iter().map(|p| off(p).powi(2)).sum();
    (of(sums), (squares * (n - 1.0) / n).sqrt())
}

fn share(held: impl Iterator<Item = bool>) -> Share {
    let mut out = Share::default();
    held.for_each(|h| out.count(h));
    out
}

/// At least 95 %, less three binomial standard errors of as many scenes.
fn assert_held(name: &str, held: Share) {
    let error = 3.0 * (0.95f64 * 0.05 / f64::from(held.of)).sqrt();
    assert!(held.value().unwrap() > 0.95 - error, "{name}: {} of {}", held.hits, held.of);
}

/// The posterior mean from our levels misses by at most 5 % more than that of the exact posterior, and the region holds the emitter as often
/// as it says.
#[test]
fn levels_tell_nearly_as_much_as_an_exact_posterior() {
    let count = scenes();
    for (i, row) in MEASURED.iter().enumerate() {
        let found: Vec<[Judged; 2]> = each(count, |k| {
            let scene = Scene::draw(row, 10_000 * i as u64 + k);
            [scene.judged(&scene.exact(|_| true)), scene.judged(&scene.ours())]
        });
        let rms = |way: usize, f: fn(&Judged) -> f64| root_mean_square(found.iter().map(|j| f(&j[way])));
        let held = |way: usize| share(found.iter().map(|j| j[way].held));
        let (more, error) = ratio(&found.iter().map(|j| (j[1].mean, j[0].mean)).collect::<Vec<_>>());
        let name = format!("{} readings, {} dB over {} m", row.readings, row.sigma_db, row.decorrelation_m);
        println!(
            "{name}: exact {:.1} m, peak {:.1} m, {} of {count} held; ours {:.1} m, peak {:.1} m, {} held; ratio {more:.3} ± {error:.3}",
            rms(0, |j| j.mean),
            rms(0, |j| j.peak),
            held(0).hits,
            rms(1, |j| j.mean),
            rms(1, |j| j.peak),
            held(1).hits
        );
        assert_held(&name, held(1));
        assert!(more <= 1.05 + 3.0 * error, "{name}: {more} ± {error}");
    }
}

/// Readings below the floor say something: with them left out, or taken to be at the floor, even the exact posterior misses by more.
#[test]
fn readings_below_the_floor_are_worth_more_than_left_out_or_taken_as_values() {
    let count = scenes();
    for (i, row) in WEAK.iter().enumerate() {
        let found: Vec<[Judged; 3]> = each(count, |k| {
            let scene = Scene::draw(row, 10_000 * (10 + i as u64) + k);
            let as_values = scene.exact(|_| true);
            let left_out = scene.exact(|i| !scene.below[i]);
            [scene.ours(), left_out, as_values].map(|logs| scene.judged(&logs))
        });
        let name = format!("{} below, {} m", row.below, row.decorrelation_m);
        let held = |way: usize| share(found.iter().map(|j| j[way].held));
        assert_held(&name, held(0));
        let against = |way: usize| ratio(&found.iter().map(|j| (j[0].mean, j[way].mean)).collect::<Vec<_>>());
        let ((out, out_error), (value, value_error)) = (against(1), against(2));
        println!(
            "{name}: ours {:.1} m, {} of {count} held; left out {:.1} m, {} held, ratio {out:.3} ± {out_error:.3}; as values {:.1} m, {} held, ratio {value:.3} ± {value_error:.3}",
            root_mean_square(found.iter().map(|j| j[0].mean)),
            held(0).hits,
            root_mean_square(found.iter().map(|j| j[1].mean)),
            held(1).hits,
            root_mean_square(found.iter().map(|j| j[2].mean)),
            held(2).hits
        );
        assert!(out < 1.0 + 3.0 * out_error && value < 1.0 + 3.0 * value_error, "{name}: {out}, {value}");
        assert!(held(2).value() < held(0).value(), "{name}");
    }
}

/// Bearings from three places of the walk beside the levels, solved whole as `locate` solves them, but with errors and compasses known to be as
/// stated, as the exact posterior knows them.
#[test]
fn bearings_and_levels_together_are_nearly_as_good_as_an_exact_posterior() {
    let rows = [
        (MEASURED[1], 8.0),
        (MEASURED[1], 4.0),
        (row(200, 5.0, 50.0, 8.0, 0.0), 4.0),
        (row(200, 5.0, 5.0, 4.0, 0.0), 10.0),
    ];
    let count = scenes();
    let plane = Plane::centred_on(&[super::emitter()]).unwrap();
    for (i, (row, sigma)) in rows.iter().enumerate() {
        let found: Vec<([Judged; 2], Option<bool>, f64)> = each(count, |k| {
            let number = 10_000 * (20 + i as u64) + k;
            let scene = Scene::draw(row, number);
            let random = &mut Random::stream(number, 3);
            let stands = [0, row.readings / 2, row.readings - 1].map(|i| scene.at[i]);
            let toward = |from: PlanePoint, to: PlanePoint| {
                (to.east - from.east).atan2(to.north - from.north).to_degrees()
            };
            let read = stands.map(|s| toward(s, scene.truth) + sigma * random.normal());
            let with = |mut logs: Vec<f64>| {
                for (log, place) in logs.iter_mut().zip(scene.places()) {
                    for (stand, read) in stands.iter().zip(&read) {
                        let off = (read - toward(*stand, place) + 540.0).rem_euclid(360.0) - 180.0;
                        *log -= 0.5 * (off / sigma).powi(2);
                    }
                }
                scene.judged(&logs)
            };
            let (held, miss) = joint(&scene, &plane, &stands, &read, *sigma);
            ([with(scene.exact(|_| true)), with(scene.ours())], held, miss)
        });
        let name = format!("{sigma}° and {} dB over {} m", row.sigma_db, row.decorrelation_m);
        let whole = share(found.iter().filter_map(|f| f.1));
        let held = |way: usize| share(found.iter().map(|f| f.0[way].held));
        let (more, error) = ratio(&found.iter().map(|f| (f.0[1].mean, f.0[0].mean)).collect::<Vec<_>>());
        println!(
            "{name}: exact {:.1} m, {} of {count} held; ours {:.1} m, {} held, ratio {more:.3} ± {error:.3}; whole solver {:.1} m, {} of {} held; medians {:.1}, {:.1} and {:.1} m",
            root_mean_square(found.iter().map(|f| f.0[0].mean)),
            held(0).hits,
            root_mean_square(found.iter().map(|f| f.0[1].mean)),
            held(1).hits,
            root_mean_square(found.iter().map(|f| f.2)),
            whole.hits,
            whole.of,
            median(found.iter().map(|f| f.0[0].mean)),
            median(found.iter().map(|f| f.0[1].mean)),
            median(found.iter().map(|f| f.2))
        );
        assert_held(&name, whole);
        assert_held(&name, held(1));
        assert!(more <= 1.05 + 3.0 * error, "{name}: {more} ± {error}");
    }
}

/// Whether the region of 95 % of the whole solver holds the emitter (`None` where it gives none), and how far off the quoted place is.
fn joint(
    scene: &Scene,
    plane: &Plane,
    stands: &[PlanePoint],
    read: &[f64],
    sigma: f64,
) -> (Option<bool>, f64) {
    let bearing = |(s, r): (&PlanePoint, &f64)| super::bearing(plane.to_place(*s), Angle::degrees(*r), sigma);
    let read: Vec<_> = stands.iter().zip(read).map(bearing).collect();
    let bearings = north::resolve(&read, &north::Settings::default()).bearings;
    let sight = |r: &Reading| LevelSight {
        at: plane.to_place(r.at),
        level: Dbm::new(r.level),
        below: r.below,
        device: r.device,
    };
    let levels: Vec<LevelSight> = scene.readings().iter().map(sight).collect();
    let options = Options {
        loss: Loss::Classic(loss::Loss::Squared),
        compass: CompassPrior::none(),
        ..Options::default()
    };
    let one = std::num::NonZero::new(1);
    let problem = Problem { bearings: &bearings, levels: &levels, threads: one, ..Problem::default() };
    let fit = solve::fit(&problem, &options).expect("bearings and levels");
    let truth: Place = plane.to_place(scene.truth);
    let held = Region::of(&fit, Confidence::P95).ok().map(|r| r.holds(&fit, truth));
    (held, apart(plane.to_plane(fit.quoted()), scene.truth))
}
