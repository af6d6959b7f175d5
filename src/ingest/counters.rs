//! Counters of receivers that stay in their place, and the times at which a suspect was switched.

use std::{borrow::Cow, collections::BTreeSet, sync::Arc};

use csv::StringRecord;

use crate::{
    finding::{Finding, Origin, Severity},
    ingest::{
        MOST_LEVELS, Settings,
        lines::plain_ends,
        log::Log,
        names::Field,
        once::Once,
        shared::{fitting, time, told},
        sheet::{Row, Sheet},
        table::{Table, each},
        vocabulary::Vocabulary,
    },
    observe::{Counter, Switch},
};

/// More receivers than this do not share their names.
const MOST_RECEIVERS: usize = 10_000;

/// More switchings than this are no test by hand.
const MOST_SWITCHES: usize = 10_000;

/// What counts in a row: the level, or else the rise above the floor, or else what the receiver shows.
const VALUES: [Field; 3] = [Field::Level, Field::Rise, Field::Indicated];

/// Reads the rows of counters.
pub fn counters(name: &str, text: Cow<'_, str>, settings: &Settings, log: &mut Log) -> Vec<Counter> {
    let text = plain_ends(text);
    let Some(table) = Table::open(name, &text, Vocabulary::Counters, log) else { return Vec::new() };
    let Some(sheet) = Sheet::new(name, &table.columns, settings, Some(table.delimiter()), log) else {
        return Vec::new();
    };
    let value = VALUES.into_iter().find(|f| table.columns.at(*f).is_some());
    let Some((field, index)) = value.and_then(|f| Some((f, table.columns.at(f)?))) else { return Vec::new() };
    let message =
        format!("what counts is the column {}", crate::finding::clipped(&table.columns.headers[index]));
    log.tell(Finding::assumed("value-column", message).at(Origin::file(name)));
    let mut names: BTreeSet<Arc<str>> = BTreeSet::new();
    let (mut once, mut out) = (Once::default(), Vec::new());
    let limit = (MOST_LEVELS, "split the log");
    each(&sheet, table.records, limit, log, |record, line, log| {
        let read = |row: &mut Row, once: &mut Once| {
            let at = moment(row, once)?;
            let hint = "write a level or a rise in decibels, or leave the row out";
            if row.cell(field).is_none() {
                row.refuse_field(field, "level-missing", "the row has no value", hint);
            }
            let db = row.number_in(field, -300.0..=300.0, "level-range", "no receiver shows this", hint)?;
            let receiver = row.cell(Field::Device).map(|c| shared_name(&mut names, c.text));
            Some(Counter { receiver, at, db, line })
        };
        out.extend(one(&sheet, record, line, &mut once, log, read));
    });
    once.local_times = 0;
    once.tell(name, !out.is_empty(), log);
    out
}

/// Reads the times at which a suspect was switched.
pub fn switches(name: &str, text: Cow<'_, str>, settings: &Settings, log: &mut Log) -> Vec<Switch> {
    let text = plain_ends(text);
    let Some(table) = Table::open(name, &text, Vocabulary::Switches, log) else { return Vec::new() };
    let Some(sheet) = Sheet::new(name, &table.columns, settings, Some(table.delimiter()), log) else {
        return Vec::new();
    };
    let (mut once, mut out) = (Once::default(), Vec::new());
    let limit = (MOST_SWITCHES, "keep the switchings of one test");
    each(&sheet, table.records, limit, log, |record, line, log| {
        let read = |row: &mut Row, once: &mut Once| {
            let at = moment(row, once)?;
            let on = state(row)?;
            Some(Switch { at, on, line })
        };
        out.extend(one(&sheet, record, line, &mut once, log, read));
    });
    once.local_times = 0;
    once.tell(name, !out.is_empty(), log);
    out
}

/// One row: its findings told, and nothing of it where one of them refuses it.
fn one<T>(
    sheet: &Sheet,
    record: &StringRecord,
    line: u64,
    once: &mut Once,
    log: &mut Log,
    read: impl FnOnce(&mut Row, &mut Once) -> Option<T>,
) -> Option<T> {
    let record = fitting(sheet, record, line, log)?;
    once.unnamed(sheet.columns, &record);
    let mut row = Row { sheet, record: &record, line, told: Vec::new() };
    let out = read(&mut row, once);
    let sound = told(row.told, once, log);
    out.filter(|_| sound)
}

/// The time of a row; a row without one is refused, because it can be of no use here.
fn moment(row: &mut Row, once: &mut Once) -> Option<jiff::Timestamp> {
    let local = once.local_times;
    let (instant, _) = time(row, once);
    if let Some(instant) = instant {
        return Some(instant.utc());
    }
    // What is doubtful elsewhere is decisive here.
    if let Some(doubt) = row.told.last_mut().filter(|f| f.code.starts_with("time-")) {
        doubt.severity = Severity::Refused;
        doubt.message = doubt.message.replace(": only the date is used", "");
        doubt.hint = doubt.hint.take().map(|h| h.replace("the time is left out: ", ""));
    } else if once.local_times > local {
        let hint =
            "state the zone once, such as --zone America/Los_Angeles, or write the offset behind the time";
        row.refuse_field(Field::Time, "zone-missing", "this local time names no zone", hint);
    } else {
        let hint = "write 2026-03-17T15:40:00Z";
        row.refuse_field(Field::Time, "time-missing", "the row has no date and time", hint);
    }
    None
}

/// A name that many rows share is kept once.
fn shared_name(names: &mut BTreeSet<Arc<str>>, text: &str) -> Arc<str> {
    if let Some(known) = names.get(text) {
        return known.clone();
    }
    let name: Arc<str> = text.into();
    if names.len() < MOST_RECEIVERS {
        names.insert(name.clone());
    }
    name
}

/// On or off, in four languages.
fn state(row: &mut Row) -> Option<bool> {
    let hint = "write on or off";
    let Some(cell) = row.cell(Field::State) else {
        row.refuse_field(Field::State, "state-missing", "the row does not say on or off", hint);
        return None;
    };
    match cell.text.to_lowercase().as_str() {
        "on" | "1" | "an" | "ein" | "marche" | "encendido" => Some(true),
        "off" | "0" | "aus" | "arrêt" | "arret" | "apagado" => Some(false),
        _ => {
            row.told.push(cell.refuse("state-unknown", "this says neither on nor off", hint));
            None
        }
    }
}
