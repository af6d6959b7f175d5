//! Levels on a drawing of the answer, legible without colour: the stronger, the larger the dot; open triangles were below the
//! floor.

use std::fmt::{self, Write as _};

use crate::{check::Heard, geodesy::Place, report::Answer};

/// More are thinned evenly: dots that cover each other tell nothing.
pub const MOST_SPOTS: usize = 1_500;

/// Weakest to strongest dot, pixels of radius.
const RADII: (f64, f64) = (1.2, 4.2);

/// Draws every level, or every second, third … of too many. `pixel` says where a place is drawn.
pub fn spots(answer: &Answer, pixel: impl Fn(Place) -> (f64, f64), out: &mut String) -> fmt::Result {
    let levels = &answer.levels.levels;
    let heard = levels.iter().filter_map(|l| match l.heard {
        Heard::Signal { level, .. } => Some(level.value()),
        Heard::Below(_) => None,
    });
    let (low, high) = heard.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    let step = levels.len().div_ceil(MOST_SPOTS).max(1);
    for level in levels.iter().step_by(step) {
        let (x, y) = pixel(level.at);
        match level.heard {
            Heard::Signal { level, .. } => {
                let share = (level.value() - low) / (high - low).max(1.0);
                let radius = RADII.0 + share * (RADII.1 - RADII.0);
                writeln!(out, "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{radius:.1}\" fill=\"#53616e\"/>")?;
            }
            Heard::Below(_) => {
                writeln!(
                    out,
                    "<path d=\"M{:.1} {:.1}l4 0l-2 3.4Z\" fill=\"none\" stroke=\"#53616e\" stroke-width=\"0.8\"/>",
                    x - 2.0,
                    y - 1.2
                )?;
            }
        }
    }
    Ok(())
}
