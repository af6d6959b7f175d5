//! `azimark case own-system`.

use std::path::PathBuf;

use clap::Args;

use crate::{
    case::{Event, OwnSystem},
    check::{ComesFrom, OwnTest, own_mixtures, own_system},
    cli::{
        Failure, Outcome,
        case::{about, acknowledged, folder::Writing, now, words},
        files, parse,
    },
    report::wrapped,
    units::{Db, Dbm, Hertz},
};

/// The number of mixtures grows with the fifth power of the number of carriers.
const MOST_CARRIERS: usize = 12;

/// Hz from the frequency within which a mixture counts where no bandwidth is stated.
const USUAL_BANDWIDTH: f64 = 25e3;

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct TryOwn {
    /// Folder of the case
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// Level on the antenna while the interference is there, own transmitters off, in dBm
    #[arg(long, value_name = "DBM", value_parser = level, allow_hyphen_values = true)]
    on_antenna: f64,
    /// Level with a dummy load in the place of the antenna, in dBm
    #[arg(long, value_name = "DBM", value_parser = level, allow_hyphen_values = true)]
    on_load: Option<f64>,
    /// Level on the antenna with the own transmitters on, in dBm
    #[arg(long, value_name = "DBM", value_parser = level, allow_hyphen_values = true)]
    keyed: Option<f64>,
    /// Level on a second antenna of the same service, in dBm
    #[arg(long, value_name = "DBM", value_parser = level, allow_hyphen_values = true)]
    second_antenna: Option<f64>,
    /// Bandwidth of the levels, such as 12.5kHz: with it the receiver is compared with its thermal noise
    #[arg(long, value_name = "BANDWIDTH", value_parser = parse::frequency)]
    bandwidth: Option<Hertz>,
    /// Noise figure of the receiver in dB [default: 5]
    #[arg(long, value_name = "DB", value_parser = parse::loss, requires = "bandwidth")]
    noise_figure: Option<f64>,
    /// A carrier of the own site, such as 851.5MHz, to look for mixtures on the case's frequency; up to 12 times
    #[arg(long, value_name = "FREQUENCY", value_parser = parse::frequency)]
    carrier: Vec<Hertz>,
    /// Which own carriers were off
    #[arg(long, value_name = "WORDS", value_parser = words)]
    off: Option<String>,
    /// Remark
    #[arg(long, value_name = "WORDS", value_parser = words)]
    remark: Option<String>,
    /// Who tried it, by role
    #[arg(long, value_name = "ROLE", value_parser = words)]
    by: String,
}

fn level(text: &str) -> Result<f64, String> {
    parse::decibels(text.trim_end_matches("dBm"))
}

impl TryOwn {
    /// Judges the levels, keeps them and prints what they say.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let mixtures = self.mixtures()?;
        let (source, mut summary) = own_system(&OwnTest {
            on_antenna: Dbm::new(self.on_antenna),
            on_load: self.on_load.map(Dbm::new),
            keyed: self.keyed.map(Dbm::new),
            second_antenna: self.second_antenna.map(Dbm::new),
            bandwidth: self.bandwidth,
            noise_figure: self.noise_figure.map(Db::new),
        });
        summary.extend(mixtures);
        let told: String = summary.iter().map(|line| wrapped(line, "", "  ")).collect();
        let tried = OwnSystem {
            on_load_dbm: self.on_load,
            on_antenna_dbm: self.on_antenna,
            keyed_dbm: self.keyed,
            second_antenna_dbm: self.second_antenna,
            bandwidth_hz: self.bandwidth.map(Hertz::value),
            noise_figure_db: self.noise_figure,
            carriers_hz: self.carrier.iter().map(|c| c.value()).collect(),
            off: self.off.clone(),
            remark: self.remark.clone(),
            summary,
        };
        let mut case = Writing::begin(&self.folder)?;
        let entry = case.append(now(), &self.by, Event::OwnSystem(Box::new(tried)))?;
        files::print(&format!("{told}{}", acknowledged(&entry)))?;
        Ok(if source == ComesFrom::Outside { Outcome::Answered } else { Outcome::Short })
    }

    /// What mixtures of the own carriers may fall on the case's frequency.
    fn mixtures(&self) -> Result<Option<String>, Failure> {
        if self.carrier.is_empty() {
            return Ok(None);
        }
        if self.carrier.len() > MOST_CARRIERS {
            return Err(format!(
                "{} carriers are too many: name the {MOST_CARRIERS} strongest",
                self.carrier.len()
            ));
        }
        let victim = about(&self.folder)?.0.frequency_hz.map(Hertz::new);
        let victim =
            victim.ok_or("the case does not say on which frequency: mixtures cannot be looked for")?;
        let within = self.bandwidth.unwrap_or(Hertz::new(USUAL_BANDWIDTH));
        Ok(Some(own_mixtures(&self.carrier, victim, within)))
    }
}
