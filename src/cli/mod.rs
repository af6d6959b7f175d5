//! The command line: each command reads, calls the library, and writes. Formulae live elsewhere.
//!
//! Standard output is data, standard error the rest. Exit codes: 0 answered; 1 it ran, but the data do not give what
//! was asked or rows were refused; 2 it could not run (usage, file).

mod by_kind;
mod case;
mod check;
mod closure;
mod closure_words;
mod demo;
mod divide;
mod evidence;
mod export;
mod exposure;
mod field;
mod field_parts;
mod files;
mod gather_levels;
mod hunt;
mod locate;
mod manual;
mod map;
mod model;
mod next;
mod north;
mod parse;
mod progress;
mod report;
mod scenes;
mod searched;
mod simulate;
mod swing;
mod trial;
mod when;
mod when_words;
mod whole;

use std::process::ExitCode;

use clap::{Parser, Subcommand};

const ABOUT: &str = "From compass bearings at known places to an honest area to search";

const LONG_ABOUT: &str = "\
Somebody stands at known places, turns a directional antenna until the signal is strongest, reads a compass and writes \
the bearings down. azimark turns those notes into an area to search that really holds the emitter 95 times in 100, says \
which bearings look like reflections, and keeps a record of every number. It works offline.";

const AFTER: &str = "\
First steps:
  azimark demo                     write an invented case and locate its emitter
  azimark locate bearings.csv      the answer in words
  azimark locate bearings.csv --output answer.geojson
                                   the same, and a file for any map

Exit codes: 0 answered; 1 it ran, but the data do not give what was asked or rows were refused; 2 it could not run.";

/// The whole command line.
#[derive(Debug, Parser)]
#[command(name = "azimark", version, about = ABOUT, long_about = LONG_ABOUT, after_help = AFTER)]
#[command(arg_required_else_help = true, max_term_width = 100)]
pub struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Locate the emitter from files of bearings: the area to search, and a record of every bearing
    Locate(locate::Locate),
    /// Where to stand next: the stands from which the emitter is likely reached soonest, and why
    Next(next::Next),
    /// Read bearings, logs of levels and tracks and say what is refused, doubtful or assumed, without solving
    Check(check::Check),
    /// Write an invented case into a folder and locate its emitter
    Demo(demo::Demo),
    /// Invent a case from a seed: bearings, a log of levels, sectors, a town, and the truth beside them
    Simulate(simulate::Simulate),
    /// Divide the search among teams: parts with the same chance per minute, routes, assignment sheets
    Divide(divide::Divide),
    /// Count a search that found nothing: what it covered falls, the rest rises
    Searched(searched::Searched),
    /// Bearings from an antenna turned on the spot: levels against headings
    Swing(swing::TurnedAntenna),
    /// When the emitter is on: hours of the week, next likely windows, and whether it follows a switch
    When(when::When),
    /// Whether it has become quieter: the same hours of the same weekdays before and after, and who agreed
    Closure(closure::Closure),
    /// The three norths of a place and date: true, magnetic, grid
    North(north::North),
    /// Distances at which the field of an antenna falls to the exposure limits
    Exposure(exposure::Exposure),
    /// Field strength with its uncertainty, from readings, antenna factor and cable: the sheet for the record
    Field(Box<field::Field>),
    /// The record of a case: files as they came, notes and conclusions, each with its hash
    Case(case::Case),
    /// Write the record of a case as a report: tagged PDF or a page of HTML
    Report(report::Report),
    /// Write the answer for other programs: KML, GPX, GeoPackage, CSV or GeoJSON, with a form to pass on
    Export(export::Export),
    /// Write the map in the hand: one file for a phone that shows the case, takes bearings and computes, without a network
    Map(map::Map),
    /// How often the stated regions hold the emitter, measured on invented scenes with every kind of trouble
    Trial(trial::Trial),
    /// How many minutes simulated hunts take, by ways to go about them
    Hunt(hunt::Hunt),
    /// Print completions for a shell
    Completions(manual::Completions),
    /// Print the manual page
    Manual,
}

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Outcome {
    /// Everything that was asked for is there.
    Answered,
    /// It ran, but the data do not give what was asked, or rows were refused.
    Short,
}

/// Why a command could not run, for a person to read.
type Failure = String;

/// Runs the program with the process's arguments and streams.
pub fn run() -> ExitCode {
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(error) => {
            // Help and version are no errors: they go to standard output and end with 0.
            let code = if error.use_stderr() { 2 } else { 0 };
            let _ = error.print();
            return ExitCode::from(code);
        }
    };
    let outcome = match arguments.command {
        Command::Locate(command) => command.run(),
        Command::Next(command) => command.run(),
        Command::Check(command) => command.run(),
        Command::Demo(command) => command.run(),
        Command::Simulate(command) => command.run(),
        Command::Divide(command) => command.run(),
        Command::Searched(command) => command.run(),
        Command::Swing(command) => command.run(),
        Command::When(command) => command.run(),
        Command::Closure(command) => command.run(),
        Command::North(command) => command.run(),
        Command::Exposure(command) => command.run(),
        Command::Field(command) => command.run(),
        Command::Case(command) => command.run(),
        Command::Report(command) => command.run(),
        Command::Export(command) => command.run(),
        Command::Map(command) => command.run(),
        Command::Trial(command) => command.run(),
        Command::Hunt(command) => command.run(),
        Command::Completions(command) => command.run(),
        Command::Manual => manual::page(),
    };
    match outcome {
        Ok(Outcome::Answered) => ExitCode::SUCCESS,
        Ok(Outcome::Short) => ExitCode::from(1),
        Err(failure) => {
            eprintln!("error: {failure}");
            ExitCode::from(2)
        }
    }
}
