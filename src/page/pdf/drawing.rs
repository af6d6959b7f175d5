//! Drawings: the part of SVG in which this program draws, put on a page as outlines and as text that stays text.
//!
//! What is not known is told, never left out in silence.

use std::collections::BTreeMap;

use krilla::{
    color::rgb,
    geom::{Path, PathBuilder, Point, Rect, Transform},
    num::NormalizedF32,
    paint::{Fill, FillRule, LineCap, LineJoin, Stroke, StrokeDash},
    surface::Surface,
};
use quick_xml::{
    Reader, XmlVersion,
    events::{BytesStart, Event},
};

use crate::page::pdf::{
    letters::{Face, Letters},
    path::{circle, numbers, path},
};

/// Attributes of an element.
type Given = BTreeMap<String, String>;

/// Width and height of a drawing in its own units.
pub fn size(svg: &str) -> Option<(f32, f32)> {
    let mut reader = Reader::from_str(svg);
    loop {
        match reader.read_event().ok()? {
            Event::Start(e) if e.name().as_ref() == "svg" => {
                let numbers = numbers(given(&e).get("viewBox")?)?;
                return match numbers[..] {
                    [_, _, w, h] if w > 0.0 && h > 0.0 => Some((w, h)),
                    _ => None,
                };
            }
            Event::Eof => return None,
            _ => {}
        }
    }
}

/// Draws into a rectangle of a width and a height in points, from the origin; what is not known goes to `unset`, once each.
pub fn draw(svg: &str, to: (f32, f32), surface: &mut Surface, letters: &Letters, unset: &mut Vec<String>) {
    let Some(whole) = size(svg) else {
        tell(unset, "a drawing without a size");
        return;
    };
    surface.push_transform(&Transform::from_scale(to.0 / whole.0, to.1 / whole.1));
    let edge = Rect::from_xywh(0.0, 0.0, whole.0, whole.1).and_then(around);
    if let Some(edge) = &edge {
        surface.push_clip_path(edge, &FillRule::NonZero);
    }
    let mut hand = Hand { whole, surface: &mut *surface, letters, unset, clips: BTreeMap::new(), clip: None };
    hand.all(svg);
    edge.iter().for_each(|_| surface.pop());
    surface.pop();
}

fn tell(unset: &mut Vec<String>, what: &str) {
    let told = format!("the PDF form does not know {what} of a drawing");
    if !unset.contains(&told) {
        unset.push(told);
    }
}

fn given(element: &BytesStart) -> Given {
    let mut pairs = element.attributes();
    let read = |a: quick_xml::events::attributes::Attribute| {
        let value = a.normalized_value(XmlVersion::Implicit1_0).map_or(String::new(), |v| v.into_owned());
        (a.key.as_ref().to_owned(), value)
    };
    pairs.with_checks(false).flatten().map(read).collect()
}

/// How things are drawn; elements hand it down to those within.
#[derive(Clone)]
struct Style {
    fill: Option<[u8; 3]>,
    fill_opacity: f32,
    rule: FillRule,
    stroke: Option<[u8; 3]>,
    stroke_opacity: f32,
    width: f32,
    dash: Vec<f32>,
    cap: LineCap,
    join: LineJoin,
    size: f32,
    face: Face,
    anchor: f32,
    halo: bool,
}

impl Style {
    /// What SVG begins with.
    fn new() -> Self {
        Self {
            fill: Some([0; 3]),
            fill_opacity: 1.0,
            rule: FillRule::NonZero,
            stroke: None,
            stroke_opacity: 1.0,
            width: 1.0,
            dash: Vec::new(),
            cap: LineCap::Butt,
            join: LineJoin::Miter,
            size: 16.0,
            face: Face::Plain,
            anchor: 0.0,
            halo: false,
        }
    }

    fn fill(&self) -> Option<Fill> {
        let [r, g, b] = self.fill?;
        let opacity = NormalizedF32::new(self.fill_opacity).unwrap_or(NormalizedF32::ONE);
        Some(Fill { paint: rgb::Color::new(r, g, b).into(), opacity, rule: self.rule })
    }

    fn stroke(&self) -> Option<Stroke> {
        let [r, g, b] = self.stroke?;
        let dash = (!self.dash.is_empty()).then(|| StrokeDash { array: self.dash.clone(), offset: 0.0 });
        Some(Stroke {
            paint: rgb::Color::new(r, g, b).into(),
            width: self.width,
            line_cap: self.cap,
            line_join: self.join,
            opacity: NormalizedF32::new(self.stroke_opacity).unwrap_or(NormalizedF32::ONE),
            dash,
            ..Stroke::default()
        })
    }

    /// Takes an attribute; `false` where it or its value is not known.
    fn take(&mut self, name: &str, value: &str) -> bool {
        let number = value.trim_end_matches("px").parse::<f32>().ok().filter(|n| n.is_finite());
        match (name, value, number) {
            ("fill", _, _) => return colour(value).map(|c| self.fill = c).is_some(),
            ("stroke", _, _) => return colour(value).map(|c| self.stroke = c).is_some(),
            ("fill-opacity", _, Some(n)) => self.fill_opacity = n,
            ("stroke-opacity", _, Some(n)) => self.stroke_opacity = n,
            ("opacity", _, Some(n)) => (self.fill_opacity, self.stroke_opacity) = (n, n),
            ("stroke-width", _, Some(n)) => self.width = n,
            ("font-size", _, Some(n)) => self.size = n,
            ("fill-rule", "evenodd", _) => self.rule = FillRule::EvenOdd,
            ("stroke-dasharray", "none", _) => self.dash.clear(),
            ("stroke-dasharray", _, _) => return numbers(value).map(|n| self.dash = n).is_some(),
            ("stroke-linecap", "round", _) => self.cap = LineCap::Round,
            ("stroke-linecap", "square", _) => self.cap = LineCap::Square,
            ("stroke-linejoin", "round", _) => self.join = LineJoin::Round,
            ("font-weight", "bold", _) => self.face = Face::Bold,
            ("font-weight", "normal", _) => self.face = Face::Plain,
            ("font-family", "sans-serif", _) => {}
            ("text-anchor", "start", _) => self.anchor = 0.0,
            ("text-anchor", "middle", _) => self.anchor = 0.5,
            ("text-anchor", "end", _) => self.anchor = 1.0,
            ("paint-order", "stroke", _) => self.halo = true,
            _ => return false,
        }
        true
    }
}

/// A colour or `none`; the outer `None` for what is not known.
fn colour(value: &str) -> Option<Option<[u8; 3]>> {
    let hex = match value {
        "none" => return Some(None),
        "black" => "000",
        "white" => "fff",
        _ => value.strip_prefix('#')?,
    };
    let digits: Option<Vec<u8>> = hex.chars().map(|c| c.to_digit(16).map(|d| d as u8)).collect();
    match digits?[..] {
        [r, g, b] => Some(Some([17 * r, 17 * g, 17 * b])),
        [a, b, c, d, e, f] => Some(Some([16 * a + b, 16 * c + d, 16 * e + f])),
        _ => None,
    }
}

struct Hand<'a, 's> {
    whole: (f32, f32),
    surface: &'a mut Surface<'s>,
    letters: &'a Letters,
    unset: &'a mut Vec<String>,
    clips: BTreeMap<String, Rect>,
    /// The clip that is being defined.
    clip: Option<String>,
}

/// An element that is open.
struct Open {
    style: Style,
    /// What was pushed on the surface for it.
    pushed: usize,
    /// Where its text begins, for text.
    text: Option<(f32, f32)>,
    /// Whether what is within is words about the drawing.
    about: bool,
}

impl Hand<'_, '_> {
    fn all(&mut self, svg: &str) {
        let mut reader = Reader::from_str(svg);
        let mut open = vec![Open { style: Style::new(), pushed: 0, text: None, about: false }];
        let mut words = String::new();
        loop {
            match reader.read_event() {
                Ok(Event::Start(e)) => {
                    words.clear();
                    let inner = self.begin(&e, &open[open.len() - 1].style);
                    open.push(inner);
                }
                Ok(Event::Empty(e)) => {
                    let inner = self.begin(&e, &open[open.len() - 1].style);
                    (0..inner.pushed).for_each(|_| self.surface.pop());
                }
                Ok(Event::Text(t)) => words += &t.xml_content(XmlVersion::Implicit1_0),
                Ok(Event::GeneralRef(r)) => words.push(named(&r)),
                Ok(Event::End(e)) if open.len() > 1 => {
                    if e.name().as_ref() == "clipPath" {
                        self.clip = None;
                    }
                    if let Some(inner) = open.pop() {
                        if let Some(at) = inner.text.filter(|_| !inner.about) {
                            self.words(&words, at, &inner.style);
                        }
                        (0..inner.pushed).for_each(|_| self.surface.pop());
                    }
                    words.clear();
                }
                Ok(Event::Eof) => break,
                Err(_) => {
                    tell(self.unset, "the markup");
                    break;
                }
                Ok(_) => {}
            }
        }
        open.iter().for_each(|o| (0..o.pushed).for_each(|_| self.surface.pop()));
    }

    /// Takes an element's attributes and draws it, unless it is text.
    fn begin(&mut self, element: &BytesStart, above: &Style) -> Open {
        let name = element.name().as_ref().to_owned();
        let given = given(element);
        let mut open = Open { style: above.clone(), pushed: 0, text: None, about: false };
        for (key, value) in &given {
            let own = matches!(
                key.as_str(),
                "xmlns"
                    | "viewBox"
                    | "width"
                    | "height"
                    | "x"
                    | "y"
                    | "cx"
                    | "cy"
                    | "r"
                    | "d"
                    | "id"
                    | "role"
                    | "class"
                    | "x1"
                    | "y1"
                    | "x2"
                    | "y2"
                    | "points"
            ) || key.starts_with("aria-");
            let done = match key.as_str() {
                "transform" => self.transform(value, &mut open.pushed),
                "clip-path" => self.clipped(value, &mut open.pushed),
                _ => own || open.style.take(key, value),
            };
            if !done {
                tell(self.unset, &format!("{key}=\"{value}\""));
            }
        }
        self.element(&name, &given, &mut open);
        open
    }

    fn element(&mut self, name: &str, given: &Given, open: &mut Open) {
        let number = |key: &str| given.get(key).and_then(|v| v.parse::<f32>().ok()).unwrap_or(0.0);
        let part = |key: &str, whole: f32| match given.get(key).map(String::as_str) {
            Some("100%") => whole,
            _ => number(key),
        };
        let outline = match name {
            "svg" | "g" | "defs" => None,
            "title" | "desc" => {
                open.about = true;
                None
            }
            "clipPath" => {
                self.clip = given.get("id").cloned();
                None
            }
            "text" => {
                open.text = Some((number("x"), number("y")));
                None
            }
            "rect" => {
                let (w, h) = (part("width", self.whole.0), part("height", self.whole.1));
                let rect = Rect::from_xywh(number("x"), number("y"), w, h);
                if let (Some(id), Some(rect)) = (&self.clip, rect) {
                    self.clips.insert(id.clone(), rect);
                    return;
                }
                rect.and_then(around)
            }
            "circle" => circle(number("cx"), number("cy"), number("r")),
            "line" => path(&format!("M{} {}L{} {}", number("x1"), number("y1"), number("x2"), number("y2")))
                .ok()
                .flatten(),
            "path" => match path(given.get("d").map_or("", String::as_str)) {
                Ok(outline) => outline,
                Err(what) => {
                    tell(self.unset, &what);
                    None
                }
            },
            other => {
                tell(self.unset, &format!("<{other}>"));
                None
            }
        };
        if let Some(outline) = outline {
            self.outline(&outline, &open.style);
        }
    }

    fn outline(&mut self, outline: &Path, style: &Style) {
        let (fill, stroke) = (style.fill(), style.stroke());
        if fill.is_none() && stroke.is_none() {
            return;
        }
        self.surface.set_fill(fill);
        self.surface.set_stroke(stroke);
        self.surface.draw_path(outline);
    }

    /// Moves and turns, in the order of SVG.
    fn transform(&mut self, value: &str, pushed: &mut usize) -> bool {
        for part in value.split_inclusive(')') {
            let Some((name, inner)) = part.trim().trim_end_matches(')').split_once('(') else { return false };
            let to = match (name, numbers(inner).as_deref()) {
                ("translate", Some([x, y])) => Transform::from_translate(*x, *y),
                ("rotate", Some([angle])) => Transform::from_rotate(*angle),
                _ => return false,
            };
            self.surface.push_transform(&to);
            *pushed += 1;
        }
        true
    }

    fn clipped(&mut self, value: &str, pushed: &mut usize) -> bool {
        let id = value.strip_prefix("url(#").and_then(|v| v.strip_suffix(')'));
        let Some(outline) = id.and_then(|id| self.clips.get(id)).and_then(|r| around(*r)) else {
            return false;
        };
        self.surface.push_clip_path(&outline, &FillRule::NonZero);
        *pushed += 1;
        true
    }

    fn words(&mut self, words: &str, (x, y): (f32, f32), style: &Style) {
        let text: String = words.split_whitespace().collect::<Vec<_>>().join(" ");
        let start = x - style.anchor * self.letters.width(style.face, style.size, &text);
        let glyphs = self.letters.glyphs(style.face, &text);
        let font = self.letters.font(style.face);
        let at = Point::from_xy(start, y);
        if style.halo {
            self.surface.set_fill(None);
            self.surface.set_stroke(style.stroke());
            self.surface.draw_glyphs(at, &glyphs, font.clone(), &text, style.size, true);
        }
        self.surface.set_stroke(None);
        self.surface.set_fill(style.fill());
        self.surface.draw_glyphs(at, &glyphs, font, &text, style.size, false);
    }
}

fn around(rect: Rect) -> Option<Path> {
    let mut out = PathBuilder::new();
    out.push_rect(rect);
    out.finish()
}

/// The sign that a reference of XML names.
fn named(reference: &str) -> char {
    match reference {
        "amp" => '&',
        "lt" => '<',
        "gt" => '>',
        "quot" => '"',
        "apos" => '\'',
        other => {
            let code = other.strip_prefix('#').and_then(|n| match n.strip_prefix('x') {
                Some(hex) => u32::from_str_radix(hex, 16).ok(),
                None => n.parse().ok(),
            });
            code.and_then(char::from_u32).unwrap_or('\u{fffd}')
        }
    }
}
