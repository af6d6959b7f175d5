//! Before and after, in sentences.

use jiff::{Timestamp, tz::TimeZone};

use crate::{
    activity::{Closure, ClosureVerdict, FEWEST, NotComparable, Part, Reference, Residual, WEEK},
    numeric::correlated::CorrelatedMean,
    report::{count, with_minus},
};

const DAYS: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];

/// More spans of hours than this are told by their number.
const MOST_SPANS: usize = 14;

/// A change in words: `16.1 dB lower (95 % interval 15.6 to 16.6)`.
pub fn change_in_words(change: &CorrelatedMean) -> String {
    let (low, high) = change.interval();
    let (word, a, b) = if change.mean <= 0.0 { ("lower", -high, -low) } else { ("higher", low, high) };
    with_minus(&format!("{:.1} dB {word} (95 % interval {a:.1} to {b:.1} dB)", change.mean.abs()))
}

/// What the comparison means, the answer first. Times are those of the zone.
pub fn closure_summary(closure: &Closure) -> Vec<String> {
    let mut out = vec![first(closure)];
    if let Some(part) =
        closure.while_on.as_ref().filter(|_| closure.verdict != ClosureVerdict::QuietHoursOnly)
    {
        out.push(its_hours(part));
    }
    out.push(closure.residual.as_ref().map_or_else(unknown_residual, residual));
    out
}

fn first(c: &Closure) -> String {
    let told = change_in_words(&c.change);
    match c.verdict {
        ClosureVerdict::Quieter => {
            format!("It has become quieter: in the same hours of the same weekdays {told}.")
        }
        ClosureVerdict::Louder => {
            format!(
                "It has become LOUDER: in the same hours of the same weekdays {told}. Keep the case open."
            )
        }
        ClosureVerdict::NotTold { needed } => {
            let more = match needed {
                Some(hours) => format!(
                    "If that difference is real, about {:.0} hours of logging after the correction would show it.",
                    hours.ceil()
                ),
                None => {
                    "The log from before scatters so much that no longer log after would show it.".to_owned()
                }
            };
            format!("No change can be told: {told}. {more}")
        }
        ClosureVerdict::QuietHoursOnly => format!(
            "This tells nothing yet: none of the hours compared is one in which it had been on ({told}). Go on logging through those \
             hours before you close."
        ),
    }
}

fn its_hours(part: &Part) -> String {
    format!(
        "In the {} of the week in which it had mostly been on: {}.",
        count(part.hours, "hour", "hours"),
        change_in_words(&part.change)
    )
}

fn residual(r: &Residual) -> String {
    let (low, high) = r.rise.interval();
    let reference = match r.reference {
        Reference::Clean => {
            "the log from before the interference began, in the same hours of the week".to_owned()
        }
        Reference::Stated => format!("the level stated, {:.1} dB", r.level),
        Reference::OffTimes => {
            format!("the level when it had been off ({:.1} dB; no clean log is named)", r.level)
        }
    };
    let told = match (low > 0.0, high < 0.0) {
        (true, _) => "something is left",
        (_, true) => "it is quieter than that",
        _ => "not told from none",
    };
    with_minus(&format!(
        "What is left above {reference}: {:+.1} dB (95 % interval {low:+.1} to {high:+.1} dB), {told}.",
        r.rise.mean
    ))
}

fn unknown_residual() -> String {
    "What is left cannot be told: there is no level without interference to compare with (--quiet, or a longer log and --began)."
        .to_owned()
}

/// What the comparison rests on.
pub fn closure_basis(c: &Closure, zone: &TimeZone, name: &str) -> Vec<String> {
    let span = |(from, to): (Timestamp, Timestamp)| format!("{} to {}", at(from, zone), at(to, zone));
    let mut out = vec![
        with_minus(&format!(
            "Before: {}, mean {:.1} dB. After: {}, mean {:.1} dB.",
            span(c.before_span),
            c.before,
            span(c.after_span),
            c.after
        )),
        format!(
            "Compared: {} of the {WEEK} hours of a week, by the clock of {name}. Neighbouring hours are alike (correlation {:.2}), so that \
             they tell as much as {:.0} that are not.",
            c.hours.len(),
            c.change.neighbours,
            c.change.effective
        ),
    ];
    if !c.missing.is_empty() {
        let until =
            c.whole_at.map_or(String::new(), |t| format!(" Log on until {} to have them all.", at(t, zone)));
        out.push(format!("Not compared, because the log after lacks them: {}.{until}", spans(&c.missing)));
    }
    let seen = c.hours.len() + c.missing.len();
    if seen < WEEK {
        out.push(format!(
            "{} of the week are not in the log before: what comes only then does not show.",
            count(WEEK - seen, "hour", "hours")
        ));
    }
    out.push(
        "Taken for granted: the same receiver, antenna and settings before and after; noise that changes within days, not a drift over \
         weeks. Power is averaged within an hour, decibels over hours."
            .to_owned(),
    );
    out
}

/// Why nothing is compared, and what to do.
pub fn closure_refusal(why: &NotComparable, zone: &TimeZone) -> Vec<String> {
    match why {
        NotComparable::NothingBefore => vec![
            "Not compared: the log has nothing before the correction. Name a log from before, of the same receiver.".to_owned(),
        ],
        NotComparable::NothingAfter => {
            vec!["Not compared: the log has nothing after the correction. Log two days at least, better seven.".to_owned()]
        }
        NotComparable::TooFewHours { shared, missing, enough_at } => {
            let first = match shared {
                0 => "Not compared: the logs before and after have no hour of the week in common.".to_owned(),
                n => format!(
                    "Not compared: the logs before and after have only {} of the week in common; {FEWEST} are needed.",
                    count(*n, "hour", "hours")
                ),
            };
            let next = match enough_at {
                Some(t) => format!("Go on logging until {}.", at(*t, zone)),
                None => format!(
                    "The log before has only {} of the week: no log after makes that enough. Compare with a longer log from before.",
                    count(shared + missing.len(), "hour", "hours")
                ),
            };
            let mut out = vec![first, next];
            if !missing.is_empty() {
                out.push(format!("Hours that only the log before has: {}.", spans(missing)));
            }
            out
        }
        NotComparable::NoScatter => {
            vec!["Not compared: every difference is the same number. No receiver's noise does that: is this a log as it was recorded?"
                .to_owned()]
        }
    }
}

/// `Tue 2026-03-17 08:00`.
fn at(time: Timestamp, zone: &TimeZone) -> String {
    let local = zone.to_datetime(time);
    let day = DAYS[usize::from(local.weekday().to_monday_zero_offset().unsigned_abs()) % 7];
    format!("{day} {} {:02}:{:02}", local.date(), local.hour(), local.minute())
}

/// Hours of the week as spans: `Mon 08–18, Tue 08–18, Sat all day`.
fn spans(hours: &[usize]) -> String {
    let mut told: Vec<String> = Vec::new();
    let mut i = 0;
    while i < hours.len() {
        let begin = hours[i];
        let mut end = begin + 1;
        // Spans end with their day: people read a week by days.
        while i + 1 < hours.len() && hours[i + 1] == end && !end.is_multiple_of(24) {
            i += 1;
            end += 1;
        }
        i += 1;
        let (from, to) = (begin % 24, end - 24 * (begin / 24));
        let day = DAYS[(begin / 24) % 7];
        told.push(if to - from == 24 {
            format!("{day} all day")
        } else {
            format!("{day} {from:02}–{to:02}")
        });
    }
    if told.len() > MOST_SPANS {
        return format!("{} ({}, …)", count(hours.len(), "hour", "hours"), told[..MOST_SPANS].join(", "));
    }
    told.join(", ")
}
