//! The parts of the page that tell why it is not the own system, when it was on, and how an antenna was turned.

use crate::{
    activity::Week,
    case::{Event, OwnSystem, Timed},
    export,
    page::{
        Content, Form, Past,
        document::{Document, Run, signed, words},
        past::when,
    },
    report::count,
};

/// Most drawings of swings; the others are in the files that were read.
const MOST_SWINGS: usize = 8;

/// Codes of findings that speak of the own system.
const OF_THE_OWN: [&str; 3] = ["sectors-alike", "attenuator-product", "attenuator-compression"];

/// Whether the own system makes it.
pub fn own_system(content: &Content, case: &Past, out: &mut Document) {
    out.heading("Is it the own system?");
    let mut any = false;
    for entry in case.entries {
        let Event::OwnSystem(tried) = &entry.event else { continue };
        any = true;
        out.list(&tried.summary);
        let mut rows = levels(tried);
        if content.form == Form::Full {
            rows.extend(tried.remark.iter().map(|r| vec![words("Remark"), words(r)]));
        }
        rows.push(vec![words("Tried by"), words(format!("{}, {}", entry.by, when(entry.time, None)))]);
        out.named(rows);
    }
    let told = content.answer.findings.iter().filter(|f| OF_THE_OWN.contains(&f.code));
    let told: Vec<String> = match content.form {
        Form::Full => told.map(|f| f.to_string().replace("\n  hint: ", ". To do: ")).collect(),
        Form::Shared => told.map(|f| f.code.to_owned()).collect(),
    };
    out.list(&told);
    if !any {
        out.paragraph(
            "Not measured. Levels with a dummy load in the place of the antenna, on the antenna, and with the own transmitters on \
             would tell (azimark case own-system).",
        );
    }
}

fn levels(tried: &OwnSystem) -> Vec<Vec<Run>> {
    let carriers: Vec<String> = tried.carriers_hz.iter().map(|f| format!("{} MHz", f / 1e6)).collect();
    let carriers = carriers.join(", ");
    let level = |v: f64| signed(&format!("{v:.1} dBm"));
    [
        ("On a dummy load", tried.on_load_dbm.map(level)),
        ("On the antenna, own transmitters off", Some(level(tried.on_antenna_dbm))),
        ("On the antenna, own transmitters on", tried.keyed_dbm.map(level)),
        ("On a second antenna", tried.second_antenna_dbm.map(level)),
        ("Bandwidth", tried.bandwidth_hz.map(|b| format!("{} kHz", b / 1e3))),
        ("Noise figure", tried.noise_figure_db.map(|f| format!("{f} dB"))),
        ("Own carriers", Some(carriers).filter(|c| !c.is_empty())),
        ("Own carriers that were off", tried.off.clone()),
    ]
    .into_iter()
    .filter_map(|(name, what)| Some(vec![words(name), words(what?)]))
    .collect()
}

/// When it was on, from logs of receivers that stay in their place.
pub fn on_and_off(case: &Past, form: Form, out: &mut Document) {
    for entry in case.entries {
        let Event::Timed(timed) = &entry.event else { continue };
        out.heading("On and off");
        out.list(&timed.switched);
        out.list(&timed.summary);
        drawn(timed, form, out);
        out.paragraph(&format!(
            "Looked at by {}, {}; figures: results/{} from {}.",
            entry.by,
            when(entry.time, None),
            timed.kept.result,
            timed.kept.read.join(", ")
        ));
    }
}

fn drawn(timed: &Timed, form: Form, out: &mut Document) {
    let Some(week) = Week::of_rows(&timed.week) else { return };
    let receiver = timed.receiver.as_ref().filter(|_| form == Form::Full);
    let title = receiver.map_or("Share of time on".to_owned(), |r| {
        format!("Share of time on, heard by {}", crate::finding::clipped(r))
    });
    let shows = "Hours of the week; the black part of a square is the share of the time in which it was on.";
    out.figure(export::week(&week, &title, &timed.zone), shows, shows);
}

/// Levels against headings where the antenna was turned on the spot.
pub fn swings(content: &Content, out: &mut Document) {
    let turned = &content.answer.turned;
    // Names of stands are in the drawings.
    if turned.is_empty() || content.shared() {
        return;
    }
    out.heading("Antennas turned on the spot");
    for pair in turned[..turned.len().min(MOST_SWINGS)].chunks(2) {
        let (swings, fits): (Vec<_>, Vec<_>) = pair.iter().cloned().unzip();
        let shows = format!(
            "Levels against headings of {}, with the fitted pattern.",
            count(pair.len(), "swing", "swings")
        );
        let caption = "Circles are readings, triangles headings at which nothing was heard; the line is the fitted pattern, the \
                       arrow the bearing with one standard deviation in grey.";
        out.figure(export::polar(&swings, &fits), &shows, caption);
    }
    if turned.len() > MOST_SWINGS {
        out.paragraph(&format!("{} more are in the files named below.", turned.len() - MOST_SWINGS));
    }
}
