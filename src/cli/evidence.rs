//! What was seen, for commands that go on from where `locate` ends.

use std::path::PathBuf;

use clap::Args;

use crate::{
    cli::{
        by_kind::{self, Said},
        gather_levels::OfLevels,
        locate::{Locate, Stated},
        parse,
    },
    radio::Environment,
    units::{Hertz, Metres},
};

/// Files and what is stated about them, as `locate` takes them.
#[derive(Args, Clone, Debug)]
pub struct Evidence {
    /// Files of bearings, swings, levels, sectors, tracks, as for azimark locate
    #[arg(required_unless_present = "said", value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Kind of a file that does not show it: KIND=FILE with bearings, levels, sectors, swings or track; may be repeated
    #[arg(long = "as", value_name = "KIND=FILE", value_parser = by_kind::said)]
    said: Vec<Said>,
    #[command(flatten)]
    stated: Stated,
    #[command(flatten)]
    of_levels: OfLevels,
    /// Kind of place that levels were taken in: sets what is assumed of exponent, power and shadowing
    #[arg(long, value_name = "PLACE", value_parser = parse::environment)]
    environment: Option<Environment>,
    /// Frequency, where the files do not say it: --environment needs it
    #[arg(long, value_name = "FREQUENCY", value_parser = parse::frequency)]
    frequency: Option<Hertz>,
    /// How far from the stands to search, such as 30km [default: 50 km, or five times their spread]
    #[arg(long, value_name = "LENGTH", value_parser = parse::length)]
    within: Option<Metres>,
}

impl Evidence {
    /// The command that solves it.
    pub fn locate(&self) -> Locate {
        Locate::of(
            self.files.clone(),
            self.said.clone(),
            self.stated.clone(),
            self.of_levels.clone(),
            (self.environment, self.frequency, self.within),
        )
    }

    /// Every file that is named.
    pub fn named(&self) -> Vec<&PathBuf> {
        self.files.iter().chain(self.said.iter().map(Said::path)).collect()
    }
}
