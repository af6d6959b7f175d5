//! The parts of the page that tell of the case.

use jiff::tz::TimeZone;

use crate::{
    case::{Agreed, Closed, Entry, Event},
    page::{
        Form, Past,
        document::{Document, Run, signed, unbroken, words},
    },
};

/// Who complains of what.
pub fn complaint(case: &Past, out: &mut Document) {
    out.heading("Complaint");
    let m = case.manifest;
    let none = || "not stated".to_owned();
    let rows: Vec<Vec<Run>> = [
        ("Service that suffers", m.victim.clone().unwrap_or_else(none)),
        ("Complaint", m.complaint.clone().unwrap_or_else(none)),
        ("Frequency", m.frequency_hz.map_or_else(none, |f| format!("{} MHz", f / 1e6))),
        ("Licence", m.licence.clone().unwrap_or_else(none)),
        ("Point of contact", m.contact.clone().unwrap_or_else(none)),
        ("Case opened", when(m.opened, None)),
        ("Opened by", m.by.clone()),
    ]
    .into_iter()
    .map(|(name, what)| vec![words(name), words(what)])
    .collect();
    out.named(rows);
}

/// A moment in UTC, and in a zone beside it.
pub fn when(time: jiff::Timestamp, zone: Option<&TimeZone>) -> String {
    let utc = time.to_zoned_datetime(TimeZone::UTC).strftime("%Y-%m-%d %H:%M:%S UTC").to_string();
    match zone {
        Some(zone) => format!("{utc} ({})", time.to_zoned_datetime(zone.clone()).strftime("%H:%M %Z")),
        None => utc,
    }
}

/// Each comparison of before and after, and who agreed.
pub fn closures(case: &Past, form: Form, out: &mut Document) {
    for entry in case.entries {
        let Event::Closed(closed) = &entry.event else { continue };
        out.heading("Before and after");
        out.list(&closed.summary);
        out.named(compared(closed, entry, form));
        agreed(&closed.agreed, form, out);
    }
}

fn compared(c: &Closed, entry: &Entry, form: Form) -> Vec<Vec<Run>> {
    let zone = TimeZone::get(&c.zone).ok();
    let shared = form == Form::Shared;
    let receiver = c.receiver.clone().filter(|_| !shared);
    [
        ("Put right", Some(when(c.corrected, zone.as_ref()))),
        ("Change, same hours of the same weekdays", Some(signed(&format!("{:+.1} dB", c.change_db)))),
        ("95 % interval", Some(signed(&format!("{:+.1} to {:+.1} dB", c.low_db, c.high_db)))),
        ("Hours of the week compared", Some(format!("{} of 168, by the clock of {}", c.hours, c.zone))),
        ("Receiver", receiver),
        ("Compared by", Some(format!("{}, {}", entry.by, when(entry.time, None)))),
        ("Figures", Some(format!("results/{} from {}", c.kept.result, c.kept.read.join(", ")))),
    ]
    .into_iter()
    .filter_map(|(name, what)| Some(vec![words(name), words(what?)]))
    .collect()
}

fn agreed(agreed: &[Agreed], form: Form, out: &mut Document) {
    if agreed.is_empty() {
        out.paragraph(
            "Nobody is named who agreed that it is over. A case is closed with whoever complained.",
        );
        return;
    }
    let rows: Vec<Vec<Run>> = agreed
        .iter()
        .map(|a| {
            let remark = a.remark.clone().filter(|_| form == Form::Full).unwrap_or_default();
            [a.who.clone(), a.when.clone().unwrap_or_else(|| "not stated".to_owned()), remark]
                .map(words)
                .to_vec()
        })
        .collect();
    out.table(&["agreed", "when", "remark"], &[], rows);
}

/// What happened to the case, in UTC and in its own zone.
pub fn log(case: &Past, form: Form, out: &mut Document) {
    out.heading("Timeline and chain of custody");
    let zone = case.manifest.zone.as_deref().and_then(|z| TimeZone::get(z).ok());
    let row = |e: &Entry| {
        let time = unbroken(when(e.time, zone.as_ref()));
        vec![words(e.entry.to_string()), time, words(&e.by), words(what(e, form))]
    };
    out.table(&["entry", "time", "who", "what"], &[0], case.entries.iter().map(row).collect());
}

fn what(entry: &Entry, form: Form) -> String {
    match &entry.event {
        Event::Opened { .. } => "case opened".to_owned(),
        Event::Note { .. } if form == Form::Shared => "a note, left out of this form".to_owned(),
        Event::Note { text } => text.clone(),
        Event::Concluded(c) => format!("concluded from {} ({})", c.read.join(", "), c.result),
        Event::Closed(c) => {
            format!("compared before and after, from {} ({})", c.kept.read.join(", "), c.kept.result)
        }
        Event::Measured(m) => {
            format!("field strength measured, from {} ({})", m.kept.read.join(", "), m.kept.result)
        }
        Event::Timed(t) => {
            format!("looked when it is on, from {} ({})", t.kept.read.join(", "), t.kept.result)
        }
        Event::OwnSystem(_) => "own system tried".to_owned(),
        Event::Unknown => "something that a newer version wrote".to_owned(),
        Event::Added(a) => {
            let mut out = format!("file {} received, {} bytes, SHA-256 {}", a.file, a.bytes, a.sha256);
            if form == Form::Shared {
                return out;
            }
            let offset = a.clock_offset_s.map(|s| format!("clock offset {s} s"));
            let facts = [
                a.came_as.as_ref().map(|n| format!("came as {n}")),
                a.device.as_ref().map(|d| format!("recorded by {d}")),
                offset,
                a.acquired.map(|t| format!("acquired {}", when(t, None))),
                a.acquired_by.as_ref().map(|w| format!("by {w}")),
                a.purpose.as_ref().map(|p| format!("for {p}")),
            ];
            facts.into_iter().flatten().for_each(|fact| out += &format!("; {fact}"));
            out
        }
    }
}
