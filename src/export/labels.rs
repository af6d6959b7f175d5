//! Names beside points of a drawing, each where it covers no earlier one.

/// Height of a line of text, pixels.
const LINE: f64 = 15.0;

/// Mean width of a letter, pixels.
const LETTER: f64 = 7.5;

/// Distance from the point to its name, pixels.
const GAP: f64 = 7.0;

/// Where a name stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Where its text begins, or ends where `ends` is set.
    pub x: f64,
    /// The line it stands on.
    pub y: f64,
    /// Whether the text ends at `x`.
    pub ends: bool,
}

/// Boxes that are taken: left, top, right, bottom.
#[derive(Clone, Debug, Default)]
pub struct Labels(Vec<[f64; 4]>);

impl Labels {
    /// A place for `text` beside a point: above to the right, below to the right, above to the left, below to the left, whichever
    /// lies within 0 to `right` and 0 to `bottom` and covers no earlier name; the first of them where none is free.
    pub fn beside(&mut self, (x, y): (f64, f64), text: &str, (right, bottom): (f64, f64)) -> Spot {
        let width = LETTER * text.chars().count() as f64;
        let at = |ends: bool, y: f64| Spot { x: if ends { x - GAP } else { x + GAP }, y, ends };
        let (above, below) = (y - 6.0, y + LINE);
        let ways = [at(false, above), at(false, below), at(true, above), at(true, below)];
        let area = |s: &Spot| {
            let left = if s.ends { s.x - width } else { s.x };
            [left, s.y - LINE + 3.0, left + width, s.y + 3.0]
        };
        let free = |s: &&Spot| {
            let [a, b, c, d] = area(s);
            a >= 0.0
                && b >= 0.0
                && c <= right
                && d <= bottom
                && self.0.iter().all(|t| c <= t[0] || a >= t[2] || d <= t[1] || b >= t[3])
        };
        let spot = *ways.iter().find(free).unwrap_or(&ways[0]);
        self.0.push(area(&spot));
        spot
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_neighbours_do_not_cover_each_other() {
        let mut labels = Labels::default();
        let size = (900.0, 600.0);
        let first = labels.beside((100.0, 100.0), "B10", size);
        assert_eq!(first, Spot { x: 107.0, y: 94.0, ends: false });
        let second = labels.beside((98.0, 104.0), "gate", size);
        assert!(second.y > 110.0 && !second.ends, "{second:?}");
        // At the right rim it stands to the left, at the lower rim above.
        assert!(labels.beside((890.0, 300.0), "far east", size).ends);
        assert!(labels.beside((400.0, 595.0), "south", size).y < 595.0);
    }
}
