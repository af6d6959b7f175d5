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
    for rule in [Rule::Cfr1310, Rule::Icnirp2020] {
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

impl std::fmt::Display for Exposure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        writeln!(
            f,
            "Distances in the main beam at {} MHz, EIRP {:.3} W, transmitting all the time:",
            self.frequency.to_mhz(),
            self.eirp.value()
        )?;
        for d in &self.distances {
            let rule = match d.rule {
                Rule::Cfr1310 => "47 CFR 1.1310",
                Rule::Icnirp2020 => "ICNIRP 2020",
            };
            let tier = if d.tier == Tier::Public { "public" } else { "occupational" };
            write!(f, "  {rule:<14} {tier:<13} ground reflection x{:<5}", d.reflection)?;
            if d.holds {
                // Rounded up, by 0.1 m or a tenth, whichever is more.
                let r = d.distance.value();
                let shown = (r * 10.0).ceil() / 10.0;
                write!(f, "stay beyond {:>6.1} m", shown.max((r * 1.1 * 10.0).floor() / 10.0))?;
            } else {
                write!(f, "near field: the formula does not hold; measure, or treat as a portable device")?;
            }
            writeln!(f, "   (limit {:.2} W/m², {} min)", d.limit_w_m2, d.averaging_min)?;
        }
        if self.distances.iter().all(|d| d.rule == Rule::Cfr1310) {
            writeln!(
                f,
                "  ICNIRP 2020 limits only the electric and magnetic field strengths at this frequency."
            )?;
        }
        writeln!(f, "Assumed: far field, one source, that EIRP in the direction of the person.")?;
        writeln!(
            f,
            "The occupational figures are for persons who are fully aware and can control their exposure."
        )?;
        write!(
            f,
            "Local rules and the site's RF plan decide. This estimate does not establish compliance or \
             non-compliance with any exposure limit."
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn metres(f: f64, eirp: f64, rule: Rule, tier: Tier, k: f64) -> f64 {
        let e = exposure(Hertz::mhz(f), Watts::new(eirp)).unwrap();
        let found = e.distances.iter().find(|d| d.rule == rule && d.tier == tier && d.reflection == k);
        found.unwrap().distance.value()
    }

    /// Computed from the formula of FCC OET Bulletin 65 in Python: 50 W into 3 dBi at 146.52 MHz.
    #[test]
    fn a_mobile_transceiver_has_its_known_distances() {
        let eirp = 50.0 * 10f64.powf(0.3);
        let far = |tier, k| metres(146.52, eirp, Rule::Cfr1310, tier, k);
        assert!((far(Tier::Public, 1.0) - 1.992_347_4).abs() < 1e-6);
        assert!((far(Tier::Public, 2.56) - 3.187_755_9).abs() < 1e-6);
        assert!((far(Tier::Occupational, 1.0) - 0.891_004_85).abs() < 1e-7);
        assert!((far(Tier::Occupational, 2.56) - 1.425_607_8).abs() < 1e-6);
    }

    /// FCC OET Bulletin 65 Supplement B, table for moon-bounce arrays: 144 MHz, 24 dBi, factor 2.56; 150 W: 90 ft,
    /// 500 W: 166 ft, 1500 W: 287 ft and 642 ft (controlled and uncontrolled), printed to the foot.
    #[test]
    fn the_supplements_table_is_reproduced_to_a_foot() {
        for (watts, tier, feet) in [
            (150.0, Tier::Occupational, 90.0),
            (500.0, Tier::Occupational, 166.0),
            (1500.0, Tier::Occupational, 287.0),
            (1500.0, Tier::Public, 642.0),
        ] {
            let found = metres(144.0, watts * 10f64.powf(2.4), Rule::Cfr1310, tier, 2.56) / 0.3048;
            assert!((found - feet).abs() < 1.0, "{watts} W: {found} ft");
        }
    }

    /// The table's pieces meet at 3, 30, 300 and 1500 MHz; only the public limit steps at 1.34 MHz, by 0.25 %.
    #[test]
    fn the_table_is_continuous_where_the_rule_is() {
        for tier in [Tier::Public, Tier::Occupational] {
            for edge in [3.0, 30.0, 300.0, 1500.0] {
                let at = |f: f64| limit(Rule::Cfr1310, tier, Hertz::mhz(f)).unwrap().0;
                assert!((at(edge * (1.0 - 1e-9)) / at(edge) - 1.0).abs() < 1e-8, "{edge}");
            }
        }
    }

    #[test]
    fn a_tiny_distance_is_called_near_field() {
        let e = exposure(Hertz::mhz(841.5), Watts::new(0.051)).unwrap();
        assert!(e.distances.iter().all(|d| !d.holds));
        assert!(e.to_string().contains("does not hold"));
        assert_eq!(
            exposure(Hertz::mhz(0.1), Watts::new(1.0)),
            Err(ExposureError::FrequencyOutsideTables(Hertz::mhz(0.1)))
        );
        assert_eq!(exposure(Hertz::mhz(100.0), Watts::new(f64::NAN)), Err(ExposureError::NoPower));
    }
}
