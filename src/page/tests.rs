use super::*;
use crate::case::Digest;
use crate::{
    case::{Added, Event, SCHEMA},
    ingest, north, report,
    solve::{self, Options, Problem},
};

const NOTES: &str = "id,lat,lon,bearing_deg,north,class,remarks\n\
    <script>alert(1)</script>,47,8.013151,270,true,B,\"=cmd|'x'!A1 & \u{202e}<img src=x onerror=y>\"\n\
    b,46.991,8,0,true,B,]]>\nc,47.009,8,181,true,B,\nd,47,7.987,20,true,B,two peaks\n";

fn answer(notes: &str) -> Answer {
    let read = ingest::bearings("notes.csv", notes.as_bytes(), &ingest::Settings::default());
    let bearings = north::resolve(&read.rows, &north::Settings::default()).bearings;
    let problem = Problem { bearings: &bearings, ..Problem::default() };
    let fit = solve::fit(&problem, &Options::default()).unwrap();
    report::answer(fit, report::Notes { bearings, findings: read.findings, ..report::Notes::default() })
}

fn written() -> String {
    written_as(Form::Full)
}

fn written_as(form: Form) -> String {
    told(NOTES, form, page)
}

/// What a writer makes of a case with these notes and a hostile past.
pub(super) fn told<T>(notes: &str, form: Form, writer: impl Fn(&Content) -> T) -> T {
    let answer = answer(notes);
    let time = jiff::Timestamp::from_second(1_773_762_000).unwrap();
    let manifest = Manifest {
        schema: SCHEMA,
        title: "<b>Noise</b>".to_owned(),
        opened: time,
        by: "\"><svg onload=x>".to_owned(),
        victim: None,
        complaint: Some("</td></table>".to_owned()),
        frequency_hz: Some(841.5e6),
        licence: None,
        contact: None,
        zone: Some("America/Los_Angeles".to_owned()),
    };
    let added = Event::Added(Added {
        file: "notes.csv".to_owned(),
        came_as: Some("<notes>.csv".to_owned()),
        bytes: notes.len() as u64,
        sha256: Digest::of(notes.as_bytes()),
        device: Some("receiver 2".to_owned()),
        clock_offset_s: Some(-3.0),
        acquired: None,
        acquired_by: None,
        purpose: None,
    });
    let entry = Entry { entry: 1, time, by: "x".to_owned(), before: Digest::NONE, event: added };
    let noted = Event::Note { text: "the neighbour's porch".to_owned() };
    let noted = Entry { entry: 2, event: noted, ..entry.clone() };
    let made = Made {
        version: "1".to_owned(),
        command: "locate '<x>'".to_owned(),
        inputs: vec![("notes.csv".to_owned(), Digest::of(notes.as_bytes()))],
    };
    let overturn = solve::overturn(&answer.fit);
    writer(&Content {
        answer: &answer,
        overturn: overturn.as_ref(),
        background: &Background::default(),
        made,
        case: Some(Past { manifest: &manifest, entries: &[entry, noted] }),
        form,
    })
}

/// A text beyond what a report carries is cut, and told to be.
#[test]
fn a_text_without_end_is_cut_and_told() {
    let notes = NOTES.replace("two peaks", &"peak ".repeat(150_000));
    let page = told(&notes, Form::Full, page);
    assert!(page.len() < 400_000, "{}", page.len());
    assert!(page.contains("more characters are where this was read from)"));
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
        "clock offset -3 s",
        "<span class=\"t\">15:40:00</span> <span class=\"t\">UTC</span> <span class=\"t\">(08:40</span>",
        &Digest::of(NOTES.as_bytes()).to_string(),
        "The result is the region of highest posterior probability",
    ] {
        assert!(page.contains(words), "{words}");
    }
}

/// Decimals of every number of at least four decimals: places are the only ones.
fn long_decimals(page: &str) -> Vec<&str> {
    let numbers = page.split(|c: char| !c.is_ascii_digit() && c != '.');
    numbers
        .map(|n| n.trim_end_matches('.'))
        .filter(|n| n.split_once('.').is_some_and(|(_, d)| d.len() >= 4))
        .collect()
}

#[test]
fn the_form_for_others_holds_no_exact_place_and_nobodys_words() {
    let (full, shared) = (written(), written_as(Form::Shared));
    let told = ["two peaks", "neighbour&#39;s porch", "receiver 2", "&lt;notes&gt;.csv", "=cmd", "Full form"];
    for words in told {
        assert!(full.contains(words), "{words}");
        assert!(!shared.contains(words), "{words}");
    }
    assert!(long_decimals(&full).contains(&"8.013151"));
    assert_eq!(long_decimals(&shared), [""; 0]);
    assert!(shared.contains("Form for sharing") && shared.contains("8.013") && shared.contains("notes.csv"));
    // What is checked is the same: files, hashes, the areas.
    assert!(shared.contains(&Digest::of(NOTES.as_bytes()).to_string()));
    assert!(elements(&shared).contains("svg"));
}
