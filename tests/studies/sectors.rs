//! What the sectors of base stations give by themselves: the demo's nine, and simulated networks with physics of their own.

use std::fmt::Write;

use azimark::{
    geodesy::{Place, Plane, PlanePoint},
    ingest, north,
    numeric::random::Random,
    solve::sectors::{SectorPriors, SectorSight, Sectors, sights},
};

const DEMO: &[u8] = include_bytes!("../../fixtures/demo/sectors.csv");

/// The posterior on a plain grid of `cells` by `cells` over a square of `half` metres to each side, with the solver's prior
/// of place: ∝ (a² + d²)^(−3/2) about the sites, a twice their spread. Shares of the mass, with the point of each.
fn posterior(sectors: &Sectors, knee: f64, half: f64, cells: usize) -> Vec<(PlanePoint, f64)> {
    let at = |k: usize| half * (2.0 * (k as f64 + 0.5) / cells as f64 - 1.0);
    let points: Vec<PlanePoint> =
        (0..cells * cells).map(|i| PlanePoint { east: at(i % cells), north: at(i / cells) }).collect();
    let mut logs = Vec::with_capacity(points.len());
    for eight in points.chunks_exact(8) {
        let batch = (std::array::from_fn(|l| eight[l].east), std::array::from_fn(|l| eight[l].north));
        logs.extend(sectors.log_likelihoods(&batch));
    }
    let with_prior = points.iter().zip(logs).map(|(p, log)| log + prior(p, knee));
    let logs: Vec<f64> = with_prior.collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let sum: f64 = logs.iter().map(|l| (l - top).exp()).sum();
    points.into_iter().zip(logs.iter().map(|l| (l - top).exp() / sum)).collect()
}

fn prior(point: &PlanePoint, knee: f64) -> f64 {
    -1.5 * (knee * knee + point.east.powi(2) + point.north.powi(2)).ln()
}

/// Twice the root mean square distance of the sites from their centre.
fn knee(sights: &[SectorSight]) -> f64 {
    let squares: f64 = sights.iter().map(|s| s.at.east.powi(2) + s.at.north.powi(2)).sum();
    (2.0 * (squares / sights.len() as f64).sqrt()).max(300.0)
}

/// Cells of the highest-posterior set of `share`, and whether the cell nearest to `truth` is one of them.
fn region(posterior: &[(PlanePoint, f64)], share: f64, truth: PlanePoint) -> (usize, bool) {
    let mut order: Vec<&(PlanePoint, f64)> = posterior.iter().collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1));
    let away = |p: &PlanePoint| (p.east - truth.east).hypot(p.north - truth.north);
    let nearest = order.iter().min_by(|a, b| away(&a.0).total_cmp(&away(&b.0))).unwrap().0;
    let mut sum = 0.0;
    let count = order
        .iter()
        .take_while(|c| {
            let before = sum;
            sum += c.1;
            before < share
        })
        .count();
    (count, order[..count].iter().any(|c| c.0 == nearest))
}

/// For comparison: the three half-power wedges overlap in 6.1 km², which is no region of stated probability.
#[test]
fn the_demos_nine_sectors_hold_the_emitter_in_a_few_square_kilometres() {
    let read = ingest::sectors("sectors.csv", DEMO, &ingest::Settings::default());
    let found = north::resolve_sectors(&read.rows, &north::Settings::default());
    let places: Vec<Place> = found.sectors.iter().map(|s| s.sector().at).collect();
    let plane = Plane::centred_on(&places).unwrap();
    let priors = SectorPriors::default();
    let sights = sights(&found.sectors, &plane, &priors);
    let truth = plane.to_plane(Place::from_lat_lon_degrees(46.956_061, -118.356_637).unwrap());
    let knee = knee(&sights);
    let (half, cells) = (15_000.0, 240);
    let start = std::time::Instant::now();
    let posterior = posterior(&Sectors::new(sights, priors), knee, half, cells);
    let micros = start.elapsed().as_secs_f64() * 1e6 / (cells * cells) as f64;
    let cell = (2.0 * half / cells as f64 / 1e3).powi(2);
    let [half_region, _, region] = [0.5, 0.9, 0.95].map(|share| {
        let (count, inside) = region(&posterior, share, truth);
        println!("demo, {share}: {:.2} km², holds the emitter: {inside}", count as f64 * cell);
        (count as f64 * cell, inside)
    });
    println!("demo: {micros:.1} µs a place");
    assert!(half_region.1 && region.1, "the truth is inside");
    assert!((6.0..11.0).contains(&region.0) && half_region.0 < 4.0, "{region:?} {half_region:?}");
}

/// What a simulated network is made of; nothing of it is the solver's model.
struct World {
    /// Standard deviation of the shadowing, dB: half of its variance is common to all sites, all of it to the sectors of one
    /// (3GPP TR 36.942).
    shadowing: f64,
    /// Front-to-back of an emitter that points somewhere, dB; zero for one that does not.
    directivity: f64,
}

/// Attenuation of a real sector antenna: a power of cos²(θ/2) of the half-power beamwidth 65°, a back lobe of its own, and a
/// ripple that grows off the axis.
fn antenna(off: f64, back: f64, ripple: f64) -> f64 {
    let half = |angle: f64| (0.5 * angle).to_radians().cos().powi(2);
    let power = 0.5f64.ln() / half(32.5).ln();
    let lobe = half(off).powf(power).max(1e-12);
    let floor = 10f64.powf(-0.1 * back);
    -10.0 * (lobe + floor).log10() + (1.0 - lobe) * 1.5 * (5.0 * off.to_radians() + ripple).sin()
}

/// One network and what it wrote down as a table; the emitter on the plane about `centre`.
fn network(random: &mut Random, world: &World, centre: &Plane) -> (String, PlanePoint) {
    let count = 3 + (4.0 * random.uniform()) as usize;
    let mut sites: Vec<PlanePoint> = Vec::new();
    while sites.len() < count {
        let at = PlanePoint {
            east: 8000.0 * random.uniform() - 4000.0,
            north: 8000.0 * random.uniform() - 4000.0,
        };
        if sites.iter().all(|s| (s.east - at.east).hypot(s.north - at.north) > 1500.0) {
            sites.push(at);
        }
    }
    let (r, a) = (4500.0 * random.uniform().sqrt(), std::f64::consts::TAU * random.uniform());
    let emitter = PlanePoint { east: r * a.sin(), north: r * a.cos() };
    let exponent = 2.7 + 1.6 * random.uniform();
    // EIRP and the loss of the first metre at 850 MHz (31 dB, ITU-R P.525) together.
    let start = 40.0 * random.uniform() - 31.0 + 35.0 * (exponent - 3.5);
    let (points, common) = (360.0 * random.uniform(), random.normal());
    let mut text = String::from(
        "sector,lat,lon,height_m,azimuth_deg_true,hpbw_deg,gain_dbi,feeder_loss_db,floor_dbm,noise_rise_db\n",
    );
    for (s, site) in sites.iter().enumerate() {
        let (dx, dy) = (emitter.east - site.east, emitter.north - site.north);
        let height = 20.0 + 40.0 * random.uniform();
        let away = (dx * dx + dy * dy + height * height).sqrt();
        let shadow = world.shadowing * 0.5f64.sqrt() * (common + random.normal());
        let toward = dx.atan2(dy).to_degrees();
        let back_to = (toward + 180.0 - points).to_radians();
        let pointed = world.directivity * 0.5 * (1.0 - back_to.cos());
        let (first, back) = (120.0 * random.uniform(), 20.0 + 10.0 * random.uniform());
        let place = centre.to_place(*site);
        for k in 0..3 {
            let azimuth = first + 120.0 * f64::from(k);
            let off = (toward - azimuth + 540.0).rem_euclid(360.0) - 180.0;
            let ripple = std::f64::consts::TAU * random.uniform();
            let level = start - 10.0 * exponent * away.log10() + shadow - pointed + 15.0
                - antenna(off, back, ripple)
                + 2.0 * random.normal();
            let rise = 10.0 * (1.0 + 10f64.powf(0.1 * (level + 102.0))).log10() + 0.15 * random.normal();
            writeln!(
                text,
                "S{s}-{k},{:.6},{:.6},{height:.0},{azimuth:.0},65,17,2,-102.0,{rise:.1}",
                place.lat_degrees(),
                place.lon_degrees()
            )
            .unwrap();
        }
    }
    (text, emitter)
}

/// Whether the 95 % region holds the emitter, and its area in square kilometres; `None` where fewer than two sites hear it.
fn trial(random: &mut Random, world: &World) -> Option<(bool, f64)> {
    let origin = Plane::centred_on(&[Place::from_lat_lon_degrees(47.0, 8.0).unwrap()]).unwrap();
    let priors = SectorPriors::default();
    let (text, emitter) = network(random, world, &origin);
    let read = ingest::sectors("network.csv", text.as_bytes(), &ingest::Settings::default());
    let found = north::resolve_sectors(&read.rows, &north::Settings::default()).sectors;
    let hear = |s: &&north::TrueSector| s.sector().rise.is_some_and(|r| r.value() >= 1.0);
    let sites: std::collections::BTreeSet<&str> =
        found.iter().filter(hear).map(|s| s.sector().id.split('-').next().unwrap()).collect();
    if sites.len() < 2 {
        return None;
    }
    let places: Vec<Place> = found.iter().map(|s| s.sector().at).collect();
    let plane = Plane::centred_on(&places).unwrap();
    let seen = sights(&found, &plane, &priors);
    let (knee, truth) = (knee(&seen), plane.to_plane(origin.to_place(emitter)));
    let (half, cells) = (14_000.0, 64);
    let posterior = posterior(&Sectors::new(seen, priors), knee, half, cells);
    let (count, inside) = region(&posterior, 0.95, truth);
    Some((inside, count as f64 * (2.0 * half / cells as f64 / 1e3).powi(2)))
}

/// Three to six sites, an emitter that radiates alike or with a front-to-back of 15 dB, exponents of 2.7 to 4.3, shadowing of
/// 4 to 8 dB, antennas that are not the solver's: as `network` has it.
#[test]
fn the_region_of_sectors_holds_the_emitter() {
    let trials = if crate::long() { 300 } else { 12 };
    let (mut total, mut all) = (0, 0);
    for (s, shadowing) in [4.0, 6.0, 8.0].into_iter().enumerate() {
        for (d, directivity) in [0.0, 15.0].into_iter().enumerate() {
            let mut random = Random::seeded(7000 + 10 * s as u64 + d as u64);
            let world = World { shadowing, directivity };
            let (mut held, mut areas) = (0, Vec::new());
            while areas.len() < trials {
                let Some((inside, area)) = trial(&mut random, &world) else { continue };
                held += usize::from(inside);
                areas.push(area);
            }
            areas.sort_by(f64::total_cmp);
            println!(
                "sectors: shadowing {shadowing} dB, front-to-back {directivity} dB: {:.1} % of {trials}, median {:.1} km²",
                100.0 * held as f64 / trials as f64,
                areas[trials / 2]
            );
            total += held;
            all += trials;
        }
    }
    let share = total as f64 / all as f64;
    println!("sectors: all {:.2} %", 100.0 * share);
    // Three standard errors of the trials, and beside them 2 %: the priors are not this world.
    let error = 3.0 * (0.95f64 * 0.05 / all as f64).sqrt();
    assert!((share - 0.95).abs() < 0.02 + error, "{share}");
}
