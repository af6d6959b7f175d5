//! Files told apart by what they hold.

use std::path::{Path, PathBuf};

use crate::{
    cli::{Failure, files},
    ingest::{self, Kind},
};

/// Files of each kind, in the order given.
#[derive(Default)]
pub struct ByKind {
    /// Bearings, and files whose kind does not show.
    pub bearings: Vec<PathBuf>,
    /// Logs of levels.
    pub levels: Vec<PathBuf>,
    /// Tables of sectors.
    pub sectors: Vec<PathBuf>,
    /// Antennas turned on the spot.
    pub swings: Vec<PathBuf>,
    /// Tracks.
    pub tracks: Vec<PathBuf>,
}

/// A file with the kind that the caller says it has.
#[derive(Clone, Debug)]
pub struct Said(Kind, PathBuf);

impl Said {
    /// The file.
    pub const fn path(&self) -> &PathBuf {
        &self.1
    }
}

/// Reads `KIND=FILE`.
pub fn said(text: &str) -> Result<Said, String> {
    let (kind, path) =
        text.split_once('=').ok_or("write the kind, = and the file, such as levels=log.csv")?;
    let kind = match kind.trim() {
        "bearings" => Kind::Bearings,
        "levels" => Kind::Levels,
        "sectors" => Kind::Sectors,
        "swings" => Kind::Swings,
        "track" => Kind::Track,
        _ => return Err("the kind is bearings, levels, sectors, swings or track".to_owned()),
    };
    Ok(Said(kind, PathBuf::from(path)))
}

impl ByKind {
    /// Looks at the beginning of each file; those of `said` are taken as what they are said to be.
    pub fn of(paths: &[PathBuf], said: &[Said]) -> Result<Self, Failure> {
        let mut out = Self::default();
        for path in paths {
            out.add(kind(path)?, path.clone());
        }
        for Said(kind, path) in said {
            out.add(*kind, path.clone());
        }
        Ok(out)
    }

    fn add(&mut self, kind: Kind, path: PathBuf) {
        match kind {
            Kind::Levels => self.levels.push(path),
            Kind::Track => self.tracks.push(path),
            Kind::Sectors => self.sectors.push(path),
            Kind::Swings => self.swings.push(path),
            Kind::Bearings | Kind::Unknown => self.bearings.push(path),
        }
    }
}

/// The kind of a file by its beginning. Standard input is taken for bearings: it can be read only once.
fn kind(path: &Path) -> Result<Kind, Failure> {
    if path.as_os_str() == "-" {
        return Ok(Kind::Bearings);
    }
    let (_, head) = files::read_most(path, 1 << 17)?;
    Ok(ingest::kind(&head))
}
