//! Stated against real coverage, as a figure that reads in black and white.

use std::fmt::{self, Write as _};

use crate::trial::{Method, Row, Share, VERSION};

const LEFT: f64 = 130.0;
const PANEL: f64 = 250.0;
const GAP: f64 = 28.0;
const TOP: f64 = 86.0;
const STEP: f64 = 26.0;
const WIDTH: f64 = LEFT + 3.0 * (PANEL + GAP);

/// Where the axis of each panel begins, in percent; all end at 100. What lies below is drawn as an arrow at the beginning.
const FROM: [f64; 3] = [20.0, 60.0, 60.0];

/// The figure as one SVG image: a panel for each of the regions of 50, 90 and 95 %, a line at what is stated, for each class
/// a dot for the posterior and a circle for least squares at what was held, with the interval that chance leaves.
pub fn plot(rows: &[Row], seed: u64) -> String {
    let mut out = String::new();
    // Writing to a string never fails.
    let _ = draw(rows, seed, &mut out);
    out
}

fn draw(rows: &[Row], seed: u64, out: &mut String) -> fmt::Result {
    let classes: Vec<&Row> = rows.iter().filter(|r| r.method == Method::Posterior).collect();
    let bottom = TOP + STEP * classes.len() as f64;
    let height = bottom + 66.0;
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" width=\"{WIDTH}\" \
         height=\"{height}\" font-family=\"sans-serif\" font-size=\"14\">"
    )?;
    let title = format!("How often the stated region held the emitter (azimark {VERSION}, seed {seed})");
    writeln!(out, "<title>{title}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>")?;
    writeln!(out, "<text x=\"12\" y=\"26\" font-size=\"18\">{title}</text>")?;
    for (i, row) in classes.iter().enumerate() {
        let y = TOP + STEP * (i as f64 + 0.5) + 5.0;
        writeln!(
            out,
            "<text x=\"{:.1}\" y=\"{y:.1}\" text-anchor=\"end\">{}</text>",
            LEFT - 12.0,
            row.class.word()
        )?;
    }
    for (panel, from) in FROM.into_iter().enumerate() {
        axes(panel, from, bottom, out)?;
        for (i, row) in classes.iter().enumerate() {
            let y = TOP + STEP * (i as f64 + 0.5);
            let plain = rows.iter().find(|r| r.class == row.class && r.method == Method::LeastSquares);
            if let Some(plain) = plain {
                mark(panel, from, y + 5.0, plain.held[panel], false, out)?;
            }
            mark(panel, from, y - 4.0, row.held[panel], true, out)?;
        }
    }
    let y = bottom + 52.0;
    writeln!(
        out,
        "<circle cx=\"{LEFT}\" cy=\"{:.1}\" r=\"4\"/><text x=\"{}\" y=\"{y}\">azimark’s posterior</text>\
         <circle cx=\"{}\" cy=\"{:.1}\" r=\"3.5\" fill=\"#fff\" stroke=\"#555\"/><text x=\"{}\" y=\"{y}\">least squares \
         with the customary ellipse</text><text x=\"{}\" y=\"{y}\">bars: 95 % interval of chance; arrows: still lower</text>",
        y - 5.0,
        LEFT + 10.0,
        LEFT + 170.0,
        y - 5.0,
        LEFT + 180.0,
        LEFT + 490.0
    )?;
    writeln!(out, "</svg>")
}

fn x(panel: usize, from: f64, percent: f64) -> f64 {
    LEFT + panel as f64 * (PANEL + GAP) + PANEL * (percent - from) / (100.0 - from)
}

fn axes(panel: usize, from: f64, bottom: f64, out: &mut String) -> fmt::Result {
    let stated = [50.0, 90.0, 95.0][panel];
    let mut tick = from;
    while tick <= 100.0 {
        let x = x(panel, from, tick);
        writeln!(
            out,
            "<path d=\"M{x:.1} {TOP}V{bottom}\" stroke=\"#ccc\" stroke-width=\"0.7\"/>\
             <text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{tick:.0}</text>",
            bottom + 20.0
        )?;
        tick += if from < 50.0 { 20.0 } else { 10.0 };
    }
    let (left, at) = (x(panel, from, from), x(panel, from, stated));
    writeln!(
        out,
        "<rect x=\"{left:.1}\" y=\"{TOP}\" width=\"{PANEL}\" height=\"{:.1}\" fill=\"none\" stroke=\"#000\"/>\
         <path d=\"M{at:.1} {TOP}V{bottom}\" stroke=\"#000\" stroke-width=\"1.5\" stroke-dasharray=\"6 4\"/>\
         <text x=\"{left:.1}\" y=\"{:.1}\">stated {stated:.0} %, held %</text>",
        bottom - TOP,
        TOP - 12.0
    )
}

fn mark(panel: usize, from: f64, y: f64, share: Share, own: bool, out: &mut String) -> fmt::Result {
    let (Some(value), Some((low, high))) = (share.value(), share.interval()) else { return Ok(()) };
    let colour = if own { "#000" } else { "#555" };
    let at = |v: f64| x(panel, from, (100.0 * v).max(from));
    writeln!(
        out,
        "<path d=\"M{:.1} {y:.1}H{:.1}\" stroke=\"{colour}\" stroke-width=\"{}\"/>",
        at(low),
        at(high),
        if own { 2.0 } else { 1.0 }
    )?;
    if 100.0 * value < from {
        let (x, fill) = (at(0.0), if own { "#000" } else { "#fff" });
        return writeln!(out, "<path d=\"M{x:.1} {y:.1}l7 -4v8z\" fill=\"{fill}\" stroke=\"{colour}\"/>");
    }
    let (radius, fill) = if own { (4.0, "#000") } else { (3.5, "#fff") };
    writeln!(
        out,
        "<circle cx=\"{:.1}\" cy=\"{y:.1}\" r=\"{radius}\" fill=\"{fill}\" stroke=\"{colour}\"/>",
        at(value)
    )
}
