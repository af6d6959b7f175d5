use super::*;
use crate::{
    case::{Added, Event, SCHEMA},
    ingest, north, report,
    solve::{self, Options, Problem},
};

const NOTES: &str = "id,lat,lon,bearing_deg,north,class,remarks\n\
    <script>alert(1)</script>,47,8.013151,270,true,B,\"=cmd|'x'!A1 & \u{202e}<img src=x onerror=y>\"\n\
    b,46.991,8,0,true,B,]]>\nc,47.009,8,181,true,B,\nd,47,7.987,20,true,B,two peaks\n";

fn answer() -> Answer {
    let read = ingest::bearings("notes.csv", NOTES.as_bytes(), &ingest::Settings::default());
    let bearings = north::resolve(&read.rows, &north::Settings::default()).bearings;
    let problem = Problem { bearings: &bearings, ..Problem::default() };
    let fit = solve::fit(&problem, &Options::default()).unwrap();
    report::answer(fit, report::Notes { bearings, findings: read.findings, ..report::Notes::default() })
}

fn written() -> String {
    let answer = answer();
    let time = jiff::Timestamp::from_second(1_773_762_000).unwrap();
    let manifest = Manifest {
        schema: SCHEMA,
        title: "<b>Noise</b>".to_owned(),
        opened: time,
        by: "\"><svg onload=x>".to_owned(),
        victim: None,
        complaint: Some("</td></table>".to_owned()),
        frequency_hz: Some(841.5e6),
        zone: Some("America/Los_Angeles".to_owned()),
    };
    let added = Event::Added(Added {
        file: "notes.csv".to_owned(),
        came_as: Some("<notes>.csv".to_owned()),
        bytes: NOTES.len() as u64,
        sha256: Digest::of(NOTES.as_bytes()),
        device: None,
        clock_offset_s: Some(-3.0),
        acquired: None,
        acquired_by: None,
        purpose: None,
    });
    let entry = Entry { entry: 1, time, by: "x".to_owned(), before: Digest::NONE, event: added };
    let made = Made {
        version: "1".to_owned(),
        command: "locate '<x>'".to_owned(),
        inputs: vec![("notes.csv".to_owned(), Digest::of(NOTES.as_bytes()))],
    };
    let overturn = solve::overturn(&answer.fit);
    page(&Content {
        answer: &answer,
        overturn: overturn.as_ref(),
        background: &Background::default(),
        made,
        case: Some(Past { manifest: &manifest, entries: &[entry] }),
    })
}

/// Elements of the page, by name, as a parser of XML sees them: everything here is written so that it is XML too, but for
/// the document type and the two elements that stay open.
fn elements(page: &str) -> std::collections::BTreeSet<String> {
    let xml = page.replace("<!DOCTYPE html>\n", "").replace("<meta ", "<void ");
    let mut reader = quick_xml::Reader::from_str(&xml);
    reader.config_mut().check_end_names = false;
    let mut out = std::collections::BTreeSet::new();
    loop {
        match reader.read_event().expect("well formed") {
            quick_xml::events::Event::Start(e) | quick_xml::events::Event::Empty(e) => {
                out.insert(e.name().as_ref().to_owned());
                for attribute in e.attributes() {
                    let attribute = attribute.expect("well formed");
                    let name = attribute.key.as_ref().to_owned();
                    assert!(!name.starts_with("on") && name != "src" && name != "href", "{name}");
                }
            }
            quick_xml::events::Event::Eof => return out,
            _ => {}
        }
    }
}

#[test]
fn words_from_the_notes_are_inert() {
    let page = written();
    let names = elements(&page);
    for hostile in ["script", "img", "b", "notes", "x"] {
        assert!(!names.contains(hostile), "{hostile}");
    }
    assert!(names.contains("svg") && names.contains("table"));
    assert!(page.contains("&lt;script&gt;alert(1)&lt;/script&gt;"));
    assert!(page.contains("&lt;b&gt;Noise&lt;/b&gt;") && !page.contains('\u{202e}'));
}

#[test]
fn the_page_tells_everything_and_twice_the_same() {
    let page = written();
    assert_eq!(page, written());
    for words in [
        "This is an area to search, not a finding",
        "Bearings as read and as used",
        "What would change this",
        "not measured",
        "clock slow by -3 s",
        "2026-03-17 15:40:00 UTC (08:40 PDT)",
        &Digest::of(NOTES.as_bytes()).to_string(),
        "The result is the region of highest posterior probability",
    ] {
        assert!(page.contains(words), "{words}");
    }
}
