//! A line on the terminal that tells how far a long piece of work has come.
//!
//! It is written to standard error, only where that is a terminal, only for work longer than a second, without colour,
//! and is wiped out at the end. A few lines do; a crate for this would bring six others.

use std::{
    io::{self, IsTerminal, Write},
    time::{Duration, Instant},
};

/// Shorter work shows nothing.
const QUIET: Duration = Duration::from_secs(1);

/// The line is written anew at most this often.
const PAUSE: Duration = Duration::from_millis(200);

/// The clock is looked at once in so many steps: a step may be a row.
const STRIDE: u64 = 1024;

const WIDTH: u64 = 30;

/// How far a piece of work has come.
pub struct Progress<W: Write> {
    /// Nowhere, unless there is a terminal.
    out: Option<W>,
    what: String,
    all: u64,
    steps: u64,
    /// The clock is looked at once in so many steps.
    stride: u64,
    began: Instant,
    shown: Option<Instant>,
}

impl Progress<io::Stderr> {
    /// Work of `all` steps, on the terminal if there is one. A dumb terminal cannot go back to the start of a line.
    pub fn on_terminal(what: &str, all: u64) -> Self {
        let dumb = std::env::var_os("TERM").is_some_and(|t| t == "dumb");
        let err = io::stderr();
        let out = (err.is_terminal() && !dumb).then_some(err);
        Self::new(out, what, all, Instant::now())
    }

    /// The same for steps that take long by themselves: the clock is looked at after each.
    pub fn of_few(what: &str, all: u64) -> Self {
        let mut out = Self::on_terminal(what, all);
        out.stride = 1;
        out
    }
}

impl<W: Write> Progress<W> {
    fn new(out: Option<W>, what: &str, all: u64, began: Instant) -> Self {
        // A file's name must not steer the terminal, nor break the line.
        let what = crate::finding::clipped(what);
        Self { out, what, all, steps: 0, stride: STRIDE, began, shown: None }
    }

    /// `done` of all steps are done.
    pub fn at(&mut self, done: u64) {
        self.steps += 1;
        if self.out.is_some() && self.steps.is_multiple_of(self.stride) {
            self.show(done, Instant::now());
        }
    }

    fn show(&mut self, done: u64, now: Instant) {
        let due = self.shown.is_none_or(|last| now.duration_since(last) >= PAUSE);
        if now.duration_since(self.began) < QUIET || !due {
            return;
        }
        self.shown = Some(now);
        let line = line(&self.what, done, self.all);
        if let Some(out) = &mut self.out {
            // A terminal that has gone away is no reason to stop the work.
            let _ = write!(out, "\r{line}\u{1b}[K").and_then(|()| out.flush());
        }
    }
}

impl<W: Write> Drop for Progress<W> {
    /// Wipes the line out.
    fn drop(&mut self) {
        if let (Some(_), Some(out)) = (self.shown, &mut self.out) {
            let _ = write!(out, "\r\u{1b}[K").and_then(|()| out.flush());
        }
    }
}

fn line(what: &str, done: u64, all: u64) -> String {
    let (all, done) = (all.max(1), done.min(all.max(1)));
    // A product of line numbers and 100 stays far within 64 bits.
    let (share, full) = (100 * done / all, WIDTH * done / all);
    let bar: String = (0..WIDTH).map(|i| if i < full { '#' } else { '.' }).collect();
    format!("{what} [{bar}] {share:3} %")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(steps: &[(u64, u64)]) -> String {
        let mut out = Vec::new();
        let began = Instant::now();
        let mut progress = Progress::new(Some(&mut out), "walk\n.csv", 400, began);
        for (done, ms) in steps {
            progress.show(*done, began + Duration::from_millis(*ms));
        }
        drop(progress);
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn short_work_shows_nothing_and_long_work_wipes_its_line_out() {
        assert_eq!(written(&[(10, 10), (200, 500), (400, 999)]), "");
        let text = written(&[(10, 10), (200, 1000), (201, 1100), (300, 1200)]);
        let bar = |full: usize, share: &str| {
            format!("\rwalk\\n.csv [{}{}] {share} %\u{1b}[K", "#".repeat(full), ".".repeat(30 - full))
        };
        assert_eq!(text, format!("{}{}\r\u{1b}[K", bar(15, " 50"), bar(22, " 75")));
    }

    #[test]
    fn the_bar_stays_within_its_bounds() {
        assert!(line("x", 0, 0).ends_with("  0 %"));
        assert!(line("x", 900, 400).ends_with("100 %"));
        assert_eq!(line("x", 1, 3).chars().count(), line("x", 3, 3).chars().count());
    }

    #[test]
    fn without_a_terminal_nothing_is_written() {
        let began = Instant::now();
        let mut progress: Progress<Vec<u8>> = Progress::new(None, "x", 10, began);
        progress.show(5, began + Duration::from_secs(9));
        assert!(progress.out.is_none());
    }
}
