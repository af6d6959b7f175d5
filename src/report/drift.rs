//! An emitter that moves, in words.

use crate::{
    finding::clipped,
    observe::NorthReference,
    region::{Ellipse, Scale},
    report::{Answer, words},
    solve::{Crossing, Drift},
    units::{Angle, Confidence, Metres},
};

/// Speed in metres per second with its standard deviation, and the direction of motion from true north.
fn motion(drift: &Drift) -> (f64, f64, Angle) {
    let [e, n] = drift.velocity;
    let [ee, en, nn] = drift.velocity_covariance;
    let speed = e.hypot(n);
    let variance = (e * e * ee + 2.0 * e * n * en + n * n * nn) / (speed * speed);
    (speed, variance.max(0.0).sqrt(), Angle::radians(e.atan2(n)).compass())
}

/// The sentence of the summary.
pub(super) fn sentence(drift: &Drift) -> String {
    format!(
        " AN EMITTER THAT MOVES explains these bearings better than one that stands still, by a factor {}: see below.",
        words::factor(drift.gain)
    )
}

/// The section, a line each.
pub(super) fn lines(answer: &Answer) -> Vec<String> {
    let Some(drift) = &answer.drift else { return Vec::new() };
    let (speed, sigma, toward) = motion(drift);
    // Two digits of the uncertainty.
    let digits = (1.0 - (3.6 * sigma).log10().floor()).clamp(0.0, 3.0) as usize;
    let mut out = vec![format!(
        "it moves {:.digits$} ± {:.digits$} km/h toward {}",
        3.6 * speed,
        3.6 * sigma,
        words::bearing(toward, NorthReference::True)
    )];
    if let Some(ellipse) = Ellipse::one_sigma(drift.covariance) {
        let wide = ellipse.widened(Confidence::P95, Scale::Known);
        out.push(format!(
            "at {}, the last bearing, it was near {}: 95 % ellipse of half-axes {} and {}, the longer along {}",
            drift.at,
            words::place(drift.place, ellipse.semi_major),
            words::distance(wide.semi_major),
            words::distance(wide.semi_minor),
            words::bearing(wide.azimuth, NorthReference::True)
        ));
    }
    let still = "the regions below take it as standing still";
    if answer.crossings.len() < 2 {
        out.push(format!(
            "{still}. Two people who take bearings at the same moment from different stands, twice, settle it"
        ));
        return out;
    }
    out.extend(answer.crossings.iter().take(MOST_CROSSINGS).map(|c| crossing(answer, c)));
    out.push(still.to_owned());
    out
}

/// So many meetings are told.
const MOST_CROSSINGS: usize = 6;

/// Where two bearings of one minute meet, whatever moves.
fn crossing(answer: &Answer, crossing: &Crossing) -> String {
    let read = crossing.bearings.map(|i| answer.bearings[i].read());
    let time = read[0].time.as_ref().map_or(String::new(), |t| format!(" ({t})"));
    format!(
        "{} and {} were taken in the same minute{time} and meet near {}, whether it moves or not",
        clipped(&read[0].id),
        clipped(&read[1].id),
        words::place(crossing.place, Metres::new(100.0))
    )
}
