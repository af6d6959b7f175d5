//! How good the bearing of an antenna turned on the spot is: its error against the Cramér–Rao bound, how often two of its
//! sigmas hold the truth, and how often a second lobe is told. The levels are made by formulae of this file.

use azimark::{
    finding::Origin,
    geodesy::Place,
    numeric::random::Random,
    observe::{
        FixQuality, Level, LevelReading, NorthReference, Stand, Swing, SwingAntenna, SwingPoint, Written,
    },
    radio::{Family, Pattern},
    solve::swing::{SwingFit, bound, fit},
    units::{Angle, Db, Dbm, Sigma},
};

const HEADINGS: [u32; 4] = [8, 12, 24, 72];
const WIDTHS: [f64; 3] = [30.0, 50.0, 70.0];
const NOISE: [f64; 3] = [1.0, 2.0, 3.0];

fn long() -> bool {
    std::env::var_os("AZIMARK_LONG").is_some()
}

/// A swing of levels in dBm against headings in degrees; `None` is below the floor of −110 dBm.
fn swing(levels: &[(f64, Option<f64>)], antenna: SwingAntenna) -> Swing {
    let at = Place::from_lat_lon_degrees(47.0, 8.0).unwrap();
    let point = |(line, (heading, level)): (usize, &(f64, Option<f64>))| SwingPoint {
        heading: Angle::degrees(*heading),
        reading: LevelReading {
            id: None,
            stand: String::new(),
            at: Some(at),
            sigma: None,
            height: None,
            level: level.map_or(Level::BelowFloor(Dbm::new(FLOOR)), |l| Level::Measured(Dbm::new(l))),
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

const FLOOR: f64 = -110.0;

/// Attenuation of a lobe as its published formula has it, min(12 (x/w)², depth).
fn lobe(off: f64, width: f64, depth: f64) -> f64 {
    let off = (off + 540.0).rem_euclid(360.0) - 180.0;
    (12.0 * (off / width).powi(2)).min(depth)
}

fn miss(found: &SwingFit, truth: f64) -> Option<(f64, f64)> {
    let d = found.direction?;
    Some((d.bearing.miss_from(Angle::degrees(truth)).to_degrees(), d.by_levels.to_degrees()))
}

/// What a cell of the study found.
#[derive(Default)]
struct Cell {
    trials: u32,
    answered: u32,
    held: u32,
    squares: f64,
    bound_squares: f64,
    near: f64,
    two: u32,
}

fn run(random: &mut Random, trials: u32, n: u32, width: f64, noise: f64, stated: bool) -> Cell {
    let mut out = Cell { trials, ..Cell::default() };
    for _ in 0..trials {
        let (truth, depth) = (360.0 * random.uniform(), 10.0 + 12.0 * random.uniform());
        let start = 360.0 * random.uniform();
        let headings: Vec<f64> =
            (0..n).map(|i| (start + 360.0 * f64::from(i) / f64::from(n)).rem_euclid(360.0)).collect();
        let levels: Vec<(f64, Option<f64>)> = headings
            .iter()
            .map(|h| (*h, Some(-60.0 - lobe(h - truth, width, depth) + noise * random.normal())))
            .collect();
        let antenna =
            SwingAntenna { family: Some(Family::Lobe), beamwidth: stated.then(|| Angle::degrees(width)) };
        let found = fit(&swing(&levels, antenna));
        out.two += u32::from(found.findings.iter().any(|f| f.code == "two-peaks"));
        let Some((miss, sigma)) = miss(&found, truth) else { continue };
        out.answered += 1;
        out.held += u32::from(miss.abs() <= 2.0 * sigma);
        let pattern = Pattern::new(Family::Lobe, Angle::degrees(width), Db::new(depth)).unwrap();
        let angles: Vec<Angle> = headings.iter().map(|h| Angle::degrees(*h)).collect();
        let least = bound(&angles, Angle::degrees(truth), &pattern, Sigma::<Db>::db(noise).unwrap());
        if let Some(least) = least.filter(|l| l.to_degrees() < width / 6.0) {
            out.near += 1.0;
            out.squares += miss.powi(2);
            out.bound_squares += least.to_degrees().powi(2);
        }
    }
    out
}

#[test]
fn the_bearing_of_a_swing_is_as_good_as_its_levels_allow() {
    let trials = if long() { 1000 } else { 100 };
    for stated in [true, false] {
        for n in HEADINGS {
            for (w, width) in WIDTHS.into_iter().enumerate() {
                for (s, noise) in NOISE.into_iter().enumerate() {
                    let mut random = Random::seeded(7000 + 100 * u64::from(n) + 10 * w as u64 + s as u64);
                    let c = run(&mut random, trials, n, width, noise, stated);
                    println!(
                        "stated {stated} n {n} w {width} s {noise}: answered {} held {:.1}% rmse {:.2} bound {:.2} ratio {:.3} two {:.1}%",
                        c.answered,
                        100.0 * f64::from(c.held) / f64::from(c.answered),
                        (c.squares / c.near).sqrt(),
                        (c.bound_squares / c.near).sqrt(),
                        (c.squares / c.bound_squares).sqrt(),
                        100.0 * f64::from(c.two) / f64::from(c.trials)
                    );
                }
            }
        }
    }
    let _ = Origin::file("x");
}
