//! What a reader has to tell, kept within bounds however bad the file is.

use crate::finding::{Finding, Origin};

/// At most this many findings about single rows are kept for one file; a last one says how many more there were.
const MOST: usize = 1_000;

/// Findings of one file: about the file as a whole, of which there are few, and about its rows.
#[derive(Debug, Default)]
pub struct Log {
    findings: Vec<Finding>,
    of_rows: usize,
}

impl Log {
    /// About the file as a whole.
    pub fn tell(&mut self, finding: Finding) {
        self.findings.push(finding);
    }

    /// About a row. A file of a million bad rows must not fill the memory with the same remark.
    pub fn tell_row(&mut self, finding: Finding) {
        self.of_rows += 1;
        if self.of_rows <= MOST {
            self.findings.push(finding);
        }
    }

    /// All of them, in the order in which they were told.
    pub fn into_findings(mut self, name: &str) -> Vec<Finding> {
        if self.of_rows > MOST {
            let message = format!("the file gave {} more findings like these", self.of_rows - MOST);
            let hint = "correct what is told first, then read the file again";
            self.tell(Finding::refused("more-findings", message).at(Origin::file(name)).hint(hint));
        }
        self.findings
    }
}
