//! Hours by weekday as a figure that reads in black and white: a square grows with the share of time on.

use std::fmt::{self, Write as _};

use crate::{activity::Week, export::drawing::escaped};

const DAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 420.0;
const LEFT: f64 = 70.0;
const TOP: f64 = 76.0;
const CELL: f64 = 33.0;

/// The week as one SVG image: rows are weekdays, columns hours of the zone's clock. The black part of a cell is its share of
/// time on; a cell crossed out was not observed. `title` is shown, and so is the name of the zone.
pub fn week(week: &Week, title: &str, zone: &str) -> String {
    let mut out = String::new();
    // Writing to a string never fails.
    let _ = draw(week, title, zone, &mut out);
    out
}

fn draw(week: &Week, title: &str, zone: &str, out: &mut String) -> fmt::Result {
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" width=\"{WIDTH}\" height=\"{HEIGHT}\" \
         font-family=\"sans-serif\" font-size=\"14\" fill=\"#000000\">"
    )?;
    writeln!(out, "<title>{}</title>", escaped(title))?;
    writeln!(out, "<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>")?;
    let shown: String = title.chars().take(100).collect();
    writeln!(out, "<text x=\"{LEFT}\" y=\"30\" font-size=\"18\">{}</text>", escaped(&shown))?;
    for hour in 0..=24 {
        let x = LEFT + CELL * f64::from(hour);
        writeln!(out, "<text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{hour}</text>", TOP - 10.0)?;
    }
    for (day, cells) in week.cells().iter().enumerate() {
        let y = TOP + CELL * day as f64;
        writeln!(
            out,
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            LEFT - 12.0,
            y + 22.0,
            DAYS[day]
        )?;
        for (hour, cell) in cells.iter().enumerate() {
            square(LEFT + CELL * hour as f64, y, cell.share(), out)?;
        }
    }
    let y = TOP + 7.0 * CELL + 30.0;
    let mut x = LEFT;
    for (share, words) in
        [(Some(0.0), "off"), (Some(0.5), "half of the time"), (Some(1.0), "on"), (None, "not observed")]
    {
        square(x, y, share, out)?;
        writeln!(out, "<text x=\"{:.1}\" y=\"{:.1}\">{words}</text>", x + CELL + 8.0, y + 22.0)?;
        x += CELL + 34.0 + 8.5 * words.len() as f64;
    }
    writeln!(out, "<text x=\"{LEFT}\" y=\"{:.1}\">Hours of the clock, {}</text>", y + 62.0, escaped(zone))?;
    writeln!(out, "</svg>")
}

/// A cell: a frame, and a black square whose area is the share.
fn square(x: f64, y: f64, share: Option<f64>, out: &mut String) -> fmt::Result {
    writeln!(
        out,
        "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{CELL}\" height=\"{CELL}\" fill=\"none\" stroke=\"#999999\"/>"
    )?;
    match share {
        None => writeln!(
            out,
            "<path d=\"M{x:.1} {y:.1}l{CELL} {CELL}m0 -{CELL}l-{CELL} {CELL}\" stroke=\"#999999\"/>"
        ),
        Some(share) => {
            let side = (CELL - 4.0) * share.clamp(0.0, 1.0).sqrt();
            let (x, y) = (x + 0.5 * (CELL - side), y + 0.5 * (CELL - side));
            writeln!(out, "<rect x=\"{x:.2}\" y=\"{y:.2}\" width=\"{side:.2}\" height=\"{side:.2}\"/>")
        }
    }
}
