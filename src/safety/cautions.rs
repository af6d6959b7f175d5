//! Cautions that fire on what somebody wrote, at the moment they matter.

use crate::observe::ReadBearing;

/// The quiet line beside every fix.
pub const ALWAYS: &str = "Search from public ground first. Do not enter, climb or confront; the owner, the utility, the \
                          licensed operator and local rules decide who may.";

/// A caution with what set it off.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caution {
    /// The bearing and the word, or the height.
    pub trigger: String,
    /// Hazard, what to do, and who decides.
    pub text: &'static str,
}

const HEIGHT: &str = "Work at height: do not climb. Climbing needs training, equipment, a rescue plan and the owner's \
                      permission, and antennas there may exceed RF exposure limits: the site's RF plan or a competent \
                      person decides. `azimark exposure` gives distances for a known power.";
const LINES: &str = "Overhead line: keep yourself and anything conductive (antenna, mast, pole) at least 3.05 m away, plus \
                     0.10 m for each 10 kV above 50 kV (29 CFR 1910.333). Voltage unknown: that is not enough, call the \
                     utility. Never touch or shake a pole; give its number to the utility.";
const ROAD: &str = "Traffic: park off the carriageway, let a passenger write, and stand where drivers see you. A vehicle \
                    or steel nearby also turns the compass: 20 m is common practice.";

/// Words (lower case, whole words) that set a caution off: English, German, French, Spanish.
const WORDS: [(&[&str], &str); 3] = [
    (
        &[
            "tower", "roof", "rooftop", "mast", "ladder", "turm", "dach", "leiter", "toit", "pylône",
            "échelle", "torre", "tejado", "escalera",
        ],
        HEIGHT,
    ),
    (
        &[
            "pole",
            "poles",
            "powerline",
            "line",
            "lines",
            "pylon",
            "conductor",
            "leitung",
            "strommast",
            "ligne",
            "poteau",
            "línea",
            "poste",
        ],
        LINES,
    ),
    (
        &[
            "truck", "car", "vehicle", "traffic", "lay-by", "roadside", "lkw", "auto", "camion", "voiture",
            "camión", "coche",
        ],
        ROAD,
    ),
];

/// A stand with its antenna above this height is on something.
const ON_SOMETHING_M: f64 = 2.5;

/// Cautions for the remarks, names and heights of the stands; each text once, with what set it off first.
pub fn cautions(bearings: &[ReadBearing]) -> Vec<Caution> {
    let mut out: Vec<Caution> = Vec::new();
    let mut add = |trigger: String, text: &'static str| {
        if out.iter().all(|c| c.text != text) {
            out.push(Caution { trigger, text });
        }
    };
    for bearing in bearings {
        let written = format!("{} {}", bearing.stand.name, bearing.remarks).to_lowercase();
        let words: Vec<&str> = written.split(|c: char| !c.is_alphanumeric() && c != '-').collect();
        for (list, text) in WORDS {
            if let Some(word) = words.iter().find(|w| list.contains(w)) {
                add(format!("{}: \"{word}\"", bearing.id), text);
            }
        }
        if bearing.stand.height.is_some_and(|h| h.value() > ON_SOMETHING_M) {
            add(format!("{}: antenna height", bearing.id), HEIGHT);
        }
    }
    out
}
