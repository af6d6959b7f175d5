//! Coverage as a drawing: for each class how often the 95 % region holds the emitter, with its interval.

use std::fmt::Write as _;

use crate::trial::{Method, Row};

const WIDTH: f64 = 860.0;
const LEFT: f64 = 330.0;
const RIGHT: f64 = 840.0;
const ROW: f64 = 24.0;
const TOP: f64 = 56.0;
/// The axis begins here, in percent; what lies below is drawn at the rim.
const LEAST: f64 = 50.0;

/// The drawing as SVG; it reads in black and white.
pub fn chart(rows: &[Row]) -> String {
    let mut classes: Vec<_> = rows.iter().map(|r| r.class).collect();
    classes.dedup();
    let bottom = TOP + ROW * classes.len() as f64;
    let height = bottom + 62.0;
    let x = |percent: f64| LEFT + (RIGHT - LEFT) * (percent.clamp(LEAST, 100.0) - LEAST) / (100.0 - LEAST);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" width=\"{WIDTH}\" height=\"{height}\" \
         font-family=\"sans-serif\" font-size=\"14\"><title>How often the 95 % region holds the emitter</title><rect width=\"100%\" \
         height=\"100%\" fill=\"#fff\"/><text x=\"12\" y=\"26\" font-size=\"17\">How often the stated 95 % region holds the \
         emitter</text>\n"
    );
    let _ = writeln!(
        out,
        "<rect x=\"{:.1}\" y=\"{TOP}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"#e4e4e4\"/>",
        x(92.0),
        x(98.0) - x(92.0),
        bottom - TOP
    );
    for percent in [50.0, 60.0, 70.0, 80.0, 90.0, 95.0, 100.0] {
        let (at, weight) = (x(percent), if percent == 95.0 { 2.0 } else { 0.5 });
        let _ = writeln!(
            out,
            "<path d=\"M{at:.1} {TOP}V{bottom}\" stroke=\"#444\" stroke-width=\"{weight}\"/><text x=\"{at:.1}\" y=\"{:.1}\" \
             text-anchor=\"middle\">{percent:.0}</text>",
            bottom + 18.0
        );
    }
    for (i, class) in classes.iter().enumerate() {
        let y = TOP + ROW * (i as f64 + 0.5);
        let _ = writeln!(
            out,
            "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
            LEFT - 12.0,
            y + 5.0,
            class.told()
        );
        for row in rows.iter().filter(|r| r.class == *class) {
            mark(row, y, &x, &mut out);
        }
    }
    let _ = writeln!(
        out,
        "<circle cx=\"{:.1}\" cy=\"{1:.1}\" r=\"5\"/><text x=\"{2:.1}\" y=\"{3:.1}\">as delivered, with its 95 % interval</text>\
         <circle cx=\"{4:.1}\" cy=\"{1:.1}\" r=\"4.5\" fill=\"#fff\" stroke=\"#000\" stroke-width=\"1.5\"/><text x=\"{5:.1}\" \
         y=\"{3:.1}\">customary (below 50: at the rim); grey: 92 to 98</text></svg>",
        20.0,
        bottom + 44.0,
        32.0,
        bottom + 49.0,
        320.0,
        332.0
    );
    out
}

fn mark(row: &Row, y: f64, x: &impl Fn(f64) -> f64, out: &mut String) {
    let (Some(value), Some((low, high))) = (row.held[2].value(), row.held[2].interval()) else { return };
    let at = x(100.0 * value);
    let _ = match row.method {
        Method::Delivered => writeln!(
            out,
            "<path d=\"M{:.1} {y:.1}H{:.1}\" stroke=\"#000\" stroke-width=\"2\"/><circle cx=\"{at:.1}\" cy=\"{y:.1}\" r=\"5\"/>",
            x(100.0 * low),
            x(100.0 * high)
        ),
        Method::Customary => writeln!(
            out,
            "<circle cx=\"{at:.1}\" cy=\"{y:.1}\" r=\"4.5\" fill=\"#fff\" stroke=\"#000\" stroke-width=\"1.5\"/>"
        ),
    };
}
