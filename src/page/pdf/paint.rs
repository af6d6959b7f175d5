//! Pages written down as PDF.

use krilla::{
    Document as File, SerializeSettings,
    color::luma,
    configure::{Accessibility, ConfigurationBuilder},
    destination::XyzDestination,
    geom::{PathBuilder, Point, Rect, Transform},
    metadata::Metadata,
    num::NormalizedF32,
    outline::{Outline, OutlineNode},
    page::PageSettings,
    paint::{Fill, Stroke},
    surface::Surface,
    tagging::{Artifact, ArtifactType, ContentTag, Identifier, SpanTag},
};

use crate::page::{
    document::{Block, Document},
    pdf::{
        Paper, drawing,
        flow::{Laid, MARGIN, SMALL, Spot, What},
        letters::{Face, Letters},
    },
};

/// Black that prints black.
const INK: u8 = 0x11;

/// The file.
pub fn painted(
    document: &Document,
    laid: &Laid,
    letters: &Letters,
    paper: Paper,
    unset: &mut Vec<String>,
) -> Result<Vec<u8>, String> {
    let configuration = ConfigurationBuilder::new()
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|e| format!("the PDF cannot be set up: {e:?}"))?;
    let settings = SerializeSettings { configuration, enable_tagging: true, ..SerializeSettings::default() };
    let mut file = File::new_with(settings);
    let (width, height) = paper.points();
    let mut marks: Vec<Vec<Identifier>> = vec![Vec::new(); laid.structure.len()];
    for (number, spots) in laid.pages.iter().enumerate() {
        let size = PageSettings::from_wh(width, height).ok_or("the size of the paper is not a size")?;
        let mut page = file.start_page_with(size);
        let mut surface = page.surface();
        let mut brush = Brush { surface: &mut surface, letters, document, unset: &mut *unset };
        brush.head(&format!("{} · page {} of {}", document.form, number + 1, laid.pages.len()), width);
        brush.spots(spots, &mut marks);
        surface.finish();
        page.finish();
    }
    let mut outline = Outline::new();
    for (text, page, y) in &laid.headings {
        let place = XyzDestination::new(*page, Point::from_xy(MARGIN, *y));
        outline.push_child(OutlineNode::new(text.clone(), place));
    }
    file.set_outline(outline);
    file.set_tag_tree(laid.structure.tree(&marks));
    let made_by = format!("azimark {}", env!("CARGO_PKG_VERSION"));
    let about = Metadata::new().title(document.title.clone()).language("en".to_owned()).creator(made_by);
    file.set_metadata(about);
    file.finish().map_err(|e| format!("the PDF cannot be written: {e:?}"))
}

/// A fill of one shade.
pub fn shade(grey: u8) -> Fill {
    Fill { paint: luma::Color::new(grey).into(), opacity: NormalizedF32::ONE, ..Fill::default() }
}

struct Brush<'a, 's> {
    surface: &'a mut Surface<'s>,
    letters: &'a Letters,
    document: &'a Document,
    unset: &'a mut Vec<String>,
}

impl Brush<'_, '_> {
    /// The running head: what the case is called, and where in which form one is.
    fn head(&mut self, right: &str, width: f32) {
        let tag = ContentTag::Artifact(Artifact::with_kind(ArtifactType::Header));
        self.surface.start_tagged(tag);
        let wide = self.letters.width(Face::Plain, SMALL, right);
        let room = width - 2.0 * MARGIN - wide - 20.0;
        let title = self.shortened(&self.document.title, room);
        self.text(MARGIN, 44.0, Face::Plain, SMALL, &title);
        self.text(width - MARGIN - wide, 44.0, Face::Plain, SMALL, right);
        self.rule(MARGIN, 49.0, width - 2.0 * MARGIN, 0.4);
        self.surface.end_tagged();
    }

    /// A text cut to a width.
    fn shortened(&self, text: &str, room: f32) -> String {
        if self.letters.width(Face::Plain, SMALL, text) <= room {
            return text.to_owned();
        }
        let mut left = room - self.letters.width(Face::Plain, SMALL, "…");
        let fits = |c: &char| {
            left -= SMALL * self.letters.advance(Face::Plain, *c);
            left >= 0.0
        };
        text.chars().take_while(fits).collect::<String>() + "…"
    }

    /// Everything on a page; neighbours of one part share a mark.
    fn spots(&mut self, spots: &[Spot], marks: &mut [Vec<Identifier>]) {
        for run in spots.chunk_by(|a, b| a.part == b.part) {
            let tag = match (run[0].part, &run[0].what) {
                (None, _) => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
                (_, What::Text(..)) => ContentTag::Span(SpanTag::empty()),
                _ => ContentTag::Other,
            };
            let mark = self.surface.start_tagged(tag);
            run.iter().for_each(|spot| self.spot(spot));
            self.surface.end_tagged();
            if let Some(part) = run[0].part {
                marks[part].push(mark);
            }
        }
    }

    fn spot(&mut self, spot: &Spot) {
        let (x, y) = (spot.x, spot.y);
        match &spot.what {
            What::Text(face, size, text) => self.text(x, y, *face, *size, text),
            What::Area(w, h, grey) => self.area(x, y, *w, *h, *grey),
            What::Rim(w, h, line) => self.rim(x, y, *w, *h, *line),
            What::Rule(w, line) => self.rule(x, y, *w, *line),
            What::Drawing(block, w, h) => {
                let Some(Block::Figure(figure)) = self.document.blocks.get(*block) else { return };
                self.surface.push_transform(&Transform::from_translate(x, y));
                drawing::draw(&figure.svg, (*w, *h), self.surface, self.letters, self.unset);
                self.surface.pop();
            }
        }
    }

    fn text(&mut self, x: f32, y: f32, face: Face, size: f32, text: &str) {
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(shade(INK)));
        let glyphs = self.letters.glyphs(face, text);
        self.surface.draw_glyphs(Point::from_xy(x, y), &glyphs, self.letters.font(face), text, size, false);
    }

    fn area(&mut self, x: f32, y: f32, w: f32, h: f32, grey: u8) {
        self.surface.set_stroke(None);
        self.surface.set_fill(Some(shade(grey)));
        self.rect(x, y, w, h);
    }

    fn rim(&mut self, x: f32, y: f32, w: f32, h: f32, line: f32) {
        self.surface.set_fill(None);
        self.surface.set_stroke(Some(Stroke {
            paint: luma::Color::new(INK).into(),
            width: line,
            ..Stroke::default()
        }));
        self.rect(x, y, w, h);
    }

    fn rule(&mut self, x: f32, y: f32, w: f32, line: f32) {
        self.area(x, y - 0.5 * line, w, line, INK);
    }

    fn rect(&mut self, x: f32, y: f32, w: f32, h: f32) {
        let mut path = PathBuilder::new();
        if let Some(rect) = Rect::from_xywh(x, y, w, h) {
            path.push_rect(rect);
        }
        if let Some(path) = path.finish() {
            self.surface.draw_path(&path);
        }
    }
}
