//! Texts of the command line as values.

use crate::{
    geodesy::Place,
    ingest::{NorthLabel, PadIn, StatedGrid},
    observe::{LevelUnit, Load},
    radio::{Environment, ModelName, noise::Averaging},
    streets::Pace,
    units::{Angle, Hertz, Metres, Sigma, Watts},
};

/// `true`, `magnetic`, `grid`.
pub fn north(text: &str) -> Result<NorthLabel, String> {
    NorthLabel::from_word(text).ok_or_else(|| "write true, magnetic or grid".to_owned())
}

/// `EPSG:2056`, `UTM 33 north`, `33T`.
pub fn grid(text: &str) -> Result<StatedGrid, String> {
    StatedGrid::from_text(text)
        .ok_or_else(|| "write EPSG:2056, or a UTM zone such as \"UTM 33 north\" or 33T".to_owned())
}

/// An IANA time zone.
pub fn zone(text: &str) -> Result<String, String> {
    match jiff::tz::TimeZone::get(text) {
        Ok(_) => Ok(text.to_owned()),
        Err(_) => {
            Err("this time zone is not known: write an IANA name such as America/Los_Angeles".to_owned())
        }
    }
}

/// `dBm`, `dBuV`, `dBµV/m`.
pub fn level_unit(text: &str) -> Result<LevelUnit, String> {
    match text.to_lowercase().replace(['µ', 'μ'], "u").as_str() {
        "dbm" => Ok(LevelUnit::Dbm),
        "dbuv" => Ok(LevelUnit::Microvolt(Load::Ohm50)),
        "dbuv/m" => Ok(LevelUnit::MicrovoltPerMetre),
        _ => Err("write dBm, dBuV or dBuV/m".to_owned()),
    }
}

/// `added`, `not-added`.
pub fn attenuator(text: &str) -> Result<PadIn, String> {
    match text {
        "added" => Ok(PadIn::Level),
        "not-added" => Ok(PadIn::NotLevel),
        _ => Err("write added or not-added".to_owned()),
    }
}

/// `linear`, `db`.
pub fn averaging(text: &str) -> Result<Averaging, String> {
    match text {
        "linear" => Ok(Averaging::Power),
        "db" | "dB" => Ok(Averaging::Decibels),
        _ => Err("write linear where powers were averaged, db where decibels were".to_owned()),
    }
}

/// `2026-03-17`.
pub fn date(text: &str) -> Result<jiff::civil::Date, String> {
    text.parse().map_err(|_| "write the date as year-month-day, such as 2026-03-17".to_owned())
}

/// `13.9E`, `2.5W`, `13.9`, `-2.5`: east positive.
pub fn declination(text: &str) -> Result<Angle, String> {
    let bad = || "write degrees with E or W, such as 13.9E".to_owned();
    let text = text.trim().trim_end_matches('°');
    let (digits, sign) = match text.chars().last().map(|c| c.to_ascii_uppercase()) {
        Some('E') => (&text[..text.len() - 1], 1.0),
        Some('W') => (&text[..text.len() - 1], -1.0),
        _ => (text, 1.0),
    };
    let value = number(digits.trim_end().trim_end_matches('°')).ok_or_else(bad)?;
    if value.abs() > 180.0 || (value < 0.0 && digits.len() < text.len()) {
        return Err(bad());
    }
    Ok(Angle::degrees(sign * value))
}

/// Degrees above 0 and at most 90: one standard deviation.
pub fn sigma(text: &str) -> Result<Sigma<Angle>, String> {
    let value = number(text).filter(|v| *v <= 90.0);
    value.and_then(Sigma::<Angle>::degrees).ok_or_else(|| "write degrees above 0, such as 0.5".to_owned())
}

/// Degrees from 1 to 180: a beamwidth.
pub fn beamwidth(text: &str) -> Result<Angle, String> {
    let value = number(text.trim().trim_end_matches('°')).filter(|v| (1.0..=180.0).contains(v));
    value.map(Angle::degrees).ok_or_else(|| "write degrees from 1 to 180, such as 60".to_owned())
}

/// `30km`, `500m`; the unit is needed.
pub fn length(text: &str) -> Result<Metres, String> {
    let (value, unit) = with_unit(text).ok_or("write a length such as 30km or 500m")?;
    let metres = match unit.to_lowercase().as_str() {
        "km" => 1e3 * value,
        "m" => value,
        _ => return Err("write a length in m or km, such as 30km".to_owned()),
    };
    if metres > 0.0 { Ok(Metres::new(metres)) } else { Err("a length is above zero".to_owned()) }
}

/// `841.5MHz`, `162 kHz`, `2.4GHz`; the unit is needed.
pub fn frequency(text: &str) -> Result<Hertz, String> {
    let bad = "write a frequency with its unit, such as 841.5MHz";
    let (value, unit) = with_unit(text).ok_or(bad)?;
    let factor = match unit.to_lowercase().as_str() {
        "hz" => 1.0,
        "khz" => 1e3,
        "mhz" => 1e6,
        "ghz" => 1e9,
        _ => return Err(bad.to_owned()),
    };
    if value > 0.0 { Ok(Hertz::new(factor * value)) } else { Err(bad.to_owned()) }
}

/// `60dBm`, `30dBW`, `50W`, `200 mW`, `1kW`; the unit is needed.
pub fn power(text: &str) -> Result<Watts, String> {
    let bad = "write a power with its unit, such as 60dBm, 50W or 200mW";
    let (value, unit) = with_unit(text).ok_or(bad)?;
    let watts = match unit {
        "dBm" | "dbm" | "DBM" => 10f64.powf((value - 30.0) / 10.0),
        "dBW" | "dbw" | "DBW" => 10f64.powf(value / 10.0),
        "W" | "w" => value,
        "mW" | "mw" => 1e-3 * value,
        "kW" | "kw" | "KW" => 1e3 * value,
        _ => return Err(bad.to_owned()),
    };
    if watts > 0.0 && watts.is_finite() { Ok(Watts::new(watts)) } else { Err(bad.to_owned()) }
}

/// `20`, `20 %`: above 0 and at most 100, as a fraction.
pub fn percent(text: &str) -> Result<f64, String> {
    let value = number(text.trim().trim_end_matches('%')).filter(|v| *v > 0.0 && *v <= 100.0);
    value.map(|v| v / 100.0).ok_or_else(|| "write a share above 0 and at most 100, such as 20".to_owned())
}

/// `0`, `20`, `20 %`: from 0 to 100, as a fraction.
pub fn share(text: &str) -> Result<f64, String> {
    let value = number(text.trim().trim_end_matches('%')).filter(|v| (0.0..=100.0).contains(v));
    value.map(|v| v / 100.0).ok_or_else(|| "write a share from 0 to 100, such as 20".to_owned())
}

/// A kind of place.
pub fn environment(text: &str) -> Result<Environment, String> {
    let words: Vec<&str> = Environment::ALL.iter().map(|e| e.word()).collect();
    Environment::named(text).ok_or_else(|| format!("write one of {}", words.join(", ")))
}

/// A model of the loss over distance.
pub fn model(text: &str) -> Result<ModelName, String> {
    let words: Vec<&str> = ModelName::ALL.iter().map(|m| m.word()).collect();
    ModelName::named(text).ok_or_else(|| format!("write one of {}", words.join(", ")))
}

/// `30m,1.5m`: two heights above ground, the greater one first.
pub fn heights(text: &str) -> Result<(Metres, Metres), String> {
    let bad = || "write two heights, the higher antenna's first, such as 30m,1.5m".to_owned();
    let (upper, lower) = text.split_once(',').ok_or_else(bad)?;
    let heights = (length(upper.trim())?, length(lower.trim())?);
    if heights.0.value() < heights.1.value() { Err(bad()) } else { Ok(heights) }
}

/// A number of decibels or of a level, within what either can be.
pub fn decibels(text: &str) -> Result<f64, String> {
    let bad = || "write a number between -300 and 300, such as -114".to_owned();
    number(&text.replace('\u{2212}', "-")).filter(|v| v.abs() <= 300.0).ok_or_else(bad)
}

/// A loss: decibels from 0 to 200.
pub fn loss(text: &str) -> Result<f64, String> {
    let bad = || "write a positive number of dB, at most 200, such as 2.5".to_owned();
    number(text).filter(|v| (0.0..=200.0).contains(v)).ok_or_else(bad)
}

/// Seconds either way, at most a year of them.
pub fn seconds(text: &str) -> Result<f64, String> {
    let text = text.replace('\u{2212}', "-");
    let value = number(text.trim().trim_end_matches('s')).filter(|v| v.abs() <= 31_557_600.0);
    value.ok_or_else(|| "write seconds, such as 37 or -12.5".to_owned())
}

/// `46.955,-118.36`: latitude and longitude in degrees.
pub fn place(text: &str) -> Result<Place, String> {
    let bad = || "write latitude and longitude in degrees, such as 46.955,-118.36".to_owned();
    let (lat, lon) = text.split_once(',').ok_or_else(bad)?;
    let value = |t: &str| number(&t.replace('\u{2212}', "-"));
    let (lat, lon) = (value(lat).ok_or_else(bad)?, value(lon).ok_or_else(bad)?);
    Some(lon)
        .filter(|l| l.abs() <= 180.0)
        .and_then(|lon| Place::from_lat_lon_degrees(lat, lon))
        .ok_or_else(bad)
}

/// A speed in km/h: above 0 and at most 200.
pub fn speed(text: &str) -> Result<Pace, String> {
    let value = number(text).filter(|v| *v > 0.0 && *v <= 200.0);
    let pace = value.and_then(|v| Pace::metres_a_minute(v * 1e3 / 60.0));
    pace.ok_or_else(|| "write km/h above 0 and at most 200, such as 4.8".to_owned())
}

fn number(text: &str) -> Option<f64> {
    text.trim().replace(',', ".").parse::<f64>().ok().filter(|v| v.is_finite())
}

/// A finite number and what follows it.
fn with_unit(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let end = text.find(|c: char| c.is_alphabetic()).unwrap_or(text.len());
    Some((number(&text[..end])?, text[end..].trim()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_are_read_and_what_has_none_is_refused() {
        assert_eq!(frequency("841.5MHz").map(Hertz::value), Ok(841.5e6));
        assert_eq!(frequency("0,162 GHz").map(Hertz::value), Ok(0.162e9));
        assert!((power("60dBm").unwrap().value() - 1000.0).abs() < 1e-9);
        assert_eq!(power("200 mW").map(Watts::value), Ok(0.2));
        assert_eq!(length("30km").map(Metres::value), Ok(30_000.0));
        for text in ["841.5", "MHz", "-1MHz", "nanMHz", "infMHz", "1 furlong", ""] {
            assert!(frequency(text).is_err() && power(text).is_err(), "{text}");
        }
        assert!(length("0m").is_err() && length("-5km").is_err());
    }

    #[test]
    fn offsets_losses_and_levels_are_bounded() {
        assert_eq!(seconds("-12,5 s"), Ok(-12.5));
        assert_eq!((decibels("\u{2212}114"), loss("2.5")), (Ok(-114.0), Ok(2.5)));
        for text in ["", "s", "inf", "NaN", "1e9", "soon"] {
            assert!(seconds(text).is_err() && decibels(text).is_err() && loss(text).is_err(), "{text}");
        }
        assert!(loss("-3").is_err());
    }

    #[test]
    fn a_declination_says_east_or_west() {
        let degrees = |t: &str| declination(t).map(|a| a.to_degrees());
        assert!((degrees("13.9E").unwrap() - 13.9).abs() < 1e-12);
        assert!((degrees("2,5° w").unwrap() + 2.5).abs() < 1e-12);
        assert!((degrees("-2.5").unwrap() + 2.5).abs() < 1e-12);
        assert!(declination("-2.5W").is_err() && declination("east").is_err() && declination("").is_err());
    }
}
