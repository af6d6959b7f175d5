//! Minutes against the share of hunts that are over, as a figure that reads in black and white.

use std::fmt::{self, Write as _};

use crate::trial::{
    VERSION,
    hunt::{Kind, MOST_MINUTES, Row, Way, place::KINDS},
};

const LEFT: f64 = 64.0;
const WIDTH: f64 = 620.0;
const HEIGHT: f64 = 300.0;
const TOP: f64 = 74.0;
const GAP: f64 = 84.0;
const KEY: f64 = 150.0;

/// Width and dashes of each way's line.
fn line(way: Way) -> (f64, &'static str) {
    match way {
        Way::Planned => (3.0, ""),
        Way::Strongest => (1.4, "2 4"),
        Way::RightAngles => (1.4, "8 4"),
        Way::Random => (1.4, "10 3 2 3"),
        Way::Estimate => (1.6, ""),
        Way::Truth => (1.0, "1 2"),
    }
}

/// The figure as one SVG image: a panel for each kind, a line for each way: what share of its hunts was over after so many
/// minutes.
pub fn plot(rows: &[Row], seed: u64) -> String {
    let mut out = String::new();
    // Writing to a string never fails.
    let _ = draw(rows, seed, &mut out);
    out
}

fn draw(rows: &[Row], seed: u64, out: &mut String) -> fmt::Result {
    let kinds: Vec<Kind> = KINDS.into_iter().filter(|k| rows.iter().any(|r| r.kind == *k)).collect();
    let height = TOP + kinds.len() as f64 * (HEIGHT + GAP) - 20.0;
    let width = LEFT + WIDTH + KEY;
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" \
         height=\"{height}\" font-family=\"sans-serif\" font-size=\"14\">"
    )?;
    let title = format!("How soon simulated hunts are over (azimark {VERSION}, seed {seed})");
    writeln!(out, "<title>{title}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>")?;
    writeln!(out, "<text x=\"12\" y=\"26\" font-size=\"18\">{title}</text>")?;
    for (i, kind) in kinds.into_iter().enumerate() {
        let own: Vec<&Row> = rows.iter().filter(|r| r.kind == kind).collect();
        panel(&own, TOP + i as f64 * (HEIGHT + GAP), out)?;
    }
    writeln!(out, "</svg>")
}

fn panel(rows: &[&Row], top: f64, out: &mut String) -> fmt::Result {
    let most = rows.iter().filter_map(|r| (r.ninety.value < MOST_MINUTES).then_some(r.ninety.value));
    let last = (1.6 * most.fold(10.0, f64::max)).min(MOST_MINUTES);
    let step = [2.0, 5.0, 10.0, 20.0].into_iter().find(|s| last / s <= 9.0).unwrap_or(20.0);
    let x = |m: f64| LEFT + WIDTH * m.min(last) / last;
    let y = |share: f64| top + HEIGHT * (1.0 - share);
    let scenes = rows.first().map_or(0, |r| r.scenes);
    let kind = rows.first().map_or("", |r| r.kind.word());
    writeln!(out, "<text x=\"{LEFT}\" y=\"{}\">{kind}, {scenes} scenes: % of hunts over</text>", top - 10.0)?;
    for k in 0..=4 {
        let share = 0.25 * f64::from(k);
        writeln!(
            out,
            "<path d=\"M{LEFT} {0:.1}H{1:.1}\" stroke=\"#ccc\" stroke-width=\"0.7\"/><text x=\"{2}\" y=\"{3:.1}\" \
             text-anchor=\"end\">{4:.0}</text>",
            y(share),
            LEFT + WIDTH,
            LEFT - 8.0,
            y(share) + 5.0,
            100.0 * share
        )?;
    }
    let mut tick = 0.0;
    while tick <= last {
        writeln!(
            out,
            "<path d=\"M{0:.1} {1:.1}v5\" stroke=\"#000\"/><text x=\"{0:.1}\" y=\"{2:.1}\" \
             text-anchor=\"middle\">{tick:.0}</text>",
            x(tick),
            top + HEIGHT,
            top + HEIGHT + 20.0
        )?;
        tick += step;
    }
    writeln!(
        out,
        "<text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">minutes</text><rect x=\"{LEFT}\" y=\"{top}\" \
         width=\"{WIDTH}\" height=\"{HEIGHT}\" fill=\"none\" stroke=\"#000\"/>",
        LEFT + WIDTH,
        top + HEIGHT + 38.0
    )?;
    for (i, row) in rows.iter().enumerate() {
        let (width, dashes) = line(row.way);
        let style =
            format!("fill=\"none\" stroke=\"#000\" stroke-width=\"{width}\" stroke-dasharray=\"{dashes}\"");
        let mut path = format!("M{:.1} {:.1}", x(0.0), y(0.0));
        let n = row.minutes.len() as f64;
        for (k, m) in row.minutes.iter().enumerate().filter(|(_, m)| **m < last) {
            let _ = write!(path, "H{:.1}V{:.1}", x(*m), y((k + 1) as f64 / n));
        }
        let _ = write!(path, "H{:.1}", LEFT + WIDTH);
        writeln!(out, "<path d=\"{path}\" {style}/>")?;
        let (kx, ky) = (LEFT + WIDTH + 14.0, top + 16.0 + 24.0 * i as f64);
        writeln!(
            out,
            "<path d=\"M{kx} {ky}h36\" {style}/><text x=\"{}\" y=\"{}\">{}</text>",
            kx + 42.0,
            ky + 5.0,
            row.way.word()
        )?;
    }
    Ok(())
}
