//! A log of levels without places, and the tracks that give them: what the clocks are apart, and how that is known.

mod hours;
mod passes;
mod path;
mod positions;
mod profile;
mod tell;

use crate::{
    finding::Finding,
    geodesy::course,
    ingest::{Join, join},
    observe::{LevelReading, Track},
};

use passes::Passes;
use path::{Path, slots, span};
use profile::REACH_S;
pub(super) use profile::{Estimate, estimate, offsets};

/// Where two tracks lie further apart at one time than this, they are of two people: twice the error of a receiver
/// among houses. Common practice, no source.
const APART_M: f64 = 50.0;

/// At so many readings two tracks are compared; of longer logs at each second, third and so on.
const MOST_COMPARED: usize = 4_000;

/// Seconds of a daylight saving that was forgotten, either way.
const FORGOTTEN_S: [f64; 2] = [3600.0, -3600.0];

/// What log and track say about the offset between their clocks.
#[derive(Clone, Copy, Debug, Default)]
struct Evidence {
    /// From places that the log has itself.
    positions: Option<Estimate>,
    /// From places that are passed again.
    passes: Option<Passes>,
    /// Whether their times overlap.
    overlap: bool,
    /// Shift by quarters of an hour that would make them overlap.
    hours: Option<f64>,
}

/// Gives the readings without a place that of the tracks at their time, log by log, and tells how.
///
/// `stated` are seconds to add to the log's times to get the track's: what the log's clock is slow by, negative where it
/// is fast. Where nothing is stated, the offset is estimated: from places that the log has itself, or else from the levels
/// where the way comes back to a place, as the one at which they agree best. It is applied only where one offset stands
/// out, with a standard deviation of at most three seconds, and told with it. From the overlap of the times alone an offset
/// cannot be told: then none is added, and that is said. Whole hours are proposed, never applied. No place is given across
/// a gap of the track ([`crate::ingest::join`]).
///
/// Of several tracks the one that covers most of a log comes first; others fill what it leaves.
pub fn place(readings: &mut [LevelReading], tracks: &[Track], stated: Option<f64>) -> Vec<Finding> {
    let mut out = Vec::new();
    // Logs are told apart by their file: each has a clock of its own.
    let mut rest = readings;
    while let Some(first) = rest.first() {
        let file = first.written.file.clone();
        let end = rest.iter().position(|r| r.written.file != file).unwrap_or(rest.len());
        let (log, others) = rest.split_at_mut(end);
        place_log(log, tracks, stated, &mut out);
        rest = others;
    }
    out
}

fn place_log(log: &mut [LevelReading], tracks: &[Track], stated: Option<f64>, out: &mut Vec<Finding>) {
    let any = !tracks.is_empty();
    let tracks = by_cover(log, tracks, stated.unwrap_or(0.0));
    let wanted = log.iter().any(|r| r.at.is_none());
    let Some(best) = tracks.first() else {
        out.extend(tell::no_fix(log).filter(|_| wanted && any));
        return;
    };
    let evidence = evidence(log, best);
    // Without any time there is no clock; the join tells that.
    let offset = match span(log) {
        Some(_) => tell::offset(log, evidence, stated, wanted, out),
        None => 0.0,
    };
    if !wanted {
        return;
    }
    let how = Join { clock_offset_ms: (offset * 1e3).round() as i64, ..Join::default() };
    for (index, track) in tracks.iter().enumerate() {
        let before = missing(log);
        let told = join(log, track, &how);
        // Of a track that places nothing more only the first tells why: the last tells of what is left.
        if index + 1 == tracks.len() || index == 0 && missing(log) == before {
            out.extend(told);
        } else {
            out.extend(told.into_iter().filter(|f| f.code == "joined"));
        }
        if missing(log) == 0 {
            break;
        }
    }
    if let [first, second, ..] = tracks[..] {
        out.extend(contradict(log, first, second, offset));
    }
}

fn missing(log: &[LevelReading]) -> usize {
    log.iter().filter(|r| r.at.is_none()).count()
}

/// Tracks with fixes, the one that covers most of the log's time first.
fn by_cover<'t>(log: &[LevelReading], tracks: &'t [Track], offset: f64) -> Vec<&'t Track> {
    let Some((from, to)) = span(log) else { return tracks.iter().filter(|t| !t.fixes.is_empty()).collect() };
    let cover = |track: &Track| {
        let (first, last) = ends(track).unwrap_or((0.0, 0.0));
        (to + offset).min(last) - (from + offset).max(first)
    };
    let mut found: Vec<&Track> = tracks.iter().filter(|t| !t.fixes.is_empty()).collect();
    found.sort_by(|a, b| cover(b).total_cmp(&cover(a)));
    found
}

fn ends(track: &Track) -> Option<(f64, f64)> {
    let seconds = |f: &crate::observe::Fix| f.time.as_millisecond() as f64 / 1e3;
    Some((seconds(track.fixes.first()?), seconds(track.fixes.last()?)))
}

fn evidence(log: &[LevelReading], track: &Track) -> Evidence {
    let (Some(of_log), Some(of_track)) = (span(log), ends(track)) else { return Evidence::default() };
    let overlap = of_log.0 <= of_track.1 && of_track.0 <= of_log.1;
    let hours = hours::by_hours(of_log, of_track);
    let mut found = Evidence { overlap, hours, ..Evidence::default() };
    let reach = REACH_S + FORGOTTEN_S[0];
    let Some(path) = Path::of(track, of_log.0 - reach, of_log.1 + reach) else { return found };
    let slots = slots(log, &path.plane);
    let near = positions::by_positions(&slots, &path, 0.0);
    let forgotten = || FORGOTTEN_S.iter().filter_map(|h| positions::by_positions(&slots, &path, *h));
    found.positions = near.filter(Estimate::settled).or_else(|| forgotten().find(Estimate::settled)).or(near);
    if found.positions.is_none() {
        found.passes = passes::by_passes(&slots, &path);
    }
    found
}

/// Two tracks that lie apart at the same times of one log.
fn contradict(log: &[LevelReading], first: &Track, second: &Track, offset: f64) -> Option<Finding> {
    let (from, to) = span(log)?;
    let both = [first, second].map(|t| Path::of(t, from + offset, to + offset));
    let [Some(a), Some(b)] = both else { return None };
    let apart = |reading: &&LevelReading| {
        let time = super::levels::seconds(reading)? + offset;
        Some(course(a.plane.to_place(a.at(time)?), b.plane.to_place(b.at(time)?)).distance.value())
    };
    let stride = log.len().div_ceil(MOST_COMPARED).max(1);
    let far: Vec<&LevelReading> =
        log.iter().step_by(stride).filter(|r| apart(r).is_some_and(|d| d > APART_M)).collect();
    let message = format!(
        "{} and {} lie more than {APART_M:.0} m apart at the times of {} reading(s) of {} compared: the first is used",
        first.fixes[0].written.file,
        second.fixes[0].written.file,
        far.len(),
        log.iter().step_by(stride).count()
    );
    let hint = "name only the track of whoever carried the receiver";
    Some(Finding::doubtful("tracks-differ", message).at(far.first()?.written.origin()).hint(hint))
}
