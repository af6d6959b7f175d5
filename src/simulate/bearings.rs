//! Bearings from stands: where the antenna pointed, what the compass showed, what was written down, and what really was.

use crate::{
    finding::Origin,
    geodesy::{Place, Plane, PlanePoint, course},
    numeric::{portable, random::Random},
    observe::{NorthReference, Quality, ReadBearing, Stand},
    simulate::{
        BearingPlan, Bearings, Cause, Emitter, Foreign, Refusal, Spot, Stated, Told,
        positioning::{METRES_PER_HDOP, Underway},
        propagation::direction,
        receiver::stepped,
        stands,
        walk::{SKY_M, checked_emitters, moment, plane, scattered},
    },
    units::{Angle, Dbm, Metres, Sigma, circular_mean},
};

/// The name that written bearings have.
const NOTES: &str = "bearings.csv";

/// Seconds between bearings.
const EVERY_S: f64 = 720.0;

/// Somebody who hears nothing waits, so many times so long.
const WAIT_S: f64 = 10.0;
const PATIENCE: usize = 20_000;

/// How much stronger a wave from elsewhere is than the strongest from the emitter.
const FOREIGN_DB: f64 = 3.0;

/// Share of a reading's standard deviation that its swings show; the rest they have in common.
const SWINGS_SHOW: f64 = 0.5;

/// What is stated of positions that have no error.
const EXACT_M: f64 = 0.01;

/// A wave at the antenna.
#[derive(Clone, Copy)]
struct Wave {
    azimuth: Angle,
    level: f64,
    cause: Cause,
    emitter: usize,
}

/// Bearings of `plan`.
///
/// # Errors
/// Numbers of the plan that make no sense; emitters that are never on the air.
pub fn bearings(plan: &BearingPlan) -> Result<Bearings, Refusal> {
    stands::checked(plan)?;
    checked_emitters(&plan.emitters, plan.scatter)?;
    let plane = plane(plan.centre)?;
    let emitters = scattered(&plan.emitters, plan.scatter, plan.seed);
    let stands = stands::stands(plan, emitters[0].at, &mut Random::stream(plan.seed, 10));
    let crew = Crew::new(plan, plane, &emitters);
    let mut random = Random::stream(plan.seed, 11);
    let mut underway = Underway::new(plan.positioning, &mut random);
    let (mut readings, mut told) = (Vec::new(), Vec::new());
    for (i, at) in stands.into_iter().enumerate() {
        let when = When { seconds: EVERY_S * i as f64, since: EVERY_S };
        let (reading, truth) = crew.bearing(i, at, when, &mut underway, &mut random)?;
        readings.push(reading);
        told.push(truth);
    }
    Ok(Bearings { readings, truth: plane.to_place(emitters[0].at), emitters, plane, told })
}

/// When a bearing is taken.
#[derive(Clone, Copy)]
pub(super) struct When {
    /// Seconds from the start.
    pub seconds: f64,
    /// Seconds from the one before.
    pub since: f64,
}

/// Those who take the bearings.
pub(super) struct Crew<'a> {
    plan: &'a BearingPlan,
    plane: Plane,
    emitters: &'a [Emitter],
    /// Errors of the teams' compasses.
    offsets: Vec<f64>,
}

impl<'a> Crew<'a> {
    pub(super) fn new(plan: &'a BearingPlan, plane: Plane, emitters: &'a [Emitter]) -> Self {
        let mut random = Random::stream(plan.seed, 12);
        let offsets = (0..plan.teams).map(|_| plan.compass.team.to_radians() * random.normal()).collect();
        Self { plan, plane, emitters, offsets }
    }

    pub(super) fn bearing(
        &self,
        i: usize,
        at: PlanePoint,
        when: When,
        underway: &mut Underway,
        random: &mut Random,
    ) -> Result<(ReadBearing, Told), Refusal> {
        let plan = self.plan;
        let seconds = self.heard(when.seconds)?;
        let place = self.plane.to_place(at);
        let waves = self.waves(at, place, seconds, random);
        let strongest = waves.iter().copied().reduce(|a, b| if b.level > a.level { b } else { a });
        let read = strongest.ok_or_else(silent)?;
        let reversed = random.happens(plan.reversed);
        let pointed = if reversed { read.azimuth.reversed() } else { read.azimuth };
        let (quality, sigma) = self.quality(random);
        let pull = random.normal() * plan.compass.pull.to_radians();
        let pulled = if random.happens(plan.compass.pulled) { pull } else { 0.0 };
        let team = i % plan.teams;
        let compass = Angle::radians(plan.compass.common.to_radians() + self.offsets[team] + pulled);
        let north = plan.declination.unwrap_or(Angle::ZERO);
        let shown = pointed.turned(compass).turned(-north);
        let (reading, written, swings) = self.swung(shown, sigma, random);
        let (stand, remark) = self.stand(at, when.since, underway, random);
        let told = Told {
            at: place,
            emitter: read.emitter,
            toward: course(place, self.plane.to_place(self.emitters[read.emitter].place(seconds))).departure,
            arrival: read.azimuth,
            cause: read.cause,
            reversed,
            compass,
            reading,
        };
        let level = |toward: Angle| plan.levels.then(|| self.level(&waves, toward));
        let magnetic = plan.declination.is_some();
        let bearing = ReadBearing {
            id: format!("B{:02}", i + 1),
            team: Some(format!("T{}", team + 1)),
            stand,
            read: written,
            north: if magnetic { NorthReference::Magnetic } else { NorthReference::True },
            swings,
            two_way: false,
            quality,
            front: level(pointed),
            back: level(pointed.reversed()),
            time: Some(moment(plan.start, seconds)),
            date: None,
            frequency: Some(plan.propagation.frequency),
            remarks: remark.to_owned(),
            origin: Origin::line(NOTES, i as u64 + 2),
        };
        Ok((bearing, told))
    }

    /// The first time from `seconds` on at which an emitter is on the air.
    pub(super) fn heard(&self, seconds: f64) -> Result<f64, Refusal> {
        let times = (0..PATIENCE).map(|k| seconds + WAIT_S * k as f64);
        let mut on = times.filter(|t| self.emitters.iter().any(|e| e.duty.on_air(*t)));
        on.next().ok_or_else(silent)
    }

    /// Every wave at a stand, each with a shadowing of its own.
    fn waves(&self, at: PlanePoint, place: Place, seconds: f64, random: &mut Random) -> Vec<Wave> {
        let plan = self.plan;
        let receiver = Spot { at, height: plan.height };
        let mut out = Vec::new();
        for (k, emitter) in self.emitters.iter().enumerate().filter(|(_, e)| e.duty.on_air(seconds)) {
            let source = Spot { at: emitter.place(seconds), height: emitter.height };
            for path in plan.propagation.all(source, receiver) {
                let gain = emitter.pattern.gain(direction(source.at, path.toward)).value();
                let shadowing = plan.shadowing.value() * random.normal();
                out.push(Wave {
                    azimuth: course(place, self.plane.to_place(path.from)).departure,
                    level: emitter.eirp.value() + gain - path.loss.value() + shadowing,
                    cause: Cause::Way(path.way),
                    emitter: k,
                });
            }
        }
        if random.happens(plan.foreign) {
            let azimuth = match plan.elsewhere {
                Foreign::Anywhere => Angle::radians(std::f64::consts::TAU * random.uniform()),
                Foreign::Reflector(point) => course(place, self.plane.to_place(point)).departure,
            };
            let best = out.iter().copied().reduce(|a, b| if b.level > a.level { b } else { a });
            out.extend(best.map(|b| Wave {
                azimuth,
                level: b.level + FOREIGN_DB,
                cause: Cause::Foreign,
                ..b
            }));
        }
        out
    }

    /// Level with the antenna's axis toward a direction, to a tenth of a decibel.
    fn level(&self, waves: &[Wave], toward: Angle) -> Dbm {
        let gain = |w: &Wave| -self.plan.antenna.attenuation(w.azimuth.miss_from(toward)).value();
        let power: f64 = waves.iter().map(|w| portable::from_db(w.level + gain(w))).sum();
        let noise = portable::from_db(self.plan.noise.value());
        Dbm::new(stepped(portable::to_db(power + noise), 0.1))
    }

    /// What is stated, and the standard deviation that truly holds, in radians.
    fn quality(&self, random: &mut Random) -> (Quality, f64) {
        let (quality, sigma) = match &self.plan.stated {
            Stated::Classes(classes) => {
                let class = classes[random.index(classes.len())];
                (Quality::Class(class), class.sigma())
            }
            Stated::Sigma(sigma) => (Quality::Sigma(*sigma), *sigma),
            Stated::Nothing(sigma) => (Quality::Unstated, *sigma),
        };
        (quality, self.plan.factor * sigma.to_radians())
    }

    /// The error of the reading, the bearing as written, and its swings. The mean of the swings has the standard deviation
    /// `sigma`.
    fn swung(&self, shown: Angle, sigma: f64, random: &mut Random) -> (Angle, Angle, Vec<Angle>) {
        let count = self.plan.swings;
        let each = if count > 0 { SWINGS_SHOW * sigma } else { 0.0 };
        let common = (sigma * sigma - each * each / count.max(1) as f64).sqrt() * random.normal();
        let errors: Vec<f64> = (0..count).map(|_| common + each * random.normal()).collect();
        let error = if count > 0 { errors.iter().sum::<f64>() / count as f64 } else { common };
        let swings: Vec<Angle> =
            errors.iter().map(|e| self.rounded(shown.turned(Angle::radians(*e)))).collect();
        // Swings that cancel one another have no mean; then the needle's own middle is written.
        let mean = circular_mean(&swings).map(|m| m.mean);
        let written = mean.unwrap_or(shown.turned(Angle::radians(error)));
        (Angle::radians(error), self.rounded(written), swings)
    }

    fn rounded(&self, angle: Angle) -> Angle {
        let step = self.plan.rounding.to_degrees();
        Angle::degrees(stepped(angle.to_degrees(), step)).compass()
    }

    /// The stand as written, and a remark. Somebody who has no fix points it out on the map.
    fn stand(
        &self,
        at: PlanePoint,
        since: f64,
        underway: &mut Underway,
        random: &mut Random,
    ) -> (Stand, &'static str) {
        let town = self.plan.propagation.town.as_ref();
        let enclosure = town.map_or(0.0, |t| t.enclosure(at, Metres::new(SKY_M)));
        let said = underway.next(since, enclosure, random);
        let (off, remark) = match said.off {
            Some(off) => (off, ""),
            None => (PlanePoint { east: 0.0, north: 0.0 }, "no fix, taken from the map"),
        };
        let exact = self.plan.positioning.sigma.value() == 0.0;
        let sigma = if exact { EXACT_M } else { said.hdop * METRES_PER_HDOP };
        let point = PlanePoint { east: at.east + off.east, north: at.north + off.north };
        let stand = Stand {
            name: String::new(),
            at: self.plane.to_place(point),
            sigma: Sigma::<Metres>::metres(sigma),
            height: Some(self.plan.height),
        };
        (stand, remark)
    }
}

fn silent() -> Refusal {
    let hint = "let one of them be on the air at least once in two days";
    Refusal { what: "a silence", given: "all emitters".to_owned(), hint }
}
