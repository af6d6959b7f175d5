//! Where somebody was, and when.

use jiff::Timestamp;

use crate::{
    geodesy::Place,
    observe::{FixQuality, Written},
};

/// A place at a time.
#[derive(Clone, Debug, PartialEq)]
pub struct Fix {
    /// When.
    pub time: Timestamp,
    /// Where.
    pub at: Place,
    /// How well it was known.
    pub quality: FixQuality,
    /// The unbroken stretch that it belongs to: between two of them the receiver had no fix.
    pub stretch: u32,
    /// Where it was written down.
    pub written: Written,
}

/// A track.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Track {
    /// Its fixes in the order of their times, no two at the same.
    pub fixes: Vec<Fix>,
}
