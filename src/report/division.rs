//! A division in words: the table, and a text for the radio.

use std::fmt::Write as _;

use crate::{
    divide::{Division, EVEN_ENOUGH, Part},
    finding::Finding,
    report::words::{count, distance, told, wrapped},
};

/// A search that one team walks in less than this many minutes needs no second one.
const SHORT: f64 = 20.0;

/// The longest text for the radio, characters.
pub const RADIO: usize = 160;

/// The whole division: the answer first, then a block for each team, then what is assumed and doubted.
pub fn division(division: &Division, others: &[Finding]) -> String {
    let mut out = String::new();
    let minutes: f64 = division.parts.iter().map(|p| p.route_minutes).fold(0.0, f64::max);
    let what = if division.on_streets { "streets" } else { "ground" };
    let first = format!(
        "{} {what} that hold the emitter with {:.0} % (if the data are what they say); the longest walk takes {}.",
        count(division.parts.len(), "team searches", "teams search"),
        100.0 * division.held(),
        time(minutes)
    );
    out += &wrapped(&first, "", "");
    out += &wrapped(&evenness(division), "", "");
    let all: f64 = division.parts.iter().map(|p| p.route_minutes).sum();
    if division.parts.len() > 1 && all < SHORT {
        out +=
            &wrapped(&format!("One team is enough: it could walk all of it in about {}.", time(all)), "", "");
    }
    for (k, part) in division.parts.iter().enumerate() {
        out.push('\n');
        out += &block(division, k, part);
    }
    let all: Vec<&Finding> = division.findings.iter().chain(others).collect();
    if !all.is_empty() {
        out.push_str("\nAssumed and doubted\n");
        for line in told(&all) {
            out += &wrapped(&line, "  ", "    ");
        }
    }
    out
}

fn evenness(division: &Division) -> String {
    if division.parts.len() < 2 {
        return "One team: nothing is divided.".to_owned();
    }
    let off = 100.0 * division.unevenness;
    if division.unevenness <= EVEN_ENOUGH {
        let minutes = division.parts.iter().map(|p| p.minutes);
        let (short, long) = minutes.fold((f64::INFINITY, 0.0f64), |(a, b), m| (a.min(m), b.max(m)));
        let unlike = if long > UNLIKE * short {
            format!(
                " What the teams have to search takes from {} to {}: no way was found to give parts that hang together both the same chance \
                 a minute and like lengths.",
                time(short),
                time(long)
            )
        } else {
            String::new()
        };
        return format!(
            "Each minute of walking has the same chance for every team, within {off:.1} %.{unlike}"
        );
    }
    let fewer = match division.even_teams {
        Some(teams) => format!("with {teams} teams each minute would have the same chance"),
        None => "fewer teams would do".to_owned(),
    };
    let why = match division.most_even {
        Some(most) => format!(
            "More than {most} cannot all have the same, whatever the division: the likely streets and the unlikely ones touch in too few places"
        ),
        None => "The likeliest streets are so few that no way was found to give every team its share of them in one part that hangs together"
            .to_owned(),
    };
    format!(
        "A minute of walking does not promise every team as much: they differ by up to {off:.0} % from the mean. {why}; {fewer}."
    )
}

/// The teams' minutes are told where the longest is more than so many times the shortest.
const UNLIKE: f64 = 1.6;

fn block(division: &Division, k: usize, part: &Part) -> String {
    let mut out = String::new();
    let head = format!(
        "{}: {:.0} %, {} to search in {}, route {} in {}",
        part.team.name,
        100.0 * part.probability,
        distance(part.length),
        time(part.minutes),
        distance(part.route_length),
        time(part.route_minutes)
    );
    out += &wrapped(&head, "", "  ");
    if !part.streets.is_empty() {
        let list: Vec<String> = part
            .streets
            .iter()
            .map(|s| {
                let (metres, minutes) = (s.length.value(), s.minutes);
                let runs =
                    if s.runs.is_empty() { String::new() } else { format!(" ({})", s.runs.join("; ")) };
                let (minutes, percent) = (time(minutes), 100.0 * s.probability);
                format!("{}{runs} {metres:.0} m, {minutes}, {percent:.1} %", name(&s.name))
            })
            .collect();
        out += "  Streets:\n";
        for street in list {
            out += &wrapped(&street, "    ", "      ");
        }
    }
    if !part.order.is_empty() {
        let order: Vec<&str> = part.order.iter().map(|n| name(n)).collect();
        out += &wrapped(&format!("Route: {}", order.join(", ")), "  ", "    ");
    }
    for meets in &part.meets {
        let other = &division.parts[meets.part].team.name;
        out += &wrapped(&format!("Meets {other} {}", at(meets.corners.len(), &meets.streets)), "  ", "    ");
    }
    for hazard in &part.hazards {
        out += &wrapped(&format!("Beware: {hazard}"), "  ", "    ");
    }
    let radio = radio(division, k);
    let _ = writeln!(out, "  Radio ({} characters): {radio}", radio.chars().count());
    out
}

/// `at 3 corners of Elm Street, 2nd Avenue`.
pub(super) fn at(corners: usize, streets: &[String]) -> String {
    if streets.is_empty() {
        return "along the outline".to_owned();
    }
    let some: Vec<&str> = streets.iter().take(4).map(|n| name(n)).collect();
    format!("at {} of {}", count(corners, "corner", "corners"), some.join(", "))
}

pub(super) fn name(name: &str) -> &str {
    if name.is_empty() { "unnamed" } else { name }
}

/// Minutes, or hours and minutes from 90 on; at least one minute.
pub(super) fn time(minutes: f64) -> String {
    let whole = minutes.ceil().clamp(1.0, 1e9) as u64;
    if whole < 90 { format!("{whole} min") } else { format!("{} h {:02} min", whole / 60, whole % 60) }
}

/// What the team hears by radio: who, how long, how likely, which streets, who is next; at most [`RADIO`] characters, and plain ones.
pub fn radio(division: &Division, k: usize) -> String {
    let part = &division.parts[k];
    let team = clipped(&plain(&part.team.name), 30);
    let mut out = format!(
        "{team}: {} {}, {:.0} pct.",
        plain(&distance(part.route_length)),
        time(part.route_minutes),
        100.0 * part.probability
    );
    let next: Vec<String> =
        part.meets.iter().map(|m| clipped(&plain(&division.parts[m.part].team.name), 12)).collect();
    let next =
        if next.is_empty() { String::new() } else { clipped(&format!(" Next: {}.", next.join(", ")), 50) };
    let room = RADIO.saturating_sub(out.len() + next.len() + 2);
    let mut streets = String::new();
    for street in &part.streets {
        let more = plain(name(&street.name));
        let comma = if streets.is_empty() { 0 } else { 2 };
        if streets.len() + comma + more.len() + 4 > room {
            if !streets.is_empty() {
                streets += " ...";
            }
            break;
        }
        if comma > 0 {
            streets += ", ";
        }
        streets += &more;
    }
    if !streets.is_empty() {
        let _ = write!(out, " {streets}.");
    }
    out + &next
}

fn clipped(text: &str, most: usize) -> String {
    text.chars().take(most).collect()
}

/// Letters that every radio's text takes: what is not ASCII becomes the letter below it or a question mark.
fn plain(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            'ä' | 'à' | 'á' | 'â' | 'å' => out.push('a'),
            'ö' | 'ò' | 'ó' | 'ô' | 'ø' => out.push('o'),
            'ü' | 'ù' | 'ú' | 'û' => out.push('u'),
            'é' | 'è' | 'ê' | 'ë' => out.push('e'),
            'ß' => out.push_str("ss"),
            'ç' => out.push('c'),
            'ñ' => out.push('n'),
            c if c.is_whitespace() => out.push(' '),
            c if c.is_ascii() && !c.is_ascii_control() => out.push(c),
            _ => out.push('?'),
        }
    }
    out
}
