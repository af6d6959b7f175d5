//! A trial as a file of lines, so that one that was broken off goes on where it stopped.
//!
//! The first line names version and seed; each other line is an [`Outcome`], in the order in which they were done. A line
//! counts once its end is written.

use std::{collections::BTreeSet, fmt};

use serde_json::{Value, json};

use crate::trial::{Outcome, VERSION};

/// The first line, without its end.
pub fn header(seed: u64) -> String {
    json!({"trial": "azimark", "version": VERSION, "seed": seed}).to_string()
}

/// What a file holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Log<O = Outcome> {
    /// Scenes that are done, each once: two lines of one scene say the same.
    pub outcomes: Vec<O>,
    /// Bytes of whole lines; what follows them is the half of a line, to be cut off.
    pub whole: usize,
    /// Whether there was the half of a line.
    pub half: bool,
}

impl<O> Default for Log<O> {
    fn default() -> Self {
        Self { outcomes: Vec::new(), whole: 0, half: false }
    }
}

/// Why a file cannot be gone on with.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Flaw {
    /// The first line is of another version, another seed, or of something else.
    Header {
        /// The line as it should be.
        wanted: String,
        /// The line as it is, clipped.
        found: String,
    },
    /// A line within the file is no outcome.
    Line {
        /// Its number, from 1.
        line: usize,
    },
}

impl fmt::Display for Flaw {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Header { wanted, found } => {
                write!(f, "it begins with {found} and not with {wanted}: name another file")
            }
            Self::Line { line } => {
                write!(f, "line {line} is no outcome of a scene: take the line out, or name another file")
            }
        }
    }
}

/// The outcomes in the text of a file; an empty text, or one whose first line is not whole, holds none.
///
/// # Errors
/// [`Flaw`].
pub fn read(text: &str, seed: u64) -> Result<Log, Flaw> {
    read_lines(text, header(seed), &Outcome::of_line, &|o| o.task)
}

/// The same of any kind of outcomes: `wanted` is the first line, `of_line` reads the others, `task` tells scenes apart.
pub(super) fn read_lines<O, T: Ord>(
    text: &str,
    wanted: String,
    of_line: &dyn Fn(&str) -> Option<O>,
    task: &dyn Fn(&O) -> T,
) -> Result<Log<O>, Flaw> {
    let whole = text.rfind('\n').map_or(0, |at| at + 1);
    let mut lines = text[..whole].lines();
    let mut log = Log { whole, half: whole < text.len(), ..Log::default() };
    let Some(first) = lines.next() else {
        // A file of something else without any end of line must not be cut away.
        return if wanted.starts_with(text) { Ok(log) } else { Err(other(wanted, text)) };
    };
    let same = |line: &str| serde_json::from_str::<Value>(line).ok() == serde_json::from_str(&wanted).ok();
    if !same(first) {
        return Err(other(wanted, first));
    }
    let mut seen = BTreeSet::new();
    for (i, line) in lines.enumerate() {
        let outcome = of_line(line).ok_or(Flaw::Line { line: i + 2 })?;
        if seen.insert(task(&outcome)) {
            log.outcomes.push(outcome);
        }
    }
    Ok(log)
}

fn other(wanted: String, found: &str) -> Flaw {
    Flaw::Header { wanted, found: crate::finding::clipped(found) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{Class, Found, Method, Task};

    fn outcome(number: u32) -> Outcome {
        let found = |method| Found {
            method,
            miss: Some(12.345),
            confident: true,
            regions: [Some((false, 0.1)), Some((true, 12_345_678.9)), None, None],
            ms: 1.234,
        };
        let found = Method::ALL.map(found).to_vec();
        Outcome { task: Task { class: Class::Clean, number }, bound: Some(23.457), found }
    }

    #[test]
    fn what_is_written_is_read_again_and_half_a_line_is_dropped() {
        let text = format!("{}\n{}\n{}\n", header(7), outcome(3).line(), outcome(1).line());
        let log = read(&text, 7).unwrap();
        assert_eq!(log, Log { outcomes: vec![outcome(3), outcome(1)], whole: text.len(), half: false });
        // Cut anywhere in the last line: the same without it.
        let before = text.len() - outcome(1).line().len() - 1;
        for cut in before..text.len() {
            let log = read(&text[..cut], 7).unwrap();
            assert_eq!(log, Log { outcomes: vec![outcome(3)], whole: before, half: cut > before });
        }
        assert_eq!(read("", 7), Ok(Log::default()));
        assert_eq!(read(&header(7)[..9], 7), Ok(Log { half: true, ..Log::default() }));
        let twice = format!("{text}{}\n", outcome(3).line());
        assert_eq!(read(&twice, 7).unwrap().outcomes.len(), 2);
    }

    #[test]
    fn another_seed_and_another_file_are_refused() {
        let text = format!("{}\n{}\n", header(7), outcome(3).line());
        assert!(matches!(read(&text, 8), Err(Flaw::Header { .. })));
        assert!(matches!(read("notes of mine", 7), Err(Flaw::Header { .. })));
        assert_eq!(read(&format!("{text}broken\n{}\n", outcome(4).line()), 7), Err(Flaw::Line { line: 3 }));
        let other = outcome(5).line().replace("\"Huber\"", "\"posterior\"");
        assert_eq!(read(&format!("{}\n{other}\n", header(7)), 7), Err(Flaw::Line { line: 2 }));
    }
}
