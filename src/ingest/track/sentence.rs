//! One sentence of NMEA 0183: `$`, talker and type, fields between commas, `*` and a checksum.

use crate::geodesy::Place;

/// A sentence whose checksum is right.
pub struct Sentence<'l> {
    /// Type without the talker, such as `RMC`.
    pub kind: &'l str,
    /// Fields behind the type.
    pub fields: Vec<&'l str>,
}

/// Why a line is no sentence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Broken {
    /// It does not begin with `$` or `!`, or has characters that no sentence has.
    NoSentence,
    /// Nothing stands behind a `*`.
    NoChecksum,
    /// The checksum is that of another text.
    Checksum {
        /// What the text gives.
        found: u8,
    },
}

/// The standard allows 82 characters; receivers exceed it, but not by this much.
const LONGEST: usize = 1_000;

impl<'l> Sentence<'l> {
    /// Takes a line apart. The checksum is the exclusive or of all characters between `$` and `*`, as two digits to
    /// the base 16 (NMEA 0183, 5.3.1).
    pub fn of(line: &'l str) -> Result<Self, Broken> {
        let inner = line.strip_prefix(['$', '!']).filter(|_| line.len() <= LONGEST && line.is_ascii());
        let inner = inner.ok_or(Broken::NoSentence)?;
        let (text, sum) = inner.rsplit_once('*').ok_or(Broken::NoChecksum)?;
        let found = text.bytes().fold(0, |sum, b| sum ^ b);
        let plain = sum.len() == 2 && sum.bytes().all(|b| b.is_ascii_hexdigit());
        if !plain || u8::from_str_radix(sum, 16) != Ok(found) {
            return Err(Broken::Checksum { found });
        }
        let mut fields = text.split(',');
        let address = fields.next().unwrap_or_default();
        // A talker has two letters; a P begins a maker's own sentence, which no talker has.
        let kind = if address.len() == 5 && !address.starts_with('P') { &address[2..] } else { "" };
        Ok(Self { kind, fields: fields.collect() })
    }

    /// A field by its number, from 1, as the standard counts; empty where it is missing.
    pub fn field(&self, number: usize) -> &'l str {
        self.fields.get(number - 1).copied().unwrap_or_default()
    }

    /// A place in four fields from this one on: `4807.038,N,01131.000,E`. The field that is wrong, where one is.
    pub fn place(&self, first: usize) -> Result<Place, usize> {
        let lat = angle(self.field(first), 2).filter(|v| *v <= 90.0).ok_or(first)?;
        let south = sign(self.field(first + 1), "N", "S").ok_or(first + 1)?;
        let lon = angle(self.field(first + 2), 3).filter(|v| *v <= 180.0).ok_or(first + 2)?;
        let west = sign(self.field(first + 3), "E", "W").ok_or(first + 3)?;
        Place::from_lat_lon_degrees(south * lat, west * lon).ok_or(first)
    }
}

fn sign(letter: &str, plus: &str, minus: &str) -> Option<f64> {
    if letter == plus { Some(1.0) } else { (letter == minus).then_some(-1.0) }
}

/// Degrees and minutes written without a blank; the degrees have two or three digits, the minutes two before the point.
fn angle(text: &str, degrees: usize) -> Option<f64> {
    let whole = text.split('.').next()?;
    let plain = text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    if !plain || whole.len() != degrees + 2 {
        return None;
    }
    let minutes: f64 = text[degrees..].parse().ok().filter(|m| *m < 60.0)?;
    Some(text[..degrees].parse::<f64>().ok()? + minutes / 60.0)
}

/// Milliseconds since midnight: `123519` or `123519.25`.
pub fn time_of_day(text: &str) -> Option<i64> {
    let plain = text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    if !plain || text.split('.').next()?.len() != 6 {
        return None;
    }
    let pair = |at: usize| text[at..at + 2].parse::<i64>().ok();
    let (hours, minutes) = (pair(0)?, pair(2)?);
    let seconds: f64 = text[4..].parse().ok()?;
    // 60 is a leap second.
    let fits = hours < 24 && minutes < 60 && seconds < 61.0;
    fits.then(|| (hours * 60 + minutes) * 60_000 + (seconds * 1e3).round() as i64)
}
