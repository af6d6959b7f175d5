//! Which offset is added to a log's times, and what is said about it.

use crate::{
    check::clock::{
        Evidence,
        passes::Passes,
        profile::{Estimate, REACH_S, WORST_SIGMA_S},
    },
    finding::{Finding, Origin},
    observe::LevelReading,
};

/// An estimate beyond this is proposed, not applied: it is a zone, not a clock that was set by hand.
const LARGEST_S: f64 = REACH_S;

/// The offset to add, in seconds. `wanted` says whether there is anything to place.
pub fn offset(
    log: &[LevelReading],
    evidence: Evidence,
    stated: Option<f64>,
    wanted: bool,
    out: &mut Vec<Finding>,
) -> f64 {
    let Some(file) = log.first().map(|r| Origin::file(&r.written.file)) else { return 0.0 };
    if let Some(shift) = evidence.hours.filter(|_| stated.is_none()) {
        out.push(apart(shift).at(file));
        return 0.0;
    }
    let found = evidence.positions.or(evidence.passes.map(|p| p.estimate)).filter(Estimate::settled);
    match (stated, found) {
        (Some(stated), Some(found)) if found.excludes(stated) => {
            let message = format!("{stated} s are stated, and {}", words(&evidence, &found));
            let hint = "the stated offset is used: look at both clocks";
            out.push(Finding::doubtful("clock-offset-differs", message).at(file).hint(hint));
            stated
        }
        (Some(stated), _) => stated,
        (None, Some(found)) => estimated(&evidence, &found, wanted, file, out),
        (None, None) => {
            if wanted {
                let told = if evidence.overlap { unknown(&evidence) } else { strangers() };
                out.push(told.at(file));
            }
            0.0
        }
    }
}

fn estimated(
    evidence: &Evidence,
    found: &Estimate,
    wanted: bool,
    file: Origin,
    out: &mut Vec<Finding>,
) -> f64 {
    let by = words(evidence, found);
    if !found.excludes(0.0) {
        if wanted {
            let message =
                format!("{by}: zero is within three of these, or within two seconds, and nothing is added");
            out.push(Finding::assumed("clocks-agree", message).at(file));
        }
        return 0.0;
    }
    let shown = format!("{:.1}", found.seconds);
    if !wanted || found.seconds.abs() > LARGEST_S {
        let hour = if found.seconds.abs() > LARGEST_S { ": daylight saving, or another zone?" } else { "" };
        let message = format!("the clocks of log and track differ: {by}{hour}");
        let hint = format!("nothing is added; state --clock-offset={shown} if that is so");
        out.push(Finding::doubtful("clock-skew", message).at(file).hint(hint));
        return 0.0;
    }
    let message = format!("the clocks of log and track differ: {by}; this is added");
    let hint = format!("confirm it with --clock-offset={shown}, or correct it");
    out.push(Finding::doubtful("clock-offset-estimated", message).at(file).hint(hint));
    // What is told is what is added.
    (found.seconds * 10.0).round() / 10.0
}

/// How an estimate came about, with its figures.
fn words(evidence: &Evidence, found: &Estimate) -> String {
    let figure = format!(
        "{:+.1} s added to the log's times (one standard deviation {:.1} s)",
        found.seconds, found.sigma
    );
    match evidence.passes {
        Some(Passes { again, apart, .. }) if evidence.positions.is_none() => format!(
            "where the track comes back to a place, {again} times, the levels agree best with {figure}: to {:.1} dB, and to {:.1} dB with nothing added",
            apart.0, apart.1
        ),
        _ => format!("the log's own places lie on the track best with {figure}"),
    }
}

fn unknown(evidence: &Evidence) -> Finding {
    let tried = match evidence.positions.or(evidence.passes.map(|p| p.estimate)) {
        Some(found) if found.at_end => "; what fits best lies at the end of what was looked at".to_owned(),
        Some(found) => format!(
            "; what fits best, {:+.0} s, has a standard deviation of {:.1} s, above {WORST_SIGMA_S:.0} s, and is not used",
            found.seconds, found.sigma
        ),
        None => String::new(),
    };
    let message = format!(
        "times that overlap do not tell whether the clocks of log and track agree: 0 s are added{tried}"
    );
    let hint = "on foot 10 s are 15 m: compare the clocks and state --clock-offset";
    Finding::assumed("clock-offset-unknown", message).hint(hint)
}

fn strangers() -> Finding {
    let message = "log and track do not overlap in time, and no shift by quarters of an hour within a day lays one onto the other";
    let hint = "does the track belong to the log? if it does, state --clock-offset";
    Finding::doubtful("clock-no-overlap", message).hint(hint)
}

/// That tracks were named and none has a fix.
pub fn no_fix(log: &[LevelReading]) -> Option<Finding> {
    let at = Origin::file(&log.first()?.written.file);
    let message = "no track has a fix: the readings without a place stay without one";
    Some(Finding::doubtful("track-unused", message).at(at).hint("look at what is told about the track"))
}

fn apart(shift: f64) -> Finding {
    let what = if shift.abs() == 3600.0 { "daylight saving, or another zone?" } else { "another zone?" };
    let message = format!(
        "log and track do not overlap in time; {shift:+.0} s added to the log's times would lay it onto the track: {what}"
    );
    let hint =
        format!("nothing is added; state --clock-offset={shift:.0} if that is so, or the zone with --zone");
    Finding::doubtful("clock-hours", message).hint(hint)
}
