//! Somebody underway in a scene, who decides as he goes: a bearing wherever he stands, levels along any way, at any time.

use crate::{
    geodesy::{Plane, PlanePoint},
    numeric::{portable, random::Random},
    observe::{Level, ReadBearing},
    simulate::{
        BearingPlan, Refusal, Scene, Told, WalkPlan,
        bearings::{Crew, When},
        field::Everywhere,
        positioning::Underway,
        stands,
        walk::{checked_emitters, median, plane},
    },
    units::{Db, Dbm},
};

/// Waves of the shadowing: the correlation of one draw scatters by 1/√(2 · 256) = 0.04 at most.
const WAVES: usize = 256;

/// Somebody underway.
///
/// What chance gives him follows from the scene's seed alone: his n-th bearing errs alike wherever and whenever he takes it, and
/// levels at one place have one shadowing, whoever walks there. So two ways to go about a scene are compared under the same luck.
#[derive(Clone, Debug)]
pub struct Party<'a> {
    walk: &'a WalkPlan,
    bearings: BearingPlan,
    plane: Plane,
    shadowing: Vec<Everywhere>,
    /// Error of the receiver's calibration, dB.
    offset: f64,
    underway: Underway,
    taken: usize,
    last: f64,
    levels: Random,
}

/// A bearing that was taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Taken {
    /// As written down.
    pub read: ReadBearing,
    /// What really was.
    pub told: Told,
    /// Seconds that passed until there was anything to hear.
    pub waited: f64,
}

impl<'a> Party<'a> {
    /// Somebody who sets out in a scene.
    ///
    /// # Errors
    /// Numbers of the scene's plans that make no sense.
    pub fn new(scene: &'a Scene) -> Result<Self, Refusal> {
        let bearings = BearingPlan { teams: 1, ..scene.bearings.clone() };
        stands::checked(&bearings)?;
        checked_emitters(&bearings.emitters, bearings.scatter)?;
        let (walk, seed) = (&scene.walk, scene.plan.seed);
        let shadowing = (0..walk.emitters.len())
            .map(|k| Everywhere::draw(&mut Random::stream(seed, 200 + k as u64), WAVES, walk.decorrelation))
            .collect();
        let mut levels = Random::stream(seed, 300);
        let offset = walk.receiver.calibration.value() * levels.normal();
        let underway = Underway::new(bearings.positioning, &mut Random::stream(seed, 301));
        let plane = plane(scene.plan.centre)?;
        Ok(Self { walk, bearings, plane, shadowing, offset, underway, taken: 0, last: 0.0, levels })
    }

    /// The plane of all points.
    pub const fn plane(&self) -> Plane {
        self.plane
    }

    /// Takes a bearing at a point, `seconds` after the start.
    ///
    /// # Errors
    /// Emitters that are never on the air.
    pub fn bearing(&mut self, at: PlanePoint, seconds: f64) -> Result<Taken, Refusal> {
        let crew = Crew::new(&self.bearings, self.plane, &self.bearings.emitters);
        let heard = crew.heard(seconds)?;
        let mut random = Random::stream(self.bearings.seed, 1_000 + self.taken as u64);
        let when = When { seconds: heard, since: heard - self.last };
        let (read, told) = crew.bearing(self.taken, at, when, &mut self.underway, &mut random)?;
        (self.taken, self.last) = (self.taken + 1, heard);
        Ok(Taken { read, told, waited: heard - seconds })
    }

    /// What the receiver shows at points that are passed one after the other, the first `seconds` after the start and each
    /// `each` seconds after the one before.
    pub fn levels(&mut self, points: &[PlanePoint], seconds: f64, each: f64) -> Vec<Level> {
        let plan = self.walk;
        let times = (0..points.len()).map(|i| seconds + each * i as f64);
        let powers: Vec<f64> =
            points.iter().zip(times).map(|(at, seconds)| self.power(*at, seconds)).collect();
        let exact = super::Receiver { calibration: Db::new(0.0), ..plan.receiver };
        let shown = exact.read(&powers, &mut self.levels);
        let off = |level: Dbm| Dbm::new(level.value() + self.offset);
        shown
            .into_iter()
            .map(|s| match s.level {
                Level::Measured(level) => Level::Measured(off(level)),
                other => other,
            })
            .collect()
    }

    /// Milliwatts at the antenna.
    fn power(&mut self, at: PlanePoint, seconds: f64) -> f64 {
        let plan = self.walk;
        let mut sum = 0.0;
        for (emitter, field) in plan.emitters.iter().zip(&self.shadowing) {
            let fading = plan.fading.draw(&mut self.levels);
            if emitter.duty.on_air(seconds) {
                let shadowing = plan.shadowing.value() * field.at(at);
                sum += median(&plan.propagation, emitter, seconds, at, plan.height)
                    * portable::from_db(shadowing)
                    * fading;
            }
        }
        sum
    }
}
