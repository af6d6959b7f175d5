//! The record as one page of HTML: no scripts, nothing from a network, the same bytes for the same content. It is made to be
//! printed, in black and white too.

mod field_sheet;
mod figures;
mod form;
mod html;
mod parts;
mod past;

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

use html::{escaped, heading};

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
            "Form for sharing: places are rounded to a thousandth of a degree (111 m or less), and maps, remarks, notes, devices and \
             what findings quote are left out. The full form stays with those who work on the case."
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

/// Figures are at most as wide as the text of A4 and Letter; rows of tables do not break across pages.
const STYLE: &str = "\
@page{size:auto;margin:18mm}\
body{font:15px/1.45 system-ui,sans-serif;color:#111;background:#fff;max-width:52rem;margin:0 auto;padding:1rem}\
h1{font-size:1.6rem;margin:.2rem 0}h2{font-size:1.15rem;margin:1.6rem 0 .4rem;border-bottom:1.5px solid #111;break-after:avoid}\
table{border-collapse:collapse;width:100%;font-size:.86rem}\
th,td{border:1px solid #777;padding:.2rem .35rem;text-align:left;vertical-align:top;overflow-wrap:break-word}\
th{background:#eee}td.n,th.n{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}td.w{overflow-wrap:anywhere}\
tr,figure{break-inside:avoid}figure{margin:.6rem 0}figure svg{width:100%;height:auto;border:1px solid #777;box-sizing:border-box}\
figcaption{font-size:.86rem}.first{font-size:1.1rem;border:2px solid #111;padding:.6rem .8rem}\
.i{position:relative;overflow:hidden}.i::after{content:\"INDICATIVE\";position:absolute;inset:0;display:flex;align-items:center;\
justify-content:center;font-size:6rem;font-weight:700;color:rgba(0,0,0,.13);transform:rotate(-24deg);pointer-events:none}\
.small{font-size:.86rem}code{overflow-wrap:anywhere}.t{white-space:nowrap}\
@media print{body{font-size:10.5pt;padding:0;max-width:none}h1{font-size:15pt}figure svg{width:auto;max-width:100%;max-height:112mm;display:block;margin:0 auto}}";

/// The end of every page.
const FOOT: &str = "</main>\n</body>\n</html>\n";

/// The beginning of a page, down to its title.
fn head(title: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width,initial-scale=1\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; \
         style-src 'unsafe-inline'\">\n<title>{0}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{0}</h1>\n",
        escaped(title)
    )
}

/// The page.
pub fn page(content: &Content) -> String {
    let title = content.case.map_or("Where an emitter is to be searched", |c| c.manifest.title.as_str());
    let mut out = head(title);
    parts::summary(content, &mut out);
    html::paragraph(&mut out, form_in_words(content));
    if let Some(case) = content.case {
        past::complaint(&case, &mut out);
    }
    parts::map(content, &mut out);
    parts::method(content, &mut out);
    parts::norths(content, &mut out);
    parts::observations(content, &mut out);
    parts::misses(content, &mut out);
    parts::levels(content, &mut out);
    if let Some(case) = content.case {
        field_sheet::of_case(&case, content.form, &mut out);
    }
    parts::uncertainty(content, &mut out);
    parts::changes(content, &mut out);
    form::lines(content, &mut out);
    parts::cautions(content, &mut out);
    if let Some(case) = content.case {
        past::closures(&case, content.form, &mut out);
        past::log(&case, content.form, &mut out);
    }
    again(&content.made, &mut out);
    out += FOOT;
    out
}

/// Files with their hashes, and the line that computes the same.
fn again(made: &Made, out: &mut String) {
    heading(out, "To compute this again");
    *out += &format!(
        "<p>azimark {}: <code>azimark {}</code>. The same files give the same answer to the last digit; nothing in it depends on \
         chance.</p>\n",
        escaped(&made.version),
        escaped(&made.command)
    );
    let rows: Vec<Vec<String>> =
        made.inputs.iter().map(|(name, sha)| vec![escaped(name), format!("<code>{sha}</code>")]).collect();
    html::table(out, &["file", "SHA-256"], &[], &rows);
}

#[cfg(test)]
mod tests;
