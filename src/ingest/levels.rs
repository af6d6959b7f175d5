//! Rows of a log of levels.

use std::{collections::BTreeSet, sync::Arc};

use csv::StringRecord;

use crate::{
    ingest::{
        PadIn,
        amount::{Amount, Named, amount, dbm},
        level_cells::{across_50, antenna, decibels, fix, sigma, unit, width},
        level_once::Told,
        log::Log,
        names::Field,
        once::Once,
        position::{Position, position},
        row::{frequency, left_out},
        shared::{fitting, time, told},
        sheet::{Row, Sheet},
    },
    observe::{Level, LevelReading, LevelUnit, Load, RawLevel, Written},
    units::{Db, Dbm, Hertz, Metres},
};

/// Reads the rows of a sheet and remembers what has to be told once for all of them.
pub struct Reader<'a> {
    sheet: &'a Sheet<'a>,
    file: Arc<str>,
    devices: BTreeSet<Arc<str>>,
    once: Once,
    told: Told,
    rows: usize,
}

/// More receivers than this do not share their names; no survey has them.
const MOST_DEVICES: usize = 10_000;

/// Levels beyond these are no readings of a receiver: a thousandth of the thermal noise in 1 Hz (−174 dBm), and a
/// kilowatt. Common practice, no source.
pub const SENSIBLE_DBM: std::ops::RangeInclusive<f64> = -204.0..=60.0;

/// A level with what belongs to it.
struct Found {
    level: Level,
    raw: Option<RawLevel>,
    in_raw: bool,
    floor: Option<Dbm>,
}

impl<'a> Reader<'a> {
    /// A reader that has seen nothing yet.
    pub fn new(sheet: &'a Sheet<'a>) -> Self {
        let (devices, once, told) = <(BTreeSet<_>, Once, Told)>::default();
        Self { sheet, file: sheet.name.into(), devices, once, told, rows: 0 }
    }

    /// The level of a row, or findings that say why there is none.
    pub fn read(&mut self, record: &StringRecord, line: u64, log: &mut Log) -> Option<LevelReading> {
        self.read_with(record, line, log, |_, _, _| Some(())).map(|(reading, ())| reading)
    }

    /// The level of a row with what else `also` finds in it; neither where one of them refuses the row.
    pub fn read_with<T>(
        &mut self,
        record: &StringRecord,
        line: u64,
        log: &mut Log,
        also: impl FnOnce(&mut Row, &LevelReading, &mut Once) -> Option<T>,
    ) -> Option<(LevelReading, T)> {
        let record = fitting(self.sheet, record, line, log)?;
        self.once.unnamed(self.sheet.columns, &record);
        let mut row = Row { sheet: self.sheet, record: &record, line, told: Vec::new() };
        if left_out(&mut row) {
            told(row.told, &mut self.once, log);
            return None;
        }
        let reading = self.reading(&mut row);
        let reading = reading.and_then(|reading| {
            let more = also(&mut row, &reading, &mut self.once)?;
            Some((reading, more))
        });
        let sound = told(row.told, &mut self.once, log);
        let reading = reading.filter(|_| sound);
        self.rows += usize::from(reading.is_some());
        reading
    }

    /// What there is to tell about the whole file.
    pub fn finish(self, log: &mut Log) {
        self.told.tell(self.sheet, log);
        self.once.tell(self.sheet.name, self.rows > 0, log);
    }

    fn reading(&mut self, row: &mut Row) -> Option<LevelReading> {
        let at = self.place(row);
        let frequency = frequency(row);
        let attenuator = decibels(row, Field::Attenuator, "an attenuator takes away 0 to 200 dB");
        let found = self.found(row, frequency, attenuator.unwrap_or(0.0))?;
        let (time, date) = time(row, &mut self.once);
        let at = at.ok()?;
        Some(LevelReading {
            id: row.text(Field::Id),
            stand: row.text(Field::Place).unwrap_or_default(),
            sigma: sigma(row, at),
            at: at.map(|p| p.place),
            height: row.number(Field::Height).map(Metres::new),
            level: found.level,
            raw: found.raw,
            attenuator: attenuator.map(Db::new),
            attenuator_in_raw: found.in_raw,
            bandwidth: width(row),
            floor: found.floor,
            fix: fix(&mut self.told, row),
            device: self.device(row),
            time,
            date,
            frequency,
            remarks: row.text(Field::Remarks).unwrap_or_default(),
            written: Written { file: self.file.clone(), line: row.line },
        })
    }

    /// The place; `Ok(None)` where the row has none at all, as a receiver without a fix writes, `Err` after a refusal.
    fn place(&mut self, row: &mut Row) -> Result<Option<Position>, ()> {
        let fields = [Field::Latitude, Field::Longitude, Field::Easting, Field::Northing, Field::Position];
        if fields.iter().any(|f| row.cell(*f).is_some()) {
            return position(row).map(Some).ok_or(());
        }
        self.told.unplaced.add(row.line);
        Ok(None)
    }

    /// The level of the row: the corrected one where it is written, else what the receiver shows.
    fn found(&mut self, row: &mut Row, frequency: Option<Hertz>, pad: f64) -> Option<Found> {
        let corrected = row.cell(Field::Level).map(|c| (Field::Level, c));
        let shown = row.cell(Field::Indicated).map(|c| (Field::Indicated, c));
        let both = corrected.is_some() && shown.is_some();
        let Some((field, cell)) = corrected.or(shown) else {
            let hint = "write the level, or leave the row out";
            let field = Field::Level;
            row.refuse_field(field, "level-missing", "the row has no level", hint);
            return None;
        };
        let in_raw = field == Field::Level && self.pad_in_level(row, both, pad)?;
        if both && pad > 0.0 {
            self.told.both = true;
        }
        let unit = unit(&mut self.told, row, field, &cell)?;
        let cable = decibels(row, Field::CableLoss, "a cable loses 0 to 200 dB");
        let cable = cable.or(row.sheet.settings.levels.cable_loss).unwrap_or(0.0);
        self.told.cable |= cable > 0.0;
        let added = if in_raw { cable } else { pad + cable };
        self.told.pads |= !in_raw && pad > 0.0;
        let antenna = antenna(row);
        let mhz = frequency.map(Hertz::to_mhz);
        let to_dbm = |value: f64| dbm(value, unit, antenna, mhz).map(|v| v + added);
        let floor = self.floor(row, unit, &to_dbm, if in_raw { pad } else { 0.0 });
        let amount = amount(row, &cell)?;
        let (value, below) = match amount {
            Amount::Off => return Some(Found { level: Level::OffAir, raw: None, in_raw, floor }),
            Amount::Number(v) => (v, false),
            Amount::Below(v) => (v, true),
        };
        let Some(level) = to_dbm(value) else {
            self.told.without_antenna.add(row.line);
            return None;
        };
        if !SENSIBLE_DBM.contains(&level) {
            let message = format!("this is {level:.1} dBm: no receiver reads that");
            row.told.push(cell.refuse("level-out-of-range", message, "check the number and its unit"));
            return None;
        }
        let level = self.censored(row.line, Dbm::new(level), below, floor);
        Some(Found { level, raw: Some(RawLevel { value, unit }), in_raw, floor })
    }

    fn censored(&mut self, line: u64, level: Dbm, below: bool, floor: Option<Dbm>) -> Level {
        match floor {
            _ if below => Level::BelowFloor(level),
            Some(floor) if level <= floor => {
                self.told.at_floor.add(line);
                Level::BelowFloor(floor)
            }
            _ => Level::Measured(level),
        }
    }

    /// Whether the attenuator is part of a level already; `None` where nobody says.
    fn pad_in_level(&mut self, row: &Row, both: bool, pad: f64) -> Option<bool> {
        let says = ["corrected", "corrected level", "level corrected"];
        let header = row.sheet.columns.at(Field::Level).map(|i| row.sheet.columns.headers[i].to_lowercase());
        let named = header.is_some_and(|h| says.iter().any(|s| h.replace('_', " ").starts_with(s)));
        match row.sheet.settings.levels.attenuator {
            // Beside what the receiver shows, the other level is the corrected one.
            _ if both || named => Some(true),
            Some(PadIn::Level) => Some(true),
            Some(PadIn::NotLevel) => Some(false),
            None if pad == 0.0 => Some(false),
            None => {
                self.told.pad_unclear.add(row.line);
                None
            }
        }
    }

    /// The floor, brought to the antenna's connector as the level is.
    fn floor(
        &mut self,
        row: &mut Row,
        unit: LevelUnit,
        to_dbm: &impl Fn(f64) -> Option<f64>,
        pad: f64,
    ) -> Option<Dbm> {
        let value = row.number(Field::Floor).or(row.sheet.settings.levels.floor)?;
        let words = row.sheet.columns.words(Field::Floor);
        if Named::of_header(words).is_some_and(|n| n.across(Load::Ohm50) != across_50(unit)) {
            self.told.floor_unit = true;
            return None;
        }
        let floor = to_dbm(value)? + pad;
        self.told.floors = true;
        if !SENSIBLE_DBM.contains(&floor) {
            let message = format!("a floor of {floor:.1} dBm is none of a receiver");
            row.refuse_field(Field::Floor, "floor-out-of-range", message, "check the number and its unit");
            return None;
        }
        Some(Dbm::new(floor))
    }

    fn device(&mut self, row: &Row) -> Option<Arc<str>> {
        let text = row.cell(Field::Device).or_else(|| row.cell(Field::Team))?.text;
        if let Some(known) = self.devices.get(text) {
            return Some(known.clone());
        }
        let new: Arc<str> = text.into();
        if self.devices.len() < MOST_DEVICES {
            self.devices.insert(new.clone());
        }
        Some(new)
    }
}
