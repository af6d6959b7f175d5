//! Bearings and levels as the notes have them, in columns that the readers of this program know: read again they give the same
//! problem.

use crate::{
    export::layers::share::{Roles, on_grid},
    geodesy::{GridFrame, Place, zone_of},
    north::TrueBearing,
    observe::{FixKind, Level, LevelReading, NorthReference, Quality},
    report::{Answer, Form},
    units::Hertz,
};

/// A cell of a table.
pub enum Cell {
    /// What this program writes.
    Own(String),
    /// What people wrote.
    Written(String),
}

/// A table.
pub struct Table {
    /// What the file is called.
    pub name: &'static str,
    /// Names of the columns.
    pub head: Vec<String>,
    /// Rows, each as long as the head.
    pub rows: Vec<Vec<Cell>>,
}

/// The tables that can be read again. What they cannot hold is told.
pub fn tables(
    answer: &Answer,
    (readings, monitor): (&[LevelReading], &[LevelReading]),
    form: Form,
    roles: &mut Roles,
    told: &mut Vec<String>,
) -> Vec<Table> {
    let two_way = answer.bearings.iter().filter(|b| b.read().two_way).count();
    if two_way > 0 {
        told.push(format!(
            "bearings.csv leaves out {two_way} bearing(s) of antennas that cannot tell front from back: no column can say that; \
             record.csv has them"
        ));
    }
    let mut out = vec![
        bearings(answer, form, roles),
        levels("levels", readings, form),
        levels("monitor", monitor, form),
    ];
    out.retain(|t| !t.rows.is_empty());
    out
}

/// As many decimals as the number has, none from computing: rounded at the tenth.
fn number(value: f64) -> String {
    ((value * 1e10).round() / 1e10 + 0.0).to_string()
}

/// Degrees with at least nine decimals, so that a reader takes them for exact.
fn degrees(value: f64, form: Form) -> String {
    if form.shared() {
        return format!("{:.3}", on_grid(value));
    }
    let shortest = value.to_string();
    let decimals = shortest.split_once('.').map_or(0, |(_, d)| d.len());
    if decimals >= 9 { shortest } else { format!("{value:.9}") }
}

fn own(value: Option<f64>) -> Cell {
    Cell::Own(value.map_or(String::new(), number))
}

fn both(at: Option<Place>, form: Form) -> [Cell; 2] {
    let text = |value: Option<f64>| Cell::Own(value.map_or(String::new(), |v| degrees(v, form)));
    [text(at.map(Place::lat_degrees)), text(at.map(Place::lon_degrees))]
}

fn bearings(answer: &Answer, form: Form, roles: &mut Roles) -> Table {
    let kept: Vec<&TrueBearing> = answer.bearings.iter().filter(|b| !b.read().two_way).collect();
    let swings = kept.iter().map(|b| b.read().swings.len()).max().unwrap_or(0);
    let mut head: Vec<String> = [
        "id",
        "team",
        "time_utc",
        "date",
        "place",
        "lat_wgs84",
        "lon_wgs84",
        "position_sigma_m",
        "antenna_height_m",
        "bearing_deg",
        "north_reference",
        "sigma_deg",
        "operator_class",
        "front_dbm",
        "back_dbm",
        "freq_mhz",
        "remarks",
    ]
    .map(str::to_owned)
    .to_vec();
    head.extend((1..=swings).map(|i| format!("swing{i}_deg")));
    let rows = kept.iter().map(|bearing| {
        let read = bearing.read();
        let (direction, north) = as_read(bearing);
        let (sigma, class) = match read.quality {
            Quality::Sigma(sigma) => (Some(sigma.to_degrees()), None),
            Quality::Class(class) => (None, Some(class.letter())),
            Quality::Unstated => (None, None),
        };
        let time = read.time.as_ref().map(ToString::to_string);
        // A date beside a time of another zone would be taken for that time's.
        let date = read.date.filter(|_| time.is_none()).map(|d| d.to_string());
        let [lat, lon] = both(Some(read.stand.at), form);
        let person = |what: &'static str, name: &str, roles: &mut Roles| match form {
            Form::Full => name.to_owned(),
            Form::Shared => roles.of(what, name),
        };
        let words = |text: &str| Cell::Written(if form.shared() { String::new() } else { text.to_owned() });
        let mut row = vec![
            Cell::Written(person("bearing", &read.id, roles)),
            Cell::Written(read.team.as_ref().map_or(String::new(), |t| person("team", t, roles))),
            Cell::Own(time.unwrap_or_default()),
            Cell::Own(date.unwrap_or_default()),
            words(&read.stand.name),
            lat,
            lon,
            own(read.stand.sigma.map(|s| s.to_metres())),
            own(read.stand.height.map(|h| h.value())),
            Cell::Own(number(direction)),
            Cell::Own(north.to_owned()),
            own(sigma),
            Cell::Own(class.map_or(String::new(), String::from)),
            own(read.front.map(|l| l.value())),
            own(read.back.map(|l| l.value())),
            own(read.frequency.map(Hertz::to_mhz)),
            words(&read.remarks),
        ];
        row.extend((0..swings).map(|i| own(read.swings.get(i).map(|s| s.to_degrees()))));
        row
    });
    Table { name: "bearings", head, rows: rows.collect() }
}

/// The direction and its north. A bearing from the north of a grid that latitude and longitude do not show is written from true north:
/// its convergence is exact.
fn as_read(bearing: &TrueBearing) -> (f64, &'static str) {
    let read = bearing.read();
    let own_zone =
        |frame: &GridFrame| zone_of(read.stand.at).is_some_and(|zone| *frame == GridFrame::Utm { zone });
    match &read.north {
        NorthReference::True => (read.read.to_degrees(), "true"),
        NorthReference::Magnetic => (read.read.to_degrees(), "magnetic"),
        NorthReference::Grid(frame) if own_zone(frame) => (read.read.to_degrees(), "grid"),
        NorthReference::Grid(_) => (bearing.azimuth().to_degrees(), "true"),
    }
}

fn levels(name: &'static str, readings: &[LevelReading], form: Form) -> Table {
    let head = [
        "id",
        "time_utc",
        "date",
        "place",
        "lat_wgs84",
        "lon_wgs84",
        "position_sigma_m",
        "hdop",
        "fix",
        "satellites",
        "antenna_height_m",
        "corrected_dbm",
        "attenuator_db",
        "rbw_mhz",
        "floor_dbm",
        "device",
        "freq_mhz",
        "remarks",
    ];
    let words = |text: &str| Cell::Written(if form.shared() { String::new() } else { text.to_owned() });
    let rows = readings.iter().map(|reading| {
        let time = reading.time.as_ref().map(ToString::to_string);
        let date = reading.date.filter(|_| time.is_none()).map(|d| d.to_string());
        let [lat, lon] = both(reading.at, form);
        let level = match reading.level {
            Level::Measured(level) => number(level.value()),
            Level::BelowFloor(level) => format!("<{}", number(level.value())),
            Level::OffAir => "off".to_owned(),
        };
        // Beside a corrected level the floor is that of the receiver itself: the attenuator is added when it is read.
        let pad = reading.attenuator.map_or(0.0, |a| a.value());
        vec![
            words(reading.id.as_deref().unwrap_or("")),
            Cell::Own(time.unwrap_or_default()),
            Cell::Own(date.unwrap_or_default()),
            words(&reading.stand),
            lat,
            lon,
            own(reading.sigma.map(|s| s.to_metres())),
            own(reading.fix.hdop),
            Cell::Own(reading.fix.kind.map_or("", fix).to_owned()),
            Cell::Own(reading.fix.satellites.map_or(String::new(), |n| n.to_string())),
            own(reading.height.map(|h| h.value())),
            Cell::Own(level),
            own(reading.attenuator.map(|a| a.value())),
            own(reading.bandwidth.map(Hertz::to_mhz)),
            own(reading.floor.map(|f| f.value() - pad)),
            words(reading.device.as_deref().unwrap_or("")),
            own(reading.frequency.map(Hertz::to_mhz)),
            words(&reading.remarks),
        ]
    });
    Table { name, head: head.map(str::to_owned).to_vec(), rows: rows.collect() }
}

/// A kind of fix as the reader knows it: GGA's number, or GPX's word.
const fn fix(kind: FixKind) -> &'static str {
    match kind {
        FixKind::NoFix => "0",
        FixKind::Satellites => "1",
        FixKind::Differential => "2",
        FixKind::Precise => "3",
        FixKind::PhaseFixed => "4",
        FixKind::PhaseFloat => "5",
        FixKind::Reckoned => "6",
        FixKind::Manual => "7",
        FixKind::Simulated => "8",
        FixKind::Flat => "2d",
        FixKind::Full => "3d",
    }
}
