//! A level as read, and how well its place was known.

use std::sync::Arc;

use crate::{
    finding::Origin,
    geodesy::Place,
    instant::Instant,
    units::{Db, Dbm, Hertz, Metres, Sigma},
};

/// What a receiver told about the emitter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Level {
    /// This power.
    Measured(Dbm),
    /// Nothing above this floor.
    BelowFloor(Dbm),
    /// The notes say that the emitter was off.
    OffAir,
}

impl Level {
    /// The power, where one was measured.
    pub const fn measured(self) -> Option<Dbm> {
        match self {
            Self::Measured(level) => Some(level),
            Self::BelowFloor(_) | Self::OffAir => None,
        }
    }
}

/// What a voltage was measured across.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Load {
    /// 50 Ω, as measuring receivers have.
    Ohm50,
    /// 75 Ω, as broadcast receivers have.
    Ohm75,
}

impl Load {
    /// The resistance in ohms.
    pub const fn ohms(self) -> f64 {
        match self {
            Self::Ohm50 => 50.0,
            Self::Ohm75 => 75.0,
        }
    }
}

/// The unit that a level was written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LevelUnit {
    /// dBm: power above a milliwatt.
    Dbm,
    /// dBµV: voltage above a microvolt, across a load.
    Microvolt(Load),
    /// dBµV/m: field strength above a microvolt per metre.
    MicrovoltPerMetre,
}

/// A number as it is written, with its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RawLevel {
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: LevelUnit,
}

/// What a satellite receiver calls its fix: the words of GPX 1.1 and the numbers of NMEA 0183's GGA.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FixKind {
    /// No fix (`none`, 0).
    NoFix,
    /// Without height (`2d`).
    Flat,
    /// With height (`3d`).
    Full,
    /// Satellites alone (1).
    Satellites,
    /// With corrections (`dgps`, 2).
    Differential,
    /// Military signals (`pps`, 3).
    Precise,
    /// Carrier phases, whole cycles (4).
    PhaseFixed,
    /// Carrier phases, cycles still open (5).
    PhaseFloat,
    /// Dead reckoning (6).
    Reckoned,
    /// Typed in (7).
    Manual,
    /// Made up by a simulator (8).
    Simulated,
}

impl FixKind {
    /// The kind of a number in the sixth field of GGA (NMEA 0183, 4.10: GPS quality indicator).
    pub const fn of_gga(number: u64) -> Option<Self> {
        Some(match number {
            0 => Self::NoFix,
            1 => Self::Satellites,
            2 => Self::Differential,
            3 => Self::Precise,
            4 => Self::PhaseFixed,
            5 => Self::PhaseFloat,
            6 => Self::Reckoned,
            7 => Self::Manual,
            8 => Self::Simulated,
            _ => return None,
        })
    }

    /// The kind of a word (GPX 1.1, `fixType`), and of plain words for no fix.
    pub fn of_word(word: &str) -> Option<Self> {
        Some(match word.to_lowercase().as_str() {
            "none" | "no" | "no fix" | "nofix" | "kein" | "aucun" | "ninguno" => Self::NoFix,
            "2d" => Self::Flat,
            "3d" => Self::Full,
            "gps" | "gnss" => Self::Satellites,
            "dgps" => Self::Differential,
            "pps" => Self::Precise,
            _ => return None,
        })
    }
}

/// How well a place was known when it was written down; `None` where nothing was said.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FixQuality {
    /// Kind of fix.
    pub kind: Option<FixKind>,
    /// Horizontal dilution of precision.
    pub hdop: Option<f64>,
    /// Satellites used.
    pub satellites: Option<u32>,
}

/// Where something was written down. A log of a million rows names its file once.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Name of the file as the caller gave it.
    pub file: Arc<str>,
    /// Line, counted from 1.
    pub line: u64,
}

impl Written {
    /// As findings have it.
    pub fn origin(&self) -> Origin {
        Origin::line(&self.file, self.line)
    }
}

/// A level as the notes have it.
#[derive(Clone, Debug, PartialEq)]
pub struct LevelReading {
    /// Number or identifier, as written.
    pub id: Option<String>,
    /// What the notes call the stand; may be empty.
    pub stand: String,
    /// Where it was taken; `None` where the notes have no place.
    pub at: Option<Place>,
    /// One standard deviation of the position, when stated or when it was written coarsely.
    pub sigma: Option<Sigma<Metres>>,
    /// Height of the antenna above ground, when stated.
    pub height: Option<Metres>,
    /// The level at the antenna's connector: attenuator and cable are added.
    pub level: Level,
    /// The number written, before anything was added; `None` where the notes have a word for it.
    pub raw: Option<RawLevel>,
    /// The attenuator that was in front of the receiver, when stated.
    pub attenuator: Option<Db>,
    /// Whether the attenuator is part of `raw` already.
    pub attenuator_in_raw: bool,
    /// Resolution bandwidth.
    pub bandwidth: Option<Hertz>,
    /// Level at the antenna's connector below which this receiver tells nothing, when stated.
    pub floor: Option<Dbm>,
    /// How well the place was known.
    pub fix: FixQuality,
    /// The receiver, when named.
    pub device: Option<Arc<str>>,
    /// When it was taken.
    pub time: Option<Instant>,
    /// The civil date written beside it, where a time could not be brought to UTC.
    pub date: Option<jiff::civil::Date>,
    /// The frequency observed.
    pub frequency: Option<Hertz>,
    /// Free remarks, as written.
    pub remarks: String,
    /// Where it was written down.
    pub written: Written,
}
