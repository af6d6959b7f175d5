//! An assignment sheet for one team: the blocks of the public form ICS 204, Assignment List ([`crate::sources::ICS204`]). What is not
//! known stays blank, to be filled in by hand.

use std::fmt::Write as _;

use crate::{
    divide::Division,
    report::{
        division::{at, name, radio, time},
        words::distance,
    },
};

/// What a coordinator states for all sheets; blank where not stated.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Heading {
    /// Name of the incident.
    pub incident: String,
    /// Operational period.
    pub period: String,
    /// Radio channel or telephone number.
    pub channel: String,
    /// Who prepared it.
    pub prepared: String,
}

/// More streets than this are not listed one by one: a sheet is one page.
const LISTED: usize = 14;

/// The sheet of one team as a page of HTML that needs nothing else, made for one printed page.
pub fn sheet(division: &Division, k: usize, heading: &Heading) -> String {
    let part = &division.parts[k];
    let mut out = String::from(
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>Assignment</title>\n<style>\n\
         @page { size: A4; margin: 12mm }\n\
         body { font: 10pt/1.3 sans-serif; margin: 0 auto; max-width: 186mm; color: #000; background: #fff }\n\
         h1 { font-size: 15pt; margin: 0 0 2mm } table { border-collapse: collapse; width: 100%; margin: 0 0 2mm }\n\
         td, th { border: 1px solid #000; padding: 1mm 2mm; vertical-align: top; text-align: left }\n\
         th { font-weight: normal; font-size: 8pt; color: #333 } b { font-weight: 600 }\n\
         .n { text-align: right; white-space: nowrap } .tall { height: 9mm } p { margin: 0 0 1mm }\n\
         </style></head><body>\n",
    );
    let _ = writeln!(out, "<h1>Assignment list: {}</h1>", escaped(&part.team.name));
    let pair = |label: &str, value: &str| {
        format!("<td><small>{label}</small><br><b>{}</b>&nbsp;</td>", escaped(value))
    };
    let _ = writeln!(
        out,
        "<table><tr>{}{}{}</tr></table>",
        pair("1. Incident name", &heading.incident),
        pair("2. Operational period (date, from, to)", &heading.period),
        pair("3. Division or group", &format!("{} of {}", k + 1, division.parts.len()))
    );
    out += "<table><tr><th>4. Operations personnel</th><th>Name</th><th>Contact</th></tr>\
            <tr><td>Operations section chief</td><td class=tall></td><td></td></tr>\
            <tr><td>Supervisor</td><td class=tall></td><td></td></tr></table>\n";
    let place =
        part.team.place.map_or(String::new(), |p| format!("{:.5}, {:.5}", p.lat_degrees(), p.lon_degrees()));
    let _ = writeln!(
        out,
        "<table><tr><th>5. Resource</th><th>Leader</th><th>Persons</th><th>Contact</th><th>Reporting place (lat, lon)</th></tr>\
         <tr><td class=tall>{}</td><td></td><td></td><td></td><td>{}</td></tr></table>",
        escaped(&part.team.name),
        escaped(&place)
    );
    out += &work(division, k);
    out += &special(division, k);
    let _ = writeln!(
        out,
        "<table><tr><th>8. Communications</th><th>Channel, frequency or telephone</th></tr>\
         <tr><td class=tall>Command</td><td>{}</td></tr><tr><td>Text by radio</td><td>{}</td></tr></table>",
        escaped(&heading.channel),
        escaped(&radio(division, k))
    );
    let _ = writeln!(
        out,
        "<table><tr>{}{}{}</tr></table>\n</body></html>",
        pair("9. Prepared by", &heading.prepared),
        pair("Position, signature", ""),
        pair("Date and time", "")
    );
    out
}

fn work(division: &Division, k: usize) -> String {
    let part = &division.parts[k];
    let mut out = String::from("<table><tr><th>6. Work assignment</th></tr><tr><td>\n");
    let _ = writeln!(
        out,
        "<p>Walk {} ({}) and search on both sides; probability that the emitter is here <b>{:.0} %</b>; the route is {} long and takes <b>{}</b> without stops.</p>",
        distance(part.length),
        if division.on_streets { "each street at least once" } else { "in lanes" },
        100.0 * part.probability,
        distance(part.route_length),
        time(part.route_minutes)
    );
    if !part.streets.is_empty() {
        out += "<table><tr><th>Street</th><th>From, to</th><th class=n>Metres</th><th class=n>Minutes</th><th class=n>Probability</th></tr>\n";
        for street in part.streets.iter().take(LISTED) {
            let _ = writeln!(
                out,
                "<tr><td>{}</td><td>{}</td><td class=n>{:.0}</td><td class=n>{:.0}</td><td class=n>{:.1} %</td></tr>",
                escaped(name(&street.name)),
                escaped(&street.runs.join("; ")),
                street.length.value(),
                street.minutes.ceil(),
                100.0 * street.probability
            );
        }
        if let Some(rest) = part.streets.get(LISTED..).filter(|r| !r.is_empty()) {
            let metres: f64 = rest.iter().map(|s| s.length.value()).sum();
            let minutes: f64 = rest.iter().map(|s| s.minutes).sum();
            let held: f64 = rest.iter().map(|s| s.probability).sum();
            let _ = writeln!(
                out,
                "<tr><td>{} more, see the map file</td><td></td><td class=n>{metres:.0}</td><td class=n>{:.0}</td><td class=n>{:.1} %</td></tr>",
                rest.len(),
                minutes.ceil(),
                100.0 * held
            );
        }
        out += "</table>\n";
        let order: Vec<&str> = part.order.iter().take(40).map(|n| name(n)).collect();
        let more = if part.order.len() > 40 { ", and on as in the GPX file" } else { "" };
        let _ = writeln!(out, "<p>Order: {}{more}.</p>", escaped(&order.join(", ")));
    }
    out + "</td></tr></table>\n"
}

fn special(division: &Division, k: usize) -> String {
    let part = &division.parts[k];
    let mut out = String::from("<table><tr><th>7. Special instructions</th></tr><tr><td>\n");
    for meets in &part.meets {
        let other = &division.parts[meets.part].team.name;
        let _ = writeln!(
            out,
            "<p>Meets {} {}: the corner belongs to both.</p>",
            escaped(other),
            escaped(&at(meets.corners.len(), &meets.streets))
        );
    }
    for hazard in &part.hazards {
        let _ = writeln!(out, "<p>Beware: {}.</p>", escaped(hazard));
    }
    out += "<p>Stay on public ground; report before entering anything else. Write down times, and whether the emitter was heard.</p>\n";
    out + "</td></tr></table>\n"
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
