//! One standard deviation, and a share of probability.

use std::marker::PhantomData;

use crate::units::{Angle, Db, Metres};

/// One standard deviation of a quantity `Q`: finite and greater than zero, never a 95 % half-width.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Sigma<Q> {
    value: f64,
    of: PhantomData<Q>,
}

impl<Q> Sigma<Q> {
    fn checked(value: f64) -> Option<Self> {
        (value.is_finite() && value > 0.0).then_some(Self { value, of: PhantomData })
    }
}

impl Sigma<Angle> {
    /// From degrees; `None` unless finite and positive.
    pub fn degrees(value: f64) -> Option<Self> {
        Self::checked(value.to_radians())
    }

    /// From radians; `None` unless finite and positive.
    pub fn radians(value: f64) -> Option<Self> {
        Self::checked(value)
    }

    /// In degrees.
    pub fn to_degrees(self) -> f64 {
        self.value.to_degrees()
    }

    /// In radians.
    pub fn to_radians(self) -> f64 {
        self.value
    }
}

impl Sigma<Metres> {
    /// From metres; `None` unless finite and positive.
    pub fn metres(value: f64) -> Option<Self> {
        Self::checked(value)
    }

    /// In metres.
    pub fn to_metres(self) -> f64 {
        self.value
    }
}

impl Sigma<Db> {
    /// From decibels; `None` unless finite and positive.
    pub fn db(value: f64) -> Option<Self> {
        Self::checked(value)
    }

    /// In decibels.
    pub fn to_db(self) -> f64 {
        self.value
    }
}

/// A probability strictly between 0 and 1 that a region is meant to hold.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Confidence(f64);

impl Confidence {
    /// One half.
    pub const P50: Self = Self(0.5);
    /// Nine tenths.
    pub const P90: Self = Self(0.9);
    /// Nineteen twentieths.
    pub const P95: Self = Self(0.95);

    /// `None` unless strictly between 0 and 1.
    pub fn fraction(value: f64) -> Option<Self> {
        (value > 0.0 && value < 1.0).then_some(Self(value))
    }

    /// The probability.
    pub const fn value(self) -> f64 {
        self.0
    }
}
