//! Times as people write them.

use jiff::{
    Timestamp,
    civil::{Date, DateTime, Time},
    tz::TimeZone,
};

use crate::instant::Instant;

/// What a text of date and time gives.
#[derive(Clone, Debug, PartialEq)]
pub enum Moment {
    /// An instant.
    Known(Instant),
    /// A local time without a zone: the date is still of use.
    Local(Date),
    /// A local time that the zone skips.
    Skipped(Date),
    /// A local time that occurs twice; the two instants.
    Twice(Date, Timestamp, Timestamp),
    /// Not understood, or day and month cannot be told apart.
    Unknown,
}

/// Reads ISO 8601 / RFC 3339, `17.03.2026 11:02:00` and `17/03/2026 11:02` where the day is beyond 12.
pub fn moment(text: &str, zone: Option<&TimeZone>, zone_name: Option<&str>) -> Moment {
    let text = text.trim();
    if let Ok(utc) = text.parse::<Timestamp>() {
        return Moment::Known(Instant::new(utc, text, None));
    }
    let Some(local) = civil(text) else { return Moment::Unknown };
    let Some(zone) = zone else { return Moment::Local(local.date()) };
    let ambiguous = zone.to_ambiguous_timestamp(local);
    match (ambiguous.unambiguous(), ambiguous.earlier(), ambiguous.later()) {
        (Ok(utc), _, _) => Moment::Known(Instant::new(utc, text, zone_name.map(str::to_owned))),
        // Only a time that occurs twice reads back as itself from either instant.
        (Err(_), Ok(a), Ok(b)) if zone.to_datetime(a) == local => Moment::Twice(local.date(), a, b),
        _ => Moment::Skipped(local.date()),
    }
}

fn civil(text: &str) -> Option<DateTime> {
    if let Ok(datetime) = text.parse::<DateTime>() {
        return Some(datetime);
    }
    let (date, rest) = text.split_once([' ', 'T']).unwrap_or((text, ""));
    let date = date.parse::<Date>().ok().or_else(|| day_first(date))?;
    let time = if rest.trim().is_empty() { Time::midnight() } else { clock(rest.trim())? };
    Some(date.to_datetime(time))
}

/// `17.03.2026`: points always mean day first; with slashes only a day beyond 12 tells.
fn day_first(text: &str) -> Option<Date> {
    let mark = if text.contains('.') { '.' } else { '/' };
    let parts: Vec<&str> = text.split(mark).collect();
    let [day, month, year] = parts[..] else { return None };
    let (day, month, year): (i8, i8, i16) = (day.parse().ok()?, month.parse().ok()?, year.parse().ok()?);
    if mark == '/' && day <= 12 { None } else { Date::new(year, month, day).ok() }
}

fn clock(text: &str) -> Option<Time> {
    let parts: Vec<&str> = text.split(':').collect();
    let number = |i: usize| parts.get(i).map_or(Some(0), |p| p.parse::<i8>().ok());
    if !(2..=3).contains(&parts.len()) {
        return None;
    }
    Time::new(number(0)?, number(1)?, number(2)?, 0).ok()
}
