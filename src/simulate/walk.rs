//! A walk with a receiver along the streets: a log of levels, and what really was.

use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};

use crate::{
    geodesy::{Place, Plane, PlanePoint},
    instant::Instant,
    numeric::{portable, random::Random},
    observe::{FixKind, FixQuality, LevelReading, LevelUnit, RawLevel, Written},
    simulate::{
        Emitter, Fading, Field, Method, Positioning, Propagation, Receiver, Refusal, Spot,
        positioning::{Said, Underway},
        propagation::direction,
        receiver::Shown,
        refusal::within,
        route::route,
    },
    units::{Db, Dbm, Metres},
};

/// The name that written logs have.
pub(super) const LOG: &str = "walk_log.csv";

/// So many readings at most.
pub const MOST_READINGS: usize = 20_000;

/// Buildings farther away than this do not close in the sky of somebody in a street.
pub(super) const SKY_M: f64 = 30.0;

/// What a walk is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct WalkPlan {
    /// From it follows everything that is drawn.
    pub seed: u64,
    /// Middle of the scene's plane.
    pub centre: Place,
    /// Time of the first reading.
    pub start: Timestamp,
    /// Readings, 1 to [`MOST_READINGS`].
    pub count: usize,
    /// Distance between readings, 0.1 to 100 m.
    pub step: Metres,
    /// Metres per second.
    pub pace: f64,
    /// Distance of the streets where there is no town, 5 to 2,000 m.
    pub pitch: Metres,
    /// How far from the middle the walk goes, in either direction.
    pub extent: Metres,
    /// How waves spread.
    pub propagation: Propagation,
    /// Who transmits: one or more. Their powers add, each with a shadowing of its own.
    pub emitters: Vec<Emitter>,
    /// Each emitter is moved to a point within this distance of its place, even in area; 0 leaves it there.
    pub scatter: Metres,
    /// Standard deviation of shadowing; 0 for none.
    pub shadowing: Db,
    /// Distance over which its correlation falls to 1/e.
    pub decorrelation: Metres,
    /// How the shadowing is made.
    pub method: Method,
    /// Fast fading that is left after the receiver's averaging.
    pub fading: Fading,
    /// The receiver.
    pub receiver: Receiver,
    /// Errors of the positions.
    pub positioning: Positioning,
    /// Height of the receiver's antenna.
    pub height: Metres,
    /// What the log calls the receiver.
    pub device: Option<String>,
}

/// What really was at a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Where it really was taken.
    pub at: Place,
    /// Whether an emitter was on the air.
    pub on_air: bool,
    /// Power at the antenna, all emitters together, before noise and the receiver; minus infinity for none.
    pub power: Dbm,
    /// Shadowing of the first emitter, positive where the level is higher.
    pub shadowing: Db,
    /// The position was thrown aside.
    pub jump: bool,
}

/// A walk: what was written down, and what really was.
#[derive(Clone, Debug, PartialEq)]
pub struct Walk {
    /// The log.
    pub readings: Vec<LevelReading>,
    /// Where the first emitter really was at the start.
    pub truth: Place,
    /// All emitters, with their places in `plane`.
    pub emitters: Vec<Emitter>,
    /// The plane of the scene.
    pub plane: Plane,
    /// What really was at each reading.
    pub samples: Vec<Sample>,
}

/// A walk of `plan`.
///
/// # Errors
/// Numbers of the plan that make no sense.
pub fn walk(plan: &WalkPlan) -> Result<Walk, Refusal> {
    Ok(Prepared::new(plan)?.draw(plan.seed))
}

/// A route with its correlation, from which many walks can be drawn.
#[derive(Clone, Debug)]
pub struct Prepared<'a> {
    plan: &'a WalkPlan,
    plane: Plane,
    points: Vec<PlanePoint>,
    places: Vec<Place>,
    enclosure: Vec<f64>,
    field: Field,
}

impl<'a> Prepared<'a> {
    /// Lays the route of the plan's seed and prepares its shadowing.
    ///
    /// # Errors
    /// Numbers of the plan that make no sense.
    pub fn new(plan: &'a WalkPlan) -> Result<Self, Refusal> {
        checked(plan)?;
        let plane = plane(plan.centre)?;
        let mut random = Random::stream(plan.seed, 1);
        let extent = plan.extent.value();
        // The streets of a town; where the number of its blocks is odd, they lie half a block off the middle.
        let grid = match &plan.propagation.town {
            Some(town) => {
                let edge = 0.5 * town.plan().blocks as f64 * town.plan().pitch.value();
                let shift = if town.plan().blocks % 2 == 0 { 0.0 } else { 0.5 };
                let pitch = town.plan().pitch.value();
                (pitch, shift * pitch, extent.min(edge))
            }
            None => (plan.pitch.value(), 0.0, extent),
        };
        let points = route(&mut random, plan.count, plan.step.value(), grid);
        let places = points.iter().map(|p| plane.to_place(*p)).collect();
        let closed = |p: &PlanePoint| {
            plan.propagation.town.as_ref().map_or(0.0, |t| t.enclosure(*p, Metres::new(SKY_M)))
        };
        let enclosure = points.iter().map(closed).collect();
        let shadowed = if plan.shadowing.value() > 0.0 { points.clone() } else { Vec::new() };
        let field = Field::new(shadowed, plan.decorrelation, plan.method)?;
        Ok(Self { plan, plane, points, places, enclosure, field })
    }

    /// The walk of a seed on this route.
    pub fn draw(&self, seed: u64) -> Walk {
        let plan = self.plan;
        let emitters = scattered(&plan.emitters, plan.scatter, seed);
        let mut powers = vec![0.0; self.points.len()];
        let mut first = Vec::new();
        for (k, emitter) in emitters.iter().enumerate() {
            let mut random = Random::stream(seed, 100 + k as u64);
            let mut field = self.field.draw(&mut random);
            field.resize(self.points.len(), 0.0);
            self.add(emitter, &field, &mut random, &mut powers);
            if k == 0 {
                first = field;
            }
        }
        let shown = plan.receiver.read(&powers, &mut Random::stream(seed, 2));
        let said = self.positions(&mut Random::stream(seed, 3));
        let device: Option<Arc<str>> = plan.device.as_deref().map(Arc::from);
        let file: Arc<str> = LOG.into();
        let readings = shown.iter().zip(&said).enumerate();
        let readings =
            readings.map(|(i, (shown, said))| self.reading(i, shown, said, &device, &file)).collect();
        let sample = |i: usize| Sample {
            at: self.places[i],
            on_air: emitters.iter().any(|e| e.duty.on_air(self.seconds(i))),
            power: Dbm::new(portable::to_db(powers[i])),
            shadowing: Db::new(plan.shadowing.value() * first[i]),
            jump: said[i].jump,
        };
        let samples = (0..self.points.len()).map(sample).collect();
        Walk { readings, truth: self.plane.to_place(emitters[0].at), plane: self.plane, samples, emitters }
    }

    /// Seconds from the start to reading `i`.
    fn seconds(&self, i: usize) -> f64 {
        i as f64 * self.plan.step.value() / self.plan.pace
    }

    /// Adds the powers of an emitter in milliwatts.
    fn add(&self, emitter: &Emitter, field: &[f64], random: &mut Random, powers: &mut [f64]) {
        for (i, (at, power)) in self.points.iter().zip(powers).enumerate() {
            let seconds = self.seconds(i);
            // Drawn whether it is on or not, so that the duty does not change what else is drawn.
            let fading = self.plan.fading.draw(random);
            if emitter.duty.on_air(seconds) {
                let shadowing = self.plan.shadowing.value() * field[i];
                *power += median(&self.plan.propagation, emitter, seconds, *at, self.plan.height)
                    * portable::from_db(shadowing)
                    * fading;
            }
        }
    }

    fn positions(&self, random: &mut Random) -> Vec<Said> {
        let mut underway = Underway::new(self.plan.positioning, random);
        let seconds = self.plan.step.value() / self.plan.pace;
        self.enclosure.iter().map(|e| underway.next(seconds, *e, random)).collect()
    }

    fn reading(
        &self,
        i: usize,
        shown: &Shown,
        said: &Said,
        device: &Option<Arc<str>>,
        file: &Arc<str>,
    ) -> LevelReading {
        let point = self.points[i];
        let at = said.off.map(|off| {
            let moved = PlanePoint { east: point.east + off.east, north: point.north + off.north };
            self.plane.to_place(moved)
        });
        let kind = if at.is_some() { FixKind::Satellites } else { FixKind::NoFix };
        LevelReading {
            id: Some((i + 1).to_string()),
            stand: String::new(),
            at,
            sigma: None,
            height: Some(self.plan.height),
            level: shown.level,
            raw: Some(RawLevel { value: shown.indicated, unit: LevelUnit::Dbm }),
            attenuator: Some(Db::new(shown.pad)),
            attenuator_in_raw: false,
            bandwidth: None,
            floor: shown.floor.map(Dbm::new),
            fix: FixQuality { kind: Some(kind), hdop: at.map(|_| said.hdop), satellites: None },
            device: device.clone(),
            time: Some(moment(self.plan.start, self.seconds(i))),
            date: None,
            frequency: Some(self.plan.propagation.frequency),
            remarks: String::new(),
            written: Written { file: file.clone(), line: i as u64 + 2 },
        }
    }
}

/// Median power of an emitter at a point in milliwatts: the straight way and the one around corners, added. What façades
/// reflect is part of the shadowing.
pub(super) fn median(
    ground: &Propagation,
    emitter: &Emitter,
    seconds: f64,
    at: PlanePoint,
    height: Metres,
) -> f64 {
    let source = Spot { at: emitter.place(seconds), height: emitter.height };
    let paths = ground.straight(source, Spot { at, height });
    let power = |p: &super::Path| {
        let gain = emitter.pattern.gain(direction(source.at, p.toward)).value();
        portable::from_db(emitter.eirp.value() + gain - p.loss.value())
    };
    paths.iter().map(power).sum()
}

/// The emitters, each moved to a point even in area about its place.
pub(super) fn scattered(emitters: &[Emitter], scatter: Metres, seed: u64) -> Vec<Emitter> {
    let mut random = Random::stream(seed, 4);
    let moved = |e: &Emitter| {
        let away = within_disc(&mut random, scatter);
        let at = PlanePoint { east: e.at.east + away.east, north: e.at.north + away.north };
        Emitter { at, ..*e }
    };
    emitters.iter().map(moved).collect()
}

/// A point even in area within `radius` of the middle.
pub fn within_disc(random: &mut Random, radius: Metres) -> PlanePoint {
    let far = radius.value() * random.uniform().sqrt();
    let (sin, cos) = portable::sin_cos(std::f64::consts::TAU * random.uniform());
    PlanePoint { east: far * sin, north: far * cos }
}

/// The instant `seconds` after a start, to the second, as somebody writes it.
pub(super) fn moment(start: Timestamp, seconds: f64) -> Instant {
    let after = SignedDuration::from_secs(seconds.round() as i64);
    // The ranges of all plans end centuries before the calendar does.
    let utc = start.checked_add(after).unwrap_or(Timestamp::MAX);
    Instant::new(utc, &utc.to_string(), None)
}

/// The plane of a scene.
pub(super) fn plane(centre: Place) -> Result<Plane, Refusal> {
    let given = format!("{:?}", centre.lon_lat());
    let hint = "name a place on the Earth";
    Plane::centred_on(&[centre]).ok_or(Refusal { what: "a scene's centre", given, hint })
}

pub(super) fn checked_emitters(emitters: &[Emitter], scatter: Metres) -> Result<(), Refusal> {
    within("a number of emitters", emitters.len() as f64, 1.0..=100.0, "name 1 to 100")?;
    within("a scatter of emitters", scatter.value(), 0.0..=1e6, "write 0 to 1000000 m")?;
    emitters.iter().try_for_each(Emitter::checked)
}

fn checked(plan: &WalkPlan) -> Result<(), Refusal> {
    let hint = "write 1 to 20000";
    within("a number of readings", plan.count as f64, 1.0..=MOST_READINGS as f64, hint)?;
    within("a step in metres", plan.step.value(), 0.1..=100.0, "write 0.1 to 100 m, such as 5")?;
    within("a pace", plan.pace, 0.1..=50.0, "write 0.1 to 50 m/s, such as 1.3")?;
    within("a distance of streets", plan.pitch.value(), 5.0..=2000.0, "write 5 to 2000 m, such as 100")?;
    within("an extent of the walk", plan.extent.value(), 5.0..=1e5, "write 5 to 100000 m")?;
    within("a shadowing", plan.shadowing.value(), 0.0..=30.0, "write 0 to 30 dB, such as 6")?;
    within("a height of the receiver", plan.height.value(), 0.0..=1e3, "write 0 to 1000 m")?;
    checked_emitters(&plan.emitters, plan.scatter)?;
    plan.fading.checked()?;
    plan.receiver.checked()?;
    plan.positioning.checked()?;
    plan.propagation.checked()
}
