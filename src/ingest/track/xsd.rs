//! Values of XML as GPX 1.1 has them.

use jiff::{Timestamp, civil::DateTime, tz::TimeZone};

/// Longer texts have no meaning.
pub const LONGEST: usize = 100;

/// `Some(None)` for an empty text, `None` for one that is not understood.
pub fn part<T>(text: &str, read: impl Fn(&str) -> Option<T>) -> Option<Option<T>> {
    if text.is_empty() { Some(None) } else { read(text).map(Some) }
}

/// A decimal number (XML Schema's `decimal`: no exponent, no infinity).
pub fn number(text: &str) -> Option<f64> {
    let plain = text.bytes().all(|b| b.is_ascii_digit() || matches!(b, b'.' | b'-' | b'+'));
    text.parse::<f64>().ok().filter(|v| plain && v.is_finite())
}

/// The time, and whether it has no zone of its own.
pub fn timestamp(text: &str) -> Option<(Timestamp, bool)> {
    if text.contains('[') || text.len() > LONGEST {
        return None;
    }
    if let Ok(utc) = text.parse::<Timestamp>() {
        return Some((utc, false));
    }
    let local =
        text.parse::<DateTime>().ok().filter(|_| text.contains('T') && !text.ends_with(['z', 'Z']))?;
    Some((TimeZone::UTC.to_timestamp(local).ok()?, true))
}
