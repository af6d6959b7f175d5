//! Logs of levels and tracks from files: read, placed, ready to be labelled.

use std::path::{Path, PathBuf};

use clap::Args;

use crate::{
    check,
    cli::{Failure, files, parse, progress::Progress},
    finding::Finding,
    ingest::{self, Antenna, LevelSettings, PadIn, Settings},
    observe::{LevelReading, LevelUnit, Track},
    radio::noise::Averaging,
};

/// What is stated about levels.
#[derive(Args, Clone, Debug)]
pub struct OfLevels {
    /// Unit of levels that do not say theirs: dBm, dBuV (across 50 ohms) or dBuV/m
    #[arg(long, value_name = "UNIT", value_parser = parse::level_unit)]
    level_unit: Option<LevelUnit>,
    /// Whether levels beside a column of attenuators hold them already: added or not-added
    #[arg(long, value_name = "ADDED", value_parser = parse::attenuator)]
    attenuator: Option<PadIn>,
    /// Level below which the receiver tells nothing, in the unit of the levels
    #[arg(long, value_name = "LEVEL", value_parser = parse::decibels, allow_hyphen_values = true)]
    floor: Option<f64>,
    /// Antenna factor of field strengths, in dB/m
    #[arg(long, value_name = "DB", value_parser = parse::decibels, allow_hyphen_values = true)]
    antenna_factor: Option<f64>,
    /// Gain of the antenna of field strengths, in dBi; needs a column of frequencies
    #[arg(long, value_name = "DBI", value_parser = parse::decibels, allow_hyphen_values = true, conflicts_with = "antenna_factor")]
    antenna_gain: Option<f64>,
    /// Loss of the cable between antenna and receiver, in dB
    #[arg(long, value_name = "DB", value_parser = parse::loss)]
    cable_loss: Option<f64>,
    /// Seconds to add to a log's times to get those of its track: what the log's clock is slow, negative if it is fast
    #[arg(long, value_name = "SECONDS", value_parser = parse::seconds, allow_hyphen_values = true)]
    clock_offset: Option<f64>,
    /// How levels of sectors that do not say it were averaged: linear (powers) or db (decibels)
    #[arg(long, value_name = "AVERAGING", value_parser = parse::averaging)]
    averaging: Option<Averaging>,
    /// Log of a receiver that stood still meanwhile: it tells when the emitter was off
    #[arg(long, value_name = "FILE")]
    monitor: Option<PathBuf>,
}

/// Levels of all logs, with places where a track gives them.
#[derive(Default)]
pub struct Gathered {
    /// Readings of the logs, file by file.
    pub readings: Vec<LevelReading>,
    /// Readings of the receiver that stood still.
    pub monitor: Vec<LevelReading>,
    /// Fixes of all tracks, by file.
    pub fixes: Vec<(String, usize)>,
    /// What there is to tell.
    pub findings: Vec<Finding>,
}

impl OfLevels {
    /// The log of a receiver that stood still.
    pub const fn monitor(&self) -> Option<&PathBuf> {
        self.monitor.as_ref()
    }

    /// Seconds to add to a log's times.
    pub const fn clock_offset(&self) -> Option<f64> {
        self.clock_offset
    }

    /// Whether a log is named here that must be read.
    pub const fn names_a_log(&self) -> bool {
        self.monitor.is_some()
    }

    /// What is stated for all files, with what is stated about levels.
    pub fn stated(&self, settings: Settings) -> Settings {
        Settings { levels: self.settings(), averaging: self.averaging, ..settings }
    }

    /// Reads logs and tracks, and joins them.
    pub fn gather(
        &self,
        logs: &[PathBuf],
        tracks: &[PathBuf],
        settings: Settings,
        first_day: Option<jiff::civil::Date>,
    ) -> Result<Gathered, Failure> {
        let settings = self.stated(settings);
        let mut out = Gathered::default();
        if let Some(path) = &self.monitor {
            log(path, &settings, &mut out.monitor, &mut out.findings)?;
        }
        for path in logs {
            log(path, &settings, &mut out.readings, &mut out.findings)?;
        }
        let mut found: Vec<Track> = Vec::new();
        for path in tracks {
            let (name, bytes) = files::read_most(path, ingest::MAX_LEVEL_BYTES)?;
            let (track, mut findings) = ingest::track(&name, &bytes, first_day);
            out.findings.append(&mut findings);
            out.fixes.push((name, track.fixes.len()));
            found.push(track);
        }
        if self.clock_offset.is_some() && found.is_empty() {
            let message = "an offset of a clock is stated, and no track: it is not used";
            out.findings.push(Finding::doubtful("clock-offset-unused", message).hint("name the track too"));
        }
        out.findings.append(&mut check::place(&mut out.readings, &found, self.clock_offset));
        Ok(out)
    }

    fn settings(&self) -> LevelSettings {
        let factor = self.antenna_factor.map(Antenna::Factor);
        LevelSettings {
            unit: self.level_unit,
            attenuator: self.attenuator,
            antenna: factor.or(self.antenna_gain.map(Antenna::Gain)),
            cable_loss: self.cable_loss,
            floor: self.floor,
        }
    }
}

/// Adds the rows of a log. How far the reading has come is told by its lines.
fn log(
    path: &Path,
    settings: &Settings,
    rows: &mut Vec<LevelReading>,
    findings: &mut Vec<Finding>,
) -> Result<(), Failure> {
    let (name, bytes) = files::read_most(path, ingest::MAX_LEVEL_BYTES)?;
    let lines = bytes.iter().filter(|b| **b == b'\n').count();
    let mut progress = Progress::on_terminal(&format!("reading {name}"), lines as u64);
    findings.append(&mut ingest::each_level(&name, &bytes, settings, |reading| {
        progress.at(reading.written.line);
        rows.push(reading);
    }));
    Ok(())
}
