//! Where the rows of a text stand: lines counted from 1, with blank lines and comments in between.

use std::borrow::Cow;

/// Walks through a text and counts its lines, once, from front to back.
#[derive(Debug)]
pub struct Lines<'t> {
    text: &'t str,
    at: usize,
    line: u64,
    /// Lines that were passed over because they begin with `#`.
    pub comments: usize,
    /// The first of them.
    pub first_comment: Option<u64>,
}

impl<'t> Lines<'t> {
    /// At the first line.
    pub const fn of(text: &'t str) -> Self {
        Self { text, at: 0, line: 1, comments: 0, first_comment: None }
    }

    /// Line and text of the row that the parser looked for from byte `from` on and that ends before byte `to`. The
    /// parser passes over blank lines and comments before a row; so does this.
    pub fn row(&mut self, from: usize, to: usize) -> (u64, &'t str) {
        self.forward(from);
        while let Some(line) = self.text[self.at..].split_inclusive('\n').next() {
            let comment = line.starts_with('#');
            if !comment && line != "\n" {
                break;
            }
            if comment {
                self.comments += 1;
                self.first_comment.get_or_insert(self.line);
            }
            self.forward(self.at + line.len());
        }
        let row = self.text.get(self.at..to).unwrap_or("");
        (self.line, row)
    }

    fn forward(&mut self, to: usize) {
        if let Some(passed) = self.text.get(self.at..to) {
            self.line += passed.bytes().filter(|b| *b == b'\n').count() as u64;
            self.at = to;
        }
    }
}

/// The text with `\n` behind every line: files of DOS write `\r\n`, those of old Macs `\r` alone.
pub fn plain_ends(text: Cow<'_, str>) -> Cow<'_, str> {
    // A long log is not copied without need.
    if !text.contains('\r') {
        return text;
    }
    Cow::Owned(text.replace("\r\n", "\n").replace('\r', "\n"))
}

/// Whether a quotation mark opens a cell of the row and none closes it.
pub fn quote_open(row: &str, delimiter: u8) -> bool {
    let (mut quoted, mut opens) = (false, true);
    for byte in row.bytes() {
        match byte {
            b'"' if quoted => (quoted, opens) = (false, true),
            // At the start of a cell, or doubled inside of one.
            b'"' if opens => (quoted, opens) = (true, false),
            _ if !quoted => opens = byte == delimiter || byte == b'\n',
            _ => {}
        }
    }
    quoted
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_numbered_past_blank_lines_comments_and_cells_of_several_lines() {
        let text = "# head\n\nid\n#1\n\"a\nb\"\nc\n";
        let mut lines = Lines::of(text);
        assert_eq!(lines.row(0, 11), (3, "id\n"));
        assert_eq!(lines.row(11, 20), (5, "\"a\nb\"\n"));
        assert_eq!(lines.row(20, 22), (7, "c\n"));
        assert_eq!((lines.comments, lines.first_comment), (2, Some(1)));
        assert_eq!(lines.row(22, 22), (8, ""));
    }

    #[test]
    fn only_a_mark_at_the_start_of_a_cell_opens_a_quotation() {
        for row in ["a,b", "a,5\" b", "\"a\",\"b\"", "\"a\"\"b\",c", "\"\"", "\"a\nb\"", ""] {
            assert!(!quote_open(row, b','), "{row}");
        }
        for row in ["\"a", "a,\"b", "\"a\"\"", "a,\"b\nc", "\"a\" \"b\",\"c"] {
            assert!(quote_open(row, b','), "{row}");
        }
    }
}
