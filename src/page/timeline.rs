//! When what was observed, in UTC and in the case's zone.

use jiff::{Timestamp, tz::TimeZone};

use crate::{
    case::Event,
    page::{
        Content, Form,
        document::{Document, Run, unbroken, words},
        past::when,
    },
    report::{Answer, count},
};

/// A stretch of time in which something was observed.
struct Stretch {
    from: Timestamp,
    to: Timestamp,
    what: String,
}

/// Everything observed, by its beginning.
pub fn observations(content: &Content, out: &mut Document) {
    let mut all = bearings(content.answer, content.form);
    all.extend(levels(content.answer, content.form));
    for entry in content.case.iter().flat_map(|c| c.entries) {
        match &entry.event {
            Event::Timed(t) => {
                all.push(Stretch {
                    from: t.from,
                    to: t.to,
                    what: "log of a receiver that stayed in its place".to_owned(),
                });
            }
            Event::Closed(c) => {
                all.push(Stretch { from: c.corrected, to: c.corrected, what: "put right".to_owned() });
            }
            _ => {}
        }
    }
    if all.is_empty() {
        return;
    }
    all.sort_by_key(|s| (s.from, s.to));
    let zone = content.case.and_then(|c| c.manifest.zone.as_deref()).and_then(|z| TimeZone::get(z).ok());
    out.heading("When what was observed");
    let row = |s: &Stretch| -> Vec<Run> {
        let to = if s.to == s.from { String::new() } else { when(s.to, zone.as_ref()) };
        vec![unbroken(when(s.from, zone.as_ref())), unbroken(to), words(&s.what)]
    };
    out.table(&["from", "to", "what"], &[], all.iter().map(row).collect());
}

/// Bearings of each team.
fn bearings(answer: &Answer, form: Form) -> Vec<Stretch> {
    let mut teams: Vec<(Option<&str>, Vec<Timestamp>)> = Vec::new();
    for read in answer.bearings.iter().map(|b| b.read()) {
        let Some(time) = &read.time else { continue };
        let team = read.team.as_deref();
        match teams.iter_mut().find(|(t, _)| *t == team) {
            Some((_, times)) => times.push(time.utc()),
            None => teams.push((team, vec![time.utc()])),
        }
    }
    let told = |(team, times): (Option<&str>, Vec<Timestamp>)| {
        let of = team.filter(|_| form == Form::Full).map_or(String::new(), |t| format!(" of team {t}"));
        let what = format!("{}{of}", count(times.len(), "bearing", "bearings"));
        Some(Stretch { from: *times.iter().min()?, to: *times.iter().max()?, what })
    };
    teams.into_iter().filter_map(told).collect()
}

/// Levels of each receiver that was carried about.
fn levels(answer: &Answer, form: Form) -> Vec<Stretch> {
    let prepared = &answer.levels;
    let of = |(device, name): (usize, &String)| {
        let times: Vec<f64> =
            prepared.levels.iter().filter(|l| l.device == device).filter_map(|l| l.time).collect();
        let at = |seconds: f64| Timestamp::from_millisecond((1e3 * seconds).round() as i64).ok();
        let from = at(times.iter().copied().reduce(f64::min)?)?;
        let to = at(times.iter().copied().reduce(f64::max)?)?;
        let by = if form == Form::Full { format!(", {name}") } else { String::new() };
        Some(Stretch { from, to, what: format!("{}{by}", count(times.len(), "level", "levels")) })
    };
    prepared.devices.iter().enumerate().filter_map(of).collect()
}
