//! What transmits: where, how strongly in which direction, when, and how it moves.

use crate::{
    geodesy::PlanePoint,
    numeric::portable,
    radio::Lobe,
    simulate::{Refusal, refusal::within},
    units::{Angle, Db, Dbm, Metres},
};

/// How an emitter's antenna radiates over the horizon.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pattern {
    /// Alike all round.
    Isotropic,
    /// A field that falls smoothly from the axis to the back, 1 + a cos θ, as a cardioid does
    /// ([`crate::sources::BALANIS2005`]).
    Cardioid {
        /// Direction of the strongest radiation, clockwise from the plane's north.
        axis: Angle,
        /// How much less goes backward; 0 to 60 dB.
        front_to_back: Db,
    },
    /// A main lobe over a floor.
    Lobe {
        /// Direction of the lobe, clockwise from the plane's north.
        axis: Angle,
        /// Its shape.
        lobe: Lobe,
    },
}

impl Pattern {
    /// Gain toward a direction against that on the axis: never above 0 dB.
    pub fn gain(&self, toward: Angle) -> Db {
        match *self {
            Self::Isotropic => Db::new(0.0),
            Self::Cardioid { axis, front_to_back } => {
                let back = portable::from_db(-0.5 * front_to_back.value());
                let a = (1.0 - back) / (1.0 + back);
                let field = (1.0 + a * portable::cos(toward.miss_from(axis).to_radians())) / (1.0 + a);
                Db::new(2.0 * portable::to_db(field))
            }
            Self::Lobe { axis, lobe } => Db::new(-lobe.attenuation(toward.miss_from(axis)).value()),
        }
    }
}

/// When an emitter is on the air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Duty {
    /// Always.
    Always,
    /// On and off in turn.
    Cycle {
        /// Seconds on the air.
        on: f64,
        /// Seconds off the air after that.
        off: f64,
        /// Seconds of the cycle that have passed at the start.
        passed: f64,
    },
}

impl Duty {
    /// Whether it is on, `seconds` after the start.
    pub fn on_air(&self, seconds: f64) -> bool {
        match *self {
            Self::Always => true,
            Self::Cycle { on, off, passed } => (seconds + passed).rem_euclid(on + off) < on,
        }
    }

    /// The share of the time that it is on.
    pub fn share(&self) -> f64 {
        match *self {
            Self::Always => 1.0,
            Self::Cycle { on, off, .. } => on / (on + off),
        }
    }
}

/// A transmitter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Emitter {
    /// Where it is at the start, in the plane of its scene.
    pub at: PlanePoint,
    /// Height of its antenna above ground.
    pub height: Metres,
    /// Equivalent isotropic radiated power on the antenna's axis.
    pub eirp: Dbm,
    /// How it radiates.
    pub pattern: Pattern,
    /// When.
    pub duty: Duty,
    /// How fast it moves, metres per second toward the plane's east and north.
    pub velocity: PlanePoint,
}

impl Emitter {
    /// One that stands still at a point, is always on and radiates 20 dBm alike all round from 5 m above ground.
    pub const fn at(at: PlanePoint) -> Self {
        Self {
            at,
            height: Metres::new(5.0),
            eirp: Dbm::new(20.0),
            pattern: Pattern::Isotropic,
            duty: Duty::Always,
            velocity: PlanePoint { east: 0.0, north: 0.0 },
        }
    }

    /// Where it is, `seconds` after the start.
    pub fn place(&self, seconds: f64) -> PlanePoint {
        PlanePoint {
            east: self.at.east + seconds * self.velocity.east,
            north: self.at.north + seconds * self.velocity.north,
        }
    }

    /// # Errors
    /// Numbers that no transmitter has.
    pub(super) fn checked(&self) -> Result<(), Refusal> {
        let far = "write metres within 1000000 of the scene's centre";
        within("an emitter's easting", self.at.east, -1e6..=1e6, far)?;
        within("an emitter's northing", self.at.north, -1e6..=1e6, far)?;
        within("an emitter's height", self.height.value(), 0.0..=1e4, "write 0 to 10000 m")?;
        within("a radiated power", self.eirp.value(), -100.0..=120.0, "write -100 to 120 dBm")?;
        let fast = "write at most 300 m/s";
        within("a velocity", self.velocity.east, -300.0..=300.0, fast)?;
        within("a velocity", self.velocity.north, -300.0..=300.0, fast)?;
        let axis = match self.pattern {
            Pattern::Isotropic => Angle::ZERO,
            Pattern::Cardioid { axis, .. } | Pattern::Lobe { axis, .. } => axis,
        };
        within("an axis", axis.to_degrees(), -360.0..=360.0, "write -360 to 360 degrees")?;
        if let Pattern::Cardioid { front_to_back, .. } = self.pattern {
            within("a front-to-back ratio", front_to_back.value(), 0.0..=60.0, "write 0 to 60 dB")?;
        }
        if let Duty::Cycle { on, off, passed } = self.duty {
            let hint = "write 0.001 to 10000000 seconds";
            within("a time on the air", on, 1e-3..=1e7, hint)?;
            within("a time off the air", off, 1e-3..=1e7, hint)?;
            within("a time that has passed", passed, 0.0..=2e7, "write 0 to 20000000 seconds")?;
        }
        Ok(())
    }
}
