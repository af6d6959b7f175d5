//! Times of NMEA 0183, which has days in some sentences only.

use jiff::{ToSpan, civil::Date, tz::TimeZone};

use crate::{geodesy::Place, observe::FixQuality};

/// What the sentences of one time say.
#[derive(Clone, Debug)]
pub struct Epoch {
    /// Line of the first of them.
    pub line: u64,
    /// Milliseconds since midnight; negative where none was known.
    pub time: i64,
    /// The day, where one of them has it.
    pub date: Option<Date>,
    /// The place.
    pub at: Option<Place>,
    /// How well it was known.
    pub quality: FixQuality,
    /// Whether one of them says that there is no fix.
    pub void: bool,
}

/// Half a day: a time of day that goes back by more than this has passed midnight.
const HALF_DAY: i64 = 43_200_000;

/// Gives every epoch a date: its own, else that of the one before, or after, past midnight where the time wraps. Whether
/// there is any.
pub fn dated(epochs: &mut [Epoch], first_day: Option<Date>) -> bool {
    let timed: Vec<usize> = (0..epochs.len()).filter(|i| epochs[*i].time >= 0).collect();
    if let (Some(first), Some(day), true) =
        (timed.first(), first_day, epochs.iter().all(|e| e.date.is_none()))
    {
        epochs[*first].date = Some(day);
    }
    let carry = |epochs: &mut [Epoch], from: usize, to: usize, days: i64| {
        if epochs[to].date.is_none() {
            let turn = (epochs[from].time - epochs[to].time) * days > HALF_DAY;
            epochs[to].date =
                epochs[from].date.and_then(|d| if turn { d.checked_add(days.days()).ok() } else { Some(d) });
        }
    };
    for pair in timed.windows(2) {
        carry(epochs, pair[0], pair[1], 1);
    }
    for pair in timed.windows(2).rev() {
        carry(epochs, pair[1], pair[0], -1);
    }
    timed.iter().any(|i| epochs[*i].date.is_some())
}

/// The instant of an epoch. One without a date has been told for the whole file.
pub fn instant(epoch: &Epoch) -> Option<jiff::Timestamp> {
    let midnight = TimeZone::UTC.to_timestamp(epoch.date?.at(0, 0, 0, 0)).ok()?;
    midnight.checked_add(epoch.time.milliseconds()).ok()
}
