//! Hours that repeat: the week, whether there is a pattern at all, and when to go.

use jiff::{Timestamp, tz::TimeZone};

use crate::{
    activity::{Hour, Series, after, seconds},
    numeric::random::Random,
};

/// A log shorter than this shows no pattern, days.
const SHORTEST: f64 = 3.0;

/// Rotations of the days against each other, and their seed.
const ROTATIONS: usize = 999;
const SEED: u64 = 1;

/// Hours scatter as by chance above this probability: common practice.
const BY_CHANCE: f64 = 0.05;

/// An hour of a weekday.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Cell {
    /// Days on which it was observed.
    pub days: f64,
    /// Sum of the shares of time in which it was on.
    pub on: f64,
}

impl Cell {
    /// Mean share of time, where it was observed.
    pub fn share(&self) -> Option<f64> {
        (self.days > 0.0).then(|| self.on / self.days)
    }
}

/// Hours by weekday, Monday first, local time.
#[derive(Clone, Debug, PartialEq)]
pub struct Week([[Cell; 24]; 7]);

/// Whether hours repeat from day to day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pattern {
    /// The log is too short to tell: this many days.
    TooShort(f64),
    /// The days, turned against each other at random, look as ordered with this probability.
    AsByChance(f64),
    /// They do not: the probability.
    Established(f64),
}

/// A time in which it is likely on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Its beginning.
    pub from: Timestamp,
    /// Its end.
    pub to: Timestamp,
    /// Probability that it is on at a moment within, 0 to 1.
    pub chance: f64,
}

impl Week {
    /// The week of these hours.
    pub fn of(hours: &[Hour]) -> Self {
        let mut cells = [[Cell::default(); 24]; 7];
        for (hour, share) in hours.iter().filter_map(|h| Some((h, h.share()?))) {
            let cell = &mut cells[hour.weekday()][hour.hour.min(23)];
            cell.days += 1.0;
            cell.on += share;
        }
        Self(cells)
    }

    /// The cells as days observed and sums of shares of time on, row by row; [`Self::of_rows`] reads them.
    pub fn rows(&self) -> Vec<Vec<(f64, f64)>> {
        self.0.iter().map(|day| day.iter().map(|c| (c.days, c.on)).collect()).collect()
    }

    /// The week of such rows; `None` unless they are seven of 24 numbers, not below zero.
    pub fn of_rows(rows: &[Vec<(f64, f64)>]) -> Option<Self> {
        let mut cells = [[Cell::default(); 24]; 7];
        let whole = rows.len() == 7 && rows.iter().all(|r| r.len() == 24);
        let sound = rows.iter().flatten().all(|(days, on)| *on >= 0.0 && on <= days && days.is_finite());
        for (row, day) in cells.iter_mut().zip(rows) {
            for (cell, &(days, on)) in row.iter_mut().zip(day) {
                *cell = Cell { days, on };
            }
        }
        (whole && sound).then_some(Self(cells))
    }

    /// The cells, by weekday from Monday and by hour.
    pub const fn cells(&self) -> &[[Cell; 24]; 7] {
        &self.0
    }

    /// Probability that it is on at a moment in this hour of this weekday; `None` where neither the hour nor, on a working
    /// day, that of another working day was observed.
    ///
    /// (k + 2 m)/(n + 2): of n such hours it was on in k, and m is the same estimate, (k′ + ½)/(n′ + 1), from the other working
    /// days; a half where there are none, which is Laplace's rule of succession ([`crate::sources::LAPLACE1774`]).
    pub fn chance(&self, weekday: usize, hour: usize) -> Option<f64> {
        let own = self.0.get(weekday)?.get(hour)?;
        let others = (0..5).filter(|d| weekday < 5 && *d != weekday).map(|d| self.0[d][hour]);
        let (days, on) = others.fold((0.0, 0.0), |(n, k), c| (n + c.days, k + c.on));
        let like = (on + 0.5) / (days + 1.0);
        (own.days + days > 0.0).then(|| (own.on + 2.0 * like) / (own.days + 2.0))
    }
}

/// Whether the days agree about their hours more than they would if each were turned by a number of hours at random, which
/// keeps each day's own spells. Days of which less than half an hour is missing count.
pub fn established(series: &Series, hours: &[Hour]) -> Pattern {
    if series.days() < SHORTEST {
        return Pattern::TooShort(series.days());
    }
    let days: Vec<[f64; 24]> = hours.chunk_by(|a, b| a.date == b.date).filter_map(whole_day).collect();
    if days.len() < 2 {
        return Pattern::TooShort(series.days());
    }
    let stated = agreement(&days, &vec![0; days.len()]);
    let mut random = Random::seeded(SEED);
    let mut as_good = 0;
    for _ in 0..ROTATIONS {
        let turns: Vec<usize> = days.iter().map(|_| random.index(24)).collect();
        as_good += usize::from(agreement(&days, &turns) >= stated * (1.0 - 1e-12));
    }
    let p = (1 + as_good) as f64 / (1 + ROTATIONS) as f64;
    if p > BY_CHANCE { Pattern::AsByChance(p) } else { Pattern::Established(p) }
}

/// The 24 shares of a day; an hour that the clocks skip takes the share of the one before.
fn whole_day(hours: &[Hour]) -> Option<[f64; 24]> {
    let known: Vec<(usize, f64)> = hours.iter().filter_map(|h| Some((h.hour, h.share()?))).collect();
    let mut out = [0.0; 24];
    for (hour, share) in &known {
        out[*hour] = *share;
        if let Some(next) = out.get_mut(hour + 1) {
            *next = *share;
        }
    }
    (known.len() >= 23).then_some(out)
}

/// Squares of the sums by hour, of days turned by these hours.
fn agreement(days: &[[f64; 24]], turns: &[usize]) -> f64 {
    (0..24)
        .map(|h| days.iter().zip(turns).map(|(day, turn)| day[(h + turn) % 24]).sum::<f64>())
        .map(|sum| sum * sum)
        .sum()
}

/// Times within a week from a moment on in which it is on with a probability of a half or more, hour by hour of the local
/// clock.
pub fn windows(week: &Week, zone: &TimeZone, from: Timestamp) -> Vec<Window> {
    let mut out: Vec<Window> = Vec::new();
    let mut at = from;
    let end = seconds(from) + 7.0 * 86_400.0;
    let mut hours = 0.0;
    // An hour more than a week has, for a beginning within one.
    for _ in 0..169 {
        let local = zone.to_datetime(at);
        let gone = f64::from(local.minute()) * 60.0 + f64::from(local.second());
        let next = after(at, 3_600.0 - gone);
        let weekday = usize::from(local.weekday().to_monday_zero_offset().unsigned_abs());
        let chance = week.chance(weekday, usize::from(local.hour().unsigned_abs())).filter(|c| *c >= 0.5);
        if seconds(at) >= end || next <= at {
            break;
        }
        if let Some(chance) = chance {
            match out.last_mut().filter(|w| w.to == at) {
                Some(window) => {
                    window.to = next;
                    window.chance = (window.chance * hours + chance) / (hours + 1.0);
                    hours += 1.0;
                }
                None => {
                    out.push(Window { from: at, to: next, chance });
                    hours = 1.0;
                }
            }
        }
        at = next;
    }
    out
}
