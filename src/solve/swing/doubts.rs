//! What there is to tell about a swing.

use crate::{
    finding::Finding,
    observe::Swing,
    radio::Family,
    solve::swing::{cells::Cell, fit::SwingFit, prior::SCATTER_DB},
    units::Angle,
};

/// A heading of three digits.
fn three(angle: Angle) -> String {
    format!("{:03}°", (angle.compass().to_degrees().round() as u32) % 360)
}

/// What the fit rests on, before anything is fitted.
pub fn taken_for_granted(swing: &Swing, cells: &[Cell], merged: bool) -> Vec<Finding> {
    let mut out = Vec::new();
    if merged {
        let message = format!(
            "{} readings were brought to {} headings of 3°: neighbours in a swing share their error",
            swing.points.len(),
            cells.len()
        );
        out.push(Finding::assumed("readings-merged", message));
    }
    let lobe = "beamwidth 60° (68 % within 42° and 85°), front to back 15 dB (10 to 22 dB)";
    let (family, width) = (swing.antenna.family, swing.antenna.beamwidth);
    let message = match (family, width) {
        (None, None) => format!(
            "nothing is stated about the antenna: a main lobe in 60 cases of 100 ({lobe}), else a cardioid, a figure of \
             eight or a body's shadow"
        ),
        (Some(Family::Lobe), None) => format!("the beamwidth is not stated: {lobe}"),
        (None | Some(Family::Lobe), Some(width)) => format!(
            "a main lobe, {:.0}° wide within 10 %, front to back 15 dB (10 to 22 dB)",
            width.to_degrees()
        ),
        (Some(Family::Body), _) => "a body's shadow of 10 dB (68 % within 7 and 15 dB)".to_owned(),
        (Some(family), _) => format!("a {} with nulls 20 dB deep (68 % within 12 and 33 dB)", family.word()),
    };
    let scatter = format!("scatter of the levels about {SCATTER_DB} dB before they were looked at");
    out.push(Finding::assumed("antenna-pattern", format!("{message}; {scatter}")));
    out
}

/// Nothing to fit.
pub fn unheard(heard: usize) -> Finding {
    let message = if heard == 0 {
        "nothing was heard above the floor at any heading: no direction"
    } else {
        "no pattern of an antenna fits these levels: no direction"
    };
    Finding::doubtful("no-direction", message).hint("go nearer or higher, and swing again")
}

/// The same level all around.
pub fn flat(cells: &[Cell]) -> Finding {
    let levels = || cells.iter().filter(|c| !c.below).map(|c| c.level);
    let spread = levels().fold(f64::NEG_INFINITY, f64::max) - levels().fold(f64::INFINITY, f64::min);
    let message = format!(
        "the level changes by {spread:.1} dB around the horizon and follows no antenna's pattern: no direction"
    );
    let hint = "read more headings; with an overloaded receiver or very near the emitter add attenuation, or move away";
    Finding::doubtful("no-direction", message).hint(hint)
}

/// Several directions fit alike.
pub fn open(sigma: f64) -> Finding {
    let message = format!(
        "directions far apart fit these levels alike (sigma {:.0}°): no direction",
        sigma.to_degrees()
    );
    Finding::doubtful("no-direction", message).hint("read eight or more headings all the way round")
}

/// More than so many decibels of scatter are no reading error: reflections or a signal that fades. Common practice, no
/// source.
const UNEVEN_DB: f64 = 4.0;

/// What a fit with a direction gives occasion to tell.
pub fn of(swing: &Swing, cells: &[Cell], fit: &SwingFit) -> Vec<Finding> {
    let Some(direction) = fit.direction else { return Vec::new() };
    let mut out = Vec::new();
    if direction.two_way {
        let message = format!(
            "the bearing is {} or its reverse {}: this pattern does not tell front from back",
            three(direction.bearing),
            three(direction.bearing.reversed())
        );
        let hint = "a sense antenna, a second stand or a directional antenna tells which";
        out.push(Finding::doubtful("front-or-back", message).hint(hint));
    } else if let [first, second] = fit.peaks[..] {
        let weaker = (first.level - second.level).value();
        let message = format!(
            "two peaks, at {} and, {weaker:.0} dB weaker, at {}: a reflection is likely, and it may be the stronger",
            three(first.heading),
            three(second.heading)
        );
        let hint = "step some metres aside and swing again: a reflection moves or fades";
        out.push(Finding::doubtful("two-peaks", message).hint(hint));
    }
    if direction.share < 0.9 {
        let message = format!(
            "another direction than {} has a chance of {:.0} in 100",
            three(direction.bearing),
            100.0 * (1.0 - direction.share)
        );
        let hint = "read more headings about the strongest";
        out.push(Finding::doubtful("direction-open", message).hint(hint));
    }
    let eight = fit.families.iter().find(|f| f.0 == Family::FigureOfEight).map_or(0.0, |f| f.1);
    if !direction.two_way && eight > 0.05 {
        let message = format!(
            "a two-way antenna fits with a chance of {:.0} in 100: then the reverse is as likely",
            100.0 * eight
        );
        let hint = "state the antenna, such as --antenna yagi";
        out.push(Finding::doubtful("perhaps-two-way", message).hint(hint));
    }
    out.extend(broad(swing, fit));
    out.extend(flat_top(cells, fit));
    if fit.front_to_back.is_none() && !direction.two_way {
        let message = "the back was not looked at, or nothing was heard there: no front-to-back ratio";
        out.push(Finding::assumed("back-unread", message));
    }
    if fit.residual.value() > UNEVEN_DB {
        let message = format!("the levels scatter by {:.1} dB about the pattern", fit.residual.value());
        let hint = "the signal fades or is reflected: wait, or move to open ground, and swing again";
        out.push(Finding::doubtful("levels-uneven", message).hint(hint));
    }
    out
}

/// A lobe much wider than the antenna's own, or than any hand-held antenna has: several directions at once.
fn broad(swing: &Swing, fit: &SwingFit) -> Option<Finding> {
    let (width, sigma) = fit.beamwidth?;
    let limit = swing.antenna.beamwidth.map_or(110.0, |stated| 1.25 * stated.to_degrees());
    let over = width.to_degrees() - limit;
    (over > 0.0 && over > sigma.to_degrees()).then(|| {
        let message = format!("the peak is {:.0}° wide at half power", width.to_degrees());
        let hint = "reflections from beside the direct way broaden it, and so does an overloaded receiver";
        Finding::doubtful("peak-broad", message).hint(hint)
    })
}

/// The strongest headings read alike over more of the beam than a parabola allows, which falls by 0.2 dB within a quarter
/// of the beamwidth.
fn flat_top(cells: &[Cell], fit: &SwingFit) -> Option<Finding> {
    const ALIKE_DB: f64 = 0.2;
    const FEWEST: usize = 3;
    let (first, width) = (fit.peaks.first()?, fit.pattern?.half_power_width().to_radians());
    let heard = || cells.iter().filter(|c| !c.below);
    let top = heard().map(|c| c.level).fold(f64::NEG_INFINITY, f64::max);
    let lowest = heard().map(|c| c.level).fold(f64::INFINITY, f64::min);
    let off = |c: &Cell| Angle::radians(c.heading - first.heading.to_radians()).wrapped().to_radians();
    let alike: Vec<f64> = heard().filter(|c| c.level > top - ALIKE_DB).map(off).collect();
    let span = alike.iter().copied().fold(f64::NEG_INFINITY, f64::max)
        - alike.iter().copied().fold(f64::INFINITY, f64::min);
    let flat = alike.len() >= FEWEST && span > 0.45 * width && span < 2.0 * width && top - lowest > 6.0;
    flat.then(|| {
        let message = format!(
            "the {} strongest headings, {:.0}° apart, read the same: the receiver is overloaded there",
            alike.len(),
            span.to_degrees()
        );
        let hint = "add attenuation until the peak falls with it, and swing again";
        Finding::doubtful("peak-compressed", message).hint(hint)
    })
}
