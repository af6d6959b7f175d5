//! Power levels: absolute ([`Dbm`]) and relative ([`Db`]). Two absolute levels cannot be added.

use crate::units::Watts;

/// An absolute power level in decibels above one milliwatt.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Dbm(f64);

/// A ratio of powers in decibels.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Db(f64);

impl Dbm {
    /// A level of `value` dBm.
    pub const fn new(value: f64) -> Self {
        Self(value)
    }

    /// The number of dBm.
    pub const fn value(self) -> f64 {
        self.0
    }

    /// The level of a power: minus infinity for no power, not a number for a negative one.
    pub fn of_power(power: Watts) -> Self {
        Self(10.0 * (power.value() / 1e-3).log10())
    }

    /// The power itself: 0 dBm is 1 mW, by definition of the unit.
    pub fn to_watts(self) -> Watts {
        Watts::new(1e-3 * 10f64.powf(self.0 / 10.0))
    }
}

impl Db {
    /// A ratio of `value` dB.
    pub const fn new(value: f64) -> Self {
        Self(value)
    }

    /// The decibels of a ratio of powers: minus infinity for zero, not a number for a negative one.
    pub fn of_ratio(ratio: f64) -> Self {
        Self(10.0 * ratio.log10())
    }

    /// The ratio of powers itself: 2 for 3.01 dB.
    pub fn to_ratio(self) -> f64 {
        10f64.powf(self.0 / 10.0)
    }

    /// The number of dB.
    pub const fn value(self) -> f64 {
        self.0
    }
}

impl std::ops::Sub for Dbm {
    type Output = Db;
    fn sub(self, other: Self) -> Db {
        Db(self.0 - other.0)
    }
}

impl std::ops::Add<Db> for Dbm {
    type Output = Self;
    fn add(self, gain: Db) -> Self {
        Self(self.0 + gain.0)
    }
}
