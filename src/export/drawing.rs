//! A drawing of the answer as SVG: north up, with a scale bar, readable without a map program and in print.

use std::fmt::{self, Write as _};

use crate::{
    export::{labels::Labels, spots::spots},
    geodesy::{GridFrame, Place, Plane, PlanePoint, zone_of},
    north::{self, TrueBearing},
    observe::NorthReference,
    region::Part,
    report::{Answer, area},
    solve::{Residual, Verdict},
    units::Angle,
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

/// Shades of the 95, 90 and 50 % regions, light to dark, and their rims: whole, dashed, dotted, so that a copy in black and white
/// tells them apart.
const SHADES: [(&str, &str); 3] = [
    ("#ffe08a", "stroke-width=\"1.8\""),
    ("#ffc44d", "stroke-width=\"1.3\" stroke-dasharray=\"6 3\""),
    ("#f59a1b", "stroke-width=\"1.6\" stroke-dasharray=\"1.5 3\""),
];

/// The answer as one SVG image. An answer without any place gives a drawing of stands and rays.
pub fn drawing(answer: &Answer, background: &Background) -> String {
    let mut out = String::new();
    // Writing to a string never fails.
    let _ = View::of(answer).map(|view| view.draw(answer, background, &mut out));
    out
}

/// The regions alone, filling the image; `None` where they fill the drawing of everything as well, or are not determined.
pub fn close_up(answer: &Answer, background: &Background) -> Option<String> {
    let (whole, near) = (View::of(answer)?, View::near(answer)?);
    let mut out = String::new();
    (near.scale > 2.0 * whole.scale).then(|| {
        // Writing to a string never fails.
        let _ = near.draw(answer, background, &mut out);
        out
    })
}

/// What part of the ground is shown, and at which scale.
struct View {
    plane: Plane,
    centre: PlanePoint,
    /// Pixels per metre.
    scale: f64,
    /// Metres per pixel at which the regions fill the half of the image.
    own: f64,
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
        Some(Self { plane, centre, scale: 0.5 / stands.max(own).max(0.05), own })
    }

    /// Only the regions, with room around them.
    fn near(answer: &Answer) -> Option<Self> {
        let view = Self::of(answer)?;
        (view.own > 0.0).then(|| Self { scale: 0.5 / (1.1 * view.own), ..view })
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
        spots(answer, |place| self.pixel(place), out)?;
        let mut labels = Labels::default();
        for (bearing, residual) in answer.bearings.iter().zip(&answer.record.residuals) {
            self.stand(bearing, residual, &mut labels, out)?;
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
        for (region, (shade, rim)) in answer.regions.iter().rev().zip(SHADES) {
            let Ok(region) = region else { continue };
            let mut path = String::new();
            for part in region.parts() {
                path += &self.path(&part.outer(), true);
                part.holes().iter().for_each(|hole| path += &self.path(hole, true));
            }
            writeln!(
                out,
                "<path d=\"{path}\" fill=\"{shade}\" fill-opacity=\"0.75\" fill-rule=\"evenodd\" stroke=\"#4a3000\" {rim}/>"
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

    fn stand(
        &self,
        bearing: &TrueBearing,
        residual: &Residual,
        labels: &mut Labels,
        out: &mut String,
    ) -> fmt::Result {
        let (x, y) = self.pixel(bearing.read().stand.at);
        // What lies under the figures or outside of the image is no stand to see.
        if !(0.0..=WIDTH).contains(&x) || !(0.0..=HEIGHT - STRIP).contains(&y) {
            return Ok(());
        }
        let name = match residual.verdict {
            Verdict::Direct => residual.id.clone(),
            other => format!("{} {}", residual.id, other.word()),
        };
        let spot = labels.beside((x, y), &name, (WIDTH, HEIGHT - STRIP));
        writeln!(
            out,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"4.5\" fill=\"#fff\" stroke=\"#0b2a33\" stroke-width=\"2\"/>\
             <text x=\"{:.1}\" y=\"{:.1}\"{} stroke=\"#fff\" stroke-width=\"3\" paint-order=\"stroke\">{}</text>",
            spot.x,
            spot.y,
            if spot.ends { " text-anchor=\"end\"" } else { "" },
            escaped(&name)
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
        let note = format!("regions {} · + likeliest place", shown.join(", "));
        let x = 40.0 + pixels;
        writeln!(out, "<text x=\"{x:.1}\" y=\"{:.1}\">{}</text>", y - 6.0, escaped(&note))?;
        writeln!(
            out,
            "<text x=\"{x:.1}\" y=\"{:.1}\" font-size=\"13\">rims: 95 % whole, 90 % dashed, 50 % dotted · lines: direct whole, \
             foreign dashed, reversed dotted</text>",
            y + 12.0
        )?;
        norths(&Norths::of(answer), out)
    }
}

/// The three norths, as angles from true north, east positive.
struct Norths {
    /// Magnetic north as the bearings were corrected for it, with their first date.
    magnetic: Option<(Angle, String)>,
    /// Grid north: of grid bearings as they were corrected, else of the UTM zone.
    grid: Option<(Angle, String)>,
}

impl Norths {
    fn of(answer: &Answer) -> Self {
        let magnetic = answer.bearings.iter().find(|b| b.read().north == NorthReference::Magnetic);
        let of_grid = answer.bearings.iter().find(|b| matches!(b.read().north, NorthReference::Grid(_)));
        let day = |b: &TrueBearing| b.read().civil_date().map_or(String::new(), |d| format!(", {d}"));
        let magnetic = magnetic.map(|b| (b.correction(), day(b)));
        let at = answer.fit.quoted();
        let of_zone = || {
            let zone = zone_of(at)?;
            let convergence = GridFrame::Utm { zone }.convergence(at).ok()?;
            Some((convergence, format!("UTM {zone}")))
        };
        let grid = of_grid.map(|b| (b.correction(), "as read".to_owned())).or_else(of_zone);
        Self { magnetic, grid }
    }
}

/// Arrows from one point, and under them what they are.
fn norths(norths: &Norths, out: &mut String) -> fmt::Result {
    let (x, y) = (WIDTH - 120.0, 66.0);
    let arrow = |angle: Angle, length: f64, style: &str, out: &mut String| {
        let (east, up) = (angle.to_radians().sin(), angle.to_radians().cos());
        let tip = (x + length * east, y - length * up);
        let barb = |side: f64| (tip.0 - 9.0 * east + side * 4.0 * up, tip.1 + 9.0 * up + side * 4.0 * east);
        let ((a, b), (c, d)) = (barb(1.0), barb(-1.0));
        writeln!(
            out,
            "<path d=\"M{x} {y}L{:.1} {:.1}\" fill=\"none\" stroke=\"#000\" {style}/><path d=\"M{a:.1} {b:.1}L{0:.1} {1:.1}L{c:.1} \
             {d:.1}\" fill=\"none\" stroke=\"#000\" stroke-width=\"1.5\"/>",
            tip.0, tip.1
        )
    };
    let lines = 1 + usize::from(norths.magnetic.is_some()) + usize::from(norths.grid.is_some());
    writeln!(
        out,
        "<rect x=\"{}\" y=\"4\" width=\"258\" height=\"{}\" fill=\"#fff\" fill-opacity=\"0.85\"/>",
        WIDTH - 262.0,
        70 + 15 * lines
    )?;
    let mut told = vec!["true north: up, whole".to_owned()];
    arrow(Angle::degrees(0.0), 58.0, "stroke-width=\"2.2\"", out)?;
    if let Some((angle, day)) = &norths.magnetic {
        arrow(*angle, 44.0, "stroke-width=\"1.6\" stroke-dasharray=\"6 3\"", out)?;
        told.push(format!("magnetic {}{day}, dashed", north::in_words(*angle)));
    }
    if let Some((angle, name)) = &norths.grid {
        arrow(*angle, 30.0, "stroke-width=\"1.6\" stroke-dasharray=\"1.5 3\"", out)?;
        told.push(format!("grid ({name}) {}, dotted", north::in_words(*angle)));
    }
    for (i, line) in told.iter().enumerate() {
        let text = escaped(line);
        writeln!(
            out,
            "<text x=\"{}\" y=\"{}\" font-size=\"13\" text-anchor=\"end\">{text}</text>",
            WIDTH - 8.0,
            84 + 15 * i
        )?;
    }
    Ok(())
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
        let fit = fit(&Problem { bearings: &bearings, ..Problem::default() }, &Options::default()).unwrap();
        report::answer(fit, report::Notes { bearings, ..report::Notes::default() })
    }

    #[test]
    fn names_from_the_notes_cannot_break_the_drawing() {
        let svg = drawing(&small_answer(), &Background::default());
        assert!(svg.contains("&lt;a&gt;") && !svg.contains("<a>"));
        assert_eq!(svg.matches("<circle").count(), 2);
        assert!(svg.trim_end().ends_with("</svg>"));
    }

    /// Grid north by the spherical rule, convergence = (longitude − meridian) sin(latitude), which the ellipsoid changes by less than
    /// a hundredth of a degree here: 8° lies on 3° − 9° = −1° from the meridian of zone 32.
    #[test]
    fn the_drawing_has_its_norths_and_the_regions_their_own_rims() {
        let answer = small_answer();
        let Norths { magnetic, grid } = Norths::of(&answer);
        assert_eq!(magnetic, None);
        let (angle, zone) = grid.unwrap();
        let place = answer.fit.quoted();
        let expected = (place.lon_degrees() - 9.0) * place.lat_degrees().to_radians().sin();
        assert!((angle.to_degrees() - expected).abs() < 0.01 && zone == "UTM 32", "{angle:?} {expected}");
        let svg = drawing(&answer, &Background::default());
        assert!(SHADES.iter().all(|(shade, rim)| svg.contains(shade) && svg.contains(rim)));
    }

    #[test]
    fn a_scale_bar_is_a_round_length() {
        for (length, bar) in [(1.0, 1.0), (199.0, 100.0), (200.0, 200.0), (730.0, 500.0), (9_999.0, 5_000.0)]
        {
            assert!((round_length(length) - bar).abs() < 1e-9);
        }
    }
}
