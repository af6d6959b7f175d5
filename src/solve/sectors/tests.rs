//! The likelihood against the integral that it stands for, written out.

use std::f64::consts::TAU;

use crate::{
    geodesy::PlanePoint,
    numeric::{random::Random, special::log_normal_cdf},
    radio::Lobe,
    solve::sectors::{Heard, SectorPriors, SectorSight, Sectors, directions},
    units::{Angle, Db},
};

fn sector(at: (f64, f64), azimuth: f64, heard: Heard) -> SectorSight {
    let lobe = Lobe::new(Angle::degrees(65.0), Db::new(25.0)).unwrap();
    let at = PlanePoint { east: at.0, north: at.1 };
    SectorSight { at, height: 25.0, beam: Some((Angle::degrees(azimuth), lobe)), heard }
}

/// Sites with three sectors each at the corners of a square of 3 km, heard from `emitter` with chance of its own.
fn scene(random: &mut Random, sites: usize, emitter: (f64, f64), floor: f64) -> Vec<SectorSight> {
    let corners = [(0.0, 0.0), (3000.0, 200.0), (500.0, 3200.0), (3100.0, 2900.0)];
    let mut out = Vec::new();
    for at in corners.into_iter().take(sites) {
        let shared = 7.0 * random.normal();
        for azimuth in [0.0, 120.0, 240.0] {
            let level = expected((at, azimuth), emitter, 12.0, 3.3) + shared + 4.0 * random.normal();
            let below = Heard::Below { limit: floor };
            let above = Heard::Above { level, error: 0.7 };
            out.push(sector(at, azimuth, if level > floor { above } else { below }));
        }
    }
    out
}

/// Level at a sector, written out anew.
fn expected(sector: ((f64, f64), f64), from: (f64, f64), start: f64, exponent: f64) -> f64 {
    start - 10.0 * exponent * distance(sector.0, from).log10() - attenuation(sector, from)
}

fn distance(at: (f64, f64), from: (f64, f64)) -> f64 {
    ((from.0 - at.0).powi(2) + (from.1 - at.1).powi(2) + 25.0f64.powi(2)).sqrt()
}

fn attenuation((at, azimuth): ((f64, f64), f64), from: (f64, f64)) -> f64 {
    let toward = (from.0 - at.0).atan2(from.1 - at.1).to_degrees();
    let off = (toward - azimuth + 540.0).rem_euclid(360.0) - 180.0;
    (12.0 * (off / 65.0f64).powi(2)).min(25.0)
}

/// The integral over the exponent, the level at one metre and the shadowing of each site, by the trapezium rule with a quarter
/// of each prior's deviation as step over six of them to either side (of the level: 1.5 dB over 180 dB to either side).
fn brute(sights: &[SectorSight], from: (f64, f64), priors: &SectorPriors) -> f64 {
    let mut sites: Vec<Vec<&SectorSight>> = Vec::new();
    for sight in sights {
        match sites.iter_mut().find(|s| s[0].at == sight.at) {
            Some(site) => site.push(sight),
            None => sites.push(vec![sight]),
        }
    }
    let normal = |x: f64, mean: f64, sd: f64| -0.5 * ((x - mean) / sd).powi(2) - sd.ln() - 0.5 * TAU.ln();
    // Of one site, for the level m that reaches it.
    let of_site = |site: &[&SectorSight], m: f64| {
        let step = 0.25 * priors.site;
        let mut sum = 0.0;
        for k in -24..=24 {
            let shared = f64::from(k) * step;
            let mut log = normal(shared, 0.0, priors.site);
            for sight in site {
                let (axis, _) = sight.beam.unwrap();
                let a = attenuation(((sight.at.east, sight.at.north), axis.to_degrees()), from);
                let own = priors.sector.powi(2) + (priors.pattern * a).powi(2);
                log += match sight.heard {
                    Heard::Above { level, error } => {
                        normal(level, m + shared - a, (own + error * error).sqrt())
                    }
                    Heard::Below { limit } => log_normal_cdf((limit - m - shared + a) / own.sqrt()),
                };
            }
            sum += log.exp() * step;
        }
        sum.ln()
    };
    let mut logs = Vec::new();
    for i in -24..=24 {
        let n = priors.exponent.0 + 0.25 * f64::from(i) * priors.exponent.1;
        for j in -120..=120 {
            let start = 1.5 * f64::from(j) - 10.0;
            let mut log = normal(n, priors.exponent.0, priors.exponent.1)
                + normal(start, priors.start.0, priors.start.1);
            for site in &sites {
                let at = (site[0].at.east, site[0].at.north);
                log += of_site(site, start - 10.0 * n * distance(at, from).log10());
                if log < -400.0 {
                    break;
                }
            }
            logs.push(log + (0.25 * priors.exponent.1 * 1.5).ln());
        }
    }
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    top + logs.iter().map(|l| (l - top).exp()).sum::<f64>().ln()
}

/// Scenes of one to four sites, with silence and without. Where the place is within e⁻⁷ of the best of those tried the two
/// agree to a hundredth, which no region shows; beyond, to 6 % of how far it lies below the best (under e⁻⁷
/// of its density).
#[test]
fn the_likelihood_is_the_integral_over_all_that_is_unknown() {
    let mut random = Random::seeded(3);
    let priors = SectorPriors::default();
    for (sites, floor) in [(1, -112.0), (2, -105.0), (3, -104.0), (4, -100.0), (3, -200.0)] {
        let emitter = (3000.0 * random.uniform(), 3000.0 * random.uniform());
        let sights = scene(&mut random, sites, emitter, floor);
        let above = sights.iter().filter(|s| matches!(s.heard, Heard::Above { .. })).count();
        assert!(above > 0, "the scene tells something");
        let sectors = Sectors::new(sights.clone(), priors);
        let pairs: Vec<(f64, f64)> = (0..3)
            .map(|k| {
                let from = match k {
                    0 => emitter,
                    _ => (4000.0 * random.uniform(), 4000.0 * random.uniform()),
                };
                let found = sectors.log_likelihood(PlanePoint { east: from.0, north: from.1 });
                (found, brute(&sights, from, &priors))
            })
            .collect();
        let best = pairs.iter().map(|p| p.1).fold(f64::NEG_INFINITY, f64::max);
        for (found, exact) in pairs {
            println!(
                "{sites} sites, {above} of {} heard: {found:.5} {exact:.5} {:.1e}",
                sights.len(),
                found - exact
            );
            let limit = if exact > best - 7.0 { 0.01 } else { 0.06 * (best - exact) };
            assert!((found - exact).abs() < limit, "{sites} {floor}: {found} {exact}");
        }
    }
}

/// Eight at once are the same as one by one, to the last bit.
#[test]
fn a_batch_gives_what_single_places_give() {
    let sights = scene(&mut Random::seeded(5), 4, (1200.0, 900.0), -104.0);
    let sectors = Sectors::new(sights, SectorPriors::default());
    let points =
        (std::array::from_fn(|l| 500.0 * l as f64), std::array::from_fn(|l| 3000.0 - 300.0 * l as f64));
    let batch = sectors.log_likelihoods(&points);
    for l in 0..8 {
        let single = sectors.log_likelihood(PlanePoint { east: points.0[l], north: points.1[l] });
        assert_eq!(batch[l].to_bits(), single.to_bits());
    }
}

/// Nothing heard is nothing told; no sectors likewise. A place on the mast itself, or beyond the globe, has a number.
#[test]
fn degenerate_sectors_have_finite_likelihoods() {
    let silent = vec![sector((0.0, 0.0), 0.0, Heard::Below { limit: -110.0 })];
    let anywhere = PlanePoint { east: 10.0, north: 20.0 };
    for sights in [Vec::new(), silent] {
        assert_eq!(Sectors::new(sights, SectorPriors::default()).log_likelihood(anywhere), 0.0);
    }
    let mut sights = scene(&mut Random::seeded(6), 3, (1000.0, 1000.0), -104.0);
    // Hundreds of rows of one mast, of which every one contradicts the rest by far.
    sights.extend((0..400).map(|_| sector((0.0, 0.0), 10.0, Heard::Below { limit: -190.0 })));
    let sectors = Sectors::new(sights, SectorPriors::default());
    for (east, north) in [(0.0, 0.0), (1e-9, 0.0), (1e7, -1e7), (3000.0, 200.0)] {
        let log = sectors.log_likelihood(PlanePoint { east, north });
        assert!(log.is_finite(), "{east} {north}: {log}");
    }
}

/// A power that is unknown cancels: all levels and limits moved by 10 dB tell the same, but for the wide prior of the power
/// (40 dB; 10 dB change its exponent by less than 0.5 · (10/40) · (10 + 2 · 60)/40 = 0.41, and alike for all places).
#[test]
fn ratios_between_sites_are_free_of_the_power() {
    let sights = scene(&mut Random::seeded(7), 4, (1200.0, 900.0), -300.0);
    let louder = sights.iter().map(|s| match s.heard {
        Heard::Above { level, error } => {
            SectorSight { heard: Heard::Above { level: level + 10.0, error }, ..*s }
        }
        Heard::Below { .. } => panic!("all are heard"),
    });
    let (plain, louder) = (
        Sectors::new(sights.clone(), SectorPriors::default()),
        Sectors::new(louder.collect(), SectorPriors::default()),
    );
    let gain = |sectors: &Sectors, place| sectors.log_likelihood(place);
    let (a, b) = (PlanePoint { east: 1200.0, north: 900.0 }, PlanePoint { east: 2500.0, north: 2500.0 });
    let change = (gain(&louder, a) - gain(&louder, b)) - (gain(&plain, a) - gain(&plain, b));
    assert!(change.abs() < 0.1, "{change}");
}

/// Between two sectors that hear alike the direction is the middle; the louder one draws it to its side; and within the
/// length of `finest` the likelihood changes by little.
#[test]
fn the_differences_of_one_site_are_a_direction() {
    let heard = |level| Heard::Above { level, error: 0.3 };
    let site = |levels: [f64; 3]| {
        let sights = [0.0, 120.0, 240.0].iter().zip(levels);
        let sights = sights.map(|(azimuth, level)| sector((0.0, 0.0), *azimuth, heard(level))).collect();
        directions(&Sectors::new(sights, SectorPriors::default()), 72).remove(0)
    };
    let best = |levels| {
        let found = site(levels);
        assert!((found.shares.iter().sum::<f64>() - 1.0).abs() < 1e-12 && found.sectors == [0, 1, 2]);
        let top = (0..72).max_by(|a, b| found.shares[*a].total_cmp(&found.shares[*b])).unwrap();
        found.direction(top).to_degrees()
    };
    assert!((best([-90.0, -90.0, -110.0]) - 60.0).abs() < 1e-9);
    let drawn = best([-90.0, -96.0, -108.0]);
    // By the pattern: 12 ((120 − θ)² − θ²)/65² = 6 gives θ = 51.2°; one step of the directions is 5°.
    assert!((drawn - 51.2).abs() < 6.0, "{drawn}");
}

#[test]
fn within_the_finest_length_the_likelihood_hardly_varies() {
    let sights = scene(&mut Random::seeded(8), 4, (1200.0, 900.0), -104.0);
    let sectors = Sectors::new(sights, SectorPriors::default());
    let mut random = Random::seeded(9);
    for _ in 0..200 {
        let at = PlanePoint { east: 4000.0 * random.uniform(), north: 4000.0 * random.uniform() };
        let points = ([at.east; 8], [at.north; 8]);
        let length = sectors.finest(&points, 0.0)[0];
        let turn = TAU * random.uniform();
        let near = PlanePoint { east: at.east + length * turn.sin(), north: at.north + length * turn.cos() };
        // One such length changes the sum of squares of standardised errors by about 1 + 2 |z| per sector and root count;
        // errors of three standard deviations make that a few units.
        let change = (sectors.log_likelihood(near) - sectors.log_likelihood(at)).abs();
        assert!(length > 0.0 && change < 4.0, "{at:?}: {change} within {length} m");
        assert!(sectors.finest(&points, 50.0)[0] <= length);
    }
}
