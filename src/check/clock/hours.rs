//! A log that does not overlap its track because it was written in another zone, or without daylight saving.

/// Zones differ by quarters of an hour, and by a day at most.
const QUARTER_S: f64 = 900.0;
const FARTHEST_S: f64 = 26.0 * 3600.0;

/// A shift is proposed when it lays so much of the log onto the track.
const SHARE: f64 = 0.9;

/// The least shift by quarters of an hour, whole hours before others, that lays nine tenths of the log's span onto the
/// track's; both as first and last time in seconds. `None` where none does, or where they overlap as they stand.
pub fn by_hours(log: (f64, f64), track: (f64, f64)) -> Option<f64> {
    let overlap = |shift: f64| (log.1 + shift).min(track.1) - (log.0 + shift).max(track.0);
    // A log of one moment has no span: it lies on the track or not.
    let needed = SHARE * (log.1 - log.0);
    let fits = |shift: f64| overlap(shift) >= needed.max(0.0);
    if overlap(0.0) >= 0.0 {
        return None;
    }
    let quarters = (FARTHEST_S / QUARTER_S) as i32;
    let mut shifts: Vec<f64> = (-quarters..=quarters).map(|i| QUARTER_S * f64::from(i)).collect();
    let whole = |shift: &f64| shift % 3600.0 == 0.0;
    shifts.sort_by(|a, b| whole(b).cmp(&whole(a)).then(a.abs().total_cmp(&b.abs())));
    shifts.into_iter().find(|s| fits(*s))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_hour_a_half_and_none() {
        let log = (1000.0, 1600.0);
        for (shift, expected) in [
            (3600.0, Some(3600.0)),
            (-7.0 * 3600.0, Some(-25200.0)),
            (5.75 * 3600.0, Some(20700.0)),
            (0.0, None),
        ] {
            // The track begins two minutes before the log and ends two minutes after it.
            assert_eq!(by_hours(log, (log.0 + shift - 120.0, log.1 + shift + 120.0)), expected, "{shift}");
        }
        // Ten minutes of log fit no track of five, nor one of another week.
        assert_eq!(by_hours(log, (8000.0, 8300.0)), None);
        assert_eq!(by_hours(log, (700_000.0, 700_600.0)), None);
        assert_eq!(by_hours((5.0, 5.0), (3590.0, 3620.0)), Some(3600.0));
    }
}
