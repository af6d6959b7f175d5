//! Where the steps begin, and which of their ends is the fix.

use nalgebra::Vector2;

use super::{LevelError, LevelFix, PlainLevels, Rival, columns::Columns, scored::Scored};
use crate::{
    numeric::least_squares::{self, Model, Options},
    solve::cut::{Ray, cuts},
};

/// As for bearings: a full step below 1e-5 standard deviations is the last, for Newton's steps square what is left.
const OPTIONS: Options =
    Options { offset: 0.0, deviations: 1e-5, change: 1e-14, reach: f64::INFINITY, damping: 0.0, limit: 100 };

/// Of more readings than this only a part, evenly taken, decides where to begin.
const SAMPLE: usize = 256;

/// How many of the candidates are polished.
const STARTS: usize = 10;

/// Radii of the rings of candidates about the strongest reading, in units of the readings' root mean square distance from
/// their middle; and about the middle.
const ABOUT_STRONGEST: [f64; 9] = [0.01, 0.03, 0.08, 0.17, 0.35, 0.7, 1.4, 3.0, 8.0];
const ABOUT_MIDDLE: [f64; 3] = [0.4, 0.9, 1.8];

/// Candidates on each ring.
const AROUND: u32 = 12;

/// Where steps began and ended.
#[derive(Clone, Copy)]
pub struct End {
    from: Vector2<f64>,
    at: Vector2<f64>,
    cost: f64,
    /// One standard deviation of the place along its longer axis, metres.
    deviation: f64,
    steps: u32,
}

/// The minimum that the steps from `from` lead to; `None` where they lead to none.
pub fn descend(scored: &Scored<'_>, from: Vector2<f64>) -> Option<End> {
    let end = least_squares::minimise(scored, [from.x, from.y], &OPTIONS)?;
    let inverse = end.model.inverse().filter(|_| end.reached() && end.model.cupped)?;
    let deviation = (inverse[0][0] + inverse[1][1]).sqrt();
    let at = Vector2::new(end.at[0], end.at[1]);
    Some(End { from, at, cost: end.model.cost(), deviation, steps: end.iterations })
}

/// Adds an end, unless it is one that is there already; the lowest stays first.
fn gather(mut ends: Vec<End>, new: End) -> Vec<End> {
    // Both are within some 1e-5 deviations of the minimum.
    let same = |e: &End| (e.at - new.at).norm() < 1e-2 * new.deviation;
    if !ends.iter().any(same) {
        let place = ends.partition_point(|e| e.cost <= new.cost);
        ends.insert(place, new);
    }
    ends
}

impl PlainLevels {
    /// The ends of the steps from all starts, the lowest first.
    pub(super) fn ends(&self) -> Vec<End> {
        let lines = self.lines.as_ref();
        let sample = self.sample();
        let alone = Scored::new(&sample, None, &self.law, lines);
        let starts = self.starts(&alone);
        let rough = starts.iter().filter_map(|s| descend(&alone, *s)).fold(Vec::new(), gather);
        if sample.count == self.columns.count && self.shared.is_none() {
            return rough;
        }
        let all = self.scored();
        let fine = rough.iter().filter_map(|r| Some(End { from: r.from, ..descend(&all, r.at)? }));
        fine.fold(Vec::new(), gather)
    }

    /// The readings, or of many an even part with the strongest, weighted up to all.
    fn sample(&self) -> Columns {
        let count = self.readings.len();
        let step = count.div_ceil(SAMPLE);
        if step == 1 {
            return self.columns.clone();
        }
        let strongest = self.strongest();
        let taken = self.readings.iter().enumerate().filter(|(i, _)| i % step == 0 || *i == strongest);
        let mut sample = Columns::new(taken.map(|(_, r)| r), self.centre, &self.known);
        let factor = self.columns.total / sample.total;
        sample.weight.iter_mut().for_each(|w| *w *= factor);
        sample.total = self.columns.total;
        sample
    }

    fn strongest(&self) -> usize {
        let level = |i: &usize| self.readings[*i].level.value();
        (0..self.readings.len()).max_by(|a, b| level(a).total_cmp(&level(b))).unwrap_or(0)
    }

    /// The candidates of the least cost, no two near each other: rings about the strongest reading and about the middle, and
    /// the cuts of bearings.
    fn starts(&self, scored: &Scored<'_>) -> Vec<Vector2<f64>> {
        let squares = self.readings.iter().map(|r| self.inward(r.at).norm_squared());
        let reach = (squares.sum::<f64>() / self.readings.len() as f64).sqrt().max(1.0);
        let strongest = self.inward(self.readings[self.strongest()].at);
        let rays: Vec<Ray> = self.lines.iter().flat_map(|l| l.rays()).collect();
        let candidates = rings(strongest, &ABOUT_STRONGEST, reach)
            .chain(rings(Vector2::zeros(), &ABOUT_MIDDLE, reach))
            .chain([Vector2::zeros()])
            .chain(cuts(&rays));
        let mut ranked: Vec<(f64, Vector2<f64>)> =
            candidates.filter_map(|p| Some((scored.cost(p)?, p))).collect();
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut out: Vec<Vector2<f64>> = Vec::with_capacity(STARTS);
        for (_, p) in ranked {
            let apart = 0.25 * (p - strongest).norm().max(0.01 * reach);
            if out.len() < STARTS && out.iter().all(|q| (q - p).norm() > apart) {
                out.push(p);
            }
        }
        out
    }

    /// The fix that the lowest end amounts to.
    pub(super) fn told(&self, ends: &[End]) -> Result<LevelFix, LevelError> {
        let best = ends.first().ok_or(LevelError::NoMinimum)?;
        if self.nowhere().is_some_and(|cost| cost <= best.cost) {
            return Err(LevelError::NoMinimum);
        }
        let scored = self.scored();
        let survey = scored.survey(best.at).ok_or(LevelError::NoMinimum)?;
        let c = scored.covariances(best.at).ok_or(LevelError::NotDetermined)?;
        let covariance = std::array::from_fn(|i| {
            std::array::from_fn(|j| match (i < 2, j < 2) {
                (true, true) => c.place[(i, j)],
                (true, false) => c.mixed[(i, j - 2)],
                (false, true) => c.mixed[(j, i - 2)],
                (false, false) => c.law[(i - 2, j - 2)],
            })
        });
        Ok(LevelFix {
            at: self.outward(best.at),
            law: self.fitted(&survey),
            covariance,
            chi_square: 2.0 * best.cost,
            freedom: self.freedom()?,
            begun: self.outward(best.from),
            steps: best.steps,
            rivals: ends[1..].iter().map(|e| self.rival(e)).collect(),
        })
    }

    fn rival(&self, end: &End) -> Rival {
        Rival { at: self.outward(end.at), chi_square: 2.0 * end.cost }
    }

    /// What a place infinitely far away would cost, where nothing speaks against one.
    fn nowhere(&self) -> Option<f64> {
        let nothing = self.known.start == super::Term::Free && self.lines.is_none();
        let scatter = || self.shared.as_ref().map_or_else(|| self.columns.scatter(), |s| s.scatter());
        nothing.then(|| 0.5 * scatter())
    }
}

fn rings(centre: Vector2<f64>, radii: &[f64], reach: f64) -> impl Iterator<Item = Vector2<f64>> + use<'_> {
    radii.iter().enumerate().flat_map(move |(k, radius)| {
        (0..AROUND).map(move |i| {
            // Every other ring is turned by half a step.
            let turn = std::f64::consts::TAU * (f64::from(i) + 0.5 * (k % 2) as f64) / f64::from(AROUND);
            let (sin, cos) = turn.sin_cos();
            centre + radius * reach * Vector2::new(sin, cos)
        })
    })
}
