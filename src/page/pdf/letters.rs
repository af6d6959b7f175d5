//! The typeface: DejaVu Sans Condensed, which has every sign that a report uses, and its fixed sister for hashes.

use krilla::text::{Font, GlyphId, KrillaGlyph};
use skrifa::{FontRef, MetadataProvider, charmap::Charmap, instance::Size, metrics::GlyphMetrics};

use crate::page::document::Set;

/// A cut of the typeface.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// For text.
    Plain,
    /// For headings.
    Bold,
    /// With signs of one width.
    Fixed,
}

impl Face {
    /// The cut for a stretch.
    pub fn of(set: Set) -> Self {
        match set {
            Set::Words | Set::Unbroken => Self::Plain,
            Set::Code => Self::Fixed,
        }
    }
}

/// The three cuts.
pub struct Letters {
    cuts: [Cut; 3],
}

struct Cut {
    font: Font,
    map: Charmap<'static>,
    metrics: GlyphMetrics<'static>,
}

impl Cut {
    fn new(data: &'static [u8]) -> Option<Self> {
        let read = FontRef::new(data).ok()?;
        let metrics = read.glyph_metrics(Size::new(1.0), skrifa::instance::LocationRef::default());
        Some(Self { font: Font::new(data.into(), 0)?, map: read.charmap(), metrics })
    }
}

impl Letters {
    /// Reads the fonts; `None` where they are damaged.
    pub fn new() -> Option<Self> {
        let plain = Cut::new(dejavu::sans_condensed::regular())?;
        let bold = Cut::new(dejavu::sans_condensed::bold())?;
        Some(Self { cuts: [plain, bold, Cut::new(dejavu::sans_mono::regular())?] })
    }

    fn cut(&self, face: Face) -> &Cut {
        match face {
            Face::Plain => &self.cuts[0],
            Face::Bold => &self.cuts[1],
            Face::Fixed => &self.cuts[2],
        }
    }

    /// The font, for the writer.
    pub fn font(&self, face: Face) -> Font {
        self.cut(face).font.clone()
    }

    /// Puts U+FFFD for every sign without a shape and for scripts that run from right to left, which are set here from left to
    /// right only; tells how many.
    pub fn fit(&self, text: &mut String, face: Face) -> usize {
        let map = &self.cut(face).map;
        let shown = |c: char| c == '\n' || (!from_right(c) && map.map(c).is_some_and(|g| g.to_u32() != 0));
        let strange = text.chars().filter(|c| !shown(*c)).count();
        if strange > 0 {
            *text = text.chars().map(|c| if shown(c) { c } else { '\u{fffd}' }).collect();
        }
        strange
    }

    /// Width of a sign at a size of one point.
    pub fn advance(&self, face: Face, c: char) -> f32 {
        let cut = self.cut(face);
        cut.map.map(c).and_then(|g| cut.metrics.advance_width(g)).unwrap_or(0.0)
    }

    /// Width of a text in points.
    pub fn width(&self, face: Face, size: f32, text: &str) -> f32 {
        size * text.chars().map(|c| self.advance(face, c)).sum::<f32>()
    }

    /// The shapes of a text, one for each sign.
    pub fn glyphs(&self, face: Face, text: &str) -> Vec<KrillaGlyph> {
        let cut = self.cut(face);
        let glyph = |(at, c): (usize, char)| {
            let id = cut.map.map(c).unwrap_or_default();
            let advance = cut.metrics.advance_width(id).unwrap_or(0.0);
            KrillaGlyph::new(GlyphId::new(id.to_u32()), advance, 0.0, 0.0, 0.0, at..at + c.len_utf8(), None)
        };
        text.char_indices().map(glyph).collect()
    }
}

/// Blocks of scripts that are written from right to left.
fn from_right(c: char) -> bool {
    matches!(c, '\u{590}'..='\u{8ff}' | '\u{fb1d}'..='\u{fdff}' | '\u{fe70}'..='\u{feff}' | '\u{10800}'..='\u{10fff}'
        | '\u{1e800}'..='\u{1efff}')
}
