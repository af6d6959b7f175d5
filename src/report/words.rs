//! Numbers as people read them.

use crate::{
    finding::Finding,
    geodesy::Place,
    observe::NorthReference,
    units::{Angle, Metres, SquareMetres},
};

/// An area in the unit that suits its size.
pub fn area(area: SquareMetres) -> String {
    let m2 = area.value();
    match m2 {
        a if a < 10_000.0 => format!("{} m²", rounded(a)),
        a if a < 1_000_000.0 => format!("{} ha", two_digits(a / 1e4)),
        a => format!("{} km²", two_digits(a / 1e6)),
    }
}

/// Two significant digits, written out.
fn two_digits(value: f64) -> String {
    match value {
        v if v < 10.0 => format!("{v:.1}"),
        v => rounded(v),
    }
}

fn rounded(value: f64) -> String {
    let unit = 10f64.powf((value.max(1.0).log10().floor() - 1.0).max(0.0));
    format!("{:.0}", (value / unit).round() * unit)
}

/// A length in metres, or in kilometres with two or three digits.
pub fn distance(length: Metres) -> String {
    match length.value() {
        m if m < 10.0 => format!("{m:.1} m"),
        m if m < 1_000.0 => format!("{m:.0} m"),
        m if m < 100_000.0 => format!("{:.1} km", m / 1e3),
        m => format!("{:.0} km", m / 1e3),
    }
}

/// `1 row`, `3 rows`.
pub fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// Findings as text, one for each; of neighbours with the same advice only the last repeats it.
pub fn told(findings: &[&Finding]) -> Vec<String> {
    let same = |i: usize| {
        let (this, next) = (findings[i], findings.get(i + 1));
        next.is_some_and(|n| n.code == this.code && n.hint == this.hint)
    };
    let text =
        |i: usize| if same(i) { Finding { hint: None, ..findings[i].clone() } } else { findings[i].clone() };
    (0..findings.len()).map(|i| text(i).to_string()).collect()
}

/// e to the power of `log`, to two digits; "more than a million" beyond that.
pub fn factor(log: f64) -> String {
    if log > 1e6f64.ln() { "of more than a million".to_owned() } else { format!("of {}", rounded(log.exp())) }
}

/// Text with the sign of subtraction where a hyphen stands before a number; dates, ranges and words keep theirs.
pub fn with_minus(text: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let sign = |i: usize| {
        let before = i.checked_sub(1).map(|b| chars[b]);
        let number = chars.get(i + 1).is_some_and(char::is_ascii_digit);
        number && before.is_none_or(|b| b == ' ' || b == '(' || b == '±')
    };
    chars.iter().enumerate().map(|(i, c)| if *c == '-' && sign(i) { '\u{2212}' } else { *c }).collect()
}

/// Text broken at blanks into lines of at most 92 characters, each with a line end; `first` stands before the first line
/// and `rest` before the others. A word longer than a line keeps a line to itself.
pub fn wrapped(text: &str, first: &str, rest: &str) -> String {
    const WIDTH: usize = 92;
    let mut out = String::from(first);
    let mut column = first.chars().count();
    let mut bare = true;
    for word in text.split(' ').filter(|w| !w.is_empty()) {
        let long = word.chars().count();
        if !bare && column + 1 + long > WIDTH {
            out.push('\n');
            out.push_str(rest);
            column = rest.chars().count();
            bare = true;
        }
        if !bare {
            out.push(' ');
            column += 1;
        }
        out.push_str(word);
        column += long;
        bare = false;
    }
    out.push('\n');
    out
}

/// A direction of three digits with the letter of its north: `055°M`, `069°T`, `070°G`.
pub fn bearing(angle: Angle, north: NorthReference) -> String {
    let letter = match north {
        NorthReference::True => 'T',
        NorthReference::Magnetic => 'M',
        NorthReference::Grid(_) => 'G',
    };
    // Rounding must not turn 359.6 into 360.
    format!("{:03}°{letter}", (angle.compass().to_degrees().round() as u32) % 360)
}

/// Latitude and longitude with the digits that an uncertainty of `within` deserves.
pub fn place(place: Place, within: Metres) -> String {
    let digits = match within.value() {
        m if m < 5.0 => 6,
        m if m < 100.0 => 5,
        m if m < 1_000.0 => 4,
        _ => 3,
    };
    format!("{:.digits$}, {:.digits$}", place.lat_degrees(), place.lon_degrees()).replace('-', "−")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_hyphens_of_numbers_are_signs() {
        assert_eq!(
            with_minus("-3.1 dB on 2026-03-17 (-2 to -1), ILAC-G8, t-distribution"),
            "−3.1 dB on 2026-03-17 (−2 to −1), ILAC-G8, t-distribution"
        );
    }

    #[test]
    fn numbers_print_the_digits_that_they_deserve() {
        assert_eq!(area(SquareMetres::new(2_345.0)), "2300 m²");
        assert_eq!(area(SquareMetres::new(18.14e4)), "18 ha");
        assert_eq!(area(SquareMetres::new(6.1e6)), "6.1 km²");
        assert_eq!(bearing(Angle::degrees(359.6), NorthReference::True), "000°T");
        assert_eq!(bearing(Angle::degrees(55.2), NorthReference::Magnetic), "055°M");
        let p = Place::from_lat_lon_degrees(46.956061, -118.356637).unwrap();
        assert_eq!(place(p, Metres::new(40.0)), "46.95606, −118.35664");
    }
}
