//! A report before it has a form: headings, paragraphs, lists, tables and drawings, of plain text alone. Whatever writes it
//! down decides how it looks; no writer decides what it says.

/// A text longer than this is cut, and tells it; about four pages.
pub const MOST_CHARS: usize = 10_000;

/// What a report says, in order.
pub struct Document {
    /// Its title.
    pub title: String,
    /// Which form it is, in two or three words, for the head of each page.
    #[cfg_attr(not(feature = "pdf"), allow(dead_code))]
    pub form: &'static str,
    /// What follows.
    pub blocks: Vec<Block>,
}

/// A piece of a report.
pub enum Block {
    /// Heading of a part.
    Heading(String),
    /// What must be read first.
    Notice(String),
    /// A word across the page, which says what all that stands below is.
    Stamp(String),
    /// A paragraph.
    Paragraph(Vec<Run>),
    /// A list without order.
    List(Vec<String>),
    /// A table.
    Table(Table),
    /// A drawing.
    Figure(Figure),
}

/// A stretch of text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// The text.
    pub text: String,
    /// How it is set.
    pub set: Set,
}

/// How a text is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Set {
    /// As words.
    Words,
    /// As words that do not break, such as a date and a time.
    Unbroken,
    /// To be typed or compared sign by sign.
    Code,
}

/// Rows and columns.
pub struct Table {
    /// Names of the columns; none where the first column names the rows.
    pub head: Vec<String>,
    /// Columns of numbers, which stand to the right.
    pub numbers: Vec<usize>,
    /// The rows.
    pub rows: Vec<Vec<Run>>,
}

/// A drawing with its words.
pub struct Figure {
    /// SVG.
    pub svg: String,
    /// What it shows, for those who do not see it.
    pub shows: String,
    /// What stands below it.
    pub caption: String,
}

impl Document {
    /// A report without contents yet.
    pub fn new(title: &str, form: &'static str) -> Self {
        Self { title: clean(title), form, blocks: Vec::new() }
    }

    /// Heading of a part.
    pub fn heading(&mut self, text: &str) {
        self.blocks.push(Block::Heading(clean(text)));
    }

    /// What must be read first.
    pub fn notice(&mut self, text: &str) {
        self.blocks.push(Block::Notice(clean(text)));
    }

    /// A word across the page.
    pub fn stamp(&mut self, text: &str) {
        self.blocks.push(Block::Stamp(clean(text)));
    }

    /// A paragraph of words.
    pub fn paragraph(&mut self, text: &str) {
        self.blocks.push(Block::Paragraph(vec![words(text)]));
    }

    /// A paragraph of several stretches.
    pub fn runs(&mut self, runs: Vec<Run>) {
        self.blocks.push(Block::Paragraph(runs));
    }

    /// A list; nothing where there are no items.
    pub fn list(&mut self, items: &[String]) {
        if !items.is_empty() {
            self.blocks.push(Block::List(items.iter().map(|i| clean(i)).collect()));
        }
    }

    /// A table with named columns, of which `numbers` stand to the right. Nothing without rows.
    pub fn table(&mut self, head: &[&str], numbers: &[usize], rows: Vec<Vec<Run>>) {
        if !rows.is_empty() {
            let head = head.iter().map(|h| (*h).to_owned()).collect();
            self.blocks.push(Block::Table(Table { head, numbers: numbers.to_vec(), rows }));
        }
    }

    /// A table of names and what they are; the first of each row is its name.
    pub fn named(&mut self, rows: Vec<Vec<Run>>) {
        self.table(&[], &[], rows);
    }

    /// A drawing: what it shows in words, and what stands below.
    pub fn figure(&mut self, svg: String, shows: &str, caption: &str) {
        self.blocks.push(Block::Figure(Figure { svg, shows: clean(shows), caption: clean(caption) }));
    }
}

/// A stretch of words.
pub fn words(text: impl AsRef<str>) -> Run {
    Run { text: clean(text.as_ref()), set: Set::Words }
}

/// A stretch whose words do not break.
pub fn unbroken(text: impl AsRef<str>) -> Run {
    Run { text: clean(text.as_ref()), set: Set::Unbroken }
}

/// A stretch to be typed or compared.
pub fn code(text: impl AsRef<str>) -> Run {
    Run { text: clean(text.as_ref()), set: Set::Code }
}

/// A number with the sign of subtraction for the hyphen.
pub fn signed(text: &str) -> String {
    text.replace('-', "\u{2212}")
}

/// A text in which nothing turns the direction of writing, hides or steers a printer, of at most [`MOST_CHARS`] characters.
fn clean(text: &str) -> String {
    let (kept, rest) = match text.char_indices().nth(MOST_CHARS) {
        Some((end, _)) => text.split_at(end),
        None => (text, ""),
    };
    let mut out: String = kept.chars().map(visible).collect();
    if !rest.is_empty() {
        out += &format!(" … (cut: {} more characters are where this was read from)", rest.chars().count());
    }
    out
}

/// The character, or what stands for one that must not act.
fn visible(c: char) -> char {
    match c {
        '\n' | '\t' | '\u{2028}' | '\u{2029}' => ' ',
        '\u{61c}'
        | '\u{200b}'..='\u{200f}'
        | '\u{202a}'..='\u{202e}'
        | '\u{2060}'..='\u{206f}'
        | '\u{feff}' => '\u{fffd}',
        c if c.is_control() => '\u{fffd}',
        c => c,
    }
}
