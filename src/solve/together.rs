//! Bearings taken in the same minute from different stands: where they meet needs no assumption about how an emitter moves, and two
//! that point at different places cannot both be of one emitter.

use nalgebra::Vector2;

use crate::{
    geodesy::{Place, course},
    north::TrueBearing,
    solve::{
        cut::{Ray, pairs},
        fit::Fit,
    },
};

/// Two bearings of one minute that meet.
#[derive(Clone, Debug, PartialEq)]
pub struct Crossing {
    /// Their numbers, in the order given.
    pub bearings: [usize; 2],
    /// Where they meet.
    pub place: Place,
}

/// Stands that are nearer to one another than this are one, metres.
const APART_M: f64 = 30.0;

/// Lines that cross at less than this angle meet anywhere, degrees.
const LEAST_DEGREES: f64 = 15.0;

/// Numbers of bearings by the minute (UTC) in which they were taken, for minutes in which there are some from different stands; in
/// the order of time. Bearings without a time are in none.
pub fn together(bearings: &[TrueBearing]) -> Vec<Vec<usize>> {
    let minute = |b: &TrueBearing| Some(b.read().time.as_ref()?.utc().as_millisecond().div_euclid(60_000));
    let mut by_minute: Vec<(i64, usize)> =
        bearings.iter().enumerate().filter_map(|(i, b)| Some((minute(b)?, i))).collect();
    by_minute.sort_unstable();
    let apart = |group: &[(i64, usize)]| {
        let at = |k: usize| bearings[group[k].1].read().stand.at;
        (1..group.len()).any(|k| course(at(0), at(k)).distance.value() >= APART_M)
    };
    let groups = by_minute.chunk_by(|a, b| a.0 == b.0).filter(|g| apart(g));
    groups.map(|g| g.iter().map(|(_, i)| *i).collect()).collect()
}

/// Where bearings of one minute meet, the two of each minute that cross most squarely; in the order of time.
pub fn crossings(fit: &Fit, bearings: &[TrueBearing]) -> Vec<Crossing> {
    let sights = &fit.scene.sights;
    let ray = |i: usize| {
        let s = &sights[i];
        Ray { from: Vector2::new(s.east, s.north), sin: s.sin, cos: s.cos }
    };
    let least = LEAST_DEGREES.to_radians().sin();
    let best = |group: Vec<usize>| -> Option<Crossing> {
        let rays: Vec<Ray> = group.iter().map(|i| ray(*i)).collect();
        let sine = |[i, j]: [usize; 2]| (rays[i].sin * rays[j].cos - rays[i].cos * rays[j].sin).abs();
        let square = pairs(&rays).into_iter().map(|(pair, at)| (sine(pair), pair, at));
        let (_, [i, j], at) = square.filter(|c| c.0 >= least).max_by(|a, b| a.0.total_cmp(&b.0))?;
        Some(Crossing { bearings: [group[i], group[j]], place: fit.scene.place(at.x, at.y) })
    };
    if !fit.scene.flat || sights.len() != bearings.len() {
        return Vec::new();
    }
    together(bearings).into_iter().filter_map(best).collect()
}
