//! Bearings brought to true north.

use crate::{
    finding::Finding,
    geodesy::Place,
    north::declination::declination,
    observe::{NorthReference, ReadBearing},
    units::{Angle, Sigma},
};

/// A bearing from true north. Only [`resolve`] makes one: holding it is the proof that north was settled.
#[derive(Clone, Debug, PartialEq)]
pub struct TrueBearing {
    read: ReadBearing,
    azimuth: Angle,
    correction: Angle,
    shared: Option<Sigma<Angle>>,
}

impl TrueBearing {
    /// The bearing as it was written down.
    pub const fn read(&self) -> &ReadBearing {
        &self.read
    }

    /// Direction clockwise from true north, in [0°, 360°).
    pub const fn azimuth(&self) -> Angle {
        self.azimuth
    }

    /// What was added to the reading: declination for a magnetic one, convergence for a grid one, zero for
    /// a true one (east positive).
    pub const fn correction(&self) -> Angle {
        self.correction
    }

    /// The same bearing turned clockwise, for trying another treatment of north.
    pub(super) fn turned(&self, by: Angle) -> Self {
        let azimuth = self.azimuth.turned(by);
        let correction = Angle::radians(self.correction.to_radians() + by.to_radians());
        Self { azimuth, correction, ..self.clone() }
    }

    /// Uncertainty of the correction, an error that every magnetic bearing of the place shares;
    /// `None` where the correction is exact.
    pub const fn shared_sigma(&self) -> Option<Sigma<Angle>> {
        self.shared
    }
}

/// What the reader of the compass may state for all bearings at once.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Settings {
    /// Date for bearings without one of their own.
    pub date: Option<jiff::civil::Date>,
    /// Declination by hand (east positive) with its standard deviation, instead of the model's.
    pub declination: Option<(Angle, Sigma<Angle>)>,
}

/// Bearings brought to true north, and what there is to tell about it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Resolved {
    /// In the order given; refused ones are missing and named in `findings`.
    pub bearings: Vec<TrueBearing>,
    /// Assumptions made and bearings refused.
    pub findings: Vec<Finding>,
}

/// Brings every bearing to true north: true = magnetic + declination (east positive), true = grid + convergence
/// (positive where grid north lies east of true north).
pub fn resolve(bearings: &[ReadBearing], settings: &Settings) -> Resolved {
    let mut out = Resolved::default();
    let mut applied: Vec<(Angle, Sigma<Angle>)> = Vec::new();
    for read in bearings {
        match correction(&Direction::of(read), settings) {
            Ok((correction, shared)) => {
                applied.extend(shared.map(|s| (correction, s)));
                let azimuth = read.read.turned(correction);
                out.bearings.push(TrueBearing { read: read.clone(), azimuth, correction, shared });
            }
            Err(finding) => out.findings.push((*finding).at(read.origin.clone())),
        }
    }
    out.findings.extend(told(&applied, "bearing(s)", settings));
    out.findings.extend(contradicted(bearings.iter().map(Direction::of), settings));
    out
}

/// What the correction of a direction depends on.
pub(super) struct Direction<'a> {
    /// What it is called in a finding: `bearing B01`.
    pub what: &'a str,
    /// Its identifier.
    pub id: &'a str,
    /// Where it was read.
    pub at: Place,
    /// The north it counts from.
    pub north: NorthReference,
    /// Its own date.
    pub date: Option<jiff::civil::Date>,
}

impl<'a> Direction<'a> {
    fn of(read: &'a ReadBearing) -> Self {
        let date = read.civil_date();
        Self { what: "bearing", id: &read.id, at: read.stand.at, north: read.north, date }
    }
}

/// A declination by hand further than this from the model's is looked at twice: local anomalies of a degree or two are
/// common, more are rare.
const STRANGE_DEGREES: f64 = 3.0;

/// A declination by hand that the model contradicts at the place and day of some magnetic bearing.
pub(super) fn contradicted<'a>(
    mut directions: impl Iterator<Item = Direction<'a>>,
    settings: &Settings,
) -> Option<Finding> {
    let (stated, _) = settings.declination?;
    directions.find_map(|b| {
        let date = b.date.or(settings.date).filter(|_| b.north == NorthReference::Magnetic)?;
        let model = declination(b.at, date).ok()?.angle;
        let strange = stated.miss_from(model).to_degrees().abs() > STRANGE_DEGREES;
        strange.then(|| {
            let message = format!(
                "the declination stated is {}, and the World Magnetic Model gives {} there on {date}",
                in_words(stated),
                in_words(model)
            );
            Finding::doubtful("declination-strange", message)
                .hint("is the letter right? E lies right of true north, W left")
        })
    })
}

/// What has to be added to a direction, and the error that all of them share; or why that is not known.
pub(super) fn correction(
    read: &Direction,
    settings: &Settings,
) -> Result<(Angle, Option<Sigma<Angle>>), Box<Finding>> {
    match read.north {
        NorthReference::True => Ok((Angle::ZERO, None)),
        NorthReference::Grid(frame) => frame.convergence(read.at).map(|angle| (angle, None)).map_err(|e| {
            let message = format!("{} {} from grid north: {e}", read.what, read.id);
            let hint = format!("give the {} from true or magnetic north", read.what);
            Box::new(Finding::refused("grid-north-unknown", message).hint(hint))
        }),
        NorthReference::Magnetic => magnetic(read, settings),
    }
}

fn magnetic(read: &Direction, settings: &Settings) -> Result<(Angle, Option<Sigma<Angle>>), Box<Finding>> {
    if let Some((angle, sigma)) = settings.declination {
        return Ok((angle, Some(sigma)));
    }
    let Some(date) = read.date.or(settings.date) else {
        let message = format!(
            "{} {} is magnetic and has no date, and the declination changes with time",
            read.what, read.id
        );
        let hint = "state the date once, such as --date 2026-03-17";
        return Err(Box::new(Finding::refused("declination-needs-a-date", message).hint(hint)));
    };
    declination(read.at, date).map(|d| (d.angle, Some(d.sigma))).map_err(|e| {
        let hint = "state the declination by hand, such as --declination 13.9E";
        let message = format!("{} {}: {e}", read.what, read.id);
        Box::new(Finding::refused("no-declination", message).hint(hint))
    })
}

/// One line about the declination that was added.
pub(super) fn told(applied: &[(Angle, Sigma<Angle>)], of: &str, settings: &Settings) -> Option<Finding> {
    let (first, sigma) = applied.first()?;
    let low = applied.iter().map(|a| a.0.to_degrees()).fold(f64::INFINITY, f64::min);
    let high = applied.iter().map(|a| a.0.to_degrees()).fold(f64::NEG_INFINITY, f64::max);
    let span = if high - low < 0.05 {
        in_words(*first)
    } else {
        format!("{low:.1}° to {high:.1}° (east positive)")
    };
    let source = match settings.declination {
        Some(_) => "stated by hand".to_owned(),
        None => "World Magnetic Model 2025, at each stand and date".to_owned(),
    };
    Some(Finding::assumed(
        "declination",
        format!(
            "declination {span} ± {:.1}° ({source}) was added to {} magnetic {of}",
            sigma.to_degrees(),
            applied.len()
        ),
    ))
}

/// What to do with a reading to make it true: `Add 13.9° to`, `Take 1.0° off`.
pub fn correction_in_words(angle: Angle) -> String {
    let degrees = angle.wrapped().to_degrees();
    if degrees < 0.0 { format!("Take {:.1}° off", -degrees) } else { format!("Add {degrees:.1}° to") }
}

/// An angle between two norths in words: `13.9° EAST`.
pub fn in_words(angle: Angle) -> String {
    let degrees = angle.wrapped().to_degrees();
    format!("{:.1}° {}", degrees.abs(), if degrees < 0.0 { "WEST" } else { "EAST" })
}
