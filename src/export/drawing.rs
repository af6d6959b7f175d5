//! A drawing of the answer as SVG: north up, with a scale bar, readable without a map program and in print.

use std::fmt::{self, Write as _};

use crate::{
    geodesy::{Place, Plane, PlanePoint},
    north::TrueBearing,
    region::Part,
    report::{Answer, area},
    solve::{Residual, Verdict},
};

/// Streets and outlines to draw the answer on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Background {
    /// Lines (streets, railways).
    pub lines: Vec<Vec<Place>>,
    /// Outlines of buildings and the like.
    pub areas: Vec<Vec<Place>>,
}

const WIDTH: f64 = 900.0;
const HEIGHT: f64 = 640.0;

/// The strip at the bottom that holds scale and figures; nothing is drawn to scale in it.
const STRIP: f64 = 46.0;

/// Shades of the 95, 90 and 50 % regions, light to dark.
const SHADES: [&str; 3] = ["#ffe08a", "#ffc44d", "#f59a1b"];

/// The answer as one SVG image. An answer without any place gives a drawing of stands and rays.
pub fn drawing(answer: &Answer, background: &Background) -> String {
    let mut out = String::new();
    // Writing to a string never fails.
    let _ = View::of(answer).map(|view| view.draw(answer, background, &mut out));
    out
}

/// What part of the ground is shown, and at which scale.
struct View {
    plane: Plane,
    centre: PlanePoint,
    /// Pixels per metre.
    scale: f64,
}

impl View {
    fn of(answer: &Answer) -> Option<Self> {
        let about = answer.fit.modes().first().map_or(answer.fit.centre(), |m| m.place);
        let plane = Plane::centred_on(&[about])?;
        let region = answer.regions.iter().rev().find_map(|r| r.as_ref().ok());
        let rim: Vec<PlanePoint> = region
            .into_iter()
            .flat_map(|r| r.parts().iter().flat_map(Part::outer))
            .map(|p| plane.to_plane(p))
            .collect();
        let (west, east) = ends(rim.iter().map(|p| p.east));
        let (south, north) = ends(rim.iter().map(|p| p.north));
        let centre = PlanePoint { east: 0.5 * (west + east), north: 0.5 * (south + north) };
        let mut far: Vec<f64> = answer
            .bearings
            .iter()
            .map(|b| plane.to_plane(b.read().stand.at))
            .map(|p| {
                ((p.east - centre.east).abs() / WIDTH).max((p.north - centre.north).abs() / (HEIGHT - STRIP))
            })
            .collect();
        far.sort_by(f64::total_cmp);
        // At least half of the stands, and the whole region with room around it.
        let stands = far.get(far.len() / 2).copied().unwrap_or(0.0) * 1.15;
        let own = 0.65 * ((east - west) / WIDTH).max((north - south) / (HEIGHT - STRIP));
        Some(Self { plane, centre, scale: 0.5 / stands.max(own).max(0.05) })
    }

    fn pixel(&self, place: Place) -> (f64, f64) {
        let p = self.plane.to_plane(place);
        let x = 0.5 * WIDTH + self.scale * (p.east - self.centre.east);
        let y = 0.5 * (HEIGHT - STRIP) - self.scale * (p.north - self.centre.north);
        // Far outside the image the exact figure no longer matters, and stays short.
        (x.clamp(-1e4, 1e4), y.clamp(-1e4, 1e4))
    }

    fn path(&self, ring: &[Place], closed: bool) -> String {
        let mut out = String::new();
        for (i, place) in ring.iter().enumerate() {
            let (x, y) = self.pixel(*place);
            let _ = write!(out, "{}{x:.1} {y:.1}", if i == 0 { "M" } else { "L" });
        }
        if closed { out + "Z" } else { out }
    }

    fn draw(&self, answer: &Answer, background: &Background, out: &mut String) -> fmt::Result {
        writeln!(
            out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH} {HEIGHT}\" width=\"{WIDTH}\" \
             height=\"{HEIGHT}\" font-family=\"sans-serif\" font-size=\"14\">"
        )?;
        writeln!(out, "<title>{}</title>", escaped(&answer.summary()))?;
        writeln!(out, "<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>")?;
        self.ground(background, out)?;
        self.regions(answer, out)?;
        for (bearing, residual) in answer.bearings.iter().zip(&answer.record.residuals) {
            self.ray(bearing, residual, out)?;
        }
        for (bearing, residual) in answer.bearings.iter().zip(&answer.record.residuals) {
            self.stand(bearing, residual, out)?;
        }
        for mode in answer.fit.modes() {
            let (x, y) = self.pixel(mode.place);
            writeln!(
                out,
                "<path d=\"M{:.1} {y:.1}h14M{x:.1} {:.1}v14\" stroke=\"#000\" stroke-width=\"2\"/>",
                x - 7.0,
                y - 7.0
            )?;
        }
        self.legend(answer, out)?;
        if answer.doubtful() {
            writeln!(
                out,
                "<text x=\"20\" y=\"30\" fill=\"#b0283a\" font-size=\"18\" font-weight=\"bold\" stroke=\"#fff\" \
                 stroke-width=\"4\" paint-order=\"stroke\">DOUBTFUL: north may be wrong, see the text of the answer</text>"
            )?;
        }
        writeln!(out, "</svg>")
    }

    fn ground(&self, background: &Background, out: &mut String) -> fmt::Result {
        for outline in &background.areas {
            writeln!(out, "<path d=\"{}\" fill=\"#e9e9ee\" stroke=\"none\"/>", self.path(outline, true))?;
        }
        for line in &background.lines {
            writeln!(
                out,
                "<path d=\"{}\" fill=\"none\" stroke=\"#c9ccd3\" stroke-width=\"4\"/>",
                self.path(line, false)
            )?;
        }
        Ok(())
    }

    fn regions(&self, answer: &Answer, out: &mut String) -> fmt::Result {
        for (region, shade) in answer.regions.iter().rev().zip(SHADES) {
            let Ok(region) = region else { continue };
            let mut path = String::new();
            for part in region.parts() {
                path += &self.path(&part.outer(), true);
                part.holes().iter().for_each(|hole| path += &self.path(hole, true));
            }
            writeln!(
                out,
                "<path d=\"{path}\" fill=\"{shade}\" fill-opacity=\"0.75\" fill-rule=\"evenodd\" stroke=\"#8a5a00\" \
                 stroke-width=\"0.8\"/>"
            )?;
        }
        Ok(())
    }

    fn ray(&self, bearing: &TrueBearing, residual: &Residual, out: &mut String) -> fmt::Result {
        let from = bearing.read().stand.at;
        let (x, y) = self.pixel(from);
        let turned = self.plane.azimuth_in_plane(from, bearing.azimuth()).to_radians();
        let length = self.scale * residual.range.value() * 1.3;
        let (dx, dy) = (length * turned.sin(), -length * turned.cos());
        let style = match residual.verdict {
            Verdict::Direct => "stroke=\"#0b5c66\" stroke-width=\"1.6\"",
            Verdict::Reversed => "stroke=\"#5b3aa0\" stroke-width=\"1.6\" stroke-dasharray=\"2 4\"",
            Verdict::Foreign => "stroke=\"#b0283a\" stroke-width=\"1.6\" stroke-dasharray=\"8 6\"",
        };
        writeln!(out, "<path d=\"M{x:.1} {y:.1}l{dx:.1} {dy:.1}\" fill=\"none\" {style}/>")
    }

    fn stand(&self, bearing: &TrueBearing, residual: &Residual, out: &mut String) -> fmt::Result {
        let (x, y) = self.pixel(bearing.read().stand.at);
        let word = match residual.verdict {
            Verdict::Direct => String::new(),
            other => format!(" {}", other.word()),
        };
        writeln!(
            out,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4.5\" fill=\"#fff\" stroke=\"#0b2a33\" stroke-width=\"2\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\" stroke=\"#fff\" stroke-width=\"3\" paint-order=\"stroke\">{}{word}</text>",
            x + 7.0,
            y - 6.0,
            escaped(&residual.id)
        )
    }

    fn legend(&self, answer: &Answer, out: &mut String) -> fmt::Result {
        let bar = round_length(0.2 * WIDTH / self.scale);
        let (pixels, y) = (bar * self.scale, HEIGHT - 24.0);
        let name = if bar >= 1e3 { format!("{:.0} km", bar / 1e3) } else { format!("{bar:.0} m") };
        writeln!(
            out,
            "<rect x=\"0\" y=\"{}\" width=\"100%\" height=\"{STRIP}\" fill=\"#fff\" fill-opacity=\"0.85\"/>",
            HEIGHT - STRIP
        )?;
        writeln!(
            out,
            "<path d=\"M20 {:.1}v6h{pixels:.1}v-6\" fill=\"none\" stroke=\"#000\" stroke-width=\"2\"/>",
            y - 6.0
        )?;
        writeln!(out, "<text x=\"24\" y=\"{:.1}\">{name}</text>", y - 4.0)?;
        let shown: Vec<String> = answer
            .regions
            .iter()
            .map(|r| match r {
                Ok(r) => format!("{:.0} %: {}", 100.0 * r.confidence().value(), area(r.area())),
                Err(e) => format!("{:.0} %: not determined", 100.0 * e.confidence.value()),
            })
            .collect();
        let note = format!("regions {} · + likeliest place · dashed: foreign", shown.join(", "));
        writeln!(out, "<text x=\"{:.1}\" y=\"{:.1}\">{}</text>", 40.0 + pixels, y, escaped(&note))?;
        let x = WIDTH - 28.0;
        writeln!(
            out,
            "<path d=\"M{x} 52V16l-5 10M{x} 16l5 10\" fill=\"none\" stroke=\"#000\" stroke-width=\"2\"/>"
        )?;
        writeln!(out, "<text x=\"{}\" y=\"68\">true N</text>", x - 24.0)
    }
}

/// Least and greatest; both zero for nothing.
fn ends(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    if low <= high { (low, high) } else { (0.0, 0.0) }
}

/// The longest of 1, 2, 5 times a power of ten that is not above `length`.
fn round_length(length: f64) -> f64 {
    let power = 10f64.powf(length.log10().floor());
    [5.0, 2.0, 1.0].into_iter().map(|f| f * power).find(|l| *l <= length).unwrap_or(power)
}

pub(super) fn escaped(text: &str) -> String {
    let plain = text.chars().filter(|c| !c.is_control());
    plain.fold(String::new(), |mut out, c| {
        match c {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '"' => out += "&quot;",
            c => out.push(c),
        }
        out
    })
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::{
        ingest, north, report,
        solve::{Options, Problem, fit},
    };

    /// Two bearings of 5° that cross at a right angle, one kilometre from each stand.
    pub fn small_answer() -> Answer {
        let notes = "id,lat,lon,bearing_deg,north,class,remarks\n<a>,47,8.013151,270,true,B,x & y\nb,46.991,8,0,true,B,\n";
        let read = ingest::bearings("notes.csv", notes.as_bytes(), &ingest::Settings::default());
        let bearings = north::resolve(&read.rows, &north::Settings::default()).bearings;
        let fit = fit(&Problem { bearings: &bearings, within: None }, &Options::default()).unwrap();
        report::answer(fit, report::Notes { bearings, ..report::Notes::default() })
    }

    #[test]
    fn names_from_the_notes_cannot_break_the_drawing() {
        let svg = drawing(&small_answer(), &Background::default());
        assert!(svg.contains("&lt;a&gt;") && !svg.contains("<a>"));
        assert_eq!(svg.matches("<circle").count(), 2);
        assert!(svg.trim_end().ends_with("</svg>"));
    }

    #[test]
    fn a_scale_bar_is_a_round_length() {
        for (length, bar) in [(1.0, 1.0), (199.0, 100.0), (200.0, 200.0), (730.0, 500.0), (9_999.0, 5_000.0)]
        {
            assert!((round_length(length) - bar).abs() < 1e-9);
        }
    }
}
