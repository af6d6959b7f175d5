//! What is stated for all files, in words and numbers that survive JSON.

use serde::{Deserialize, Serialize};

use crate::{
    ingest::{Antenna, LevelSettings, NorthLabel, PadIn, Settings, StatedGrid},
    inquiry::Stated,
    north,
    observe::{LevelUnit, Load},
    radio::{Environment, noise::Averaging},
    units::{Angle, Hertz, Metres, Sigma},
};

/// The twin of [`Stated`]. Members that are absent were not stated.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Conditions {
    /// `true`, `magnetic` or `grid`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub north: Option<String>,
    /// Time zone of times without an offset.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// Grid of eastings and northings, such as `EPSG:2056` or `33T`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub grid: Option<String>,
    /// Date of bearings without one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<jiff::civil::Date>,
    /// Declination by hand, east positive.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub declination_deg: Option<f64>,
    /// Its standard deviation.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub declination_sigma_deg: Option<f64>,
    /// What the log's clock is slow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub clock_offset_s: Option<f64>,
    /// Kind of place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub environment: Option<String>,
    /// The frequency.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub frequency_hz: Option<f64>,
    /// How far from the stands to search.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub within_m: Option<f64>,
    /// `dbm`, `dbuv` or `dbuv/m`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub level_unit: Option<String>,
    /// Whether a column of levels holds the attenuator already.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub attenuator_added: Option<bool>,
    /// Antenna factor.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub antenna_factor_db: Option<f64>,
    /// Gain of the antenna.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub antenna_gain_dbi: Option<f64>,
    /// Loss of the cable.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cable_loss_db: Option<f64>,
    /// Floor of the receiver, in the unit of the levels.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub floor: Option<f64>,
    /// Whether levels of sectors are means of decibels instead of powers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub averaged_in_decibels: Option<bool>,
}

const UNITS: [(LevelUnit, &str); 3] = [
    (LevelUnit::Dbm, "dbm"),
    (LevelUnit::Microvolt(Load::Ohm50), "dbuv"),
    (LevelUnit::MicrovoltPerMetre, "dbuv/m"),
];

const ENVIRONMENTS: [Environment; 5] =
    [Environment::Open, Environment::Suburban, Environment::Urban, Environment::Street, Environment::Indoor];

impl Conditions {
    /// The twin of what is stated.
    pub fn of(stated: &Stated) -> Self {
        let levels = &stated.settings.levels;
        let declination = stated.north.declination;
        Self {
            north: stated.settings.north.map(|n| n.word().to_owned()),
            zone: stated.settings.zone.clone(),
            grid: stated.settings.grid.map(grid_text),
            date: stated.north.date,
            declination_deg: declination.map(|(d, _)| d.to_degrees()),
            declination_sigma_deg: declination.map(|(_, s)| s.to_degrees()),
            clock_offset_s: stated.clock_offset,
            environment: stated.environment.map(|e| e.word().to_owned()),
            frequency_hz: stated.frequency.map(Hertz::value),
            within_m: stated.within.map(Metres::value),
            level_unit: levels
                .unit
                .and_then(|u| UNITS.iter().find(|(unit, _)| *unit == u))
                .map(|(_, word)| (*word).to_owned()),
            attenuator_added: levels.attenuator.map(|p| p == PadIn::Level),
            antenna_factor_db: match levels.antenna {
                Some(Antenna::Factor(factor)) => Some(factor),
                _ => None,
            },
            antenna_gain_dbi: match levels.antenna {
                Some(Antenna::Gain(gain)) => Some(gain),
                _ => None,
            },
            cable_loss_db: levels.cable_loss,
            floor: levels.floor,
            averaged_in_decibels: stated.settings.averaging.map(|a| a == Averaging::Decibels),
        }
    }

    /// What is stated.
    ///
    /// # Errors
    /// In a sentence, where a word or number has no meaning.
    pub fn stated(&self) -> Result<Stated, String> {
        let no = |what: &str, text: &str| format!("\"{text}\" is no {what}.");
        let word =
            |what: &str, text: &Option<String>| text.as_deref().map(|t| (what.to_owned(), t.to_owned()));
        let north = match word("north", &self.north) {
            Some((what, t)) => Some(NorthLabel::from_word(&t).ok_or_else(|| no(&what, &t))?),
            None => None,
        };
        let grid = match word("grid", &self.grid) {
            Some((what, t)) => Some(StatedGrid::from_text(&t).ok_or_else(|| no(&what, &t))?),
            None => None,
        };
        let environment = match word("kind of place", &self.environment) {
            Some((what, t)) => {
                let found = ENVIRONMENTS.into_iter().find(|e| e.word() == t);
                Some(found.ok_or_else(|| no(&what, &t))?)
            }
            None => None,
        };
        let unit = match word("unit of levels", &self.level_unit) {
            Some((what, t)) => {
                let found = UNITS.iter().find(|(_, w)| *w == t).map(|(u, _)| *u);
                Some(found.ok_or_else(|| no(&what, &t))?)
            }
            None => None,
        };
        let factor = self.antenna_factor_db.map(Antenna::Factor);
        let levels = LevelSettings {
            unit,
            attenuator: self.attenuator_added.map(|added| if added { PadIn::Level } else { PadIn::NotLevel }),
            antenna: factor.or(self.antenna_gain_dbi.map(Antenna::Gain)),
            cable_loss: self.cable_loss_db,
            floor: self.floor,
        };
        let in_decibels = |d| if d { Averaging::Decibels } else { Averaging::Power };
        let settings = Settings {
            north,
            zone: self.zone.clone(),
            grid,
            levels,
            averaging: self.averaged_in_decibels.map(in_decibels),
            ..Settings::default()
        };
        Ok(Stated {
            settings,
            north: north::Settings { date: self.date, declination: self.declination() },
            clock_offset: self.clock_offset_s,
            environment,
            frequency: self.frequency_hz.map(Hertz::new),
            within: self.within_m.map(Metres::new),
        })
    }

    fn declination(&self) -> Option<(Angle, Sigma<Angle>)> {
        let sigma = Sigma::<Angle>::degrees(self.declination_sigma_deg.unwrap_or(0.5))?;
        Some((Angle::degrees(self.declination_deg?), sigma))
    }
}

fn grid_text(grid: StatedGrid) -> String {
    match grid {
        StatedGrid::Epsg(code) => format!("EPSG:{code}"),
        StatedGrid::Utm { zone, letter: '+' } => format!("UTM {zone} north"),
        StatedGrid::Utm { zone, letter: '-' } => format!("UTM {zone} south"),
        StatedGrid::Utm { zone, letter } => format!("{zone}{letter}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_stated_survives_json() {
        for (north, grid, unit, environment) in [
            (NorthLabel::Magnetic, "33T", LevelUnit::Dbm, Environment::Street),
            (NorthLabel::Grid, "EPSG:2056", LevelUnit::Microvolt(Load::Ohm50), Environment::Indoor),
            (NorthLabel::True, "UTM 33 south", LevelUnit::MicrovoltPerMetre, Environment::Open),
        ] {
            let levels = LevelSettings {
                unit: Some(unit),
                attenuator: Some(PadIn::NotLevel),
                antenna: Some(Antenna::Gain(9.0)),
                cable_loss: Some(1.5),
                floor: Some(-114.0),
            };
            let stated = Stated {
                settings: Settings {
                    north: Some(north),
                    zone: Some("America/Los_Angeles".to_owned()),
                    grid: StatedGrid::from_text(grid),
                    levels,
                    averaging: Some(Averaging::Decibels),
                    ..Settings::default()
                },
                north: north::Settings {
                    date: Some(jiff::civil::date(2026, 3, 17)),
                    declination: Some((Angle::degrees(-2.5), Sigma::<Angle>::degrees(0.3).unwrap())),
                },
                clock_offset: Some(-4.5),
                environment: Some(environment),
                frequency: Some(Hertz::mhz(841.5)),
                within: Some(Metres::new(3e4)),
            };
            let text = serde_json::to_string(&Conditions::of(&stated)).unwrap();
            let back = serde_json::from_str::<Conditions>(&text).unwrap().stated().unwrap();
            assert_eq!(back.settings, stated.settings);
            assert_eq!(back.north.date, stated.north.date);
            // Degrees to radians and back may differ in the last bit.
            let turned = |s: &Stated| s.north.declination.map(|(d, s)| (d.to_degrees(), s.to_degrees()));
            let (a, b) = (turned(&back).unwrap(), turned(&stated).unwrap());
            assert!((a.0 - b.0).abs() < 1e-12 && (a.1 - b.1).abs() < 1e-12);
            assert_eq!(
                (back.clock_offset, back.environment, back.frequency, back.within),
                (stated.clock_offset, stated.environment, stated.frequency, stated.within)
            );
        }
        assert_eq!(Conditions::default().stated().unwrap().settings, Settings::default());
    }

    #[test]
    fn a_word_without_meaning_is_named() {
        let strange = Conditions { north: Some("up".to_owned()), ..Conditions::default() };
        assert_eq!(strange.stated().unwrap_err(), "\"up\" is no north.");
    }
}
