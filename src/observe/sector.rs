//! A base station's sector that somebody else's signal disturbs, as the operator's tables have it.

use crate::{
    finding::Origin,
    geodesy::Place,
    instant::Instant,
    observe::{Level, NorthReference, Written},
    radio::noise::Averaging,
    units::{Angle, Db, Dbm, Hertz, Metres, Sigma},
};

/// What a sector's antenna looks at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Beam {
    /// One direction.
    Sector {
        /// Direction of the main lobe as written, clockwise from `north`, in [0°, 360°).
        azimuth: Angle,
        /// The north that the azimuth counts from.
        north: NorthReference,
        /// Full half-power beamwidth in azimuth, above 0° and below 360°.
        beamwidth: Angle,
    },
    /// All directions alike.
    Omni,
}

/// A victim receiver with a known antenna. Levels are those at the receiver's end of the feeder.
#[derive(Clone, Debug, PartialEq)]
pub struct Sector {
    /// What the table calls it, or its line.
    pub id: String,
    /// Name of the site; empty where there is none. What belongs to one mast is told by the place, not by this.
    pub site: String,
    /// Where the antenna is.
    pub at: Place,
    /// One standard deviation of the position in each of the two horizontal directions, when stated.
    pub sigma: Option<Sigma<Metres>>,
    /// Height of the antenna above ground, when stated.
    pub height: Option<Metres>,
    /// Where the antenna looks.
    pub beam: Beam,
    /// Gain of the antenna over an isotropic one, when stated.
    pub gain: Option<Db>,
    /// Loss between antenna and receiver, when stated; not negative.
    pub feeder_loss: Option<Db>,
    /// Level without the interference, when stated.
    pub floor: Option<Dbm>,
    /// Level as measured, the receiver's own noise included, when written.
    pub total: Option<Dbm>,
    /// By how much the level lies above the floor: as written, or the level less the floor. `None` where the table gives
    /// the interference by itself and no floor. It may be zero or less, as tables have it.
    pub rise: Option<Db>,
    /// The interference alone, without the receiver's noise; [`Level::BelowFloor`] with the level that it stays below where
    /// the rise is zero or less than its last digit tells. Never [`Level::OffAir`].
    pub interference: Level,
    /// How the levels or rises were averaged; `None` where nobody says.
    pub averaging: Option<Averaging>,
    /// Frequency observed.
    pub frequency: Option<Hertz>,
    /// Bandwidth that level and floor are measured in.
    pub bandwidth: Option<Hertz>,
    /// When, or which hour.
    pub time: Option<Instant>,
    /// The civil date written beside it, where a time could not be brought to UTC.
    pub date: Option<jiff::civil::Date>,
    /// Free remarks, as written.
    pub remarks: String,
    /// Where it was written down.
    pub written: Written,
}

impl Sector {
    /// Where it was written down, as findings have it.
    pub fn origin(&self) -> Origin {
        self.written.origin()
    }

    /// The day of the measurement, in UTC where the time is known.
    pub fn civil_date(&self) -> Option<jiff::civil::Date> {
        let utc = |t: &Instant| t.utc().to_zoned_datetime(jiff::tz::TimeZone::UTC).date();
        self.time.as_ref().map(utc).or(self.date)
    }
}
