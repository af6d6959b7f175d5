//! Limits of exposure to radio fields, and the distance at which an antenna's main beam falls to them.

use std::f64::consts::PI;

use crate::units::{Hertz, Metres, Watts};

/// Whose limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// 47 CFR 1.1310, Table 1 ([`crate::sources::CFR1310`]).
    Cfr1310,
    /// ICNIRP 2020, whole body, 30 minutes ([`crate::sources::ICNIRP2020`]).
    Icnirp2020,
    /// ICNIRP 2020, local, 6 minutes ([`crate::sources::ICNIRP2020`]).
    Icnirp2020Local,
}

impl Rule {
    const ALL: [Self; 3] = [Self::Cfr1310, Self::Icnirp2020, Self::Icnirp2020Local];

    const fn name(self) -> &'static str {
        match self {
            Self::Cfr1310 => "47 CFR 1.1310",
            Self::Icnirp2020 => "ICNIRP 2020, whole body",
            Self::Icnirp2020Local => "ICNIRP 2020, local",
        }
    }
}

/// For whom.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tier {
    /// Persons who are fully aware of the exposure and can control it.
    Occupational,
    /// Everybody else.
    Public,
}

/// A distance in the main beam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Distance {
    /// Whose limit.
    pub rule: Rule,
    /// For whom.
    pub tier: Tier,
    /// Limit of power density, W/m².
    pub limit_w_m2: f64,
    /// Averaging time, minutes.
    pub averaging_min: u32,
    /// Factor for ground reflection: 1 or 2.56.
    pub reflection: f64,
    /// R = √(k EIRP / 4πS).
    pub distance: Metres,
    /// Whether the far-field formula holds at that distance: beyond λ/2π and 0.2 m.
    pub holds: bool,
}

/// All distances for one emitter.
#[derive(Clone, Debug, PartialEq)]
pub struct Exposure {
    /// The frequency.
    pub frequency: Hertz,
    /// Power times gain of the main beam, averaged over time.
    pub eirp: Watts,
    /// Every rule, tier and reflection factor that has a power-density limit at this frequency.
    pub distances: Vec<Distance>,
}

/// Why there are no distances.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum ExposureError {
    /// Outside 0.3 MHz to 100 GHz.
    FrequencyOutsideTables(Hertz),
    /// Not a positive power.
    NoPower,
}

impl std::fmt::Display for ExposureError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::FrequencyOutsideTables(h) => {
                write!(f, "{} MHz is outside the tables used here, 0.3 MHz to 100 GHz", h.to_mhz())
            }
            Self::NoPower => write!(f, "the radiated power must be a number above zero"),
        }
    }
}

impl std::error::Error for ExposureError {}

/// Limit of power density in W/m² with its averaging time; `None` where the rule has none at this frequency
/// (ICNIRP limits only the field strengths up to 30 MHz).
pub fn limit(rule: Rule, tier: Tier, frequency: Hertz) -> Option<(f64, u32)> {
    let f = frequency.to_mhz();
    let public = tier == Tier::Public;
    match rule {
        // The table is in mW/cm²; 1 mW/cm² is 10 W/m².
        Rule::Cfr1310 => {
            let (occupational, general) = match f {
                f if (0.3..1.34).contains(&f) => (100.0, 100.0),
                f if (1.34..3.0).contains(&f) => (100.0, 180.0 / (f * f)),
                f if (3.0..30.0).contains(&f) => (900.0 / (f * f), 180.0 / (f * f)),
                f if (30.0..300.0).contains(&f) => (1.0, 0.2),
                f if (300.0..1500.0).contains(&f) => (f / 300.0, f / 1500.0),
                f if (1500.0..=100_000.0).contains(&f) => (5.0, 1.0),
                _ => return None,
            };
            Some(if public { (10.0 * general, 30) } else { (10.0 * occupational, 6) })
        }
        Rule::Icnirp2020 => {
            let occupational = match f {
                f if f > 30.0 && f <= 400.0 => 10.0,
                f if f > 400.0 && f <= 2000.0 => f / 40.0,
                f if f > 2000.0 && f <= 300_000.0 => 50.0,
                _ => return None,
            };
            Some((if public { occupational / 5.0 } else { occupational }, 30))
        }
        Rule::Icnirp2020Local => {
            let (occupational, general) = match f {
                f if f > 30.0 && f <= 400.0 => (50.0, 10.0),
                f if f > 400.0 && f <= 2000.0 => (0.29 * f.powf(0.86), 0.058 * f.powf(0.86)),
                f if f > 2000.0 && f <= 6000.0 => (200.0, 40.0),
                f if f > 6000.0 && f < 300_000.0 => {
                    let ghz = (f / 1e3).powf(-0.177);
                    (275.0 * ghz, 55.0 * ghz)
                }
                _ => return None,
            };
            Some((if public { general } else { occupational }, 6))
        }
    }
}

/// Distances in the main beam at which the field falls to each limit, S = k·EIRP/(4πR²) with k = 1 and 2.56.
///
/// # Errors
/// [`ExposureError`] outside 0.3 MHz to 100 GHz, or for a power that is not positive.
pub fn exposure(frequency: Hertz, eirp: Watts) -> Result<Exposure, ExposureError> {
    if !(eirp.value() > 0.0 && eirp.value().is_finite()) {
        return Err(ExposureError::NoPower);
    }
    if !(0.3..=100_000.0).contains(&frequency.to_mhz()) {
        return Err(ExposureError::FrequencyOutsideTables(frequency));
    }
    let near = (frequency.wavelength().value() / (2.0 * PI)).max(0.2);
    let mut distances = Vec::new();
    for rule in Rule::ALL {
        for tier in [Tier::Public, Tier::Occupational] {
            let Some((limit_w_m2, averaging_min)) = limit(rule, tier, frequency) else { continue };
            for reflection in [1.0, 2.56] {
                let r = (reflection * eirp.value() / (4.0 * PI * limit_w_m2)).sqrt();
                let distance = Metres::new(r);
                distances.push(Distance {
                    rule,
                    tier,
                    limit_w_m2,
                    averaging_min,
                    reflection,
                    distance,
                    holds: r >= near,
                });
            }
        }
    }
    Ok(Exposure { frequency, eirp, distances })
}

impl Exposure {
    /// The greatest distance for the public, with ground reflection; `None` where the formula holds for none of them.
    pub fn strictest(&self) -> Option<Metres> {
        let public = self.distances.iter().filter(|d| d.tier == Tier::Public && d.holds);
        public.map(|d| d.distance).max_by(|a, b| a.value().total_cmp(&b.value()))
    }
}

/// A distance as it is shown: a tenth more, rounded up to 0.1 m, so that rounding never brings anybody nearer.
fn shown(distance: Metres) -> String {
    format!("{:.1} m", (distance.value() * 11.0).ceil() / 10.0)
}

impl std::fmt::Display for Exposure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self.strictest() {
            Some(far) => writeln!(
                f,
                "Stay beyond {} in the main beam: the strictest of these figures for the public.",
                shown(far)
            )?,
            None => writeln!(
                f,
                "Near field: the formula gives no distance here; measure, or treat it as a portable device."
            )?,
        }
        let (mhz, watts) = (self.frequency.to_mhz(), self.eirp.value());
        writeln!(f, "{mhz} MHz, EIRP {watts:.3} W averaged over the time stated.\n")?;
        let blank = "";
        writeln!(
            f,
            "{blank:<40}{:>12}{:>10}{:>13}{:>22}",
            "limit", "averaged", "free space", "ground reflection"
        )?;
        for pair in self.distances.chunks_exact(2) {
            let tier = if pair[0].tier == Tier::Public { "public" } else { "occupational" };
            let cell = |d: &Distance| if d.holds { shown(d.distance) } else { "near field".to_owned() };
            writeln!(
                f,
                "  {:<24} {tier:<13}{:>12}{:>10}{:>13}{:>22}",
                pair[0].rule.name(),
                format!("{:.2} W/m²", pair[0].limit_w_m2),
                format!("{} min", pair[0].averaging_min),
                cell(&pair[0]),
                cell(&pair[1]),
            )?;
        }
        if self.distances.iter().all(|d| d.rule == Rule::Cfr1310) {
            writeln!(
                f,
                "  ICNIRP 2020 limits only the electric and magnetic field strengths at this frequency."
            )?;
        }
        write!(
            f,
            "\nAssumed: far field (beyond λ/2π and 0.2 m), one source, that EIRP in the direction of the person; ground\n\
             reflection multiplies the power density by 2.56; each distance shown is a tenth more than computed.\n\
             The occupational figures are for persons who are fully aware and can control their exposure.\n\
             Local rules and the site's RF plan decide. This estimate does not establish compliance or\n\
             non-compliance with any exposure limit."
        )
    }
}
