//! Blocks set into pages: what stands where, and which part of the structure it belongs to.

use crate::page::{
    document::{Block, Document, Figure},
    pdf::{
        Paper, drawing,
        letters::{Face, Letters},
        lines::{Line, lines},
        table,
        tags::{Kind, Part, Structure},
    },
};

/// Sizes of type in points.
pub const TEXT: f32 = 9.5;
/// Size of type in tables and below drawings.
pub const SMALL: f32 = 8.0;
const NOTICE: f32 = 11.0;
const STAMP: f32 = 30.0;
const PART: f32 = 12.5;
const TITLE: f32 = 17.0;
/// Distance of lines in sizes of type.
pub const LEADING: f32 = 1.36;
/// Edge of the paper that stays empty: 18 mm, where printers reach and holes are punched.
pub const MARGIN: f32 = 51.0;
/// Where the text of a page begins; the running head stands above.
const TOP: f32 = 64.0;
const BOTTOM: f32 = 45.0;
/// Drawings are at most 105 mm high, so that two stand on a page with their words.
const HIGHEST: f32 = 298.0;
/// What a heading needs below it: no heading stands last on a page.
const BELOW: f32 = 60.0;
/// The same for the words below a drawing: two lines.
const CAPTION: f32 = 26.0;

/// Something at a place on a page, in points from the upper left corner.
pub struct Spot {
    /// Left end.
    pub x: f32,
    /// The base line of text, the upper edge of anything else.
    pub y: f32,
    /// The part that it belongs to; `None` for what is there for the eye alone.
    pub part: Option<Part>,
    /// What it is.
    pub what: What,
}

/// What stands on a page.
pub enum What {
    /// Text of one cut and size.
    Text(Face, f32, String),
    /// A grey area of a width, a height and a shade from 0 (black) to 255.
    Area(f32, f32, u8),
    /// A rim of a width and a height, with the width of its line.
    Rim(f32, f32, f32),
    /// A line across, with its length and width.
    Rule(f32, f32),
    /// The drawing of a block, by its number, with the width and the height that it takes.
    Drawing(usize, f32, f32),
}

/// A report set into pages.
pub struct Laid {
    /// What stands on each page.
    pub pages: Vec<Vec<Spot>>,
    /// The structure.
    pub structure: Structure,
    /// Headings with their pages and places.
    pub headings: Vec<(String, usize, f32)>,
}

/// Sets a report.
pub fn laid(document: &Document, letters: &Letters, paper: Paper) -> Laid {
    let (width, height) = paper.points();
    let mut flow = Flow {
        letters,
        laid: Laid { pages: vec![Vec::new()], structure: Structure::default(), headings: Vec::new() },
        left: MARGIN,
        room: width - 2.0 * MARGIN,
        bottom: height - BOTTOM,
        y: TOP,
    };
    flow.heading(1, &document.title, TITLE, 0.0);
    for (i, block) in document.blocks.iter().enumerate() {
        flow.block(i, block, document.blocks.get(i + 1));
    }
    flow.laid
}

/// The pages so far.
pub struct Flow<'a> {
    /// The typeface.
    pub letters: &'a Letters,
    /// What is set.
    pub laid: Laid,
    /// Left edge of the text.
    pub left: f32,
    /// Width of the text.
    pub room: f32,
    /// Lower edge of the text.
    bottom: f32,
    /// Where the next thing begins.
    pub y: f32,
}

impl Flow<'_> {
    /// What is left of the page.
    pub fn rest(&self) -> f32 {
        self.bottom - self.y
    }

    /// Height of the text of a page.
    pub fn whole(&self) -> f32 {
        self.bottom - TOP
    }

    /// Begins a page.
    pub fn turn(&mut self) {
        self.laid.pages.push(Vec::new());
        self.y = TOP;
    }

    /// Begins a page where less than `height` is left and the page is not new.
    pub fn need(&mut self, height: f32) {
        if self.rest() < height && self.y > TOP {
            self.turn();
        }
    }

    /// Puts something on the page.
    pub fn put(&mut self, x: f32, y: f32, part: Option<Part>, what: What) {
        if let Some(page) = self.laid.pages.last_mut() {
            page.push(Spot { x, y, part, what });
        }
    }

    /// Puts a line of text with its upper edge at `y`.
    pub fn line(&mut self, line: &Line, x: f32, y: f32, size: f32, part: Option<Part>) {
        let mut at = x;
        for (face, text) in &line.pieces {
            self.put(at, y + size * 1.02, part, What::Text(*face, size, text.clone()));
            at += self.letters.width(*face, size, text);
        }
    }

    /// Puts lines one below the other; no page begins or ends with one line of several.
    fn stack(&mut self, lines: &[Line], x: f32, size: f32, part: Part) {
        let step = size * LEADING;
        for (i, line) in lines.iter().enumerate() {
            let left = lines.len() - i;
            let together = if (i == 0 && left > 1) || left == 2 { 2.0 } else { 1.0 };
            self.need(together * step);
            self.line(line, x, self.y, size, Some(part));
            self.y += step;
        }
    }

    fn block(&mut self, number: usize, block: &Block, next: Option<&Block>) {
        match block {
            Block::Heading(text) => {
                let below = match next {
                    Some(Block::Figure(f)) => self.size(f).map_or(BELOW, |(_, h)| h + CAPTION),
                    _ => BELOW,
                };
                self.heading(2, text, PART, below);
            }
            Block::Notice(text) => self.notice(text),
            Block::Stamp(text) => self.stamp(text),
            Block::Paragraph(runs) => {
                let part = self.laid.structure.part(Kind::Paragraph, None);
                let runs: Vec<(Face, &str)> =
                    runs.iter().map(|r| (Face::of(r.set), r.text.as_str())).collect();
                let lines = lines(self.letters, &runs, TEXT, self.room);
                self.stack(&lines, self.left, TEXT, part);
                self.y += 5.0;
            }
            Block::List(items) => self.list(items),
            Block::Table(t) => table::set(self, t),
            Block::Figure(f) => self.figure(number, f),
        }
    }

    fn heading(&mut self, level: u16, text: &str, size: f32, below: f32) {
        let lines = lines(self.letters, &[(Face::Bold, text)], size, self.room);
        if self.y > TOP {
            self.y += 10.0;
        }
        let height = size * LEADING * lines.len() as f32;
        self.need((height + below).min(self.whole()));
        let part = self.laid.structure.part(Kind::Heading(level, text.to_owned()), None);
        self.laid.headings.push((text.to_owned(), self.laid.pages.len() - 1, self.y));
        self.stack(&lines, self.left, size, part);
        if level > 1 {
            self.put(self.left, self.y - 0.5, None, What::Rule(self.room, 1.0));
        }
        self.y += 5.0;
    }

    /// A frame around what must be read first; beyond a page it goes on in a further frame.
    fn notice(&mut self, text: &str) {
        const INSIDE: f32 = 7.0;
        let part = self.laid.structure.part(Kind::Paragraph, None);
        let lines = lines(self.letters, &[(Face::Plain, text)], NOTICE, self.room - 2.0 * INSIDE);
        let step = NOTICE * LEADING;
        let mut rest = lines.as_slice();
        self.need((step * rest.len() as f32 + 2.0 * INSIDE).min(self.whole()));
        while !rest.is_empty() {
            let fit = (((self.rest() - 2.0 * INSIDE) / step) as usize).clamp(1, rest.len());
            let height = step * fit as f32 + 2.0 * INSIDE;
            self.put(self.left, self.y, None, What::Rim(self.room, height, 1.5));
            for (i, line) in rest[..fit].iter().enumerate() {
                self.line(line, self.left + INSIDE, self.y + INSIDE + step * i as f32, NOTICE, Some(part));
            }
            self.y += height + 8.0;
            rest = &rest[fit..];
            if !rest.is_empty() {
                self.turn();
            }
        }
    }

    /// A word across the page between two lines.
    fn stamp(&mut self, text: &str) {
        let part = self.laid.structure.part(Kind::Paragraph, None);
        let lines = lines(self.letters, &[(Face::Bold, text)], STAMP, self.room);
        self.need(STAMP * LEADING * lines.len() as f32 + BELOW);
        self.put(self.left, self.y, None, What::Rule(self.room, 2.5));
        for line in &lines {
            let x = self.left + 0.5 * (self.room - line.width).max(0.0);
            self.line(line, x, self.y, STAMP, Some(part));
            self.y += STAMP * LEADING;
        }
        self.put(self.left, self.y, None, What::Rule(self.room, 2.5));
        self.y += 8.0;
    }

    fn list(&mut self, items: &[String]) {
        const INDENT: f32 = 12.0;
        let list = self.laid.structure.part(Kind::List, None);
        for item in items {
            let part = self.laid.structure.part(Kind::Item, Some(list));
            let lines = lines(self.letters, &[(Face::Plain, item)], TEXT, self.room - INDENT);
            self.need(TEXT * LEADING * lines.len().min(2) as f32);
            let label = self.laid.structure.part(Kind::Label, Some(part));
            let body = self.laid.structure.part(Kind::Body, Some(part));
            let bullet = Line { pieces: vec![(Face::Plain, "• ".to_owned())], width: 0.0 };
            self.line(&bullet, self.left + 2.0, self.y, TEXT, Some(label));
            self.stack(&lines, self.left + INDENT, TEXT, body);
            self.y += 1.5;
        }
        self.y += 4.0;
    }

    /// Width and height of a drawing on the page.
    fn size(&self, figure: &Figure) -> Option<(f32, f32)> {
        let (width, height) = drawing::size(&figure.svg)?;
        let scale = (self.room / width).min(HIGHEST.min(self.whole() - BELOW) / height);
        Some((width * scale, height * scale))
    }

    fn figure(&mut self, number: usize, figure: &Figure) {
        let part = self.laid.structure.part(Kind::Figure(figure.shows.clone()), None);
        let caption = self.laid.structure.part(Kind::Caption, Some(part));
        let words = lines(self.letters, &[(Face::Plain, &figure.caption)], SMALL, self.room);
        let (width, height) = self.size(figure).unwrap_or((self.room, 0.0));
        self.need((height + 4.0 + SMALL * LEADING * words.len() as f32).min(self.whole()));
        let x = self.left + 0.5 * (self.room - width);
        self.put(x, self.y, Some(part), What::Drawing(number, width, height));
        self.put(x, self.y, None, What::Rim(width, height, 0.5));
        self.y += height + 3.0;
        self.stack(&words, self.left, SMALL, caption);
        self.y += 6.0;
    }
}
