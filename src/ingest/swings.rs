//! Rows of an antenna turned on the spot: a heading and a level each.

use std::borrow::Cow;

use crate::{
    ingest::{
        NorthLabel, Settings,
        direction::direction,
        levels,
        lines::plain_ends,
        log::Log,
        names::Field,
        once::Once,
        position::{Position, position},
        row::{METRES_PER_HDOP, reference},
        sheet::{Row, Sheet},
        swing_groups::grouped,
        table::{MOST_ROWS, Table, each},
        vocabulary::Vocabulary,
    },
    observe::{LevelReading, NorthReference, Swing, SwingAntenna},
    radio::Family,
    units::{Angle, Metres, Sigma},
};

/// One row: its level, and where the antenna pointed.
pub struct Heading {
    /// The level and everything that belongs to it.
    pub reading: LevelReading,
    /// Where the antenna pointed.
    pub heading: Angle,
    /// The north that the row names.
    pub label: NorthLabel,
    /// That north, where the row has a place.
    pub north: Option<NorthReference>,
    /// What the row says about the antenna.
    pub antenna: SwingAntenna,
    /// Error of the position, also where only the dilution of precision was written.
    pub sigma: Option<Sigma<Metres>>,
}

/// Reads a table of headings and levels.
pub fn read(name: &str, text: Cow<'_, str>, settings: &Settings, log: &mut Log) -> Vec<Swing> {
    let text = plain_ends(text);
    let Some(table) = Table::open(name, &text, Vocabulary::Swings, log) else { return Vec::new() };
    let Some(sheet) = Sheet::new(name, &table.columns, settings, Some(table.delimiter()), log) else {
        return Vec::new();
    };
    let mut reader = levels::Reader::new(&sheet);
    let mut rows = Vec::new();
    let limit = (MOST_ROWS, "split the file: a swing has a few hundred rows");
    each(&sheet, table.records, limit, log, |record, line, log| {
        let found = reader.read_with(record, line, log, also);
        rows.extend(found.map(|(reading, row)| Heading { reading, ..row }));
    });
    reader.finish(log);
    grouped(rows, settings, name, log)
}

/// What a row holds beside its level; its own reading stands in for the one that the caller puts there.
fn also(row: &mut Row, reading: &LevelReading, once: &mut Once) -> Option<Heading> {
    let direction = direction(row)?;
    once.unlabelled += usize::from(direction.north.is_none());
    let label = direction.north?;
    let north = match reading.at {
        None => None,
        // Only the north of a grid depends on how the place was written.
        Some(place) => {
            let at = if label == NorthLabel::Grid { position(row)? } else { Position::exact(place) };
            Some(reference(row, label, at, "heading")?)
        }
    };
    let from_hdop = || Sigma::<Metres>::metres(METRES_PER_HDOP * reading.fix.hdop?);
    let sigma = reading.sigma.or_else(from_hdop);
    once.hdop_used |= reading.sigma.is_none() && sigma.is_some();
    let antenna = antenna(row);
    Some(Heading { reading: reading.clone(), heading: direction.read, label, north, antenna, sigma })
}

fn antenna(row: &mut Row) -> SwingAntenna {
    let why = "an antenna's beam is 1 to 180 degrees wide at half power";
    let hint = "write the full width between the points 3 dB down, or leave the cell empty";
    let width = row.number_in(Field::Beamwidth, 1.0..=180.0, "beamwidth-out-of-range", why, hint);
    let family = row.cell(Field::Pattern).and_then(|cell| {
        let family = family(cell.text);
        if family.is_none() {
            let hint = "write yagi, cardioid, loop or body";
            let message = "this is no kind of pattern that is known: taken as not stated";
            row.told.push(cell.doubt("pattern-unknown", message, hint));
        }
        family
    });
    SwingAntenna { family, beamwidth: width.map(Angle::degrees) }
}

/// The family of a word, in four languages; of several words the first that is known counts.
pub fn family(text: &str) -> Option<Family> {
    const WORDS: [(Family, &[&str]); 4] = [
        (
            Family::Lobe,
            &[
                "lobe",
                "yagi",
                "logper",
                "periodic",
                "lpda",
                "panel",
                "horn",
                "directional",
                "beam",
                "keule",
                "richtantenne",
                "directive",
                "directiva",
            ],
        ),
        (Family::Cardioid, &["cardioid", "kardioide", "cardioïde", "cardioide"]),
        (
            Family::FigureOfEight,
            &[
                "loop",
                "dipole",
                "ferrite",
                "frame",
                "eight",
                "rahmen",
                "rahmenantenne",
                "dipol",
                "cadre",
                "cuadro",
            ],
        ),
        (Family::Body, &["body", "whip", "rod", "körper", "corps", "cuerpo"]),
    ];
    let lower = text.to_lowercase();
    let words = lower.split(|c: char| !c.is_alphanumeric());
    words.filter_map(|w| WORDS.iter().find(|(_, names)| names.contains(&w)).map(|(f, _)| *f)).next()
}
