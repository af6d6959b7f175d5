//! `azimark simulate`.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};

use crate::{
    cli::{Failure, Outcome, files, parse},
    geodesy::Place,
    north,
    report::count,
    simulate::{Kind, Plan, Scene, write},
    units::Hertz,
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Simulate {
    /// Folder to write the case into; it is made where there is none
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
    /// Number from which everything follows: the same seed gives the same files
    #[arg(long, value_name = "NUMBER")]
    seed: u64,
    /// Kind of place
    #[arg(long, value_enum, value_name = "SCENE", default_value = "street")]
    scene: SceneName,
    /// How many bearings
    #[arg(long, value_name = "NUMBER", default_value_t = 12)]
    bearings: usize,
    /// How many readings of levels along the walk
    #[arg(long, value_name = "NUMBER", default_value_t = 600)]
    readings: usize,
    /// How many emitters on the one channel
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    emitters: usize,
    /// How many bearings in a hundred come from elsewhere, beside what façades reflect
    #[arg(long, value_name = "PERCENT", value_parser = parse::share, default_value = "0")]
    foreign: f64,
    /// How many bearings in a hundred are read over the antenna's back
    #[arg(long, value_name = "PERCENT", value_parser = parse::share, default_value = "0")]
    reversed: f64,
    /// The frequency
    #[arg(long, value_name = "FREQUENCY", value_parser = parse::frequency, default_value = "841.5MHz")]
    frequency: Hertz,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
enum SceneName {
    /// Fields with few obstacles
    Open,
    /// Houses with gardens
    Suburb,
    /// A small town with gaps between the buildings
    Street,
    /// A dense town: waves go around corners, positions drift
    Canyon,
    /// Within one building
    Indoor,
}

impl SceneName {
    const fn kind(self) -> Kind {
        match self {
            Self::Open => Kind::Open,
            Self::Suburb => Kind::Suburb,
            Self::Street => Kind::Street,
            Self::Canyon => Kind::Canyon,
            Self::Indoor => Kind::Indoor,
        }
    }
}

impl Simulate {
    /// Writes the case and says what to do with it.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let case = write::case(&self.scene()?).map_err(|e| e.to_string())?;
        untouched(&self.folder, &case)?;
        std::fs::create_dir_all(&self.folder)
            .map_err(|e| format!("{} could not be made: {e}", self.folder.display()))?;
        for file in &case {
            files::write(&self.folder.join(file.name), &file.text)?;
        }
        let at = |name: &str| self.folder.join(name).display().to_string();
        let map = case.iter().any(|f| f.name == "town.geojson");
        let drawn = if map { format!(" --map {}", at("town.geojson")) } else { String::new() };
        files::print(&format!(
            "An invented case, {} {}: {}, {} of levels. The truth is in {}.\n\
             azimark locate {}{drawn}\n\
             azimark check {}\n",
            self.scene.kind().word(),
            self.seed,
            count(self.bearings, "bearing", "bearings"),
            count(self.readings, "reading", "readings"),
            at("truth.json"),
            at("bearings.csv"),
            at("walk_log.csv"),
        ))?;
        Ok(Outcome::Answered)
    }

    fn scene(&self) -> Result<Scene, Failure> {
        // The county of the demo, where compasses are 14° off true north.
        let centre = Place::from_lat_lon_degrees(46.9561, -118.3566).ok_or("the demo has no place")?;
        let start: jiff::Timestamp = "2026-06-01T15:00:00Z".parse().map_err(|e| format!("{e}"))?;
        let day = start.to_zoned_datetime(jiff::tz::TimeZone::UTC).date();
        let declination = north::declination(centre, day).map_err(|e| e.to_string())?.angle;
        let plan = Plan {
            centre,
            start,
            declination: Some(declination),
            bearings: self.bearings,
            readings: self.readings,
            emitters: self.emitters,
            foreign: self.foreign,
            reversed: self.reversed,
            frequency: self.frequency,
            ..Plan::of(self.scene.kind(), self.seed)
        };
        Scene::new(&plan).map_err(|e| e.to_string())
    }
}

/// Nothing is written over, and nothing is put among other files: the folder is new or empty, or holds this very case.
fn untouched(folder: &Path, case: &[write::File]) -> Result<(), Failure> {
    if !folder.exists() {
        return Ok(());
    }
    let failed = |e: std::io::Error| format!("{} could not be read: {e}", folder.display());
    if !folder.is_dir() {
        return Err(format!("{} is a file: name a folder", folder.display()));
    }
    let there =
        |f: &write::File| std::fs::read(folder.join(f.name)).is_ok_and(|bytes| bytes == f.text.as_bytes());
    if case.iter().all(there) || std::fs::read_dir(folder).map_err(failed)?.next().is_none() {
        return Ok(());
    }
    Err(format!(
        "{} holds other files: name a new folder, such as {}-2; nothing was written",
        folder.display(),
        folder.display()
    ))
}
