//! The reasoning in plain words: what each observation says, which disagree and why they may, and what would change the answer.

use crate::{
    finding::clipped,
    geodesy::course,
    observe::NorthReference,
    region::Region,
    report::{Answer, evidence, reflections, words},
    solve::{NorthHypothesis, OffSpot, Overturn, Residual, Spot, TURN_DEGREES, Verdict},
    units::{Angle, Confidence},
};

/// More bearings than this are told together.
const MOST_TOLD: usize = 40;

impl Answer {
    /// Walks through the reasoning, for somebody who was there; `overturn` holds the answers with something else taken for
    /// granted, where they were asked for.
    pub fn explanation(&self, overturn: Option<&Overturn>) -> String {
        let mut out = String::new();
        section(&mut out, "What each observation says", &observations(self));
        section(&mut out, "Which disagree, and why they may", &self.disagreeing());
        section(&mut out, "How this makes an area", &area(self));
        section(&mut out, "What would change this", &self.changes(overturn));
        out
    }

    /// Which bearings disagree with the others and why they may, a sentence each.
    pub fn disagreeing(&self) -> Vec<String> {
        disagreeing(self)
    }

    /// What would change the answer, a sentence each.
    pub fn changes(&self, overturn: Option<&Overturn>) -> Vec<String> {
        changes(self, overturn)
    }
}

fn section(out: &mut String, title: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    out.push('\n');
    out.push_str(title);
    out.push('\n');
    for line in lines {
        out.push_str(&words::wrapped(line, "  ", "    "));
    }
}

fn observations(answer: &Answer) -> Vec<String> {
    let mut out = Vec::new();
    let pairs = answer.bearings.iter().zip(&answer.record.residuals);
    for (bearing, residual) in pairs.take(MOST_TOLD) {
        let read = bearing.read();
        let as_read = words::bearing(read.read, read.north);
        let settled = match read.north {
            NorthReference::True => format!("{as_read} as read"),
            _ => format!(
                "read {as_read}, which is {}",
                words::bearing(bearing.azimuth(), NorthReference::True)
            ),
        };
        out.push(format!("{}: {settled}; {}.", clipped(&read.id), against(residual)));
    }
    if let Some(more) = answer.bearings.len().checked_sub(MOST_TOLD).filter(|n| *n > 0) {
        out.push(format!("{} more are in the table of bearings.", words::count(more, "bearing", "bearings")));
    }
    if let Some((near, far)) = answer.distances() {
        let (near, far) = (crate::units::Metres::new(near), crate::units::Metres::new(far));
        out.push(format!(
            "{} were heard between {} and {} from the place; their fall with distance says how far off it is, and their differences \
             on one distance are mostly buildings in the way.",
            words::count(answer.against().iter().filter(|a| !a.below).count(), "reading", "readings"),
            words::distance(near),
            words::distance(far)
        ));
        out.extend(
            evidence::levels(answer)
                .into_iter()
                .filter(|l| l.starts_with("neighbours") || l.starts_with("level at")),
        );
    }
    out.extend(evidence::kinds(answer));
    out
}

/// A bearing against the quoted place.
fn against(residual: &Residual) -> String {
    let miss = residual.miss.to_degrees();
    let side = if miss >= 0.0 { "right" } else { "left" };
    let place = format!(
        "the place lies {} off toward {}",
        words::distance(residual.range),
        words::bearing(residual.computed, NorthReference::True)
    );
    let sigma = residual.sigma.to_degrees();
    match residual.verdict {
        Verdict::Direct if miss.abs() <= sigma => {
            format!("{place}: {:.1}° to the {side} of it, within its error of {sigma:.1}°", miss.abs())
        }
        Verdict::Direct => format!(
            "{place}: {:.1}° to the {side} of it, {:.1} times its error of {sigma:.1}°, and still taken as direct",
            miss.abs(),
            miss.abs() / sigma
        ),
        Verdict::Reversed => format!("{place}: its reverse points there, so front and back were confused"),
        Verdict::Foreign => {
            format!(
                "{place}: it points {:.0}° to the {side} of it, and counts for {}",
                miss.abs(),
                if residual.direct < 0.05 { "nothing" } else { "little" }
            )
        }
    }
}

fn disagreeing(answer: &Answer) -> Vec<String> {
    let mut out = Vec::new();
    for (i, (bearing, residual)) in answer.bearings.iter().zip(&answer.record.residuals).enumerate() {
        let id = clipped(&residual.id);
        match residual.verdict {
            Verdict::Direct => {}
            Verdict::Reversed => out.push(format!(
                "{id}: the antenna's back is not deaf. Turn it by half a circle there and compare the levels."
            )),
            Verdict::Foreign => out.push(match answer.bounce(i) {
                Some(bounce) => format!("{id}: {}.", reflections::bounced(bounce)),
                None => format!("{id}: {}", why(&bearing.read().remarks, residual)),
            }),
        }
    }
    out.extend(off_spots(answer));
    if out.is_empty() && answer.bearings.len() > 1 {
        out.push("none of the bearings disagrees with the others.".to_owned());
    }
    out
}

/// Stands at which all bearings are off the same way, and those of which the others cannot tell.
fn off_spots(answer: &Answer) -> Vec<String> {
    let told = answer.spots.iter().filter(|s| s.judged != OffSpot::Right);
    told.map(|spot| off_spot(answer, spot)).collect()
}

/// A stand's bearings against the other stands.
pub(super) fn off_spot(answer: &Answer, spot: &Spot) -> String {
    let ids = spot.bearings.iter().map(|i| clipped(&answer.bearings[*i].read().id));
    let ids = ids.collect::<Vec<_>>().join(", ");
    let (off, sigma) = (spot.off.to_degrees(), spot.sigma.to_degrees());
    match spot.judged {
        OffSpot::Off => format!(
            "{ids}: all from one stand, and all off the same way, by {off:+.0}° ± {sigma:.0}° from where the other stands point. A \
             vehicle, a fence or iron beside that stand turns the needle, or a reflection reaches it: read again 20 m away."
        ),
        OffSpot::Right => format!("{ids}: all from one stand, and they agree with the others."),
        OffSpot::Untold => format!(
            "{ids}: all from one stand; whether they are off the same way the other stands cannot tell. A bearing from another side \
             would."
        ),
    }
}

/// What a foreign bearing may be; its remark first, where that speaks of it.
fn why(remarks: &str, residual: &Residual) -> String {
    let remark = remarks.to_lowercase();
    let said = |words: &[&str]| words.iter().any(|w| remark.contains(w));
    let chance = format!("direct with a probability of {:.0} %", 100.0 * residual.direct);
    let reason = if said(&["truck", "car ", "vehicle", "van ", "steel", "fence", "rail"]) {
        "iron beside a compass turns it: read again from 20 m away"
    } else if said(&["broad", "two peaks", "moves", "fades", "flutter", "unstable"]) {
        "that is how a reflection looks: read again some metres away; a true direction stays, a reflected one jumps"
    } else {
        "a reflection from a wall, another emitter on the channel, or a slip of the pen: read again from another spot"
    };
    match remarks.trim() {
        "" => format!("{chance}; {reason}."),
        note => format!("{chance}; the note says \"{}\"; {reason}.", clipped(note)),
    }
}

fn area(answer: &Answer) -> Vec<String> {
    let mut out = Vec::new();
    let directions: Vec<f64> = answer
        .record
        .residuals
        .iter()
        .filter(|r| r.verdict != Verdict::Foreign)
        .map(|r| (r.computed.to_degrees() + 180.0).rem_euclid(360.0))
        .collect();
    if directions.len() > 1 {
        let (gap, middle) = widest_gap(&directions);
        out.push(format!(
            "seen from the place, the stands whose bearings count leave {gap:.0}° open, about {}: {}.",
            words::bearing(Angle::degrees(middle), NorthReference::True),
            if gap > 180.0 {
                "all stand on one side, so the distance is known worse than the direction"
            } else {
                "they stand all round"
            }
        ));
    }
    let sizes: Vec<String> = answer
        .regions
        .iter()
        .filter_map(|r| r.as_ref().ok())
        .map(|r| format!("{} with {:.0} %", words::area(r.area()), 100.0 * r.confidence().value()))
        .collect();
    if !sizes.is_empty() {
        out.push(format!(
            "every place was weighed by how well it explains all of this, each error and each share of foreign bearings tried; the \
             smallest area that holds the emitter is {}.",
            sizes.join(", ")
        ));
    }
    if let Err(open) = answer.region95() {
        out.push(format!("{open}: nothing that was seen closes it that way."));
    }
    out
}

/// Widest gap between directions on a circle, and its middle, degrees.
fn widest_gap(directions: &[f64]) -> (f64, f64) {
    let mut sorted = directions.to_vec();
    sorted.sort_by(f64::total_cmp);
    let next = |i: usize| sorted.get(i + 1).copied().unwrap_or(sorted[0] + 360.0);
    let gaps = (0..sorted.len()).map(|i| (next(i) - sorted[i], (sorted[i] + next(i)) / 2.0));
    gaps.max_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((360.0, 0.0))
}

fn changes(answer: &Answer, overturn: Option<&Overturn>) -> Vec<String> {
    let mut out = Vec::new();
    out.extend(influence(answer));
    if let Some(overturn) = overturn {
        out.extend(compass(overturn));
        out.push(doubled(answer, overturn));
    }
    out.extend(north(answer));
    out.push(other_places(answer));
    out.extend(kinds(answer));
    out
}

/// The bearing without which the place moves most.
fn influence(answer: &Answer) -> Option<String> {
    let moves = answer.record.residuals.iter().filter_map(|r| Some((r, r.shift_without?.value())));
    let (most, shift) = moves.max_by(|a, b| a.1.total_cmp(&b.1))?;
    let id = clipped(&most.id);
    let radius = answer.region95().as_ref().ok().map(|r| (r.area().value() / std::f64::consts::PI).sqrt());
    let weight = match radius {
        Some(radius) if shift > radius => {
            "beyond the area itself: take that bearing again before you trust the rest"
        }
        _ => "inside the area: no single bearing carries the answer",
    };
    Some(format!(
        "One bearing less: without {id} the place moves {}, more than without any other; that is {weight}.",
        words::distance(crate::units::Metres::new(shift))
    ))
}

fn compass(overturn: &Overturn) -> Option<String> {
    let moves = overturn.turned.iter().filter(|m| m.distance.value().is_finite());
    let most = moves.max_by(|a, b| a.distance.value().total_cmp(&b.distance.value()))?;
    Some(format!(
        "A wrong compass: if all bearings were off by {TURN_DEGREES:.0}° the same way, the place would move by up to {}, toward {}.",
        words::distance(most.distance),
        words::bearing(most.toward, NorthReference::True)
    ))
}

fn doubled(answer: &Answer, overturn: &Overturn) -> String {
    let wide = Region::of(&overturn.doubled, Confidence::P95);
    let way = course(answer.fit.quoted(), overturn.doubled.quoted()).distance;
    match (answer.region95(), wide) {
        (Ok(now), Ok(wide)) => format!(
            "Worse bearings than stated: with every error twice as large the place moves {} and the 95 % area grows from {} to {}.",
            words::distance(way),
            words::area(now.area()),
            words::area(wide.area())
        ),
        _ => "Worse bearings than stated: with every error twice as large they no longer determine an area."
            .to_owned(),
    }
}

/// The treatment of north that the bearings exclude least.
fn north(answer: &Answer) -> Option<String> {
    let best: &NorthHypothesis = answer.audit.iter().max_by(|a, b| a.gain.total_cmp(&b.gain))?;
    let judged = if best.favoured() {
        format!("the bearings speak FOR it by a factor {}", words::factor(best.gain))
    } else if best.open() {
        "the bearings cannot tell".to_owned()
    } else {
        format!("the bearings speak against it by a factor {}", words::factor(-best.gain))
    };
    let moved =
        best.shift.map_or(String::new(), |m| format!(", and the place would move {}", words::distance(m)));
    Some(format!("Another north: if {}: {judged}{moved}.", best.kind.words()))
}

fn other_places(answer: &Answer) -> String {
    match answer.fit.modes() {
        [_, second, ..] => format!(
            "Another place: {} fits too, with {:.0} % of the probability.",
            words::place(second.place, answer.deserved()),
            100.0 * second.share
        ),
        _ => "Another place: none holds more than 2 % of the probability.".to_owned(),
    }
}

/// The kind of evidence that points farthest from the place of all.
fn kinds(answer: &Answer) -> Option<String> {
    let far = answer.alone.iter().max_by(|a, b| a.apart.value().total_cmp(&b.apart.value()))?;
    Some(format!(
        "Fewer kinds of evidence: the {} alone point {} away from the place of all.",
        far.kind.word(),
        words::distance(far.apart)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_widest_gap_goes_round_north() {
        assert_eq!(widest_gap(&[350.0, 20.0, 100.0]), (250.0, 225.0));
        assert_eq!(widest_gap(&[80.0, 200.0, 320.0]).0, 120.0);
        assert_eq!(widest_gap(&[10.0, 190.0]).0, 180.0);
    }
}
