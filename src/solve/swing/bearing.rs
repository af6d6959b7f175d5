//! Swings as bearings that the solver accepts.

use crate::{
    finding::{Finding, clipped},
    observe::{Quality, ReadBearing, Swing},
    solve::swing::fit::{SwingFit, fit},
};

/// Swings turned into bearings. The raw swings stay with the caller; `fits` are in their order.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Turned {
    /// Of the swings that have a direction.
    pub bearings: Vec<ReadBearing>,
    /// Of every swing.
    pub fits: Vec<SwingFit>,
    /// Of all fits, and of swings without a direction.
    pub findings: Vec<Finding>,
}

/// Fits every swing and makes bearings of those with a direction.
pub fn bearings(swings: &[Swing]) -> Turned {
    let mut out = Turned::default();
    for swing in swings {
        let fit = fit(swing);
        out.bearings.extend(bearing(swing, &fit));
        out.findings.extend(fit.findings.iter().cloned());
        out.fits.push(fit);
    }
    out
}

/// The bearing of a swing; `None` without a direction.
///
/// Its quality is the sigma of the fit; its front and back levels are those of the fitted pattern, and stay empty where the
/// back was not looked at or the antenna cannot tell it from the front. Remarks and identifiers are those of the notes.
pub fn bearing(swing: &Swing, fit: &SwingFit) -> Option<ReadBearing> {
    let direction = fit.direction?;
    let front = fit.front_to_back.and(fit.peaks.first()).map(|p| p.level);
    let back = front.zip(fit.front_to_back).map(|(front, f)| front + crate::units::Db::new(-f.ratio.value()));
    Some(ReadBearing {
        id: swing.id.clone(),
        team: swing.team.clone(),
        stand: swing.stand.clone(),
        read: direction.bearing,
        north: swing.north,
        swings: Vec::new(),
        two_way: direction.two_way,
        quality: Quality::Sigma(direction.sigma),
        front,
        back,
        time: swing.time().cloned(),
        date: swing.date(),
        frequency: swing.frequency(),
        remarks: remarks(swing),
        origin: swing.origin(),
    })
}

/// The different remarks of a swing's rows, at most twenty.
fn remarks(swing: &Swing) -> String {
    let mut out: Vec<&str> = Vec::new();
    for point in &swing.points {
        let text = point.reading.remarks.as_str();
        if !text.is_empty() && !out.contains(&text) && out.len() < 20 {
            out.push(text);
        }
    }
    out.into_iter().map(clipped).collect::<Vec<_>>().join("; ")
}
