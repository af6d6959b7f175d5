//! What a sector heard: floor, level, rise and interference of a row, brought together.

use crate::{
    ingest::{
        amount::{Amount, amount, dbm},
        level_cells::unit,
        level_once::Told,
        levels::SENSIBLE_DBM,
        names::Field,
        sector_once::SectorOnce,
        sheet::{Cell, Row},
    },
    observe::Level,
    radio::noise::{Averaging, Rise},
    units::{Db, Dbm},
};

/// What the row tells about levels.
pub struct Heard {
    /// Level without the interference.
    pub floor: Option<Dbm>,
    /// Level with it, as measured.
    pub total: Option<Dbm>,
    /// Level above floor.
    pub rise: Option<Db>,
    /// The interference alone.
    pub interference: Level,
}

/// A number with half of its last digit's step.
#[derive(Clone, Copy)]
struct Rounded {
    value: f64,
    half: f64,
    /// Whether it was written as a limit, `<0.5`.
    below: bool,
}

/// A rise beyond these is none: no receiver's floor falls or rises by so much. Common practice, no source.
const SENSIBLE_RISE: std::ops::RangeInclusive<f64> = -20.0..=120.0;

/// A level below its floor by more than this, beside rounding, makes the floor doubtful. Common practice, no source.
const FLOOR_DRIFT_DB: f64 = 1.0;

/// Reads it; `None` after a refusal. The interference by itself counts first, then the rise, then the level.
pub fn heard(row: &mut Row, units: &mut Told, told: &mut SectorOnce) -> Option<Heard> {
    let floor = power(row, units, Field::Floor)?;
    let total = power(row, units, Field::Level)?;
    let rise = rise(row)?;
    let alone = power(row, units, Field::Interference)?;
    let above = |level: Rounded| {
        floor.map(|f| Rounded { value: level.value - f.value, half: level.half + f.half, ..level })
    };
    let lifted = rise.or(total.and_then(above));
    let interference = match (alone, lifted, floor) {
        (Some(alone), ..) => level(alone),
        (None, Some(lifted), Some(floor)) => {
            if lifted.value < -lifted.half - FLOOR_DRIFT_DB {
                let message = format!("the level lies {:.1} dB below its floor", -lifted.value);
                doubt(row, "rise-negative", message, "is the floor right? taken as not above the floor");
            }
            told.alone_in_level |= rise.is_none();
            split(floor.value, lifted)
        }
        (None, None, _) if total.is_none() => {
            let hint = "write the noise rise, the level or the interference, or leave the row out";
            row.refuse("level-missing", "the row has neither a rise nor a level", hint);
            return None;
        }
        _ => {
            let hint = "write the receiver's noise floor in a column noise_floor_dbm, or the interference alone in interference_dbm";
            row.refuse(
                "floor-missing",
                "without the floor nothing tells how much of it is interference",
                hint,
            );
            return None;
        }
    };
    if let (Some(floor), Some(rise)) = (floor, rise) {
        agree(row, told, [floor, rise], total, alone);
    }
    let lift = |i: f64| floor.map(|f| Db::of_ratio(1.0 + Db::new(i - f.value).to_ratio()));
    let rise = match alone {
        Some(alone) => lift(alone.value),
        None => lifted.map(|l| Db::new(l.value)),
    };
    let dbm = |r: Option<Rounded>| r.map(|r| Dbm::new(r.value));
    Some(Heard { floor: dbm(floor), total: dbm(total), rise, interference })
}

fn level(found: Rounded) -> Level {
    let level = Dbm::new(found.value);
    if found.below { Level::BelowFloor(level) } else { Level::Measured(level) }
}

/// The interference of a rise above a floor. Below half of the last digit the rise tells only that there is no more than
/// that.
fn split(floor: f64, rise: Rounded) -> Level {
    let seen = rise.value > rise.half && !rise.below;
    let most = if seen { rise.value } else { rise.value.max(rise.half) };
    match alone(floor, most) {
        Some(level) if seen => Level::Measured(level),
        // A limit of nothing at all cannot be: `half` is above zero.
        found => Level::BelowFloor(found.unwrap_or(Dbm::new(floor))),
    }
}

/// I = N + 10 log10(10^(R/10) − 1), for an interferer that is always on; then means of powers and of decibels agree.
fn alone(floor: f64, rise: f64) -> Option<Dbm> {
    Rise { floor: Dbm::new(floor), share: 1.0, averaging: Averaging::Power }.interference(Db::new(rise))
}

/// Doubts a level or an interference that the floor and the rise contradict by more than rounding explains.
fn agree(
    row: &mut Row,
    told: &mut SectorOnce,
    [floor, rise]: [Rounded; 2],
    total: Option<Rounded>,
    stated: Option<Rounded>,
) {
    if rise.below {
        return;
    }
    // A billionth is left for the sums themselves.
    let apart = |a: f64, b: f64, rounding: f64| (a - b).abs() > rounding + 1e-9;
    let of_rise = alone(floor.value, rise.value).map(Dbm::value);
    // A tenth of rise is a tenth of level at high rises and much of it at low ones.
    let slope = 1.0 / (1.0 - Db::new(-rise.value).to_ratio());
    let rounding = |other: Rounded| other.half + floor.half + rise.half * slope;
    if let Some(total) = total.filter(|t| !t.below) {
        let sum = floor.value + rise.value;
        let with_noise = !apart(total.value, sum, total.half + floor.half + rise.half);
        let without = of_rise.is_some_and(|i| !apart(total.value, i, rounding(total)));
        if !with_noise && !without {
            let message =
                format!("floor and rise give {sum:.1} dBm, and the level is {:.1} dBm", total.value);
            doubt_at(row, Field::Level, "level-and-rise-differ", message, "the rise is used: check the row");
        }
        told.without_noise |= without && !with_noise;
    }
    if let Some((stated, found)) = stated.filter(|s| !s.below).zip(of_rise).filter(|_| rise.value > rise.half)
        && apart(stated.value, found, rounding(stated))
    {
        let message = format!(
            "floor and rise give {found:.1} dBm of interference, and it is written as {:.1} dBm",
            stated.value
        );
        let hint = "the interference is used as written: check the row";
        doubt_at(row, Field::Interference, "interference-and-rise-differ", message, hint);
    }
}

fn doubt(row: &mut Row, code: &'static str, message: String, hint: &str) {
    let field = if row.cell(Field::Rise).is_some() { Field::Rise } else { Field::Level };
    doubt_at(row, field, code, message, hint);
}

fn doubt_at(row: &mut Row, field: Field, code: &'static str, message: String, hint: &str) {
    if let Some(cell) = row.cell(field) {
        row.told.push(cell.doubt(code, message, hint));
    }
}

/// A level in dBm; the outer option is `None` after a refusal.
fn power(row: &mut Row, units: &mut Told, field: Field) -> Option<Option<Rounded>> {
    let Some(cell) = row.cell(field) else { return Some(None) };
    let unit = unit(units, row, field, &cell)?;
    let (value, below) = number(row, &cell)?;
    let Some(level) = dbm(value, unit, row.sheet.settings.levels.antenna, None) else {
        let hint = "write it in dBm, as the receiver counts it";
        row.told.push(cell.refuse(
            "field-strength",
            "a sector's level is a power, not a field strength",
            hint,
        ));
        return None;
    };
    if !SENSIBLE_DBM.contains(&level) {
        let message = format!("this is {level:.1} dBm: no receiver reads that");
        row.told.push(cell.refuse("level-out-of-range", message, "check the number and its unit"));
        return None;
    }
    if below && field == Field::Floor {
        row.told.push(cell.refuse("not-a-number", "this is no floor", "write digits only"));
        return None;
    }
    Some(Some(Rounded { value: level, half: half_step(cell.text), below }))
}

fn rise(row: &mut Row) -> Option<Option<Rounded>> {
    let Some(cell) = row.cell(Field::Rise) else { return Some(None) };
    let (value, below) = number(row, &cell)?;
    if !SENSIBLE_RISE.contains(&value) {
        let message = format!("a noise rise of {value:.1} dB is none");
        row.told.push(cell.refuse("rise-out-of-range", message, "check the number: is it a level?"));
        return None;
    }
    Some(Some(Rounded { value, half: half_step(cell.text), below }))
}

/// The number of a cell, and whether it is a limit.
fn number(row: &mut Row, cell: &Cell) -> Option<(f64, bool)> {
    match amount(row, cell)? {
        Amount::Number(value) => Some((value, false)),
        Amount::Below(value) => Some((value, true)),
        Amount::Off => {
            let message = "the sector was off: it heard nothing";
            row.told.push(cell.refuse("sector-off", message, "leave the row out"));
            None
        }
    }
}

/// Half of the step of a number's last digit: 0.05 for `16.7`, 0.5 for `17`. Numbers with an exponent have none that
/// shows; they count as written to the unit.
fn half_step(text: &str) -> f64 {
    let digits =
        text.rsplit_once(['.', ',']).map_or(0, |(_, d)| d.bytes().take_while(u8::is_ascii_digit).count());
    0.5 * 10f64.powi(-(digits.min(12) as i32))
}

/// Words for a mean of powers and for one of decibels, in four languages.
const POWER: [&str; 12] = [
    "linear",
    "lin",
    "power",
    "powers",
    "mw",
    "w",
    "leistung",
    "linéaire",
    "lineaire",
    "puissance",
    "lineal",
    "potencia",
];
const DECIBELS: [&str; 9] = [
    "db",
    "dbm",
    "log",
    "logarithmic",
    "decibels",
    "dezibel",
    "logarithmisch",
    "logarithmique",
    "logarítmico",
];

/// How the level was averaged: as the row says, else as the caller.
pub fn averaging(row: &mut Row, told: &mut SectorOnce) -> Option<Averaging> {
    let mut found = row.sheet.settings.averaging;
    if let Some(cell) = row.cell(Field::Averaging) {
        let word = cell.text.to_lowercase();
        found = match word.as_str() {
            w if POWER.contains(&w) => Some(Averaging::Power),
            w if DECIBELS.contains(&w) => Some(Averaging::Decibels),
            _ => {
                let hint = "write linear where powers were averaged, dB where decibels were";
                row.told.push(cell.doubt(
                    "averaging-unknown",
                    "this is no way of averaging: taken as not stated",
                    hint,
                ));
                None
            }
        };
    }
    told.averaged(found);
    found
}
