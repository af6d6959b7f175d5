//! `azimark map`.

use std::{
    borrow::Cow,
    env,
    path::{Path, PathBuf},
};

use clap::Args;
use serde_json::{Value, json};

use crate::{
    case::{Digest, Event, MANIFEST, Manifest, ORIGINALS, verify},
    cli::{
        Failure, Outcome,
        case::{command, found},
        evidence::Evidence,
        files,
        locate::tell,
    },
    export::Notes,
    finding::{Finding, Origin, Severity},
    ingest::{self, Kind, Settings},
    live::{self, Conditions, File, Request},
    observe::ReadBearing,
};

/// The page as it was built, or nothing where it was not.
const PAGE: &str = include_str!(concat!(env!("OUT_DIR"), "/page.html"));

const UNBUILT: &str = "this azimark was built without the page: run maps/build.sh (it needs node and a Rust that makes WebAssembly, \
                       see DEVELOPERS.md) and add --page maps/dist/page.html, or build azimark again. Until then azimark locate \
                       --output record.html draws the map on a page to print";

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Map {
    #[command(flatten)]
    evidence: Evidence,
    /// File to write, ending in .html
    #[arg(long, short, value_name = "FILE")]
    output: PathBuf,
    /// Base map: GeoJSON with streets and buildings, also for the ways to the next stand
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// Page to fill, made by maps/build.sh [default: the one within this program]
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
    /// Title of the page [default: that of the case, or the first file's name]
    #[arg(long, value_name = "WORDS")]
    title: Option<String>,
}

/// What goes into the page.
struct Gathered {
    title: String,
    /// Bearings that can be changed on the page.
    notes: Notes,
    /// Everything else.
    request: Request,
    /// What was told while the notes were read, for the page.
    told: Vec<Finding>,
}

impl Map {
    /// Reads, solves, fills the page and writes it.
    pub fn run(&self) -> Result<Outcome, Failure> {
        if self.output.extension().is_none_or(|e| !e.eq_ignore_ascii_case("html")) {
            return Err(format!("{}: the page is written as .html", self.output.display()));
        }
        let template = self.template()?;
        let gathered = self.gathered()?;
        let mut asked = gathered.request.clone();
        asked.files.insert(0, File::new(live::NOTES, "bearings", gathered.notes.csv().as_bytes()));
        asked.advice = true;
        let reply = live::answered(&asked);
        let mut outcome = told(&reply)?;
        tell(&gathered.told);
        if gathered.told.iter().any(|f| f.severity == Severity::Refused) {
            outcome = Outcome::Short;
        }
        let page = live::filled(&template, &data(&gathered, &reply)?)
            .ok_or("the page has no place for a case: maps/build.sh makes one that has")?;
        files::write(&self.output, &page)?;
        let size = page.len() as f64 / 1e6;
        eprintln!(
            "written: {} ({size:.1} MB); it needs no network: copy it to a phone and open it there",
            self.output.display()
        );
        Ok(outcome)
    }

    /// The page that is filled.
    fn template(&self) -> Result<Cow<'static, str>, Failure> {
        let Some(path) = &self.page else {
            return if PAGE.is_empty() { Err(UNBUILT.to_owned()) } else { Ok(PAGE.into()) };
        };
        let (name, bytes) = files::read(path)?;
        String::from_utf8(bytes).map(Cow::Owned).map_err(|_| format!("{name} is no page: it is not UTF-8"))
    }

    fn gathered(&self) -> Result<Gathered, Failure> {
        let named = self.evidence.named();
        if let [folder] = named.as_slice()
            && folder.join(MANIFEST).is_file()
        {
            return self.of_case(folder);
        }
        let first = named.first().and_then(|p| p.file_stem()).map(|s| s.to_string_lossy().into_owned());
        let title = self.title.clone().or(first).unwrap_or_else(|| "bearings".to_owned());
        of_files(&self.evidence, self.map.as_deref(), title)
    }

    /// The files and options of the last conclusion, or every file of the case that can be located from.
    fn of_case(&self, folder: &Path) -> Result<Gathered, Failure> {
        let name = folder.display();
        let found = found(folder)?;
        let checked = verify(&found);
        if let Some(first) = checked.differences.first() {
            return Err(format!(
                "{}: {}; no map is made of a case that was changed: see azimark case verify {name}",
                first.file, first.message
            ));
        }
        let title = found.manifest.as_deref().and_then(|m| Manifest::read(m).ok()).map(|m| m.title);
        let title = self.title.clone().or(title).unwrap_or_else(|| name.to_string());
        let added = checked.entries.iter().filter_map(|e| match &e.event {
            Event::Added(added) => Some(added.file.clone()),
            _ => None,
        });
        let added: Vec<String> = added.collect();
        let outside = self.map.as_deref().map(std::path::absolute).transpose();
        let outside = outside.map_err(|e| format!("the map cannot be found: {e}"))?;
        within(&folder.join(ORIGINALS), || {
            let base = match outside {
                Some(path) => Some(path),
                None => base_map(&added)?,
            };
            let locate = match &checked.basis {
                Some(basis) => command(&basis.conclusion.options, &basis.conclusion.files)?,
                None => command(&[], &observed(&added)?)?,
            };
            of_files(locate.evidence(), base.as_deref(), title)
        })
    }
}

/// Prints the answer in words; how the command ends.
fn told(reply: &str) -> Result<Outcome, Failure> {
    let reply: Value = serde_json::from_str(reply).map_err(|e| format!("the reply cannot be read: {e}"))?;
    if let Some(error) = reply["error"].as_str() {
        return Err(error.to_owned());
    }
    files::print(reply["text"].as_str().unwrap_or_default())?;
    Ok(if reply["answer"]["complete"] == true { Outcome::Answered } else { Outcome::Short })
}

/// Runs within a folder, so that files are named as the case names them.
fn within<T>(folder: &Path, run: impl FnOnce() -> Result<T, Failure>) -> Result<T, Failure> {
    let before = env::current_dir().map_err(|e| format!("the folder it runs in cannot be told: {e}"))?;
    let enter = |to: &Path| env::set_current_dir(to).map_err(|e| format!("{}: {e}", to.display()));
    enter(folder)?;
    let out = run();
    enter(&before)?;
    out
}

/// Files that show what they hold.
fn observed(added: &[String]) -> Result<Vec<String>, Failure> {
    let mut out = Vec::new();
    for name in added {
        let (_, head) = files::read_most(Path::new(name), 1 << 17)?;
        if ingest::kind(&head) != Kind::Unknown {
            out.push(name.clone());
        }
    }
    if out.is_empty() {
        return Err("the case has no file to locate from: azimark case add copies one in".to_owned());
    }
    Ok(out)
}

/// The first GeoJSON file of a case that holds no bearings is its base map.
fn base_map(added: &[String]) -> Result<Option<PathBuf>, Failure> {
    for name in added.iter().filter(|n| n.to_lowercase().ends_with(".geojson")) {
        let (_, head) = files::read_most(Path::new(name), 1 << 17)?;
        if ingest::kind(&head) == Kind::Unknown {
            eprintln!("base map: {name} of the case");
            return Ok(Some(PathBuf::from(name)));
        }
    }
    Ok(None)
}

fn of_files(evidence: &Evidence, map: Option<&Path>, title: String) -> Result<Gathered, Failure> {
    if evidence.of_model() {
        return Err(
            "a page fits the law of distance itself: leave --model out, or use azimark locate".to_owned()
        );
    }
    let stated = evidence.conditions();
    let mut request = Request { conditions: Conditions::of(&stated), ..Request::default() };
    let (mut rows, mut told) = (Vec::new(), Vec::new());
    for (kind, path) in evidence.documents()? {
        let (name, bytes) = files::read_most(&path, ingest::MAX_LEVEL_BYTES)?;
        if kind == Kind::Bearings {
            match changeable(&name, &bytes, &stated.settings, &rows) {
                Some((mut read, mut findings)) => {
                    rows.append(&mut read);
                    told.append(&mut findings);
                    continue;
                }
                None => told.push(
                    Finding::assumed(
                        "not-changeable",
                        "its bearings are shown and counted, and cannot be changed on the page",
                    )
                    .at(Origin::file(&name))
                    .hint("a table of places in degrees would not say all that the file says"),
                ),
            }
        }
        request.files.push(File::new(&name, live::kind_word(kind), &bytes));
    }
    if let Some(path) = evidence.monitor() {
        let (name, bytes) = files::read_most(path, ingest::MAX_LEVEL_BYTES)?;
        request.monitor = Some(File::new(&name, "levels", &bytes));
    }
    if let Some(path) = map {
        let (name, bytes) = files::read(path)?;
        let (_, findings) = ingest::ground(&name, &bytes);
        if let Some(refusal) = findings.iter().find(|f| f.severity == Severity::Refused) {
            return Err(refusal.to_string());
        }
        request.town = Some(File::new(&name, "map", &bytes));
    }
    Ok(Gathered { title, notes: Notes::of(&rows), request, told })
}

/// The bearings of a file, where a table of notes says all that the file says and no identifier occurs twice; with what there
/// was to tell.
fn changeable(
    name: &str,
    bytes: &[u8],
    settings: &Settings,
    others: &[ReadBearing],
) -> Option<(Vec<ReadBearing>, Vec<Finding>)> {
    let read = ingest::bearings(name, bytes, settings);
    let again = ingest::bearings(live::NOTES, Notes::of(&read.rows).csv().as_bytes(), settings);
    let same =
        read.rows.len() == again.rows.len() && read.rows.iter().zip(&again.rows).all(|(a, b)| same(a, b));
    let unique = read.rows.iter().all(|r| others.iter().all(|o| o.id != r.id));
    (same && unique && !read.rows.is_empty()).then_some((read.rows, read.findings))
}

/// Whether two bearings say the same, wherever it was written.
fn same(a: &ReadBearing, b: &ReadBearing) -> bool {
    let plain = |r: &ReadBearing| ReadBearing { time: None, origin: Default::default(), ..r.clone() };
    let utc = |r: &ReadBearing| r.time.as_ref().map(|t| t.utc());
    plain(a) == plain(b) && utc(a) == utc(b)
}

/// The data of the page. Its identifier tells what is kept for this case from what is kept for another one.
fn data(gathered: &Gathered, reply: &str) -> Result<String, Failure> {
    let request = serde_json::to_value(&gathered.request).map_err(|e| e.to_string())?;
    let notes = json!({ "columns": gathered.notes.columns, "rows": gathered.notes.rows });
    let identity = json!({ "title": gathered.title, "notes": notes, "request": request }).to_string();
    Ok(format!(
        "{{\"schema\":\"{}\",\"id\":\"{}\",\"version\":\"{}\",\"title\":{},\"told\":{},\"notes\":{notes},\"request\":{request},\"reply\":{reply}}}",
        live::PAGE_SCHEMA,
        Digest::of(identity.as_bytes()),
        env!("CARGO_PKG_VERSION"),
        json!(gathered.title),
        json!(gathered.told.iter().map(ToString::to_string).collect::<Vec<_>>()),
    ))
}
