//! `azimark case verify`.

use std::path::PathBuf;

use clap::Args;

use crate::{
    case::{Basis, Checked, Digest, ORIGINALS, RESULTS, verify},
    cli::{
        Failure, Outcome,
        case::{
            conclude::computed,
            folder::{found, newer},
            replay::comes_out_again,
        },
        files,
    },
    export,
    finding::clipped,
    report::wrapped,
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Verify {
    /// Folder of the case
    #[arg(value_name = "DIR")]
    folder: PathBuf,
}

/// What computing the conclusion again gave.
enum Again {
    /// The same bytes.
    Same,
    /// Another answer, in a few words.
    Differs(String),
    /// It was not tried, and why.
    NotTried(String),
}

/// What computing the other results again gave.
struct Others {
    told: Vec<String>,
    sound: bool,
}

impl Verify {
    /// Computes all hashes and the last conclusion, and says what differs and whether the conclusion stands.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let found = found(&self.folder)?;
        let checked = verify(&found);
        let again = checked.basis.as_ref().map(|basis| self.again(basis));
        let others = self.others(&checked);
        let mut out = String::new();
        let mut sound = verdict(&checked, again.as_ref(), &mut out);
        for told in others.told {
            out += &wrapped(&told, "", "  ");
        }
        sound &= others.sound;
        out.extend(newer(&found).map(|told| wrapped(&told, "", "  ")));
        for difference in &checked.differences {
            let line = difference.line.map_or(String::new(), |n| format!(":{n}"));
            out += &wrapped(
                &format!("{}{line}: {}", clipped(&difference.file), difference.message),
                "  ",
                "    ",
            );
        }
        for stranger in &checked.strangers {
            let told = format!("{}: no entry names it, so it is no part of the case", clipped(stranger));
            out += &wrapped(&told, "  ", "    ");
        }
        if let Some(last) = checked.last {
            let told = format!(
                "{} entries; SHA-256 of the last line {last}. Whoever noted that earlier can tell that none was changed or \
                 cut off since.",
                checked.entries.len()
            );
            out += &wrapped(&told, "  ", "    ");
        }
        files::print(&out)?;
        Ok(if sound { Outcome::Answered } else { Outcome::Short })
    }

    /// Computes again what else was kept: comparisons, sheets, times.
    fn others(&self, checked: &Checked) -> Others {
        let mut out = Others { told: Vec::new(), sound: true };
        let mut same = Vec::new();
        for (entry, kept) in checked.entries.iter().filter_map(|e| Some((e.entry, e.event.kept()?))) {
            let rests = kept.read.iter().map(|f| format!("{ORIGINALS}/{f}"));
            let rests: Vec<String> = rests.chain([format!("{RESULTS}/{}", kept.result)]).collect();
            let changed = checked.differences.iter().any(|d| rests.contains(&d.file));
            let again = match changed {
                true => Err("what it rests on was changed".to_owned()),
                false => comes_out_again(&self.folder, kept),
            };
            let told = match again {
                Ok(true) => {
                    same.push(entry.to_string());
                    continue;
                }
                Ok(false) => format!("{RESULTS}/{} of entry {entry} DOES NOT come out again.", kept.result),
                Err(why) => format!(
                    "{RESULTS}/{} of entry {entry} was not computed again: {}.",
                    kept.result,
                    clipped(&why)
                ),
            };
            out.told.push(told);
            out.sound = false;
        }
        if !same.is_empty() {
            out.told.push(format!(
                "What entries {} keep beside it comes out again, to the last byte.",
                same.join(", ")
            ));
        }
        out
    }

    /// Computes the last conclusion again, where what it rests on is as it was.
    fn again(&self, basis: &Basis) -> Again {
        let c = &basis.conclusion;
        if !basis.shaken.is_empty() {
            return Again::NotTried("what it rests on was changed".to_owned());
        }
        if c.version != env!("CARGO_PKG_VERSION") {
            return Again::NotTried(format!(
                "it is of version {}, this is {}: run that one to compare to the last digit",
                clipped(&c.version),
                env!("CARGO_PKG_VERSION")
            ));
        }
        match computed(&self.folder, &c.options, &c.files) {
            Ok(Some(answer)) if Digest::of(export::json(&answer).as_bytes()) == c.result_sha256 => {
                Again::Same
            }
            Ok(Some(answer)) => Again::Differs(answer.summary()),
            Ok(None) => Again::Differs("no place".to_owned()),
            Err(why) => Again::NotTried(why),
        }
    }
}

/// The sentence that comes first. Gives whether all is as it was.
fn verdict(checked: &Checked, again: Option<&Again>, out: &mut String) -> bool {
    let whole = checked.differences.is_empty();
    let files = match whole {
        true => "Nothing was changed: every file and entry has the hash that the log says.".to_owned(),
        false => format!("CHANGED: {} thing(s) are not what the log says.", checked.differences.len()),
    };
    let (stands, told) = match (&checked.basis, again) {
        (Some(basis), Some(again)) => conclusion(basis, again),
        _ => (true, "No conclusion was drawn yet.".to_owned()),
    };
    *out += &wrapped(&format!("{files} {told}"), "", "");
    whole && stands
}

fn conclusion(basis: &Basis, again: &Again) -> (bool, String) {
    let number = basis.entry;
    if !basis.shaken.is_empty() {
        let told = format!(
            "The conclusion of entry {number} DOES NOT STAND on what is here: it rests on {}.",
            basis.shaken.join(", ")
        );
        return (false, told);
    }
    match again {
        Again::Same => (
            true,
            format!(
                "The conclusion of entry {number} stands: computed again, it is the same to the last byte."
            ),
        ),
        Again::Differs(now) => {
            (false, format!("The conclusion of entry {number} DOES NOT come out again. Computed now: {now}"))
        }
        Again::NotTried(why) => (
            false,
            format!(
                "What the conclusion of entry {number} rests on is unchanged, but it was not computed again: {why}."
            ),
        ),
    }
}
