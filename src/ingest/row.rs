//! One row: cells to a bearing as read.

use std::collections::HashSet;

use csv::StringRecord;

use crate::{
    finding::{Finding, Severity},
    geodesy::{GridFrame, Place, zone_of},
    ingest::{
        NorthLabel,
        direction::direction,
        log::Log,
        names::Field,
        once::Once,
        position::{Position, position},
        sheet::{Row, Sheet},
        time::{Moment, moment},
    },
    instant::Instant,
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
        let (have, need) = (record.len(), self.sheet.columns.headers.len());
        let joined = (have > need).then(|| self.remarks_joined(record, line, log)).flatten();
        let record = joined.as_ref().unwrap_or(record);
        if record.len() != need {
            log.tell_row(
                Finding::refused("cells-differ", format!("the row has {have} cells and the header {need}"))
                    .at(self.sheet.origin(line))
                    .hint("quote cells that contain the delimiter, and leave empty cells empty"),
            );
            return None;
        }
        self.once.unnamed(self.sheet.columns, record);
        let mut row = Row { sheet: self.sheet, record, line, told: Vec::new() };
        let bearing = self.bearing(&mut row);
        let refused = row.told.iter().any(|f| f.severity == Severity::Refused);
        for finding in row.told {
            if finding.code == "grid-operation" {
                self.once.operations.insert(finding.message);
            } else {
                log.tell_row(finding);
            }
        }
        bearing.filter(|_| !refused)
    }

    /// What there is to tell about the whole file.
    pub fn finish(self, rows: &[ReadBearing], log: &mut Log) {
        self.once.tell(self.sheet.name, rows, log);
    }

    /// Remarks in the last column are free text, in which people write the delimiter without quotes: surplus cells are
    /// put back together, and told.
    fn remarks_joined(&self, record: &StringRecord, line: u64, log: &mut Log) -> Option<StringRecord> {
        let columns = self.sheet.columns;
        let last = columns.headers.len() - 1;
        if columns.at(Field::Remarks) != Some(last) {
            return None;
        }
        let mark = format!("{} ", self.sheet.delimiter?);
        let remark = record.iter().skip(last).collect::<Vec<_>>().join(&mark);
        let origin = self.sheet.origin(line).cell(last as u64 + 1, &columns.headers[last], &remark);
        let message = "the row has more cells than the header: the surplus was read as part of the remark";
        log.tell_row(Finding::assumed("remark-joined", message).at(origin));
        Some(record.iter().take(last).chain(std::iter::once(remark.as_str())).collect())
    }

    fn bearing(&mut self, row: &mut Row) -> Option<ReadBearing> {
        let at = position(row);
        let direction = direction(row)?;
        let at = at?;
        self.once.unlabelled += usize::from(direction.north.is_none());
        let north = reference(row, direction.north?, at)?;
        let (time, date) = self.time(row);
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

    fn time(&mut self, row: &mut Row) -> (Option<Instant>, Option<jiff::civil::Date>) {
        let Some((cell, text)) = row.time() else { return (None, None) };
        let doubt = |code, message: &str, hint: &str| cell.doubt(code, message, hint);
        match moment(&text, row.sheet.zone.as_ref()) {
            Moment::Known(instant) => (Some(instant), None),
            Moment::Day(date) => (None, Some(date)),
            Moment::Local(date) => {
                self.once.local_times += 1;
                (None, Some(date))
            }
            Moment::Skipped(date) => {
                let message = "this hour does not exist: the clocks went forward over it";
                row.told.push(doubt("time-skipped", message, "the time is left out: which hour was it?"));
                (None, Some(date))
            }
            Moment::Twice(date, a, b) => {
                let message = format!("this hour occurs twice: {a} or {b}");
                row.told.push(doubt("time-twice", &message, "the time is left out: write it in UTC"));
                (None, Some(date))
            }
            Moment::Unread(date) => {
                let message = "the time behind the date is not understood: only the date is used";
                let hint = "write the time as 08:40, with Z, UTC or an offset such as -07:00 behind it";
                row.told.push(cell.doubt("time-unread", message, hint));
                (None, Some(date))
            }
            Moment::Unknown => {
                let hint = "write 2026-03-17T15:40:00Z or 17.03.2026 08:40";
                let message = "this is not a date and time that can be told for certain";
                row.told.push(doubt("time-unknown", message, hint));
                (None, None)
            }
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

/// Grid north is that of the grid the stand is written in, else that of its UTM zone.
fn reference(row: &mut Row, label: NorthLabel, at: Position) -> Option<NorthReference> {
    match label {
        NorthLabel::True => Some(NorthReference::True),
        NorthLabel::Magnetic => Some(NorthReference::Magnetic),
        NorthLabel::Grid => {
            let frame = at.frame.or_else(|| own_zone(at.place));
            if frame.is_none() {
                let hint = "give the bearing from true or magnetic north";
                row.refuse("grid-north-unknown", "there is no UTM grid at this latitude", hint);
            }
            frame.map(NorthReference::Grid)
        }
    }
}

fn own_zone(place: Place) -> Option<GridFrame> {
    zone_of(place).map(|zone| GridFrame::Utm { zone })
}

fn frequency(row: &mut Row) -> Option<Hertz> {
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
