//! Declination of the Earth's main field.

use world_magnetic_model::{
    GeomagneticField,
    time::Date as ModelDate,
    uom::si::{
        angle::degree,
        f32::{Angle as ModelAngle, Length},
        length::meter,
        magnetic_flux_density::nanotesla,
    },
};

use crate::{
    geodesy::Place,
    units::{Angle, Metres, Sigma},
};

/// Horizontal intensity below which a compass is of no use, and below which it is to be used with caution: the zones of
/// [`crate::sources::WMM2025`], nanotesla.
const BLACKOUT_NT: f64 = 2_000.0;
const CAUTION_NT: f64 = 6_000.0;

/// Declination at a place and date.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Declination {
    /// East positive: true = magnetic + declination.
    pub angle: Angle,
    /// √(0.26² + (5417/H)²)°, the published error of the 2025 model ([`crate::sources::WMM2025`]), H in nanotesla.
    pub sigma: Sigma<Angle>,
    /// Horizontal intensity, nanotesla.
    pub horizontal_nt: f64,
}

/// Whether a compass can be trusted at a place, by the horizontal intensity of the field.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Compass {
    /// 6,000 nT or more.
    Usable,
    /// 2,000 to 6,000 nT: the caution zone of [`crate::sources::WMM2025`].
    Unreliable,
}

impl Declination {
    /// Whether a compass can be trusted here.
    pub fn compass(&self) -> Compass {
        if self.horizontal_nt < CAUTION_NT { Compass::Unreliable } else { Compass::Usable }
    }
}

/// Why there is no declination.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum NorthError {
    /// The date lies outside 2025-01-01 to 2029-12-31.
    OutOfDate(jiff::civil::Date),
    /// Horizontal intensity below 2,000 nT: a compass is of no use this near to the magnetic pole.
    NearMagneticPole,
    /// A height outside of −1 to 850 km.
    TooHigh,
}

impl std::fmt::Display for NorthError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::OutOfDate(date) => write!(
                f,
                "the date {date} is outside the span of the World Magnetic Model 2025, 2025-01-01 to 2029-12-31"
            ),
            Self::TooHigh => write!(f, "the World Magnetic Model covers heights of -1 to 850 km only"),
            Self::NearMagneticPole => write!(f, "a compass is of no use here: the magnetic pole is too near"),
        }
    }
}

impl std::error::Error for NorthError {}

/// Declination by the World Magnetic Model 2025 on the ellipsoid (height 0), from 2025-01-01 to 2029-12-31: see
/// [`declination_at`]. A kilometre of height changes it by less than 0.03° wherever a compass is of use. The
/// model is evaluated in single precision: within 0.0001° of its published test values (0.02 nT across the horizontal
/// field).
///
/// # Errors
/// [`NorthError`] for a date outside the model's span, or within reach of a magnetic pole.
pub fn declination(place: Place, date: jiff::civil::Date) -> Result<Declination, NorthError> {
    declination_at(place, Metres::new(0.0), date)
}

/// Declination at a height above the ellipsoid, at the beginning of the day.
///
/// # Errors
/// [`NorthError`] for a date outside the model's span, a height it does not cover (−1 to 850 km), or within reach of a
/// magnetic pole.
pub fn declination_at(
    place: Place,
    height: Metres,
    date: jiff::civil::Date,
) -> Result<Declination, NorthError> {
    if !(2025..=2029).contains(&date.year()) {
        return Err(NorthError::OutOfDate(date));
    }
    let day = ModelDate::from_ordinal_date(i32::from(date.year()), date.day_of_year() as u16)
        .map_err(|_| NorthError::OutOfDate(date))?;
    let field = GeomagneticField::new(
        Length::new::<meter>(height.value() as f32),
        ModelAngle::new::<degree>(place.lat_degrees() as f32),
        ModelAngle::new::<degree>(place.lon_degrees() as f32),
        day,
    )
    // Places and dates are within its ranges.
    .map_err(|_| NorthError::TooHigh)?;
    let horizontal_nt = f64::from(field.h().get::<nanotesla>());
    // A value that is not a number is in no range.
    if !(BLACKOUT_NT..).contains(&horizontal_nt) {
        return Err(NorthError::NearMagneticPole);
    }
    let sigma = 0.26f64.hypot(5417.0 / horizontal_nt);
    let sigma = Sigma::<Angle>::degrees(sigma).ok_or(NorthError::NearMagneticPole)?;
    Ok(Declination {
        angle: Angle::degrees(f64::from(field.declination().get::<degree>())),
        sigma,
        horizontal_nt,
    })
}
