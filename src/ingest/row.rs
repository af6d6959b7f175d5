//! One row: cells to a bearing as read.

use std::collections::HashSet;

use csv::StringRecord;
use jiff::tz::TimeZone;

use crate::{
    finding::{Finding, Origin, Severity},
    geodesy::{
        GridFrame, Place,
        text::{Axis, degrees},
    },
    ingest::{
        Settings,
        columns::{Columns, Field},
        time::{Moment, moment},
    },
    instant::Instant,
    observe::{NorthReference, OperatorClass, Quality, ReadBearing, Stand},
    units::{Angle, Dbm, Hertz, Metres, Sigma, circular_mean},
};

/// Metres of position error (one standard deviation) per unit of HDOP: common practice, no source.
const METRES_PER_HDOP: f64 = 5.0;

/// Reads rows under one header.
pub struct Reader<'a> {
    name: &'a str,
    columns: &'a Columns,
    north: Option<NorthReference>,
    zone: Option<TimeZone>,
    zone_name: Option<&'a str>,
    comma: bool,
    ids: HashSet<String>,
    hdop_used: bool,
    local_times: usize,
    unlabelled: usize,
}

/// A cell with where it stands.
struct Cell<'r> {
    text: &'r str,
    origin: Origin,
}

impl Cell<'_> {
    fn refuse(&self, code: &'static str, message: impl Into<String>, hint: &str) -> Finding {
        Finding::refused(code, message).at(self.origin.clone()).hint(hint)
    }

    fn doubt(&self, code: &'static str, message: impl Into<String>, hint: &str) -> Finding {
        Finding::doubtful(code, message).at(self.origin.clone()).hint(hint)
    }
}

impl<'a> Reader<'a> {
    /// `None`, with a finding, when the stated time zone is unknown.
    pub fn new(
        name: &'a str,
        columns: &'a Columns,
        settings: &'a Settings,
        delimiter: u8,
        findings: &mut Vec<Finding>,
    ) -> Option<Self> {
        let zone_name = settings.zone.as_deref();
        let zone = match zone_name.map(TimeZone::get) {
            Some(Err(_)) => {
                let message = format!("the time zone {} is not known", zone_name.unwrap_or_default());
                let hint = "use an IANA name such as America/Los_Angeles";
                findings.push(Finding::refused("zone-unknown", message).at(Origin::file(name)).hint(hint));
                return None;
            }
            other => other.and_then(Result::ok),
        };
        let header = columns.north.and_then(letter);
        if let Some(north) = header {
            let message = format!("the header of the bearings names {} north", word(north));
            findings.push(Finding::assumed("north-from-header", message).at(Origin::line(name, 1)));
        }
        Some(Self {
            name,
            columns,
            north: header.or(settings.north),
            zone,
            zone_name,
            comma: delimiter != b',',
            ids: HashSet::new(),
            hdop_used: false,
            local_times: 0,
            unlabelled: 0,
        })
    }

    /// The bearing of a row, or findings that say why there is none.
    pub fn read(
        &mut self,
        record: &StringRecord,
        line: u64,
        findings: &mut Vec<Finding>,
    ) -> Option<ReadBearing> {
        let (have, need) = (record.len(), self.columns.headers.len());
        let joined = (have > need).then(|| self.remarks_joined(record, line, findings)).flatten();
        let record = joined.as_ref().unwrap_or(record);
        if record.len() != need {
            findings.push(
                Finding::refused("cells-differ", format!("the row has {have} cells and the header {need}"))
                    .at(Origin::line(self.name, line))
                    .hint("quote cells that contain the delimiter, and leave empty cells empty"),
            );
            return None;
        }
        let mut told = Vec::new();
        let row = self.bearing(record, line, &mut told);
        let refused = told.iter().any(|f| f.severity == Severity::Refused);
        findings.append(&mut told);
        row.filter(|_| !refused)
    }

    /// Remarks in the last column are free text, in which people write the delimiter without quotes: surplus cells are
    /// put back together, and told.
    fn remarks_joined(
        &self,
        record: &StringRecord,
        line: u64,
        findings: &mut Vec<Finding>,
    ) -> Option<StringRecord> {
        let last = self.columns.headers.len() - 1;
        if self.columns.at(Field::Remarks) != Some(last) {
            return None;
        }
        let mark = if self.comma { "; " } else { ", " };
        let remark = record.iter().skip(last).collect::<Vec<_>>().join(mark);
        let origin =
            Origin::line(self.name, line).cell(last as u64 + 1, &self.columns.headers[last], &remark);
        let message = "the row has more cells than the header: the surplus was read as part of the remark";
        findings.push(Finding::assumed("remark-joined", message).at(origin));
        Some(record.iter().take(last).chain(std::iter::once(remark.as_str())).collect())
    }

    fn bearing(&mut self, record: &StringRecord, line: u64, told: &mut Vec<Finding>) -> Option<ReadBearing> {
        let at = self.place(record, line, told);
        let (read, swings, north) = self.direction(record, line, told)?;
        let at = at?;
        let (time, date) = self.time(record, line, told);
        let stand = Stand {
            name: self.cell(record, line, Field::Place).map_or(String::new(), |c| c.text.to_owned()),
            at,
            sigma: self.position_sigma(record, line, told),
            height: self.number(record, line, Field::Height, told).map(Metres::new),
        };
        Some(ReadBearing {
            id: self.id(record, line, told),
            team: self.cell(record, line, Field::Team).map(|c| c.text.to_owned()),
            stand,
            read,
            north,
            swings,
            quality: self.quality(record, line, told),
            front: self.number(record, line, Field::Front, told).map(Dbm::new),
            back: self.number(record, line, Field::Back, told).map(Dbm::new),
            time,
            date,
            frequency: self.number(record, line, Field::Frequency, told).map(Hertz::mhz),
            remarks: self.cell(record, line, Field::Remarks).map_or(String::new(), |c| c.text.to_owned()),
            origin: Origin::line(self.name, line),
        })
    }

    fn cell<'r>(&self, record: &'r StringRecord, line: u64, field: Field) -> Option<Cell<'r>> {
        self.columns.at(field).and_then(|i| self.cell_at(record, line, i))
    }

    fn cell_at<'r>(&self, record: &'r StringRecord, line: u64, index: usize) -> Option<Cell<'r>> {
        let text = record.get(index).filter(|t| !t.is_empty())?;
        let origin = Origin::line(self.name, line).cell(index as u64 + 1, &self.columns.headers[index], text);
        Some(Cell { text, origin })
    }

    fn place(&self, record: &StringRecord, line: u64, told: &mut Vec<Finding>) -> Option<Place> {
        let mut axis = |field, axis, what: &str| {
            let Some(cell) = self.cell(record, line, field) else {
                let message = format!("the row has no {what}");
                let origin = Origin::line(self.name, line);
                told.push(
                    Finding::refused("coordinate-missing", message)
                        .at(origin)
                        .hint("write down where the stand was"),
                );
                return None;
            };
            degrees(cell.text, axis)
                .map_err(|e| {
                    let hint = "write degrees such as 46.95501, 46°57.301'N or 46 57 18.0 N";
                    told.push(cell.refuse("coordinate", format!("{e}"), hint));
                })
                .ok()
        };
        let lat = axis(Field::Latitude, Axis::Latitude, "latitude");
        let lon = axis(Field::Longitude, Axis::Longitude, "longitude");
        Place::from_lat_lon_degrees(lat?, lon?)
    }

    /// Reading, swings and north.
    fn direction(
        &mut self,
        record: &StringRecord,
        line: u64,
        told: &mut Vec<Finding>,
    ) -> Option<(Angle, Vec<Angle>, NorthReference)> {
        let mut swings = Vec::new();
        for index in self.columns.swings().collect::<Vec<_>>() {
            if let Some(cell) = self.cell_at(record, line, index) {
                swings.push(self.compass(&cell, cell.text, told)?);
            }
        }
        let mean = circular_mean(&swings);
        if let Some(m) = mean.filter(|m| m.span.to_degrees() > 90.0) {
            let message =
                format!("the swings lie up to {:.0}° apart: that is not one direction", m.span.to_degrees());
            let hint = "swing again, or write the two directions as two bearings";
            told.push(
                Finding::refused("not-one-direction", message).at(Origin::line(self.name, line)).hint(hint),
            );
            return None;
        }
        let bearing = self.cell(record, line, Field::Bearing);
        let (mut read, mut named) = (None, None);
        if let Some(cell) = &bearing {
            let (digits, north) = split_north(cell.text);
            read = Some(self.compass(cell, digits, told)?);
            named = north;
        }
        if let (Some(r), Some(m), Some(cell)) = (read, mean, &bearing) {
            // Half a degree of rounding, and one more before it is worth a look.
            if r.miss_from(m.mean).to_degrees().abs() > 1.5 {
                let message =
                    format!("the bearing differs from the mean of its swings, {:.1}°", m.mean.to_degrees());
                told.push(cell.doubt(
                    "swings-differ",
                    message,
                    "the bearing is used as written: check the row",
                ));
            }
        }
        let Some(read) = read.or(mean.map(|m| m.mean)) else {
            let message = "the row has no bearing";
            let hint = "write the bearing, or leave the row out";
            told.push(
                Finding::refused("bearing-missing", message).at(Origin::line(self.name, line)).hint(hint),
            );
            return None;
        };
        let north = self.north(record, line, named, told)?;
        Some((read, swings, north))
    }

    fn compass(&self, cell: &Cell, text: &str, told: &mut Vec<Finding>) -> Option<Angle> {
        let value = self.parse(text.trim_end_matches('°').trim());
        match value {
            Some(v) if (0.0..=360.0).contains(&v) => Some(Angle::degrees(v).compass()),
            Some(_) => {
                let hint = "write degrees from 0 to 360, clockwise from north";
                told.push(cell.refuse("bearing-out-of-range", "a bearing runs from 0 to 360 degrees", hint));
                None
            }
            None => {
                told.push(cell.refuse(
                    "not-a-number",
                    "this is not a number of degrees",
                    "write degrees such as 055 or 55.5",
                ));
                None
            }
        }
    }

    fn north(
        &mut self,
        record: &StringRecord,
        line: u64,
        named: Option<char>,
        told: &mut Vec<Finding>,
    ) -> Option<NorthReference> {
        if let Some(cell) = self.cell(record, line, Field::North) {
            let first = cell.text.chars().next().map(|c| c.to_ascii_uppercase());
            let known = first.and_then(letter);
            if known.is_none() {
                let hint = "write true, magnetic or grid";
                told.push(cell.refuse("north-unknown", "this is not one of the three norths", hint));
            }
            return known.map(|n| self.zoned(n, record, line));
        }
        let north = named.and_then(letter).or(self.north);
        if north.is_none() {
            self.unlabelled += 1;
        }
        north.map(|n| self.zoned(n, record, line))
    }

    /// Grid north means the UTM zone of the stand.
    fn zoned(&self, north: NorthReference, record: &StringRecord, line: u64) -> NorthReference {
        let lon =
            self.cell(record, line, Field::Longitude).and_then(|c| degrees(c.text, Axis::Longitude).ok());
        match (north, lon) {
            (NorthReference::Grid(_), Some(lon)) => {
                let zone = ((lon + 180.0) / 6.0).floor().clamp(0.0, 59.0) as u8 + 1;
                NorthReference::Grid(GridFrame::Utm { zone })
            }
            _ => north,
        }
    }

    fn quality(&self, record: &StringRecord, line: u64, told: &mut Vec<Finding>) -> Quality {
        if let Some(value) = self.number(record, line, Field::Sigma, told) {
            if let Some(sigma) = Sigma::<Angle>::degrees(value).filter(|_| value <= 90.0) {
                return Quality::Sigma(sigma);
            }
            if let Some(cell) = self.cell(record, line, Field::Sigma) {
                let hint = "write one standard deviation in degrees";
                told.push(cell.refuse(
                    "sigma-out-of-range",
                    "a sigma lies above 0 and at most at 90 degrees",
                    hint,
                ));
            }
        }
        let Some(cell) = self.cell(record, line, Field::Class) else { return Quality::Unstated };
        OperatorClass::from_letter(cell.text).map_or_else(
            || {
                let hint = "write A, B, C or D";
                told.push(cell.doubt(
                    "class-unknown",
                    "this is not a bearing class: taken as not stated",
                    hint,
                ));
                Quality::Unstated
            },
            Quality::Class,
        )
    }

    fn position_sigma(
        &mut self,
        record: &StringRecord,
        line: u64,
        told: &mut Vec<Finding>,
    ) -> Option<Sigma<Metres>> {
        if let Some(metres) = self.number(record, line, Field::PositionSigma, told) {
            return Sigma::<Metres>::metres(metres);
        }
        let hdop = self.number(record, line, Field::Hdop, told)?;
        self.hdop_used = true;
        Sigma::<Metres>::metres(hdop * METRES_PER_HDOP)
    }

    fn time(
        &mut self,
        record: &StringRecord,
        line: u64,
        told: &mut Vec<Finding>,
    ) -> (Option<Instant>, Option<jiff::civil::Date>) {
        let Some(cell) = self.cell(record, line, Field::Time) else { return (None, None) };
        match moment(cell.text, self.zone.as_ref(), self.zone_name) {
            Moment::Known(instant) => (Some(instant), None),
            Moment::Local(date) => {
                self.local_times += 1;
                (None, Some(date))
            }
            Moment::Skipped(date) => {
                let message = "this hour does not exist: the clocks went forward over it";
                told.push(cell.doubt("time-skipped", message, "the time is left out: which hour was it?"));
                (None, Some(date))
            }
            Moment::Twice(date, a, b) => {
                let message = format!("this hour occurs twice: {a} or {b}");
                told.push(cell.doubt("time-twice", message, "the time is left out: write it in UTC"));
                (None, Some(date))
            }
            Moment::Unknown => {
                let hint = "write 2026-03-17T15:40:00Z or 17.03.2026 08:40";
                told.push(cell.doubt(
                    "time-unknown",
                    "this is not a date and time that can be told for certain",
                    hint,
                ));
                (None, None)
            }
        }
    }

    fn id(&mut self, record: &StringRecord, line: u64, told: &mut Vec<Finding>) -> String {
        let cell = self.cell(record, line, Field::Id);
        let wanted = cell.as_ref().map_or_else(|| format!("line {line}"), |c| c.text.to_owned());
        if self.ids.insert(wanted.clone()) {
            return wanted;
        }
        let unique = format!("{wanted} (line {line})");
        if let Some(cell) = cell {
            let message = format!("the identifier occurs before: this one is called {unique}");
            told.push(cell.doubt("id-repeated", message, "give every bearing its own identifier"));
        }
        self.ids.insert(unique.clone());
        unique
    }

    fn number(&self, record: &StringRecord, line: u64, field: Field, told: &mut Vec<Finding>) -> Option<f64> {
        let cell = self.cell(record, line, field)?;
        let value = self.parse(cell.text);
        if value.is_none() {
            told.push(cell.refuse(
                "not-a-number",
                "this is not a number",
                "write digits only, the unit belongs into the header",
            ));
        }
        value
    }

    /// A finite number; a comma is a decimal mark unless it separates the cells.
    fn parse(&self, text: &str) -> Option<f64> {
        let text = text.replace('\u{2212}', "-");
        let text = if self.comma && !text.contains('.') { text.replace(',', ".") } else { text };
        let plain = text.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | 'e' | 'E'));
        text.parse::<f64>().ok().filter(|v| plain && v.is_finite())
    }

    /// What there is to tell about the whole file; without any north nothing of it can be used.
    pub fn finish(self, rows: &mut Vec<ReadBearing>, findings: &mut Vec<Finding>) {
        let file = || Origin::file(self.name);
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
    }
}

/// `055M`, `069°T`, `070 G`: the digits and the letter.
fn split_north(text: &str) -> (&str, Option<char>) {
    let last = text.chars().last().map(|c| c.to_ascii_uppercase()).filter(|c| matches!(c, 'M' | 'T' | 'G'));
    match last {
        Some(c) => (text[..text.len() - 1].trim_end().trim_end_matches('°').trim_end(), Some(c)),
        None => (text, None),
    }
}

/// The zone of a grid north is settled with the stand's longitude.
fn letter(c: char) -> Option<NorthReference> {
    match c {
        'T' => Some(NorthReference::True),
        'M' => Some(NorthReference::Magnetic),
        'G' => Some(NorthReference::Grid(GridFrame::Utm { zone: 0 })),
        _ => None,
    }
}

const fn word(north: NorthReference) -> &'static str {
    match north {
        NorthReference::True => "true",
        NorthReference::Magnetic => "magnetic",
        NorthReference::Grid(_) => "grid",
    }
}
