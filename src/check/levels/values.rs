//! Levels that nobody measured: fillers, and what lies below the noise of heat.

use crate::{
    check::levels::{Label, Labelled},
    observe::LevelReading,
    radio::noise::noise_floor,
    units::{Db, Hertz},
};

/// Levels that are all alike and this far from every other are no measurements: between neighbours on foot levels change by
/// fading and shadowing, 20 dB and more only for single readings. Common practice, no source.
const APART_DB: f64 = 20.0;

/// Fewer alike may be a coincidence.
const FEWEST: usize = 2;

/// A bandwidth that is not stated is taken as this, the narrowest, for which least can be excluded.
const NARROWEST: Hertz = Hertz::new(1.0);

/// Labels levels below the thermal noise of their bandwidth, which no receiver shows ([`crate::radio::noise::noise_floor`]
/// with a noise figure of zero), and fillers such as −200, −127 or 0 that a program writes for nothing heard.
pub fn label(readings: &[LevelReading], walk: &[usize], out: &mut Labelled) {
    let mut levels: Vec<(f64, usize)> =
        walk.iter().filter_map(|i| Some((readings[*i].level.measured()?.value(), *i))).collect();
    for (level, index) in &levels {
        let bandwidth = readings[*index].bandwidth.unwrap_or(NARROWEST);
        if noise_floor(bandwidth, Db::new(0.0)).is_some_and(|floor| *level < floor.value()) {
            out.labels[*index].add(Label::BelowHeat);
        }
    }
    levels.sort_by(|a, b| a.0.total_cmp(&b.0));
    fillers(levels.iter(), out);
    fillers(levels.iter().rev(), out);
}

/// Labels the first of some levels in order, where they are all alike and the next one lies far from them.
fn fillers<'l>(levels: impl Iterator<Item = &'l (f64, usize)> + Clone, out: &mut Labelled) {
    let Some((first, _)) = levels.clone().next() else { return };
    let alike = levels.clone().take_while(|l| l.0 == *first).count();
    let apart = levels.clone().nth(alike).is_some_and(|next| (next.0 - first).abs() > APART_DB);
    // Half of a log is no filler: then the others are the exception.
    if apart && alike >= FEWEST && 2 * alike < levels.clone().count() {
        levels.take(alike).for_each(|l| out.labels[l.1].add(Label::Filler));
    }
}
