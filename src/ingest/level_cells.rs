//! Cells of a row of levels: unit, fix, antenna, bandwidth, error of the position.

use crate::{
    ingest::{
        Antenna,
        amount::{Named, load_of},
        level_once::Told,
        measure::bandwidth,
        names::Field,
        position::Position,
        sheet::{Cell, Row},
    },
    observe::{FixKind, FixQuality, LevelUnit, Load},
    units::{Hertz, Metres, Sigma},
};

/// The unit of a level: of its header, else of the row, else the caller's. It is never guessed from the number.
pub fn unit(told: &mut Told, row: &mut Row, field: Field, cell: &Cell) -> Option<LevelUnit> {
    let header = Named::of_header(row.sheet.columns.words(field));
    let own = match row.cell(Field::Unit) {
        Some(unit) => match Named::of_cell(unit.text) {
            None => {
                row.told.push(unit.refuse("unit-unknown", "this is no unit of levels", UNIT_HINT));
                return None;
            }
            Some(own) if header.is_some_and(|h| h != own) => {
                let message = format!("the header says {}", header.map_or("", Named::word));
                row.told.push(unit.refuse("units-differ", message, "correct the one that is wrong"));
                return None;
            }
            own => own,
        },
        None => None,
    };
    let stated = row.sheet.settings.levels.unit.map(|u| match u {
        LevelUnit::Dbm => Named::Dbm,
        LevelUnit::Microvolt(_) => Named::Microvolt,
        LevelUnit::MicrovoltPerMetre => Named::MicrovoltPerMetre,
    });
    let Some(named) = header.or(own).or(stated) else {
        told.without_unit.add(row.line);
        told.example.get_or_insert_with(|| cell.text.to_owned());
        return None;
    };
    told.stated_unused |= stated.is_some_and(|s| s != named);
    let by_caller = match row.sheet.settings.levels.unit {
        Some(LevelUnit::Microvolt(load)) => Some(load),
        _ => None,
    };
    let load = load_of(row.sheet.columns).or(by_caller);
    told.load_assumed |= load.is_none() && named != Named::Dbm;
    Some(named.across(load.unwrap_or(Load::Ohm50)))
}

/// How well the place was known.
pub fn fix(told: &mut Told, row: &mut Row) -> FixQuality {
    let why = "a dilution of precision lies above 0 and below 100";
    let hint = "leave the cell empty where it is not known";
    let hdop = row.number_in(Field::Hdop, f64::MIN_POSITIVE..100.0, "hdop-out-of-range", why, hint);
    let satellites = row.number_in(Field::Satellites, 0.0..=200.0, "satellites", "nobody sees so many", hint);
    FixQuality { kind: kind(told, row), hdop, satellites: satellites.map(|s| s as u32) }
}

fn kind(told: &mut Told, row: &mut Row) -> Option<FixKind> {
    let cell = row.cell(Field::Fix)?;
    let number = cell.text.parse::<u64>().ok();
    told.fix_numbers |= number.is_some();
    let kind = number.map_or_else(|| FixKind::of_word(cell.text), FixKind::of_gga);
    if kind.is_none() {
        let hint = "write the number of NMEA's GGA (0 to 8), or none, 2d, 3d, dgps, pps";
        row.told.push(cell.doubt("fix-unknown", "this is no kind of fix: taken as not stated", hint));
    }
    kind
}

/// What to write in a column of units.
const UNIT_HINT: &str = "write dBm, dBµV or dBµV/m";

/// The unit with a voltage across 50 Ω, to compare units whatever the load.
pub fn across_50(unit: LevelUnit) -> LevelUnit {
    if matches!(unit, LevelUnit::Microvolt(_)) { LevelUnit::Microvolt(Load::Ohm50) } else { unit }
}

/// A positive number of decibels.
pub fn decibels(row: &mut Row, field: Field, why: &str) -> Option<f64> {
    row.number_in(field, 0.0..=200.0, "decibels-out-of-range", why, "write it as a positive number of dB")
}

/// The antenna of a field strength: of the row, else the caller's.
pub fn antenna(row: &mut Row) -> Option<Antenna> {
    let factor = row.number(Field::AntennaFactor).map(Antenna::Factor);
    let gain = factor.is_none().then(|| row.number(Field::Gain)).flatten().map(Antenna::Gain);
    factor.or(gain).or(row.sheet.settings.levels.antenna)
}

/// The stated error of the position, together with what its writing adds.
pub fn sigma(row: &mut Row, at: Option<Position>) -> Option<Sigma<Metres>> {
    let why = "an error of the position lies above zero and at most at 100000";
    let hint = "write one standard deviation in metres, or leave the cell empty";
    let stated = row.number_in(Field::PositionSigma, f64::MIN_POSITIVE..=1e5, "position-error", why, hint);
    let written = at.map_or(0.0, |p| p.sigma);
    match stated {
        Some(metres) => Sigma::<Metres>::metres(metres.hypot(written)),
        None if written > 10.0 => Sigma::<Metres>::metres(written),
        None => None,
    }
}

/// The resolution bandwidth: a column of its own, or a word in the level's header.
pub fn width(row: &mut Row) -> Option<Hertz> {
    let why = "no receiver has this bandwidth";
    let hint = "write it in MHz, or name the unit in the header, such as rbw_khz";
    let own = row.number_in(Field::Bandwidth, f64::MIN_POSITIVE..=1e5, "bandwidth-out-of-range", why, hint);
    let columns = row.sheet.columns;
    let fields = [Field::Level, Field::Indicated, Field::Interference, Field::Floor];
    let mut words = fields.iter().flat_map(|f| columns.words(*f));
    own.or_else(|| words.find_map(|w| bandwidth(w))).map(Hertz::mhz)
}
