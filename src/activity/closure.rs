//! Whether it has become quieter: the same hours of the same weekdays before and after somebody put something right.
//!
//! Noise follows the week: a mean over a working Friday before and a Sunday after says nothing about a repair. An hour of the week
//! counts only where both logs have it, once, with the mean power within the hour and the mean of decibels over the weeks.
//! Neighbouring hours are alike, which [`crate::numeric::correlated`] takes into account.

use std::collections::BTreeMap;

use jiff::{Timestamp, tz::TimeZone};

use crate::{
    activity::{Pattern, Series, activity, after, hours, seconds, two_levels},
    numeric::correlated::{CorrelatedMean, correlated_mean},
};

/// Hours of a week.
pub const WEEK: usize = 168;

/// Fewer hours of the week than this in both logs tell too little of how hours scatter: below two days intervals that should hold 95 %
/// hold 85 to 92 % where neighbours are much alike (measured, [`crate::numeric::correlated`]).
pub const FEWEST: usize = 48;

/// Fewer hours than a day in which it had been on give no interval of their own.
const FEWEST_ON: usize = 24;

/// Probability of the intervals.
const P: f64 = 0.95;

/// Of an hour at least so many seconds must have been observed.
const HALF_AN_HOUR: f64 = 1_800.0;

/// An hour in which it had been on for more than this share of the time is one of its hours.
const MOSTLY: f64 = 0.5;

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Question<'a> {
    /// When the cause was switched off or put right.
    pub corrected: Timestamp,
    /// When the interference began, where that is known: what was logged earlier is clean.
    pub began: Option<Timestamp>,
    /// Level of this receiver without interference, where that is known otherwise.
    pub quiet: Option<f64>,
    /// The zone in which hours and weekdays count.
    pub zone: &'a TimeZone,
}

/// What the comparison gave. Levels are in the unit of the log; hours of the week count from Monday 00:00, local time.
#[derive(Clone, Debug, PartialEq)]
pub struct Closure {
    /// Begin and end of the log before.
    pub before_span: (Timestamp, Timestamp),
    /// Begin and end of the log after.
    pub after_span: (Timestamp, Timestamp),
    /// Hours of the week that were compared, ascending.
    pub hours: Vec<usize>,
    /// Hours of the week that only the log before has, ascending.
    pub missing: Vec<usize>,
    /// When the log will have all of those, if it goes on; `None` where none is missing.
    pub whole_at: Option<Timestamp>,
    /// Mean over the hours compared, before.
    pub before: f64,
    /// Mean over the hours compared, after.
    pub after: f64,
    /// After minus before, with its 95 % interval: negative where it has become quieter.
    pub change: CorrelatedMean,
    /// The same over the hours of the week in which it had mostly been on, where it kept to hours.
    pub while_on: Option<Part>,
    /// How much is left above a clean reference.
    pub residual: Option<Residual>,
    /// What it means.
    pub verdict: Verdict,
}

/// A part of the hours compared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Their number.
    pub hours: usize,
    /// After minus before.
    pub change: CorrelatedMean,
}

/// What the change means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Verdict {
    /// The interval lies below zero.
    Quieter,
    /// The interval lies above zero.
    Louder,
    /// The interval holds zero.
    NotTold {
        /// Hours of the log after, of those that can be compared, at which an unchanged difference would be told; `None` where the log
        /// before alone scatters too much for that.
        needed: Option<f64>,
    },
    /// It kept to hours, and none of them is among those compared: closing on a quiet Sunday.
    QuietHoursOnly,
}

/// Where the level without interference is known from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reference {
    /// The log before the interference began, the same hours of the week.
    Clean,
    /// A level that was stated.
    Stated,
    /// The level of this log at times when it had been off.
    OffTimes,
}

/// What is left above the level without interference.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Residual {
    /// Where that level is known from.
    pub reference: Reference,
    /// That level: its mean over the hours used.
    pub level: f64,
    /// Hours of the week used.
    pub hours: usize,
    /// Rise above it, with its 95 % interval; the scatter of a level that is one number is not in it.
    pub rise: CorrelatedMean,
}

/// Why nothing is compared.
#[derive(Clone, Debug, PartialEq)]
pub enum NotComparable {
    /// The log has nothing before the correction.
    NothingBefore,
    /// The log has nothing after the correction.
    NothingAfter,
    /// Too few hours of the week are in both.
    TooFewHours {
        /// So many.
        shared: usize,
        /// Hours of the week that only the log before has, ascending.
        missing: Vec<usize>,
        /// When the log will have enough, if it goes on; `None` where the log before has too few hours for that.
        enough_at: Option<Timestamp>,
    },
    /// All differences are the same number: no receiver's noise does that.
    NoScatter,
}

/// Compares a receiver's log from before the correction with that from after it.
///
/// # Errors
/// [`NotComparable`] where one side is empty, too few hours of the week are in both, or nothing scatters.
pub fn closure(series: &Series, question: &Question) -> Result<Closure, NotComparable> {
    let zone = question.zone;
    let old = series.within(question.began, Some(question.corrected)).ok_or(NotComparable::NothingBefore)?;
    let new = series.within(Some(question.corrected), None).ok_or(NotComparable::NothingAfter)?;
    let (before, later) = (by_hour(&old, zone), by_hour(&new, zone));
    let missing: Vec<usize> = before.keys().filter(|h| !later.contains_key(h)).copied().collect();
    let shared: Vec<usize> = before.keys().filter(|h| later.contains_key(h)).copied().collect();
    if shared.len() < FEWEST {
        let wanted = FEWEST - shared.len();
        let enough_at = reached(&missing, wanted, new.end(), zone);
        return Err(NotComparable::TooFewHours { shared: shared.len(), missing, enough_at });
    }
    let habits = activity(&old, zone).filter(|a| matches!(a.pattern, Pattern::Established(_)));
    let its: Option<Vec<usize>> = habits.as_ref().map(|a| {
        let share = |h: &usize| a.week.cells()[h / 24][h % 24].share();
        shared.iter().filter(|h| share(h).is_some_and(|s| s > MOSTLY)).copied().collect()
    });
    let on = its.as_deref().unwrap_or_default();
    let change_of = |hours: &[usize]| difference(&later, &|h| before[&h].level, hours, on);
    let change = change_of(&shared).ok_or(NotComparable::NoScatter)?;
    let while_on =
        (on.len() >= FEWEST_ON).then(|| Some(Part { hours: on.len(), change: change_of(on)? })).flatten();
    let verdict = match change.interval() {
        _ if its.as_ref().is_some_and(Vec::is_empty) => Verdict::QuietHoursOnly,
        (_, high) if high < 0.0 => Verdict::Quieter,
        (low, _) if low > 0.0 => Verdict::Louder,
        _ => Verdict::NotTold { needed: needed(&change, &before, &later, &shared) },
    };
    let mean =
        |of: &BTreeMap<usize, Mean>| shared.iter().map(|h| of[h].level).sum::<f64>() / shared.len() as f64;
    let off = two_levels(old.samples().iter().map(|s| s.db)).map(|l| l.off);
    Ok(Closure {
        before_span: (old.samples()[0].at, old.end()),
        after_span: (new.samples()[0].at, new.end()),
        whole_at: reached(&missing, missing.len(), new.end(), zone),
        missing,
        before: mean(&before),
        after: mean(&later),
        change,
        while_on,
        residual: residual(series, question, &later, off),
        verdict,
        hours: shared,
    })
}

/// The mean of an hour of the week.
#[derive(Clone, Copy)]
struct Mean {
    /// Mean of the weeks' decibels.
    level: f64,
    /// Weeks.
    weeks: f64,
    /// Hours since 1970 at which it was first seen: the order in which neighbours are neighbours.
    first: f64,
}

/// Hours of the week of which at least half was observed, with the mean power within each hour and the mean of decibels over weeks.
fn by_hour(series: &Series, zone: &TimeZone) -> BTreeMap<usize, Mean> {
    let powers: Vec<f64> = series.samples().iter().map(|s| 10f64.powf(s.db / 10.0)).collect();
    let mut out: BTreeMap<usize, Mean> = BTreeMap::new();
    for hour in hours(series, &powers, zone).into_iter().filter(|h| h.seen >= HALF_AN_HOUR) {
        let level = 10.0 * (hour.on / hour.seen).log10();
        if !level.is_finite() {
            continue;
        }
        let days = hour.date.since(jiff::civil::Date::constant(1970, 1, 1)).map_or(0, |s| s.get_days());
        let first = 24.0 * f64::from(days) + hour.hour as f64;
        let mean =
            out.entry(24 * hour.weekday() + hour.hour).or_insert(Mean { level: 0.0, weeks: 0.0, first });
        mean.weeks += 1.0;
        mean.level += (level - mean.level) / mean.weeks;
    }
    out
}

/// Mean difference of these hours to a reference, neighbours in the order of the later log. Hours in which it had been on and the
/// others are two groups with means of their own where each has a day of hours: that it keeps to hours is no scatter.
fn difference(
    later: &BTreeMap<usize, Mean>,
    reference: &dyn Fn(usize) -> f64,
    hours: &[usize],
    on: &[usize],
) -> Option<CorrelatedMean> {
    let value = |h: usize| later[&h].level - reference(h);
    let mean = |of: &[usize]| of.iter().map(|h| value(*h)).sum::<f64>() / of.len() as f64;
    let (its, others): (Vec<usize>, Vec<usize>) = hours.iter().partition(|h| on.contains(h));
    let whole = mean(hours);
    let apart = its.len() >= FEWEST_ON && others.len() >= FEWEST_ON;
    let (high, low) = if apart { (mean(&its), mean(&others)) } else { (whole, whole) };
    let mut values: Vec<(f64, f64)> =
        hours.iter().map(|h| (later[h].first, value(*h) - if on.contains(h) { high } else { low })).collect();
    values.sort_by(|a, b| a.0.total_cmp(&b.0));
    correlated_mean(&values, P).map(|found| CorrelatedMean { mean: whole, ..found })
}

/// When a log that goes on will have had `wanted` more of the missing hours to their ends; `None` where there are too few of them,
/// or none is wanted.
fn reached(missing: &[usize], wanted: usize, end: Timestamp, zone: &TimeZone) -> Option<Timestamp> {
    if wanted == 0 || wanted > missing.len() {
        return None;
    }
    let mut left = wanted;
    // An hour that has begun already may be too short to count; a week and a day hold every hour of the week, whatever the clocks do.
    let begin = (seconds(end) / 3_600.0).ceil() * 3_600.0 - seconds(end);
    for hour in 0..WEEK + 24 {
        let at = after(end, begin + 3_600.0 * hour as f64);
        let local = zone.to_datetime(at);
        let day = usize::from(local.weekday().to_monday_zero_offset().unsigned_abs());
        if missing.contains(&(24 * day + usize::from(local.hour().unsigned_abs()))) {
            left -= 1;
            if left == 0 {
                return Some(after(at, 3_600.0));
            }
        }
    }
    None
}

/// Hours after at which the interval would no longer hold zero if the difference stays and both logs scatter alike: the variance
/// falls as 1/before + 1/after.
fn needed(
    change: &CorrelatedMean,
    before: &BTreeMap<usize, Mean>,
    later: &BTreeMap<usize, Mean>,
    shared: &[usize],
) -> Option<f64> {
    let count = |of: &BTreeMap<usize, Mean>| shared.iter().map(|h| of[h].weeks).sum::<f64>();
    let (old, new) = (count(before), count(later));
    let (wide, gap) = (change.half * change.half, change.mean * change.mean);
    let by_old = wide * (1.0 / old) / (1.0 / old + 1.0 / new);
    (gap > by_old).then(|| new * (wide - by_old) / (gap - by_old))
}

/// What is left above the best reference that there is.
fn residual(
    series: &Series,
    question: &Question,
    later: &BTreeMap<usize, Mean>,
    off: Option<f64>,
) -> Option<Residual> {
    let all: Vec<usize> = later.keys().copied().collect();
    let clean = question.began.and_then(|began| series.within(None, Some(began)));
    let clean = clean.map(|s| by_hour(&s, question.zone)).unwrap_or_default();
    let both: Vec<usize> = all.iter().filter(|h| clean.contains_key(h)).copied().collect();
    if both.len() >= FEWEST {
        let level = both.iter().map(|h| clean[h].level).sum::<f64>() / both.len() as f64;
        let rise = difference(later, &|h| clean[&h].level, &both, &[])?;
        return Some(Residual { reference: Reference::Clean, level, hours: both.len(), rise });
    }
    let (reference, level) = match (question.quiet, off) {
        (Some(quiet), _) => (Reference::Stated, quiet),
        (None, Some(off)) => (Reference::OffTimes, off),
        (None, None) => return None,
    };
    let rise = difference(later, &|_| level, &all, &[])?;
    Some(Residual { reference, level, hours: all.len(), rise })
}
