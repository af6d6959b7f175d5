//! Texts of a field-strength measurement as values: readings, uncertainties, assumptions.

use crate::{
    cli::parse,
    numeric::uncertainty::Shape,
    radio::{Domain, Fall, Rule},
    units::Metres,
};

/// A reading with its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stated {
    /// dBm at the receiver.
    Dbm(f64),
    /// dBµV across 50 Ω at the receiver.
    Microvolt(f64),
    /// dBµV/m: the receiver knows its antenna.
    Field(f64),
}

/// `-77.4dBm`, `29.6 dBuV`, `50.3dBuV/m`; the unit is needed.
pub fn reading(text: &str) -> Result<Stated, String> {
    let bad = || "write a level with its unit, such as -77.4dBm, 29.6dBuV or 50.3dBuV/m".to_owned();
    let plain = text.trim().replace(['µ', 'μ'], "u").replace('\u{2212}', "-");
    let at = plain.find(|c: char| c.is_alphabetic()).ok_or_else(bad)?;
    let value = parse::decibels(plain[..at].trim()).map_err(|_| bad())?;
    match plain[at..].trim().to_lowercase().as_str() {
        "dbm" => Ok(Stated::Dbm(value)),
        "dbuv" => Ok(Stated::Microvolt(value)),
        "dbuv/m" => Ok(Stated::Field(value)),
        _ => Err(bad()),
    }
}

/// A limit: `46dBuV/m`.
pub fn limit(text: &str) -> Result<f64, String> {
    match reading(text) {
        Ok(Stated::Field(value)) => Ok(value),
        _ => Err("write a field strength, such as 46dBuV/m".to_owned()),
    }
}

/// An uncertainty as it was stated.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertainty {
    /// Half-width, dB.
    pub stated: f64,
    /// What it is.
    pub shape: Shape,
    /// Degrees of freedom.
    pub freedom: f64,
}

const SPEC: &str = "write decibels and what they are: 1.5/k=2, 0.5/limits, 0.5/triangular, 0.5/u-shaped or 0.4/sd; degrees of freedom as /nu=9";

/// `1.5/k=2`, `0.5/limits`, `0.3/triangular`, `0.2/u-shaped`, `0.4/sd/nu=9`. What the figure is must be said.
pub fn uncertainty(text: &str) -> Result<Uncertainty, String> {
    let bad = || SPEC.to_owned();
    let mut parts = text.split('/').map(|p| p.trim().to_lowercase());
    let stated = parts.next().unwrap_or_default();
    let stated = parse::loss(stated.trim_start_matches('±').trim_end_matches("db")).map_err(|_| bad())?;
    let number = |t: &str| t.trim().parse::<f64>().ok().filter(|v| *v >= 1.0 && *v <= 1e6);
    let shape = match parts.next().ok_or_else(bad)?.as_str() {
        "limits" | "rectangular" => Shape::Rectangular,
        "triangular" => Shape::Triangular,
        "u-shaped" | "u" => Shape::UShaped,
        "sd" | "standard" => Shape::Standard,
        other => {
            let k = other.strip_prefix("k=").and_then(number).filter(|k| *k <= 10.0);
            Shape::Normal(k.ok_or_else(bad)?)
        }
    };
    let freedom = match parts.next() {
        None => f64::INFINITY,
        Some(nu) => nu.strip_prefix("nu=").and_then(number).ok_or_else(bad)?,
    };
    if parts.next().is_some() { Err(bad()) } else { Ok(Uncertainty { stated, shape, freedom }) }
}

/// `site=1.0/limits`: another input with its uncertainty.
pub fn named(text: &str) -> Result<(String, Uncertainty), String> {
    let (name, spec) =
        text.split_once('=').ok_or_else(|| format!("write a name before: site=1.0/limits; {SPEC}"))?;
    if name.trim().is_empty() {
        return Err("name the input: site=1.0/limits".to_owned());
    }
    Ok((name.trim().to_owned(), uncertainty(spec)?))
}

/// `0.33,0.2`: magnitudes of reflection of antenna and receiver.
pub fn reflections(text: &str) -> Result<(f64, f64), String> {
    let bad = || {
        "write two magnitudes of reflection from 0 to below 1, such as 0.33,0.2 (a standing wave ratio of 2 is 0.33)".to_owned()
    };
    let (a, b) = text.split_once(',').ok_or_else(bad)?;
    let number = |t: &str| t.trim().parse::<f64>().ok().filter(|v| (0.0..1.0).contains(v));
    Ok((number(a).ok_or_else(bad)?, number(b).ok_or_else(bad)?))
}

/// `free-space`, `exponent=3.5`.
pub fn fall(text: &str) -> Result<Fall, String> {
    let bad = || "write free-space, or a path loss exponent such as exponent=3.5".to_owned();
    if text == "free-space" {
        return Ok(Fall::FreeSpace);
    }
    let n = text.strip_prefix("exponent=").and_then(|n| n.trim().parse::<f64>().ok());
    n.filter(|n| *n > 0.0 && *n <= 10.0).map(Fall::Exponent).ok_or_else(bad)
}

/// `decibels`, `power`, `voltage`.
pub fn domain(text: &str) -> Result<Domain, String> {
    match text {
        "decibels" | "db" => Ok(Domain::Decibels),
        "power" => Ok(Domain::Power),
        "voltage" | "field" => Ok(Domain::Voltage),
        _ => Err("write decibels, power or voltage".to_owned()),
    }
}

/// A decision rule.
pub fn rule(text: &str) -> Result<Rule, String> {
    match text {
        "simple" => Ok(Rule::Simple),
        "guarded-acceptance" => Ok(Rule::GuardedAcceptance),
        "guarded-rejection" => Ok(Rule::GuardedRejection),
        "non-binary" => Ok(Rule::NonBinary),
        _ => Err("write simple, guarded-acceptance, guarded-rejection or non-binary".to_owned()),
    }
}

/// A rule in words.
pub const fn rule_in_words(rule: Rule) -> &'static str {
    match rule {
        Rule::Simple => {
            "simple acceptance, by the measured value alone, so that the risk is shared (ILAC-G8, JCGM 106)"
        }
        Rule::GuardedAcceptance => {
            "guarded acceptance: within the limit only if below it by more than U (ILAC-G8, JCGM 106)"
        }
        Rule::GuardedRejection => {
            "guarded rejection: above the limit only if over it by more than U (JCGM 106)"
        }
        Rule::NonBinary => "below by more than U, above by more than U, or neither (ILAC-G8)",
    }
}

/// A height: `2m`; like a length, and zero.
pub fn height(text: &str) -> Result<Metres, String> {
    if text.trim() == "0m" || text.trim() == "0 m" { Ok(Metres::new(0.0)) } else { parse::length(text) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_figure_is_must_be_said() {
        assert_eq!(
            uncertainty("1.5/k=2"),
            Ok(Uncertainty { stated: 1.5, shape: Shape::Normal(2.0), freedom: f64::INFINITY })
        );
        assert_eq!(
            uncertainty("±0.4 dB/sd/nu=9"),
            Ok(Uncertainty { stated: 0.4, shape: Shape::Standard, freedom: 9.0 })
        );
        for text in
            ["1.5", "1.5/k=0", "-1/limits", "1/limits/9", "1/limits/nu=9/x", "x/sd", "", "/", "1/k=nan"]
        {
            assert!(uncertainty(text).is_err(), "{text}");
        }
        assert_eq!(named("site = 1/limits").unwrap().0, "site");
        assert!(named("=1/limits").is_err() && named("site").is_err());
    }

    #[test]
    fn readings_have_units() {
        assert_eq!(reading("\u{2212}77.4 dBm"), Ok(Stated::Dbm(-77.4)));
        assert_eq!(reading("29.6dBµV"), Ok(Stated::Microvolt(29.6)));
        assert_eq!(limit("46 dBuV/m"), Ok(46.0));
        for text in ["-77.4", "dBm", "1e9dBm", "50 dBW", "nandBm"] {
            assert!(reading(text).is_err(), "{text}");
        }
        assert!(limit("46dBuV").is_err());
        assert!(reflections("1,0.2").is_err() && reflections("0.2").is_err() && fall("exponent=0").is_err());
    }
}
