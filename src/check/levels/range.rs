//! Whether levels vary by more than shadowing does by itself.

use crate::{
    check::levels::{Label, Labels, at_share},
    finding::Finding,
    observe::LevelReading,
};

/// The least standard deviation of shadowing outdoors ([`crate::sources::TR38901`], Table 7.4.1-1: 4 dB in sight of the
/// antenna).
const SHADOWING_DB: f64 = 4.0;

/// Fewer readings do not show their spread.
const FEWEST: usize = 10;

/// Tells where the standard deviation of the levels, by the middle two thirds of them, is no more than that of shadowing.
pub fn tell(readings: &[LevelReading], labels: &[Labels]) -> Option<Finding> {
    let used: Vec<usize> =
        (0..readings.len()).filter(|i| !labels[*i].iter().any(Label::leaves_out)).collect();
    let mut levels: Vec<f64> =
        used.iter().filter_map(|i| readings[*i].level.measured()).map(|l| l.value()).collect();
    levels.sort_by(f64::total_cmp);
    // A normal distribution holds 68.27 % within one standard deviation on either side.
    let spread = 0.5 * (at_share(&levels, 0.841_34)? - at_share(&levels, 0.158_66)?);
    let first = readings[*used.first()?].written.origin();
    (levels.len() >= FEWEST && spread < SHADOWING_DB).then(|| {
        let message = format!(
            "the levels vary by {spread:.1} dB (one standard deviation), no more than shadowing does by itself, {SHADOWING_DB:.0} dB: they hardly tell where the emitter is"
        );
        let hint = "log over a larger area, nearer to and farther from where it is loud";
        Finding::doubtful("level-range-small", message).at(first).hint(hint)
    })
}
