//! Text in lines: broken at spaces, and within a word only where the word alone is too long.

use crate::page::pdf::letters::{Face, Letters};

/// A line of one or more stretches.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Line {
    /// The stretches, in order; a line that goes on ends in a space.
    pub pieces: Vec<(Face, String)>,
    /// Width in points, without the space at the end.
    pub width: f32,
}

/// What never stands apart: signs with their faces.
type Cluster = Vec<(Face, char)>;

/// Words after a number that stay beside it.
const UNITS: [&str; 19] = [
    "m", "km", "m²", "km²", "ha", "%", "dB", "dBm", "Hz", "kHz", "MHz", "GHz", "s", "min", "h", "W", "mW",
    "V/m", "W/m²",
];

/// The lines of a text, each at most `room` points wide; one empty line for an empty text.
pub fn lines(letters: &Letters, runs: &[(Face, &str)], size: f32, room: f32) -> Vec<Line> {
    let wide = |cluster: &Cluster| size * cluster.iter().map(|(f, c)| letters.advance(*f, *c)).sum::<f32>();
    let mut out: Vec<Line> = Vec::new();
    let mut line = Line::default();
    for cluster in clusters(runs) {
        let width = wide(&cluster);
        let face = cluster.first().map_or(Face::Plain, |c| c.0);
        let space = if line.pieces.is_empty() { 0.0 } else { size * letters.advance(face, ' ') };
        if line.width + space + width <= room {
            if space > 0.0 {
                push(&mut line, face, ' ');
            }
            cluster.iter().for_each(|(f, c)| push(&mut line, *f, *c));
            line.width += space + width;
            continue;
        }
        if !line.pieces.is_empty() {
            push(&mut line, face, ' ');
            out.push(std::mem::take(&mut line));
        }
        for (f, c) in cluster {
            let advance = size * letters.advance(f, c);
            if line.width + advance > room && !line.pieces.is_empty() {
                out.push(std::mem::take(&mut line));
            }
            push(&mut line, f, c);
            line.width += advance;
        }
    }
    if !line.pieces.is_empty() || out.is_empty() {
        if line.pieces.is_empty() {
            push(&mut line, Face::Plain, ' ');
        }
        out.push(line);
    }
    out
}

/// Widths of a text: the whole in one line, and its widest cluster.
pub fn widths(letters: &Letters, runs: &[(Face, &str)], size: f32) -> (f32, f32) {
    let (mut whole, mut widest) = (0.0, 0.0f32);
    for cluster in clusters(runs) {
        let width = size * cluster.iter().map(|(f, c)| letters.advance(*f, *c)).sum::<f32>();
        let space = size * cluster.first().map_or(0.0, |(f, _)| letters.advance(*f, ' '));
        whole += width + if whole > 0.0 { space } else { 0.0 };
        widest = widest.max(width);
    }
    (whole, widest)
}

fn push(line: &mut Line, face: Face, c: char) {
    match line.pieces.last_mut() {
        Some((last, text)) if *last == face => text.push(c),
        _ => line.pieces.push((face, c.to_string())),
    }
}

/// Splits at spaces; numbers keep their units.
fn clusters(runs: &[(Face, &str)]) -> Vec<Cluster> {
    let mut out: Vec<Cluster> = Vec::new();
    let mut now = Cluster::new();
    for (face, text) in runs {
        for c in text.chars() {
            match c {
                ' ' if now.is_empty() => {}
                ' ' => out.push(std::mem::take(&mut now)),
                c => now.push((*face, c)),
            }
        }
    }
    if !now.is_empty() {
        out.push(now);
    }
    let mut glued: Vec<Cluster> = Vec::with_capacity(out.len());
    for cluster in out {
        match glued.last_mut() {
            Some(last) if stay(last, &cluster) => {
                last.push((cluster[0].0, ' '));
                last.extend(cluster);
            }
            _ => glued.push(cluster),
        }
    }
    glued
}

/// Whether a space does not break: between a number and its unit, and after a sign of plus or minus.
fn stay(left: &Cluster, right: &Cluster) -> bool {
    let digit = |c: Option<&(Face, char)>| c.is_some_and(|(_, c)| c.is_ascii_digit());
    let text = |cluster: &Cluster| cluster.iter().take(6).map(|(_, c)| *c).collect::<String>();
    let unit = text(right);
    let unit = unit.trim_end_matches(['.', ',', ';', ')', ':']);
    (digit(left.last()) && UNITS.contains(&unit)) || (text(left) == "±" && digit(right.first()))
}
