//! Rows of a table of sectors.

use std::sync::Arc;

use csv::StringRecord;

use crate::{
    ingest::{
        direction::{compass, north, split_north},
        level_cells::{decibels, sigma, width},
        level_once::Told,
        log::Log,
        names::Field,
        once::Once,
        position::{Position, position},
        row::{frequency, reference},
        sector_level::{Heard, averaging, heard},
        sector_once::SectorOnce,
        shared::{fitting, time, told},
        sheet::{Row, Sheet},
    },
    observe::{Beam, Sector, Written},
    units::{Angle, Db, Metres},
};

/// Reads the rows of a sheet and remembers what has to be told once for all of them.
pub struct Reader<'a> {
    sheet: &'a Sheet<'a>,
    file: Arc<str>,
    once: Once,
    units: Told,
    told: SectorOnce,
    rows: usize,
}

impl<'a> Reader<'a> {
    /// A reader that has seen nothing yet.
    pub fn new(sheet: &'a Sheet<'a>) -> Self {
        let (once, units, told) = <(Once, Told, SectorOnce)>::default();
        Self { sheet, file: sheet.name.into(), once, units, told, rows: 0 }
    }

    /// The sector of a row, or findings that say why there is none.
    pub fn read(&mut self, record: &StringRecord, line: u64, log: &mut Log) -> Option<Sector> {
        let record = fitting(self.sheet, record, line, log)?;
        self.once.unnamed(self.sheet.columns, &record);
        let mut row = Row { sheet: self.sheet, record: &record, line, told: Vec::new() };
        let sector = self.sector(&mut row);
        let sound = told(row.told, &mut self.once, log);
        let sector = sector.filter(|_| sound);
        self.rows += usize::from(sector.is_some());
        sector
    }

    /// What there is to tell about the whole file.
    pub fn finish(self, log: &mut Log) {
        self.units.tell(self.sheet, log);
        self.told.tell(self.sheet, log);
        self.once.tell(self.sheet.name, self.rows > 0, log);
    }

    fn sector(&mut self, row: &mut Row) -> Option<Sector> {
        let at = position(row);
        let heard = heard(row, &mut self.units, &mut self.told);
        let at = at?;
        let beam = self.beam(row, at)?;
        let Heard { floor, total, rise, interference } = heard?;
        let (time, date) = time(row, &mut self.once);
        let site = row.text(Field::Place).unwrap_or_default();
        let id = row.text(Field::Id).unwrap_or_else(|| format!("line {}", row.line));
        let gain = gain(row);
        self.told.gains(gain.is_some());
        Some(Sector {
            id,
            site,
            at: at.place,
            sigma: sigma(row, Some(at)),
            height: height(row),
            beam,
            gain,
            feeder_loss: decibels(row, Field::CableLoss, "a feeder loses 0 to 200 dB").map(Db::new),
            floor,
            total,
            rise,
            interference,
            averaging: averaging(row, &mut self.told),
            frequency: frequency(row),
            bandwidth: width(row),
            time,
            date,
            remarks: row.text(Field::Remarks).unwrap_or_default(),
            written: Written { file: self.file.clone(), line: row.line },
        })
    }

    /// Where the antenna looks; `None` after a refusal, but not for a missing north, which is told once for the file.
    fn beam(&mut self, row: &mut Row, at: Position) -> Option<Beam> {
        let Some(cell) = row.cell(Field::Beamwidth) else {
            let hint = "write the full half-power beamwidth in degrees, or omni";
            row.refuse_field(Field::Beamwidth, "beamwidth-missing", "the row has no beamwidth", hint);
            return None;
        };
        if OMNI.contains(&cell.text.to_lowercase().as_str()) {
            return Some(Beam::Omni);
        }
        let why = "a half-power beamwidth lies above 0 and at most at 360 degrees";
        let hint = "write the full width between the half-power points, such as 65, or omni";
        let range = f64::MIN_POSITIVE..=360.0;
        let degrees = row.number_in(Field::Beamwidth, range, "beamwidth-out-of-range", why, hint)?;
        if degrees == 360.0 {
            return Some(Beam::Omni);
        }
        let Some(cell) = row.cell(Field::Bearing) else {
            let hint = "write the direction of the main lobe, or omni as its beamwidth";
            row.refuse_field(Field::Bearing, "azimuth-missing", "the row has no azimuth", hint);
            return None;
        };
        let (digits, marked) = split_north(cell.text);
        let azimuth = compass(row, &cell, digits)?;
        let label = north(row, marked, "azimuth")?;
        self.once.unlabelled_azimuths += usize::from(label.is_none());
        let north = reference(row, label?, at, "azimuth")?;
        Some(Beam::Sector { azimuth, north, beamwidth: Angle::degrees(degrees) })
    }
}

/// Words for an antenna that looks in all directions, in four languages.
const OMNI: [&str; 8] = [
    "omni",
    "omnidirectional",
    "rundstrahler",
    "rundum",
    "omnidirectionnel",
    "omnidirectionnelle",
    "omnidireccional",
    "all",
];

fn gain(row: &mut Row) -> Option<Db> {
    let why = "the gain of an antenna lies between -20 and 60 dBi";
    let hint = "write it over an isotropic antenna, or leave the cell empty";
    row.number_in(Field::Gain, -20.0..=60.0, "gain-out-of-range", why, hint).map(Db::new)
}

fn height(row: &mut Row) -> Option<Metres> {
    let why = "the height of an antenna above ground lies between 0 and 1000 m";
    let hint = "write it above ground, not above the sea, or leave the cell empty";
    row.number_in(Field::Height, 0.0..=1000.0, "height-out-of-range", why, hint).map(Metres::new)
}
