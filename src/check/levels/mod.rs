//! Labels for levels: what was taken while the emitter was off, at a place that cannot be, or by a receiver beyond its
//! limits. Every reading stays; a label says why a fit leaves it out, or what to look at.

mod attenuator;
mod devices;
mod floor;
mod jumps;
mod labels;
mod line;
mod off_air;
mod places;
mod range;
mod receiver;
mod skew;
mod twice;
mod usable;
mod values;

use std::collections::BTreeMap;

use crate::{
    finding::Finding,
    observe::{FixKind, Level, LevelReading},
};

pub use labels::{Label, Labels};
pub use usable::{Heard, Prepared, UsableLevel, usable};

/// Positions with a larger dilution of precision are doubted: common practice, no source.
const WORST_HDOP: f64 = 5.0;

/// Readings with their labels, in the same order, and what there is to tell.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Labelled {
    /// Labels of each reading.
    pub labels: Vec<Labels>,
    /// One finding for each label that was given, with the count and the first line; and other doubts.
    pub findings: Vec<Finding>,
}

impl Labelled {
    /// Whether a fit leaves a reading out.
    pub fn left_out(&self, index: usize) -> bool {
        self.labels[index].iter().any(Label::leaves_out)
    }
}

/// Labels readings. `monitor` are the levels of receivers that stood still meanwhile and may be empty; without them
/// nothing tells for certain when the emitter was off.
pub fn levels(readings: &[LevelReading], monitor: &[LevelReading]) -> Labelled {
    let mut out = Labelled { labels: vec![Labels::default(); readings.len()], findings: Vec::new() };
    for (reading, labels) in readings.iter().zip(&mut out.labels) {
        plain(reading, labels);
    }
    places::label(readings, &mut out);
    twice::label(readings, &mut out);
    let monitors = off_air::by_monitor(readings, monitor, &mut out);
    out.findings.extend(monitors.and_then(|m| skew::tell(readings, &m)));
    let walks = walks(readings);
    for walk in &walks {
        values::label(readings, walk, &mut out);
        jumps::label(readings, walk, &mut out);
        if monitor.is_empty() {
            off_air::by_runs(readings, walk, &mut out);
        }
        receiver::label(readings, walk, &mut out);
    }
    whole(readings, &walks, &mut out);
    let counted = Label::ALL.into_iter().filter_map(|label| counted(label, readings, &out.labels));
    out.findings.extend(counted.collect::<Vec<_>>());
    out
}

/// What there is to tell about the readings that are not left out, all together.
fn whole(readings: &[LevelReading], walks: &[Vec<usize>], out: &mut Labelled) {
    let mut floors = floor::floors(readings, &out.labels);
    out.findings.append(&mut floors.findings);
    for walk in walks {
        attenuator::tell(readings, walk, &floors.floors, out);
    }
    let labels = &out.labels;
    let told = devices::tell(readings, labels)
        .into_iter()
        .chain(range::tell(readings, labels))
        .chain(line::tell(readings, labels));
    out.findings.extend(told.collect::<Vec<_>>());
}

/// Labels that a reading deserves by itself.
fn plain(reading: &LevelReading, labels: &mut Labels) {
    match reading.at {
        None => labels.add(Label::NoPlace),
        Some(_) if reading.fix.kind == Some(FixKind::NoFix) => labels.add(Label::NoFix),
        Some(_) if reading.fix.hdop.is_some_and(|h| h > WORST_HDOP) => labels.add(Label::PoorFix),
        Some(_) => {}
    }
    if reading.level == Level::OffAir {
        labels.add(Label::OffAir);
    }
}

/// Readings of one file and receiver, in the order of their lines.
fn walks(readings: &[LevelReading]) -> Vec<Vec<usize>> {
    let mut walks: BTreeMap<(&str, Option<&str>), Vec<usize>> = BTreeMap::new();
    for (index, reading) in readings.iter().enumerate() {
        walks.entry((&reading.written.file, reading.device.as_deref())).or_default().push(index);
    }
    walks.into_values().collect()
}

fn counted(label: Label, readings: &[LevelReading], labels: &[Labels]) -> Option<Finding> {
    let with: Vec<usize> = (0..labels.len()).filter(|i| labels[*i].has(label)).collect();
    let first = readings.get(*with.first()?)?.written.origin();
    let fate = if label.leaves_out() { "left out" } else { "used as they are" };
    let message = format!("{} reading(s) {}: {fate}", with.len(), label.reason());
    Some(Finding::doubtful(label.code(), message).at(first).hint(label.hint()))
}

/// The attenuator in front of the receiver, dB.
fn pad(reading: &LevelReading) -> f64 {
    reading.attenuator.map_or(0.0, |a| a.value())
}

/// Seconds since 1970.
pub(super) fn seconds(reading: &LevelReading) -> Option<f64> {
    reading.time.as_ref().map(|t| t.utc().as_millisecond() as f64 / 1e3)
}

/// The value below which a share of the sorted values lies.
fn at_share(sorted: &[f64], share: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    sorted.get((share * last as f64).round() as usize).copied()
}
