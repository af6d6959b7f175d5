//! Hours of local time: how long each was observed, and how long it was on.

use std::collections::BTreeMap;

use jiff::{civil::Date, tz::TimeZone};

use crate::activity::{Series, seconds};

/// Zones differ from UTC by whole quarters of an hour.
const QUARTER: f64 = 900.0;

/// An hour of a local day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hour {
    /// The local day.
    pub date: Date,
    /// Hour of the local clock, 0 to 23.
    pub hour: usize,
    /// How long it was observed, seconds; up to 7200 in an hour that occurs twice.
    pub seen: f64,
    /// How long it was on, seconds.
    pub on: f64,
}

impl Hour {
    /// Days since Monday, 0 to 6.
    pub fn weekday(&self) -> usize {
        usize::from(self.date.weekday().to_monday_zero_offset().unsigned_abs())
    }

    /// Share of the observed time, where at least half of the hour was observed.
    pub fn share(&self) -> Option<f64> {
        (self.seen >= 1_800.0).then(|| self.on / self.seen)
    }
}

/// The hours of a zone's clock that a series tells something of, in order. `shares` are those of its samples.
pub fn hours(series: &Series, shares: &[f64], zone: &TimeZone) -> Vec<Hour> {
    let mut all: BTreeMap<(Date, i8), (f64, f64)> = BTreeMap::new();
    let mut last: Option<(f64, (Date, i8))> = None;
    for (i, share) in shares.iter().enumerate() {
        let begin = seconds(series.samples()[i].at);
        let end = begin + series.holds(i);
        let mut at = begin;
        while at < end {
            let quarter = (at / QUARTER).floor();
            let key = match last {
                Some((q, key)) if q == quarter => key,
                _ => local(quarter * QUARTER, zone),
            };
            last = Some((quarter, key));
            let until = end.min((quarter + 1.0) * QUARTER);
            let cell = all.entry(key).or_default();
            cell.0 += until - at;
            cell.1 += share * (until - at);
            at = until;
        }
    }
    let hour = |((date, hour), (seen, on)): ((Date, i8), (f64, f64))| Hour {
        date,
        hour: usize::from(hour.unsigned_abs()),
        seen,
        on,
    };
    all.into_iter().map(hour).collect()
}

fn local(at: f64, zone: &TimeZone) -> (Date, i8) {
    let at = jiff::Timestamp::from_second(at as i64).unwrap_or_default();
    let local = zone.to_datetime(at);
    (local.date(), local.hour())
}
