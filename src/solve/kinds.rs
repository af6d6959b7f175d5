//! Bearings, levels and sectors each alone: do they agree on one place?

use crate::{
    numeric::quantile,
    solve::{
        fit::{Fit, fit},
        options::{Options, Problem},
    },
};

/// A kind of evidence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Bearings.
    Bearings,
    /// Signal levels.
    Levels,
    /// Sectors of receivers that stand still.
    Sectors,
}

impl Kind {
    /// Its plural, in plain words.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Bearings => "bearings",
            Self::Levels => "levels",
            Self::Sectors => "sectors",
        }
    }
}

/// What each kind says without the others, and whether one place explains all.
#[derive(Clone, Debug, Default)]
pub struct Kinds {
    /// The kinds that can stand alone.
    pub alone: Vec<(Kind, Fit)>,
    /// Probability that kinds which mean the same place differ as much as these or more; `None` with fewer than two.
    pub p: Option<f64>,
}

/// Below this probability the kinds contradict each other.
const CONFLICT: f64 = 0.01;

/// Whether kinds with this probability of meaning one place contradict each other: below one in a hundred.
pub fn contradict(p: Option<f64>) -> bool {
    p.is_some_and(|p| p < CONFLICT)
}

impl Kinds {
    /// What one kind says alone, where it can.
    pub fn of(&self, kind: Kind) -> Option<&Fit> {
        self.alone.iter().find(|(k, _)| *k == kind).map(|(_, fit)| fit)
    }

    /// Whether the kinds contradict each other.
    pub fn conflict(&self) -> bool {
        contradict(self.p)
    }
}

/// Solves each kind alone, and compares the greatest likelihood of one place for all with that of a place for each: twice the
/// difference of the logarithms has a χ² distribution with two degrees of freedom for every kind beyond the first where all
/// mean the same place ([`crate::sources::WILKS1938`]). The priors of the place are left out.
pub fn kinds(problem: &Problem, options: &Options, joint: &Fit) -> Kinds {
    let only = [
        (Kind::Bearings, Problem { levels: &[], sectors: &[], ..*problem }),
        (Kind::Levels, Problem { bearings: &[], sectors: &[], ..*problem }),
        (Kind::Sectors, Problem { bearings: &[], levels: &[], ..*problem }),
    ];
    let present = [!problem.bearings.is_empty(), !problem.levels.is_empty(), !problem.sectors.is_empty()];
    let several = present.iter().filter(|p| **p).count() > 1;
    let within = Some(joint.within());
    let alone: Vec<(Kind, Fit)> = only
        .into_iter()
        .filter(|_| several)
        .filter_map(|(kind, part)| Some((kind, fit(&Problem { within, ..part }, options).ok()?)))
        .collect();
    let all = alone.len() == present.iter().filter(|p| **p).count();
    let p = (all && alone.len() > 1).then(|| {
        let apart: f64 = alone.iter().map(|(_, f)| f.greatest_likelihood()).sum();
        let statistic = (2.0 * (apart - joint.greatest_likelihood())).max(0.0);
        quantile::chi_square_tail(statistic, 2.0 * (alone.len() - 1) as f64)
    });
    Kinds { alone, p }
}
