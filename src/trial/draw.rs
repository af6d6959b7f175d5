//! The scenes of a class.

use crate::{
    geodesy::{Place, Plane, PlanePoint},
    numeric::{portable, random::Random},
    observe::{LevelReading, OperatorClass, Quality, ReadBearing},
    simulate::{
        self, BearingPlan, Bearings, Below, Compass, Emitter, Foreign, Kind, Pattern, Plan, Positioning,
        Propagation, Receiver, Refusal, Scene, Stands, Stated, WalkPlan,
    },
    trial::Class,
    units::{Angle, Db, Metres},
};

/// A scene: what was observed, and where the emitter really was.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// What was observed.
    pub evidence: Evidence,
    /// Where the emitters really were: one, or two where two share the channel.
    pub truths: Vec<Place>,
    /// The plane of the scene, for plain methods.
    pub plane: Plane,
    /// The Cramér–Rao bound of the distance, metres; `None` where it says nothing ([`Class::bounded`]).
    pub bound: Option<f64>,
}

/// What was observed.
#[derive(Clone, Debug)]
pub enum Evidence {
    /// Bearings as written down.
    Bearings(Vec<ReadBearing>),
    /// A log of levels.
    Levels(Vec<LevelReading>),
}

/// Error of positions of the class [`Class::Near`], metres to each side.
const NEAR_M: f64 = 5.0;

/// Standard deviation of the error of each team's compass in the class [`Class::CompassTeams`], degrees.
const TEAM_DEGREES: f64 = 8.0;

/// Readings of a walk.
const READINGS: usize = 200;

/// Scene `number` of a class in a trial of this seed.
///
/// # Errors
/// None that these plans give; the type is that of every plan.
pub fn draw(seed: u64, class: Class, number: u32) -> Result<Drawn, Refusal> {
    let mut random = Random::stream(seed ^ hash(class.word()), u64::from(number));
    let own = (random.uniform() * 9_007_199_254_740_992.0) as u64;
    match class {
        Class::Street | Class::Canyon => {
            let kind = if class == Class::Street { Kind::Street } else { Kind::Canyon };
            let count = 6 + random.index(11);
            let scene = Scene::new(&Plan { bearings: count, ..Plan::of(kind, own) })?;
            Ok(of_bearings(class, 1.0, scene.take_bearings()?))
        }
        Class::Walk | Class::WalkFloor | Class::WalkPattern => {
            let walk = simulate::walk(&walk_plan(class, own, &mut random))?;
            let evidence = Evidence::Levels(walk.readings);
            Ok(Drawn { evidence, truths: vec![walk.truth], plane: walk.plane, bound: None })
        }
        _ => {
            let plan = bearing_plan(class, own, &mut random);
            Ok(of_bearings(class, plan.factor, simulate::bearings(&plan)?))
        }
    }
}

/// FNV-1a: the scenes of a class follow from its name, whatever else is in the list.
fn hash(word: &str) -> u64 {
    word.bytes().fold(0xcbf2_9ce4_8422_2325, |h, b| (h ^ u64::from(b)).wrapping_mul(0x0100_0000_01b3))
}

fn of_bearings(class: Class, factor: f64, bearings: Bearings) -> Drawn {
    let bound = if class.bounded() { bound(&bearings, factor) } else { None };
    let mut truths: Vec<Place> = bearings.emitters.iter().map(|e| bearings.plane.to_place(e.at)).collect();
    truths[0] = bearings.truth;
    Drawn { evidence: Evidence::Bearings(bearings.readings), truths, plane: bearings.plane, bound }
}

/// Six to sixteen bearings of classes A to C, stands at 100 m to 1 km on a third of the circle or more, and the class's own
/// trouble.
fn bearing_plan(class: Class, seed: u64, random: &mut Random) -> BearingPlan {
    use OperatorClass::{A, B, C};
    let ring = |range: (f64, f64), width: f64, from: f64| Stands::Around {
        range: (Metres::new(range.0), Metres::new(range.1)),
        from: Angle::degrees(from),
        width: Angle::degrees(width),
    };
    let from = random.between(0.0, 360.0);
    let width = random.between(120.0, 360.0);
    let plain = BearingPlan {
        seed,
        count: 6 + random.index(11),
        stands: ring((100.0, 1000.0), width, from),
        stated: Stated::Classes(vec![A, B, C]),
        ..BearingPlan::default()
    };
    match class {
        Class::Foreign10 => BearingPlan { foreign: 0.1, ..plain },
        Class::Foreign25 => BearingPlan { foreign: 0.25, ..plain },
        Class::Foreign40 => BearingPlan { foreign: 0.4, ..plain },
        Class::Reflector => {
            let point = apart(random, 200.0, 800.0);
            BearingPlan { foreign: 0.25, elsewhere: Foreign::Reflector(point), ..plain }
        }
        Class::SigmaDouble => BearingPlan { factor: 2.0, ..plain },
        Class::SigmaHalf => BearingPlan { factor: 0.5, ..plain },
        Class::CompassRound | Class::CompassSide => {
            let side = if random.happens(0.5) { 1.0 } else { -1.0 };
            let common = Angle::degrees(side * random.between(5.0, 15.0));
            let width = if class == Class::CompassRound { 360.0 } else { 60.0 };
            BearingPlan {
                compass: Compass { common, ..Compass::EXACT },
                stands: ring((100.0, 1000.0), width, from),
                ..plain
            }
        }
        Class::CompassTeams => BearingPlan {
            teams: 3,
            count: plain.count.max(9),
            compass: Compass { team: Angle::degrees(TEAM_DEGREES), ..Compass::EXACT },
            ..plain
        },
        Class::Reversed => BearingPlan { reversed: 0.2, ..plain },
        Class::Near => BearingPlan {
            stands: ring((30.0, 100.0), width, from),
            // Twelve minutes apart, errors that fade within a minute have nothing in common.
            positioning: Positioning { sigma: Metres::new(NEAR_M), ..Positioning::EXACT },
            ..plain
        },
        Class::TwoEmitters => BearingPlan {
            emitters: vec![
                Emitter::at(PlanePoint { east: 0.0, north: 0.0 }),
                Emitter::at(apart(random, 300.0, 800.0)),
            ],
            shadowing: Db::new(6.0),
            ..plain
        },
        _ => plain,
    }
}

/// A point so far from the middle, in any direction.
fn apart(random: &mut Random, least: f64, most: f64) -> PlanePoint {
    let (sin, cos) = portable::sin_cos(std::f64::consts::TAU * random.uniform());
    let range = random.between(least, most);
    PlanePoint { east: range * sin, north: range * cos }
}

/// 200 readings with shadowing of 4 to 8 dB over 10 to 50 m and an exponent of 2.5 to 4, and the class's own trouble.
fn walk_plan(class: Class, seed: u64, random: &mut Random) -> WalkPlan {
    let plain = WalkPlan {
        seed,
        count: READINGS,
        shadowing: Db::new(random.between(4.0, 8.0)),
        decorrelation: Metres::new(random.between(10.0, 50.0)),
        propagation: Propagation::open(random.between(2.5, 4.0)),
        ..WalkPlan::default()
    };
    match class {
        Class::WalkFloor => {
            WalkPlan { receiver: Receiver { below: Below::Share(0.3), ..Receiver::default() }, ..plain }
        }
        Class::WalkPattern => {
            let axis = Angle::degrees(random.between(0.0, 360.0));
            let pattern = Pattern::Cardioid { axis, front_to_back: Db::new(15.0) };
            let emitters = plain.emitters.iter().map(|e| Emitter { pattern, ..*e }).collect();
            WalkPlan { emitters, ..plain }
        }
        _ => plain,
    }
}

/// The least root mean square distance that an unbiased place can have: √tr J⁻¹ with J = Σ uᵢ uᵢᵀ/(σᵢ² rᵢ² + s²), uᵢ across
/// the line of sight, σᵢ the deviation that truly holds and s that of the stand's position to each side, as an unknown with a
/// prior ([`crate::sources::GAVISH1992`]).
fn bound(bearings: &Bearings, factor: f64) -> Option<f64> {
    let truth = bearings.plane.to_plane(bearings.truth);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (read, told) in bearings.readings.iter().zip(&bearings.told) {
        let at = bearings.plane.to_plane(told.at);
        let (x, y) = (truth.east - at.east, truth.north - at.north);
        let square = x * x + y * y;
        let sigma = match read.quality {
            Quality::Class(class) => factor * class.sigma().to_radians(),
            Quality::Sigma(sigma) => factor * sigma.to_radians(),
            Quality::Unstated => return None,
        };
        let position = read.stand.sigma.map_or(0.0, |s| s.to_metres());
        let weight = 1.0 / (square * (sigma * sigma * square + position * position));
        xx += weight * y * y;
        xy -= weight * x * y;
        yy += weight * x * x;
    }
    let determinant = xx * yy - xy * xy;
    (determinant > 0.0).then(|| (((xx + yy) / determinant).sqrt() * 1e3).round() / 1e3)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulate::Stands;

    /// Stands evenly around at range r with one deviation σ: rσ·2/√n (the information is n/(2 r² σ²) to each side).
    #[test]
    fn the_bound_of_stands_all_round_is_the_known_one() {
        let stands: Vec<PlanePoint> = (0..5)
            .map(|i| portable::sin_cos(f64::from(i) * std::f64::consts::TAU / 5.0))
            .map(|(s, c)| PlanePoint { east: 1000.0 * s, north: 1000.0 * c })
            .collect();
        let plan = BearingPlan { count: 5, stands: Stands::At(stands), ..BearingPlan::default() };
        let drawn = simulate::bearings(&plan).unwrap();
        let expected = 1000.0 * f64::to_radians(5.0) * 2.0 / 5f64.sqrt();
        // A place of 0.01 m and the rounding to millimetres are left.
        assert!((bound(&drawn, 1.0).unwrap() - expected).abs() < 2e-3);
        assert!((bound(&drawn, 2.0).unwrap() - 2.0 * expected).abs() < 2e-3);
    }

    #[test]
    fn every_class_gives_a_scene_and_each_number_its_own() {
        for class in Class::ALL {
            let one = draw(1, class, 0).unwrap();
            assert_eq!(one.truths.len(), if class == Class::TwoEmitters { 2 } else { 1 });
            assert_eq!(one.bound.is_some(), class.bounded(), "{class:?}");
            assert_ne!(format!("{one:?}"), format!("{:?}", draw(1, class, 1).unwrap()));
            assert_ne!(format!("{one:?}"), format!("{:?}", draw(2, class, 0).unwrap()));
            assert_eq!(format!("{one:?}"), format!("{:?}", draw(1, class, 0).unwrap()));
        }
    }
}
