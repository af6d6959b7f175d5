//! `azimark next`.

use std::path::{Path, PathBuf};

use clap::Args;

use crate::{
    cli::{Failure, Outcome, files, locate::Locate, locate::tell, parse},
    export,
    geodesy::Place,
    plan::{self, Depth, Picture, Search, Setup},
    report,
    streets::{Pace, Streets},
};

/// Arguments of the command.
#[derive(Args, Debug)]
pub struct Next {
    #[command(flatten)]
    locate: Locate,
    /// Map of the town: GeoJSON with streets as lines (OpenStreetMap's tags are understood), buildings, lines of power
    #[arg(long, value_name = "FILE")]
    streets: Option<PathBuf>,
    /// Where you are, such as 46.955,-118.36 [default: the last stand]
    #[arg(long, value_name = "LAT,LON", value_parser = parse::place, allow_hyphen_values = true)]
    from: Option<Place>,
    /// How fast you get on, in km/h
    #[arg(long, value_name = "KMH", value_parser = parse::speed, default_value = "4.8")]
    pace: Pace,
    /// How many stands to propose, 1 to 20
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=20), default_value = "5")]
    stands: u8,
    /// Where two teams are who take a bearing each at once: tells the best pair of stands for them
    #[arg(long, value_names = ["LAT,LON", "LAT,LON"], num_args = 2, value_parser = parse::place, allow_hyphen_values = true)]
    teams_at: Vec<Place>,
}

impl Next {
    /// Reads, solves, plans and prints.
    pub fn run(&self) -> Result<Outcome, Failure> {
        let format = self.locate.plain_format()?;
        let streets = town(self.streets.as_deref())?;
        let answer = match self.locate.solved()? {
            Ok(answer) => answer,
            Err(none) => {
                files::print(&self.without(format, &none.why))?;
                tell(&none.findings);
                return Ok(Outcome::Short);
            }
        };
        let last = answer.bearings.last().map(|b| b.read().stand.at);
        let from = self.from.or(last).unwrap_or_else(|| answer.fit.centre());
        let search = Search { pace: self.pace, ..Search::default() };
        let setup = Setup { from, streets: streets.as_ref(), search, most: usize::from(self.stands) };
        let mut advice = plan::next(&answer.fit, &answer.bearings, &setup);
        if let [a, b] = self.teams_at[..] {
            let picture = Picture::of_fit(&answer.fit, &answer.bearings, streets.as_ref());
            advice.pair = plan::pair(&picture, [a, b], streets.as_ref(), &search, Depth::ADVICE);
        }
        if self.from.is_none() {
            advice.from_last_stand();
        }
        files::print(&match format {
            Plain::Text => report::advice(&advice),
            Plain::Json => export::advice_json(&advice),
            Plain::Geojson => export::advice_geojson(&advice),
        })?;
        tell(&answer.findings);
        if format != Plain::Text {
            tell(&advice.findings);
        }
        Ok(if advice.enough || !advice.stands.is_empty() { Outcome::Answered } else { Outcome::Short })
    }

    /// Without a place the advice is general: where a first or second bearing should be taken.
    fn without(&self, format: Plain, why: &str) -> String {
        let advice = format!(
            "{why} Take a bearing where you hear it best, and the next from a stand that sees it from the side: walk at right \
             angles to the first bearing, about half as far as you believe the emitter to be."
        );
        match format {
            Plain::Text => report::wrapped(&advice, "", ""),
            Plain::Json => export::json_without(&advice, &[]),
            Plain::Geojson => export::geojson_without(&advice, &[]),
        }
    }
}

/// The streets of a map; nothing without a file.
pub fn town(path: Option<&Path>) -> Result<Option<Streets>, Failure> {
    let Some(path) = path else { return Ok(None) };
    let (name, bytes) = files::read(path)?;
    let (streets, findings) = Streets::read(&name, &bytes);
    let usable = !streets.edges().is_empty() || findings.iter().any(|f| f.code == "no-streets");
    if !usable {
        return Err(findings.first().map_or_else(|| format!("{name} holds no streets"), ToString::to_string));
    }
    tell(&findings);
    Ok(Some(streets))
}

/// What can be printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Plain {
    /// In words.
    Text,
    /// Everything, for programs.
    Json,
    /// Features for a map.
    Geojson,
}
