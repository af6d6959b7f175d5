//! What a report of harmful interference states: the lines of Appendix 10 of the Radio Regulations
//! ([`RR10`](crate::sources::RADIO_REGULATIONS_10)) in our words, with "not measured" where nothing was.

use crate::{
    case::{Entry, Event, Manifest},
    observe::NorthReference,
    page::{
        Content,
        document::{Document, signed, words},
    },
    report::{bearing, field_headline},
    solve::Verdict,
    units::Metres,
};

const NOT: &str = "not measured";

/// The four things that the first notice to a licensee who may cause it states, after [`CFR90674`](crate::sources::CFR90674).
pub fn notice(content: &Content, out: &mut Document) {
    out.heading("First notice to those who may cause it");
    let manifest = content.case.map(|c| c.manifest);
    let not = || "not stated".to_owned();
    let spells = content.case.map_or_else(Vec::new, |c| spells(c.entries));
    let times = match (spells.as_slice(), observed(content)) {
        ([], span) => format!("observed {span}"),
        (many, _) => many.join("; "),
    };
    let stated = |field: fn(&Manifest) -> &Option<String>| manifest.and_then(|m| field(m).clone());
    let severity = stated(|m| &m.complaint).unwrap_or_else(not);
    let rows = [
        ("Where and when", format!("{} Times: {times}.", content.allowed(&content.answer.summary()))),
        ("Scope and severity", format!("{severity}. Source: not identified")),
        ("Licence of the service that suffers", stated(|m| &m.licence).unwrap_or_else(not)),
        ("Single point of contact", stated(|m| &m.contact).unwrap_or_else(not)),
    ];
    out.named(rows.into_iter().map(|(name, what)| vec![words(name), words(what)]).collect());
    out.paragraph(
        "After 47 CFR 90.674, from memory: the rule for the 800 MHz band of the United States. Elsewhere ask the authority for its \
         own form.",
    );
}

/// When it was on, of each log that was looked at.
fn spells(entries: &[Entry]) -> Vec<String> {
    let told = |e: &Entry| match &e.event {
        Event::Timed(t) => Some(format!("{} to {}: {}", t.from, t.to, t.summary.first()?)),
        _ => None,
    };
    entries.iter().filter_map(told).collect()
}

/// First and last time of a bearing.
fn observed(content: &Content) -> String {
    let times = content.answer.bearings.iter().filter_map(|b| b.read().time.as_ref());
    let times: Vec<jiff::Timestamp> = times.map(crate::instant::Instant::utc).collect();
    match (times.iter().min(), times.iter().max()) {
        (Some(first), Some(last)) => format!("{first} to {last}"),
        _ => NOT.to_owned(),
    }
}

/// The lines.
pub fn lines(content: &Content, out: &mut Document) {
    out.heading("Lines of a report of harmful interference");
    let rows =
        stated(content).into_iter().map(|(letter, line, what)| vec![words(letter), words(line), words(what)]);
    out.table(&["line", "asked for", "stated"], &[], rows.collect());
    out.paragraph(
        "After Appendix 10 of the Radio Regulations, in words of our own. Lines p to x are put down from memory: check their letters and \
         wording against the edition in force before sending.",
    );
}

fn stated(content: &Content) -> Vec<(&'static str, &'static str, String)> {
    let answer = content.answer;
    let not = || NOT.to_owned();
    let frequency = answer.bearings.iter().find_map(|b| b.read().frequency).map(|f| f.value());
    let frequency = frequency.map_or_else(not, |f| format!("{} MHz", f / 1e6));
    let assigned = content.case.and_then(|c| c.manifest.frequency_hz).map(|f| format!("{} MHz", f / 1e6));
    let victim = content.case.and_then(|c| c.manifest.victim.clone());
    let complaint = content.case.and_then(|c| c.manifest.complaint.clone());
    let strongest = answer.levels.levels.iter().filter_map(|l| match l.heard {
        crate::check::Heard::Signal { level, .. } => Some(level.value()),
        crate::check::Heard::Below(_) => None,
    });
    let strongest = strongest.fold(f64::NEG_INFINITY, f64::max);
    let sheet = content.case.and_then(|c| {
        c.entries.iter().rev().find_map(|e| match &e.event {
            crate::case::Event::Measured(m) => Some(&m.sheet),
            _ => None,
        })
    });
    let strength = match (sheet, strongest.is_finite()) {
        (Some(s), _) => join(&field_headline(s), s.first.as_deref().unwrap_or("time not stated")),
        (None, true) => format!(
            "{NOT} as a field strength; strongest level at the receiver {} dBm",
            signed(&format!("{strongest:.1}"))
        ),
        (None, false) => not(),
    };
    let polarisation = sheet.and_then(|s| s.polarisation.clone()).unwrap_or_else(not);
    let span = observed(content);
    let spells = content.case.map_or_else(Vec::new, |c| spells(c.entries));
    let spells = if spells.is_empty() { not() } else { spells.join("; ") };
    vec![
        (
            "a",
            "name, call sign or other identification of the station that causes it",
            "not identified".to_owned(),
        ),
        ("b", "frequency measured, with date and time", join(&frequency, &span)),
        ("c", "class of emission", not()),
        ("d", "bandwidth", not()),
        ("e", "field strength or power flux-density, with date and time", strength),
        ("f", "polarisation observed", polarisation),
        ("g", "class of station and nature of service", "not known".to_owned()),
        ("h", "location, position, area or bearing", area(content)),
        ("i", "location of the facility that made the measurements", stands(content)),
        (
            "j",
            "name, call sign or other identification of the station interfered with",
            victim.clone().unwrap_or_else(|| "not stated".to_owned()),
        ),
        ("k", "frequency assigned to it", assigned.unwrap_or_else(|| "not stated".to_owned())),
        ("l", "frequency measured there, with date and time", not()),
        ("m", "class of emission of the wanted signal", not()),
        ("n", "bandwidth of the wanted signal", not()),
        ("o", "location of the station interfered with", not()),
        (
            "p",
            "name or call sign of the receiving station that suffers",
            victim.unwrap_or_else(|| "not stated".to_owned()),
        ),
        ("q", "location of that receiving station", not()),
        ("r", "dates and times of the interference, UTC", spells),
        ("s", "bearings or other particulars that it observed", not()),
        ("t", "nature of the interference", complaint.unwrap_or_else(|| "not stated".to_owned())),
        ("u", "field strength or power flux-density of the wanted signal there, with date and time", not()),
        ("v", "polarisation of the receiving antenna, or observed", not()),
        ("w", "what is asked for", "not stated".to_owned()),
        ("x", "who reports, and when", reported(content)),
    ]
}

/// Whoever drew the conclusion, by role.
fn reported(content: &Content) -> String {
    let concluded = |e: &&crate::case::Entry| matches!(e.event, crate::case::Event::Concluded(_));
    let last = content.case.and_then(|c| c.entries.iter().rev().find(concluded));
    last.map_or("not stated".to_owned(), |e| format!("{}, {}", e.by, e.time))
}

fn join(what: &str, when: &str) -> String {
    if what == NOT || when == NOT { what.to_owned() } else { format!("{what}; {when}") }
}

fn area(content: &Content) -> String {
    let answer = content.answer;
    let direct: Vec<String> = answer
        .bearings
        .iter()
        .zip(&answer.record.residuals)
        .filter(|(_, r)| r.verdict == Verdict::Direct)
        .take(12)
        .map(|(b, _)| format!("{} {}", b.read().id, bearing(b.azimuth(), NorthReference::True)))
        .collect();
    match (answer.region95(), direct.is_empty()) {
        (Ok(_), true) => content.allowed(&answer.summary()),
        (Ok(_), false) => format!("{} Bearings: {}.", content.allowed(&answer.summary()), direct.join(", ")),
        (Err(open), _) => format!("{open}. Bearings: {}.", direct.join(", ")),
    }
}

fn stands(content: &Content) -> String {
    let mut told: Vec<String> = Vec::new();
    for bearing in content.answer.bearings.iter().take(20) {
        let at = content.place(bearing.read().stand.at, Metres::new(10.0));
        if !told.contains(&at) {
            told.push(at);
        }
    }
    if told.is_empty() { "see the files named below".to_owned() } else { told.join("; ") }
}
