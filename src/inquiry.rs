//! From what was read to an answer: checks, true north, the posterior, the words. The command line and the page in the hand
//! come the same way, so that the same notes give both the same answer. Files are read by the caller.

use std::sync::{Mutex, PoisonError};

use crate::{
    check,
    finding::Finding,
    ingest::{self, Kind},
    north,
    observe::{LevelReading, ReadBearing, Sector, Swing, Track},
    radio::{Environment, LevelPrior},
    report::{self, Answer, Notes, TwoPlaces},
    safety,
    solve::{self, Options, Problem, swing::SwingFit},
    units::{Hertz, Metres},
};

/// A file in memory.
#[derive(Clone, Copy, Debug)]
pub struct Document<'a> {
    /// What it holds; a kind that is not known is read as bearings.
    pub kind: Kind,
    /// Its name, for findings.
    pub name: &'a str,
    /// Its bytes.
    pub bytes: &'a [u8],
}

/// What is stated once for all that was read.
#[derive(Clone, Debug, Default)]
pub struct Stated {
    /// How files are written.
    pub settings: ingest::Settings,
    /// How bearings come to true north.
    pub north: north::Settings,
    /// Seconds to add to a log's times to get those of its track.
    pub clock_offset: Option<f64>,
    /// Kind of place that levels were taken in.
    pub environment: Option<Environment>,
    /// The frequency, where the files do not say it.
    pub frequency: Option<Hertz>,
    /// How far from the stands to search.
    pub within: Option<Metres>,
}

/// Everything that was seen, checked.
#[derive(Clone, Debug, Default)]
pub struct Seen {
    /// Bearings as read.
    pub bearings: Vec<ReadBearing>,
    /// Levels ready for the solver.
    pub levels: check::Prepared,
    /// Antennas turned on the spot, as read, with their fits; those with a direction are among the bearings.
    pub turned: Vec<(Swing, SwingFit)>,
    /// Sectors from true north.
    pub sectors: Vec<north::TrueSector>,
    /// The first frequency that is stated.
    pub frequency: Option<Hertz>,
    /// What there is to tell.
    pub findings: Vec<Finding>,
}

/// Why there is no place, with what was found on the way.
#[derive(Clone, Debug)]
pub struct NoPlace {
    /// In a sentence.
    pub why: String,
    /// What there is to tell.
    pub findings: Vec<Finding>,
}

/// Everything that was read from logs of levels.
#[derive(Clone, Debug, Default)]
struct Logs {
    levels: check::Prepared,
    frequency: Option<Hertz>,
    findings: Vec<Finding>,
}

/// What logs were read from, and what was stated about them.
#[derive(Clone, Debug, PartialEq)]
struct Source {
    files: Vec<(Kind, String, Vec<u8>)>,
    monitor: Option<(String, Vec<u8>)>,
    settings: ingest::Settings,
    north: north::Settings,
    clock_offset: Option<f64>,
}

/// What is kept from one inquiry to the next about the same case, for a new bearing does not change it: the logs last read, and what
/// their levels say of places.
#[derive(Debug, Default)]
pub struct Kept {
    logs: Mutex<Option<(Source, Logs)>>,
    /// What levels say of places.
    pub memory: solve::Memory,
}

impl Kept {
    /// The logs as they were read before, or by `read` where anything is new.
    fn logs(&self, source: Source, read: impl FnOnce() -> Logs) -> Logs {
        let mut kept = self.logs.lock().unwrap_or_else(PoisonError::into_inner);
        match kept.as_ref() {
            Some((known, logs)) if *known == source => logs.clone(),
            _ => kept.insert((source, read())).1.clone(),
        }
    }
}

/// Reads and checks files in memory. `monitor` is the log of a receiver that stood still.
pub fn seen(documents: &[Document], monitor: Option<Document>, stated: &Stated) -> Seen {
    seen_in(&Kept::default(), documents, monitor, stated)
}

/// The same with what was kept of earlier inquiries.
pub fn seen_in(kept: &Kept, documents: &[Document], monitor: Option<Document>, stated: &Stated) -> Seen {
    let of = |kinds: &'static [Kind]| documents.iter().filter(move |d| kinds.contains(&d.kind));
    let settings = &stated.settings;
    let mut seen = Seen::default();
    let mut rows = Vec::new();
    for d in of(&[Kind::Bearings, Kind::Unknown]) {
        seen.take(ingest::bearings(d.name, d.bytes, settings), &mut rows);
    }
    seen.bearings(rows);
    for d in of(&[Kind::Swings]) {
        seen.swings(d.name, d.bytes, settings);
    }
    let files: Vec<Document> = of(&[Kind::Levels, Kind::Track]).copied().collect();
    if !files.is_empty() || monitor.is_some() {
        let source = Source {
            files: files.iter().map(|d| (d.kind, d.name.to_owned(), d.bytes.to_vec())).collect(),
            monitor: monitor.map(|d| (d.name.to_owned(), d.bytes.to_vec())),
            settings: settings.clone(),
            north: stated.north.clone(),
            clock_offset: stated.clock_offset,
        };
        let mut logs = kept.logs(source, || logs(&files, monitor, stated));
        seen.findings.append(&mut logs.findings);
        (seen.levels, seen.frequency) = (logs.levels, logs.frequency);
    }
    let mut sectors = Vec::new();
    for d in of(&[Kind::Sectors]) {
        seen.take(ingest::sectors(d.name, d.bytes, settings), &mut sectors);
    }
    seen.sectors(&sectors, &stated.north);
    seen
}

/// Reads logs, and their tracks, together.
fn logs(files: &[Document], monitor: Option<Document>, stated: &Stated) -> Logs {
    let settings = &stated.settings;
    let (mut readings, mut watched): (Vec<LevelReading>, Vec<LevelReading>) = (Vec::new(), Vec::new());
    let mut tracks: Vec<Track> = Vec::new();
    let mut seen = Seen::default();
    if let Some(d) = monitor {
        seen.take(ingest::levels(d.name, d.bytes, settings), &mut watched);
    }
    for d in files.iter().filter(|d| d.kind == Kind::Levels) {
        seen.take(ingest::levels(d.name, d.bytes, settings), &mut readings);
    }
    for d in files.iter().filter(|d| d.kind == Kind::Track) {
        let (track, mut findings) = ingest::track(d.name, d.bytes, stated.north.date);
        seen.findings.append(&mut findings);
        tracks.push(track);
    }
    seen.findings.append(&mut check::place(&mut readings, &tracks, stated.clock_offset));
    seen.levels(&readings, &watched);
    Logs { levels: seen.levels, frequency: seen.frequency, findings: seen.findings }
}

impl Seen {
    fn take<T>(&mut self, mut reading: ingest::Reading<T>, rows: &mut Vec<T>) {
        rows.append(&mut reading.rows);
        self.findings.append(&mut reading.findings);
    }

    /// Takes bearings of all files together: the same one written down twice counts once, and stands that cannot be meant are
    /// set aside.
    pub fn bearings(&mut self, rows: Vec<ReadBearing>) {
        let mut once = check::repeats(rows);
        self.findings.append(&mut once.findings);
        let mut placed = check::positions(once.usable);
        self.findings.append(&mut placed.findings);
        self.bearings.append(&mut placed.usable);
    }

    /// Takes the bearings of antennas turned on the spot.
    pub fn swings(&mut self, name: &str, bytes: &[u8], settings: &ingest::Settings) {
        let mut reading = ingest::swings(name, bytes, settings);
        self.findings.append(&mut reading.findings);
        let mut turned = solve::swing::bearings(&reading.rows);
        self.findings.append(&mut turned.findings);
        self.bearings.append(&mut turned.bearings);
        self.turned.extend(reading.rows.into_iter().zip(turned.fits));
    }

    /// Takes levels of all logs, placed, with the log of a receiver that stood still.
    pub fn levels(&mut self, readings: &[LevelReading], monitor: &[LevelReading]) {
        self.frequency = readings.iter().find_map(|r| r.frequency);
        let mut labelled = check::levels(readings, monitor);
        self.findings.append(&mut labelled.findings);
        self.levels = check::usable(readings, &labelled.labels);
        self.findings.append(&mut self.levels.findings);
    }

    /// Takes sectors of all tables together: what one table alone does not show, two may.
    pub fn sectors(&mut self, rows: &[Sector], settings: &north::Settings) {
        let mut resolved = north::resolve_sectors(rows, settings);
        self.findings.append(&mut resolved.findings);
        let mut checked = check::sectors(resolved.sectors);
        self.findings.append(&mut checked.findings);
        self.sectors.append(&mut checked.usable);
    }

    /// What a kind of place sets, at the frequency that is stated or read; `None` where neither is, or outside of what was
    /// published.
    pub fn prior(&self, environment: Environment, frequency: Option<Hertz>) -> Option<LevelPrior> {
        let read = || self.bearings.iter().find_map(|b| b.frequency);
        environment.level_prior(frequency.or(self.frequency).or_else(read)?, None)
    }
}

/// With more bearings than this other treatments of north are not tried: each costs as much as the fix itself.
const MOST_AUDITED: usize = 300;

/// How an answer is asked for.
#[derive(Clone, Copy, Debug, Default)]
pub struct Manner<'a> {
    /// Only places, regions and what each bearing is taken for: the same as in the whole answer, and sooner. Left aside are each
    /// kind alone, two places, a drift, other treatments of north, and how far the place moves without each bearing.
    pub first: bool,
    /// What was kept of earlier answers.
    pub memory: Option<&'a solve::Memory>,
}

/// The answer to all that was seen. `prior` is what a kind of place sets, where one is stated.
///
/// # Errors
/// Where the observations give no place, why, with what was found on the way.
pub fn answer(
    seen: Seen,
    stated: &Stated,
    prior: Option<&LevelPrior>,
    options: Options,
) -> Result<Answer, NoPlace> {
    answer_in(&Manner::default(), seen, stated, prior, options)
}

/// The same in a manner of the caller.
///
/// # Errors
/// As [`answer`].
pub fn answer_in(
    manner: &Manner,
    seen: Seen,
    stated: &Stated,
    prior: Option<&LevelPrior>,
    mut options: Options,
) -> Result<Answer, NoPlace> {
    let Seen { bearings: read, levels, turned, sectors, mut findings, .. } = seen;
    let mut resolved = north::resolve(&read, &stated.north);
    findings.append(&mut resolved.findings);
    findings.append(&mut check::directions(&resolved.bearings));
    let bearings = resolved.bearings;
    if let Some(prior) = prior {
        options.levels = options.levels.of_place(prior);
        findings.extend(prior.describe().into_iter().map(|line| Finding::assumed("environment", line)));
    }
    let sights = solve::levels::sights(&levels.levels);
    let (within, memory) = (stated.within, manner.memory);
    let problem =
        Problem { bearings: &bearings, levels: &sights, sectors: &sectors, within, memory, threads: None };
    let fit = match solve::fit(&problem, &options) {
        Ok(fit) => fit,
        Err(error) => return Err(NoPlace { why: format!("No place: {error}."), findings }),
    };
    findings.extend(north::untried(&bearings, stated.north.date));
    let cautions = safety::cautions(&read);
    let mut notes = Notes { levels, turned, findings, cautions, unchecked: manner.first, ..Notes::default() };
    if !manner.first {
        notes.kinds = solve::kinds(&problem, &options, &fit);
        // Bearings alone tell two places and judge north: levels would pull toward their own place.
        let bare = match problem.levels.is_empty() && problem.sectors.is_empty() {
            true => Some(&fit),
            false => notes.kinds.of(solve::Kind::Bearings),
        };
        let pair = solve::pair(&problem, &options, bare.unwrap_or(&fit));
        notes.two = pair.and_then(|pair| TwoPlaces::of(&pair, &bearings));
        notes.drift = solve::drift(&fit, &bearings).filter(solve::Drift::clear);
        notes.audit = bare.map_or_else(Vec::new, |bare| audit(bare, &bearings, &stated.north));
    }
    Ok(report::answer(fit, Notes { bearings, sectors, ..notes }))
}

/// Other treatments of north than in the fit of these bearings.
fn audit(
    fit: &solve::Fit,
    bearings: &[north::TrueBearing],
    settings: &north::Settings,
) -> Vec<solve::NorthHypothesis> {
    if bearings.is_empty() || bearings.len() > MOST_AUDITED {
        return Vec::new();
    }
    // A day of the same case is good enough to try a forgotten declination: it changes by 0.2° in a year at most.
    let day = bearings.iter().find_map(|b| b.read().civil_date());
    let tried = north::Settings { date: settings.date.or(day), ..*settings };
    solve::audit(fit, &north::hypotheses(bearings, &tried))
}
