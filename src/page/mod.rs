//! The record as a report, in one of two forms, with the same bytes for the same content: `document` says what stands in it,
//! and a writer for each kind of file sets it.

mod document;
mod evidence;
mod field_sheet;
mod figures;
mod form;
mod html;
mod parts;
mod past;
#[cfg(feature = "pdf")]
mod pdf;
mod timeline;

use crate::{
    case::{Entry, Manifest},
    export::Background,
    geodesy::Place,
    report::Answer,
    solve::Overturn,
    units::Metres,
};

pub use crate::report::{Form, Made};
pub use field_sheet::field_page;

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

impl Content<'_> {
    /// Whether it goes to others.
    fn shared(&self) -> bool {
        self.form.shared()
    }

    /// A place with the digits that it deserves and the form allows.
    fn place(&self, at: Place, within: Metres) -> String {
        self.form.place(at, within)
    }

    /// A text of the answer, with the places in it as the form allows.
    fn allowed(&self, text: &str) -> String {
        self.form.allowed(self.answer, text)
    }
}

/// Which form it is.
fn form_in_words(content: &Content) -> &'static str {
    match content.form {
        Form::Full => {
            "Full form: exact places, remarks and devices are in it. azimark report --share makes one to pass on."
        }
        Form::Shared => {
            "Form for sharing: places are rounded to a thousandth of a degree (111 m or less), and maps, swings, remarks, notes, \
             devices and what findings quote are left out. The full form stays with those who work on the case."
        }
    }
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
        evidence::own_system(content, &case, &mut out);
    }
    parts::map(content, &mut out);
    parts::cautions(content, &mut out);
    parts::method(content, &mut out);
    parts::norths(content, &mut out);
    parts::observations(content, &mut out);
    parts::misses(content, &mut out);
    evidence::swings(content, &mut out);
    parts::levels(content, &mut out);
    timeline::observations(content, &mut out);
    if let Some(case) = content.case {
        evidence::on_and_off(&case, content.form, &mut out);
    }
    if let Some(case) = content.case {
        field_sheet::of_case(&case, content.form, &mut out);
    }
    parts::uncertainty(content, &mut out);
    parts::changes(content, &mut out);
    form::notice(content, &mut out);
    form::lines(content, &mut out);
    if let Some(case) = content.case {
        past::closures(&case, content.form, &mut out);
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
