//! Façades of a map tried on bearings that disagree, in scenes whose physics is the simulator's own.

use azimark::{
    geodesy::{Place, course, destination},
    north,
    region::Region,
    simulate::{Bearings, Cause, Kind, Plan, Scene, Town, TownPlan, Way, write},
    solve::{Options, Specular, Verdict, specular},
    streets::{Facade, facades},
    units::{Angle, Confidence, Db, Metres},
};

use super::{bearing, emitter, fitted, long};

/// Points about the emitter, metres east and north.
fn at(east: f64, north: f64) -> Place {
    let toward = Angle::radians(east.atan2(north));
    destination(emitter(), toward, Metres::new(east.hypot(north))).0
}

/// Five stands about the emitter that read it as it is, and one at (400, −300) that reads `azimuth`; a wall from 300 m west to
/// `end` m east of the emitter, 200 m north of it, which faces south, or north where `away`.
fn one_wall(azimuth: Angle, end: f64, away: bool) -> Option<Specular> {
    let mut read: Vec<_> =
        [(500.0, 100.0), (-450.0, 80.0), (60.0, -480.0), (-300.0, -350.0), (350.0, -150.0)]
            .map(|(e, n)| bearing(at(e, n), course(at(e, n), emitter()).departure, 3.0))
            .into();
    read.push(bearing(at(400.0, -300.0), azimuth, 3.0));
    let bearings = north::resolve(&read, &north::Settings::default()).bearings;
    let fit = fitted(&bearings, &Options::default());
    let mut ends = [at(end, 200.0), at(-300.0, 200.0)];
    if away {
        ends.reverse();
    }
    specular(&fit, &fit.record(&bearings), &[Facade { name: "Mill".to_owned(), ends }])
}

/// The image lies as far behind the wall as the emitter before it, at (0, 400); the wave meets the wall where the line from the
/// stand at (400, −300) to it has come 200 m north, 5/7 of the way: 114.3 m east.
#[test]
fn a_bearing_of_the_mirror_image_is_told_and_others_are_not() {
    let stand = at(400.0, -300.0);
    let image = course(stand, at(0.0, 400.0)).departure;
    let told = one_wall(image, 300.0, false).expect("a foreign bearing");
    let [bounce] = told.bounces.as_slice() else { panic!("{told:?}") };
    assert_eq!((bounce.bearing, bounce.facade.name.as_str()), (5, "Mill"));
    // A foot of the mirror point for each degree that the fit's place may be off by: it is not off by a metre here.
    let thrown = course(bounce.point, at(114.3, 200.0)).distance.value();
    assert!(thrown < 40.0 && bounce.miss.to_degrees().abs() < 3.0, "{thrown} {:?}", bounce.miss);
    assert!(bounce.probability > 0.9 && bounce.of_this > 0.9, "{bounce:?}");
    let counted = told.fit.expect("a fit that counts it");
    assert!(course(counted.quoted(), emitter()).distance.value() < 20.0);

    let elsewhere = one_wall(image.turned(Angle::degrees(25.0)), 300.0, false).expect("a foreign bearing");
    assert!(elsewhere.bounces.is_empty() && elsewhere.unexplained == [5] && elsewhere.fit.is_none());
    let short = one_wall(image, 40.0, false).expect("a foreign bearing");
    assert!(short.bounces.is_empty(), "the wave would pass the wall's end: {short:?}");
    let away = one_wall(image, 300.0, true).expect("a foreign bearing");
    assert!(away.bounces.is_empty(), "the wall shows its back: {away:?}");
}

/// What a cell of the study found.
#[derive(Debug, Default)]
struct Found {
    /// Foreign bearings that were reflected once, and those of them that were told.
    reflected: [u32; 2],
    /// The same for those that came from elsewhere or around corners.
    others: [u32; 2],
    /// Scenes in which some were told, and those whose region holds the emitter without and with them.
    scenes: u32,
    held: [u32; 2],
    /// Sum of the logarithm of the area with them over that without, and how many regions it is of.
    shrunk: (f64, u32),
}

impl Found {
    fn take(&mut self, taken: &Bearings, walls: &[Facade]) {
        let bearings = north::resolve(&taken.readings, &north::Settings::default()).bearings;
        let fit = fitted(&bearings, &Options::default());
        let record = fit.record(&bearings);
        let Some(told) = specular(&fit, &record, walls) else { return };
        for (i, _) in record.residuals.iter().enumerate().filter(|(_, r)| r.verdict == Verdict::Foreign) {
            let explained = u32::from(told.bounces.iter().any(|b| b.bearing == i));
            let reflected = taken.told[i].cause == Cause::Way(Way::Reflected) && !taken.told[i].reversed;
            let count = if reflected { &mut self.reflected } else { &mut self.others };
            count[0] += 1;
            count[1] += explained;
        }
        let Some(with) = &told.fit else { return };
        self.scenes += 1;
        let mut areas = [None; 2];
        for (k, fit) in [&fit, with].into_iter().enumerate() {
            if let Ok(region) = Region::of(fit, Confidence::P95) {
                self.held[k] += u32::from(region.holds(fit, taken.truth));
                areas[k] = Some(region.area().value());
            }
        }
        if let [Some(without), Some(with)] = areas {
            self.shrunk.0 += (with / without).ln();
            self.shrunk.1 += 1;
        }
    }
}

fn study(kind: Kind, seed: u64, trials: u64, foreign: f64) -> Found {
    let mut found = Found::default();
    for trial in 0..trials {
        let plan = Plan { bearings: 12, foreign, ..Plan::of(kind, seed + trial) };
        let mut scene = Scene::new(&plan).unwrap();
        // Gaps between the buildings, and one in ten of them high and smooth: it is seen over the roofs.
        let thinned = TownPlan {
            built: 0.5,
            landmarks: 0.1,
            reflection: (Db::new(0.0), Db::new(1.0)),
            ..*scene.town().unwrap().plan()
        };
        let town = Town::new(&thinned, seed + trial).unwrap();
        scene.walk.propagation.town = Some(town.clone());
        scene.bearings.propagation.town = Some(town);
        let taken = scene.take_bearings().unwrap();
        let town = scene.town().map(|t| write::town_map(t, &taken.plane)).unwrap();
        found.take(&taken, &facades("town.geojson", town.as_bytes()).0);
    }
    let share = |[all, told]: [u32; 2]| f64::from(told) / f64::from(all.max(1));
    println!(
        "{} with {:.0} % from elsewhere: of {} reflected {:.0} % told, of {} others {:.0} %; {} scenes with some, held {} without \
         and {} with them, area x{:.2}",
        kind.word(),
        100.0 * foreign,
        found.reflected[0],
        100.0 * share(found.reflected),
        found.others[0],
        100.0 * share(found.others),
        found.scenes,
        found.held[0],
        found.held[1],
        (found.shrunk.0 / f64::from(found.shrunk.1.max(1))).exp()
    );
    found
}

/// Reflections are told far more often than bearings from elsewhere are taken for such, and a region that counts them holds the
/// emitter about as often as one that does not.
#[test]
fn facades_explain_reflections_and_seldom_anything_else() {
    let trials = if long() { 150 } else { 10 };
    let (mut told, mut wrong, mut all) = ([0; 2], [0; 2], Found::default());
    for (kind, foreign) in
        [(Kind::Street, 0.0), (Kind::Canyon, 0.0), (Kind::Street, 0.25), (Kind::Canyon, 0.25)]
    {
        let found = study(kind, 500, trials, foreign);
        for k in 0..2 {
            told[k] += found.reflected[k];
            wrong[k] += found.others[k];
            all.held[k] += found.held[k];
        }
        all.scenes += found.scenes;
        all.shrunk = (all.shrunk.0 + found.shrunk.0, all.shrunk.1 + found.shrunk.1);
    }
    let share = |[all, told]: [u32; 2]| f64::from(told) / f64::from(all.max(1));
    println!("all: {:.2} of reflections, {:.2} of others; {all:?}", share(told), share(wrong));
    assert!(told[0] >= 10 && wrong[0] >= 10, "{told:?} {wrong:?}");
    assert!(share(told) > 2.0 * share(wrong), "{told:?} {wrong:?}");
    let lost = f64::from(all.held[0]) - f64::from(all.held[1]);
    assert!(lost <= 3.0 * (0.05 * f64::from(all.scenes)).sqrt(), "{all:?}");
}
