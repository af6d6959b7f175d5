//! Where to stand next, in words.

use std::fmt::Write as _;

use crate::{
    observe::NorthReference,
    plan::{Advice, Kinds, Pair, Stand, Why},
    report::words::{area, bearing, distance, place, wrapped},
    units::Metres,
};

/// The advice: what to do first, then the stands with their reasons, then what was taken for granted.
pub fn advice(advice: &Advice) -> String {
    let mut out = wrapped(&first(advice), "", "");
    if let Some(now) = advice.area {
        let text = format!("The 95 % region has {} now.", area(now));
        out += &wrapped(&text, "", "");
    }
    if !advice.stands.is_empty() {
        out += if advice.enough {
            "\nIf you do not find it there, take another bearing; the best stands first:\n"
        } else {
            "\nStands, the best first:\n"
        };
    }
    for (rank, stand) in advice.stands.iter().enumerate() {
        out += &wrapped(&described(advice, stand), &format!("{:>2}. ", rank + 1), "    ");
    }
    if let Some(two) = &advice.pair {
        out += &format!("\n{}\n", pair(two));
    }
    if let Some(kinds) = advice.kinds.filter(|_| !advice.enough) {
        out += &wrapped(&pays(&kinds), "", "");
    }
    out += "\nWhile you walk, watch the level: where it rises above all before, take a bearing at once.\n";
    if !advice.findings.is_empty() {
        out.push('\n');
    }
    for finding in &advice.findings {
        let _ = writeln!(out, "{finding}");
    }
    out
}

/// Where two teams go at once.
fn pair(pair: &Pair) -> String {
    let [a, b] = pair.stands.map(|s| place(s, Metres::new(5.0)));
    let [to_a, to_b] = pair.walks.map(minutes);
    let cut = pair.cut.map_or(String::new(), |c| format!(" Their lines meet at {:.0}°.", c.to_degrees()));
    let text = format!(
        "Two teams at once: the first takes a bearing at {a} ({to_a} on foot), the second at {b} ({to_b}).{cut} Expect about {} until \
         one of them is at the emitter; the better placed team alone would take about {}.",
        minutes(pair.minutes),
        minutes(pair.alone)
    );
    wrapped(&text, "", "")
}

/// What to do, in a sentence or two.
fn first(advice: &Advice) -> String {
    let goal = place(advice.goal, Metres::new(10.0));
    if advice.enough {
        return format!(
            "Enough: go and look. Begin at {goal}, where the emitter is likeliest; expect about {} with the search. Of 100 such \
             walks, {:.0} come across it on the way there. {LOOK}",
            minutes(advice.look),
            100.0 * advice.look_meets
        );
    }
    let Some(best) = advice.stands.first() else {
        return "No stand can be proposed from here: nothing that can be reached tells anything new."
            .to_owned();
    };
    let open = advice.open.map_or(String::new(), |along| {
        format!(
            "The area is not determined yet: it is open toward {}. ",
            bearing(along, NorthReference::True)
        )
    });
    let gain = if advice.area.is_some() {
        format!(
            " Expect about {} to the emitter that way, and about {} if you walk to the likeliest place first.",
            minutes(best.total),
            minutes(advice.look)
        )
    } else {
        String::new()
    };
    format!("{open}Take the next bearing at {}.{gain}", spot(best))
}

/// Which kind of measurement pays now.
fn pays(kinds: &Kinds) -> String {
    let left = |nats: f64| format!("{:.0} %", (100.0 * (-nats).exp()).clamp(1.0, 100.0));
    let (bearing, levels) = (left(kinds.bearing), left(kinds.levels));
    let verdict = if kinds.levels_pay() {
        "Levels pay most now: read them all along the way"
    } else {
        "The bearing pays most now; levels on the way cost nothing"
    };
    format!(
        "{verdict}. Of the area, {bearing} is left on the average by a bearing at the first stand, and {levels} or less by the \
         levels on the way there alone."
    )
}

/// What people find, with no word of how to get at it.
const LOOK: &str = "Look for antennas and amplifiers that are new or loose, cables with bad joints, and devices that go on \
                    and off with the signal. From public ground: what is on a mast, a roof or private land is for its owner.";

fn spot(stand: &Stand) -> String {
    let at = place(stand.at.place, Metres::new(5.0));
    if stand.at.name.is_empty() { at } else { format!("{} ({at})", stand.at.name) }
}

/// One stand: where, why, what it brings, how long.
fn described(advice: &Advice, stand: &Stand) -> String {
    let mut out = format!("{}: {}", spot(stand), why(stand));
    if let Some(cut) = &stand.cut {
        let _ = write!(out, "; cuts {} at {:.0}°", cut.id, cut.angle.to_degrees());
    }
    let before = advice.area.map_or(String::new(), |a| format!("{} → ", area(a)));
    // A few bearings will be reflections and leave much: one number would hide that.
    let (usual, wide) = (area(stand.usual_area), area(stand.wide_area));
    let _ = write!(out, "; area {before}usually {usual}, nine times in ten below {wide}");
    if advice.area.is_some() {
        let _ = write!(out, " ({} left to search on the average)", area(stand.area));
    }
    let _ = write!(out, "; {} on foot, {} in all", minutes(stand.at.minutes), minutes(stand.total));
    let _ = write!(
        out,
        ". Look toward {}, about {} off (±{:.0}°).",
        bearing(stand.toward, NorthReference::True),
        distance(stand.range),
        stand.sigma.to_degrees()
    );
    if let Some(heard) = stand.heard {
        let _ = write!(out, " Chance to hear it there: {:.0} %.", 100.0 * heard);
    }
    if let Some(blocked) = stand.blocked.filter(|b| *b > 0.5) {
        let _ = write!(out, " Buildings stand in {:.0} % of the sights: mind reflections.", 100.0 * blocked);
    }
    out
}

fn why(stand: &Stand) -> String {
    match stand.why {
        Why::ClosesOpen(along) => {
            format!("closes the open direction {}", bearing(along, NorthReference::True))
        }
        Why::OpenSide => "fills the open side".to_owned(),
        Why::AcrossLongAxis => "goes across the long axis of the area".to_owned(),
        Why::Wider => "widens the angle between the lines".to_owned(),
        Why::Nearer => "is nearer, where the same error is fewer metres".to_owned(),
    }
}

fn minutes(value: f64) -> String {
    match value.round() {
        v if v < 2.0 => "1 minute".to_owned(),
        v if v < 120.0 => format!("{v:.0} minutes"),
        v if v < 6_000.0 => format!("{:.0} hours", v / 60.0),
        _ => "days".to_owned(),
    }
}
