//! Stands whose bearings are all off the same way.

use azimark::{
    geodesy::{Place, course, destination},
    north,
    numeric::random::Random,
    solve::{OffSpot, Options, Spot, spots},
    units::{Angle, Metres},
};

use super::{bearing, emitter, fitted, long};

/// Five stands within `arc` degrees, 600 to 1000 m off, with two bearings of 4° each; those of the first are off by `pull` degrees.
fn judged(random: &mut Random, arc: f64, pull: f64) -> Vec<Spot> {
    let from = 360.0 * random.uniform();
    let mut read = Vec::new();
    for i in 0..5 {
        let around = Angle::degrees(from + arc * f64::from(i) / 5.0);
        let stand: Place = destination(emitter(), around, Metres::new(random.between(600.0, 1000.0))).0;
        for _ in 0..2 {
            let off = 4.0 * random.normal() + if i == 0 { pull } else { 0.0 };
            read.push(bearing(stand, course(stand, emitter()).departure.turned(Angle::degrees(off)), 4.0));
        }
    }
    let bearings = north::resolve(&read, &north::Settings::default()).bearings;
    spots(&fitted(&bearings, &Options::default()))
}

/// Without a pull hardly a stand is called off (three standard deviations: 0.3 % of the stands of exact normal errors, and errors are
/// taken as larger than stated); one that is pulled by 25° is, by about that; with the others on one side nobody is blamed for a
/// direction that they do not know.
#[test]
fn a_stand_beside_iron_is_told_where_the_others_know() {
    let trials = if long() { 200 } else { 12 };
    let mut random = Random::seeded(9_100);
    let (mut blamed, mut all, mut found, mut error, mut untold) = (0, 0, 0, 0.0_f64, 0);
    for _ in 0..trials {
        let clean = judged(&mut random, 360.0, 0.0);
        all += clean.len();
        blamed += clean.iter().filter(|s| s.judged == OffSpot::Off).count();
        let pulled = judged(&mut random, 360.0, 25.0);
        let first = pulled.iter().find(|s| s.bearings == [0, 1]);
        if let Some(first) = first.filter(|s| s.judged == OffSpot::Off) {
            found += 1;
            error += (first.off.to_degrees() - 25.0) / f64::from(trials);
        }
        let side = judged(&mut random, 20.0, 25.0);
        untold += side.iter().filter(|s| s.judged == OffSpot::Untold).count();
    }
    println!(
        "{blamed} of {all} stands blamed without a pull; {found} of {trials} pulled ones found, off by {error:+.1}° in the mean; \
         {untold} untold on one side"
    );
    let few = 0.01 * all as f64;
    assert!(blamed as f64 <= few + 3.0 * few.sqrt(), "{blamed} of {all}");
    let rate = f64::from(found) / f64::from(trials);
    let chance = 3.0 * (0.8f64 * 0.2 / f64::from(trials)).sqrt();
    assert!(rate > 0.8 - chance, "{found} of {trials}");
    // The two bearings' mean has 2.8°, the others' direction about as much.
    assert!(error.abs() < 3.0 * 4.0 / f64::from(trials).sqrt() + 25.0 * (1.0 - rate), "{error}");
}
