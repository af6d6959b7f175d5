//! Would the bearings fit better if north had been treated otherwise?

use crate::{
    geodesy::course,
    north::{Hypothesis, Treatment},
    solve::{
        fit::{Fit, fit, solved},
        options::Problem,
    },
    units::{Angle, Metres},
};

/// One treatment of north, tried.
#[derive(Clone, Debug, PartialEq)]
pub struct NorthHypothesis {
    /// What would have happened.
    pub kind: Treatment,
    /// Whose bearings; `None` for all of that label.
    pub team: Option<String>,
    /// How many bearings it turns.
    pub turned: usize,
    /// By how much, clockwise.
    pub by: Angle,
    /// Log of the evidence for it over the evidence for what the notes state (a Bayes factor).
    pub gain: f64,
    /// How far the quoted place would move; `None` where either fit has no place.
    pub shift: Option<Metres>,
}

/// A Bayes factor of 20 (its logarithm is 3.0): customary as "strong" evidence.
const STRONG: f64 = 3.0;

impl NorthHypothesis {
    /// Whether the bearings speak for it by a factor of at least 20.
    pub fn favoured(&self) -> bool {
        self.gain >= STRONG
    }

    /// Whether the bearings cannot tell it from what the notes state, by a factor of 20 either way.
    pub fn open(&self) -> bool {
        self.gain.abs() < STRONG
    }
}

/// Tries each hypothesis in the search square of `stated`, most favoured first. Errors are taken nearly as stated and compasses as
/// otherwise right, for errors that may be anything would explain whatever was done to north.
pub fn audit(stated: &Fit, hypotheses: &[Hypothesis]) -> Vec<NorthHypothesis> {
    if hypotheses.is_empty() {
        return Vec::new();
    }
    let options = stated.options().for_audit();
    let mut scene = stated.scene.clone();
    scene
        .sights
        .iter_mut()
        .filter(|s| !s.unstated)
        .for_each(|s| s.spread = s.spread.min(options.class_spread));
    let stated = solved(scene, &options);
    let mut out: Vec<NorthHypothesis> = hypotheses.iter().filter_map(|h| tried(&stated, h)).collect();
    out.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    out
}

fn tried(stated: &Fit, hypothesis: &Hypothesis) -> Option<NorthHypothesis> {
    let problem =
        Problem { bearings: &hypothesis.bearings, within: Some(stated.within()), ..Problem::default() };
    let other = fit(&problem, stated.options()).ok()?;
    let (here, there) = (stated.modes().first(), other.modes().first());
    Some(NorthHypothesis {
        kind: hypothesis.treatment,
        team: hypothesis.team.clone(),
        turned: hypothesis.turned,
        by: hypothesis.by,
        gain: other.log_evidence() - stated.log_evidence(),
        shift: here.zip(there).map(|(a, b)| course(a.place, b.place).distance),
    })
}
