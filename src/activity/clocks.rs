//! The night in which the clocks change tells whether people keep the hours, or something that knows no summer time.

use jiff::{
    Timestamp,
    civil::Date,
    tz::{Offset, TimeZone},
};

use crate::activity::{Hour, Series, hours, pattern::Week};

/// Days that favour either by less than this log-likelihood count for neither.
const UNDECIDED: f64 = 0.5;

/// The sign test is two-sided at this level.
const LEVEL: f64 = 0.05;

/// What the hours follow.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Follows {
    /// The local clock: run by people, or by a timer that people set.
    LocalClock,
    /// UTC, or the sun.
    Utc,
    /// The days that the log has do not tell.
    NotEnough,
}

/// Days after a change of the clocks, judged by those before.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClockChange {
    /// When the clocks changed.
    pub at: Timestamp,
    /// By how much they went forward, seconds; negative where they went back.
    pub forward: i32,
    /// Days after it that agree better with the hours of the local clock.
    pub days_local: usize,
    /// Days after it that agree better with the hours of UTC.
    pub days_utc: usize,
    /// Probability of so clear a majority if neither were true.
    pub p: f64,
    /// What follows.
    pub follows: Follows,
}

/// The first change of the clocks within a series; `None` where there is none.
///
/// Each later day is as likely as the shares of the same hours before the change make it, once by the local clock and once by
/// the clock as it was; the days vote, and a sign test counts ([`crate::sources::ARBUTHNOT1710`]). Working days, Saturdays and
/// Sundays are compared with their like.
pub fn change(series: &Series, shares: &[f64], local: &[Hour], zone: &TimeZone) -> Option<ClockChange> {
    let (at, before, after) = transition(series, zone)?;
    let day = zone.to_datetime(at).date();
    let kept = hours(series, shares, &TimeZone::fixed(before));
    let earlier: Vec<Hour> = local.iter().filter(|h| h.date < day).copied().collect();
    let week = Week::of(&earlier);
    let votes: Vec<f64> = local
        .chunk_by(|a, b| a.date == b.date)
        .filter(|d| d[0].date > day)
        .filter_map(|d| Some(likelihood(&week, d)? - likelihood(&week, &of_day(&kept, d[0].date))?))
        .collect();
    let days_local = votes.iter().filter(|v| **v > UNDECIDED).count();
    let days_utc = votes.iter().filter(|v| **v < -UNDECIDED).count();
    let p = sign_test(days_local, days_utc);
    let follows = match p <= LEVEL {
        true if days_local > days_utc => Follows::LocalClock,
        true => Follows::Utc,
        false => Follows::NotEnough,
    };
    Some(ClockChange { at, forward: after.seconds() - before.seconds(), days_local, days_utc, p, follows })
}

/// The first moment within a series at which the zone's offset changes.
fn transition(series: &Series, zone: &TimeZone) -> Option<(Timestamp, Offset, Offset)> {
    let begin = series.samples()[0].at;
    let mut before = zone.to_offset(begin);
    for change in zone.following(begin).take_while(|t| t.timestamp() < series.end()) {
        let after = change.offset();
        if after != before {
            return Some((change.timestamp(), before, after));
        }
        before = after;
    }
    None
}

fn of_day(hours: &[Hour], date: Date) -> Vec<Hour> {
    hours.iter().filter(|h| h.date == date).copied().collect()
}

/// How likely a day's shares are by those of its like before; `None` where less than 23 hours can be compared.
fn likelihood(week: &Week, day: &[Hour]) -> Option<f64> {
    let (mut sum, mut count) = (0.0, 0);
    for hour in day {
        let like = if hour.weekday() < 5 { 0..5 } else { hour.weekday()..hour.weekday() + 1 };
        let (days, on) =
            like.map(|d| week.cells()[d][hour.hour]).fold((0.0, 0.0), |(n, k), c| (n + c.days, k + c.on));
        let Some(share) = hour.share().filter(|_| days > 0.0) else { continue };
        let p: f64 = (on + 0.5) / (days + 1.0);
        sum += share * p.ln() + (1.0 - share) * (1.0 - p).ln();
        count += 1;
    }
    (count >= 23).then_some(sum)
}

/// Two-sided sign test: the probability that of a + b fair coins one side shows at least the greater number. One without
/// coins.
fn sign_test(a: usize, b: usize) -> f64 {
    let n = a + b;
    let mut term = 0.5f64.powi(n as i32);
    let mut tail = 0.0;
    for k in 0..=a.min(b) {
        tail += term;
        term *= (n - k) as f64 / (k + 1) as f64;
    }
    (2.0 * tail).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy 1.17.1: binomtest(0, 6).pvalue = 0.03125, binomtest(1, 9).pvalue = 0.0390625, binomtest(4, 8).pvalue = 1.
    #[test]
    fn the_sign_test_has_its_known_values() {
        for ((a, b), p) in [((6, 0), 0.031_25), ((1, 8), 0.039_062_5), ((4, 4), 1.0), ((0, 0), 1.0)] {
            assert!((sign_test(a, b) - p).abs() < 1e-12, "{a} {b}");
        }
    }
}
