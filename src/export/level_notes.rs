//! Levels as notes.

use crate::{
    export::{Notes, notes::shortest},
    observe::{FixKind, Level, LevelReading, LevelUnit},
    units::{Hertz, Sigma},
};

/// Columns of the table.
const COLUMNS: [&str; 19] = [
    "id",
    "device",
    "time_utc",
    "place",
    "lat",
    "lon",
    "position_sigma_m",
    "fix",
    "hdop",
    "satellites",
    "indicated_dbm",
    "attenuator_db",
    "level_dbm",
    "floor_dbm",
    "rbw_mhz",
    "antenna_height_m",
    "freq_mhz",
    "left_out",
    "remarks",
];

impl Notes {
    /// The table of these levels, none of them left out; without levels it is a header to write under. What it cannot say is
    /// lost: levels that are no dBm, and what a cable or an antenna added. Whoever needs the notes whole reads the table again
    /// and compares.
    pub fn of_levels(levels: &[LevelReading]) -> Self {
        let columns = COLUMNS.map(str::to_owned).to_vec();
        Self { columns, rows: levels.iter().map(row).collect() }
    }
}

/// The numbers that the receiver showed and that stand for the level.
struct Shown {
    indicated: String,
    level: String,
    floor: String,
}

fn shown(l: &LevelReading) -> Shown {
    let pad = l.attenuator.map_or(0.0, |a| a.value());
    let floor = l.floor.map_or_else(String::new, |f| {
        let above = if l.attenuator_in_raw { 0.0 } else { pad };
        shortest(f.value() - pad, |v| v + above + (pad - above) == f.value())
    });
    let (word, raw) = match (l.level, l.raw) {
        (Level::OffAir, _) => return both(l, "off", "off", floor),
        (_, Some(raw)) if raw.unit == LevelUnit::Dbm => ("", raw.value),
        _ => return both(l, "", "", floor),
    };
    let added = if l.attenuator_in_raw { 0.0 } else { pad };
    // A level that its row calls below the floor, not one that the floor's column does.
    let word = match l.level {
        Level::BelowFloor(floor) if floor.value() == raw + added => "<",
        _ => word,
    };
    let before = shortest(raw - pad, |v| v == raw - pad);
    let indicated = if l.attenuator_in_raw { before } else { raw.to_string() };
    both(l, &format!("{word}{indicated}"), &format!("{word}{raw}"), floor)
}

/// The corrected level stands beside the indicated one only where it was the one that was read.
fn both(l: &LevelReading, indicated: &str, level: &str, floor: String) -> Shown {
    let level = if l.attenuator_in_raw { level.to_owned() } else { String::new() };
    Shown { indicated: indicated.to_owned(), level, floor }
}

fn row(l: &LevelReading) -> Vec<String> {
    let number = |value: Option<f64>| value.map_or_else(String::new, |v| v.to_string());
    let mhz = |f: Option<Hertz>| f.map_or_else(String::new, |f| shortest(f.to_mhz(), |v| Hertz::mhz(v) == f));
    let time = l.time.as_ref().map(ToString::to_string);
    let time = time.or_else(|| l.date.map(|d| d.to_string())).unwrap_or_default();
    let text = |t: Option<&str>| t.unwrap_or_default().to_owned();
    let Shown { indicated, level, floor } = shown(l);
    vec![
        text(l.id.as_deref()),
        text(l.device.as_deref()),
        time,
        l.stand.clone(),
        number(l.at.map(|p| p.lat_degrees())),
        number(l.at.map(|p| p.lon_degrees())),
        number(l.sigma.map(Sigma::to_metres)),
        l.fix.kind.map_or("", fix).to_owned(),
        number(l.fix.hdop),
        l.fix.satellites.map_or_else(String::new, |s| s.to_string()),
        indicated,
        number(l.attenuator.map(|a| a.value())),
        level,
        floor,
        mhz(l.bandwidth),
        number(l.height.map(|h| h.value())),
        mhz(l.frequency),
        String::new(),
        l.remarks.clone(),
    ]
}

/// As the reader of logs takes it.
const fn fix(kind: FixKind) -> &'static str {
    match kind {
        FixKind::NoFix => "none",
        FixKind::Flat => "2d",
        FixKind::Full => "3d",
        FixKind::Satellites => "gps",
        FixKind::Differential => "dgps",
        FixKind::Precise => "pps",
        FixKind::PhaseFixed => "4",
        FixKind::PhaseFloat => "5",
        FixKind::Reckoned => "6",
        FixKind::Manual => "7",
        FixKind::Simulated => "8",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ingest::{Settings, levels};

    const HARD: [&str; 4] = [
        "seq,time_utc,lat,lon,hdop,fix,indicated_dbm,attenuator_db,level_dbm\n\
         1,2026-03-17T17:05:00Z,46.9550022,-118.3599965,1.1,1,-77.4,0,-77.4\n\
         2,2026-03-17T17:05:04Z,46.9550460,-118.3599920,1.3,1,-84.0,20,-64.0\n\
         3,2026-03-17T17:05:08Z,46.9550702,-118.3599901,,3d,off,0,off\n",
        "id,lat,lon,position_sigma_m,indicated_dbm,attenuator_db,floor_dbm,freq_mhz,remarks\n\
         a,46.9550022,-118.3599965,7.5,<-110,10,,841.5,\"two, of them\"\n\
         b,46.9550022,-118.3599965,,-112.5,,-112,841.5,\n\
         c,46.9550022,-118.3599965,,-80.3,3,-112,,x\n\
         d,,,,off,,,,\n",
        "device,time_utc,lat,lon,level_dbm,rbw_khz\nr1,2026-03-17,46.9550022,-118.3599965,-99.9,200\n",
        "lat,lon,level_dbm,antenna_height_m\n46.9550022,-118.3599965,<-99.9,1.5\n",
    ];

    #[test]
    fn levels_read_back_as_they_were() {
        for text in HARD {
            let read = levels("hard.csv", text.as_bytes(), &Settings::default());
            assert_eq!(read.rows.len(), text.lines().count() - 1, "{:?}", read.findings);
            let again =
                levels("again.csv", Notes::of_levels(&read.rows).csv().as_bytes(), &Settings::default());
            for (a, b) in read.rows.iter().zip(&again.rows) {
                let plain =
                    |r: &LevelReading| LevelReading { time: None, written: a.written.clone(), ..r.clone() };
                assert_eq!(plain(a), plain(b));
                assert_eq!(a.time.as_ref().map(|t| t.utc()), b.time.as_ref().map(|t| t.utc()));
            }
            assert_eq!(again.rows.len(), read.rows.len(), "{:?}", again.findings);
        }
    }

    /// A page saves the same rows as points, without the empty cells.
    #[test]
    fn levels_read_the_same_from_points() {
        let read = levels("l.csv", HARD[0].as_bytes(), &Settings::default());
        let notes = Notes::of_levels(&read.rows);
        let features = notes.rows.iter().map(|row| {
            let cells = notes.columns.iter().zip(row);
            let cell =
                |name: &str| cells.clone().find(|(c, _)| *c == name).unwrap().1.parse::<f64>().unwrap();
            let kept = cells.clone().filter(|(c, v)| !v.is_empty() && !["lat", "lon"].contains(&c.as_str()));
            let properties: serde_json::Map<_, _> =
                kept.map(|(c, v)| (c.clone(), v.as_str().into())).collect();
            let geometry = serde_json::json!({ "type": "Point", "coordinates": [cell("lon"), cell("lat")] });
            serde_json::json!({ "type": "Feature", "geometry": geometry, "properties": properties })
        });
        let features: Vec<_> = features.collect();
        let text = serde_json::json!({ "type": "FeatureCollection", "features": features }).to_string();
        assert_eq!(crate::ingest::kind(text.as_bytes()), crate::ingest::Kind::Levels);
        let again = levels("l.geojson", text.as_bytes(), &Settings::default());
        let plain = |r: &LevelReading| {
            (r.id.clone(), r.at, r.level, r.attenuator, r.fix, r.time.as_ref().map(|t| t.utc()))
        };
        assert_eq!(
            again.rows.iter().map(plain).collect::<Vec<_>>(),
            read.rows.iter().map(plain).collect::<Vec<_>>()
        );
    }

    #[test]
    fn a_level_that_its_row_leaves_out_is_not_read_and_told() {
        let mut notes = Notes::of_levels(&levels("l.csv", HARD[0].as_bytes(), &Settings::default()).rows);
        let column = notes.columns.iter().position(|c| c == "left_out").unwrap();
        notes.rows[1][column] = "yes".to_owned();
        let read = levels("l.csv", notes.csv().as_bytes(), &Settings::default());
        assert_eq!(read.rows.iter().filter_map(|r| r.id.as_deref()).collect::<Vec<_>>(), ["1", "3"]);
        assert!(
            read.findings.iter().any(|f| f.code == "left-out" && f.origin.as_ref().unwrap().line == Some(3))
        );
    }
}
