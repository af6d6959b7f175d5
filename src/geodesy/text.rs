//! Degrees as people write them: decimal, degrees and minutes, degrees, minutes and seconds.

/// Which of the two coordinates a text is meant to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Axis {
    /// North and south, up to 90°.
    Latitude,
    /// East and west, up to 180°.
    Longitude,
}

/// Why a text is not a coordinate.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum DegreeError {
    /// Not one to three numbers with optional signs and letters.
    NotDegrees,
    /// Minutes or seconds of 60 or more, or a fraction in front of a smaller unit.
    Sexagesimal,
    /// A mark of degrees, minutes or seconds that does not stand behind its number.
    Marks,
    /// Beyond the axis' range.
    OutOfRange,
    /// A letter of the other axis, or a sign together with a letter.
    WrongLetter(char),
}

impl std::fmt::Display for DegreeError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotDegrees => write!(f, "this is not a number of degrees"),
            Self::Sexagesimal => {
                write!(f, "minutes and seconds run from 0 to below 60, and only the last may have a fraction")
            }
            Self::Marks => {
                write!(f, "degrees, minutes and seconds stand in this order, each before its own mark")
            }
            Self::OutOfRange => {
                write!(f, "this is beyond 90 degrees of latitude or 180 degrees of longitude")
            }
            Self::WrongLetter(c) => write!(f, "the letter {c} does not belong to this coordinate"),
        }
    }
}

/// Degrees, north and east positive, from a text such as `46.955`, `-118,36`, `46°57,3524'N`, `118 21 19.1 W`,
/// `N46d57m21s`, `46:57:21`. A comma counts as a decimal mark.
///
/// # Errors
/// [`DegreeError`], never a guess: a letter together with a minus sign is refused, and so is a letter between the
/// numbers, where `1E5` may be an exponent.
pub fn degrees(text: &str, axis: Axis) -> Result<f64, DegreeError> {
    let mut parts = Parts::default();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let digits = rest.find(|c: char| !matches!(c, '0'..='9' | '.' | ',')).unwrap_or(rest.len());
        if digits > 0 {
            parts.number(&rest[..digits])?;
            rest = &rest[digits..];
        } else {
            // Two apostrophes stand for seconds.
            let two = ["''", "′′", "’’"].iter().any(|two| rest.starts_with(two));
            let (mark, length) = if two && parts.numbers.len() == 3 { ('″', 2) } else { (c, 1) };
            parts.mark(mark)?;
            rest = &rest[length * c.len_utf8()..];
        }
    }
    if parts.colon {
        return Err(DegreeError::NotDegrees);
    }
    combine(&parts.numbers, parts.letter, parts.minus, axis)
}

/// What has been read of a coordinate so far.
#[derive(Default)]
struct Parts {
    numbers: Vec<f64>,
    letter: Option<char>,
    /// Whether the letter stands behind a number, where the coordinate ends.
    ended: bool,
    signed: bool,
    minus: bool,
    /// Whether the last number has its mark of degrees, minutes or seconds.
    marked: bool,
    /// Whether minutes were marked with m, so that a small s stands for seconds.
    by_letters: bool,
    /// Whether a colon waits for the next number.
    colon: bool,
}

impl Parts {
    fn number(&mut self, digits: &str) -> Result<(), DegreeError> {
        if self.ended || self.numbers.len() == 3 {
            return Err(DegreeError::NotDegrees);
        }
        self.numbers.push(digits.replace(',', ".").parse().map_err(|_| DegreeError::NotDegrees)?);
        (self.marked, self.colon) = (false, false);
        Ok(())
    }

    /// Anything but a digit.
    fn mark(&mut self, c: char) -> Result<(), DegreeError> {
        let fresh = !self.numbers.is_empty() && !self.marked && !self.colon;
        match (c, self.numbers.len()) {
            (c, _) if c.is_whitespace() => {}
            ('-' | '\u{2212}' | '+', 0) if !self.signed => (self.signed, self.minus) = (true, c != '+'),
            ('°' | 'º' | '˚' | 'd', 1) | ('\'' | '′' | '’' | 'm', 2) | ('"' | '″' | '”', 3) if fresh =>
            {
                self.marked = true;
                self.by_letters |= c == 'm';
            }
            ('s', 3) if fresh && self.by_letters => self.marked = true,
            (':', 1 | 2) if fresh => self.colon = true,
            ('N' | 'S' | 'E' | 'W' | 'n' | 's' | 'e' | 'w', _) if self.letter.is_none() => {
                self.letter = Some(c.to_ascii_uppercase());
                self.ended = !self.numbers.is_empty();
            }
            ('°' | 'º' | '˚' | '\'' | '′' | '’' | '"' | '″' | '”' | 'd' | 'm', _) => {
                return Err(DegreeError::Marks);
            }
            (other, _) if other.is_alphabetic() => return Err(DegreeError::WrongLetter(other)),
            _ => return Err(DegreeError::NotDegrees),
        }
        Ok(())
    }
}

fn combine(numbers: &[f64], letter: Option<char>, minus: bool, axis: Axis) -> Result<f64, DegreeError> {
    if numbers.is_empty() {
        return Err(DegreeError::NotDegrees);
    }
    let whole = numbers[..numbers.len() - 1].iter().all(|n| n.fract() == 0.0);
    if !whole || numbers[1..].iter().any(|n| *n >= 60.0) {
        return Err(DegreeError::Sexagesimal);
    }
    let size = numbers.iter().rev().fold(0.0, |sum, n| sum / 60.0 + n);
    let (most, positive, negative) = match axis {
        Axis::Latitude => (90.0, 'N', 'S'),
        Axis::Longitude => (180.0, 'E', 'W'),
    };
    let south_or_west = match letter {
        Some(c) if c == positive && !minus => false,
        Some(c) if c == negative && !minus => true,
        Some(c) => return Err(DegreeError::WrongLetter(c)),
        None => minus,
    };
    if size > most {
        return Err(DegreeError::OutOfRange);
    }
    Ok(if south_or_west { -size } else { size })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One place written in several ways; sexagesimal arithmetic by hand.
    #[test]
    fn all_common_ways_of_writing_give_the_same_degrees() {
        let exact = 46.0 + 57.0 / 60.0 + 21.0 / 3600.0;
        for text in [
            "46°57'21\"N",
            "46 57 21",
            "N 46 57.35",
            "46d57m21s",
            "46d57m21sN",
            "46º57,35'N",
            "46°57′21″",
            "46° 57' 21'' N",
            "46\u{a0}°\u{202f}57′21″ N",
            "46:57:21",
            "46:57.35N",
            "+46.955833333333333",
        ] {
            let found = degrees(text, Axis::Latitude).unwrap();
            assert!((found - exact).abs() < 1e-12, "{text}: {found}");
        }
        assert_eq!(degrees("118,5 W", Axis::Longitude), Ok(-118.5));
        assert_eq!(degrees("−118.5", Axis::Longitude), Ok(-118.5));
        assert_eq!(degrees("30 S", Axis::Latitude), Ok(-30.0));
    }

    #[test]
    fn what_is_not_a_coordinate_is_refused_with_its_reason() {
        use DegreeError::{Marks, NotDegrees, OutOfRange, Sexagesimal, WrongLetter};
        for (text, axis, error) in [
            ("", Axis::Latitude, NotDegrees),
            ("abc", Axis::Latitude, WrongLetter('a')),
            ("46 61", Axis::Latitude, Sexagesimal),
            ("46.5 30", Axis::Latitude, Sexagesimal),
            ("91", Axis::Latitude, OutOfRange),
            ("-181", Axis::Longitude, OutOfRange),
            ("46 E", Axis::Latitude, WrongLetter('E')),
            ("-46 N", Axis::Latitude, WrongLetter('N')),
            ("1 2 3 4", Axis::Latitude, NotDegrees),
            ("1.2.3", Axis::Latitude, NotDegrees),
            ("46 O", Axis::Longitude, WrongLetter('O')),
            ("46'57°", Axis::Latitude, Marks),
            ("46'", Axis::Latitude, Marks),
            ("46\"", Axis::Latitude, Marks),
            ("46°30\"", Axis::Latitude, Marks),
            ("46°°", Axis::Latitude, Marks),
            ("46°57'21'", Axis::Latitude, Marks),
            ("46°57'21'''", Axis::Latitude, Marks),
            ("°46", Axis::Latitude, Marks),
            ("4'6", Axis::Latitude, Marks),
            ("46d57m21ss N", Axis::Latitude, WrongLetter('N')),
            ("1E5", Axis::Longitude, NotDegrees),
            ("46N57.35", Axis::Latitude, NotDegrees),
            ("N46N", Axis::Latitude, WrongLetter('N')),
            ("+-46", Axis::Latitude, NotDegrees),
            ("--46", Axis::Latitude, NotDegrees),
            ("46-57", Axis::Latitude, NotDegrees),
            ("46:", Axis::Latitude, NotDegrees),
            ("46::57", Axis::Latitude, NotDegrees),
            ("46°:57", Axis::Latitude, NotDegrees),
            (":46", Axis::Latitude, NotDegrees),
        ] {
            assert_eq!(degrees(text, axis), Err(error), "{text}");
        }
    }
}
