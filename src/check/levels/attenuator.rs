//! Whether levels follow the attenuator where it was switched on the way.

use crate::{
    check::levels::{Label, Labelled, pad, seconds},
    finding::Finding,
    geodesy::course,
    observe::LevelReading,
    units::Dbm,
};

/// Neighbours further apart than this in place or time do not see the same signal, and those no further apart than
/// `STILL_M` were taken standing still: common practice, no source.
const NEAR_M: f64 = 15.0;
const NEAR_S: f64 = 30.0;
const STILL_M: f64 = 3.0;

/// Readings this near to the floor do not follow an attenuator, whatever the signal does: its noise is a quarter of it.
const ABOVE_FLOOR_DB: f64 = 6.0;

/// With fewer switches nothing is said.
const FEWEST: usize = 4;

/// Less than this for each decibel is not told: fading decides when somebody puts an attenuator in, and so makes levels
/// behind it look higher than those without. Common practice, no source.
const SCALE: f64 = 0.3;

/// A product falls by its order: 2 or 3 dB for each of the attenuator. Half-way to the second order it is one.
const PRODUCT: f64 = 1.5;

/// A step from one reading to the next: of the attenuator, and of the corrected level.
#[derive(Clone, Copy)]
struct Step {
    pad: f64,
    level: f64,
    metres: Option<f64>,
    to: usize,
}

/// How levels follow the attenuator.
struct Slope {
    /// Decibels by which what the receiver shows falls for each of the attenuator.
    falls: f64,
    /// One standard deviation.
    sigma: f64,
    switches: usize,
    first: usize,
}

/// Compares neighbours in a walk of which one has more attenuator than the other. The corrected level of a true signal does
/// not change with it, but for what neighbours differ anyhow, which the other pairs of the walk show; a product of second or
/// third order, made in the receiver, falls by 2 or 3 dB for each dB (arithmetic of powers; no other source needed).
///
/// On the way, somebody puts an attenuator in because the level has risen, so that a level that falls too little tells
/// nothing. Only of neighbours at one place it is taken as the receiver's.
pub fn tell(readings: &[LevelReading], walk: &[usize], floors: &[Option<Dbm>], out: &mut Labelled) {
    let clear = |i: &&usize| {
        let level = readings[**i].level.measured();
        let above = |l: Dbm| floors[**i].is_none_or(|f| (l - f).value() > ABOVE_FLOOR_DB);
        // Without a place, levels follow an attenuator all the same.
        let out_of_it = |l: Label| l.leaves_out() && l != Label::NoPlace;
        level.is_some_and(above) && !out.labels[**i].iter().any(out_of_it)
    };
    let walk: Vec<usize> = walk.iter().filter(clear).copied().collect();
    // Most logs have no switch, and the distances of a long one take time.
    if walk.windows(2).all(|w| pad(&readings[w[0]]) == pad(&readings[w[1]])) {
        return;
    }
    let steps: Vec<Step> = walk.windows(2).filter_map(|w| step(readings, w)).collect();
    let on_the_way = slope(&steps).filter(|s| s.falls > PRODUCT);
    let still = || {
        let still = steps.into_iter().filter(|s| s.metres.is_some_and(|m| m <= STILL_M));
        slope(&still.collect::<Vec<_>>()).filter(|s| s.falls <= PRODUCT)
    };
    if let Some(found) = on_the_way.or_else(still) {
        out.findings.push(told(&found).at(readings[found.first].written.origin()));
    }
}

/// The step between two readings at about one place and time, of which at least one must be known.
fn step(readings: &[LevelReading], pair: &[usize]) -> Option<Step> {
    let (a, b) = (&readings[pair[0]], &readings[pair[1]]);
    let level = |r: &LevelReading| r.level.measured().map_or(0.0, Dbm::value);
    let metres = a.at.zip(b.at).map(|(a, b)| course(a, b).distance.value());
    let apart = seconds(a).zip(seconds(b)).map(|(a, b)| (a - b).abs());
    let near = (metres.is_some() || apart.is_some())
        && metres.is_none_or(|m| m <= NEAR_M)
        && apart.is_none_or(|s| s <= NEAR_S);
    near.then(|| Step { pad: pad(b) - pad(a), level: level(b) - level(a), metres, to: pair[1] })
}

/// Regression of the steps of the level on those of the attenuator, where it differs from zero.
fn slope(steps: &[Step]) -> Option<Slope> {
    let (switches, others): (Vec<Step>, Vec<Step>) = steps.iter().partition(|s| s.pad != 0.0);
    let first = switches.first().filter(|_| switches.len() >= FEWEST && others.len() >= FEWEST)?.to;
    let spread = others.iter().map(|s| s.level * s.level).sum::<f64>() / others.len() as f64;
    let square: f64 = switches.iter().map(|s| s.pad * s.pad).sum();
    let slope = switches.iter().map(|s| s.pad * s.level).sum::<f64>() / square;
    let sigma = (spread / square).sqrt();
    let found = Slope { falls: 1.0 - slope, sigma, switches: switches.len(), first };
    (slope.abs() > SCALE.max(3.0 * sigma)).then_some(found)
}

fn told(found: &Slope) -> Finding {
    let (code, what, hint) = if found.falls > PRODUCT {
        let hint = "leave the attenuator in, as much as the signal allows, and measure again";
        ("attenuator-product", "a product made in the receiver falls by 2 or 3", hint)
    } else if found.falls > 1.0 {
        let hint = "check what the attenuator really is";
        ("attenuator-scale", "the attenuator takes away more than is noted", hint)
    } else {
        let hint = "measure the strong places again with the attenuator in, and check that it is in the signal's way";
        ("attenuator-compression", "the receiver is overloaded without it, or the signal goes round it", hint)
    };
    let message = format!(
        "over {} switches of the attenuator what the receiver shows falls by {:.2} dB for each dB (one standard deviation {:.2}); a true signal falls by 1: {what}",
        found.switches, found.falls, found.sigma
    );
    Finding::doubtful(code, message).hint(hint)
}
