//! The record as a report, in one of two forms, with the same bytes for the same content: `document` says what stands in it,
//! and a writer for each kind of file sets it.

mod document;
mod figures;
mod form;
mod html;
mod parts;
mod past;
#[cfg(feature = "pdf")]
mod pdf;

use crate::{
    case::{Digest, Entry, Manifest},
    export::Background,
    geodesy::Place,
    report::{Answer, place},
    solve::Overturn,
    units::Metres,
};

use document::{Document, code, words};
#[cfg(feature = "pdf")]
pub use pdf::{Paper, Pdf};

/// Everything that a page tells.
pub struct Content<'a> {
    /// The answer.
    pub answer: &'a Answer,
    /// Answers with something else taken for granted.
    pub overturn: Option<&'a Overturn>,
    /// Streets and outlines to draw on.
    pub background: &'a Background,
    /// How to compute the same again.
    pub made: Made,
    /// The case that it belongs to.
    pub case: Option<Past<'a>>,
    /// Whom it is for.
    pub form: Form,
}

/// Whom a page is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Those who work on the case: everything.
    Full,
    /// Others: places to a thousandth of a degree (111 m or less), and neither maps, remarks, notes nor devices.
    Shared,
}

/// Places of the shared form are written as if they were known no better than this, which leaves three decimals of a degree.
const SHARED_WITHIN: Metres = Metres::new(1_000.0);

impl Content<'_> {
    /// Whether it goes to others.
    fn shared(&self) -> bool {
        self.form == Form::Shared
    }

    /// A place with the digits that it deserves and the form allows.
    fn place(&self, at: Place, within: Metres) -> String {
        place(at, if self.shared() { SHARED_WITHIN } else { within })
    }

    /// A text of the answer, with the places in it as the form allows.
    fn allowed(&self, text: &str) -> String {
        let answer = self.answer;
        let places = answer.fit.modes().iter().map(|m| m.place).chain([answer.fit.quoted()]);
        places.fold(text.to_owned(), |text, at| {
            text.replace(&place(at, answer.deserved()), &self.place(at, answer.deserved()))
        })
    }
}

/// Which form it is.
fn form_in_words(content: &Content) -> &'static str {
    match content.form {
        Form::Full => {
            "Full form: exact places, remarks and devices are in it. azimark report --share makes one to pass on."
        }
        Form::Shared => {
            "Form for sharing: places are rounded to a thousandth of a degree (111 m or less), and maps, remarks, notes, devices and \
             what findings quote are left out. The full form stays with those who work on the case."
        }
    }
}

/// How to compute the same again.
#[derive(Clone, Debug, Default)]
pub struct Made {
    /// Version of the program.
    pub version: String,
    /// The command, without the program's name.
    pub command: String,
    /// Files that were read, with their hashes.
    pub inputs: Vec<(String, Digest)>,
}

/// What the case says of itself.
#[derive(Clone, Copy)]
pub struct Past<'a> {
    /// What it is about.
    pub manifest: &'a Manifest,
    /// What happened to it.
    pub entries: &'a [Entry],
}

/// What the report says.
fn document(content: &Content) -> Document {
    let title = content.case.map_or("Where an emitter is to be searched", |c| c.manifest.title.as_str());
    let form = if content.shared() { "form for sharing" } else { "full form" };
    let mut out = Document::new(title, form);
    parts::summary(content, &mut out);
    out.paragraph(form_in_words(content));
    if let Some(case) = content.case {
        past::complaint(&case, &mut out);
    }
    parts::map(content, &mut out);
    parts::method(content, &mut out);
    parts::norths(content, &mut out);
    parts::observations(content, &mut out);
    parts::misses(content, &mut out);
    parts::levels(content, &mut out);
    parts::uncertainty(content, &mut out);
    parts::changes(content, &mut out);
    form::lines(content, &mut out);
    parts::cautions(content, &mut out);
    if let Some(case) = content.case {
        past::log(&case, content.form, &mut out);
    }
    again(&content.made, &mut out);
    out
}

/// The report as a page of HTML.
pub fn page(content: &Content) -> String {
    html::page(&document(content))
}

/// The report as a tagged PDF.
#[cfg(feature = "pdf")]
pub fn pdf(content: &Content, paper: Paper) -> Result<Pdf, String> {
    pdf::written(document(content), paper)
}

/// Files with their hashes, and the line that computes the same.
fn again(made: &Made, out: &mut Document) {
    out.heading("To compute this again");
    out.runs(vec![
        words(format!("azimark {}: ", made.version)),
        code(format!("azimark {}", made.command)),
        words(". The same files give the same answer to the last digit; nothing in it depends on chance."),
    ]);
    let rows = made.inputs.iter().map(|(name, sha)| vec![words(name), code(sha.to_string())]).collect();
    out.table(&["file", "SHA-256"], &[], rows);
}

#[cfg(test)]
mod tests;
