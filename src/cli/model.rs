//! `--model`: a published law of distance, taken as it is.

use clap::Args;

use crate::{
    cli::{Failure, parse},
    finding::Finding,
    geodesy::{Place, course},
    inquiry::Seen,
    radio::{Environment, FixedModel, ModelName, Sight, Straight},
    units::{Hertz, Metres},
};

/// What is stated of the law of distance.
#[derive(Args, Clone, Debug)]
pub struct OfModel {
    /// Law of distance by a published model, taken as it is: free-space, hata, cost231, umi, uma, rma, site-general
    #[arg(long, value_name = "MODEL", value_parser = parse::model, requires = "environment")]
    model: Option<ModelName>,
    /// Heights above ground of the higher and the lower antenna, for --model
    #[arg(long, value_name = "LENGTH,LENGTH", value_parser = parse::heights, requires = "model", default_value = "30m,1.5m")]
    heights: (Metres, Metres),
    /// The emitter is in sight, for a --model that makes a difference
    #[arg(long, requires = "model")]
    in_sight: bool,
}

/// The span of distances over which a model is made a power law begins here.
const NEAREST: Metres = Metres::new(10.0);

/// It ends at this many times the greatest distance of a reading from the first one, and not before [`LEAST_FARTHEST`].
const BEYOND: f64 = 2.0;

/// See [`BEYOND`].
const LEAST_FARTHEST: f64 = 100.0;

impl OfModel {
    /// Whether a model is stated.
    pub const fn stated(&self) -> bool {
        self.model.is_some()
    }

    /// The law of the model over the distances of the readings, told as an assumption; `None` without a model.
    ///
    /// # Errors
    /// Without a frequency, or where the model has no form for the kind of place or these distances.
    pub fn law(
        &self,
        seen: &Seen,
        environment: Option<Environment>,
        frequency: Option<Hertz>,
    ) -> Result<Option<(Straight, Finding)>, Failure> {
        let (Some(name), Some(environment)) = (self.model, environment) else { return Ok(None) };
        let word = name.word();
        let frequency = frequency
            .or(seen.frequency)
            .ok_or_else(|| format!("--model {word} needs the frequency: add --frequency 450MHz"))?;
        let sight = if self.in_sight { Sight::Clear } else { Sight::Blocked };
        let model = name.model(environment, sight).map_err(|e| e.to_string())?;
        let (upper, lower) = self.heights;
        let farthest = farthest(seen);
        let fixed = FixedModel { model, frequency, upper, lower };
        let law = fixed
            .over(NEAREST, farthest)
            .map_err(|e| format!("--model {word} gives no law of distance here: {e}"))?;
        let told = format!(
            "law of distance from {word} ({}), {} environment, {}, antennas {:.1} and {:.1} m above ground, {:.0} to {:.0} m, taken \
             as it is: {law}; power not stated",
            name.source(),
            environment.word(),
            if self.in_sight { "in sight" } else { "not in sight" },
            upper.value(),
            lower.value(),
            NEAREST.value(),
            farthest.value()
        );
        let finding = if law.breaches.is_empty() {
            Finding::assumed("model", told)
        } else {
            Finding::doubtful("model", told)
        };
        Ok(Some((law, finding)))
    }
}

fn farthest(seen: &Seen) -> Metres {
    let mut places = seen.levels.levels.iter().map(|l| l.at);
    let Some(first) = places.next() else { return Metres::new(LEAST_FARTHEST) };
    let apart = |p: Place| course(first, p).distance.value();
    Metres::new((BEYOND * places.map(apart).fold(0.0, f64::max)).max(LEAST_FARTHEST))
}
