//! How good the bearing of an antenna turned on the spot is: its error against the Cramér–Rao bound, how often two of its
//! sigmas hold the truth, and how often a second lobe is told. The levels are made by formulae of this file.

use azimark::{
    geodesy::Place,
    numeric::random::Random,
    observe::{
        FixQuality, Level, LevelReading, NorthReference, Stand, Swing, SwingAntenna, SwingPoint, Written,
    },
    radio::{Family, Pattern},
    solve::swing::{bound, fit},
    units::{Angle, Db, Dbm, Sigma},
};

fn long() -> bool {
    std::env::var_os("AZIMARK_LONG").is_some()
}

/// A swing of levels in dBm against headings in degrees; `None` is below the floor.
fn swing(levels: &[(f64, Option<f64>)], antenna: SwingAntenna, floor: f64) -> Swing {
    let at = Place::from_lat_lon_degrees(47.0, 8.0).unwrap();
    let point = |(line, (heading, level)): (usize, &(f64, Option<f64>))| SwingPoint {
        heading: Angle::degrees(*heading),
        reading: LevelReading {
            id: None,
            stand: String::new(),
            at: Some(at),
            sigma: None,
            height: None,
            level: level.map_or(Level::BelowFloor(Dbm::new(floor)), |l| Level::Measured(Dbm::new(l))),
            raw: None,
            attenuator: None,
            attenuator_in_raw: false,
            bandwidth: None,
            floor: None,
            fix: FixQuality::default(),
            device: None,
            time: None,
            date: None,
            frequency: None,
            remarks: String::new(),
            written: Written { file: "x".into(), line: line as u64 + 2 },
        },
    };
    Swing {
        id: "s".to_owned(),
        team: None,
        stand: Stand { name: String::new(), at, sigma: None, height: None },
        north: NorthReference::True,
        points: levels.iter().enumerate().map(point).collect(),
        antenna,
    }
}

/// Attenuation of a lobe as its published formula has it, min(12 (x/w)², depth).
fn lobe(off: f64, width: f64, depth: f64) -> f64 {
    let off = (off + 540.0).rem_euclid(360.0) - 180.0;
    (12.0 * (off / width).powi(2)).min(depth)
}

/// One kind of swing.
#[derive(Clone, Copy)]
struct Kind {
    count: u32,
    width: f64,
    noise: f64,
    antenna: SwingAntenna,
    floor: f64,
    family: Family,
}

impl Kind {
    fn lobe(count: u32, width: f64, noise: f64, stated: bool) -> Self {
        let beamwidth = stated.then(|| Angle::degrees(width));
        let antenna = SwingAntenna { family: Some(Family::Lobe), beamwidth };
        Self { count, width, noise, antenna, floor: f64::NEG_INFINITY, family: Family::Lobe }
    }

    /// A swing with the peak at `truth`, headings from a start by chance, and a front-to-back ratio or depth.
    fn swing(&self, random: &mut Random, truth: f64, depth: f64) -> Swing {
        let start = 360.0 * random.uniform();
        let level = |h: f64| {
            let x = (h - truth).to_radians();
            -60.0
                - match self.family {
                    Family::Lobe => lobe(h - truth, self.width, depth),
                    // A loop and a rod of unequal voltages; a loop with filled nulls; a shadow.
                    Family::Cardioid => -20.0 * ((1.0 + 0.9 * x.cos()) / 1.9).log10(),
                    Family::FigureOfEight => {
                        -10.0 * (x.cos().powi(2) + 10f64.powf(-depth / 10.0) * x.sin().powi(2)).log10()
                    }
                    Family::Body => 0.5 * depth * (1.0 - x.cos()),
                }
        };
        let levels: Vec<(f64, Option<f64>)> = (0..self.count)
            .map(|i| (start + 360.0 * f64::from(i) / f64::from(self.count)).rem_euclid(360.0))
            .map(|h| (h, level(h) + self.noise * random.normal()))
            .map(|(h, l)| (h, (l > self.floor).then_some(l)))
            .collect();
        swing(&levels, self.antenna, self.floor)
    }
}

/// What was found of many swings.
#[derive(Clone, Copy, Default)]
struct Tally {
    trials: u32,
    answered: u32,
    held: u32,
    two: u32,
    /// Swings whose bound is below a sixth of the beamwidth: beyond that it tells nothing, since the lobe is hit by one
    /// heading or none.
    bounded: u32,
    /// Of those: sum of the squared misses over the squared bounds, and of the squared misses and bounds in degrees.
    ratios: f64,
    squares: f64,
    bounds: f64,
}

impl Tally {
    fn add(&mut self, kind: &Kind, swing: &Swing, truth: f64, depth: f64) {
        let found = fit(swing);
        self.trials += 1;
        self.two += u32::from(found.findings.iter().any(|f| f.code == "two-peaks"));
        let Some(direction) = found.direction else { return };
        let miss = direction.bearing.miss_from(Angle::degrees(truth)).to_degrees();
        // Of a two-way antenna the nearer of both ways counts.
        let miss = if direction.two_way && miss.abs() > 90.0 { 180.0 - miss.abs() } else { miss };
        self.answered += 1;
        self.held += u32::from(miss.abs() <= 2.0 * direction.by_levels.to_degrees());
        let pattern = Pattern::new(kind.family, Angle::degrees(kind.width), Db::new(depth)).unwrap();
        let headings: Vec<Angle> = swing.headings().collect();
        let noise = Sigma::<Db>::db(kind.noise).unwrap();
        let least = bound(&headings, Angle::degrees(truth), &pattern, noise).map(Sigma::<Angle>::to_degrees);
        if let Some(least) = least.filter(|l| *l < kind.width / 6.0) {
            self.bounded += 1;
            self.ratios += (miss / least).powi(2);
            self.squares += miss.powi(2);
            self.bounds += least.powi(2);
        }
    }

    fn merge(&mut self, other: &Self) {
        self.trials += other.trials;
        self.answered += other.answered;
        self.held += other.held;
        self.two += other.two;
        self.bounded += other.bounded;
        self.ratios += other.ratios;
    }

    fn coverage(&self) -> f64 {
        f64::from(self.held) / f64::from(self.answered)
    }

    fn told(&self, name: &str) {
        println!(
            "{name}: answered {} of {}, within 2 sigma {:.1} %, RMSE {:.2}°, bound {:.2}°, ratio {:.2} ({} bounded), two peaks {:.1} %",
            self.answered,
            self.trials,
            100.0 * self.coverage(),
            (self.squares / f64::from(self.bounded)).sqrt(),
            (self.bounds / f64::from(self.bounded)).sqrt(),
            (self.squares / self.bounds).sqrt(),
            self.bounded,
            100.0 * f64::from(self.two) / f64::from(self.trials)
        );
    }
}

/// Directions by chance, front-to-back ratios or depths of 10 to 22 dB by chance.
fn run(kind: &Kind, seed: u64, trials: u32) -> Tally {
    let mut random = Random::seeded(seed);
    let mut out = Tally::default();
    for _ in 0..trials {
        let (truth, depth) = (360.0 * random.uniform(), 10.0 + 12.0 * random.uniform());
        let swing = kind.swing(&mut random, truth, depth);
        out.add(kind, &swing, truth, depth);
    }
    out
}

/// Two standard deviations of a normal distribution hold 95.45 %; the prior of the scatter, 2.5 dB, makes swings of 1 dB
/// hold more and those of 3 dB less. The error of the best estimate goes with the bound, less what the priors of
/// beamwidth and depth know beyond it.
#[test]
fn the_bearing_of_a_swing_is_as_good_as_its_levels_allow() {
    let trials = if long() { 60 } else { 2 };
    for stated in [true, false] {
        let mut all = Tally::default();
        for count in [8, 12, 24, 72] {
            for width in [30.0, 50.0, 70.0] {
                for noise in [1.0, 2.0, 3.0] {
                    let kind = Kind::lobe(count, width, noise, stated);
                    let seed = 7000 + u64::from(count) * 100 + (width + noise) as u64;
                    let cell = run(&kind, seed, trials);
                    cell.told(&format!("swings, {count} headings, {width}°, {noise} dB, stated: {stated}"));
                    all.merge(&cell);
                    assert!(!long() || cell.coverage() > 0.85, "{count} {width} {noise}");
                }
            }
        }
        let ratio = (all.ratios / f64::from(all.bounded)).sqrt();
        let two = f64::from(all.two) / f64::from(all.trials);
        println!(
            "swings, stated: {stated}: {:.2} % of {} within 2 sigma, RMS of miss over bound {ratio:.3}, two peaks told in {:.1} %",
            100.0 * all.coverage(),
            all.answered,
            100.0 * two
        );
        let error = 3.0 * (0.9545 * 0.0455 / f64::from(all.answered)).sqrt();
        assert!((all.coverage() - 0.9545).abs() < 0.025 + error, "{}", all.coverage());
        // Three standard errors of a root mean square are 3/√(2n); heavy tails of narrow beams double them.
        assert!((ratio - 1.0).abs() < 0.1 + 6.0 / (2.0 * f64::from(all.bounded)).sqrt(), "{ratio}");
        assert!(two < 0.02 + 3.0 * (0.02 / f64::from(all.trials)).sqrt(), "{two}");
    }
}

/// Antennas of which nothing is stated, of every family, and a floor that hides the back and part of the lobe.
#[test]
fn other_antennas_and_floors_keep_what_two_sigmas_promise() {
    let trials = if long() { 60 } else { 6 };
    let plain = Kind { antenna: SwingAntenna::default(), ..Kind::lobe(24, 60.0, 2.0, false) };
    let mut all = Tally::default();
    for (name, kind) in [
        ("a lobe, nothing stated", plain),
        ("a cardioid", Kind { family: Family::Cardioid, ..plain }),
        ("a figure of eight", Kind { family: Family::FigureOfEight, ..plain }),
        ("a body's shadow", Kind { family: Family::Body, ..plain }),
        ("a lobe 10 dB above the floor", Kind { floor: -70.0, ..plain }),
        ("a lobe of 1 dB 6 dB above the floor", Kind { floor: -66.0, noise: 1.0, ..plain }),
    ] {
        let cell = run(&kind, 7900, trials);
        cell.told(name);
        assert!(!long() || cell.coverage() > 0.85, "{name}");
        all.merge(&cell);
    }
    let error = 3.0 * (0.9545 * 0.0455 / f64::from(all.answered)).sqrt();
    println!("other antennas: {:.2} % within 2 sigma", 100.0 * all.coverage());
    assert!((all.coverage() - 0.9545).abs() < 0.03 + error, "{}", all.coverage());
}

/// A reflection 3 or 6 dB below the direct way, anywhere beyond one and a half beamwidths of it.
#[test]
fn a_second_lobe_is_told() {
    let trials = if long() { 60 } else { 6 };
    for (noise, weaker, least) in [(1.0, 3.0, 0.9), (1.0, 6.0, 0.9), (2.0, 3.0, 0.6), (2.0, 6.0, 0.4)] {
        let mut random = Random::seeded(7950);
        let (mut told, mut near) = (0, 0);
        for _ in 0..trials {
            let truth = 360.0 * random.uniform();
            let second = truth + 75.0 + 210.0 * random.uniform();
            let power = |db: f64| 10f64.powf(-db / 10.0);
            let levels: Vec<(f64, Option<f64>)> = (0..24)
                .map(|i| 15.0 * f64::from(i))
                .map(|h| {
                    let sum =
                        power(lobe(h - truth, 50.0, 18.0)) + power(weaker + lobe(h - second, 50.0, 18.0));
                    (h, Some(-60.0 + 10.0 * sum.log10() + noise * random.normal()))
                })
                .collect();
            let found = fit(&swing(&levels, SwingAntenna::default(), f64::NEG_INFINITY));
            told += u32::from(found.findings.iter().any(|f| f.code == "two-peaks"));
            let miss = found.direction.map(|d| d.bearing.miss_from(Angle::degrees(truth)).to_degrees().abs());
            near += u32::from(miss.is_some_and(|m| m < 15.0));
        }
        let share = |n: u32| f64::from(n) / f64::from(trials);
        println!(
            "second lobe {weaker} dB below, {noise} dB: told in {:.1} %, bearing within 15° in {:.1} %",
            100.0 * share(told),
            100.0 * share(near)
        );
        let error = 3.0 * (0.25 / f64::from(trials)).sqrt();
        assert!(share(told) > least - error, "{noise} {weaker}: {}", share(told));
    }
}
