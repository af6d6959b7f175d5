//! What searches without a find have done, in words and a table.

use std::fmt::Write as _;

use crate::report::words::wrapped;

/// What one pass did in one part.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct InPart {
    /// Probability of the part before the pass (POA).
    pub before: f64,
    /// Probability that the pass would find it there (POS).
    pub success: f64,
    /// Probability of the part after the pass.
    pub after: f64,
    /// Probability of detection of all passes so far together (cumulative POD).
    pub together: f64,
}

/// What one pass did.
#[derive(Clone, Debug, PartialEq)]
pub struct PassDone {
    /// Who and when, in words.
    pub who: String,
    /// By part; the last is everything outside of all parts.
    pub parts: Vec<InPart>,
    /// Probability of success of the pass, given that none before found it.
    pub success: f64,
    /// Probability that one of the passes so far would have found it.
    pub so_far: f64,
}

/// The bookkeeping of all passes; `names` are those of the parts.
pub fn searched(passes: &[PassDone], names: &[String]) -> String {
    let Some(last) = passes.last() else {
        return "No pass is recorded: nothing has changed.\n".to_owned();
    };
    let mut out = wrapped(
        &format!(
            "Nothing found in {}: a search like this would have found the emitter with {:.0} % if the data are what they say. What was covered counts for less now, the rest for more.",
            if passes.len() == 1 { "1 pass".to_owned() } else { format!("{} passes", passes.len()) },
            100.0 * last.so_far
        ),
        "",
        "",
    );
    for (number, pass) in passes.iter().enumerate() {
        let _ = writeln!(out, "\nPass {}{}", number + 1, pass.who);
        let _ = writeln!(
            out,
            "  {:<24} {:>8} {:>8} {:>8} {:>8} {:>8}",
            "part", "POA", "POD", "POS", "left", "POD all"
        );
        for (k, part) in pass.parts.iter().enumerate() {
            let name: String = names.get(k).map_or("elsewhere", String::as_str).chars().take(24).collect();
            let detection = if part.before > 0.0 { part.success / part.before } else { 0.0 };
            let _ = writeln!(
                out,
                "  {name:<24} {:>6.1} % {:>6.1} % {:>6.1} % {:>6.1} % {:>6.1} %",
                100.0 * part.before,
                100.0 * detection,
                100.0 * part.success,
                100.0 * part.after,
                100.0 * part.together
            );
        }
        let _ = writeln!(
            out,
            "  POS of the pass {:.1} %, of all passes so far {:.1} %",
            100.0 * pass.success,
            100.0 * pass.so_far
        );
    }
    out += "\n";
    out += &wrapped(
        "POA: probability that the emitter is there; POD: probability that the pass finds it if it is there; POS: POA times POD.",
        "",
        "",
    );
    out
}
