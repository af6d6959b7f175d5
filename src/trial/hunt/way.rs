//! Ways to go about a hunt.

use std::f64::consts::TAU;

use crate::{
    geodesy::PlanePoint,
    numeric::{portable, random::Random},
    plan::{self, Depth, Search},
    simulate::{Kind, Refusal},
    streets::Pace,
    trial::hunt::{BEARING_MINUTES, Ended, PACE, Place, climb::climb, walker::Walker},
};

/// A way to go about a hunt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Way {
    /// Ours: what [`crate::plan::step()`] advises after every step.
    Planned,
    /// Toward the strongest level: on from the corner where it was strongest, into streets not walked yet; no bearings.
    Strongest,
    /// At right angles to the first bearing, a second one there, then to the best estimate; again with half the distance
    /// where nothing is met.
    RightAngles,
    /// To corners picked at random, a bearing at each, until the region is small; then to the best estimate.
    Random,
    /// Toward the best estimate, part of the way, a bearing there, and so on.
    Estimate,
    /// Knows where the emitter is and walks there.
    Truth,
}

/// In towns [`Way::Planned`] asks again after so many metres, with the levels that were read meanwhile.
const LOOK_AGAIN: f64 = 200.0;

/// Legs of [`Way::Estimate`], metres: in towns and on open ground.
const LEGS: (f64, f64) = (600.0, 600.0);

/// How far [`Way::RightAngles`] walks aside at first, metres: in towns and on open ground; and never less than.
const ASIDE: (f64, f64) = (200.0, 400.0);
const LEAST_ASIDE: f64 = 50.0;

/// How far away [`Way::Random`] picks corners, metres: in towns and on open ground.
const AWAY: (f64, f64) = (400.0, 1_000.0);

/// The area at which it goes and looks, square metres.
const SMALL: f64 = 10_000.0;

impl Way {
    /// All ways, in the order of tables.
    pub const ALL: [Self; 6] =
        [Self::Planned, Self::Strongest, Self::RightAngles, Self::Random, Self::Estimate, Self::Truth];

    /// Those that ours is held against.
    pub const OTHERS: [Self; 4] = [Self::Strongest, Self::RightAngles, Self::Random, Self::Estimate];

    /// Its name.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Planned => "planned",
            Self::Strongest => "strongest",
            Self::RightAngles => "right angles",
            Self::Random => "random",
            Self::Estimate => "estimate",
            Self::Truth => "truth",
        }
    }

    /// How it goes, in a line.
    pub const fn told(self) -> &'static str {
        match self {
            Self::Planned => "what the planner advises after every step, asked again every 200 m in towns",
            Self::Strongest => {
                "on from the corner with the strongest level, into ways not walked yet; no bearings"
            }
            Self::RightAngles => {
                "aside at right angles to the bearing, a second one, to the estimate; then half as far"
            }
            Self::Random => {
                "corners at random, a bearing at each; to the estimate once 95 % lie within a hectare"
            }
            Self::Estimate => "part of the way to the best estimate, a bearing, and so on",
            Self::Truth => "knows the place and walks there",
        }
    }

    /// The way of a name.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|way| way.word() == word)
    }

    /// Hunts.
    ///
    /// # Errors
    /// As [`crate::simulate::Party`].
    pub fn hunt(self, place: &Place) -> Result<Ended, Refusal> {
        let mut walker = Walker::new(place)?;
        match self {
            Self::Planned => planned(&mut walker)?,
            Self::Strongest => climb(&mut walker),
            Self::RightAngles => right_angles(&mut walker)?,
            Self::Random => random(&mut walker)?,
            Self::Estimate => estimate(&mut walker)?,
            Self::Truth => {
                walker.go(place.emitter(), f64::INFINITY);
            }
        }
        Ok(walker.ended(self))
    }
}

fn of(place: &Place, (town, open): (f64, f64)) -> f64 {
    if place.scene.plan.kind == Kind::Open { open } else { town }
}

/// How people look in these hunts.
fn search() -> Search {
    let pace = Pace::metres_a_minute(PACE).expect("positive");
    Search { pace, bearing_minutes: BEARING_MINUTES, ..Search::default() }
}

fn planned(walker: &mut Walker) -> Result<(), Refusal> {
    let search = search();
    walker.bearing()?;
    while !walker.done() {
        let Some(picture) = walker.picture(true) else { break };
        let place = walker.place;
        let here = place.on_earth(walker.at);
        let step = plan::step(&picture, here, place.streets.as_ref(), &search, Depth::QUICK);
        let leg = if place.streets.is_some() { LOOK_AGAIN } else { f64::INFINITY };
        let walked = walker.go(place.plane.to_plane(step.to), leg);
        // The levels on the way may tell another story by now.
        if walked >= leg - 1.0 {
            continue;
        }
        if step.bearing || walked < 1.0 {
            walker.bearing()?;
        }
    }
    Ok(())
}

fn estimate(walker: &mut Walker) -> Result<(), Refusal> {
    let leg = of(walker.place, LEGS);
    walker.bearing()?;
    while !walker.done() && to_best(walker, leg) {
        walker.bearing()?;
    }
    Ok(())
}

/// Toward the likeliest place that was not passed yet.
fn to_best(walker: &mut Walker, most: f64) -> bool {
    let Some(picture) = walker.picture(false) else { return false };
    let best = walker.place.plane.to_plane(picture.best());
    walker.go(best, most);
    true
}

fn right_angles(walker: &mut Walker) -> Result<(), Refusal> {
    let mut random = Random::stream(walker.place.scene.plan.seed, 400);
    let mut aside = of(walker.place, ASIDE);
    walker.bearing()?;
    while !walker.done() {
        let Some(azimuth) = walker.last_bearing() else { break };
        let side = if random.happens(0.5) { 1.0 } else { -1.0 };
        // At the edge of a town there may be no way to one side.
        for side in [side, -side] {
            if walker.go(toward(walker.at, azimuth + 0.25 * TAU * side, aside), 1.5 * aside) > 0.3 * aside {
                break;
            }
        }
        walker.bearing()?;
        to_best(walker, f64::INFINITY);
        walker.bearing()?;
        aside = (0.5 * aside).max(LEAST_ASIDE);
    }
    Ok(())
}

fn random(walker: &mut Walker) -> Result<(), Refusal> {
    let mut random = Random::stream(walker.place.scene.plan.seed, 401);
    let away = of(walker.place, AWAY);
    walker.bearing()?;
    while !walker.done() {
        let small = walker.bearings.len() > 2 && walker.picture(false).is_some_and(|p| p.area() < SMALL);
        if small {
            to_best(walker, f64::INFINITY);
        } else {
            let far = away * random.uniform().sqrt();
            walker.go(toward(walker.at, TAU * random.uniform(), far), f64::INFINITY);
        }
        walker.bearing()?;
    }
    Ok(())
}

fn toward(from: PlanePoint, azimuth: f64, metres: f64) -> PlanePoint {
    let (sin, cos) = portable::sin_cos(azimuth);
    PlanePoint { east: from.east + metres * sin, north: from.north + metres * cos }
}
