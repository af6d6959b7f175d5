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
    /// A date alone.
    Day(Date),
    /// A local time without a zone: the date is still of use.
    Local(Date),
    /// A local time that the zone skips.
    Skipped(Date),
    /// A local time that occurs twice; the two instants.
    Twice(Date, Timestamp, Timestamp),
    /// A date, and a time behind it that is not understood.
    Unread(Date),
    /// Not understood, or day and month cannot be told apart.
    Unknown,
}

/// Reads ISO 8601 / RFC 3339, `17.03.2026 11:02:00`, and `17/03/2026 11:02` or `03/17/2026 11:02` where one of the two
/// is beyond 12.
pub fn moment(text: &str, zone: Option<&(TimeZone, String)>) -> Moment {
    let text = text.trim();
    // A zone in brackets behind the time is not read, and must not be passed over.
    if text.contains('[') {
        return Moment::Unknown;
    }
    if let Some(date) = day(text) {
        return Moment::Day(date);
    }
    if let Ok(utc) = text.parse::<Timestamp>() {
        return Moment::Known(Instant::new(utc, text, None));
    }
    if let Some(utc) = offset(text) {
        return Moment::Known(Instant::new(utc, text, None));
    }
    let Some(local) = civil(text) else {
        // A clear date is kept whatever stands behind it: the declination needs no more.
        return text.split_once([' ', 'T']).and_then(|(d, _)| day(d)).map_or(Moment::Unknown, Moment::Unread);
    };
    let Some((zone, name)) = zone else { return Moment::Local(local.date()) };
    let ambiguous = zone.to_ambiguous_timestamp(local);
    match (ambiguous.unambiguous(), ambiguous.earlier(), ambiguous.later()) {
        (Ok(utc), _, _) => Moment::Known(Instant::new(utc, text, Some(name.clone()))),
        // Only a time that occurs twice reads back as itself from either instant.
        (Err(_), Ok(a), Ok(b)) if zone.to_datetime(a) == local => Moment::Twice(local.date(), a, b),
        _ => Moment::Skipped(local.date()),
    }
}

/// A date and time followed by `UTC`, `GMT`, or an offset such as `+0100` or `+01:00`, with or without a blank before it.
fn offset(text: &str) -> Option<Timestamp> {
    let upper = text.to_ascii_uppercase();
    if let Some(rest) = upper.strip_suffix("UTC").or(upper.strip_suffix("GMT")) {
        return TimeZone::UTC.to_ambiguous_timestamp(civil(rest.trim_end())?).unambiguous().ok();
    }
    let at = text.rfind(['+', '-']).filter(|at| text[..*at].contains(':'))?;
    let digits: String = text[at + 1..].chars().filter(|c| *c != ':').collect();
    let plain = digits.len() == 4 && digits.bytes().all(|b| b.is_ascii_digit());
    let (hours, minutes) = (digits.get(..2)?, digits.get(2..)?);
    let rest = civil(text[..at].trim_end()).filter(|_| plain)?;
    format!("{rest}{}{hours}:{minutes}", &text[at..=at]).parse().ok()
}

fn civil(text: &str) -> Option<DateTime> {
    let (date, time) = text.split_once([' ', 'T'])?;
    Some(day(date)?.to_datetime(clock(time.trim())?))
}

/// A date alone: `2026-03-17`, `17.03.2026`, `17/03/2026`. Points mean day first; with slashes only a number beyond 12
/// tells day from month, or that both are the same. Years have four digits.
fn day(text: &str) -> Option<Date> {
    let mark = text.chars().find(|c| matches!(c, '-' | '.' | '/'))?;
    let parts: Vec<&str> = text.split(mark).collect();
    let [a, b, c] = parts[..] else { return None };
    let number = |text: &str| text.parse::<i16>().ok().filter(|_| text.bytes().all(|b| b.is_ascii_digit()));
    let (first, second, last) = (number(a)?, number(b)?, number(c)?);
    let (year, month, day) = match mark {
        '-' | '/' if a.len() == 4 => (first, second, last),
        '.' if c.len() == 4 => (last, second, first),
        '/' if c.len() == 4 && (first > 12 || first == second) => (last, second, first),
        '/' if c.len() == 4 && second > 12 => (last, first, second),
        _ => return None,
    };
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

/// `8:40`, `08:40`, `08:40:30`, `08:40:30.25`, `8:40 PM`.
fn clock(text: &str) -> Option<Time> {
    let upper = text.to_ascii_uppercase();
    for (mark, afternoon) in [("AM", 0), ("PM", 12)] {
        if let Some(rest) = upper.strip_suffix(mark) {
            let time = clock(rest.trim_end()).filter(|t| (1..=12).contains(&t.hour()))?;
            return Time::new(
                time.hour() % 12 + afternoon,
                time.minute(),
                time.second(),
                time.subsec_nanosecond(),
            )
            .ok();
        }
    }
    let plain = text.bytes().all(|b| b.is_ascii_digit() || matches!(b, b':' | b'.'));
    match text.find(':').filter(|_| plain)? {
        1 => format!("0{text}").parse().ok(),
        _ => text.parse().ok(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    #[test]
    fn a_day_is_read_only_where_nothing_can_be_confused() {
        let seventeenth = Some(date(2026, 3, 17));
        for text in ["2026-03-17", "17.03.2026", "17.3.2026", "17/03/2026", "03/17/2026"] {
            assert_eq!(day(text), seventeenth, "{text}");
        }
        assert_eq!(day("03/03/2026"), Some(date(2026, 3, 3)));
        for text in
            ["04/03/2026", "17.03.26", "17-03-2026", "2026-17-03", "2026-3", "+17.03.2026", "17.13.2026", ""]
        {
            assert_eq!(day(text), None, "{text}");
        }
    }

    #[test]
    fn a_date_alone_is_no_midnight() {
        let utc = (TimeZone::UTC, "UTC".to_owned());
        assert_eq!(moment("2026-03-17", Some(&utc)), Moment::Day(date(2026, 3, 17)));
        assert_eq!(moment("2026-03-17 08:40", None), Moment::Local(date(2026, 3, 17)));
        let Moment::Known(instant) = moment("17.03.2026 08:40:30.25", Some(&utc)) else {
            panic!("a time in UTC")
        };
        assert_eq!((instant.to_string().as_str(), instant.zone()), ("2026-03-17T08:40:30.25Z", Some("UTC")));
    }

    #[test]
    fn what_is_no_time_stays_unknown() {
        for text in [
            "",
            "now",
            "08:40",
            "2026-03-17T08:40[America/Los_Angeles]",
            "2026-03-17T08:40:00Z[America/Los_Angeles]",
        ] {
            assert_eq!(moment(text, None), Moment::Unknown, "{text}");
        }
        for text in [
            "2026-03-17 8",
            "2026-03-17 24:00",
            "2026-03-17 08:60",
            "2026-03-17 08:40:61",
            "2026-03-17 08:40 PDT",
            "2026-03-17 13:40 pm",
            "2026-03-17 0:40 am",
            "2026-03-17 -8:40",
            "2026-03-17 08:40.x",
            "2026-03-17 08:40 +01",
        ] {
            assert_eq!(moment(text, None), Moment::Unread(date(2026, 3, 17)), "{text}");
        }
    }

    #[test]
    fn offsets_and_halves_of_the_day_are_read() {
        for (text, utc) in [
            ("2026-03-17 10:00 UTC", "2026-03-17T10:00:00Z"),
            ("17.03.2026 10:00 GMT", "2026-03-17T10:00:00Z"),
            ("2026-03-17T10:00:00 +0100", "2026-03-17T09:00:00Z"),
            ("2026-03-17 10:00-07:00", "2026-03-17T17:00:00Z"),
            ("2026/03/17 5:30 PM UTC", "2026-03-17T17:30:00Z"),
            ("2026-03-17 12:05 AM UTC", "2026-03-17T00:05:00Z"),
        ] {
            let Moment::Known(instant) = moment(text, None) else { panic!("{text}") };
            assert_eq!(instant.to_string(), utc, "{text}");
        }
    }
}
