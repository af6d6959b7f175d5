//! The scenes of a class.

use crate::{
    geodesy::{Place, course},
    numeric::random::Random,
    observe::{LevelReading, OperatorClass, Quality, ReadBearing},
    simulate::{
        self, BearingPlan, Below, Compass, Emitter, Foreign, Kind, Pattern, Plan, Positioning, Propagation,
        Receiver, Scene, Stands, Stated, WalkPlan, within_disc,
    },
    trial::Class,
    units::{Angle, Db, Metres},
};

/// A scene: what was written down, and what really was.
#[derive(Clone, Debug)]
pub struct Drawn {
    /// The bearings.
    pub bearings: Vec<ReadBearing>,
    /// The levels.
    pub levels: Vec<LevelReading>,
    /// Where emitters really were.
    pub truths: Vec<Place>,
    /// The least root mean square error of an estimate without bias (the Cramér–Rao bound), metres, where every bearing is
    /// direct.
    pub bound: Option<f64>,
}

/// Bearings of a scene.
const BEARINGS: usize = 10;

/// Scene `number` of a class: it follows from the seed, the class and the number alone.
///
/// # Errors
/// [`simulate::Refusal`] where a plan cannot be.
pub fn draw(seed: u64, class: Class, number: u32) -> Result<Drawn, simulate::Refusal> {
    let own = seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ ((class as u64 + 1) << 40) ^ u64::from(number);
    let mut random = Random::seeded(own);
    match class {
        Class::Street | Class::Canyon => {
            town(own, if class == Class::Street { Kind::Street } else { Kind::Canyon })
        }
        Class::Walk | Class::WalkFloor | Class::WalkPattern => walked(walk_plan(own, class, &mut random)),
        _ => taken(bearing_plan(own, class, &mut random), class),
    }
}

/// Ten bearings of classes A, B and C from stands over an arc of 90° to 360° at 300 m to 2 km, and one trouble.
fn bearing_plan(seed: u64, class: Class, random: &mut Random) -> BearingPlan {
    let around = |low: f64, high: f64, width: f64, random: &mut Random| Stands::Around {
        range: (Metres::new(low), Metres::new(high)),
        from: Angle::degrees(360.0 * random.uniform()),
        width: Angle::degrees(width),
    };
    let width = 90.0 + 270.0 * random.uniform();
    let stands = match class {
        Class::Near => around(30.0, 100.0, 360.0, random),
        Class::CompassRound => around(300.0, 2_000.0, 360.0, random),
        Class::CompassSide => around(300.0, 2_000.0, 90.0, random),
        _ => around(300.0, 2_000.0, width, random),
    };
    let mut plan = BearingPlan {
        seed,
        count: BEARINGS,
        stands,
        stated: Stated::Classes(vec![OperatorClass::A, OperatorClass::B, OperatorClass::C]),
        rounding: Angle::degrees(1.0),
        ..BearingPlan::default()
    };
    let off = 5.0 + 10.0 * random.uniform();
    let side = if random.uniform() < 0.5 { -1.0 } else { 1.0 };
    match class {
        Class::Foreign10 => plan.foreign = 0.1,
        Class::Foreign25 => plan.foreign = 0.25,
        Class::Foreign40 => plan.foreign = 0.4,
        Class::Reflector => {
            plan.foreign = 0.25;
            plan.elsewhere = Foreign::Reflector(within_disc(random, Metres::new(1_500.0)));
        }
        Class::SigmaDouble => plan.factor = 2.0,
        Class::SigmaHalf => plan.factor = 0.5,
        Class::CompassRound | Class::CompassSide => {
            plan.compass = Compass { common: Angle::degrees(side * off), ..plan.compass };
        }
        Class::Reversed => plan.reversed = 0.2,
        Class::Near => plan.positioning = Positioning { sigma: Metres::new(5.0), ..plan.positioning },
        Class::TwoEmitters => {
            let first = plan.emitters[0].clone();
            let at = within_disc(random, Metres::new(1_500.0));
            plan.emitters.push(Emitter { at, ..first });
        }
        _ => {}
    }
    plan
}

fn taken(plan: BearingPlan, class: Class) -> Result<Drawn, simulate::Refusal> {
    let found = simulate::bearings(&plan)?;
    let truths: Vec<Place> = found.emitters.iter().map(|e| found.plane.to_place(e.place(0.0))).collect();
    let bound = class.bounded().then(|| bound(&found.readings, &plan, truths[0])).flatten();
    Ok(Drawn { bearings: found.readings, levels: Vec::new(), truths, bound })
}

/// Root of the trace of the inverse of the bearings' information ([`crate::sources::KAY1993`]).
fn bound(readings: &[ReadBearing], plan: &BearingPlan, truth: Place) -> Option<f64> {
    let (mut ee, mut en, mut nn) = (0.0, 0.0, 0.0);
    for reading in readings {
        let stated = match reading.quality {
            Quality::Class(class) => class.sigma(),
            Quality::Sigma(sigma) => sigma,
            Quality::Unstated => return None,
        };
        let own = stated.to_radians() * plan.factor;
        let way = course(reading.stand.at, truth);
        let (range, (sin, cos)) = (way.distance.value(), way.departure.to_radians().sin_cos());
        let across = (own * range).powi(2) + plan.positioning.sigma.value().powi(2);
        ee += cos * cos / across;
        en -= sin * cos / across;
        nn += sin * sin / across;
    }
    let determinant = ee * nn - en * en;
    (determinant > 0.0).then(|| ((ee + nn) / determinant).sqrt())
}

/// A walk of 100 to 300 readings, shadowing of 4, 6 or 8 dB shared over 10, 20 or 50 m, exponents 2.5 to 4.
fn walk_plan(seed: u64, class: Class, random: &mut Random) -> WalkPlan {
    let mut pick = |of: &[f64]| of[random.index(of.len())];
    let (sigma, shared) = (pick(&[4.0, 6.0, 8.0]), pick(&[10.0, 20.0, 50.0]));
    let (exponent, count) = (pick(&[2.5, 3.0, 3.5, 4.0]), pick(&[100.0, 200.0, 300.0]));
    let axis = Angle::degrees(360.0 * random.uniform());
    let mut plan = WalkPlan {
        seed,
        count: count as usize,
        shadowing: Db::new(sigma),
        decorrelation: Metres::new(shared),
        propagation: Propagation::open(exponent),
        ..WalkPlan::default()
    };
    if class == Class::WalkFloor {
        plan.receiver = Receiver { below: Below::Share(0.3), ..plan.receiver };
    }
    if class == Class::WalkPattern {
        let pattern = Pattern::Cardioid { axis, front_to_back: Db::new(15.0) };
        plan.emitters.iter_mut().for_each(|e| e.pattern = pattern);
    }
    plan
}

fn walked(plan: WalkPlan) -> Result<Drawn, simulate::Refusal> {
    let walk = simulate::walk(&plan)?;
    Ok(Drawn { bearings: Vec::new(), levels: walk.readings, truths: vec![walk.truth], bound: None })
}

/// Bearings in a town whose façades reflect.
fn town(seed: u64, kind: Kind) -> Result<Drawn, simulate::Refusal> {
    let found = Scene::new(&Plan::of(kind, seed))?.take_bearings()?;
    Ok(Drawn { bearings: found.readings, levels: Vec::new(), truths: vec![found.truth], bound: None })
}
