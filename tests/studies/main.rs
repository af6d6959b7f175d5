//! Statistical studies of the solver: how often the stated region holds the emitter, and how good the place is. Short by
//! default; `AZIMARK_LONG=1` runs many more trials and prints the same tables.

mod crews;
mod drifts;
mod exact;
mod norths;
mod pairs;
mod reflections;
mod sectors;
mod specular;
mod spots;
mod surveys;
mod swings;
mod trial;
mod walks;

use azimark::{
    geodesy::{Place, course, destination},
    north,
    north::TrueBearing,
    numeric::{loss, random::Random},
    observe::{NorthReference, Quality, ReadBearing, Stand},
    region::Region,
    solve::{self, Fit, Loss, Options, Problem},
    units::{Angle, Confidence, Metres, Sigma},
};

fn long() -> bool {
    std::env::var_os("AZIMARK_LONG").is_some()
}

/// The emitter of every scene.
fn emitter() -> Place {
    Place::from_lat_lon_degrees(47.0, 8.0).unwrap()
}

fn bearing(stand: Place, azimuth: Angle, sigma: f64) -> ReadBearing {
    ReadBearing {
        id: String::new(),
        team: None,
        stand: Stand { name: String::new(), at: stand, sigma: Sigma::<Metres>::metres(0.01), height: None },
        read: azimuth,
        north: NorthReference::True,
        swings: Vec::new(),
        two_way: false,
        quality: Quality::Sigma(Sigma::<Angle>::degrees(sigma).unwrap()),
        front: None,
        back: None,
        time: None,
        date: None,
        frequency: None,
        remarks: String::new(),
        origin: azimark::finding::Origin::default(),
    }
}

/// `count` stands even in area within a kilometre of the emitter, such that the linear ellipse has an axis ratio below 10
/// (I-bench 1 of the check catalogue: the protocol under which linear ellipses were measured).
fn stands(random: &mut Random, count: usize) -> Vec<Place> {
    loop {
        let polar: Vec<(f64, f64)> =
            (0..count).map(|_| (random.uniform().sqrt() * 1000.0, random.uniform() * 360.0)).collect();
        if axis_ratio(&polar) < 10.0 && polar.iter().all(|p| p.0 > 50.0) {
            return polar
                .iter()
                .map(|(r, a)| destination(emitter(), Angle::degrees(*a), Metres::new(*r)).0)
                .collect();
        }
    }
}

fn axis_ratio(polar: &[(f64, f64)]) -> f64 {
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (r, azimuth) in polar {
        let (s, c) = azimuth.to_radians().sin_cos();
        xx += (c / r).powi(2);
        xy -= s * c / (r * r);
        yy += (s / r).powi(2);
    }
    let (mean, half) = (0.5 * (xx + yy), (0.5 * (xx - yy)).hypot(xy));
    ((mean + half) / (mean - half)).sqrt()
}

/// Bearings with normal errors of `sigma` degrees; a share of them points anywhere.
fn observed(random: &mut Random, stands: &[Place], sigma: f64, foreign: f64) -> Vec<TrueBearing> {
    let read: Vec<ReadBearing> = stands
        .iter()
        .map(|stand| {
            let toward = course(*stand, emitter()).departure;
            let anywhere = Angle::degrees(random.uniform() * 360.0);
            let off = Angle::degrees(random.normal() * sigma);
            let azimuth = if random.uniform() < foreign { anywhere } else { toward.turned(off) };
            bearing(*stand, azimuth, sigma)
        })
        .collect();
    north::resolve(&read, &north::Settings::default()).bearings
}

fn fitted(bearings: &[TrueBearing], options: &Options) -> Fit {
    solve::fit(&Problem { bearings, ..Problem::default() }, options).unwrap()
}

/// Regions that hold the emitter, regions that do not, refusals.
#[derive(Default)]
struct Tally {
    held: u32,
    missed: u32,
    refused: u32,
}

impl Tally {
    fn share(&self) -> f64 {
        f64::from(self.held) / f64::from(self.held + self.missed)
    }

    fn count(&mut self, fit: &Fit) {
        match Region::of(fit, Confidence::P95) {
            Ok(region) if region.holds(fit, emitter()) => self.held += 1,
            Ok(_) => self.missed += 1,
            Err(_) => self.refused += 1,
        }
    }
}

fn coverage(seed: u64, trials: u32, count: usize, sigma: f64, foreign: f64, options: &Options) -> Tally {
    let mut random = Random::seeded(seed);
    let mut tally = Tally::default();
    for _ in 0..trials {
        let stands = stands(&mut random, count);
        let bearings = observed(&mut random, &stands, sigma, foreign);
        tally.count(&fitted(&bearings, options));
    }
    tally
}

/// Cells of the study: stands, sigma in degrees.
const CELLS: [(usize, f64); 9] =
    [(3, 2.0), (3, 5.0), (3, 10.0), (5, 2.0), (5, 5.0), (5, 10.0), (15, 2.0), (15, 5.0), (15, 10.0)];

/// With squared loss and errors that are as stated, the region is the exact one: 95 % within the binomial error (three
/// standard errors of the trials), where the linear ellipse holds as little as 48 %.
#[test]
fn the_95_percent_region_holds_95_percent_of_clean_bearings() {
    let options = Options { loss: Loss::Classic(loss::Loss::Squared), ..Options::default() };
    let trials = if long() { 4000 } else { 250 };
    let (mut held, mut all) = (0, 0);
    for (i, (count, sigma)) in CELLS.iter().enumerate() {
        let tally = coverage(1000 + i as u64, trials, *count, *sigma, 0.0, &options);
        println!(
            "squared: {count:2} bearings of {sigma:4.1}°: {:.1} % ({} refused)",
            100.0 * tally.share(),
            tally.refused
        );
        held += tally.held;
        all += tally.held + tally.missed;
        let error = 3.0 * (0.95f64 * 0.05 / f64::from(trials)).sqrt();
        // Beside chance: the issue's own limits of 93.5 and 96.5 %.
        assert!((tally.share() - 0.95).abs() < 0.015 + error, "{count} of {sigma}°");
    }
    let share = f64::from(held) / f64::from(all);
    let error = 3.0 * (0.95f64 * 0.05 / f64::from(all)).sqrt();
    println!("squared: all {:.2} %", 100.0 * share);
    assert!((share - 0.95).abs() < 0.005 + error, "{share}");
}

/// The default must not fall below 92 % anywhere: clean, or with bearings that point anywhere.
#[test]
fn the_default_region_keeps_its_promise_with_foreign_bearings() {
    let trials = if long() { 1000 } else { 100 };
    for (j, foreign) in [0.0, 0.1, 0.25].into_iter().enumerate() {
        let (mut held, mut all, mut refused) = (0, 0, 0);
        for (i, (count, sigma)) in CELLS.iter().enumerate() {
            let seed = 2000 + 100 * j as u64 + i as u64;
            let tally = coverage(seed, trials, *count, *sigma, foreign, &Options::default());
            println!(
                "default, {:.0} % foreign: {count:2} bearings of {sigma:4.1}°: {:.1} % ({} refused)",
                100.0 * foreign,
                100.0 * tally.share(),
                tally.refused
            );
            held += tally.held;
            all += tally.held + tally.missed;
            refused += tally.refused;
        }
        let share = f64::from(held) / f64::from(all);
        let error = 3.0 * (0.92f64 * 0.08 / f64::from(all)).sqrt();
        println!("default, {:.0} % foreign: all {:.2} % ({refused} refused)", 100.0 * foreign, 100.0 * share);
        assert!(share > 0.92 - error, "{share} with {foreign} foreign");
    }
}

/// Stands that all lie within an arc of 20° at 2 km from the emitter, so that the lines cross at small angles and the linear
/// ellipse holds as little as 70 %. A region that is given must still hold the emitter; many are refused.
#[test]
fn poor_geometry_keeps_the_promise_or_refuses() {
    let trials = if long() { 1000 } else { 100 };
    let squared = Options { loss: Loss::Classic(loss::Loss::Squared), ..Options::default() };
    for (name, options) in [("squared", squared), ("default", Options::default())] {
        let (mut held, mut all) = (0, 0);
        for (i, (count, sigma)) in CELLS.iter().enumerate() {
            let mut random = Random::seeded(3000 + i as u64);
            let mut tally = Tally::default();
            for _ in 0..trials {
                let stands: Vec<Place> = (0..*count)
                    .map(|_| Angle::degrees(20.0 * random.uniform()))
                    .map(|a| destination(emitter(), a, Metres::new(2_000.0)).0)
                    .collect();
                let bearings = observed(&mut random, &stands, *sigma, 0.0);
                tally.count(&fitted(&bearings, &options));
            }
            println!(
                "{name}, arc 20°: {count:2} bearings of {sigma:4.1}°: {:.1} % ({} of {trials} refused)",
                100.0 * tally.share(),
                tally.refused
            );
            held += tally.held;
            all += tally.held + tally.missed;
        }
        let share = f64::from(held) / f64::from(all.max(1));
        let error = 3.0 * (0.92f64 * 0.08 / f64::from(all.max(1))).sqrt();
        println!("{name}, arc 20°: all {:.2} % of {all} regions", 100.0 * share);
        assert!(share > 0.92 - error, "{name}: {share}");
    }
}

/// Root mean square error of the first place against the Cramér-Rao bound, sigma r √(2 · 2/5) for five stands evenly around
/// at range r (the trace of the inverse Fisher information 5/(2 r² sigma²) per axis).
#[test]
fn the_place_is_as_good_as_the_bound_allows() {
    let trials = if long() { 40_000 } else { 4_000 };
    let (range, sigma) = (1_000.0, 2.0);
    let stands: Vec<Place> = (0..5)
        .map(|i| destination(emitter(), Angle::degrees(72.0 * f64::from(i)), Metres::new(range)).0)
        .collect();
    let bound = range * f64::to_radians(sigma) * (4.0f64 / 5.0).sqrt();
    let mut random = Random::seeded(4000);
    let mut sum = 0.0;
    for _ in 0..trials {
        let bearings = observed(&mut random, &stands, sigma, 0.0);
        sum += course(fitted(&bearings, &Options::default()).modes()[0].place, emitter())
            .distance
            .value()
            .powi(2);
    }
    let ratio = (sum / f64::from(trials)).sqrt() / bound;
    // One standard error of the ratio is 1/(2 √trials).
    let error = 3.0 * 0.5 / f64::from(trials).sqrt();
    println!("default: RMSE over the bound {ratio:.4} ± {:.4}", error / 3.0);
    assert!(ratio < 1.03 + error && ratio > 1.0 - error, "{ratio}");
}
