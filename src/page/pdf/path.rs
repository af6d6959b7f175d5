//! The outlines of a drawing: data of paths as SVG 1.1, 8.3, writes them ([`SVG`](crate::sources::SVG)).

use krilla::geom::{Path, PathBuilder};

/// A circle's quarter as a cubic curve: 4/3 (√2 − 1), within 0.03 % of the radius.
const QUARTER: f32 = 0.552_284_8;

/// The outline that data of a path describe; `None` for nothing to draw, an error names what is not known.
pub fn path(data: &str) -> Result<Option<Path>, String> {
    let mut pen = Pen { out: PathBuilder::new(), at: (0.0, 0.0), start: (0.0, 0.0) };
    let mut rest = data.trim_start();
    while let Some(command) = rest.chars().next() {
        if !command.is_ascii_alphabetic() {
            return Err(format!("path data \"{}\"", crate::finding::clipped(rest)));
        }
        let end = rest[1..].find(|c: char| c.is_ascii_alphabetic()).map_or(rest.len(), |i| i + 1);
        let numbers = numbers(&rest[1..end]).ok_or_else(|| format!("numbers of path command {command}"))?;
        pen.command(command, &numbers)?;
        rest = &rest[end..];
    }
    Ok(pen.out.finish())
}

/// A circle.
pub fn circle(x: f32, y: f32, r: f32) -> Option<Path> {
    let k = QUARTER * r;
    let mut out = PathBuilder::new();
    out.move_to(x + r, y);
    out.cubic_to(x + r, y + k, x + k, y + r, x, y + r);
    out.cubic_to(x - k, y + r, x - r, y + k, x - r, y);
    out.cubic_to(x - r, y - k, x - k, y - r, x, y - r);
    out.cubic_to(x + k, y - r, x + r, y - k, x + r, y);
    out.close();
    out.finish()
}

/// Numbers apart by spaces, commas or their signs.
pub fn numbers(text: &str) -> Option<Vec<f32>> {
    let mut out = Vec::new();
    let mut word = String::new();
    for c in text.chars().chain([' ']) {
        let ends =
            c == ' ' || c == ',' || c == '-' || c == '\n' || c == '\t' || (c == '.' && word.contains('.'));
        if ends && !word.is_empty() {
            out.push(word.parse::<f32>().ok().filter(|n| n.is_finite())?);
            word.clear();
        }
        if c == '-' || !ends || c == '.' {
            word.push(c);
        }
    }
    Some(out)
}

/// Where the pen is.
struct Pen {
    out: PathBuilder,
    at: (f32, f32),
    start: (f32, f32),
}

impl Pen {
    fn command(&mut self, command: char, numbers: &[f32]) -> Result<(), String> {
        let relative = command.is_ascii_lowercase();
        let (ox, oy) = if relative { self.at } else { (0.0, 0.0) };
        let each = match command.to_ascii_uppercase() {
            'Z' => {
                self.out.close();
                self.at = self.start;
                return Ok(());
            }
            'M' | 'L' => 2,
            'H' | 'V' => 1,
            'Q' => 4,
            'C' => 6,
            other => return Err(format!("path command {other}")),
        };
        if numbers.is_empty() || !numbers.len().is_multiple_of(each) {
            return Err(format!("path command {command} with {} numbers", numbers.len()));
        }
        let (mut ox, mut oy) = (ox, oy);
        for (i, n) in numbers.chunks_exact(each).enumerate() {
            match command.to_ascii_uppercase() {
                'M' if i == 0 => {
                    self.start = (ox + n[0], oy + n[1]);
                    self.at = self.start;
                    self.out.move_to(self.at.0, self.at.1);
                }
                'M' | 'L' => self.line(ox + n[0], oy + n[1]),
                'H' => self.line(ox + n[0], self.at.1),
                'V' => self.line(self.at.0, oy + n[0]),
                'Q' => {
                    self.at = (ox + n[2], oy + n[3]);
                    self.out.quad_to(ox + n[0], oy + n[1], self.at.0, self.at.1);
                }
                _ => {
                    self.at = (ox + n[4], oy + n[5]);
                    self.out.cubic_to(ox + n[0], oy + n[1], ox + n[2], oy + n[3], self.at.0, self.at.1);
                }
            }
            if relative {
                (ox, oy) = self.at;
            }
        }
        Ok(())
    }

    /// A line; one without length, which round ends make a dot, gets a hair of it: a path without extent is not written.
    fn line(&mut self, x: f32, y: f32) {
        let hair = if self.at == (x, y) { 0.01 } else { 0.0 };
        self.at = (x, y);
        self.out.line_to(x + hair, y);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_apart_by_their_signs() {
        assert_eq!(numbers("-5.5 -5,11 1.5.25-3"), Some(vec![-5.5, -5.0, 11.0, 1.5, 0.25, -3.0]));
        assert_eq!(numbers("1 x"), None);
        assert_eq!(numbers(" "), Some(Vec::new()));
    }

    /// The commands of a path are those of SVG 1.1, 8.3; relative ones begin where the pen is.
    #[test]
    fn a_path_goes_where_its_commands_say() {
        let reached = |data: &str| {
            let mut pen = Pen { out: PathBuilder::new(), at: (0.0, 0.0), start: (0.0, 0.0) };
            for part in data.split_inclusive(';').map(|p| p.trim_end_matches(';')) {
                let numbers = numbers(&part[1..]).unwrap();
                pen.command(part.chars().next().unwrap(), &numbers).unwrap();
            }
            pen.at
        };
        assert_eq!(reached("M1 2;h3;v4"), (4.0, 6.0));
        assert_eq!(reached("m1 2 3 4;l1 1 1 1"), (6.0, 8.0));
        assert_eq!(reached("M1 2;H9;V9;z"), (1.0, 2.0));
        assert_eq!(reached("M1 2;c0 0 0 0 5 5;q1 1 2 2"), (8.0, 9.0));
        assert!(path("M0 0B1 1").is_err() && path("M0").is_err() && path("?").is_err());
        assert!(path("").unwrap().is_none());
    }
}
