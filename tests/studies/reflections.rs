//! Bearings of which some are wrong: anywhere, toward one reflecting front, or front for back. Stands at 2 km from the
//! emitter, evenly over an arc of 120°, errors of 4°; the share that is wrong is exact in each scene.

use azimark::{
    geodesy::{Place, course, destination},
    north,
    north::TrueBearing,
    numeric::{loss, random::Random},
    observe::ReadBearing,
    region::Region,
    solve::{CompassPrior, FrontPrior, Loss, Options},
    units::{Angle, Confidence, Metres},
};

use super::{bearing, emitter, fitted, long};

/// What is wrong with a bearing that is wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Trouble {
    /// It points anywhere.
    Anywhere,
    /// It points at one place, the same for all in the scene.
    Front,
    /// It is the reverse of the right one.
    Reversed,
}

const RANGE: f64 = 2_000.0;
const SIGMA: f64 = 4.0;

/// One scene: bearings in the order of the stands, and whether each is right.
fn scene(random: &mut Random, count: usize, wrong: usize, trouble: Trouble) -> (Vec<TrueBearing>, Vec<bool>) {
    let turn = 360.0 * random.uniform();
    // A front about the emitter: evenly in area between 300 and 1500 m from it.
    let off = (0.09 + (2.25 - 0.09) * random.uniform()).sqrt() * 1_000.0;
    let front: Place = destination(emitter(), Angle::degrees(360.0 * random.uniform()), Metres::new(off)).0;
    let mut right = vec![true; count];
    while right.iter().filter(|r| !**r).count() < wrong {
        right[random.index(count)] = false;
    }
    let read: Vec<ReadBearing> = (0..count)
        .map(|i| {
            let around = turn + 120.0 * (i as f64 / (count - 1) as f64);
            let stand = destination(emitter(), Angle::degrees(around), Metres::new(RANGE)).0;
            let toward = match trouble {
                _ if right[i] => course(stand, emitter()).departure,
                Trouble::Anywhere => Angle::degrees(360.0 * random.uniform()),
                Trouble::Front => course(stand, front).departure,
                Trouble::Reversed => course(stand, emitter()).departure.turned(Angle::degrees(180.0)),
            };
            bearing(stand, toward.turned(Angle::degrees(SIGMA * random.normal())), SIGMA)
        })
        .collect();
    (north::resolve(&read, &north::Settings::default()).bearings, right)
}

/// What a cell of the study found.
#[derive(Default)]
struct Found {
    /// Misses of the first place, metres.
    misses: Vec<f64>,
    /// Misses of least squares with the right bearings alone.
    told: Vec<f64>,
    areas: Vec<f64>,
    held: u32,
    refused: u32,
}

impl Found {
    fn median(values: &[f64]) -> f64 {
        let mut sorted = values.to_vec();
        sorted.sort_by(f64::total_cmp);
        sorted.get(sorted.len() / 2).copied().unwrap_or(f64::NAN)
    }

    fn coverage(&self) -> f64 {
        f64::from(self.held) / (self.misses.len() as f64 - f64::from(self.refused))
    }

    /// Median miss over that of somebody who is told which bearings are wrong and leaves them out.
    fn ratio(&self) -> f64 {
        Self::median(&self.misses) / Self::median(&self.told)
    }

    /// Root mean square miss over that of the same somebody.
    fn rms_ratio(&self) -> f64 {
        let sum = |v: &[f64]| v.iter().map(|x| x * x).sum::<f64>();
        (sum(&self.misses) / sum(&self.told)).sqrt()
    }

    /// Standard error of the logarithm of a figure of the scenes, from scenes drawn anew from these.
    fn error(&self, figure: fn(&Self) -> f64) -> f64 {
        let mut random = Random::seeded(1);
        let n = self.misses.len();
        let again = |random: &mut Random| {
            let mut drawn = Self::default();
            for _ in 0..n {
                let i = random.index(n);
                drawn.misses.push(self.misses[i]);
                drawn.told.push(self.told[i]);
            }
            figure(&drawn).ln()
        };
        let logs: Vec<f64> = (0..200).map(|_| again(&mut random)).collect();
        let mean = logs.iter().sum::<f64>() / logs.len() as f64;
        (logs.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / logs.len() as f64).sqrt()
    }
}

fn study(seed: u64, trials: u32, count: usize, share: f64, trouble: Trouble, options: &Options) -> Found {
    let mut random = Random::seeded(seed);
    let squared = Options { loss: Loss::Classic(loss::Loss::Squared), ..Options::default() };
    let wrong = (share * count as f64).round() as usize;
    let mut found = Found::default();
    let miss = |bearings: &[TrueBearing], options: &Options| {
        let fit = fitted(bearings, options);
        (fit.modes().first().map_or(f64::INFINITY, |m| course(m.place, emitter()).distance.value()), fit)
    };
    for _ in 0..trials {
        let (bearings, right) = scene(&mut random, count, wrong, trouble);
        let kept: Vec<TrueBearing> =
            bearings.iter().zip(&right).filter(|(_, r)| **r).map(|(b, _)| b.clone()).collect();
        found.told.push(miss(&kept, &squared).0);
        let (off, fit) = miss(&bearings, options);
        found.misses.push(off);
        match Region::of(&fit, Confidence::P95) {
            Ok(region) => {
                found.held += u32::from(region.holds(&fit, emitter()));
                found.areas.push(region.area().value() / 1e6);
            }
            Err(_) => found.refused += 1,
        }
    }
    println!(
        "{trouble:?} {:2.0} %, {count:2} bearings: median {:4.0} m, told {:4.0} m, ratio {:.2} ± {:.2}, of root mean squares \
         {:.2}; held {:.1} %, {:.2} km², {} of {trials} refused",
        100.0 * share,
        Found::median(&found.misses),
        Found::median(&found.told),
        found.ratio(),
        found.ratio() * found.error(Found::ratio),
        found.rms_ratio(),
        100.0 * found.coverage(),
        Found::median(&found.areas),
        found.refused
    );
    found
}

/// At least `least` of the regions, less three binomial standard errors of as many trials.
fn assert_held(found: &Found, least: f64) {
    let answered = found.misses.len() as f64 - f64::from(found.refused);
    let error = 3.0 * (least * (1.0 - least) / answered).sqrt();
    assert!(found.coverage() > least - error, "{} of {answered}", found.coverage());
}

/// What the cells found together.
fn pooled(cells: &[Found]) -> Found {
    let mut all = Found::default();
    for cell in cells {
        all.misses.extend(&cell.misses);
        all.told.extend(&cell.told);
        all.areas.extend(&cell.areas);
        all.held += cell.held;
        all.refused += cell.refused;
    }
    all
}

/// Regions hold 95 % over all and 92 % in every cell, and reversals that are modelled tell as much as right bearings: somebody
/// who is told which they are and leaves them out does worse. With places that are shared left out of the model, regions hold
/// far less where foreign bearings share one: the reason for it.
#[test]
fn wrong_bearings_cost_little_and_regions_hold_what_they_state() {
    let trials = if long() { 400 } else { 30 };
    let options = Options::default();
    let cells = |seed: u64, trouble: Trouble, share: f64, options: &Options| -> Vec<Found> {
        [5, 10, 20].map(|count| study(seed + count as u64, trials, count, share, trouble, options)).into()
    };
    let mut all = Vec::new();
    for (i, (trouble, share)) in [
        (Trouble::Anywhere, 0.0),
        (Trouble::Anywhere, 0.2),
        (Trouble::Anywhere, 0.4),
        (Trouble::Front, 0.2),
        (Trouble::Front, 0.4),
        (Trouble::Reversed, 0.2),
        (Trouble::Reversed, 0.4),
    ]
    .into_iter()
    .enumerate()
    {
        let found = cells(7000 + 10 * i as u64, trouble, share, &options);
        found.iter().for_each(|f| assert_held(f, 0.92));
        if trouble == Trouble::Reversed {
            assert!(pooled(&found).ratio() < 0.95, "{}", pooled(&found).ratio());
        }
        all.extend(found);
    }
    assert_held(&pooled(&all), 0.95);
    let without = Options { front: FrontPrior { probability: 0.0, ..FrontPrior::default() }, ..options };
    let blind = pooled(&cells(7040, Trouble::Front, 0.4, &without));
    // A hundred trials a cell and fewer gave 64 to 80 %.
    assert!(blind.coverage() < 0.85, "{}", blind.coverage());
}

/// What an exact posterior on a grid reaches on scenes of this kind: computed with numpy and scipy, 400 scenes a row (300 with
/// [`Trouble::Front`]), compasses and errors known to be as stated; a shared place integrated out where there is one.
struct Bar {
    trouble: Trouble,
    share: f64,
    count: usize,
    /// Median miss over that of least squares told which bearings are wrong: the least of the methods whose 95 % region holds
    /// 95 % within its binomial error.
    ratio: f64,
    /// Share of its 95 % regions that hold the emitter, in percent.
    held: f64,
    trials: f64,
}

const fn bar(trouble: Trouble, share: f64, count: usize, (ratio, held, trials): (f64, f64, f64)) -> Bar {
    Bar { trouble, share, count, ratio, held, trials }
}

const BARS: [Bar; 15] = [
    bar(Trouble::Anywhere, 0.0, 5, (1.00, 95.5, 400.0)),
    bar(Trouble::Anywhere, 0.0, 10, (1.00, 94.0, 400.0)),
    bar(Trouble::Anywhere, 0.2, 5, (1.04, 98.0, 400.0)),
    bar(Trouble::Anywhere, 0.2, 10, (1.08, 93.5, 400.0)),
    bar(Trouble::Anywhere, 0.4, 5, (1.14, 96.5, 400.0)),
    bar(Trouble::Anywhere, 0.4, 10, (1.02, 95.8, 400.0)),
    bar(Trouble::Anywhere, 0.4, 20, (1.08, 96.0, 400.0)),
    bar(Trouble::Front, 0.2, 5, (1.16, 94.3, 300.0)),
    bar(Trouble::Front, 0.2, 10, (1.17, 94.0, 300.0)),
    bar(Trouble::Front, 0.4, 5, (1.57, 95.7, 300.0)),
    bar(Trouble::Front, 0.4, 10, (1.37, 97.0, 300.0)),
    bar(Trouble::Reversed, 0.2, 5, (0.93, 97.8, 400.0)),
    bar(Trouble::Reversed, 0.2, 10, (0.91, 95.2, 400.0)),
    bar(Trouble::Reversed, 0.4, 5, (0.75, 95.2, 400.0)),
    bar(Trouble::Reversed, 0.4, 10, (0.75, 94.2, 400.0)),
];

/// Of five bearings two of which point anywhere, regions hold the emitter in 98.3 % (1,437 of two other seeds), too often: two lines from
/// anywhere cross somewhere, and that they share that place is thought as likely as it is.
const MOST_OF_FIVE: f64 = 0.99;

/// The same with compasses that are known to be right, as the posterior beside has it: the place misses by at most 5 % more, and regions hold 95 ± 2 % where its own hold 94 to
/// 98 %, both within three standard errors of the two. Clean bearings give places as good as those of least squares, within 2 % of
/// their root mean square.
#[test]
fn the_posterior_keeps_up_with_an_exact_one() {
    let trials = if long() { 400 } else { 40 };
    let (mut logs, mut clean, mut wrong) = (Vec::new(), Vec::new(), Vec::new());
    for (i, bar) in BARS.iter().enumerate() {
        let options = Options { compass: CompassPrior::none(), ..Options::default() };
        let found = study(8000 + i as u64, trials, bar.count, bar.share, bar.trouble, &options);
        let own = found.error(Found::ratio);
        let scale = (1.0 + f64::from(trials) / bar.trials).sqrt();
        let over = found.ratio() / bar.ratio;
        println!("    over that of the exact one {over:.3}, which holds {:.1} %", bar.held);
        logs.push((over.ln(), (own * scale).powi(2)));
        let cell = format!("{:?} {} {}", bar.trouble, bar.share, bar.count);
        if over.ln() > 1.05f64.ln() + 3.0 * own * scale {
            wrong.push(format!("{cell}: {over:.3} of the exact one's"));
        }
        let error = |share: f64| 3.0 * (share * (1.0 - share) / f64::from(trials)).sqrt();
        let few = bar.trouble == Trouble::Anywhere && bar.share > 0.3 && bar.count == 5;
        let most = if few { MOST_OF_FIVE } else { 0.97 };
        let most = if (94.0..=98.0).contains(&bar.held) { most + error(most) } else { 1.0 };
        if !(0.93 - error(0.93)..=most).contains(&found.coverage()) {
            wrong.push(format!("{cell}: holds {:.3}", found.coverage()));
        }
        if bar.share == 0.0 {
            clean.push(found);
        }
    }
    let n = logs.len() as f64;
    let mean = logs.iter().map(|l| l.0).sum::<f64>() / n;
    let error = logs.iter().map(|l| l.1).sum::<f64>().sqrt() / n;
    println!("all together {:.3} ± {error:.3} of the exact one's", mean.exp());
    let clean = pooled(&clean);
    let (ratio, own) = (clean.rms_ratio(), clean.error(Found::rms_ratio));
    println!("clean: {ratio:.3} ± {own:.3} of the root mean square of least squares");
    assert!(wrong.is_empty(), "{wrong:?}");
    assert!(mean < 1.05f64.ln() + 3.0 * error, "{}", mean.exp());
    assert!(ratio.ln() < 1.02f64.ln() + 3.0 * own, "{ratio}");
}
