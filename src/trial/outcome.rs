//! What became of one scene.

use serde::{Deserialize, Serialize};

use crate::{
    check,
    geodesy::course,
    north,
    numeric::loss,
    region::Region,
    simulate::Refusal,
    solve::{self, Fit, Loss, Options, Problem, levels::LevelPriors},
    trial::{CONFIDENCES, Class, Drawn, Group, draw},
    units::Confidence,
};

/// How a scene is solved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    /// As delivered.
    Delivered,
    /// As custom has it: squared misses of the bearings with the stated errors taken as exact; levels with errors that are
    /// independent of each other, and an emitter that radiates alike all round.
    Customary,
}

impl Method {
    /// Both, in the order of tables.
    pub const ALL: [Self; 2] = [Self::Delivered, Self::Customary];

    /// Its name.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Delivered => "delivered",
            Self::Customary => "customary",
        }
    }

    fn options(self) -> Options {
        let delivered = Options::default();
        match self {
            Self::Delivered => delivered,
            Self::Customary => {
                let levels = LevelPriors {
                    trust: f64::INFINITY,
                    own: [1.0; 3],
                    pattern: [0.0; 4],
                    bend: 0.0,
                    ..delivered.levels
                };
                Options { loss: Loss::Classic(loss::Loss::Squared), levels, ..delivered }
            }
        }
    }
}

/// What became of one scene with one method. Numbers are rounded, so that a table of kept outcomes is that of fresh ones.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Outcome {
    /// Name of the class.
    pub class: String,
    /// Number of the scene.
    pub number: u32,
    /// Name of the method.
    pub method: String,
    /// Distance of the quoted place from the nearest emitter, metres.
    pub miss_m: Option<f64>,
    /// The bound, metres.
    pub bound_m: Option<f64>,
    /// Whether each region of [`CONFIDENCES`] holds an emitter; `None` where it was refused.
    pub held: [Option<bool>; 4],
    /// Area of the 95 % region, hectares.
    pub area_ha: Option<f64>,
    /// Share of the first place.
    pub share: Option<f64>,
}

/// Draws a scene and solves it with every method.
///
/// # Errors
/// [`Refusal`] where a plan cannot be.
pub fn outcomes(seed: u64, class: Class, number: u32) -> Result<Vec<Outcome>, Refusal> {
    let drawn = draw(seed, class, number)?;
    let made = |method: Method| {
        let mut out = Outcome {
            class: class.word().to_owned(),
            number,
            method: method.word().to_owned(),
            miss_m: None,
            bound_m: drawn.bound.map(|b| rounded(b, 2)),
            held: [None; 4],
            area_ha: None,
            share: None,
        };
        if let Some(fit) = fitted(&drawn, class.group(), &method.options()) {
            judge(&fit, &drawn, &mut out);
        }
        out
    };
    Ok(Method::ALL.map(made).into())
}

fn fitted(drawn: &Drawn, group: Group, options: &Options) -> Option<Fit> {
    match group {
        Group::Bearings => {
            let bearings = north::resolve(&drawn.bearings, &north::Settings::default()).bearings;
            solve::fit(&Problem { bearings: &bearings, ..Problem::default() }, options).ok()
        }
        Group::Walks => {
            let labelled = check::levels(&drawn.levels, &[]);
            let usable = check::usable(&drawn.levels, &labelled.labels);
            let levels = solve::levels::sights(&usable.levels);
            solve::fit(&Problem { levels: &levels, ..Problem::default() }, options).ok()
        }
    }
}

fn judge(fit: &Fit, drawn: &Drawn, out: &mut Outcome) {
    let misses = drawn.truths.iter().map(|t| course(fit.quoted(), *t).distance.value());
    out.miss_m = Some(rounded(misses.fold(f64::INFINITY, f64::min), 2)).filter(|m| m.is_finite());
    out.share = fit.modes().first().map(|m| rounded(m.share, 4));
    let wanted = CONFIDENCES.map(|c| Confidence::fraction(c).unwrap_or(Confidence::P95));
    for ((held, region), confidence) in
        out.held.iter_mut().zip(Region::several(fit, &wanted)).zip(CONFIDENCES)
    {
        let Ok(region) = region else { continue };
        *held = Some(drawn.truths.iter().any(|t| region.holds(fit, *t)));
        if confidence == 0.95 {
            out.area_ha = Some(rounded(region.area().value() / 1e4, 4));
        }
    }
}

fn rounded(value: f64, digits: i32) -> f64 {
    let scale = 10f64.powi(digits);
    (value * scale).round() / scale
}
