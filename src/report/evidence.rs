//! Levels, sectors and the comparison of kinds, in words.

use crate::{
    observe::NorthReference,
    report::{Answer, words},
    solve::Kind,
};

/// What the levels say, a line each.
pub(super) fn levels(answer: &Answer) -> Vec<String> {
    let prepared = &answer.levels;
    let mut out = Vec::new();
    let left: Vec<String> =
        prepared.left_out.iter().map(|(why, n)| format!("{n} {}", why.reason())).collect();
    let left_count: usize = prepared.left_out.iter().map(|l| l.1).sum();
    if prepared.levels.is_empty() && left_count == 0 {
        return out;
    }
    let below = match prepared.below {
        0 => String::new(),
        n => format!(", {n} of them below the floor"),
    };
    out.push(format!("{} used{below}", words::count(prepared.levels.len(), "reading", "readings")));
    if left_count > 0 {
        out.push(format!("{left_count} left out: {}", left.join("; ")));
    }
    let Some(law) = answer.law else { return out };
    out.push(format!(
        "neighbours share their shadow: the readings tell as much as {:.0} that do not",
        law.effective.max(1.0)
    ));
    out.push(format!(
        "level at 1 m {:.0} ± {:.0} dBm, exponent {:.1} ± {:.1}, shadowing {:.1} dB, alike over about {}",
        law.start.0.value(),
        law.start.1.value(),
        law.exponent.0,
        law.exponent.1,
        law.shadowing.value(),
        words::distance(law.decorrelation)
    ));
    if law.strained() {
        out.push(format!(
            "DOUBTFUL: that exponent lies outside of what was assumed ({:.1} ± {:.1}): levels fall with distance in another \
             way than a power law, or the emitter does not radiate alike in all directions",
            law.exponent_prior.0, law.exponent_prior.1
        ));
    }
    if let Some((near, far)) = answer.distances()
        && far < 3.0 * near
    {
        out.push(format!(
            "all distances lie between {} and {}, less than 1 to 3: power and exponent cannot be told apart; read nearer \
             by, or farther off",
            words::distance(crate::units::Metres::new(near)),
            words::distance(crate::units::Metres::new(far))
        ));
    }
    out
}

/// Each kind alone, and whether they agree.
pub(super) fn kinds(answer: &Answer) -> Vec<String> {
    let mut out = Vec::new();
    for alone in &answer.alone {
        let place = words::place(alone.place, alone.radius);
        let area = match alone.area {
            Some(area) => format!("95 % region {}", words::area(area)),
            None => "no 95 % region".to_owned(),
        };
        out.push(format!(
            "{} alone: near {place}, {area}; {} toward {} from the place of all",
            alone.kind.word(),
            words::distance(alone.apart),
            words::bearing(alone.toward, NorthReference::True)
        ));
    }
    if let Some(p) = answer.kinds_p {
        let said = if answer.conflict() {
            "they contradict each other, and the place of all is not to be trusted"
        } else {
            "they agree on one place"
        };
        out.push(format!("p = {p:.2}: {said}").replace("p = 0.00", "p below 0.005"));
    }
    if answer.conflict() {
        out.push(reconcile(answer));
    }
    out
}

/// Which assumption would have to fall.
fn reconcile(answer: &Answer) -> String {
    let has = |kind: Kind| answer.alone.iter().any(|a| a.kind == kind);
    let mut out = String::from("What would reconcile them: ");
    let mut ways = Vec::new();
    if has(Kind::Levels) {
        ways.push("an emitter that radiates mostly one way (read levels on its other side)");
    }
    ways.push("a second emitter (look whether both places transmit)");
    if has(Kind::Bearings) {
        ways.push("a wrong north or reflected bearings (take one bearing from another side)");
    }
    out += &ways.join("; ");
    out
}
