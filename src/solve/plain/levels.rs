//! The plain fix from levels: a place on a plane from levels with known errors, by the customary least squares, alone or
//! together with bearings.
//!
//! Level i follows the power law Lᵢ = P − 10 n log10(dᵢ/d₀) with a normal error of deviation σᵢ, dᵢ the distance of the
//! place from the reading. What is least is ½ Σ (miss/σ)², with the priors of P and n as further terms and, where bearings
//! are given, their misses as in [`super::Method::Gaussian`]: maximum likelihood of normal errors. Shadowing that readings
//! share enters as the covariance σᵢ σⱼ ρ(δᵢⱼ) ([`crate::radio::ShadowCorrelation`], [`crate::sources::GUDMUNDSON1991`]):
//! generalised least squares. P and n are linear given the place, and eliminated ([`crate::sources::GOLUB1973`]); the place is
//! found by damped Newton steps on exact derivatives from several starts, with no chance in them.
//!
//! These are figures for comparison. Levels below the receiver's floor have no place here, errors are taken as stated, and the
//! ellipse of the covariance is too small wherever shadowing is shared and not said to be: the posterior of [`super::super::fit`]
//! is what an answer rests on.

mod columns;
mod law;
mod logarithm;
mod scored;
mod search;
mod shared;

use nalgebra::Vector2;

use super::{Line, blocks::Blocks};
use crate::{
    geodesy::PlanePoint,
    radio::ShadowCorrelation,
    units::{Db, Dbm, Sigma},
};
use columns::{Columns, Survey};
use law::Plain;
pub use law::{Bound, Law, Term};
use scored::Scored;
use shared::Shared;

/// A level that was measured, on the plane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// Where.
    pub at: PlanePoint,
    /// What was measured.
    pub level: Dbm,
    /// One standard deviation of shadowing and measurement together.
    pub sigma: Sigma<Db>,
}

/// At most this many readings may share shadowing: the covariance is factored as a whole, in a time that grows with the cube
/// of their number.
pub const MOST_SHARED: usize = 1_000;

/// Why there is no plain fix from levels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum LevelError {
    /// Fewer levels and bearings than unknowns, or no level at all.
    TooFew {
        /// Levels and bearings given.
        have: usize,
        /// How many are needed.
        need: usize,
    },
    /// A coordinate or a level is not a finite number.
    NotFinite {
        /// Index of the reading.
        reading: usize,
    },
    /// A coordinate or the azimuth of a bearing is not a finite number.
    NotFiniteLine {
        /// Index of the line.
        line: usize,
    },
    /// The law cannot be used: why, in words.
    Law(&'static str),
    /// Readings that share shadowing leave nothing of their own, such as two at one spot.
    Redundant,
    /// More readings that share shadowing than [`MOST_SHARED`].
    TooMany {
        /// Readings given.
        have: usize,
    },
    /// The levels have no minimum anywhere near: no place fits better than one infinitely far away, or than a reading's own.
    NoMinimum,
    /// Place, level and exponent cannot be told apart: all readings are equally far from the place.
    NotDetermined,
}

impl std::fmt::Display for LevelError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::TooFew { have, need } => write!(f, "{have} level(s) and bearing(s), and {need} are needed"),
            Self::NotFinite { reading } => {
                write!(f, "reading {reading} has a coordinate or level that is no number")
            }
            Self::NotFiniteLine { line } => {
                write!(f, "line {line} has a coordinate or azimuth that is no number")
            }
            Self::Law(flaw) => write!(f, "the law of levels cannot be used: {flaw}"),
            Self::Redundant => {
                write!(f, "readings at one spot share all of their shadowing, and say nothing apart")
            }
            Self::TooMany { have } => {
                write!(f, "{have} readings share their shadowing, and at most {MOST_SHARED} can here")
            }
            Self::NoMinimum => write!(f, "no place fits the levels better than one still farther away"),
            Self::NotDetermined => {
                write!(
                    f,
                    "all readings are equally far from the place: its distance and power are not told apart"
                )
            }
        }
    }
}

impl std::error::Error for LevelError {}

/// An unknown of a [`LevelFix`], in the order of its covariance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    /// Metres east.
    East,
    /// Metres north.
    North,
    /// Level at the reference distance, dBm.
    Start,
    /// Exponent.
    Exponent,
}

/// A law fitted to levels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FittedLaw {
    /// Level at [`Law::reference`].
    pub start: Dbm,
    /// Exponent.
    pub exponent: f64,
    /// The bound of [`Law::bounds`] that holds the exponent: then it is no estimate, and the covariance takes it for known.
    pub bound: Option<Bound>,
}

/// Another minimum that some start led to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rival {
    /// Its place.
    pub at: PlanePoint,
    /// Its χ².
    pub chi_square: f64,
}

/// A plain fix from levels.
#[derive(Clone, Debug, PartialEq)]
pub struct LevelFix {
    /// The place.
    pub at: PlanePoint,
    /// The law that goes with it.
    pub law: FittedLaw,
    /// Linear covariance (JᵀWJ)⁻¹ in the order of [`Unknown`]: metres, decibels, pure number. Zero for what was known or is
    /// held at a bound.
    pub covariance: [[f64; 4]; 4],
    /// Σ (miss/σ)² of levels, bearings and priors.
    pub chi_square: f64,
    /// Levels and bearings less two and less one for each free parameter of the law; a prior counts as an observation.
    pub freedom: u32,
    /// The start whose steps led here.
    pub begun: PlanePoint,
    /// Steps tried from there, of the last descent.
    pub steps: u32,
    /// Other minima, the lowest first. All readings along one street have a mirror place on its other side.
    pub rivals: Vec<Rival>,
}

impl LevelFix {
    /// Covariance of the place alone (east-east, east-north, north-north, square metres), as [`crate::region::Ellipse`] takes it.
    pub const fn place(&self) -> [f64; 3] {
        [self.covariance[0][0], self.covariance[0][1], self.covariance[1][1]]
    }

    /// One standard deviation of an unknown in its unit; `None` for one that was known or is held at a bound.
    pub fn deviation(&self, of: Unknown) -> Option<f64> {
        let variance = self.covariance[of as usize][of as usize];
        (variance > 0.0).then(|| variance.sqrt())
    }

    /// Correlation of two unknowns; `None` as [`LevelFix::deviation`].
    pub fn correlation(&self, a: Unknown, b: Unknown) -> Option<f64> {
        Some(self.covariance[a as usize][b as usize] / (self.deviation(a)? * self.deviation(b)?))
    }
}

/// A law fitted to levels whose distances are known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LawFix {
    /// The law.
    pub law: FittedLaw,
    /// Covariance of level and exponent; zero for what was known or is held at a bound.
    pub covariance: [[f64; 2]; 2],
    /// Σ (miss/σ)² of levels and priors.
    pub chi_square: f64,
}

/// Levels, and perhaps bearings, laid out for solving.
#[derive(Clone, Debug)]
pub struct PlainLevels {
    readings: Vec<Reading>,
    known: Law,
    law: Plain,
    centre: Vector2<f64>,
    columns: Columns,
    lines: Option<Blocks>,
    shared: Option<Shared>,
}

impl PlainLevels {
    /// Lays the readings out.
    ///
    /// # Errors
    /// [`LevelError::TooFew`] for none, [`LevelError::NotFinite`], [`LevelError::Law`].
    pub fn new(readings: &[Reading], law: &Law) -> Result<Self, LevelError> {
        if readings.is_empty() {
            return Err(LevelError::TooFew { have: 0, need: 2 + law.free() });
        }
        let finite = |r: &Reading| (r.at.east + r.at.north + r.level.value()).is_finite();
        if let Some(reading) = readings.iter().position(|r| !finite(r)) {
            return Err(LevelError::NotFinite { reading });
        }
        if let Some(flaw) = law.flaw() {
            return Err(LevelError::Law(flaw));
        }
        let sum: Vector2<f64> = readings.iter().map(|r| Vector2::new(r.at.east, r.at.north)).sum();
        let centre = sum / readings.len() as f64;
        Ok(Self {
            readings: readings.to_vec(),
            known: *law,
            law: Plain::of(law),
            centre,
            columns: Columns::new(readings.iter(), centre, law),
            lines: None,
            shared: None,
        })
    }

    /// Adds bearings.
    ///
    /// # Errors
    /// [`LevelError::NotFiniteLine`].
    pub fn with_lines(self, lines: &[Line]) -> Result<Self, LevelError> {
        let finite = |l: &Line| (l.stand.east + l.stand.north + l.azimuth.to_radians()).is_finite();
        if let Some(line) = lines.iter().position(|l| !finite(l)) {
            return Err(LevelError::NotFiniteLine { line });
        }
        let blocks = (!lines.is_empty()).then(|| Blocks::new(lines, self.centre));
        Ok(Self { lines: blocks, ..self })
    }

    /// Lets the readings share their shadowing.
    ///
    /// # Errors
    /// [`LevelError::TooMany`], [`LevelError::Redundant`].
    pub fn with_shared(self, correlation: ShadowCorrelation) -> Result<Self, LevelError> {
        if self.readings.len() > MOST_SHARED {
            return Err(LevelError::TooMany { have: self.readings.len() });
        }
        let sigmas: Vec<Sigma<Db>> = self.readings.iter().map(|r| r.sigma).collect();
        let shared = Shared::new(&self.columns, &sigmas, correlation).ok_or(LevelError::Redundant)?;
        Ok(Self { shared: Some(shared), ..self })
    }

    /// The place of the least cost that the steps from several starts lead to: rings about the strongest reading and about
    /// the middle of all, and the cuts of bearings, ranked by their cost (of many readings, by that of an even part).
    ///
    /// # Errors
    /// [`LevelError::TooFew`], [`LevelError::NoMinimum`], [`LevelError::NotDetermined`].
    pub fn solve(&self) -> Result<LevelFix, LevelError> {
        self.freedom()?;
        self.told(&self.ends())
    }

    /// The minimum that the steps from `start` lead to: fast, and right where the start is near.
    ///
    /// # Errors
    /// As [`PlainLevels::solve`].
    pub fn polish(&self, start: PlanePoint) -> Result<LevelFix, LevelError> {
        self.freedom()?;
        let end = search::descend(&self.scored(), self.inward(start));
        self.told(end.as_slice())
    }

    /// The law that fits best when the emitter stands at `place`: regression over known distances. Bearings play no part.
    ///
    /// # Errors
    /// [`LevelError::NotDetermined`] also for a place on a reading, where the law knows no level.
    pub fn law_at(&self, place: PlanePoint) -> Result<LawFix, LevelError> {
        let survey = self.scored().survey(self.inward(place)).ok_or(LevelError::NotDetermined)?;
        let inverse = survey.law.inverse().ok_or(LevelError::NotDetermined)?;
        Ok(LawFix {
            law: self.fitted(&survey),
            covariance: std::array::from_fn(|i| std::array::from_fn(|j| inverse[(i, j)])),
            chi_square: survey.misses + survey.law.prior,
        })
    }

    fn fitted(&self, survey: &Survey) -> FittedLaw {
        let law = &survey.law;
        FittedLaw { start: Dbm::new(law.start), exponent: law.exponent, bound: law.bound }
    }

    fn freedom(&self) -> Result<u32, LevelError> {
        let have = self.readings.len() + self.lines.as_ref().map_or(0, Blocks::lines);
        let need = 2 + self.known.free();
        have.checked_sub(need).map(|f| f as u32).ok_or(LevelError::TooFew { have, need })
    }

    fn scored(&self) -> Scored<'_> {
        Scored::new(&self.columns, self.shared.as_ref(), &self.law, self.lines.as_ref())
    }

    fn inward(&self, p: PlanePoint) -> Vector2<f64> {
        Vector2::new(p.east, p.north) - self.centre
    }

    fn outward(&self, at: Vector2<f64>) -> PlanePoint {
        PlanePoint { east: at.x + self.centre.x, north: at.y + self.centre.y }
    }
}
