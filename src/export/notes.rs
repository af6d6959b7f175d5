//! Bearings and levels as notes: tables that [`crate::ingest`] reads back as they were.

use crate::{
    observe::{NorthReference, Quality, ReadBearing},
    units::{Angle, Sigma},
};

/// Columns of the table without the swings, which stand behind `lon`.
const BEFORE: [&str; 7] = ["id", "team", "time_utc", "place", "lat", "lon", "position_sigma_m"];
const BEHIND: [&str; 10] = [
    "bearing_deg",
    "north_reference",
    "class",
    "sigma_deg",
    "front_dbm",
    "back_dbm",
    "antenna_height_m",
    "freq_mhz",
    "left_out",
    "remarks",
];

/// Three swings have a column even where nobody wrote any.
const FEWEST_SWINGS: usize = 3;

/// A table of notes: its header, and one row of cells for each bearing or level.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Notes {
    /// Names of the columns.
    pub columns: Vec<String>,
    /// Cells.
    pub rows: Vec<Vec<String>>,
}

impl Notes {
    /// The table of these bearings, none of them left out. What it cannot say is lost: whether a direction is two-way, and a
    /// grid north other than that of the stand's UTM zone. Whoever needs the notes whole reads the table again and compares.
    pub fn of(bearings: &[ReadBearing]) -> Self {
        let swings = bearings.iter().map(|b| b.swings.len()).max().unwrap_or(0).max(FEWEST_SWINGS);
        let named = (1..=swings).map(|i| format!("swing{i}"));
        let columns = BEFORE
            .iter()
            .map(|c| (*c).to_owned())
            .chain(named)
            .chain(BEHIND.iter().map(|c| (*c).to_owned()))
            .collect();
        Self { columns, rows: bearings.iter().map(|b| row(b, swings)).collect() }
    }

    /// As delimited text (RFC 4180).
    pub fn csv(&self) -> String {
        let line = |cells: &[String]| cells.iter().map(|c| quoted(c)).collect::<Vec<_>>().join(",") + "\n";
        std::iter::once(line(&self.columns)).chain(self.rows.iter().map(|r| line(r))).collect()
    }
}

fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n', '\r', ';', '\t']) || cell.trim() != cell {
        return format!("\"{}\"", cell.replace('"', "\"\""));
    }
    cell.to_owned()
}

fn row(b: &ReadBearing, swings: usize) -> Vec<String> {
    let number = |value: Option<f64>| value.map_or_else(String::new, |v| v.to_string());
    let degrees = |a: Angle| shortest(a.to_degrees(), |v| Angle::degrees(v) == a);
    let sigma = |s: Sigma<Angle>| shortest(s.to_degrees(), |v| Sigma::<Angle>::degrees(v) == Some(s));
    let (class, stated) = match b.quality {
        Quality::Class(class) => (class.letter().to_string(), String::new()),
        Quality::Sigma(s) => (String::new(), sigma(s)),
        Quality::Unstated => Default::default(),
    };
    let time = b.time.as_ref().map(ToString::to_string);
    let time = time.or_else(|| b.date.map(|d| d.to_string())).unwrap_or_default();
    let mut cells = vec![
        b.id.clone(),
        b.team.clone().unwrap_or_default(),
        time,
        b.stand.name.clone(),
        b.stand.at.lat_degrees().to_string(),
        b.stand.at.lon_degrees().to_string(),
        number(b.stand.sigma.map(Sigma::to_metres)),
    ];
    cells.extend((0..swings).map(|i| b.swings.get(i).map_or_else(String::new, |s| degrees(*s))));
    let north = match b.north {
        NorthReference::True => "true",
        NorthReference::Magnetic => "magnetic",
        NorthReference::Grid(_) => "grid",
    };
    cells.extend([
        degrees(b.read),
        north.to_owned(),
        class,
        stated,
        number(b.front.map(|l| l.value())),
        number(b.back.map(|l| l.value())),
        number(b.stand.height.map(|h| h.value())),
        b.frequency.map_or_else(String::new, |f| shortest(f.to_mhz(), |v| crate::units::Hertz::mhz(v) == f)),
        String::new(),
        b.remarks.clone(),
    ]);
    cells
}

/// The fewest decimals that give the same value back.
pub(super) fn shortest(value: f64, same: impl Fn(f64) -> bool) -> String {
    (0..=15)
        .map(|d| format!("{value:.d$}"))
        .find(|text| text.parse().is_ok_and(&same))
        .unwrap_or_else(|| value.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ingest::{Settings, bearings};

    const HARD: &str = "id,team,time,place,lat,lon,hdop,swing1,swing2,bearing,north,class,sigma_deg,front_dbm,back_dbm,height,freq_mhz,remarks\n\
        a,T,2026-03-17T08:40:00-07:00,\"Quarry Road, crest\",46.955013,-118.384335,1.3,72,68,70.1,magnetic,B,,-79.4,-93.1,2.0,841.5,\"two \"\"peaks\"\"; broad\"\n\
        b,,2026-03-17,,46°58.2441'N,118°21.5972'W,,,,0,true,,5.25,,,,,\n\
        c,,,gate,46.95,-118.36,,359.9,1.3,,grid,,,,,,,\" leading blank\"\n\
        d,,,gate,-33.9,151.2,0.7,,,359.995,T,,,,,,0.1361,x;y\n";

    #[test]
    fn notes_read_back_as_they_were() {
        let read = bearings("hard.csv", HARD.as_bytes(), &Settings::default());
        assert_eq!(read.rows.len(), 4, "{:?}", read.findings);
        let notes = Notes::of(&read.rows);
        let again = bearings("again.csv", notes.csv().as_bytes(), &Settings::default());
        assert_eq!(again.findings, [], "the table leaves nothing to be told");
        for (a, b) in read.rows.iter().zip(&again.rows) {
            let plain = |r: &ReadBearing| ReadBearing { time: None, origin: Default::default(), ..r.clone() };
            assert_eq!(plain(a), plain(b));
            assert_eq!(a.time.as_ref().map(|t| t.utc()), b.time.as_ref().map(|t| t.utc()));
        }
        // What was written short is written short again.
        let cell = |row: usize, column: &str| {
            notes.rows[row][notes.columns.iter().position(|c| c == column).unwrap()].as_str()
        };
        assert_eq!(
            (cell(0, "bearing_deg"), cell(0, "freq_mhz"), cell(1, "sigma_deg")),
            ("70.1", "841.5", "5.25")
        );
    }

    #[test]
    fn a_row_that_says_so_is_left_out_and_told() {
        let mut notes = Notes::of(&bearings("hard.csv", HARD.as_bytes(), &Settings::default()).rows);
        let column = notes.columns.iter().position(|c| c == "left_out").unwrap();
        for (row, word) in [(0, "yes"), (1, "no"), (2, "perhaps")] {
            notes.rows[row][column] = word.to_owned();
        }
        let read = bearings("notes.csv", notes.csv().as_bytes(), &Settings::default());
        assert_eq!(read.rows.iter().map(|r| r.id.as_str()).collect::<Vec<_>>(), ["b", "c", "d"]);
        let told: Vec<(&str, Option<u64>)> =
            read.findings.iter().map(|f| (f.code, f.origin.as_ref().and_then(|o| o.line))).collect();
        assert_eq!(told, [("left-out", Some(2)), ("left-out-unclear", Some(4))]);
    }
}
