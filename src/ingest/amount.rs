//! Levels with their units, brought to dBm at the antenna's connector.

use crate::{
    ingest::{
        Antenna,
        columns::Columns,
        names::Field,
        sheet::{Cell, Row},
    },
    observe::{LevelUnit, Load},
    radio::convert,
    units::{Db, DbMicrovolt, DbMicrovoltPerMetre, DbPerMetre, Hertz, Ohms},
};

/// A unit as it is written: a voltage may leave its load open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Named {
    /// dBm.
    Dbm,
    /// dBµV.
    Microvolt,
    /// dBµV/m.
    MicrovoltPerMetre,
}

impl Named {
    /// The unit among the words beside a name.
    pub fn of_header(words: &[String]) -> Option<Self> {
        let has = |word: &str| words.iter().any(|w| w == word);
        let volt = VOLTS.iter().any(|v| has(v));
        let strength = volt && has("m") || VOLTS.iter().any(|v| has(&format!("{v}/m")));
        match (has("dbm"), volt, strength) {
            (true, false, false) => Some(Self::Dbm),
            (false, _, true) => Some(Self::MicrovoltPerMetre),
            (false, true, false) => Some(Self::Microvolt),
            _ => None,
        }
    }

    /// The unit of a cell.
    pub fn of_cell(text: &str) -> Option<Self> {
        let word = text.to_lowercase().replace(' ', "");
        Self::of_header(&[word])
    }

    /// With the load that a voltage needs.
    pub const fn across(self, load: Load) -> LevelUnit {
        match self {
            Self::Dbm => LevelUnit::Dbm,
            Self::Microvolt => LevelUnit::Microvolt(load),
            Self::MicrovoltPerMetre => LevelUnit::MicrovoltPerMetre,
        }
    }

    /// How it is written.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Dbm => "dBm",
            Self::Microvolt => "dBµV",
            Self::MicrovoltPerMetre => "dBµV/m",
        }
    }
}

const VOLTS: [&str; 3] = ["dbµv", "dbμv", "dbuv"];

/// The load that a header names.
pub fn load_of(columns: &Columns) -> Option<Load> {
    let fields = [Field::Level, Field::Indicated, Field::Interference];
    let words = || fields.iter().flat_map(|f| columns.words(*f));
    let has = |figures: &str| words().any(|w| w.trim_end_matches("ohm") == figures);
    match (has("50"), has("75")) {
        (true, false) => Some(Load::Ohm50),
        (false, true) => Some(Load::Ohm75),
        _ => None,
    }
}

/// dBm of a level in its unit, by the conversions of [`crate::radio`]. `None` for a field strength without an antenna, or
/// with a gain but no frequency.
pub fn dbm(value: f64, unit: LevelUnit, antenna: Option<Antenna>, mhz: Option<f64>) -> Option<f64> {
    let field = DbMicrovoltPerMetre::new(value);
    Some(match unit {
        LevelUnit::Dbm => value,
        LevelUnit::Microvolt(load) => across(DbMicrovolt::new(value), load),
        LevelUnit::MicrovoltPerMetre => match antenna? {
            Antenna::Factor(factor) => {
                let reading = convert::voltage_at_receiver(field, DbPerMetre::new(factor), Db::new(0.0));
                across(reading, Load::Ohm50)
            }
            Antenna::Gain(gain) => convert::received_power(field, Db::new(gain), Hertz::mhz(mhz?)).value(),
        },
    })
}

fn across(reading: DbMicrovolt, load: Load) -> f64 {
    convert::power(reading, Ohms::new(load.ohms())).value()
}

/// What a cell of levels holds.
pub enum Amount {
    /// A number.
    Number(f64),
    /// `<-114`: nothing above this.
    Below(f64),
    /// A word for an emitter that is off.
    Off,
}

/// Words for an emitter that was off, in four languages.
const OFF: [&str; 9] =
    ["off", "off-air", "off air", "aus", "abgeschaltet", "éteint", "arrêt", "apagado", "apagada"];

/// Reads a cell of levels; `None` after a refusal.
pub fn amount(row: &mut Row, cell: &Cell) -> Option<Amount> {
    if OFF.contains(&cell.text.to_lowercase().as_str()) {
        return Some(Amount::Off);
    }
    let (below, digits) = match cell.text.strip_prefix(['<', '≤']) {
        Some(rest) => (true, rest.trim_start()),
        None => (false, cell.text),
    };
    match row.sheet.parse(digits) {
        Some(v) if below => Some(Amount::Below(v)),
        Some(v) => Some(Amount::Number(v)),
        None => {
            let hint = "write digits only, <-114 for nothing above a floor, or off; the unit belongs into the header";
            row.told.push(cell.refuse("not-a-number", "this is no level", hint));
            None
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One volt across R is 1000/R milliwatts (Joule's law).
    #[test]
    fn a_volt_is_the_power_that_joules_law_gives() {
        for load in [Load::Ohm50, Load::Ohm75] {
            let milliwatts = 1e3 / load.ohms();
            let found = dbm(120.0, LevelUnit::Microvolt(load), None, None).unwrap();
            assert!((found - 10.0 * milliwatts.log10()).abs() < 1e-12, "{found}");
        }
    }

    /// 1 V/m is 1/(120π) W/m²; an isotropic antenna at 1 m wavelength has an area of 1/4π m².
    #[test]
    fn a_field_gives_an_antenna_its_density_times_its_area() {
        let milliwatts = 1e3 / (120.0 * std::f64::consts::PI) / (4.0 * std::f64::consts::PI);
        let gain = Some(Antenna::Gain(0.0));
        let found = dbm(120.0, LevelUnit::MicrovoltPerMetre, gain, Some(299.792_458)).unwrap();
        assert!((found - 10.0 * milliwatts.log10()).abs() < 1e-12, "{found}");
        assert_eq!(dbm(40.0, LevelUnit::MicrovoltPerMetre, gain, None), None);
        assert_eq!(dbm(40.0, LevelUnit::MicrovoltPerMetre, None, Some(100.0)), None);
        let factor = dbm(40.0, LevelUnit::MicrovoltPerMetre, Some(Antenna::Factor(12.0)), None);
        assert_eq!(factor, dbm(28.0, LevelUnit::Microvolt(Load::Ohm50), None, None));
    }
}
