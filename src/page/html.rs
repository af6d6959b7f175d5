//! A report as one page of HTML: no scripts, nothing from a network. It is made to be printed, in black and white too.

use crate::page::document::{Block, Document, Figure, Run, Set, Table};

/// Figures are at most as wide as the text of A4 and Letter; rows of tables do not break across pages.
const STYLE: &str = "\
@page{size:auto;margin:18mm}\
body{font:15px/1.45 system-ui,sans-serif;color:#111;background:#fff;max-width:52rem;margin:0 auto;padding:1rem}\
h1{font-size:1.6rem;margin:.2rem 0}h2{font-size:1.15rem;margin:1.6rem 0 .4rem;border-bottom:1.5px solid #111;break-after:avoid}\
h1,h2,p,li{overflow-wrap:anywhere}table+table{margin-top:.6rem}\
table{border-collapse:collapse;width:100%;font-size:.86rem}\
th,td{border:1px solid #777;padding:.2rem .35rem;text-align:left;vertical-align:top;overflow-wrap:break-word}\
th{background:#eee}td.n,th.n{text-align:right;font-variant-numeric:tabular-nums;white-space:nowrap}\
tr,figure{break-inside:avoid}figure{margin:.6rem 0}figure svg{width:100%;height:auto;border:1px solid #777;box-sizing:border-box}\
figcaption{font-size:.86rem}.first{font-size:1.1rem;border:2px solid #111;padding:.6rem .8rem}\
.stamp{font-size:2.6rem;font-weight:700;letter-spacing:.35em;text-align:center;border:solid #111;border-width:3px 0;margin:.6rem 0}\
code{overflow-wrap:anywhere}.t{white-space:nowrap}\
@media print{body{font-size:10.5pt;padding:0;max-width:none}h1{font-size:15pt}figure svg{width:auto;max-width:100%;max-height:112mm;display:block;margin:0 auto}}";

/// The page.
pub fn page(document: &Document) -> String {
    let mut out = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n<meta name=\"viewport\" \
         content=\"width=device-width,initial-scale=1\">\n<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; \
         style-src 'unsafe-inline'\">\n<title>{0}, {1}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{0}</h1>\n",
        escaped(&document.title),
        document.form
    );
    for block in &document.blocks {
        match block {
            Block::Heading(text) => out += &format!("<h2>{}</h2>\n", escaped(text)),
            Block::Notice(text) => out += &format!("<p class=\"first\">{}</p>\n", escaped(text)),
            Block::Stamp(text) => out += &format!("<p class=\"stamp\">{}</p>\n", escaped(text)),
            Block::Paragraph(runs) => {
                out += &format!("<p>{}</p>\n", runs.iter().map(run).collect::<String>())
            }
            Block::List(items) => list(&mut out, items),
            Block::Table(t) => table(&mut out, t),
            Block::Figure(f) => figure(&mut out, f),
        }
    }
    out += "</main>\n</body>\n</html>\n";
    out
}

/// Text in which nothing is markup.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '"' => out += "&quot;",
            '\'' => out += "&#39;",
            c => out.push(c),
        }
    }
    out
}

fn run(run: &Run) -> String {
    match run.set {
        Set::Words => escaped(&run.text),
        Set::Code => format!("<code>{}</code>", escaped(&run.text)),
        Set::Unbroken => {
            let word = |w| format!("<span class=\"t\">{}</span>", escaped(w));
            run.text.split_whitespace().map(word).collect::<Vec<_>>().join(" ")
        }
    }
}

fn list(out: &mut String, items: &[String]) {
    *out += "<ul>\n";
    items.iter().for_each(|item| *out += &format!("<li>{}</li>\n", escaped(item)));
    *out += "</ul>\n";
}

fn table(out: &mut String, table: &Table) {
    let class = |i: usize| if table.numbers.contains(&i) { " class=\"n\"" } else { "" };
    *out += "<table>\n";
    if !table.head.is_empty() {
        *out += "<thead><tr>";
        for (i, name) in table.head.iter().enumerate() {
            *out += &format!("<th scope=\"col\"{}>{}</th>", class(i), escaped(name));
        }
        *out += "</tr></thead>\n";
    }
    *out += "<tbody>\n";
    for row in &table.rows {
        *out += "<tr>";
        for (i, cell) in row.iter().enumerate() {
            let cell = run(cell);
            *out += &match table.head.is_empty() && i == 0 {
                true => format!("<th scope=\"row\">{cell}</th>"),
                false => format!("<td{}>{cell}</td>", class(i)),
            };
        }
        *out += "</tr>\n";
    }
    *out += "</tbody>\n</table>\n";
}

fn figure(out: &mut String, figure: &Figure) {
    *out += &format!(
        "<figure><div role=\"img\" aria-label=\"{}\">{}</div><figcaption>{}</figcaption></figure>\n",
        escaped(&figure.shows),
        figure.svg,
        escaped(&figure.caption)
    );
}
