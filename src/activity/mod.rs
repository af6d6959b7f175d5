//! When an emitter is on: what counters and monitors of receivers that stay in their place tell about hours and days, and
//! whether a victim's level follows a suspect that somebody switches.
//!
//! Nothing here knows what hour it is now: windows are counted from a moment that the caller gives.

mod clocks;
mod closure;
mod hours;
mod occupancy;
mod pattern;
mod series;
mod spells;
mod switched;
mod two_levels;

use jiff::{Timestamp, tz::TimeZone};

pub use clocks::{ClockChange, Follows};
pub use closure::{
    Closure, FEWEST, NotComparable, Part, Question, Reference, Residual, Verdict as ClosureVerdict, WEEK,
    closure,
};
pub use hours::{Hour, hours};
pub use occupancy::{Occupancy, needed, occupancy, wilson};
pub use pattern::{Cell, Pattern, Week, Window, windows};
pub use series::{Sample, Series, series};
pub use spells::{Spell, shares, spells, states};
pub use switched::{Switched, Verdict, switched};
pub use two_levels::{TwoLevels, two_levels};

/// Everything that one receiver's log tells.
#[derive(Clone, Debug)]
pub struct Activity {
    /// Off and on, and the rule between them.
    pub levels: TwoLevels,
    /// Spells of activity, in order of time.
    pub spells: Vec<Spell>,
    /// Share of the observed time in which it was on, 0 to 1.
    pub duty: f64,
    /// Share of the samples that are occupied, with its interval.
    pub occupancy: Occupancy,
    /// By weekday and hour, local time.
    pub week: Week,
    /// Whether the hours repeat from day to day.
    pub pattern: Pattern,
    /// What the night in which the clocks changed tells; `None` where the log has none.
    pub clock_change: Option<ClockChange>,
}

/// Reads the activity off one series; `None` where its levels do not fall into two groups.
pub fn activity(series: &Series, zone: &TimeZone) -> Option<Activity> {
    let levels = two_levels(series.samples().iter().map(|s| s.db))?;
    let states = states(series, &levels);
    let shares = shares(series, &levels, &states);
    let spells = spells(series, &states, &shares);
    let occupancy = occupancy(&states, series.step(), &spells);
    let hours = hours(series, &shares, zone);
    let (seen, on) = hours.iter().fold((0.0, 0.0), |(s, o), h| (s + h.seen, o + h.on));
    let pattern = pattern::established(series, &hours);
    let clock_change = clocks::change(series, &shares, &hours, zone);
    let week = Week::of(&hours);
    let duty = if seen > 0.0 { on / seen } else { 0.0 };
    Some(Activity { levels, spells, duty, occupancy, week, pattern, clock_change })
}

/// Seconds since 1970.
fn seconds(at: Timestamp) -> f64 {
    at.as_duration().as_secs_f64()
}

/// The moment so many seconds later; unchanged where time as it is written here ends.
fn after(at: Timestamp, seconds: f64) -> Timestamp {
    let span = jiff::SignedDuration::try_from_secs_f64(seconds).unwrap_or_default();
    at.checked_add(span).unwrap_or(at)
}
