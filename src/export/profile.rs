//! Levels against distance: a figure that reads in black and white on a sheet of A4.

use std::{
    collections::BTreeSet,
    fmt::{self, Write as _},
};

use crate::{
    export::drawing::escaped,
    units::{Db, Dbm, Metres, Sigma},
};

/// What was heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heard {
    /// A level.
    Measured,
    /// Nothing above the floor, which is the level given.
    BelowFloor,
    /// Nothing, because the emitter was off: left out, and counted.
    OffAir,
}

/// A reading of the figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProfilePoint {
    /// Its distance from the likeliest place.
    pub distance: Metres,
    /// Its level, or the floor.
    pub level: Dbm,
    /// What was heard.
    pub heard: Heard,
}

/// The fitted law, level = start − 10 n log10(d/reference), with one standard deviation of the levels about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FitLine {
    /// Level at the reference distance.
    pub start: Dbm,
    /// The reference distance; positive.
    pub reference: Metres,
    /// The exponent n.
    pub exponent: f64,
    /// One standard deviation about the line.
    pub sigma: Sigma<Db>,
}

/// Proportions of A4 across, less its margins: on paper a unit is 0.3 mm, and the text 4.5 mm high.
const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 600.0;
const LEFT: f64 = 84.0;
const RIGHT: f64 = 880.0;
const TOP: f64 = 48.0;
const BOTTOM: f64 = 500.0;

/// Readings more than these many decades nearer or decibels weaker than the rest would squeeze it together: none is cut off,
/// but the axes end at the readings.
const ROOM: (f64, f64) = (0.04, 4.0);

/// The figure as one SVG image: readings as dots, those below the floor as open triangles on it, the line with a band of one
/// standard deviation. Readings off the air and those without a usable distance or level are left out and counted in the
/// note below. Without any reading there are only the words.
pub fn profile(title: &str, points: &[ProfilePoint], line: Option<&FitLine>) -> String {
    let mut out = String::new();
    // Writing to a string never fails.
    let _ = Figure::of(points).draw(title, points, line, &mut out);
    out
}

/// The spans that the axes show.
struct Figure {
    /// Logarithms of distances in metres.
    decades: (f64, f64),
    /// Levels in dBm.
    levels: (f64, f64),
}

fn shown(p: &ProfilePoint) -> bool {
    let d = p.distance.value();
    p.heard != Heard::OffAir && d > 0.0 && d.is_finite() && drawable(p.level)
}

/// No level is beyond ten thousand decibels; one that were would leave the others no room.
fn drawable(level: Dbm) -> bool {
    level.value().abs() <= 1e4
}

fn span(values: impl Iterator<Item = f64>, room: f64, least: f64) -> (f64, f64) {
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    if low > high {
        return (0.0, least);
    }
    let short = (0.5 * (least - (high - low))).max(0.0);
    (low - room - short, high + room + short)
}

impl Figure {
    fn of(points: &[ProfilePoint]) -> Self {
        let all = || points.iter().filter(|p| shown(p));
        let decades = span(all().map(|p| p.distance.value().log10()), ROOM.0, 0.5);
        Self { decades, levels: span(all().map(|p| p.level.value()), ROOM.1, 20.0) }
    }

    fn x(&self, decade: f64) -> f64 {
        LEFT + (RIGHT - LEFT) * (decade - self.decades.0) / (self.decades.1 - self.decades.0)
    }

    fn y(&self, level: f64) -> f64 {
        BOTTOM - (BOTTOM - TOP) * (level - self.levels.0) / (self.levels.1 - self.levels.0)
    }

    fn draw(
        &self,
        title: &str,
        points: &[ProfilePoint],
        line: Option<&FitLine>,
        out: &mut String,
    ) -> fmt::Result {
        writeln!(
            out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" width=\"{WIDTH}\" \
             height=\"{HEIGHT}\" font-family=\"sans-serif\" font-size=\"15\">"
        )?;
        writeln!(out, "<title>{}</title>", escaped(title))?;
        writeln!(out, "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>")?;
        writeln!(
            out,
            "<clipPath id=\"inside\"><rect x=\"{LEFT}\" y=\"{TOP}\" width=\"{}\" height=\"{}\"/></clipPath>",
            RIGHT - LEFT,
            BOTTOM - TOP
        )?;
        writeln!(out, "<text x=\"{LEFT}\" y=\"30\" font-size=\"18\">{}</text>", escaped(title))?;
        if let Some(line) = line.filter(|l| usable(l)) {
            self.band(line, out)?;
        }
        self.axes(out)?;
        self.readings(points, out)?;
        if let Some(line) = line.filter(|l| usable(l)) {
            self.path(line, 0.0, "stroke=\"#000\" stroke-width=\"2.5\"", out)?;
        }
        note(points, line, out)?;
        writeln!(out, "</svg>")
    }

    /// Level of the line at the two ends of the axis, `above` it by so much.
    fn ends(&self, line: &FitLine, above: f64) -> [(f64, f64); 2] {
        let reference = line.reference.value().log10();
        let level = |decade: f64| line.start.value() - 10.0 * line.exponent * (decade - reference) + above;
        // Far outside the figure the exact number no longer matters, and stays short.
        [self.decades.0, self.decades.1].map(|d| (self.x(d), self.y(level(d)).clamp(-1e5, 1e5)))
    }

    fn band(&self, line: &FitLine, out: &mut String) -> fmt::Result {
        let sigma = line.sigma.to_db();
        let ([a, b], [c, d]) = (self.ends(line, sigma), self.ends(line, -sigma));
        writeln!(
            out,
            "<path d=\"M{:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}Z\" fill=\"#e4e4e4\" clip-path=\"url(#inside)\"/>",
            a.0, a.1, b.0, b.1, d.0, d.1, c.0, c.1
        )?;
        for above in [sigma, -sigma] {
            self.path(line, above, "stroke=\"#000\" stroke-width=\"1\" stroke-dasharray=\"7 5\"", out)?;
        }
        Ok(())
    }

    fn path(&self, line: &FitLine, above: f64, style: &str, out: &mut String) -> fmt::Result {
        let [a, b] = self.ends(line, above);
        writeln!(
            out,
            "<path d=\"M{:.1} {:.1}L{:.1} {:.1}\" fill=\"none\" {style} clip-path=\"url(#inside)\"/>",
            a.0, a.1, b.0, b.1
        )
    }

    fn axes(&self, out: &mut String) -> fmt::Result {
        for decade in distances(self.decades) {
            let (x, metres) = (self.x(decade), 10f64.powf(decade));
            writeln!(
                out,
                "<path d=\"M{x:.1} {TOP}V{BOTTOM}\" stroke=\"#bbb\" stroke-width=\"0.7\"/>\
                 <text x=\"{x:.1}\" y=\"{}\" text-anchor=\"middle\">{}</text>",
                BOTTOM + 20.0,
                length(metres)
            )?;
        }
        for level in rounds(self.levels) {
            let y = self.y(level);
            writeln!(
                out,
                "<path d=\"M{LEFT} {y:.1}H{RIGHT}\" stroke=\"#bbb\" stroke-width=\"0.7\"/>\
                 <text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
                LEFT - 8.0,
                y + 5.0,
                signed(format!("{level:.0}"))
            )?;
        }
        writeln!(
            out,
            "<rect x=\"{LEFT}\" y=\"{TOP}\" width=\"{}\" height=\"{}\" fill=\"none\" stroke=\"#000\"/>",
            RIGHT - LEFT,
            BOTTOM - TOP
        )?;
        writeln!(
            out,
            "<text x=\"{:.1}\" y=\"{}\" text-anchor=\"middle\">distance from the likeliest place (logarithmic)</text>\
             <text transform=\"translate(22 {:.1}) rotate(-90)\" text-anchor=\"middle\">level, dBm</text>",
            0.5 * (LEFT + RIGHT),
            BOTTOM + 44.0,
            0.5 * (TOP + BOTTOM)
        )
    }

    /// One path for all dots and one for all triangles; what falls on the same half of a unit is drawn once.
    fn readings(&self, points: &[ProfilePoint], out: &mut String) -> fmt::Result {
        for (heard, shape, style) in [
            (
                Heard::Measured,
                "h0",
                "stroke=\"#333\" stroke-width=\"5\" stroke-linecap=\"round\" stroke-opacity=\"0.65\"",
            ),
            (Heard::BelowFloor, "m-5.5 -5h11l-5.5 10z", "stroke=\"#000\" stroke-width=\"1.2\""),
        ] {
            let spots: BTreeSet<(i64, i64)> = points
                .iter()
                .filter(|p| p.heard == heard && shown(p))
                .map(|p| (self.x(p.distance.value().log10()), self.y(p.level.value())))
                .map(|(x, y)| ((2.0 * x).round() as i64, (2.0 * y).round() as i64))
                .collect();
            if spots.is_empty() {
                continue;
            }
            let half = |v: i64| v as f64 / 2.0;
            let mut path = String::new();
            for (x, y) in &spots {
                write!(path, "M{} {}{shape}", half(*x), half(*y))?;
            }
            writeln!(out, "<path d=\"{path}\" fill=\"none\" {style}/>")?;
        }
        Ok(())
    }
}

fn usable(line: &FitLine) -> bool {
    let reference = line.reference.value();
    let sound = reference > 0.0 && reference.is_finite() && line.sigma.to_db() <= 1e4;
    sound && drawable(line.start) && line.exponent.abs() <= 1e4
}

/// The key, the numbers of the fit, and what was left out.
fn note(points: &[ProfilePoint], line: Option<&FitLine>, out: &mut String) -> fmt::Result {
    let count = |heard: Heard| points.iter().filter(|p| p.heard == heard && shown(p)).count();
    let off = points.iter().filter(|p| p.heard == Heard::OffAir).count();
    let (measured, below) = (count(Heard::Measured), count(Heard::BelowFloor));
    let placeless = points.len() - off - measured - below;
    let y = HEIGHT - 28.0;
    writeln!(
        out,
        "<path d=\"M{LEFT} {:.1}h0\" stroke=\"#333\" stroke-width=\"6\" stroke-linecap=\"round\"/>\
         <text x=\"{}\" y=\"{y}\">{measured} measured</text>\
         <path d=\"M{} {:.1}m-5.5 -5h11l-5.5 10z\" fill=\"none\" stroke=\"#000\" stroke-width=\"1.2\"/>\
         <text x=\"{}\" y=\"{y}\">{below} below the floor</text>",
        y - 5.0,
        LEFT + 12.0,
        LEFT + 160.0,
        y - 5.0,
        LEFT + 172.0
    )?;
    if let Some(line) = line {
        let fitted = if usable(line) {
            signed(format!(
                "line {:.1} dBm at {}, exponent {:.2}; dashed ± {:.1} dB",
                line.start.value(),
                length(line.reference.value()),
                line.exponent,
                line.sigma.to_db()
            ))
        } else {
            "no line: its numbers cannot be drawn".to_owned()
        };
        writeln!(out, "<text x=\"{RIGHT}\" y=\"{y}\" text-anchor=\"end\">{fitted}</text>")?;
    }
    let mut left = Vec::new();
    if off > 0 {
        left.push(format!("{off} off the air"));
    }
    if placeless > 0 {
        left.push(format!("{placeless} without a usable distance or level"));
    }
    if left.is_empty() {
        return Ok(());
    }
    writeln!(out, "<text x=\"{LEFT}\" y=\"{}\">left out: {}</text>", y + 20.0, left.join(", "))
}

/// Logarithms of 1, 2 and 5 times the powers of ten within a span; of more than three decades only the powers, and of more than
/// twelve only every so many.
fn distances((from, to): (f64, f64)) -> Vec<f64> {
    let within = |d: &f64| (from..=to).contains(d);
    let stride = ((to - from) / 12.0).ceil().max(1.0) as usize;
    let steps: &[f64] = if to - from > 3.0 { &[1.0] } else { &[1.0, 2.0, 5.0] };
    let powers = (from.floor() as i64..=to.ceil() as i64).step_by(stride);
    powers.flat_map(|p| steps.iter().map(move |s| p as f64 + s.log10())).filter(within).collect()
}

/// Multiples of 10 dB within a span, or of the least 20, 50, 100, … that leaves no more than a dozen.
fn rounds((from, to): (f64, f64)) -> Vec<f64> {
    let mut step = 10.0;
    let mut grow = [2.0, 2.5, 2.0].iter().cycle();
    while (to - from) / step > 12.0 {
        step *= grow.next().copied().unwrap_or(2.0);
    }
    let first = (from / step).ceil();
    let count = ((to / step).floor() - first).max(-1.0) as i64;
    // Adding zero turns −0 into 0.
    (0..=count).map(|k| (first + k as f64) * step + 0.0).collect()
}

/// With the sign of subtraction for the hyphen.
fn signed(text: String) -> String {
    text.replace('-', "−")
}

fn length(metres: f64) -> String {
    let short = |v: f64| {
        let text = format!("{v:.3}");
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    };
    if metres >= 1e3 { format!("{} km", short(metres / 1e3)) } else { format!("{} m", short(metres)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn point(distance: f64, level: f64, heard: Heard) -> ProfilePoint {
        ProfilePoint { distance: Metres::new(distance), level: Dbm::new(level), heard }
    }

    fn line() -> FitLine {
        FitLine {
            start: Dbm::new(-20.0),
            reference: Metres::new(1.0),
            exponent: 3.0,
            sigma: Sigma::db(6.0).unwrap(),
        }
    }

    /// Where a path begins and its shape, of the first path that holds `style`.
    fn numbers(svg: &str, style: &str) -> Vec<f64> {
        let row = svg.lines().find(|l| l.contains(style) && l.starts_with("<path d=")).unwrap();
        let path = row.split('"').nth(1).unwrap();
        path.split(['M', 'L', ' ']).filter(|t| !t.is_empty()).map(|t| t.parse().unwrap()).collect()
    }

    /// The line is drawn where the readings that lie on it are.
    #[test]
    fn readings_on_the_line_are_drawn_on_it() {
        let on: Vec<ProfilePoint> = (0..7)
            .map(|i| 50.0 * 1.8f64.powi(i))
            .map(|d| point(d, -20.0 - 30.0 * d.log10(), Heard::Measured))
            .collect();
        let svg = profile("levels", &on, Some(&line()));
        let fit = numbers(&svg, "stroke-width=\"2.5\"");
        let dots = svg.lines().find(|l| l.contains("stroke-linecap") && l.contains("h0M")).unwrap();
        let spots: Vec<Vec<f64>> = dots
            .split('"')
            .nth(1)
            .unwrap()
            .split('M')
            .skip(1)
            .map(|t| t.trim_end_matches("h0").split(' ').map(|v| v.parse().unwrap()).collect())
            .collect();
        assert_eq!(spots.len(), 7);
        let slope = (fit[3] - fit[1]) / (fit[2] - fit[0]);
        for spot in spots {
            let on_line = fit[1] + slope * (spot[0] - fit[0]);
            // Dots are set to half a unit, ends of the line to a tenth.
            assert!((spot[1] - on_line).abs() < 0.25 * (1.0 + slope.abs()) + 0.1, "{spot:?} {on_line}");
        }
        // The dashed lines lie 6 dB to either side.
        let dashed = numbers(&svg, "stroke-dasharray");
        let figure = Figure::of(&on);
        assert!((fit[1] - dashed[1] - (figure.y(0.0) - figure.y(6.0))).abs() < 0.2);
    }

    #[test]
    fn what_was_not_measured_is_told_apart_and_counted() {
        let points = [
            point(100.0, -80.0, Heard::Measured),
            point(200.0, -90.0, Heard::Measured),
            point(400.0, -101.0, Heard::BelowFloor),
            point(500.0, -101.0, Heard::BelowFloor),
            point(150.0, -101.0, Heard::OffAir),
            point(0.0, -80.0, Heard::Measured),
            point(100.0, f64::NAN, Heard::Measured),
        ];
        let svg = profile("a < b & \"c\"", &points, Some(&line()));
        // Two triangles and the key's.
        assert_eq!(svg.matches("m-5.5 -5").count(), 3);
        assert!(svg.contains("2 measured") && svg.contains("2 below the floor"), "{svg}");
        assert!(svg.contains("left out: 1 off the air, 2 without a usable distance or level"), "{svg}");
        assert!(svg.contains("a &lt; b &amp; &quot;c&quot;") && !svg.contains("NaN"), "{svg}");
        assert!(svg.contains("line −20.0 dBm at 1 m, exponent 3.00; dashed ± 6.0 dB"), "{svg}");
    }

    #[test]
    fn nothing_and_nonsense_still_give_a_figure() {
        let far = [
            point(f64::MIN_POSITIVE, -80.0, Heard::Measured),
            point(f64::MAX, 1e300, Heard::Measured),
            point(1.0, -1e300, Heard::BelowFloor),
        ];
        let wild = FitLine { exponent: 1e300, ..line() };
        let broken = FitLine { start: Dbm::new(f64::NAN), ..line() };
        for (points, line) in
            [(&far[..], Some(&wild)), (&far[..2], Some(&broken)), (&[], Some(&broken)), (&[], None)]
        {
            let svg = profile("", points, line);
            assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"));
            assert!(svg.len() < 20_000 && !svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        }
    }

    #[test]
    fn axes_carry_round_numbers() {
        let told: Vec<String> = distances((1.5, 3.5)).iter().map(|d| length(10f64.powf(*d))).collect();
        assert_eq!(told, ["50 m", "100 m", "200 m", "500 m", "1 km", "2 km"]);
        assert_eq!(distances((0.1, 4.2)).len(), 4);
        assert_eq!(rounds((-103.0, -78.0)), [-100.0, -90.0, -80.0]);
        assert!(rounds((-1_000.0, 0.0)).len() <= 13);
        assert!(rounds((-5.0, 5.0))[0].is_sign_positive());
        assert_eq!(length(0.05), "0.05 m");
    }

    /// Twenty thousand readings stay a picture that opens at once.
    #[test]
    fn many_readings_share_their_spots() {
        let many: Vec<ProfilePoint> = (0..20_000)
            .map(|i| point(100.0 + f64::from(i % 400), -90.0 + 0.1 * f64::from(i % 97), Heard::Measured))
            .collect();
        assert!(profile("many", &many, None).len() < 600_000);
    }
}
