//! `azimark demo`.

use std::path::{Path, PathBuf};

use clap::{Args, Parser};

use crate::cli::{Arguments, Command, Failure, Outcome};

/// The invented case: file names and contents.
const CASE: [(&str, &[u8]); 3] = [
    ("bearings.csv", include_bytes!("../../fixtures/demo/bearings.csv")),
    ("bearings_other_team.csv", include_bytes!("../../fixtures/demo/bearings_other_team.csv")),
    ("town.geojson", include_bytes!("../../maps/demo-town.geojson")),
];

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Demo {
    /// Folder to write the case into
    #[arg(value_name = "FOLDER", default_value = "azimark-demo")]
    folder: PathBuf,
}

impl Demo {
    /// Writes the case, then runs the same commands that a user would type.
    pub fn run(&self) -> Result<Outcome, Failure> {
        std::fs::create_dir_all(&self.folder)
            .map_err(|e| format!("{} could not be made: {e}", self.folder.display()))?;
        for (name, bytes) in CASE {
            put(&self.folder.join(name), bytes)?;
        }
        let at = |name: &str| self.folder.join(name).display().to_string();
        let (bearings, town) = (at("bearings.csv"), at("town.geojson"));
        let (map, picture) = (at("answer.geojson"), at("answer.svg"));
        let line = ["azimark", "locate", &bearings, "--output", &map, "--output", &picture, "--map", &town];
        eprintln!("An invented case: ten bearings of four teams in a small town, two of them reflections.");
        eprintln!("$ {}\n", line.join(" "));
        match Arguments::try_parse_from(line).map_err(|e| e.to_string())?.command {
            Command::Locate(command) => command.run(),
            other => Err(format!("{other:?} is not what the demo runs")),
        }
    }
}

/// Writes a file of the case unless it is there already; one that differs is left alone.
fn put(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    match std::fs::read(path) {
        Ok(there) if there == bytes => Ok(()),
        Ok(_) => Err(format!(
            "{} is there already and differs from the demo's: name another folder, such as azimark demo elsewhere",
            path.display()
        )),
        Err(_) => {
            std::fs::write(path, bytes).map_err(|e| format!("{} could not be written: {e}", path.display()))
        }
    }
}
