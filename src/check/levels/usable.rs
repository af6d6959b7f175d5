//! Readings as a solver needs them: where, how strong without the receiver's own noise, by which receiver.

use std::{collections::BTreeMap, sync::Arc};

use crate::{
    check::levels::{Label, Labels, floor::floors},
    finding::Finding,
    geodesy::Place,
    ingest::METRES_PER_HDOP,
    observe::{Level, LevelReading, Written},
    units::{Db, Dbm, Metres, Sigma},
};

/// Error of one reading and of a floor, one standard deviation: what receivers show in steps of a decibel or flutters by
/// as much. Common practice, no source.
const READING_DB: f64 = 1.0;

/// What was heard of the emitter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Heard {
    /// This power at the antenna's connector, the receiver's noise taken off.
    Signal {
        /// The power.
        level: Dbm,
        /// What the receiver and its noise make uncertain of it; shadowing is not in it.
        sigma: Sigma<Db>,
    },
    /// Less than this power: a censored reading ([`crate::sources::TOBIN1958`]).
    Below(Dbm),
}

/// A reading that a solver may use.
#[derive(Clone, Debug, PartialEq)]
pub struct UsableLevel {
    /// Where.
    pub at: Place,
    /// One standard deviation of the place, stated or from the dilution of precision; `None` where nothing is known.
    pub position: Option<Sigma<Metres>>,
    /// Height of the antenna above ground, when stated.
    pub height: Option<Metres>,
    /// How strong.
    pub heard: Heard,
    /// Its receiver, an index into [`Prepared::devices`].
    pub device: usize,
    /// Seconds since 1970, when known.
    pub time: Option<f64>,
    /// Its index among the readings.
    pub index: usize,
    /// Where it was written down.
    pub written: Written,
}

/// Readings for a solver, and what became of the others.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Prepared {
    /// What can be used, in the order of the readings.
    pub levels: Vec<UsableLevel>,
    /// Names of the receivers, or of the file where a receiver has no name.
    pub devices: Vec<String>,
    /// How many readings were left out for each reason; one with several counts for the first. With the usable ones they
    /// make all readings.
    pub left_out: Vec<(Label, usize)>,
    /// How many of the usable ones lie below the floor.
    pub below: usize,
    /// What was taken for granted.
    pub findings: Vec<Finding>,
}

/// Prepares readings for a solver: leaves out what its labels leave out, and takes the receiver's noise off the rest.
///
/// A receiver shows the sum of signal and noise. Of a reading L above a floor N remains S = 10 log₁₀(10^(L/10) − 10^(N/10))
/// ([`crate::sources::ISO3746`]); its error grows as the two come closer: with an error of 1 dB of reading and floor each it
/// is √(1 + r²)/(1 − r) dB, r = 10^((N−L)/10), 1.1 dB at 10 dB and 2.2 dB at 3 dB. At 3.01 dB above the floor the signal
/// equals the noise. Nearer to it, or below it, the reading says only that the signal is weaker than the noise: it is
/// censored, with the floor as its limit. (The limit in the reading is 3 dB above the floor, that of the signal is the floor
/// itself.) Floors that nobody stated are those that the readings show; without any, levels are used as they are.
pub fn usable(readings: &[LevelReading], labels: &[Labels]) -> Prepared {
    let mut out = Prepared::default();
    let floors = floors(readings, labels).floors;
    let mut receivers = Receivers::default();
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    let (mut hdops, mut lessened, mut weak) = (0usize, (0usize, 0.0f64), 0usize);
    for (index, reading) in readings.iter().enumerate() {
        let reason = labels[index].iter().find(|l| l.leaves_out());
        let (None, Some(at), Some(found)) = (reason, reading.at, heard(reading.level, floors[index])) else {
            // A reading without place or level has a label that says so, unless the labels are those of other readings.
            let label = reason.unwrap_or(if reading.at.is_none() { Label::NoPlace } else { Label::OffAir });
            *counts.entry(order(label)).or_default() += 1;
            continue;
        };
        let hdop = reading.fix.hdop.map(|h| h * METRES_PER_HDOP);
        hdops += usize::from(reading.sigma.is_none() && hdop.is_some());
        out.below += usize::from(matches!(found, Heard::Below(_)));
        if let (Heard::Signal { level, .. }, Some(read)) = (found, reading.level.measured()) {
            let off = (read - level).value();
            lessened = (lessened.0 + usize::from(off >= 0.05), lessened.1.max(off));
        }
        weak += usize::from(matches!(found, Heard::Below(_)) && reading.level.measured().is_some());
        out.levels.push(UsableLevel {
            at,
            position: reading.sigma.or(hdop.and_then(Sigma::<Metres>::metres)),
            height: reading.height,
            heard: found,
            device: receivers.index(reading),
            time: super::seconds(reading),
            index,
            written: reading.written.clone(),
        });
    }
    out.devices = receivers.names;
    out.left_out = counts.into_iter().map(|(at, count)| (Label::ALL[at], count)).collect();
    let mut assume = |given: bool, code, message: String| {
        if given {
            out.findings.push(Finding::assumed(code, message));
        }
    };
    let message = format!(
        "{} reading(s) hold noise of the receiver of 0.05 dB and more: it is taken off, {:.1} dB at most",
        lessened.0, lessened.1
    );
    assume(lessened.0 > 0, "noise-taken-off", message);
    let message = format!(
        "{weak} reading(s) less than 3 dB above the floor count as below it: there the noise is stronger than the signal"
    );
    assume(weak > 0, "near-floor", message);
    let message = format!(
        "position error of {hdops} reading(s): HDOP times {METRES_PER_HDOP:.0} m, one standard deviation (common practice)"
    );
    assume(hdops > 0, "position-from-hdop", message);
    out
}

fn order(label: Label) -> usize {
    Label::ALL.iter().position(|l| *l == label).unwrap_or(0)
}

/// What a reading tells of the signal.
fn heard(level: Level, floor: Option<Dbm>) -> Option<Heard> {
    let read = match level {
        Level::OffAir => return None,
        Level::BelowFloor(limit) => return Some(Heard::Below(limit)),
        Level::Measured(read) => read,
    };
    let Some(floor) = floor else {
        return Some(Heard::Signal { level: read, sigma: Sigma::<Db>::db(READING_DB)? });
    };
    let noise = (floor - read).value();
    let share = Db::new(noise).to_ratio();
    // Half of what is shown is noise.
    if share > 0.5 {
        return Some(Heard::Below(floor));
    }
    let sigma = READING_DB * (1.0 + share * share).sqrt() / (1.0 - share);
    Some(Heard::Signal { level: read + Db::of_ratio(1.0 - share), sigma: Sigma::<Db>::db(sigma)? })
}

/// Receivers by name; those without one by their file.
#[derive(Default)]
struct Receivers {
    known: BTreeMap<(bool, Arc<str>), usize>,
    names: Vec<String>,
}

impl Receivers {
    fn index(&mut self, reading: &LevelReading) -> usize {
        let key = match &reading.device {
            Some(device) => (true, device.clone()),
            None => (false, reading.written.file.clone()),
        };
        *self.known.entry(key).or_insert_with_key(|(_, name)| {
            self.names.push(name.to_string());
            self.names.len() - 1
        })
    }
}
