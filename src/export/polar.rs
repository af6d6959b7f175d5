//! A swing as a polar drawing: level against heading with the fitted pattern and the bearing. Nothing in it depends on
//! colour.

use std::{
    f64::consts::PI,
    fmt::{self, Write as _},
};

use crate::{
    export::drawing::escaped,
    observe::{Level, NorthReference, Swing},
    solve::swing::SwingFit,
    units::Angle,
};

/// Width and height of one drawing.
const TILE: (f64, f64) = (440.0, 500.0);

/// Radius of the outermost ring.
const RADIUS: f64 = 168.0;

/// The centre of the rings within a drawing.
const CENTRE: (f64, f64) = (220.0, 262.0);

/// Levels further below the strongest are drawn at the centre.
const DEEPEST_DB: f64 = 40.0;

/// Drawings of swings with their fits, two beside one another, as one SVG image. `fits` are in the order of `swings`.
///
/// Circles are readings, open triangles headings at which nothing was heard above the floor; the line is the fitted
/// pattern, the arrow the bearing with one sigma on either side in grey, a dashed line a second peak or the reverse of a
/// two-way antenna.
pub fn polar(swings: &[Swing], fits: &[SwingFit]) -> String {
    let mut out = String::new();
    // Writing to a string never fails.
    let _ = draw(swings, fits, &mut out);
    out
}

fn draw(swings: &[Swing], fits: &[SwingFit], out: &mut String) -> fmt::Result {
    let across = swings.len().clamp(1, 2);
    let down = swings.len().div_ceil(2).max(1);
    let (width, height) = (TILE.0 * across as f64, TILE.1 * down as f64);
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" width=\"{width}\" \
         height=\"{height}\" font-family=\"sans-serif\" font-size=\"13\">"
    )?;
    writeln!(out, "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>")?;
    for (i, (swing, fit)) in swings.iter().zip(fits).enumerate() {
        let (x, y) = (TILE.0 * (i % 2) as f64, TILE.1 * (i / 2) as f64);
        writeln!(out, "<g transform=\"translate({x} {y})\">")?;
        Tile::of(swing, fit).draw(out)?;
        writeln!(out, "</g>")?;
    }
    writeln!(out, "</svg>")
}

struct Tile<'a> {
    swing: &'a Swing,
    fit: &'a SwingFit,
    /// Level of the outermost ring, dBm, and decibels from there to the centre.
    top: f64,
    range: f64,
}

impl<'a> Tile<'a> {
    fn of(swing: &'a Swing, fit: &'a SwingFit) -> Self {
        let levels = swing.points.iter().filter_map(|p| match p.reading.level {
            Level::Measured(l) | Level::BelowFloor(l) => Some(l.value()),
            Level::OffAir => None,
        });
        let (low, high) = levels.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
        let high = fit.peaks.iter().map(|p| p.level.value()).fold(high, f64::max);
        let (low, high) = if low <= high { (low, high) } else { (0.0, 0.0) };
        let top = 5.0 * (high / 5.0).ceil();
        let range = (10.0 * ((top - low + 4.0) / 10.0).ceil()).clamp(20.0, DEEPEST_DB);
        Self { swing, fit, top, range }
    }

    fn radius(&self, level: f64) -> f64 {
        RADIUS * ((level - self.top + self.range) / self.range).clamp(0.0, 1.05)
    }

    fn draw(&self, out: &mut String) -> fmt::Result {
        self.title(out)?;
        self.sigma(out)?;
        self.rings(out)?;
        self.pattern(out)?;
        self.readings(out)?;
        self.directions(out)
    }

    fn title(&self, out: &mut String) -> fmt::Result {
        let stand = if self.swing.stand.name.is_empty() { &self.swing.id } else { &self.swing.stand.name };
        let shown: String = stand.chars().take(48).collect();
        let answer = match &self.fit.direction {
            Some(d) => {
                let reverse = match d.two_way {
                    true => format!(" or {}", self.bearing(d.bearing.reversed())),
                    false => String::new(),
                };
                format!("{}{reverse} ± {:.0}°", self.bearing(d.bearing), d.sigma.to_degrees().max(1.0))
            }
            None => "no direction".to_owned(),
        };
        writeln!(
            out,
            "<text x=\"20\" y=\"26\" font-size=\"15\" font-weight=\"bold\">{}</text>",
            escaped(&shown)
        )?;
        writeln!(out, "<text x=\"20\" y=\"48\" font-size=\"15\">{answer}</text>")?;
        let back = self.fit.front_to_back.map(|f| format!("front to back {:.0} dB", f.ratio.value()));
        let width = self.fit.beamwidth.map(|b| format!("{:.0}° wide at half power", b.0.to_degrees()));
        let scatter = Some(format!("scatter {:.1} dB", self.fit.residual.value()))
            .filter(|_| self.fit.pattern.is_some());
        let foot = [width, back, scatter].into_iter().flatten().collect::<Vec<_>>().join(" · ");
        writeln!(out, "<text x=\"20\" y=\"486\">{foot}</text>")
    }

    /// A bearing with its north.
    fn bearing(&self, angle: Angle) -> String {
        let letter = match self.swing.north {
            NorthReference::True => 'T',
            NorthReference::Magnetic => 'M',
            NorthReference::Grid(_) => 'G',
        };
        format!("{:03}°{letter}", (angle.compass().to_degrees().round() as u32) % 360)
    }

    /// One sigma on either side of the bearing.
    fn sigma(&self, out: &mut String) -> fmt::Result {
        let Some(direction) = &self.fit.direction else { return Ok(()) };
        let (middle, half) = (direction.bearing.to_radians(), direction.sigma.to_radians().min(0.5 * PI));
        let ways: &[f64] = if direction.two_way { &[0.0, PI] } else { &[0.0] };
        for turn in ways {
            write!(out, "<path d=\"M{} {}", CENTRE.0, CENTRE.1)?;
            // The rim as chords of 3° and less, which no eye tells from an arc.
            let chords = (2.0 * half / 3.0_f64.to_radians()).ceil().max(1.0);
            for i in 0..=chords as u32 {
                let rim = point(middle + turn - half + 2.0 * half * f64::from(i) / chords, RADIUS);
                write!(out, "L{:.1} {:.1}", rim.0, rim.1)?;
            }
            writeln!(out, "Z\" fill=\"#d9d9d9\"/>")?;
        }
        Ok(())
    }

    fn rings(&self, out: &mut String) -> fmt::Result {
        let step = if self.range > 20.0 { 10.0 } else { 5.0 };
        for i in 0..(self.range / step) as u32 {
            let level = self.top - step * f64::from(i);
            let radius = self.radius(level);
            writeln!(
                out,
                "<circle cx=\"{}\" cy=\"{}\" r=\"{radius:.1}\" fill=\"none\" stroke=\"#888\" stroke-width=\"0.7\"/>",
                CENTRE.0, CENTRE.1
            )?;
        }
        for degrees in (0..360u32).step_by(30) {
            let angle = f64::from(degrees).to_radians();
            let (inner, outer) = (point(angle, 0.06 * RADIUS), point(angle, RADIUS));
            let label = point(angle, RADIUS + 17.0);
            writeln!(
                out,
                "<path d=\"M{:.1} {:.1}L{:.1} {:.1}\" stroke=\"#888\" stroke-width=\"0.5\"/>\
                 <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{degrees:03}</text>",
                inner.0,
                inner.1,
                outer.0,
                outer.1,
                label.0,
                label.1 + 4.5
            )?;
        }
        let north = match self.swing.north {
            NorthReference::True => "true north",
            NorthReference::Magnetic => "magnetic north",
            NorthReference::Grid(_) => "grid north",
        };
        writeln!(out, "<text x=\"{}\" y=\"66\" text-anchor=\"middle\">{north}</text>", CENTRE.0)
    }

    /// Levels of the rings, along the spoke that is farthest from what is drawn.
    fn scale(&self, out: &mut String) -> fmt::Result {
        let step = if self.range > 20.0 { 10.0 } else { 5.0 };
        let away = self.fit.direction.map_or(0.0, |d| d.bearing.to_degrees());
        let two_way = self.fit.direction.is_some_and(|d| d.two_way);
        let turn = if two_way { 90.0 } else { 180.0 };
        // Between two spokes, so that no line runs through the figures.
        let angle = (30.0 * ((away + turn) / 30.0).floor() + 15.0).to_radians();
        for i in 0..(self.range / step) as u32 {
            let level = self.top - step * f64::from(i);
            let (x, y) = point(angle, self.radius(level) - if i == 0 { 12.0 } else { 0.0 });
            let unit = if i == 0 { " dBm" } else { "" };
            writeln!(
                out,
                "<text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\" font-size=\"11\" stroke=\"#fff\" stroke-width=\"3\" \
                 paint-order=\"stroke\">{}{unit}</text>",
                y + 4.0,
                format!("{level:.0}").replace('-', "−")
            )?;
        }
        Ok(())
    }

    fn pattern(&self, out: &mut String) -> fmt::Result {
        let mut path = String::new();
        for degrees in 0..360u32 {
            let heading = Angle::degrees(f64::from(degrees));
            let Some(level) = self.fit.level(heading) else { return Ok(()) };
            let (x, y) = point(heading.to_radians(), self.radius(level.value()));
            write!(path, "{}{x:.1} {y:.1}", if degrees == 0 { "M" } else { "L" })?;
        }
        writeln!(out, "<path d=\"{path}Z\" fill=\"none\" stroke=\"#000\" stroke-width=\"2\"/>")
    }

    fn readings(&self, out: &mut String) -> fmt::Result {
        for reading in &self.swing.points {
            let (level, heard) = match reading.reading.level {
                Level::Measured(l) => (l.value(), true),
                Level::BelowFloor(l) => (l.value(), false),
                Level::OffAir => continue,
            };
            let (x, y) = point(reading.heading.to_radians(), self.radius(level));
            if heard {
                writeln!(
                    out,
                    "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3.6\" fill=\"#fff\" stroke=\"#000\" stroke-width=\"1.4\"/>"
                )?;
            } else {
                writeln!(
                    out,
                    "<path d=\"M{:.1} {:.1}h9l-4.5 8Z\" fill=\"#fff\" stroke=\"#000\" stroke-width=\"1.2\"/>",
                    x - 4.5,
                    y - 3.0
                )?;
            }
        }
        Ok(())
    }

    fn directions(&self, out: &mut String) -> fmt::Result {
        self.scale(out)?;
        let Some(direction) = &self.fit.direction else { return Ok(()) };
        if let Some(second) = self.fit.peaks.get(1) {
            let end = point(second.heading.to_radians(), RADIUS);
            writeln!(
                out,
                "<path d=\"M{} {}L{:.1} {:.1}\" stroke=\"#000\" stroke-width=\"1.5\" stroke-dasharray=\"6 5\"/>",
                CENTRE.0, CENTRE.1, end.0, end.1
            )?;
        }
        let angle = direction.bearing.to_radians();
        let (end, left, right) =
            (point(angle, RADIUS), point(angle - 0.07, RADIUS - 16.0), point(angle + 0.07, RADIUS - 16.0));
        writeln!(
            out,
            "<path d=\"M{} {}L{:.1} {:.1}\" stroke=\"#000\" stroke-width=\"1.5\"/>\
             <path d=\"M{:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}Z\" fill=\"#000\"/>",
            CENTRE.0, CENTRE.1, end.0, end.1, end.0, end.1, left.0, left.1, right.0, right.1
        )
    }
}

/// The pixel at a heading, clockwise from the top, and a distance from the centre.
fn point(heading: f64, radius: f64) -> (f64, f64) {
    (CENTRE.0 + radius * heading.sin(), CENTRE.1 - radius * heading.cos())
}
