//! The floor of a receiver that nobody stated, or that lies higher than stated.

use crate::{
    check::levels::{Label, Labels, at_share, pad, walks},
    finding::Finding,
    observe::LevelReading,
    units::Dbm,
};

/// With fewer readings at the bottom, or fewer while the emitter was off, no floor is seen.
const FEWEST: usize = 8;
const FEWEST_OFF: usize = 5;

/// A pile's fullest decibel holds this many times what each of the three above it holds, and this many of their standard
/// deviations (√n of a count n) more: towards its lower end a distribution of levels thins out, it does not swell. Common
/// practice, no source.
const TIMES: f64 = 2.0;
const DEVIATIONS: f64 = 4.0;

/// How far up from the lowest reading the pile may lie, decibels.
const LOWEST_DB: usize = 8;

/// A pile this far above the stated floor, decibels, is the floor: noise that has doubled is 3 dB, and floors are stated in
/// whole decibels. Common practice, no source.
const RAISED_DB: f64 = 1.0;

/// More than half of a log may be a pile where its strongest reading lies this far above: then there is something that is not
/// noise. Common practice, no source.
const RISEN_DB: f64 = 15.0;

/// Where a floor was seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Seen {
    /// In readings while the emitter was off.
    Off,
    /// In readings that pile up at the bottom.
    Pile,
}

/// The floor of one receiver in one file, at the receiver: an attenuator is not in it.
struct Estimate {
    value: f64,
    count: usize,
    seen: Seen,
}

/// Floors of readings, as stated or as seen.
pub struct Floors {
    /// For each reading the floor at the antenna's connector, as its level is.
    pub floors: Vec<Option<Dbm>>,
    /// What there is to tell.
    pub findings: Vec<Finding>,
}

/// The floor of each reading: the stated one, else that of its receiver, where its readings show one; and that too where the
/// readings pile up above the stated one, for then noise or another signal is heard there.
pub fn floors(readings: &[LevelReading], labels: &[Labels]) -> Floors {
    let mut out = Floors { floors: readings.iter().map(|r| r.floor).collect(), findings: Vec::new() };
    let (mut without, mut first) = (0usize, None);
    for walk in walks(readings) {
        raise(readings, labels, &walk, &mut out);
        let bare: Vec<usize> = walk.into_iter().filter(|i| needs(&readings[*i])).collect();
        let Some(at) = bare.first().map(|i| readings[*i].written.origin()) else { continue };
        match estimate(readings, labels, &bare) {
            Some(found) => {
                for index in bare {
                    out.floors[index] = Some(Dbm::new(found.value + pad(&readings[index])));
                }
                out.findings.push(told(&found).at(at));
            }
            None => {
                without += bare.len();
                first.get_or_insert(at);
            }
        }
    }
    if let Some(at) = first {
        let message =
            format!("{without} reading(s) state no floor, and none is seen: none counts as below it");
        let hint = "weak places vanish from a log that begins above them: state the floor with --floor or in a column floor_dbm";
        out.findings.push(Finding::assumed("floor-unknown", message).at(at).hint(hint));
    }
    out
}

/// Raises the stated floor of one receiver to where its readings pile up.
fn raise(readings: &[LevelReading], labels: &[Labels], walk: &[usize], out: &mut Floors) {
    let stated: Vec<usize> = walk.iter().copied().filter(|i| readings[*i].floor.is_some()).collect();
    // The pile is of what the receiver shows; rows that say only "below the floor" have nothing to pile up.
    let Some(at) = stated.first().map(|i| readings[*i].written.origin()) else { return };
    let Some(found) = pile(&shown(readings, labels, &stated, false)) else { return };
    let bare = |i: usize| Some(readings[i].floor?.value() - pad(&readings[i]));
    let mut floors: Vec<f64> = stated.iter().filter_map(|i| bare(*i)).collect();
    floors.sort_by(f64::total_cmp);
    let Some(middle) = at_share(&floors, 0.5).filter(|m| found.value > m + RAISED_DB) else { return };
    for index in stated {
        let raised = Dbm::new(found.value + pad(&readings[index]));
        out.floors[index] = out.floors[index].map(|f| if raised.value() > f.value() { raised } else { f });
    }
    let message = format!(
        "the stated floor is {middle:.1} dBm, but {} reading(s) pile up around {:.1} dBm before the attenuator: noise or another \
         signal is heard there, and this is taken as the floor",
        found.count, found.value
    );
    let hint = "listen there with the emitter off, and state the floor that is seen";
    out.findings.push(Finding::doubtful("floor-raised", message).at(at).hint(hint));
}

fn needs(reading: &LevelReading) -> bool {
    reading.floor.is_none() && reading.level.measured().is_some()
}

fn told(found: &Estimate) -> Finding {
    let how = match found.seen {
        Seen::Off => "were taken while the emitter was off and lie around",
        Seen::Pile => "pile up at the bottom around",
    };
    let message = format!(
        "no floor is stated; {} reading(s) {how} {:.1} dBm before the attenuator: this is taken as the floor",
        found.count, found.value
    );
    let hint = "state the receiver's own with --floor, or in a column floor_dbm";
    Finding::doubtful("floor-estimated", message).hint(hint)
}

fn estimate(readings: &[LevelReading], labels: &[Labels], bare: &[usize]) -> Option<Estimate> {
    let quiet = shown(readings, labels, bare, true);
    if quiet.len() >= FEWEST_OFF {
        return Some(Estimate { value: at_share(&quiet, 0.5)?, count: quiet.len(), seen: Seen::Off });
    }
    pile(&shown(readings, labels, bare, false))
}

/// Levels before the attenuator, sorted, of rows that measured something, with the emitter off or on.
fn shown(readings: &[LevelReading], labels: &[Labels], rows: &[usize], off: bool) -> Vec<f64> {
    // Behind an attenuator a strong signal may pile up too: the pile is looked for where there is least.
    let least = rows.iter().map(|i| pad(&readings[*i])).fold(f64::INFINITY, f64::min);
    let mut out: Vec<f64> = rows
        .iter()
        .filter(|i| off || pad(&readings[**i]) == least)
        .filter(|i| !labels[**i].iter().any(Label::no_measurement))
        .filter(|i| labels[**i].has(Label::OffAir) == off)
        .filter_map(|i| Some(readings[*i].level.measured()?.value() - pad(&readings[*i])))
        .collect();
    out.sort_by(f64::total_cmp);
    out
}

/// The pile at the lower end of sorted levels: the fullest decibel near the end, with its neighbours.
fn pile(sorted: &[f64]) -> Option<Estimate> {
    let lowest = *sorted.first()?;
    let mut counts = [0usize; LOWEST_DB + 4];
    for level in sorted {
        if let Some(count) = counts.get_mut((level - lowest).floor() as usize) {
            *count += 1;
        }
    }
    let peak = (0..LOWEST_DB).max_by_key(|i| (counts[*i], std::cmp::Reverse(*i)))?;
    // Between pile and signal lies one decibel that both reach into.
    let above =
        counts[peak + 2..].iter().take(3).sum::<usize>() as f64 / counts[peak + 2..].len().min(3) as f64;
    let (from, to) = (lowest + peak as f64 - 2.0, lowest + peak as f64 + 2.0);
    let within: Vec<f64> = sorted.iter().copied().filter(|l| (from..to).contains(l)).collect();
    let least = (TIMES * above).max(above + DEVIATIONS * above.sqrt());
    let piled = within.len() >= FEWEST && counts[peak] as f64 > least;
    // A whole log within these decibels is no pile at the end of anything.
    let risen = sorted.last()? - (lowest + peak as f64) >= RISEN_DB;
    let ends = 2 * within.len() < sorted.len() || risen;
    Some(Estimate { value: at_share(&within, 0.5)?, count: within.len(), seen: Seen::Pile })
        .filter(|_| piled && ends)
}
