//! What a receiver does beyond its limits: levels that pile up at the top, that do not fall with the attenuator, that
//! never change.

use std::collections::BTreeMap;

use crate::{
    check::levels::{Label, Labelled, pad},
    geodesy::course,
    observe::LevelReading,
};

/// A level that never changes over so many readings is none; fewer may be alike by chance. Common practice, no source.
const FEWEST_ALIKE: usize = 20;

/// Over this way levels change, by fading within a wavelength and by shadowing. Common practice, no source.
const MOVED_M: f64 = 50.0;

/// Levels pile up when the strongest decibel holds so many, and so many times what each of the four below it holds:
/// towards its end a distribution thins out. Common practice, no source.
const PILE: usize = 8;
const PILE_TIMES: f64 = 3.0;

/// A true signal falls by exactly the attenuator; this much is left for the receiver's scale. Common practice, no source.
const SCALE_DB: f64 = 1.0;

/// A product of third order falls by 3 dB for each of the attenuator, one of second order by 2: arithmetic of powers.
const PRODUCT_SLOPE: f64 = 1.5;

/// Labels the readings of one receiver.
pub fn label(readings: &[LevelReading], walk: &[usize], out: &mut Labelled) {
    let shown: Vec<(usize, f64)> = walk.iter().filter_map(|i| Some((*i, shown(&readings[*i])?))).collect();
    let Some(top) = shown.iter().map(|s| s.1).max_by(f64::total_cmp) else { return };
    if shown.len() >= FEWEST_ALIKE && shown.iter().all(|s| s.1 == top) {
        shown.iter().for_each(|s| out.labels[s.0].add(Label::Stuck));
        return;
    }
    let piled: Vec<usize> = shown.iter().filter(|s| s.1 > top - 1.0).map(|s| s.0).collect();
    let below = shown.iter().filter(|s| s.1 <= top - 1.0 && s.1 > top - 5.0).count();
    if piled.len() >= PILE && piled.len() as f64 > PILE_TIMES * below as f64 / 4.0 {
        piled.into_iter().for_each(|i| out.labels[i].add(Label::Compressed));
    }
    frozen(readings, &shown, out);
    for stand in stands(readings, walk) {
        attenuators(readings, &stand, out);
    }
}

/// Labels runs of one level over a way on which a level must change, unless it is the receiver's lowest or highest.
fn frozen(readings: &[LevelReading], shown: &[(usize, f64)], out: &mut Labelled) {
    let (low, high) =
        shown.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), s| (l.min(s.1), h.max(s.1)));
    let between = |level: f64| level > low + 1.0 && level < high - 1.0;
    for run in shown.chunk_by(|a, b| a.1 == b.1) {
        if run.len() < FEWEST_ALIKE || !between(run[0].1) {
            continue;
        }
        let Some(start) = run.iter().find_map(|s| readings[s.0].at) else { continue };
        let moved = run.iter().filter_map(|s| readings[s.0].at).map(|at| course(start, at).distance.value());
        if moved.fold(0.0, f64::max) > MOVED_M {
            run.iter().for_each(|s| out.labels[s.0].add(Label::Stuck));
        }
    }
}

/// What the receiver shows: the level without cable, before the attenuator is added.
fn shown(reading: &LevelReading) -> Option<f64> {
    reading.level.measured()?;
    let pad = if reading.attenuator_in_raw { pad(reading) } else { 0.0 };
    reading.raw.map(|r| r.value - pad)
}

/// Readings of one named stand.
fn stands(readings: &[LevelReading], walk: &[usize]) -> Vec<Vec<usize>> {
    let mut stands: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for index in walk.iter().filter(|i| !readings[**i].stand.is_empty()) {
        stands.entry(&readings[*index].stand).or_default().push(*index);
    }
    stands.into_values().collect()
}

/// Compares each level of a stand with that behind the largest attenuator, which overloads the receiver least.
fn attenuators(readings: &[LevelReading], stand: &[usize], out: &mut Labelled) {
    let level = |i: &usize| readings[*i].level.measured().map(|l| l.value());
    let measured = || stand.iter().filter(|i| level(i).is_some());
    let Some(most) = measured().max_by(|a, b| pad(&readings[**a]).total_cmp(&pad(&readings[**b]))) else {
        return;
    };
    let (reference, largest) = (level(most).unwrap_or_default(), pad(&readings[*most]));
    for index in measured() {
        let taken_out = largest - pad(&readings[*index]);
        let excess = level(index).unwrap_or_default() - reference;
        if taken_out <= 0.0 {
            continue;
        }
        if excess < -SCALE_DB {
            out.labels[*index].add(Label::Compressed);
        } else if excess > SCALE_DB && excess > (PRODUCT_SLOPE - 1.0) * taken_out {
            out.labels[*index].add(Label::Product);
        }
    }
}
