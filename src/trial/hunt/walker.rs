//! Somebody who hunts: walks, reads levels on the way, takes bearings, and meets the emitter or not.

use crate::{
    geodesy::{self, PlanePoint},
    north::{self, TrueBearing},
    numeric::portable,
    plan::{Known, MET_WITHIN, Picture},
    simulate::{Party, Refusal},
    solve::{CompassPrior, FrontPrior, Options},
    trial::hunt::{BEARING_MINUTES, Ended, MOST_MINUTES, PACE, Place, Way},
    units::Dbm,
};

/// Metres between readings of the level.
const READ_EVERY_M: f64 = 10.0;

/// A hunter underway.
pub struct Walker<'a> {
    /// Where the hunt takes place.
    pub place: &'a Place,
    /// Where the hunter is.
    pub at: PlanePoint,
    /// Bearings so far.
    pub bearings: Vec<TrueBearing>,
    /// The last levels, the latest last; none where nothing was heard.
    pub shown: Vec<Option<Dbm>>,
    party: Party<'a>,
    levels: Vec<(geodesy::Place, Dbm)>,
    passed: Vec<geodesy::Place>,
    minutes: f64,
    metres: f64,
    met: bool,
}

impl<'a> Walker<'a> {
    /// At the start of a place.
    ///
    /// # Errors
    /// As [`Party::new`].
    pub fn new(place: &'a Place) -> Result<Self, Refusal> {
        let mut walker = Self {
            place,
            at: place.start,
            bearings: Vec::new(),
            shown: Vec::new(),
            party: Party::new(&place.scene)?,
            levels: Vec::new(),
            passed: Vec::new(),
            minutes: 0.0,
            metres: 0.0,
            met: false,
        };
        walker.read(&[place.start], 0.0);
        Ok(walker)
    }

    /// Whether the emitter is met or the time is over.
    pub fn done(&self) -> bool {
        self.met || self.minutes >= MOST_MINUTES
    }

    /// How the hunt ended.
    pub fn ended(&self, way: Way) -> Ended {
        let round = |x: f64, per: f64| (x * per).round() / per;
        Ended {
            way,
            met: self.met,
            minutes: round(self.minutes.min(MOST_MINUTES), 1e3),
            bearings: self.bearings.len() as u32,
            metres: round(self.metres, 10.0),
        }
    }

    /// Takes a bearing here.
    ///
    /// # Errors
    /// As [`Party::bearing`].
    pub fn bearing(&mut self) -> Result<(), Refusal> {
        if self.done() {
            return Ok(());
        }
        let taken = self.party.bearing(self.at, 60.0 * self.minutes)?;
        self.minutes += taken.waited / 60.0 + BEARING_MINUTES;
        self.bearings.extend(north::resolve(&[taken.read], &north::Settings::default()).bearings);
        Ok(())
    }

    /// Walks toward a point, at most so many metres, and tells how far. It ends where the emitter is met or the time is over.
    pub fn go(&mut self, to: PlanePoint, most: f64) -> f64 {
        let way = self.place.way(self.at, to);
        let before = self.metres;
        for pair in way.windows(2) {
            let left = most - (self.metres - before);
            if self.done() || left <= 0.0 {
                break;
            }
            self.straight(pair[1], left);
        }
        self.metres - before
    }

    fn straight(&mut self, to: PlanePoint, most: f64) {
        let (from, whole) = (self.at, apart(self.at, to));
        if whole <= 0.0 {
            return;
        }
        let toward = |metres: f64| PlanePoint {
            east: from.east + metres / whole * (to.east - from.east),
            north: from.north + metres / whole * (to.north - from.north),
        };
        let time_left = (MOST_MINUTES - self.minutes).max(0.0) * PACE;
        let mut length = whole.min(most).min(time_left);
        if let Some(meets) = meeting(from, to, self.place.emitter()).filter(|m| *m <= length) {
            length = meets;
            self.met = true;
        }
        let count = (length / READ_EVERY_M).floor() as usize;
        let mut points: Vec<PlanePoint> = (1..=count).map(|i| toward(READ_EVERY_M * i as f64)).collect();
        if length > READ_EVERY_M * count as f64 {
            points.push(toward(length));
        }
        let began = self.minutes;
        self.minutes += length / PACE;
        if time_left <= length {
            self.minutes = MOST_MINUTES;
        }
        self.metres += length;
        self.at = toward(length);
        self.read(&points, 60.0 * began);
    }

    fn read(&mut self, points: &[PlanePoint], seconds: f64) {
        let each = READ_EVERY_M / PACE * 60.0;
        let levels = self.party.levels(points, seconds, each);
        for (point, level) in points.iter().zip(levels) {
            let place = self.place.on_earth(*point);
            self.passed.push(place);
            self.shown.push(level.measured());
            self.levels.extend(level.measured().map(|l| (place, l)));
        }
    }

    /// Where the emitter may be: from the bearings alone, or from bearings, levels and the map of the buildings together.
    pub fn picture(&self, all: bool) -> Option<Picture> {
        let (levels, ground) =
            if all { (&self.levels[..], &self.place.ground) } else { (&[][..], &self.place.bare) };
        let known = Known { bearings: &self.bearings, levels, passed: &self.passed };
        Picture::of(ground, &known, &options()).ok()
    }

    /// The last bearing, from the plane's north.
    pub fn last_bearing(&self) -> Option<f64> {
        let last = self.bearings.last()?;
        Some(self.place.plane.azimuth_in_plane(last.read().stand.at, last.azimuth()).to_radians())
    }
}

/// The solver's options without an error of all compasses and without a shared front: with them a hunt costs ten times as much.
fn options() -> Options {
    let front = FrontPrior { probability: 0.0, ..FrontPrior::default() };
    Options { compass: CompassPrior::none(), front, ..Options::default() }
}

/// Metres along the way from `from` to `to` at which a point is first within reach, if it is.
fn meeting(from: PlanePoint, to: PlanePoint, point: PlanePoint) -> Option<f64> {
    let whole = apart(from, to);
    let (e, n) = ((to.east - from.east) / whole, (to.north - from.north) / whole);
    let (pe, pn) = (point.east - from.east, point.north - from.north);
    let (along, off) = (pe * e + pn * n, pe * n - pn * e);
    let reach = MET_WITHIN.value();
    let half = (reach * reach - off * off).max(0.0).sqrt();
    let first = (along - half).max(0.0);
    (off.abs() <= reach && along + half >= 0.0 && first <= whole).then_some(first)
}

pub fn apart(a: PlanePoint, b: PlanePoint) -> f64 {
    portable::hypot(a.east - b.east, a.north - b.north)
}
