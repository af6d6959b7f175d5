//! `azimark exposure`.

use clap::Args;

use crate::{
    cli::{Failure, Outcome, files, parse},
    safety,
    units::{Hertz, Watts},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Exposure {
    /// Frequency with its unit, such as 841.5MHz
    #[arg(long, value_name = "FREQUENCY", value_parser = parse::frequency)]
    frequency: Hertz,
    /// Power times antenna gain in the main beam (EIRP), such as 60dBm or 50W
    #[arg(long, value_name = "POWER", value_parser = parse::power, allow_hyphen_values = true)]
    eirp: Watts,
    /// Share of the time that it transmits, in per cent, over the averaging time of the limit
    #[arg(long, value_name = "PERCENT", value_parser = parse::percent, default_value = "100")]
    duty: f64,
}

impl Exposure {
    /// Prints the distances.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let found = safety::exposure(self.frequency, Watts::new(self.eirp.value() * self.duty))
            .map_err(|e| e.to_string())?;
        files::print(&format!("{found}\n"))?;
        Ok(Outcome::Answered)
    }
}
