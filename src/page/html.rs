//! Text and tables as HTML.

/// Text in which nothing is markup, and nothing turns the direction of writing or steers a printer.
pub fn escaped(text: &str) -> String {
    let turns = |c| matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '"' => out += "&quot;",
            '\'' => out += "&#39;",
            '\n' | '\t' => out.push(' '),
            c if c.is_control() || turns(c) => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// A heading of a part.
pub fn heading(out: &mut String, text: &str) {
    *out += &format!("<h2>{}</h2>\n", escaped(text));
}

/// A paragraph of plain text.
pub fn paragraph(out: &mut String, text: &str) {
    *out += &format!("<p>{}</p>\n", escaped(text));
}

/// A list of plain texts; nothing where there are none.
pub fn list(out: &mut String, items: &[String]) {
    if items.is_empty() {
        return;
    }
    *out += "<ul>\n";
    items.iter().for_each(|item| *out += &format!("<li>{}</li>\n", escaped(item)));
    *out += "</ul>\n";
}

/// A table of cells that are HTML already; `numbers` are the columns that stand to the right. Nothing without rows.
pub fn table(out: &mut String, head: &[&str], numbers: &[usize], rows: &[Vec<String>]) {
    if rows.is_empty() {
        return;
    }
    let class = |i: usize| if numbers.contains(&i) { " class=\"n\"" } else { "" };
    *out += "<table>\n<thead><tr>";
    head.iter()
        .enumerate()
        .for_each(|(i, h)| *out += &format!("<th scope=\"col\"{}>{}</th>", class(i), escaped(h)));
    *out += "</tr></thead>\n<tbody>\n";
    for row in rows {
        *out += "<tr>";
        row.iter().enumerate().for_each(|(i, cell)| *out += &format!("<td{}>{cell}</td>", class(i)));
        *out += "</tr>\n";
    }
    *out += "</tbody>\n</table>\n";
}

/// A drawing with its words.
pub fn figure(out: &mut String, svg: &str, caption: &str) {
    *out += &format!("<figure>{svg}<figcaption>{}</figcaption></figure>\n", escaped(caption));
}
