//! An antenna turned on the spot: levels against headings.

use crate::{
    finding::Origin,
    instant::Instant,
    observe::{Level, LevelReading, NorthReference, Stand},
    radio::Family,
    units::{Angle, Hertz},
};

/// A level with the antenna pointed along a heading.
#[derive(Clone, Debug, PartialEq)]
pub struct SwingPoint {
    /// Where the antenna pointed as read, clockwise from the swing's north, in [0°, 360°). Of a loop it is the direction of
    /// its plane, where the signal is strongest.
    pub heading: Angle,
    /// The level as the notes have it, with its attenuator, floor, time and where it was written.
    pub reading: LevelReading,
}

/// What is stated about the antenna.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SwingAntenna {
    /// Family of its pattern.
    pub family: Option<Family>,
    /// Full half-power beamwidth.
    pub beamwidth: Option<Angle>,
}

/// Levels against headings at one stand, exactly as the notes have them.
#[derive(Clone, Debug, PartialEq)]
pub struct Swing {
    /// Identifier, unique within a file: the stand's name, else made from the line of its first row.
    pub id: String,
    /// The instrument or team, when stated.
    pub team: Option<String>,
    /// Where the antenna was turned.
    pub stand: Stand,
    /// The north that the headings were read from.
    pub north: NorthReference,
    /// The levels in the order of the notes.
    pub points: Vec<SwingPoint>,
    /// What is stated about the antenna.
    pub antenna: SwingAntenna,
}

impl Swing {
    /// When it began, when stated.
    pub fn time(&self) -> Option<&Instant> {
        self.points.iter().find_map(|p| p.reading.time.as_ref())
    }

    /// The civil date of its first row that has one.
    pub fn date(&self) -> Option<jiff::civil::Date> {
        self.points.iter().find_map(|p| p.reading.date)
    }

    /// The frequency observed, when stated.
    pub fn frequency(&self) -> Option<Hertz> {
        self.points.iter().find_map(|p| p.reading.frequency)
    }

    /// Where its first row was written down; an empty origin for a swing without rows.
    pub fn origin(&self) -> Origin {
        self.points.first().map_or_else(Origin::default, |p| p.reading.written.origin())
    }

    /// Headings at which something was heard, or nothing above a floor: not those where the emitter was off.
    pub fn headings(&self) -> impl Iterator<Item = Angle> + '_ {
        self.points.iter().filter(|p| p.reading.level != Level::OffAir).map(|p| p.heading)
    }
}
