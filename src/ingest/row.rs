//! One row: cells to a bearing as read.

use std::collections::HashSet;

use csv::StringRecord;

use crate::{
    finding::{Finding, Severity},
    geodesy::{GridFrame, Place, zone_of},
    ingest::{
        NorthLabel,
        columns::Field,
        direction::direction,
        position::{Position, position},
        sheet::{Row, Sheet},
        time::{Moment, moment},
    },
    instant::Instant,
    observe::{NorthReference, OperatorClass, Quality, ReadBearing, Stand},
    units::{Angle, Dbm, Hertz, Metres, Sigma},
};

/// Metres of position error (one standard deviation) per unit of HDOP: common practice, no source.
const METRES_PER_HDOP: f64 = 5.0;

/// Reads the rows of a sheet and remembers what has to be told once for all of them.
pub struct Reader<'a> {
    sheet: &'a Sheet<'a>,
    ids: HashSet<String>,
    hdop_used: bool,
    local_times: usize,
    unlabelled: usize,
    /// Datum operations that were used, each told once.
    operations: Vec<String>,
}

impl<'a> Reader<'a> {
    /// A reader that has seen nothing yet.
    pub fn new(sheet: &'a Sheet<'a>) -> Self {
        Self {
            sheet,
            ids: HashSet::new(),
            hdop_used: false,
            local_times: 0,
            unlabelled: 0,
            operations: Vec::new(),
        }
    }

    /// The bearing of a row, or findings that say why there is none.
    pub fn read(
        &mut self,
        record: &StringRecord,
        line: u64,
        findings: &mut Vec<Finding>,
    ) -> Option<ReadBearing> {
        let (have, need) = (record.len(), self.sheet.columns.headers.len());
        let joined = (have > need).then(|| self.remarks_joined(record, line, findings)).flatten();
        let record = joined.as_ref().unwrap_or(record);
        if record.len() != need {
            findings.push(
                Finding::refused("cells-differ", format!("the row has {have} cells and the header {need}"))
                    .at(self.sheet.origin(line))
                    .hint("quote cells that contain the delimiter, and leave empty cells empty"),
            );
            return None;
        }
        let mut row = Row { sheet: self.sheet, record, line, told: Vec::new() };
        let bearing = self.bearing(&mut row);
        let refused = row.told.iter().any(|f| f.severity == Severity::Refused);
        for finding in row.told {
            if finding.code == "grid-operation" {
                self.operations.push(finding.message);
            } else {
                findings.push(finding);
            }
        }
        bearing.filter(|_| !refused)
    }

    /// Remarks in the last column are free text, in which people write the delimiter without quotes: surplus cells are
    /// put back together, and told.
    fn remarks_joined(
        &self,
        record: &StringRecord,
        line: u64,
        findings: &mut Vec<Finding>,
    ) -> Option<StringRecord> {
        let columns = self.sheet.columns;
        let last = columns.headers.len() - 1;
        if columns.at(Field::Remarks) != Some(last) {
            return None;
        }
        let mark = if self.sheet.comma { "; " } else { ", " };
        let remark = record.iter().skip(last).collect::<Vec<_>>().join(mark);
        let origin = self.sheet.origin(line).cell(last as u64 + 1, &columns.headers[last], &remark);
        let message = "the row has more cells than the header: the surplus was read as part of the remark";
        findings.push(Finding::assumed("remark-joined", message).at(origin));
        Some(record.iter().take(last).chain(std::iter::once(remark.as_str())).collect())
    }

    fn bearing(&mut self, row: &mut Row) -> Option<ReadBearing> {
        let at = position(row);
        let direction = direction(row)?;
        let at = at?;
        self.unlabelled += usize::from(direction.north.is_none());
        let north = reference(row, direction.north?, at)?;
        let (time, date) = self.time(row);
        let stand = Stand {
            name: row.text(Field::Place).unwrap_or_default(),
            at: at.place,
            sigma: self.position_sigma(row, at.sigma),
            height: row.number(Field::Height).map(Metres::new),
        };
        Some(ReadBearing {
            id: self.id(row),
            team: row.text(Field::Team),
            stand,
            read: direction.read,
            north,
            swings: direction.swings,
            quality: quality(row),
            front: row.number(Field::Front).map(Dbm::new),
            back: row.number(Field::Back).map(Dbm::new),
            time,
            date,
            frequency: row.number(Field::Frequency).map(Hertz::mhz),
            remarks: row.text(Field::Remarks).unwrap_or_default(),
            origin: row.origin(),
        })
    }

    /// The stated error of the position, together with what its writing adds.
    fn position_sigma(&mut self, row: &mut Row, written: f64) -> Option<Sigma<Metres>> {
        let stated = match row.number(Field::PositionSigma) {
            Some(metres) => Some(metres),
            None => {
                let hdop = row.number(Field::Hdop);
                self.hdop_used |= hdop.is_some();
                hdop.map(|h| h * METRES_PER_HDOP)
            }
        };
        match stated {
            Some(metres) if metres > 0.0 => Sigma::<Metres>::metres(metres.hypot(written)),
            Some(_) => {
                let hint = "write one standard deviation in metres, or leave the cell empty";
                row.refuse("position-error", "an error of the position lies above zero", hint);
                None
            }
            None if written > 10.0 => Sigma::<Metres>::metres(written),
            None => None,
        }
    }

    fn time(&mut self, row: &mut Row) -> (Option<Instant>, Option<jiff::civil::Date>) {
        let Some(cell) = row.cell(Field::Time) else { return (None, None) };
        let (zone, name) = (row.sheet.zone.as_ref(), row.sheet.settings.zone.as_deref());
        match moment(cell.text, zone, name) {
            Moment::Known(instant) => (Some(instant), None),
            Moment::Local(date) => {
                self.local_times += 1;
                (None, Some(date))
            }
            Moment::Skipped(date) => {
                let message = "this hour does not exist: the clocks went forward over it";
                row.told.push(cell.doubt(
                    "time-skipped",
                    message,
                    "the time is left out: which hour was it?",
                ));
                (None, Some(date))
            }
            Moment::Twice(date, a, b) => {
                let message = format!("this hour occurs twice: {a} or {b}");
                row.told.push(cell.doubt("time-twice", message, "the time is left out: write it in UTC"));
                (None, Some(date))
            }
            Moment::Unknown => {
                let hint = "write 2026-03-17T15:40:00Z or 17.03.2026 08:40";
                let message = "this is not a date and time that can be told for certain";
                row.told.push(cell.doubt("time-unknown", message, hint));
                (None, None)
            }
        }
    }

    fn id(&mut self, row: &mut Row) -> String {
        let cell = row.cell(Field::Id);
        let what = if self.sheet.features { "feature" } else { "line" };
        let wanted = cell.as_ref().map_or_else(|| format!("{what} {}", row.line), |c| c.text.to_owned());
        if self.ids.insert(wanted.clone()) {
            return wanted;
        }
        let unique = format!("{wanted} ({what} {})", row.line);
        if let Some(cell) = cell {
            let message = format!("the identifier occurs before: this one is called {unique}");
            row.told.push(cell.doubt("id-repeated", message, "give every bearing its own identifier"));
        }
        self.ids.insert(unique.clone());
        unique
    }

    /// What there is to tell about the whole file; without any north nothing of it can be used.
    pub fn finish(self, rows: &[ReadBearing], findings: &mut Vec<Finding>) {
        let file = || crate::finding::Origin::file(self.sheet.name);
        if self.unlabelled > 0 {
            let message =
                format!("{} bearing(s) do not say which north they were read from", self.unlabelled);
            let hint = "state it once for the file: --north magnetic, --north true or --north grid";
            findings.push(Finding::refused("north-unlabelled", message).at(file()).hint(hint));
        }
        if rows.is_empty() {
            return;
        }
        if self.hdop_used {
            let message = format!(
                "position error: HDOP times {METRES_PER_HDOP:.0} m, one standard deviation (common practice)"
            );
            findings.push(Finding::assumed("position-from-hdop", message).at(file()));
        }
        if self.local_times > 0 {
            let message =
                format!("{} local time(s) without a zone: only their dates are used", self.local_times);
            let hint = "state the zone once, such as --zone America/Los_Angeles";
            findings.push(Finding::assumed("zone-missing", message).at(file()).hint(hint));
        }
        let mut operations = self.operations;
        operations.sort_unstable();
        operations.dedup();
        for message in operations {
            findings.push(Finding::assumed("grid-operation", message).at(file()));
        }
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

fn quality(row: &mut Row) -> Quality {
    if let Some(value) = row.number(Field::Sigma) {
        if let Some(sigma) = Sigma::<Angle>::degrees(value).filter(|_| value <= 90.0) {
            return Quality::Sigma(sigma);
        }
        if let Some(cell) = row.cell(Field::Sigma) {
            let hint = "write one standard deviation in degrees";
            row.told.push(cell.refuse(
                "sigma-out-of-range",
                "a sigma lies above 0 and at most at 90 degrees",
                hint,
            ));
        }
    }
    let Some(cell) = row.cell(Field::Class) else { return Quality::Unstated };
    if let Some(class) = OperatorClass::from_letter(cell.text) {
        return Quality::Class(class);
    }
    let hint = "write A, B, C or D";
    row.told.push(cell.doubt("class-unknown", "this is not a bearing class: taken as not stated", hint));
    Quality::Unstated
}
