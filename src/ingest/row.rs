//! One row: cells to a bearing as read.

use std::collections::HashSet;

use csv::StringRecord;

use crate::{
    finding::Finding,
    geodesy::{GridFrame, Place, zone_of},
    ingest::{
        NorthLabel,
        direction::direction,
        log::Log,
        names::Field,
        once::Once,
        position::{Position, position},
        shared::{fitting, time, told},
        sheet::{Row, Sheet},
    },
    observe::{NorthReference, OperatorClass, Quality, ReadBearing, Stand},
    units::{Angle, Dbm, Hertz, Metres, Sigma},
};

/// Metres of position error (one standard deviation) per unit of HDOP: common practice, no source.
pub const METRES_PER_HDOP: f64 = 5.0;

/// A position that is off by more than this is none.
const WORST_POSITION_M: f64 = 100_000.0;

/// Reads the rows of a sheet and remembers what has to be told once for all of them.
pub struct Reader<'a> {
    sheet: &'a Sheet<'a>,
    ids: HashSet<String>,
    once: Once,
}

impl<'a> Reader<'a> {
    /// A reader that has seen nothing yet.
    pub fn new(sheet: &'a Sheet<'a>) -> Self {
        Self { sheet, ids: HashSet::new(), once: Once::default() }
    }

    /// The bearing of a row, or findings that say why there is none.
    pub fn read(&mut self, record: &StringRecord, line: u64, log: &mut Log) -> Option<ReadBearing> {
        let record = fitting(self.sheet, record, line, log)?;
        self.once.unnamed(self.sheet.columns, &record);
        let mut row = Row { sheet: self.sheet, record: &record, line, told: Vec::new() };
        if left_out(&mut row) {
            told(row.told, &mut self.once, log);
            return None;
        }
        let bearing = self.bearing(&mut row);
        let sound = told(row.told, &mut self.once, log);
        bearing.filter(|_| sound)
    }

    /// What there is to tell about the whole file.
    pub fn finish(self, rows: &[ReadBearing], log: &mut Log) {
        self.once.tell(self.sheet.name, !rows.is_empty(), log);
    }

    fn bearing(&mut self, row: &mut Row) -> Option<ReadBearing> {
        let at = position(row);
        let direction = direction(row)?;
        let at = at?;
        self.once.unlabelled += usize::from(direction.north.is_none());
        let north = reference(row, direction.north?, at, "bearing")?;
        let (time, date) = time(row, &mut self.once);
        let stand = Stand {
            name: row.text(Field::Place).unwrap_or_default(),
            at: at.place,
            sigma: self.position_sigma(row, at.sigma),
            height: row.extra(Field::Height).map(Metres::new),
        };
        Some(ReadBearing {
            id: self.id(row),
            team: row.text(Field::Team),
            stand,
            read: direction.read,
            north,
            swings: direction.swings,
            two_way: false,
            quality: quality(row),
            front: row.extra(Field::Front).map(Dbm::new),
            back: row.extra(Field::Back).map(Dbm::new),
            time,
            date,
            frequency: frequency(row),
            remarks: row.text(Field::Remarks).unwrap_or_default(),
            origin: row.origin(),
        })
    }

    /// The stated error of the position, together with what its writing adds.
    fn position_sigma(&mut self, row: &mut Row, written: f64) -> Option<Sigma<Metres>> {
        let (field, metres) = match row.cell(Field::PositionSigma) {
            Some(_) => (Field::PositionSigma, 1.0),
            None => (Field::Hdop, METRES_PER_HDOP),
        };
        let most = WORST_POSITION_M / metres;
        let hint = "write one standard deviation in metres, or HDOP, or leave the cell empty";
        let why = format!("an error of the position lies above zero and at most at {most:.0}");
        // f64::MIN_POSITIVE: above zero, as a closed range.
        let stated = row.number_in(field, f64::MIN_POSITIVE..=most, "position-error", &why, hint);
        self.once.hdop_used |= field == Field::Hdop && stated.is_some();
        match stated {
            Some(value) => Sigma::<Metres>::metres((value * metres).hypot(written)),
            None if written > 10.0 => Sigma::<Metres>::metres(written),
            None => None,
        }
    }

    fn id(&mut self, row: &mut Row) -> String {
        let cell = row.cell(Field::Id);
        let what = if self.sheet.delimiter.is_none() { "feature" } else { "line" };
        // Without an identifier people call a bearing by its stand.
        let named = cell.as_ref().map(|c| c.text.to_owned()).or_else(|| row.text(Field::Place));
        let wanted = named.unwrap_or_else(|| format!("{what} {}", row.line));
        if self.ids.insert(wanted.clone()) {
            return wanted;
        }
        let mut unique = format!("{wanted} ({what} {})", row.line);
        while !self.ids.insert(unique.clone()) {
            unique.push('+');
        }
        if let Some(cell) = cell {
            let message = format!("the identifier occurs before: this one is called {unique}");
            row.told.push(cell.doubt("id-repeated", message, "give every bearing its own identifier"));
        }
        unique
    }
}

/// Whether the row says that it is not to be used; what it says is told.
pub fn left_out(row: &mut Row) -> bool {
    let Some(cell) = row.cell(Field::LeftOut) else { return false };
    let word = cell.text.to_lowercase();
    if ["no", "0", "false", "nein", "non"].contains(&word.as_str()) {
        return false;
    }
    let id = row.text(Field::Id).unwrap_or_else(|| format!("line {}", row.line));
    if ["yes", "1", "true", "x", "ja", "oui", "sí", "si"].contains(&word.as_str()) {
        row.told.push(
            Finding::assumed("left-out", format!("{id} is left out, as its row says")).at(row.origin()),
        );
        return true;
    }
    let hint = "write yes to leave the row out, no or nothing to use it";
    row.told.push(cell.doubt("left-out-unclear", "neither yes nor no: the row is used", hint));
    false
}

/// Grid north is that of the grid the stand is written in, else that of its UTM zone.
pub fn reference(row: &mut Row, label: NorthLabel, at: Position, what: &str) -> Option<NorthReference> {
    match label {
        NorthLabel::True => Some(NorthReference::True),
        NorthLabel::Magnetic => Some(NorthReference::Magnetic),
        NorthLabel::Grid => {
            let frame = at.frame.or_else(|| own_zone(at.place));
            if frame.is_none() {
                let hint = format!("give the {what} from true or magnetic north");
                row.refuse("grid-north-unknown", "there is no UTM grid at this latitude", &hint);
            }
            frame.map(NorthReference::Grid)
        }
    }
}

fn own_zone(place: Place) -> Option<GridFrame> {
    zone_of(place).map(|zone| GridFrame::Utm { zone })
}

pub fn frequency(row: &mut Row) -> Option<Hertz> {
    // Radio ends at 3,000 GHz (Radio Regulations, article 1.5).
    let range = f64::MIN_POSITIVE..=3e6;
    let hint = "write it in MHz, or name the unit in the header, such as freq_khz";
    row.number_in(Field::Frequency, range, "frequency-out-of-range", "no radio wave has this frequency", hint)
        .map(Hertz::mhz)
}

fn quality(row: &mut Row) -> Quality {
    let why = "a sigma lies above 0 and at most at 90 degrees";
    let hint = "write one standard deviation in degrees";
    let stated = row.number_in(Field::Sigma, f64::MIN_POSITIVE..=90.0, "sigma-out-of-range", why, hint);
    if let Some(sigma) = stated.and_then(Sigma::<Angle>::degrees) {
        return Quality::Sigma(sigma);
    }
    let Some(cell) = row.cell(Field::Class) else { return Quality::Unstated };
    if let Some(class) = OperatorClass::from_letter(cell.text) {
        return Quality::Class(class);
    }
    let hint = "write A, B, C or D";
    row.told.push(cell.doubt("class-unknown", "this is not a bearing class: taken as not stated", hint));
    Quality::Unstated
}
