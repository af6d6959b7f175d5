//! `azimark map`.

mod base;
mod gather;

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
    finding::{Finding, Severity},
    ingest::{self, Kind},
    live::{self, File, Request},
};
use gather::of_files;

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
    /// Base map: GeoJSON with streets and buildings, also for the ways to the next stand, or vector tiles in a PMTiles file,
    /// which are drawn only; may be given twice, once for each
    #[arg(long, value_name = "FILE")]
    map: Vec<PathBuf>,
    /// Divide the search between so many teams, or those of a CSV file with name, lat, lon
    #[arg(long, value_name = "N|FILE", conflicts_with = "division")]
    teams: Option<String>,
    /// Division of the search to draw: the division.geojson of azimark divide
    #[arg(long, value_name = "FILE")]
    division: Option<PathBuf>,
    /// Page to fill, made by maps/build.sh [default: the one within this program]
    #[arg(long, value_name = "FILE")]
    page: Option<PathBuf>,
    /// Title of the page [default: that of the case, or the first file's name]
    #[arg(long, value_name = "WORDS")]
    title: Option<String>,
}

/// A log of levels whose rows can be changed on the page.
struct Log {
    name: String,
    notes: Notes,
}

/// What goes into the page.
struct Gathered {
    title: String,
    /// Bearings that can be changed on the page.
    notes: Notes,
    /// Levels that can be changed on the page; the last table is the page's own.
    logs: Vec<Log>,
    /// Everything else.
    request: Request,
    /// The file of vector tiles to draw.
    tiles_file: Option<PathBuf>,
    /// These tiles around the case, as the page has them.
    tiles: Value,
    /// A division that came as a file, GeoJSON.
    division: Value,
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
        let mut gathered = self.gathered()?;
        if let Some(teams) = &self.teams {
            gathered.request.teams = gather::teams(teams, &mut gathered.told)?;
        }
        if let Some(path) = &self.division {
            gathered.division = base::division(path)?;
        }
        let mut asked = gathered.request.clone();
        let logs = gathered.logs.iter().filter(|l| !l.notes.rows.is_empty());
        let logs = logs.map(|l| File::new(&l.name, "levels", l.notes.csv().as_bytes()));
        let bearings = File::new(live::NOTES, "bearings", gathered.notes.csv().as_bytes());
        asked.files.splice(0..0, std::iter::once(bearings).chain(logs));
        asked.advice = true;
        let reply = live::answered(&asked);
        let mut outcome = told(&reply)?;
        if let Some(path) = &gathered.tiles_file {
            gathered.tiles = base::tiles(path, &reply, &mut gathered.told)?;
        }
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
        of_files(&self.evidence, &self.map, title)
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
        let outside: Result<Vec<PathBuf>, _> = self.map.iter().map(std::path::absolute).collect();
        let outside = outside.map_err(|e| format!("the map cannot be found: {e}"))?;
        let originals = folder.join(ORIGINALS);
        let mut gathered = within(&originals, || {
            let found = base::of_case(&added)?;
            let base = if outside.is_empty() { found.maps } else { outside };
            let locate = match &checked.basis {
                Some(basis) => command(&basis.conclusion.options, &basis.conclusion.files)?,
                None => command(&[], &observed(&added)?)?,
            };
            let mut gathered = of_files(locate.evidence(), &base, title)?;
            if self.teams.is_none()
                && let Some(path) = found.division
            {
                gathered.division = base::division(&path)?;
            }
            Ok(gathered)
        })?;
        gathered.tiles_file = gathered.tiles_file.map(|p| originals.join(p));
        Ok(gathered)
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

/// The data of the page. Its identifier tells what is kept for this case from what is kept for another one.
fn data(gathered: &Gathered, reply: &str) -> Result<String, Failure> {
    let request = serde_json::to_value(&gathered.request).map_err(|e| e.to_string())?;
    let notes = json!({ "columns": gathered.notes.columns, "rows": gathered.notes.rows });
    let table = |l: &Log| json!({ "name": l.name, "columns": l.notes.columns, "rows": l.notes.rows });
    let logs: Value = gathered.logs.iter().map(table).collect();
    let identity =
        json!({ "title": gathered.title, "notes": notes, "logs": logs, "request": request }).to_string();
    let (tiles, division) = (&gathered.tiles, &gathered.division);
    Ok(format!(
        "{{\"schema\":\"{}\",\"id\":\"{}\",\"version\":\"{}\",\"title\":{},\"told\":{},\"notes\":{notes},\"logs\":{logs},\"request\":{request},\"division\":{division},\"tiles\":{tiles},\"reply\":{reply}}}",
        live::PAGE_SCHEMA,
        Digest::of(identity.as_bytes()),
        env!("CARGO_PKG_VERSION"),
        json!(gathered.title),
        json!(gathered.told.iter().map(ToString::to_string).collect::<Vec<_>>()),
    ))
}
