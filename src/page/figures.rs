//! The misses of the bearings, drawn.

use std::fmt::Write as _;

use crate::{
    page::{document::signed, html::escaped},
    report::Answer,
    solve::{Residual, Verdict},
};

const WIDTH: f64 = 900.0;
const LEFT: f64 = 120.0;
const RIGHT: f64 = 880.0;
const TOP: f64 = 34.0;
/// Height of a bearing's row.
const ROW: f64 = 22.0;
/// Misses beyond this many degrees are drawn at the rim.
const MOST_DEGREES: f64 = 40.0;
/// More bearings than this have no room on a page.
const MOST: usize = 60;

/// A row for each bearing: its miss, with one standard deviation to either side; the shape tells what it is taken for. `None`
/// without bearings.
pub fn misses(answer: &Answer) -> Option<String> {
    let residuals = &answer.record.residuals;
    if residuals.is_empty() {
        return None;
    }
    let shown = &residuals[..residuals.len().min(MOST)];
    let bottom = TOP + ROW * shown.len() as f64;
    let height = bottom + 44.0;
    let widest = shown.iter().map(|r| (r.miss.to_degrees().abs() + r.sigma.to_degrees()).min(MOST_DEGREES));
    let span = widest.fold(10.0, f64::max) * 1.05;
    let x = |degrees: f64| LEFT + 0.5 * (RIGHT - LEFT) * (1.0 + (degrees / span).clamp(-1.0, 1.0));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {height}\" font-family=\"sans-serif\" \
         font-size=\"14\"><rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n"
    );
    let step = if span > 25.0 { 10.0 } else { 5.0 };
    let ticks = (span / step).floor() as i32;
    for tick in -ticks..=ticks {
        let (at, degrees) = (x(step * f64::from(tick)), step * f64::from(tick));
        let weight = if tick == 0 { 1.6 } else { 0.5 };
        let _ = writeln!(
            out,
            "<path d=\"M{at:.1} {TOP}V{bottom:.1}\" stroke=\"#555\" stroke-width=\"{weight}\"/><text x=\"{at:.1}\" y=\"{:.1}\" \
             text-anchor=\"middle\">{}°</text>",
            bottom + 18.0,
            signed(&format!("{degrees:+.0}"))
        );
    }
    for (i, residual) in shown.iter().enumerate() {
        row(residual, TOP + ROW * (i as f64 + 0.5), &x, &mut out);
    }
    let _ = writeln!(
        out,
        "<text x=\"{LEFT}\" y=\"20\">miss (measured minus computed), with one standard deviation</text><text x=\"{LEFT}\" \
         y=\"{:.1}\">● direct   ◇ reversed   ✕ foreign (beyond {span:.0}°: at the rim)</text></svg>",
        height - 6.0
    );
    Some(out)
}

fn row(residual: &Residual, y: f64, x: &impl Fn(f64) -> f64, out: &mut String) {
    let (miss, sigma) = (residual.miss.to_degrees(), residual.sigma.to_degrees());
    let at = x(miss);
    let _ = writeln!(
        out,
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text><path d=\"M{:.1} {y:.1}H{:.1}\" stroke=\"#111\" \
         stroke-width=\"1.5\"/>",
        LEFT - 8.0,
        y + 5.0,
        escaped(&crate::finding::clipped(&residual.id).chars().take(14).collect::<String>()),
        x(miss - sigma),
        x(miss + sigma)
    );
    let _ = match residual.verdict {
        Verdict::Direct => writeln!(out, "<circle cx=\"{at:.1}\" cy=\"{y:.1}\" r=\"5\" fill=\"#111\"/>"),
        Verdict::Reversed => writeln!(
            out,
            "<path d=\"M{:.1} {y:.1}l6 -6 6 6 -6 6Z\" fill=\"#fff\" stroke=\"#111\" stroke-width=\"1.5\"/>",
            at - 6.0
        ),
        Verdict::Foreign => writeln!(
            out,
            "<path d=\"M{0:.1} {1:.1}l10 10M{0:.1} {2:.1}l10 -10\" stroke=\"#111\" stroke-width=\"2.2\"/>",
            at - 5.0,
            y - 5.0,
            y + 5.0
        ),
    };
}
