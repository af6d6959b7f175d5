//! A bearing as read, and the stand it was read at.

use crate::{
    finding::Origin,
    geodesy::{GridFrame, Place},
    instant::Instant,
    observe::Quality,
    units::{Angle, Dbm, Hertz, Metres, Sigma},
};

/// A place where somebody stood to observe.
#[derive(Clone, Debug, PartialEq)]
pub struct Stand {
    /// What the notes call it; may be empty.
    pub name: String,
    /// Where it is.
    pub at: Place,
    /// One standard deviation of the position, in each of the two horizontal directions;
    /// `None` when nothing was stated.
    pub sigma: Option<Sigma<Metres>>,
    /// Height of the antenna above ground, when stated.
    pub height: Option<Metres>,
}

/// The north that a bearing was read from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NorthReference {
    /// True (geographic) north.
    True,
    /// Magnetic north, as a compass shows it.
    Magnetic,
    /// The north of a map grid.
    Grid(GridFrame),
}

/// A bearing exactly as the notes have it. The solver does not accept it: only
/// [`crate::north::resolve`] turns it into a [`crate::north::TrueBearing`].
#[derive(Clone, Debug, PartialEq)]
pub struct ReadBearing {
    /// Identifier, unique within a file or made from its line number.
    pub id: String,
    /// Who took it (a team or an instrument), when stated.
    pub team: Option<String>,
    /// Where it was taken.
    pub stand: Stand,
    /// Direction as read, clockwise from `north`; the circular mean where several swings were written.
    pub read: Angle,
    /// The north it was read from.
    pub north: NorthReference,
    /// The single swings, where several were written; otherwise empty.
    pub swings: Vec<Angle>,
    /// Whether the antenna cannot tell this direction from its reverse, as a loop without a sense antenna cannot.
    pub two_way: bool,
    /// What was stated about its error.
    pub quality: Quality,
    /// Level with the antenna's front toward the bearing.
    pub front: Option<Dbm>,
    /// Level with the antenna's back toward the bearing.
    pub back: Option<Dbm>,
    /// When it was taken.
    pub time: Option<Instant>,
    /// The civil date written beside it, where a time could not be brought to UTC; enough for the declination.
    pub date: Option<jiff::civil::Date>,
    /// The frequency observed.
    pub frequency: Option<Hertz>,
    /// Free remarks, as written.
    pub remarks: String,
    /// Where it was written down.
    pub origin: Origin,
}

impl ReadBearing {
    /// The day it was taken, in UTC where the time is known.
    pub fn civil_date(&self) -> Option<jiff::civil::Date> {
        let utc = |t: &Instant| t.utc().to_zoned_datetime(jiff::tz::TimeZone::UTC).date();
        self.time.as_ref().map(utc).or(self.date)
    }
}
