//! The plainest plans: nothing goes wrong in them. Studies begin here and add one trouble at a time.

use jiff::Timestamp;

use crate::{
    geodesy::{Place, PlanePoint},
    observe::OperatorClass,
    radio::Lobe,
    simulate::{
        BearingPlan, Below, Compass, Emitter, Fading, Foreign, Law, Method, Positioning, Propagation,
        Receiver, SectorPlan, Stands, Stated, WalkPlan,
    },
    units::{Angle, Db, Dbm, Hertz, Metres},
};

/// 47° N, 8° E.
pub(super) fn centre() -> Place {
    Place::from_lat_lon_degrees(47.0, 8.0).expect("a place on the Earth")
}

/// 1 June 2026, 08:00 UTC.
pub(super) fn start() -> Timestamp {
    Timestamp::from_second(1_780_300_800).expect("a second of this century")
}

fn here() -> PlanePoint {
    PlanePoint { east: 0.0, north: 0.0 }
}

impl Propagation {
    /// Open ground with one exponent at 900 MHz.
    pub fn open(exponent: f64) -> Self {
        Self {
            frequency: Hertz::mhz(900.0),
            law: Law::Exponent(exponent),
            blocked: Db::new(0.0),
            corner: None,
            town: None,
        }
    }
}

impl Default for Receiver {
    /// Noise of −120 dBm that is part of the reading, averaged over 36 samples; no steps, no attenuator, no offset.
    fn default() -> Self {
        Self {
            noise: Dbm::new(-120.0),
            samples: 36,
            below: Below::Noise,
            step: Db::new(0.0),
            attenuator: None,
            calibration: Db::new(0.0),
        }
    }
}

impl Default for WalkPlan {
    /// 200 readings 5 m apart on streets 100 m apart within 400 m of the middle; an emitter of 20 dBm within 300 m of it;
    /// exponent 3, shadowing of 6 dB over 20 m; exact positions.
    fn default() -> Self {
        Self {
            seed: 0,
            centre: centre(),
            start: start(),
            count: 200,
            step: Metres::new(5.0),
            pace: 1.3,
            pitch: Metres::new(100.0),
            extent: Metres::new(400.0),
            propagation: Propagation::open(3.0),
            emitters: vec![Emitter::at(here())],
            scatter: Metres::new(300.0),
            shadowing: Db::new(6.0),
            decorrelation: Metres::new(20.0),
            method: Method::Automatic,
            fading: Fading { steady: 0.0, samples: 36 },
            receiver: Receiver::default(),
            positioning: Positioning::EXACT,
            height: Metres::new(1.5),
            device: None,
        }
    }
}

impl Compass {
    /// No errors but those of the readings.
    pub const EXACT: Self = Self { common: Angle::ZERO, team: Angle::ZERO, pulled: 0.0, pull: Angle::ZERO };
}

impl Default for BearingPlan {
    /// Ten bearings of class B from true north, all round an emitter at ranges of 100 m to 1 km on open ground; classes and
    /// compasses right, positions exact, one team, nothing rounded.
    fn default() -> Self {
        Self {
            seed: 0,
            centre: centre(),
            start: start(),
            count: 10,
            stands: Stands::Around {
                range: (Metres::new(100.0), Metres::new(1000.0)),
                from: Angle::ZERO,
                width: Angle::degrees(360.0),
            },
            stated: Stated::Classes(vec![OperatorClass::B]),
            factor: 1.0,
            compass: Compass::EXACT,
            declination: None,
            teams: 1,
            swings: 0,
            rounding: Angle::ZERO,
            foreign: 0.0,
            elsewhere: Foreign::Anywhere,
            reversed: 0.0,
            levels: false,
            propagation: Propagation::open(3.0),
            shadowing: Db::new(0.0),
            antenna: Lobe::new(Angle::degrees(60.0), Db::new(18.0)).expect("a beamwidth and a ratio"),
            noise: Dbm::new(-120.0),
            emitters: vec![Emitter::at(here())],
            scatter: Metres::new(0.0),
            positioning: Positioning::EXACT,
            height: Metres::new(2.0),
        }
    }
}

impl Default for SectorPlan {
    /// Three sites 1 to 3 km off with antennas of 65° (front to back 25 dB), 17 dBi and 2 dB of feeder, 40 m high, whose
    /// floor is −102 dBm; exponent 3 and shadowing of 6 dB.
    fn default() -> Self {
        Self {
            seed: 0,
            centre: centre(),
            sites: 3,
            range: (Metres::km(1.0), Metres::km(3.0)),
            height: Metres::new(40.0),
            beamwidth: Angle::degrees(65.0),
            front_to_back: Db::new(25.0),
            gain: Db::new(17.0),
            feeder: Db::new(2.0),
            floor: Dbm::new(-102.0),
            shadowing: Db::new(6.0),
            frequency: Hertz::mhz(900.0),
            law: Law::Exponent(3.0),
            emitters: vec![Emitter::at(here())],
            scatter: Metres::new(0.0),
        }
    }
}
