//! Findings: what a reader, a check or a solver has to tell about the data. One currency for the
//! command line, the record and the map; nothing here prints.

use std::fmt;

/// How much a finding matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Something the data did not say was taken for granted; the answer rests on it.
    Assumed,
    /// The value is used as it stands, but somebody should look at it.
    Doubtful,
    /// The row or value is not used.
    Refused,
}

impl Severity {
    /// The word shown to the reader.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Assumed => "assumed",
            Self::Doubtful => "doubtful",
            Self::Refused => "refused",
        }
    }
}

/// Where a value was written down: file, line, column and field, as far as known.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Origin {
    /// Name of the file as the caller gave it.
    pub file: String,
    /// Line, counted from 1 (the header line included).
    pub line: Option<u64>,
    /// Column (cell), counted from 1.
    pub column: Option<u64>,
    /// Name of the field as the file's header spells it.
    pub field: Option<String>,
    /// The text as read.
    pub value: Option<String>,
}

impl Origin {
    /// A whole file.
    pub fn file(name: &str) -> Self {
        Self { file: name.to_owned(), ..Self::default() }
    }

    /// A line of a file.
    pub fn line(name: &str, line: u64) -> Self {
        Self { file: name.to_owned(), line: Some(line), ..Self::default() }
    }

    /// The same line, narrowed to one cell.
    pub fn cell(mut self, column: u64, field: &str, value: &str) -> Self {
        self.column = Some(column);
        self.field = Some(clipped(field));
        self.value = Some(clipped(value));
        self
    }
}

/// At most 80 characters of `text`, with every control character made visible, so that a hostile cell
/// cannot fill or steer a terminal.
pub fn clipped(text: &str) -> String {
    const KEEP: usize = 80;
    match text.char_indices().nth(KEEP) {
        Some((end, _)) => visible(&text[..end]) + "…",
        None => visible(text),
    }
}

/// `text` with every character made visible that steers a terminal or turns the direction of writing: a message may
/// quote an identifier from the data.
pub fn visible(text: &str) -> String {
    let turns = |c| matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if c.is_control() || turns(c) { out.extend(c.escape_default()) } else { out.push(c) }
    }
    out
}

impl fmt::Display for Origin {
    /// `file:line:column`, as far as known.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", clipped(&self.file))?;
        if let Some(line) = self.line {
            write!(f, ":{line}")?;
            if let Some(column) = self.column {
                write!(f, ":{column}")?;
            }
        }
        Ok(())
    }
}

/// One remark about the data or the answer.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// Stable name for programs, such as `latitude-out-of-range`.
    pub code: &'static str,
    /// Where it was written down, when it came from a file.
    pub origin: Option<Origin>,
    /// What is the case, in a sentence.
    pub message: String,
    /// What to do about it.
    pub hint: Option<String>,
}

impl Finding {
    fn new(severity: Severity, code: &'static str, message: impl Into<String>) -> Self {
        Self { severity, code, origin: None, message: message.into(), hint: None }
    }

    /// An assumption that the answer rests on.
    pub fn assumed(code: &'static str, message: impl Into<String>) -> Self {
        Self::new(Severity::Assumed, code, message)
    }

    /// A value that is used but should be looked at.
    pub fn doubtful(code: &'static str, message: impl Into<String>) -> Self {
        Self::new(Severity::Doubtful, code, message)
    }

    /// A row or value that is not used.
    pub fn refused(code: &'static str, message: impl Into<String>) -> Self {
        Self::new(Severity::Refused, code, message)
    }

    /// With the place it was written down.
    pub fn at(mut self, origin: Origin) -> Self {
        self.origin = Some(origin);
        self
    }

    /// With what to do about it.
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

impl fmt::Display for Finding {
    /// `file:line:column: refused [code] field "value": message` and, on its own line, `hint: …`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(origin) = &self.origin {
            write!(f, "{origin}: ")?;
        }
        write!(f, "{} [{}] ", self.severity.word(), self.code)?;
        if let Some(Origin { field: Some(field), value, .. }) = &self.origin {
            write!(f, "{field}")?;
            if let Some(value) = value {
                write!(f, " \"{value}\"")?;
            }
            write!(f, ": ")?;
        }
        write!(f, "{}", visible(&self.message))?;
        if let Some(hint) = &self.hint {
            write!(f, "\n  hint: {}", visible(hint))?;
        }
        Ok(())
    }
}
