//! `azimark north`.

use std::fmt::Write as _;

use clap::Args;

use crate::{
    cli::{Failure, Outcome, files, parse},
    geodesy::{
        GridFrame, Place, Utm,
        text::{Axis, degrees},
    },
    north::{self, Compass},
    report::wrapped,
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct North {
    /// Latitude, such as 46.955, -33.9, "46°57'21\"N"
    #[arg(value_name = "LAT", allow_hyphen_values = true)]
    lat: String,
    /// Longitude, such as -118.36, "118 21 36 W"
    #[arg(value_name = "LON", allow_hyphen_values = true)]
    lon: String,
    /// Date, such as 2026-03-17
    #[arg(value_name = "DATE", value_parser = parse::date)]
    date: jiff::civil::Date,
}

impl North {
    /// Prints the three norths in words.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let lat = degrees(&self.lat, Axis::Latitude).map_err(|e| format!("latitude {}: {e}", self.lat))?;
        let lon = degrees(&self.lon, Axis::Longitude).map_err(|e| format!("longitude {}: {e}", self.lon))?;
        let place = Place::from_lat_lon_degrees(lat, lon).ok_or("there is no such place")?;
        let mut out = String::new();
        let outcome = self.magnetic(place, &mut out);
        match Utm::of(place) {
            Some(utm) => {
                let turn =
                    GridFrame::Utm { zone: utm.zone() }.convergence(place).map_err(|e| e.to_string())?;
                say(
                    &mut out,
                    &format!(
                        "Grid north (UTM zone {}) lies {} of true north. {} a bearing from grid north to make it true.",
                        utm.zone_and_band(),
                        north::in_words(turn),
                        north::correction_in_words(turn)
                    ),
                );
            }
            None => say(&mut out, "There is no UTM grid beyond 84° north and 80° south."),
        }
        let _ =
            writeln!(out, "Write M (magnetic), T (true) or G (grid) behind every bearing, such as 055°M.");
        files::print(&out)?;
        Ok(outcome)
    }

    fn magnetic(&self, place: Place, out: &mut String) -> Outcome {
        let found = match north::declination(place, self.date) {
            Ok(found) => found,
            Err(error) => {
                say(out, &format!("Magnetic north: {error}."));
                return Outcome::Short;
            }
        };
        say(
            out,
            &format!(
                "Magnetic north lies {} of true north (declination, give or take {:.1}°; World Magnetic Model 2025 at {}). \
             {} a compass bearing to make it true.",
                north::in_words(found.angle),
                found.sigma.to_degrees(),
                self.date,
                north::correction_in_words(found.angle)
            ),
        );
        if found.compass() == Compass::Unreliable {
            say(
                out,
                "The magnetic pole is near: a compass is unreliable here, and the declination changes within a \
                      few kilometres. Take bearings from landmarks or the sun.",
            );
        }
        Outcome::Answered
    }
}

fn say(out: &mut String, text: &str) {
    out.push_str(&wrapped(text, "", "  "));
}
