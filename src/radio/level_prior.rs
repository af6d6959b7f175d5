//! All that a kind of place lets one take for granted about levels, in printed numbers.

use std::fmt;

use crate::{
    radio::{Environment, Prior},
    units::{Db, Dbm, Hertz, Metres, Sigma},
};

/// A published figure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Figure {
    /// Its value, in the unit of what it is a figure of.
    pub value: f64,
    /// Where it stands.
    pub source: &'static str,
}

/// A log-normal prior between two published figures: its median is their geometric mean, and the deviation of its natural
/// logarithm half the logarithm of their ratio, so that about a third of all places may lie outside. That rule is this
/// project's own choice, as for the exponent of [`Prior`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Between {
    /// The figures, lower first.
    pub ends: [Figure; 2],
    /// The deviation is not less than this: figures that agree tell of their survey, not of all places.
    pub least: f64,
}

impl Between {
    /// Median.
    pub fn median(&self) -> f64 {
        (self.ends[0].value * self.ends[1].value).sqrt()
    }

    /// Standard deviation of the natural logarithm.
    pub fn deviation(&self) -> f64 {
        (0.5 * (self.ends[1].value / self.ends[0].value).ln()).max(self.least)
    }
}

/// Radiated power (EIRP) before any level is known, with one standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Radiated {
    /// Mean.
    pub mean: Dbm,
    /// Its standard deviation.
    pub sigma: Sigma<Db>,
}

/// What is taken for granted about levels by kind of place and frequency. All numbers that a fit uses stand in its text.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LevelPrior {
    /// Exponent and loss at 1 m.
    pub loss: Prior,
    /// Standard deviation of the loss at 1 m about free space.
    pub intercept_sigma: Sigma<Db>,
    /// Radiated power as stated; `None` for a power that nobody knows.
    pub radiated: Option<Radiated>,
    /// Standard deviation of shadowing, dB.
    pub shadowing: Between,
    /// Distance over which shadowing stays alike, metres.
    pub decorrelation: Between,
}

/// Root mean square of what the models in sight lose at 1 m and 1 GHz beyond free space: streets, towns, country and offices of
/// TR 38.901 (0, −4.4, −0.9 and 0 dB) and the rows in sight of P.1411 and P.1238 (−3.2, −3.8, 2.2, −4.3 and −7.9 dB).
const INTERCEPT_SIGMA: f64 = 3.8;

/// From 1 mW to 1 kW lies within one and a half deviations: this project's own choice.
const UNSTATED: (f64, f64) = (30.0, 20.0);

/// A factor of two in the decorrelation distance either way: this project's own choice.
const LEAST: f64 = std::f64::consts::LN_2;

const fn figure(value: f64, source: &'static str) -> Figure {
    Figure { value, source }
}

const GUDMUNDSON_SUBURB: Figure = figure(
    503.9,
    "Gudmundson 1991, suburbs at 900 MHz: 0.82 over 100 m (quoted in a text on signal processing)",
);
const GUDMUNDSON_STREET: Figure =
    figure(8.3, "Gudmundson 1991, town at 1.7 GHz: 0.3 over 10 m (from memory)");

/// Shadowing in decibels and decorrelation in metres.
const fn figures(environment: Environment) -> ([Figure; 2], [Figure; 2]) {
    const COUNTRY: [Figure; 2] = [
        figure(4.0, "3GPP TR 38.901 Table 7.4.1-1, RMa in sight before the breakpoint"),
        figure(8.0, "3GPP TR 38.901 Table 7.4.1-1, RMa out of sight"),
    ];
    match environment {
        Environment::Open => (
            COUNTRY,
            [
                figure(37.0, "3GPP TR 38.901 Table 7.5-6, RMa in sight"),
                figure(120.0, "3GPP TR 38.901 Table 7.5-6, RMa out of sight"),
            ],
        ),
        Environment::Suburban => {
            (COUNTRY, [figure(40.0, "3GPP TR 38.901 Table 7.5-6, SMa in sight"), GUDMUNDSON_SUBURB])
        }
        Environment::Urban => (
            [
                figure(4.0, "3GPP TR 38.901 Table 7.4.1-1, UMa in sight"),
                figure(7.8, "3GPP TR 38.901 Table 7.4.1-1, UMa out of sight, close-in form"),
            ],
            [GUDMUNDSON_STREET, figure(50.0, "3GPP TR 38.901 Table 7.5-6, UMa out of sight")],
        ),
        Environment::Street => (
            [
                figure(4.0, "3GPP TR 38.901 Table 7.4.1-1, UMi in sight"),
                figure(8.2, "3GPP TR 38.901 Table 7.4.1-1, UMi out of sight, close-in form"),
            ],
            [GUDMUNDSON_STREET, figure(13.0, "3GPP TR 38.901 Table 7.5-6, UMi out of sight")],
        ),
        Environment::Indoor => (
            [
                figure(3.0, "3GPP TR 38.901 Table 7.4.1-1, office in sight"),
                figure(8.29, "3GPP TR 38.901 Table 7.4.1-1, office out of sight, close-in form"),
            ],
            [
                figure(6.0, "3GPP TR 38.901 Table 7.5-6, office out of sight"),
                figure(10.0, "3GPP TR 38.901 Table 7.5-6, office in sight"),
            ],
        ),
    }
}

impl Environment {
    /// The environment that [`Environment::word`] is the word for.
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|e| e.word() == word)
    }

    /// All that this kind of place lets one take for granted about levels ([`crate::sources::TR38901`],
    /// [`crate::sources::GUDMUNDSON1991`] and those of [`Environment::prior`]; which figure is whose stands in the prior).
    /// `radiated` is the radiated power (EIRP) as stated, if it was.
    ///
    /// `None` as [`Environment::prior`], and unless the power is finite.
    pub fn level_prior(self, frequency: Hertz, radiated: Option<Radiated>) -> Option<LevelPrior> {
        let (shadowing, decorrelation) = figures(self);
        if radiated.is_some_and(|r| !r.mean.value().is_finite()) {
            return None;
        }
        Some(LevelPrior {
            loss: self.prior(frequency)?,
            intercept_sigma: Sigma::db(INTERCEPT_SIGMA)?,
            radiated,
            shadowing: Between { ends: shadowing, least: 0.0 },
            decorrelation: Between { ends: decorrelation, least: LEAST },
        })
    }
}

impl LevelPrior {
    /// Mean and standard deviation of the exponent.
    pub fn exponent(&self) -> (f64, f64) {
        (self.loss.exponent(), self.loss.exponent_deviation())
    }

    /// Level at 1 m between isotropic antennas: radiated power less the loss there, with their deviations together. A
    /// power that nobody stated is 30 ± 20 dBm.
    pub fn start(&self) -> Radiated {
        let (mean, sigma) = self.radiated.map_or(UNSTATED, |r| (r.mean.value(), r.sigma.to_db()));
        let together = sigma.hypot(self.intercept_sigma.to_db());
        Radiated {
            mean: Dbm::new(mean - self.loss.intercept.value()),
            // Only deviations near the greatest number there is leave no number here.
            sigma: Sigma::db(together).unwrap_or(self.intercept_sigma),
        }
    }

    /// Median of the standard deviation of shadowing.
    pub fn shadowing_median(&self) -> Db {
        Db::new(self.shadowing.median())
    }

    /// Median of the decorrelation distance.
    pub fn decorrelation_median(&self) -> Metres {
        Metres::new(self.decorrelation.median())
    }

    /// One sentence for each assumption, with its numbers and whose they are.
    pub fn describe(&self) -> Vec<String> {
        let [low, high] = self.loss.ends;
        let (n, spread) = self.exponent();
        let start = self.start();
        let power = match self.radiated {
            Some(r) => format!("as stated, {:.1} ± {:.1} dBm", r.mean.value(), r.sigma.to_db()),
            None => {
                format!("not stated: {:.0} ± {:.0} dBm (own choice, 1 mW to 1 kW)", UNSTATED.0, UNSTATED.1)
            }
        };
        vec![
            format!(
                "kind of place {}: exponent {n:.2} ± {spread:.2}, between {:.2} ({}) and {:.2} ({})",
                self.loss.environment.word(),
                low.exponent,
                low.source,
                high.exponent,
                high.source
            ),
            format!(
                "loss at 1 m {:.1} ± {:.1} dB: free space (ITU-R P.525), and how far models in sight lie from it (3GPP TR \
                 38.901, ITU-R P.1411 and P.1238)",
                self.loss.intercept.value(),
                self.intercept_sigma.to_db()
            ),
            format!(
                "radiated power {power}; so the level at 1 m is {:.1} ± {:.1} dBm",
                start.mean.value(),
                start.sigma.to_db()
            ),
            between("shadowing", "dB", &self.shadowing),
            between("shadowing alike over", "m", &self.decorrelation),
        ]
    }
}

fn between(what: &str, unit: &str, b: &Between) -> String {
    let [low, high] = b.ends;
    let factor = b.deviation().exp();
    let widened = if 0.5 * (high.value / low.value).ln() < b.least { ", own least" } else { "" };
    format!(
        "{what} {:.1} {unit}, within a factor of {factor:.1}{widened}: between {} {unit} ({}) and {} {unit} ({})",
        b.median(),
        low.value,
        low.source,
        high.value,
        high.source
    )
}

impl fmt::Display for LevelPrior {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (k, line) in self.describe().iter().enumerate() {
            write!(f, "{}{line}", if k == 0 { "" } else { "\n" })?;
        }
        Ok(())
    }
}
