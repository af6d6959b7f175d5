//! Line of sight, mirror images and corners, against computations of another kind.

use azimark::{
    geodesy::PlanePoint,
    numeric::random::Random,
    simulate::{Building, Kind, Path, Propagation, Spot, Town, Way},
    units::{Hertz, Metres},
};

use crate::point;

fn spot(at: PlanePoint, height: f64) -> Spot {
    Spot { at, height: Metres::new(height) }
}

fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    (a.east - b.east).hypot(a.north - b.north)
}

fn inside(b: &Building, p: PlanePoint) -> bool {
    p.east > b.low.east && p.east < b.high.east && p.north > b.low.north && p.north < b.high.north
}

fn ground(kind: Kind, seed: u64) -> Propagation {
    kind.propagation(Hertz::mhz(900.0), seed).unwrap()
}

/// Points in the middles of streets, as people stand.
fn in_street(town: &Town, random: &mut Random) -> PlanePoint {
    let streets: Vec<f64> = town.streets().collect();
    let (street, along) = (streets[random.index(streets.len())], random.between(-300.0, 300.0));
    if random.happens(0.5) { point(street, along) } else { point(along, street) }
}

/// Walks along the line in steps of 5 cm and looks whether a building is there.
fn seen_by_steps(town: &Town, from: Spot, to: Spot) -> bool {
    let steps = (apart(from.at, to.at) / 0.05).ceil().max(1.0);
    !(1..steps as u64).any(|k| {
        let t = k as f64 / steps;
        let east = from.at.east + t * (to.at.east - from.at.east);
        let north = from.at.north + t * (to.at.north - from.at.north);
        let height = from.height.value() + t * (to.height.value() - from.height.value());
        town.buildings().any(|b| inside(b, point(east, north)) && height < b.height.value())
    })
}

/// Steps find every building that the line enters for more than 5 cm: where the two differ, a corner was cut shorter than
/// that, which one pair in a hundred may do.
#[test]
fn sight_is_what_walking_along_the_line_finds() {
    let mut random = Random::seeded(51);
    let (mut clear, mut blocked, mut differ) = (0, 0, 0);
    for kind in [Kind::Suburb, Kind::Street, Kind::Canyon] {
        let ground = ground(kind, 3);
        let town = ground.town.as_ref().unwrap();
        for _ in 0..120 {
            let from = spot(in_street(town, &mut random), random.between(1.0, 25.0));
            let near = point(from.at.east + 150.0 * random.normal(), from.at.north + 150.0 * random.normal());
            let to = spot(if random.happens(0.5) { near } else { in_street(town, &mut random) }, 1.5);
            let (ours, steps) = (town.sees(from, to), seen_by_steps(town, from, to));
            assert!(!ours || steps, "{kind:?}: sight through a building, {from:?} {to:?}");
            assert_eq!(ours, town.sees(to, from), "sight goes both ways");
            differ += u32::from(ours != steps);
            clear += u32::from(ours);
            blocked += u32::from(!ours);
        }
    }
    assert!(differ <= 3, "{differ}");
    assert!(clear > 30 && blocked > 30, "{clear} {blocked}");
}

/// On each façade the mirror point is the one with the shortest way over it (Fermat), found here by narrowing an interval;
/// sight on both sides by steps. The law of reflection: both ways meet the façade under the same angle.
#[test]
fn mirror_images_obey_fermat_and_the_law_of_reflection() {
    let mut random = Random::seeded(52);
    let (mut found, mut over_roofs) = (0, 0);
    for kind in [Kind::Street, Kind::Canyon] {
        let ground = ground(kind, 4);
        let town = ground.town.as_ref().unwrap();
        for _ in 0..40 {
            let emitter = spot(in_street(town, &mut random), 4.0);
            let at =
                point(emitter.at.east + 60.0 * random.normal(), emitter.at.north + 60.0 * random.normal());
            if town.buildings().any(|b| inside(b, at)) {
                continue;
            }
            let receiver = spot(at, 2.0);
            let mut mirrored: Vec<Path> =
                ground.all(emitter, receiver).into_iter().filter(|p| p.way == Way::Reflected).collect();
            for building in town.buildings() {
                for (a, b) in building.facades() {
                    let Some((mirror, length)) = shortest(a, b, emitter.at, receiver.at) else { continue };
                    let t = apart(emitter.at, mirror) / length;
                    let up = spot(mirror, 4.0 - 2.0 * t);
                    let open = up.height.value() < building.height.value()
                        && seen_by_steps(town, emitter, up)
                        && seen_by_steps(town, up, receiver);
                    if !open && !building.landmark {
                        continue;
                    }
                    // A bend of a tenth of a millimetre in the narrowed point changes the length by less than 1e-8.
                    let same = mirrored.iter().position(|p| apart(p.from, mirror) < 0.01);
                    let Some(same) = same else {
                        // Steps miss a corner that is cut by less than 5 cm.
                        assert!(grazes(town, emitter.at, mirror) || grazes(town, mirror, receiver.at));
                        continue;
                    };
                    let path = mirrored.swap_remove(same);
                    assert!((path.length.value() - length.hypot(2.0)).abs() < 1e-6, "{path:?} {length}");
                    let loss = ground.law.loss(ground.frequency, path.length).value();
                    let roofs = path.loss.value() - loss - building.reflection.value();
                    let wanted = if open { 0.0 } else { ground.blocked.value() };
                    let grazing = grazes(town, emitter.at, mirror) || grazes(town, mirror, receiver.at);
                    assert!((roofs - wanted).abs() < 1e-9 || (open && grazing), "{path:?}");
                    assert!((3.0..=10.0).contains(&building.reflection.value()));
                    over_roofs += u32::from(!open);
                    law_of_reflection(a, b, path.from, emitter.at, receiver.at);
                    found += 1;
                }
            }
            assert!(mirrored.is_empty(), "images that no façade shows: {mirrored:?}");
        }
    }
    assert!(found - over_roofs > 20 && over_roofs > 3, "{found} {over_roofs}");
}

/// The point of a façade with the shortest way over it, where both ends lie outside, and that way's length.
fn shortest(a: PlanePoint, b: PlanePoint, e: PlanePoint, r: PlanePoint) -> Option<(PlanePoint, f64)> {
    let outside = |p: PlanePoint| {
        (b.east - a.east) * (p.north - a.north) - (b.north - a.north) * (p.east - a.east) > 0.0
    };
    if !outside(e) || !outside(r) {
        return None;
    }
    let at = |t: f64| point(a.east + t * (b.east - a.east), a.north + t * (b.north - a.north));
    let length = |t: f64| apart(e, at(t)) + apart(at(t), r);
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..200 {
        let (x, y) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if length(x) < length(y) { high = y } else { low = x }
    }
    // At an end of the façade the true mirror point lies beyond it.
    (low > 1e-6 && high < 1.0 - 1e-6).then(|| (at(low), length(low)))
}

/// Whether a line passes within a metre of a corner of some building.
fn grazes(town: &Town, from: PlanePoint, to: PlanePoint) -> bool {
    let run = apart(from, to).max(1e-9);
    town.buildings().flat_map(|b| b.facades().map(|f| f.0)).any(|c| {
        let across =
            (to.east - from.east) * (c.north - from.north) - (to.north - from.north) * (c.east - from.east);
        (across / run).abs() < 1.0
    })
}

fn law_of_reflection(a: PlanePoint, b: PlanePoint, mirror: PlanePoint, e: PlanePoint, r: PlanePoint) {
    let (run_e, run_n) = ((b.east - a.east) / apart(a, b), (b.north - a.north) / apart(a, b));
    let cosine = |p: PlanePoint| {
        ((p.east - mirror.east) * run_e + (p.north - mirror.north) * run_n) / apart(p, mirror)
    };
    assert!((cosine(e) + cosine(r)).abs() < 1e-9, "{} {}", cosine(e), cosine(r));
}

/// In a town of closed blocks whose streets cross at multiples of 80 m: from one street around a corner into the next.
#[test]
fn a_corner_costs_its_loss_and_the_wave_comes_from_it() {
    let ground = ground(Kind::Canyon, 6);
    let town = ground.town.as_ref().unwrap();
    let (emitter, receiver) = (spot(point(0.0, 120.0), 4.0), spot(point(200.0, 0.0), 1.5));
    assert!(!town.sees(emitter, receiver));
    let paths = ground.straight(emitter, receiver);
    assert_eq!(paths.len(), 2);
    assert_eq!(paths[0].way, Way::Blocked);
    let straight = ground.law.loss(ground.frequency, Metres::new(120f64.hypot(200.0).hypot(2.5))).value();
    assert!((paths[0].loss.value() - straight - 30.0).abs() < 1e-9);
    let around = &paths[1];
    assert_eq!((around.way, around.from, around.toward), (Way::Around(1), point(0.0, 0.0), point(0.0, 0.0)));
    assert!((around.length.value() - 320f64.hypot(2.5)).abs() < 1e-9);
    let along = ground.law.loss(ground.frequency, around.length).value();
    assert!((around.loss.value() - along - 20.0).abs() < 1e-9);
    // Into a parallel street: two corners; the shorter of the ways, over the street at 80 m.
    let parallel = ground.straight(emitter, spot(point(160.0, 40.0), 1.5));
    let around = parallel.last().unwrap();
    assert_eq!(
        (around.way, around.toward, around.from),
        (Way::Around(2), point(0.0, 80.0), point(160.0, 80.0))
    );
    assert!((around.length.value() - 240f64.hypot(2.5)).abs() < 1e-9);
    // Along the street nothing is lost.
    let along = ground.straight(emitter, spot(point(0.0, -200.0), 1.5));
    assert_eq!((along.len(), along[0].way), (1, Way::Direct));
}

/// Three quarters of the horizon are closed between two rows of façades, nothing in the open.
#[test]
fn canyons_close_the_sky() {
    let ground = ground(Kind::Canyon, 6);
    let town = ground.town.as_ref().unwrap();
    let reach = Metres::new(30.0);
    assert_eq!(town.enclosure(point(0.0, 40.0), reach), 0.75);
    assert_eq!(town.enclosure(point(5000.0, 40.0), reach), 0.0);
}

#[test]
fn towns_have_their_share_of_buildings_between_the_streets() {
    for kind in [Kind::Suburb, Kind::Street, Kind::Canyon] {
        let plan = kind.town().unwrap();
        let lots = (plan.blocks * plan.lots).pow(2);
        let town = Town::new(&plan, 8).unwrap();
        let built = town.buildings().count() as f64 / lots as f64;
        assert!((built - plan.built).abs() <= crate::of_share(plan.built, lots), "{kind:?}: {built}");
        let half = 0.5 * plan.street.value();
        for b in town.buildings() {
            assert!(b.low.east < b.high.east && b.low.north < b.high.north);
            assert!(
                (plan.height.0..=plan.height.1).contains(&b.height)
                    || (b.landmark && b.height == plan.landmark)
            );
            for street in town.streets() {
                let clear = |low: f64, high: f64| high <= street - half + 1e-9 || low >= street + half - 1e-9;
                assert!(clear(b.low.east, b.high.east) && clear(b.low.north, b.high.north));
            }
        }
    }
}
