//! A report as PDF, tagged after PDF/UA-1: text in reading order with headings, tables and words for the drawings, fonts
//! embedded, nothing from the clock or from chance.
//!
//! [`flow`] sets the blocks into pages, [`paint`] writes the pages down. The library refuses a file that breaks what
//! PDF/UA-1 lets a program check; the paragraphs cited are [`PDFUA1`](crate::sources::PDFUA1)'s.

mod drawing;
mod flow;
mod letters;
mod lines;
mod paint;
mod path;
mod table;
mod tags;

use crate::page::document::{Block, Document};
use letters::{Face, Letters};

/// Sizes of paper.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 mm by 297 mm.
    #[default]
    A4,
    /// 8.5 by 11 inches.
    Letter,
}

impl Paper {
    /// Width and height in points of 1/72 inch.
    fn points(self) -> (f32, f32) {
        match self {
            Self::A4 => (595.276, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// A report as PDF.
pub struct Pdf {
    /// The file.
    pub bytes: Vec<u8>,
    /// What could not be set, a sentence each.
    pub unset: Vec<String>,
}

/// Sets a report; an error only where the library refuses what it is given.
pub fn written(mut document: Document, paper: Paper) -> Result<Pdf, String> {
    let letters = Letters::new().ok_or("the typeface of the PDF form cannot be read")?;
    let mut unset = Vec::new();
    let strange = fit(&mut document, &letters);
    if strange > 0 {
        let told = format!(
            "{strange} signs have no shape in the typeface of this form, or belong to scripts that run from right to left; they are \
             shown as \u{fffd}. The HTML form has them."
        );
        document.paragraph(&told);
        unset.push(told);
    }
    let laid = flow::laid(&document, &letters, paper);
    let bytes = paint::painted(&document, &laid, &letters, paper, &mut unset)?;
    Ok(Pdf { bytes, unset })
}

/// Puts U+FFFD for every sign that the typeface cannot show, and counts them.
fn fit(document: &mut Document, letters: &Letters) -> usize {
    let mut strange = 0;
    let mut fit = |text: &mut String, face: Face| strange += letters.fit(text, face);
    fit(&mut document.title, Face::Bold);
    for block in &mut document.blocks {
        match block {
            Block::Heading(text) | Block::Stamp(text) => fit(text, Face::Bold),
            Block::Notice(text) => fit(text, Face::Plain),
            Block::Paragraph(runs) => runs.iter_mut().for_each(|r| fit(&mut r.text, Face::of(r.set))),
            Block::List(items) => items.iter_mut().for_each(|i| fit(i, Face::Plain)),
            Block::Table(t) => {
                t.head.iter_mut().for_each(|h| fit(h, Face::Bold));
                let cells = t.rows.iter_mut().flatten();
                cells.for_each(|c| fit(&mut c.text, Face::of(c.set)));
            }
            Block::Figure(f) => {
                fit(&mut f.svg, Face::Plain);
                fit(&mut f.caption, Face::Plain);
            }
        }
    }
    strange
}

#[cfg(test)]
mod tests;
