//! What is in the file is read by programs that we did not write: qpdf, and pdftotext, pdffonts and pdfinfo of poppler.

use std::process::Command;

use super::*;
use crate::page::{Form, pdf, tests::told};

const NOTES: &str = "id,lat,lon,bearing_deg,north,class,remarks\n\
    a,47,8.013151,270,true,B,first remark: 3 µV at ± 2° ≤ 5 σ – √2\nb,46.991,8,0,true,B,second remark\n\
    c,47.009,8,181,true,B,\nd,47,7.987,20,true,B,two peaks\n";

fn made(notes: &str, form: Form, paper: Paper) -> Pdf {
    told(notes, form, |content| pdf(content, paper).expect("the library takes it"))
}

/// What a program says of a file.
fn said(bytes: &[u8], name: &str, program: &str, arguments: &[&str]) -> String {
    let file = std::env::temp_dir().join(format!("azimark-{}-{name}.pdf", std::process::id()));
    std::fs::write(&file, bytes).unwrap();
    let output = Command::new(program)
        .args(arguments)
        .arg(&file)
        .args(if program == "pdftotext" { &["-"][..] } else { &[] })
        .output()
        .unwrap_or_else(|e| panic!("{program}: {e}: install qpdf and poppler-utils"));
    std::fs::remove_file(&file).unwrap();
    assert!(output.status.success(), "{program}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

/// Its text with every run of white space as one space.
fn text(bytes: &[u8], name: &str) -> String {
    said(bytes, name, "pdftotext", &["-enc", "UTF-8"]).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn other_programs_read_the_words_in_order_with_their_signs() {
    let made = made(NOTES, Form::Full, Paper::A4);
    assert_eq!(made.unset, [""; 0]);
    said(&made.bytes, "order", "qpdf", &["--check"]);
    let text = text(&made.bytes, "order");
    let mut from = 0;
    for words in [
        "<b>Noise</b>",
        "This is an area to search, not a finding",
        "Complaint",
        "Map",
        "Taken for granted",
        "Bearings as read and as used",
        "first remark: 3 µV at ± 2° ≤ 5 σ – √2",
        "second remark",
        "two peaks",
        "What would change this",
        "Lines of a report of harmful interference",
        "the neighbour's porch",
        "To compute this again",
        &crate::case::Digest::of(NOTES.as_bytes()).to_string(),
    ] {
        let at = text[from..].find(words);
        from += at.unwrap_or_else(|| panic!("\"{words}\" is missing after {from} of: {text}"));
    }
    assert!(text.contains("<b>Noise</b> full form · page 2 of ") || text.contains("full form · page 2 of "));
}

#[test]
fn all_fonts_are_embedded_and_cut_to_what_is_used() {
    let made = made(NOTES, Form::Full, Paper::A4);
    let told = said(&made.bytes, "fonts", "pdffonts", &[]);
    let fonts: Vec<&str> = told.lines().skip(2).collect();
    assert!(fonts.len() >= 3, "{told}");
    for font in fonts {
        let columns: Vec<&str> = font.split_whitespace().rev().collect();
        // From the right: object and generation, then whether its text can be read, it is a subset, it is embedded.
        assert_eq!(columns[2..5], ["yes"; 3], "{font}");
    }
    assert!(made.bytes.len() < 300_000, "{}", made.bytes.len());
}

/// The structure that PDF/UA-1 asks for: language, title, headings, heads of tables, words for drawings.
#[test]
fn the_structure_is_told_to_those_who_do_not_see_the_page() {
    let made = made(NOTES, Form::Full, Paper::A4);
    let tree = said(&made.bytes, "tree", "pdfinfo", &["-struct-text"]);
    let kinds: Vec<&str> =
        tree.lines().filter_map(|l| l.split_whitespace().next()).map(|w| w.trim_end_matches(':')).collect();
    for kind in ["Document", "H1", "H2", "Table", "TR", "TH", "TD", "L", "LI", "LBody", "Figure", "Caption"] {
        assert!(kinds.contains(&kind), "{kind}: {tree}");
    }
    let object = said(&made.bytes, "object", "qpdf", &["--json=2"]);
    for entry in [
        "\"/Lang\": \"u:en\"",
        "\"/Marked\": true",
        "\"/DisplayDocTitle\": true",
        "\"/Alt\": \"u:Map of the stands",
    ] {
        assert!(object.contains(entry), "{entry}");
    }
    let about = said(&made.bytes, "about", "pdfinfo", &[]);
    assert!(about.contains("<b>Noise</b>") && about.contains("Tagged:          yes"), "{about}");
    assert!(!about.contains("CreationDate"), "no clock: {about}");
}

#[test]
fn paper_is_as_asked_and_the_bytes_are_the_same_twice() {
    let a4 = made(NOTES, Form::Full, Paper::A4);
    assert!(a4.bytes == made(NOTES, Form::Full, Paper::A4).bytes, "not the same twice");
    assert!(said(&a4.bytes, "a4", "pdfinfo", &[]).contains("(A4)"));
    let letter = made(NOTES, Form::Full, Paper::Letter);
    assert!(said(&letter.bytes, "letter", "pdfinfo", &[]).contains("612 x 792 pts (letter)"));
}

#[test]
fn the_form_for_others_says_so_and_keeps_its_secrets() {
    let shared = made(NOTES, Form::Shared, Paper::A4);
    let text = text(&shared.bytes, "shared");
    assert!(text.contains("form for sharing · page 1 of"), "{text}");
    for secret in ["first remark", "two peaks", "neighbour's porch", "receiver 2", "8.013151"] {
        assert!(!text.contains(secret), "{secret}");
    }
}

/// Remarks without end, words without spaces, signs that steer and scripts without shapes: no panic, nothing beyond the
/// margins, every loss told.
#[test]
fn hostile_words_stay_within_the_margins_and_losses_are_told() {
    let endless = "peak ".repeat(150_000);
    let notes = NOTES.replace("second remark", &"W".repeat(3_000)).replace("two peaks", &endless).replace(
        "first remark",
        "\u{7}\u{1b}[2J\u{202e}evil\u{feff} \u{5d0}\u{5d1} \u{6f22}\u{5b57} e\u{301} \u{1f4a9} <script>",
    );
    let notes = notes.replace("\nc,", &format!("\n{},", "C".repeat(900)));
    let made = made(&notes, Form::Full, Paper::A4);
    assert!(made.bytes.len() < 2_000_000, "{}", made.bytes.len());
    said(&made.bytes, "hostile", "qpdf", &["--check"]);
    let text = text(&made.bytes, "hostile");
    assert!(text.contains("more characters are where this was read from)") && text.contains("<script>"));
    assert!(text.contains("shown as \u{fffd}. The HTML form has them."));
    assert_eq!(made.unset.len(), 1, "{:?}", made.unset);
    let boxes = said(&made.bytes, "boxes", "pdftotext", &["-bbox"]);
    let mut words = 0;
    // The long name stands in a drawing too, which ends at its own edge.
    let words_of = |l: &&str| l.trim_start().starts_with("<word") && !l.contains("CCCC");
    for line in boxes.lines().filter(words_of) {
        let side = |name: &str| -> f32 {
            let rest = &line[line.find(name).unwrap() + name.len() + 2..];
            rest[..rest.find('"').unwrap()].parse().unwrap()
        };
        assert!(side("xMin") >= 50.0 && side("xMax") <= 595.3 - 50.0, "{line}");
        assert!(side("yMin") >= 30.0 && side("yMax") <= 841.9 - 40.0, "{line}");
        words += 1;
    }
    assert!(words > 2_000, "{words}");
}

/// Every kind of drawing that a report can hold is known to the writer.
#[test]
fn every_drawing_is_known() {
    use crate::export::{FitLine, Heard, ProfilePoint, profile};
    use crate::units::{Dbm, Metres, Sigma};
    let heard = [Heard::Measured, Heard::BelowFloor];
    let point = |i: u32| ProfilePoint {
        distance: Metres::new(10.0 * f64::from(i)),
        level: Dbm::new(-40.0 - f64::from(i)),
        heard: heard[i as usize % 2],
    };
    let points: Vec<ProfilePoint> = (1..40).map(point).collect();
    let line = FitLine {
        start: Dbm::new(-30.0),
        reference: Metres::new(1.0),
        exponent: 3.0,
        sigma: Sigma::db(6.0).unwrap(),
    };
    let mut document = Document::new("Drawings", "full form");
    document.figure(profile("Levels against distance", &points, Some(&line)), "Levels", "Levels");
    let made = written(document, Paper::A4).unwrap();
    assert_eq!(made.unset, [""; 0]);
    let text = text(&made.bytes, "drawings");
    for words in ["Levels against distance", "level, dBm", "below the floor"] {
        assert!(text.contains(words), "{words}: {text}");
    }
    let mut document = Document::new("Drawings", "full form");
    document.figure("<svg viewBox=\"0 0 9 9\"><blink x=\"1\" odd=\"2\"/></svg>".to_owned(), "x", "x");
    let unset = written(document, Paper::A4).unwrap().unset;
    assert!(unset[0].contains("odd=\"2\"") && unset[1].contains("<blink>"), "{unset:?}");
}
